//! From the cells of a sheet to one row per test.

use super::arranged::{Arranged, KnownTest, Unplaced};
use super::bands::{self, Bands, Headings};
use super::blocks::{Block, blocks};
use super::cells::{is_component, is_number, reading_and_date};
use super::context::Context;
use super::draft::Test;
use super::grid::{GridRow, Limits};
use super::label::Field;
use super::label::conductors::Letters;
use super::label_reader::LabelReader;
use super::open::{self, ROWS_ASKED};
use super::plan::is_whole_date;
use super::sheet::{Known, Sheet};
use super::sheet_name::SheetName;
use super::titles::Values;
use super::turned::Turned;
use crate::error::{Failure, shown};
use crate::ingest::ReadingRules;
use crate::ingest::cell_place::CellPlace;
use crate::ingest::kinds::is_reading;
use groundwall::record::Event;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use std::collections::{BTreeMap, HashSet};
use std::rc::Rc;

/// The most rows looked at for all blocks that share one header, counted once per block.
const ROWS_OF_HEADERS: usize = 40_000;

/// A block costs as much as so many values.
const VALUES_A_BLOCK: usize = 40;

/// What separates cells in the text of a plain table until its delimiter is known.
pub(super) const SEPARATOR: u8 = 0x1f;

/// What became of a sheet.
pub(super) enum Outcome {
    /// It is a plain table now.
    Arranged(Arranged),
    /// It is a plain table already, or nothing that is understood.
    NoLayout,
    /// A title says that its values are no resistances as they were read, and there are no others.
    NoResistances(Values, String),
    /// The name of the sheet and its title are those of two motors.
    TwoNames(String, String),
    /// Columns with these headers seem to hold readings too, and are not understood.
    UnreadReadings(Vec<String>),
    /// Something in it must be settled first.
    Failed(Failure),
    /// It holds more than its limits.
    TooLarge,
}

/// The rows that a table is made from.
#[derive(Clone, Copy, Debug)]
pub(super) enum Kind<'a> {
    /// Those of the sheet.
    Rows,
    /// Those of the sheet, with values that reach down several of them.
    Filled,
    /// Those of the sheet, with signs of bounds put before their readings, or with cells of several readings divided.
    Rewritten { signs: bool, divided: bool },
    /// Its columns as rows.
    Turned(&'a Turned),
}

/// A sheet as a plain table, where any test is found in it.
pub(super) fn arrange<'a>(
    rows: &'a [GridRow],
    rules: &'a ReadingRules,
    reader: &'a LabelReader<'_>,
    name: SheetName<'a>,
    limits: &mut Limits,
    kind: Kind<'a>,
) -> Outcome {
    let mut sheet = Sheet::new(rules, reader, name, *limits);
    sheet.seen.filled = matches!(kind, Kind::Filled);
    if let Kind::Rewritten { signs, divided } = kind {
        (sheet.seen.signs, sheet.seen.divided) = (signs, divided);
    }
    sheet.turned = if let Kind::Turned(turned) = kind { Some(turned) } else { None };
    let found = blocks(rows, reader);
    if reader.is_exhausted() {
        return Outcome::TooLarge;
    }
    // Dates stand in cells of their own, or in headers beside other words.
    let headers = found.iter().flat_map(|block| block.headers).flat_map(|row| &row.cells);
    let in_headers: Vec<String> = headers.filter_map(|cell| reader.read(cell).date.clone()).collect();
    let cells = || rows.iter().flat_map(|row| &row.cells).map(String::as_str);
    let in_cells = cells().filter_map(|cell| Some(reading_and_date(cell)?.1));
    sheet.prove_dates(cells().chain(in_headers.iter().map(String::as_str)).chain(in_cells));
    sheet.seen.blocks = found.len();
    sheet.has_blocks = found.len() > 1;
    sheet.find_said_units(&found);
    sheet.open_question = dates_below(rows, &found, reader, name).or_else(|| tests_above(&found, name));
    let top = found.first().map(|block| Context::of(block.titles, reader)).unwrap_or_default();
    let later: Vec<Context> = found.iter().skip(1).map(|block| Context::of(block.titles, reader)).collect();
    let shared = Context { name: None, ..top }.without_own_of(&later);
    // Where blocks have titles of their own, one whose title is not understood is not of the first motor.
    let names_itself = |block: &Block<'_>| Context::of(block.titles, reader).winding().is_some();
    let are_named = found.iter().filter(|block| names_itself(block)).count() > 1;
    let may_be_of_another = |block: &Block<'_>| {
        let mut titles = block.titles.iter().filter_map(GridRow::only).map(|(_, text)| text);
        are_named || titles.any(|text| bands::place_in(text, reader).is_some() && !is_component(text))
    };
    let nameless = shared.clone().without_winding();
    let of_headers = rows_by_header(&found);
    for (i, block) in found.iter().enumerate() {
        if !sheet.may_hold(|left| &mut left.values, VALUES_A_BLOCK) {
            break;
        }
        let mut context = Context::of(block.titles, reader);
        if i > 0 {
            context = context.after(if may_be_of_another(block) { &nameless } else { &shared });
        }
        sheet.of_header = of_headers.get(&header_cells(block)).cloned();
        sheet.block(block, &context);
    }
    sheet.is_too_large |= reader.is_exhausted();
    if sheet.open_question.is_none() {
        let tests = sheet.tests.iter().take(ROWS_ASKED);
        let tested: HashSet<String> = tests.map(|test| sheet.texts.get(test.key.winding).to_lowercase()).collect();
        sheet.open_question = open::of_trouble_outside(rows, &found, |motor| tested.contains(motor), name);
    }
    if sheet.open_question.is_none() && sheet.turned.is_none() {
        sheet.open_question = sheet.bands(rows).question(name);
    }
    sheet.finish(limits)
}

/// The cells of the header of a block.
fn header_cells<'b>(block: &Block<'b>) -> Vec<&'b [String]> {
    block.headers.iter().map(|row| row.cells.as_slice()).collect()
}

/// The first rows of blocks that have the same header, such as the parts of a table on several pages. Together they show what its
/// columns hold.
fn rows_by_header<'b>(blocks: &[Block<'b>]) -> BTreeMap<Vec<&'b [String]>, Rc<[GridRow]>> {
    let mut found: BTreeMap<Vec<&[String]>, Vec<&Block<'_>>> = BTreeMap::new();
    for block in blocks {
        found.entry(header_cells(block)).or_default().push(block);
    }
    // Every block looks at all of these rows.
    let rows = |blocks: &[&Block<'_>]| {
        let most = (ROWS_OF_HEADERS / blocks.len()).min(ROWS_ASKED);
        blocks.iter().flat_map(|block| block.rows).take(most).cloned().collect()
    };
    found.into_iter().filter(|(_, blocks)| blocks.len() > 1).map(|(header, blocks)| (header, rows(&blocks))).collect()
}

/// The question about rows above a header that look like tests, and are below no header that is understood.
fn tests_above(blocks: &[Block<'_>], name: SheetName<'_>) -> Option<Failure> {
    let is_test = |row: &&GridRow| {
        row.filled().next().is_some_and(|(_, cell)| is_whole_date(cell))
            && row.filled().any(|(_, cell)| is_number(cell))
    };
    // One may be the date of a form beside its number.
    let first_of_several = |block: &Block<'_>| {
        let mut tests = block.titles.iter().filter(is_test);
        let first = tests.next()?.line;
        tests.next().map(|_| first)
    };
    let (row, header) =
        blocks.iter().find_map(|block| Some((first_of_several(block)?, block.headers.first()?.line)))?;
    let message = format!(
        "{}: row {row} looks like a test, and no header above it is understood; the next is in row {header}",
        name.place
    );
    Some(
        Failure::usage(message).hint("write a header above those rows, such as Date, IR 1 min (MΩ), Winding temp (°C)"),
    )
}

/// The question about readings whose dates seem to be in the row below them, where they would be taken for those of the next motor.
fn dates_below(
    rows: &[GridRow],
    blocks: &[Block<'_>],
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
) -> Option<Failure> {
    let is_dated = |block: &Block<'_>| {
        block.headers.iter().flat_map(|row| row.filled()).any(|(_, cell)| {
            let label = reader.read(cell);
            label.is_dated() || label.field == Some(Field::Column(Column::TestedOn))
        })
    };
    blocks.iter().enumerate().find_map(|(i, block)| {
        let header = block.headers.first()?;
        let dates: Vec<usize> =
            header.filled().filter(|(_, cell)| reader.read(cell).date.is_some()).map(|(at, _)| at).collect();
        // Rows below the dates of a block before are of those.
        if dates.is_empty() || blocks[..i].iter().any(&is_dated) {
            return None;
        }
        let above = rows.iter().rfind(|row| row.line < header.line).filter(|row| row.line + 1 == header.line)?;
        let is_read = above.filled().any(|(at, cell)| {
            let label = reader.read(cell);
            !dates.contains(&at) && (label.ohms.is_some() || label.column().is_some_and(is_reading)) && !is_number(cell)
        });
        let holds_readings = dates.iter().all(|at| above.cells[*at].is_empty() || is_number(&above.cells[*at]))
            && dates.iter().any(|at| is_number(&above.cells[*at]));
        (is_read && holds_readings).then(|| {
            let message = format!(
                "{}: row {} has readings and no dates above them, and row {} below it has dates",
                name.place, above.line, header.line
            );
            Failure::usage(message).hint("write the dates of each motor in a row above its readings")
        })
    })
}

impl<'a> Sheet<'a> {
    /// The headings of its rows with the days of the tests below them.
    fn bands(&self, rows: &[GridRow]) -> Bands {
        let (headings, mut bands) = (Headings::of(rows, self.reader), Bands::default());
        for test in self.tests.iter().take(ROWS_ASKED) {
            let date = self.forms.read(self.texts.get(test.date)).and_then(|dated| dated.iso.get(..10)?.parse().ok());
            let date = date.filter(|date| self.forms.is_until(*date));
            if let (Some(heading), Some(date)) = (headings.of_line(test.place.line), date) {
                bands.add(self.texts.get(test.key.winding), self.texts.get(test.key.connection), heading, date);
            }
        }
        bands
    }

    /// The plain table, and everything worth saying about it. The limits are those of the sheets after it.
    pub(super) fn finish(mut self, limits: &mut Limits) -> Outcome {
        self.join_deferred();
        if self.is_too_large {
            return Outcome::TooLarge;
        }
        let before = std::mem::replace(limits, self.left);
        let is_whole = |test: &Test<'_>| test.has_reading && !test.date.is_empty() && !test.key.winding.is_empty();
        // A table of one header that only lacks a column is no other layout: what it lacks is said.
        let found = self.tests.iter().any(is_whole);
        if let (false, Some((values, title))) = (found, self.no_resistances.take()) {
            return Outcome::NoResistances(values, title);
        }
        // Where rows of one test contradict each other, none may be left; where most rows do, the layout is not understood.
        let is_conflict =
            |(.., test): &&(_, _, _, Option<Known>)| test.is_some_and(|test| test.column.is_some_and(is_reading));
        let conflicts = self.unplaced.iter().filter(is_conflict).count();
        let is_layout = self.seen.is_a_layout() || self.turned.is_some();
        if !is_layout || !found || conflicts > self.tests.len() {
            if self.seen.is_a_layout()
                && let Some((place, text, fault, _)) = self.unplaced.iter().find(is_conflict)
            {
                let message = format!(
                    "{}:{}: {} is {}; {}",
                    self.name.place,
                    place.name(),
                    fault.column,
                    shown(text),
                    fault.rule
                );
                let conflict = || Failure::usage(message).hint(fault.hint.clone());
                return Outcome::Failed(self.open_question.take().unwrap_or_else(conflict));
            }
            return Outcome::NoLayout;
        }
        if let Some((sheet, title)) = self.two_names {
            return Outcome::TwoNames(sheet, title);
        }
        if !self.unread_readings.is_empty() {
            return Outcome::UnreadReadings(self.unread_readings.into_values().collect());
        }
        if let Some(failure) = self.refusal_by_unit().or_else(|| self.open_question.take()) {
            return Outcome::Failed(failure);
        }
        let mut columns: BTreeMap<String, Column> = BTreeMap::new();
        for column in self.tests.iter().flat_map(|test| test.cells.columns()) {
            if !columns.values().any(|own| *own == column) {
                columns.insert(column.to_string(), column);
                // Each test has a cell in each of them.
                if columns.len().saturating_mul(self.tests.len()) > self.left.arranged {
                    *limits = before;
                    return Outcome::TooLarge;
                }
            }
        }
        if self.tests.iter().any(|test| test.stage.is_some_and(|stage| stage.after && stage.event.is_some())) {
            columns.insert("event".to_owned(), Column::Event);
        }
        let mut header = vec!["winding".to_owned(), "tested_on".to_owned(), "connection".to_owned()];
        columns.retain(|name, _| name != "winding" && name != "connection");
        header.extend(columns.keys().cloned());
        let mut text = Vec::new();
        let mut line = |cells: &[&str]| {
            text.extend_from_slice(cells.join("\u{1f}").as_bytes());
            text.push(b'\n');
        };
        line(&header.iter().map(String::as_str).collect::<Vec<_>>());
        let (mut places, mut periods, mut example) = (Vec::new(), 0_u64, String::new());
        self.tests.sort_by_key(|test| test.place);
        let key = |test: &Test<'_>| (test.key.winding, test.date, test.key.connection);
        let is_after = |test: &&Test<'_>| test.stage.is_some_and(|stage| stage.after);
        let worked_on: HashSet<_> = self.tests.iter().filter(is_after).map(key).collect();
        for test in &self.tests {
            let written = self.texts.get(test.date);
            let read = self.forms.read(written);
            let is_period = read.as_ref().is_some_and(|dated| dated.period.is_some());
            let mut date = read.map_or_else(|| written.to_owned(), |dated| dated.iso);
            if is_period {
                periods += 1;
                if example.is_empty() {
                    example = format!("{} at {}", shown(written), self.cell(test.place).name());
                }
            }
            let event = test.stage.filter(|stage| stage.after).map(|stage| stage.event);
            if event.is_some() && date.len() == 10 {
                // The test after the work comes last on its day.
                date.push_str("T23:59");
            } else if test.stage.is_some() && date.len() == 10 && worked_on.contains(&key(test)) {
                // And the one before it first.
                date.push_str("T00:00");
            }
            let mut cells = vec![self.texts.get(test.key.winding), &date, self.texts.get(test.key.connection)];
            cells.extend(columns.values().map(|column| match (test.cells.get(*column), column) {
                (None, Column::Event) => event.flatten().map_or("", Event::word),
                (text, _) => text.unwrap_or_default(),
            }));
            line(&cells);
            places.push(self.cell(test.place));
        }
        let known = |known: Known| KnownTest {
            winding: self.texts.get(known.winding).to_owned(),
            date: {
                let written = self.texts.get(known.date);
                self.forms.read(written).map_or_else(|| written.to_owned(), |dated| dated.iso)
            },
            connection: self.texts.get(known.connection).to_owned(),
            column: known.column,
        };
        let of = |(place, text, fault, test): (CellPlace, String, Fault, Option<Known>)| Unplaced {
            place: self.cell(place),
            text,
            fault,
            test: test.map(known),
        };
        let unplaced = self.unplaced.iter().cloned().map(of).collect();
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
        let Self { ignored, not_understood, not_done, title_name, .. } = self;
        Outcome::Arranged(Arranged { text, places, unplaced, ignored, not_understood, not_done, title_name, remarks })
    }

    /// The layout in words.
    pub(super) fn described(&self) -> String {
        let seen = &self.seen;
        if seen.described {
            return "the layout that [[layout]] describes".to_owned();
        }
        let rows = match (seen.points, seen.dates_across) {
            _ if self.turned.is_some() => "one column per motor, one row per quantity",
            (true, true) => "one row per motor and quantity",
            (true, false) => "one row per measuring point",
            (false, true) => "one row per motor",
            (false, false) => "one row per test",
        };
        let mut parts = vec![rows.to_owned()];
        for (is_so, part) in [
            (seen.windings_across, "one column per motor"),
            (seen.tables_beside, "tables side by side"),
            (seen.dates_across, "one column per date"),
            (seen.phases_across, "one column per connection"),
            (seen.colours == Some(Letters::RedYellowBlue), "the phases R, Y and B as red, yellow and blue"),
            (seen.colours == Some(Letters::RedWhiteBlue), "the phases R, W and B as red, white and blue"),
            (seen.units_across, "one column per unit"),
            (seen.stages_across, "columns before and after work"),
            (seen.occasions_across, "columns of several tests of a motor, each with its date"),
            (seen.voltages_across, "one column per test voltage"),
            (seen.components, "the windings of a motor told apart by a column or header of their own"),
            (seen.machines, "the motor by its own column, because one name of a winding stands beside several motors"),
            (seen.timed, "one timed reading a row"),
            (seen.clock, "the time of day in a column"),
            (seen.units, "units in a column"),
            (seen.divided, "several readings in a cell"),
            (seen.signs, "the sign of a bound in a column of its own"),
            (seen.names_above, "the motor in a row above its tests"),
            (seen.dates_above, "the date in a row above its tests"),
            (seen.filled, "names and dates once for several rows"),
            (seen.title_winding, "the motor from the title above"),
            (seen.title_unit, "the unit of the readings from a title or a row above them"),
            (seen.sheet_winding, "the motor from the name of the sheet"),
            (seen.dates_in_cells, "the date in the cell of the reading"),
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
