//! The sheet to fill in as a workbook: the round on the first sheet, what holds before every test on the second.
//!
//! Cells to fill in are framed and checked as they are written; guidance is shaded. No cell is ever a formula. The same round
//! gives the same bytes: the workbook is dated by the day of the round.

use super::super::columns::Cell;
use super::super::workbook::{day, saved};
use super::Planned;
use super::sheet::{GUIDES, given, to_fill_in};
use crate::cautions::{CAUTIONS, SAFETY};
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::record::{Event, Item};
use groundwall::units::{RelativeHumidity, Temperature, Voltage};
use rust_xlsxwriter::{
    ColNum, Color, DataValidation, DataValidationErrorStyle, DataValidationRule, DocProperties, ExcelDateTime, Format,
    FormatAlign, FormatBorder, RowNum, Workbook, Worksheet, XlsxError,
};
use std::io;

/// Name of the sheet to fill in.
pub const SHEET: &str = "round";
/// Widest column, characters; longer texts go on in the next line.
const WIDEST: usize = 48;
/// Height of a row, points: three lines of guidance, and room to write by hand on paper.
const HEIGHT: f64 = 45.0;
/// Print at so many percent: legible on paper, over several sheets side by side.
const PRINT_SCALE: u16 = 75;
const SHADE: Color = Color::RGB(0xE6_EA_EA);
const HAIR: Color = Color::RGB(0x7B_88_8E);
/// Connections that are usual; others may be written.
const CONNECTIONS: [&str; 7] = ["all-earth", "U-earth", "V-earth", "W-earth", "U-V", "V-W", "W-U"];

/// The workbook as bytes.
///
/// # Errors
///
/// When the round has more tests than a sheet has rows, or the writer says so.
pub fn bytes(planned: &Planned<'_>) -> io::Result<Vec<u8>> {
    workbook(planned).map_err(|error| io::Error::other(error.to_string()))
}

fn workbook(planned: &Planned<'_>) -> Result<Vec<u8>, XlsxError> {
    let round = planned.round;
    let mut workbook = Workbook::new();
    let program = crate::program::NAME;
    let properties = DocProperties::new().set_title("Round of winding tests").set_comment(format!("{program}, round"));
    workbook.set_properties(&match day(round.as_of) {
        Some(day) => properties.set_creation_datetime(&day),
        None => properties,
    });
    workbook.push_worksheet(sheet(planned)?);
    workbook.push_worksheet(before(planned)?);
    saved(workbook)
}

fn sheet(planned: &Planned<'_>) -> Result<Worksheet, XlsxError> {
    let lines = &planned.round.lines;
    let fill = to_fill_in(planned.inputs, lines);
    let mut sheet = Worksheet::new();
    sheet.set_name(SHEET)?.set_freeze_panes(1, 1)?;
    sheet.set_landscape().set_paper_size(9).set_repeat_rows(0, 0)?.set_repeat_columns(0, 0)?;
    sheet.set_print_scale(PRINT_SCALE).set_margins(0.4, 0.4, 0.5, 0.8, 0.3, 0.3);
    let [header, footer] = header_and_footer();
    sheet.set_header(header).set_footer(footer);
    let head =
        Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top).set_border_bottom(FormatBorder::Medium);
    let guide_head = head.clone().set_background_color(SHADE);
    let guide = Format::new().set_text_wrap().set_align(FormatAlign::Top).set_background_color(SHADE);
    let guide_day = guide.clone().set_num_format("yyyy-mm-dd");
    let last = RowNum::try_from(lines.len()).map_err(|_| XlsxError::RowColumnLimitError)?;
    for row in 1..=last {
        sheet.set_row_height(row, HEIGHT)?;
    }
    for (place, column) in (0..).zip(&fill) {
        sheet.write_string_with_format(0, place, column.to_string(), &head)?;
        let format = cell_format(*column);
        for (row, line) in (1..).zip(lines) {
            match given(*column, line) {
                Some(text) => sheet.write_string_with_format(row, place, text, &format)?,
                None => sheet.write_blank(row, place, &format)?,
            };
        }
        if let (Some(rule), 1..) = (validation(*column)?, last) {
            sheet.add_data_validation(1, place, last, place, &rule)?;
        }
        let widest = lines.iter().filter_map(|line| given(*column, line)).map(|text| text.chars().count() + 1).max();
        let free = if *column == Column::Note { WIDEST } else { 11 };
        let width = widest.unwrap_or(free).max(column.to_string().chars().count() + 1).clamp(9, WIDEST);
        sheet.set_column_width(place, width as f64)?;
    }
    let first = ColNum::try_from(fill.len()).map_err(|_| XlsxError::RowColumnLimitError)?;
    for (place, column) in (first..).zip(GUIDES) {
        sheet.write_string_with_format(0, place, column.name, &guide_head)?;
        let mut widest = column.name.chars().count() + 1;
        for (row, line) in (1..).zip(lines) {
            widest = guidance(&mut sheet, (row, place), (column.cell)(line), (&guide, &guide_day))?.max(widest);
        }
        sheet.set_column_width(place, widest.min(WIDEST) as f64)?;
    }
    Ok(sheet)
}

/// The cautions on every printed page: what comes before a test above the rows, the rest below them. Neither string may be
/// longer than 255 characters, or it is dropped by the writer.
fn header_and_footer() -> [String; 2] {
    let (before, after) = CAUTIONS.split_once("; ").unwrap_or((CAUTIONS, ""));
    [format!("&L&7{before};"), format!("&L&7{after}&R&7&P / &N")]
}

/// Writes a cell of guidance and gives the room that it takes, characters.
fn guidance(
    sheet: &mut Worksheet,
    (row, place): (RowNum, ColNum),
    cell: Cell,
    (format, day_format): (&Format, &Format),
) -> Result<usize, XlsxError> {
    Ok(match cell {
        Cell::Text(Some(text)) => {
            sheet.write_string_with_format(row, place, &text, format)?;
            text.chars().count() + 1
        }
        Cell::Number(Some(number)) => {
            sheet.write_number_with_format(row, place, number, format)?;
            9
        }
        Cell::Count(Some(count)) => {
            sheet.write_number_with_format(row, place, count, format)?;
            9
        }
        Cell::Day(Some(date)) => {
            match day(date) {
                Some(day) => sheet.write_datetime_with_format(row, place, &day, day_format)?,
                None => sheet.write_string_with_format(row, place, date.to_string(), format)?,
            };
            11
        }
        Cell::Text(None) | Cell::Number(None) | Cell::Count(None) | Cell::Day(None) => {
            sheet.write_blank(row, place, format)?;
            0
        }
    })
}

fn cell_format(column: Column) -> Format {
    let format = Format::new().set_border(FormatBorder::Thin).set_border_color(HAIR).set_align(FormatAlign::Top);
    match column {
        Column::TestedOn | Column::Procedure(Item::CalibrationDue) => format.set_num_format("yyyy-mm-dd"),
        // As text, so that nothing written there becomes a formula or loses a zero.
        Column::Winding
        | Column::Connection
        | Column::Scope
        | Column::Instrument
        | Column::Procedure(Item::Serial | Item::TestedBy | Item::WorkOrder)
        | Column::Note => format.set_num_format("@").set_text_wrap(),
        _ => format,
    }
}

/// What a cell takes. Resistances are left to the reading: `>2000`, `OL` and `1.2 GΩ` are none a workbook knows.
fn validation(column: Column) -> Result<Option<DataValidation>, XlsxError> {
    let said = |rule: DataValidation, title: &str, text: &str| {
        rule.set_input_title(title)?.set_input_message(text)?.set_error_title(title)?.set_error_message(text)
    };
    let between = |least: f64, most: f64, title: &str, text: &str| {
        said(DataValidation::new().allow_decimal_number(DataValidationRule::Between(least, most)), title, text)
    };
    let celsius = |scale: TemperatureScale| match scale {
        TemperatureScale::Celsius => (Temperature::LEAST.as_celsius(), Temperature::GREATEST.as_celsius(), "°C"),
        TemperatureScale::Fahrenheit => (-76.0, 482.0, "°F"),
    };
    Ok(Some(match column {
        Column::Winding | Column::Elapsed(_) | Column::Resistance(_) | Column::Instrument | Column::Note => {
            return Ok(None);
        }
        Column::TestedOn => {
            let first = ExcelDateTime::from_ymd(1954, 1, 1)?;
            let rule = DataValidation::new().allow_date(DataValidationRule::GreaterThanOrEqualTo(first));
            said(rule, "Day of the test", "A date. Leave the row empty if the test was not done.")?
        }
        Column::Connection => {
            let rule = DataValidation::new().allow_list_strings(&CONNECTIONS)?;
            said(rule, "Connection", "What the voltage was applied between. Another one starts a series of its own.")?
                .set_error_style(DataValidationErrorStyle::Warning)
        }
        Column::Scope => said(
            DataValidation::new().allow_list_strings(&["winding", "winding+cable", "cable", "circuit"])?,
            "Scope",
            "winding; winding+cable where the cable stayed connected; cable or circuit where that alone was tested.",
        )?,
        Column::TestVolts | Column::OutputVolts => between(
            Voltage::LEAST.as_volts(),
            Voltage::GREATEST.as_volts(),
            "Direct voltage",
            "The voltage really applied, in V: 1 to 100000.",
        )?,
        Column::Reading(..) => DataValidation::new().set_input_title("Resistance in MΩ")?.set_input_message(
            "As the tester shows it. Beyond its scale: >2000 or OL. Another unit is written with it: 1.2 GΩ.",
        )?,
        Column::FullScale(_) => DataValidation::new()
            .set_input_title("End of the scale")?
            .set_input_message("The largest resistance that the tester can show, in MΩ.")?,
        Column::WindingTemp(scale) => {
            let (least, most, unit) = celsius(scale);
            between(least, most, "Winding temperature", &format!("Measured at the winding, in {unit}."))?
        }
        Column::AirTemp(scale) => {
            let (least, most, unit) = celsius(scale);
            between(least, most, "Air temperature", &format!("Beside the machine, in {unit}."))?
        }
        Column::Humidity => between(
            RelativeHumidity::LEAST.as_percent(),
            RelativeHumidity::GREATEST.as_percent(),
            "Relative humidity",
            "Of the air beside the machine: 0 to 100 %.",
        )?,
        Column::LeadCheck => said(
            DataValidation::new().allow_list_strings(&["ok", "failed"])?,
            "Lead check",
            "ok where the shorted leads read zero and the open ones over range; else failed.",
        )?,
        Column::Procedure(item) => return procedure(item),
        Column::Event => said(
            DataValidation::new().allow_list_strings(&Event::WORDS.map(|(_, word)| word))?,
            "Work since the last test",
            "Only if it was done. It starts the trend afresh; anything else goes into the note.",
        )?,
    }))
}

/// What a cell of the record of the test takes.
fn procedure(item: Item) -> Result<Option<DataValidation>, XlsxError> {
    let choices = item.choices();
    if !choices.is_empty() {
        let text = match item {
            Item::OtherPhases => {
                "What the phases not under test were: earthed, guarded, open, or joined where they were not separated."
            }
            Item::Battery => "The tester's battery.",
            Item::ZeroCheck => "Leads shorted: it read zero.",
            Item::OpenCheck => "Leads open: it read over range.",
            Item::ProvedDead => "Whether the circuit was proved dead before the test.",
            _ => "Where the machine was.",
        };
        let rule = DataValidation::new().allow_list_strings(&choices)?;
        return Ok(Some(rule.set_input_title(item.name())?.set_input_message(text)?));
    }
    let text = match item {
        Item::CalibrationDue => "The last day on which the tester's calibration holds.",
        Item::SourceCheck => "The tester's output on a second meter, V; or ok, or failed.",
        Item::Discharged => "For how many minutes the winding was discharged to earth.",
        Item::Standing => "For how many hours the machine had stood still.",
        Item::DielectricDischarge => "The dielectric discharge as the tester gives it, mA/(V·F).",
        _ => return Ok(None),
    };
    Ok(Some(DataValidation::new().set_input_title(item.name())?.set_input_message(text)?))
}

/// What holds before every test, on a sheet of its own.
fn before(planned: &Planned<'_>) -> Result<Worksheet, XlsxError> {
    let mut sheet = Worksheet::new();
    sheet.set_name("before the test")?.set_landscape().set_paper_size(9);
    sheet.set_column_width(0, 110)?;
    let wrapped = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    let round = planned.round;
    let texts = [
        super::summary(round),
        SAFETY.to_owned(),
        CAUTIONS.to_owned(),
        "White cells are to be filled in, shaded ones are guidance. A row without a day and a reading is one not done."
            .to_owned(),
        format!(
            "Ranges of expected readings should contain the reading {} times; stop values are the minimum as read at the temperature beside them: \
             below one, stop and call.",
            round.confidence.in_words()
        ),
    ];
    for (row, text) in (0..).zip(texts) {
        sheet.write_string_with_format(row, 0, text, &wrapped)?;
    }
    Ok(sheet)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A header or a footer has at most 255 characters: a limit of spreadsheet programs, from memory.
    #[test]
    fn every_caution_is_printed_on_every_page() {
        let [header, footer] = header_and_footer();
        assert!(header.encode_utf16().count() <= 255 && footer.encode_utf16().count() <= 255);
        assert_eq!(format!("{header} {footer}").replace("&L&7", "").replace("&R&7&P / &N", ""), CAUTIONS);
    }
}
