//! The round for people at a terminal: one line per test under its site and area, then what is special about the tests.

use super::super::table::Shape;
use super::super::wrap::wrap;
use super::{Planned, due, place, summary};
use crate::legible::clean;
use groundwall::assess::Action;
use groundwall::round::{Expectation, Line};
use std::io::{self, Write};
use textwrap::core::display_width;

/// Columns between two cells where there is room, and where there is not.
const GAPS: (usize, usize) = (2, 1);
/// Columns that give way where the terminal is narrow, in this order, and the least width of each: when it is due, winding, expected
/// reading, voltage with its time. Longer cells go on in the next line.
const NARROW: [(usize, usize); 4] = [(0, 10), (1, 16), (5, 10), (2, 8)];
/// Running text is at most so wide.
const TEXT_WIDTH: usize = 100;

const HEADER: [&str; 7] = ["Due by", "Winding", "Apply", "Discharge", "At", "Expected", "Stop below"];
/// What the marks behind a stop value mean.
const HELD: &str = "! on hold: not to be energised. A reading below the stop value confirms that.";
const ASSUMED: &str = "? assumed: rated voltage or construction is not known, so the strict side is taken. \
    Read the nameplate before the test.";

/// Writes the table and the summary.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, planned: &Planned<'_>, shape: &Shape) -> io::Result<()> {
    let round = planned.round;
    let width = shape.width.clamp(40, TEXT_WIDTH);
    if round.lines.is_empty() {
        return writeln!(out, "{}", wrap(&summary(round), width, "", ""));
    }
    let rows: Vec<[String; 7]> = round.lines.iter().map(row).collect();
    let layout = Layout::of(&rows, shape.width);
    print(out, &HEADER.map(str::to_owned), &layout)?;
    writeln!(out, "{}", "─".repeat(layout.all()))?;
    let mut before = String::new();
    for (line, row) in round.lines.iter().zip(&rows) {
        let place = place(line);
        if place != before {
            let heading = if place.is_empty() { "(no site in the register)" } else { &place };
            writeln!(out, "{}", wrap(heading, shape.width.max(40), "", "  "))?;
            before = place;
        }
        print(out, row, &layout)?;
    }
    let held = |line: &Line| line.action() == Some(Action::Hold);
    let marks = [(HELD, round.lines.iter().any(held)), (ASSUMED, round.lines.iter().any(|line| line.minimum.assumed))];
    for (text, _) in marks.iter().filter(|(_, wanted)| *wanted) {
        writeln!(out, "\n{}", wrap(text, width, "", "  "))?;
    }
    for line in round.lines.iter().filter(|line| is_special(line)) {
        writeln!(out, "\n{}", wrap(&paragraph(line), width, "", "  "))?;
    }
    writeln!(out, "\n{}", wrap(&summary(round), width, "", ""))
}

fn row(line: &Line) -> [String; 7] {
    let volts = line.voltage.apply.map_or_else(|| "? V".to_owned(), |volts| volts.to_string());
    let expected = match &line.expected {
        Expectation::Reading(_) => line.expected.in_words(),
        Expectation::CannotSay(_) => "cannot say".to_owned(),
    };
    [
        due(line),
        clean(&line.name()),
        format!("{volts}, {} min", line.duration.minutes),
        format!("{} min", line.duration.discharge_minutes()),
        line.likely.at.to_string(),
        expected,
        stop(line),
    ]
}

/// The stop value, with what must not be missed about it.
fn stop(line: &Line) -> String {
    let assumed = if line.minimum.assumed { " ?" } else { "" };
    let held = if line.action() == Some(Action::Hold) { " !" } else { "" };
    format!("{}{assumed}{held}", line.stop[1].below)
}

/// Widths of the columns and what is between them.
struct Layout {
    widths: [usize; 7],
    gap: usize,
}

impl Layout {
    /// Every column as wide as its widest cell; where that is too much, some are narrower.
    fn of(rows: &[[String; 7]], width: usize) -> Self {
        let mut widths = HEADER.map(display_width);
        for row in rows {
            for (widest, cell) in widths.iter_mut().zip(row) {
                *widest = display_width(cell).max(*widest);
            }
        }
        let mut layout = Self { widths, gap: GAPS.0 };
        if layout.all() > width {
            layout.gap = GAPS.1;
            for (column, least) in NARROW {
                let over = layout.all().saturating_sub(width);
                let widest = layout.widths[column];
                layout.widths[column] = widest.saturating_sub(over).max(widest.min(least));
            }
        }
        layout
    }

    fn all(&self) -> usize {
        self.widths.iter().sum::<usize>() + self.gap * (self.widths.len() - 1)
    }
}

fn print(out: &mut dyn Write, row: &[String; 7], Layout { widths, gap }: &Layout) -> io::Result<()> {
    // "to" stays with what follows: at the end of a line it would seem to lead to the stop value in the next column.
    let wrapped = |cell: &str, width| wrap(&cell.replace(" to ", " to\u{a0}"), width, "", "").replace('\u{a0}', " ");
    let cells: Vec<String> = row.iter().zip(widths).map(|(cell, width)| wrapped(cell, *width)).collect();
    let mut lines: Vec<_> = cells.iter().map(|cell| cell.lines()).collect();
    loop {
        let parts: Vec<Option<&str>> = lines.iter_mut().map(Iterator::next).collect();
        if parts.iter().all(Option::is_none) {
            return Ok(());
        }
        let mut text = String::new();
        for (part, width) in parts.into_iter().map(Option::unwrap_or_default).zip(widths) {
            text.push_str(part);
            text.push_str(&" ".repeat(gap + width.saturating_sub(display_width(part))));
        }
        writeln!(out, "{}", text.trim_end())?;
    }
}

/// Whether a test is more than one of the usual kind: a series that needs something, a winding never tested, no voltage known.
fn is_special(line: &Line) -> bool {
    line.voltage.apply.is_none() || line.action().is_none_or(|action| action <= Action::Shorten)
}

/// What the table has no room for.
fn paragraph(line: &Line) -> String {
    let mut sentences = vec![format!("{}: due {}.", clean(&line.name()), line.due.why)];
    sentences.push(match line.voltage.apply {
        Some(volts) => format!("Apply {volts}, {}.", line.voltage.why),
        None => format!("Apply: {}.", line.voltage.why),
    });
    if let Expectation::CannotSay(why) = &line.expected {
        sentences.push(format!("What to expect cannot be said: {why}."));
    }
    sentences.extend(line.checks.iter().chain(&line.questions).cloned());
    sentences.join(" ")
}
