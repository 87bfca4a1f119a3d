//! What the latest reading itself says: against the minimum, its temperature, its scale.

use super::circumstances::Output;
use super::doubt::{Doubt, worst_margin};
use super::process::is_zero_between_leads;
use super::unit_slip::unit_that_fits;
use crate::assess::commissioning::SinceCommissioning;
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::{CorrectedTest, LeftOut};
use crate::assess::view::View;
use crate::minimum;
use crate::nameplate::{Construction, InsulationFamily};
use crate::policy::LawChoice;
use crate::record::{Connection, Scope, TestRecord};
use crate::resistance::{Bound, Measured, TimedReading};
use crate::steps;
use crate::temperature::{TemperatureLaw, insulation_of};
use crate::units::{Probability, Resistance, Temperature, Voltage, three_digits};
use crate::voltage::{guide_for, is_same_voltage};

pub(super) fn no_reading(view: &View<'_>) -> Option<Finding> {
    if let Some(latest) = view.case.latest() {
        return no_reading_since(view, latest);
    }
    let start = view.case.tests.get(view.case.start);
    let message = match (view.case.last_made(), start.and_then(|start| Some((start, start.event?)))) {
        (None, _) => format!("No test was made up to {}: nothing is known of the winding.", view.terms.as_of),
        (_, Some((start, event))) if start.as_read.is_none() => format!(
            "Nothing has been read since the winding was {} on {}: test it before it is energised.",
            event.word(),
            start.tested_on.date
        ),
        (Some(made), _) => format!(
            "No test up to {} counts: none has a one-minute resistance taken with proven leads.",
            view.case.tests[made].tested_on.date
        ),
    };
    let source = "IEEE Std 43 cl. 5.3: the one-minute value is the one that is judged";
    Some(Finding::new(Code::NoReading, message, source).asking_before_use(Asks::NewTest))
}

/// A test after the latest one that counts was read at other times than one minute: the answer must not rest on the older test alone.
fn no_reading_since(view: &View<'_>, latest: usize) -> Option<Finding> {
    let tests = &view.case.tests;
    let unread = |at: &usize| tests[*at].left_out == Some(LeftOut::NoOneMinuteReading);
    let (at, lowest) = (latest + 1..tests.len()).rev().filter(unread).find_map(|at| {
        let most = |reading: &&TimedReading| steps::most(reading.value).map_or(f64::INFINITY, Resistance::as_megohms);
        let readings = view.case.record(at).readings.iter();
        Some((at, readings.min_by(|a, b| most(a).total_cmp(&most(b)))?))
    })?;
    let is_low = lowest.value.at_or_below(view.case.minimum.resistance);
    let before_use = if is_low { " before the winding is energised" } else { "" };
    let message = format!(
        "The test of {} has no reading after one minute, only {} after {}; the answer rests on the test of {}. Repeat it and read it after \
         one minute{before_use}.",
        tests[at].tested_on.date, lowest.value, lowest.elapsed, tests[latest].tested_on.date
    );
    let source = "IEEE Std 43 cl. 5.3: the one-minute value is the one that is judged";
    let finding = Finding::new(Code::NoReading, message, source);
    Some(if is_low { finding.asking_before_use(Asks::Repeat) } else { finding.asking(Asks::Repeat) })
}

pub(super) fn below_minimum(view: &View<'_>) -> Option<Finding> {
    let latest = lowest_step(view)?;
    let minimum = &view.case.minimum;
    if view.case.series.key.scope == Scope::WindingAndCable || is_zero_between_leads(view) {
        return None;
    }
    let (value, limit) = view.case.judged(latest)?;
    if value.at_or_below(limit) {
        let at = at_which_temperature(view, latest);
        let on = latest.tested_on.date;
        let since = view.case.below_since().unwrap_or(on);
        let others = if since < on { format!(", as is every one since {since}") } else { String::new() };
        let message = format!(
            "The latest reading, {value}{at} on {on}, is at or below the minimum of {limit}{others}.{}",
            dead_short(view, latest)
        );
        let mohm = value.resistance().map_or(0.0, |r| r.as_megohms());
        return Some(
            Finding::new(Code::BelowMinimum, message, minimum.rule.clone())
                .asking_before_use(Asks::Hold)
                .with("r60_ref_mohm", mohm)
                .with("minimum_mohm", limit.as_megohms())
                .with("below_since", since.to_string()),
        );
    }
    // Above the minimum as read: a level that rests on an assumed temperature alone is no ground to hold.
    let known = view.case.counted().any(|at| view.case.tests[at].kt.is_some());
    let outlook = view.outlook.filter(|outlook| known && outlook.rests_on_readings())?;
    // A limit that is meant as read was passed as read; a level that rests on that one reading says no more.
    if minimum.as_read.is_some() && outlook.summary.tests < 2 {
        return None;
    }
    let limit = view.terms.policy.hold_probability.as_fraction();
    if outlook.p_below_today <= limit {
        return None;
    }
    let level = outlook.summary.level_mohm.map_or_else(String::new, |mohm| format!(", {} MΩ,", three_digits(mohm)));
    let message = format!(
        "By the trend of all readings the level today{level} is below the minimum of {} ({}), though the latest reading is not.",
        minimum.resistance,
        Probability::of_harm(outlook.p_below_today).describe()
    );
    Some(
        Finding::new(Code::BelowMinimum, message, format!("policy decision.hold_probability; {}", minimum.rule))
            .asking_before_use(Asks::Hold)
            .with("p_below_today", outlook.p_below_today)
            .with("minimum_mohm", minimum.resistance.as_megohms()),
    )
}

/// The latest test; of one at several voltages the step at or below the minimum, if there is one, whichever step the trend takes. Steps far
/// above the guide do not count.
fn lowest_step<'v>(view: &'v View<'_>) -> Option<&'v CorrectedTest> {
    let case = view.case;
    let (latest, _) = view.latest()?;
    let too_high = |volts: Voltage| {
        guide_for(&case.nameplate)
            .is_some_and(|guide| volts > guide.greatest && !is_same_voltage(volts, guide.greatest))
    };
    let is_low = |test: &&CorrectedTest| {
        test.left_out == Some(LeftOut::OtherStep)
            && test.tested_on.date == latest.tested_on.date
            && !test.test_volts.is_some_and(too_high)
            && case.judged(test).is_some_and(|(value, limit)| value.at_or_below(limit))
    };
    case.tests.iter().rev().find(is_low).or(Some(latest))
}

/// A good reading that cannot be relied on does not clear a low one: where the test before was at or below the minimum, the winding still is.
pub(super) fn still_below(view: &View<'_>, found: &[Finding]) -> Option<Finding> {
    let case = view.case;
    let latest = case.latest()?;
    let before = case.counted().rev().find(|at| *at < latest && !shows_nothing(view, *at))?;
    let test = &case.tests[before];
    let is_weaker = case.tests[latest]
        .test_volts
        .zip(test.test_volts)
        .is_some_and(|(now, then)| now < then && !is_same_voltage(now, then));
    let doubt = found
        .iter()
        .find(|finding| doubts_a_good_reading(finding) || (is_weaker && finding.code == Code::VoltageChanged))?;
    let (value, limit) = case.judged(test).filter(|(value, limit)| value.at_or_below(*limit))?;
    let is_low_itself = case.judged(&case.tests[latest]).is_some_and(|(value, limit)| value.at_or_below(limit));
    if is_low_itself || case.series.key.scope == Scope::WindingAndCable {
        return None;
    }
    let message = format!(
        "The reading of {}, {value}{}, is at or below the minimum of {limit}, and the test of {} does not clear it ({}).",
        test.tested_on.date,
        at_which_temperature(view, test),
        case.tests[latest].tested_on.date,
        doubt.code.word().replace('-', " ")
    );
    Some(
        Finding::new(Code::BelowMinimum, message, case.minimum.rule.clone())
            .asking_before_use(Asks::Hold)
            .with("r60_ref_mohm", value.resistance().map_or(0.0, |r| r.as_megohms()))
            .with("minimum_mohm", limit.as_megohms()),
    )
}

/// A good reading that cannot be relied on does not show that a winding is dry.
pub(super) fn still_wet(view: &View<'_>, found: &[Finding]) -> Option<Finding> {
    let case = view.case;
    let latest = case.latest()?;
    let drying = case.drying.as_ref().filter(|drying| drying.ended_by_a_test && drying.rows.end == latest + 1)?;
    let doubt = found.iter().find(|finding| doubts_a_good_reading(finding))?;
    let message = format!(
        "The winding {} {}, and the test of {} does not clear it ({}): hold it until a test that can be relied on shows that it is dry.",
        if drying.flooded { "was flooded on" } else { "has been drying since" },
        drying.since,
        case.tests[latest].tested_on.date,
        doubt.code.word().replace('-', " ")
    );
    let finding = Finding::new(Code::Drying, message, "common practice: drying out; cold test before release")
        .with("since", drying.since.to_string())
        .with("tests", drying.rows.len() as f64);
    Some(finding.asking_before_use(Asks::Hold))
}

/// Whether a finding says that a good latest reading cannot be relied on.
pub(in crate::assess) fn doubts_a_good_reading(finding: &Finding) -> bool {
    match finding.code {
        Code::OffScale
        | Code::TesterOutput
        | Code::FrozenWinding
        | Code::UnitSlip
        | Code::CopiedRows
        | Code::CheckFailed
        | Code::BatteryLow
        | Code::NotProvedDead
        | Code::CalibrationExpired
        | Code::VoltageOutsideGuide
        | Code::CellUnread
        | Code::NoteOfFailure
        | Code::NoteOfWater
        | Code::DampTest
        | Code::TemperatureMissing
        | Code::TemperatureOutsideLaw
        | Code::TemperatureImplausible => finding.asks != Asks::Nothing,
        _ => false,
    }
}

/// Whether a test by itself shows nothing of the winding: over range on a scale of unknown end, too low an output, ice.
fn shows_nothing(view: &View<'_>, at: usize) -> bool {
    let low_output = Output::at(view, at).is_some_and(|output| output.is_low(view));
    view.case.tests[at].as_read == Some(Measured::OffScale) || freezing(view.case.record(at)).is_some() || low_output
}

/// Days for which a reading below the minimum that came back by itself is said: one round of the seasons. Common practice.
const INTERMITTENT_DAYS: i64 = 365;

/// Water that comes and goes leaves one low reading among good ones, which the trend may take for an outlier.
pub(super) fn recovered_without_work(view: &View<'_>) -> Option<Finding> {
    let (case, minimum) = (view.case, &view.case.minimum);
    let latest_at = case.latest()?;
    let low = |at: &usize| case.judged(&case.tests[*at]).is_some_and(|(value, limit)| value.at_or_below(limit));
    if low(&latest_at) {
        return None;
    }
    // Work done before the latest test explains why it reads better; work done before the low one does not.
    let since = case.tests[..=latest_at].iter().rposition(|test| test.event.is_some()).unwrap_or(0);
    let recent = |at: &usize| {
        let test = &case.tests[*at];
        matches!(test.left_out, None | Some(LeftOut::BeforeStretch))
            && view.terms.as_of.signed_duration_since(test.tested_on.date).num_days() <= INTERMITTENT_DAYS
    };
    let found: Vec<usize> = (since..latest_at).filter(recent).filter(low).collect();
    let Some(at_low) = found.last().copied() else {
        let tests: Vec<usize> = (since..=latest_at).filter(recent).collect();
        return fell_and_came_back(view, &tests);
    };
    let test = &case.tests[at_low];
    let value = test.corrected.filter(|_| test.kt.is_some()).or(test.as_read)?;
    let at = match test.kt {
        Some(_) => format!(" at {}", view.terms.policy.reference_temp),
        None => " (temperature unknown)".to_owned(),
    };
    let others = match found.len() - 1 {
        0 => String::new(),
        1 => ", and so was one other test in the last year".to_owned(),
        more => format!(", and so were {more} other tests in the last year"),
    };
    let latest = &case.tests[latest_at];
    // A unit error looks the same. Until the test sheet shows one, the low reading counts.
    let so = match unit_that_fits(view, at_low) {
        Some(other) => format!(
            "either the unit was mistaken, as {other} would fit the other tests, or water or dirt comes and goes; look at the test sheet, \
             and look for water unless it shows the mistake"
        ),
        None => "water or dirt that comes and goes is likely; look for it".to_owned(),
    };
    let message = format!(
        "On {} the winding read {value}{at}, at or below the minimum of {}{others}, and came back to {} on {} with no work written \
         down: {so}.",
        test.tested_on.date, minimum.resistance, latest.as_read?, latest.tested_on.date
    );
    Some(
        Finding::new(Code::RecoveredWithoutWork, message, "common practice")
            .with("tested_on", test.tested_on.date.to_string())
            .with("tests", found.len() as f64)
            .with("minimum_mohm", minimum.resistance.as_megohms())
            .asking(Asks::SoonerTest),
    )
}

/// By so much two readings that agree have to be lower than the one before them, and than the latest; common practice.
const CAME_BACK_FACTOR: f64 = 3.0;
const RISEN_FACTOR: f64 = 1.5;

/// Two readings in a row a third and less of the one before them, and a latest one that came back by itself, if only in part.
fn fell_and_came_back(view: &View<'_>, tests: &[usize]) -> Option<Finding> {
    let case = view.case;
    let level = |at: usize| case.tests[at].corrected;
    let (latest, before) = tests.split_last()?;
    let [.., _, _] = before else { return None };
    let now = level(*latest).and_then(steps::least)?.as_megohms();
    let (one, other) = before.windows(2).rev().map(|pair| (pair[0], pair[1])).find(|(one, other)| {
        let highest =
            [*one, *other].map(|at| level(at).and_then(steps::most).map_or(f64::INFINITY, Resistance::as_megohms));
        let low = highest[0].max(highest[1]);
        let earlier = case.tests[..*one].iter().rev().filter(|test| test.event.is_none());
        let mut earlier = earlier.filter_map(|test| Some(test.corrected.and_then(steps::least)?.as_megohms()));
        RISEN_FACTOR * low <= now && earlier.next().is_some_and(|earlier| CAME_BACK_FACTOR * low <= earlier)
    })?;
    let (first, last) = (&case.tests[one], &case.tests[other]);
    let message = format!(
        "On {} and {} the winding read {} and {}, a third and less of what it read before, and came back to {} on {} with no \
         work written down: water or dirt that comes and goes is likely; look for it.",
        first.tested_on.date,
        last.tested_on.date,
        first.as_read?,
        last.as_read?,
        case.tests[*latest].as_read?,
        case.tests[*latest].tested_on.date
    );
    let finding = Finding::new(Code::RecoveredWithoutWork, message, "common practice")
        .with("tested_on", last.tested_on.date.to_string())
        .with("tests", 2.0);
    Some(finding.asking(Asks::SoonerTest))
}

/// The temperature at or below freezing that a winding was tested at: its own, or that of the air where its own was not written down.
fn freezing(record: &TestRecord) -> Option<Temperature> {
    record.winding_temp.or(record.air_temp).filter(|t| t.as_celsius() <= 0.0)
}

/// Ice insulates: a good reading of a frozen winding is not a pass, whatever its temperature law.
pub(super) fn frozen_winding(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let at = freezing(record)?;
    let on = latest.tested_on.date;
    let (what, key) = match record.winding_temp {
        Some(_) => (format!("The winding was at {at} on {on}"), "winding_temp_c"),
        None => (
            format!("The air was at {at} on {on} and the winding temperature was not recorded; it may be frozen"),
            "air_temp_c",
        ),
    };
    let is_low = view.case.judged(latest).is_some_and(|(value, limit)| value.at_or_below(limit));
    let so = if is_low {
        format!("ice insulates, so thawed it may read less still than {}", latest.as_read?)
    } else {
        format!("ice insulates, so {} is not a pass", latest.as_read?)
    };
    let message = format!("{what}: {so}; thaw and dry it, and repeat the test before it is energised.");
    Some(
        Finding::new(Code::FrozenWinding, message, "common practice")
            .with(key, at.as_celsius())
            .asking_before_use(Asks::Repeat),
    )
}

/// At which temperature the latest reading is compared with the minimum, in words.
fn at_which_temperature(view: &View<'_>, latest: &CorrectedTest) -> String {
    match (view.case.minimum.as_read, latest.kt, latest.winding_temp) {
        (Some(_), ..) => " as read".to_owned(),
        (None, Some(_), _) => format!(" at {}", view.terms.policy.reference_temp),
        (None, None, Some(hot)) => format!(" as read at {hot}"),
        (None, None, None) => " as read (temperature unknown)".to_owned(),
    }
}

/// Up to this resistance a conductor touches earthed metal, MΩ: 230 V drive 23 mA through it, enough to kill (common practice).
const CONTACT_MOHM: f64 = 0.01;

/// What a reading of nothing at all between a conductor and earth means for people.
fn dead_short(view: &View<'_>, latest: &CorrectedTest) -> &'static str {
    let zero = match latest.as_read {
        Some(Measured::Below(below)) => below <= view.terms.policy.zero_means_below,
        Some(Measured::Exact(r)) => r.as_megohms() <= CONTACT_MOHM,
        _ => false,
    };
    let to_earth = match &view.case.series.key.connection {
        Connection::AllEarth | Connection::PhaseEarth(_) => true,
        Connection::PhasePhase(_) => false,
        Connection::Other(text) => Connection::names_earth(text),
    };
    if zero && to_earth { " A conductor is in contact with earthed metal: shock hazard." } else { "" }
}

/// Winding and cable together below the minimum of the winding: neither is known to be bad.
pub(super) fn test_apart(view: &View<'_>) -> Option<Finding> {
    let (latest, _) = view.latest()?;
    if view.case.series.key.scope != Scope::WindingAndCable {
        return None;
    }
    let (value, limit) = view.case.judged(latest)?;
    let p_below = view.outlook.filter(|outlook| outlook.rests_on_readings()).map(|outlook| outlook.p_below_today);
    let likely = p_below.is_some_and(|p| p > view.terms.policy.hold_probability.as_fraction());
    if !value.at_or_below(limit) && !likely {
        return None;
    }
    let read = format!(
        "Winding and cable together read {value}{} on {}",
        at_which_temperature(view, latest),
        latest.tested_on.date
    );
    let owes = match p_below.filter(|_| !value.at_or_below(limit)) {
        Some(p) => format!(
            "{read}, but by the trend of all readings they are below the {} that is the minimum for the winding alone ({})",
            view.case.minimum.resistance,
            Probability::of_harm(p).describe()
        ),
        None => format!("{read}; the minimum for the winding alone is {limit}"),
    };
    let message = format!(
        "{owes}: disconnect the cable and test both separately. Do not energise them until then.{}",
        dead_short(view, latest)
    );
    Some(
        Finding::new(Code::TestApart, message, view.case.minimum.rule.clone())
            .with("minimum_mohm", limit.as_megohms())
            .asking_before_use(Asks::Repeat),
    )
}

/// A limit of the site whose basis is not stated, where the two ways to read it disagree.
pub(super) fn limit_basis(view: &View<'_>) -> Option<Finding> {
    let (latest, _) = view.latest()?;
    let limit = view.case.minimum.as_read.filter(|_| view.case.minimum.basis_assumed)?;
    let (as_read, corrected) = (latest.as_read?, latest.corrected.filter(|_| latest.kt.is_some())?);
    if as_read.at_or_below(limit) || !corrected.at_or_below(limit) {
        return None;
    }
    let message = format!(
        "The latest reading, {as_read} as read on {}, is above the site's limit of {limit}, but at {} it is {corrected}, which is not: set minimum_basis in the register to as-read or reference.",
        latest.tested_on.date, view.terms.policy.reference_temp
    );
    Some(
        Finding::new(Code::LimitBasis, message, "register minimum_basis; policy minimum.basis")
            .with("limit_mohm", limit.as_megohms())
            .asking(Asks::Repeat),
    )
}

/// What is left of the reading with which the winding came into service.
pub(super) fn below_commissioning(view: &View<'_>) -> Option<Finding> {
    let limit = view.terms.policy.commissioning_share?;
    let since = SinceCommissioning::of(&view.case.tests).filter(|since| since.share < limit)?;
    let message = format!(
        "The latest reading, {} at {}, is {} % of the {} with which the winding was {} on {}.",
        since.latest,
        view.terms.policy.reference_temp,
        three_digits(100.0 * since.share),
        since.first,
        since.event.word(),
        since.on
    );
    Some(
        Finding::new(Code::BelowCommissioning, message, "policy minimum.commissioning_share; common practice")
            .with("share", since.share),
    )
}

/// Below this temperature a winding is cool, not odd, °C.
const COOL_TO_C: f64 = 10.0;
/// How many times the minimum a cool winding has to keep under twice the doubt of its law.
const COOL_MARGIN: f64 = 2.0;

pub(super) fn temperature_missing(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if record.winding_temp.is_some() || latest.as_read == Some(Measured::OffScale) {
        return None;
    }
    if let Some(air) = latest.winding_temp {
        return air_stands_in(view, air);
    }
    if view.case.nameplate.construction == Some(Construction::Circuit) {
        // Limits of circuits belong to no temperature.
        return None;
    }
    if let Some(limit) = view.case.minimum.as_read {
        let message = format!(
            "The latest test, on {}, has no winding temperature, so {} is held as read against the limit of {limit}; write the temperature next time.",
            latest.tested_on.date, latest.as_read?
        );
        let finding = Finding::new(Code::TemperatureMissing, message, view.case.minimum.rule.clone());
        return Some(finding);
    }
    let factor = view.case.worst_likely_factor(view.terms.policy.reference_temp);
    let doubt = Doubt::of(worst_margin(view, factor), view.terms.policy.doubt_margin);
    let message = format!(
        "The latest test, on {}, has no winding temperature, so {} cannot be corrected; {}.",
        latest.tested_on.date, latest.as_read?, doubt.in_words
    );
    let source = "policy temperature.doubt_margin; IEEE Std 43 cl. 6.3";
    Some(doubt.put_into(Finding::new(Code::TemperatureMissing, message, source)))
}

/// The machine stood long enough to have the temperature of the air, which is said.
fn air_stands_in(view: &View<'_>, air: Temperature) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let correction = view.case.law.correction(air, view.terms.policy.reference_temp);
    let open = view.case.doubts.get(view.case.latest()?).copied().unwrap_or(correction.log10_doubt);
    let margin = worst_margin(view, libm::exp10(correction.log10_factor - 2.0 * open));
    let doubt = Doubt::of(margin, 1.0);
    let stood = record.procedure().standing.map_or_else(
        || "was in store".to_owned(),
        |hours| format!("had stood for {} h", three_digits(hours.as_hours())),
    );
    let message = format!(
        "The latest test, on {}, has no winding temperature; the machine {stood}, so the {air} of the air are used for it; {}; write the \
         winding's own next time.",
        latest.tested_on.date, doubt.in_words
    );
    let source = "policy temperature.stood_hours; common practice";
    Some(doubt.put_into(Finding::new(Code::TemperatureMissing, message, source)))
}

pub(super) fn temperature_outside_law(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let reference = view.terms.policy.reference_temp;
    // A frozen winding has a finding of its own.
    let at = record.winding_temp.filter(|t| t.as_celsius() > 0.0)?;
    let correction = view.case.law.correction(at, reference);
    if !correction.outside {
        return None;
    }
    let (from, to) = view.case.law.assumed.range();
    let range = format!("{} to {to}", from.as_celsius());
    let margin = worst_margin(view, libm::exp10(correction.log10_factor - 2.0 * correction.log10_doubt));
    // Insulation is tested in the cold half of the year too. There the law goes on with a doubt of its own, which the margin holds twice.
    let needed = if at.as_celsius() < COOL_TO_C { COOL_MARGIN } else { view.terms.policy.doubt_margin };
    let doubt = Doubt::of(margin, needed);
    let message = format!(
        "The winding was at {at} on {}, outside the {range} for which the temperature law holds; {}.",
        latest.tested_on.date, doubt.in_words
    );
    let finding = Finding::new(Code::TemperatureOutsideLaw, message, view.case.law.source())
        .with("winding_temp_c", at.as_celsius())
        .with("doubt_log10", correction.log10_doubt);
    Some(doubt.put_into(finding))
}

pub(super) fn off_scale(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let source = "bounds are kept as bounds; policy readings.full_scale_mohm";
    let minimum = view.case.minimum.resistance;
    match latest.as_read? {
        Measured::OffScale => {
            let message = format!(
                "The tester was over range on {} and its full scale was not recorded, so the test proves nothing: write it under full_scale, or repeat the test.",
                latest.tested_on.date
            );
            Some(Finding::new(Code::OffScale, message, source).asking(Asks::Repeat))
        }
        Measured::Above(limit) if latest.corrected.and_then(Measured::resistance).is_some_and(|r| r <= minimum) => {
            let message = format!(
                "The tester's scale ended at {limit} on {}, which at the reference temperature is not above the minimum of {minimum}; test with a higher scale.",
                latest.tested_on.date
            );
            let finding = Finding::new(Code::OffScale, message, source).with("limit_mohm", limit.as_megohms());
            Some(finding.asking_before_use(Asks::Repeat))
        }
        Measured::Below(limit) if !view.case.judged(latest)?.0.at_or_below(view.case.judged(latest)?.1) => {
            let message = format!(
                "All that the test of {} shows is less than {limit}, which may be below the minimum of {minimum}: repeat it on a range that \
                 shows the value before the winding is energised.",
                latest.tested_on.date
            );
            let finding = Finding::new(Code::OffScale, message, source).with("limit_mohm", limit.as_megohms());
            Some(finding.asking_before_use(Asks::Repeat))
        }
        Measured::Exact(shown) if record.full_scale.is_some_and(|scale| shown > scale) => {
            let scale = record.full_scale?;
            // Rounded to three digits they may look alike.
            let [as_shown, end] = if shown.to_string() == scale.to_string() {
                [shown, scale].map(|r| format!("{} MΩ", (r.as_megohms() * 1e6).round() / 1e6))
            } else {
                [shown, scale].map(|r| r.to_string())
            };
            let message = format!(
                "{as_shown} was read on {} with a tester whose scale is said to end at {end}; one of the two is wrong.",
                latest.tested_on.date
            );
            let finding = Finding::new(Code::OffScale, message, source).with("full_scale_mohm", scale.as_megohms());
            Some(finding.asking(Asks::NewTest))
        }
        _ => None,
    }
}

/// A minimum or a law that rests on an unreadable cell must not lead to a mild answer.
pub(super) fn register_unread(view: &View<'_>) -> Option<Finding> {
    let unread = &view.case.nameplate.unread;
    if unread.is_empty() {
        return None;
    }
    let cells = unread.join(", ");
    let message = format!(
        "The register says {cells} of this winding, which cannot be read and counts as not known; correct the register before \
         deciding anything."
    );
    let source =
        "a cell that cannot be read is unknown, and nothing unknown makes an answer less urgent; common practice";
    Some(Finding::new(Code::RegisterUnread, message, source).with("cells", cells).asking(Asks::Repeat))
}

pub(super) fn minimum_unknown(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    if !case.minimum.assumed {
        return None;
    }
    let by_policy = if case.minimum.by_policy { ", assumed by policy" } else { "" };
    let (cause, enter) = match (case.registered, case.nameplate.rated_voltage) {
        (false, _) => ("The winding is not in the register", "enter it with rated voltage and construction"),
        (true, None) => ("The rated voltage is not known", "enter it into the register"),
        (true, Some(_)) => ("The construction is not known", "enter it into the register"),
    };
    let minimum = &case.minimum;
    let mut message = format!(
        "{cause}, so the winding is judged against {}{by_policy}; {enter} before relying on this.",
        minimum.value_in_words()
    );
    let mut open = false;
    let stricter_possible_minimum = minimum::stricter_possible_minimum(&case.nameplate, minimum);
    let latest = view.latest().and_then(|(latest, _)| case.judged(latest));
    if let Some((strict, (value, _))) = stricter_possible_minimum.zip(latest)
        && value.at_or_below(strict)
    {
        message.push_str(&format!(" A winding of 1 kV and above may need {strict}, which {value} would not pass: do not energise it on this answer."));
        open = true;
    }
    let finding = Finding::new(Code::MinimumUnknown, message, minimum.rule.clone());
    Some(if open { finding.asking_before_use(Asks::Repeat) } else { finding })
}

pub(super) fn insulation_unknown(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if latest.as_read?.bound() == Bound::Above && latest.as_read?.resistance().is_none() {
        return None;
    }
    let law = view.case.assumed_law;
    let InsulationFamily { because, by_policy, family } = insulation_of(&view.case.nameplate, &view.terms.policy);
    let correction = law.correction(record.winding_temp?, view.terms.policy.reference_temp);
    let message = match (law, because) {
        (TemperatureLaw::Thermosetting | TemperatureLaw::Halving(_), None)
            if by_policy && view.terms.policy.law == LawChoice::ByInsulation =>
        {
            format!("The insulation family is not in the register and is {family}, assumed by policy.")
        }
        (TemperatureLaw::Thermosetting, Some(because)) => {
            format!("The insulation family is not in the register and was assumed to be thermosetting, from {because}.")
        }
        (TemperatureLaw::Either, because) => format!(
            "{}: the stricter of both temperature laws was used; the other gives {} times as much for the latest reading.",
            because.map_or_else(
                || "The insulation family is not known".to_owned(),
                |because| format!("{}, which do not go together", upper_first(&because))
            ),
            three_digits(libm::exp10(2.0 * correction.log10_doubt))
        ),
        _ => return None,
    };
    Some(Finding::new(Code::InsulationUnknown, message, law.source()).with("doubt_log10", correction.log10_doubt))
}

fn upper_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

pub(super) fn law_learnt(view: &View<'_>) -> Option<Finding> {
    let learnt = view.case.learnt.filter(|_| view.case.law.learnt.is_some())?;
    let message = format!(
        "The readings themselves say that the resistance {}; that beats the assumed law ({}), so it was used.",
        learnt.in_words(),
        view.case.assumed_law.name()
    );
    Some(
        Finding::new(
            Code::LawLearnt,
            message,
            "strength of evidence (Kass and Raftery 1995); IEEE Std 43 cl. 6.3 (from memory)",
        )
        .with("halving_k", learnt.halving.as_kelvins())
        .with("evidence", learnt.evidence),
    )
}
