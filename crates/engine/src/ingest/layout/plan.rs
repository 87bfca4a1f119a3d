//! Which column of a block holds what.

use super::blocks::Block;
use super::cells::{is_number, names_points, reads};
use super::context::{Context, is_name, is_usual_sheet};
use super::grid::GridRow;
use super::label::{self, Field, Label};
use super::table::Sheet;
use crate::error::shown;
use groundwall::record::columns::Column;
use std::collections::{BTreeMap, BTreeSet};

/// The columns of a block, or of one of several side by side.
pub(super) struct Plan {
    pub(super) labels: Vec<(usize, Label)>,
    pub(super) headers: BTreeMap<usize, String>,
    pub(super) winding: Option<usize>,
    pub(super) point: Option<usize>,
    pub(super) values: Vec<(usize, Label)>,
    pub(super) context: Context,
}

impl Plan {
    pub(super) fn of_field(&self, field: Field) -> Option<usize> {
        self.labels.iter().find(|(_, label)| label.field == Some(field)).map(|(at, _)| *at)
    }
}

impl Sheet<'_> {
    pub(super) fn range(
        &mut self,
        block: &Block<'_>,
        labels: Vec<(usize, Label)>,
        headers: BTreeMap<usize, String>,
        context: Context,
    ) {
        let mapping = &self.rules.mapping;
        let mut plan = Plan { labels, headers, winding: None, point: None, values: Vec::new(), context };
        let cells =
            |place: usize| block.rows.iter().map(move |row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
        let share = |place: usize, test: &dyn Fn(&str) -> bool| {
            let (mut all, mut fit) = (0, 0);
            for cell in cells(place) {
                all += 1;
                fit += usize::from(test(cell));
            }
            if all == 0 { 0.0 } else { f64::from(fit as u32) / f64::from(all as u32) }
        };
        let is_point = |cell: &str| {
            let label = Label::read(cell, mapping);
            label.date.is_none()
                && (label.field.is_some_and(|field| matches!(field, Field::Column(_) | Field::Ignored))
                    || label.ohms.is_some())
                && !is_number(cell)
        };
        let dates_across = plan.labels.iter().filter(|(_, label)| label.is_dated()).count() > 1;
        plan.point = plan.of_field(Field::Point);
        plan.winding = plan.of_field(Field::Column(Column::Winding));
        let generic =
            plan.labels.iter().any(|(_, label)| matches!(label.field, Some(Field::Column(Column::Resistance(_)))));
        if plan.point.is_none() && generic && !dates_across {
            let candidates =
                plan.labels.iter().filter(|(_, label)| label.unknown || label.field == Some(Field::Ignored));
            plan.point = candidates.map(|(at, _)| *at).find(|at| names_points(cells(*at), mapping));
        }
        if plan.point.is_none() && dates_across {
            let candidates = plan.labels.iter().filter(|(_, label)| !label.is_dated());
            plan.point = candidates.map(|(at, _)| *at).find(|at| share(*at, &is_point) >= 0.7);
        }
        if plan.winding == plan.point {
            plan.winding = None;
        }
        // A header of temperatures or readings whose cells name something is no column of values.
        let date_column = plan.of_field(Field::Column(Column::TestedOn)).filter(|at| Some(*at) != plan.point);
        for (at, label) in &plan.labels {
            let is_key = label.is_key() || matches!(label.field, Some(Field::Unit | Field::WorkOrder | Field::Ignored));
            let is_connection_column = matches!(label.field, Some(Field::Column(Column::Connection | Column::Scope)));
            if Some(*at) == plan.point || is_key || is_connection_column || label.column().is_none() {
                continue;
            }
            plan.values.push((*at, label.clone()));
        }
        let first_value = plan.values.iter().map(|(at, _)| *at).min().unwrap_or(usize::MAX);
        if plan.winding.is_none() && plan.context.winding().is_none() {
            let is_text = |cell: &str| !is_number(cell) && !label::is_date(cell);
            let free = plan.labels.iter().filter(|(at, label)| {
                !label.is_known()
                    && Some(*at) != plan.point
                    && Some(*at) != date_column
                    && (*at < first_value || plan.headers.contains_key(at))
            });
            let mut named: Vec<usize> = free.map(|(at, _)| *at).filter(|at| *at < first_value).collect();
            named.retain(|at| share(*at, &is_text) > 0.7);
            plan.winding = named.first().copied();
        }
        let has_readings = plan
            .values
            .iter()
            .any(|(_, label)| matches!(label.column(), Some(Column::Reading(..) | Column::Resistance(_))));
        if plan.winding.is_none() && plan.context.winding().is_none() && date_column.is_some() && !has_readings {
            let across: Vec<usize> = plan
                .labels
                .iter()
                .filter(|(at, label)| label.unknown && plan.headers.get(at).is_some_and(|name| is_name(name)))
                .map(|(at, _)| *at)
                .filter(|at| share(*at, &|cell| reads(cell)) > 0.7)
                .collect();
            if across.len() > 1 {
                self.seen.windings_across = true;
                plan.values.extend(across.into_iter().map(|at| (at, Label { unknown: true, ..Label::default() })));
            }
        }
        self.name_from_sheet(&mut plan);
        let entries = self.entries(block, &plan, date_column);
        self.join(entries, plan.point.is_some() && !dates_across, &plan.context);
        for (at, label) in &plan.labels {
            if !plan.headers.contains_key(at) && Some(*at) != plan.winding && cells(*at).any(reads) {
                let column = format!("column {} (no name)", at + 1);
                if !self.ignored.contains(&column) {
                    self.ignored.push(column);
                }
            }
            let is_read = Some(*at) == plan.winding
                || Some(*at) == plan.point
                || plan.values.iter().any(|(value, _)| value == at)
                || (label.is_known() && label.field != Some(Field::Ignored));
            if let (false, Some(header)) = (is_read, plan.headers.get(at)) {
                let header = shown(header);
                if !self.ignored.contains(&header) {
                    self.ignored.push(header);
                }
            }
        }
        self.seen.dates_across |= dates_across;
        self.seen.points |= plan.point.is_some();
        self.seen.units |= plan.of_field(Field::Unit).is_some();
        let connections: BTreeSet<&String> =
            plan.values.iter().filter_map(|(_, label)| label.connection.as_ref()).collect();
        self.seen.phases_across |= connections.len() > 1;
        self.seen.stages_across |= plan.values.iter().any(|(_, label)| label.stage.is_some());
    }

    /// The name of the motor from the title or the sheet, and the date from the sheet, where no column has them.
    pub(super) fn name_from_sheet(&mut self, plan: &mut Plan) {
        if plan.winding.is_none() && plan.context.winding().is_none() && !self.seen.windings_across {
            let sheet = self.name.sheet.filter(|sheet| !label::is_date(sheet) && !is_usual_sheet(sheet));
            let sheet = sheet.filter(|sheet| self.name.several || sheet.contains(|c: char| c.is_ascii_digit()));
            if let Some(name) = plan.context.name.clone() {
                self.seen.title_winding = true;
                plan.context.columns.push((Column::Winding, name));
            } else if let Some(sheet) = sheet {
                self.seen.sheet_winding = true;
                plan.context.columns.push((Column::Winding, sheet.to_owned()));
            }
        } else if plan.winding.is_none() && plan.context.winding().is_some() {
            self.seen.title_winding = true;
        }
        if plan.context.date.is_none() {
            let titled = plan.context.cells.get("date").cloned();
            let sheet =
                self.name.sheet.map(|sheet| Label::read(sheet, &self.rules.mapping)).and_then(|label| label.date);
            plan.context.date = titled.or(sheet);
        }
    }
}

/// The date of a column, with the year of the title or the sheet where the column names only a month or a quarter.
pub(super) fn dated(label: &Label, plan: &Plan) -> Option<String> {
    label.date.clone().or_else(|| {
        let part = label.part.as_ref()?;
        Some(year_of(plan).map_or_else(|| part.clone(), |year| format!("{part} {year}")))
    })
}

/// The year that the title or the name of the sheet says.
pub(super) fn year_of(plan: &Plan) -> Option<String> {
    plan.context.date.clone().filter(|date| date.len() == 4)
}

/// Whether a blank cell of a column means the name above: where names stand once before their rows.
pub(super) fn fills_down(rows: &[GridRow], place: usize, plan: &Plan) -> bool {
    let (mut blank, mut named) = (0, 0);
    for row in rows.iter().filter(|row| plan.values.iter().any(|(value, _)| !row.cells[*value].is_empty())) {
        if row.cells[place].is_empty() {
            blank += 1;
        } else {
            named += 1;
        }
    }
    named > 0 && 2 * blank >= named && blank > 0
}
