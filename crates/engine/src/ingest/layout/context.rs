//! What the title of a block and the name of its sheet say of all its tests.

use super::cells::sums_up;
use super::grid::GridRow;
use super::label::{self, Field};
use super::label_reader::LabelReader;
use super::titles::{TITLE_WORDS, Values, values_of};
use super::years::{self, Titled};
use crate::error::Failure;
use crate::ingest::aliases;
use crate::ingest::said_unit::{said_unit, unit_of_row};
use crate::ingest::unit::Unit;
use groundwall::record::Item;
use groundwall::record::columns::Column;
use groundwall::resistance::ResistanceUnit;
use std::collections::BTreeSet;

/// The unit of resistances that a title row names for all of them, where it is not MΩ: `all values in kOhm`, and not `10 GΩ range`.
pub(super) fn unit_of_title(row: &GridRow) -> Option<ResistanceUnit> {
    if let Some((_, unit)) = unit_of_row(row.filled()) {
        return unit.filter(|unit| unit.in_megohms() < 1.0);
    }
    row.filled().find_map(|(_, cell)| {
        // A text that says nothing else, of a unit that makes no answer milder.
        let said = said_unit(cell);
        if said.is_some_and(|said| said.unit.is_none()) {
            return None;
        }
        let alone = said.filter(|said| said.is_certain).and_then(|said| said.unit);
        if let Some(unit) = alone.filter(|unit| unit.in_megohms() < 1.0) {
            return Some(unit);
        }
        let words: Vec<&str> = cell.split_whitespace().collect();
        if let [.., "in" | "en" | "em", "k"] = words[..]
            && aliases::names_a_resistance(cell)
        {
            return Some(ResistanceUnit::Kilohm);
        }
        let at = words.iter().position(|word| {
            let word = word.trim_matches(['(', ')', '[', ']', ',', ';']);
            !word.contains(|c: char| c.is_ascii_digit())
                && (word.chars().count() > 1 || matches!(word, "\u{3a9}" | "\u{2126}"))
                && matches!(Unit::read(word), Some(Unit::Ohms(_)))
        })?;
        let before = at.checked_sub(1).map_or("", |before| words[before]);
        let is_of = before.eq_ignore_ascii_case("in") || said.is_some_and(|said| said.is_certain);
        let may_be_of = !before.ends_with(|c: char| c.is_ascii_digit()) && aliases::names_a_resistance(cell);
        match Unit::read(words[at].trim_matches([',', ';'])) {
            // A greater unit may be that of a range, and would make the answer milder.
            Some(Unit::Ohms(unit)) if unit.in_megohms() > 1.0 => is_of.then_some(unit),
            // `k ohms` in two words.
            Some(Unit::Ohms(ResistanceUnit::Ohm))
                if said.is_some_and(|said| said.unit != Some(ResistanceUnit::Ohm)) =>
            {
                said.and_then(|said| said.unit).filter(|unit| may_be_of && unit.in_megohms() < 1.0)
            }
            Some(Unit::Ohms(unit)) if unit != ResistanceUnit::Megohm => (is_of || may_be_of).then_some(unit),
            _ => None,
        }
    })
}

/// Whether a name of a voltage says that it is that of the test.
fn is_of_a_test(name: &str) -> bool {
    Column::read(name).is_some() || matches!(aliases::read(name), Some(aliases::Meaning::Sure(_)))
}

/// What a block's title and its sheet say of all its tests.
#[derive(Clone, Debug, Default)]
pub(super) struct Context {
    pub(super) columns: Vec<(Column, String)>,
    /// The date of its tests.
    pub(super) date: Option<String>,
    /// The year of its tests.
    pub(super) year: Option<String>,
    /// The question about that date and year, where they are not certain.
    pub(super) question: Option<Failure>,
    /// The question about that date alone.
    pub(super) question_of_day: Option<Failure>,
    /// Dates and years that titles name.
    pub(super) titled: Vec<Titled>,
    pub(super) unit: Option<ResistanceUnit>,
    /// What the values are whose headers name no quantity, and the title that says so.
    pub(super) values: Option<(Values, String)>,
    /// Names of motors and their columns, which matter where blocks are side by side.
    pub(super) windings: Vec<(usize, String)>,
    /// Which winding of the motor its columns are of.
    pub(super) component: Option<String>,
    /// A text above the block that may be the name of a motor.
    pub(super) name: Option<String>,
    /// Whether that text is above some of the columns only, and names the motor they belong to.
    pub(super) group: bool,
    /// The last text above the block that may name a motor where every block has one.
    pub(super) title: Option<String>,
}

impl Context {
    pub(super) fn of(titles: &[GridRow], reader: &LabelReader<'_>) -> Self {
        let mut context = Self::default();
        let mut is_nameplate = false;
        for row in titles {
            let cells: Vec<(usize, &str)> = row.filled().collect();
            let mut taken = BTreeSet::new();
            // `Motor`, `:` and its name in three cells.
            let cells: Vec<(usize, &str)> = cells.into_iter().filter(|(_, cell)| !matches!(*cell, ":" | "=")).collect();
            for (i, (at, cell)) in cells.iter().enumerate() {
                let (name, value) = match cell.split_once([':', '=']) {
                    // `Motor: K-7   Power: 75 kW`
                    Some((name, value)) if value.contains([':', '=']) => {
                        (name, value.trim().split("  ").next().unwrap_or_default())
                    }
                    Some((name, value)) if !value.trim().is_empty() => (name, value.trim()),
                    Some((name, _)) => (name, cells.get(i + 1).map_or("", |(_, next)| *next)),
                    None if cells.len() > 1 => (*cell, cells.get(i + 1).map_or("", |(_, next)| *next)),
                    None => continue,
                };
                if taken.contains(&i) || value.is_empty() {
                    continue;
                }
                let label = reader.read(name);
                let is_year = value.len() == 4 && label::is_date(value);
                if label.field == Some(Field::Year) && is_year {
                    let text = format!("{}: {value}", name.trim());
                    context.titled.push(Titled::alone(value, text));
                }
                is_nameplate |= names_rating(name);
                let column = match label.field {
                    // `Voltage: 6600` is that of the motor.
                    Some(Field::Column(Column::TestVolts)) if !is_of_a_test(name) => None,
                    Some(Field::Column(column)) => Some(column),
                    Some(Field::WorkOrder) => Some(Column::Procedure(Item::WorkOrder)),
                    _ => None,
                };
                if let Some(column) = column.filter(|_| !label.unknown) {
                    if !cell.contains([':', '=']) || cell.trim_end().ends_with([':', '=']) {
                        taken.insert(i + 1);
                    }
                    if column == Column::Winding {
                        context.windings.push((*at, value.to_owned()));
                    }
                    match column {
                        Column::TestedOn if years::names_another_day(name) => {}
                        Column::TestedOn => context.date = Some(value.to_owned()),
                        Column::Resistance(_) | Column::Reading(..) => {}
                        _ => match context.columns.iter_mut().find(|(other, _)| *other == column) {
                            None => context.columns.push((column, value.to_owned())),
                            // `Equipment: Pump house` may be the place of `Motor No: P-101`.
                            Some((_, place)) if column == Column::Winding && !is_name(place) && is_name(value) => {
                                value.clone_into(place);
                            }
                            Some(_) => {}
                        },
                    }
                }
            }
            context.unit = unit_of_title(row).or(context.unit);
            if context.winding().is_none()
                && let Some(name) = cells.iter().find_map(|(_, cell)| motor_named(cell))
            {
                context.columns.push((Column::Winding, name.to_owned()));
            }
            if let Some((_, text)) = row.only() {
                context.titled.extend(years::of_title(text, reader));
                context.values =
                    values_of(text, reader).map(|values| (values, text.to_owned())).or(context.values.take());
                context.name = is_name(text).then(|| text.to_owned()).or(context.name);
                context.title = may_head_a_block(text).then(|| text.to_owned()).or(context.title);
            }
        }
        // `Year` beside a rating may be that of the machine.
        for titled in context.titled.iter_mut().filter(|titled| is_nameplate && titled.text.contains(':')) {
            titled.is_certain = false;
        }
        context
    }

    pub(super) fn winding(&self) -> Option<&str> {
        self.columns.iter().find(|(column, _)| *column == Column::Winding).map(|(_, value)| value.as_str())
    }

    /// The same without what other blocks say of themselves, such as the date of each round: what the first block says is of that block.
    pub(super) fn without_own_of(mut self, others: &[Self]) -> Self {
        let names_day = |titled: &Titled| label::is_date(&titled.date) && titled.date.len() > 4;
        let are_rounds = others.iter().any(|other| other.date.is_some() || other.titled.iter().any(names_day));
        if are_rounds {
            self.date = None;
            self.titled.retain(|titled| !names_day(titled));
        }
        let is_own = |column: &Column| {
            let is_of_a_round = matches!(column, Column::WindingTemp(_) | Column::AirTemp(_) | Column::Humidity);
            (are_rounds && is_of_a_round)
                || others.iter().any(|other| other.columns.iter().any(|(own, _)| own == column))
        };
        self.columns.retain(|(column, _)| *column == Column::Winding || !is_own(column));
        self
    }

    /// The same without the name of a motor.
    pub(super) fn without_winding(mut self) -> Self {
        self.columns.retain(|(column, _)| *column != Column::Winding);
        self
    }

    /// What the top of the sheet says, where this block does not say it; the name of a motor is each block's own.
    pub(super) fn after(mut self, shared: &Self) -> Self {
        for (column, value) in &shared.columns {
            if *column != Column::Winding && !self.columns.iter().any(|(own, _)| own == column) {
                self.columns.push((*column, value.clone()));
            }
        }
        if self.winding().is_none() && self.name.is_none() {
            self.columns.extend(shared.columns.iter().filter(|(column, _)| *column == Column::Winding).cloned());
        }
        self.values = self.values.or_else(|| shared.values.clone());
        self.date = self.date.or_else(|| shared.date.clone());
        self.unit = self.unit.or(shared.unit);
        if self.titled.is_empty() {
            self.titled.clone_from(&shared.titled);
        }
        self
    }
}

/// Whether a text names an entry of a nameplate, such as the rated power.
fn names_rating(name: &str) -> bool {
    let lower = name.to_lowercase();
    let is_rating = |word: &str| {
        matches!(
            word,
            "kw" | "hp"
                | "rpm"
                | "ps"
                | "cv"
                | "serial"
                | "frame"
                | "rated"
                | "manufacturer"
                | "power"
                | "leistung"
                | "puissance"
        )
    };
    lower.split(|c: char| !c.is_alphanumeric()).any(is_rating)
}

/// The smallest number that makes a unit of one letter a quantity: `400 V`, but not `Pump 3 V`.
const LEAST_QUANTITY: f64 = 24.0;

/// Whether a text contains a number with a unit, which no name has: `90 kW, 400 V`.
fn says_quantity(words: &[&str]) -> bool {
    // `Pump 101 A` is the name of a pump.
    let is_letter = |text: &str| text.chars().count() == 1 && !text.eq_ignore_ascii_case("v");
    let is_unit = |text: &str| {
        !is_letter(text) && text.chars().count() < 5 && matches!(Unit::read(text), Some(Unit::Volts | Unit::Other))
    };
    // `3 V` may be the end of a name.
    let is_number = |text: &str, unit: &str| {
        text.parse().is_ok_and(|number: f64| unit.chars().count() > 1 || number >= LEAST_QUANTITY)
    };
    let words: Vec<&str> = words.iter().copied().filter(|word| !word.is_empty()).collect();
    let parts = |word: &'_ str| {
        let unit = word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        is_unit(unit) && is_number(&word[..word.len() - unit.len()], unit)
    };
    words.windows(2).any(|two| is_unit(two[1]) && is_number(two[0], two[1])) || words.into_iter().any(parts)
}

/// Words for the sheet of one motor.
const RECORDS: [&str; 9] = ["card", "karte", "fiche", "ficha", "scheda", "kaart", "blatt", "protokoll", "logbook"];

/// The name at the end of a title that says before it what it names: `Test record: motor P-101`, `Motor No. P-101`.
fn motor_named(title: &str) -> Option<&str> {
    // `P-101 (raw water pump)` has its description after it.
    let title = title.trim();
    let title =
        title.strip_suffix(')').and_then(|inside| inside.rsplit_once('(')).map_or(title, |(before, _)| before.trim());
    let (before, name) = title.rsplit_once(char::is_whitespace)?;
    let is_name = name.contains(|c: char| c.is_ascii_digit())
        && name.contains(char::is_alphabetic)
        && !label::is_date(name)
        && name.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '/' | '.' | '_'));
    let is_gap = |c: char| c.is_whitespace() || matches!(c, ':' | ',' | '–' | '-');
    let words: Vec<&str> = before.split(is_gap).filter(|word| !word.is_empty()).collect();
    let says_machine =
        |words: &[&str]| aliases::read(&words.join(" ")) == Some(aliases::Meaning::Sure(Column::Winding));
    let is_named = (1..=2).any(|count| words.len() >= count && says_machine(&words[words.len() - count..]));
    // `Motor card: P-101`, `Test record for P-101`
    let is_for = words
        .last()
        .is_some_and(|word| matches!(word.to_lowercase().as_str(), "for" | "of" | "für" | "pour" | "para" | "per"))
        || before.trim_end().ends_with([':', '–', '-']);
    let is_record = words.iter().any(|word| {
        let word = word.to_lowercase();
        TITLE_WORDS[..13].contains(&word.as_str()) || RECORDS.contains(&word.as_str())
    });
    (is_name && (is_named || (is_for && is_record))).then_some(name)
}

/// Words above columns that say how they were measured, and name no motor.
const STATES: [&str; 22] = [
    "hot",
    "cold",
    "wet",
    "dry",
    "limit",
    "limits",
    "previous",
    "last",
    "latest",
    "current",
    "actual",
    "new",
    "old",
    "first",
    "second",
    "third",
    "measured",
    "corrected",
    "as",
    "nameplate",
    "data",
    "details",
];

/// Whether a text above columns may be the name of a motor, where nothing else names one.
pub(super) fn may_be_name(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let is_other = |word: &str| TITLE_WORDS.contains(&word) || STATES.contains(&word) || sums_up(word);
    is_name(text) || (words.clone().count() <= 4 && !words.any(is_other))
}

/// Whether a text above one of several blocks may be the name of its motor: it says nothing else.
fn may_head_a_block(text: &str) -> bool {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_other = |word: &&str| TITLE_WORDS.contains(word) || STATES.contains(word) || sums_up(word);
    !text.contains([':', '=']) && !label::is_date(text) && (1..=8).contains(&words.len()) && !words.iter().any(is_other)
}

/// Whether a text may be the name of a motor: it has a digit or few words, and none that titles have.
pub(super) fn is_name(text: &str) -> bool {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !(c.is_alphanumeric() || matches!(c, '-' | '/' | '.'))).collect();
    !label::is_date(text)
        && !text.contains(':')
        && !says_quantity(&words)
        && !words.iter().any(|word| TITLE_WORDS.contains(word))
        && text.contains(|c: char| c.is_ascii_digit())
        && text.chars().any(char::is_alphabetic)
        && words.len() <= 8
}

/// Names of sheets that programs give.
pub(super) fn is_usual_sheet(name: &str) -> bool {
    let lower = name.to_lowercase();
    let stem = lower.trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ');
    let usual = [
        "sheet", "tab", "blatt", "card", "karte", "fiche", "ficha", "scheda", "kaart", "form", "tabelle", "feuil",
        "feuille", "hoja", "foglio", "planilha", "folha", "blad", "table", "page", "seite",
    ];
    usual.contains(&stem) || lower.split([' ', '-', '_']).any(|word| TITLE_WORDS.contains(&word))
}
