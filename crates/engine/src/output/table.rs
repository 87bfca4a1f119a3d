//! The ranked list for people: a table that fits the terminal, then one paragraph for every series that needs something.

use super::Assessment;
use super::wrap::wrap;
use super::{of_the_register, overdue_in_words, test_by};
use crate::cautions::CAUTIONS;
use crate::legible::BOLD;
use crate::summary::{is_out_of_sight, latest_in_words};
use chrono::NaiveDate;
use comfy_table::{Cell, CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};
use groundwall::assess::{Action, Finding, SeriesAssessment};
use std::io::{self, Write};
use textwrap::core::display_width;

/// The columns of a narrow table: of these the first choice that fits, because what is due and the minimum stand elsewhere too.
const NARROW: [&[usize]; 3] = [&[0, WINDING, 2, 3, 4, 5], &[0, WINDING, 2, 3, 4], &[0, WINDING, 2, 4]];
/// The name of the winding, the one column of a narrow table that gives way: a longer name goes on in the next line.
const WINDING: usize = 1;
/// The least width of that column.
const NARROW_WINDING: usize = 12;
/// One rule under the header and nothing else.
const STYLE: TableStyle = TableStyle::new().header_separator(RULE);
const RULE: LineStyle = LineStyle { left: None, fill: Some('─'), junction: None, right: None };
/// Findings named in the table, where there is room: the most that fit are.
const CODES_SHOWN: [usize; 2] = [3, 1];
/// What stands before a series below a more urgent one of the same motor.
const BELOW: &str = "– ";
/// The plain meaning of `shorten`, beside it or, in a narrower table, below it.
const SOONER: [&str; 3] = [" (test sooner)", "\ntest sooner", "\ntest\nsooner"];
/// Columns between two cells.
const GAP: usize = 2;
/// Running text is at most so wide.
const TEXT_WIDTH: usize = 100;

/// What the output looks like from outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shape {
    /// Columns of the terminal.
    pub width: usize,
    /// Whether it may be coloured.
    pub color: bool,
}

impl Shape {
    /// Columns of running text.
    #[must_use]
    pub fn text_width(&self) -> usize {
        self.width.clamp(40, TEXT_WIDTH)
    }
}

/// Writes the table, the paragraphs and the summary.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, assessment: &Assessment<'_>, shape: &Shape) -> io::Result<()> {
    if assessment.series.is_empty() {
        return writeln!(out, "No test could be read, so nothing is judged.");
    }
    let table = widest_that_fits(assessment, shape.width).unwrap_or_else(|| narrow(assessment, shape.width));
    for line in table.lines() {
        let urgent = Action::read(line.split_whitespace().next().unwrap_or("")).is_some_and(|a| a <= Action::Recheck);
        let [on, off] = if urgent && shape.color { BOLD } else { [""; 2] };
        writeln!(out, "{on}{}{off}", line.trim_end())?;
    }
    paragraphs(out, assessment, shape)?;
    writeln!(out, "\n{}", wrap(&summary(assessment), shape.text_width(), "", ""))?;
    match overdue_in_words(assessment.overdue(), assessment.series.len()) {
        Some(words) => writeln!(out, "{words}"),
        None => Ok(()),
    }
}

/// The table with as many findings as leave every cell on one line, but for what `shorten` means, if there is such a table.
fn widest_that_fits(assessment: &Assessment<'_>, width: usize) -> Option<Table> {
    let plain = SOONER.map(|sooner| rows(assessment, sooner));
    let codes = CODES_SHOWN.map(|shown| codes(assessment, shown));
    let with_codes = plain.iter().flat_map(|plain| codes.iter().map(move |codes| (plain, Some(codes))));
    with_codes.chain(plain.iter().map(|plain| (plain, None))).find_map(|(plain, codes)| {
        let rows: Vec<Vec<&str>> = (0..plain.len())
            .map(|i| plain[i].iter().chain(codes.map(|codes| &codes[i])).map(String::as_str).collect())
            .collect();
        let columns = rows[0].len();
        let natural = (0..columns).map(|column| widest(rows.iter().map(|row| row[column])) + GAP).sum::<usize>();
        (natural - GAP <= width).then(|| {
            let mut table = laid_out(&rows, GAP, is_resistance);
            table.set_content_arrangement(ContentArrangement::Disabled);
            table
        })
    })
}

/// Columns of the widest line of some cells.
fn widest<'c>(cells: impl Iterator<Item = &'c str>) -> usize {
    cells.flat_map(str::lines).map(display_width).max().unwrap_or(0)
}

/// The table for a terminal in which a line is too short for a row: names go on in the next line, no word is broken, and
/// columns that are still too many are left out.
fn narrow(assessment: &Assessment<'_>, width: usize) -> Table {
    let rows = rows(assessment, SOONER[2]);
    let widest = |column: usize| widest(rows.iter().map(|row| row[column].as_str()));
    let others = |kept: &[usize]| kept.iter().filter(|i| **i != WINDING).map(|i| widest(*i) + 1).sum::<usize>() + 1;
    let words = rows.iter().flat_map(|row| row[WINDING].split(' ')).map(display_width).max().unwrap_or(0);
    let least = widest(WINDING).min(words.max(NARROW_WINDING));
    let kept = NARROW.into_iter().find(|kept| others(kept) + least <= width).unwrap_or(NARROW[NARROW.len() - 1]);
    let room = width.saturating_sub(others(kept)).max(least);
    let cell = |row: &[String; 6], i: usize| if i == WINDING { wrap(&row[i], room, "", "") } else { row[i].clone() };
    let rows: Vec<Vec<String>> = rows.iter().map(|row| kept.iter().map(|i| cell(row, *i)).collect()).collect();
    let mut table = laid_out(&rows, 1, |i| is_resistance(kept[i]));
    table.set_content_arrangement(ContentArrangement::Disabled);
    table
}

/// Whether a column holds resistances, which stand at its right.
const fn is_resistance(column: usize) -> bool {
    matches!(column, 2 | 3)
}

fn laid_out<R: AsRef<[C]>, C: AsRef<str>>(rows: &[R], gap: usize, at_right: impl Fn(usize) -> bool) -> Table {
    let mut table = Table::new();
    table.load_style(STYLE);
    for (i, row) in rows.iter().enumerate() {
        let cells = row.as_ref().iter().map(|cell| Cell::new(cell.as_ref()));
        if i == 0 {
            table.set_header(cells)
        } else {
            table.add_row(cells)
        };
    }
    let last = rows.first().map_or(0, |row| row.as_ref().len()).saturating_sub(1);
    for (i, column) in table.column_iter_mut().enumerate() {
        let gap = if i == last { 0 } else { gap };
        column.set_padding((0, u16::try_from(gap).unwrap_or(0)));
        if at_right(i) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table
}

/// The header and one row for each series, without findings; `sooner` is what stands after `shorten`.
fn rows(assessment: &Assessment<'_>, sooner: &str) -> Vec<[String; 6]> {
    let header = ["Action", "Winding", "R60 at", "Minimum", "May reach it", "Test by"].map(str::to_owned);
    let mut rows = vec![header];
    rows[0][2] = format!("R60 at {}", assessment.policy.reference_temp);
    let under = assessment.under(assessment.series.iter());
    rows.extend(assessment.series.iter().zip(under).map(|(series, under)| {
        [
            match series.action {
                Action::Shorten => format!("{}{sooner}", series.action),
                _ => series.action.word().to_owned(),
            },
            if under { format!("{BELOW}{}", series.name()) } else { series.name() },
            latest_in_words(series),
            series.minimum.as_ref().map_or_else(|| "–".to_owned(), ToString::to_string),
            reaches(series, assessment.as_of),
            test_by(series, assessment.as_of),
        ]
    }));
    rows
}

/// The header and the weightiest findings of each series, and how many more there are.
fn codes(assessment: &Assessment<'_>, shown: usize) -> Vec<String> {
    let named = |series: &SeriesAssessment| {
        let codes: Vec<&str> = series.noticed().take(shown).map(|finding| finding.code.word()).collect();
        let more = series.noticed().count().saturating_sub(shown);
        let tail = if more > 0 { format!(" +{more}") } else { String::new() };
        format!("{}{tail}", codes.join(", "))
    };
    std::iter::once("Found".to_owned()).chain(assessment.series.iter().map(named)).collect()
}

/// When the minimum may be reached: months are enough for a list, but the last day for planned work.
pub(crate) fn reaches(series: &SeriesAssessment, as_of: NaiveDate) -> String {
    let Some(dates) = &series.forecast.reaches_minimum else {
        return if is_out_of_sight(series) { "not in 30 years".to_owned() } else { "cannot say".to_owned() };
    };
    let month = |day: NaiveDate| day.format("%Y-%m").to_string();
    if series.forecast.is_reached(as_of) {
        return series
            .forecast
            .below_since
            .map_or_else(|| "reached".to_owned(), |since| format!("reached by {}", month(since)));
    }
    if let Some(day) = series.work_by() {
        return if day <= as_of { "work now".to_owned() } else { format!("work by {day}") };
    }
    if series.action == Action::Plan {
        // Asked for by something else than the forecast: its dates must not read as if there were time until then.
        return if series.must_not_be_energised() { "work before use" } else { "work next outage" }.to_owned();
    }
    match dates.latest {
        Some(latest) => format!("{} – {}", month(dates.earliest), month(latest)),
        // An early end alone must not read as if the winding were safe until then.
        None => format!("from {}", month(dates.earliest)),
    }
}

fn paragraphs(out: &mut dyn Write, assessment: &Assessment<'_>, shape: &Shape) -> io::Result<()> {
    for series in assessment.series.iter().filter(|series| series.action <= Action::Shorten) {
        let sentences: Vec<&str> = telling(series).map(|finding| finding.message.as_str()).collect();
        let place = [&series.area, &series.description].into_iter().flatten().cloned();
        let place: Vec<String> = place.chain(of_the_register(series)).collect();
        let place = if place.is_empty() { String::new() } else { format!(" ({})", place.join(", ")) };
        let text = format!("{}{place}: {}. {}", series.name(), series.action.meaning(), sentences.join(" "));
        writeln!(out, "\n{}", wrap(&format!("{} {text}", series.action), shape.text_width(), "", "  "))?;
    }
    Ok(())
}

/// The findings worth a sentence in the list: what caused the action, and one more.
fn telling(series: &SeriesAssessment) -> impl Iterator<Item = &Finding> {
    series.noticed().take(2)
}

fn summary(assessment: &Assessment<'_>) -> String {
    let counts: Vec<String> = assessment
        .counts()
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(action, count)| match action {
            Action::Shorten => format!("{count} {action} ({})", action.in_short()),
            _ => format!("{count} {action}"),
        })
        .collect();
    let noun = match (assessment.motors(), assessment.series.len()) {
        (Some(1), _) => "series of 1 motor".to_owned(),
        (Some(motors), _) => format!("series of {motors} motors"),
        (None, 1) => "series".to_owned(),
        (None, _) => "series in all".to_owned(),
    };
    let tail = if counts.is_empty() { String::new() } else { format!(": {}", counts.join(", ")) };
    let series = assessment.series.len();
    let all = format!("As of {}, {series} {noun}{tail}.", assessment.as_of);
    let minima = || assessment.series.iter().filter_map(|series| series.minimum.as_ref());
    let assumed = minima().filter(|minimum| minimum.assumed).count();
    let by_policy = match minima().filter(|minimum| minimum.by_policy).count() {
        0 => String::new(),
        count if count == assumed => " by policy".to_owned(),
        count => format!(", {count} of them by policy"),
    };
    match assumed {
        0 => all,
        1 => {
            format!(
                "{all} 1 minimum is assumed{by_policy}, on the strict side: enter the winding's rating and construction into the register."
            )
        }
        count => {
            format!(
                "{all} {count} minima are assumed{by_policy}, on the strict side: enter ratings and constructions into the register."
            )
        }
    }
}

/// Width of remarks, columns.
const REMARK_WIDTH: usize = 80;

/// The cautions, broken into lines.
#[must_use]
pub fn cautions() -> String {
    wrap(CAUTIONS, REMARK_WIDTH, "", "")
}
