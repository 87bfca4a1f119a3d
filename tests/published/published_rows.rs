//! One table drives each check: what was given, what was printed, how far off is allowed and why, and who printed it.
//!
//! Every file has the columns of its own and then `printed`, `within`, `why`, `source`, `status`, `kind`:
//!
//! - `within` is half a unit in the last digit printed. `0` marks a number that a rule states, which must come out as it
//!   is. Anything wider begins its `why` with "wider:".
//! - `source` names document, edition and clause; `status` says whether the number or its formula was read in a public
//!   text or is from memory; `kind` whether it was printed there or computed from the formula given there.

use std::collections::BTreeMap;

/// Relative error allowed on a stated number, because resistances pass through logarithms on their way.
const ROUNDING: f64 = 1e-12;

/// A file of published values.
pub(crate) struct Rows {
    rows: Vec<Row>,
}

/// One published value with what it was published for.
pub(crate) struct Row {
    place: String,
    cells: BTreeMap<String, String>,
}

impl Rows {
    /// Reads a file; `expected` rows guard against one that was cut short.
    pub(crate) fn read(name: &str, text: &str, expected: usize) -> Self {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let head = reader.headers().unwrap().clone();
        let rows: Vec<Row> = reader
            .records()
            .enumerate()
            .map(|(index, record)| Row {
                place: format!("{name} line {}", index + 2),
                cells: head.iter().zip(record.unwrap().iter()).map(|(k, v)| (k.to_owned(), v.to_owned())).collect(),
            })
            .collect();
        assert_eq!(rows.len(), expected, "rows of {name}");
        for row in &rows {
            row.is_well_formed();
        }
        Self { rows }
    }

    /// Compares what the code finds for every row with what was printed, and names all misses with their sources.
    pub(crate) fn check(&self, found: impl Fn(&Row) -> f64) {
        let misses: Vec<String> = self.rows.iter().filter_map(|row| row.miss(found(row))).collect();
        assert!(misses.is_empty(), "{} of {} rows:\n{}", misses.len(), self.rows.len(), misses.join("\n"));
    }

    /// Compares a word that the code finds for every row with the one in a column.
    pub(crate) fn check_word(&self, column: &str, found: impl Fn(&Row) -> &'static str) {
        for row in &self.rows {
            assert_eq!(found(row), row.text(column), "{}", row.cite());
        }
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter()
    }
}

impl Row {
    pub(crate) fn text(&self, column: &str) -> &str {
        assert!(self.cells.contains_key(column), "{} has no column {column}", self.place);
        &self.cells[column]
    }

    pub(crate) fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap()
    }

    /// The number, or nothing where the cell is empty.
    pub(crate) fn number_if_any(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }

    pub(crate) fn printed(&self) -> f64 {
        self.number("printed")
    }

    /// Where the row stands and who published it.
    pub(crate) fn cite(&self) -> String {
        format!("{}: {}, {}, {}", self.place, self.text("source"), self.text("kind"), self.text("status"))
    }

    fn miss(&self, found: f64) -> Option<String> {
        let (printed, within) = (self.printed(), self.number("within"));
        let allowed = within + ROUNDING * printed.abs();
        let close = (found - printed).abs() <= allowed;
        (!close).then(|| {
            format!("found {found}, published {printed} within {within} ({}); {}", self.text("why"), self.cite())
        })
    }

    /// Half a unit in the last digit printed.
    fn half_unit(&self) -> f64 {
        let decimals = self.text("printed").split_once('.').map_or(0, |(_, decimals)| decimals.len());
        0.5 * 10f64.powi(-i32::try_from(decimals).unwrap())
    }

    fn is_well_formed(&self) {
        let (printed, within, why) = (self.printed(), self.number("within"), self.text("why"));
        assert!(["read", "from memory"].contains(&self.text("status")), "status of {}", self.cite());
        assert!(["printed", "computed"].contains(&self.text("kind")), "kind of {}", self.cite());
        assert!(!self.text("source").is_empty() && !why.is_empty(), "source and reason of {}", self.cite());
        assert!(within < printed.abs() / 10.0, "a tolerance that passes half the truth: {}", self.cite());
        let from_digits = within == 0.0 || (within / self.half_unit() - 1.0).abs() < 1e-9;
        assert!(from_digits != why.starts_with("wider:"), "tolerance against digits: {}", self.cite());
    }
}

#[test]
fn a_value_outside_its_tolerance_is_a_miss_that_names_its_source() {
    let text = "given,printed,within,why,source,status,kind\n1,1.4,0.05,one decimal,A book 1990 p. 3,read,printed\n\
                2,5,0,a rule,A book 1990 p. 4,from memory,printed\n";
    let rows = Rows::read("made up", text, 2);
    let miss = |index: usize, found: f64| rows.rows[index].miss(found);
    assert_eq!(miss(0, 1.449), None);
    assert!(miss(0, 1.451).is_some_and(|text| text.contains("A book 1990 p. 3, printed, read")));
    assert_eq!(miss(1, 5.0), None);
    assert!(miss(1, 5.000_001).is_some_and(|text| text.contains("from memory")));
    assert!(miss(1, f64::NAN).is_some());
}

#[test]
fn the_provenance_note_names_every_file_of_the_physics() {
    let note = include_str!("data/PROVENANCE_PHYSICS.md");
    for module in [
        include_str!("gb50150.rs"),
        include_str!("iec60085.rs"),
        include_str!("ieee43_minimum.rs"),
        include_str!("ieee43_ratios.rs"),
        include_str!("ieee43_temperature.rs"),
        include_str!("policy_defaults.rs"),
        include_str!("rd34.rs"),
        include_str!("temperature_examples.rs"),
        include_str!("wmo8.rs"),
    ] {
        let names: Vec<&str> = module.split('"').filter(|word| word.ends_with(".csv")).collect();
        assert!(!names.is_empty());
        for name in names {
            let name = name.trim_start_matches("data/");
            assert!(note.contains(&format!("`{name}`")), "{name} is not in the provenance note");
        }
    }
}
