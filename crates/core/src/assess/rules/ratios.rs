//! What ratios say: of timed readings within a test, and of one phase to another.

use crate::absorption::{
    Ratio, absorption_ratio, one_minute, one_minute_resistance, polarization_index, reading_at, ten_minutes,
};
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::view::View;
use crate::nameplate::{Construction, Insulation, Nameplate};
use crate::policy::Policy;
use crate::record::TestRecord;
use crate::resistance::{Bound, Measured, TimedReading};
use crate::stats::median::median;
use crate::steps;
use crate::units::three_digits;
use chrono::{Datelike, NaiveDate};

/// Class 105 has a lower minimum than all others.
const LOW_CLASS_C: u16 = 105;
/// Where absorption is small by construction a ratio of 1 is healthy, and readings agree to a tenth (FED-STD-228A: record to the nearest
/// 10 %): only below this the resistance falls.
const FALLS_BELOW: f64 = 0.9;
/// Phases that read so many times one another in two rounds and more are not slowly apart: something happened, as in a sudden fall.
const FAR_APART: f64 = 3.0;
/// Earlier tests that tell the usual value of a ratio.
const LEAST_EARLIER: usize = 2;
/// From this age on, years, insulation counts as old (common practice).
const OLD_AGE_YEARS: i32 = 40;
/// Days for which a polarization index of a machine that needs one holds.
const INDEX_HOLDS_DAYS: i64 = 366;

/// The least polarization index for a winding.
pub(crate) fn least_polarization_index(nameplate: &Nameplate, policy: &Policy) -> f64 {
    match nameplate.thermal_class {
        Some(class) if class.degrees_celsius() <= LOW_CLASS_C => policy.pi_minimum_class_105,
        _ => policy.pi_minimum,
    }
}

/// Why a polarization index says nothing about a winding; none where it does.
pub(crate) fn not_meaningful(readings: &[TimedReading], nameplate: &Nameplate, policy: &Policy) -> Option<String> {
    let limit = policy.pi_not_meaningful_above;
    match one_minute_resistance(readings) {
        Some(Measured::Exact(r) | Measured::Above(r)) if r > limit => {
            return Some(format!("the one-minute resistance, {r}, is above {limit}"));
        }
        _ => {}
    }
    nameplate.construction.and_then(absorbs_little).map(str::to_owned)
}

/// Why the absorption of a construction is small or hidden, however sound it is.
const fn absorbs_little(construction: Construction) -> Option<&'static str> {
    match construction {
        Construction::RandomWound => Some("in a random-wound stator absorption is over within seconds"),
        Construction::DcArmature => Some("the armature of a commutator machine absorbs little, however sound it is"),
        Construction::Field => Some("a field winding absorbs little, however sound it is"),
        Construction::BareField => Some("bare conductors have next to nothing that could absorb"),
        Construction::WaterCooled => Some("the water in the hoses carries a current that does not die away"),
        Construction::Cable | Construction::Circuit => Some("the index is meant for the windings of machines"),
        Construction::FormWound | Construction::WoundRotor | Construction::WaterCooledDrained => None,
    }
}

/// One ratio of timed readings.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Index,
    AbsorptionRatio,
}

impl Kind {
    fn of(self, record: &TestRecord) -> Option<Ratio> {
        match self {
            Self::Index => polarization_index(&record.readings),
            Self::AbsorptionRatio => absorption_ratio(&record.readings),
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Index => "polarization index R600/R60",
            Self::AbsorptionRatio => "absorption ratio R60/R30",
        }
    }

    const fn keys(self) -> (&'static str, &'static str) {
        match self {
            Self::Index => ("pi", "pi_minimum"),
            Self::AbsorptionRatio => ("dar", "dar_minimum"),
        }
    }
}

/// The tests since the last event or shift that have a ratio, latest first.
fn tests_with<'v>(view: &'v View<'_>, kind: Kind) -> impl DoubleEndedIterator<Item = (&'v TestRecord, Ratio)> {
    let case = view.case;
    let counts = move |at: &usize| case.tests[*at].left_out.is_none();
    (case.start..case.tests.len()).rev().filter(counts).filter_map(move |at| {
        let record = case.record(at);
        Some((record, kind.of(record)?))
    })
}

/// A ratio below its least value at the latest test that has it, and at how many tests running.
struct LowRatio {
    kind: Kind,
    value: f64,
    least: f64,
    on: NaiveDate,
    since: NaiveDate,
    /// Tests running at which it was low.
    running: usize,
    /// Whether the machine is so large that it may not run without a good index.
    must_pass: bool,
}

/// The ratio that is too low, if one is: the polarization index where it means something, else the absorption ratio where the site has a
/// least value. A later test without that ratio takes nothing back.
fn low_ratio(view: &View<'_>) -> Option<LowRatio> {
    let (nameplate, policy) = (&view.case.nameplate, &view.terms.policy);
    let low = |kind: Kind, least: f64, means_something: &dyn Fn(&TestRecord) -> bool| {
        let mut running =
            tests_with(view, kind).take_while(|(record, ratio)| says_too_low(*ratio, least) && means_something(record));
        let (record, ratio) = running.next()?;
        let earlier: Vec<NaiveDate> = running.map(|(record, _)| record.tested_on.date).collect();
        Some(LowRatio {
            kind,
            value: ratio.value,
            least,
            on: record.tested_on.date,
            since: earlier.last().copied().unwrap_or(record.tested_on.date),
            running: 1 + earlier.len(),
            must_pass: kind == Kind::Index && both_must_pass(nameplate, policy),
        })
    };
    let (_, latest) = view.latest()?;
    let index = low(Kind::Index, least_polarization_index(nameplate, policy), &|record| {
        not_meaningful(&record.readings, nameplate, policy).is_none()
    });
    index
        .filter(|_| not_meaningful(&latest.readings, nameplate, policy).is_none())
        .or_else(|| low(Kind::AbsorptionRatio, policy.dar_minimum?, &|_| true))
}

fn says_too_low(ratio: Ratio, least: f64) -> bool {
    ratio.value < least && ratio.bound != Bound::Above
}

/// Whether resistance and polarization index must both pass.
fn both_must_pass(nameplate: &Nameplate, policy: &Policy) -> bool {
    let large =
        nameplate.rated_power.is_some_and(|power| power.as_kilowatts() >= policy.both_must_pass_from.as_kilowatts());
    large && nameplate.construction.is_none_or(|construction| absorbs_little(construction).is_none())
}

pub(super) fn low_absorption(view: &View<'_>) -> Option<Finding> {
    let low = low_ratio(view).filter(|_| index_below_one(view).is_none())?;
    let (name, on) = (low.kind.name(), low.on);
    let (value, least) = (three_digits(low.value), three_digits(low.least));
    let whose = if low.kind == Kind::Index { "the" } else { "the site's own" };
    let mut message = if low.running == 1 {
        format!("On {on} the {name} was {value}, below {whose} least value of {least}: damp or dirt is likely.")
    } else {
        format!(
            "On {on} the {name} was {value}, below {whose} least value of {least}, as at all {} tests with it since {}: the repeat has been made; clean and dry the winding.",
            low.running, low.since
        )
    };
    if low.must_pass {
        message.push_str(" A machine of this size must pass by resistance and by index before it runs.");
    }
    let (value_key, least_key) = low.kind.keys();
    let source = match (low.kind, low.must_pass) {
        (Kind::AbsorptionRatio, _) => "policy ratios.dar_minimum",
        (Kind::Index, false) => "IEEE Std 43-2000 cl. 12.2; policy ratios",
        (Kind::Index, true) => "IEEE Std 43-2000 cl. 12.2 and 12.1 (from memory); policy ratios.both_must_pass_from_kw",
    };
    Some(
        Finding::new(Code::LowAbsorption, message, source)
            .with(value_key, low.value)
            .with(least_key, low.least)
            .with("tests_running", low.running as f64)
            .asking_before_use(match (low.must_pass, low.running) {
                (true, _) => Asks::Hold,
                (false, 1) => Asks::Repeat,
                (false, _) => Asks::Work,
            }),
    )
}

/// A resistance that falls while the voltage is on.
pub(super) fn index_below_one(view: &View<'_>) -> Option<Finding> {
    index_of_ten_minutes(view).or_else(|| later_reading_below(view))
}

/// The same in a test that was ended before ten minutes.
fn later_reading_below(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let one = reading_at(&record.readings, one_minute())?;
    let later = record.readings.last().filter(|reading| reading.elapsed > one_minute())?;
    let (before, after) = (steps::least(one)?, steps::most(later.value)?);
    let ratio = after.as_megohms() / before.as_megohms();
    if ratio >= FALLS_BELOW || after > view.terms.policy.pi_not_meaningful_above {
        return None;
    }
    let message = format!(
        "On {} the resistance fell while the voltage was on, from {one} after one minute to {} after {}: the leakage grows under voltage, \
         as in wet or tracking insulation. Do not energise it; clean and dry it, then test again.",
        latest.tested_on.date, later.value, later.elapsed
    );
    Some(
        Finding::new(Code::IndexBelowOne, message, "TM 5-683 ch. 14: below 1 dangerous (from memory); common practice")
            .with("ratio", ratio)
            .asking_before_use(Asks::Hold),
    )
}

fn index_of_ten_minutes(view: &View<'_>) -> Option<Finding> {
    let (record, pi) = tests_with(view, Kind::Index).next()?;
    let policy = &view.terms.policy;
    let ten = reading_at(&record.readings, ten_minutes())?;
    let limit = policy.pi_not_meaningful_above;
    let beyond_the_tester = ten.resistance().is_some_and(|ten| ten > limit);
    let least =
        if not_meaningful(&record.readings, &view.case.nameplate, policy).is_some() { FALLS_BELOW } else { 1.0 };
    if !says_too_low(pi, least) || beyond_the_tester {
        return None;
    }
    let one = reading_at(&record.readings, one_minute())?;
    let message = format!(
        "On {} the resistance fell while the voltage was on, from {one} after one minute to {ten} after ten (polarization index {}): the leakage grows under voltage, as in wet or tracking insulation. Do not energise it; clean and dry it, then test again.",
        record.tested_on.date,
        three_digits(pi.value)
    );
    Some(
        Finding::new(Code::IndexBelowOne, message, "TM 5-683 ch. 14: below 1 dangerous (from memory)")
            .with("pi", pi.value)
            .asking_before_use(Asks::Hold),
    )
}

pub(super) fn index_missing(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let (nameplate, policy) = (&view.case.nameplate, &view.terms.policy);
    if !both_must_pass(nameplate, policy) || not_meaningful(&record.readings, nameplate, policy).is_some() {
        return None;
    }
    let last = tests_with(view, Kind::Index).next().map(|(record, _)| record.tested_on.date);
    if last.is_some_and(|on| (latest.tested_on.date - on).num_days() <= INDEX_HOLDS_DAYS) {
        return None;
    }
    let power = nameplate.rated_power?;
    let message = format!(
        "A machine of {power} must pass by resistance and by polarization index, and no test of ten minutes was made in the year up to {}: hold the voltage for ten minutes.",
        latest.tested_on.date
    );
    let source = "IEEE Std 43 cl. 12.1 (from memory); policy ratios.both_must_pass_from_kw";
    Some(Finding::new(Code::IndexMissing, message, source).asking(Asks::Repeat))
}

pub(super) fn high_index(view: &View<'_>) -> Option<Finding> {
    let (record, pi) = tests_with(view, Kind::Index).next()?;
    let (nameplate, policy) = (&view.case.nameplate, &view.terms.policy);
    let on = record.tested_on.date;
    let old = match nameplate.year_of_winding() {
        Some(year) => year < policy.modern_from_year || on.year() - year >= OLD_AGE_YEARS,
        None => nameplate.insulation_family().family != Insulation::Thermosetting,
    };
    if pi.value <= policy.pi_brittle_above || pi.bound == Bound::Below || !old {
        return None;
    }
    if not_meaningful(&record.readings, nameplate, policy).is_some() {
        return None;
    }
    let message = format!(
        "On {on} the polarization index R600/R60 was {}, above {}: insulation of this age may be dry and brittle. Look at it before it is cleaned or moved.",
        three_digits(pi.value),
        three_digits(policy.pi_brittle_above)
    );
    Some(
        Finding::new(Code::HighIndex, message, "IEEE Std 43-2000 cl. 12.2; policy ratios.pi_brittle_above")
            .with("pi", pi.value),
    )
}

pub(super) fn ratio_fallen(view: &View<'_>) -> Option<Finding> {
    let (nameplate, policy) = (&view.case.nameplate, &view.terms.policy);
    let mut finding =
        Finding::new(Code::RatioFallen, "", "absorption tells of damp before resistance does; policy ratios.fall");
    let mut sentences = Vec::new();
    for kind in [Kind::Index, Kind::AbsorptionRatio] {
        let means_something = |record: &TestRecord| match kind {
            Kind::Index => not_meaningful(&record.readings, nameplate, policy).is_none(),
            Kind::AbsorptionRatio => one_minute_resistance(&record.readings)
                .and_then(Measured::resistance)
                .is_some_and(|r| r <= policy.pi_not_meaningful_above),
        };
        let exact = |ratio: &Ratio| ratio.bound == Bound::Exact;
        let mut tests = tests_with(view, kind).filter(|(record, ratio)| means_something(record) && exact(ratio));
        let Some((latest, now)) = tests.next() else { continue };
        let earlier: Vec<(NaiveDate, f64)> =
            tests.map(|(record, ratio)| (record.tested_on.date, ratio.value)).collect();
        let values: Vec<f64> = earlier.iter().map(|(_, value)| *value).collect();
        let Some((first, usual)) = earlier.last().map(|(on, _)| *on).zip(median(values)) else { continue };
        let fall = 1.0 - now.value / usual;
        if earlier.len() < LEAST_EARLIER || fall < policy.ratio_fall {
            continue;
        }
        sentences.push(format!(
            "The {} of {} was {}, {:.0} % below its own usual {} of {} tests since {first}.",
            kind.name(),
            latest.tested_on.date,
            three_digits(now.value),
            100.0 * fall,
            three_digits(usual),
            earlier.len()
        ));
        let (key, usual_key) = if kind == Kind::Index { ("pi", "usual_pi") } else { ("dar", "usual_dar") };
        finding = finding.with(key, now.value).with(usual_key, usual);
    }
    if sentences.is_empty() {
        return None;
    }
    finding.message = sentences.join(" ");
    Some(finding.asking(Asks::SoonerTest))
}

pub(super) fn ratio_not_meaningful(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let pi = polarization_index(&record.readings).filter(|_| index_below_one(view).is_none())?;
    let why = not_meaningful(&record.readings, &view.case.nameplate, &view.terms.policy)?;
    let message = format!(
        "The polarization index of {}, {}, is not a measure of condition here: {why}.",
        latest.tested_on.date,
        three_digits(pi.value)
    );
    Some(
        Finding::new(
            Code::RatioNotMeaningful,
            message,
            "IEEE Std 43-2000 cl. 5.4 and 12.2; fields and armatures: common practice",
        )
        .with("pi", pi.value),
    )
}

pub(super) fn phase_spread(view: &View<'_>) -> Option<Finding> {
    let limit = view.terms.policy.phase_ratio_limit;
    let mut sentences = Vec::new();
    let mut finding = Finding::new(Code::PhaseSpread, "", "phases tested together share temperature and damp");
    if let Some(spread) = &view.phases.spread {
        let seen = match spread.rounds_in_a_row - 1 {
            0 => String::new(),
            1 => ", as in the round before".to_owned(),
            rounds => format!(", as in the {rounds} rounds before"),
        };
        sentences.push(format!(
            "On {} phase {} read {} times as much as phase {}, more than the limit of {}{seen}.",
            spread.on,
            spread.highest,
            three_digits(spread.ratio),
            spread.lowest,
            three_digits(limit)
        ));
        finding.source.insert_str(0, "GB 50150-2006 cl. 3.0.2; policy phases.ratio_limit; ");
        finding = finding.with("ratio", spread.ratio).with("rounds_in_a_row", spread.rounds_in_a_row as f64);
    }
    if let Some(drift) = &view.phases.drift {
        sentences.push(format!(
            "This phase falls away from the others by a factor of {} a year, in {} rounds since {}; temperature and damp cancel in the ratio.",
            three_digits(libm::exp10(-drift.log10_per_year)),
            drift.rounds,
            drift.since
        ));
        finding = finding.with("drift_log10_per_year", drift.log10_per_year).with("p", drift.p);
    }
    if sentences.is_empty() {
        return None;
    }
    finding.message = sentences.join(" ");
    // Seen once it may be a mistake; seen again it is the winding.
    let spread = view.phases.spread.as_ref();
    Some(match spread.map(|spread| (spread.rounds_in_a_row, spread.ratio)) {
        Some((1, _)) if view.phases.drift.is_none() => finding.asking_before_use(Asks::Repeat),
        Some((2.., ratio)) if ratio >= FAR_APART => finding.asking_before_use(Asks::Work),
        _ => finding.asking(Asks::SoonerTest),
    })
}
