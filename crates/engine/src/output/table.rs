//! The ranked list for people: a table that fits the terminal, then one paragraph for every series that needs something.

use super::Assessment;
use super::wrap::wrap;
use super::{of_the_register, test_by};
use crate::cautions::CAUTIONS;
use crate::legible::BOLD;
use crate::summary::{asked, is_out_of_sight, latest_in_list};
use chrono::NaiveDate;
use comfy_table::{Cell, CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};
use groundwall::assess::{Action, Finding, SeriesAssessment};
use std::io::{self, Write};
use textwrap::core::display_width;

/// The columns of a narrow table: of these the first choice that fits. What is due and why goes last, because the paragraphs have the rest.
const NARROW: [&[usize]; 6] = [
    &[0, WINDING, 2, 3, 4, 5, FOUND],
    &[0, WINDING, 2, 3, 5, FOUND],
    &[0, WINDING, 2, 5, FOUND],
    &[0, WINDING, 5, FOUND],
    &[0, WINDING, 2, 5],
    &[0, WINDING, 5],
];
/// The name of the winding. It and the findings give way in a narrow table: what is longer goes on in the next line.
const WINDING: usize = 1;
/// The findings.
const FOUND: usize = 6;
/// The least width of these two columns.
const LEAST_WIDTH: usize = 12;
/// One rule under the header and nothing else.
const STYLE: TableStyle = TableStyle::new().header_separator(RULE);
const RULE: LineStyle = LineStyle { left: None, fill: Some('─'), junction: None, right: None };
/// Findings named in the table, where there is room: the most that fit are.
const CODES_SHOWN: [usize; 2] = [3, 1];
/// What stands before a series below a more urgent one of the same motor.
const BELOW: &str = "– ";
/// Where the plain words of an action stand: beside it or, in narrower tables, below it in one line or in two.
#[derive(Clone, Copy)]
enum Asked {
    Beside,
    Below,
    InTwoLines,
}

impl Asked {
    const ALL: [Self; 3] = [Self::Beside, Self::Below, Self::InTwoLines];

    /// The cell of its latest reading: where there is little room, the day that it is of goes below.
    fn latest(self, series: &SeriesAssessment) -> String {
        match self {
            Self::Beside => latest_in_list(series),
            Self::Below | Self::InTwoLines => latest_in_list(series).replace(" of ", "\nof "),
        }
    }

    /// The cell of a series' action.
    fn cell(self, series: &SeriesAssessment) -> String {
        let action = series.action;
        match (asked(series), self) {
            (None, _) => action.to_string(),
            (Some(words), Self::Beside) => format!("{action} ({words})"),
            (Some(words), Self::Below) => format!("{action}\n{words}"),
            (Some(words), Self::InTwoLines) => {
                let spaces = words.match_indices(' ').map(|(at, _)| words.split_at(at));
                let narrowest = spaces.min_by_key(|(first, second)| first.len().max(second.len() - 1));
                let (first, second) = narrowest.unwrap_or((&words, ""));
                format!("{action}\n{first}\n{}", second.trim_start())
            }
        }
    }
}
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
    match assessment.overdue_in_words() {
        Some(words) => writeln!(out, "{words}"),
        None => Ok(()),
    }
}

/// The table with as many findings as leave every cell on one line, but for what an action asks for, if there is such a table.
fn widest_that_fits(assessment: &Assessment<'_>, width: usize) -> Option<Table> {
    Asked::ALL.into_iter().flat_map(|asked| CODES_SHOWN.map(|shown| rows(assessment, asked, shown))).find_map(|rows| {
        let natural = (0..=FOUND).map(|i| widest(rows.iter().map(|row| row[i].as_str())) + GAP).sum::<usize>() - GAP;
        (natural <= width).then(|| {
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

/// The table for a terminal in which a line is too short for a row: names and findings go on in the next line, no word is broken, and
/// columns that are still too many are left out.
fn narrow(assessment: &Assessment<'_>, width: usize) -> Table {
    let mut rows = rows(assessment, Asked::InTwoLines, CODES_SHOWN[CODES_SHOWN.len() - 1]);
    rows[0][2] = rows[0][2].replacen(" at ", " at\n", 1);
    // A remark on a resistance goes below it.
    for cell in rows.iter_mut().flat_map(|row| &mut row[2..=3]) {
        for remark in [" as read", " assumed"] {
            *cell = cell.replace(remark, &format!("\n{}", remark.trim_start()));
        }
    }
    let natural = |i: usize| widest(rows.iter().map(|row| row[i].as_str()));
    let least = |i: usize| {
        let words = rows.iter().flat_map(|row| row[i].split(' ')).map(display_width).max();
        natural(i).min(words.unwrap_or(0).max(LEAST_WIDTH))
    };
    let gives_way = |i: usize| matches!(i, WINDING | FOUND);
    let taken = |kept: &[usize]| {
        kept.iter().map(|i| 1 + if gives_way(*i) { least(*i) } else { natural(*i) }).sum::<usize>() - 1
    };
    let kept = NARROW.into_iter().find(|kept| taken(kept) <= width).unwrap_or(NARROW[NARROW.len() - 1]);
    // What is left over goes to the names, then to the findings.
    let left_over = width.saturating_sub(taken(kept));
    let winding = least(WINDING) + left_over.min(natural(WINDING) - least(WINDING));
    let found = least(FOUND) + (left_over + least(WINDING)).saturating_sub(winding);
    let cell = |row: &[String; 7], i: usize| match i {
        WINDING => wrap(&row[i], winding, "", ""),
        FOUND => wrap(&row[i], found, "", ""),
        _ => row[i].clone(),
    };
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

/// The header and one row for each series, with so many findings at most.
fn rows(assessment: &Assessment<'_>, asked: Asked, shown: usize) -> Vec<[String; 7]> {
    let header = ["Action", "Winding", "R60 at", "Minimum", "May reach it", "Test by", "Found"].map(str::to_owned);
    let mut rows = vec![header];
    rows[0][2] = format!("R60 at {}", assessment.policy.reference_temp);
    let under = assessment.under(assessment.series.iter());
    rows.extend(assessment.series.iter().zip(under).map(|(series, under)| {
        [
            asked.cell(series),
            if under { format!("{BELOW}{}", series.name()) } else { series.name() },
            asked.latest(series),
            series.minimum.as_ref().map_or_else(|| "–".to_owned(), ToString::to_string),
            reaches(series, assessment.as_of),
            test_by(series, assessment.as_of),
            codes(series, shown),
        ]
    }));
    rows
}

/// The weightiest findings of a series, and how many more there are.
fn codes(series: &SeriesAssessment, shown: usize) -> String {
    let codes: Vec<&str> = series.noticed().take(shown).map(|finding| finding.code.word()).collect();
    let more = series.noticed().count().saturating_sub(shown);
    let tail = if more > 0 { format!(" +{more}") } else { String::new() };
    format!("{}{tail}", codes.join(", "))
}

/// When the minimum may be reached: months are enough for a list.
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
    let in_all = if assessment.motors().is_none() && assessment.series.len() > 1 { " in all" } else { "" };
    let tail = if counts.is_empty() { String::new() } else { format!(": {}", counts.join(", ")) };
    let all = format!("As of {}, {}{in_all}{tail}.", assessment.as_of, assessment.judged());
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
