//! Which column of a block holds what.

use super::cells::{
    Names, POINTS_ASKED, are_of_one_series, component_column, holds_clock, is_letter, is_number, is_quantity,
    machine_column, share,
};
use super::context::{Context, is_name, may_be_name};
use super::grid::GridRow;
use super::label::conductors::{Custom, Letters};
use super::label::{self, Field, Label};
use super::label_reader::LabelReader;
use super::phases::{self, Phases};
use super::points::{name_quantities, names_points};
use super::titles::{self, Values};
use crate::ingest::aliases;
use crate::ingest::date_forms::DateForms;
use crate::ingest::dates::Period;
use crate::ingest::dates::{day_of_month, is_day_alone};
use crate::ingest::header_words;
use crate::ingest::kinds::{is_reading, reads};
use crate::ingest::mapping::Mapping;
use crate::ingest::unit_column::Blank;
use crate::ingest::verdicts;
use groundwall::record::columns::{Column, ElapsedUnit};
use groundwall::record::{Item, is_ditto};
use groundwall::resistance::ResistanceUnit;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// What the cell of a measuring point says: what is measured, or between what the voltage was applied.
#[derive(Default)]
pub(super) struct PointOf {
    pub(super) label: Option<Rc<Label>>,
    pub(super) connection: Option<String>,
}

/// The columns of a block, or of one of several side by side.
pub(super) struct Plan {
    pub(super) labels: Vec<(usize, Label)>,
    pub(super) headers: BTreeMap<usize, String>,
    /// Names of motors.
    pub(super) winding: Option<usize>,
    /// Columns that may hold them, where no header says so.
    pub(super) may_name: Vec<usize>,
    /// What follows it in the name of the winding: stator, rotor, or what the site says.
    pub(super) components: Vec<usize>,
    /// What each row measures.
    pub(super) point: Option<usize>,
    /// The letters by which its cells call phases.
    point_phases: Option<&'static Custom>,
    /// Whether its other cells are connections.
    point_connections: bool,
    /// Dates of tests.
    pub(super) date: Option<usize>,
    /// Times of day.
    pub(super) clock: Option<usize>,
    /// Times of timed readings, one a row.
    pub(super) elapsed: Option<(usize, ElapsedUnit)>,
    /// Columns of units, and what a blank cell of them means.
    pub(super) units: Vec<(usize, Blank)>,
    /// Columns with something measured.
    pub(super) values: Vec<(usize, Label)>,
    /// Whether columns are headed by dates or periods.
    pub(super) dates_across: bool,
    /// Whether columns are headed by names of motors.
    pub(super) windings_across: bool,
    /// Whether its column of dates has whole dates.
    pub(super) has_own_dates: bool,
    /// Columns of verdicts.
    pub(super) verdicts: Vec<usize>,
    pub(super) context: Context,
}

impl Plan {
    /// `of_header` are the rows of all blocks with this header.
    pub(super) fn of(
        (rows, of_header): (&[GridRow], &[GridRow]),
        labels: Vec<(usize, Label)>,
        headers: BTreeMap<usize, String>,
        context: Context,
        reader: &LabelReader<'_>,
    ) -> Self {
        let is_unit = |(at, label): &(usize, Label)| {
            let cells = rows.iter().map(|row| row.cells[*at].as_str());
            (label.field == Some(Field::Unit)).then(|| (*at, Blank::of(cells)))
        };
        let mut plan = Self {
            units: labels.iter().filter_map(is_unit).collect(),
            dates_across: are_dates_across(&labels),
            labels,
            headers,
            winding: None,
            may_name: Vec::new(),
            components: Vec::new(),
            point: None,
            point_phases: None,
            point_connections: false,
            date: None,
            clock: None,
            elapsed: None,
            values: Vec::new(),
            windings_across: false,
            has_own_dates: false,
            verdicts: Vec::new(),
            context,
        };
        plan.find_point(rows, reader);
        plan.find_day(rows);
        plan.find_winding(of_header, reader.mapping());
        // A header of temperatures or readings whose cells name something is no column of values.
        plan.date = plan.of_field(Field::Column(Column::TestedOn)).filter(|at| Some(*at) != plan.point);
        plan.elapsed = plan.labels.iter().find_map(|(at, label)| match label.field {
            Some(Field::Column(Column::Elapsed(unit))) => Some((*at, unit)),
            _ => None,
        });
        plan.has_own_dates = plan.date.is_some_and(|at| filled(rows, at).any(is_whole_date));
        plan.find_values();
        plan.find_windings_across(rows, reader);
        plan.find_free_winding(of_header);
        let free: Vec<usize> = plan.labels.iter().filter(|(_, label)| !label.is_known()).map(|(at, _)| *at).collect();
        let free = || free.iter().copied().filter(|at| Some(*at) != plan.point && Some(*at) != plan.winding);
        plan.clock = free().find(|at| holds_clock(rows, *at));
        if let (Some(winding), true) = (plan.winding, plan.components.is_empty()) {
            plan.components.extend(component_column(of_header, winding, free()));
        }
        let taken = [plan.winding, plan.point, plan.date, plan.clock];
        let is_taken = |at: usize| taken.contains(&Some(at)) || plan.components.contains(&at);
        let free = plan.labels.iter().filter(|(at, label)| !label.left_out && !label.is_known() && !is_taken(*at));
        let heads = |at: &usize| plan.headers.get(at).is_some_and(|header| verdicts::heads_verdicts(header));
        plan.verdicts = free.map(|(at, _)| *at).filter(heads).collect();
        plan
    }

    pub(super) fn of_field(&self, field: Field) -> Option<usize> {
        self.labels.iter().find(|(_, label)| label.field == Some(field)).map(|(at, _)| *at)
    }

    fn find_point(&mut self, rows: &[GridRow], reader: &LabelReader<'_>) {
        let is_point = |cell: &str| {
            let label = reader.read(cell);
            label.date.is_none()
                && (label.field.is_some_and(|field| matches!(field, Field::Column(_) | Field::Ignored))
                    || label.ohms.is_some()
                    || aliases::has_unit_of_something_else(cell)
                    || titles::values_of(cell, reader) == Some(Values::Other))
                && !is_number(cell)
                && !is_letter(cell)
        };
        let connections = self.of_field(Field::Column(Column::Connection));
        let is_timed = self.labels.iter().any(|(_, label)| matches!(label.column(), Some(Column::Reading(..))));
        let has_quantities = |at: &usize| !is_timed && name_quantities(rows, *at, reader);
        self.point = self.of_field(Field::Point).or_else(|| connections.filter(has_quantities));
        let generic =
            self.labels.iter().any(|(_, label)| matches!(label.field, Some(Field::Column(Column::Resistance(_)))));
        // Dates down and motors across, with rows for resistances and temperatures.
        let has_reading = self.labels.iter().any(|(_, label)| label.column().is_some_and(is_reading));
        if self.point.is_none() && (generic || !has_reading) && !self.dates_across {
            let names =
                self.labels.iter().filter(|(_, label)| label.field == Some(Field::Column(Column::Winding))).count();
            let candidates = self.labels.iter().filter(|(_, label)| !label.left_out).filter(|(_, label)| {
                // `Item` beside `Asset` may name what was measured.
                let is_second_name = label.field == Some(Field::Column(Column::Winding)) && names > 1;
                // `Medida` may head what was measured, or its values.
                let is_bare_reading =
                    matches!(label.field, Some(Field::Column(Column::Resistance(_)))) && label.ohms.is_none();
                label.unknown || label.field == Some(Field::Ignored) || is_second_name || is_bare_reading
            });
            self.point = candidates.map(|(at, _)| *at).find(|at| names_points(filled(rows, *at), reader));
        }
        if self.point.is_none() {
            // What the voltage was applied between, under a header that does not say so.
            let is_winding = |label: &Label| label.field == Some(Field::Column(Column::Winding));
            let is_named = |at: usize| {
                self.labels.iter().any(|(other, label)| *other != at && is_winding(label))
                    || self.context.winding().is_some()
            };
            let is_free = |label: &Label| {
                !label.left_out && !label.is_dated() && (self.dates_across || label.unknown || !label.is_known())
            };
            let is_said = connections.is_some_and(|at| filled(rows, at).next().is_some());
            let names_something = |at: &usize| {
                let cells = || filled(rows, *at).take(POINTS_ASKED);
                // A row each, with another text each, are motors with the codes of their places: `R10`.
                let differ = |place: usize| {
                    let mut seen = BTreeSet::new();
                    rows.iter().map(|row| row.cells[place].as_str()).all(|text| !text.is_empty() && seen.insert(text))
                };
                let are_codes = rows.len() > 1
                    && differ(*at)
                    && self.labels.iter().any(|(other, label)| other != at && is_winding(label) && differ(*other));
                let has_points = || {
                    !are_codes
                        && cells().any(|cell| is_point(cell) && !phases::is_usual(cell))
                        && !phases::are_of_one_custom(cells())
                };
                let with_points = self.dates_across && has_points();
                // Names of motors may be letters too.
                let may_be = !is_said && (is_named(*at) || !self.is_winding_at(*at));
                let phases = Phases::of(cells(), with_points, reader).filter(|_| may_be);
                // Rows of `U`, `V` and `W` below dates are of the motor that the title or the sheet names.
                let are_letters = |phases: &Phases| is_named(*at) || (self.dates_across && phases.are_certain());
                let is_phase =
                    |cell: &str| phases.as_ref().is_some_and(|phases| phases.has(cell, are_letters(phases), reader));
                share(cells(), &|cell| (with_points && is_point(cell)) || is_phase(cell)) >= 0.7
            };
            // `Line` with L1 and L2 may be of the plant.
            let is_place = |at: &usize| self.headers.get(at).is_some_and(|name| header_words::names_places(name));
            let candidates = self.labels.iter().filter(|(_, label)| is_free(label));
            self.point = candidates.map(|(at, _)| *at).find(|at| !is_place(at) && names_something(at));
        }
        let points = self.point.into_iter().flat_map(|at| filled(rows, at).take(POINTS_ASKED));
        self.point_phases = label::custom_of(points.map(|cell| reader.read(cell)));
        self.point_connections = self.point.is_some() && self.point == connections;
    }

    fn is_winding_at(&self, place: usize) -> bool {
        let is_winding = |label: &Label| label.field == Some(Field::Column(Column::Winding));
        self.labels.iter().any(|(at, label)| *at == place && is_winding(label))
    }

    /// `Tag` beside `Monat` is a day, and neither the name of a motor nor unknown, and so it is where nothing else is a date. Without any
    /// date, a column of days such as `12 Mar` is one, whatever its header.
    fn find_day(&mut self, rows: &[GridRow]) {
        let is_named = |day: usize| {
            self.labels.iter().any(|(at, _)| *at != day && self.is_winding_at(*at)) || self.context.winding().is_some()
        };
        let has_date = self
            .labels
            .iter()
            .any(|(_, label)| label.is_dated() || label.field == Some(Field::Column(Column::TestedOn)));
        let has_month = self.of_field(Field::Month).is_some();
        let is_of_days = |day: &usize| {
            let mut cells = filled(rows, *day).peekable();
            cells.peek().is_some() && cells.all(|cell| day_of_month(cell).is_some() || is_day_alone(cell))
        };
        let named = self.headers.iter().find(|(_, name)| is_day(name)).map(|(at, _)| *at);
        let named = named.filter(|day| (has_month || (is_named(*day) && !has_date)) && is_of_days(day));
        let by_cells = || {
            let is_free = |label: &Label| !label.left_out && (!label.is_known() || label.unknown);
            let free = self.labels.iter().filter(|(_, label)| is_free(label)).map(|(at, _)| *at);
            let of_days = |at: &usize| share(filled(rows, *at), &is_day_alone) > 0.7;
            let mut found = free.filter(of_days);
            let only = found.next().filter(|_| found.next().is_none());
            only.filter(|_| {
                !has_date
                    && !has_month
                    && [Field::Quarter, Field::Week].into_iter().all(|field| self.of_field(field).is_none())
            })
        };
        if let Some(day) = named.or_else(by_cells) {
            for (_, label) in self.labels.iter_mut().filter(|(at, label)| *at == day && !label.left_out) {
                *label = Label { field: Some(Field::Column(Column::TestedOn)), ..Label::default() };
            }
        }
    }

    /// The columns of names: all that the site names; else the one of our own name, unless it tells the windings of a machine apart.
    fn find_winding(&mut self, rows: &[GridRow], mapping: &Mapping) {
        let is_winding = |label: &Label| label.field == Some(Field::Column(Column::Winding));
        let named = self.labels.iter().filter(|(at, label)| is_winding(label) && Some(*at) != self.point);
        let named: Vec<usize> = named.map(|(at, _)| *at).collect();
        let header = |at: usize| self.headers.get(&at).cloned().unwrap_or_default();
        if let Some([first, others @ ..]) = named_by_site(&named, header, mapping).as_deref() {
            self.winding = Some(*first);
            self.components = others.to_vec();
            return;
        }
        let names = Names::of(rows, &named, header);
        self.winding = names.winding(header);
        self.components = names.component.into_iter().collect();
        let free = self.labels.iter().filter(|(_, label)| label.unknown).map(|(at, _)| *at);
        if let (Some(winding), true) = (self.winding, self.components.is_empty())
            && let Some(machine) = machine_column(rows, winding, header, free)
        {
            (self.winding, self.components) = (Some(machine), vec![winding]);
        }
    }

    fn find_values(&mut self) {
        for (at, label) in &self.labels {
            if label.field == Some(Field::WorkOrder) && label.is_dated() {
                let field = Some(Field::Column(Column::Procedure(Item::WorkOrder)));
                self.values.push((*at, Label { field, ..label.clone() }));
                continue;
            }
            let is_key = label.is_key() || matches!(label.field, Some(Field::Unit | Field::WorkOrder | Field::Ignored));
            let is_no_value =
                matches!(label.field, Some(Field::Column(Column::Connection | Column::Scope | Column::Elapsed(_))));
            if Some(*at) != self.point && !is_key && !is_no_value && label.column().is_some() {
                self.values.push((*at, label.clone()));
            }
        }
    }

    /// Names under a header that nobody understands, on the left of all values.
    fn find_free_winding(&mut self, rows: &[GridRow]) {
        if self.winding.is_some() || self.context.winding().is_some() || self.windings_across || self.context.group {
            return;
        }
        let first_value = self.values.iter().map(|(at, _)| *at).min().unwrap_or(usize::MAX);
        let is_text = |cell: &str| !is_number(cell) && !label::is_date(cell);
        // `Date` in the corner above the names heads the dates on its right.
        let is_corner = |label: &Label| self.dates_across && label.field == Some(Field::Column(Column::TestedOn));
        let free = self.labels.iter().filter(|(at, label)| {
            (is_corner(label) || (!label.is_known() && Some(*at) != self.date))
                && Some(*at) != self.point
                && *at < first_value
        });
        // Rows without values, such as `Equipment: P-101` above its tests, name the motor of the rows below them.
        let is_beside_values = |at: &usize| rows.iter().any(|row| !row.cells[*at].is_empty() && self.has_values(row));
        let named = free.map(|(at, _)| *at).filter(|at| share(filled(rows, *at), &is_text) > 0.7);
        let named: Vec<usize> = named.filter(is_beside_values).collect();
        self.winding = named.first().copied();
        self.may_name = named;
        self.date = self.date.filter(|at| Some(*at) != self.winding);
    }

    /// Columns headed by names of motors, where the rows have dates and nothing else is read.
    fn find_windings_across(&mut self, rows: &[GridRow], reader: &LabelReader<'_>) {
        let has_dates = self.date.is_some()
            || [Field::Quarter, Field::Month, Field::Week, Field::Year]
                .into_iter()
                .any(|field| self.of_field(field).is_some());
        let has_readings = self.values.iter().any(|(_, label)| label.column().is_some_and(is_reading));
        if !has_dates || has_readings {
            return;
        }
        let has_name = self.winding.is_some() || self.context.winding().is_some();
        let across: Vec<(usize, &str)> = self
            .labels
            .iter()
            .filter(|(_, label)| label.unknown)
            .filter_map(|(at, _)| Some((*at, self.headers.get(at)?.as_str())))
            .filter(|(_, name)| !aliases::names_a_count(name) && !aliases::has_unit_of_something_else(name))
            .filter(|(_, name)| !is_of_one_motor(name, reader))
            .filter(|(at, _)| share(filled(rows, *at), &reads) > 0.7)
            .collect();
        let is_all = |test: fn(&str) -> bool| across.iter().all(|(_, name)| test(name));
        let is_number_of_motor = |name: &str| name.bytes().all(|byte| byte.is_ascii_digit());
        // `Motor 1` and `Motor 2`, or `TM1` and `TM2`, beside a column of cars.
        let are_numbered = || is_all(is_numbered_machine) || are_of_one_series(across.iter().map(|(_, name)| *name));
        // Below a title that gives the unit of all numbers, or where most are pumps, fans and the like, they need no digits in their names.
        let is_kind = |name: &str| name.split_whitespace().any(aliases::names_kind_of_machine);
        let kinds = across.iter().filter(|(_, name)| is_kind(name)).count();
        let says_insulation = matches!(self.context.values, Some((Values::Resistances, _)));
        let has_unit = self.context.unit.is_some() || self.point.is_some() || says_insulation;
        let are_called = || is_all(may_be_name) && (has_unit || 2 * kinds >= across.len());
        let are_motors = || is_all(is_name) || is_all(is_number_of_motor) || are_called();
        if across.len() > 1 && if has_name { are_numbered() } else { are_motors() } {
            self.windings_across = true;
            let label = Label { unknown: true, ..Label::default() };
            self.values.extend(across.into_iter().map(|(at, _)| (at, label.clone())));
        }
    }

    /// Whether its measuring points are phases by their letters.
    pub(super) const fn point_names_phases(&self) -> bool {
        self.point_phases.is_some()
    }

    /// What a row says that it measures, or between what.
    pub(super) fn point_of(&self, cell: Option<&str>, reader: &LabelReader<'_>) -> PointOf {
        let Some(cell) = cell else { return PointOf::default() };
        let label = reader.read(cell);
        if let Some((letter, rest)) = &label.phase
            && self.point_phases.is_some_and(|custom| custom.contains(&letter.to_lowercase().as_str()))
        {
            let connection = Some(format!("{letter}-E"));
            return PointOf {
                label: Some(Rc::new(Label { connection, unknown: false, ..Label::clone(rest) })),
                connection: None,
            };
        }
        if self.point_connections && !is_quantity(cell, reader) {
            return PointOf { label: None, connection: Some(cell.to_owned()) };
        }
        PointOf { label: Some(label), connection: None }
    }

    /// Whether a row has anything in a column of values.
    pub(super) fn has_values(&self, row: &GridRow) -> bool {
        self.values.iter().any(|(place, _)| !row.cells[*place].is_empty())
    }

    /// A row that says left of its values that they are no resistances, where no column is that of measuring points: its line and what it
    /// says. In a column that nobody understands two rows of different quantities say so.
    pub(super) fn of_other_quantities<'r>(
        &self,
        rows: &'r [GridRow],
        reader: &LabelReader<'_>,
    ) -> Option<(u64, &'r str)> {
        if self.point.is_some() {
            return None;
        }
        let first_value = self.values.iter().map(|(at, _)| *at).min()?;
        let is_open = |at: usize, label: &Label| {
            let is_taken = Some(at) == self.winding || self.components.contains(&at);
            at < first_value && !is_taken && (Some(at) == self.date || !label.is_known() || label.unknown)
        };
        let open = self.labels.iter().filter(|(at, label)| is_open(*at, label)).map(|(at, _)| *at);
        open.filter_map(|at| {
            let said = rows.iter().filter(|row| self.has_values(row)).map(|row| (row.line, row.cells[at].as_str()));
            // A letter may be a class of insulation.
            let is_other =
                |cell: &str| cell.chars().count() > 2 && !reader.read(cell).unknown && is_quantity(cell, reader);
            let said: Vec<(u64, &str)> = said.take(POINTS_ASKED).filter(|(_, cell)| is_other(cell)).collect();
            let differ = said.iter().any(|(_, cell)| Some(*cell) != said.first().map(|(_, cell)| *cell));
            said.first().copied().filter(|_| Some(at) == self.date || differ)
        })
        .next()
    }

    /// What a row says of all motors that were tested on the dates above its cells, such as the air temperature of each round.
    pub(super) fn said_of_round(&self, row: &GridRow, reader: &LabelReader<'_>) -> Option<Column> {
        let name = row.cells[self.winding.filter(|_| self.dates_across && self.point.is_none())?].as_str();
        let label = reader.read(name);
        if label.field == Some(Field::WorkOrder) {
            return Some(Column::Procedure(Item::WorkOrder));
        }
        let is_quantity = |column: &Column| {
            matches!(
                column,
                Column::WindingTemp(_)
                    | Column::AirTemp(_)
                    | Column::Humidity
                    | Column::TestVolts
                    | Column::OutputVolts
                    | Column::Instrument
                    | Column::FullScale(_)
                    | Column::Procedure(_)
            )
        };
        let column = label.column().filter(is_quantity)?;
        (!label.unknown && !label.is_dated() && name.chars().count() > 1).then_some(column)
    }

    /// The unit that a row names for a cell: of several columns of units, the next on its right.
    pub(super) fn unit_of<'r>(&'r self, place: usize, row: &'r GridRow) -> Option<&'r str> {
        let (unit, blank) = self.units.get(self.unit_column_of(place))?;
        match (row.cells[*unit].as_str(), blank) {
            ("", Blank::AsFirst(first)) => Some(first),
            ("", _) => None,
            (text, _) => Some(text),
        }
    }

    fn unit_column_of(&self, place: usize) -> usize {
        if self.units.len() == 1 { 0 } else { self.units.partition_point(|(unit, _)| *unit <= place) }
    }

    /// Why a reading without a unit is not read, where its column of units names others.
    pub(super) fn fault_of_blank_unit(&self, place: usize, row: &GridRow) -> Option<(String, &'static str)> {
        match self.units.get(self.unit_column_of(place))? {
            (unit, Blank::Unknown(other)) if row.cells[*unit].is_empty() => Some(Blank::fault(other)),
            _ => None,
        }
    }

    /// What letters of phases stand for, by the headers, or by the cells that name them.
    pub(super) fn letters(&self, rows: &[GridRow]) -> Letters {
        let of_headers = Letters::of(self.values.iter().filter_map(|(_, label)| label.connection.as_deref()));
        let places = [self.point, self.of_field(Field::Column(Column::Connection))];
        let of_cells = places.into_iter().flatten().map(|at| letters_of(rows, at));
        std::iter::once(of_headers).chain(of_cells).find(|found| *found != Letters::OfPhases).unwrap_or(of_headers)
    }

    /// The date of a column, with the year of the row, the title or the sheet where the column names only a part of it.
    pub(super) fn dated<'l>(&self, label: &'l Label, year_of_row: &str) -> Option<Cow<'l, str>> {
        label.date.as_deref().map(Cow::Borrowed).or_else(|| {
            let part = label.part.as_deref()?;
            let year = Some(year_of_row.to_owned()).filter(|year| !year.is_empty()).or_else(|| self.year());
            Some(year.map_or(Cow::Borrowed(part), |year| Cow::Owned(format!("{part} {year}"))))
        })
    }

    /// The year that the title or the name of the sheet says.
    pub(super) fn year(&self) -> Option<String> {
        self.context.year.clone()
    }
}

/// What letters of phases stand for in a column of connections.
pub(super) fn letters_of(rows: &[GridRow], place: usize) -> Letters {
    Letters::of(filled(rows, place).take(POINTS_ASKED))
}

/// Whether a header names one of several readings of a motor, and no motor: `Reading 2`, `U-PE 1`, `Fan 1 retest`.
fn is_of_one_motor(header: &str, reader: &LabelReader<'_>) -> bool {
    let is_reading_of = |rest: &str| {
        let label = reader.read(rest);
        label.connection.is_some() || label.column().is_some_and(is_reading)
    };
    header_words::names_a_repeat(header) || label::number_of_test(header).is_some_and(|(_, rest)| is_reading_of(&rest))
}

/// Whether columns are headed by dates: by several, or all readings by the only one.
fn are_dates_across(labels: &[(usize, Label)]) -> bool {
    let dated = labels.iter().filter(|(_, label)| label.is_dated()).count();
    let names = |column: Column| labels.iter().any(|(_, label)| label.field == Some(Field::Column(column)));
    let is_bare_reading = |label: &Label| !label.is_dated() && label.column().is_some_and(is_reading);
    dated > 1
        || (dated == 1
            && names(Column::Winding)
            && !names(Column::TestedOn)
            && !labels.iter().any(|(_, label)| is_bare_reading(label)))
}

/// Whether a text is a date that needs no other text.
pub(super) fn is_whole_date(text: &str) -> bool {
    label::is_date(text) && Period::read(text).is_none()
}

/// Whether a header is a word for the day of a month that may be another.
fn is_day(header: &str) -> bool {
    matches!(
        header.trim().to_lowercase().as_str(),
        "tag" | "jour" | "día" | "dia" | "giorno" | "dag" | "day" | "d" | "dd" | "gg" | "jj"
    )
}

pub(super) fn filled(rows: &[GridRow], place: usize) -> impl Iterator<Item = &str> {
    rows.iter().map(move |row| row.cells[place].as_str()).filter(|cell| !cell.is_empty())
}

/// The columns that the site says hold parts of the name of a winding, where there are several.
pub(super) fn named_by_site(
    named: &[usize],
    header: impl Fn(usize) -> String,
    mapping: &Mapping,
) -> Option<Vec<usize>> {
    let is_said = |place: &usize| mapping.get(&header(*place)) == Some(Some(Column::Winding));
    let said: Vec<usize> = named.iter().copied().filter(is_said).collect();
    (said.len() > 1).then_some(said)
}

/// Whether a blank cell of a column means the name above: where names stand once before their rows.
pub(super) fn fills_down(rows: &[GridRow], place: usize, plan: &Plan, forms: &DateForms) -> bool {
    let (mut blank, mut named) = (0, 0);
    let is_later = |row: &GridRow| plan.date.is_some_and(|date| forms.is_later(&row.cells[date]));
    for row in rows.iter().filter(|row| plan.has_values(row) && !is_later(row)) {
        if row.cells[place].is_empty() {
            blank += 1;
        } else {
            named += 1;
        }
    }
    named > 0 && 2 * blank >= named && blank > 0
}

/// How many rows each text of a column is written for, if it is written once for the rows below: `None` where a winding begins without
/// one.
pub(super) fn runs_of(rows: &[GridRow], place: usize, plan: &Plan, forms: &DateForms) -> Option<Vec<usize>> {
    let is_later = |row: &GridRow| plan.date.is_some_and(|date| forms.is_later(&row.cells[date]));
    let (mut runs, mut last) = (Vec::new(), None);
    for row in rows.iter().filter(|row| plan.has_values(row) && !is_later(row)) {
        let name = plan.winding.map(|winding| &row.cells[winding]).filter(|name| !name.is_empty() && !is_ditto(name));
        let is_first = name.is_some() && name != last;
        last = name.or(last);
        let is_blank = row.cells[place].is_empty() || is_ditto(&row.cells[place]);
        match (is_blank, runs.last_mut()) {
            (true, Some(run)) if !is_first => *run += 1,
            (true, _) if plan.winding.is_some() && is_first => return None,
            (true, _) => {}
            (false, _) => runs.push(1),
        }
    }
    Some(runs)
}

/// Whether several texts are each written for as many rows, which shows that they are written once even where the rows could stand in any
/// order.
pub(super) fn are_regular(runs: &[usize]) -> bool {
    runs.len() > 1 && runs.iter().all(|run| *run > 1 && Some(run) == runs.first())
}

/// Whether a header is a word for machines and a number.
fn is_numbered_machine(header: &str) -> bool {
    let is_number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    header.trim().rsplit_once(' ').is_some_and(|(word, number)| is_number(number) && header_words::names_machines(word))
}

/// Whether most cells of a column are numbers with a unit of resistance.
pub(super) fn names_readings_by_unit(rows: &[GridRow], place: usize) -> bool {
    let names_ohms = |cell: &str| {
        let unit = cell.trim_start_matches(|c: char| !c.is_alphabetic() && c != 'Ω' && c != '\u{2126}');
        cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>'))
            && unit.chars().count() > 1
            && ResistanceUnit::read(unit).is_some()
    };
    share(filled(rows, place), &names_ohms) > 0.5
}
