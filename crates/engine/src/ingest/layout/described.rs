//! A layout that the user describes: any regular sheet can be read so.
//!
//! ```toml
//! [[layout]]
//! sheet = "Pump*"              # which sheets; without it all, and texts
//! rows = "6:40"                # rows with tests; "6:" to the end
//! values = "D:O"               # columns with readings
//! holds = "r_60s"              # what they hold, or where its name stands: "row 5", "column C"
//! winding = "column A"         # where it stands: "column A", "row 5", "cell B2", "sheet", "text P-101"
//! tested_on = "row 5"
//! connection = "column B"      # likewise any other column of a history
//! ```
//!
//! A blank cell of a row of headers stands for the one on its left, and a blank name of a winding for the one above.

use super::cells::is_reading;
use super::context::Context;
use super::entries::{Entry, Of};
use super::grid::GridRow;
use super::label;
use super::label_reader::LabelReader;
use super::table::{Outcome, Sheet};
use super::texts::TextId;
use super::{Arranged, CellPlace, Limits, Refused, SheetName};
use crate::error::Failure;
use crate::ingest::ReadingRules;
use groundwall::record::columns::Column;
use std::collections::BTreeMap;
use toml_edit::TableLike;

/// Where something stands.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Source {
    /// In a column, in the row of the reading.
    Column(usize),
    /// In a row, in the column of the reading.
    Row(u64),
    /// In one cell.
    Cell(CellPlace),
    /// It is the name of the sheet.
    Sheet,
    /// It is this text.
    Text(String),
}

/// What the readings are.
#[derive(Clone, Debug, PartialEq)]
enum Holds {
    One(Column),
    Named(Source),
}

/// A layout as it is described.
#[derive(Clone, Debug, PartialEq)]
pub struct Description {
    sheet: Option<glob::Pattern>,
    rows: (u64, u64),
    values: (usize, usize),
    holds: Holds,
    /// Columns of a history and where they stand, those of winding and date among them.
    columns: Vec<(Column, Source)>,
}

impl Description {
    /// Reads a `[[layout]]`.
    ///
    /// # Errors
    ///
    /// The name of the key and the rule that it breaks.
    pub fn read(table: &dyn TableLike) -> Result<Self, (String, String)> {
        let mut description =
            Self { sheet: None, rows: (0, 0), values: (0, 0), holds: Holds::Named(Source::Sheet), columns: Vec::new() };
        let (mut has_rows, mut has_values, mut has_holds) = (false, false, false);
        for (key, item) in table.iter() {
            let fail = |rule: &str| (key.to_owned(), rule.to_owned());
            let text = item.as_str().ok_or_else(|| fail("it is a text between quotes"))?.trim();
            match key {
                "sheet" => {
                    let pattern = glob::Pattern::new(text).map_err(|error| fail(error.msg))?;
                    description.sheet = Some(pattern);
                }
                "rows" => {
                    let row = |text: &str| text.trim().parse::<u64>().ok().filter(|row| *row > 0);
                    description.rows = match text.split_once(':') {
                        Some((first, "")) => row(first).map(|first| (first, u64::MAX)),
                        Some((first, last)) => row(first).zip(row(last)),
                        None => row(text).map(|only| (only, only)),
                    }
                    .ok_or_else(|| {
                        fail("it is the first and the last row with tests, such as \"6:40\", or \"6:\" to the end")
                    })?;
                    has_rows = true;
                }
                "values" => {
                    let (first, last) = text.split_once(':').unwrap_or((text, text));
                    description.values = column_of(first)
                        .zip(column_of(last))
                        .ok_or_else(|| fail("it is the first and the last column with readings, such as \"D:O\""))?;
                    has_values = true;
                }
                "holds" => {
                    description.holds = match Column::read(text) {
                        Some(column) if is_reading(column) => Holds::One(column),
                        _ => Holds::Named(Source::read(text).ok_or_else(|| {
                            fail("it is the name of a column of resistances, such as r_60s, or where it stands, such as \"row 5\"")
                        })?),
                    };
                    has_holds = true;
                }
                _ => {
                    let column = Column::read(key).filter(|column| !is_reading(*column)).ok_or_else(|| {
                        fail("it is none of sheet, rows, values, holds, and no column of a history, such as winding")
                    })?;
                    let source = Source::read(text).ok_or_else(|| {
                        fail("it is where it stands: \"column A\", \"row 5\", \"cell B2\", \"sheet\" or \"text …\"")
                    })?;
                    description.columns.push((column, source));
                }
            }
        }
        let has = |column: Column| description.columns.iter().any(|(own, _)| *own == column);
        let needed = [
            ("rows", has_rows),
            ("values", has_values),
            ("holds", has_holds),
            ("winding", has(Column::Winding)),
            ("tested_on", has(Column::TestedOn)),
        ];
        match needed.into_iter().find(|(_, is_there)| !is_there) {
            Some((key, _)) => Err((key.to_owned(), "a layout needs it".to_owned())),
            None => Ok(description),
        }
    }

    /// Whether it is meant for a sheet of this name, or for a text without any.
    #[must_use]
    pub fn fits(&self, sheet: Option<&str>) -> bool {
        self.sheet.as_ref().is_none_or(|pattern| sheet.is_some_and(|sheet| pattern.matches(sheet)))
    }

    fn source(&self, column: Column) -> Option<&Source> {
        self.columns.iter().find(|(own, _)| *own == column).map(|(_, source)| source)
    }
}

impl Source {
    fn read(text: &str) -> Option<Self> {
        let (kind, rest) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
        let rest = rest.trim();
        match kind {
            "column" => column_of(rest).map(Self::Column),
            "row" => rest.parse().ok().filter(|row| *row > 0).map(Self::Row),
            "cell" => {
                let digits = rest.find(|c: char| c.is_ascii_digit())?;
                let (column, line) = rest.split_at(digits);
                Some(Self::Cell(CellPlace { column: column_of(column)?, line: line.parse().ok()? }))
            }
            "sheet" if rest.is_empty() => Some(Self::Sheet),
            "text" if !rest.is_empty() => Some(Self::Text(rest.to_owned())),
            _ => None,
        }
    }
}

/// The place of a column that spreadsheets call `A`, `B`, … `AA`.
fn column_of(letters: &str) -> Option<usize> {
    let letters = letters.trim();
    if letters.is_empty() || letters.len() > 3 || !letters.bytes().all(|byte| byte.is_ascii_alphabetic()) {
        return None;
    }
    let number = letters.bytes().fold(0, |all, byte| 26 * all + usize::from(byte.to_ascii_uppercase() - b'A') + 1);
    Some(number - 1)
}

/// A grid in which cells are found by their places.
struct Cells<'a> {
    rows: BTreeMap<u64, &'a GridRow>,
    sheet: &'a str,
}

impl<'a> Cells<'a> {
    fn at(&self, line: u64, column: usize) -> &'a str {
        self.rows.get(&line).and_then(|row| row.cells.get(column)).map_or("", String::as_str)
    }

    /// What stands at a source for the reading in a cell.
    fn text<'s>(&self, source: &'s Source, place: CellPlace) -> &'s str
    where
        'a: 's,
    {
        match source {
            Source::Column(column) => self.at(place.line, *column),
            Source::Row(line) => {
                let left = (0..=place.column).rev().map(|column| self.at(*line, column));
                left.into_iter().find(|text| !text.is_empty()).unwrap_or("")
            }
            Source::Cell(cell) => self.at(cell.line, cell.column),
            Source::Sheet => self.sheet,
            Source::Text(text) => text,
        }
    }
}

/// A sheet as a plain table, by what is described of it.
///
/// # Errors
///
/// [`Refused`] where no test is at the place described, or more than the limits allow.
pub(super) fn arrange<'a>(
    rows: &'a [GridRow],
    rules: &'a ReadingRules,
    reader: &'a LabelReader<'_>,
    name: SheetName<'a>,
    limits: &mut Limits,
    descriptions: &[&'a Description],
) -> Result<Arranged, Refused> {
    let mut sheet = Sheet::new(rules, reader, name, *limits);
    sheet.prove_dates(rows.iter().flat_map(|row| row.cells.iter()).map(String::as_str));
    let cells = Cells { rows: rows.iter().map(|row| (row.line, row)).collect(), sheet: name.sheet.unwrap_or_default() };
    for description in descriptions {
        sheet.read_described(description, rows, &cells);
    }
    sheet.seen.described = true;
    match sheet.finish(limits) {
        Outcome::Arranged(arranged) => Ok(arranged),
        Outcome::TooLarge => Err(Refused::by_size(name, limits)),
        _ => {
            let message = format!("{}: no test stands where [[layout]] says", name.place);
            let hint =
                "check its rows, its columns and where winding and tested_on stand, or give it the sheet that it is of";
            Err(Failure::usage(message).hint(hint).into())
        }
    }
}

impl<'a> Sheet<'a> {
    fn read_described(&mut self, description: &'a Description, rows: &'a [GridRow], cells: &Cells<'a>) {
        let (first, last) = description.values;
        let mut entries = Vec::new();
        let mut above = "";
        for row in rows.iter().filter(|row| (description.rows.0..=description.rows.1).contains(&row.line)) {
            let named = match description.source(Column::Winding) {
                Some(Source::Column(column)) => cells.at(row.line, *column),
                _ => "",
            };
            if !named.is_empty() {
                above = named;
            }
            for column in first..=last.min(row.cells.len().saturating_sub(1)) {
                let place = CellPlace { line: row.line, column };
                let text = cells.at(row.line, column);
                if !text.is_empty() && self.may_hold(|left| &mut left.values, 1 + description.columns.len()) {
                    self.described_cell(description, cells, place, above, &mut entries);
                }
            }
        }
        self.join(entries, false, false, &Context::default());
    }

    fn described_cell(
        &mut self,
        description: &'a Description,
        cells: &Cells<'a>,
        place: CellPlace,
        above: &str,
        entries: &mut Vec<Entry<'a>>,
    ) {
        let of = |column: Column| description.source(column).map_or("", |source| cells.text(source, place));
        let column = match &description.holds {
            Holds::One(column) => Some(*column),
            Holds::Named(source) => self.reader.read(cells.text(source, place)).column(),
        };
        let text = cells.at(place.line, place.column);
        let Some(column) = column else {
            let name = if let Holds::Named(source) = &description.holds { cells.text(source, place) } else { "" };
            *self.other_points.entry(name.to_owned()).or_default() += 1;
            return;
        };
        let winding = of(Column::Winding);
        let connection = of(Column::Connection);
        let entry = Entry {
            winding: self.texts.id(if winding.is_empty() { above } else { winding }),
            date: self.texts.id(of(Column::TestedOn)),
            order: TextId::EMPTY,
            connection: if connection.is_empty() {
                TextId::EMPTY
            } else {
                self.texts.id(&label::connection(connection, false))
            },
            stage: None,
            column,
            text,
            place,
            of: Of::Test,
        };
        let keys = [Column::Winding, Column::TestedOn, Column::Connection];
        for (column, source) in description.columns.iter().filter(|(column, _)| !keys.contains(column)) {
            let text = cells.text(source, place);
            if !text.is_empty() {
                entries.push(Entry { column: *column, text, ..entry });
            }
        }
        entries.push(entry);
    }
}

/// A `[[layout]]` for a sheet that is not understood, to be corrected: everything in it is a guess.
#[must_use]
pub(super) fn suggestion(rows: &[GridRow], sheet: Option<&str>) -> Option<String> {
    let has_number = |cell: &String| super::cells::is_number(cell);
    let is_data = |row: &&GridRow| row.cells.iter().filter(|cell| has_number(cell)).count() > 0 && row.only().is_none();
    let data: Vec<&GridRow> = rows.iter().filter(is_data).collect();
    let (first, last) = (data.first().filter(|_| data.len() > 1)?, data.last()?);
    let width = first.cells.len();
    let numbers: Vec<usize> = (0..width)
        .filter(|column| 2 * data.iter().filter(|row| has_number(&row.cells[*column])).count() > data.len())
        .collect();
    let header = rows.iter().take_while(|row| row.line < first.line).last().map_or(first.line, |row| row.line);
    let letters =
        |column: usize| CellPlace { line: 1, column }.name().trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    let values = format!("{}:{}", letters(*numbers.first()?), letters(*numbers.last()?));
    let of_sheet = sheet.map_or_else(String::new, |sheet| {
        format!("# sheet = {}  # the sheets that it is of; without it all\n", toml_edit::Value::from(sheet))
    });
    Some(format!(
        "# What the sheet looks like, for groundwall.toml beside the history: correct every line, and take away the marks before them.\n\
         # [[layout]]\n\
         {of_sheet}\
         # rows = \"{}:{}\"  # the rows with tests\n\
         # values = \"{values}\"  # the columns with readings\n\
         # holds = \"r_60s\"  # what they hold: r_60s, r_600s, r_60s_gohm …, or where its name stands\n\
         # winding = \"column A\"  # where it stands: column A, row {header}, cell B2, sheet, text P-101\n\
         # tested_on = \"row {header}\"  # likewise; and connection, winding_temp_c, test_volts and the others, if they are there\n",
        first.line, last.line,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Description, (String, String)> {
        let table: toml_edit::DocumentMut = text.parse().unwrap_or_default();
        Description::read(table.as_table())
    }

    #[test]
    fn what_a_layout_lacks_or_gets_wrong_is_said() {
        let whole =
            "rows = \"2:\"\nvalues = \"B:C\"\nholds = \"r_60s\"\nwinding = \"column A\"\ntested_on = \"row 1\"\n";
        assert!(read(whole).is_ok());
        let error = |text: &str| read(text).err();
        let said = |key: &str, rule: &str| Some((key.to_owned(), rule.to_owned()));
        assert_eq!(error(&whole.replace("rows = \"2:\"\n", "")), said("rows", "a layout needs it"));
        assert_eq!(
            error(&whole.replace("column A", "A")),
            said("winding", "it is where it stands: \"column A\", \"row 5\", \"cell B2\", \"sheet\" or \"text …\"")
        );
        assert_eq!(
            error(&whole.replace("B:C", "2:3")),
            said("values", "it is the first and the last column with readings, such as \"D:O\"")
        );
        assert_eq!(
            error(&format!("{whole}motor = \"column A\"\n")),
            said("motor", "it is none of sheet, rows, values, holds, and no column of a history, such as winding")
        );
        assert_eq!((column_of("A"), column_of("aa"), column_of("A1")), (Some(0), Some(26), None));
    }
}
