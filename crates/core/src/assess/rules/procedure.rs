//! The record of the latest test: calibration and checks of the tester, discharge, where the machine was.

use crate::absorption::ten_minutes;
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::view::View;
use crate::record::{Battery, Check, EquipmentState, SourceCheck};
use crate::units::three_digits;

const SOURCE: &str = "common practice: checks before an insulation test";

/// From this dielectric discharge on, mA/(V·F), the insulation is questionable; from memory, for windings of high voltage.
const QUESTIONABLE_DISCHARGE: f64 = 2.0;
/// And from this on it is poor.
const POOR_DISCHARGE: f64 = 4.0;
/// A winding is discharged so many times as long as it was charged; common practice, said by IEEE Std 43 too (from memory).
const DISCHARGE_TIMES: f64 = 4.0;

/// A tester whose calibration had run out may read anything.
pub(super) fn calibration_expired(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let due = record.procedure().calibration_due?;
    let on = latest.tested_on.date;
    if on <= due {
        return None;
    }
    let serial = record.procedure().serial.as_deref().or(record.instrument());
    let tester = serial.map_or_else(|| "the tester".to_owned(), |name| format!("tester {name}"));
    let before = match on.signed_duration_since(due).num_days() {
        1 => "1 day".to_owned(),
        days => format!("{days} days"),
    };
    let message = format!(
        "On {on} {tester} was out of calibration: it was due on {due}, {before} before; have it checked, or repeat the test with \
         another, before relying on this reading."
    );
    Some(
        Finding::new(Code::CalibrationExpired, message, SOURCE)
            .with("calibration_due", due.to_string())
            .asking(Asks::Repeat),
    )
}

/// A weak battery lets the voltage collapse under load.
pub(super) fn battery_low(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if record.procedure().battery != Some(Battery::Low) {
        return None;
    }
    let message = format!(
        "The tester's battery was low on {}, so its voltage may have collapsed under load: charge it and repeat the test before the \
         winding is energised.",
        latest.tested_on.date
    );
    Some(Finding::new(Code::BatteryLow, message, SOURCE).asking_before_use(Asks::Repeat))
}

/// The tester's output was looked at and found wrong: the test is void.
pub(super) fn source_check_failed(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if record.procedure().source_check != Some(SourceCheck::Checked(Check::Failed)) {
        return None;
    }
    let message = format!(
        "The tester's output failed its check before the test of {}, so that test is void: repeat it with a tester that puts out its \
         voltage.",
        latest.tested_on.date
    );
    Some(Finding::new(Code::CheckFailed, message, SOURCE).asking_before_use(Asks::NewTest))
}

/// Nobody proved the circuit dead: a danger to whoever tests, and a foreign voltage falsifies the reading.
pub(super) fn not_proved_dead(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if record.procedure().proved_dead != Some(false) {
        return None;
    }
    let message = format!(
        "The circuit was not proved dead before the test of {}: a voltage on it endangers whoever tests and falsifies the reading; \
         prove it dead and repeat the test.",
        latest.tested_on.date
    );
    Some(Finding::new(Code::NotProvedDead, message, SOURCE).asking(Asks::Repeat))
}

/// A winding that was not discharged long enough is dangerous to touch, and spoils the timed readings of the next test.
pub(super) fn short_discharge(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let discharged = record.procedure().discharged?.as_minutes();
    let charged = record.readings.last()?.elapsed.as_seconds() / 60.0;
    let needed = DISCHARGE_TIMES * charged;
    if discharged >= needed {
        return None;
    }
    let spoils = if record.reading_at(ten_minutes()).is_some() {
        ", and a charge that is left spoils the next polarization index"
    } else {
        ""
    };
    let message = format!(
        "After the test of {} the winding was discharged for {} min, and it was charged for {} min: {} min are needed before anybody \
         touches it{spoils}.",
        latest.tested_on.date,
        three_digits(discharged),
        three_digits(charged),
        three_digits(needed)
    );
    let source = "common practice: discharge four times as long as charged";
    Some(Finding::new(Code::ShortDischarge, message, source).with("needed_min", needed))
}

/// The charge that insulation gives back one minute after a long test.
pub(super) fn dielectric_discharge(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let found = record.procedure().dielectric_discharge?.as_ratio();
    if found < QUESTIONABLE_DISCHARGE {
        return None;
    }
    let poor = found >= POOR_DISCHARGE;
    let so = if poor {
        "from 4 on insulation is poor: one of its layers is damp or dirty; look for the cause"
    } else {
        "from 2 on insulation is questionable; watch it"
    };
    let message = format!("The dielectric discharge of {} was {}; {so}.", latest.tested_on.date, three_digits(found));
    let source = "common practice for windings of high voltage: dielectric discharge, from memory";
    let finding = Finding::new(Code::HighDischarge, message, source).with("dielectric_discharge", found);
    Some(if poor { finding.asking(Asks::SoonerTest) } else { finding })
}

/// What a spare in store needs beside its test.
pub(super) fn in_store(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if record.procedure().equipment_state != Some(EquipmentState::Store) {
        return None;
    }
    let message = format!(
        "It was in store on {}: keep its heater on and its place dry, turn the shaft by hand when it is tested, and test it once more \
         before it goes into service.",
        latest.tested_on.date
    );
    Some(Finding::new(Code::InStore, message, "common practice: care of stored machines"))
}
