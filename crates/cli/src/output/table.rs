//! The ranked list for people: a table that fits the terminal, then one paragraph for every series that needs something.

use super::Assessment;
use chrono::NaiveDate;
use comfy_table::{Cell, CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width};
use groundwall::assess::{Action, Finding, SeriesAssessment};
use groundwall::units::{Resistance, Temperature};
use std::io::{self, Write};

/// From this width on the findings stand in the table too, columns.
const WIDE: usize = 100;
/// From this width on all of [`CODES_SHOWN`] stand there, else the weightiest.
const VERY_WIDE: usize = 160;
/// Columns of a winding's name in a narrow table; longer names go on in the next line.
const NARROW_WINDING: u16 = 18;
/// One rule under the header and nothing else.
const STYLE: TableStyle = TableStyle::new().header_separator(RULE);
const RULE: LineStyle = LineStyle { left: None, fill: Some('─'), junction: None, right: None };
/// Findings named in the table.
const CODES_SHOWN: usize = 3;

/// What the output looks like from outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shape {
    /// Columns of the terminal.
    pub width: usize,
    /// Whether it may be coloured.
    pub color: bool,
}

/// Writes the table, the paragraphs and the summary.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, assessment: &Assessment<'_>, shape: &Shape) -> io::Result<()> {
    let wide = shape.width >= WIDE;
    let mut table = Table::new();
    table.load_style(STYLE).set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(shape.width).unwrap_or(u16::MAX));
    table.set_header(header(assessment.policy.reference_temp, wide));
    for series in &assessment.series {
        table.add_row(row(series, assessment.as_of, codes_shown(shape.width)));
    }
    for (i, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, if wide { 2 } else { 1 }));
        match i {
            2 | 3 => {
                column.set_cell_alignment(CellAlignment::Right);
            }
            1 if !wide => {
                column.set_constraint(ColumnConstraint::UpperBoundary(Width::Fixed(NARROW_WINDING)));
            }
            _ => {}
        }
    }
    for line in table.lines() {
        let urgent = Action::read(line.split_whitespace().next().unwrap_or("")).is_some_and(|a| a <= Action::Plan);
        let (on, off) = if urgent && shape.color { ("\u{1b}[1m", "\u{1b}[0m") } else { ("", "") };
        writeln!(out, "{on}{}{off}", line.trim_end())?;
    }
    paragraphs(out, assessment, shape)?;
    writeln!(out, "\n{}", textwrap::fill(&summary(assessment), shape.width.clamp(40, 100)))
}

fn header(reference: Temperature, wide: bool) -> Vec<Cell> {
    let at = format!("R60 at {reference}");
    let mut names = vec!["Action", "Winding", &at, "Minimum", "Reaches it", "Test by"];
    if wide {
        names.push("Found");
    }
    names.into_iter().map(Cell::new).collect()
}

/// How many findings the table names at a width.
const fn codes_shown(width: usize) -> usize {
    match width {
        VERY_WIDE.. => CODES_SHOWN,
        WIDE.. => 1,
        _ => 0,
    }
}

fn row(series: &SeriesAssessment, as_of: NaiveDate, codes_shown: usize) -> Vec<Cell> {
    let mut cells = vec![
        Cell::new(series.action.word()),
        Cell::new(series.name()),
        Cell::new(latest(series)),
        Cell::new(series.minimum.as_ref().map_or_else(|| "–".to_owned(), |m| m.resistance.to_string())),
        Cell::new(reaches(series, as_of)),
        Cell::new(series.next_test.by),
    ];
    if codes_shown > 0 {
        let mut codes: Vec<&str> = series.findings.iter().map(|finding| finding.code.word()).collect();
        let more = codes.len().saturating_sub(codes_shown);
        codes.truncate(codes_shown);
        let tail = if more > 0 { format!(" +{more}") } else { String::new() };
        cells.push(Cell::new(format!("{}{tail}", codes.join(", "))));
    }
    cells
}

fn latest(series: &SeriesAssessment) -> String {
    if let Some(value) = series.latest_at_reference() {
        return value.to_string();
    }
    let as_read = series.latest.as_ref().and_then(|latest| latest.r60_mohm);
    match as_read.and_then(|mohm| Resistance::from_megohms(mohm).ok()) {
        Some(r) => format!("{r} as read"),
        None => "none".to_owned(),
    }
}

/// Months are enough for a list; the days are in the paragraphs and in the other formats.
fn reaches(series: &SeriesAssessment, as_of: NaiveDate) -> String {
    let Some(dates) = &series.forecast.reaches_minimum else {
        return if series.forecast.cannot_say.as_ref().is_some_and(|why| why.starts_with("good news")) {
            "not in 30 years".to_owned()
        } else {
            "cannot say".to_owned()
        };
    };
    let month = |day: NaiveDate| day.format("%Y-%m").to_string();
    match dates.latest {
        Some(latest) if latest <= as_of => "reached".to_owned(),
        Some(latest) => format!("{} – {}", month(dates.earliest), month(latest)),
        None => format!("not before {}", month(dates.earliest)),
    }
}

fn paragraphs(out: &mut dyn Write, assessment: &Assessment<'_>, shape: &Shape) -> io::Result<()> {
    let options = textwrap::Options::new(shape.width.clamp(40, 100)).subsequent_indent("  ");
    for series in assessment.series.iter().filter(|series| series.action <= Action::Shorten) {
        let sentences: Vec<&str> = telling(series).map(|finding| finding.message.as_str()).collect();
        let text = format!("{}: {}. {}", series.name(), series.action.meaning(), sentences.join(" "));
        writeln!(out, "\n{}", textwrap::fill(&format!("{} {text}", series.action), &options))?;
    }
    Ok(())
}

/// The findings worth a sentence in the list: the weightiest two.
fn telling(series: &SeriesAssessment) -> impl Iterator<Item = &Finding> {
    series.findings.iter().take(2)
}

fn summary(assessment: &Assessment<'_>) -> String {
    let counts: Vec<String> = assessment
        .counts()
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(action, count)| format!("{count} {action}"))
        .collect();
    let noun = if assessment.series.len() == 1 { "series" } else { "series in all" };
    let tail = if counts.is_empty() { String::new() } else { format!(": {}", counts.join(", ")) };
    format!("As of {}, {} {noun}{tail}.", assessment.as_of, assessment.series.len())
}

/// What is said to whoever acts on a result.
const CAUTIONS: &str = "This does not release a machine. Before any test or work: isolate, lock out, prove dead, \
    disconnect drives and arresters; after a test discharge at least four times the charging time. Local codes and \
    licensed people decide.";
/// Width of remarks, columns.
const REMARK_WIDTH: usize = 80;

/// The cautions, broken into lines.
#[must_use]
pub fn cautions() -> String {
    textwrap::fill(CAUTIONS, REMARK_WIDTH)
}
