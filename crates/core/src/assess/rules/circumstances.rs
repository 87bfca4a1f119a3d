//! How the latest test was made: leads, damp, voltage, tester, date.

use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::LeftOut;
use crate::assess::view::View;
use crate::moisture::damp_check;
use crate::nameplate::Construction;
use crate::record::{Check, KeptOut, LeadCheck, SourceCheck, TestRecord};
use crate::resistance::Bound;
use crate::steps;
use crate::units::{Temperature, Voltage, three_digits};
use crate::voltage::{guide_for, guide_source, is_same_voltage};

/// How many times the greatest voltage of the guide strain the insulation; common practice.
const STRAINS: f64 = 2.0;
/// Below this share of the least voltage of the guide, more than one step of the usual testers (250, 500, 1000, 2500, 5000 V), a test proves
/// little, unless it is so many times the rated voltage; common practice.
const WEAK: f64 = 0.4;
const WEAK_BELOW_RATED: f64 = 2.0;
/// A reading at a lower voltage that is so many times the one before it may be the voltage's; common practice.
const RISES_AT_LESS: f64 = 2.0;

pub(super) fn lead_check_failed(view: &View<'_>) -> Option<Finding> {
    let record = view.case.record(view.case.last_made()?);
    let procedure = record.procedure();
    let which = match (record.lead_check, procedure.zero_check, procedure.open_check) {
        (Some(LeadCheck::Failed), _, _) => "lead",
        (_, Some(Check::Failed), _) => "zero",
        (_, _, Some(Check::Failed)) => "open",
        _ => return None,
    };
    let message = format!(
        "The {which} check before the test of {} failed, so that test does not count: leads must read zero shorted and over range open.",
        record.tested_on.date
    );
    Some(Finding::new(Code::LeadCheckFailed, message, "common practice").asking_before_use(Asks::NewTest))
}

/// A winding that is no warmer than this may be at rest, as warm as the air, °C; common practice.
const AT_REST_C: f64 = 35.0;

/// Winding and air at a test, and which of them was taken to be as warm as the other because it was not written down.
fn winding_and_air(record: &TestRecord) -> Option<(Temperature, Temperature, &'static str)> {
    match (record.winding_temp, record.air_temp) {
        (Some(winding), Some(air)) => Some((winding, air, "")),
        (Some(winding), None) if winding.as_celsius() <= AT_REST_C => Some((
            winding,
            winding,
            ", with the air as warm as the winding, since its temperature was not written down",
        )),
        (None, Some(air)) => {
            Some((air, air, ", if it was as warm as the air, since its temperature was not written down"))
        }
        _ => None,
    }
}

pub(super) fn damp_test(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let policy = &view.terms.policy;
    let (winding, air, taken) = winding_and_air(record)?;
    let check = damp_check(winding, air, record.humidity?, policy.dew_point_margin);
    if !check.damp {
        return None;
    }
    let above = check.above_dew_point.as_kelvins();
    let wet = above <= 0.0;
    let over_range = latest.as_read?.bound() == Bound::Above;
    let (side, so) = match (wet, over_range) {
        (true, _) => (
            "below",
            "at the dew point a winding is wet: do not start it until it is dry and the test is repeated".to_owned(),
        ),
        (false, true) => {
            ("above", format!("damp lowers a reading, and at least {} are needed", policy.dew_point_margin))
        }
        (false, false) => (
            "above",
            format!(
                "damp lowers a reading, and at least {} are needed: do not start it until the test is repeated",
                policy.dew_point_margin
            ),
        ),
    };
    let message = format!(
        "On {} the winding, at {winding}, was {} K {side} the dew point of {}{taken}; {so}.",
        latest.tested_on.date,
        three_digits((above.abs() * 10.0).round() / 10.0),
        check.dew_point,
    );
    let source = "IEEE Std 43 cl. 6.2 (from memory); dew point WMO-No. 8 Annex 4.B; policy damp.dew_point_margin_k";
    let finding = Finding::new(Code::DampTest, message, source)
        .with("dew_point_c", check.dew_point.as_celsius())
        .with("above_dew_point_k", above);
    // Damp lowers a reading; one that is over range all the same needs no repeat, unless water was on the winding.
    Some(if over_range && !wet { finding } else { finding.asking_before_use(Asks::Repeat) })
}

/// What a tester put out beside what it should have put out.
pub(super) struct Output {
    volts: Voltage,
    due: Voltage,
    /// Where `due` comes from if the setting was not written down.
    instead: Option<&'static str>,
}

impl Output {
    /// The output at a test, or on a known meter before it. Without a setting it is compared with that of the tests before, or the guide.
    pub(super) fn at(view: &View<'_>, at: usize) -> Option<Self> {
        let record = view.case.record(at);
        let on_a_meter = match record.procedure().source_check {
            Some(SourceCheck::Measured(volts)) => Some(volts),
            _ => None,
        };
        let before = || view.case.tests[..at].iter().rev().find_map(|test| test.test_volts);
        let (due, instead) = match (record.test_volts, before()) {
            (Some(set), _) => (set, None),
            (None, Some(before)) => (before, Some("of the tests before")),
            (None, None) => (guide_for(&view.case.nameplate)?.least, Some("of the guide")),
        };
        Some(Self { volts: record.output_volts.or(on_a_meter)?, due, instead })
    }

    fn share(&self) -> f64 {
        self.volts.as_volts() / self.due.as_volts()
    }

    /// Whether it is so low that the test proves nothing.
    pub(super) fn is_low(&self, view: &View<'_>) -> bool {
        self.share() * view.terms.policy.output_ratio_limit < 1.0
    }
}

/// The tester's output beside its setting. Too low an output proves nothing: the test is void.
pub(super) fn tester_output(view: &View<'_>) -> Option<Finding> {
    let (latest, _) = view.latest()?;
    let output = Output::at(view, view.case.latest()?)?;
    let limit = view.terms.policy.output_ratio_limit;
    let low = output.is_low(view);
    let so = match (low, output.share() > limit && output.instead.is_none()) {
        (true, _) => {
            "a voltage this low proves nothing, so the test is void: repeat it with a tester that holds its voltage"
        }
        (_, true) => "have the tester looked at",
        _ => return None,
    };
    let (on, volts, due, share) = (latest.tested_on.date, output.volts, output.due, three_digits(output.share()));
    let message = match output.instead {
        Some(whose) => format!(
            "On {on} the tester delivered {volts}, {share} times the {due} {whose}, and its setting was not written down; {so}."
        ),
        None => format!(
            "On {on} the tester set to {due} delivered {volts}, {share} times its setting; {} to {} times are inside its tolerance; {so}.",
            three_digits(1.0 / limit),
            three_digits(limit)
        ),
    };
    let source = "IEC 61557-2 cl. 4.2 (from memory); policy voltage.output_ratio_limit";
    let finding = Finding::new(Code::TesterOutput, message, source).with("output_ratio", output.share());
    Some(if low { finding.asking_before_use(Asks::NewTest) } else { finding })
}

/// The test voltage beside the guide for what was tested.
pub(super) fn voltage_outside_guide(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    // A test without its voltage is taken to be made as those before it.
    let before = || view.case.tests[..view.case.latest()?].iter().rev().find_map(|test| test.test_volts);
    let volts = record.test_volts.or_else(|| before().filter(|_| record.output_volts.is_none()))?;
    let rated = view.case.nameplate.rated_voltage?;
    let guide = guide_for(&view.case.nameplate)?;
    if guide.allows(volts) {
        return None;
    }
    let range = if guide.least == guide.greatest {
        guide.least.to_string()
    } else {
        format!("{} to {}", guide.least, guide.greatest)
    };
    let enough = (WEAK * guide.least.as_volts()).min(WEAK_BELOW_RATED * rated.as_volts());
    let is_weak = volts.as_volts() < enough;
    let so = if is_weak {
        "; so far below that a test proves little: do not start it until the test is repeated at the guide's voltage"
    } else if volts.as_volts() >= STRAINS * guide.greatest.as_volts() {
        "; so far above it the test strains the insulation"
    } else {
        ""
    };
    let what = match view.case.nameplate.construction {
        Some(Construction::Circuit) => "circuit",
        Some(Construction::Cable) => "cable",
        _ => "winding",
    };
    let on = latest.tested_on.date;
    let made = match record.test_volts {
        Some(_) => format!("The test of {on} was made at {volts}"),
        None => format!("The test of {on} has no voltage, and those before it were made at {volts}"),
    };
    let message = format!("{made}; the guide for a {what} rated {rated} is {range}{so}.");
    let finding = Finding::new(Code::VoltageOutsideGuide, message, guide_source(&view.case.nameplate))
        .with("test_volts", volts.as_volts())
        .with("guide_least_volts", guide.least.as_volts())
        .with("guide_greatest_volts", guide.greatest.as_volts());
    Some(if is_weak { finding.asking_before_use(Asks::Repeat) } else { finding })
}

pub(super) fn voltage_changed(view: &View<'_>) -> Option<Finding> {
    let ((latest, now), (before, then)) = (view.latest()?, view.before_latest()?);
    let (new, old) = (now.test_volts?, then.test_volts?);
    if is_same_voltage(new, old) {
        return None;
    }
    // What fails under the higher voltage may pass under the lower one.
    let rose = steps::least(latest.corrected?)
        .zip(before.corrected.and_then(steps::most))
        .is_some_and(|(now, then)| now.as_megohms() >= RISES_AT_LESS * then.as_megohms());
    let hides = rose && new < old;
    let so = if hides {
        "; the lower voltage may hide a fault: repeat the test at the higher one before it is started"
    } else {
        ""
    };
    let message = format!(
        "The test of {} was made at {new}, the one of {} at {old}: part of any difference may come from the voltage{so}.",
        latest.tested_on.date, before.tested_on.date
    );
    let source = "IEEE Std 43 cl. 6.4; TM 5-683 ch. 14: same voltage at each test";
    let finding = Finding::new(Code::VoltageChanged, message, source)
        .with("test_volts", new.as_volts())
        .with("previous_volts", old.as_volts());
    Some(if hides { finding.asking_before_use(Asks::Repeat) } else { finding })
}

pub(super) fn instrument_changed(view: &View<'_>) -> Option<Finding> {
    let ((latest, now), (before, then)) = (view.latest()?, view.before_latest()?);
    let (new, old) = (now.instrument.as_ref()?, then.instrument.as_ref()?);
    if new.trim().eq_ignore_ascii_case(old.trim()) {
        return None;
    }
    let message = format!(
        "The test of {} was made with {new}, the one of {} with {old}: testers may differ by 30 % of the reading each.",
        latest.tested_on.date, before.tested_on.date
    );
    Some(
        Finding::new(Code::InstrumentChanged, message, "IEC 61557-2:2019 cl. 6.2: operating uncertainty up to 30 %")
            .with("instrument", new.as_str())
            .with("previous_instrument", old.as_str()),
    )
}

pub(super) fn future_test(view: &View<'_>) -> Option<Finding> {
    let later = view.case.tests.iter().zip(&view.case.series.tests);
    let later = later
        .filter(|(test, row)| {
            test.left_out == Some(LeftOut::AfterAsOf) && !row.kept_out.is_some_and(KeptOut::is_undated)
        })
        .count();
    if later == 0 {
        return None;
    }
    let (noun, verb) = if later == 1 { ("test is", "was") } else { ("tests are", "were") };
    let message = format!("{later} {noun} dated after {} and {verb} left out.", view.terms.as_of);
    Some(Finding::new(Code::FutureTest, message, "--as-of").with("tests", later as f64))
}
