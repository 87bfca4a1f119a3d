//! From the cells of a sheet to one row per test.

use super::grid::GridRow;
use super::label::{self, Field, Label, Stage};
use super::{Arranged, CellPlace, SheetName};
use crate::error::shown;
use crate::ingest::columns::same_kind;
use crate::ingest::dates::{DateForms, Period, proved_order};
use crate::ingest::mapping::Mapping;
use crate::ingest::unit_column::Unit;
use crate::ingest::{ReadingRules, aliases};
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::{CellRules, ResistanceUnit};
use groundwall::units::Elapsed;
use std::collections::{BTreeMap, BTreeSet};

/// What separates cells in the text of a plain table until its delimiter is known.
pub(super) const SEPARATOR: u8 = 0x1f;
/// Rows that headers may take.
const HEADER_ROWS: usize = 3;
/// Names of rows that sum up others.
const SUMMARIES: [&str; 14] = [
    "average", "avg", "mean", "total", "totals", "sum", "min", "minimum", "max", "maximum", "median", "limit",
    "target", "std dev",
];
/// Words of titles, which name no motor.
const TITLE_WORDS: [&str; 26] = [
    "insulation",
    "resistance",
    "test",
    "tests",
    "testing",
    "record",
    "records",
    "log",
    "sheet",
    "report",
    "results",
    "readings",
    "history",
    "quarterly",
    "annual",
    "site",
    "plant",
    "department",
    "page",
    "rev",
    "revision",
    "isolationsmessung",
    "prüfung",
    "essais",
    "date",
    "values",
];

/// The labels of a row's cells.
pub(super) fn labels_of(row: &GridRow, mapping: &Mapping) -> Vec<Label> {
    row.cells.iter().map(|cell| Label::read(cell, mapping)).collect()
}

/// The unit of resistances that a title row names for all of them, where it is not MΩ: `all values in kOhm`, and not `10 GΩ range`.
pub(super) fn unit_of_title(row: &GridRow) -> Option<ResistanceUnit> {
    row.filled().find_map(|(_, cell)| {
        let words: Vec<&str> = cell.split_whitespace().collect();
        let at = words.iter().position(|word| {
            let word = word.trim_matches(['(', ')', '[', ']', ',', ';']);
            !word.contains(|c: char| c.is_ascii_digit())
                && word.chars().count() > 1
                && matches!(Unit::read(word), Some(Unit::Ohms(_)))
        })?;
        let before = at.checked_sub(1).map_or("", |before| words[before]);
        let is_of_all = before.eq_ignore_ascii_case("in")
            || (!before.ends_with(|c: char| c.is_ascii_digit()) && aliases::names_a_resistance(cell));
        match Unit::read(words[at].trim_matches([',', ';'])) {
            Some(Unit::Ohms(unit)) if is_of_all && unit != ResistanceUnit::Megohm => Some(unit),
            _ => None,
        }
    })
}

/// Whether a row below a header belongs to it: every cell of it is a label, and none a name, a number or a date of a test.
pub(super) fn is_label_row(row: Option<&GridRow>, mapping: &Mapping) -> bool {
    row.is_some_and(|row| {
        let mut filled = row.filled().peekable();
        filled.peek().is_some()
            && filled.all(|(_, cell)| {
                !is_number(cell) && {
                    let label = Label::read(cell, mapping);
                    label.is_known() && !label.unknown && !cell.eq_ignore_ascii_case("ok")
                }
            })
            && row.filled().count() > 1
    })
}

fn is_number(cell: &str) -> bool {
    let is_year = cell.len() == 4 && Period::read(cell).is_some();
    !is_year && cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>' | '-' | '.')) && reads(cell)
}

/// Whether a cell is a reading by the plain rules, whichever its decimal mark is.
fn reads(cell: &str) -> bool {
    [false, true]
        .into_iter()
        .any(|decimal_comma| matches!(CellRules { decimal_comma, ..CellRules::default() }.read(cell), Ok(Some(_))))
}

/// Whether a cell names something measured.
fn is_point(cell: &str, mapping: &Mapping) -> bool {
    let label = Label::read(cell, mapping);
    let is_measured = match label.field {
        Some(Field::Column(column)) => !matches!(column, Column::Winding | Column::TestedOn | Column::Note),
        _ => label.ohms.is_some(),
    };
    is_measured && !label.is_dated() && !is_number(cell)
}

/// Whether the cells of a column name what each row measures: most of them, and not resistances alone.
pub(super) fn names_points<'a>(cells: impl Iterator<Item = &'a str>, mapping: &Mapping) -> bool {
    let (mut all, mut points, mut others) = (0, 0, 0);
    for cell in cells.take(POINTS_ASKED) {
        all += 1;
        if is_point(cell, mapping) {
            points += 1;
            let column = Label::read(cell, mapping).column();
            others += usize::from(!column.is_some_and(is_reading));
        }
    }
    others > 0 && 2 * points >= all
}

/// So many cells tell whether a column names measuring points.
const POINTS_ASKED: usize = 400;

/// Whether a row is the header of a block.
fn is_header(row: &GridRow, mapping: &Mapping) -> bool {
    if row.only().is_some() || row.filled().any(|(_, cell)| is_number(cell)) {
        return false;
    }
    let labels: Vec<(usize, Label)> = row.filled().map(|(at, cell)| (at, Label::read(cell, mapping))).collect();
    let known = labels.iter().filter(|(_, label)| label.is_known()).count();
    let keys = labels.iter().filter(|(_, label)| label.is_key()).count();
    let dates: Vec<usize> = labels.iter().filter(|(_, label)| label.is_dated()).map(|(at, _)| *at).collect();
    let connections = labels.iter().filter(|(_, label)| label.connection.is_some()).count();
    let all_known_from = |first: usize| labels.iter().filter(|(at, _)| *at >= first).all(|(_, label)| label.is_known());
    (keys > 0 && known >= 2 && dates.len() != 1 && 2 * known >= labels.len())
        // Dates down and motors across.
        || (labels.len() > 2 && labels[0].1.field == Some(Field::Column(Column::TestedOn)) && row.filled().all(|(_, cell)| !cell.contains(':')))
        || (dates.len() >= 2 && all_known_from(dates[0]))
        || (connections >= 2 && dates.is_empty())
}

/// What a block's title and its sheet say of all its tests.
#[derive(Clone, Debug, Default)]
struct Context {
    cells: BTreeMap<String, String>,
    columns: Vec<(Column, String)>,
    date: Option<String>,
    unit: Option<ResistanceUnit>,
    /// A text above the block that may be the name of a motor.
    name: Option<String>,
}

/// A part of a sheet with one header.
struct Block<'a> {
    titles: &'a [GridRow],
    headers: &'a [GridRow],
    rows: &'a [GridRow],
}

/// The blocks of a sheet.
fn blocks<'a>(rows: &'a [GridRow], mapping: &Mapping) -> Vec<Block<'a>> {
    let mut bands: Vec<(usize, usize)> = Vec::new();
    let mut at = 0;
    while at < rows.len() {
        if !is_header(&rows[at], mapping) {
            at += 1;
            continue;
        }
        // A row of groups above it, or rows of units and phases below it, belong to the header.
        let after_last = bands.last().map_or(0, |(_, end)| *end);
        let is_group = |row: &GridRow| {
            row.only().is_none()
                && row.filled().count() > 1
                && row.filled().all(|(_, cell)| !is_number(cell) && !cell.contains(':'))
        };
        let mut start = at;
        if start > after_last && rows[start - 1].line + 1 == rows[start].line && is_group(&rows[start - 1]) {
            start -= 1;
        }
        let mut end = at + 1;
        while end < rows.len()
            && end - start < HEADER_ROWS
            && rows[end].line == rows[end - 1].line + 1
            && (is_header(&rows[end], mapping) || is_label_row(rows.get(end), mapping))
        {
            end += 1;
        }
        bands.push((start, end));
        at = end;
    }
    let ends = bands.iter().skip(1).map(|(start, _)| *start).chain([rows.len()]);
    let mut title_from = 0;
    let mut found = Vec::new();
    for ((start, end), next) in bands.iter().zip(ends) {
        // Titles of the next block stand behind the last row of this one that has more than one text.
        let data_end = if next == rows.len() {
            next
        } else {
            let last = rows[*end..next].iter().rposition(|row| row.only().is_none() && !is_title(row, mapping));
            last.map_or(*end, |last| end + last + 1)
        };
        found.push(Block {
            titles: &rows[title_from..*start],
            headers: &rows[*start..*end],
            rows: &rows[*end..data_end],
        });
        title_from = data_end;
    }
    found
}

/// Whether a row of several cells is a title: `Motor No:` beside its value.
fn is_title(row: &GridRow, mapping: &Mapping) -> bool {
    row.filled().next().is_some_and(|(_, cell)| {
        cell.split_once(':').is_some_and(|(name, _)| Label::read(name, mapping).field.is_some())
    })
}

impl Context {
    fn of(titles: &[GridRow], mapping: &Mapping) -> Self {
        let mut context = Self::default();
        for row in titles {
            let cells: Vec<(usize, &str)> = row.filled().collect();
            let mut taken = BTreeSet::new();
            for (i, (_, cell)) in cells.iter().enumerate() {
                let (name, value) = match cell.split_once([':', '=']) {
                    Some((name, value)) if !value.trim().is_empty() => (name, value.trim()),
                    Some((name, _)) => (name, cells.get(i + 1).map_or("", |(_, next)| *next)),
                    None if cells.len() > 1 => (*cell, cells.get(i + 1).map_or("", |(_, next)| *next)),
                    None => continue,
                };
                if taken.contains(&i) || value.is_empty() {
                    continue;
                }
                let label = Label::read(name, mapping);
                if let (Some(Field::Column(column)), false) = (label.field, label.unknown) {
                    if !cell.contains([':', '=']) || cell.trim_end().ends_with([':', '=']) {
                        taken.insert(i + 1);
                    }
                    match column {
                        Column::TestedOn => context.date = Some(value.to_owned()),
                        Column::Resistance(_) | Column::Reading(..) => {}
                        _ if !context.columns.iter().any(|(other, _)| *other == column) => {
                            context.columns.push((column, value.to_owned()));
                        }
                        _ => {}
                    }
                }
            }
            context.unit = unit_of_title(row).or(context.unit);
            if let Some((_, text)) = row.only() {
                let label = Label::read(text, mapping);
                if let Some(date) = label.date.filter(|_| context.date.is_none()) {
                    context.cells.insert("date".to_owned(), date);
                }
                context.name = is_name(text).then(|| text.to_owned()).or(context.name);
            }
        }
        context
    }

    fn winding(&self) -> Option<&str> {
        self.columns.iter().find(|(column, _)| *column == Column::Winding).map(|(_, value)| value.as_str())
    }
}

/// Whether a text may be the name of a motor: it has a digit or few words, and none that titles have.
fn is_name(text: &str) -> bool {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !(c.is_alphanumeric() || matches!(c, '-' | '/' | '.'))).collect();
    !label::is_date(text)
        && !text.contains(':')
        && !words.iter().any(|word| TITLE_WORDS.contains(word))
        && text.contains(|c: char| c.is_ascii_digit())
        && text.chars().any(char::is_alphabetic)
        && words.len() <= 8
}

/// A cell with something measured, and what is known of it.
#[derive(Clone, Debug)]
struct Entry {
    winding: String,
    date: String,
    order: String,
    connection: String,
    stage: Option<Stage>,
    column: Column,
    text: String,
    place: CellPlace,
    /// Whether it is said of the whole row, not of one test in it.
    of_row: bool,
    line: u64,
}

/// What tells one test of a sheet from another.
type Key = (String, String, String, String, u8);

/// A test being put together.
#[derive(Clone, Debug)]
struct Test {
    key: Key,
    stage: Option<Stage>,
    cells: BTreeMap<String, String>,
    place: CellPlace,
    line: u64,
    has_reading: bool,
}

/// What was seen on the way, for the sentence that says how the sheet was read.
#[derive(Default)]
struct Seen {
    dates_across: bool,
    phases_across: bool,
    stages_across: bool,
    windings_across: bool,
    points: bool,
    sheet_winding: bool,
    sheet_date: bool,
    title_winding: bool,
    blocks: usize,
    units: bool,
    filled: bool,
    periods: bool,
    title_unit: bool,
}

impl Seen {
    /// Whether anything was seen that a plain table does not have.
    const fn is_a_layout(&self) -> bool {
        self.dates_across
            || self.phases_across
            || self.stages_across
            || self.windings_across
            || self.points
            || self.periods
            || self.sheet_winding
            || self.sheet_date
            || self.title_winding
            || self.title_unit
            || self.filled
            || self.blocks > 1
    }
}

/// A sheet as a plain table, where any test is found in it.
pub(super) fn arrange(
    rows: &[GridRow],
    rules: &ReadingRules,
    name: SheetName<'_>,
    reaches_down: bool,
) -> Option<Arranged> {
    let mapping = &rules.mapping;
    let mut sheet = Sheet {
        rules,
        name,
        forms: DateForms { given: rules.date_forms.clone(), order: None, as_of: rules.as_of },
        tests: Vec::new(),
        unplaced: Vec::new(),
        ignored: Vec::new(),
        other_points: BTreeMap::new(),
        summaries: 0,
        not_done: 0,
        seen: Seen { filled: reaches_down, ..Seen::default() },
        remarks: Vec::new(),
    };
    let texts = || rows.iter().flat_map(|row| row.cells.iter().map(String::as_str));
    if sheet.forms.given.is_empty()
        && let Some((order, proof)) = proved_order(texts())
    {
        sheet.forms.order = Some(order);
        sheet.remarks.push(format!(
            "{}: {} is a date, so the dates of this sheet are read {}; --date-format says otherwise",
            name.place,
            shown(proof),
            order.words()
        ));
    }
    let found = blocks(rows, mapping);
    sheet.seen.blocks = found.len();
    let top = found.first().map(|block| Context::of(block.titles, mapping)).unwrap_or_default();
    let shared = Context { name: None, ..top };
    for (i, block) in found.iter().enumerate() {
        let mut context = Context::of(block.titles, mapping);
        if i > 0 {
            context = context.after(&shared);
        }
        sheet.block(block, &context);
    }
    sheet.finish()
}

impl Context {
    /// What the top of the sheet says, where this block does not say it; the name of a motor is each block's own.
    fn after(mut self, shared: &Self) -> Self {
        for (column, value) in &shared.columns {
            if *column != Column::Winding && !self.columns.iter().any(|(own, _)| own == column) {
                self.columns.push((*column, value.clone()));
            }
        }
        if self.winding().is_none() && self.name.is_none() {
            self.columns.extend(shared.columns.iter().filter(|(column, _)| *column == Column::Winding).cloned());
        }
        self.date = self.date.or_else(|| shared.date.clone());
        self.unit = self.unit.or(shared.unit);
        for (key, value) in &shared.cells {
            self.cells.entry(key.clone()).or_insert_with(|| value.clone());
        }
        self
    }
}

struct Sheet<'a> {
    rules: &'a ReadingRules,
    name: SheetName<'a>,
    forms: DateForms,
    tests: Vec<Test>,
    unplaced: Vec<(CellPlace, String, Fault)>,
    ignored: Vec<String>,
    other_points: BTreeMap<String, u64>,
    summaries: u64,
    not_done: u64,
    seen: Seen,
    remarks: Vec<String>,
}

/// The columns of a block, or of one of several side by side.
struct Plan {
    labels: Vec<(usize, Label)>,
    headers: BTreeMap<usize, String>,
    winding: Option<usize>,
    point: Option<usize>,
    values: Vec<(usize, Label)>,
    context: Context,
}

impl Plan {
    fn of_field(&self, field: Field) -> Option<usize> {
        self.labels.iter().find(|(_, label)| label.field == Some(field)).map(|(at, _)| *at)
    }
}

impl Sheet<'_> {
    fn block(&mut self, block: &Block<'_>, context: &Context) {
        let mapping = &self.rules.mapping;
        let width = block.headers.first().map_or(0, |row| row.cells.len());
        let last = block.headers.len() - 1;
        let mut labels: Vec<(usize, Label)> = Vec::new();
        let mut headers: BTreeMap<usize, String> = BTreeMap::new();
        let mut groups: BTreeMap<usize, String> = BTreeMap::new();
        for place in 0..width {
            let mut label = Label::default();
            let mut parts: Vec<&str> = Vec::new();
            let mut is_other = false;
            for (i, row) in block.headers.iter().enumerate() {
                let mut text = row.cells[place].as_str();
                if text.is_empty()
                    && i < last
                    && block.headers[i + 1..].iter().any(|below| !below.cells[place].is_empty())
                {
                    text = group_of(&row.cells, place, mapping);
                }
                if text.is_empty() || parts.last() == Some(&text) {
                    continue;
                }
                let read = Label::read(text, mapping);
                if i < last && read.unknown && !read.is_known() {
                    groups.insert(place, text.to_owned());
                    // `Limit` above a unit says that the column holds something else.
                    is_other |= !row.cells[place].is_empty() && !is_name(text);
                    continue;
                }
                label = if parts.is_empty() { read } else { label.with(&read) };
                parts.push(text);
            }
            if is_other && label.field.is_none() && label.ohms.is_some() {
                label = Label { unknown: true, ..Label::default() };
            }
            if !parts.is_empty() {
                headers.insert(place, parts.join(" "));
            }
            labels.push((place, label));
        }
        resolve_phases(&mut labels);
        for range in side_by_side(&labels, width) {
            let mut own = context.clone();
            let mut group = range.clone().filter_map(|place| groups.get(&place));
            if let Some(name) = group.next().filter(|name| is_name(name)) {
                own.columns.retain(|(column, _)| *column != Column::Winding);
                own.name = Some(name.clone());
            }
            let labels: Vec<(usize, Label)> = labels.iter().filter(|(at, _)| range.contains(at)).cloned().collect();
            let headers =
                headers.iter().filter(|(at, _)| range.contains(*at)).map(|(at, text)| (*at, text.clone())).collect();
            self.range(block, labels, headers, own);
        }
    }

    fn range(
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
    fn name_from_sheet(&mut self, plan: &mut Plan) {
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

    fn entries(&mut self, block: &Block<'_>, plan: &Plan, date_column: Option<usize>) -> Vec<Entry> {
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
    fn column_of(
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

    /// Puts entries together into tests. Measuring points of one day and work order are one test.
    fn join(&mut self, entries: Vec<Entry>, by_day: bool, context: &Context) {
        let day = |date: &str| -> String {
            let iso = self.forms.read(date).map_or_else(|| date.to_owned(), |dated| dated.iso);
            iso.split('T').next().unwrap_or_default().to_owned()
        };
        let key_of = |entry: &Entry, by_day: bool| -> Key {
            let date = if by_day { day(&entry.date) } else { entry.date.clone() };
            let stage = entry.stage.map_or(0, |stage| 1 + u8::from(stage.after));
            (entry.winding.clone(), date, entry.order.clone(), entry.connection.clone(), stage)
        };
        // Points that were read twice on one day belong together by their time.
        let mut seen: BTreeMap<(Key, String), BTreeSet<String>> = BTreeMap::new();
        let mut twice: BTreeSet<(String, String, String)> = BTreeSet::new();
        if by_day {
            for entry in &entries {
                let key = key_of(entry, true);
                let whole = (key.0.clone(), key.1.clone(), key.2.clone());
                let texts = seen.entry((key, entry.column.to_string())).or_default();
                texts.insert(entry.date.clone());
                if texts.len() > 1 && is_reading(entry.column) {
                    twice.insert(whole);
                }
            }
        }
        let key = |entry: &Entry| -> Key {
            let by_day_key = key_of(entry, true);
            let together =
                by_day && !twice.contains(&(by_day_key.0.clone(), by_day_key.1.clone(), by_day_key.2.clone()));
            if together { by_day_key } else { key_of(entry, false) }
        };
        let mut tests: Vec<Test> = Vec::new();
        let mut places: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        for entry in entries.iter().filter(|entry| is_reading(entry.column)) {
            let key = key(entry);
            let name = entry.column.to_string();
            let open =
                places.get(&key).and_then(|all| all.last()).copied().filter(|at| !tests[*at].cells.contains_key(&name));
            let at = open.unwrap_or_else(|| {
                places.entry(key.clone()).or_default().push(tests.len());
                tests.push(Test {
                    key: key.clone(),
                    stage: entry.stage,
                    cells: BTreeMap::from([("tested_on".to_owned(), entry.date.clone())]),
                    place: entry.place,
                    line: entry.line,
                    has_reading: true,
                });
                tests.len() - 1
            });
            tests[at].cells.insert(name, entry.text.clone());
        }
        for entry in entries.iter().filter(|entry| !is_reading(entry.column)) {
            let key = key(entry);
            let fits = |test: &Test| {
                let (own, other) = (&test.key, &key);
                own.0 == other.0
                    && (own.1 == other.1 || (entry.of_row && test.line == entry.line))
                    && own.2 == other.2
                    && (other.3.is_empty() || own.3 == other.3)
                    && (other.4 == 0 || own.4 == other.4)
            };
            let mut fitting: Vec<usize> = (0..tests.len()).filter(|at| fits(&tests[*at])).collect();
            let same_line: Vec<usize> = fitting.iter().copied().filter(|at| tests[*at].line == entry.line).collect();
            if !same_line.is_empty() {
                fitting = same_line;
            }
            let of_all = matches!(
                entry.column,
                Column::TestVolts | Column::Instrument | Column::FullScale(_) | Column::Scope | Column::Connection
            );
            if entry.of_row && fitting.len() > 1 && !of_all {
                // It belongs to one of several dates, and nobody knows which.
                let name = entry.column.to_string();
                if !self.ignored.contains(&name) {
                    self.ignored.push(name);
                }
                continue;
            }
            if fitting.is_empty() {
                if entry.of_row || matches!(entry.column, Column::Scope) {
                    continue;
                }
                let place = places.get(&key).and_then(|all| all.last()).copied();
                let at = place.unwrap_or_else(|| {
                    places.entry(key.clone()).or_default().push(tests.len());
                    tests.push(Test {
                        key: key.clone(),
                        stage: entry.stage,
                        cells: BTreeMap::from([("tested_on".to_owned(), entry.date.clone())]),
                        place: entry.place,
                        line: entry.line,
                        has_reading: false,
                    });
                    tests.len() - 1
                });
                fitting.push(at);
            }
            for at in fitting {
                put(&mut tests[at].cells, entry.column, &entry.text);
            }
        }
        for test in &mut tests {
            for (column, text) in &context.columns {
                let is_shared = matches!(
                    column,
                    Column::TestVolts
                        | Column::WindingTemp(_)
                        | Column::AirTemp(_)
                        | Column::Humidity
                        | Column::Instrument
                );
                let same = |name: &String| Column::read(name).is_some_and(|own| same_kind(&own, column));
                if is_shared && !test.cells.keys().any(same) {
                    test.cells.insert(column.to_string(), text.clone());
                }
            }
        }
        self.tests.append(&mut tests);
    }
}

impl Sheet<'_> {
    /// The plain table, and everything worth saying about it.
    fn finish(mut self) -> Option<Arranged> {
        let is_whole = |test: &Test| {
            let date = test.cells.get("tested_on").is_some_and(|date| !date.is_empty());
            test.has_reading && date && !test.key.0.is_empty()
        };
        // A table of one header that only lacks a column is no other layout: what it lacks is said.
        if !self.seen.is_a_layout() || !self.tests.iter().any(is_whole) {
            return None;
        }
        let mut names: BTreeSet<String> = self.tests.iter().flat_map(|test| test.cells.keys().cloned()).collect();
        names.remove("tested_on");
        if self.tests.iter().any(|test| test.stage.is_some_and(|stage| stage.after && stage.event.is_some())) {
            names.insert("event".to_owned());
        }
        let mut header = vec!["winding".to_owned(), "tested_on".to_owned(), "connection".to_owned()];
        header.extend(names.into_iter().filter(|name| name != "winding" && name != "connection"));
        let mut text = Vec::new();
        let mut line = |cells: &[String]| {
            text.extend_from_slice(cells.join("\u{1f}").as_bytes());
            text.push(b'\n');
        };
        line(&header);
        let (mut places, mut periods, mut example) = (Vec::new(), 0_u64, String::new());
        self.tests.sort_by_key(|test| test.place);
        for test in &self.tests {
            let written = test.cells.get("tested_on").map_or("", String::as_str);
            let read = self.forms.read(written);
            let is_period = read.as_ref().is_some_and(|dated| dated.period.is_some());
            let mut date = read.map_or_else(|| written.to_owned(), |dated| dated.iso);
            if is_period {
                periods += 1;
                if example.is_empty() {
                    example = format!("{} at {}", shown(written), test.place.name());
                }
            }
            let event = test.stage.filter(|stage| stage.after).map(|stage| stage.event);
            if event.is_some() && date.len() == 10 {
                // The test after the work comes last on its day.
                date.push_str("T23:59");
            }
            let cells: Vec<String> = header
                .iter()
                .map(|name| match name.as_str() {
                    "winding" => test.key.0.clone(),
                    "tested_on" => date.clone(),
                    "connection" => test.key.3.clone(),
                    "event" => {
                        let own = test.cells.get(name).cloned();
                        own.or_else(|| Some(event??.word().to_owned())).unwrap_or_default()
                    }
                    name => test.cells.get(name).cloned().unwrap_or_default(),
                })
                .collect();
            line(&cells);
            places.push(test.place);
        }
        let place = self.name.place;
        let mut remarks = vec![format!("{place}: read as: {}", self.described())];
        remarks.append(&mut self.remarks);
        if periods > 0 {
            let tests = if periods == 1 {
                "1 test is dated by a period".to_owned()
            } else {
                format!("{periods} tests are dated by a period")
            };
            remarks.push(format!("{place}: {tests}, such as {example}, and no day; the middle of it is taken"));
        }
        if !self.other_points.is_empty() {
            let count: u64 = self.other_points.values().sum();
            let names: Vec<String> = self.other_points.keys().take(5).map(|name| shown(name)).collect();
            let rows = if count == 1 { "1 row measures" } else { &format!("{count} rows measure") };
            remarks.push(format!("{place}: {rows} something else and no resistance: {}", names.join(", ")));
        }
        match self.summaries {
            0 => {}
            1 => remarks.push(format!("{place}: 1 row that sums up others is not read")),
            count => remarks.push(format!("{place}: {count} rows that sum up others are not read")),
        }
        Some(Arranged {
            text,
            places,
            unplaced: self.unplaced,
            ignored: self.ignored,
            not_done: self.not_done,
            remarks,
        })
    }

    /// The layout in words.
    fn described(&self) -> String {
        let seen = &self.seen;
        let rows = match (seen.points, seen.dates_across) {
            (true, true) => "one row per motor and quantity",
            (true, false) => "one row per measuring point",
            (false, true) => "one row per motor",
            (false, false) => "one row per test",
        };
        let mut parts = vec![rows.to_owned()];
        for (is_so, part) in [
            (seen.windings_across, "one column per motor"),
            (seen.dates_across, "one column per date"),
            (seen.phases_across, "one column per connection"),
            (seen.stages_across, "columns before and after work"),
            (seen.units, "units in a column"),
            (seen.filled, "names and dates once for several rows"),
            (seen.title_winding, "the motor from the title above"),
            (seen.sheet_winding, "the motor from the name of the sheet"),
            (seen.sheet_date, "the date from the title or the name of the sheet"),
        ] {
            if is_so {
                parts.push(part.to_owned());
            }
        }
        if seen.blocks > 1 {
            parts.push(format!("{} blocks", seen.blocks));
        }
        parts.join(", ")
    }
}

const fn is_reading(column: Column) -> bool {
    matches!(column, Column::Reading(..) | Column::Resistance(_))
}

/// Puts a cell into a test: notes are joined, of two temperatures the lower is taken, which corrects to the lower resistance.
fn put(cells: &mut BTreeMap<String, String>, column: Column, text: &str) {
    let name = column.to_string();
    let Some(earlier) = cells.get_mut(&name) else {
        cells.insert(name, text.to_owned());
        return;
    };
    let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
    match column {
        Column::Note if earlier != text => *earlier = format!("{earlier}; {text}"),
        Column::WindingTemp(_) | Column::AirTemp(_) if number(text) < number(earlier) => text.clone_into(earlier),
        _ => {}
    }
}

/// Names of sheets that programs give.
fn is_usual_sheet(name: &str) -> bool {
    let lower = name.to_lowercase();
    let stem = lower.trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ');
    let usual = [
        "sheet", "tabelle", "feuil", "feuille", "hoja", "foglio", "planilha", "folha", "blad", "table", "page", "seite",
    ];
    usual.contains(&stem) || lower.split([' ', '-', '_']).any(|word| TITLE_WORDS.contains(&word))
}

/// The text of a row of groups that belongs to a column on the right of it.
fn group_of<'a>(cells: &'a [String], place: usize, mapping: &Mapping) -> &'a str {
    let group = cells[..place].iter().rev().find(|cell| !cell.is_empty()).map_or("", String::as_str);
    let label = Label::read(group, mapping);
    let is_key = label.is_key() || matches!(label.field, Some(Field::Unit | Field::WorkOrder | Field::Ignored));
    if is_key { "" } else { group }
}

/// Letters of phases count where all three of a custom stand in a header; then they are what the voltage was applied between.
fn resolve_phases(labels: &mut [(usize, Label)]) {
    let letters: BTreeSet<String> =
        labels.iter().filter_map(|(_, label)| label.phase.as_ref().map(|(letter, _)| letter.to_lowercase())).collect();
    const CUSTOMS: [[&str; 3]; 8] = [
        ["u", "v", "w"],
        ["r", "s", "t"],
        ["r", "y", "b"],
        ["a", "b", "c"],
        ["l1", "l2", "l3"],
        ["t1", "t2", "t3"],
        ["u1", "v1", "w1"],
        ["1", "2", "3"],
    ];
    let custom = CUSTOMS.iter().find(|custom| custom.iter().all(|letter| letters.contains(*letter)));
    for (_, label) in labels.iter_mut() {
        let Some((letter, rest)) = label.phase.take() else { continue };
        if custom.is_some_and(|custom| custom.contains(&letter.to_lowercase().as_str())) {
            let connection = format!("{letter}-E");
            let upper =
                Label { connection: None, field: label.field.filter(|_| rest.field.is_none()), ..label.clone() };
            // The letter alone may read as a unit or a temperature; only a resistance above it stays.
            let field = match (rest.field, upper.field) {
                (Some(field), _) => Some(field),
                (None, field @ Some(Field::Column(Column::Resistance(_) | Column::Reading(..)))) => field,
                (None, _) => None,
            };
            *label = Label { connection: Some(connection), field, unknown: false, ..upper };
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
    if !has("s", labels) && !has("y", labels) && !has("t", labels) {
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

/// The ranges of blocks that stand side by side: each begins with the same kind of key.
fn side_by_side(labels: &[(usize, Label)], width: usize) -> Vec<std::ops::Range<usize>> {
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

/// The date of a column, with the year of the title or the sheet where the column names only a month or a quarter.
fn dated(label: &Label, plan: &Plan) -> Option<String> {
    label.date.clone().or_else(|| {
        let part = label.part.as_ref()?;
        Some(year_of(plan).map_or_else(|| part.clone(), |year| format!("{part} {year}")))
    })
}

/// The year that the title or the name of the sheet says.
fn year_of(plan: &Plan) -> Option<String> {
    plan.context.date.clone().filter(|date| date.len() == 4)
}

/// Whether a blank cell of a column means the name above: where names stand once before their rows.
fn fills_down(rows: &[GridRow], place: usize, plan: &Plan) -> bool {
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
