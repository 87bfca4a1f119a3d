//! The pack as one file to print: the list, then a work order of two pages for each series: what to do with the chart, the
//! findings and the sign-off on the first, the tests on the second.

use super::Entry;
use super::lines::{Line, Lines};
use super::pictures::{PRINTED_UNITS, Picture};
use super::series_page::{Content, Row};
use crate::cautions::CAUTIONS;
use crate::chart::ChartError;
use crate::chart::font::{Face, clean};
use crate::chart::theme;
use crate::output::{Assessment, of_the_register, overdue_in_words, table, test_by};
use crate::pdf::{Area, Document, PAGE};
use crate::summary::latest_in_words;
use groundwall::assess::Action;
use plotters::style::RGBColor;

/// What of a series is printed.
#[derive(Debug)]
pub struct Order {
    /// What stands on its page.
    pub content: Content,
    /// The chart that shows what decided, without what the page says around it.
    pub deciding: Option<Picture>,
    /// The bytes of the pictures on its page, where they are kept, by their names beside it.
    pub images: Vec<(String, Vec<u8>)>,
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
/// Height of the box to sign in.
const SIGN: f64 = 92.0;
/// Least and greatest height of a chart.
const CHART: (f64, f64) = (170.0, 300.0);

/// The bytes of the pack: the list of all series in the order given, and the orders that there are.
///
/// # Errors
///
/// [`ChartError`] when a chart cannot be drawn.
pub fn pack(assessment: &Assessment<'_>, entries: &[Entry]) -> Result<Vec<u8>, ChartError> {
    let title = format!("Winding insulation as of {}", assessment.as_of);
    let mut paper = Paper { document: Document::default(), y: MARGIN };
    paper.list(&title, assessment, entries);
    for order in entries.iter().filter_map(|entry| entry.order.as_ref()) {
        paper.first_page(order)?;
        paper.second_page(order);
    }
    Ok(paper.document.finish(&title))
}

struct Paper {
    document: Document,
    /// Where the next thing begins.
    y: f64,
}

/// One column of a printed table: its heading and its share of the width.
type Column<'t> = (&'t str, f64);

const LIST: [Column<'_>; 7] = [
    ("Action", 0.08),
    ("Winding", 0.29),
    ("Latest", 0.105),
    ("Minimum", 0.085),
    ("May reach it", 0.15),
    ("Test by", 0.09),
    ("Reason", 0.2),
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
        let motors = assessment.motors().map_or_else(String::new, |motors| format!(" of {motors} motors"));
        let words = format!("{} series{motors} judged: {}.", entries.len(), counts.join(", "));
        self.paragraph(&words, (MARGIN, WIDTH), TEXT, theme::INK);
        if let Some(overdue) = overdue_in_words(assessment.overdue(), entries.len()) {
            self.paragraph(&overdue, (MARGIN, WIDTH), STRONG, theme::INK);
        }
        self.y += 4.0;
        self.paragraph(CAUTIONS, (MARGIN, WIDTH), SMALL, theme::INK);
        self.y += 6.0;
        self.header(&LIST);
        let under = assessment.under(entries.iter().map(|entry| &entry.series));
        for (entry, under) in entries.iter().zip(under) {
            let series = &entry.series;
            let reason: Vec<&str> = series.noticed().take(2).map(|finding| finding.code.word()).collect();
            let cells = [
                series.action.word().to_owned(),
                if under {
                    format!("– {}", series.name())
                } else {
                    let place = [&series.area, &series.description].into_iter().flatten().cloned();
                    let said = [series.name()].into_iter().chain(place).chain(of_the_register(series));
                    said.collect::<Vec<_>>().join(", ")
                },
                latest_in_words(series),
                series.minimum.as_ref().map_or_else(|| "–".to_owned(), ToString::to_string),
                table::reaches(series, assessment.as_of),
                test_by(series, assessment.as_of),
                reason.join(", "),
            ];
            self.row(&LIST, &cells, series.action <= Action::Recheck, None);
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
        let faces = |at: usize| if strong && at == 0 { Face::strong(8.0) } else { Face::regular(8.0) };
        let cells: Vec<(Vec<String>, f64, Face)> = placed(columns)
            .zip(cells)
            .enumerate()
            .map(|(at, ((_, left, width), text))| (lines(text, faces(at), width - 6.0), left, faces(at)))
            .collect();
        let rows = cells.iter().map(|(lines, ..)| lines.len()).max().unwrap_or(1);
        let needed = rows as f64 * height(TEXT) + 5.0;
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

    fn first_page(&mut self, order: &Order) -> Result<(), ChartError> {
        let content = &order.content;
        self.page();
        self.document.bookmark(&format!("{}: {}", content.action, content.name));
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
        self.paragraph(&sentence(content.meaning), (MARGIN, WIDTH), HEADING, theme::INK);
        if let Some(lead) = &content.lead {
            self.y += 2.0;
            self.paragraph(lead, (MARGIN, WIDTH), TEXT, theme::INK);
        }
        self.y += 3.0;
        for (number, step) in (1..).zip(&content.steps) {
            self.document.text(&format!("{number}."), (MARGIN + 4.0, self.y + height(TEXT)), TEXT, theme::INK);
            self.paragraph(step, (MARGIN + 20.0, WIDTH - 20.0), TEXT, theme::INK);
        }
        self.y += 4.0;
        self.paragraph(CAUTIONS, (MARGIN, WIDTH), SMALL, theme::INK);
        self.facts(content);
        if let Some(lines) = &content.lines {
            self.lines(lines);
        }
        let findings: f64 = content.findings.iter().map(|found| finding_height(&found.message)).sum();
        let left = BOTTOM - SIGN - 34.0 - self.y;
        let chart = (left - findings).clamp(CHART.0, CHART.1).min(left);
        if let Some(picture) = order.deciding.as_ref().filter(|_| chart >= CHART.0) {
            let top = self.y + 4.0;
            let area = Area { left: MARGIN, top, width: WIDTH, height: chart };
            self.document.chart(picture, area, PRINTED_UNITS)?;
            self.y = top + chart;
        }
        self.heading("What was found");
        for found in &content.findings {
            if self.y + finding_height(&found.message) > BOTTOM - SIGN - 6.0 {
                self.paragraph("… the other findings are on the next page", (MARGIN, WIDTH), SMALL, theme::SOFT);
                break;
            }
            self.finding(&found.message);
        }
        self.sign(&content.decisions);
        Ok(())
    }

    fn finding(&mut self, message: &str) {
        self.document.text("•", (MARGIN + 4.0, self.y + height(TEXT)), TEXT, theme::INK);
        self.paragraph(message, (MARGIN + 14.0, WIDTH - 14.0), TEXT, theme::INK);
    }

    fn facts(&mut self, content: &Content) {
        self.y += 6.0;
        let column = WIDTH / 3.0;
        for three in content.facts.chunks(3) {
            let top = self.y;
            let mut lowest = top;
            for (at, fact) in three.iter().enumerate() {
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

    fn second_page(&mut self, order: &Order) {
        let content = &order.content;
        self.page();
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
        for Row { on, as_read, celsius, corrected, volts, remark, more, quiet } in
            content.tests.iter().take(content.printed)
        {
            let known = content.more.iter().zip(more).filter(|(_, cell)| *cell != "–");
            let known = known.map(|(heading, cell)| format!("{heading} {cell}"));
            let remark = known.chain((!remark.is_empty()).then(|| remark.clone())).collect::<Vec<_>>().join("; ");
            let cells = [on.clone(), as_read.clone(), celsius.clone(), corrected.clone(), volts.clone(), remark];
            self.row(&TESTS, &cells, false, quiet.then_some(theme::SOFT));
        }
        if let Some(older) = &content.older {
            self.paragraph(older, (MARGIN, WIDTH), SMALL, theme::SOFT);
        }
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

fn lines(text: &str, face: Face, width: f64) -> Vec<String> {
    face.wrap(&clean(text), width, usize::MAX)
}

fn height(face: Face) -> f64 {
    face.size * 1.28
}

fn finding_height(message: &str) -> f64 {
    lines(message, TEXT, WIDTH - 14.0).len() as f64 * height(TEXT)
}

/// Words as a sentence: a capital at the beginning and a full stop.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}
