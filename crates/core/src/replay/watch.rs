//! What came after a cut: the next reading, and whether the minimum was reached.

use super::Reached;
use super::line;
use super::tally::{ExactReading, NextReading, OfForecast, interval_score};
use crate::absorption::one_minute_resistance;
use crate::assess::{Action, Judgement, LeftOut, Terms};
use crate::record::{LeadCheck, TestRecord};
use crate::resistance::Measured;
use crate::series::Series;
use crate::units::{Decades, Resistance, Years};
use chrono::{Days, NaiveDate};

/// Exact readings in a stretch without which no forecast is compared.
const LEAST_EXACT: usize = 3;

/// The first test after the cut that counts, up to a day; none if work was done before it.
fn next_test(series: &Series, cut: NaiveDate, until: NaiveDate) -> Option<&TestRecord> {
    let counting = series.tests.iter().filter(|test| test.kept_out.is_none());
    let later = counting.skip_while(|test| test.tested_on.date <= cut);
    for test in later.take_while(|test| test.tested_on.date <= until) {
        if test.event.is_some() {
            return None;
        }
        if test.lead_check != Some(LeadCheck::Failed) && one_minute_resistance(&test.readings).is_some() {
            return Some(test);
        }
    }
    None
}

/// Compares the next reading with what the judgement of the cut foresaw.
pub(super) fn next_reading(
    judgement: &Judgement,
    series: &Series,
    until: NaiveDate,
    terms: &Terms,
) -> Option<NextReading> {
    let test = next_test(series, judgement.as_of, until)?;
    let exact = judgement.assessment.trend.as_ref().map_or(0, |trend| trend.exact);
    let Some(fit) = judgement.fit.as_ref().filter(|_| exact >= LEAST_EXACT) else {
        return Some(NextReading::NotJudged);
    };
    let Some(at) = test.winding_temp else {
        return Some(NextReading::WithoutTemperature);
    };
    let correction = judgement.law_used().correction(at, judgement.reference);
    let value = one_minute_resistance(&test.readings)?.scaled(correction.factor());
    let Some(log10) = value.resistance().map(|r| r.log10_megohms()) else { return Some(NextReading::Undecided) };
    let confidence = terms.confidence.as_fraction();
    let years = test.tested_on.years_since(judgement.as_of);
    let doubt = Decades::clamped(correction.log10_doubt);
    let forecast = fit.predict_reading(Years::clamped(years), Some(at - judgement.reference), doubt);
    let band = forecast.band(terms.confidence).map(Resistance::log10_megohms);
    let of_forecast = |middle: f64, low: f64, high: f64| OfForecast {
        error: (log10 - middle).abs(),
        score: interval_score(low, high, log10, confidence),
    };
    Some(match value {
        Measured::Exact(reading) => NextReading::Exact(ExactReading {
            is_inside: (band.low..=band.high).contains(&log10),
            is_above: log10 > band.high,
            p_lower: forecast.p_at_most(reading).as_fraction(),
            skill: line::forecast(judgement, years, confidence).map(|line| {
                let own = of_forecast(band.median, band.low, band.high);
                let of_line = of_forecast(line.middle, line.interval.low, line.interval.high);
                (own, of_line, line.interval.contains(log10))
            }),
        }),
        Measured::Above(_) if log10 > band.high => NextReading::Beyond { above: true },
        Measured::Below(_) if log10 < band.low => NextReading::Beyond { above: false },
        _ => NextReading::Undecided,
    })
}

/// When one series was read at or below its minimum, and when the watch over it began again.
pub(super) struct Record {
    name: String,
    /// Tests that count: day, whether at or below the minimum, whether work was done before it.
    tests: Vec<(NaiveDate, bool, bool)>,
}

/// The forecast of one past date.
#[derive(Clone, Copy, Debug)]
pub(super) struct PastForecast {
    cut: NaiveDate,
    flagged: bool,
    /// Interval of the crossing, if one was given; the later end may be open.
    interval: Option<(NaiveDate, Option<NaiveDate>)>,
}

impl Record {
    /// Read off a judgement made with everything that is known.
    pub(super) fn of(judgement: &Judgement, terms: &Terms) -> Self {
        let minimum = judgement.assessment.minimum.as_ref().map(|minimum| minimum.resistance);
        let counts = |left_out: Option<LeftOut>| matches!(left_out, None | Some(LeftOut::BeforeStretch));
        let tests = judgement
            .tests
            .iter()
            .filter(|test| test.event.is_some() || counts(test.left_out))
            .filter(|test| test.tested_on.date <= terms.as_of)
            .map(|test| {
                let below = counts(test.left_out)
                    && test.corrected.zip(minimum).is_some_and(|(value, minimum)| value.at_or_below(minimum));
                (test.tested_on.date, below, test.event.is_some())
            })
            .collect();
        Self { name: judgement.assessment.name(), tests }
    }

    /// The crossings of the record: position of the first of two tests in a row, or of a last test before work or the end,
    /// at or below the minimum.
    fn crossings(&self) -> Vec<usize> {
        let mut found = Vec::new();
        let mut watching = true;
        for (i, (_, below, event)) in self.tests.iter().enumerate() {
            watching = watching || *event;
            let next = self.tests.get(i + 1);
            let confirmed = next.is_none_or(|(_, next_below, next_event)| *next_event || *next_below);
            if watching && *below && confirmed {
                found.push(i);
                watching = false;
            }
        }
        found
    }

    /// Whether the record has a crossing at all.
    pub(super) fn reached_its_minimum(&self) -> bool {
        !self.crossings().is_empty()
    }

    /// Whether the minimum was reached after a cut and inside so many days; none where work or the end of the record came
    /// first.
    fn outcome(&self, cut: NaiveDate, days: u32) -> Option<bool> {
        let until = cut.checked_add_days(Days::new(u64::from(days)))?;
        let crossings = self.crossings();
        for (i, (on, _, event)) in self.tests.iter().enumerate().filter(|(_, (on, _, _))| *on > cut) {
            if *on > until {
                return Some(false);
            }
            if *event {
                return None;
            }
            if crossings.contains(&i) {
                return Some(true);
            }
        }
        None
    }

    /// The last crossing of the record with what was said before it.
    pub(super) fn reached(&self, said: &[PastForecast]) -> Option<Reached> {
        let at = *self.crossings().last()?;
        let on = self.tests[at].0;
        let began = self.tests[..at].iter().rev().find(|(_, _, event)| *event).map(|(day, _, _)| *day);
        let before = at.checked_sub(1).and_then(|i| self.tests.get(i)).map_or(on, |(day, _, _)| *day);
        let said: Vec<&PastForecast> =
            said.iter().filter(|s| s.cut < on && began.is_none_or(|began| s.cut >= began)).collect();
        let flagged_on = said.iter().rev().take_while(|s| s.flagged).last().map(|s| s.cut);
        let tests_ahead =
            flagged_on.map_or(0, |flagged| self.tests[..=at].iter().filter(|(day, _, _)| *day > flagged).count());
        let given: Vec<_> = said.iter().filter_map(|s| s.interval).collect();
        let held =
            given.iter().filter(|(earliest, latest)| *earliest <= on && latest.is_none_or(|latest| latest >= before));
        Some(Reached {
            series: self.name.clone(),
            on,
            flagged_on,
            tests_ahead,
            intervals: given.len(),
            held: held.count(),
        })
    }
}

/// The probability of the cut and what came of it; none where no forecast is compared.
pub(super) fn crossing(judgement: &Judgement, record: &Record, terms: &Terms) -> Option<(f64, Option<bool>)> {
    let result = &judgement.assessment;
    let exact = result.trend.as_ref().map_or(0, |trend| trend.exact);
    let already = result.action == Action::Hold;
    let p = result.forecast.p_below_in_horizon.filter(|_| exact >= LEAST_EXACT && !already)?;
    Some((p, record.outcome(judgement.as_of, terms.policy.horizon_days)))
}

/// The forecast of a judgement at a past date.
pub(super) fn forecast_of(judgement: &Judgement) -> PastForecast {
    let result = &judgement.assessment;
    PastForecast {
        cut: judgement.as_of,
        flagged: matches!(result.action, Action::Hold | Action::Plan),
        interval: result.forecast.reaches_minimum.as_ref().map(|dates| (dates.earliest, dates.latest)),
    }
}
