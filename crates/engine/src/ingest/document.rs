//! The bytes of one input as text that rows are read from: unpacked, taken out of a workbook, turned into UTF-8.

use super::cell_place::CellPlace;
use super::delimited::{BOM, HEADER_WITHIN, Layout};
use super::rows::Rows;
use super::sheet::{Merged, Sheet, Tall};
use super::sheet_choice::SheetChoice;
use super::source::{must_be_a_table, must_be_text};
use super::workbook;
use super::{cells, columnar, encoding, unpack};
use crate::error::{Failure, shown};
use encoding_rs::Encoding;
use groundwall::record::validate::DayCount;

/// What the user said about the files.
#[derive(Clone, Copy, Debug, Default)]
pub struct Opening<'a> {
    /// Encoding of text, if it is not to be found.
    pub encoding: Option<&'static Encoding>,
    /// Which sheets of a workbook are read.
    pub sheets: SheetChoice<'a>,
    /// What parts the cells of text, if it is not to be found.
    pub delimiter: Option<u8>,
    /// Whether numbers are to be written with a comma.
    pub decimal_comma: bool,
}

/// Text that rows are read from, and where its lines stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// The text, in UTF-8 as far as it is text.
    pub text: Vec<u8>,
    /// How it is laid out; what was not UTF-8 before is written out as UTF-8 with a byte-order mark.
    pub layout: Layout,
    /// The sheet of a workbook.
    pub sheet: Option<String>,
    /// How a workbook counts days.
    pub days: Option<DayCount>,
    /// Sentences about how the file was read.
    pub remarks: Vec<String>,
    /// Merged cells of a sheet.
    pub merged: Vec<Merged>,
    /// Where each row of the text comes from, if it was arranged from another layout.
    pub places: Option<Vec<CellPlace>>,
    /// Rows of a sheet that take several lines of the text.
    tall: Vec<Tall>,
}

impl Document {
    /// Opens an input: a text, or the sheets of a workbook that hold any cell. `known` says whether a cell is a column name.
    ///
    /// # Errors
    ///
    /// A [`Failure`] that says what the bytes are and what to do.
    pub fn open(
        file: &str,
        bytes: Vec<u8>,
        opening: &Opening<'_>,
        known: &dyn Fn(&str) -> bool,
    ) -> Result<Vec<Self>, Failure> {
        let bytes = if bytes.starts_with(b"\x1f\x8b") { unpack::gunzip(file, &bytes)? } else { bytes };
        if workbook::is_workbook(&bytes) {
            return Self::sheets(file, &bytes, opening);
        }
        if columnar::is_columnar(&bytes) {
            let table = columnar::open(file, bytes)?;
            cells::must_be_usable(file, &*table)?;
            return Ok(vec![cells::document(file, &*table, opening.decimal_comma)?]);
        }
        // Told before the bytes are taken for text of some encoding.
        must_be_a_table(file, &bytes)?;
        let text = encoding::decode(file, bytes, opening.encoding)?;
        must_be_text(file, &text.bytes)?;
        let mut layout = Layout::detect(&text.bytes, opening.delimiter, known);
        let mut remarks = Vec::new();
        if let Some(name) = text.turned_from {
            layout.bom = true;
            if opening.encoding.is_none() {
                remarks.push(format!("{file}: read as {name}; --encoding says otherwise"));
            }
        }
        Ok(vec![Self { text: text.bytes, layout, remarks, ..Self::empty() }])
    }

    /// Opens an input of which one table is wanted: the first whose header `fits`, or else the first.
    ///
    /// # Errors
    ///
    /// As for [`Document::open`].
    pub fn open_one(
        file: &str,
        bytes: Vec<u8>,
        opening: &Opening<'_>,
        known: &dyn Fn(&str) -> bool,
        fits: &dyn Fn(&[String]) -> bool,
    ) -> Result<Self, Failure> {
        let mut documents = Self::open(file, bytes, opening, known)?;
        let chosen = documents.iter().position(|document| document.has_header(fits)).unwrap_or(0);
        let mut document = documents.swap_remove(chosen);
        if let (Some(name), false) = (&document.sheet, documents.is_empty()) {
            let others: Vec<String> = documents.iter().filter_map(|other| other.sheet.as_deref().map(shown)).collect();
            document.remarks.push(format!("{file}: sheet {} is read, not {}", shown(name), others.join(", ")));
        }
        Ok(document)
    }

    /// A text in UTF-8.
    #[must_use]
    pub fn of_text(text: Vec<u8>, layout: Layout) -> Self {
        Self { text, layout, ..Self::empty() }
    }

    /// A table whose rows were written as text, with those that take several lines.
    #[must_use]
    pub fn of_table(text: Vec<u8>, layout: Layout, tall: Vec<Tall>) -> Self {
        Self { tall, ..Self::of_text(text, layout) }
    }

    /// Whether one of the first rows can be the header.
    #[must_use]
    pub fn has_header(&self, fits: &dyn Fn(&[String]) -> bool) -> bool {
        let mut rows = self.rows();
        (0..HEADER_WITHIN).map_while(|_| Some(rows.next_row()?.texts())).any(|cells| fits(&cells))
    }

    /// A text that holds nothing yet: in UTF-8, delimited by commas.
    #[must_use]
    pub const fn empty() -> Self {
        let layout = Layout { delimiter: b',', crlf: false, bom: false };
        Self {
            text: Vec::new(),
            layout,
            sheet: None,
            days: None,
            remarks: Vec::new(),
            merged: Vec::new(),
            places: None,
            tall: Vec::new(),
        }
    }

    fn sheets(file: &str, bytes: &[u8], opening: &Opening<'_>) -> Result<Vec<Self>, Failure> {
        let read = workbook::read(file, bytes, opening.sheets, opening.decimal_comma)?;
        if read.sheets.is_empty() {
            return Err(Failure::usage(format!("{file}: the workbook holds no cells"))
                .hint("the first row names the columns, such as winding, tested_on, r_60s; one row per test follows"));
        }
        let mut remarks = Vec::new();
        if !read.left_out.is_empty() {
            let (noun, verb) = if read.left_out.len() == 1 { ("sheet", "is") } else { ("sheets", "are") };
            let names: Vec<String> = read.left_out.iter().map(|name| shown(name)).collect();
            remarks.push(format!("{file}: {noun} {} {verb} left out as asked", names.join(", ")));
        }
        remarks.extend(read.comments.sentence(file)?);
        let document = |Sheet { name, text, tall, merged, shown_in, shown_as }: Sheet| {
            let mut remarks = std::mem::take(&mut remarks);
            if let Some((cell, unit)) = shown_in {
                remarks.push(format!(
                    "{file}:{}:{}: numbers are shown {} by their number format, and are read so",
                    shown(&name),
                    cell.name(),
                    if unit.contains(' ') { unit.to_owned() } else { format!("in {unit}") }
                ));
            }
            if let Some((cell, number, seen)) = shown_as {
                remarks.push(format!(
                    "{file}:{}:{}: {number} is shown as {} by its number format, and such cells are read as they are shown",
                    shown(&name),
                    cell.name(),
                    shown(&seen)
                ));
            }
            Self {
                text,
                layout: Layout { delimiter: b',', crlf: false, bom: true },
                sheet: Some(name),
                days: Some(read.days),
                remarks,
                merged,
                places: None,
                tall,
            }
        };
        Ok(read.sheets.into_iter().map(document).collect())
    }

    /// Takes a plain table that was arranged from this document, with the cell that each of its rows comes from.
    pub fn rearranged(&mut self, text: Vec<u8>, places: Vec<CellPlace>) {
        (self.text, self.places, self.tall) = (text, Some(places), Vec::new());
    }

    /// The name of the input in messages: `plant.xlsx:Sheet1` for a sheet.
    #[must_use]
    pub fn name(&self, file: &str) -> String {
        self.sheet.as_ref().map_or_else(|| file.to_owned(), |sheet| format!("{file}:{}", shown(sheet)))
    }

    /// The line of the file, or row of the sheet, that stands on a line of the text.
    #[must_use]
    pub fn line(&self, line: u64) -> u64 {
        Tall::row_at(&self.tall, line)
    }

    /// The text without a byte-order mark.
    #[must_use]
    pub fn bare(&self) -> &[u8] {
        self.text.strip_prefix(BOM).unwrap_or(&self.text)
    }

    /// The rows.
    #[must_use]
    pub fn rows(&self) -> Rows<'_> {
        Rows::new(self.bare(), self.layout.delimiter, 1)
    }
}

/// A row that may be the header.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Header {
    /// Line of the file, or row of the sheet.
    pub line: u64,
    /// The row, byte for byte.
    pub raw: Box<[u8]>,
    /// Its cells.
    pub cells: Vec<String>,
    /// How many rows stand above it.
    pub above: usize,
}

/// A longer text is not a name of a column, and is not looked through for one; bytes.
const LONGEST_NAME: usize = 4096;

/// Leaves of a cell of the header what a name can have.
fn clip(cell: &mut String) {
    let end = (0..=LONGEST_NAME.min(cell.len())).rev().find(|at| cell.is_char_boundary(*at)).unwrap_or(0);
    cell.truncate(end);
}

/// Looks for the header among the first rows: the first that `fits`, or else the one with the greatest `weight`, so that a
/// message can say what is missing. The rows after it are left to be read.
///
/// # Errors
///
/// A [`Failure`] when there is no row at all.
pub fn find_header(
    file: &str,
    place: &dyn Fn(u64) -> u64,
    rows: &mut Rows<'_>,
    fits: &dyn Fn(&[String]) -> bool,
    weight: &dyn Fn(&[String]) -> usize,
) -> Result<Header, Failure> {
    let mut best: Option<(usize, Header)> = None;
    let mut open_quote = None;
    for above in 0..HEADER_WITHIN {
        let Some(row) = rows.next_row() else { break };
        let line = place(row.line);
        let Some(cells) = row.cells else {
            open_quote.get_or_insert(line);
            continue;
        };
        let mut cells = cells.texts();
        cells.iter_mut().for_each(clip);
        let found = fits(&cells);
        let weight = if found { usize::MAX } else { weight(&cells) };
        if best.as_ref().is_none_or(|(least, _)| weight > *least) {
            best = Some((weight, Header { line, raw: row.raw.into(), cells, above }));
        }
        if found {
            break;
        }
    }
    match (best, open_quote) {
        (Some((usize::MAX, header)), _) => Ok(header),
        (_, Some(line)) => {
            Err(Failure::usage(format!("{file}:{line}: a quote is opened in the header and never closed"))
                .hint("close the quote or take it out"))
        }
        (Some((_, header)), None) => Ok(header),
        (None, None) => Err(Failure::usage(format!("{file}: the file has no header"))),
    }
}
