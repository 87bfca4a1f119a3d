//! Texts beside readings that name their unit: above the header, in the name of the sheet or file, in a header that is no column.

use super::aliases;
use super::columns::Columns;
use super::document::Document;
use super::rows::Rows;
use super::said_unit::{said_unit, symbol, unit_of_row};
use crate::error::{Failure, shown};
use groundwall::record::columns::Column;
use groundwall::resistance::ResistanceUnit;

/// A text beside readings that names a unit other than MΩ for them.
pub(super) struct SaidBeside {
    /// Where it is; none where it is a name of the sheet or a header that is not read.
    pub(super) line: Option<u64>,
    pub(super) text: String,
    pub(super) unit: Option<ResistanceUnit>,
}

impl SaidBeside {
    /// The reason why a file is not read in which a column of readings has no unit of its own.
    pub(super) fn refusal(&self, name: &str, header: &str, column: Column) -> Failure {
        let place = self.line.map_or_else(|| name.to_owned(), |line| format!("{name}:{line}"));
        let (unit, header) = (symbol(self.unit), header.trim());
        let others: &[&str] = if self.unit.is_none() { &["MΩ", "kΩ"] } else { &[unit] };
        let is_own = Column::read(header).is_some();
        let with = |unit: &&str| {
            let in_unit = ResistanceUnit::read(unit).map(|unit| in_unit(column, unit).to_string());
            in_unit.filter(|_| is_own).unwrap_or_else(|| format!("{header} ({unit})"))
        };
        let names: Vec<String> = others.iter().map(with).collect();
        Failure::usage(format!(
            "{place}: “{}” names {unit}, and nothing gives the readings under {} a unit; they would be read in MΩ",
            shown(&self.text),
            shown(header)
        ))
        .hint(format!(
            "write the unit into the header, such as {}; or take the text out if it speaks of something else",
            names.join(" or ")
        ))
    }
}

/// A column of readings in another unit.
const fn in_unit(column: Column, unit: ResistanceUnit) -> Column {
    match column {
        Column::Reading(at, _) => Column::Reading(at, unit),
        Column::Resistance(_) => Column::Resistance(unit),
        other => other,
    }
}

/// The units of resistance that texts of a sheet name, none of them behind a number.
pub(super) fn units_of_headers(document: &Document) -> Vec<ResistanceUnit> {
    let texts = first_texts(document);
    let headers = texts.iter().filter(|text| !text.starts_with(|c: char| c.is_ascii_digit()));
    headers.filter_map(|text| aliases::units(text)?.ohms).collect()
}

/// A text of a sheet that names a unit other than MΩ and says nothing else: `All readings in kΩ`.
pub(super) fn said_in(document: &Document) -> Option<SaidBeside> {
    first_texts(document).into_iter().find_map(|text| {
        let said = said_unit(&text).filter(|said| said.is_certain)?;
        Some(SaidBeside { line: None, unit: said.unit, text })
    })
}

/// The first text above the header that names a unit for readings.
pub(super) fn said_above(text: &[u8], delimiter: u8, above: usize, place: &dyn Fn(u64) -> u64) -> Option<SaidBeside> {
    let mut rows = Rows::new(text, delimiter, 1);
    for _ in 0..above {
        let row = rows.next_row()?;
        let texts = row.texts();
        let filled = || texts.iter().map(String::as_str).enumerate().filter(|(_, text)| !text.trim().is_empty());
        let of_row = unit_of_row(filled()).filter(|(_, unit)| *unit != Some(ResistanceUnit::Megohm));
        let said = of_row.map(|(place, unit)| (unit, &texts[place]));
        if let Some((unit, text)) = said.or_else(|| texts.iter().find_map(|text| Some((said_unit(text)?.unit, text)))) {
            return Some(SaidBeside { line: Some(place(row.line)), text: text.trim().to_owned(), unit });
        }
    }
    None
}

/// What the name of the sheet says of units, or a header that is no column: `All readings in kΩ`.
pub(super) fn said_by_name(sheet: Option<&str>, columns: &Columns) -> Option<SaidBeside> {
    let is_free = |place: &usize| {
        !columns.known.iter().any(|(known, _)| known == place) && !columns.units.iter().any(|unit| unit.place == *place)
    };
    let headers = (0..columns.width).filter(is_free).map(|place| columns.header[place].as_str());
    let headers = headers
        .filter(|header| aliases::read(header).is_none() && said_unit(header).is_some_and(|said| said.is_certain));
    let text = sheet.into_iter().chain(headers).find(|text| said_unit(text).is_some())?;
    Some(SaidBeside { line: None, text: text.trim().to_owned(), unit: said_unit(text)?.unit })
}

/// Rows of a sheet in which a text about all readings or a header is looked for.
const ROWS_OF_TEXTS: usize = 200;

/// The first rows of a sheet.
fn first_texts(document: &Document) -> Vec<String> {
    let mut rows = document.rows();
    let mut texts = Vec::new();
    for _ in 0..ROWS_OF_TEXTS {
        let Some(row) = rows.next_row() else { break };
        texts.extend(row.texts().into_iter().map(|text| text.trim().to_owned()).filter(|text| !text.is_empty()));
    }
    texts
}
