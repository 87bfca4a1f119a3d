//! Histories read piece by piece on all cores, and their rows accounted for.

use super::body::{Body, for_each_row};
use super::cell_place::CellPlace;
use super::cells::{self, CellTable};
use super::columnar;
use super::columns::{Columns, delimiter_hint};
use super::dates::is_part_of_year;
use super::delimited::{HEADER_WITHIN, Layout};
use super::document::{Document, Header, find_header};
use super::free_form::apparent;
use super::ingested::{FIRST_ARRANGED, place};
use super::layout::{self, Arranged, KnownTest, LabelReader, Limits, SheetName, Unplaced};
use super::likely;
use super::no_tests::{holds_no_tests, is_example, skip_hint, trouble_without_tests};
use super::piece::{Parsed, at_one_minute, parse};
use super::piece_rules::PieceRules;
use super::pieces::{OpenText, PIECE, Piece, Pieces};
use super::places;
use super::rejections::Rejections;
use super::remarks;
use super::repeats;
use super::rewrite::{self, Liberties};
use super::row_fault::RowFault;
use super::rows::Rows;
use super::said_beside::{SaidBeside, said_above, said_by_name, said_in, units_of_headers};
use super::said_unit::symbol;
use super::sample::{self, FirstRows, SAMPLE};
use super::source::{HEAD, must_be_text};
use super::timed::Timed;
use super::{Ingested, InputLedger, ReadingRules};
use crate::digest;
use crate::error::{Failure, shown};
use groundwall::record::columns::Column;
use groundwall::record::validate::{DayCount, Fault, TestRules};
use groundwall::record::{KeptOut, Origin};
use groundwall::resistance::{CellRules, ResistanceUnit};
use groundwall::table::{SeriesTable, TableFull, TestTable};
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::io::{Cursor, Read};
use std::sync::Arc;

/// Why reading stopped.
#[derive(Debug)]
pub enum Halted {
    /// A text that was taken for a plain table in UTF-8 is none.
    NotPlain,
    /// The input is no history.
    Failed(Failure),
}

impl From<Failure> for Halted {
    fn from(failure: Failure) -> Self {
        Self::Failed(failure)
    }
}

/// What is known of an input before its first row.
struct Opened {
    file: String,
    /// The input in messages.
    name: String,
    sheet: Option<String>,
    days: Option<DayCount>,
    layout: Layout,
    remarks: Vec<String>,
    places: Option<Vec<CellPlace>>,
}

/// Histories being read.
pub struct Reading<'r> {
    rules: &'r ReadingRules,
    piece: usize,
    table: TestTable,
    inputs: Vec<InputLedger>,
    rejections: Rejections,
    /// Rows of the table that are what can be read of rejected rows.
    rejected_tests: Vec<(u32, KeptOut)>,
    bodies: Vec<Body<'r>>,
    timed: Timed,
    /// Names in rows that stand for another.
    other_names: BTreeSet<String>,
}

impl<'r> Reading<'r> {
    /// Nothing read yet.
    #[must_use]
    pub fn new(rules: &'r ReadingRules) -> Self {
        Self::in_pieces(rules, PIECE)
    }

    /// Nothing read yet; texts are to be read in pieces of about so many bytes. The size changes no result.
    #[must_use]
    pub fn in_pieces(rules: &'r ReadingRules, piece: usize) -> Self {
        Self {
            rules,
            piece,
            table: TestTable::new(),
            inputs: Vec::new(),
            rejections: Rejections::default(),
            rejected_tests: Vec::new(),
            bodies: Vec::new(),
            timed: Timed::default(),
            other_names: BTreeSet::new(),
        }
    }

    /// Reads the bytes of one input.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when they are not a history.
    pub fn add(&mut self, file: &str, bytes: Vec<u8>) -> Result<(), Failure> {
        let sha256 = digest::sha256(&bytes);
        let length = bytes.len();
        if columnar::is_columnar(&bytes) {
            self.add_cells(file, &columnar::open(file, bytes)?)?;
            if let Some(ledger) = self.inputs.last_mut() {
                ledger.sha256 = sha256;
            }
            return Ok(());
        }
        let documents = self.rules.open(file, bytes)?;
        let mut limits = Limits::of(&documents, length);
        let reader = limits.label_reader(&self.rules.mapping);
        let several = documents.len() > 1;
        let (mut failure, mut passed_over, read_before) = (None::<Failure>, Vec::new(), self.inputs.len());
        let rows_before = self.table.len();
        let named: Vec<Vec<ResistanceUnit>> = documents.iter().map(units_of_headers).collect();
        let mut said_apart = None;
        let mut titled: BTreeMap<String, String> = BTreeMap::new();
        for (at, document) in documents.into_iter().enumerate() {
            let name = document.name(file);
            let said = said_in(&document).filter(|said| {
                let is_named = |(other, units): (usize, &Vec<ResistanceUnit>)| {
                    other != at && said.unit.is_some_and(|unit| units.contains(&unit))
                };
                !named.iter().enumerate().any(is_named)
            });
            let (is_example, rows) = (document.sheet.as_deref().is_some_and(is_example), self.table.len());
            let added = self.add_document(file, document, several, &reader, &mut limits);
            if several && is_example && added.is_ok() && self.table.len() > rows {
                let message =
                    format!("{name}: this sheet holds tests, and its name is one of examples: were they made?");
                let why = Failure::usage(message)
                    .hint("give the sheet another name if they were")
                    .also(&skip_hint(&name, file));
                failure = Some(match failure {
                    Some(earlier) => earlier.and(why),
                    None => why,
                });
            }
            match added {
                Ok(None) => {}
                Ok(Some(motor)) => match titled.insert(motor.clone(), name.clone()) {
                    Some(other) if several => {
                        failure = Some(match failure {
                            Some(earlier) => earlier.and(one_title(&other, &name, &motor)),
                            None => one_title(&other, &name, &motor),
                        });
                    }
                    _ => {}
                },
                Err(Unread { without_tests: true, failure: why }) if several => {
                    said_apart = said_apart.or_else(|| Some((name.clone(), said?)));
                    passed_over.push((name, why));
                }
                Err(Unread { failure: why, .. }) => {
                    let why = if several { why.also(&skip_hint(&name, file)) } else { why };
                    failure = Some(match failure {
                        Some(earlier) => earlier.and(why),
                        None => why,
                    });
                }
            }
        }
        if let Some(failure) = failure {
            return Err(failure);
        }
        if let Some((name, said)) = said_apart.filter(|_| self.inputs.len() > read_before) {
            let (text, unit) = (shown(&said.text), symbol(said.unit));
            let message = format!(
                "{name}: this sheet holds no tests and says “{text}”, and no header of the other sheets names {unit}: are their readings in it?"
            );
            let example = symbol(said.unit.or(Some(ResistanceUnit::Kilohm)));
            let hint = format!("write the unit into the headers of the readings, such as IR ({example}) or IR (MΩ)");
            return Err(Failure::usage(message).hint(hint).also(&skip_hint(&name, file)));
        }
        if several {
            let read = &self.inputs;
            let tests = (rows_before..self.table.len()).map(|row| self.table.test(row));
            let sheet = |input: u32| read.get(input as usize)?.sheet.as_deref();
            if let Some(question) = places::question(file, tests, self.rules.as_of, sheet) {
                return Err(question);
            }
        }
        let Some(ledger) = self.inputs.get_mut(read_before) else {
            let failures = passed_over.into_iter().map(|(_, why)| why);
            return failures.reduce(Failure::and).map_or(Ok(()), Err);
        };
        if !passed_over.is_empty() {
            let names: Vec<String> = passed_over.into_iter().map(|(name, _)| name).collect();
            let what = if names.len() == 1 {
                "this sheet holds no tests and is"
            } else {
                "these sheets hold no tests and are"
            };
            ledger.remarks.insert(0, format!("{}: {what} passed over", names.join(", ")));
        }
        for ledger in &mut self.inputs[read_before..] {
            ledger.sha256.clone_from(&sha256);
        }
        Ok(())
    }

    /// Reads a text or a sheet, and gives what its title may call the motor where nothing says that it does.
    fn add_document(
        &mut self,
        file: &str,
        mut document: Document,
        several: bool,
        reader: &LabelReader<'_>,
        limits: &mut Limits,
    ) -> Result<Option<String>, Unread> {
        let name = document.name(file);
        let sheet = SheetName { place: &name, sheet: document.sheet.as_deref(), several };
        let mut arranged = layout::arrange(&document, self.rules, reader, sheet, limits)
            .map_err(|refused| Unread { failure: refused.failure, without_tests: refused.holds_no_tests })?;
        if let Some(arranged) = &mut arranged {
            document.rearranged(std::mem::take(&mut arranged.text), std::mem::take(&mut arranged.places));
            document.remarks.append(&mut arranged.remarks);
        }
        let opened = Opened {
            file: file.to_owned(),
            name,
            sheet: document.sheet.clone(),
            days: document.days,
            layout: document.layout,
            remarks: std::mem::take(&mut document.remarks),
            places: document.places.clone(),
        };
        let decimal_comma = self.rules.decimal_comma(document.layout);
        let sheet_of = document.sheet.clone();
        let tests = TestRules { decimal_comma, workbook: document.days, ..self.rules.tests.clone() };
        let mut pieces = Pieces::new(document.bare(), document.layout.delimiter, self.piece);
        let before = self.table.len();
        match self.read(opened, &mut pieces, &|line| document.line(line), false) {
            Ok(()) => {}
            Err(Halted::Failed(failure)) => {
                let without_tests = self.table.len() == before && holds_no_tests(&document, self.rules, reader);
                if let Some(text) =
                    trouble_without_tests(&document, self.rules, reader).filter(|_| without_tests && several)
                {
                    let message = format!(
                        "{}: this sheet holds no tests, and it says {}: of which test?",
                        document.name(file),
                        shown(&text)
                    );
                    let failure = Failure::usage(message)
                        .hint("write it into a column of notes beside the test that it speaks of, with its date");
                    return Err(Unread { failure, without_tests: false });
                }
                return Err(Unread { failure, without_tests });
            }
            // Rows of a held text that are not UTF-8 are rejected one by one.
            Err(Halted::NotPlain) => {}
        }
        let mut title_name = None;
        if let Some(mut arranged) = arranged {
            title_name = arranged.title_name.take();
            self.add_unplaced(arranged, &tests)
                .map_err(|full| Unread { failure: too_many(full), without_tests: false })?;
        }
        self.bodies.push(Body::Held(document));
        // Sheets of years and rounds are of one motor.
        Ok(title_name.filter(|_| {
            let is_of_a_time = |sheet: String| {
                layout::label::is_date(&sheet) || is_part_of_year(&sheet) || layout::label::names_tests(&sheet)
            };
            !sheet_of.is_some_and(is_of_a_time)
        }))
    }

    /// Cells of an arranged sheet that belong to no test are rejected rows of their own. What is known of their tests counts for nothing,
    /// as of any rejected row, and must not make an answer milder by being away.
    fn add_unplaced(&mut self, arranged: Arranged, tests: &TestRules) -> Result<(), TableFull> {
        let input = u32::try_from(self.inputs.len() - 1).unwrap_or(u32::MAX);
        let Some(ledger) = self.inputs.last_mut() else { return Ok(()) };
        ledger.columns.left_alone.extend(arranged.ignored);
        ledger.columns.not_understood.extend(arranged.not_understood);
        ledger.not_done += arranged.not_done;
        let count = arranged.unplaced.len() as u64;
        ledger.rows += count;
        ledger.rejected += count;
        for Unplaced { place, text, fault, test } in arranged.unplaced {
            let places = ledger.places.get_or_insert_default();
            let origin = Origin { input, line: (FIRST_ARRANGED + places.len()) as u64 };
            places.push(place);
            self.rejections.push(origin, text.as_bytes(), [RowFault::from(&fault)]);
            let Some(KnownTest { winding, date, connection, column }) = test else { continue };
            let winding = self.rules.names.winding(&winding).unwrap_or(&winding);
            let cell = CellRules { decimal_comma: tests.decimal_comma, ..CellRules::default() };
            let read = Some(text.as_str()).filter(|text| matches!(cell.read(text), Ok(Some(_))));
            let is_apparent = read.is_none();
            let reading = column.zip(read.or_else(|| apparent(&text).filter(|_| column.is_some_and(at_one_minute))));
            let cells = [(Column::Winding, winding), (Column::TestedOn, &date), (Column::Connection, &connection)];
            let known = tests.remains(cells.into_iter().chain(reading), origin, self.rules.as_of, reading.is_none());
            if let Some((test, why)) = known {
                let why = if is_apparent && reading.is_some() { KeptOut::Unread } else { why };
                self.rejected_tests.push((u32::try_from(self.table.len()).unwrap_or(u32::MAX), why));
                self.table.push(&test)?;
            }
        }
        Ok(())
    }

    /// Reads a [plain text](super::source::is_plain_text) in chunks, without ever holding it whole. It is opened once more
    /// where rows contradict each other.
    ///
    /// # Errors
    ///
    /// Why reading stopped; after [`Halted::NotPlain`] all inputs must be read anew, this one by [`Reading::add`].
    pub fn add_large(&mut self, file: &str, open: OpenText<'r>) -> Result<(), Halted> {
        self.add_chunks(file, open, None)
    }

    /// Reads a table of cells that another program holds.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it is not a history.
    pub fn add_cells(&mut self, name: &str, table: &Arc<dyn CellTable>) -> Result<(), Failure> {
        cells::must_be_usable(name, &**table)?;
        let decimal_comma = self.rules.tests.decimal_comma;
        if !cells::has_line_breaks(name, &**table)? {
            let (open, layout) = cells::open(table, decimal_comma);
            match self.add_chunks(name, open, Some(layout)) {
                Ok(()) => return Ok(()),
                Err(Halted::Failed(failure)) => return Err(failure),
                // Arranged as a whole; nothing of it has been taken in.
                Err(Halted::NotPlain) => {}
            }
        }
        let document = cells::document(name, &**table, decimal_comma)?;
        let sha256 = digest::sha256(&document.text);
        let length = document.text.len();
        let mut limits = Limits::of(std::slice::from_ref(&document), length);
        let reader = limits.label_reader(&self.rules.mapping);
        self.add_document(name, document, false, &reader, &mut limits).map_err(|unread| unread.failure)?;
        if let Some(ledger) = self.inputs.last_mut() {
            ledger.sha256 = sha256;
        }
        Ok(())
    }

    /// Reads a text in chunks. Its layout is found from its first bytes, where it is not given.
    fn add_chunks(&mut self, file: &str, open: OpenText<'r>, layout: Option<Layout>) -> Result<(), Halted> {
        let unreadable = |error: std::io::Error| Failure::unreadable(file, &error);
        let mut rest = open().map_err(unreadable)?;
        let mut head = Vec::new();
        rest.by_ref().take(HEAD).read_to_end(&mut head).map_err(unreadable)?;
        must_be_text(file, &head)?;
        let layout = layout.unwrap_or_else(|| self.rules.layout(&head));
        let start = Document::of_text(head.clone(), layout);
        if layout::is_other(&start, self.rules) {
            // A sheet of another layout is arranged as a whole.
            return Err(Halted::NotPlain);
        }
        layout::must_read_all(&start, self.rules, SheetName::of(&start, file))
            .map_err(|refused| Halted::Failed(refused.failure))?;
        let opened = Opened {
            name: file.to_owned(),
            file: file.to_owned(),
            sheet: None,
            days: None,
            layout,
            remarks: Vec::new(),
            places: None,
        };
        let mut pieces = Pieces::new(Cursor::new(head).chain(rest), layout.delimiter, self.piece);
        self.read(opened, &mut pieces, &|line| line, true)?;
        if let Some(ledger) = self.inputs.last_mut() {
            ledger.sha256 = pieces.sha256();
        }
        self.bodies.push(Body::Large(open, layout));
        Ok(())
    }

    fn read<R: Read + Send>(
        &mut self,
        opened: Opened,
        pieces: &mut Pieces<R>,
        place: &(dyn Fn(u64) -> u64 + Sync),
        must_be_utf_8: bool,
    ) -> Result<(), Halted> {
        let Opened { file, name, sheet, days, layout, mut remarks, places } = opened;
        let rules = self.rules;
        let unreadable = |error: std::io::Error| Halted::Failed(Failure::unreadable(&name, &error));
        let start = first_rows(pieces, layout.delimiter).map_err(unreadable)?;
        let mut rows = Rows::new(&start.text, layout.delimiter, start.line);
        let (fits, weight) = (|cells: &[String]| rules.fits(cells), |cells: &[String]| rules.weight(cells));
        let Header { line, raw, cells, above } = find_header(&name, place, &mut rows, &fits, &weight)?;
        let resolved = Columns::resolve(cells.clone(), &rules.mapping);
        let found = Columns::find(&name, line, cells, &rules.mapping);
        let mut columns = found.map_err(|failure| match rules.mark_instead(&start.text, layout) {
            Some(mark) => failure.hint(delimiter_hint(mark)),
            None => {
                // The header was looked for among the rows below it too.
                let mut below = Rows::new(&start.text, layout.delimiter, start.line);
                for _ in 0..=above {
                    below.next_row();
                }
                let below = FirstRows::of(below);
                match likely::lines(&resolved, &resolved.missing(), below).as_slice() {
                    [] => failure,
                    lines => failure.also(&format!(
                        "by their cells these may be right, so check them and write them there: {}",
                        lines.join(", ")
                    )),
                }
            }
        })?;
        if places.is_none()
            && let Some(point) = layout::point_header(&columns.header, &rules.mapping)
        {
            let failure = format!(
                "{name}:{line}: the column {point} says what each row measures, and the table cannot be arranged"
            );
            return Err(Failure::usage(failure)
                .hint(format!(
                    "if it says between what was measured, say so under [columns] in groundwall.toml or the policy file: \"{point}\" = \
                     \"connection\"; if it says what was measured, name resistances IR 1 MIN and temperatures WDG TEMP there; only a \
                     description is left out: \"{point}\" = \"-\""
                ))
                .into());
        }
        if above > 0 {
            remarks.push(format!("{name}:{line}: the header is here; what stands above it is not read"));
        }
        let (rest, first_line) = rows.rest();
        let below = || FirstRows::of(Rows::new(rest, layout.delimiter, first_line));
        let mut proofs = Vec::new();
        let dates = sample::date_forms(rules, &name, &columns, below(), place, &mut proofs);
        let of_dates = columns.clone();
        let below = || below().until_the_as_of_date(&of_dates, &dates);
        // Of an arranged sheet it was asked before.
        let is_asked = places.is_none() && dates.is_proved();
        if let Some(question) = is_asked.then(|| sample::exchanged_days(&name, &columns, below())).flatten() {
            return Err(question.into());
        }
        proofs.extend(sample::find_scales(&name, &mut columns, &rules.mapping, below(), place));
        remarks.extend(columns.assumed.iter().map(|(header, column)| {
            format!("{name}:{line}: column {header} is taken for {column}; [columns] in the policy file says otherwise")
        }));
        remarks.extend(columns.verdicts.iter().map(|place| {
            let header = shown(columns.header[*place].trim());
            format!("{name}:{line}: column {header} is looked through for tests that failed, and not read otherwise")
        }));
        remarks.extend(proofs);
        sample::find_units(&mut columns, &rules.mapping, below());
        remarks.extend(sample::blank_units(&name, &mut columns, below()));
        let marks = sample::marks(&columns, below());
        let mut decimal_comma = rules.decimal_comma(layout);
        if let Some(proof) = marks.decimal_comma().filter(|_| !decimal_comma && !rules.decimal_point)
            && !sample::has_points(&columns, below())
        {
            decimal_comma = true;
            remarks.push(format!(
                "{name}: {} shows that the comma is the decimal mark here; --decimal-point says otherwise",
                shown(proof)
            ));
        }
        // An arranged sheet was asked for its units before.
        let without_unit = if places.is_some() { None } else { sample::without_unit(&columns, below(), decimal_comma) };
        if let Some((at, column)) = without_unit {
            let title = said_above(&start.text, layout.delimiter, above, place)
                .or_else(|| said_by_name(sheet.as_deref().or_else(|| stem(&file)), &columns));
            if let Some(said) = title {
                return Err(said.refusal(&name, &columns.header[at], column).into());
            }
        }
        let has_bare = sample::has_bare(&columns, below(), decimal_comma);
        let mut batch = vec![Piece { text: rest.to_vec(), line: first_line }];
        drop(start);
        let piece_rules = PieceRules {
            tests: TestRules { decimal_comma, workbook: days, ..rules.tests.clone() },
            columns: &columns,
            dates: &dates,
            marks: &marks,
            mark_is_said: rules.tests.decimal_comma || rules.decimal_point,
            delimiter: layout.delimiter,
            input: u32::try_from(self.inputs.len()).unwrap_or(u32::MAX),
            place,
        };
        let at_once = 2 * rayon::current_num_threads();
        let mut counts = Counts::default();
        let mut parsed: Vec<Result<Parsed, TableFull>> = Vec::new();
        while !batch.is_empty() || !parsed.is_empty() {
            // While a batch is parsed, the one before is taken in and the next is read.
            let before = std::mem::take(&mut parsed);
            let (now, (taken, next)) = rayon::join(
                || batch.par_iter().map(|piece| parse(piece, &piece_rules)).collect::<Vec<_>>(),
                || (self.take_in(before, must_be_utf_8, &mut counts), pieces.next_pieces(at_once)),
            );
            taken?;
            (parsed, batch) = (now, next.map_err(unreadable)?);
        }
        if counts.rows == 0 && counts.not_done == 0 {
            return Err(Failure::usage(format!("{name}: there is a header but no row below it"))
                .hint("one row per test follows the header")
                .into());
        }
        if let (Some((at, column)), Some((line, text, unit))) = (without_unit, counts.said) {
            let said = SaidBeside { line: Some(line), text, unit };
            return Err(said.refusal(&name, &columns.header[at], column).into());
        }
        if let Some((line, text, unit)) = counts.said_below.filter(|_| has_bare) {
            let message = format!(
                "{name}:{line}: “{}” names {} for readings, and the rows below are read in the unit of the header",
                shown(&text),
                symbol(unit)
            );
            return Err(Failure::usage(message)
                .hint(
                    "give each row its unit in a column Unit, or put the rows below this line into a file of their own with their unit in \
                     the header; take the text out if it speaks of something else",
                )
                .into());
        }
        match counts.not_done {
            0 => {}
            1 => remarks.push(format!("{name}: 1 row has no reading and is left out as not done")),
            count => remarks.push(format!("{name}: {count} rows have no reading and are left out as not done")),
        }
        remarks.extend(remarks::of_fahrenheit(&name, counts.like_fahrenheit));
        let at = |origin: Origin| {
            let cell = usize::try_from(origin.line)
                .ok()
                .and_then(|line| places.as_ref()?.get(line.checked_sub(FIRST_ARRANGED)?));
            cell.map_or_else(|| format!("{name}:{}", origin.line), |cell| format!("{name}:{}", cell.name()))
        };
        if let Some(failure) = rewrite::blank_and_other_units(&counts.liberties, at) {
            return Err(failure.into());
        }
        remarks.extend(rewrite::sentences(&counts.liberties, &columns, at));
        self.inputs.push(InputLedger {
            file,
            sheet,
            sha256: String::new(),
            rows: counts.rows,
            accepted: counts.rows - counts.repeated - counts.rejected,
            repeated: counts.repeated,
            rejected: counts.rejected,
            not_done: counts.not_done,
            columns,
            header: raw,
            layout,
            remarks,
            places,
        });
        Ok(())
    }

    /// Takes in what pieces hold, in their order.
    fn take_in(
        &mut self,
        parsed: Vec<Result<Parsed, TableFull>>,
        must_be_utf_8: bool,
        counts: &mut Counts,
    ) -> Result<(), Halted> {
        for parsed in parsed {
            let mut parsed = parsed.map_err(too_many)?;
            if must_be_utf_8 && !parsed.utf_8 {
                return Err(Halted::NotPlain);
            }
            counts.rows += parsed.rows;
            counts.not_done += parsed.not_done;
            counts.rejected += parsed.rejections.len() as u64;
            rewrite::join(&mut counts.liberties, parsed.liberties);
            counts.said = counts.said.take().or(parsed.said);
            counts.said_below = counts.said_below.take().or(parsed.said_below);
            self.rejections.append(&parsed.rejections);
            counts.like_fahrenheit.0 += parsed.like_fahrenheit.0;
            counts.like_fahrenheit.1 += parsed.like_fahrenheit.1;
            let (names, found) = (&self.rules.names, &mut self.other_names);
            if !names.is_empty() {
                let mut rename = |written: &str| {
                    let winding = names.winding(written)?;
                    found.insert(written.to_owned());
                    Some(winding.to_owned())
                };
                parsed.tests.rename(&mut rename);
                parsed.timed.iter_mut().for_each(|row| row.rename(&mut rename));
            }
            // As many rows as one table can hold are counted in this many bits.
            let before = u32::try_from(self.table.len()).unwrap_or(u32::MAX);
            let shifted = parsed.rejected_tests.into_iter().map(|(at, why)| (before.saturating_add(at), why));
            self.rejected_tests.extend(shifted);
            self.table.append(parsed.tests).map_err(too_many)?;
            for row in parsed.timed {
                // Whether it contradicts another is settled when all files are read.
                counts.repeated += u64::from(self.timed.add(row));
            }
        }
        Ok(())
    }

    /// Settles repeats and contradictions, and gives everything back.
    #[must_use]
    pub fn finish(mut self) -> Ingested {
        let mut rejected: Vec<(Origin, Cause)> = Vec::new();
        let mut rows_of: BTreeMap<Origin, Vec<Origin>> = BTreeMap::new();
        for group in std::mem::take(&mut self.timed).into_groups() {
            match group.contradiction(|origin| place(&self.inputs, origin)) {
                Some(faults) => {
                    rejected.extend(faults.into_iter().map(|(origin, fault)| (origin, Cause::Fault(fault))));
                }
                // More tests than one table can hold were refused when their rows were read.
                None if self.table.push(&group.test).is_err() => {}
                None => {
                    rows_of.insert(group.test.origin(), group.rows);
                }
            }
        }
        self.table.shrink();
        let mut series = self.table.into_series();
        let mut gone = keep_out_rejected(&mut series, std::mem::take(&mut self.rejected_tests));
        // A row without a date or a reading that no other row of its winding goes with may be a footer.
        gone.extend(series.kept_out_alone(self.rules.as_of));
        let mut contradicted = Vec::new();
        for rows in series.at_the_same_time() {
            let settled = repeats::settle(&rows, |row| series.test(row));
            for row in settled.repeats {
                let origin = series.test(row).origin();
                for origin in rows_of.remove(&origin).unwrap_or_else(|| vec![origin]) {
                    let ledger = &mut self.inputs[origin.input as usize];
                    ledger.accepted -= 1;
                    ledger.repeated += 1;
                }
                gone.push(row);
            }
            for (row, other) in settled.contradictions {
                let here = series.test(row).origin();
                let rows = rows_of.remove(&here).unwrap_or_else(|| vec![here]);
                rejected.extend(rows.into_iter().map(|origin| (origin, Cause::Contradicts { row, other })));
                contradicted.push(row);
            }
        }
        series.keep_out(contradicted, KeptOut::Contradicted);
        series.remove(&gone);
        if !rejected.is_empty() {
            for (origin, _) in &rejected {
                let ledger = &mut self.inputs[origin.input as usize];
                ledger.accepted -= 1;
                ledger.rejected += 1;
            }
            let found = look_up(&self.bodies, &self.inputs, &series, rejected);
            self.rejections = if self.rejections.is_empty() { found } else { self.rejections.merged(&found) };
        }
        remarks::of_scale_ends(&mut self.inputs, &series);
        remarks::of_work_in_notes(&mut self.inputs, &series);
        let (names, other_names) = (self.rules.names.clone(), self.other_names);
        Ingested { series, inputs: self.inputs, rejections: self.rejections, names, other_names }
    }
}

/// Keeps what can be read of rejected rows, and gives the rows of the table that say again what an earlier one of them says: as
/// evidence they count once, whatever their order and their files.
fn keep_out_rejected(series: &mut SeriesTable, rejected: Vec<(u32, KeptOut)>) -> Vec<usize> {
    let mut seen = HashSet::new();
    let mut repeats = Vec::new();
    for (row, why) in rejected {
        let row = row as usize;
        if !seen.insert((series.test(row).content_digest(), why)) {
            repeats.push(row);
        }
        series.keep_out([row], why);
    }
    repeats
}

/// Why a row is rejected that could be read.
enum Cause {
    /// Another row of the table says something else about the same test.
    Contradicts { row: usize, other: usize },
    /// The rows of its test contradict each other.
    Fault(Arc<Fault>),
}

/// Rows that were rejected after all rows had been read, as they are in their files.
fn look_up(
    bodies: &[Body<'_>],
    inputs: &[InputLedger],
    series: &SeriesTable,
    mut rejected: Vec<(Origin, Cause)>,
) -> Rejections {
    rejected.sort_by_key(|(origin, _)| *origin);
    let wanted = rejected.iter().map(|(origin, _)| origin.input).collect();
    let mut rejected = rejected.into_iter().peekable();
    let mut found = Rejections::default();
    let mut reject = |origin: Origin, raw: &[u8], cause: Cause| {
        let fault = match cause {
            Cause::Fault(fault) => fault,
            Cause::Contradicts { row, other } => {
                let (here, there) = (series.test(row), series.test(other));
                Arc::new(repeats::contradiction(&here, &there, &place(inputs, there.origin())))
            }
        };
        found.push(origin, raw, [RowFault::from(&*fault)]);
    };
    for_each_row(bodies, &wanted, &mut |origin, raw| {
        while let Some((wanted, cause)) = rejected.next_if(|(wanted, _)| *wanted <= origin) {
            reject(wanted, if wanted == origin { raw } else { &[] }, cause);
        }
    });
    // What is no longer in its file is listed without its text.
    rejected.for_each(|(origin, cause)| reject(origin, &[], cause));
    found
}

#[derive(Default)]
struct Counts {
    rows: u64,
    not_done: u64,
    repeated: u64,
    rejected: u64,
    /// Tests whose winding temperature looks like one in °F, of those that have it and the air's.
    like_fahrenheit: (u64, u64),
    liberties: Liberties,
    /// A text beside the tests that names a unit other than MΩ.
    said: Option<(u64, String, Option<ResistanceUnit>)>,
    /// The same of a row that is no test and names another unit than the readings have.
    said_below: Option<(u64, String, Option<ResistanceUnit>)>,
}

/// An input that cannot be read as a history.
struct Unread {
    failure: Failure,
    /// Whether it holds nothing that could be a test, as a sheet of explanations does.
    without_tests: bool,
}

fn too_many(full: TableFull) -> Failure {
    Failure::usage(full.to_string()).hint("judge the sites one after the other, each from files of its own")
}

/// The name of a file without its folders and ending.
fn stem(file: &str) -> Option<&str> {
    std::path::Path::new(file).file_stem()?.to_str()
}

/// The pieces in which the header must stand, as one.
fn first_rows<R: Read>(pieces: &mut Pieces<R>, delimiter: u8) -> std::io::Result<Piece> {
    let mut start = Piece { text: Vec::new(), line: 1 };
    // The header is as long as a row may be; what is looked at below it follows.
    let enough = |text: &[u8]| {
        let mut rows = Rows::new(text, delimiter, 1);
        text.len() > SAMPLE && (0..HEADER_WITHIN).all(|_| rows.next_row().is_some()) && rows.rest().0.len() > SAMPLE
    };
    while !enough(&start.text) {
        match pieces.next_piece()? {
            Some(piece) => start.text.extend_from_slice(&piece.text),
            None => break,
        }
    }
    Ok(start)
}

/// The question about two sheets whose titles may name one motor.
fn one_title(one: &str, other: &str, motor: &str) -> Failure {
    let motor = shown(motor);
    let message =
        format!("{other}: the motor is taken from its title, {motor}, and so it is on {one}: one motor or several?");
    Failure::usage(message).hint("write Motor: and its name above the table of each sheet")
}
