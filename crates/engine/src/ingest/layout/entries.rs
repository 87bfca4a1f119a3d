//! Every cell with something measured, and what is known of it.

use super::blocks::Block;
use super::cells::{continues, is_summary, reading_and_date};
use super::context::is_name;
use super::entry::{Entry, Of};
use super::grid::GridRow;
use super::label::conductors::Letters;
use super::label::{self, Field, Label, conductors};
use super::open;
use super::plan::{Plan, are_regular, fills_down, is_whole_date, runs_of};
use super::sheet::{Known, Sheet};
use super::texts::TextId;
use super::titles::{self, Values};
use super::years;
use crate::error::{Failure, shown};
use crate::ingest::aliases;
use crate::ingest::cell_place::CellPlace;
use crate::ingest::dates::{self, Period};
use crate::ingest::header_words;
use crate::ingest::kinds::{is_reading, reads};
use crate::ingest::unit::Unit;
use crate::ingest::unit_column::NO_UNIT;
use crate::ingest::verdicts;
use groundwall::record::columns::Column;
use groundwall::record::is_ditto;
use groundwall::record::validate::Fault;
use groundwall::record::{self, Connection, Item};
use groundwall::resistance::ResistanceUnit;
use groundwall::units::Elapsed;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::rc::Rc;

/// A cell that may hold a reading: its place, its text and its test.
struct Value<'c> {
    place: CellPlace,
    text: &'c str,
    known: Known,
}

/// The work order of a row. Of a row with several dates it belongs to one of them, and nobody knows to which.
fn order_of<'r>(row: &'r GridRow, plan: &Plan) -> &'r str {
    let place = plan.of_field(Field::WorkOrder).filter(|_| !plan.dates_across);
    place.map_or("", |place| row.cells[place].as_str())
}

/// What rows further up say of the rows below them.
#[derive(Default)]
struct Held {
    /// The last text of a column that is written once for several rows.
    cells: BTreeMap<usize, String>,
    /// The winding of the row above.
    named: String,
    /// The name of a motor in a row of its own.
    winding: Option<String>,
    /// Whether such rows say what they name: `Equipment: P-101`. Other rows of that form, `Tests: 2`, then name none.
    has_labels: bool,
    /// Such a row that may be none of a motor, by its line, until tests come below it.
    heading: Option<(u64, String)>,
    /// A date in a row of its own.
    date: Option<String>,
    /// Days of years that not every row says, by winding and connection.
    yearless: BTreeMap<[String; 2], Vec<PartOfYear>>,
    /// Dates of columns, in a row below the periods that head them.
    dates: BTreeMap<usize, String>,
}

/// A day without its year.
struct PartOfYear {
    /// As written.
    text: String,
    /// As it is read.
    day: String,
    year: String,
    /// Whether its row says the year.
    says_year: bool,
}

/// Which columns are written once for several rows.
struct Fills {
    winding: bool,
    date: bool,
    connection: bool,
    year: bool,
    quarter: bool,
    month: bool,
    week: bool,
}

/// What a row says of all its cells.
struct RowSays<'a> {
    winding: TextId,
    date: TextId,
    /// The year in a column of years.
    year: String,
    order: TextId,
    connection: Cow<'a, str>,
    point: Option<(&'a str, Rc<Label>)>,
    /// The time of the timed reading that it holds.
    elapsed: Option<Elapsed>,
}

impl Held {
    /// The question about tests of a winding that are not in the order of the one year that is named.
    fn question_of_years(&self, place: &str) -> Option<Failure> {
        self.yearless.iter().find_map(|([winding, _], parts)| {
            let days: Vec<&str> = parts.iter().map(|part| part.day.as_str()).collect();
            let is_open = parts.iter().any(|part| !part.says_year) && !years::are_in_order(&days);
            let (first, last) = parts.first().zip(parts.last())?;
            let whose = format!("the tests of {}", shown(winding));
            is_open.then(|| years::of_two_years(place, &whose, [&first.text, &last.text], &last.year))
        })
    }

    fn text(&mut self, row: &GridRow, place: Option<usize>, fill: bool) -> String {
        let Some(place) = place else { return String::new() };
        let text = &row.cells[place];
        let is_ditto = is_ditto(text);
        if !text.is_empty() && !is_ditto {
            self.cells.insert(place, text.clone());
        } else if fill || is_ditto {
            return self.cells.get(&place).cloned().unwrap_or_default();
        }
        text.clone()
    }
}

impl<'a> Sheet<'a> {
    pub(super) fn entries(&mut self, block: &Block<'a>, plan: &Plan) -> Vec<Entry<'a>> {
        let of_field = |field: Field| plan.of_field(field);
        let forms = self.forms.clone();
        let fills = |place: Option<usize>| place.is_some_and(|place| fills_down(block.rows, place, plan, &forms));
        let connection = of_field(Field::Column(Column::Connection)).or(plan.point);
        let winding = fills(plan.winding);
        // A date that somebody forgot is not that of the row above.
        let date = fills(plan.date.filter(|date| plan.winding.is_none_or(|winding| *date < winding)));
        let has_dittos =
            |place: Option<usize>| place.is_some_and(|place| block.rows.iter().any(|row| is_ditto(&row.cells[place])));
        // Rows that all have a name and a date may stand in any order.
        let has_order = winding || date || plan.dates_across || plan.point.is_some() || has_dittos(connection);
        let is_written_once = |place: &usize| {
            let runs = runs_of(block.rows, *place, plan, &forms);
            runs.as_ref().is_some_and(|runs| has_order || are_regular(runs))
        };
        let fills = Fills {
            winding,
            date,
            connection: fills(connection.filter(is_written_once)),
            year: fills(of_field(Field::Year)),
            quarter: fills(of_field(Field::Quarter)),
            month: fills(of_field(Field::Month)),
            week: fills(of_field(Field::Week)),
        };
        self.seen.filled |= fills.winding || fills.date || fills.connection;
        self.seen.filled |=
            [plan.winding, plan.date, of_field(Field::Column(Column::Connection))].into_iter().any(has_dittos);
        self.seen.periods |=
            [Field::Year, Field::Quarter, Field::Month, Field::Week].into_iter().any(|f| of_field(f).is_some());
        self.seen.title_unit |= plan.context.unit.is_some();
        let scope = of_field(Field::Column(Column::Scope));
        let letters = plan.letters(block.rows);
        if letters != Letters::OfPhases && !self.seen.phases_across && plan.point.is_none() {
            self.seen.colours = Some(letters);
        }
        let mut held = Held::default();
        let mut entries = Vec::new();
        for row in block.rows {
            if self.is_too_large {
                break;
            }
            if self.holds_no_test(row, block, plan, &mut held) {
                continue;
            }
            if let Some(column) = plan.said_of_round(row, self.reader) {
                for (place, label) in plan.values.iter().filter(|(place, _)| !row.cells[*place].is_empty()) {
                    entries.push(Entry {
                        winding: TextId::EMPTY,
                        date: self.date_of(label, *place, (TextId::EMPTY, ""), plan, &held),
                        order: TextId::EMPTY,
                        connection: TextId::EMPTY,
                        stage: None,
                        column,
                        text: &row.cells[*place],
                        place: CellPlace { line: row.line, column: *place },
                        of: Of::Round,
                    });
                }
                continue;
            }
            self.ask_about_heading(&mut held, plan);
            let says = self.said_by_row(row, plan, &fills, &mut held);
            let first_of_row = entries.len();
            for (place, label) in &plan.values {
                let text = row.cells[*place].as_str();
                if text.is_empty() || !self.may_hold(|left| &mut left.values, 1) {
                    continue;
                }
                let at = CellPlace { line: row.line, column: *place };
                let in_cell = Some(text).filter(|_| self.seen.dates_in_cells && label.column().is_some_and(is_reading));
                let (text, own_date) =
                    in_cell.and_then(reading_and_date).map_or((text, None), |(reading, date)| (reading, Some(date)));
                // A column that says what it holds is not what the row measures: the test voltage beside it.
                let is_own = label.column().is_some_and(|column| !is_reading(column)) && label.scale.is_none();
                let point = says.point.as_ref().filter(|_| !is_own);
                let merged = point.map_or(Cow::Borrowed(label), |(_, point)| Cow::Owned(label.with(point)));
                let unit = plan.unit_of(*place, row);
                let connection =
                    merged.connection.as_deref().or(Some(&*says.connection).filter(|text| !text.is_empty()));
                let is_motor = label.unknown && self.seen.windings_across;
                let winding = plan.headers.get(place).filter(|_| is_motor).map(|name| {
                    let of_row = self.texts.get(says.winding);
                    if of_row.is_empty() { name.clone() } else { format!("{of_row} {name}") }
                });
                let known = Known {
                    winding: winding.map_or(says.winding, |name| self.texts.id(&name)),
                    date: match own_date {
                        Some(date) => self.texts.id(date),
                        None => self.date_of(label, *place, (says.date, &says.year), plan, &held),
                    },
                    connection: connection
                        .map_or(TextId::EMPTY, |text| self.texts.id(&conductors::connection(text, letters))),
                    column: None,
                };
                let Some(column) = self.column_of(&merged, &says, plan, unit, &Value { place: at, text, known }) else {
                    continue;
                };
                let is_named = merged.ohms.is_some() || unit.is_some() || plan.context.unit.is_some();
                if !is_named && !self.has_unit(plan, row, column, at, text, known) {
                    continue;
                }
                if !label.is_dated() && says.date.is_empty() && plan.context.date.is_some() {
                    self.seen.sheet_date = true;
                }
                let Known { winding, date, connection, .. } = known;
                entries.push(Entry {
                    winding,
                    date,
                    order: says.order,
                    connection,
                    stage: merged.stage,
                    column,
                    text,
                    place: at,
                    of: match () {
                        // The temperature beside columns of motors.
                        () if plan.windings_across && !is_motor => Of::Round,
                        () if !label.is_dated() && plan.dates_across => Of::Row,
                        () => Of::Test,
                    },
                });
            }
            let scope = scope.map_or("", |place| row.cells[place].as_str());
            let failed =
                if plan.verdicts.iter().any(|at| {
                    verdicts::is_failure_under(plan.headers.get(at).map_or("", String::as_str), &row.cells[*at])
                }) {
                    "verdict failed"
                } else {
                    ""
                };
            let of_row = [
                (Column::Scope, scope),
                (Column::Procedure(Item::WorkOrder), order_of(row, plan)),
                (Column::Note, failed),
            ];
            if let Some(first) = entries.get(first_of_row).copied() {
                let all = Entry { connection: TextId::EMPTY, stage: None, of: Of::Row, ..first };
                let said = of_row.into_iter().filter(|(_, text)| !text.is_empty());
                entries.extend(said.map(|(column, text)| Entry { column, text, ..all }));
            }
        }
        self.open_question = self.open_question.take().or_else(|| held.question_of_years(self.name.place));
        entries
    }

    fn names_windings(&self, label: &str) -> bool {
        self.reader.read(label).field == Some(Field::Column(Column::Winding))
    }

    /// Keeps the question about a text above tests of a motor that a title names: another motor, or a remark.
    fn ask_about_heading(&mut self, held: &mut Held, plan: &Plan) {
        let (Some((line, text)), None) = (held.heading.take(), &self.open_question) else { return };
        let message = format!(
            "{}: row {line} says {} above tests of {}: another motor, or a remark?",
            self.name.place,
            shown(&text),
            shown(
                held.winding
                    .as_deref()
                    .filter(|_| plan.context.winding().is_none())
                    .or(plan.context.winding())
                    .unwrap_or_default()
            )
        );
        let hint = "put the tests of another motor below a header of their own, with its name above it such as Motor: P-102; write a remark into \
                    a column of notes";
        self.open_question = Some(Failure::usage(message).hint(hint));
    }

    /// Keeps the question about a text that tells of trouble in a row that holds no test: a footnote, or notes of a round.
    fn ask_about_text(&mut self, row: &GridRow, plan: &Plan) {
        let is_note =
            |cell: &str| verdicts::is_note_of_trouble(cell) || record::says_failed(cell) || open::tells_of_a_test(cell);
        let name = plan.winding.map_or("", |at| row.cells[at].as_str());
        let field = self.reader.read(name).field;
        let is_of_round = plan.dates_across && matches!(field, Some(Field::Column(Column::Note)));
        let found = match row.only() {
            Some((_, text)) => Some(text).filter(|text| is_note(text)),
            None if is_of_round => row.filled().map(|(_, cell)| cell).find(|cell| record::tells_of_trouble(cell)),
            None => None,
        };
        if let (Some(text), None) = (found, &self.open_question) {
            let message = format!("{}: row {} holds no test, and it says {}", self.name.place, row.line, shown(text));
            let hint = "write it into a column of notes beside the test that it speaks of, or take it out if it speaks of something else";
            self.open_question = Some(Failure::usage(message).hint(hint));
        }
    }

    /// Whether a row is no test: it sums up others, repeats the header, or names a motor, a date or the dates of its columns.
    fn holds_no_test(&mut self, row: &GridRow, block: &Block<'_>, plan: &Plan, held: &mut Held) -> bool {
        let reader = self.reader;
        self.ask_about_text(row, plan);
        let first = row.filled().next().map_or("", |(_, cell)| cell);
        if is_summary(first) {
            self.summaries += 1;
            return true;
        }
        if block.headers.iter().any(|header| header.cells == row.cells) {
            return true;
        }
        if row.only().is_some_and(|(_, text)| continues(text)) {
            return true;
        }
        if plan.has_values(row) {
            if plan.said_of_round(row, reader).is_some() {
                return false;
            }
            if let Some(said) = self.is_footer(row, plan) {
                *self.other_points.entry(said.to_owned()).or_default() += 1;
                return true;
            }
            let name = plan.winding.map_or("", |place| row.cells[place].as_str());
            let field = if plan.dates_across { reader.read(name).field } else { None };
            match field {
                Some(Field::Column(Column::TestedOn)) => {
                    held.dates.extend(plan.values.iter().map(|(place, _)| (*place, row.cells[*place].clone())));
                }
                Some(Field::Column(Column::Note | Column::LeadCheck) | Field::WorkOrder) => {}
                _ if plan.dates_across && header_words::names_circumstances(name) => {}
                _ => return false,
            }
            *self.other_points.entry(name.to_owned()).or_default() +=
                u64::from(field != Some(Field::Column(Column::TestedOn)));
            self.other_points.retain(|_, count| *count > 0);
            return true;
        }
        // The day of the tests below it, or of one that was not done.
        let is_day = |at: &usize| label::is_date(&row.cells[*at]) || dates::is_day_alone(&row.cells[*at]);
        if let Some(date) = plan.date.filter(is_day) {
            held.cells.insert(date, row.cells[date].clone());
        }
        match row.only() {
            Some((_, text))
                if label::is_date(text)
                    && (plan.date.is_none() || matches!(Period::read(text), Some(Period::Month(..)))) =>
            {
                held.date = Some(text.to_owned());
            }
            // In another column than the dates.
            Some((_, text)) if is_whole_date(text) => {
                held.cells.extend(plan.date.map(|date| (date, text.to_owned())));
            }
            Some((_, text)) if plan.winding.is_none() => {
                let labelled = text.split_once(':').filter(|(_, value)| !value.trim().is_empty());
                if let Some((name, value)) = labelled.filter(|(name, _)| held.has_labels || self.names_windings(name)) {
                    if self.names_windings(name) {
                        (held.has_labels, held.heading) = (true, None);
                        held.winding = Some(value.trim().to_owned());
                    } else {
                        held.heading = Some((row.line, text.to_owned()));
                    }
                    return true;
                }
                held.heading = (plan.context.winding().is_some() && (!is_name(text) || label::names_tests(text)))
                    .then(|| (row.line, text.to_owned()));
                held.winding = Some(text.to_owned());
            }
            // `P-102`, `Feed pump` may name the next motor.
            None if plan.winding.is_none()
                && held.winding.is_some()
                && !plan.date.is_some_and(|at| label::is_date(&row.cells[at])) =>
            {
                held.heading = Some((row.line, first.to_owned()));
            }
            _ if plan.winding.is_some_and(|at| !row.cells[at].is_empty()) => {
                held.text(row, plan.winding, true);
                self.not_done += 1;
            }
            _ => {}
        }
        true
    }

    /// What a line of a form below its table of phases says, `Result: passed`, where its value is no reading.
    fn is_footer<'r>(&mut self, row: &'r GridRow, plan: &Plan) -> Option<&'r str> {
        let connection = plan.of_field(Field::Column(Column::Connection));
        let place = connection.or(plan.point.filter(|_| plan.point_names_phases()))?;
        let name = row.cells[place].as_str();
        let label = self.reader.read(name);
        let is_phase = label.phase.is_some() || !matches!(Connection::read(name), Connection::Other(_));
        let is_of_a_form = name.ends_with(':')
            || verdicts::heads_verdicts(name)
            || label.column().is_some_and(|column| !is_reading(column)) && !label.unknown;
        let texts = || plan.values.iter().map(|(at, _)| row.cells[*at].as_str()).filter(|cell| !cell.is_empty());
        let is_text = |cell: &str| !reads(cell) && !cell.contains(|c: char| c.is_ascii_digit());
        if name.is_empty() || is_phase || !is_of_a_form || !texts().all(is_text) {
            return None;
        }
        if let Some(text) =
            texts().find(|text| verdicts::is_failure_under(name, text) || record::tells_of_trouble(text))
            && self.open_question.is_none()
        {
            let message = format!(
                "{}: row {} holds no test, and it says {} {}",
                self.name.place,
                row.line,
                shown(name),
                shown(text)
            );
            let hint = "write it into a column of notes beside the test that it speaks of, or take it out if it speaks of something else";
            self.open_question = Some(Failure::usage(message).hint(hint));
        }
        Some(name)
    }

    fn said_by_row<'r>(&mut self, row: &'r GridRow, plan: &Plan, fills: &Fills, held: &mut Held) -> RowSays<'r> {
        let cell = |place: Option<usize>| place.map_or("", |place| row.cells[place].as_str());
        let at = |field: Field| plan.of_field(field);
        let named = held.text(row, plan.winding, fills.winding);
        let mut winding = if !named.is_empty() || plan.winding.is_some() {
            named
        } else {
            self.seen.names_above |= held.winding.is_some();
            held.winding.clone().or_else(|| plan.context.winding().map(str::to_owned)).unwrap_or_default()
        };
        let parts = plan.components.iter().map(|place| held.text(row, Some(*place), fills.winding));
        let mut components: Vec<String> = parts.filter(|part| !part.is_empty()).collect();
        if components.is_empty() {
            components.extend(plan.context.component.clone());
        }
        if !components.is_empty() && !winding.is_empty() {
            winding = format!("{winding} {}", components.join(" "));
        }
        let (year, quarter, month) = (at(Field::Year), at(Field::Quarter), at(Field::Month));
        let mut date = held.text(row, plan.date, fills.date);
        let (year_text, quarter_text) = (held.text(row, year, fills.year), held.text(row, quarter, fills.quarter));
        let month_text = held.text(row, month, fills.month);
        let week = at(Field::Week);
        let week_text = held.text(row, week, fills.week);
        let says_year = year.is_some_and(|at| !row.cells[at].is_empty());
        let mut part = None;
        let has_year = !year_text.is_empty();
        let year_text = if has_year { year_text } else { plan.year().unwrap_or_default() };
        if [year, quarter, month, week].into_iter().any(|place| place.is_some()) {
            if !has_year && self.open_question.is_none() {
                self.open_question.clone_from(&plan.context.question);
            }
            let day = dates::day_of_month(&date);
            if date.is_empty() || day.is_some() {
                let written = [&quarter_text, &month_text, &week_text].into_iter().find(|text| !text.is_empty());
                let written = written.cloned().unwrap_or_default();
                let whole = Period::read(&written).filter(|_| year.is_none());
                let of_parts = || {
                    if week_text.is_empty() || !(quarter_text.is_empty() && month_text.is_empty()) {
                        Period::of_columns(&year_text, Some(&quarter_text), month.map(|_| month_text.as_str()))
                    } else {
                        Period::of_week_column(&year_text, &week_text)
                    }
                };
                date = match (whole.or_else(of_parts), day) {
                    (Some(Period::Month(year, month)), Some(day)) => format!("{year}-{month:02}-{day:02}"),
                    (Some(period), None) => period.to_string(),
                    (_, Some(day)) => format!("{day} {written} {year_text}"),
                    (None, None) => written.clone(),
                };
                part = Some(written).filter(|written| !year_text.is_empty() && date != *written);
            }
        }
        if let (Some((day, month)), Ok(year)) = (dates::day_with_points(&date), year_text.parse::<u16>()) {
            if !has_year && self.open_question.is_none() {
                self.open_question.clone_from(&plan.context.question);
            }
            self.seen.sheet_date |= !has_year;
            part = Some(std::mem::replace(&mut date, format!("{year}-{month:02}-{day:02}")));
        } else if dates::is_part_of_year(&date) && !year_text.is_empty() {
            if !has_year && self.open_question.is_none() {
                self.open_question.clone_from(&plan.context.question);
            }
            self.seen.sheet_date |= !has_year;
            let whole = format!("{date} {year_text}");
            part = Some(std::mem::replace(&mut date, whole));
        } else if let Some(day) = dates::day_of_month(&date) {
            // `14` below `January 2026`, or on a sheet of that month.
            let month = |text: &Option<String>| match Period::read(text.as_deref()?) {
                Some(Period::Month(year, month)) => Some(format!("{year}-{month:02}-{day:02}")),
                _ => None,
            };
            if let Some(dated) = month(&held.date) {
                self.seen.dates_above = true;
                date = dated;
            } else if let Some(dated) = month(&plan.context.date) {
                self.open_question = self.open_question.take().or_else(|| plan.context.question.clone());
                self.seen.sheet_date = true;
                date = dated;
            }
        }
        if let (Some(text), Some(dated)) = (part, self.forms.read(&date)) {
            let of = at(Field::Column(Column::Connection)).or(plan.point).map_or("", |place| row.cells[place].as_str());
            let part = PartOfYear { text, day: dated.iso, year: year_text.clone(), says_year };
            held.yearless.entry([winding.clone(), of.to_owned()]).or_default().push(part);
        }
        if date.is_empty() && plan.date.is_none() {
            self.seen.dates_above |= held.date.is_some();
            date = held.date.clone().unwrap_or_default();
        }
        let connection = at(Field::Column(Column::Connection));
        if winding != held.named {
            // What is written once is said of one winding.
            connection.into_iter().chain(plan.point).for_each(|place| {
                held.cells.remove(&place);
            });
            held.named.clone_from(&winding);
        }
        let clock = cell(plan.clock);
        if !clock.is_empty() && !date.is_empty() && !date.contains(':') {
            date = format!("{date} {clock}");
        }
        let connection = held.text(row, connection, fills.connection);
        // What each row measures is written in every row; phases may be written once.
        let fills_point = fills.connection && plan.point_names_phases();
        let point_text = plan.point.map(|place| held.text(row, Some(place), fills_point));
        let point = plan.point_of(point_text.as_deref(), self.reader);
        RowSays {
            winding: self.texts.id(&winding),
            date: self.texts.id(&date),
            year: year.map(|_| year_text).unwrap_or_default(),
            order: self.texts.id(order_of(row, plan)),
            connection: match point.connection {
                Some(connection) => Cow::Owned(connection),
                None if plan.point == at(Field::Column(Column::Connection)) => Cow::Borrowed(""),
                None => Cow::Owned(connection),
            },
            point: point.label.map(|label| (cell(plan.point), label)),
            elapsed: plan.elapsed.and_then(|(place, unit)| {
                let number: f64 = cell(Some(place)).replace(',', ".").parse().ok()?;
                Elapsed::from_seconds(number * unit.in_seconds()).ok()
            }),
        }
    }

    /// The date of a cell: that of its column, of its row, or of the block.
    fn date_of(
        &mut self,
        label: &Label,
        place: usize,
        (of_row, year_of_row): (TextId, &str),
        plan: &Plan,
        held: &Held,
    ) -> TextId {
        let below = held.dates.get(&place).filter(|date| label.is_dated() && !date.is_empty());
        let of_column = below.map(|date| Cow::Borrowed(date.as_str())).or_else(|| plan.dated(label, year_of_row));
        if below.is_none() && year_of_row.is_empty() {
            let is_part = label.date.is_none() && label.part.is_some();
            let is_of_sheet = of_column.is_none() && of_row.is_empty();
            let question = match (is_part, plan.year(), label.part.as_deref()) {
                (true, None, Some(part)) => Some(years::without_year(self.name.place, part)),
                _ => plan.context.question.clone().filter(|_| is_part || is_of_sheet),
            };
            let of_day = || plan.context.question_of_day.clone().filter(|_| is_of_sheet && !plan.has_own_dates);
            let question = question.or_else(of_day);
            self.open_question = self.open_question.take().or(question);
        }
        match (of_column, &plan.context.date) {
            (Some(date), _) => self.texts.id(&date),
            // Where rows have dates of their own, one without is not dated by the sheet.
            (None, Some(date)) if of_row.is_empty() && !plan.has_own_dates => self.texts.id(date),
            (None, _) => of_row,
        }
    }

    /// The column of a cell, in its unit; nothing where it measures something else, which is counted, or cannot be told.
    fn column_of(
        &mut self,
        label: &Label,
        says: &RowSays<'_>,
        plan: &Plan,
        unit: Option<&str>,
        value: &Value<'_>,
    ) -> Option<Column> {
        let Value { place, text, known } = *value;
        let unit_read = unit.map(Unit::read);
        let (point_text, point) = says.point.as_ref().map_or(("", None), |(text, label)| (*text, Some(label)));
        let is_point_known = point.is_none_or(|point| point.is_known() && !point.unknown);
        // `IR previous` was read at an earlier test, whose day it does not say.
        let is_of_another_test = point.is_some_and(|point| point.occasion.is_some() && !point.is_of_the_latest());
        let measures_something_else = is_of_another_test
            || point.is_some_and(|point| point.field == Some(Field::Ignored))
            || matches!(unit_read, Some(Some(Unit::Other)))
            || (!is_point_known && matches!(unit_read, Some(Some(Unit::Degrees(_) | Unit::Volts | Unit::Percent))))
            || aliases::names_something_else(point_text)
            || aliases::names_a_cable(point_text)
            || (!is_point_known
                && !matches!(unit_read, Some(Some(Unit::Ohms(_))))
                && (aliases::has_unit_of_something_else(point_text)
                    || titles::values_of(point_text, self.reader) == Some(Values::Other)));
        if measures_something_else {
            let name = if point_text.is_empty() { unit.unwrap_or_default() } else { point_text };
            *self.other_points.entry(name.to_owned()).or_default() += 1;
            return None;
        }
        let mut column = label.column();
        let is_quantity_open = point.is_none()
            && unit.is_none()
            && label.ohms.is_none()
            && matches!(column, None | Some(Column::Reading(..) | Column::Resistance(_)))
            && !plan.headers.get(&place.column).is_some_and(|header| aliases::says_insulation(header));
        match &plan.context.values {
            Some((Values::Temperatures(temperature), _)) if is_quantity_open => column = Some(*temperature),
            Some((Values::Other, title)) if is_quantity_open => {
                *self.other_points.entry(title.clone()).or_default() += 1;
                self.no_resistances = plan.context.values.clone();
                return None;
            }
            Some((Values::Corrected, title)) if column.is_none_or(is_reading) => {
                let fault = Fault {
                    column: "title".to_owned(),
                    value: title.clone(),
                    rule: "resistances that are corrected already are not read".to_owned(),
                    hint: "write the readings as they were taken, and the temperature of the winding beside them"
                        .to_owned(),
                };
                self.unplaced.push((place, text.to_owned(), fault, None));
                self.no_resistances = plan.context.values.clone();
                return None;
            }
            _ => {}
        }
        if label.unknown && column.is_none() {
            column = Some(Column::Resistance(ResistanceUnit::Megohm));
        }
        let of_unit = |rule: &str, hint: &str| ("unit", unit.unwrap_or_default(), rule.to_owned(), hint.to_owned());
        let fault = match (&mut column, unit_read) {
            // Of a unit beside several columns, only those of its kind are meant.
            (Some(column), Some(Some(Unit::Ohms(_)))) if point.is_none() && !is_reading(*column) => None,
            (_, Some(None)) => Some(of_unit(NO_UNIT.0, NO_UNIT.1)),
            (_, _) if !is_point_known => Some((
                "point",
                point_text,
                "the name of the measuring point does not tell what was measured".to_owned(),
                "say what it holds under [columns] in the policy file, such as r_60s or winding_temp_c, or - to leave it out"
                    .to_owned(),
            )),
            (Some(Column::Reading(_, own) | Column::Resistance(own)), Some(Some(Unit::Ohms(unit)))) => {
                *own = unit;
                None
            }
            (Some(Column::Reading(..) | Column::Resistance(_)), Some(Some(_))) => Some(of_unit(
                "a row of this unit measures something else than a resistance",
                "write the unit that the reading has, or leave the row out",
            )),
            (Some(Column::WindingTemp(scale) | Column::AirTemp(scale)), Some(Some(Unit::Degrees(unit)))) => {
                *scale = unit;
                None
            }
            (Some(Column::WindingTemp(_) | Column::AirTemp(_)), Some(Some(_))) => Some(of_unit(
                "the unit of a temperature is °C or °F",
                "write the unit that the reading has, or leave the row out",
            )),
            _ => None,
        };
        if let Some((named, value, rule, hint)) = fault {
            let fault = Fault { column: named.to_owned(), value: value.to_owned(), rule, hint };
            self.unplaced.push((place, text.to_owned(), fault, may_be_resistance(column, unit_read, known)));
            return None;
        }
        let named = label.ohms.is_some() || matches!(unit_read, Some(Some(Unit::Ohms(_))));
        let column = column.map(|column| match (column, plan.context.unit) {
            (Column::Resistance(_), Some(unit)) if !named => Column::Resistance(unit),
            (Column::Reading(at, _), Some(unit)) if !named => Column::Reading(at, unit),
            (column, _) => column,
        });
        let at = says.elapsed.or_else(|| Elapsed::from_seconds(60.0).ok())?;
        column.map(|column| if let Column::Resistance(unit) = column { Column::Reading(at, unit) } else { column })
    }
}

/// What is known of the test of a rejected cell, where it may be a resistance: in megohms if no unit is named, and of any size if the unit
/// is not known.
fn may_be_resistance(column: Option<Column>, unit: Option<Option<Unit>>, known: Known) -> Option<Known> {
    let (at, own) = match (column, unit) {
        (Some(Column::Reading(at, own)), _) => (Some(at), own),
        (Some(Column::Resistance(own)), _) => (None, own),
        (None, _) => (None, ResistanceUnit::Megohm),
        // A temperature in megohms may be either.
        (Some(_), Some(Some(Unit::Ohms(_)))) => return Some(known),
        (Some(_), _) => return None,
    };
    let own = match unit {
        None => own,
        Some(Some(Unit::Ohms(unit))) => unit,
        Some(None) => return Some(known),
        // What is said to be a resistance, in a unit of something else, may be any.
        Some(Some(_)) => return column.is_some().then_some(known),
    };
    let at = at.or_else(|| Elapsed::from_seconds(60.0).ok())?;
    Some(Known { column: Some(Column::Reading(at, own)), ..known })
}
