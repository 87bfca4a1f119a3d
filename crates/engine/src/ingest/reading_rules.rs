//! How histories are to be read, by the policy, the options and the files of a site.

use super::columns::{self, Columns};
use super::dates::{self, Period};
use super::delimited::{DELIMITERS, Layout};
use super::description::Description;
use super::document::{self, Document};
use super::joined::JoinedNames;
use super::kinds;
use super::mapping::Mapping;
use super::opening::Opening;
use super::rows::Rows;
use super::sheet_choice::SheetChoice;
use crate::error::Failure;
use chrono::NaiveDate;
use encoding_rs::Encoding;
use groundwall::record::validate::TestRules;

/// How histories are to be read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingRules {
    /// Rules for the cells. The decimal comma is also read in files separated by `;`.
    pub tests: TestRules,
    /// What parts the cells, if it is not to be found from the header.
    pub delimiter: Option<u8>,
    /// The point is the decimal mark also in files separated by `;`.
    pub decimal_point: bool,
    /// Names or patterns of the sheets of workbooks that are read; all where there is none.
    pub sheets: Vec<String>,
    /// Names or patterns of sheets that are left out.
    pub skipped_sheets: Vec<String>,
    /// Forms of dates that the user named, where there are several.
    pub date_forms: Vec<String>,
    /// The as-of date: what is dated by a month or a quarter was tested until then.
    pub as_of: Option<NaiveDate>,
    /// The encoding of text, if it is not to be found.
    pub encoding: Option<&'static Encoding>,
    /// Whether only plain tables are read, and no sheet of another layout is arranged as one.
    pub plain_only: bool,
    /// Layouts that the user describes.
    pub layouts: Vec<Description>,
    /// What the site says its headers stand for.
    pub mapping: Mapping,
    /// Names of windings that stand for another.
    pub names: JoinedNames,
}

impl ReadingRules {
    /// How inputs are opened.
    #[must_use]
    pub fn opening(&self) -> Opening<'_> {
        Opening {
            encoding: self.encoding,
            sheets: SheetChoice { wanted: &self.sheets, skipped: &self.skipped_sheets },
            delimiter: self.delimiter,
            decimal_comma: self.tests.decimal_comma,
        }
    }

    /// The layout of a text from its first lines.
    #[must_use]
    pub fn layout(&self, head: &[u8]) -> Layout {
        Layout::detect(head, self.delimiter, |name| self.knows(name))
    }

    /// What parts the cells of a text into the header of a history, where the user named another mark.
    #[must_use]
    pub fn mark_instead(&self, text: &[u8], layout: Layout) -> Option<char> {
        self.delimiter?;
        let fits = |cells: &[String]| self.fits(cells);
        let others = DELIMITERS.into_iter().filter(|mark| *mark != layout.delimiter);
        let is_header = |mark: &u8| {
            let mut rows = Rows::new(text, *mark, 1);
            let header = document::find_header("", &|line| line, &mut rows, &fits, &|cells| self.weight(cells));
            header.is_ok_and(|header| self.fits(&header.cells))
        };
        others.filter(is_header).map(char::from).next()
    }

    fn knows(&self, name: &str) -> bool {
        !Columns::resolve(vec![name.to_owned()], &self.mapping).known.is_empty()
    }

    /// Opens an input: a text, or every sheet of a workbook that holds any cell.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it cannot be opened.
    pub fn open(&self, file: &str, bytes: Vec<u8>) -> Result<Vec<Document>, Failure> {
        Document::open(file, bytes, &self.opening(), &|name| self.knows(name))
    }

    /// Opens an input that is one table: the first sheet that is a history, or else the first.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it cannot be opened.
    pub fn open_one(&self, file: &str, bytes: Vec<u8>) -> Result<Document, Failure> {
        Document::open_one(file, bytes, &self.opening(), &|name| self.knows(name), &|cells| self.fits(cells))
    }

    /// Whether the comma is the decimal mark of a file so laid out.
    #[must_use]
    pub const fn decimal_comma(&self, layout: Layout) -> bool {
        self.tests.decimal_comma || (layout.delimiter == b';' && !self.decimal_point)
    }

    /// Whether a row can be the header of a history.
    #[must_use]
    pub fn fits(&self, cells: &[String]) -> bool {
        Columns::resolve(cells.to_vec(), &self.mapping).is_complete()
    }

    /// How much a row looks like a header: how many of its cells name columns, and then how many are words.
    #[must_use]
    pub fn weight(&self, cells: &[String]) -> usize {
        let is_word = |cell: &&String| cell.chars().any(char::is_alphabetic);
        let words = cells.iter().filter(is_word).count().min(columns::MOST_COLUMNS);
        // `210 MΩ` is a reading, and names no column.
        let is_value = |cell: &String| kinds::reads(cell) || dates::is_date(cell) || Period::read(cell).is_some();
        let named = cells.iter().map(|cell| if is_value(cell) { String::new() } else { cell.clone() }).collect();
        Columns::resolve(named, &self.mapping).known.len() * (columns::MOST_COLUMNS + 1) + words
    }
}
