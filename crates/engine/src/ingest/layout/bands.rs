//! Headings inside a sheet, such as those of two stations: one name below two of them may be that of two machines.

use super::SheetName;
use super::grid::GridRow;
use super::label;
use super::label_reader::LabelReader;
use super::open::ROWS_ASKED;
use crate::error::{Failure, shown};
use crate::ingest::date_forms::DateForms;
use crate::ingest::dates;
use crate::ingest::header_words::{is_verdict, names_circumstances, says_circumstances};
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Longer texts are notes.
const LONGEST_HEADING: usize = 40;

/// What a text alone in its row says of the tests below it.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Heading {
    text: String,
    /// Whether it names a round or its day besides.
    is_of_a_round: bool,
}

/// The headings that rows lie below, by the line of the row.
pub(super) struct Headings(Vec<(u64, Option<Rc<Heading>>)>);

impl Headings {
    /// The headings of the first rows of a sheet. Several texts one below the other go from the whole to its part; fewer of them later
    /// take the place of the last ones.
    pub(super) fn of(rows: &[GridRow], reader: &LabelReader<'_>) -> Self {
        let (mut path, mut next): (Vec<Heading>, Vec<Heading>) = (Vec::new(), Vec::new());
        let (mut found, mut current) = (Vec::new(), None);
        for row in rows.iter().take(ROWS_ASKED) {
            match row.only() {
                Some((_, text)) => next.extend(place_in(text, reader)),
                None => {
                    if !next.is_empty() {
                        path.truncate(path.len().saturating_sub(next.len()));
                        path.append(&mut next);
                        let texts: Vec<&str> = path.iter().map(|heading| heading.text.as_str()).collect();
                        let is_of_a_round = path.iter().any(|heading| heading.is_of_a_round);
                        current = Some(Rc::new(Heading { text: texts.join(", "), is_of_a_round }));
                    }
                    found.push((row.line, current.clone()));
                }
            }
        }
        Self(found)
    }

    /// Those of a row; none where nothing heads it.
    pub(super) fn of_line(&self, line: u64) -> Option<&Rc<Heading>> {
        let after = self.0.partition_point(|(own, _)| *own <= line);
        self.0[..after].last().and_then(|(_, heading)| heading.as_ref())
    }
}

/// The place that a text alone in its row names, without the round and its day: `North` of `North - round of 2025-01-13`.
pub(super) fn place_in(text: &str, reader: &LabelReader<'_>) -> Option<Heading> {
    if let Some((name, _)) = text.split_once(':')
        && (reader.read(name).is_known() || says_circumstances(name) || names_circumstances(name))
    {
        return None;
    }
    // `all ok`, `dry weather` are remarks.
    let is_remark = |word: &str| is_verdict(word) || matches!(word, "weather" | "wetter" | "météo" | "meteo");
    if text.split_whitespace().any(|word| is_remark(&word.to_lowercase())) {
        return None;
    }
    let is_day = |text: &str| label::is_date(text) || dates::is_part_of_year(text);
    let mut words: Vec<&str> = text.split_whitespace().collect();
    let all = words.len();
    for length in (1..=3).rev() {
        while let Some(at) = words.windows(length).position(|some| is_day(&some.join(" "))) {
            words.drain(at..at + length);
        }
    }
    let is_other = |word: &&str| !label::names_tests(word) && word.chars().any(char::is_alphanumeric);
    let is_place = words.iter().any(is_other) && words.iter().any(|word| word.contains(char::is_alphabetic));
    let is_of_a_round = words.len() < all || label::names_rounds(text);
    (is_place && text.chars().count() <= LONGEST_HEADING).then(|| Heading { text: words.join(" "), is_of_a_round })
}

/// The days of the tests below each heading, by motor and connection.
#[derive(Default)]
pub(super) struct Bands(BTreeMap<String, Vec<Band>>);

/// The tests of one motor below a heading.
struct Band {
    motor: String,
    heading: Rc<Heading>,
    first: NaiveDate,
    last: NaiveDate,
    /// Whether a later test comes below an earlier one.
    rises: bool,
}

impl Band {
    /// Whether the tests of another band, which comes below, are no round after those of this one, nor before them in a list with the newest
    /// on top. What is below two places is of two rounds only where one of them names a round.
    fn may_be_of_another(&self, below: &Self) -> bool {
        if !self.heading.is_of_a_round && !below.heading.is_of_a_round {
            return true;
        }
        let overlap = self.first <= below.last && below.first <= self.last;
        overlap || (below.last < self.first && (self.rises || below.rises))
    }
}

impl Bands {
    /// Takes in a test.
    pub(super) fn add(&mut self, motor: &str, connection: &str, heading: &Rc<Heading>, day: NaiveDate) {
        let found = self.0.entry(format!("{}\u{1f}{connection}", motor.trim().to_lowercase())).or_default();
        match found.iter_mut().find(|own| own.heading == *heading) {
            Some(own) => {
                own.rises |= day > own.last;
                (own.first, own.last) = (own.first.min(day), own.last.max(day));
            }
            None => {
                let (motor, heading) = (motor.trim().to_owned(), Rc::clone(heading));
                found.push(Band { motor, heading, first: day, last: day, rises: false });
            }
        }
    }

    /// The question about one name below two headings that are not those of two rounds.
    pub(super) fn question(&self, name: SheetName<'_>) -> Option<Failure> {
        let (one, other) = self.0.values().find_map(|bands| {
            let mut pairs =
                bands.iter().enumerate().flat_map(|(i, one)| bands[i + 1..].iter().map(move |other| (one, other)));
            pairs.find(|(one, other)| one.may_be_of_another(other))
        })?;
        let message = format!(
            "{}: {} has tests below {} and below {}: one machine or several?",
            name.place,
            shown(&one.motor),
            shown(&one.heading.text),
            shown(&other.heading.text)
        );
        Some(Failure::usage(message).hint(
            "if they are several, write those lines into a column of their own, such as Station, and make one name of both columns under \
             [columns] in groundwall.toml or the policy file: \"Station\" = \"winding\" and that of the motors likewise; if it is one, take \
             the lines out",
        ))
    }
}

/// The question about one name below two headings inside a table.
pub(super) fn of_two_bands(
    rows: &[GridRow],
    (winding, date): (usize, Option<usize>),
    (forms, reader): (&DateForms, &LabelReader<'_>),
    name: SheetName<'_>,
) -> Option<Failure> {
    let mut forms = forms.clone();
    forms.prove(rows.iter().filter_map(|row| date.map(|at| row.cells[at].as_str())));
    let day = |row: &GridRow| -> Option<NaiveDate> { forms.read(&row.cells[date?])?.iso.get(..10)?.parse().ok() };
    let (headings, mut bands) = (Headings::of(rows, reader), Bands::default());
    for row in rows.iter().take(ROWS_ASKED).filter(|row| row.only().is_none()) {
        let day = day(row).filter(|day| forms.is_until(*day));
        if let (Some(heading), Some(day)) = (headings.of_line(row.line), day) {
            bands.add(&row.cells[winding], "", heading, day);
        }
    }
    bands.question(name)
}
