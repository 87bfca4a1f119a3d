//! Opens an input: its bytes are unpacked, taken out of a workbook or a table of columns, and turned into UTF-8.

use super::delimited::Layout;
use super::document::Document;
use super::sheet::Sheet;
use super::sheet_choice::SheetChoice;
use super::source::{must_be_a_table, must_be_text};
use super::{cells, columnar, encoding, unpack, workbook};
use crate::error::{Failure, shown};
use encoding_rs::Encoding;

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
}
