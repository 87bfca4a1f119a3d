use super::*;
use crate::record::columns::Column;
use crate::record::{
    Battery, Check, EquipmentState, Event, LeadCheck, OtherPhases, Phase, Procedure, SourceCheck, UnreadCell,
};
use crate::series::Series;
use crate::units::{DielectricDischarge, DischargeTime, StandingTime};
use proptest::prelude::*;

const OTHER_PHASES: [OtherPhases; 4] =
    [OtherPhases::Earthed, OtherPhases::Guarded, OtherPhases::Open, OtherPhases::Joined];
const STATES: [EquipmentState; 3] = [EquipmentState::InService, EquipmentState::Standby, EquipmentState::Store];

fn any_procedure() -> impl Strategy<Value = Option<Box<Procedure>>> {
    let words = (0usize..5, 0usize..3, 0usize..3, 0usize..4, 0usize..4);
    (words, prop::collection::vec(prop::option::of(0.0f64..900.0), 5)).prop_map(
        |((other, battery, zero, source, state), numbers)| {
            let check = [None, Some(Check::Ok), Some(Check::Failed)];
            let number = |i: usize| numbers[i].map(|value: f64| if value < 450.0 { value.round() } else { value });
            let text = |what: &str, i: usize| numbers[i].map(|value| format!("{what} {value:.0}"));
            let one = Procedure {
                other_phases: (OTHER_PHASES.get(other)).copied(),
                serial: text("serial", 0),
                calibration_due: numbers[1].map(|days| NaiveDate::default() + chrono::Days::new(days as u64)),
                battery: [None, Some(Battery::Ok), Some(Battery::Low)][battery],
                zero_check: check[zero],
                open_check: check[battery],
                source_check: match source {
                    0 => None,
                    1 => Some(SourceCheck::Checked(Check::Ok)),
                    2 => Some(SourceCheck::Checked(Check::Failed)),
                    _ => number(2).map(|v| SourceCheck::Measured(Voltage::from_volts(v + 1.0).expect("a voltage"))),
                },
                proved_dead: [None, Some(true), Some(false)][zero],
                discharged: number(3).map(|t| DischargeTime::from_minutes(t).expect("a time")),
                dielectric_discharge: number(4).map(|d| DielectricDischarge::from_ratio(d).expect("a ratio")),
                tested_by: text("crew", 2),
                work_order: text("WO", 3),
                equipment_state: (STATES.get(state)).copied(),
                standing: number(1).map(|t| StandingTime::from_hours(t).expect("a time")),
                unread: text("bars", 4).map(|text| UnreadCell::new(Column::LeadCheck, &text)).into_iter().collect(),
            };
            (one != Procedure::default()).then(|| Box::new(one))
        },
    )
}

fn any_test() -> impl Strategy<Value = TestRecord> {
    let numbers = prop::collection::vec(prop::option::of((1.0f64..99.0, 0i32..12)), 6);
    let readings = prop::collection::vec((0usize..6, 1e-3f64..1e6, 0u8..4), 0..4);
    let codes = (0u8..4, 0u8..3, 0u8..2, prop::option::of(0usize..8), 0u8..3, 0u8..3);
    (numbers, readings, codes, 0u32..3, 1u64..5000, 0i64..40, any_procedure()).prop_map(
        |(numbers, readings, codes, input, line, day, procedure)| {
            let number = |i: usize| {
                numbers[i].map(|(value, decimals)| (value * 10f64.powi(decimals)).round() / 10f64.powi(decimals))
            };
            let (winding, connection, scope, event, lead_check, text) = codes;
            let mut timed = TimedReadings::default();
            for (at, megohms, kind) in readings {
                let elapsed = Elapsed::from_seconds([15.0, 30.0, 60.0, 120.5, 300.0, 600.0][at]).expect("a time");
                let r = Resistance::from_megohms(megohms).expect("a resistance");
                let value =
                    [Measured::Exact(r), Measured::Above(r), Measured::Below(r), Measured::OffScale][kind as usize];
                // A second reading at the same time is refused.
                let _ = timed.insert(TimedReading { elapsed, value });
            }
            let other = Connection::Other("N-earth".to_owned());
            let date = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day") + chrono::Days::new(day.unsigned_abs());
            TestRecord {
                winding: format!("P-{winding}"),
                connection: [Connection::AllEarth, Connection::PhaseEarth(Phase::V), other][connection as usize]
                    .clone(),
                scope: [Scope::Winding, Scope::WindingAndCable][scope as usize],
                tested_on: TestedOn {
                    date,
                    time: NaiveTime::from_hms_opt(line as u32 % 24, 5, 0).filter(|_| line % 3 == 0),
                },
                readings: timed,
                test_volts: number(0).map(|v| Voltage::from_volts(v * 50.0).expect("a voltage")),
                output_volts: number(1).map(|v| Voltage::from_volts(v * 50.0).expect("a voltage")),
                winding_temp: number(2).map(|t| Temperature::from_celsius(t - 30.0).expect("a temperature")),
                air_temp: number(3).map(|t| Temperature::from_celsius(t - 30.0).expect("a temperature")),
                humidity: number(4).map(|h| RelativeHumidity::from_percent(h).expect("a humidity")),
                instrument: (text > 0).then(|| format!("tester {text}")),
                full_scale: number(5).map(|r| Resistance::from_megohms(r * 100.0).expect("a resistance")),
                lead_check: [None, Some(LeadCheck::Ok), Some(LeadCheck::Failed)][lead_check as usize],
                procedure,
                event: event.map(|i| Event::WORDS[i].0),
                note: (text == 2).then(|| "after rain".to_owned()),
                origin: Origin { input, line },
                kept_out: None,
            }
        },
    )
}

proptest! {
    #[test]
    fn every_test_comes_back_as_it_went_in(tests in prop::collection::vec(any_test(), 0..40), split in 0usize..40) {
        let split = split.min(tests.len());
        let mut table: TestTable = tests[..split].iter().cloned().collect();
        table.append(tests[split..].iter().cloned().collect()).expect("there is room");
        table.shrink();
        prop_assert_eq!(table.len(), tests.len());
        prop_assert_eq!(table.tests().collect::<Vec<_>>(), tests.clone());
        let day = NaiveDate::from_ymd_opt(2026, 1, 20).expect("a day");
        prop_assert_eq!(table.made_after(day), tests.iter().filter(|test| test.tested_on.date > day).count());
    }

    #[test]
    fn series_are_those_of_the_plain_collection(tests in prop::collection::vec(any_test(), 0..60)) {
        let table = tests.iter().cloned().collect::<TestTable>().into_series();
        let found = table.to_vec();
        prop_assert_eq!(&found, &Series::collect(tests.clone()));
        prop_assert_eq!(table.tests(), tests.len());
        let names: std::collections::BTreeSet<&str> = tests.iter().map(|test| test.winding.as_str()).collect();
        prop_assert_eq!(table.windings().collect::<Vec<_>>(), names.into_iter().collect::<Vec<_>>());
    }

    #[test]
    fn rows_taken_out_are_gone_and_nothing_else(
        tests in prop::collection::vec(any_test(), 0..60),
        out in prop::collection::vec(0usize..60, 0..60),
    ) {
        let mut table = tests.iter().cloned().collect::<TestTable>().into_series();
        table.remove(&out);
        let kept: Vec<TestRecord> =
            tests.iter().enumerate().filter(|(row, _)| !out.contains(row)).map(|(_, test)| test.clone()).collect();
        let found = table.to_vec();
        prop_assert_eq!(found, Series::collect(kept.clone()));
        let mut by_place = kept;
        by_place.sort_by_key(|test| test.origin);
        let origins = |tests: &[TestRecord]| tests.iter().map(|test| test.origin).collect::<Vec<_>>();
        prop_assert_eq!(origins(&table.by_place()), origins(&by_place));
    }

    #[test]
    fn readings_off_the_scale_are_found_among_the_rows_that_are_left(
        tests in prop::collection::vec(any_test(), 0..60),
        out in prop::collection::vec(0usize..60, 0..60),
    ) {
        let mut table = tests.iter().cloned().collect::<TestTable>().into_series();
        table.remove(&out);
        let mut found = table.off_scale();
        found.sort_unstable();
        let kept = tests.iter().enumerate().filter(|(row, _)| !out.contains(row)).map(|(_, test)| test);
        let off_scale = |test: &TestRecord| test.readings.iter().filter(|r| r.value == Measured::OffScale).count();
        let mut expected: Vec<Origin> = kept.flat_map(|test| std::iter::repeat_n(test.origin, off_scale(test))).collect();
        expected.sort_unstable();
        prop_assert_eq!(found, expected);
    }

    #[test]
    fn moments_that_several_rows_tell_of_are_found(tests in prop::collection::vec(any_test(), 0..60)) {
        let table = tests.iter().cloned().collect::<TestTable>().into_series();
        for rows in table.at_the_same_time() {
            prop_assert!(rows.len() > 1);
            prop_assert!(rows.iter().all(|row| table.test(*row).same_test(&table.test(rows[0]))));
        }
        let listed: usize = table.at_the_same_time().iter().map(Vec::len).sum();
        let several = tests.iter().filter(|one| tests.iter().filter(|other| one.same_test(other)).count() > 1).count();
        prop_assert_eq!(listed, several);
    }
}

#[test]
fn days_come_back_from_the_ends_of_the_calendar() {
    let days = [NaiveDate::MIN, NaiveDate::default(), NaiveDate::MAX];
    let tests = days.map(|day| TestRecord::empty("P-1".to_owned(), TestedOn::day(day)));
    let table: TestTable = tests.iter().cloned().collect();
    assert_eq!(table.tests().collect::<Vec<_>>(), tests);
}

#[test]
fn a_line_beyond_all_lines_is_refused() {
    let mut table = TestTable::new();
    let cells = [("winding", "P-1"), ("tested_on", "2026-04-02"), ("r_60s", "5")];
    let cells = cells.map(|(header, text)| (crate::record::columns::Column::read(header).expect("a column"), text));
    let origin = Origin { input: 0, line: 1 << 33 };
    let test = crate::record::validate::TestRules::default().validate(cells, origin).expect("a test");
    assert_eq!(table.push(&test), Err(TableFull));
    assert_eq!(TableFull.to_string(), "there are more tests than one table can hold");
    assert!(table.is_empty());
}
