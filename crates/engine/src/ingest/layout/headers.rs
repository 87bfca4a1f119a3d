//! The labels of a block's columns: several rows of headers joined, letters of phases, blocks side by side.

use super::blocks::{Block, parts_of_dates};
use super::cells::{
    holds_conductors, holds_dated_readings, holds_readings, is_component, is_number, share, unit_alone,
};
use super::context::{Context, is_name, may_be_name};
use super::grid::GridRow;
use super::header_rows::{HeaderRows, group_of};
use super::label::conductors::Letters;
use super::label::{self, Field, Label, Stage, conductors};
use super::label_reader::LabelReader;
use super::plan::filled;
use super::sheet::Sheet;
use crate::error::{Failure, shown};
use crate::ingest::aliases::{self, Meaning};
use crate::ingest::kinds::{is_reading, reads};
use crate::ingest::said_unit::{said_unit, symbol};
use crate::ingest::unit::Unit;
use crate::ingest::unit_column::holds_units;
use crate::ingest::verdicts;
use groundwall::record::Connection;
use groundwall::record::columns::Column;
use groundwall::resistance::ResistanceUnit;
use std::collections::{BTreeMap, BTreeSet};

impl<'a> Sheet<'a> {
    pub(super) fn block(&mut self, block: &Block<'a>, context: &Context) {
        let mut context = context.clone();
        let HeaderRows { mut labels, headers, mut groups, half_known } = HeaderRows::of(block.headers, self.reader);
        name_units(&mut labels, block.rows);
        take_units_above(&labels, block.headers, &mut context);
        self.ask_about_title_unit(&labels, &headers, &context);
        let context = &context;
        resolve_phases(&mut labels);
        leave_half_known(&mut labels, &half_known);
        if let Some(header) = block.headers.last() {
            name_third_phase(&mut labels, &headers);
            name_parts_of_dates(&mut labels, header);
        }
        name_components(&mut labels, &headers, &mut groups, block.rows);
        leave_verdicts(&mut labels, &headers, block.rows);
        // A header of one row says itself what it is of.
        if block.headers.len() > 1 {
            doubt_numbers_of_other_dates(&mut labels, block.rows);
        }
        name_machines_called_units(&mut labels, block.rows);
        leave_conductors(&mut labels, block.rows);
        leave_names(&mut labels, block.rows);
        leave_machines(&mut labels, &headers, block.rows);
        name_weeks(&mut labels, &headers, block.rows);
        name_hot_temperatures(&mut labels, &headers);
        if let Some(voltages) = by_voltage(&mut labels, block.rows, &groups, context) {
            self.seen.voltages_across = true;
            let not_done = self.not_done;
            for (labels, own) in voltages {
                self.columns(block, labels, &headers, own);
            }
            // A voltage at which a motor was not tested is no test that was not done.
            self.not_done = not_done;
            return;
        }
        let keyed = name_dates_of_keys(&mut labels, &headers, block.titles);
        let without_dates = Context { date: None, titled: Vec::new(), ..context.clone() };
        let context = if keyed { &without_dates } else { context };
        name_groups_with_dates(&mut labels, block.headers, self.reader);
        name_numbered_tests(&mut labels, &headers, self.reader);
        name_groups_of_tests(&mut labels, &groups);
        name_date_after(&mut labels, &headers, block.rows);
        name_stages(&mut labels);
        self.seen.dates_in_cells |= name_dated_readings(&mut labels, block.rows);
        if let Some(occasions) = by_occasion(&mut labels) {
            self.seen.occasions_across = true;
            let not_done = self.not_done;
            let is_read = |at: &usize| occasions.iter().flatten().any(|(own, _)| own == at);
            let unread = headers.iter().filter(|(at, _)| !is_read(at)).map(|(_, text)| shown(text));
            self.ignored.extend(unread);
            // A reading whose date is not understood.
            let open = labels.iter().filter(|(at, label)| {
                let is_lost = label.column().is_some_and(is_reading) && !is_read(at);
                (is_lost || label.unknown && label.ohms.is_some()) && filled(block.rows, *at).any(reads)
            });
            self.unread_readings.extend(open.filter_map(|(at, _)| Some((*at, shown(headers.get(at)?)))));
            for labels in occasions {
                self.columns(block, labels, &headers, context.clone());
            }
            // A blank test of a row that has another is none that was not done.
            self.not_done = not_done;
            return;
        }
        // The day of a test before is not that of the reading beside it.
        for (_, label) in labels.iter_mut().filter(|(_, label)| label.is_of_an_earlier()) {
            if label.field == Some(Field::Column(Column::TestedOn)) {
                *label = Label { field: Some(Field::Ignored), ..Label::default() };
            }
        }
        for (labels, own) in self.ranges(block, &labels, (&headers, &groups), context) {
            self.columns(block, labels, &headers, own);
        }
    }

    /// The columns of a block that are read together, with what is said of them: tables side by side, parts and groups of a motor.
    fn ranges(
        &mut self,
        block: &Block<'a>,
        labels: &[(usize, Label)],
        (headers, groups): (&BTreeMap<usize, String>, &BTreeMap<usize, String>),
        context: &Context,
    ) -> Vec<(Vec<(usize, Label)>, Context)> {
        let width = block.headers.first().map_or(0, |row| row.cells.len());
        let mut ranges: Vec<(Vec<(usize, Label)>, Context)> = Vec::new();
        let beside = side_by_side(labels, width);
        self.seen.tables_beside |= are_tables_beside(&beside, labels);
        // `Motor`, then `Date` and `IR` several times: several tests of a motor.
        let of_all = if self.seen.tables_beside {
            Vec::new()
        } else {
            let named = named_once(labels, &beside);
            self.names_beside_tests(block, labels, (headers, groups), &beside).unwrap_or(named)
        };
        self.seen.occasions_across |= !of_all.is_empty();
        let are_several = beside.len() > 1 && of_all.is_empty();
        for range in beside {
            let mut own = context.clone();
            let mut group = range.clone().filter_map(|place| groups.get(&place));
            let titled = context.windings.iter().rev().find(|(at, _)| range.contains(at)).filter(|_| are_several);
            if let Some(name) = group.next().filter(|name| is_name(name) || (are_several && may_be_name(name))) {
                own.columns.retain(|(column, _)| *column != Column::Winding);
                (own.name, own.group) = (Some(name.clone()), of_all.is_empty());
            } else if let Some((_, name)) = titled {
                own.columns.retain(|(column, _)| *column != Column::Winding);
                own.columns.push((Column::Winding, name.clone()));
            }
            let is_own = |at: usize| range.contains(&at) || of_all.contains(&at);
            ranges.push((labels.iter().filter(|(at, _)| is_own(*at)).cloned().collect(), own));
        }
        if ranges.len() == 1
            && let Some(grouped) =
                by_part(labels, groups, headers, (context, block.rows)).or_else(|| by_group(labels, groups, context))
        {
            ranges = grouped;
        }
        ranges
    }

    /// Columns of names under a header that nobody understands, on the left of several tests that each have a date: `Cell`, then `Date` and
    /// `IR` several times. The headings above the tests may be motors too; then the user is asked.
    fn names_beside_tests(
        &mut self,
        block: &Block<'a>,
        labels: &[(usize, Label)],
        (headers, groups): (&BTreeMap<usize, String>, &BTreeMap<usize, String>),
        ranges: &[std::ops::Range<usize>],
    ) -> Option<Vec<usize>> {
        let is = |label: &Label, column: Column| label.field == Some(Field::Column(column));
        let dates = labels.iter().filter(|(_, label)| is(label, Column::TestedOn)).map(|(at, _)| *at);
        let dates: Vec<usize> = dates.collect();
        let first = *dates.first().filter(|_| ranges.len() > 1 && dates.len() == ranges.len())?;
        if labels.iter().any(|(_, label)| is(label, Column::Winding)) {
            return None;
        }
        let is_name = |cell: &str| !is_number(cell) && !label::is_date(cell) && !reads(cell);
        let names = |at: usize| {
            let texts: BTreeSet<&str> = filled(block.rows, at).filter(|cell| is_name(cell)).collect();
            texts.len() > 1 && share(filled(block.rows, at), &is_name) > 0.7
        };
        let left = labels.iter().filter(|(at, label)| *at < first && !label.left_out);
        let name = left.clone().find(|(at, label)| !label.is_known() && names(*at)).map(|(at, _)| *at)?;
        let called: BTreeSet<&str> = dates.iter().filter_map(|at| groups.get(at)).map(String::as_str).collect();
        if called.len() > 1 && self.open_question.is_none() {
            let header = shown(headers.get(&name).map_or("", String::as_str));
            let tests: Vec<String> = called.iter().map(|text| shown(text)).collect();
            let message = format!(
                "{}: column {} names {}, and its tests are called {}: which are the motors?",
                self.name.place,
                if header.is_empty() { format!("{} (no name)", name + 1) } else { header.clone() },
                shown(filled(block.rows, name).next().unwrap_or_default()),
                tests.join(", ")
            );
            let hint = if header.is_empty() {
                "if that column names them, write Motor above it; if not, take the column out".to_owned()
            } else {
                format!(
                    "under [columns] in groundwall.toml or the policy file, say \"{header}\" = \"winding\" if that column names them, and \
                     \"{header}\" = \"-\" if not"
                )
            };
            self.open_question = Some(Failure::usage(message).hint(hint));
        }
        let is_measured = |label: &Label| label.column().is_some_and(|column| column != Column::Connection);
        Some(left.filter(|(_, label)| !is_measured(label)).map(|(at, _)| *at).collect())
    }

    /// Keeps the question about a title that names another unit than all headers of readings do.
    fn ask_about_title_unit(
        &mut self,
        labels: &[(usize, Label)],
        headers: &BTreeMap<usize, String>,
        context: &Context,
    ) {
        let mut named =
            labels.iter().filter(|(_, label)| label.column().is_none_or(is_reading) && label.ohms.is_some());
        let (Some(unit), Some((at, _))) = (context.unit, named.clone().next()) else { return };
        if named.any(|(_, label)| label.ohms == Some(unit)) || self.open_question.is_some() {
            return;
        }
        let message = format!(
            "{}: a title says that the readings are in {}, and the header {} says otherwise",
            self.name.place,
            symbol(Some(unit)),
            shown(headers.get(at).map_or("", String::as_str))
        );
        let hint = "take out the unit that is wrong, or the title if it speaks of something else";
        self.open_question = Some(Failure::usage(message).hint(hint));
    }

    /// Reads some columns of a block.
    fn columns(
        &mut self,
        block: &Block<'a>,
        labels: Vec<(usize, Label)>,
        headers: &BTreeMap<usize, String>,
        context: Context,
    ) {
        let header = |(at, _): &(usize, Label)| Some((*at, headers.get(at)?.clone()));
        let headers = labels.iter().filter_map(header).collect();
        self.range(block, labels, headers, context);
    }
}

/// Columns whose cells are units.
fn name_units(labels: &mut [(usize, Label)], rows: &[GridRow]) {
    let mut readings = labels.iter().filter(|(_, label)| label.column().is_some_and(is_reading)).peekable();
    let is_said = readings.peek().is_some() && readings.all(|(_, label)| label.ohms.is_some());
    for (place, label) in labels {
        let cells = rows.iter().map(|row| row.cells[*place].as_str());
        if !label.is_known() && holds_units(cells, is_said) {
            *label = Label { field: Some(Field::Unit), ..Label::default() };
        }
    }
}

/// Units that stand alone in a row of the header, or on the right of a title.
fn take_units_above(labels: &[(usize, Label)], rows: &[GridRow], context: &mut Context) {
    // A unit that is all of its row, in a column of names or dates, is that of all readings.
    for (place, text) in rows[1..].iter().filter_map(GridRow::only) {
        let heads_a_key = labels.iter().any(|(at, label)| *at == place && label.is_key());
        if let Some(unit) = unit_alone(place, text).filter(|_| heads_a_key) {
            context.unit = Some(unit);
        }
    }
    // `kΩ` on the right of a title, above a column of something else.
    for row in &rows[..rows.len() - 1] {
        let heads_reading =
            |at: usize| labels.iter().any(|(own, label)| *own == at && label.column().is_some_and(is_reading));
        // A letter alone may be the symbol of a quantity.
        let is_unit = |text: &str| text.chars().count() > 1 || matches!(text, "\u{3a9}" | "\u{2126}");
        let named = |(place, text): (usize, &str)| {
            let certain = || said_unit(text).filter(|said| said.is_certain)?.unit;
            unit_alone(place, text).filter(|_| is_unit(text)).or_else(certain)
        };
        let said = row.filled().filter(|(place, _)| !heads_reading(*place));
        if let Some(unit) = said.filter_map(named).next() {
            context.unit = context.unit.or(Some(unit));
        }
    }
}

/// Words below a header of readings, on the left of dates, are names: `Average of megohms` above the names of a pivot table.
fn leave_names(labels: &mut [(usize, Label)], rows: &[GridRow]) {
    let Some(first) = labels.iter().find(|(_, label)| label.is_dated()).map(|(at, _)| *at) else { return };
    let is_word = |cell: &str| !reads(cell) && cell.contains(char::is_alphabetic);
    let is_measured = |label: &Label| label.ohms.is_some() || label.column().is_some_and(is_reading);
    for (at, label) in labels.iter_mut().filter(|(at, label)| *at < first && is_measured(label)) {
        if share(filled(rows, *at), &is_word) > 0.9 {
            *label = Label { unknown: true, ..Label::default() };
        }
    }
}

/// One temperature beside a cold and a hot reading is that of the hot one: a cold reading corrected from it would be too good.
fn name_hot_temperatures(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>) {
    let is_cold = |(at, label): &(usize, Label)| {
        label.stage.is_some_and(|stage| !stage.after) && headers.get(at).is_some_and(|header| label::says_cold(header))
    };
    if !labels.iter().any(is_cold) {
        return;
    }
    let is_temperature = |label: &Label| matches!(label.column(), Some(Column::WindingTemp(_)));
    for (_, label) in labels.iter_mut().filter(|(_, label)| label.stage.is_none() && is_temperature(label)) {
        label.stage = Some(Stage { after: true, event: None });
    }
}

/// `KW` beside years holds weeks where it changes from test to test of a motor, as no power does.
fn name_weeks(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>, rows: &[GridRow]) {
    let place = |field: Field| labels.iter().find(|(_, label)| label.field == Some(field)).map(|(at, _)| *at);
    let is_known = [Field::Column(Column::TestedOn), Field::Quarter, Field::Month, Field::Week]
        .into_iter()
        .any(|field| place(field).is_some());
    let (Some(_), Some(winding), false) = (place(Field::Year), place(Field::Column(Column::Winding)), is_known) else {
        return;
    };
    let Some(week) = headers.iter().find(|(_, header)| header.trim_end_matches('.') == "KW").map(|(at, _)| *at) else {
        return;
    };
    let mut of_motors: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for row in rows.iter().filter(|row| !row.cells[week].is_empty()) {
        of_motors.entry(&row.cells[winding]).or_default().insert(&row.cells[week]);
    }
    let is_week = |cell: &str| cell.parse().is_ok_and(|week: u32| (1..=53).contains(&week));
    // A motor may have been replaced by a stronger one.
    let changes = of_motors.len() > 1 && of_motors.values().all(|cells| cells.len() > 1);
    if changes && of_motors.values().flatten().all(|cell| is_week(cell)) {
        let weeks = labels.iter_mut().filter(|(at, label)| *at == week && !label.left_out);
        weeks.for_each(|(_, label)| *label = Label { field: Some(Field::Week), ..Label::default() });
    }
}

/// A machine that heads a column of readings, `Main pump` beside `Fan 1`, heads no names.
fn leave_machines(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>, rows: &[GridRow]) {
    let has_reading = labels.iter().any(|(_, label)| label.column().is_some_and(is_reading));
    let is_bound = |cell: &str| cell.starts_with(['<', '>', '≥', '≤']) && reads(cell);
    // Names may be numbers, and numbers with points where the readings are in another column.
    let is_no_name = |cell: &str| is_bound(cell) || (!has_reading && cell.contains(['.', ',']));
    let is_winding = |label: &Label| label.field == Some(Field::Column(Column::Winding));
    // `Machine 1`, `Machine 2`
    let is_numbered = |at: &usize| headers.get(at).is_some_and(|header| label::number_of_test(header).is_some());
    let are_several = labels.iter().filter(|(at, label)| is_winding(label) && is_numbered(at)).count() > 1;
    for (at, label) in labels.iter_mut().filter(|(_, label)| is_winding(label)) {
        let is_one_of_several = !has_reading && are_several && is_numbered(at);
        if share(filled(rows, *at), &reads) > 0.7 && (is_one_of_several || filled(rows, *at).any(is_no_name)) {
            *label = Label { unknown: true, ..Label::default() };
        }
    }
}

/// `U`, `V`, `W`, `IP` below `Insulation (MΩ)`: what is no phase is no test of the whole winding.
fn leave_half_known(labels: &mut [(usize, Label)], half_known: &BTreeSet<usize>) {
    if labels.iter().filter(|(_, label)| label.connection.is_some()).count() > 1 {
        let is_open = |(place, label): &&mut (usize, Label)| half_known.contains(place) && label.connection.is_none();
        for (_, label) in labels.iter_mut().filter(is_open) {
            *label = Label { unknown: true, ohms: label.ohms, ..Label::default() };
        }
    }
}

/// Readings below the name of a winding of the motor are those of that winding.
fn name_components(
    labels: &mut [(usize, Label)],
    headers: &BTreeMap<usize, String>,
    groups: &mut BTreeMap<usize, String>,
    rows: &[GridRow],
) {
    for (place, label) in labels {
        if let Some(component) = headers.get(place).and_then(|text| component_in(text))
            && label.column().is_none_or(is_reading)
            && !label.left_out
            && holds_readings(rows, *place)
        {
            groups.entry(*place).or_insert(component);
            let unit = label.ohms.unwrap_or_default();
            label.field = label.field.filter(|_| !label.unknown).or(Some(Field::Column(Column::Resistance(unit))));
            label.unknown = false;
        }
    }
}

/// Where no column is one of days, cells that hold a reading and its date; whether there are any.
fn name_dated_readings(labels: &mut [(usize, Label)], rows: &[GridRow]) -> bool {
    let is_day = |label: &Label| label.is_dated() || label.field == Some(Field::Column(Column::TestedOn));
    let mut are_dated = false;
    if !labels.iter().any(|(_, label)| is_day(label)) {
        for (place, label) in labels {
            let is_open = label.unknown || !label.is_known() || label.column().is_some_and(is_reading);
            if is_open && holds_dated_readings(rows, *place) {
                let unit = label.ohms.unwrap_or_default();
                let column = label.column().filter(|column| is_reading(*column));
                label.field = Some(Field::Column(column.unwrap_or(Column::Resistance(unit))));
                (label.unknown, label.occasion) = (false, None);
                are_dated = true;
            }
        }
    }
    are_dated
}

/// `Unit` above names of machines, none of which is a unit of anything.
fn name_machines_called_units(labels: &mut [(usize, Label)], rows: &[GridRow]) {
    let names = Some(Field::Column(Column::Winding));
    if labels.iter().any(|(_, label)| label.field == names) {
        return;
    }
    for (place, label) in labels.iter_mut().filter(|(_, label)| label.field == Some(Field::Unit)) {
        let cells = || filled(rows, *place).filter(|cell| !is_number(cell));
        if cells().count() > 1 && cells().all(|cell| Unit::read(cell).is_none() && is_name(cell)) {
            *label = Label { field: names, ..Label::default() };
        }
    }
}

/// Numbers below a date that has no reading may be its readings, whatever a word above the date says: `Initials`, `PI`.
fn doubt_numbers_of_other_dates(labels: &mut [(usize, Label)], rows: &[GridRow]) {
    let is_a_reading = |label: &Label| label.is_dated() && label.column().is_some_and(is_reading);
    let key = |label: &Label| [label.date.clone(), label.part.clone(), label.occasion.clone()];
    let read: BTreeSet<_> =
        labels.iter().filter(|(_, label)| is_a_reading(label)).map(|(_, label)| key(label)).collect();
    if read.is_empty() {
        return;
    }
    for (place, label) in labels.iter_mut().filter(|(_, label)| label.is_dated() && !label.left_out && !label.unknown) {
        let mut cells = filled(rows, *place).peekable();
        if !read.contains(&key(label)) && cells.peek().is_some() && cells.all(is_number) {
            *label = Label { unknown: true, ohms: Some(ResistanceUnit::Megohm), ..Label::default() };
        }
    }
}

/// Dates of columns `Test 1`, `Test 2` that titles give: `Test 1 = 2026-01-11`, in one cell or in two. Whether there are any.
fn name_dates_of_keys(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>, titles: &[GridRow]) -> bool {
    let mut keys: BTreeMap<String, String> = BTreeMap::new();
    let key = |text: &str| text.trim().trim_end_matches([':', '=', ' ']).to_lowercase();
    for row in titles {
        let cells: Vec<&str> = row.filled().map(|(_, cell)| cell).collect();
        let in_one = cells.iter().filter_map(|cell| {
            [" = ", "=", ": ", " - ", " – "]
                .iter()
                .filter_map(|mark| cell.split_once(mark))
                .find(|(_, date)| label::is_date(date.trim()))
        });
        let in_two = cells.windows(2).filter(|two| label::is_date(two[1])).map(|two| (two[0], two[1]));
        keys.extend(in_one.chain(in_two).map(|(name, date)| (key(name), date.trim().to_owned())));
    }
    let of_key = |(at, label): &(usize, Label)| {
        let is_free = label.column().is_none() && !label.is_dated() && !label.left_out;
        headers.get(at).filter(|_| is_free).and_then(|header| keys.get(&key(header)).cloned())
    };
    let dates: Vec<Option<String>> = labels.iter().map(of_key).collect();
    let are_several = dates.iter().flatten().count() > 1;
    if are_several {
        for ((_, label), date) in labels.iter_mut().zip(dates).filter(|(_, date)| date.is_some()) {
            *label = Label { date, ..Label::default() };
        }
    }
    are_several
}

/// `Result` above `Pass` is a verdict, and no reading.
fn leave_verdicts(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>, rows: &[GridRow]) {
    for (place, label) in labels.iter_mut() {
        let mut cells = rows.iter().map(|row| row.cells[*place].as_str()).filter(|cell| !cell.is_empty()).peekable();
        let is_open = label.column().is_some_and(is_reading) && label.ohms.is_none();
        let heads = headers.get(place).is_some_and(|header| verdicts::heads_verdicts(header));
        if is_open && heads && cells.peek().is_some() && !cells.any(reads) {
            *label = Label { unknown: true, ..Label::default() };
        }
    }
}

/// Few ohms between phases in all rows, beside insulation in greater units, are those of the copper.
fn leave_conductors(labels: &mut [(usize, Label)], rows: &[GridRow]) {
    let is_large = |label: &Label| label.ohms.is_some_and(|unit| unit != ResistanceUnit::Ohm);
    if !labels.iter().any(|(_, label)| is_large(label)) {
        return;
    }
    for (place, label) in labels.iter_mut() {
        if holds_conductors(rows, *place, label) {
            *label = Label { field: Some(Field::Ignored), left_out: true, ..Label::default() };
        }
    }
}

/// The winding of a machine that a header of readings names: `Stator to earth`, `Rotor (MΩ)`.
fn component_in(header: &str) -> Option<String> {
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | ',' | ':' | '-' | '/');
    let words: Vec<&str> = header.split(is_gap).filter(|word| !word.is_empty()).collect();
    let is_other = |word: &&str| {
        let lower = word.to_lowercase();
        matches!(
            lower.as_str(),
            "to" | "earth" | "ground" | "frame" | "e" | "g" | "gegen" | "erde" | "masse" | "terre" | "ir"
        ) || matches!(Unit::read(word), Some(Unit::Ohms(_)))
    };
    let has_unit = words.iter().any(|word| matches!(Unit::read(word), Some(Unit::Ohms(_))));
    let name = words.into_iter().filter(|word| !is_other(word)).collect::<Vec<_>>().join(" ");
    (is_component(&name) || has_unit && is_numbered_part(&name)).then_some(name)
}

/// Whether a name is the kind of a machine and its number or letter among others of the kind: `Pump 2`, `Fan B`.
fn is_numbered_part(name: &str) -> bool {
    name.split_once(' ').is_some_and(|(kind, number)| {
        let is_number = number.len() < 3 && number.bytes().all(|byte| byte.is_ascii_digit());
        let is_letter = number.len() == 1 && number.bytes().all(|byte| byte.is_ascii_uppercase());
        (aliases::names_kind_of_machine(kind) || kind.eq_ignore_ascii_case("motor")) && (is_number || is_letter)
    })
}

/// `C` beside `A-G` and `B-G` is a phase where another column has the temperature, and asked about where none has.
fn name_third_phase(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>) {
    let letter = |label: &Label| {
        let connection = label.connection.as_deref()?;
        let is_read =
            |letters| Connection::read(&conductors::connection(connection, letters)).phase_to_earth().is_some();
        let is_to_earth = is_read(Letters::OfPhases) || is_read(Letters::RedYellowBlue);
        connection.split(['-', '/']).next().map(str::to_lowercase).filter(|_| is_to_earth)
    };
    let named: BTreeSet<String> = labels.iter().filter_map(|(_, label)| letter(label)).collect();
    let ohms = labels.iter().find(|(_, label)| letter(label).is_some()).and_then(|(_, label)| label.ohms);
    let third = conductors::CUSTOMS.iter().find_map(|custom| {
        let (own, others): (Vec<&str>, Vec<&str>) = custom.iter().partition(|letter| named.contains(**letter));
        if let ([_, _], [third]) = (&own[..], &others[..]) { Some(*third) } else { None }
    });
    let Some(third) = third.filter(|_| named.len() == 2) else { return };
    let is_third = |at: &usize| headers.get(at).is_some_and(|header| header.trim().eq_ignore_ascii_case(third));
    let is_temperature = |label: &Label| matches!(label.column(), Some(Column::WindingTemp(_) | Column::AirTemp(_)));
    let has_temperature = labels.iter().any(|(at, label)| !is_third(at) && is_temperature(label));
    for (_, label) in labels.iter_mut().filter(|(at, label)| is_third(at) && !label.left_out) {
        *label = if has_temperature {
            Label { connection: Some(format!("{third}-E")), ohms, ..Label::default() }
        } else {
            Label { unknown: true, ohms: ohms.or(Some(ResistanceUnit::Megohm)), ..Label::default() }
        };
    }
}

/// `J`, `M`, `A` side by side are the day, the month and the year of a test.
fn name_parts_of_dates(labels: &mut [(usize, Label)], header: &GridRow) {
    let Some(first) = parts_of_dates(header) else { return };
    for (after, field) in [Field::Column(Column::TestedOn), Field::Month, Field::Year].into_iter().enumerate() {
        for (_, label) in labels.iter_mut().filter(|(at, label)| *at == first + after && !label.left_out) {
            *label = Label { field: Some(field), ..Label::default() };
        }
    }
}

/// A period above columns of dates, `Campaign 2024`, is the name of a test, whose day its own column says. `Spring 2025` and `Harvest 2025`
/// are two.
fn name_groups_with_dates(labels: &mut [(usize, Label)], headers: &[GridRow], reader: &LabelReader<'_>) {
    let heading = |at: usize, label: &Label| {
        let period = label.date.clone().or_else(|| label.part.clone())?;
        let own = |row: &GridRow| {
            let cell = row.cells[at].as_str();
            let text = if cell.is_empty() { group_of(&row.cells, at, reader) } else { cell };
            reader.read(text).is_dated().then(|| text.to_lowercase())
        };
        Some(headers.iter().find_map(own).unwrap_or(period))
    };
    let is_date = |label: &Label| label.field == Some(Field::Column(Column::TestedOn));
    let dated: BTreeSet<String> =
        labels.iter().filter(|(_, label)| is_date(label)).filter_map(|(at, label)| heading(*at, label)).collect();
    for (at, label) in labels.iter_mut().filter(|(_, label)| label.occasion.is_none()) {
        if let Some(name) = heading(*at, label).filter(|name| dated.contains(name)) {
            (label.date, label.part, label.occasion) = (None, None, Some(name));
        }
    }
}

/// `Date 1`, `IR 1`, `Date 2`, `IR 2`: where dates and readings are numbered alike, the number says to which test a column belongs.
fn name_numbered_tests(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>, reader: &LabelReader<'_>) {
    let is_date = |label: &Label| label.field == Some(Field::Column(Column::TestedOn));
    let dated: BTreeSet<String> =
        labels.iter().filter(|(_, label)| is_date(label)).filter_map(|(_, label)| label.occasion.clone()).collect();
    let numbered = |(at, label): &(usize, Label)| {
        let (number, rest) = label::number_of_test(headers.get(at)?).filter(|_| !label.left_out)?;
        let read = reader.read(&rest);
        let is_one = dated.contains(number) && read.column().is_some() && read.occasion.is_none();
        is_one.then(|| (*at, Label { occasion: Some(number.to_owned()), ..Label::clone(&read) }))
    };
    let found: Vec<(usize, Label)> = labels.iter().filter_map(numbered).collect();
    let readings = found.iter().filter(|(_, label)| label.column().is_some_and(is_reading));
    let read: BTreeSet<String> = readings.filter_map(|(_, label)| label.occasion.clone()).collect();
    // A reading without its date is asked about.
    if dated.len() > 1 && dated.is_subset(&read) {
        for (at, label) in found {
            labels.iter_mut().filter(|(place, _)| *place == at).for_each(|(_, own)| *own = label.clone());
        }
    }
}

/// `Spring round` and `Autumn round` above a date and readings each name tests of the motors on their left.
fn name_groups_of_tests(labels: &mut [(usize, Label)], groups: &BTreeMap<usize, String>) {
    let of = |is: &dyn Fn(&Label) -> bool| -> BTreeSet<&String> {
        labels.iter().filter(|(_, label)| is(label)).filter_map(|(at, _)| groups.get(at)).collect()
    };
    let dated = of(&|label| label.field == Some(Field::Column(Column::TestedOn)));
    let read = of(&|label| label.column().is_some_and(is_reading));
    let is_motor = |(at, label): &(usize, Label)| {
        label.field == Some(Field::Column(Column::Winding)) && !groups.get(at).is_some_and(|name| dated.contains(name))
    };
    let are_tests = dated.len() > 1 && dated == read && dated.iter().all(|name| label::names_tests(name));
    if !are_tests || !labels.iter().any(is_motor) {
        return;
    }
    let dated: BTreeSet<String> = dated.into_iter().cloned().collect();
    for (at, label) in labels.iter_mut().filter(|(_, label)| label.occasion.is_none()) {
        label.occasion = groups.get(at).filter(|name| dated.contains(*name)).cloned();
    }
}

/// A date that nobody understands beside readings after work: `Date repaired` is that of those readings.
fn name_date_after(labels: &mut [(usize, Label)], headers: &BTreeMap<usize, String>, rows: &[GridRow]) {
    let is_date = |label: &Label| label.field == Some(Field::Column(Column::TestedOn));
    let is_after = |label: &Label| label.stage.is_some_and(|stage| stage.after);
    let is_read_after = labels.iter().any(|(_, label)| is_after(label) && label.column().is_some_and(is_reading));
    let mut dates = labels.iter().filter(|(_, label)| is_date(label));
    let (true, Some((first, date)), None) = (is_read_after, dates.next(), dates.next()) else { return };
    if date.stage.is_some() {
        return;
    }
    let first = *first;
    let holds_dates = |place: usize| {
        let mut cells = rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty()).peekable();
        cells.peek().is_some() && cells.all(label::is_date)
    };
    let says_date = |place: &usize| {
        let mut words = headers.get(place).into_iter().flat_map(|header| header.split_whitespace());
        words.any(|word| matches!(aliases::read(word), Some(Meaning::Likely(Column::TestedOn))))
    };
    let mut open = labels.iter().filter(|(at, label)| label.unknown && says_date(at) && holds_dates(*at));
    let (Some((place, _)), None) = (open.next(), open.next()) else { return };
    let place = *place;
    for (at, label) in labels.iter_mut().filter(|(at, _)| *at == first || *at == place) {
        let stage = Some(Stage { after: *at == place, event: None });
        *label = Label { field: Some(Field::Column(Column::TestedOn)), stage, ..Label::default() };
    }
}

/// Where tests before and after work have dates of their own, they are several tests of a row; the work was done before the later one.
fn name_stages(labels: &mut [(usize, Label)]) {
    const NAMES: [&str; 2] = ["before", "after"];
    let is_date = |label: &Label| label.field == Some(Field::Column(Column::TestedOn));
    let mut dates = labels.iter().filter(|(_, label)| is_date(label)).map(|(_, label)| label.stage);
    let (Some(Some(one)), Some(Some(other)), None) = (dates.next(), dates.next(), dates.next()) else { return };
    if one.after == other.after {
        return;
    }
    for (_, label) in labels.iter_mut().filter(|(_, label)| label.occasion.is_none()) {
        let is_after = match (label.stage, label.column()) {
            (Some(stage), _) => stage.after,
            (None, Some(Column::Event)) => true,
            (None, Some(column)) if is_reading(column) => false,
            _ => continue,
        };
        label.occasion = Some(NAMES[usize::from(is_after)].to_owned());
    }
}

/// The columns of each of several voltages that a row was tested at, with those that belong to all: `IR @ 500 V`, `IR @ 1000 V`. Where they are
/// not all named by one, and each by its own, none is understood.
fn by_voltage(
    labels: &mut [(usize, Label)],
    rows: &[GridRow],
    groups: &BTreeMap<usize, String>,
    context: &Context,
) -> Option<Vec<Grouped>> {
    let readings: Vec<&Label> =
        labels.iter().map(|(_, label)| label).filter(|label| label.column().is_some_and(is_reading)).collect();
    let voltages: BTreeSet<&String> = readings.iter().filter_map(|label| label.voltage.as_ref()).collect();
    if readings.len() < 2 || voltages.is_empty() {
        return None;
    }
    let is_said = labels.iter().any(|(_, label)| label.field == Some(Field::Column(Column::TestVolts)))
        || context.columns.iter().any(|(column, _)| *column == Column::TestVolts);
    let are_plain = readings.iter().enumerate().all(|(at, label)| {
        let bare = |label: &Label| Label { ohms: None, ..label.clone() };
        label.voltage.is_some()
            && label.occasion.is_none()
            && label.stage.is_none()
            && !label.is_dated()
            && readings[..at].iter().all(|other| bare(other) != bare(label))
    });
    // Of a motor that was not tested at each voltage the temperature would be a test of its own.
    let is_filled = |(at, label): &(usize, Label)| label.voltage.is_none() || filled(rows, *at).count() == rows.len();
    if voltages.len() < 2 || is_said || !are_plain || !groups.is_empty() || !labels.iter().all(is_filled) {
        for (_, label) in labels.iter_mut().filter(|(_, label)| label.voltage.is_some()) {
            *label = Label { unknown: true, ..Label::default() };
        }
        return None;
    }
    let of_voltage = |voltage: &String| {
        let is_own = |label: &Label| label.voltage.as_ref().is_none_or(|own| own == voltage);
        let mut context = context.clone();
        context.columns.push((Column::TestVolts, voltage.clone()));
        (labels.iter().filter(|(_, label)| is_own(label)).cloned().collect(), context)
    };
    Some(voltages.into_iter().map(of_voltage).collect())
}

/// More tests have no row of a sheet that people keep; each costs as much as a block of its own.
const MOST_OCCASIONS: usize = 40;

/// The columns of each of several tests of a row, `Last date`, `Last IR`, `Previous date`, `Previous IR`, with those that belong to all. What
/// has no date of its own belongs to no test and is not read.
fn by_occasion(labels: &mut [(usize, Label)]) -> Option<Vec<Vec<(usize, Label)>>> {
    // `Last test` above a date is that date.
    for (_, label) in labels.iter_mut().filter(|(_, label)| label.date.is_some()) {
        label.occasion = None;
    }
    let is_date = |label: &Label| label.field == Some(Field::Column(Column::TestedOn));
    let is_a_reading = |label: &Label| label.column().is_some_and(is_reading);
    let of = |is: &dyn Fn(&Label) -> bool, labels: &[(usize, Label)]| -> BTreeSet<Option<String>> {
        labels.iter().filter(|(_, label)| is(label)).map(|(_, label)| label.occasion.clone()).collect()
    };
    let (dated, read) = (of(&is_date, labels), of(&is_a_reading, labels));
    if read.len() < 2 {
        return None;
    }
    // `Date` beside `Current IR` and `Previous IR` is that of the current one.
    let latest: BTreeSet<Option<String>> = of(&|label| is_a_reading(label) && label.is_of_the_latest(), labels);
    let is_dated_latest =
        dated.contains(&None) && !read.contains(&None) && latest.len() == 1 && latest.is_disjoint(&dated);
    for (_, label) in labels.iter_mut().filter(|(_, label)| label.occasion.is_some()) {
        if is_dated_latest && latest.contains(&label.occasion) {
            label.occasion = None;
        } else if !dated.contains(&label.occasion) && !label.is_of_an_earlier() && is_a_reading(label) {
            // The latest reading beside another that is read, or one made again, may be the test.
            let unit = match label.column() {
                Some(Column::Reading(_, unit) | Column::Resistance(unit)) => Some(unit),
                _ => label.ohms,
            };
            *label = Label { unknown: true, ohms: unit, ..Label::default() };
        } else if !dated.contains(&label.occasion) {
            *label = Label { field: Some(Field::Ignored), ..Label::default() };
        }
    }
    let tests: Vec<Option<String>> = dated.into_iter().filter(|one| of(&is_a_reading, labels).contains(one)).collect();
    if !(2..=MOST_OCCASIONS).contains(&tests.len()) {
        return None;
    }
    let belongs_to_all = |label: &Label| {
        let is_measured = label
            .column()
            .is_some_and(|column| !matches!(column, Column::Winding | Column::Connection | Column::Scope));
        label.occasion.is_none() && !is_measured
    };
    let columns_of = |occasion: &Option<String>| {
        let is_own = |label: &Label| label.occasion == *occasion || belongs_to_all(label);
        labels.iter().filter(|(_, label)| is_own(label)).cloned().collect()
    };
    Some(tests.iter().map(columns_of).collect())
}

/// Columns with what each holds, and what is known of all of them.
type Grouped = (Vec<(usize, Label)>, Context);

/// The columns under each text of a row of groups, with those under none, where the groups are motors or windings of one:
/// a date on the left, and `P-101`, `P-102` above the resistance and temperature of each.
fn by_group(labels: &[(usize, Label)], groups: &BTreeMap<usize, String>, context: &Context) -> Option<Vec<Grouped>> {
    let mut names: Vec<&String> = Vec::new();
    for name in groups.values() {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let of_group = |name: &String| {
        let is_own = |at: &usize| groups.get(at).is_none_or(|group| group == name);
        labels.iter().filter(|(at, _)| is_own(at)).cloned().collect::<Vec<_>>()
    };
    let has_reading = |name: &&String| {
        let is_own = |at: &usize| groups.get(at) == Some(*name);
        labels.iter().any(|(at, label)| is_own(at) && label.column().is_some_and(is_reading))
    };
    let is_named = labels.iter().any(|(_, label)| label.field == Some(Field::Column(Column::Winding)))
        || context.winding().is_some();
    let are_components = names.iter().all(|name| is_component(name) || is_named && is_numbered_part(name));
    let are_motors = !is_named && names.iter().all(|name| may_be_name(name));
    if names.len() < 2 || !names.iter().all(has_reading) || !(are_components || are_motors) {
        return None;
    }
    let range = |name: &&String| {
        let mut own = context.clone();
        if are_components {
            own.component = Some((*name).clone());
        } else {
            (own.name, own.group) = (Some((*name).clone()), true);
        }
        (of_group(name), own)
    };
    Some(names.iter().map(range).collect())
}

/// The columns of each part of several motors, where the names of motors are above those of their parts: `Lift A` above `Duty` and `Standby`.
fn by_part(
    labels: &[(usize, Label)],
    groups: &BTreeMap<usize, String>,
    headers: &BTreeMap<usize, String>,
    (context, rows): (&Context, &[GridRow]),
) -> Option<Vec<Grouped>> {
    let has = |column: Column| labels.iter().any(|(_, label)| label.field == Some(Field::Column(column)));
    if has(Column::Winding) || context.winding().is_some() || !has(Column::TestedOn) {
        return None;
    }
    let is_part = |(at, label): &&(usize, Label)| {
        let is_open = label.unknown || !label.is_known() || label.column().is_some_and(is_reading);
        is_open && label.ohms.is_none() && headers.contains_key(at) && holds_readings(rows, *at)
    };
    let mut parts: BTreeMap<&String, Vec<usize>> = BTreeMap::new();
    for (at, _) in labels.iter().filter(is_part) {
        if let Some(name) = groups.get(at) {
            parts.entry(name).or_default().push(*at);
        }
    }
    let names = |places: &Vec<usize>| places.iter().filter_map(|at| headers.get(at)).collect::<BTreeSet<_>>();
    let are_parts = parts.len() > 1
        && parts.keys().all(|name| may_be_name(name))
        && parts.values().all(|places| places.len() > 1 && names(places).len() == places.len());
    // Names that come once are those of motors.
    let mut seen = BTreeSet::new();
    let come_again = parts.values().flatten().filter_map(|at| headers.get(at)).any(|part| !seen.insert(part));
    if !are_parts || !come_again {
        return None;
    }
    // What is measured under none of the parts, such as the temperature of the room at the end, is of all.
    let shared: Vec<(usize, Label)> =
        labels.iter().filter(|(at, _)| !parts.values().flatten().any(|own| own == at)).cloned().collect();
    let range = |(name, at): (&&String, &usize)| {
        let part = headers.get(at).cloned();
        let label =
            Label { field: Some(Field::Column(Column::Resistance(ResistanceUnit::Megohm))), ..Label::default() };
        let mut own = shared.clone();
        own.push((*at, label));
        (own, Context { name: Some((*name).clone()), group: true, component: part, ..context.clone() })
    };
    Some(parts.iter().flat_map(|(name, places)| places.iter().map(move |at| (name, at))).map(range).collect())
}

/// Letters of phases count where all three of a custom stand in a header; then they are what the voltage was applied between.
pub(super) fn resolve_phases(labels: &mut [(usize, Label)]) {
    let custom = label::custom_of(labels.iter().map(|(_, label)| label));
    for (_, label) in labels.iter_mut() {
        let Some((letter, rest)) = label.phase.take() else { continue };
        if custom.is_some_and(|custom| custom.contains(&letter.to_lowercase().as_str())) {
            let occasion = label.occasion.take();
            *label = Label { connection: Some(format!("{letter}-E")), unknown: false, occasion, ..*rest };
        }
    }
    // `R to earth` is a resistance where no other phase stands beside it.
    let has = |letter: &str, labels: &[(usize, Label)]| {
        labels.iter().any(|(_, label)| {
            label
                .connection
                .as_ref()
                .is_some_and(|text| text.to_lowercase().split(['-', '/']).any(|part| part == letter))
        })
    };
    if !["s", "y", "t", "b"].iter().any(|letter| has(letter, labels)) {
        for (_, label) in labels.iter_mut() {
            let is_r =
                label.connection.as_ref().is_some_and(|text| text.to_lowercase().split(['-', '/']).next() == Some("r"));
            if is_r {
                label.connection = None;
                label.field = label.field.or(Some(Field::Column(Column::Resistance(label.ohms.unwrap_or_default()))));
            }
        }
    }
}

/// Whether ranges are whole tables of tests: each has names, dates and readings of its own.
pub(super) fn are_tables_beside(ranges: &[std::ops::Range<usize>], labels: &[(usize, Label)]) -> bool {
    let has = |range: &std::ops::Range<usize>, is: &dyn Fn(Column) -> bool| {
        labels.iter().any(|(at, label)| range.contains(at) && label.column().is_some_and(is))
    };
    let is_whole = |range: &std::ops::Range<usize>| {
        has(range, &|column| column == Column::Winding)
            && has(range, &|column| column == Column::TestedOn)
            && has(range, &is_reading)
    };
    ranges.len() > 1 && ranges.iter().all(is_whole)
}

/// The columns on the left of the first date that belong to all ranges, where only the first range has names.
fn named_once(labels: &[(usize, Label)], ranges: &[std::ops::Range<usize>]) -> Vec<usize> {
    let is = |label: &Label, column: Column| label.field == Some(Field::Column(column));
    let names: Vec<usize> = labels.iter().filter(|(_, label)| is(label, Column::Winding)).map(|(at, _)| *at).collect();
    let dates: Vec<usize> = labels.iter().filter(|(_, label)| is(label, Column::TestedOn)).map(|(at, _)| *at).collect();
    let (Some(first), true) = (dates.first(), ranges.len() > 1 && dates.len() == ranges.len()) else {
        return Vec::new();
    };
    if names.is_empty() || names.iter().any(|name| name > first) {
        return Vec::new();
    }
    let is_measured = |label: &Label| {
        label.column().is_some_and(|column| !matches!(column, Column::Winding | Column::Connection | Column::Scope))
    };
    labels.iter().filter(|(at, label)| at < first && !is_measured(label)).map(|(at, _)| *at).collect()
}

/// The ranges of blocks that stand side by side: each begins with the same kind of key.
pub(super) fn side_by_side(labels: &[(usize, Label)], width: usize) -> Vec<std::ops::Range<usize>> {
    let keys = |field: Field| -> Vec<usize> {
        labels.iter().filter(|(_, label)| label.field == Some(field)).map(|(at, _)| *at).collect()
    };
    for field in [Field::Column(Column::Winding), Field::Column(Column::TestedOn), Field::Quarter] {
        let places = keys(field);
        if places.len() < 2 {
            continue;
        }
        // What stands on the left of the first key belongs to the first block.
        let starts: Vec<usize> = std::iter::once(0).chain(places.into_iter().skip(1)).collect();
        let ends = starts.iter().skip(1).copied().chain([width]);
        let ranges: Vec<std::ops::Range<usize>> =
            starts.iter().copied().zip(ends).map(|(start, end)| start..end).collect();
        let has_reading = |range: &std::ops::Range<usize>| {
            labels.iter().any(|(at, label)| range.contains(at) && label.column().is_some_and(is_reading))
        };
        if ranges.iter().all(has_reading) {
            return ranges;
        }
    }
    std::iter::once(0..width).collect()
}
