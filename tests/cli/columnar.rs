//! Parquet and Arrow files, in programs with and without them.

use crate::world::World;
#[cfg(feature = "parquet")]
use crate::world::demo;

const HISTORY: &str = "winding,tested_on,r_60s\nP-1,2026-01-05,350\n";

#[cfg(not(feature = "parquet"))]
#[test]
fn a_program_built_without_such_files_says_so_before_it_reads_anything() {
    let world = World::new(&[]);
    for form in ["parquet", "arrow"] {
        let run = world.run(&["assess", "none.csv", "--as-of", "2026-11-25", "--format", form, "--out", "x"]);
        assert_eq!((run.status, run.out.as_str()), (2, ""));
        assert_eq!(
            run.words,
            format!(
                "--format is {form}; this program was built without such files\n\
                 hint: take csv, or a program built with the feature parquet, as the releases are\n"
            )
        );
    }
    let world = World::new(&[("h.parquet", "PAR1\0\0\0\0PAR1"), ("h.csv", HISTORY)]);
    let run = world.run(&["check", "h.parquet"]);
    assert_eq!(run.status, 2);
    assert_eq!(
        run.words,
        "h.parquet: this is a Parquet file, and this program was built without reading such files\n\
         hint: give the table as CSV or as a workbook, in Python as a table, or use a program built with the feature parquet\n"
    );
    let run = world.run(&["add", "h.csv", "--to", "h.parquet"]);
    assert_eq!(
        run.words,
        "h.parquet: the master is a Parquet or an Arrow file, and rows are filed only into text\n\
         hint: save it as CSV in UTF-8 and name that file; the sheets to be filed can be of any kind\n"
    );
}

#[cfg(feature = "parquet")]
#[test]
fn the_demo_plant_is_written_as_columns_and_the_list_is_the_same() {
    let plant = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let args = ["assess", &history, "--register", &register, "--as-of", "2026-11-25", "--format"];
    for form in ["parquet", "arrow"] {
        let file = format!("list.{form}");
        let run = plant.run(&[&args[..], &[form, "--out", &file]].concat());
        assert_eq!(run.status, 0, "{}", run.words);
        let bytes = std::fs::read(plant.path(&file)).unwrap();
        assert!(bytes.starts_with(if form == "parquet" { b"PAR1" } else { b"ARROW1" }));
        // A result is not a history, and its rows say so in a sentence.
        let run = plant.run(&["check", &file]);
        assert_eq!(run.status, 2);
        assert!(run.words.starts_with(&format!("{file}:1: ")), "{}", run.words);
    }
    let world = World::new(&[("h.parquet", "PAR1\0\0\0\0PAR1"), ("h.csv", HISTORY)]);
    let run = world.run(&["check", "h.parquet"]);
    assert_eq!(
        (run.status, run.words.as_str()),
        (
            2,
            "h.parquet: this is a Parquet file that cannot be read: EOF: Unexpected EOF\n\
             hint: write it again without encryption, or give the table as CSV\n"
        )
    );
}
