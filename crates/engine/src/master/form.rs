//! How a master is written: encoding, line ends, quotes, decimal mark, form of dates, words for connections; found from
//! what is there, so that new rows look like the old ones.

use super::Master;
use crate::error::{Failure, shown};
use crate::ingest::columns::Columns;
use crate::ingest::document::{Document, Header};
use crate::ingest::{ReadingRules, encoding};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use groundwall::record::Connection;
use groundwall::record::columns::Column;
use std::collections::BTreeMap;

/// How the cells and lines of a master are written.
#[derive(Clone, Debug, PartialEq)]
pub struct Form {
    /// Encoding of its bytes.
    pub encoding: &'static Encoding,
    /// What parts the cells.
    pub delimiter: u8,
    /// What ends a line.
    pub line_end: &'static str,
    /// Whether every cell stands between quotes.
    pub quotes_all: bool,
    /// The decimal mark.
    pub decimal: char,
    /// Form of the dates, if they are not ISO.
    pub date_format: Option<String>,
    /// What stands between day and hour in ISO dates.
    pub before_hour: char,
    /// The words it uses for connections, by ours.
    pub connections: BTreeMap<String, String>,
}

impl Default for Form {
    fn default() -> Self {
        Self {
            encoding: UTF_8,
            delimiter: b',',
            line_end: "\n",
            quotes_all: false,
            decimal: '.',
            date_format: None,
            before_hour: 'T',
            connections: BTreeMap::new(),
        }
    }
}

impl Form {
    /// Finds the form of a text.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when its encoding cannot be read.
    pub fn find(
        name: &str,
        bytes: &[u8],
        document: &Document,
        header: &Header,
        columns: &Columns,
        rules: &ReadingRules,
    ) -> Result<Self, Failure> {
        let turned_from = encoding::decode(name, bytes.to_vec(), rules.encoding)?.turned_from;
        let layout = document.layout;
        let mut form = Self {
            encoding: turned_from.and_then(|label| Encoding::for_label(label.as_bytes())).unwrap_or(UTF_8),
            delimiter: layout.delimiter,
            line_end: line_end(&document.text),
            quotes_all: all_quoted(&header.raw, layout.delimiter),
            date_format: rules.tests.date_format.clone(),
            ..Self::default()
        };
        let comma = rules.decimal_comma(layout);
        let (mut points, mut commas) = (0_usize, 0_usize);
        let mut rows = document.rows();
        while let Some(row) = rows.next_row() {
            let Some(cells) = row.cells.ok().filter(|_| document.line(row.line) > header.line) else { continue };
            for (place, column) in &columns.known {
                let text = String::from_utf8_lossy(cells.get(*place).unwrap_or_default());
                let text = text.trim();
                match column {
                    Column::Connection if !text.is_empty() => {
                        let ours = Connection::read(text).to_string();
                        form.connections.entry(ours).or_insert_with(|| text.to_owned());
                    }
                    Column::TestedOn if text.as_bytes().get(10) == Some(&b' ') => form.before_hour = ' ',
                    Column::Reading(..) | Column::Resistance(_) | Column::WindingTemp(_) | Column::AirTemp(_) => {
                        points += usize::from(text.contains('.'));
                        commas += usize::from(text.contains(','));
                    }
                    _ => {}
                }
            }
        }
        // Points may stand in a file of decimal commas, as long as they can be nothing else.
        form.decimal = if comma && (commas > 0 || points == 0) { ',' } else { '.' };
        Ok(form)
    }

    /// One row with its line end.
    #[must_use]
    pub fn line(&self, cells: &[String]) -> String {
        let mut line = String::new();
        for (i, cell) in cells.iter().enumerate() {
            if i > 0 {
                line.push(char::from(self.delimiter));
            }
            self.push_cell(&mut line, cell);
        }
        line.push_str(self.line_end);
        line
    }

    /// Puts a cell at the end of a line, between quotes where it needs them. Its text is never altered.
    pub fn push_cell(&self, line: &mut String, cell: &str) {
        let special = |c: char| matches!(c, '"' | '\r' | '\n') || u32::from(c) == u32::from(self.delimiter);
        if self.quotes_all || cell.contains(special) || cell.starts_with(' ') || cell.ends_with(' ') {
            line.push('"');
            line.push_str(&cell.replace('"', "\"\""));
            line.push('"');
        } else {
            line.push_str(cell);
        }
    }

    /// A text in the master's encoding.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the first character that the encoding does not have.
    pub fn encode(&self, name: &str, text: &str) -> Result<Vec<u8>, Failure> {
        if self.encoding == UTF_8 {
            return Ok(text.as_bytes().to_vec());
        }
        if self.encoding == UTF_16LE {
            return Ok(text.encode_utf16().flat_map(u16::to_le_bytes).collect());
        }
        if self.encoding == UTF_16BE {
            return Ok(text.encode_utf16().flat_map(u16::to_be_bytes).collect());
        }
        let lacks = |c: &char| self.encoding.encode(c.encode_utf8(&mut [0; 4])).2;
        match text.chars().find(lacks) {
            None => Ok(self.encoding.encode(text).0.into_owned()),
            Some(c) => Err(Failure::usage(format!(
                "{name}: the master is written in {}, which has no {}",
                self.encoding.name(),
                shown(&c.to_string())
            ))
            .hint("save the master as CSV in UTF-8 first, or write the cell with other letters")),
        }
    }
}

impl Master {
    /// The byte-order mark that the bytes begin with.
    #[must_use]
    pub fn mark(&self) -> &[u8] {
        let bytes = self.bytes.as_deref().unwrap_or_default();
        let length = Encoding::for_bom(bytes).map_or(0, |(_, length)| length);
        &bytes[..length]
    }
}

/// The first line end of a text.
fn line_end(text: &[u8]) -> &'static str {
    match text.iter().position(|byte| matches!(byte, b'\r' | b'\n')) {
        Some(at) if text[at] == b'\n' => "\n",
        Some(at) if text.get(at + 1) == Some(&b'\n') => "\r\n",
        Some(_) => "\r",
        None => "\n",
    }
}

/// Whether every cell of a line that has more than one stands between quotes.
fn all_quoted(raw: &[u8], delimiter: u8) -> bool {
    let cells: Vec<&[u8]> = raw.split(|byte| *byte == delimiter).collect();
    cells.len() > 1 && cells.iter().all(|cell| cell.len() > 1 && cell.starts_with(b"\"") && cell.ends_with(b"\""))
}
