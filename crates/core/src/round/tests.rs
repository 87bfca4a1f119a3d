//! Whole rounds of small plants: what is due, every piece of advice as a sentence, bounds that stay bounds.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use crate::assess::{Action, InTurn};
use crate::nameplate::{Construction, Insulation, LimitBasis};
use crate::policy::Policy;
use crate::record::columns::Column;
use crate::record::validate::TestRules;
use crate::record::{Origin, TestRecord};
use crate::units::{Confidence, Resistance, Temperature, Voltage};
use chrono::Days;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn terms() -> Terms {
    Terms { policy: Policy::default(), as_of: day("2026-11-25"), confidence: Confidence::from_fraction(0.9).unwrap() }
}

fn test(winding: &str, on: &str, cells: &[(&str, &str)]) -> TestRecord {
    let cells = [("winding", winding), ("tested_on", on)].iter().chain(cells).copied().collect::<Vec<_>>();
    let cells = cells.into_iter().map(|(header, text)| (Column::read(header).unwrap(), text));
    TestRules::default().validate(cells, Origin::default()).unwrap()
}

/// Eight quarters until October 2026, each with these cells beside its reading.
fn quarters(winding: &str, readings: [&str; 8], cells: &[(&str, &str)]) -> Vec<TestRecord> {
    let last = day("2026-10-20");
    readings
        .iter()
        .enumerate()
        .map(|(i, r60)| {
            let on = last.checked_sub_days(Days::new(91 * (7 - i as u64))).unwrap().to_string();
            test(winding, &on, &[&[("r_60s", *r60)], cells].concat())
        })
        .collect()
}

/// Other values, so that nothing looks copied.
const STEADY_TOO: [&str; 8] = ["301", "288", "312", "295", "305", "299", "310", "292"];
const STEADY: [&str; 8] = ["200", "212", "190", "205", "208", "194", "201", "206"];

fn nameplate(site: &str, area: &str) -> Nameplate {
    let text = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
    Nameplate {
        site: text(site),
        area: text(area),
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(400.0).unwrap()),
        ..Nameplate::default()
    }
}

fn round(tests: Vec<TestRecord>, register: &[(&str, Nameplate)], until: &str) -> Round {
    let register = register.iter().map(|(name, nameplate)| ((*name).to_owned(), nameplate.clone())).collect();
    plan_round(Series::collect(tests), &register, &terms(), day(until), &InTurn)
}

fn megohms(value: f64) -> Resistance {
    Resistance::from_megohms(value).unwrap()
}

#[test]
fn what_is_due_until_a_day_is_in_it_and_the_rest_is_counted() {
    let tests =
        [quarters("A", STEADY, &[("winding_temp_c", "40")]), quarters("B", STEADY_TOO, &[("winding_temp_c", "40")])];
    let half_a_year = Nameplate { interval_days: Some(182), ..nameplate("", "") };
    let register = [("A", nameplate("", "")), ("B", half_a_year), ("C", nameplate("", ""))];
    // 2026-10-20 and 91 days is 2027-01-19.
    let names = |until| {
        let round = round(tests.concat(), &register, until);
        (round.lines.iter().map(Line::name).collect::<Vec<_>>(), round.not_due)
    };
    assert_eq!(names("2027-01-18"), (vec!["C".to_owned()], 2));
    assert_eq!(names("2027-01-19"), (vec!["C".to_owned(), "A".to_owned()], 1));
    assert_eq!(names("2027-04-20"), (vec!["C".to_owned(), "A".to_owned(), "B".to_owned()], 0));
}

#[test]
fn lines_stand_by_site_and_area_then_by_day_and_urgency() {
    let falling = ["90", "60", "40", "27", "18", "12", "8", "4"];
    let at = [("winding_temp_c", "40")];
    let tests =
        [quarters("low", falling, &at), quarters("good", STEADY, &at), quarters("north", STEADY_TOO, &at)].concat();
    let register = [
        ("good", nameplate("South", "mill")),
        ("low", nameplate("South", "mill")),
        ("new", nameplate("South", "mill")),
        ("north", nameplate("North", "")),
        ("nowhere", nameplate("", "")),
        ("kiln", nameplate("South", "kiln")),
    ];
    let round = round(tests, &register, "2027-02-24");
    let names: Vec<String> = round.lines.iter().map(Line::name).collect();
    assert_eq!(names, ["north", "kiln", "low", "new", "good", "nowhere"]);
    assert_eq!(round.lines[2].action(), Some(Action::Hold));
    assert_eq!(round.lines[2].due.why, "before the winding is energised: it is at or below its minimum");
    assert!(
        round
            .lines
            .iter()
            .all(|line| line.checks.iter().any(|text| text.contains("on hold")) == (line.name() == "low"))
    );
    assert_eq!(
        round.lines[2].checks.last().map(String::as_str),
        Some(
            "It is on hold and is not to be energised: if it reads below the stop value again, as it will unless it was \
             cleaned, dried or repaired since, that confirms the hold; above it, a qualified person decides."
        )
    );
}

/// The later of two that need something comes after an earlier one that needs nothing.
#[test]
fn in_one_place_the_day_goes_before_the_urgency() {
    let at = [("winding_temp_c", "40")];
    let falling = ["900", "700", "540", "420", "330", "255", "200", "155"];
    let tests = [quarters("falls", falling, &at), quarters("steady", STEADY, &at)].concat();
    let soon = Nameplate { interval_days: Some(40), ..nameplate("", "") };
    let round = round(tests, &[("falls", nameplate("", "")), ("steady", soon)], "2027-12-31");
    let days: Vec<_> = round.lines.iter().map(|line| line.due.by).collect();
    assert!(days.is_sorted() && days[0] < days[1], "{days:?}");
    assert_eq!(round.lines.iter().map(Line::name).collect::<Vec<_>>(), ["steady", "falls"]);
    assert!(round.lines[1].action() < round.lines[0].action());
}

#[test]
fn the_voltage_is_that_of_the_last_test_where_the_guide_allows_it() {
    let volts = |value: f64| Some(Voltage::from_volts(value).unwrap());
    let advice = |rated_voltage, last| {
        let nameplate = Nameplate { rated_voltage, ..Nameplate::default() };
        let advice = advice::voltage(&nameplate, last);
        (advice.apply.map(Voltage::as_volts), advice.why)
    };
    for (rated, last, apply, why) in [
        (volts(6600.0), volts(5000.0), Some(5000.0), "as last time; the guide for a rated 6600 V is 2500 V to 5000 V"),
        (
            volts(6600.0),
            volts(1000.0),
            Some(2500.0),
            "the guide for a rated 6600 V is 2500 V to 5000 V; last time it was 1000 V",
        ),
        (volts(400.0), None, Some(500.0), "the guide for a rated 400 V is 500 V"),
        (None, volts(500.0), Some(500.0), "as last time; the rated voltage is not known"),
        (None, None, None, "the rated voltage is not known: read the nameplate, then choose by the guide"),
    ] {
        assert_eq!(advice(rated, last), (apply, why.to_owned()));
    }
}

#[test]
fn ten_minutes_are_held_where_the_polarization_index_says_something() {
    let policy = Policy::default();
    let form_wound = Nameplate { construction: Some(Construction::FormWound), ..Nameplate::default() };
    let advice = |last: Option<f64>, before, nameplate: &Nameplate| {
        let last = last.map(|value| Measured::Exact(megohms(value)));
        let advice = advice::duration(last, before, nameplate, &policy);
        (advice.minutes, advice.why)
    };
    let ten = (10, "ten minutes, for the polarization index R600/R60".to_owned());
    assert_eq!(advice(Some(900.0), false, &form_wound), ten);
    assert_eq!(advice(None, false, &form_wound), ten);
    assert_eq!(advice(Some(900.0), true, &Nameplate::default()), ten);
    assert_eq!(
        advice(Some(6000.0), true, &form_wound),
        (1, "one minute, because the one-minute resistance, 6 GΩ, is above 5 GΩ".to_owned())
    );
    assert_eq!(
        advice(Some(90.0), true, &nameplate("", "")),
        (1, "one minute, because in a random-wound stator absorption is over within seconds".to_owned())
    );
    assert_eq!(
        advice(Some(90.0), false, &Nameplate::default()),
        (1, "one minute, because the construction is not known and ten were never tested".to_owned())
    );
}

#[test]
fn the_likely_temperature_is_that_of_the_season() {
    let cells = |celsius: &'static str| [("r_60s", "200"), ("winding_temp_c", celsius)];
    let winters = ["2024-01-20", "2025-01-21", "2026-01-19"];
    let mut tests: Vec<TestRecord> = winters.iter().map(|on| test("A", on, &cells("12"))).collect();
    tests.extend(["2024-07-20", "2025-07-21", "2026-10-20"].iter().map(|on| test("A", on, &cells("31"))));
    tests.extend(["2026-05-20", "2026-10-20"].iter().map(|on| test("B", on, &cells("20"))));
    tests.extend(["2026-05-20", "2026-10-20"].iter().map(|on| test("D", on, &[("r_60s", "200")])));
    let register = ["A", "B", "C", "D"].map(|name| (name, nameplate("South", "")));
    let round = round(tests, &register, "2027-01-31");
    let likely = |name: &str| {
        let line = round.lines.iter().find(|line| line.name() == name).unwrap();
        (line.likely.at.as_celsius(), line.likely.from.in_words())
    };
    assert_eq!(likely("A"), (12.0, "median of 3 tests at this time of the year".to_owned()));
    assert_eq!(likely("B"), (20.0, "median of 2 tests of all seasons".to_owned()));
    assert_eq!(likely("C"), (16.0, "median of 2 other series of the site".to_owned()));
    assert_eq!(likely("D"), likely("C"));
    let alone = super::tests::round(Vec::new(), &[("C", nameplate("", ""))], "2027-01-31");
    assert_eq!(alone.lines[0].likely.from.in_words(), "assumed: no winding temperature is known");
    assert_eq!(alone.lines[0].expected.in_words(), "cannot say: it was never tested");
}

#[test]
fn expected_reading_and_stop_value_are_as_read_at_the_likely_temperature() {
    // Thermoplastic: what is 200 MΩ at 40 °C reads 800 MΩ at 20 °C, and 5 MΩ reads 20 MΩ.
    let thermoplastic = Nameplate { insulation: Insulation::Thermoplastic, ..nameplate("", "") };
    let round = round(quarters("A", STEADY, &[("winding_temp_c", "20")]), &[("A", thermoplastic)], "2027-02-24");
    let line = &round.lines[0];
    let Expectation::Reading(ExpectedReading { low, median, high }) = &line.expected else { unreachable!("{line:?}") };
    let [low, median, high] = [low, median, high].map(|value| value.resistance().unwrap().as_megohms());
    assert!(low > 130.0 && low < 200.0 && high > 205.0 && high < 300.0, "{low} {high}");
    assert!((median - 202.0).abs() < 8.0, "{median}");
    let stops = line.stop.map(|stop| (stop.at.as_celsius(), stop.below.as_megohms()));
    for ((at, below), (t, expected)) in stops.into_iter().zip([(10.0, 40.0), (20.0, 20.0), (30.0, 10.0)]) {
        assert!((at - t).abs() < 1e-9 && (below / expected - 1.0).abs() < 1e-9, "{at} {below}");
    }
}

#[test]
fn where_the_law_is_in_doubt_the_call_comes_early() {
    let at = Temperature::from_celsius(20.0).unwrap();
    let reference = Temperature::from_celsius(40.0).unwrap();
    let five =
        Nameplate { minimum: Some(megohms(5.0)), minimum_basis: Some(LimitBasis::Reference), ..Nameplate::default() };
    let five = minimum::minimum_of(&five, &Connection::AllEarth, None, None, &Policy::default());
    let stop = |law: TemperatureLaw| expect::stop_values(&five, law.into(), at, reference)[1].below.as_megohms();
    let either = stop(TemperatureLaw::Either);
    let steep = stop(TemperatureLaw::thermoplastic());
    assert!((either / steep - 1.0).abs() < 1e-9, "{either} {steep}");
    assert!(steep > stop(TemperatureLaw::Thermosetting));
}

#[test]
fn over_range_stays_a_bound() {
    let cells = [("winding_temp_c", "20"), ("full_scale", "2000")];
    let over = quarters("A", ["OL"; 8], &cells);
    let cooler = quarters("B", [">2000"; 8], &[("winding_temp_c", "20")]);
    let mut near = quarters("C", ["1500", "1800", ">2000", "1700", ">2000", "1600", "1900", ">2000"], &cells);
    near.extend(quarters("D", ["OL"; 8], &[("winding_temp_c", "20")]));
    let register = ["A", "B", "C", "D"].map(|name| (name, nameplate("", "")));
    let round = round([over, cooler, near].concat(), &register, "2027-02-24");
    let words = |name: &str| round.lines.iter().find(|line| line.name() == name).unwrap().expected.in_words();
    assert_eq!((words("A").as_str(), words("B").as_str()), ("> 2 GΩ", "> 2 GΩ"));
    assert!(words("C").ends_with("Ω to over range"), "{}", words("C"));
    assert_eq!(words("D"), "cannot say: it was over range and its full scale was not recorded");
}

#[test]
fn a_winding_worked_on_since_says_so() {
    let mut tests = quarters("A", STEADY, &[("winding_temp_c", "20")]);
    tests.push(test("A", "2026-11-10", &[("event", "rewound")]));
    let round = round(tests, &[("A", nameplate("", ""))], "2027-03-31");
    let line = &round.lines[0];
    assert_eq!(line.expected.in_words(), "cannot say: no reading counts since it was rewound on 2026-11-10");
    assert_eq!(line.last.map(|last| last.on), Some(day("2026-10-20")));
}

#[test]
fn the_questions_follow_from_what_was_found() {
    let cells = [("winding_temp_c", "20"), ("instrument", "tester 1"), ("test_volts", "500")];
    let mut tests = quarters("A", STEADY, &cells);
    let last = tests.last_mut().unwrap();
    last.instrument = Some("tester 2".to_owned());
    last.winding_temp = None;
    tests.push(test("B", "2026-10-20", &[("r_60s", "300"), ("connection", "V-W"), ("scope", "winding+cable")]));
    let round = round(tests, &[("A", nameplate("", "")), ("N", nameplate("", ""))], "2027-02-24");
    let line = |name: &str| round.lines.iter().find(|line| line.name() == name).unwrap();
    assert_eq!(
        line("A").questions,
        [
            "Was it cleaned, dried, repaired, rewound or replaced since 2026-10-20? If so, write which under event.",
            "The winding temperature of the last test is missing or doubtful: measure it at the winding.",
            "The tester changed last time: keep to one from now on.",
        ]
    );
    assert_eq!(line("A").instrument.as_deref(), Some("tester 2"));
    assert_eq!(line("A").checks, ["Disconnect the cable."]);
    assert_eq!(
        line("B V-W with cable").checks,
        [
            "Separate the phases at the star point first, else it reads zero.",
            "Leave the cable connected; free its far end and keep people away from it."
        ]
    );
    assert_eq!(
        line("N").questions,
        ["Since when has it been in service, and was it ever rewound or repaired? Write it in the note."]
    );
}

#[test]
fn tests_after_the_as_of_date_teach_nothing() {
    let mut tests = quarters("A", STEADY, &[("winding_temp_c", "20"), ("test_volts", "500")]);
    let before = round(tests.clone(), &[("A", nameplate("", ""))], "2027-02-24");
    tests.push(test("A", "2026-12-24", &[("r_600s", "9"), ("test_volts", "499"), ("winding_temp_c", "80")]));
    let after = round(tests, &[("A", nameplate("", ""))], "2027-02-24");
    let [before, after] = [&before.lines[0], &after.lines[0]];
    assert_eq!((before.last, &before.expected, &before.stop), (after.last, &after.expected, &after.stop));
    assert_eq!((&before.voltage, &before.duration, &before.likely), (&after.voltage, &after.duration, &after.likely));
}

/// One line of a circuit at zero: all its lines are tested again in one go, and stand together on the sheet.
#[test]
fn all_lines_of_a_circuit_are_due_together() {
    let line = |connection: &str, r60: &str| {
        test("C", "2026-11-20", &[("scope", "circuit"), ("connection", connection), ("r_60s", r60)])
    };
    let mut tests = vec![line("L1-L2", "300"), line("L1-PE", "0"), line("L2-PE", "310"), line("N-PE", "280")];
    tests.push(test("A", "2026-11-20", &[("r_60s", "4.9"), ("winding_temp_c", "40")]));
    let circuit = Nameplate { construction: Some(Construction::Circuit), ..nameplate("", "") };
    let found = round(tests, &[("A", nameplate("", "")), ("C", circuit)], "2026-12-31");
    let lines: Vec<(String, &str)> = found.lines.iter().map(|line| (line.name(), line.due.why.as_str())).collect();
    let with = "with C L1-PE, which is due then: all lines of a circuit are tested together";
    let own = "before the circuit is energised: it is at or below its minimum";
    let of_a_winding = "before the winding is energised: it is at or below its minimum";
    let named = |lines: [(&str, &'static str); 5]| lines.map(|(name, why)| (name.to_owned(), why)).to_vec();
    let expected =
        named([("C L1-PE", own), ("C N-PE", with), ("C L1-L2", with), ("C L2-PE", with), ("A", of_a_winding)]);
    assert_eq!((lines, found.not_due), (expected, 0));
}
