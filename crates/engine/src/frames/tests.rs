//! A frame says what the file of the same content says.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use groundwall::assess::assess_fleet;
use groundwall::policy::Policy;
use groundwall::resistance::Measured;
use groundwall::units::Confidence;
use polars::prelude::{CsvReadOptions, DataType, SerReader, df};

fn terms() -> Terms {
    Terms {
        policy: Policy::default(),
        as_of: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
        confidence: Confidence::from_fraction(0.9).unwrap(),
    }
}

/// A CSV as a frame, its types found by polars: numbers become numbers and dates dates.
fn typed(text: &str) -> DataFrame {
    CsvReadOptions::default()
        .with_infer_schema_length(None)
        .map_parse_options(|options| options.with_try_parse_dates(true))
        .into_reader_with_file_handle(std::io::Cursor::new(text.as_bytes().to_vec()))
        .finish()
        .unwrap()
}

#[test]
fn the_demo_works_as_a_frame_gives_the_results_of_its_file() {
    let (history, register) =
        (include_str!("../../../../data-demo/history.csv"), include_str!("../../../../data-demo/register.csv"));
    let frame = typed(history);
    assert_eq!(frame.column("tested_on").unwrap().dtype(), &DataType::Date);
    assert_eq!(frame.column("winding_temp_c").unwrap().dtype(), &DataType::Float64);
    let judged = assess(&frame, Some(&typed(register)), &terms()).unwrap();

    let rules = ReadingRules::default();
    let mut reading = Reading::new(&rules);
    reading.add("history.csv", history.as_bytes().to_vec()).unwrap();
    let from_file = reading.finish();
    let nameplates = Register::parse("register.csv", register.as_bytes(), None, false, &Mapping::default()).unwrap();
    let mut series =
        assess_fleet(&from_file.series, nameplates.nameplates(), &terms(), &AllCores, |judgement| judgement.assessment);
    ListBy::Series.sort(&mut series, |series| series);
    assert!(judged.results.equals_missing(&results(&series).unwrap()));
    assert_eq!((judged.results.height(), judged.accepted, judged.repeated), (50, 1239, 0));
    assert_eq!(judged.rejected.height(), 0);
}

#[test]
fn rows_that_are_kept_out_count_as_in_a_file() {
    let mut history = include_str!("../../../../data-demo/history.csv").to_owned();
    // The latest test of a sound winding once more, with a day that no calendar has and a low reading.
    let latest = history.lines().rfind(|line| line.contains("P-101 stator")).unwrap_or_default().to_owned();
    let mut cells: Vec<&str> = latest.split(',').collect();
    cells[0] = "WO-1";
    cells[2] = "2026-13-31";
    cells[9] = "0.5";
    history.push_str(&format!("{}\n", cells.join(",")));
    let judged = assess(&typed(&history), None, &terms()).unwrap();

    let rules = ReadingRules { as_of: Some(terms().as_of), ..ReadingRules::default() };
    let mut reading = Reading::new(&rules);
    reading.add("history.csv", history.into_bytes()).unwrap();
    let mut series = Fleet::new(reading.finish(), None, terms()).judge(&AllCores, |judgement| judgement.assessment);
    ListBy::Series.sort(&mut series, |series| series);
    assert!(judged.results.equals_missing(&results(&series).unwrap()));
    assert_eq!((judged.accepted, judged.rejected.height()), (1239, 1));
    let first = series.iter().find(|series| series.winding == "P-101 stator").unwrap();
    assert_ne!(first.action.word(), "keep");
}

#[test]
fn every_row_is_accepted_repeated_or_rejected_with_its_number() {
    let frame = df!(
        "winding" => [Some("A"), Some("A"), Some("A"), None, Some("A"), Some("B")],
        "tested_on" => ["2026-01-05", "2026-01-05", "04/05/2026", "2026-04-05", "2026-07-05", "2026-07-05"],
        "r_60s" => ["350", "350", "340", "330", "-3", ">1000"],
        "note" => ["two\nlines", "two\nlines", "", "", "a \"quote\", too", ""],
    )
    .unwrap();
    let read = tests(&frame, &TestRules::default()).unwrap();
    assert_eq!((read.accepted, read.repeated, read.rejected.height()), (2, 1, 3));
    let rows: Vec<Option<u32>> = read.rejected.column("row").unwrap().u32().unwrap().iter().collect();
    assert_eq!(rows, [Some(2), Some(3), Some(4)]);
    let text = |column: &str, row: usize| {
        read.rejected.column(column).unwrap().str().unwrap().get(row).map(str::to_owned).unwrap_or_default()
    };
    assert_eq!(
        text("rule", 0),
        "a date is written year-month-day, such as 2026-04-03; day and month are never guessed"
    );
    assert_eq!(text("hint", 0), "make tested_on a column of dates, or of texts such as 2026-04-03");
    assert_eq!((text("column", 1), text("rule", 1)), ("winding".to_owned(), "every test names its winding".to_owned()));
    assert_eq!(
        (text("column", 2), text("value", 2), text("rule", 2)),
        ("r_60s".to_owned(), "-3".to_owned(), "a resistance must be greater than 0 MΩ".to_owned())
    );
    assert_eq!(read.tests[0].note(), Some("two\nlines"));
}

#[test]
fn numbers_dates_and_categories_are_read_for_what_they_are() {
    let frame = df!(
        "winding" => ["A", "B", "C"],
        "tested_on" => ["2026-01-05", "2026-01-05", "2026-01-05"],
        "r_60s_gohm" => [0.35_f32, f32::INFINITY, f32::NAN],
        "r_600s" => [Some(1400_i64), None, Some(900)],
        "winding_temp_f" => [77.0, 77.0, f64::NAN],
    )
    .unwrap();
    let mut frame = frame;
    let moments = frame
        .column("tested_on")
        .unwrap()
        .cast(&DataType::Date)
        .unwrap()
        .cast(&DataType::Datetime(TimeUnit::Microseconds, None))
        .unwrap();
    frame.replace("tested_on", moments).unwrap();
    let read = tests(&frame, &TestRules::default()).unwrap();
    assert_eq!((read.accepted, read.rejected.height()), (3, 0));
    let value = |test: usize, reading: usize| read.tests[test].readings()[reading].value;
    assert_eq!(value(0, 0).to_string(), "350 MΩ");
    assert_eq!(value(0, 1).to_string(), "1.4 GΩ");
    assert_eq!(value(1, 0), Measured::OffScale);
    assert_eq!(read.tests[2].readings().len(), 1);
    assert_eq!(read.tests[0].winding_temp().unwrap().to_string(), "25 °C");
    assert_eq!(read.tests[2].winding_temp(), None);
    // Midnight is a day without a time, as in workbooks.
    assert_eq!(read.tests[0].tested_on().to_string(), "2026-01-05");
}

#[test]
fn what_cannot_be_read_is_refused_with_what_to_do() {
    let refusal = |frame: &DataFrame| tests(frame, &TestRules::default()).err().unwrap().to_string();
    let missing = df!("winding" => ["A"], "tested_on" => ["2026-01-05"], "colour" => ["blue"]).unwrap();
    assert!(
        refusal(&missing)
            .starts_with("history frame:1: the column r_60s is missing; the header has winding, tested_on, colour"),
        "{}",
        refusal(&missing)
    );
    let bytes = df!("winding" => ["A"], "tested_on" => ["2026-01-05"], "r_60s" => [b"400".as_slice()]).unwrap();
    assert_eq!(
        refusal(&bytes),
        "history frame: column r_60s is of type binary; a column holds texts, numbers or dates\n\
         hint: cast it, or leave the column out"
    );
    // A cell that cannot be read stands beside the nameplate, and forbids keep there.
    let nameplates = df!("winding" => ["A"], "rated_volts" => [-400]).unwrap();
    assert_eq!(register(&nameplates).unwrap()["A"].unread, ["rated_volts -400"]);
    assert!(tests(&DataFrame::default(), &TestRules::default()).is_err());
}
