//! Rows that break the plain rules read once more as people write them: units in a column, texts beside readings, dates in
//! other forms, unknown words. Whatever was read so is counted and said.

use super::aliases;
use super::columns::Columns;
use super::free_form::{self, Meant};
use super::piece_rules::PieceRules;
use super::rows::Cells;
use super::said_unit::{self, said_unit};
use super::unit_column::{Blank, is_other_than_megohms};
use crate::error::{Failure, shown};
use crate::similar::closest;
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::record::validate::{Fault, TestRules};
use groundwall::record::{Event, Item, LeadCheck, Origin, RowBuffer, TestRecord, tells_of_trouble};
use groundwall::resistance::{CellFault, CellRules, ResistanceUnit};
use std::collections::BTreeMap;

/// Something read that the plain rules do not allow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Liberty {
    /// The text beside a reading became a note.
    TextBesideReading,
    /// A mark that separates thousands, as other numbers prove.
    Thousands,
    /// A mark that is the decimal mark, as other numbers prove.
    DecimalMark,
    /// Of two readings in a cell the lower was taken.
    LowerOfTwo,
    /// A word for the end of the scale that is not a usual one.
    OverRange,
    /// A word for no resistance at all.
    NoResistance,
    /// A date that names no day.
    Period,
    /// A word in the column of events that is none of ours.
    UnknownEvent,
    /// A word in the column of lead checks that is none of ours.
    UnknownLeadCheck,
    /// A cell of the record of the test that cannot be read.
    UnknownRecord,
    /// A reading in MΩ because its unit is blank, and the first rows name no other.
    BlankUnit,
    /// A unit other than MΩ, where the first rows name none.
    OtherUnit,
}

/// How often liberties were taken, and the first place and text of each.
pub type Liberties = BTreeMap<Liberty, (u64, Origin, String, String)>;

/// What became of a row.
pub enum Outcome<'d> {
    /// A test.
    Test(&'d TestRecord),
    /// The test was not done, as the row says.
    NotDone,
    /// Everything that is wrong with it.
    Faulty(Vec<Fault>),
}

/// Takes over liberties that another part of an input took.
pub fn join(all: &mut Liberties, others: Liberties) {
    for (liberty, (count, place, column, text)) in others {
        all.entry(liberty).or_insert((0, place, column, text)).0 += count;
    }
}

/// Reads a row with these cells once more. `plain` is what is wrong with it by the plain rules.
pub fn read<'d>(
    rules: &PieceRules<'_>,
    cells: Cells<'_>,
    origin: Origin,
    draft: &'d mut RowBuffer,
    plain: Vec<Fault>,
    liberties: &mut Liberties,
) -> Outcome<'d> {
    let mut row = Rewritten {
        rules,
        cells: Vec::new(),
        unread: Vec::new(),
        notes: Vec::new(),
        faults: Vec::new(),
        taken: Vec::new(),
    };
    let texts: Vec<&str> = (0..cells.len()).map(|place| cells.text(place).unwrap_or_default().trim()).collect();
    let (mut not_done, mut readings) = (false, false);
    for (place, column) in &rules.columns.known {
        let text = texts.get(*place).copied().unwrap_or_default();
        let is_reading = matches!(column, Column::Reading(..) | Column::Resistance(_));
        let text = match rules.columns.with_bound(*place, text, |at| texts.get(at).copied().unwrap_or_default()) {
            Ok(text) if is_reading => text,
            Err(fault) if is_reading => {
                row.fault_once(fault);
                continue;
            }
            _ => text.into(),
        };
        let text = &*text;
        if text.is_empty() {
            continue;
        }
        match column {
            Column::Reading(..) | Column::Resistance(_) => match row.resistance(*place, *column, text, &texts) {
                Some(true) => readings = true,
                Some(false) => not_done = true,
                None => {}
            },
            _ => row.other(*place, *column, text, &texts),
        }
    }
    let has_event = row.cells.iter().any(|(column, _)| *column == Column::Event);
    row.notes.extend(rules.columns.failures(|place| texts.get(place).copied().unwrap_or_default()));
    row.add_notes();
    // A note of water, an earth fault or failed leads may be why the test was not done: such a row is not skipped.
    let is_trouble = |(column, text): &(Column, String)| match column {
        Column::LeadCheck => LeadCheck::read(text) == Some(LeadCheck::Failed),
        // The words of names of machines may be those of trouble.
        Column::Winding => false,
        _ => tells_of_trouble(text),
    };
    if not_done && !readings && !has_event && row.faults.is_empty() && !row.cells.iter().any(is_trouble) {
        return Outcome::NotDone;
    }
    let Rewritten { cells, unread, faults, taken, .. } = row;
    let tests = TestRules { date_format: None, ..rules.tests.clone() };
    match tests.read(cells.iter().map(|(column, text)| (column, text.as_str())), origin, draft) {
        Ok(_) if faults.is_empty() => {
            for (liberty, column, text) in taken {
                liberties.entry(liberty).or_insert((0, origin, column, text)).0 += 1;
            }
            Outcome::Test(draft.with_unread(unread.iter().map(|(column, text)| (*column, text.as_str()))))
        }
        Ok(_) => Outcome::Faulty(faults),
        Err(others) => {
            // A fault of the plain rules says what the file's own form of dates is.
            let others = others.iter().map(|fault| {
                plain
                    .iter()
                    .find(|earlier| earlier.column == fault.column && earlier.value == fault.value)
                    .unwrap_or(fault)
            });
            let is_reading =
                |fault: &Fault| matches!(fault.known_column(), Some(Column::Reading(..) | Column::Resistance(_)));
            let lost_reading =
                faults.iter().any(|fault| is_reading(fault) || rules.columns.is_unit_or_bound(&fault.column));
            let is_known = |fault: &Fault| faults.iter().any(|own| own.column == fault.column);
            let is_lost =
                |fault: &Fault| fault.value.is_empty() && ((lost_reading && is_reading(fault)) || is_known(fault));
            let others = others.filter(|fault| !is_lost(fault)).cloned();
            Outcome::Faulty(faults.iter().cloned().chain(others).collect())
        }
    }
}

/// A temperature in degrees Celsius.
fn celsius(number: f64, scale: TemperatureScale) -> f64 {
    match scale {
        TemperatureScale::Celsius => number,
        TemperatureScale::Fahrenheit => (number - 32.0) / 1.8,
    }
}

/// A row being rewritten.
struct Rewritten<'a> {
    rules: &'a PieceRules<'a>,
    cells: Vec<(Column, String)>,
    /// Cells that cannot be read, which the test keeps.
    unread: Vec<(Column, String)>,
    notes: Vec<String>,
    faults: Vec<Fault>,
    taken: Vec<(Liberty, String, String)>,
}

impl Rewritten<'_> {
    /// A cell of a resistance: true for a reading, false for a test that was not done, nothing where it cannot be told.
    fn resistance(&mut self, place: usize, column: Column, text: &str, texts: &[&str]) -> Option<bool> {
        let column = self.in_its_unit(place, column, texts)?;
        let (Column::Reading(_, unit) | Column::Resistance(unit)) = column else { return None };
        let tests = &self.rules.tests;
        if let Some(said) = self.note_names(unit, texts).filter(|_| said_unit::needs_unit(text, tests.decimal_comma)) {
            let example = said_unit::symbol(said.or(Some(ResistanceUnit::Megohm)));
            let said = said_unit::symbol(said);
            self.faults.push(Fault {
                column: column.to_string(),
                value: text.to_owned(),
                rule: format!(
                    "the note beside it names {said}, and a number without a unit would be read in {}",
                    said_unit::symbol(Some(unit))
                ),
                hint: format!("write the unit after the number, such as {text} {example}"),
            });
            return None;
        }
        let cell_rules =
            CellRules { unit, decimal_comma: tests.decimal_comma, zero_means_below: tests.zero_means_below };
        let fault = match cell_rules.read(text) {
            Ok(Some(_)) => {
                self.cells.push((column, text.to_owned()));
                return Some(true);
            }
            Ok(None) => return Some(false),
            Err(fault) => fault,
        };
        if let Some(settled) = self.rules.marks.settle(text, tests.decimal_comma, self.rules.mark_is_said)
            && matches!(cell_rules.read(&settled.cell), Ok(Some(_)))
        {
            let liberty = if settled.thousands { Liberty::Thousands } else { Liberty::DecimalMark };
            self.taken.push((liberty, column.to_string(), format!("{text}\n{}", settled.proof)));
            self.cells.push((column, settled.cell));
            return Some(true);
        }
        match free_form::read(text, &cell_rules) {
            Ok(Meant::NotDone) => Some(false),
            Ok(Meant::Reading(cell)) => {
                self.cells.push((column, cell));
                Some(true)
            }
            Ok(Meant::Noted(cell, note)) => {
                let liberty = match cell.as_str() {
                    "OL" => Liberty::OverRange,
                    "0" => Liberty::NoResistance,
                    _ => Liberty::TextBesideReading,
                };
                self.noted(liberty, column, (cell, note), text, texts)
            }
            Ok(Meant::Lower(cell, note)) => self.noted(Liberty::LowerOfTwo, column, (cell, note), text, texts),
            Err(unclear) => {
                let own = match fault {
                    CellFault::NotANumber => unclear != free_form::NO_NUMBER && unclear != free_form::UNKNOWN_TEXT,
                    fault => fault == CellFault::UnknownUnit,
                };
                let (rule, hint) = if own { (unclear.rule, unclear.hint) } else { (fault.rule(), fault.hint()) };
                self.faults.push(Fault {
                    column: column.to_string(),
                    value: text.to_owned(),
                    rule: rule.to_owned(),
                    hint: hint.to_owned(),
                });
                None
            }
        }
    }

    /// Another unit than that of the column, which a note of the row names.
    fn note_names(&self, unit: ResistanceUnit, texts: &[&str]) -> Option<Option<ResistanceUnit>> {
        let notes = self.rules.columns.known.iter().filter(|(_, column)| *column == Column::Note);
        let said = notes.filter_map(|(place, _)| said_unit(texts.get(*place)?)).map(|said| said.unit);
        said.into_iter().find(|said| *said != Some(unit))
    }

    fn noted(
        &mut self,
        liberty: Liberty,
        column: Column,
        (cell, note): (String, String),
        text: &str,
        texts: &[&str],
    ) -> Option<bool> {
        if let Some(other) = self.contradicts_temperature(&note, texts) {
            self.faults.push(Fault {
                column: column.to_string(),
                value: text.to_owned(),
                rule: format!("the text beside the number names another temperature than the {other} of its row"),
                hint: "correct the one that is wrong, and write the number alone".to_owned(),
            });
            return None;
        }
        self.taken.push((liberty, column.to_string(), text.to_owned()));
        self.notes.push(note);
        self.cells.push((column, cell));
        Some(true)
    }

    /// The winding temperature of the row as written, where a text beside its reading names another.
    fn contradicts_temperature(&self, note: &str, texts: &[&str]) -> Option<String> {
        /// What rounding may account for, K.
        const SAME_K: f64 = 1.0;
        let (said, own_scale) = free_form::temperature_in(note)?;
        let temperatures = self.rules.columns.known.iter().filter_map(|(place, column)| {
            let Column::WindingTemp(scale) = column else { return None };
            let written = *texts.get(*place)?;
            let number = written.replace(',', ".").trim_end_matches(|c: char| !c.is_ascii_digit()).parse().ok()?;
            Some((written, celsius(number, *scale)))
        });
        let said = celsius(said, own_scale);
        let mut others = temperatures.filter(|(_, own)| (own - said).abs() > SAME_K);
        others.next().map(|(written, _)| written.to_owned())
    }

    /// The column in the unit that stands beside its cell; nothing, and a fault, where that cannot be.
    fn in_its_unit(&mut self, place: usize, column: Column, texts: &[&str]) -> Option<Column> {
        let columns = self.rules.columns;
        let mut column = column;
        for unit in columns.units.iter().filter(|unit| unit.belongs_to.contains(&place)) {
            let mut text = texts.get(unit.place).copied().unwrap_or_default();
            if text.is_empty() {
                text = match &unit.blank {
                    Blank::AsFirst(first) => first,
                    Blank::Unknown(other) if self.takes_unit_from_beside(place, column, texts) => {
                        let (rule, hint) = Blank::fault(other);
                        let column = unit.header.clone();
                        self.fault_once(Fault { column, value: String::new(), rule, hint: hint.to_owned() });
                        return None;
                    }
                    Blank::Megohms if self.takes_unit_from_beside(place, column, texts) => {
                        self.taken.push((Liberty::BlankUnit, unit.header.clone(), String::new()));
                        continue;
                    }
                    Blank::Unknown(_) | Blank::Megohms => continue,
                };
            } else if unit.blank == Blank::Megohms && is_other_than_megohms(text) {
                self.taken.push((Liberty::OtherUnit, unit.header.clone(), text.to_owned()));
            }
            if unit.measures_something_else(text, &columns.known) {
                self.fault_once(Fault {
                    column: unit.header.clone(),
                    value: text.to_owned(),
                    rule: "a row of this unit measures something else than a resistance".to_owned(),
                    hint: "leave the row out, or write it with the test that it belongs to".to_owned(),
                });
                return None;
            }
            match unit.apply(text, column, &columns.header[place]) {
                Ok(changed) => column = changed,
                Err(fault) => {
                    self.fault_once(fault);
                    return None;
                }
            }
        }
        Some(column)
    }

    /// Whether the unit of a reading stands neither in its cell nor in its header.
    fn takes_unit_from_beside(&self, place: usize, column: Column, texts: &[&str]) -> bool {
        let text = texts.get(place).copied().unwrap_or_default();
        matches!(column, Column::Reading(..) | Column::Resistance(_))
            && aliases::units(&self.rules.columns.header[place]).is_none_or(|units| units.ohms.is_none())
            && said_unit::needs_unit(text, self.rules.tests.decimal_comma)
    }

    fn fault_once(&mut self, fault: Fault) {
        if !self.faults.contains(&fault) {
            self.faults.push(fault);
        }
    }

    fn other(&mut self, place: usize, column: Column, text: &str, texts: &[&str]) {
        match column {
            Column::TestedOn => {
                if let Some(open) = self.rules.dates.open(text) {
                    self.faults.push(Fault {
                        column: column.to_string(),
                        value: text.to_owned(),
                        rule: open.rule.to_owned(),
                        hint: open.hint,
                    });
                    return;
                }
                let dated = self.rules.dates.read(text);
                if dated.as_ref().is_some_and(|dated| dated.period.is_some()) {
                    self.taken.push((Liberty::Period, column.to_string(), text.to_owned()));
                }
                self.cells.push((column, dated.map_or_else(|| text.to_owned(), |dated| dated.iso)));
            }
            Column::Event if unknown_event(text) => {
                self.not_read(Liberty::UnknownEvent, column, text, text.to_owned());
                // A slip of the pen must not hide water.
                self.cells.extend(misspelt_water(text).map(|event| (column, event.word().to_owned())));
            }
            Column::LeadCheck if is_blank(text) || LeadCheck::read(text).is_some() => {
                self.cells.push((column, text.to_owned()));
            }
            Column::LeadCheck => self.not_read(Liberty::UnknownLeadCheck, column, text, format!("lead check: {text}")),
            Column::Procedure(item) => {
                let dated = self.rules.dates.read(text).filter(|_| item == Item::CalibrationDue);
                let text = dated.map_or_else(|| text.to_owned(), |dated| dated.iso);
                let tests = TestRules { date_format: None, ..self.rules.tests.clone() };
                if tests.reads(item, &text) {
                    self.cells.push((column, text));
                } else {
                    let note = format!("{}: {text}", item.name().replace('_', " "));
                    self.not_read(Liberty::UnknownRecord, column, &text, note);
                }
            }
            _ => {
                if let Some(column) = self.in_its_unit(place, column, texts) {
                    self.cells.push((column, text.to_owned()));
                }
            }
        }
    }

    /// A cell that cannot be read becomes a note too.
    fn not_read(&mut self, liberty: Liberty, column: Column, text: &str, note: String) {
        self.taken.push((liberty, column.to_string(), text.to_owned()));
        self.unread.push((column, text.to_owned()));
        self.notes.push(note);
    }

    fn add_notes(&mut self) {
        // A row that was filed has its unread cells and the note of them.
        let written = self.cells.iter().find(|(column, _)| *column == Column::Note).map_or("", |(_, note)| note);
        let more: Vec<&str> = self.notes.iter().filter(|more| !written.contains(*more)).map(String::as_str).collect();
        if more.is_empty() {
            return;
        }
        let more = more.join("; ");
        match self.cells.iter_mut().find(|(column, _)| *column == Column::Note) {
            Some((_, note)) => *note = format!("{note}; {more}"),
            None => self.cells.push((Column::Note, more)),
        }
    }
}

fn is_blank(text: &str) -> bool {
    matches!(text, "-" | "–" | "—") || text.eq_ignore_ascii_case("n/a")
}

fn unknown_event(text: &str) -> bool {
    !is_blank(text) && !text.eq_ignore_ascii_case("none") && Event::read(text).is_none()
}

/// The event of water that an unknown word is nearest to: `floodedd`.
fn misspelt_water(text: &str) -> Option<Event> {
    let names = WORK.iter().map(|(word, _)| *word).filter(|word| !word.contains(' '));
    let nearest = *closest(text.trim(), names, ALIKE).first()?;
    let (_, event) = WORK.iter().find(|(word, _)| *word == nearest)?;
    matches!(event, Event::Flooded | Event::Drying).then_some(*event)
}

/// Words as alike as this differ by a slip.
const ALIKE: f64 = 0.9;

/// Words of free text that name work, and the event that it may be.
const WORK: [(&str, Event); 102] = [
    ("rewound", Event::Rewound),
    ("rewind", Event::Rewound),
    ("rewinding", Event::Rewound),
    ("dried", Event::Dried),
    ("flooded", Event::Flooded),
    ("flood", Event::Flooded),
    ("submerged", Event::Flooded),
    ("under water", Event::Flooded),
    ("drying", Event::Drying),
    ("dry-out", Event::Dried),
    ("baked", Event::Dried),
    ("cleaned", Event::Cleaned),
    ("cleaning", Event::Cleaned),
    ("washed", Event::Cleaned),
    ("replaced", Event::Replaced),
    ("new motor", Event::Replaced),
    ("repaired", Event::Repaired),
    ("overhauled", Event::Repaired),
    ("neugewickelt", Event::Rewound),
    ("neu gewickelt", Event::Rewound),
    ("rebobiné", Event::Rewound),
    ("rebobinado", Event::Rewound),
    ("riavvolto", Event::Rewound),
    ("herwikkeld", Event::Rewound),
    ("omgewikkeld", Event::Rewound),
    ("overgewikkeld", Event::Rewound),
    ("gewikkeld", Event::Rewound),
    ("rewikkeling", Event::Rewound),
    ("neuwicklung", Event::Rewound),
    ("umgewickelt", Event::Rewound),
    ("neubewickelt", Event::Rewound),
    ("rebobinage", Event::Rewound),
    ("rebobinée", Event::Rewound),
    ("rebobinada", Event::Rewound),
    ("rebobinaje", Event::Rewound),
    ("rebobinagem", Event::Rewound),
    ("rebobinamento", Event::Rewound),
    ("riavvolgimento", Event::Rewound),
    ("riavvolta", Event::Rewound),
    ("austauschmotor", Event::Replaced),
    ("ersatzmotor", Event::Replaced),
    ("ausgetauscht", Event::Replaced),
    ("getauscht", Event::Replaced),
    ("neuer motor", Event::Replaced),
    ("motor getauscht", Event::Replaced),
    ("swapped", Event::Replaced),
    ("exchanged", Event::Replaced),
    ("replacement motor", Event::Replaced),
    ("exchange motor", Event::Replaced),
    ("remplacé", Event::Replaced),
    ("remplacée", Event::Replaced),
    ("remplacement", Event::Replaced),
    ("moteur neuf", Event::Replaced),
    ("nouveau moteur", Event::Replaced),
    ("reemplazado", Event::Replaced),
    ("sustituido", Event::Replaced),
    ("motor nuevo", Event::Replaced),
    ("sostituito", Event::Replaced),
    ("sostituzione", Event::Replaced),
    ("motore nuovo", Event::Replaced),
    ("substituído", Event::Replaced),
    ("trocado", Event::Replaced),
    ("motor novo", Event::Replaced),
    ("vervangen", Event::Replaced),
    ("ruilmotor", Event::Replaced),
    ("wisselmotor", Event::Replaced),
    ("nieuwe motor", Event::Replaced),
    ("repariert", Event::Repaired),
    ("instandgesetzt", Event::Repaired),
    ("überholt", Event::Repaired),
    ("réparé", Event::Repaired),
    ("réparée", Event::Repaired),
    ("révisé", Event::Repaired),
    ("reparado", Event::Repaired),
    ("riparato", Event::Repaired),
    ("revisionato", Event::Repaired),
    ("gerepareerd", Event::Repaired),
    ("gereviseerd", Event::Repaired),
    ("überflutet", Event::Flooded),
    ("inondé", Event::Flooded),
    ("inundado", Event::Flooded),
    ("allagato", Event::Flooded),
    ("alagado", Event::Flooded),
    ("overstroomd", Event::Flooded),
    ("sous l'eau", Event::Flooded),
    ("unter wasser", Event::Flooded),
    ("onder water", Event::Flooded),
    ("getrocknet", Event::Dried),
    ("séché", Event::Dried),
    ("séchage", Event::Dried),
    ("secado", Event::Dried),
    ("asciugato", Event::Dried),
    ("secagem", Event::Dried),
    ("gedroogd", Event::Dried),
    ("gereinigt", Event::Cleaned),
    ("reinigung", Event::Cleaned),
    ("nettoyé", Event::Cleaned),
    ("nettoyage", Event::Cleaned),
    ("limpieza", Event::Cleaned),
    ("pulizia", Event::Cleaned),
    ("limpeza", Event::Cleaned),
    ("gereinigd", Event::Cleaned),
];
/// Words beside them that say that the work is only meant, or was not done.
const NOT_DONE: [&str; 33] = [
    "not",
    "no",
    "never",
    "without",
    "need",
    "needs",
    "needed",
    "should",
    "must",
    "to",
    "will",
    "before",
    "prior",
    "plan",
    "planned",
    "recommend",
    "recommended",
    "due",
    "soon",
    "next",
    "if",
    "schedule",
    "scheduled",
    "request",
    "requested",
    "nicht",
    "ohne",
    "vor",
    "pas",
    "avant",
    "sin",
    "antes",
    "niet",
];

/// The event that a free text seems to name.
#[must_use]
pub fn event_in(text: &str) -> Option<Event> {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !(c.is_alphanumeric() || c == '-')).collect();
    WORK.iter()
        .find(|(word, _)| words.contains(word) || (word.contains(' ') && lower.contains(word)))
        .map(|(_, event)| *event)
}

/// The event that a note seems to name as work that was done: each clause of it counts for itself.
#[must_use]
pub fn work_in_note(note: &str) -> Option<Event> {
    let lower = note.to_lowercase();
    let clauses = lower.split(['.', ';', ',', '!', '\n']);
    clauses
        .filter(|clause| !clause.split(|c: char| !c.is_alphanumeric()).any(|word| NOT_DONE.contains(&word)))
        .find_map(event_in)
}

/// Why a file is not read in which blank units were read as MΩ before another unit came.
#[must_use]
pub fn blank_and_other_units(liberties: &Liberties, place: impl Fn(Origin) -> String) -> Option<Failure> {
    let (_, blank, _, _) = liberties.get(&Liberty::BlankUnit)?;
    let (_, other, header, unit) = liberties.get(&Liberty::OtherUnit)?;
    let message = format!(
        "{}: {} is {}, and the reading at {} has no unit; it would be read in MΩ",
        place(*other),
        shown(header),
        shown(unit),
        place(*blank)
    );
    Some(Failure::usage(message).hint("write the unit of each reading"))
}

/// A sentence for each liberty that was taken, with the first place of it.
#[must_use]
pub fn sentences(liberties: &Liberties, columns: &Columns, place: impl Fn(Origin) -> String) -> Vec<String> {
    let sentence = |(liberty, (count, origin, column, text)): (&Liberty, &(u64, Origin, String, String))| {
        // Behind the text found stands the one that proves how it is read.
        let (text, proof) = text.split_once('\n').unwrap_or((text, ""));
        let what = match liberty {
            Liberty::Thousands => format!("as {} shows, this mark separates thousands here", shown(proof)),
            Liberty::DecimalMark => format!("as {} shows, this mark is the decimal mark here", shown(proof)),
            Liberty::TextBesideReading => "the number is read, and the text is kept as a note".to_owned(),
            Liberty::LowerOfTwo => "of two readings the lower counts; both are kept as a note".to_owned(),
            Liberty::OverRange => "it is read as over range".to_owned(),
            Liberty::NoResistance => "it is read as 0".to_owned(),
            Liberty::Period => "it names no day, so the middle of it is taken".to_owned(),
            Liberty::UnknownEvent => match event_in(text) {
                Some(event) => format!(
                    "it is not a known event and is kept as a note\n\
                     hint: write {} if that was done; the trend then starts afresh",
                    event.word()
                ),
                None => "it is not a known event and is kept as a note".to_owned(),
            },
            Liberty::UnknownLeadCheck => "a lead check is ok or failed; it is kept as a note".to_owned(),
            Liberty::UnknownRecord => "it cannot be read there and is kept as a note".to_owned(),
            Liberty::BlankUnit | Liberty::OtherUnit => return None,
        };
        let what = what.split_once('\n').map_or((what.as_str(), None), |(what, hint)| (what, Some(hint)));
        let more = if *count == 1 { String::new() } else { format!(" ({count} cells like this)") };
        let hint = what.1.map_or_else(String::new, |hint| format!("\n{hint}"));
        Some(format!("{}: {} is {}; {}{more}{hint}", place(*origin), columns.as_written(column), shown(text), what.0))
    };
    liberties.iter().filter_map(sentence).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_of_work_are_told_from_notes_of_work_that_is_only_meant() {
        for (note, event) in [
            ("rewound by workshop in September", Some(Event::Rewound)),
            ("dried out in oven 24 h", Some(Event::Dried)),
            ("after cleaning", Some(Event::Cleaned)),
            ("Wicklung gereinigt", Some(Event::Cleaned)),
            ("motor omgewikkeld", Some(Event::Rewound)),
            ("Austauschmotor", Some(Event::Replaced)),
            ("moteur remplacé", Some(Event::Replaced)),
            ("motor niet vervangen", None),
            ("hot; bearing replaced, winding cleaned", Some(Event::Replaced)),
            ("not tested in June, washed in May", Some(Event::Cleaned)),
            ("needs cleaning soon", None),
            ("to be rewound", None),
            ("before drying", None),
            ("nicht gereinigt", None),
            ("new bearing", None),
            ("raining", None),
            ("", None),
        ] {
            assert_eq!(work_in_note(note), event, "{note}");
        }
    }
}
