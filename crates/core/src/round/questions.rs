//! What to ask at the machine and what to see to before a test: whole sentences, from what the judgement found.

use super::expect::{Expectation, StopValue};
use crate::assess::{Action, Code, Minimum, SeriesAssessment};
use crate::nameplate::{Construction, Nameplate};
use crate::record::{Connection, OtherPhases, Scope};
use crate::series::SeriesKey;
use chrono::NaiveDate;

/// What to ask about a series that was tested before.
pub(super) fn for_tested(assessment: &SeriesAssessment, last: Option<NaiveDate>) -> Vec<String> {
    let since = last.map_or_else(String::new, |last| format!(" since {last}"));
    let work = format!("Was it cleaned, dried, repaired, rewound or replaced{since}? If so, write which under event.");
    let found = assessment.findings.iter().filter_map(|finding| Some(question(finding.code)?.to_owned()));
    let mut questions: Vec<String> = std::iter::once(work).chain(found).collect();
    questions.dedup();
    questions
}

/// What to ask about a winding that was never tested.
pub(super) fn for_untested(minimum: &Minimum) -> Vec<String> {
    let rating = minimum.assumed.then(|| question(Code::MinimumUnknown)).flatten();
    std::iter::once("Since when has it been in service, and was it ever rewound or repaired? Write it in the note.")
        .chain(rating)
        .map(str::to_owned)
        .collect()
}

/// What a finding asks of whoever tests next.
const fn question(code: Code) -> Option<&'static str> {
    Some(match code {
        Code::LeadCheckFailed => "The lead check failed last time: prove the leads again and write the outcome.",
        Code::NoReading => "No one-minute reading was ever written: hold the voltage for the full minute.",
        Code::FallSinceLast => {
            "The last reading was lower than expected: what of water, washing, dirt or heat since then?"
        }
        Code::DampTest => "It was damp last time: write air temperature and humidity, and test it warmer than the air.",
        Code::TemperatureMissing | Code::TemperatureOutsideLaw | Code::TemperatureImplausible => {
            "The winding temperature of the last test is missing or doubtful: measure it at the winding."
        }
        Code::PhaseSpread => "One phase differs from the others: test all three on one day with one tester.",
        Code::MinimumUnknown => {
            "The minimum is assumed: read rated voltage and construction off the nameplate and write them in the note."
        }
        Code::LowAbsorption => "The polarization index was low last time: is the winding dirty or damp?",
        Code::LevelShift => "The level jumped in the past and no reason was recorded: what was done then?",
        Code::UnitSlip => "The last reading looks like a unit error: read the unit on the tester twice.",
        Code::CopiedRows | Code::ValueRepeated => {
            "The last values are those of another test: write what the tester shows, digit for digit."
        }
        Code::TimedReadingsFall => {
            "A later reading was lower than an earlier one: watch the tester for the whole test."
        }
        Code::CalibrationExpired => {
            "The tester was out of calibration last time: take another, or have it checked first."
        }
        Code::BatteryLow => "The tester's battery was low last time: charge it and look at it under load.",
        Code::NotProvedDead => "It was not proved dead last time: prove it dead and write it.",
        Code::ShortDischarge => {
            "It was discharged for too short a time last time: discharge it to earth before this test too."
        }
        Code::PhasesJoined | Code::OtherPhasesMixed => {
            "Were the phases separated last time? Write other_phases: earthed, guarded, open or joined."
        }
        Code::InStore => "Is its heater on and its place dry? Turn the shaft by hand, and write equipment_state.",
        Code::OffScale => "It was over range and the end of the scale is not known: write it under full_scale.",
        Code::InstrumentChanged | Code::FullScaleChanged => "The tester changed last time: keep to one from now on.",
        _ => return None,
    })
}

/// What to know before the test of a series that is held: that a low reading is nothing new there.
pub(super) fn on_hold(action: Action, expected: &Expectation, stop: StopValue) -> Option<String> {
    let foreseen = match expected {
        Expectation::Reading(reading) => reading.median.at_or_below(stop.below),
        Expectation::CannotSay(_) => false,
    };
    let low = if foreseen { ", as it will unless it was cleaned, dried or repaired since," } else { "" };
    (action == Action::Hold).then(|| {
        format!(
            "It is on hold and is not to be energised: if it reads below the stop value again{low} that confirms the hold; above \
             it, a qualified person decides."
        )
    })
}

/// What to see to before the test of a series beside what holds for every test.
pub(super) fn checks(key: &SeriesKey, nameplate: &Nameplate, other_phases: Option<OtherPhases>) -> Vec<String> {
    let is_machine = matches!(key.scope, Scope::Winding | Scope::WindingAndCable);
    let connection = match (&key.connection, other_phases) {
        (Connection::PhaseEarth(_), Some(OtherPhases::Joined)) if is_machine => Some(
            "Leave the phases joined, as last time, and earth no other lead: that would be a dead short. Each lead reads the whole winding; \
             write other_phases joined.",
        ),
        (Connection::PhaseEarth(_), Some(OtherPhases::Guarded)) if is_machine => Some(
            "Separate the phases at the star point first, else it reads zero; then connect the other two to the guard, and write \
             other_phases guarded.",
        ),
        (Connection::PhaseEarth(_), _) if is_machine => Some(
            "Separate the phases at the star point first, else it reads zero; then earth the other two, and write other_phases earthed. \
             If they cannot be separated, test all leads together to earth.",
        ),
        (Connection::PhasePhase(_), _) if is_machine => {
            Some("Separate the phases at the star point first, else it reads zero.")
        }
        (Connection::Other(_), _) => Some("Connect as at the tests before."),
        _ => None,
    };
    let scope = match key.scope {
        Scope::Winding => "Disconnect the cable.",
        Scope::WindingAndCable => "Leave the cable connected; free its far end and keep people away from it.",
        Scope::Cable => "Disconnect the cable at both ends and keep people away from the far one.",
        Scope::Circuit => "Prove it dead, disconnect what it feeds, and test every line to earth and to the others.",
    };
    let drive = (nameplate.drive_fed == Some(true)).then_some(
        "Disconnect it from its drive: the test voltage destroys the electronics, and through them reads too low.",
    );
    let water = (nameplate.construction == Some(Construction::WaterCooledDrained))
        .then_some("Drain the water and blow the conductors dry first.");
    connection.into_iter().chain([scope]).chain(drive).chain(water).map(str::to_owned).collect()
}
