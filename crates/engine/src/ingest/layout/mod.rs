//! Sheets that are no plain table, turned into one before they are read: dates, phases or stages in columns, a sheet per motor,
//! area or quarter, measuring points in rows, several blocks, two rows of headers.
//!
//! Every cell of a sheet is looked at in the light of what its column headers, its row, its block and its sheet say. From those
//! that hold something measured, `table` makes one row per test in the plain form, and keeps the place of each. What cannot be
//! placed is rejected, or said where it holds no measurement.

mod blocks;
mod cells;
mod context;
mod described;
mod draft;
mod entries;
mod entry;
mod grid;
mod headers;
mod join;
pub mod label;
mod label_reader;
mod open;
mod phases;
mod plan;
mod points;
mod sheet;
mod table;
mod texts;
mod titles;
mod turned;
mod units;
mod unnamed;
mod years;

use super::cell_place::CellPlace;
use super::date_forms::DateForms;
use super::dates::{self, Period};
use super::delimited::Layout;
use super::description::Description;
use super::document::Document;
use super::mapping::Mapping;
use super::{ReadingRules, aliases, columns::Columns, header_words, kinds};
use crate::error::{Failure, shown};
use cells::Names;
pub(super) use cells::is_derived;
pub use grid::Limits;
use grid::{GridRow, NoGrid, first_rows_of, rows_of};
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::record::validate::Fault;
use groundwall::record::{Item, is_ditto};
use groundwall::resistance::ResistanceUnit;
use label::{Field, Label};
pub use label_reader::LabelReader;
use table::{Kind, Outcome};
use titles::Values;
use turned::Turned;

/// A sheet as a plain table.
#[derive(Clone, Debug, PartialEq)]
pub struct Arranged {
    /// The plain table with its header.
    pub text: Vec<u8>,
    /// The cell that each row of the plain table comes from: that of its first reading.
    pub places: Vec<CellPlace>,
    /// Cells with a measurement that belongs to no test.
    pub unplaced: Vec<Unplaced>,
    /// Headers of columns that were not read.
    pub ignored: Vec<String>,
    /// How many rows hold no test by what they say of themselves.
    pub not_done: u64,
    /// Sentences about how it was read.
    pub remarks: Vec<String>,
}

/// A cell with a measurement that is rejected.
#[derive(Clone, Debug, PartialEq)]
pub struct Unplaced {
    /// The cell.
    pub place: CellPlace,
    /// What it holds.
    pub text: String,
    /// Why it is rejected.
    pub fault: Fault,
    /// What is known of its test, where it may be a resistance.
    pub test: Option<KnownTest>,
}

/// What is known of the test that a rejected cell belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownTest {
    /// The winding.
    pub winding: String,
    /// The date, in the plain form where it can be read.
    pub date: String,
    /// What the voltage was applied between, as written.
    pub connection: String,
    /// The column that the cell would stand in; none where its unit is not known.
    pub column: Option<Column>,
}

/// Why a sheet is not read, neither arranged nor as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// The reason.
    pub failure: Failure,
    /// Whether it surely holds no tests, so that one of several sheets may be passed over.
    pub holds_no_tests: bool,
}

impl From<Failure> for Refused {
    fn from(failure: Failure) -> Self {
        Self { failure, holds_no_tests: false }
    }
}

impl Refused {
    fn by_size(name: SheetName<'_>, limits: &Limits) -> Self {
        let message = format!(
            "{}: this is no plain table of one row per test, and it has more than {} cells, its file has more than {} readings, it has readings at \
             too many different times, too much text where names stand, or values that belong to too many of them; larger ones are read only as plain tables",
            name.place, limits.cells, limits.of_file
        );
        Failure::usage(message).hint("save it in parts, such as one file a year").into()
    }

    fn by_title(name: SheetName<'_>, values: Values, title: &str) -> Self {
        let (place, title) = (name.place, shown(title));
        if values == Values::Corrected {
            let message = format!(
                "{place}: {title} says that the resistances are brought to another temperature; such are not read"
            );
            return Failure::usage(message)
                .hint("write the readings as they were taken, and the temperature of the winding beside them")
                .into();
        }
        let message =
            format!("{place}: {title} says that the values below it are no resistances, and there are no others");
        let failure = Failure::usage(message)
            .hint("if they are resistances, name their unit in the header or in that title, such as MΩ");
        Self { failure, holds_no_tests: true }
    }
}

impl Refused {
    fn by_names(name: SheetName<'_>, sheet: &str, title: &str) -> Self {
        let (place, sheet, title) = (name.place, shown(sheet), shown(title));
        let message =
            format!("{place}: the sheet is called {sheet} and its title names {title}: which motor was tested?");
        Failure::usage(message).hint("correct the one that is wrong, in the title or in the name of the sheet").into()
    }

    fn by_turned(name: SheetName<'_>) -> Self {
        let message = format!(
            "{}: the motors are in columns and what was measured is in rows, and no test has a motor, a date and a resistance",
            name.place
        );
        Failure::usage(message)
            .hint("give each column its date in a row that begins with Date, and each resistance a row such as IR 1 min (MΩ)")
            .into()
    }

    fn by_columns(name: SheetName<'_>, headers: &[String]) -> Self {
        let place = name.place;
        let which = match headers {
            [only] if only.ends_with("(no name)") => {
                format!("{only} seems to hold readings, and it is not understood which")
            }
            [only] => format!("column {only} seems to hold readings, and it is not understood which"),
            several => {
                format!("columns {} seem to hold readings, and it is not understood which", several.join(", "))
            }
        };
        let message = format!("{place}: {which}");
        // What may be a limit is never proposed as a reading.
        let Some(first) = headers.iter().find(|header| !aliases::says_limit(header)) else {
            let first = headers.first().map_or("", String::as_str);
            return Failure::usage(message)
                .hint(format!(
                    "a limit is left out by \"{first}\" = \"-\" under [columns] in groundwall.toml or the policy file; of the lowest of \
                     several readings, write all of them, each with its connection"
                ))
                .into();
        };
        let left: Vec<String> = headers.iter().map(|header| format!("\"{header}\" = \"-\"")).collect();
        Failure::usage(message)
            .hint(format!(
                "say what they hold under [columns] in groundwall.toml or the policy file, such as \"{first}\" = \"r_60s\"; a date or a \
                 connection in the header still counts, and readings of another winding need rows of their own; what holds no readings of \
                 the insulation is left out: {}",
                left.join(", ")
            ))
            .into()
    }
}

/// What a sheet is called, and whether its workbook has others.
#[derive(Clone, Copy, Debug)]
pub struct SheetName<'a> {
    /// The name in messages.
    pub place: &'a str,
    /// The name of the sheet.
    pub sheet: Option<&'a str>,
    /// Whether there are other sheets.
    pub several: bool,
}

impl<'a> SheetName<'a> {
    /// The name of a sheet alone.
    #[must_use]
    pub fn of(document: &'a Document, place: &'a str) -> Self {
        Self { place, sheet: document.sheet.as_deref(), several: false }
    }
}

/// A document as a plain table, where it is none and its layout is understood.
///
/// # Errors
///
/// [`Refused`] where it is no plain table and has too many cells to be arranged, where a title says that its values are no
/// resistances as they were read, and where a layout that is described finds no test.
pub fn arrange(
    document: &Document,
    rules: &ReadingRules,
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
    limits: &mut Limits,
) -> Result<Option<Arranged>, Refused> {
    if rules.plain_only {
        return Ok(None);
    }
    let rows = match rows_of(document, limits) {
        Ok(rows) => rows,
        Err(NoGrid::TooLarge) if is_other(document, rules) => return Err(Refused::by_size(name, limits)),
        Err(_) => {
            must_read_all(document, rules, name)?;
            return Ok(None);
        }
    };
    let described: Vec<&Description> = rules.layouts.iter().filter(|layout| layout.fits(name.sheet)).collect();
    if !described.is_empty() {
        let mut arranged = described::arrange(&rows, rules, reader, name, limits, &described)?;
        arranged.text = delimited(&arranged.text, document.layout);
        return Ok(Some(arranged));
    }
    if let Some(turned) = Turned::of(&rows, reader) {
        return match table::arrange(&turned.rows, rules, reader, name, limits, Kind::Turned(&turned)) {
            Outcome::NoLayout => Err(Refused::by_turned(name)),
            outcome => arranged_of(outcome, document, name, limits).map(Some),
        };
    }
    // Merged cells are filled in the grid only, so a table with values that reach down several rows is no plain one.
    let header = header_of(&rows, rules);
    // A header in cells that are merged down is one of several rows, and the plain reading would begin at another.
    let is_filled = header_of(&first_rows_of(document), rules) != header;
    let reaches_down = header.is_some_and(|at| {
        let header = rows[at].line;
        document.merged.iter().any(|merged| merged.rows.0 > header && merged.rows.1 > merged.rows.0)
    });
    if let Some(at) = header.filter(|at| !reaches_down && !is_filled && is_plain(&rows, *at, rules, reader)) {
        must_be_understood(&rows, at, rules, reader, name)?;
        return Ok(None);
    }
    let from = if reaches_down { Kind::Filled } else { Kind::Rows };
    match table::arrange(&rows, rules, reader, name, limits, from) {
        Outcome::NoLayout => {
            if let Some(at) = header {
                if let Some(line) = readings_above(&rows, at) {
                    let message = format!(
                        "{}: the header in row {} has rows with numbers above it, such as row {line}, and it is not understood what they are",
                        name.place, rows[at].line
                    );
                    let hint = "put each table on a sheet or into a file of its own, or take those rows out if they are no tests";
                    return Err(Failure::usage(message).hint(hint).into());
                }
                if is_filled {
                    let message = format!(
                        "{}: the header takes several rows in merged cells, down to row {}, and it is not understood what its columns hold",
                        name.place, rows[at].line
                    );
                    let hint = "write it in one row, with what each column holds and its unit, such as IR 1 min (MΩ)";
                    return Err(Failure::usage(message).hint(hint).into());
                }
                must_be_understood(&rows, at, rules, reader, name)?;
            }
            Ok(None)
        }
        outcome => arranged_of(outcome, document, name, limits).map(Some),
    }
}

/// A sheet that was arranged, or why it is refused.
fn arranged_of(
    outcome: Outcome,
    document: &Document,
    name: SheetName<'_>,
    limits: &Limits,
) -> Result<Arranged, Refused> {
    match outcome {
        Outcome::Arranged(mut arranged) => {
            arranged.text = delimited(&arranged.text, document.layout);
            Ok(arranged)
        }
        Outcome::NoLayout => Err(Refused::by_turned(name)),
        Outcome::TwoNames(sheet, title) => Err(Refused::by_names(name, &sheet, &title)),
        Outcome::UnreadReadings(headers) => Err(Refused::by_columns(name, &headers)),
        Outcome::TooLarge => Err(Refused::by_size(name, limits)),
        Outcome::NoResistances(values, title) => Err(Refused::by_title(name, values, &title)),
        Outcome::Failed(failure) => Err(failure.into()),
    }
}

/// Refuses a plain table with columns that seem to hold readings and are not read, by its first rows.
///
/// # Errors
///
/// [`Refused`] with their headers.
pub fn must_read_all(document: &Document, rules: &ReadingRules, name: SheetName<'_>) -> Result<(), Refused> {
    let (rows, reader) = (first_rows_of(document), Limits::of_bytes(0, 4).label_reader(&rules.mapping));
    let Some(at) = header_of(&rows, rules) else { return Ok(()) };
    must_be_understood(&rows, at, rules, &reader, name)
}

/// Refuses a plain table with a column that must be understood and is not: one that seems to hold readings, one that tells the tests of a
/// day apart, temperatures that may be of either scale.
fn must_be_understood(
    rows: &[GridRow],
    at: usize,
    rules: &ReadingRules,
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
) -> Result<(), Refused> {
    let header = std::slice::from_ref(&rows[at]);
    if let Some(row) = rows.get(at + 1).filter(|row| blocks::heads_below(row, header, reader)) {
        let said: Vec<String> = row.filled().map(|(_, cell)| shown(cell)).collect();
        let message = format!(
            "{}: row {} below the header says {}, and it is not understood what that says of the columns",
            name.place,
            row.line,
            said.join(", ")
        );
        let hint = "write units and times into the header, such as IR 1 min (MΩ), and take the row out; a small m before Ω could mean \
                    milli or mega";
        return Err(Failure::usage(message).hint(hint).into());
    }
    let unread = unread_readings(rows, at, rules, reader);
    if !unread.is_empty() {
        return Err(Refused::by_columns(name, &unread));
    }
    let header = &rows[at].cells;
    let below = &rows[at + 1..];
    let columns = Columns::resolve(header.clone(), &rules.mapping);
    let keys = columns.known.iter().filter(|(_, column)| is_key(*column)).map(|(place, _)| *place).collect::<Vec<_>>();
    let of =
        |is: &dyn Fn(Column) -> bool| columns.known.iter().find(|(_, column)| is(*column)).map(|(place, _)| *place);
    let names = of(&|column| column == Column::Winding);
    let tested = of(&|column| column == Column::TestedOn);
    let dated = names.filter(|_| tested.is_some());
    let free = columns.free_places(&rules.mapping).into_iter().filter(|place| *place < header.len());
    let free: Vec<usize> = free.filter(|place| !open::is_guidance(&header[*place], header)).collect();
    for place in free.iter().copied() {
        let header = &header[place];
        let phases = || {
            let same = [of(&|column| column == Column::Connection), of(&|column| column == Column::Scope)];
            let same: Vec<usize> = same.into_iter().flatten().collect();
            phases::may_be_phases(below, (names, &same, tested), place, name, header, reader)
        };
        let apart = || dated.and_then(|_| open::tells_tests_apart(below, &keys, place, name, header));
        let trouble = || open::tells_of_trouble(below, names, place, name, header);
        let factors = || open::of_factors(below, place, name, header);
        if let Some(question) = phases().or_else(apart).or_else(trouble).or_else(factors) {
            return Err(question.into());
        }
    }
    if let Some(at) = names {
        let named = open::Named::of(below, (at, &header[at]), tested, of(&kinds::is_reading), &DateForms::new(rules));
        let columns = free.iter().map(|place| (*place, header[*place].as_str()));
        if let Some(question) = open::of_two_bands(below, (at, tested), &DateForms::new(rules), name) {
            return Err(question.into());
        }
        if let Some(question) = open::of_two_machines(&named, columns, name) {
            return Err(question.into());
        }
    }
    let unscaled =
        columns.known.iter().find(|(_, column)| is_celsius(*column)).map(|(place, _)| header[*place].as_str());
    let beside = rows[..at].iter().chain(below);
    if let Some(question) = unscaled.and_then(|header| open::of_other_scale(beside, name, header, &rules.mapping)) {
        return Err(question.into());
    }
    let mut celsius = columns.known.iter().filter(|(_, column)| is_celsius(*column)).map(|(place, _)| *place);
    match celsius.find_map(|place| open::of_either_scale(below, place, name, &header[place], &rules.mapping)) {
        Some(question) => Err(question.into()),
        None => Ok(()),
    }
}

/// Whether a column belongs to what tells one test from another.
fn is_key(column: Column) -> bool {
    matches!(
        column,
        Column::Winding
            | Column::TestedOn
            | Column::Connection
            | Column::Scope
            | Column::TestVolts
            | Column::Elapsed(_)
            | Column::Event
            | Column::Procedure(Item::WorkOrder)
    )
}

const fn is_celsius(column: Column) -> bool {
    matches!(column, Column::WindingTemp(TemperatureScale::Celsius) | Column::AirTemp(TemperatureScale::Celsius))
}

/// The headers of a plain table's columns that seem to hold readings and are not read.
fn unread_readings(rows: &[GridRow], at: usize, rules: &ReadingRules, reader: &LabelReader<'_>) -> Vec<String> {
    let header = &rows[at].cells;
    let columns = Columns::resolve(header.clone(), &rules.mapping);
    if !columns.is_complete() {
        // What is missing is said.
        return Vec::new();
    }
    let at_places = |is: &dyn Fn(Column) -> bool| {
        columns.known.iter().filter(|(_, column)| is(*column)).map(|(place, _)| *place).collect::<Vec<usize>>()
    };
    let readings = at_places(&kinds::is_reading);
    let winding = at_places(&|column| column == Column::Winding).first().copied();
    let is_large = columns.known.iter().any(|(_, column)| {
        matches!(column, Column::Reading(_, unit) | Column::Resistance(unit) if *unit != ResistanceUnit::Ohm)
    });
    let is_unread = |place: &usize| {
        let label = reader.read(&header[*place]);
        if is_large && cells::holds_conductors(&rows[at + 1..], *place, &label) {
            return false;
        }
        cells::says_reading(&header[*place], &label)
            && !cells::is_derived(&header[*place])
            && cells::holds_readings(&rows[at + 1..], *place)
            || (label.unknown
                && !cells::is_derived(&header[*place])
                && (plan::names_readings_by_unit(&rows[at + 1..], *place)
                    && !aliases::names_something_else(&header[*place])
                    || header_words::names_a_check(&header[*place])
                        && !aliases::names_a_count(&header[*place])
                        && cells::holds_readings(&rows[at + 1..], *place)))
            || unnamed::may_be_lowest(&rows[at + 1..], *place, &header[*place])
            || (label.unknown || !label.is_known())
                && unnamed::may_be_readings(&rows[at + 1..], winding, &readings, *place, &header[*place])
    };
    let free = columns.free_places(&rules.mapping).into_iter().filter(|place| *place < header.len());
    let free = free.filter(|place| !open::is_guidance(&header[*place], header));
    free.filter(is_unread).map(|place| shown(header[place].trim())).collect()
}

/// Whether the first rows of a document are no plain table.
#[must_use]
pub fn is_other(document: &Document, rules: &ReadingRules) -> bool {
    rules.layouts.iter().any(|layout| layout.fits(document.sheet.as_deref())) || {
        let (rows, reader) = (first_rows_of(document), Limits::of_bytes(0, 4).label_reader(&rules.mapping));
        !header_of(&rows, rules).is_some_and(|at| is_plain(&rows, at, rules, &reader))
    }
}

/// A `[[layout]]` to be corrected, for a document that is not understood.
#[must_use]
pub fn suggestion(document: &Document) -> Option<String> {
    described::suggestion(&first_rows_of(document), document.sheet.as_deref())
}

/// The header of a column that says what each row measures.
#[must_use]
pub fn point_header(header: &[String], mapping: &Mapping) -> Option<String> {
    let is_point = |name: &&String| Label::read(name, mapping).field == Some(Field::Point);
    header.iter().find(is_point).map(|name| shown(name.trim()))
}

/// Whether a header says what other cells of its row are, the measuring point or the unit, which a row per test says in its headers.
#[must_use]
pub fn is_of_the_layout(name: &str, mapping: &Mapping) -> bool {
    matches!(Label::read(name, mapping).field, Some(Field::Point | Field::Unit))
}

/// Puts the delimiter of a file into a text delimited by unit separators.
fn delimited(text: &[u8], layout: Layout) -> Vec<u8> {
    let mut out = Vec::with_capacity(text.len() + text.len() / 8);
    for line in text.split(|byte| *byte == b'\n') {
        if line.is_empty() {
            continue;
        }
        for (i, cell) in line.split(|byte| *byte == table::SEPARATOR).enumerate() {
            if i > 0 {
                out.push(layout.delimiter);
            }
            if cell.contains(&layout.delimiter) || cell.contains(&b'"') {
                out.push(b'"');
                for byte in cell {
                    out.extend_from_slice(if *byte == b'"' { b"\"\"" } else { std::slice::from_ref(byte) });
                }
                out.push(b'"');
            } else {
                out.extend_from_slice(cell);
            }
        }
        out.push(b'\n');
    }
    out
}

/// The first row that can be the header of a plain table.
fn header_of(rows: &[GridRow], rules: &ReadingRules) -> Option<usize> {
    rows.iter().take(super::delimited::HEADER_WITHIN).position(|row| rules.fits(&row.cells))
}

/// Whether a row is the header of tests: it names the column of motors, and that of dates or dates themselves.
fn heads_tests(row: &GridRow, reader: &LabelReader<'_>) -> bool {
    // A quick test first: almost every row of a table holds a number, and the only numbers in a header are years.
    let is_number = |cell: &str| {
        cell.len() != 4 && cell.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b',' | b'<' | b'>'))
    };
    if row.filled().any(|(_, cell)| is_number(cell)) {
        return false;
    }
    let is_column =
        |column: Column| row.filled().any(|(_, cell)| reader.read(cell).field == Some(Field::Column(column)));
    cells::is_header(row, reader)
        && is_column(Column::Winding)
        && (is_column(Column::TestedOn) || row.filled().filter(|(_, cell)| reader.read(cell).is_dated()).count() > 1)
}

/// The line of a row above a header that may hold tests of another table: two numbers side by side.
fn readings_above(rows: &[GridRow], at: usize) -> Option<u64> {
    let is_test = |row: &&GridRow| row.cells.windows(2).any(|two| two.iter().all(|cell| cells::is_number(cell)));
    rows[..at].iter().find(is_test).map(|row| row.line)
}

/// Whether a sheet with this header is a plain table: the header names everything, and each row below it is one test.
fn is_plain(rows: &[GridRow], at: usize, rules: &ReadingRules, reader: &LabelReader<'_>) -> bool {
    if readings_above(rows, at).is_some() {
        return false;
    }
    let header = &rows[at];
    let labels = cells::labels_of(header, reader);
    let columns = Columns::resolve(header.cells.clone(), &rules.mapping);
    let is_own = |place: usize| columns.known.iter().any(|(known, _)| *known == place);
    let pivots = labels.iter().enumerate().filter(|(place, label)| {
        label.connection.is_some()
            || label.stage.is_some()
            || label.occasion.is_some()
            || label.is_dated()
            || (label.phase.is_some() && !is_own(*place))
    });
    let is_generic =
        columns.header.iter().any(|name| matches!(reader.read(name).field, Some(Field::Column(Column::Resistance(_)))));
    let below_place =
        |place: usize| rows[at + 1..].iter().map(move |row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
    // Below `r_60s` each row is a reading after one minute, whatever is written under connection.
    let is_timed = labels.iter().any(|label| matches!(label.column(), Some(Column::Reading(..))));
    let has_quantities = labels.iter().enumerate().any(|(place, label)| {
        let is_connection = label.field == Some(Field::Column(Column::Connection));
        is_connection && !is_timed && points::name_quantities(&rows[at + 1..], place, reader)
    });
    let has_point = has_quantities
        || labels.iter().any(|label| label.field == Some(Field::Point))
        || (is_generic
            && (0..header.cells.len())
                .filter(|place| !is_own(*place) && !header.cells[*place].is_empty() && !labels[*place].left_out)
                .any(|place| {
                    let cells =
                        rows[at + 1..].iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
                    points::names_points(cells, reader)
                }));
    // The same header again, or that of another table.
    let repeats = rows[at + 1..].iter().skip(1).any(|row| row.cells == header.cells || heads_tests(row, reader));
    let winding = columns.known.iter().find(|(_, column)| *column == Column::Winding);
    // Names written once for several rows, or dates on the left of them.
    let date = columns.known.iter().find(|(_, column)| *column == Column::TestedOn);
    let date = date.filter(|(place, _)| winding.is_some_and(|(winding, _)| place < winding));
    let readings: Vec<usize> =
        columns.known.iter().filter(|(_, column)| kinds::is_reading(*column)).map(|(place, _)| *place).collect();
    let connection = columns.known.iter().find(|(_, column)| *column == Column::Connection);
    let (forms, day) = (DateForms::new(rules), columns.known.iter().find(|(_, column)| *column == Column::TestedOn));
    let is_later = |row: &GridRow| day.is_some_and(|(place, _)| forms.is_later(&row.cells[*place]));
    let blank_names = winding.into_iter().chain(date).chain(connection).any(|(place, _)| {
        let has_reading = |row: &GridRow| readings.iter().any(|at| !row.cells[*at].is_empty());
        let with_reading = rows[at + 1..].iter().filter(|row| has_reading(row) && !is_later(row));
        let (blank, named): (Vec<&GridRow>, Vec<&GridRow>) = with_reading.partition(|row| row.cells[*place].is_empty());
        2 * blank.len() > named.len() && blank.len() > 2
    });
    let above = rows[..at].last().map(|row| cells::labels_of(row, reader)).unwrap_or_default();
    let groups = above
        .iter()
        .filter(|label| {
            label.connection.is_some() || label.stage.is_some() || label.occasion.is_some() || label.is_dated()
        })
        .count();
    let has_scale_above = rows[..at]
        .last()
        .and_then(GridRow::only)
        .is_some_and(|(place, text)| place > 0 && blocks::names_scale(text, reader));
    let unit_above = has_scale_above || rows[..at].iter().any(|row| context::unit_of_title(row).is_some());
    let titled = rows[..at]
        .iter()
        .filter_map(GridRow::only)
        .any(|(_, title)| !matches!(titles::values_of(title, reader), None | Some(Values::Resistances)));
    let below = &rows[at + 1..];
    let has = |field: Field| labels.iter().any(|label| label.field == Some(field));
    // Days whose year or month stands in another column, in a title or in a row above.
    let is_part = |text: &str| dates::is_part_of_year(text) || dates::day_of_month(text).is_some();
    let has_days_alone = day.is_some_and(|(place, _)| {
        let mut texts = below_place(*place).filter(|text| Period::read(text).is_none()).peekable();
        texts.peek().is_some() && texts.all(is_part)
    });
    let has_parts_of_dates = (has(Field::Year) && (has(Field::Month) || has(Field::Quarter))) || has_days_alone;
    let free = || (0..header.cells.len()).filter(|place| !labels[*place].is_known());
    let is_winding = |place: &usize| labels[*place].field == Some(Field::Column(Column::Winding));
    let named: Vec<usize> = (0..header.cells.len()).filter(is_winding).collect();
    let names = Names::of(below, &named, |place| header.cells[place].clone());
    let taken = winding.map(|(place, _)| *place);
    let has_components = names.component.is_some()
        || plan::named_by_site(&named, |place| header.cells[place].clone(), reader.mapping()).is_some()
        || (taken.is_some() && names.winding(|place| header.cells[place].clone()) != taken)
        || taken.is_some_and(|winding| cells::component_column(below, winding, free()).is_some())
        || taken.is_some_and(|winding| {
            cells::machine_column(below, winding, |place| header.cells[place].clone(), free()).is_some()
        });
    let has_clock = free().any(|place| cells::holds_clock(below, place));
    let is_said = connection.is_some_and(|(place, _)| below_place(*place).next().is_some());
    let has_phases = !is_said
        && free().any(|place| {
            !header_words::names_places(&header.cells[place]) && phases::names_phases(below, place, reader)
        });
    let has_dittos = named
        .iter()
        .chain(connection.map(|(place, _)| place))
        .any(|place| below.iter().any(|row| is_ditto(&row.cells[*place])));
    let has_groups = groups > 1 && rows[at - 1].only().is_none();
    let numbered: Vec<(usize, Label)> =
        labels.iter().enumerate().map(|(at, label)| (at, Label::clone(label))).collect();
    pivots.count() < 2
        && headers::side_by_side(&numbered, header.cells.len()).len() < 2
        // `R`, `S`, `T` are phases, and neither a resistance nor a temperature.
        && label::custom_of(labels.iter().map(|label| &**label)).is_none()
        && !has_groups
        && !has_point
        && !repeats
        && !blank_names
        && !unit_above
        && !titled
        && !has_parts_of_dates
        && !has_components
        && !has_clock
        && !has_phases
        && !has_dittos
        && !cells::is_label_row(rows.get(at + 1), reader)
        && !rows.get(at + 1).is_some_and(|row| blocks::heads_below(row, std::slice::from_ref(header), reader))
        && !reader.is_exhausted()
}

#[cfg(test)]
mod tests;
