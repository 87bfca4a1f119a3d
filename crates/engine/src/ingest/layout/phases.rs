//! Columns whose cells may be phases, under a header that does not say so.
//!
//! `U`, `V`, `W`, `R`, `S`, `T`, `L1`, `L2`, `L3` and pairs such as `A-G` prove themselves. `A`, `B`, `C` and numbers may be crews,
//! priorities or motors, and letters of which one is missing prove nothing: where a motor has several of them, people are asked.

use super::cells::{POINTS_ASKED, is_derived, is_number};
use super::grid::GridRow;
use super::label::conductors::{CUSTOMS, Custom};
use super::label::{self, Label};
use super::label_reader::LabelReader;
use super::sheet_name::SheetName;
use super::titles::{self, Values};
use crate::error::{Failure, shown};
use crate::ingest::aliases;
use crate::ingest::header_words;
use crate::ingest::kinds::reads;
use std::collections::{BTreeMap, BTreeSet};

/// Whether a cell is the letter, number or colour of a phase and nothing else.
pub(super) fn is_letter(cell: &str) -> bool {
    CUSTOMS.iter().any(|custom| is_of(custom, cell))
}

/// Whether a cell is a letter that is usual in columns of all kinds: `A` is no ampere and `C` no temperature by itself.
pub(super) fn is_usual(cell: &str) -> bool {
    matches!(cell, "A" | "B" | "C" | "a" | "b" | "c")
}

fn is_of(custom: &Custom, cell: &str) -> bool {
    custom.contains(&cell.to_lowercase().as_str())
}

/// Whether all cells are letters of one custom. `R` and `T` without the third may be a resistance and a temperature.
pub(super) fn are_of_one_custom<'a>(cells: impl Iterator<Item = &'a str>) -> bool {
    let letters: BTreeSet<String> = cells.map(str::to_lowercase).collect();
    let is_all = |custom: &Custom| letters.iter().all(|letter| is_of(custom, letter));
    let may_be_quantities = letters.iter().all(|letter| matches!(letter.as_str(), "r" | "t"));
    !may_be_quantities && CUSTOMS.iter().any(is_all)
}

/// Cells that prove to be phases or pairs of conductors.
pub(super) struct Phases {
    custom: Option<&'static Custom>,
}

impl Phases {
    /// Looks at the cells of a column. `are_points` says that others of them name what was measured.
    pub(super) fn of<'a>(
        cells: impl Iterator<Item = &'a str>,
        are_points: bool,
        reader: &LabelReader<'_>,
    ) -> Option<Self> {
        let labels: Vec<_> = cells.filter(|cell| !is_number(cell)).map(|cell| (cell, reader.read(cell))).collect();
        let custom = label::custom_of(labels.iter().map(|(_, label)| &**label));
        let is_sure_custom = custom.is_some_and(|custom| matches!(custom[0], "u" | "r" | "l1" | "u1"));
        let is_sure = |(cell, label): &(&str, std::rc::Rc<Label>)| {
            let is_own = |(letter, _): &(String, _)| custom.is_some_and(|custom| is_of(custom, letter));
            label.connection.as_deref().is_some_and(proves_itself)
                || (label.phase.as_ref().is_some_and(is_own) && (is_sure_custom || !is_letter(cell)))
        };
        let is_any = custom.is_some() || labels.iter().any(|(_, label)| label.connection.is_some());
        (is_any && (are_points || labels.iter().any(is_sure))).then_some(Self { custom })
    }

    /// Whether the letters can only be phases; `A`, `B`, `C` and numbers may name other things.
    pub(super) fn are_certain(&self) -> bool {
        self.custom.is_some_and(|custom| !is_usual_custom(custom))
    }

    /// Whether a cell is one of them. Letters count where another column names the motor, `is_named`.
    pub(super) fn has(&self, cell: &str, is_named: bool, reader: &LabelReader<'_>) -> bool {
        let label = reader.read(cell);
        let is_own = |(letter, _): &(String, _)| self.custom.is_some_and(|custom| is_of(custom, letter));
        !is_number(cell) && (label.connection.is_some() || (is_named && label.phase.as_ref().is_some_and(is_own)))
    }
}

/// Whether a pair of conductors can be nothing else: it names earth, or letters that are those of phases alone.
fn proves_itself(pair: &str) -> bool {
    let lower = pair.to_lowercase();
    let Some((one, other)) = lower.split_once(['-', '/', '–', '>', '+']) else { return true };
    let may_be_other = |part: &str| matches!(part.trim(), "a" | "b" | "c" | "1" | "2" | "3");
    !(may_be_other(one) && may_be_other(other))
}

/// Whether the cells of a column prove to be phases or pairs of conductors, whatever its header is.
pub(super) fn names_phases(rows: &[GridRow], place: usize, reader: &LabelReader<'_>) -> bool {
    let cells = || rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty()).take(POINTS_ASKED);
    let is_text = |cell: &&str| !is_number(cell) && !reads(cell);
    if !cells().take(3).any(|cell| is_text(&cell)) {
        return false;
    }
    let phases = Phases::of(cells(), false, reader);
    let is_any =
        |phases: &Phases| 10 * cells().filter(|cell| phases.has(cell, true, reader)).count() >= 7 * cells().count();
    phases.is_some_and(|phases| is_any(&phases))
}

/// So many rows tell.
const ROWS_ASKED: usize = 4000;

/// The question about a column of letters or numbers that may be phases, where one motor has several of them: on one day, where the
/// letters are usual in other columns too. `same` are the columns that tell its tests apart already, such as its connection.
pub(super) fn may_be_phases(
    rows: &[GridRow],
    (winding, same, day): (Option<usize>, &[usize], Option<usize>),
    place: usize,
    name: SheetName<'_>,
    header: &str,
    reader: &LabelReader<'_>,
) -> Option<Failure> {
    let rows = &rows[..rows.len().min(ROWS_ASKED)];
    let cells: Vec<&str> = rows.iter().map(|row| row.cells[place].trim()).filter(|cell| !cell.is_empty()).collect();
    let custom = CUSTOMS.iter().find(|custom| are_mostly_of(custom, &cells, reader))?;
    if is_derived(header)
        || aliases::units(header).is_some_and(|units| units.ohms.is_some() || units.scale.is_some())
        || titles::values_of(header, reader) == Some(Values::Other)
        || header_words::says_circumstances(header)
        || header_words::names_places(header)
        || (is_usual_custom(custom) && day.is_none())
    {
        return None;
    }
    let day = day.filter(|_| is_usual_custom(custom));
    let mut found: BTreeMap<Vec<&str>, BTreeSet<&str>> = BTreeMap::new();
    let mut named = "";
    for row in rows {
        // A name is written once for several rows.
        named = winding.map(|at| row.cells[at].as_str()).filter(|text| !text.is_empty()).unwrap_or(named);
        let cell = row.cells[place].trim();
        if is_letter_of(custom, cell, reader) {
            let key = std::iter::once(named).chain(same.iter().chain(&day).map(|at| row.cells[*at].as_str())).collect();
            found.entry(key).or_default().insert(cell);
        }
    }
    let (key, letters) = found.into_iter().find(|(_, letters)| letters.len() > 1)?;
    let several = letters.iter().map(|letter| shown(letter)).collect::<Vec<_>>().join(", ");
    let motor = key[0];
    let whose = if motor.is_empty() { "one motor".to_owned() } else { shown(motor) };
    let name = name.place;
    if header.trim().is_empty() {
        let column = place + 1;
        let message = format!(
            "{name}: column {column} (no name) has {several} for {whose}, and it is not understood what they are"
        );
        return Some(
            Failure::usage(message)
                .hint("give that column a header, such as Phase, or write what it says into the name"),
        );
    }
    let header = shown(header.trim());
    let message =
        format!("{name}: column {header} has {several} for {whose}: phases, several machines, or something else?");
    Some(Failure::usage(message).hint(format!(
        "of phases, say so under [columns] in groundwall.toml or the policy file: \"{header}\" = \"connection\"; of several machines, make one \
         name of that column and the names, \"{header}\" = \"winding\"; if it says something else of one machine, leave the column out: \
         \"{header}\" = \"-\""
    )))
}

fn is_letter_of(custom: &Custom, cell: &str, reader: &LabelReader<'_>) -> bool {
    let label = reader.read(cell);
    let is_own = |(letter, _): &(String, _)| is_of(custom, letter);
    is_of(custom, cell) || label.connection.is_some() || label.phase.as_ref().is_some_and(is_own)
}

/// Whether the letters of a custom are usual in other columns too.
fn is_usual_custom(custom: &Custom) -> bool {
    matches!(custom[0], "a" | "1" | "t1" | "red")
}

/// Whether cells are letters of a custom: most of them, or all where the letters are usual in other columns too.
fn are_mostly_of(custom: &Custom, cells: &[&str], reader: &LabelReader<'_>) -> bool {
    let letters = cells.iter().filter(|cell| is_letter_of(custom, cell, reader)).count();
    letters > 1 && if is_usual_custom(custom) { letters == cells.len() } else { 10 * letters >= 7 * cells.len() }
}
