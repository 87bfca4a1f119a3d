//! The result as a workbook: series, findings, input, policy and the run itself, one sheet each.
//!
//! Numbers are numbers and days are days, so that they can be sorted and summed; text is never a formula, whatever it
//! starts with. The same result gives the same bytes: the workbook is dated by the as-of day.

use super::columns::{COLUMNS, Cell};
use super::{Assessment, evidence, rules};
use crate::cautions::CAUTIONS;
use chrono::{Datelike, NaiveDate};
use groundwall::policy::keys::Value;
use rust_xlsxwriter::{
    ColNum, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, RowNum, Workbook, Worksheet, XlsxError,
};
use std::io;

/// Rows that a sheet can have, the header with them.
const ROWS: usize = 1_048_576;
/// Characters that a cell can hold.
const CHARACTERS: usize = 32_767;
/// Narrowest and widest column, characters.
const WIDTHS: (usize, usize) = (9, 60);

/// Names of the sheets.
const SHEETS: [&str; 5] = ["series", "findings", "input", "policy", "run"];
/// What the description of the workbook says after the program; that of a round says other things.
const KIND: &str = ", assessment";

/// Whether bytes are a result as this program wrote it: its own description, no sheet more or less, and never saved again.
#[must_use]
pub fn is_result(bytes: &[u8]) -> bool {
    if crate::ingest::unpack::check_archive("", bytes).is_err() {
        return false;
    }
    let part = |name: &str| {
        let part = crate::ingest::unpack::part_of(bytes, name).unwrap_or_default();
        String::from_utf8_lossy(&part).into_owned()
    };
    let (properties, book) = (part("docProps/core.xml"), part("xl/workbook.xml"));
    let said = |from: &str, to: &str| Some(properties.split_once(from)?.1.split_once(to)?.0);
    let day = |name: &str| said(&format!("<dcterms:{name} xsi:type=\"dcterms:W3CDTF\">"), "<");
    let description = said("<dc:description>groundwall ", "</dc:description>").and_then(|text| text.strip_suffix(KIND));
    let names: Vec<&str> = book.split("<sheet name=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    description.is_some_and(|version| !version.contains(' '))
        && day("created").is_some()
        && day("created") == day("modified")
        && said("<cp:lastModifiedBy>", "</cp:lastModifiedBy>") == Some("")
        && names == SHEETS
}

/// The workbook as bytes.
///
/// # Errors
///
/// When a sheet would need more rows than a workbook can have, or the writer says so.
pub fn bytes(assessment: &Assessment<'_>) -> io::Result<Vec<u8>> {
    workbook(assessment).map_err(|error| match error {
        XlsxError::RowColumnLimitError => io::Error::other(format!(
            "a sheet of a workbook has {ROWS} rows, and the result needs more; --format csv has no such limit"
        )),
        error => io::Error::other(error.to_string()),
    })
}

fn workbook(assessment: &Assessment<'_>) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    let program = crate::program::NAME;
    let properties = DocProperties::new().set_title("Winding insulation").set_comment(format!("{program}{KIND}"));
    workbook.set_properties(&match day(assessment.as_of) {
        Some(day) => properties.set_creation_datetime(&day),
        None => properties,
    });
    let mut series = Sheet::new(SHEETS[0], 1, COLUMNS.iter().map(|column| (column.title, column.name)))?;
    for (one, under) in assessment.series.iter().zip(assessment.under(assessment.series.iter())) {
        series.row(COLUMNS.iter().map(|column| (column.cell)(one)))?;
        if under {
            series.fold()?;
        }
    }
    let mut findings = Sheet::new(
        SHEETS[1],
        1,
        [
            ("Winding", "winding"),
            ("Connection", "connection"),
            ("Scope", "scope"),
            ("Action", "action"),
            ("Place", "weight"),
            ("Finding", "code"),
            ("What was found", "message"),
            ("Figures", "evidence"),
            ("Source of the rule", "source"),
        ],
    )?;
    for one in &assessment.series {
        for (place, finding) in one.findings.iter().enumerate() {
            let weight = Cell::Count(u32::try_from(place + 1).ok());
            let name = [&one.winding, &one.connection, &one.scope].map(|text| Cell::Text(Some(text.clone())));
            let told = [finding.code.word(), &finding.message, &evidence(finding), &finding.source].map(text);
            findings.row(name.into_iter().chain([text(one.action.word()), weight]).chain(told))?;
        }
    }
    let mut input = Sheet::new(
        SHEETS[2],
        0,
        [
            ("File", "file"),
            ("Checksum, SHA-256", "sha256"),
            ("Rows", "rows"),
            ("Accepted", "accepted"),
            ("Repeated", "repeated"),
            ("Rejected", "rejected"),
        ],
    )?;
    for ledger in assessment.inputs {
        let counts = [ledger.rows, ledger.accepted, ledger.repeated, ledger.rejected];
        let counts = counts.map(|count| Cell::Number(Some(count as f64)));
        input.row([text(&ledger.file), text(&ledger.sha256)].into_iter().chain(counts))?;
    }
    let mut policy =
        Sheet::new(SHEETS[3], 0, [("Section", "section"), ("Rule", "name"), ("Number", "number"), ("Word", "word")])?;
    for (section, values) in rules(assessment.policy) {
        for (name, value) in values {
            let (number, word) = match value {
                Value::Number(number) => (Some(number), None),
                Value::Word(word) => (None, Some(word)),
            };
            policy.row([text(section), text(name), Cell::Number(number), Cell::Text(word)])?;
        }
    }
    let mut run = Sheet::new(
        SHEETS[4],
        0,
        [
            ("As of", "as_of"),
            ("Confidence", "confidence"),
            ("Series", "series"),
            ("Program", "program"),
            ("Cautions", "cautions"),
        ],
    )?;
    run.row([
        Cell::Day(Some(assessment.as_of)),
        Cell::Number(Some(assessment.confidence.as_fraction())),
        Cell::Number(Some(assessment.series.len() as f64)),
        text(program),
        text(CAUTIONS),
    ])?;
    for sheet in [series, findings, input, policy, run] {
        workbook.push_worksheet(sheet.finish()?);
    }
    saved(workbook)
}

/// Saves a workbook. Its writer starts a thread for each sheet and panics where the system grants none, so they are asked for first.
pub(super) fn saved(mut workbook: Workbook) -> Result<Vec<u8>, XlsxError> {
    if threads_are_granted(workbook.worksheets().len()) {
        return workbook.save_to_buffer();
    }
    Err(XlsxError::IoError(io::Error::other(
        "a workbook takes a thread for each sheet, and the system grants none (a limit on processes or memory)",
    )))
}

/// Whether so many threads can be had at once, beside those that there are.
#[cfg(not(target_family = "wasm"))]
fn threads_are_granted(count: usize) -> bool {
    let gate = std::sync::Mutex::new(());
    let closed = gate.lock();
    std::thread::scope(|scope| {
        let granted = (0..count)
            .map_while(|_| std::thread::Builder::new().spawn_scoped(scope, || drop(gate.lock())).ok())
            .count();
        drop(closed);
        granted == count
    })
}

/// Without threads the writer asks for none.
#[cfg(target_family = "wasm")]
const fn threads_are_granted(_: usize) -> bool {
    true
}

fn text(text: &str) -> Cell {
    Cell::Text(Some(text.to_owned()))
}

/// A day as workbooks count them, from 1900 to 9999.
#[must_use]
pub fn day(day: NaiveDate) -> Option<ExcelDateTime> {
    let year = u16::try_from(day.year()).ok()?;
    ExcelDateTime::from_ymd(year, u8::try_from(day.month()).ok()?, u8::try_from(day.day()).ok()?).ok()
}

/// Colour of the names for programs.
const QUIET: u32 = 0x6B_76_7C;

/// How the numbers of a column are shown; their cells hold all digits.
fn number_format(name: &str) -> Option<&'static str> {
    match name {
        // Counts and the numbers of rules stand as they are.
        "rows" | "accepted" | "repeated" | "rejected" | "series" | "number" => None,
        "confidence" => Some("0 %"),
        name if name.contains("_p_") => Some("0 %"),
        name if name.ends_with("_mohm") => Some("[>=100]#,##0;[>=10]0.0;0.00"),
        "latest_winding_temp_c" | "trend_halving_years" => Some("0.0"),
        _ => Some("0.000"),
    }
}

/// Rows of headings.
const HEADERS: RowNum = 2;

/// A sheet under construction: a header that stays in sight, and rows of typed cells.
struct Sheet {
    sheet: Worksheet,
    day: Format,
    /// The form of the numbers of each column; none where they stand as they are.
    numbers: Vec<Option<Format>>,
    next: usize,
    widths: Vec<usize>,
}

impl Sheet {
    /// A sheet with headings for people in its first row and the names for programs in the second, which stay in sight with its first
    /// columns.
    fn new(
        name: &str,
        columns_in_sight: ColNum,
        header: impl IntoIterator<Item = (&'static str, &'static str)>,
    ) -> Result<Self, XlsxError> {
        let mut sheet = Worksheet::new();
        sheet.set_name(name)?.set_freeze_panes(2, columns_in_sight)?.set_landscape().set_repeat_rows(0, 1)?;
        let bold = Format::new().set_bold().set_align(FormatAlign::Top);
        let quiet = Format::new().set_font_color(QUIET).set_font_size(8).set_border_bottom(FormatBorder::Thin);
        let (mut widths, mut numbers) = (Vec::new(), Vec::new());
        for (column, (title, name)) in (0..).zip(header) {
            sheet.write_string_with_format(0, column, title, &bold)?;
            sheet.write_string_with_format(1, column, name, &quiet)?;
            // The arrow of the filter takes room beside the title.
            widths.push(title.chars().count() + 3);
            numbers.push(number_format(name).map(|form| Format::new().set_num_format(form)));
        }
        let day = Format::new().set_num_format("yyyy-mm-dd");
        Ok(Self { sheet, day, numbers, next: HEADERS as usize, widths })
    }

    fn row(&mut self, cells: impl IntoIterator<Item = Cell>) -> Result<(), XlsxError> {
        if self.next >= ROWS {
            return Err(XlsxError::RowColumnLimitError);
        }
        let row = RowNum::try_from(self.next).map_err(|_| XlsxError::RowColumnLimitError)?;
        for (column, cell) in (0..).zip(cells) {
            let width = match cell {
                Cell::Text(Some(text)) => {
                    let text: String = text.chars().take(CHARACTERS).collect();
                    let width = text.chars().count();
                    self.sheet.write_string(row, column, text)?;
                    width
                }
                Cell::Number(Some(number)) => {
                    match self.numbers.get(usize::from(column)).and_then(Option::as_ref) {
                        Some(form) => self.sheet.write_number_with_format(row, column, number, form)?,
                        None => self.sheet.write_number(row, column, number)?,
                    };
                    0
                }
                Cell::Count(Some(count)) => {
                    self.sheet.write_number(row, column, count)?;
                    0
                }
                Cell::Day(Some(date)) => {
                    match day(date) {
                        Some(day) => self.sheet.write_datetime_with_format(row, column, &day, &self.day)?,
                        None => self.sheet.write_string(row, column, date.to_string())?,
                    };
                    11
                }
                Cell::Text(None) | Cell::Number(None) | Cell::Count(None) | Cell::Day(None) => 0,
            };
            if let Some(widest) = self.widths.get_mut(usize::from(column)) {
                *widest = width.max(*widest);
            }
        }
        self.next += 1;
        Ok(())
    }

    /// Folds the row written last away below the one before it.
    fn fold(&mut self) -> Result<(), XlsxError> {
        let row = RowNum::try_from(self.next - 1).map_err(|_| XlsxError::RowColumnLimitError)?;
        self.sheet.group_symbols_above(true);
        self.sheet.group_rows_collapsed(row, row)?;
        Ok(())
    }

    fn finish(mut self) -> Result<Worksheet, XlsxError> {
        let last = RowNum::try_from(self.next - 1).map_err(|_| XlsxError::RowColumnLimitError)?;
        for (column, width) in (0..).zip(&self.widths) {
            self.sheet.set_column_width(column, (*width).clamp(WIDTHS.0, WIDTHS.1) as f64)?;
        }
        if let Some(columns) = self.widths.len().checked_sub(1).and_then(|last| ColNum::try_from(last).ok()) {
            self.sheet.autofilter(HEADERS - 1, 0, last.max(HEADERS - 1), columns)?;
        }
        Ok(self.sheet)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_result_is_told_from_a_round_and_from_what_people_made_of_it() {
        let is = |comment: &str, sheets: &[&str]| -> Result<bool, XlsxError> {
            let mut workbook = Workbook::new();
            workbook.set_properties(&DocProperties::new().set_comment(comment));
            for name in sheets {
                workbook.add_worksheet().set_name(*name)?;
            }
            Ok(is_result(&saved(workbook)?))
        };
        let ours = format!("{}{KIND}", crate::program::NAME);
        assert!(matches!(is(&ours, &SHEETS), Ok(true)));
        for (comment, sheets) in [
            (ours.as_str(), &["series", "findings", "input", "policy", "run", "My notes"][..]),
            (&ours, &SHEETS[..4]),
            (&ours, &["series", "findings", "input", "policy", "Run"]),
            ("groundwall 0.1.0, round", &SHEETS),
            ("groundwall", &SHEETS),
            ("groundwall of the plant, assessment", &SHEETS),
        ] {
            assert!(matches!(is(comment, sheets), Ok(false)), "{comment} {sheets:?}");
        }
    }
}
