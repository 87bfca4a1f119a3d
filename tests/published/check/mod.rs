//! Tables of cases, and one way of comparing numbers with them.

pub(crate) mod censored;
pub(crate) mod curve;
pub(crate) mod inverse;
pub(crate) mod linear;

use groundwall::stats::symmetric::SymmetricMatrix;
use serde_json::Value;
use std::path::PathBuf;

fn data(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/published/data").join(name)
}

/// A file of `data/` read as JSON.
pub(crate) fn json(name: &str) -> Value {
    let text = std::fs::read_to_string(data(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Named columns of text cells.
pub(crate) struct Table {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    fn csv(name: &str) -> Self {
        let mut reader = csv::Reader::from_path(data(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        let names = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows = reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
        Self { names, rows }
    }

    fn inline(columns: &Value) -> Self {
        let columns = columns.as_object().unwrap();
        let names: Vec<String> = columns.keys().cloned().collect();
        let length = columns.values().next().unwrap().as_array().unwrap().len();
        let rows = (0..length).map(|i| names.iter().map(|n| columns[n][i].to_string()).collect()).collect();
        Self { names, rows }
    }

    /// The cells of one column.
    pub(crate) fn text(&self, name: &str) -> Vec<&str> {
        let at = self.names.iter().position(|n| n == name).unwrap_or_else(|| panic!("no column {name}"));
        self.rows.iter().map(|r| r[at].as_str()).collect()
    }

    /// One column as numbers; an empty cell is NaN and must not reach a fit.
    pub(crate) fn numbers(&self, name: &str) -> Vec<f64> {
        self.text(name).iter().map(|s| if s.is_empty() { f64::NAN } else { s.parse().unwrap() }).collect()
    }
}

/// One case: its data, what was computed for it, what others printed or certified, and how far we may differ.
pub(crate) struct Case {
    pub(crate) id: String,
    pub(crate) table: Option<Table>,
    pub(crate) fields: Value,
}

impl Case {
    /// All cases of a file, in order.
    pub(crate) fn all(file: &str) -> Vec<Self> {
        let document = json(file);
        let cases: Vec<Self> = document["cases"]
            .as_array()
            .unwrap()
            .iter()
            .map(|fields| Self {
                id: fields["id"].as_str().unwrap().to_owned(),
                table: if let Some(name) = fields["csv"].as_str() {
                    Some(Table::csv(name))
                } else if let Some(name) = fields["data_in"].as_str() {
                    Some(Table::inline(&document["data"][name]))
                } else {
                    fields["data"].is_object().then(|| Table::inline(&fields["data"]))
                },
                fields: fields.clone(),
            })
            .collect();
        assert!(!cases.is_empty(), "{file} has no cases");
        cases
    }

    /// The case with this name.
    pub(crate) fn named(file: &str, id: &str) -> Self {
        Self::all(file).into_iter().find(|c| c.id == id).unwrap_or_else(|| panic!("{file} has no case {id}"))
    }

    pub(crate) fn column(&self, name: &str) -> Vec<f64> {
        self.table.as_ref().unwrap().numbers(name)
    }

    /// The values computed to 60 digits.
    pub(crate) fn computed(&self) -> &Value {
        &self.fields["computed_to_60_digits"]
    }

    /// The tolerance for a kind of quantity; the general one where there is no special one.
    pub(crate) fn tolerance(&self, kind: &str) -> f64 {
        let table = &self.fields["tolerance"];
        table[kind].as_f64().or_else(|| table["rel"].as_f64()).unwrap_or_else(|| panic!("{} has no tolerance", self.id))
    }

    /// A number as printed in a paper: our value may differ by half a unit of its last digit.
    pub(crate) fn printed(&self, quantity: &str, ours: f64) {
        let row = self.fields["printed"]["values"].as_array().unwrap().iter().find(|v| v["quantity"] == quantity);
        let text =
            row.unwrap_or_else(|| panic!("{}: nothing printed for {quantity}", self.id))["text"].as_str().unwrap();
        let digits = text.split_once('.').map_or(0, |(_, d)| d.len());
        let half_unit = 0.5 * 10.0_f64.powi(-i32::try_from(digits).unwrap());
        let printed: f64 = text.parse().unwrap();
        assert!((ours - printed).abs() <= half_unit, "{}: {quantity}: ours {ours}, printed {text}", self.id);
    }

    /// A number, or numbers in nested lists: relative difference element by element; a zero must be met absolutely.
    pub(crate) fn close(&self, quantity: &str, ours: &[f64], theirs: &Value, relative: f64) {
        let mut expected = Vec::new();
        flatten(theirs, &mut expected);
        assert!(!expected.is_empty(), "{}: no value to compare {quantity} with", self.id);
        assert_eq!(ours.len(), expected.len(), "{}: {quantity}: number of values", self.id);
        for (i, (a, b)) in ours.iter().zip(&expected).enumerate() {
            let scale = if b.abs() > 0.0 { b.abs() } else { 1.0 };
            let difference = (a - b).abs() / scale;
            assert!(difference <= relative, "{}: {quantity}[{i}]: {a} against {b}, {difference:e} apart", self.id);
        }
    }
}

impl Case {
    /// A covariance matrix: as `close`, but an entry may also differ by the tolerance times 1e-8 of its two standard errors,
    /// for where parameters are uncorrelated the entry is nothing but rounding.
    pub(crate) fn close_covariance(&self, quantity: &str, ours: &SymmetricMatrix, theirs: &Value, relative: f64) {
        let mut expected = Vec::new();
        flatten(theirs, &mut expected);
        let size = ours.size();
        assert_eq!(size * size, expected.len(), "{}: {quantity}: number of values", self.id);
        let se = |i: usize| expected[i * size + i].sqrt();
        for (i, j) in (0..size).flat_map(|i| (0..size).map(move |j| (i, j))) {
            let (a, b) = (ours.get(i, j).unwrap(), expected[i * size + j]);
            let scale = b.abs().max(1e-8 * se(i) * se(j));
            assert!((a - b).abs() <= relative * scale, "{}: {quantity}[{i},{j}]: {a} against {b}", self.id);
        }
    }
}

fn flatten(value: &Value, into: &mut Vec<f64>) {
    match value {
        Value::Number(n) => into.push(n.as_f64().unwrap()),
        Value::Array(items) => items.iter().for_each(|v| flatten(v, into)),
        other => panic!("not a number: {other}"),
    }
}
