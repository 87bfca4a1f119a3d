//! Sheets of the open document format, read from the stream of their XML one cell after the other.
//!
//! In this format a few letters can stand for millions of cells, rows or blanks. Nothing is laid out before it is counted:
//! repeats go into the grid, which ends at its limit. A text that is cut, crossed or declares a document type is damaged.
//!
//! # References
//!
//! Open Document Format for Office Applications 1.3, part 3: 9.1 (tables, rows and cells), 19.387 to 19.393 (values), 6.1
//! (text, blanks, tabs, line breaks), 19.679 and 19.681 (repeats).

use super::comments::LONGEST;
use super::number_formats::{self, CellStyles, Shown};
use super::sheet_choice::Choice;
use super::sheet_grid::{Grid, LONGEST_CELL};
use super::trouble::Trouble;
use super::written::{iso, number};
use super::xml_attributes::attribute;
use crate::legible::UNREADABLE;
use quick_xml::XmlVersion;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;
use std::io::BufRead;

/// Offers every sheet of a `content.xml`.
///
/// # Errors
///
/// That the XML is damaged, or that a sheet takes more than its limit.
pub(super) fn read(content: impl BufRead, styles: &CellStyles, choice: &mut Choice<'_>) -> Result<(), Trouble> {
    let mut xml = Reader::from_reader(content);
    xml.config_mut().expand_empty_elements = true;
    let (mut buffer, mut open) = (Vec::new(), 0_u64);
    let mut table = Table::default();
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|_| Trouble::Damaged)? {
            Event::Start(tag) => {
                open += 1;
                table.begin(&tag, styles, choice)?;
            }
            Event::End(tag) => {
                open = open.checked_sub(1).ok_or(Trouble::Damaged)?;
                table.end(tag.name().as_ref(), choice)?;
            }
            Event::Text(text) => table.text(&text.xml10_content())?,
            Event::GeneralRef(entity) => match resolve_predefined_entity(&entity) {
                Some(text) => table.text(text)?,
                None => {
                    let c = entity.resolve_char_ref().ok().flatten().ok_or(Trouble::Damaged)?;
                    table.text(c.encode_utf8(&mut [0; 4]))?;
                }
            },
            Event::DocType(_) => return Err(Trouble::Damaged),
            Event::Eof if open == 0 => return Ok(()),
            Event::Eof => return Err(Trouble::Damaged),
            _ => {}
        }
    }
}

/// The table being read.
#[derive(Default)]
struct Table {
    /// None where the sheet is not wanted, or no table has begun.
    grid: Option<Grid>,
    row: u32,
    row_repeats: u32,
    column: u32,
    /// The cells of the row: column, repeats, text.
    cells: Vec<(u32, u32, String)>,
    cell: Option<Cell>,
    /// What the format of whole columns shows behind numbers: the column after the last, and the unit.
    columns: Vec<(u32, Option<Shown>)>,
    /// The same of the row.
    row_shown: Option<Shown>,
}

impl Table {
    fn begin(&mut self, tag: &BytesStart<'_>, styles: &CellStyles, choice: &mut Choice<'_>) -> Result<(), Trouble> {
        if let Some(cell) = &mut self.cell {
            return cell.begin(tag);
        }
        match tag.name().as_ref() {
            "table:table" => {
                *self = Self::default();
                self.grid = attribute(tag, "table:name")?.and_then(|name| choice.begin(&name));
            }
            "table:table-column" => {
                let end = self.columns.last().map_or(0, |(end, _)| *end);
                let shown = style(tag, "table:default-cell-style-name", styles)?;
                self.columns.push((end.saturating_add(repeats(tag, "table:number-columns-repeated")?), shown));
            }
            "table:table-row" => {
                self.row_shown = style(tag, "table:default-cell-style-name", styles)?;
                self.row_repeats = repeats(tag, "table:number-rows-repeated")?;
                self.column = 0;
                self.cells.clear();
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let mut cell = Cell::of(tag, self.grid.as_ref().is_some_and(|grid| grid.decimal_comma))?;
                if cell.is_number {
                    let of_column = || {
                        let at = self.columns.partition_point(|(end, _)| *end <= self.column);
                        self.columns.get(at).and_then(|(_, shown)| *shown)
                    };
                    cell.shown = match attribute(tag, "table:style-name")? {
                        Some(name) => styles.of(&name),
                        None => self.row_shown.or_else(of_column),
                    };
                }
                self.cell = Some(cell);
            }
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &str, choice: &mut Choice<'_>) -> Result<(), Trouble> {
        if let Some(cell) = self.cell.take() {
            match cell.end() {
                Ended::Inside(cell) => self.cell = Some(cell),
                Ended::Cell { repeats, mut text, shown, name, comment } => {
                    if self.grid.is_some() && !comment.is_empty() {
                        choice.comments.add(&comment);
                    }
                    if let (Some(name), Some(grid)) = (name, &mut self.grid) {
                        text = grid.as_name((self.row, self.column), &text, name);
                    }
                    if let (Some(shown), Some(grid)) = (shown, &mut self.grid) {
                        text = grid.with_unit((self.row, self.column), &text, shown);
                    }
                    if !text.is_empty() {
                        self.cells.push((self.column, repeats, text));
                    }
                    self.column = self.column.saturating_add(repeats);
                }
            }
            return Ok(());
        }
        match name {
            "table:table-row" => self.end_row(),
            "table:table" => self.grid.take().map_or(Ok(()), |grid| choice.offer(grid)),
            _ => Ok(()),
        }
    }

    fn end_row(&mut self) -> Result<(), Trouble> {
        let first = self.row;
        self.row = self.row.saturating_add(self.row_repeats);
        let Some(grid) = self.grid.as_mut().filter(|_| !self.cells.is_empty()) else { return Ok(()) };
        for row in first..self.row {
            for (column, repeats, text) in &self.cells {
                for i in 0..*repeats {
                    let put = grid.put(row, column.saturating_add(i), text.clone());
                    put.ok_or_else(|| grid.trouble())?;
                }
            }
        }
        Ok(())
    }

    fn text(&mut self, text: &str) -> Result<(), Trouble> {
        self.cell.as_mut().map_or(Ok(()), |cell| cell.text(text))
    }
}

/// No number is seen with more letters than these.
const LONGEST_NUMBER: usize = 80;

/// The cell being read.
struct Cell {
    repeats: u32,
    /// What its attributes say.
    value: Option<String>,
    /// Whether its content counts where they do not.
    holds_text: bool,
    text: String,
    /// Paragraphs that have begun.
    paragraphs: u32,
    /// Elements that are open inside.
    open: u32,
    /// The text of the remark beside the cell.
    comment: String,
    /// Of the tags that are open, the one of that remark.
    remark: Option<u32>,
    /// Whether it holds a number, and the unit that its format shows after it.
    is_number: bool,
    shown: Option<Shown>,
    /// Whether it holds a formula whose value is not known.
    is_formula: bool,
}

enum Ended {
    Inside(Cell),
    Cell { repeats: u32, text: String, shown: Option<Shown>, name: Option<String>, comment: String },
}

impl Cell {
    fn of(tag: &BytesStart<'_>, decimal_comma: bool) -> Result<Self, Trouble> {
        let (mut value, mut is_typed, mut is_error, mut is_number, mut is_formula) = (None, false, false, false, false);
        for attribute in tag.attributes() {
            let attribute = attribute.map_err(|_| Trouble::Damaged)?;
            let text = attribute.normalized_value(XmlVersion::Implicit1_0).map_err(|_| Trouble::Damaged)?;
            match attribute.key.as_ref() {
                "office:value-type" => is_typed = true,
                "table:formula" => is_formula = true,
                "calcext:value-type" => is_error = text == "error",
                _ if value.is_some() => {}
                // What is no number stays as it is, and is rejected where a number must be.
                "office:value" => {
                    is_number = text.parse::<f64>().is_ok();
                    value = Some(text.parse().map_or_else(|_| text.into(), |v| number(v, decimal_comma)));
                }
                "office:date-value" => value = Some(iso(&text)),
                "office:string-value" | "office:time-value" => value = Some(text.into_owned()),
                "office:boolean-value" => value = Some(text.to_uppercase()),
                _ => {}
            }
        }
        // For an error the displayed text is used, whatever value is stored; so it is for a cell without a value.
        let holds_text = is_error || value.as_ref().is_none_or(String::is_empty);
        let is_number = is_number && !is_error;
        let repeats = repeats(tag, "table:number-columns-repeated")?;
        let (text, comment, paragraphs, open, remark) = (String::new(), String::new(), 0, 0, None);
        // Its value was never stored, or it would have a type.
        let is_formula = is_formula && !is_typed;
        Ok(Self {
            repeats,
            value,
            holds_text,
            text,
            comment,
            paragraphs,
            open,
            remark,
            is_number,
            shown: None,
            is_formula,
        })
    }

    fn begin(&mut self, tag: &BytesStart<'_>) -> Result<(), Trouble> {
        self.open += 1;
        if self.remark.is_some() {
            return Ok(());
        }
        match tag.name().as_ref() {
            "office:annotation" => self.remark = Some(self.open),
            "text:p" => {
                self.paragraphs += 1;
                if self.paragraphs > 1 {
                    self.text("\n")?;
                }
            }
            "text:s" => {
                let blanks = repeats(tag, "text:c")? as usize;
                if blanks > LONGEST_CELL {
                    return Err(Trouble::LongCell);
                }
                self.text(&" ".repeat(blanks))?;
            }
            "text:tab" => self.text("\t")?,
            "text:line-break" => self.text("\n")?,
            _ => {}
        }
        Ok(())
    }

    fn end(mut self) -> Ended {
        if self.open == 0 {
            // The text of a number is what is seen, whatever its style is.
            let shown = self.shown.or_else(|| number_formats::of_number(&self.text).filter(|_| self.is_number));
            let number = self.value.as_deref().filter(|_| self.is_number && shown.is_none());
            let name = number.and_then(|number| number_formats::name_seen(number, &self.text));
            let seen =
                number.filter(|_| name.is_none()).and_then(|number| number_formats::text_seen(number, &self.text));
            let text = match (self.value, seen) {
                _ if self.holds_text => self.text,
                (_, Some(seen)) => seen,
                (value, None) => value.unwrap_or_default(),
            };
            let text = if text.is_empty() && self.is_formula { UNREADABLE.to_owned() } else { text };
            return Ended::Cell { repeats: self.repeats, text, shown, name, comment: self.comment };
        }
        if self.remark == Some(self.open) {
            self.remark = None;
        }
        self.open -= 1;
        Ended::Inside(self)
    }

    fn text(&mut self, text: &str) -> Result<(), Trouble> {
        if self.remark.is_some() && self.comment.len() < LONGEST {
            self.comment.extend(text.chars().take(LONGEST).chain([' ']));
        }
        let is_seen_number = self.is_number && self.text.len() + text.len() <= LONGEST_NUMBER;
        if !(self.holds_text || is_seen_number) || self.remark.is_some() {
            return Ok(());
        }
        if self.text.len() + text.len() > LONGEST_CELL {
            return Err(Trouble::LongCell);
        }
        self.text.push_str(text);
        Ok(())
    }
}

/// What a style that a tag names shows behind numbers.
fn style(tag: &BytesStart<'_>, name: &str, styles: &CellStyles) -> Result<Option<Shown>, Trouble> {
    Ok(attribute(tag, name)?.and_then(|name| styles.of(&name)))
}

/// How many times something is repeated; once where no count is given.
fn repeats(tag: &BytesStart<'_>, name: &str) -> Result<u32, Trouble> {
    let Some(text) = attribute(tag, name)? else { return Ok(1) };
    let count = text.trim().parse::<u64>().map_err(|_| Trouble::Damaged)?;
    Ok(u32::try_from(count).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::sheet_choice::SheetChoice;
    use crate::ingest::sheet_grid::Left;

    fn offered(rows: &str) -> Result<String, Trouble> {
        let content = format!("<a><table:table table:name='Sheet'>{rows}</table:table></a>");
        let mut choice = Choice::new(SheetChoice::default(), false, 1 << 20, Left::of(0));
        read(content.as_bytes(), &CellStyles::default(), &mut choice)?;
        Ok(String::from_utf8_lossy(&choice.take().text).into_owned())
    }

    #[test]
    fn values_texts_repeats_and_remarks_are_told_apart() {
        let rows = "<table:table-row table:number-rows-repeated=\"2\"><table:table-cell office:value-type='float' \
            office:value='1.50'><text:p>1,5</text:p></table:table-cell>\
            <table:table-cell table:number-columns-repeated = '2'/>\
            <table:table-cell office:value-type='string' table:number-columns-repeated='2'>\
            <office:annotation><text:p>never</text:p></office:annotation>\
            <text:p>a<text:s text:c='3'/>b &amp; &#99;</text:p><text:p>d</text:p></table:table-cell>\
            <table:table-cell office:date-value='2026-01-05T00:00:00' office:value-type='date'/>\
            <table:table-cell office:boolean-value='true'/></table:table-row>\
            <table:table-row table:number-rows-repeated='1048574'><table:table-cell/></table:table-row>";
        let row = "1.5,,,\"a   b & c\nd\",\"a   b & c\nd\",2026-01-05,TRUE\n";
        assert_eq!(offered(rows), Ok([row, row].concat()));
        let seen = "<table:table-row><table:table-cell office:value-type='float' office:value='840'><text:p>840 kΩ</text:p></table:table-cell>\
            <table:table-cell office:value='841'><text:p>841,0 MΩ</text:p></table:table-cell>\
            <table:table-cell office:value='842'><text:p>842 m</text:p></table:table-cell></table:table-row>";
        assert_eq!(offered(seen), Ok("840 kΩ,841,842 m\n".to_owned()));
        // What is seen counts where a value has no type, where a formula has no value, and where it is an error.
        let odd = "<table:table-row><table:table-cell><text:p>3</text:p></table:table-cell><table:table-cell table:formula='of:=1+2'/>\
            <table:table-cell office:value='930' calcext:value-type='error'><text:p>#N/A</text:p></table:table-cell>\
            <table:table-cell table:formula='of:=A1' office:value-type='string' office:string-value=''/>\
            <table:table-cell office:value='930'><text:p>930 void</text:p></table:table-cell></table:table-row>";
        assert_eq!(offered(odd), Ok(format!("3,{UNREADABLE},#N/A,,930 void\n")));
        let nan = "<table:table-row><table:table-cell office:value='NaN'/><table:table-cell office:value='1.#QNAN'/></table:table-row>";
        assert_eq!(offered(nan), Ok("NaN,1.#QNAN\n".to_owned()));
    }

    #[test]
    fn what_would_fill_the_memory_is_counted_before_it_is_laid_out() {
        let cell = |inside: &str| {
            format!(
                "<table:table-row><table:table-cell office:value-type='string'>{inside}</table:table-cell></table:table-row>"
            )
        };
        assert_eq!(offered(&cell("<text:p><text:s text:c='2000000000'/></text:p>")), Err(Trouble::LongCell));
        assert_eq!(offered(&cell(&"<text:s text:c='999999'/>".repeat(2))), Err(Trouble::LongCell));
        for repeats in ["table:number-rows-repeated='1000000'", "table:number-rows-repeated=\"99999999999\""] {
            let row =
                format!("<table:table-row {repeats}><table:table-cell office:value='12345678'/></table:table-row>");
            assert_eq!(offered(&row), Err(Trouble::TooLarge));
        }
        let wide = format!(
            "<table:table-cell table:number-columns-repeated='19000' office:string-value='{}'/>",
            "x".repeat(999)
        );
        assert_eq!(offered(&format!("<table:table-row>{wide}</table:table-row>")), Err(Trouble::TooLarge));
    }

    #[test]
    fn more_rows_cells_or_sheets_than_a_small_file_needs_are_refused() {
        let offered = |content: &str| {
            let mut choice = Choice::new(SheetChoice::default(), false, 1 << 30, Left::of(0));
            read(content.as_bytes(), &CellStyles::default(), &mut choice)
        };
        let sheet = |rows: u32, columns: u32| {
            format!(
                "<table:table table:name='S'><table:table-row table:number-rows-repeated='{rows}'><table:table-cell \
                 table:number-columns-repeated='{columns}' office:value='1'/></table:table-row></table:table>"
            )
        };
        let all = |sheets: &[String]| offered(&format!("<a>{}</a>", sheets.concat()));
        assert_eq!(all(&[sheet(250_000, 1)]), Ok(()));
        assert_eq!(all(&[sheet(250_001, 1)]), Err(Trouble::TooMany));
        assert_eq!(all(&[sheet(125_000, 1), sheet(125_001, 1)]), Err(Trouble::TooMany), "of all sheets together");
        assert_eq!(all(&[sheet(2001, 1000)]), Err(Trouble::TooMany));
        assert_eq!(all(&vec![sheet(1, 1); 2000]), Ok(()));
        assert_eq!(all(&vec![sheet(1, 1); 2001]), Err(Trouble::ManySheets));
    }

    #[test]
    fn what_is_cut_or_crossed_is_damaged() {
        let whole = "<?xml version=\"1.0\"?>\n<a b='>'><c/><!-- <d> --><e >x</e ><![CDATA[<f>]]></a>";
        let read = |text: &str| {
            let mut choice = Choice::new(SheetChoice::default(), false, 1 << 20, Left::of(0));
            read(text.as_bytes(), &CellStyles::default(), &mut choice)
        };
        assert_eq!(read(whole), Ok(()));
        for damaged in [
            "<a>",
            "<a></b>",
            "<a><b></a></b>",
            "</a>",
            "<a",
            "<a b=\">",
            "<!-- ",
            "<!DOCTYPE a><a/>",
            "<?x",
            "<a>&b;</a>",
        ] {
            assert_eq!(read(damaged), Err(Trouble::Damaged), "{damaged}");
        }
    }
}
