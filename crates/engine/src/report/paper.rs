//! The pack as one file to print: the list, then a work order of two pages for each series: what to do with the chart, the
//! findings and the sign-off on the first, the tests on the second.

use super::Entry;
use super::lines::{Line, Lines};
use super::pictures::{PRINTED_UNITS, Picture};
use super::series_page::{Content, Row, older};
use crate::cautions::CAUTIONS;
use crate::chart::ChartError;
use crate::chart::font::Face;
use crate::chart::theme;
use crate::compare::{Comparison, words};
use crate::legible::clean;
use crate::output::{Assessment, of_the_register, table, test_by};
use crate::pdf::{Area, Document, PAGE};
use crate::summary::{asked, latest_in_list, reasons};
use groundwall::assess::Action;
use plotters::style::RGBColor;

/// What of a series is printed.
#[derive(Debug)]
pub struct Order {
    /// What stands on its page.
    pub content: Content,
    /// The chart that shows what decided, without what the page says around it.
    pub deciding: Option<Picture>,
    /// The pictures on its page as parts of a page, where they are kept, by their names beside it.
    pub images: Vec<(String, String)>,
}

const MARGIN: f64 = 40.0;
const RIGHT: f64 = PAGE.0 - MARGIN;
const WIDTH: f64 = RIGHT - MARGIN;
/// Where a page ends: below stands its number.
const BOTTOM: f64 = PAGE.1 - 44.0;
const TITLE: Face = Face::strong(17.0);
const HEADING: Face = Face::strong(10.5);
const TEXT: Face = Face::regular(9.0);
const STRONG: Face = Face::strong(9.0);
const SMALL: Face = Face::regular(7.5);
const CELL: Face = Face::regular(8.0);
/// Height of a heading with what is around it.
const HEADING_HEIGHT: f64 = 10.0 + HEADING.size * LEADING;
/// From one line to the next, in sizes of the face.
const LEADING: f64 = 1.28;
/// Height of the box to sign in.
const SIGN: f64 = 92.0;
/// What the box to sign in begins below: what stands above it ends here.
const ABOVE_SIGN: f64 = BOTTOM - SIGN - 8.0;
/// Greatest height of a chart.
const CHART: f64 = 300.0;

/// How close the first page of an order is set.
struct Set {
    text: Face,
    /// Whether the first finding also stands below the action.
    lead: bool,
    /// Facts in a row, and how many of them.
    facts: (usize, usize),
    /// Whether all lines of the circuit are on this page; else on the next.
    lines: bool,
    /// Least height of the chart.
    chart: f64,
}

/// From wide to close: the first is taken that leaves room for the chart and the finding that caused the action.
const SETS: [Set; 4] = [
    Set { text: TEXT, lead: true, facts: (3, usize::MAX), lines: true, chart: 190.0 },
    Set { text: TEXT, lead: false, facts: (4, 4), lines: true, chart: 170.0 },
    Set { text: Face::regular(8.4), lead: false, facts: (4, 4), lines: true, chart: 150.0 },
    Set { text: Face::regular(8.0), lead: false, facts: (4, 4), lines: false, chart: 130.0 },
];

/// The bytes of the pack: the list of all series in the order given, what changed since the report before, and the orders that there are.
///
/// # Errors
///
/// [`ChartError`] when a chart cannot be drawn.
pub fn pack(
    assessment: &Assessment<'_>,
    entries: &[Entry],
    changes: Option<&Comparison>,
) -> Result<Vec<u8>, ChartError> {
    let title = format!("Winding insulation as of {}", assessment.as_of);
    let mut paper = Paper { document: Document::default(), y: MARGIN };
    paper.list(&title, assessment, entries);
    if let Some(changes) = changes {
        paper.changes(changes);
    }
    for order in entries.iter().filter_map(|entry| entry.order.as_ref()) {
        let left_over = paper.first_page(order)?;
        paper.second_page(order, left_over)?;
    }
    Ok(paper.document.finish(&title))
}

/// What of an order had no place on its first page.
struct LeftOver {
    chart: bool,
    lines: bool,
}

/// The height of a chart on the second page.
const SECOND_CHART: f64 = 210.0;

/// Lines of a remark on a test that are printed; the page on a screen has all of it.
const LONGEST_REMARK: usize = 4;

/// So many tests of an order are printed even where they need a third page.
const LEAST_TESTS: usize = 4;

struct Paper {
    document: Document,
    /// Where the next thing begins.
    y: f64,
}

/// One column of a printed table: its heading and its share of the width.
type Column<'t> = (&'t str, f64);

const LIST: [Column<'_>; 7] = [
    ("Action", 0.12),
    ("Winding", 0.285),
    ("Latest", 0.11),
    ("Minimum", 0.085),
    ("May reach it", 0.12),
    ("Test by", 0.1),
    ("Reason", 0.18),
];
const TESTS: [Column<'_>; 6] = [
    ("Tested on", 0.13),
    ("As read", 0.13),
    ("Winding", 0.1),
    ("At reference", 0.14),
    ("Voltage", 0.1),
    ("Remarks", 0.4),
];

impl Paper {
    fn page(&mut self) {
        self.document.begin_page();
        self.y = MARGIN;
        let number = self.document.pages().to_string();
        let at = (RIGHT - SMALL.width(&number), PAGE.1 - 24.0);
        self.document.text(&number, at, SMALL, theme::SOFT);
        let words = "An aid to judgement; it replaces neither the decision of a qualified person nor the checks before energising.";
        self.document.text(words, (MARGIN, PAGE.1 - 24.0), SMALL, theme::SOFT);
    }

    /// A paragraph between two edges; it goes on in as many lines as it needs.
    fn paragraph(&mut self, text: &str, (left, width): (f64, f64), face: Face, color: RGBColor) {
        for line in lines(text, face, width) {
            self.y += height(face);
            self.document.text(&line, (left, self.y), face, color);
        }
    }

    fn heading(&mut self, text: &str) {
        self.y += 8.0;
        self.paragraph(text, (MARGIN, WIDTH), HEADING, theme::INK);
        self.y += 2.0;
    }

    fn list(&mut self, title: &str, assessment: &Assessment<'_>, entries: &[Entry]) {
        self.page();
        self.document.bookmark("All series");
        self.paragraph(title, (MARGIN, WIDTH), TITLE, theme::INK);
        self.y += 4.0;
        let counts = assessment.counts().into_iter().filter(|(_, count)| *count > 0);
        let counts: Vec<String> =
            counts.map(|(action, count)| format!("{count} {action} ({})", action.in_short())).collect();
        let words = format!("{} judged: {}.", assessment.judged(), counts.join(", "));
        self.paragraph(&words, (MARGIN, WIDTH), TEXT, theme::INK);
        if let Some(overdue) = assessment.overdue_in_words() {
            self.paragraph(&overdue, (MARGIN, WIDTH), STRONG, theme::INK);
        }
        self.y += 4.0;
        self.paragraph(CAUTIONS, (MARGIN, WIDTH), SMALL, theme::INK);
        self.y += 6.0;
        self.header(&LIST);
        let under = assessment.under(entries.iter().map(|entry| &entry.series));
        for (entry, under) in entries.iter().zip(under) {
            let series = &entry.series;
            let cells = [
                [Some(series.action.word().to_owned()), asked(series)]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(": "),
                if under {
                    format!("– {}", series.name())
                } else {
                    let place = [&series.area, &series.description].into_iter().flatten().cloned();
                    let said = [series.name()].into_iter().chain(place).chain(of_the_register(series));
                    said.collect::<Vec<_>>().join(", ")
                },
                latest_in_list(series),
                series.minimum.as_ref().map_or_else(|| "–".to_owned(), ToString::to_string),
                table::reaches(series, assessment.as_of),
                test_by(series, assessment.as_of),
                reasons(series, 2),
            ];
            self.row(&LIST, &cells, series.action <= Action::Recheck, None);
        }
    }

    /// What changed since the report before.
    fn changes(&mut self, changes: &Comparison) {
        self.page();
        self.document.bookmark("What changed");
        self.paragraph(&format!("What changed since {}", changes.before), (MARGIN, WIDTH), TITLE, theme::INK);
        self.y += 2.0;
        self.paragraph(&words::summary(changes), (MARGIN, WIDTH), TEXT, theme::INK);
        for (course, heading) in words::HEADINGS {
            let mut of_course = changes.changes.iter().filter(|change| change.course == course).peekable();
            if of_course.peek().is_some() {
                // A heading is not left alone at the foot of a page.
                self.make_room(HEADING_HEIGHT + 3.0 * height(TEXT));
                self.heading(heading);
            }
            for change in of_course {
                let text = format!("{}: {}. {}", change.name(), words::step(change), change.why());
                self.make_room(finding_height(&text));
                self.finding(text.trim_end());
            }
        }
    }

    /// Begins a page where so much does not fit any more.
    fn make_room(&mut self, height: f64) {
        if self.y + height > BOTTOM {
            self.page();
        }
    }

    fn header(&mut self, columns: &[Column<'_>]) {
        self.y += height(STRONG);
        for (heading, left, _) in placed(columns) {
            self.document.text(heading, (left, self.y), STRONG, theme::INK);
        }
        self.y += 3.0;
        self.document.line((MARGIN, self.y), (RIGHT, self.y), 0.9, theme::INK);
    }

    /// A row of a table, on a new page with its header where this one ends.
    fn row(&mut self, columns: &[Column<'_>], cells: &[String], strong: bool, color: Option<RGBColor>) {
        let faces = |at: usize| if strong && at == 0 { Face::strong(CELL.size) } else { CELL };
        let cells: Vec<(Vec<String>, f64, Face)> = placed(columns)
            .zip(cells)
            .enumerate()
            .map(|(at, ((_, left, width), text))| (lines(text, faces(at), width - 6.0), left, faces(at)))
            .collect();
        let needed = rows_height(cells.iter().map(|(lines, ..)| lines.len()));
        if self.y + needed > BOTTOM {
            self.page();
            self.header(columns);
        }
        for (lines, left, face) in cells {
            for (line, text) in lines.iter().enumerate() {
                let y = self.y + (line + 1) as f64 * height(TEXT);
                self.document.text(text, (left, y), face, color.unwrap_or(theme::INK));
            }
        }
        self.y += needed;
        self.document.line((MARGIN, self.y), (RIGHT, self.y), 0.4, theme::HAIR);
    }

    /// What to do, the chart, findings and sign-off; what of it goes on the next page.
    fn first_page(&mut self, order: &Order) -> Result<LeftOver, ChartError> {
        let content = &order.content;
        let findings: Vec<f64> = content.findings.iter().map(|found| finding_height(&found.message)).collect();
        let all: f64 = findings.iter().sum();
        let least = HEADING_HEIGHT + all.min(findings.first().copied().unwrap_or_default() + height(SMALL));
        let below = |set: &Set| ABOVE_SIGN - end_of_head(content, set);
        let fits = |set: &&Set| below(set) >= set.chart + 4.0 + least;
        let set = SETS.iter().find(fits).unwrap_or(&SETS[SETS.len() - 1]);
        self.page();
        self.document.bookmark(&format!("{}: {}", content.action, content.name));
        self.head(content, set);
        let mut left_over = LeftOver { chart: order.deciding.is_some(), lines: !set.lines };
        let most = ABOVE_SIGN - self.y - 4.0 - least;
        if let Some(picture) = order.deciding.as_ref().filter(|_| most >= set.chart) {
            let chart = (ABOVE_SIGN - self.y - 4.0 - HEADING_HEIGHT - all).clamp(set.chart, most.min(CHART));
            self.chart(picture, chart)?;
            left_over.chart = false;
        }
        self.heading("What was found");
        for (at, found) in content.findings.iter().enumerate() {
            let rest: f64 = findings[at..].iter().sum();
            if at > 0 && self.y + rest.min(findings[at] + height(SMALL)) > ABOVE_SIGN {
                self.paragraph("… the other findings are on the next page", (MARGIN, WIDTH), SMALL, theme::SOFT);
                break;
            }
            self.finding(&found.message);
        }
        if content.findings.is_empty() {
            self.paragraph("Nothing that asks for anything.", (MARGIN, WIDTH), TEXT, theme::INK);
        }
        self.sign(&content.decisions);
        Ok(left_over)
    }

    fn chart(&mut self, picture: &Picture, height: f64) -> Result<(), ChartError> {
        let top = self.y + 4.0;
        self.document.chart(picture, Area { left: MARGIN, top, width: WIDTH, height }, PRINTED_UNITS)?;
        self.y = top + height;
        Ok(())
    }

    /// An order from its top to the facts and the lines of the circuit.
    fn head(&mut self, content: &Content, set: &Set) {
        let tag = content.action.to_uppercase();
        let width = STRONG.width(&tag) + 12.0;
        self.document.rectangle(Area { left: MARGIN, top: self.y, width, height: 16.0 }, theme::INK, true);
        self.document.text(&tag, (MARGIN + 6.0, self.y + 11.5), STRONG, theme::PAPER);
        let place = [content.place.clone(), vec![format!("as of {}", content.as_of)]].concat().join(" · ");
        self.document.text(
            &SMALL.fit(&clean(&place), WIDTH - width - 10.0),
            (MARGIN + width + 10.0, self.y + 11.5),
            SMALL,
            theme::SOFT,
        );
        self.y += 18.0;
        self.paragraph(&content.name, (MARGIN, WIDTH), TITLE, theme::INK);
        self.y += 2.0;
        self.paragraph(&sentence(&content.meaning), (MARGIN, WIDTH), HEADING, theme::INK);
        if let Some(lead) = content.lead.as_ref().filter(|_| set.lead) {
            self.y += 2.0;
            self.paragraph(lead, (MARGIN, WIDTH), set.text, theme::INK);
        }
        self.y += 3.0;
        for (number, step) in (1..).zip(&content.steps) {
            let at = (MARGIN + 4.0, self.y + height(set.text));
            self.document.text(&format!("{number}."), at, set.text, theme::INK);
            self.paragraph(step, (MARGIN + 20.0, WIDTH - 20.0), set.text, theme::INK);
        }
        self.y += 4.0;
        self.paragraph(CAUTIONS, (MARGIN, WIDTH), SMALL, theme::INK);
        self.facts(content, set.facts);
        if let Some(lines) = content.lines.as_ref().filter(|_| set.lines) {
            self.lines(lines);
        }
    }

    fn finding(&mut self, message: &str) {
        self.document.text("•", (MARGIN + 4.0, self.y + height(TEXT)), TEXT, theme::INK);
        self.paragraph(message, (MARGIN + 14.0, WIDTH - 14.0), TEXT, theme::INK);
    }

    /// The facts, so many in a row and so many in all.
    fn facts(&mut self, content: &Content, (in_a_row, most): (usize, usize)) {
        self.y += 6.0;
        let column = WIDTH / in_a_row as f64;
        for row in content.facts[..most.min(content.facts.len())].chunks(in_a_row) {
            let top = self.y;
            let mut lowest = top;
            for (at, fact) in row.iter().enumerate() {
                self.y = top;
                let edges = (MARGIN + at as f64 * column, column - 10.0);
                self.paragraph(&fact.name, edges, SMALL, theme::SOFT);
                self.paragraph(&fact.value, edges, HEADING, theme::INK);
                if let Some(more) = &fact.more {
                    self.paragraph(more, edges, SMALL, theme::SOFT);
                }
                lowest = self.y.max(lowest);
            }
            self.y = lowest + 3.0;
        }
    }

    /// All lines of the circuit, this one in strong letters.
    fn lines(&mut self, lines: &Lines) {
        self.heading(&lines.title);
        let at_reference = lines.reference.as_ref().map(|at| format!("At {at}"));
        let corrected = at_reference.as_deref();
        let first: [Column<'_>; 4] = [(lines.what, 0.13), ("Action", 0.09), ("Tested on", 0.11), ("As read", 0.11)];
        let last = [("Minimum", 0.13), ("Test before", 0.15), ("Found", if corrected.is_some() { 0.17 } else { 0.28 })];
        let columns: Vec<Column<'_>> =
            first.into_iter().chain(corrected.map(|heading| (heading, 0.11))).chain(last).collect();
        self.header(&columns);
        for line in &lines.rows {
            let Line { connection, action, on, as_read, corrected, minimum, before, found, is_here } = line;
            let corrected = lines.reference.as_ref().map(|_| corrected);
            let first = [connection, &(*action).to_owned(), on, as_read];
            let cells = first.into_iter().chain(corrected).chain([minimum, before, found]);
            self.row(&columns, &cells.cloned().collect::<Vec<_>>(), *is_here, None);
        }
        self.y += 4.0;
    }

    /// The box to sign in, at the foot of the page.
    fn sign(&mut self, decisions: &[&str]) {
        let top = BOTTOM - SIGN;
        self.document.rectangle(Area { left: MARGIN, top, width: WIDTH, height: SIGN }, theme::SOFT, false);
        self.document.text("Decision of a qualified person", (MARGIN + 8.0, top + 15.0), HEADING, theme::INK);
        for (at, words) in decisions.iter().enumerate() {
            let left = MARGIN + 8.0 + at as f64 * (WIDTH / 4.0);
            self.document.rectangle(Area { left, top: top + 24.0, width: 8.0, height: 8.0 }, theme::INK, false);
            self.document.text(words, (left + 13.0, top + 31.5), TEXT, theme::INK);
        }
        for (at, words) in ["Reason", "Valid until", "Name and qualification", "Date and signature"].iter().enumerate()
        {
            let (left, width) = (MARGIN + 8.0 + at as f64 * (WIDTH / 4.0), WIDTH / 4.0 - 14.0);
            self.document.line((left, top + 72.0), (left + width, top + 72.0), 0.7, theme::INK);
            self.document.text(words, (left, top + 82.0), SMALL, theme::SOFT);
        }
    }

    /// All findings with their sources, and as many tests as the page holds, after what had no place on the first.
    fn second_page(&mut self, order: &Order, left_over: LeftOver) -> Result<(), ChartError> {
        let content = &order.content;
        self.page();
        if let Some(picture) = order.deciding.as_ref().filter(|_| left_over.chart) {
            self.chart(picture, SECOND_CHART)?;
            self.y += 6.0;
        }
        if let Some(lines) = content.lines.as_ref().filter(|_| left_over.lines) {
            self.lines(lines);
        }
        self.paragraph(&format!("{}: tests, latest first", content.name), (MARGIN, WIDTH), HEADING, theme::INK);
        self.y += 2.0;
        let words = format!("At reference: {}, by: {}.", content.reference, content.law);
        self.paragraph(&words, (MARGIN, WIDTH), SMALL, theme::SOFT);
        self.y += 4.0;
        for found in &content.findings {
            self.finding(&format!("{} {}; {}", found.message, found.code, found.source));
        }
        self.y += 4.0;
        self.header(&TESTS);
        let mut printed = 0;
        for Row { on, as_read, celsius, corrected, volts, remark, more, quiet } in &content.tests {
            let known = content.more.iter().zip(more).filter(|(_, cell)| *cell != "–");
            let known = known.map(|(heading, cell)| format!("{heading} {cell}"));
            let remark = known.chain((!remark.is_empty()).then(|| remark.clone())).collect::<Vec<_>>().join("; ");
            let remark = CELL.wrap(&clean(&remark), TESTS[TESTS.len() - 1].1 * WIDTH - 6.0, LONGEST_REMARK).join(" ");
            let cells = [on.clone(), as_read.clone(), celsius.clone(), corrected.clone(), volts.clone(), remark];
            if printed >= LEAST_TESTS && self.y + row_height(&TESTS, &cells) + height(SMALL) > BOTTOM {
                break;
            }
            self.row(&TESTS, &cells, false, quiet.then_some(theme::SOFT));
            printed += 1;
        }
        if let Some(older) = older(content.tests.len() - printed) {
            self.paragraph(&older, (MARGIN, WIDTH), SMALL, theme::SOFT);
        }
        Ok(())
    }
}

/// The columns with their left edges and widths.
fn placed<'t>(columns: &'t [Column<'_>]) -> impl Iterator<Item = (&'t str, f64, f64)> {
    columns.iter().scan(MARGIN, |left, (heading, share)| {
        let here = *left;
        *left += share * WIDTH;
        Some((*heading, here, share * WIDTH))
    })
}

/// The height of a row of a table from the lines in its cells.
fn rows_height(lines: impl Iterator<Item = usize>) -> f64 {
    lines.max().unwrap_or(1) as f64 * height(TEXT) + 5.0
}

fn row_height(columns: &[Column<'_>], cells: &[String]) -> f64 {
    let faced = placed(columns).zip(cells).map(|((.., width), text)| lines(text, CELL, width - 6.0).len());
    rows_height(faced)
}

/// Where the head of an order ends on its page; below every page where it does not fit on one.
fn end_of_head(content: &Content, set: &Set) -> f64 {
    let mut trial = Paper { document: Document::default(), y: MARGIN };
    trial.page();
    trial.head(content, set);
    if trial.document.pages() > 1 { f64::INFINITY } else { trial.y }
}

fn lines(text: &str, face: Face, width: f64) -> Vec<String> {
    face.wrap(&clean(text), width, usize::MAX)
}

fn height(face: Face) -> f64 {
    face.size * LEADING
}

fn finding_height(message: &str) -> f64 {
    lines(message, TEXT, WIDTH - 14.0).len() as f64 * height(TEXT)
}

/// Words as a sentence: a capital at the beginning and a full stop.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}
