//! Which cell of a row holds what, found from the header; and what to say when it cannot be found.

use super::aliases::{self, Meaning};
use super::bound_column::{self, BoundColumn};
use super::header_words;
use super::kinds::{is_reading, same_kind};
use super::mapping::Mapping;
use super::register_heading::describes_a_winding;
use super::unit_column::{self, Blank, UnitColumn};
use super::verdicts;
use crate::error::{Failure, shown};
use crate::similar::closest;
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::record::validate::Fault;
use groundwall::resistance::ResistanceUnit;
use groundwall::units::Elapsed;
use std::borrow::Cow;

/// More names than this are counted, not listed.
const NAMES_SHOWN: usize = 40;

/// A header is not wider than this: what is, is not a header.
pub const MOST_COLUMNS: usize = 4096;

/// The columns of one history.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    /// Place in the row and what stands there.
    pub known: Vec<(usize, Column)>,
    /// All headers as written.
    pub header: Vec<String>,
    /// How many cells a row has at least: separators behind the last name do not count.
    pub width: usize,
    /// Headers that are not ours; their cells are not read.
    pub left_alone: Vec<String>,
    /// Of those, the ones that have a name and that the site does not say to leave alone.
    pub not_understood: Vec<String>,
    /// Headers that may mean something else, and what they are taken for.
    pub assumed: Vec<(String, Column)>,
    /// Columns of units and what they belong to.
    pub units: Vec<UnitColumn>,
    /// Columns that say of readings whether they are bounds.
    pub bounds: Vec<BoundColumn>,
    /// Places of the columns of verdicts, of which what failed becomes a note.
    pub verdicts: Vec<usize>,
    /// A header that names two units at once.
    two_units: Option<String>,
}

impl Columns {
    /// Finds the columns of a history by their names, in any order.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when a required column is missing or a column is there twice.
    pub fn find(file: &str, line: u64, header: Vec<String>, mapping: &Mapping) -> Result<Self, Failure> {
        let columns = Self::resolve(header, mapping);
        if columns.width > MOST_COLUMNS {
            let message =
                format!("{file}:{line}: the header has {} cells; a header has at most {MOST_COLUMNS}", columns.width);
            return Err(Failure::usage(message).hint("check the line breaks of the file and what parts its cells"));
        }
        if let Some(name) = &columns.two_units {
            return Err(Failure::usage(format!("{file}:{line}: the header {name} names two units")).hint(format!(
                "say which it is under [columns] in the policy file, such as \"{name}\" = \"r_60s_gohm\""
            )));
        }
        columns.must_be_single(file, line, mapping)?;
        columns.must_be_complete(file, line)?;
        Ok(columns)
    }

    /// What can be understood of a row, if it were the header.
    #[must_use]
    pub fn resolve(header: Vec<String>, mapping: &Mapping) -> Self {
        let width = header.iter().rposition(|name| !name.trim().is_empty()).map_or(0, |last| last + 1);
        let mut columns = Self { header, width, ..Self::default() };
        if width > MOST_COLUMNS {
            return columns;
        }
        let mut sure = Vec::new();
        let mut likely: Vec<(usize, Column)> = Vec::new();
        for (place, name) in columns.header.iter().enumerate() {
            let written = match mapping.get(name) {
                Some(None) => continue,
                Some(Some(column)) => Some(column),
                None => Column::read(name),
            };
            match written.map_or_else(|| aliases::read(name), |column| Some(Meaning::Sure(column))) {
                Some(Meaning::Sure(column)) if written.is_some() => columns.known.push((place, column)),
                Some(Meaning::Sure(column)) => sure.push((place, column)),
                Some(Meaning::Likely(column)) => likely.push((place, column)),
                Some(Meaning::TwoUnits) => columns.two_units = Some(shown(name.trim())),
                None => {}
            }
        }
        // Our own names go before other people's, and words that may mean something else come last.
        let own = columns.known.clone();
        sure.retain(|(_, column)| !own.iter().any(|(_, other)| same_kind(column, other)));
        columns.known.extend(sure);
        if !columns.known.iter().chain(&likely).any(|(_, column)| is_reading(*column)) {
            likely.extend(columns.only_reading_of_a_voltage(mapping));
        }
        let taken = columns.known.clone();
        let candidates = likely.clone();
        // A unit on the right of a reading is that of the reading, and no name of a machine.
        let first_reading =
            taken.iter().chain(&candidates).filter(|(_, column)| is_reading(*column)).map(|(at, _)| *at).min();
        // `Result` beside `Insulation (MΩ)` is a verdict.
        let has_unit =
            |place: &usize| aliases::units(&columns.header[*place]).is_some_and(|units| units.ohms.is_some());
        likely.retain(|(place, column)| {
            let is_unit =
                unit_column::is_header(&columns.header[*place]) && first_reading.is_some_and(|at| at < *place);
            // `Date` beside `Last tested` may be the day of the tests, and which it is must be said.
            let is_taken = |(at, other): &(usize, Column)| {
                same_kind(column, other) && !(*other == Column::TestedOn && says_last(&columns.header[*at]))
            };
            !is_unit
                && !taken.iter().any(is_taken)
                && !candidates.iter().any(|(other, kind)| {
                    let is_better = is_reading(*column) && has_unit(place) && !has_unit(other);
                    other != place && same_kind(column, kind) && !is_better
                })
        });
        columns.known.extend(&likely);
        columns.reading_without_time(&mut likely);
        columns.known.sort_by_key(|(place, _)| *place);
        columns.find_units(mapping);
        columns.bounds = bound_column::find(&columns.free_places(mapping), &columns.header, &columns.known);
        columns.verdicts = columns.free_places(mapping);
        columns.verdicts.retain(|place| verdicts::heads_verdicts(&columns.header[*place]));
        columns.assumed =
            likely.into_iter().map(|(place, column)| (shown(columns.header[place].trim()), column)).collect();
        for (place, name) in columns.header.iter().enumerate().take(columns.width) {
            let is_known = columns.known.binary_search_by_key(&place, |(known, _)| *known).is_ok();
            if is_known || columns.says_how_to_read(place) || columns.verdicts.contains(&place) {
                continue;
            }
            let said = mapping.get(name).is_some();
            let text = left_alone_name(name, place);
            if !name.trim().is_empty() && !said {
                columns.not_understood.push(text.clone());
            }
            columns.left_alone.push(text);
        }
        columns
    }

    /// The one column that is headed by a resistance and the voltage of the test; of two, each is a test of its own.
    fn only_reading_of_a_voltage(&self, mapping: &Mapping) -> Option<(usize, Column)> {
        let mut found = self.header.iter().enumerate().filter(|(_, name)| mapping.get(name).is_none()).filter_map(
            |(place, name)| match aliases::read(&aliases::voltage_and_rest(name)?.1)? {
                Meaning::Sure(column) | Meaning::Likely(column) => Some((place, column)).filter(|_| is_reading(column)),
                Meaning::TwoUnits => None,
            },
        );
        found.next().filter(|_| found.next().is_none())
    }

    /// Columns of units, where the header alone can tell: not one that names the windings.
    fn find_units(&mut self, mapping: &Mapping) {
        let places: Vec<usize> = (0..self.width)
            .filter(|place| !self.known.iter().any(|(known, _)| known == place))
            .filter(|place| mapping.get(&self.header[*place]).is_none() && unit_column::is_header(&self.header[*place]))
            .collect();
        self.units = unit_column::find(&places, &self.header, &self.known);
    }

    /// Columns that neither the header nor the site says anything of.
    #[must_use]
    pub fn free_places(&self, mapping: &Mapping) -> Vec<usize> {
        let is_free = |place: &usize| {
            !self.known.iter().any(|(known, _)| known == place)
                && !self.says_how_to_read(*place)
                && mapping.get(&self.header[*place]).is_none()
        };
        (0..self.width).filter(is_free).collect()
    }

    /// Columns of temperatures whose headers are the site's own words and name no scale.
    #[must_use]
    pub fn without_scale(&self, mapping: &Mapping) -> Vec<usize> {
        let is_temperature = |column: &Column| matches!(column, Column::WindingTemp(_) | Column::AirTemp(_));
        let is_said = |header: &str| {
            Column::read(header).is_some()
                || mapping.get(header).is_some()
                || aliases::units(header).is_none_or(|units| units.scale.is_some())
        };
        let known =
            self.known.iter().filter(|(place, column)| is_temperature(column) && !is_said(&self.header[*place]));
        known.map(|(place, _)| *place).collect()
    }

    /// Reads the bare numbers of a column of temperatures in °F.
    pub fn read_in_fahrenheit(&mut self, place: usize) {
        let scale = TemperatureScale::Fahrenheit;
        let Some((_, column)) = self.known.iter_mut().find(|(known, _)| *known == place) else { return };
        let before = *column;
        *column = match before {
            Column::AirTemp(_) => Column::AirTemp(scale),
            _ => Column::WindingTemp(scale),
        };
        let after = *column;
        for (_, assumed) in self.assumed.iter_mut().filter(|(_, assumed)| *assumed == before) {
            *assumed = after;
        }
    }

    /// Takes free columns for units where their first cells are: a number is not read in another unit than the one beside it.
    pub fn take_for_units(&mut self, first_cells: impl Iterator<Item = (usize, Vec<String>)>) {
        let mut readings = self.known.iter().filter(|(_, column)| is_reading(*column)).peekable();
        let has_unit = |(place, _): &(usize, Column)| {
            aliases::units(&self.header[*place]).is_some_and(|units| units.ohms.is_some())
        };
        let is_said = readings.peek().is_some() && readings.all(has_unit);
        // Of a place, a maker or a colour `GΩ` is not a unit; beside a bare number it stops the run.
        let may_hold = |place: usize| !header_words::describes_machines(&self.header[place]);
        let first_cells = first_cells.filter(|(place, _)| may_hold(*place));
        let holds_units = |(place, cells): (usize, Vec<String>)| {
            unit_column::holds_units(cells.iter().map(String::as_str), is_said).then_some(place)
        };
        let found: Vec<usize> = first_cells.filter_map(holds_units).collect();
        if found.is_empty() {
            return;
        }
        let mut places: Vec<usize> = self.units.iter().map(|unit| unit.place).chain(found.iter().copied()).collect();
        places.sort_unstable();
        self.units = unit_column::find(&places, &self.header, &self.known);
        for place in found {
            let name = left_alone_name(&self.header[place], place);
            self.left_alone.retain(|other| *other != name);
            self.not_understood.retain(|other| *other != name);
        }
    }

    /// Whether a column holds the units of cells beside it, or says which of them are bounds.
    fn says_how_to_read(&self, place: usize) -> bool {
        self.units.iter().any(|unit| unit.place == place) || self.bounds.iter().any(|bound| bound.place == place)
    }

    /// Whether a header names one of the columns of units or of bounds.
    #[must_use]
    pub fn is_unit_or_bound(&self, header: &str) -> bool {
        self.units.iter().any(|unit| unit.header == header) || self.bounds.iter().any(|bound| bound.header == header)
    }

    /// The text of a reading with the bound beside it. `cell` gives the text at another place of the row.
    ///
    /// # Errors
    ///
    /// The fault of the bound.
    pub fn with_bound<'t>(
        &self,
        place: usize,
        text: &'t str,
        cell: impl Fn(usize) -> &'t str,
    ) -> Result<Cow<'t, str>, Fault> {
        match self.bounds.iter().find(|bound| bound.belongs_to.contains(&place)) {
            Some(bound) => bound.apply(cell(bound.place), text),
            None => Ok(text.into()),
        }
    }

    /// A cell as it is meant: in the unit and with the bound that stand beside it; none where either is not known. `cell` gives the text
    /// at a place of the row.
    #[must_use]
    pub fn as_meant<'t>(
        &self,
        place: usize,
        column: Column,
        cell: &impl Fn(usize) -> &'t str,
    ) -> Option<(Column, Cow<'t, str>)> {
        let mut units = self.units.iter().filter(|unit| unit.belongs_to.contains(&place));
        let column = units.try_fold(column, |column, unit| {
            let text = match (cell(unit.place), &unit.blank) {
                ("", Blank::Megohms) => return Some(column),
                ("", Blank::AsFirst(first)) => first,
                ("", Blank::Unknown(_)) => return (!is_reading(column)).then_some(column),
                (text, _) => text,
            };
            unit.apply(text, column, &self.header[place]).ok()
        })?;
        let text = cell(place);
        Some((column, if is_reading(column) { self.with_bound(place, text, cell).ok()? } else { text.into() }))
    }

    /// A resistance of no time is that after one minute, where no column of times says otherwise.
    fn reading_without_time(&mut self, likely: &mut Vec<(usize, Column)>) {
        if self.known.iter().any(|(_, column)| matches!(column, Column::Elapsed(_))) {
            return;
        }
        let Ok(minute) = Elapsed::from_seconds(60.0) else { return };
        let has_minute = self.known.iter().any(|(_, c)| matches!(c, Column::Reading(at, _) if *at == minute));
        let Some(index) = self.known.iter().position(|(_, column)| matches!(column, Column::Resistance(_))) else {
            return;
        };
        let (place, column) = self.known.remove(index);
        likely.retain(|(other, _)| *other != place);
        if let (Column::Resistance(unit), false) = (column, has_minute) {
            self.known.push((place, Column::Reading(minute, unit)));
            likely.push((place, Column::Reading(minute, unit)));
        }
    }

    /// Whether a history can be read with these columns.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.missing().is_empty()
    }

    /// Whether any column holds temperatures of the winding.
    #[must_use]
    pub fn has_winding_temp(&self) -> bool {
        self.known.iter().any(|(_, column)| matches!(column, Column::WindingTemp(_)))
    }

    /// Whether any column can be nothing but readings: `insulation`, which registers have, may also mean a resistance.
    fn has_sure_reading(&self) -> bool {
        let assumed = |column: &Column| self.assumed.iter().any(|(_, other)| other == column);
        self.known.iter().any(|(_, column)| matches!(column, Column::Reading(..)) && !assumed(column))
    }

    /// Whether each row holds one timed reading.
    #[must_use]
    pub fn is_timed(&self) -> bool {
        let has = |test: fn(&Column) -> bool| self.known.iter().any(|(_, column)| test(column));
        has(|column| matches!(column, Column::Elapsed(_))) && has(|column| matches!(column, Column::Resistance(_)))
    }

    /// The header of a column as the file writes it.
    #[must_use]
    pub fn as_written(&self, column: &str) -> String {
        let written = self.known.iter().find(|(_, known)| known.to_string() == column);
        written.map_or_else(|| column.to_owned(), |(place, _)| shown(self.header[*place].trim()))
    }

    /// The header of a column as the file writes it, if it is there.
    #[must_use]
    pub fn as_written_if_known(&self, column: Column) -> Option<String> {
        let (place, _) = self.known.iter().find(|(_, known)| *known == column)?;
        Some(shown(self.header[*place].trim()))
    }

    /// The notes in columns of verdicts that say of a row that its test failed. `cell` gives the text at a place of the row.
    pub fn failures<'s, 't: 's>(&'s self, cell: impl Fn(usize) -> &'t str + 's) -> impl Iterator<Item = String> + 's {
        let failed = self.verdicts.iter().map(move |place| (*place, cell(*place).trim()));
        failed
            .filter(|(place, text)| verdicts::is_failure_under(&self.header[*place], text))
            .map(|(place, text)| format!("verdict failed, {}: {text}", self.header[place].trim()))
    }

    /// Two readings at one time may agree row by row and are compared there, and notes are joined; any other column comes once.
    fn must_be_single(&self, file: &str, line: u64, mapping: &Mapping) -> Result<(), Failure> {
        for (i, (place, column)) in self.known.iter().enumerate() {
            if matches!(column, Column::Reading(..) | Column::Note) {
                continue;
            }
            if let Some((first, _)) = self.known[..i].iter().find(|(_, other)| other == column) {
                let message = format!("{file}:{line}: the columns {} and {} are both {column}", first + 1, place + 1);
                let (one, other) = (self.header[*first].trim(), self.header[*place].trim());
                if *column == Column::TestedOn && !one.eq_ignore_ascii_case(other) {
                    return Err(Failure::usage(message).hint(format!(
                        "under [columns] in groundwall.toml or the policy file, leave out the one that is not the day of the tests: \"{}\" = \"-\" \
                         or \"{}\" = \"-\"",
                        shown(one),
                        shown(other)
                    )));
                }
                if one.eq_ignore_ascii_case(other) || *column != Column::Winding || mapping.get(one).is_some() {
                    return Err(Failure::usage(message).hint("rename or delete the one that is not to be read"));
                }
                let (one, other) = (shown(one), shown(other));
                return Err(Failure::usage(message).hint(format!(
                    "under [columns] in groundwall.toml or the policy file, leave one out: \"{other}\" = \"-\"; or make one name of both: \
                     \"{one}\" = \"winding\" and \"{other}\" = \"winding\""
                )));
            }
        }
        Ok(())
    }

    /// The columns without which a history cannot be read, as far as they are not there.
    #[must_use]
    pub fn missing(&self) -> Vec<&'static str> {
        let mut missing = Vec::new();
        for (column, name) in [(Column::Winding, "winding"), (Column::TestedOn, "tested_on")] {
            if !self.known.iter().any(|(_, known)| *known == column) {
                missing.push(name);
            }
        }
        if !self.is_timed() && !self.known.iter().any(|(_, known)| matches!(known, Column::Reading(..))) {
            let timed = self.known.iter().any(|(_, known)| matches!(known, Column::Elapsed(_)));
            missing.push(if timed { "resistance" } else { "r_60s" });
        }
        missing
    }

    /// The headers of a register's columns, where neither a day nor a reading stands beside them.
    #[must_use]
    pub fn nameplate_headers(&self) -> Option<Vec<String>> {
        let names = self.header.iter().filter(|name| describes_a_winding(name)).map(|name| shown(name.trim()));
        let names: Vec<String> = names.collect();
        let says_reading = |name: &String| {
            let has_unit =
                aliases::units(name).is_some_and(|units| units.ohms.is_some_and(|unit| unit != ResistanceUnit::Ohm));
            !aliases::says_limit(name) && (has_unit || aliases::names_a_further_reading(name))
        };
        let has_readings = self.has_sure_reading() || self.header.iter().any(says_reading);
        let is_register = self.missing().contains(&"tested_on") && !has_readings && !names.is_empty();
        is_register.then_some(names)
    }

    fn must_be_complete(&self, file: &str, line: u64) -> Result<(), Failure> {
        let missing = self.missing();
        if missing.is_empty() {
            return Ok(());
        }
        if let Some(nameplate) = self.nameplate_headers() {
            let message = format!(
                "{file}:{line}: the header has {} and neither a day nor a reading; this looks like a register, not a history",
                nameplate.join(", ")
            );
            return Err(Failure::usage(message)
                .hint("name it with --register; a history has one row per test, with winding, tested_on and r_60s"));
        }
        Err(missing_columns(file, line, &missing, &self.header, &self.left_alone))
    }
}

/// A column that is not read, as messages name it.
fn left_alone_name(header: &str, place: usize) -> String {
    let name = header.trim();
    if name.is_empty() { format!("column {} (no name)", place + 1) } else { shown(name) }
}

/// Marks that may part the cells of a header that was read as a single cell.
const PARTING: [char; 4] = ['|', ';', '\t', ','];

/// What to do about a file whose cells another mark parts than the one it was read with.
#[must_use]
pub fn delimiter_hint(mark: char) -> String {
    let (shown, name) = match mark {
        ',' => ("`,`", "comma"),
        ';' => ("`;`", "semicolon"),
        '\t' => ("tabs", "tab"),
        _ => {
            return format!(
                "`{mark}` is not a supported delimiter; save the file with commas, semicolons or tabs between them"
            );
        }
    };
    format!("the file seems to be separated by {shown}: leave out --delimiter, or use --delimiter {name}")
}

/// Whether a header begins with a word for the last time and mentions no reading.
fn says_last(header: &str) -> bool {
    const WORDS: [&str; 10] =
        ["last", "latest", "letzte", "letzter", "dernier", "dernière", "último", "última", "ultima", "laatste"];
    let first = header.split_whitespace().next().unwrap_or_default().to_lowercase();
    WORDS.contains(&first.as_str()) && !may_hold_readings(header)
}

/// Whether a header that is not understood may be that of readings, so that a message may propose it.
/// Whether a header speaks of other upkeep than a test.
fn is_of_upkeep(header: &str) -> bool {
    const WORDS: [&str; 12] = [
        "greased",
        "serviced",
        "oiled",
        "lubricated",
        "cleaned",
        "overhauled",
        "replaced",
        "calibrated",
        "started",
        "run",
        "graissage",
        "geschmiert",
    ];
    let lower = header.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).any(|word| WORDS.contains(&word))
}

fn may_hold_readings(header: &str) -> bool {
    aliases::names_a_resistance(header)
        && !aliases::has_unit_of_something_else(header)
        && !aliases::says_limit(header)
        && !aliases::names_something_else(header)
}

/// The failure for required columns that are missing: which, what was found instead, the closest names.
#[must_use]
pub fn missing_columns(file: &str, line: u64, missing: &[&str], header: &[String], unknown: &[String]) -> Failure {
    let mut found: Vec<String> = header.iter().take(NAMES_SHOWN).map(|name| shown(name.trim())).collect();
    if header.len() > NAMES_SHOWN {
        found.push(format!("and {} more", header.len() - NAMES_SHOWN));
    }
    let (noun, verb) = if missing.len() == 1 { ("column", "is") } else { ("columns", "are") };
    let message =
        format!("{file}:{line}: the {noun} {} {verb} missing; the header has {}", missing.join(", "), found.join(", "));
    if let [only] = header
        && let Some(mark) = only.chars().find(|c| PARTING.contains(c))
    {
        return Failure::usage(message).hint(delimiter_hint(mark));
    }
    let near: Vec<String> = missing
        .iter()
        .filter_map(|name| {
            let free = unknown.iter().map(String::as_str).filter(|name| !aliases::says_limit(name));
            // `Last checked` is a day, whatever its letters are like.
            let last: Vec<&str> = free
                .clone()
                .filter(|header| *name == "tested_on" && says_last(header) && !is_of_upkeep(header))
                .collect();
            let may_be = |header: &&str| match *name {
                "winding" => !aliases::names_ohms_or_degrees(header),
                "r_60s" => !aliases::has_unit_of_something_else(header) && !aliases::names_index(header),
                _ => true,
            };
            let alike = || closest(name, free.filter(may_be), 0.6);
            let like = if last.is_empty() { alike() } else { last };
            let like: Vec<&str> = like.into_iter().take(2).collect();
            (!like.is_empty()).then(|| format!("closest to {name}: {}", like.join(", ")))
        })
        .collect();
    let readings: Vec<&str> =
        unknown.iter().map(String::as_str).filter(|name| may_hold_readings(name)).take(NAMES_SHOWN).collect();
    if *missing == ["r_60s"] && readings.len() > 1 {
        return Failure::usage(message).hint(format!(
            "several columns may hold readings: {}; say under [columns] in the policy file what each of them is; columns for \
             different connections or from before and after work cannot be distinguished there: give each of their readings a row of its own",
            readings.join(", ")
        ));
    }
    let in_doubt = header.iter().find(|name| aliases::names_unknown_ohms(name));
    if let Some(name) = in_doubt.filter(|_| missing.contains(&"r_60s")) {
        return Failure::usage(format!("{message}; the unit of {} is unclear", shown(name.trim()))).hint(
            "write MΩ, kΩ or GΩ into that header, or say what it holds under [columns] in the policy file: r_60s in MΩ, r_60s_kohm in kΩ, \
             r_60s_gohm in GΩ",
        );
    }
    let what = "say under [columns] in the policy file which column holds it; `groundwall check --suggest` writes that section";
    let reading = match missing.contains(&"r_60s") {
        true if unknown.len() > 1 => {
            "; a reading after one minute is r_60s in MΩ, r_60s_kohm in kΩ, r_60s_gohm in GΩ; after ten it is r_600s; name every column that holds readings, as one that is not named is not read"
        }
        true => {
            "; a reading after one minute is r_60s in MΩ, r_60s_kohm in kΩ, r_60s_gohm in GΩ; after ten it is r_600s"
        }
        false => "",
    };
    let near = if near.is_empty() { String::new() } else { format!(" ({})", near.join("; ")) };
    let one_motor = match missing {
        ["winding"] => "; if all tests are of one motor, write its name above the header, such as Motor: P-101",
        _ => "",
    };
    Failure::usage(message).hint(format!("{what}{near}{reading}{one_motor}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(header: &str) -> Result<Columns, String> {
        let names = header.split(',').map(str::to_owned).collect();
        Columns::find("plant.csv", 1, names, &Mapping::default()).map_err(|failure| failure.to_string())
    }

    #[test]
    fn columns_are_found_in_any_order_and_foreign_ones_are_left_alone() {
        let columns = find("r_10min,Trolley, TESTED ON ,,Winding");
        assert_eq!(
            columns.map(|c| (c.known.iter().map(|(place, _)| *place).collect(), c.left_alone, c.header.len())),
            Ok((vec![0, 2, 4], vec!["Trolley".to_owned(), "column 4 (no name)".to_owned()], 5))
        );
    }

    #[test]
    fn times_by_primes_and_one_voltage_in_a_header_are_understood() {
        let names = |header: &str| {
            find(header).map(|columns| columns.known.iter().map(|(_, column)| column.to_string()).collect::<Vec<_>>())
        };
        let plain = ["winding", "tested_on"];
        assert_eq!(
            names("Motor,Date,15\",30\",1',10'"),
            Ok([&plain[..], &["r_15s", "r_30s", "r_60s", "r_600s"]].concat().into_iter().map(str::to_owned).collect())
        );
        for header in ["IR @ 500 VDC 1 min (MΩ)", "IR at 500V (MΩ)", "IR 1 min 500 V DC"] {
            assert_eq!(
                names(&format!("Eq. No.,Date,{header}")),
                Ok([&plain[..], &["r_60s"]].concat().into_iter().map(str::to_owned).collect()),
                "{header}"
            );
        }
        assert!(names("Motor,Date,IR 500V (MΩ),IR 1000V (MΩ)").is_err());
    }

    #[test]
    fn a_missing_column_is_named_with_the_closest() {
        assert_eq!(
            find("windings,test_dates,Rx60"),
            Err("plant.csv:1: the columns winding, tested_on, r_60s are missing; \
                 the header has windings, test_dates, Rx60\n\
                 hint: say under [columns] in the policy file which column holds it; \
                 `groundwall check --suggest` writes that section (closest to winding: windings; \
                 closest to tested_on: test_dates; closest to r_60s: Rx60); \
                 a reading after one minute is r_60s in MΩ, r_60s_kohm in kΩ, r_60s_gohm in GΩ; after ten it is r_600s; \
                 name every column that holds readings, as one that is not named is not read"
                .to_owned())
        );
        assert_eq!(
            find("winding,qqq,r_60s"),
            Err("plant.csv:1: the column tested_on is missing; the header has winding, qqq, r_60s\n\
                 hint: say under [columns] in the policy file which column holds it; \
                 `groundwall check --suggest` writes that section"
                .to_owned())
        );
    }

    #[test]
    fn a_unit_that_cannot_be_told_is_asked_for() {
        assert_eq!(
            find("Motor,Date,IR (mΩ)"),
            Err("plant.csv:1: the column r_60s is missing; the header has Motor, Date, IR (mΩ); the unit of IR (mΩ) is unclear\n\
                 hint: write MΩ, kΩ or GΩ into that header, or say what it holds under [columns] in the policy file: r_60s in MΩ, \
                 r_60s_kohm in kΩ, r_60s_gohm in GΩ"
                .to_owned())
        );
    }

    #[test]
    fn a_header_in_one_cell_leads_to_the_mark_that_parts_it() {
        for (header, hint) in [
            (
                "winding|tested_on|r_60s",
                "`|` is not a supported delimiter; save the file with commas, semicolons or tabs between them",
            ),
            (
                "winding;tested_on;r_60s",
                "the file seems to be separated by `;`: leave out --delimiter, or use --delimiter semicolon",
            ),
        ] {
            assert_eq!(
                find(header),
                Err(format!(
                    "plant.csv:1: the columns winding, tested_on, r_60s are missing; the header has {header}\nhint: {hint}"
                ))
            );
        }
    }

    #[test]
    fn what_is_wider_than_any_header_is_none() {
        let wide = "winding,".repeat(MOST_COLUMNS + 1);
        assert_eq!(
            find(&wide),
            Err("plant.csv:1: the header has 4097 cells; a header has at most 4096\n\
                 hint: check the line breaks of the file and what parts its cells"
                .to_owned())
        );
    }

    #[test]
    fn a_column_stands_once() {
        assert_eq!(
            find("winding,tested_on,r_60s,Winding"),
            Err("plant.csv:1: the columns 1 and 4 are both winding\n\
                 hint: rename or delete the one that is not to be read"
                .to_owned())
        );
        assert_eq!(
            find("Anlage,Antrieb,Datum,MΩ"),
            Err("plant.csv:1: the columns 1 and 2 are both winding\n\
                 hint: under [columns] in groundwall.toml or the policy file, leave one out: \"Antrieb\" = \"-\"; or make one name of both: \
                 \"Anlage\" = \"winding\" and \"Antrieb\" = \"winding\""
                .to_owned())
        );
        assert!(find("winding,tested_on,r_60s,r_1min").is_ok());
    }

    /// The insulation of a register is not read as a resistance, and a history without days is none.
    #[test]
    fn a_register_is_no_history() {
        assert_eq!(
            find("Motor no.,Rated kV,Insulation,Year"),
            Err("plant.csv:1: the header has Rated kV, Year and neither a day nor a reading; this looks like a register, not a \
                 history\n\
                 hint: name it with --register; a history has one row per test, with winding, tested_on and r_60s"
                .to_owned())
        );
        // Readings are under MΩ, and days under a header that is not understood.
        assert_eq!(
            find("Motor,kW,Min. MΩ,Next due,Last check,MΩ"),
            Err("plant.csv:1: the column tested_on is missing; the header has Motor, kW, Min. MΩ, Next due, Last check, MΩ\n\
                 hint: say under [columns] in the policy file which column holds it; `groundwall check --suggest` writes that section \
                 (closest to tested_on: Last check)"
                .to_owned())
        );
        let undated = find("winding,construction,r_60s");
        assert!(undated.is_err_and(|said| said.starts_with("plant.csv:1: the column tested_on is missing; ")));
    }
}
