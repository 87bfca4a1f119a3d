//! Every cell with something measured, and what is known of it.

use super::CellPlace;
use super::blocks::Block;
use super::cells::is_header;
use super::label::{self, Field, Label, Stage};
use super::plan::{Plan, dated, fills_down, year_of};
use super::table::Sheet;
use crate::ingest::dates::Period;
use crate::ingest::unit_column::Unit;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::ResistanceUnit;
use groundwall::units::Elapsed;
use std::collections::BTreeMap;

/// Names of rows that sum up others.
pub(super) const SUMMARIES: [&str; 14] = [
    "average", "avg", "mean", "total", "totals", "sum", "min", "minimum", "max", "maximum", "median", "limit",
    "target", "std dev",
];

/// A cell with something measured, and what is known of it.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) winding: String,
    pub(super) date: String,
    pub(super) order: String,
    pub(super) connection: String,
    pub(super) stage: Option<Stage>,
    pub(super) column: Column,
    pub(super) text: String,
    pub(super) place: CellPlace,
    /// Whether it is said of the whole row, not of one test in it.
    pub(super) of_row: bool,
    pub(super) line: u64,
}

impl Sheet<'_> {
    pub(super) fn entries(&mut self, block: &Block<'_>, plan: &Plan, date_column: Option<usize>) -> Vec<Entry> {
        let mapping = &self.rules.mapping;
        let at = |field: Field| plan.of_field(field);
        let (year, quarter, month) = (at(Field::Year), at(Field::Quarter), at(Field::Month));
        let (unit_column, order) = (at(Field::Unit), at(Field::WorkOrder));
        let connection_column = at(Field::Column(Column::Connection));
        let scope_column = at(Field::Column(Column::Scope));
        let fills = |place: Option<usize>| place.is_some_and(|place| fills_down(block.rows, place, plan));
        let (fill_winding, fill_date) = (fills(plan.winding), fills(date_column));
        let (fill_year, fill_quarter) = (fills(year), fills(quarter));
        self.seen.filled |= fill_winding || fill_date;
        self.seen.periods |= year.is_some() || quarter.is_some() || month.is_some();
        self.seen.title_unit |= plan.context.unit.is_some();
        let mut before: BTreeMap<usize, String> = BTreeMap::new();
        let mut entries = Vec::new();
        let yellow = plan.values.iter().any(|(_, label)| {
            label
                .connection
                .as_ref()
                .is_some_and(|text| text.to_lowercase().split(['-', '/']).any(|part| part == "y" || part == "yb"))
        });
        let mut above: Option<String> = None;
        for row in block.rows {
            let cell = |place: Option<usize>| place.map_or("", |place| row.cells[place].as_str());
            let mut filled = |place: Option<usize>, fill: bool| -> String {
                let Some(place) = place else { return String::new() };
                let text = row.cells[place].clone();
                if !text.is_empty() {
                    before.insert(place, text.clone());
                    return text;
                }
                if fill { before.get(&place).cloned().unwrap_or_default() } else { text }
            };
            let named = filled(plan.winding, fill_winding);
            let date_text = filled(date_column, fill_date);
            let (year_text, quarter_text) = (filled(year, fill_year), filled(quarter, fill_quarter));
            let has_values = plan.values.iter().any(|(place, _)| !row.cells[*place].is_empty());
            let first = row.filled().next().map_or("", |(_, cell)| cell);
            if SUMMARIES.contains(&first.to_lowercase().trim_end_matches([':', '.'])) {
                self.summaries += 1;
                continue;
            }
            if is_header(row, mapping) || row.cells == block.headers[block.headers.len() - 1].cells {
                continue;
            }
            if !has_values {
                if let (Some((_, text)), true) = (row.only(), plan.winding.is_none()) {
                    above = Some(text.to_owned());
                } else if row.filled().count() > 0
                    && !named.is_empty()
                    && plan.winding.is_some_and(|at| !row.cells[at].is_empty())
                {
                    self.not_done += 1;
                }
                continue;
            }
            let point = plan.point.map(|place| Label::read(&row.cells[place], mapping));
            let winding = if !named.is_empty() {
                named
            } else if plan.winding.is_some() {
                String::new()
            } else {
                above.clone().or_else(|| plan.context.winding().map(str::to_owned)).unwrap_or_default()
            };
            let year_text = if year_text.is_empty() { year_of(plan).unwrap_or_default() } else { year_text };
            let of_parts =
                || Period::of_columns(&year_text, Some(&quarter_text), month.map(|at| row.cells[at].as_str()));
            let row_date = if !date_text.is_empty() {
                date_text
            } else if quarter.is_some() || month.is_some() || year.is_some() {
                let written = if quarter_text.is_empty() { cell(month).to_owned() } else { quarter_text.clone() };
                let whole = Period::read(&written).filter(|_| year.is_none());
                whole.or_else(of_parts).map_or(written, |period| period.to_string())
            } else {
                String::new()
            };
            for (place, label) in &plan.values {
                let text = row.cells[*place].as_str();
                if text.is_empty() {
                    continue;
                }
                let place_of = CellPlace { line: row.line, column: *place };
                let merged = point.as_ref().map_or_else(|| label.clone(), |point| label.with(point));
                let unit = Some(cell(unit_column)).filter(|text| !text.is_empty());
                let Some(column) =
                    self.column_of(&merged, point.as_ref(), plan, unit, place_of, text, cell(plan.point))
                else {
                    continue;
                };
                let date = dated(label, plan).unwrap_or_else(|| {
                    if row_date.is_empty() { plan.context.date.clone().unwrap_or_default() } else { row_date.clone() }
                });
                if !label.is_dated() && row_date.is_empty() && plan.context.date.is_some() && self.name.sheet.is_some()
                {
                    self.seen.sheet_date = true;
                }
                let connection =
                    merged.connection.as_deref().or(Some(cell(connection_column)).filter(|text| !text.is_empty()));
                entries.push(Entry {
                    winding: if label.unknown && self.seen.windings_across {
                        plan.headers.get(place).cloned().unwrap_or_default()
                    } else {
                        winding.clone()
                    },
                    order: cell(order).to_owned(),
                    connection: connection.map(|text| label::connection(text, yellow)).unwrap_or_default(),
                    stage: merged.stage,
                    of_row: !label.is_dated() && plan.values.iter().any(|(_, other)| other.is_dated()),
                    date,
                    column,
                    text: text.to_owned(),
                    place: place_of,
                    line: row.line,
                });
            }
            if let Some(scope) = Some(cell(scope_column)).filter(|text| !text.is_empty()) {
                let of_row: Vec<Entry> =
                    entries.iter().rev().take_while(|entry| entry.line == row.line).cloned().collect();
                if let Some(first) = of_row.last() {
                    entries.push(Entry {
                        column: Column::Scope,
                        text: scope.to_owned(),
                        of_row: true,
                        ..first.clone()
                    });
                }
            }
        }
        entries
    }

    /// The column of a cell, in its unit; nothing where it measures something else, which is counted, or cannot be told.
    #[allow(clippy::too_many_arguments)]
    pub(super) fn column_of(
        &mut self,
        label: &Label,
        point: Option<&Label>,
        plan: &Plan,
        unit: Option<&str>,
        place: CellPlace,
        text: &str,
        point_text: &str,
    ) -> Option<Column> {
        let unclear = |value: &str, column: &str, rule: &str, hint: &str| {
            Some(Fault {
                column: column.to_owned(),
                value: value.to_owned(),
                rule: rule.to_owned(),
                hint: hint.to_owned(),
            })
        };
        let mut fault = None;
        let unit_read = unit.map(Unit::read);
        if point.is_some_and(|point| point.field == Some(Field::Ignored))
            || matches!(unit_read, Some(Some(Unit::Other)))
        {
            *self
                .other_points
                .entry(if point_text.is_empty() { unit.unwrap_or_default() } else { point_text }.to_owned())
                .or_default() += 1;
            return None;
        }
        let mut column = label.column();
        if label.unknown && column.is_none() {
            column = Some(Column::Resistance(ResistanceUnit::Megohm));
        }
        let is_point_known = point.is_none_or(|point| point.is_known() && !point.unknown);
        match (&mut column, unit_read) {
            (_, Some(None)) => {
                fault = unclear(
                    unit.unwrap_or_default(),
                    "unit",
                    "this column holds units, and the unit of a resistance is Ω, kΩ, MΩ, GΩ or TΩ",
                    "write the unit out; a small m before ohm could mean milli or mega",
                );
            }
            (Some(Column::Reading(_, own) | Column::Resistance(own)), Some(Some(Unit::Ohms(unit)))) => *own = unit,
            (Some(Column::Reading(..) | Column::Resistance(_)), Some(Some(other))) => {
                let is_temperature = matches!(other, Unit::Degrees(_));
                if is_temperature && !is_point_known {
                    *self.other_points.entry(point_text.to_owned()).or_default() += 1;
                    return None;
                }
                if let (Unit::Volts, false) | (Unit::Percent, false) = (other, is_point_known) {
                    *self.other_points.entry(point_text.to_owned()).or_default() += 1;
                    return None;
                }
                fault = unclear(
                    unit.unwrap_or_default(),
                    "unit",
                    "a row of this unit measures something else than a resistance",
                    "write the unit that the reading has, or leave the row out",
                );
            }
            (Some(Column::WindingTemp(scale) | Column::AirTemp(scale)), Some(Some(Unit::Degrees(unit)))) => {
                *scale = unit
            }
            (Some(Column::WindingTemp(_) | Column::AirTemp(_)), Some(Some(_))) => {
                fault = unclear(
                    unit.unwrap_or_default(),
                    "unit",
                    "the unit of a temperature is °C or °F",
                    "write the unit that the reading has, or leave the row out",
                );
            }
            (_, _) if !is_point_known && unit.is_none() => {
                fault = unclear(
                    point_text,
                    "point",
                    "the name of the measuring point does not tell what was measured",
                    "say what it holds under [columns] in the policy file, such as r_60s or winding_temp_c, or - to leave it out",
                );
            }
            _ => {}
        }
        if let Some(fault) = fault {
            self.unplaced.push((place, text.to_owned(), fault));
            return None;
        }
        let named = label.ohms.is_some() || matches!(unit_read, Some(Some(Unit::Ohms(_))));
        let column = column.map(|column| match (column, plan.context.unit) {
            (Column::Resistance(_), Some(unit)) if !named => Column::Resistance(unit),
            (Column::Reading(at, _), Some(unit)) if !named => Column::Reading(at, unit),
            (column, _) => column,
        });
        let minute = Elapsed::from_seconds(60.0).ok()?;
        column.map(|column| if let Column::Resistance(unit) = column { Column::Reading(minute, unit) } else { column })
    }
}
