//! Some columns of a block, read by their plan.

use super::ask;
use super::blocks::Block;
use super::cells::{are_in_two_units, holds_readings, is_derived, is_number, is_total, says_reading, share};
use super::context::{Context, is_usual_sheet};
use super::grid::GridRow;
use super::label::conductors::begins_with_phase;
use super::label::{self, Field, Label};
use super::plan::{Plan, filled, names_readings_by_unit};
use super::sheet::Sheet;
use super::titles::{self, Values};
use super::unnamed::{self, may_be_readings};
use super::years;
use crate::error::shown;
use crate::ingest::aliases;
use crate::ingest::header_words;
use crate::ingest::kinds::{is_reading, reads};
use crate::ingest::unit::Unit;
use crate::ingest::unit_column::Blank;
use groundwall::record::columns::Column;
use groundwall::record::says_failed;
use std::collections::{BTreeMap, BTreeSet};

impl<'a> Sheet<'a> {
    /// Reads one block, or one of several side by side.
    pub(super) fn range(
        &mut self,
        block: &Block<'a>,
        labels: Vec<(usize, Label)>,
        headers: BTreeMap<usize, String>,
        context: Context,
    ) {
        let mut plan = Plan::of((block.rows, self.of_header(block)), labels, headers, context, self.reader);
        self.seen.windings_across |= plan.windings_across;
        for first in plan
            .units
            .iter()
            .filter_map(|(_, blank)| if let Blank::AsFirst(first) = blank { Some(first) } else { None })
        {
            self.remarks.push(format!(
                "{}: a column of units has {} in its first row and nothing below, so the rows below are read in that unit too",
                self.name.place,
                shown(first)
            ));
        }
        self.name_from_sheet(&mut plan);
        self.open_question = self.open_question.take().or_else(|| ask::about(self, block, &plan));
        let entries = self.entries(block, &plan);
        if let Some((Values::Temperatures(_), title)) = &plan.context.values {
            // They belong to tests of other blocks.
            let (readings, others): (Vec<_>, Vec<_>) = entries.into_iter().partition(|entry| is_reading(entry.column));
            self.no_resistances = plan.context.values.clone();
            self.deferred.extend(others.into_iter().map(|entry| (entry, title.clone())));
            self.join(readings, false, plan.dates_across, &plan.context);
        } else {
            self.join(entries, plan.point.is_some() && !plan.dates_across, plan.dates_across, &plan.context);
        }
        self.note_ignored(block.rows, &plan);
        self.seen.header_rows |= block.headers.len() > 1;
        self.seen.dates_across |= plan.dates_across;
        self.seen.points |= plan.point.is_some();
        self.seen.clock |= plan.clock.is_some();
        self.seen.timed |= plan.elapsed.is_some();
        let is_own =
            |(at, name): (&usize, &String)| Some(*at) != plan.winding && Column::read(name) == Some(Column::Winding);
        self.seen.machines |= plan.components.is_empty() && plan.winding.is_some() && plan.headers.iter().any(is_own);
        self.seen.components |= !plan.components.is_empty() || plan.context.component.is_some();
        self.seen.units |= !plan.units.is_empty();
        let connections: BTreeSet<&String> =
            plan.values.iter().filter_map(|(_, label)| label.connection.as_ref()).collect();
        self.seen.phases_across |= connections.len() > 1;
        self.seen.units_across |= are_in_two_units(block.rows, plan.values.iter().map(|(at, label)| (*at, label)));
        self.seen.stages_across |= plan.values.iter().any(|(_, label)| label.stage.is_some());
    }

    /// The name of the motor from the title or the sheet, and the date from the sheet, where no column has them.
    fn name_from_sheet(&mut self, plan: &mut Plan) {
        if plan.winding.is_none() && plan.context.winding().is_none() && !plan.windings_across {
            let sheet = self.name.sheet.filter(|sheet| !label::names_a_round_alone(sheet) && !is_usual_sheet(sheet));
            let sheet = sheet.filter(|sheet| self.name.several || sheet.contains(|c: char| c.is_ascii_digit()));
            let title = plan.context.title.clone().filter(|_| self.has_blocks);
            if let Some(name) = plan.context.name.clone().or(title) {
                self.seen.title_winding = true;
                self.title_name = Some(name.clone()).filter(|_| !plan.context.group).or(self.title_name.take());
                plan.context.columns.push((Column::Winding, name));
            } else if let Some(sheet) = sheet {
                self.seen.sheet_winding = true;
                plan.context.columns.push((Column::Winding, sheet.to_owned()));
            }
        } else if let (None, Some(title)) = (plan.winding, plan.context.winding()) {
            self.seen.title_winding = true;
            // A sheet that was copied and given another name, but not another title.
            if let Some(sheet) =
                self.name.sheet.filter(|sheet| form_of(sheet) == form_of(title) && !is_same(sheet, title))
            {
                self.two_names = Some((sheet.to_owned(), title.to_owned()));
            }
        }
        let label = self.name.sheet.map(|sheet| self.reader.read(sheet));
        let part = label.and_then(|label| label.part.clone());
        let of_sheet = self.name.sheet.and_then(|sheet| Some((sheet, years::of_title(sheet, self.reader)?)));
        let (explicit, titles) = (plan.context.date.take(), &plan.context.titled);
        let said = years::said(self.name.place, explicit, titles, of_sheet, &self.forms);
        plan.context.date = match (&said.date, part) {
            // A sheet `January` with the year in its title.
            (Some(year), Some(part)) if year.len() == 4 => Some(format!("{part} {year}")),
            (date, _) => date.clone(),
        };
        (plan.context.year, plan.context.question) = (said.year, said.question);
        plan.context.question_of_day = said.question_of_day;
        if let (None, Some(sheet)) = (&plan.context.values, self.name.sheet) {
            let values = titles::values_of(sheet, self.reader);
            plan.context.values = values.map(|values| (values, sheet.to_owned()));
        }
    }

    /// Columns that were not read, by their headers, and those of them that seem to hold readings.
    fn note_ignored(&mut self, rows: &[GridRow], plan: &Plan) {
        let elapsed = plan.elapsed.map(|(at, _)| at);
        let keys = [plan.winding, plan.point, plan.date, plan.clock, elapsed];
        let values: BTreeMap<usize, &Label> = plan.values.iter().map(|(at, label)| (*at, label)).collect();
        for (at, label) in &plan.labels {
            let is_used = match label.field {
                Some(Field::Column(Column::Connection | Column::Scope))
                | Some(Field::Year | Field::Quarter | Field::Month | Field::Week | Field::Unit) => true,
                Some(Field::WorkOrder) => !plan.dates_across,
                _ => false,
            };
            // `Date` after columns that are headed by dates, with readings below it, is the newest of them.
            let first = plan.labels.iter().find(|(_, label)| label.is_dated()).map(|(at, _)| *at);
            if plan.dates_across
                && Some(*at) == plan.date
                && first.is_some_and(|first| first < *at)
                && holds_readings(rows, *at)
                && let Some(header) = plan.headers.get(at)
            {
                self.unread_readings.insert(*at, shown(header));
            }
            // Numbers under a header of connections are none.
            let is_used = is_used && !(label.names_what_is_tested() && holds_measured(rows, *at));
            if is_used
                || keys.contains(&Some(*at))
                || plan.components.contains(at)
                || values.contains_key(at)
                || (plan.verdicts.contains(at) && !holds_readings(rows, *at))
            {
                continue;
            }
            let header = plan.headers.get(at);
            let name = match header {
                Some(header) => shown(header),
                None if filled(rows, *at).any(reads) => format!("column {} (no name)", at + 1),
                None => continue,
            };
            if !label.left_out && seems_to_hold_readings(rows, plan, &values, (*at, label)) {
                self.unread_readings.insert(*at, name.clone());
            }
            if !label.left_out && !self.not_understood.contains(&name) {
                self.not_understood.push(name.clone());
            }
            if !self.ignored.contains(&name) {
                self.ignored.push(name);
            }
        }
    }
}

/// Whether a column that is not read, and not left out, seems to hold readings. `values` are the columns that are read.
fn seems_to_hold_readings(
    rows: &[GridRow],
    plan: &Plan,
    values: &BTreeMap<usize, &Label>,
    (at, label): (usize, &Label),
) -> bool {
    let header = plan.headers.get(&at).map(String::as_str);
    let is_headed = |is: &dyn Fn(&str) -> bool| header.is_some_and(is);
    let is_open = !label.is_known() || label.unknown;
    let of_values: Vec<usize> =
        values.iter().filter(|(_, label)| label.column().is_some_and(is_reading)).map(|(at, _)| *at).collect();
    if (is_open && names_readings_by_unit(rows, at) && !is_headed(&aliases::names_something_else))
        || (is_open
            && !plan.dates_across
            && may_be_readings(rows, plan.winding, &of_values, at, header.unwrap_or_default()))
    {
        return true;
    }
    // Where all other readings are headed by their dates, one that is not is of another day; or by motors, of another motor.
    let is_check = header.is_none_or(|header| plan.dates_across && header_words::names_a_check(header));
    let is_of_another = is_open && (plan.dates_across || plan.windings_across) && is_check;
    // Beside motors in columns, numbers are those of another motor unless they are known as something else.
    let is_beside_motors = (plan.windings_across || plan.context.group)
        && label.column().is_none_or(is_reading)
        && is_headed(&|header| {
            // `Hours` is a count, and `Speed winder` a machine.
            let mut words = header.split_whitespace();
            let is_alone =
                words.clone().count() == 1 || words.next_back().is_some_and(|unit| Unit::read(unit).is_some());
            let is_count = is_alone && aliases::names_a_count(header);
            !is_count && !aliases::has_unit_of_something_else(header) && !is_total(header) && !counts_rows(rows, at)
        });
    // Beside dates, a header that nobody understands may be the newest of them.
    let is_after_dates = plan.dates_across && plan.labels.iter().any(|(other, label)| label.is_dated() && *other < at);
    let may_be_newest = is_after_dates
        && label.column().is_none_or(is_reading)
        && is_headed(&|header| !is_total(header) && (unnamed::is_open(header) || says_no_date(header)))
        && (filled(rows, at).count() == 1 || filled(rows, at).collect::<BTreeSet<_>>().len() > 1);
    let is_said = || {
        let connections = values.values().filter(|label| label.connection.is_some()).count();
        let is_read = |other: &Label| other.column().is_some_and(is_reading);
        // `Corrected (MΩ)` may follow from a reading of any connection, and `C` is a phase.
        let has_unit = is_headed(&|header| aliases::units(header).is_some_and(|units| units.ohms.is_some()));
        let of_own = |other: &Label| {
            let connection = if has_unit { &label.connection } else { &other.connection };
            Label { connection: connection.clone(), ..other.clone() }.is_of_the_same_test(label)
        };
        let is_beside = || values.values().any(|other| is_read(other) && of_own(other));
        is_headed(&|header| {
            let says = says_reading(header, label)
                || label.names_what_is_tested()
                || (connections > 1 && begins_with_phase(header));
            says && !(is_derived(header) && is_beside())
        })
    };
    // A test made again without a date of its own may be the latest.
    let is_again = || is_headed(&header_words::names_a_repeat);
    (is_of_another || is_beside_motors || may_be_newest || is_again() || is_said()) && holds_readings(rows, at)
}

/// Whether a header says of a test that it does not count, or where more is said of it, in place of its date: `void`, `see note`.
fn says_no_date(header: &str) -> bool {
    says_failed(header) || header.to_lowercase().starts_with("see ")
}

/// Whether the cells of a column count the rows.
fn counts_rows(rows: &[GridRow], place: usize) -> bool {
    let mut numbers = filled(rows, place).map(|cell| cell.trim_end_matches('.').parse::<u32>().ok());
    let Some(Some(first)) = numbers.next() else { return false };
    numbers.zip(first + 1..).all(|(number, expected)| number == Some(expected)) && first < 2
}

/// Whether the cells of a column are numbers other than those of phases.
fn holds_measured(rows: &[GridRow], place: usize) -> bool {
    let is_measured = |cell: &str| is_number(cell) && !matches!(cell, "1" | "2" | "3");
    share(filled(rows, place), &is_measured) > 0.5
}

/// The form of a name: `P-1` and `P-27` are both a letter, a hyphen and a number.
fn form_of(name: &str) -> Vec<char> {
    let kind = |c: char| if c.is_ascii_digit() { '9' } else { c.to_lowercase().next().unwrap_or(c) };
    let mut form: Vec<char> = name.trim().chars().map(kind).collect();
    form.dedup_by(|one, other| *one == '9' && *other == '9');
    form
}

/// Whether two names differ at most by case and blanks.
fn is_same(one: &str, other: &str) -> bool {
    let bare = |name: &str| name.to_lowercase().split_whitespace().collect::<String>();
    bare(one) == bare(other)
}
