//! What a header, or the name of a measuring point, says: what is measured, when, between what, in which unit, before or
//! after which work.

pub mod conductors;
mod field;
mod words;

use crate::ingest::aliases::{self, Meaning};
use crate::ingest::dates::{self, Period};
use crate::ingest::day_ranges::last_day;
use crate::ingest::kinds::is_reading;
use crate::ingest::mapping::Mapping;
use crate::ingest::unit::Unit;
use crate::ingest::unit_column;
use conductors::{CUSTOMS, Custom, is_connection, is_earth, is_phase, is_word_of_phases, names_phases, of_any_phases};
pub use field::Field;
use groundwall::record::Event;
use groundwall::record::Item;
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::resistance::ResistanceUnit;
use std::borrow::Borrow;
use std::collections::BTreeSet;
use words::{
    AFTER, BEFORE, COLD_AND_HOT, FIELDS, IGNORED, IN_AND_OUT, KINDS_OF_TESTS, LATEST, OF_OCCASIONS, OF_ORDER,
    OF_PAPERS, OTHERS, SEASONS, WORK,
};

/// Before or after some work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// After it.
    pub after: bool,
    /// The work, where it is named.
    pub event: Option<Event>,
}

/// A label taken apart.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Label {
    /// What it names.
    pub field: Option<Field>,
    /// The unit of a resistance that it names.
    pub ohms: Option<ResistanceUnit>,
    /// The scale of a temperature that it names.
    pub scale: Option<TemperatureScale>,
    /// A date, month, quarter or year, as written.
    pub date: Option<String>,
    /// A month or a quarter without its year.
    pub part: Option<String>,
    /// What the voltage was applied between.
    pub connection: Option<String>,
    /// Before or after some work.
    pub stage: Option<Stage>,
    /// The letter of a phase, where the label would also make sense without it, and what it says then.
    pub phase: Option<(String, Box<Label>)>,
    /// Which of several tests of a row it belongs to: `last`, `previous`.
    pub occasion: Option<String>,
    /// The voltage by which it names a resistance: of two such columns each is a test of its own.
    pub voltage: Option<String>,
    /// Whether nothing of it is understood.
    pub unknown: bool,
    /// Whether the site says that it is not read.
    pub left_out: bool,
}

/// Words that count tests: `1st`, `second`, `3.`.
fn is_ordinal(word: &str) -> bool {
    const WORDS: [&str; 25] = [
        "first",
        "second",
        "third",
        "fourth",
        "erste",
        "zweite",
        "dritte",
        "vierte",
        "premier",
        "première",
        "deuxième",
        "troisième",
        "primera",
        "segunda",
        "tercera",
        "seconda",
        "terza",
        "primeira",
        "terceira",
        "eerste",
        "tweede",
        "derde",
        "vierde",
        "1er",
        "1ère",
    ];
    let lower = word.to_lowercase();
    let ended = ["st", "nd", "rd", "th", ".", "ª", "º", "e"].into_iter().find_map(|end| lower.strip_suffix(end));
    let is_number = |text: &str| !text.is_empty() && text.len() < 3 && text.bytes().all(|byte| byte.is_ascii_digit());
    WORDS.contains(&lower.as_str()) || ended.is_some_and(is_number)
}

/// The number by which a header tells one of several tests, and the rest of it: `IR 2 (MΩ)`.
#[must_use]
pub fn number_of_test(text: &str) -> Option<(&str, String)> {
    let words = || text.split([' ', '_']).filter(|word| !word.is_empty());
    let is_number = |word: &&str| word.len() < 3 && word.bytes().all(|byte| byte.is_ascii_digit());
    let mut numbers = words().filter(is_number);
    let (number, None) = (numbers.next()?, numbers.next()) else { return None };
    let rest: Vec<&str> = words().filter(|word| *word != number).collect();
    (!rest.is_empty()).then(|| (number, rest.join(" ")))
}

/// More words have no header that tells one of several tests.
const MOST_WORDS: usize = 8;

/// Whether a text names a ratio that follows from readings.
#[must_use]
pub fn names_ratio(text: &str) -> bool {
    let lower = text.to_lowercase();
    IGNORED[..9].contains(&lower.trim()) || aliases::names_index(text)
}

/// Whether a text above several columns names a round of tests: `Spring round`, `Winter`, `Shutdown`.
#[must_use]
pub fn names_tests(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.any(|word| SEASONS.contains(&word) || OF_OCCASIONS.contains(&word))
}

/// Whether a heading names the round, the order in time or the paper of the tests below it, and no place: `Newest`, `Report 4711`, `Page 2`.
#[must_use]
pub fn names_rounds(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    names_tests(text)
        || words.any(|word| {
            [&LATEST[..], &OTHERS, &KINDS_OF_TESTS, &OF_ORDER, &OF_PAPERS, &BEFORE, &AFTER]
                .iter()
                .any(|words| words.contains(&word))
        })
}

/// Whether a name of a sheet is a date, or words for a round with its number or its day: `Visit 24`, `Round Mar 24`.
#[must_use]
pub fn names_a_round_alone(text: &str) -> bool {
    let is_number = |word: &&str| word.bytes().all(|byte| byte.is_ascii_digit());
    let words: Vec<&str> = text.split([' ', '_', '-', '.']).filter(|word| !word.is_empty()).collect();
    let others =
        words.iter().filter(|word| !names_tests(word) && !is_number(word) && !dates::names_month(&word.to_lowercase()));
    is_date(text) || (names_tests(text) && others.count() == 0)
}

/// Whether a header says that it is of a cold winding.
#[must_use]
pub fn says_cold(header: &str) -> bool {
    let lower = header.to_lowercase();
    let is_cold = |word: &str| COLD_AND_HOT.iter().any(|(said, is_hot)| *said == word && !is_hot);
    lower.split(|c: char| !c.is_alphanumeric()).any(is_cold)
}

/// Whether a text is a date, a month, a quarter or a year.
#[must_use]
pub fn is_date(text: &str) -> bool {
    dates::is_date(text) || Period::read(text).is_some()
}

/// Whether words of a longer text are a date: `Round 3 2026` names no month.
#[must_use]
pub fn is_date_in_a_text(phrase: &str) -> bool {
    let has_digit = phrase.contains(|c: char| c.is_ascii_digit());
    let are_numbers =
        |(one, other): (&str, &str)| [one, other].iter().all(|word| word.bytes().all(|byte| byte.is_ascii_digit()));
    has_digit && is_date(phrase) && !phrase.split_once(' ').is_some_and(are_numbers)
}

impl Label {
    /// Takes a label apart.
    #[must_use]
    pub fn read(text: &str, mapping: &Mapping) -> Self {
        let text = text.trim();
        if text.is_empty() {
            return Self::default();
        }
        let of_field = |field: Field| Self { field: Some(field), ..Self::default() };
        match mapping.get(text) {
            // Which test a reading belongs to, the header still says.
            Some(Some(column @ (Column::Reading(..) | Column::Resistance(_)))) => {
                let mut words = words_of(text);
                let mut label = of_field(Field::Column(column));
                label.take_stage(&mut words);
                label.take_date(&mut words);
                label.take_connection(&mut words);
                return label;
            }
            Some(Some(column)) => return of_field(Field::Column(column)),
            Some(None) => return Self { left_out: true, ..of_field(Field::Ignored) },
            None => {}
        }
        if let Some(column) = Column::read(text) {
            // Points of one order are one test, so it is no cell of theirs.
            let is_order = column == Column::Procedure(Item::WorkOrder);
            return of_field(if is_order { Field::WorkOrder } else { Field::Column(column) });
        }
        if is_date(text) {
            return Self { date: Some(text.to_owned()), ..Self::default() };
        }
        let text = &*last_day(text);
        if is_date(text) {
            return Self { date: Some(text.to_owned()), ..Self::default() };
        }
        if dates::is_part_of_year(text) {
            return Self { part: Some(text.to_owned()), ..Self::default() };
        }
        // The unit of another quantity is no phase: `U [V]`, `t [s]`.
        let quantity = aliases::unit_in_brackets(text);
        let mut words = words_of(quantity.as_ref().map_or(text, |(name, _)| *name));
        // `w/e 30 Oct 2026` is no phase to earth.
        if words.len() > 1 && matches!(words[0].to_lowercase().as_str(), "w/e" | "w/c") {
            words.remove(0);
        }
        if let Some(label) = Self::of_an_occasion(&words, mapping)
            .or_else(|| Self::of_in_or_out(&words, mapping))
            .or_else(|| Self::of_numbered_date(text, mapping))
        {
            return label;
        }
        if aliases::names_a_conductor(text) {
            let is_said =
                aliases::names_unknown_ohms(text) || aliases::units(text).is_some_and(|units| units.ohms.is_some());
            return if is_said { of_field(Field::Ignored) } else { Self { unknown: true, ..Self::default() } };
        }
        let mut label = Self::default();
        label.take_stage(&mut words);
        label.take_date(&mut words);
        label.take_connection(&mut words);
        if label.is_dated() || label.connection.is_some() {
            without_circumstances(&mut words);
        }
        if let Some((_, unit)) = quantity {
            label.take_field(&format!("{} [{unit}]", words.join(" ")));
            let is_open = label.unknown || label.column().is_none_or(is_reading);
            if is_open {
                (label.field, label.ohms, label.unknown) = (Some(Field::Ignored), None, false);
            }
            return label;
        }
        label.take_field(&words.join(" "));
        // A number is a phase only beside that word.
        let is_numbered = words.iter().any(|word| is_word_of_phases(word));
        let is_letter = |word: &String| is_phase(word) || (is_numbered && matches!(word.as_str(), "1" | "2" | "3"));
        if let Some(at) = words.iter().position(is_letter).filter(|_| label.connection.is_none()) {
            let letter = words.remove(at);
            words.retain(|word| !is_word_of_phases(word));
            let mut rest = Self { date: label.date.clone(), stage: label.stage, ..Self::default() };
            if !words.is_empty() {
                rest.take_field(&words.join(" "));
            }
            if !rest.unknown {
                label.phase = Some((letter, Box::new(rest)));
            }
        }
        label
    }

    /// `Last IR (MΩ)`, `Previous test date`, or `Previous test` above several columns.
    fn of_an_occasion(words: &[String], mapping: &Mapping) -> Option<Self> {
        // The rest is read as a label of its own, so a text has few words or is none.
        if words.len() > MOST_WORDS {
            return None;
        }
        let is_occasion = |word: &String| {
            let word = word.to_lowercase();
            [&LATEST[..], &OTHERS, &KINDS_OF_TESTS].iter().any(|words| words.contains(&word.as_str()))
        };
        // `Test 2 date` is one of several too.
        let is_number = |word: &String| word.len() < 3 && word.bytes().all(|byte| byte.is_ascii_digit());
        let is_of_occasions = |word: &String| OF_OCCASIONS.contains(&word.to_lowercase().as_str());
        let is_numbered = |two: &[String]| {
            (is_of_occasions(&two[0]) && is_number(&two[1])) || (is_ordinal(&two[0]) && is_of_occasions(&two[1]))
        };
        let one = words.iter().position(is_occasion).map(|at| at..at + 1);
        let own = one.or_else(|| words.windows(2).position(is_numbered).map(|at| at..at + 2))?;
        let occasion = Some(words[own.clone()].join(" ").to_lowercase());
        let rest: Vec<&str> =
            words.iter().enumerate().filter(|(at, _)| !own.contains(at)).map(|(_, word)| word.as_str()).collect();
        let label = Self::read(&rest.join(" "), mapping);
        // `Round 1 (14 Jan 2026)` is that date.
        if label.date.is_some() && label.field.is_none() && !label.unknown {
            return Some(label);
        }
        let is_of_a_test = match label.field {
            Some(Field::Column(column)) => column != Column::Winding,
            Some(_) => false,
            None => label.ohms.is_some() || label.connection.is_some(),
        };
        if is_of_a_test && !label.unknown && label.occasion.is_none() {
            return Some(Self { occasion, ..label });
        }
        let is_a_group = rest.iter().all(|word| OF_OCCASIONS.contains(&word.to_lowercase().as_str()));
        is_a_group.then(|| Self { occasion, unknown: true, ..Self::default() })
    }

    /// `Date 2`, the day of one of several tests.
    fn of_numbered_date(text: &str, mapping: &Mapping) -> Option<Self> {
        let (number, rest) = number_of_test(text).filter(|_| text.split_whitespace().count() <= MOST_WORDS)?;
        let is_date = Self::read(&rest, mapping).field == Some(Field::Column(Column::TestedOn));
        let field = Some(Field::Column(Column::TestedOn));
        is_date.then(|| Self { field, occasion: Some(number.to_owned()), ..Self::default() })
    }

    /// `Date in` and `Date out` of a workshop, `IR out`. `IR in` may be followed by its unit.
    fn of_in_or_out(words: &[String], mapping: &Mapping) -> Option<Self> {
        let at = words.iter().position(|word| matches!(word.to_lowercase().as_str(), "in" | "out"))?;
        if words.len() > MOST_WORDS {
            return None;
        }
        let after = words[at].eq_ignore_ascii_case("out");
        let rest: Vec<&str> = words[..at].iter().chain(&words[at + 1..]).map(String::as_str).collect();
        let label = Self::read(&rest.join(" "), mapping);
        let is_staged = match label.column()? {
            Column::TestedOn => true,
            Column::Reading(..) | Column::Resistance(_) | Column::WindingTemp(_) => after,
            _ => false,
        };
        (is_staged && label.stage.is_none()).then_some(Self { stage: Some(Stage { after, event: None }), ..label })
    }

    fn take_field(&mut self, text: &str) {
        let text = text.trim();
        if text.is_empty() {
            self.unknown = self.date.is_none() && self.connection.is_none() && self.stage.is_none();
            return;
        }
        let lower = text.to_lowercase();
        let lower = lower.trim_end_matches([':', '.']).trim();
        if unit_column::is_header(text) {
            self.field = Some(Field::Unit);
            return;
        }
        // `T` heads temperatures or a phase; the unit TΩ is written out.
        if let Some(unit) = Unit::read(text).filter(|_| lower != "t") {
            match unit {
                Unit::Ohms(unit) => self.ohms = Some(unit),
                Unit::Degrees(scale) => {
                    self.scale = Some(scale);
                    self.field = Some(Field::Column(Column::WindingTemp(scale)));
                }
                Unit::Volts => self.field = Some(Field::Column(Column::TestVolts)),
                Unit::Percent => self.field = Some(Field::Column(Column::Humidity)),
                Unit::Other => self.field = Some(Field::Ignored),
            }
            return;
        }
        if aliases::names_index(text) || IGNORED.contains(&lower) || IGNORED.contains(&text.to_lowercase().as_str()) {
            self.field = Some(Field::Ignored);
            return;
        }
        let plain = lower.replace('_', " ").replace('.', "").replace('ß', "ss");
        let plain = plain.strip_suffix(" desc").map_or_else(|| plain.clone(), |point| format!("{point} description"));
        if let Some((_, field)) = FIELDS.iter().find(|(word, _)| *word == lower || *word == plain) {
            self.field = Some(*field);
            return;
        }
        let (units, meaning) = aliases::units_and_meaning(text);
        (self.ohms, self.scale) = (units.ohms, units.scale);
        match meaning {
            Some(Meaning::Sure(column) | Meaning::Likely(column)) => self.field = Some(Field::Column(column)),
            Some(Meaning::TwoUnits) => self.unknown = true,
            None => {
                let read =
                    aliases::voltage_and_rest(text).and_then(|(voltage, bare)| Some((voltage, aliases::read(&bare)?)));
                match read {
                    Some((voltage, Meaning::Sure(column) | Meaning::Likely(column))) if is_reading(column) => {
                        self.field = Some(Field::Column(column));
                        self.voltage = Some(voltage);
                    }
                    _ => self.unknown = true,
                }
            }
        }
    }

    fn take_stage(&mut self, words: &mut Vec<String>) {
        for &(said, after) in IN_AND_OUT {
            let spelt: Vec<&str> = said.split(' ').collect();
            let is_said = |at: &usize| {
                words[*at..].iter().zip(&spelt).filter(|(word, own)| word.to_lowercase() == **own).count()
                    == spelt.len()
            };
            if let Some(at) = (0..words.len()).find(is_said) {
                self.stage = Some(Stage { after, event: None });
                words.drain(at..at + spelt.len());
                return;
            }
        }
        // `Hot well pump` is a machine.
        let warmth = |word: &String| COLD_AND_HOT.iter().find(|(said, _)| *said == word.to_lowercase());
        if let Some((at, (_, after))) = words.iter().enumerate().find_map(|(at, word)| Some((at, warmth(word)?))) {
            let rest: Vec<&str> =
                words.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, word)| word.as_str()).collect();
            let mut measured = Self::default();
            measured.take_field(&rest.join(" "));
            let is_measured = measured.column().is_some_and(is_reading);
            if rest.is_empty() || is_measured {
                self.stage = Some(Stage { after: *after, event: None });
                words.remove(at);
                return;
            }
        }
        // `Pre-clean` is two words.
        let joined = words.iter().position(|word| {
            if !word.contains('-') {
                return false;
            }
            let before = word.to_lowercase().split_once('-').map(|(before, _)| before.to_owned());
            before.is_some_and(|before| BEFORE.contains(&before.as_str()) || AFTER.contains(&before.as_str()))
                && !is_connection(word)
        });
        if let Some(at) = joined {
            let parts: Vec<String> = words[at].splitn(2, '-').map(str::to_owned).collect();
            words.splice(at..=at, parts);
        }
        let Some(at) = words.iter().position(|word| {
            let word = word.to_lowercase();
            BEFORE.contains(&word.as_str()) || AFTER.contains(&word.as_str())
        }) else {
            return;
        };
        let event = words[at + 1..].iter().find_map(|word| {
            let word = word.to_lowercase();
            WORK.iter().find(|(name, _)| *name == word).map(|(_, event)| *event)
        });
        // `after 1 min` is a time.
        if words.get(at + 1).is_some_and(|next| next.starts_with(|c: char| c.is_ascii_digit())) {
            return;
        }
        self.stage = Some(Stage { after: AFTER.contains(&words[at].to_lowercase().as_str()), event });
        let is_work = |word: &String| {
            let word = word.to_lowercase();
            WORK.iter().any(|(name, _)| *name == word)
        };
        let is_article = |word: &String| {
            matches!(
                word.to_lowercase().as_str(),
                "the"
                    | "il"
                    | "lo"
                    | "la"
                    | "da"
                    | "do"
                    | "della"
                    | "du"
                    | "l"
                    | "le"
                    | "les"
                    | "el"
                    | "los"
                    | "las"
                    | "o"
                    | "a"
                    | "der"
                    | "die"
                    | "das"
                    | "dem"
                    | "het"
                    | "de"
            )
        };
        let mut place = 0;
        words.retain(|word| {
            place += 1;
            place - 1 < at || (place - 1 != at && !is_work(word) && !is_article(word))
        });
    }

    fn take_date(&mut self, words: &mut Vec<String>) {
        for length in (1..=3).rev() {
            for start in 0..(words.len() + 1).saturating_sub(length) {
                let phrase = words[start..start + length].join(" ");
                if is_date_in_a_text(&phrase) {
                    self.date = Some(phrase);
                    words.drain(start..start + length);
                    return;
                }
            }
        }
    }

    fn take_connection(&mut self, words: &mut Vec<String>) {
        if let Some(at) = words.iter().position(|word| is_connection(word)) {
            self.connection = Some(words.remove(at));
        } else if let Some(at) = words.windows(2).position(|two| {
            // `T - Earth` and `T_E`, of which a hyphen or nothing is left between the words.
            let (one, other) = (two[0].trim_end_matches(['-', '–', '/']), two[1].trim_start_matches(['-', '–', '/']));
            is_connection(&format!("{one}-{other}")) && (is_earth(&other.to_lowercase()) || is_phase(other))
        }) {
            let (one, other) =
                (words[at].trim_end_matches(['-', '–', '/']), words[at + 1].trim_start_matches(['-', '–', '/']));
            self.connection = Some(format!("{one}-{other}"));
            words.drain(at..at + 2);
        } else if let Some(at) = words.windows(3).position(|three| {
            let joins = matches!(three[1].to_lowercase().as_str(), "to" | "-" | "–" | "/" | "gegen" | "vs");
            joins && is_connection(&format!("{}-{}", three[0], three[2]))
        }) {
            self.connection = Some(format!("{}-{}", words[at], words[at + 2]));
            words.drain(at..at + 3);
        }
        let names_one = |word: &String| is_phase(word) || matches!(word.as_str(), "1" | "2" | "3");
        if self.connection.is_none() && words.iter().any(|word| names_phases(word)) && !words.iter().any(names_one) {
            self.connection = of_any_phases(words);
        }
        if self.connection.is_none()
            && let Some(at) = words.windows(2).position(|two| {
                let other = two[1].to_lowercase();
                matches!(two[0].to_lowercase().as_str(), "to" | "gegen" | "against")
                    && other.len() > 2
                    && is_earth(&other)
            })
        {
            words.drain(at..at + 2);
        }
        if self.connection.is_some() {
            words.retain(|word| !is_word_of_phases(word));
        }
    }

    /// This label with what another, above or below it, says.
    #[must_use]
    pub fn with(&self, below: &Self) -> Self {
        if self.left_out || below.left_out {
            return Self { field: Some(Field::Ignored), left_out: true, ..Self::default() };
        }
        let column = |label: &Self| match label.field {
            Some(Field::Column(column)) => Some(column),
            _ => None,
        };
        let field = match (column(self), column(below)) {
            // A resistance and a time: the reading at that time.
            (Some(Column::Resistance(_)), Some(Column::Reading(..))) => below.field,
            (Some(Column::Reading(..)), Some(Column::Resistance(_))) => self.field,
            // A temperature and its scale.
            (Some(Column::AirTemp(_)), Some(Column::WindingTemp(scale))) => Some(Field::Column(Column::AirTemp(scale))),
            (Some(Column::WindingTemp(scale)), Some(Column::AirTemp(_)))
                if self.scale.is_some() && below.scale.is_none() =>
            {
                Some(Field::Column(Column::AirTemp(scale)))
            }
            // `Temperature °C` above `Winding`.
            (Some(Column::WindingTemp(scale)), Some(Column::Winding)) => {
                Some(Field::Column(Column::WindingTemp(scale)))
            }
            (Some(Column::WindingTemp(_)), Some(Column::WindingTemp(scale))) => {
                Some(Field::Column(Column::WindingTemp(scale)))
            }
            _ => below.field.or(self.field),
        };
        // A letter may read as a unit or a quantity; as that of a phase it says neither.
        let phase = match (&self.phase, &below.phase) {
            (_, Some((letter, rest))) => Some((letter, Self { phase: None, ..self.clone() }.with(rest))),
            (Some((letter, rest)), None) => Some((letter, rest.with(below))),
            (None, None) => None,
        };
        let phase = phase.map(|(letter, rest)| (letter.clone(), Box::new(rest)));
        let part = below.part.clone().or_else(|| self.part.clone());
        let date = below.date.clone().or_else(|| self.date.clone());
        let (date, part) = match (date, part) {
            (Some(year), Some(part)) if year.len() == 4 => (Some(format!("{part} {year}")), None),
            other => other,
        };
        Self {
            field,
            ohms: below.ohms.or(self.ohms),
            scale: below.scale.or(self.scale),
            date,
            part,
            connection: below.connection.clone().or_else(|| self.connection.clone()),
            stage: below.stage.or(self.stage),
            phase,
            occasion: below.occasion.clone().or_else(|| self.occasion.clone()),
            voltage: below.voltage.clone().or_else(|| self.voltage.clone()),
            unknown: self.unknown && below.unknown,
            left_out: false,
        }
    }

    /// Whether it heads names of windings, connections or measuring points.
    #[must_use]
    pub const fn names_what_is_tested(&self) -> bool {
        matches!(self.field, Some(Field::Point | Field::Column(Column::Winding | Column::Connection)))
    }

    /// Whether it names the same day, connection and stage as another.
    #[must_use]
    pub fn is_of_the_same_test(&self, other: &Self) -> bool {
        self.date == other.date
            && self.part == other.part
            && self.connection == other.connection
            && self.stage == other.stage
            && self.occasion == other.occasion
    }

    /// Whether it speaks of a test before the one of its row.
    #[must_use]
    pub fn is_of_an_earlier(&self) -> bool {
        // The last words are those for a test that was made again.
        self.occasion.as_deref().is_some_and(|word| OTHERS[..OTHERS.len() - 3].contains(&word))
    }

    /// Whether it speaks of the latest of several tests.
    #[must_use]
    pub fn is_of_the_latest(&self) -> bool {
        self.occasion.as_deref().is_some_and(|word| LATEST.contains(&word))
    }

    /// The column that its cells belong to, in the unit that it names.
    #[must_use]
    pub fn column(&self) -> Option<Column> {
        if self.unknown {
            return None;
        }
        match (self.field, self.ohms) {
            (Some(Field::Column(Column::Reading(at, own))), unit) => Some(Column::Reading(at, unit.unwrap_or(own))),
            (Some(Field::Column(Column::Resistance(own))), unit) => Some(Column::Resistance(unit.unwrap_or(own))),
            (Some(Field::Column(column)), _) => Some(column),
            (None, Some(unit)) => Some(Column::Resistance(unit)),
            (None, None)
                if self.part.is_some() || self.date.is_some() || self.connection.is_some() || self.stage.is_some() =>
            {
                Some(Column::Resistance(ResistanceUnit::Megohm))
            }
            _ => None,
        }
    }

    /// Whether it says anything that is understood.
    #[must_use]
    pub const fn is_known(&self) -> bool {
        self.field.is_some()
            || self.ohms.is_some()
            || self.is_dated()
            || self.connection.is_some()
            || self.stage.is_some()
            || self.phase.is_some()
            || self.occasion.is_some()
    }

    /// Whether it names a day or a span of time.
    #[must_use]
    pub const fn is_dated(&self) -> bool {
        self.date.is_some() || self.part.is_some()
    }

    /// Whether it names what tells tests apart.
    #[must_use]
    pub const fn is_key(&self) -> bool {
        matches!(
            self.field,
            Some(
                Field::Column(Column::Winding | Column::TestedOn | Column::Elapsed(_))
                    | Field::Year
                    | Field::Quarter
                    | Field::Week
                    | Field::Month
                    | Field::Point
            )
        )
    }
}

/// The letters of phases of which all three stand in a header.
#[must_use]
pub fn custom_of<L: Borrow<Label>>(labels: impl Iterator<Item = L>) -> Option<&'static Custom> {
    let letters: BTreeSet<String> =
        labels.filter_map(|label| label.borrow().phase.as_ref().map(|(letter, _)| letter.to_lowercase())).collect();
    // Two leads are enough where their names are no other words: `L1`, `L2`.
    let are_two = |custom: &&Custom| {
        custom[0].len() == 2 && letters.len() == 2 && letters.iter().all(|letter| custom.contains(&letter.as_str()))
    };
    CUSTOMS
        .iter()
        .find(|custom| custom.iter().all(|letter| letters.contains(*letter)))
        .or_else(|| CUSTOMS.iter().find(are_two))
}

/// The words of a label; hyphens and slashes stay inside them.
fn words_of(text: &str) -> Vec<String> {
    let gaps = |c: char| c.is_whitespace() || matches!(c, '_' | ',' | ';' | ':' | '(' | ')' | '[' | ']' | '|' | '@');
    text.split(gaps).filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

/// Words before the date of a column: `Messung vom 12.03.2024`.
const BEFORE_DATES: [&str; 28] = [
    "tested",
    "test",
    "measured",
    "measurement",
    "on",
    "of",
    "dated",
    "messung",
    "prüfung",
    "gemessen",
    "geprüft",
    "vom",
    "am",
    "mesure",
    "mesuré",
    "relevé",
    "contrôle",
    "du",
    "le",
    "misura",
    "prova",
    "del",
    "medición",
    "medida",
    "prueba",
    "meting",
    "gemeten",
    "van",
];

/// Takes away what does not tell which test a reading belongs to: `at 500 V DC`, `retest`, marks of footnotes.
fn without_circumstances(words: &mut Vec<String>) {
    let is_of_volts = |word: &str| {
        let digits = word.trim_end_matches("dc").trim_end_matches('v').trim_end_matches('k');
        word.ends_with(['v', 'c'])
            && !digits.is_empty()
            && digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')
    };
    let mut kept: Vec<String> = Vec::new();
    for word in words.drain(..) {
        let lower = word.to_lowercase();
        let is_volt = matches!(lower.as_str(), "v" | "vdc" | "kv" | "volt" | "volts");
        if is_volt && kept.last().is_some_and(|last| last.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')) {
            kept.pop();
            continue;
        }
        let is_left_out = is_of_volts(&lower)
            || matches!(lower.as_str(), "at" | "dc" | "v" | "vdc")
            || BEFORE_DATES.contains(&lower.as_str())
            || LATEST.contains(&lower.as_str())
            || OTHERS[13..].contains(&lower.as_str())
            || !lower.contains(char::is_alphanumeric);
        if !is_left_out {
            kept.push(word);
        }
    }
    *words = kept;
}
