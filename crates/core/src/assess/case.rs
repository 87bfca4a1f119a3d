//! One series made ready for judgement: which tests count, corrected to the reference temperature, and where the last
//! stretch begins.

use super::drying::{self, Drying};
use super::inputs::{Register, Terms};
use super::result::{CorrectedTest, LeftOut, SinceReason};
use super::{least_polarization_index, not_meaningful, stepped};
use crate::absorption;
use crate::minimum::{self, Minimum};
use crate::nameplate::Nameplate;
use crate::policy::Policy;
use crate::record::{EquipmentState, Event, KeptOut, LeadCheck, OtherPhases, TestRecord};
use crate::resistance::Measured;
use crate::series::{Series, in_judged_order};
use crate::steps;
use crate::temperature::learnt::{LawEvidence, LearntLaw, assumed_fall_per_10_k, hangs_on_one_test, separate_tests};
use crate::temperature::{Correction, FALLS_PER_10_K, TemperatureLaw, UsedLaw};
use crate::trend::{self, Fall, Priors, Reading, Stretch, Summary};
use crate::units::{Decades, Resistance, Temperature, TemperatureDifference, Voltage, Years};
use crate::voltage::{guide_for, is_same_voltage};
use chrono::{Datelike, Days, NaiveDate};
use std::borrow::Borrow;
use std::collections::BTreeSet;
use std::ops::Range;

/// Temperatures between which a winding of unknown temperature is taken to have been, °C: a cold store room to the
/// usual reference.
const LIKELY_TEMPERATURES_C: (f64, f64) = (10.0, 40.0);

/// The last test of a series that should have been tested again by now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Overdue {
    /// The day of the last test.
    pub(super) last: NaiveDate,
    /// Its age.
    pub(super) age_days: u32,
    /// The usual interval.
    pub(super) interval_days: u32,
}

/// A winding this much colder than at another test should have read more, kelvins.
pub(super) const LEAST_COLDER_K: f64 = 3.0;

/// A latest test so much colder or warmer than all others is outside of their temperatures, kelvins.
const OUTSIDE_K: f64 = 1.0;

/// Below this a stator of unknown construction is random-wound, V; common practice.
const LOW_VOLTAGE_V: f64 = 1000.0;

/// And is looked at for a fall if it reads so much less than it did warmer, decades.
const LEAST_COLD_DROP: f64 = 0.15;

/// A series made ready for judgement.
#[derive(Clone, Debug)]
pub struct Case {
    pub(super) series: Series,
    pub(super) nameplate: Nameplate,
    /// Whether the register has the winding.
    pub(super) registered: bool,
    /// The law used.
    pub(super) law: UsedLaw,
    /// The law that the policy and the nameplate name.
    pub(super) assumed_law: TemperatureLaw,
    /// What the readings themselves say of the law, whether used or not.
    pub(super) learnt: Option<LearntLaw>,
    pub(super) minimum: Minimum,
    /// The highest voltage that it was tested with.
    pub(super) tested_with: Option<Voltage>,
    /// What the phases not under test were connected to at the latest test.
    pub(super) other_phases: Option<OtherPhases>,
    /// The latest process of drying out.
    pub(super) drying: Option<Drying>,
    /// One for each test of the series, in the same order.
    pub(super) tests: Vec<CorrectedTest>,
    /// Known doubt of each corrected value, decades.
    pub(super) doubts: Vec<f64>,
    /// First test of the stretch.
    pub(super) start: usize,
    pub(super) since: SinceReason,
}

impl Case {
    /// Corrects the tests of a series and finds its last stretch. `rewound` is the year of the latest rewind that other series of the
    /// winding mention.
    #[must_use]
    pub fn prepare(mut series: Series, register: &Register, rewound: Option<i32>, terms: &Terms) -> Self {
        in_judged_order(&mut series.tests);
        let nameplate = register.get(&series.key.winding);
        let registered = nameplate.is_some();
        let mut nameplate = nameplate.cloned().unwrap_or_default();
        let here = rewound_in(series.tests.iter().rev(), terms.as_of);
        nameplate.year_rewound = nameplate.year_rewound.max(rewound).max(here);
        // A cable or circuit that was tested on its own owes what cables and circuits owe, whatever machine it belongs to.
        nameplate.construction = series.key.scope.construction().or(nameplate.construction);
        let law = TemperatureLaw::choose(&nameplate, &terms.policy);
        let made = series.tests.iter().filter(|test| test.tested_on.date <= terms.as_of);
        let tested_with = made.filter_map(|test| test.test_volts).max_by(|a, b| a.as_volts().total_cmp(&b.as_volts()));
        let made = series.tests.iter().rfind(|test| test.tested_on.date <= terms.as_of && test.kept_out.is_none());
        let other_phases = made.and_then(|test| test.procedure().other_phases);
        let minimum = minimum::minimum_of(&nameplate, &series.key.connection, other_phases, tested_with, &terms.policy);
        let mut case = Self {
            series,
            nameplate,
            registered,
            law: law.into(),
            assumed_law: law,
            learnt: None,
            minimum,
            tested_with,
            other_phases,
            drying: None,
            tests: Vec::new(),
            doubts: Vec::new(),
            start: 0,
            since: SinceReason::FirstTest,
        };
        case.correct(terms);
        case
    }

    /// Corrects all tests with the law in use and finds the last stretch.
    fn correct(&mut self, terms: &Terms) {
        let reference = terms.policy.reference_temp;
        let until_as_of =
            self.series.tests.iter().filter(|test| test.tested_on.date <= terms.as_of && test.kept_out.is_none());
        let usual = usual_temperature(until_as_of);
        let without_temperature = match self.minimum.as_read {
            // Readings of a series that has no temperature at all are compared as read, and nothing is assumed.
            Some(limit) if usual.is_none() => {
                self.minimum.resistance = limit;
                Correction { log10_factor: 0.0, log10_doubt: 0.0, outside: false }
            }
            Some(limit) => {
                let usual = assumed(self.law, usual.as_ref(), reference);
                self.minimum.resistance = limit.scaled(usual.factor());
                usual
            }
            None => assumed(self.law, usual.as_ref(), reference),
        };
        (self.tests, self.doubts) =
            self.series.tests.iter().map(|test| corrected(test, self.law, without_temperature, terms)).unzip();
        self.leave_out_other_steps();
        let drying_until = self.leave_out_drying(terms);
        let event = self.tests.iter().rposition(|test| test.event.is_some());
        if let Some(at) = event.max(drying_until) {
            self.start_at(at, if at == 0 { SinceReason::FirstTest } else { SinceReason::Event });
        }
    }

    /// Whether a winding that was wet needs a polarization index; of unknown construction it does unless it is known to be below 1 kV, where
    /// stators are random-wound (common practice).
    fn index_means_something(&self, record: &TestRecord, policy: &Policy) -> bool {
        let low_voltage = self.nameplate.rated_voltage.is_some_and(|volts| volts.as_volts() < LOW_VOLTAGE_V);
        let random_wound = low_voltage && self.nameplate.construction.is_none();
        !random_wound && not_meaningful(&record.readings, &self.nameplate, policy).is_none()
    }

    /// Rows of drying out are about a process and not a trend. Of each process one test counts: the one that ended it, or the latest
    /// of one that goes on. Gives the one of the latest process.
    fn leave_out_drying(&mut self, terms: &Terms) -> Option<usize> {
        let reference = terms.policy.reference_temp;
        let passes = |at: usize| {
            let (test, record) = (&self.tests[at], self.record(at));
            let least = self
                .index_means_something(record, &terms.policy)
                .then(|| least_polarization_index(&self.nameplate, &terms.policy));
            let above = |(value, limit)| steps::least(value).is_some_and(|value| value > limit);
            test.left_out.is_none() && self.judged(test).is_some_and(above) && drying::index_passes(record, least)
        };
        let processes = drying::processes(&self.series.tests, terms.as_of, reference, passes);
        let mut counts = None;
        for process in &processes {
            let last = process.rows.clone().rev().find(|at| self.tests[*at].left_out.is_none());
            counts = last.filter(|_| process.ended_by_a_test || !process.is_over);
            for at in process.rows.clone().filter(|at| Some(*at) != counts) {
                self.tests[at].left_out.get_or_insert(LeftOut::Drying);
            }
            // What was read hot is not brought to the reference temperature, where it would look like a pass.
            for at in process.rows.clone().filter(|at| !drying::is_cold(&self.series.tests[*at], reference)) {
                let test = &mut self.tests[at];
                (test.kt, test.corrected) = (None, test.as_read);
            }
        }
        self.drying = processes.last().cloned();
        counts
    }

    /// The leads of this winding read alike, and what was joined was not recorded: it may be one winding read several times, which owes what
    /// a whole winding owes. Gives what it owes if its phases were separated.
    pub(super) fn take_as_joined(&mut self, terms: &Terms) -> Option<Resistance> {
        let joined = self.minimum_with(OtherPhases::Joined, terms);
        let separated = self.minimum.resistance;
        (joined.resistance < separated).then(|| {
            self.minimum = joined;
            separated
        })
    }

    /// Other leads of its round were separated, so this one may have been: it owes what a separated phase owes. Gives that where it is
    /// more.
    pub(super) fn take_as_separated(&mut self, terms: &Terms) -> Option<Resistance> {
        let separated = self.minimum_with(OtherPhases::Earthed, terms);
        (separated.resistance > self.minimum.resistance).then(|| {
            self.minimum = separated;
            self.minimum.resistance
        })
    }

    /// What it owes if the other phases were as given at its latest test.
    pub(super) fn minimum_with(&self, other_phases: OtherPhases, terms: &Terms) -> Minimum {
        let connection = &self.series.key.connection;
        minimum::minimum_of(&self.nameplate, connection, Some(other_phases), self.tested_with, &terms.policy)
    }

    /// Whether a lead was tested to earth, or the neutral of the same copper.
    pub(super) fn is_lead(&self) -> bool {
        let connection = &self.series.key.connection;
        connection.phase_to_earth().is_some() || connection.is_neutral_to_earth()
    }

    /// Whether a lead was tested to earth with the others joined to it.
    pub(super) fn is_joined_lead(&self) -> bool {
        self.is_lead() && self.other_phases == Some(OtherPhases::Joined)
    }

    /// The day on which the winding was found dry, where the stretch begins with that.
    pub(super) fn dried_on(&self) -> Option<NaiveDate> {
        let first = self.tests.get(self.start)?;
        let ended =
            self.drying.as_ref().is_some_and(|drying| drying.ended_by_a_test && drying.rows.end == self.start + 1);
        (ended || first.event == Some(Event::Dried)).then_some(first.tested_on.date)
    }

    /// Whether its latest test found it in store.
    fn is_in_store(&self) -> bool {
        let latest = self.last_made().map(|at| self.record(at).procedure().equipment_state);
        latest == Some(Some(EquipmentState::Store))
    }

    /// The same case by another law, before its trend.
    pub(super) fn by_law(&self, law: TemperatureLaw, terms: &Terms) -> Self {
        let case = Self { law: law.into(), ..self.clone() };
        case.with_series(case.series.clone(), terms)
    }

    /// The same case with other tests in the series, before its trend.
    pub(super) fn with_series(&self, series: Series, terms: &Terms) -> Self {
        let mut case = Self { series, start: 0, since: SinceReason::FirstTest, ..self.clone() };
        case.correct(terms);
        case
    }

    /// Of tests at rising voltages on one day the one at the usual voltage joins the trend.
    fn leave_out_other_steps(&mut self) {
        let mut from = 0;
        while from < self.tests.len() {
            let steps = self.steps_from(from);
            let to = from + steps.len().max(1);
            if steps.len() > 1 {
                let usual =
                    self.tests[..from].iter().rev().filter(|test| test.left_out.is_none()).find_map(|t| t.test_volts);
                let guide = || guide_for(&self.nameplate).map(|guide| guide.least);
                let usual = usual.or_else(guide);
                let is_usual = |at: &usize| {
                    self.tests[*at].test_volts.zip(usual).is_some_and(|(volts, usual)| is_same_voltage(volts, usual))
                };
                let kept = steps.clone().find(is_usual).unwrap_or(from);
                for at in steps.filter(|at| *at != kept) {
                    self.tests[at].left_out = Some(LeftOut::OtherStep);
                }
            }
            from = to;
        }
    }

    /// Tests at rising voltages on one day, beginning with a test; empty where that one has no voltage or does not count.
    pub(super) fn steps_from(&self, from: usize) -> Range<usize> {
        stepped::steps_from(&self.tests, from)
    }

    /// Takes note of what the readings say of the law, and corrects again where that beats the assumed one. True if so.
    pub(super) fn take_learnt_law(&mut self, learnt: LearntLaw, terms: &Terms) -> bool {
        self.learnt = Some(learnt);
        if !learnt.beats_the_assumed() {
            return false;
        }
        self.law.learnt = Some(learnt.range());
        self.correct(terms);
        true
    }

    /// What the readings of the stretch say of the assumed law's error, by `summary` or, where some of them are no separate tests,
    /// by the others alone.
    pub(super) fn law_evidence(&self, stretch: &Stretch, summary: &Summary, terms: &Terms) -> Option<LawEvidence> {
        let days: Vec<NaiveDate> = self.counted().map(|at| self.tests[at].tested_on.date).collect();
        let mut separate = separate_tests(&days);
        if self.latest_is_colder_or_warmer()
            && let Some(latest) = separate.last_mut()
        {
            // It would teach the law that explains it.
            *latest = false;
        }
        let counted = || self.counted().zip(&separate).filter(|(_, separate)| **separate).map(|(at, _)| at);
        let temperatures: Vec<Temperature> = counted().filter_map(|at| self.tests[at].winding_temp).collect();
        let by_celsius = |a: &Temperature, b: &Temperature| a.as_celsius().total_cmp(&b.as_celsius());
        if hangs_on_one_test(&temperatures) {
            return None;
        }
        let error = if separate.contains(&false) {
            let readings = stretch.readings().iter().zip(&separate).filter(|(_, separate)| **separate);
            Summary::of(&Stretch::new(readings.map(|(reading, _)| *reading).collect()).ok()?)?.law_error()
        } else {
            summary.law_error()
        };
        Some(LawEvidence {
            error_per_10_k: error.mean,
            variance: error.sd * error.sd,
            assumed_per_10_k: assumed_fall_per_10_k(self.assumed_law, &temperatures, terms.policy.reference_temp)?,
            tests: temperatures.len(),
            coldest: temperatures.iter().copied().min_by(by_celsius)?,
            warmest: temperatures.iter().copied().max_by(by_celsius)?,
        })
    }

    /// Whether the latest reading was taken at a temperature outside those of all others.
    fn latest_is_colder_or_warmer(&self) -> bool {
        let mut celsius = self.counted().filter_map(|at| Some((at, self.tests[at].winding_temp?.as_celsius())));
        let Some((latest, now)) = celsius.next_back().filter(|(at, _)| Some(*at) == self.counted().next_back()) else {
            return false;
        };
        let (low, high) = celsius
            .filter(|(at, _)| *at < latest)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, t)| (low.min(t), high.max(t)));
        now < low - OUTSIDE_K || now > high + OUTSIDE_K
    }

    /// Lets the stretch begin at a test; those before take no part in the trend.
    pub(super) fn start_at(&mut self, at: usize, since: SinceReason) {
        self.start = at;
        self.since = since;
        for test in &mut self.tests[..at] {
            test.left_out.get_or_insert(LeftOut::BeforeStretch);
        }
    }

    /// Positions of the tests of the stretch that count and have a resistance to count with.
    pub(super) fn counted(&self) -> impl DoubleEndedIterator<Item = usize> {
        (self.start..self.tests.len())
            .filter(|&i| self.tests[i].left_out.is_none())
            .filter(|&i| self.tests[i].corrected.and_then(Measured::resistance).is_some())
    }

    /// The readings of the stretch as the trend takes them; none without any.
    pub(super) fn stretch(&self, terms: &Terms) -> Option<Stretch> {
        self.stretch_of(self.readings(terms))
    }

    /// The same without the latest test.
    pub(super) fn stretch_before_latest(&self, terms: &Terms) -> Option<Stretch> {
        let mut readings = self.readings(terms);
        if self.counted().next_back() == self.latest() {
            readings.pop();
        }
        self.stretch_of(readings)
    }

    fn readings(&self, terms: &Terms) -> Vec<Reading> {
        let mut readings = Vec::with_capacity(self.tests.len());
        readings.extend(self.counted().filter_map(|at| self.reading(at, terms)));
        readings
    }

    /// Readings as a stretch that knows what the law can have got wrong.
    fn stretch_of(&self, readings: Vec<Reading>) -> Option<Stretch> {
        let stretch = Stretch::new(readings).ok()?;
        let Some((least, greatest)) = self.possible_law_errors() else { return Some(stretch) };
        Some(stretch.with_law_errors(least, greatest))
    }

    /// A test as the trend takes it.
    fn reading(&self, at: usize, terms: &Terms) -> Option<Reading> {
        let test = &self.tests[at];
        let value = test.corrected?;
        let when = Years::clamped(test.tested_on.years_since(terms.as_of).min(0.0));
        let reading =
            Reading::new(when, value.bound(), value.resistance()?).with_doubt(Decades::clamped(self.doubts[at]));
        Some(match test.winding_temp {
            Some(temperature) => reading.at_temperature(temperature - terms.policy.reference_temp),
            None => reading,
        })
    }

    /// What the law can have got wrong over the temperatures of the stretch, decades per 10 K: insulation falls with temperature, and
    /// only so steeply.
    fn possible_law_errors(&self) -> Option<(f64, f64)> {
        let mut temperatures = self.counted().filter_map(|at| self.tests[at].winding_temp);
        let first = temperatures.next()?;
        let (coldest, warmest) = temperatures
            .fold((first, first), |(low, high), t| (if t < low { t } else { low }, if t > high { t } else { high }));
        let fall = self.law.fall_per_10_k(coldest, warmest)?;
        let (flattest, steepest) = FALLS_PER_10_K;
        Some((fall - steepest, fall - flattest))
    }

    /// A fall as read of the latest test, which was colder than others and reads less: cold insulation reads more, so whatever law is
    /// true, the winding has fallen.
    pub(super) fn cold_fall(&self, priors: &Priors, terms: &Terms) -> Option<Fall> {
        let latest = &self.tests[self.counted().next_back()?];
        let celsius = latest.winding_temp?.as_celsius();
        let as_read = |test: &CorrectedTest| Some(test.as_read?.resistance()?.log10_megohms());
        let at_least = |at: usize, celsius: f64| self.tests[at].winding_temp.is_some_and(|t| t.as_celsius() >= celsius);
        let warmer = self.counted().filter(|at| at_least(*at, celsius + LEAST_COLDER_K));
        let warmer: Vec<f64> = warmer.filter_map(|at| as_read(&self.tests[at])).collect();
        let usual = warmer.iter().sum::<f64>() / warmer.len() as f64;
        if warmer.is_empty() || as_read(latest)? > usual - LEAST_COLD_DROP {
            return None;
        }
        let one_temperature = TemperatureDifference::from_kelvins(0.0).ok()?;
        let readings = self.counted().filter(|at| at_least(*at, celsius)).filter_map(|at| {
            let as_read = self.tests[at].as_read?;
            let when = self.reading(at, terms)?.when();
            // All at one temperature, so that no law and no doubt of a law has a say.
            Some(Reading::new(when, as_read.bound(), as_read.resistance()?).at_temperature(one_temperature))
        });
        trend::recent_fall(&Stretch::new(readings.collect()).ok()?, priors)
    }

    /// The latest test up to the as-of date, whether it counts or not; a row that was kept out is not a test to count days from.
    pub(super) fn last_made(&self) -> Option<usize> {
        self.tests.iter().rposition(|test| !matches!(test.left_out, Some(LeftOut::AfterAsOf | LeftOut::KeptOut(_))))
    }

    /// The latest test that counts: one of the last stretch, because what came before an event says nothing now.
    pub(super) fn latest(&self) -> Option<usize> {
        let stretch = self.tests.get(self.start..).unwrap_or_default();
        stretch.iter().rposition(|test| test.left_out.is_none()).map(|at| self.start + at)
    }

    /// The day of the last test after the latest that counts, where it is void: made up to the as-of date, and without a reading that may
    /// be used.
    pub(super) fn void_since_latest(&self) -> Option<NaiveDate> {
        let is_void = |test: &&CorrectedTest| match test.left_out {
            Some(LeftOut::LeadCheckFailed | LeftOut::KeptOut(KeptOut::Contradicted)) => true,
            // A row of work alone is not a test.
            Some(LeftOut::NoOneMinuteReading) => test.event.is_none(),
            _ => false,
        };
        let after = self.latest().map_or(self.start, |at| at + 1);
        self.tests.get(after..)?.iter().rev().find(is_void).map(|test| test.tested_on.date)
    }

    /// The day since which every reading of the stretch has been at or below the minimum, as far as their temperatures are known; none
    /// where the latest is not.
    pub(super) fn below_since(&self) -> Option<NaiveDate> {
        let counts = self.tests.get(self.start..)?.iter().filter(|test| test.left_out.is_none());
        let below = |test: &&CorrectedTest| {
            let judged = self.judged(test);
            judged.is_some_and(|(value, limit)| value.at_or_below(limit))
        };
        counts.rev().take_while(below).last().map(|test| test.tested_on.date)
    }

    /// What of a test is compared with which limit: as read where the limit is meant so or the temperature is not known.
    pub(super) fn judged(&self, test: &CorrectedTest) -> Option<(Measured, Resistance)> {
        match self.minimum.as_read {
            Some(limit) => Some((test.as_read?, limit)),
            None => Some((test.corrected.filter(|_| test.kt.is_some()).or(test.as_read)?, self.minimum.resistance)),
        }
    }

    /// The test before the latest one that counts.
    pub(super) fn before_latest(&self) -> Option<usize> {
        let latest = self.latest()?;
        self.tests[..latest].iter().rposition(|test| matches!(test.left_out, None | Some(LeftOut::BeforeStretch)))
    }

    /// The law used, with its source.
    pub(super) fn law_in_words(&self) -> String {
        match self.learnt.filter(|_| self.law.learnt.is_some()) {
            Some(learnt) => learnt.in_words(),
            None => format!("{} ({})", self.law.name(), self.law.source()),
        }
    }

    /// Whether all readings that count were taken on one day, so no trend can be fitted.
    pub(super) fn on_one_day(&self) -> bool {
        let mut days = self.counted().map(|at| self.tests[at].tested_on.date);
        days.next().is_none_or(|first| days.all(|day| day == first))
    }

    /// Days of the stretch with an exact reading.
    pub(super) fn exact_days(&self) -> usize {
        let exact = self.counted().filter(|at| matches!(self.tests[*at].corrected, Some(Measured::Exact(_))));
        exact.map(|at| self.tests[at].tested_on.date).collect::<BTreeSet<NaiveDate>>().len()
    }

    /// Usual interval between tests, days.
    pub(super) fn interval_days(&self, terms: &Terms) -> u32 {
        let policy = &terms.policy;
        let usual = if self.is_in_store() { policy.store_interval_days } else { policy.interval_days };
        self.nameplate.interval_days.unwrap_or(usual)
    }

    /// The day of the next test if the usual interval is kept.
    pub(super) fn usual_next_test(&self, terms: &Terms) -> NaiveDate {
        let last = self.last_made().map_or(terms.as_of, |at| self.tests[at].tested_on.date);
        last.checked_add_days(Days::new(u64::from(self.interval_days(terms)))).unwrap_or(NaiveDate::MAX)
    }

    /// How old the last test is, where that is more than the policy allows for its interval.
    pub(super) fn overdue(&self, terms: &Terms) -> Option<Overdue> {
        let last = self.tests[self.last_made()?].tested_on.date;
        let interval_days = self.interval_days(terms);
        let allowed = (f64::from(interval_days) * terms.policy.overdue_factor).round() as u64;
        let due = last.checked_add_days(Days::new(allowed))?;
        let age_days = u32::try_from(terms.as_of.signed_duration_since(last).num_days()).ok()?;
        (terms.as_of > due).then_some(Overdue { last, age_days, interval_days })
    }

    /// The row behind a test.
    pub(super) fn record(&self, at: usize) -> &TestRecord {
        &self.series.tests[at]
    }

    /// The lowest and highest value that a reading without temperature may have at the reference temperature.
    pub(super) fn worst_likely_factor(&self, reference: Temperature) -> f64 {
        let (low, high) = LIKELY_TEMPERATURES_C;
        [low, high]
            .into_iter()
            .filter_map(|t| Temperature::from_celsius(t).ok())
            .map(|t| {
                let correction = self.law.correction(t, reference);
                libm::exp10(correction.log10_factor - correction.log10_doubt)
            })
            .fold(f64::INFINITY, f64::min)
    }
}

/// The year of the latest rewind or replacement that tests mention, latest test first, up to a day.
pub(super) fn rewound_in(
    mut backwards: impl Iterator<Item = impl Borrow<TestRecord>>,
    as_of: NaiveDate,
) -> Option<i32> {
    backwards.find_map(|test| {
        let TestRecord { tested_on, event, .. } = test.borrow();
        let rewound = matches!(event, Some(Event::Rewound | Event::Replaced)) && tested_on.date <= as_of;
        rewound.then(|| tested_on.date.year())
    })
}

/// Mean and scatter of the temperatures at which a series is tested.
struct UsualTemperature {
    mean: Temperature,
    sd_k: f64,
}

fn usual_temperature<'t>(tests: impl Iterator<Item = &'t TestRecord>) -> Option<UsualTemperature> {
    let in_use = |test: &&TestRecord| !matches!(test.event, Some(Event::Flooded | Event::Drying));
    let all: Vec<f64> =
        tests.filter(in_use).filter_map(|test| test.winding_temp).map(Temperature::as_celsius).collect();
    if all.is_empty() {
        return None;
    }
    let n = all.len() as f64;
    let mean = all.iter().sum::<f64>() / n;
    let variance = all.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / n;
    let wide = (LIKELY_TEMPERATURES_C.1 - LIKELY_TEMPERATURES_C.0) / 4.0;
    // A single known temperature says little about the spread of the others.
    let sd_k = if all.len() < 3 { variance.sqrt().max(wide) } else { variance.sqrt() };
    Some(UsualTemperature { mean: Temperature::from_celsius(mean).ok()?, sd_k })
}

fn corrected(test: &TestRecord, law: UsedLaw, without_temperature: Correction, terms: &Terms) -> (CorrectedTest, f64) {
    let reference = terms.policy.reference_temp;
    let as_read = absorption::one_minute_resistance(&test.readings);
    let stood = terms.policy.stood_hours.is_some_and(|hours| test.procedure().stood_for(hours));
    let of_air = test.air_temp.filter(|_| stood && test.winding_temp.is_none());
    let winding_temp = test.winding_temp.or(of_air);
    let known = winding_temp.map(|t| {
        let correction = law.correction(t, reference);
        let open = of_air.map_or(0.0, |air| air_proxy_uncertainty(law, air, reference));
        Correction { log10_doubt: libm::hypot(correction.log10_doubt, open), ..correction }
    });
    let correction = known.unwrap_or(without_temperature);
    let left_out = left_out(test, as_read, terms.as_of);
    let factor = correction.factor();
    let corrected = CorrectedTest {
        tested_on: test.tested_on,
        as_read,
        corrected: as_read.map(|value| value.scaled(factor)),
        kt: known.map(|_| factor),
        winding_temp,
        test_volts: test.test_volts,
        pi: absorption::polarization_index(&test.readings),
        dar: absorption::absorption_ratio(&test.readings),
        // Work that a row mentions which is not believed would take back what was seen before it, and work after the as-of date was not
        // done then.
        event: test.event.filter(|_| test.kept_out.is_none() && test.tested_on.date <= terms.as_of),
        left_out,
        p_outlier: 0.0,
    };
    (corrected, correction.log10_doubt)
}

/// What the temperature of the air leaves open of that of a winding that stood, K; common practice.
const AIR_STANDS_IN_K: f64 = 5.0;

/// The same in decades of the corrected value.
fn air_proxy_uncertainty(law: UsedLaw, air: Temperature, reference: Temperature) -> f64 {
    let factor = |t: Temperature| law.correction(t, reference).log10_factor;
    let warmer = Temperature::from_celsius(air.as_celsius() + AIR_STANDS_IN_K).unwrap_or(air);
    (factor(warmer) - factor(air)).abs()
}

/// Why a test does not count, if it does not.
fn left_out(test: &TestRecord, as_read: Option<Measured>, as_of: NaiveDate) -> Option<LeftOut> {
    if test.tested_on.date > as_of {
        Some(LeftOut::AfterAsOf)
    } else if let Some(why) = test.kept_out {
        Some(LeftOut::KeptOut(why))
    } else if test.lead_check == Some(LeadCheck::Failed) || test.procedure().scale_check_failed() {
        Some(LeftOut::LeadCheckFailed)
    } else if as_read.is_none() {
        Some(LeftOut::NoOneMinuteReading)
    } else {
        None
    }
}

/// The latest test that counts of a series as it was read, latest first, before any shift of its level is known. What is
/// after it in `backwards` was made before it.
pub(super) fn latest_that_counts(
    backwards: &mut dyn Iterator<Item = TestRecord>,
    as_of: NaiveDate,
) -> Option<TestRecord> {
    for test in backwards {
        if left_out(&test, absorption::one_minute_resistance(&test.readings), as_of).is_none() {
            return Some(test);
        }
        if test.event.is_some() && test.kept_out.is_none() && test.tested_on.date <= as_of {
            // What was read before work on the winding says nothing now.
            return None;
        }
    }
    None
}

/// The correction of a reading without temperature: at the series' usual temperature, or in the middle of the likely
/// range; what that leaves open is doubt.
fn assumed(law: UsedLaw, usual: Option<&UsualTemperature>, reference: Temperature) -> Correction {
    let at = |celsius: f64| {
        let held = celsius.clamp(Temperature::LEAST.as_celsius(), Temperature::GREATEST.as_celsius());
        law.correction(Temperature::from_celsius(held).unwrap_or(reference), reference)
    };
    let (middle, low, high) = match usual {
        Some(usual) => {
            let mean = usual.mean.as_celsius();
            (at(mean), at(mean - usual.sd_k), at(mean + usual.sd_k))
        }
        None => {
            let (low, high) = LIKELY_TEMPERATURES_C;
            (at(f64::midpoint(low, high)), at(low), at(high))
        }
    };
    let spread = (high.log10_factor - low.log10_factor).abs() / 2.0;
    Correction { log10_doubt: libm::hypot(spread, middle.log10_doubt), ..middle }
}
