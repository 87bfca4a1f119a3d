//! What to do about a series, step by step, in the order in which it is done.

use crate::output::test_by;
use crate::summary::span_in_words;
use chrono::NaiveDate;
use groundwall::assess::{Action, Asks, Code, SeriesAssessment, WorkBy};

/// The steps for a series, as on a day.
#[must_use]
pub fn steps(series: &SeriesAssessment, as_of: NaiveDate) -> Vec<String> {
    let is_line = matches!(series.scope.as_str(), "cable" | "circuit");
    let [machine, winding] = if is_line { ["circuit"; 2] } else { ["machine", "winding"] };
    let mut steps: Vec<String> = match series.action {
        Action::Hold => vec![
            format!(
                "Keep the {machine} out of service, locked out and labelled, until a qualified person has decided."
            ),
            if is_line {
                "Prove the leads, disconnect every load, and repeat the test.".to_owned()
            } else {
                "Prove the leads and repeat the test at a known winding temperature, away from the dew point."
                    .to_owned()
            },
            "If the reading is confirmed: find the cause, then clean, dry, repair or replace, and test again before \
             energising."
                .to_owned(),
        ],
        Action::Plan => {
            let time = if series.work_by == Some(WorkBy::BeforeUse) { "" } else { " while there is time" };
            vec![plan(series, machine), format!("Look for the cause{time}: dirt, moisture, heat, age.")]
        }
        Action::Recheck => vec!["Repeat the test before anything else is decided.".to_owned()],
        Action::Shorten => vec!["No work yet; test sooner than usual, and look for the cause.".to_owned()],
        Action::Keep | Action::Gather => Vec::new(),
    };
    if series.action != Action::Hold && series.must_not_be_energised() {
        let until = if keeps_out_for_work(series) { "the cause was looked for" } else { "the test was repeated" };
        steps.push(format!("Do not energise the {winding} until {until}."));
    }
    if series.may_be_wet() {
        steps.push(
            "It may be wet: test it at 500 V or less first, and go on to the full voltage only if that reads well."
                .to_owned(),
        );
    }
    steps.extend(series.findings.iter().filter_map(|finding| remedy(finding.code, is_line)).map(str::to_owned));
    let why = series.next_test.why.trim_start_matches("now: ").trim_start_matches("now, ");
    let late = series.overdue_days.map_or_else(String::new, |days| format!(", overdue by {}", span_in_words(days)));
    steps.push(match test_by(series, as_of).as_str() {
        "now" => format!("Test again now{late}: {why}."),
        day => format!("Test again by {day}: {why}."),
    });
    steps
}

/// Whether work, and not only another test, comes before the machine is used again.
fn keeps_out_for_work(series: &SeriesAssessment) -> bool {
    series.findings.iter().any(|finding| finding.asks == Asks::Work && finding.before_use)
}

/// By when the work is to be done. A date made from the trend is never told as if it gave time where the machine stays out of use.
fn plan(series: &SeriesAssessment, machine: &str) -> String {
    match series.work_by {
        Some(WorkBy::BeforeUse) if keeps_out_for_work(series) => {
            format!("Raise work now, to be done before the {machine} is used again.")
        }
        Some(WorkBy::BeforeUse) => format!(
            "Raise work now, and repeat the test: it is doubtful, so the {machine} is not energised before it is repeated."
        ),
        Some(WorkBy::Now) => "Raise work now: the level may be at the minimum already.".to_owned(),
        Some(WorkBy::Day(day)) => {
            format!("Raise work to be done by {day}, the day before the level may first reach the minimum.")
        }
        Some(WorkBy::NextOutage) | None => "Raise work for the next outage.".to_owned(),
    }
}

/// What a finding asks for beside the action.
const fn remedy(code: Code, is_line: bool) -> Option<&'static str> {
    match code {
        Code::FallSinceLast | Code::RecoveredWithoutWork if is_line => {
            Some("Look for water in boxes and pipes, damaged insulation, and loads that were left connected.")
        }
        Code::DampTest if is_line => Some("Test on a dry day, or warm and dry the place first."),
        Code::LeadCheckFailed => {
            Some("Before the test, see that the leads read zero when shorted and over range when open.")
        }
        Code::CheckFailed => Some("Have the tester looked at, and use one that puts out its voltage."),
        Code::CalibrationExpired => Some("Have the tester checked, or repeat the test with one in calibration."),
        Code::BatteryLow => Some("Charge the tester's battery, look at it under load, and repeat the test."),
        Code::NotProvedDead => Some("Isolate the circuit, prove it dead, write it down, and repeat the test."),
        Code::ShortDischarge => Some("Discharge the winding to earth before anybody touches it."),
        Code::PhasesJoined => Some("Separate the phases at the star point, or write that they were joined."),
        Code::OtherPhasesMixed => {
            Some("Write what the other phases were at each reading, and connect them alike each time.")
        }
        Code::Drying => Some("Go on drying; let it cool, and test it cold before anything is released."),
        Code::InStore => Some("Keep its heater on, turn the shaft by hand, and test it before it goes into service."),
        Code::HighDischarge => Some("Look for a damp or dirty layer of the insulation: clean and dry it."),
        Code::TesterOutput => Some("Have the tester looked at, and use one that holds its voltage."),
        Code::FrozenWinding => Some("Warm the machine above freezing and dry the winding."),
        Code::FallSinceLast => {
            Some("Look at the terminal box, the heater and the cooler, and for water and dirt on the winding.")
        }
        Code::RecoveredWithoutWork => Some("Look for water that comes and goes: heater, roof, cooler, terminal box."),
        Code::FallsWithVoltage => {
            Some("Clean and dry the winding and its terminals, then repeat the steps of the voltage.")
        }
        Code::RowKeptOut => Some("Find out from the test sheet which row is right, and correct the other."),
        Code::DampTest => {
            Some("Test at least three kelvins above the dew point: warm the winding or wait for dry air.")
        }
        Code::TemperatureMissing => Some("Measure the winding temperature at the test and write it down."),
        Code::TemperatureOutsideLaw => Some("Test at a winding temperature inside the range of the temperature law."),
        Code::PhaseSpread => Some("Test the three phases again one after the other with the same tester and voltage."),
        Code::IndexBelowOne => Some("Do not energise it. Clean and dry the winding, then repeat the ten-minute test."),
        Code::TestApart => Some("Disconnect the cable and test winding and cable each on its own."),
        Code::IndexMissing => Some("Repeat the test and hold the voltage for ten minutes."),
        Code::LimitBasis => Some("Enter minimum_basis into the register: as-read or reference."),
        Code::LowAbsorption => Some("Dry and clean the winding, then repeat the ten-minute test."),
        Code::UnitSlip => Some("Check the unit of the reading against the test sheet."),
        Code::CopiedRows => Some("Ask who made the test, and make it again: its values are another winding's."),
        Code::TimedReadingsFall => {
            Some("Keep voltage and leads still while the readings are taken, for the whole time.")
        }
        Code::TemperatureImplausible => Some("Check the temperature against the test sheet and the thermometer."),
        Code::LevelShift => Some("Find out what was done when the level jumped, and write the event into the history."),
        Code::CellUnread => Some("Correct the cell from the test sheet, and judge the winding again."),
        Code::NoteOfWater => {
            Some("Find out whether the winding was in water. If so, write the event flooded, dry it and test it cold.")
        }
        Code::NoteOfFailure => {
            Some("Find out what the note is about. Do not energise the winding before it is tested again.")
        }
        Code::RegisterUnread => Some("Correct what the register says of this winding, and judge it again."),
        Code::MinimumUnknown => {
            Some("Enter rated voltage and construction into the register: they decide the minimum.")
        }
        Code::InsulationUnknown => Some("Enter the insulation family into the register: it decides the correction."),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::samples::{Sample, on};
    use groundwall::assess::{Finding, NextTest};

    fn said(action: Action, change: impl FnOnce(&mut SeriesAssessment)) -> Vec<String> {
        let mut series = Sample::new("P-9", action, "2026-11-25").judgement.assessment;
        series.next_test = NextTest {
            by: on("2026-11-25"),
            why: "now: the usual interval of 365 days ended on 2025-11-13".to_owned(),
        };
        change(&mut series);
        steps(&series, on("2026-11-25"))
    }

    #[test]
    fn the_strictest_deadline_of_the_work_is_the_one_that_is_told() {
        let first = |work_by, finding: Finding| {
            let steps = said(Action::Plan, |series| {
                series.work_by = Some(work_by);
                series.findings.push(finding);
            });
            (steps[0].clone(), steps[1].clone())
        };
        let of = |code, asks| Finding::new(code, "A sentence.", "").asking(asks);
        let at_leisure = "Look for the cause while there is time: dirt, moisture, heat, age.".to_owned();
        let at_once = "Look for the cause: dirt, moisture, heat, age.".to_owned();
        let by_trend = || of(Code::ReachesMinimum, Asks::Work);
        let by_phases = Finding::new(Code::PhaseSpread, "A sentence.", "").asking_before_use(Asks::Work);
        let in_doubt = Finding::new(Code::FallSinceLast, "A sentence.", "").asking_before_use(Asks::Repeat);
        for (work_by, finding, sentence, cause) in [
            (WorkBy::BeforeUse, by_phases, "Raise work now, to be done before the machine is used again.", &at_once),
            (
                WorkBy::BeforeUse,
                in_doubt,
                "Raise work now, and repeat the test: it is doubtful, so the machine is not energised before it is repeated.",
                &at_once,
            ),
            (WorkBy::Now, by_trend(), "Raise work now: the level may be at the minimum already.", &at_leisure),
            (
                WorkBy::Day(on("2027-08-19")),
                by_trend(),
                "Raise work to be done by 2027-08-19, the day before the level may first reach the minimum.",
                &at_leisure,
            ),
            (WorkBy::NextOutage, of(Code::PhaseSpread, Asks::Work), "Raise work for the next outage.", &at_leisure),
        ] {
            assert_eq!(first(work_by, finding), (sentence.to_owned(), cause.clone()));
        }
    }

    #[test]
    fn an_overdue_test_is_said_to_be_overdue() {
        assert_eq!(
            said(Action::Keep, |series| series.overdue_days = Some(377)),
            ["Test again now, overdue by 12 months: the usual interval of 365 days ended on 2025-11-13."]
        );
    }

    #[test]
    fn every_finding_that_puts_a_test_in_doubt_says_what_to_do() {
        for code in [Code::DampTest, Code::LeadCheckFailed, Code::TemperatureMissing, Code::UnitSlip, Code::CopiedRows]
        {
            assert!(remedy(code, false).is_some_and(|text| text.ends_with('.')), "{code}");
        }
        assert_eq!(remedy(Code::Overdue, false), None);
    }
}
