//! The register: what is known of each winding.
//!
//! A wrong nameplate gives a wrong minimum, and a minimum that is wrong without anybody noticing is worse than none. A cell
//! that cannot be read and decides something makes its winding judged as if it were not known, with a finding that forbids a
//! mild answer. A row that names no winding may be about any winding that is not in the register: each of those is judged with the same
//! finding. One winding with different data stops the run: it is unknown which of them is right.
//! Empty cells are fine: what is not known is treated as not known.

mod cells;
mod nameplates;

use super::cells::{self as cell_table, CellTable};
use super::columnar;
use super::columns::{Columns, delimiter_hint, missing_columns};
use super::delimited::DELIMITERS;
use super::document::{Document, Header, find_header};
use super::joined::{JoinedNames, OtherName};
use super::mapping::Mapping;
use super::names::{bare, folded};
use super::opening::Opening;
use super::register_columns::COLUMNS;
use super::register_heading::Headings;
use super::rows::{Rows, cut, line_ends};
use crate::digest::sha256;
use crate::error::{Failure, Problem, shown};
use crate::similar::closest;
use cells::Digits;
use groundwall::nameplate::Nameplate;
use groundwall::record::columns::Column;
use nameplates::{NameplateRow, RowRules};
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::OnceLock;

/// All windings that are known, by identifier.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Register {
    /// The path as given.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Headers that are not ours; their cells are not read.
    pub left_alone: Vec<String>,
    /// Of those, the ones that are like a name of ours, with that name.
    pub near: Vec<(String, &'static str)>,
    /// What headers were taken for that may mean something else, in words.
    pub assumed: Vec<String>,
    /// Whether a column of rated voltages was found.
    pub has_rated_volts: bool,
    /// Cells that cannot be read and count as not known, in order.
    pub unread: Vec<Problem>,
    /// Lines of rows that name no winding for certain, in order, and why.
    pub unnamed: Vec<(u64, Problem)>,
    /// Cells that cannot be read and that no rule reads.
    pub ignored: Vec<Problem>,
    /// Rows that say the same of a winding as an earlier one.
    pub repeated: u64,
    /// Other names of its windings.
    pub other_names: Vec<OtherName>,
    nameplates: BTreeMap<String, Nameplate>,
    /// The windings by their letters and digits alone, made when first asked for.
    bare: OnceLock<HashMap<String, String>>,
}

/// Rows are judged in pieces of at least so many bytes, on all cores.
const PIECE: usize = 1 << 18;

impl Register {
    /// The nameplates, by winding.
    #[must_use]
    pub const fn nameplates(&self) -> &BTreeMap<String, Nameplate> {
        &self.nameplates
    }

    /// Reads the bytes of a register. `mapping` is what the site says its headers stand for.
    ///
    /// # Errors
    ///
    /// A [`Failure`] that lists everything that is wrong with it.
    pub fn parse(
        given: &str,
        bytes: &[u8],
        delimiter: Option<u8>,
        decimal_comma: bool,
        mapping: &Mapping,
    ) -> Result<Self, Failure> {
        let opening = Opening { delimiter, decimal_comma, ..Opening::default() };
        let resolve = |cells: &[String]| Headings::resolve(cells, mapping);
        let fits = |cells: &[String]| resolve(cells).are_a_header();
        let known = |name: &str| resolve(&[name.to_owned()]).count() > 0;
        let document = Document::open_one(given, bytes.to_vec(), &opening, &known, &fits)?;
        let typed = document.sheet.is_some() || columnar::is_columnar(bytes);
        let numbers = Digits { decimal_comma, certain: typed };
        Self::read(given, &document, sha256(bytes), delimiter, numbers, mapping)
    }

    /// Reads a register from a table of cells that another program holds. In messages its header is line 1 and its first row
    /// line 2.
    ///
    /// # Errors
    ///
    /// As [`Register::parse`], or when a column is of a type that holds no cells.
    pub fn of_cells(
        name: &str,
        table: &dyn CellTable,
        decimal_comma: bool,
        mapping: &Mapping,
    ) -> Result<Self, Failure> {
        cell_table::must_be_usable(name, table)?;
        let document = cell_table::document(name, table, decimal_comma)?;
        Self::read(name, &document, sha256(&document.text), None, Digits { decimal_comma, certain: true }, mapping)
    }

    fn read(
        given: &str,
        document: &Document,
        sha256: String,
        delimiter: Option<u8>,
        digits: Digits,
        mapping: &Mapping,
    ) -> Result<Self, Failure> {
        let resolve = |cells: &[String]| Headings::resolve(cells, mapping);
        let fits = |cells: &[String]| resolve(cells).are_a_header();
        let weight = |cells: &[String]| resolve(cells).count();
        let decimal_comma = digits.decimal_comma || document.layout.delimiter == b';';
        let digits = Digits { decimal_comma, ..digits };
        let mut rows = document.rows();
        let place = document.name(given);
        let Header { line, mut cells, .. } =
            find_header(&place, &|line| document.line(line), &mut rows, &fits, &weight)?;
        let width = cells.iter().rposition(|name| !name.trim().is_empty()).map_or(0, |last| last + 1);
        cells.truncate(width);
        let header = cells;
        let file = place.as_str();
        let headings = resolve(&header);
        headings.must_be_single(file, line)?;
        if !headings.has("winding") {
            let failure = missing_columns(file, line, &["winding"], &header, &headings.left_alone);
            let is_header = |mark: &u8| {
                let mut rows = Rows::new(document.bare(), *mark, 1);
                find_header("", &|line| line, &mut rows, &fits, &weight).is_ok_and(|header| fits(&header.cells))
            };
            let mut others = DELIMITERS.into_iter().filter(|mark| *mark != document.layout.delimiter);
            return Err(match others.find(is_header) {
                Some(mark) if delimiter.is_some() => failure.hint(delimiter_hint(char::from(mark))),
                _ => failure.hint(format!(
                    "name the column that holds the windings; the columns of a register are {}",
                    COLUMNS.join(", ")
                )),
            });
        }
        let dated = Columns::resolve(header.clone(), mapping).as_written_if_known(Column::TestedOn);
        let (mut rest, mut first) = rows.rest();
        let mut pieces = Vec::new();
        while let Some(at) = cut(rest, document.layout.delimiter, PIECE, true).filter(|at| *at > 0) {
            pieces.push((&rest[..at], first));
            first += line_ends(&rest[..at]);
            rest = &rest[at..];
        }
        let certain = digits.certain || {
            let below = || Rows::new(rows.rest().0, document.layout.delimiter, 1);
            let (mark, other) = if decimal_comma { (',', '.') } else { ('.', ',') };
            headings.show_decimals(below(), mark) && !headings.show_decimals(below(), other)
        };
        let digits = Digits { certain, ..digits };
        let judge = RowRules { file, header: &header, headings: &headings, digits };
        let line_of = |line| document.line(line);
        let read: Vec<Vec<NameplateRow>> = pieces
            .into_par_iter()
            .map(|(text, first)| judge.rows(Rows::new(text, document.layout.delimiter, first), &line_of))
            .collect();
        let mut nameplates: Vec<(String, Nameplate)> = Vec::new();
        let (mut problems, mut unread, mut ignored, mut repeated) = (Vec::new(), Vec::new(), Vec::new(), 0);
        let (mut other_names, mut unnamed) = (Vec::new(), Vec::new());
        // Line, rows and position of each winding.
        let mut places: HashMap<String, (u64, usize, usize)> = HashMap::new();
        for row in read.into_iter().flatten() {
            let NameplateRow {
                line,
                winding,
                nameplate,
                other_names: names,
                problems: of_row,
                unnamed: why,
                unread: cells,
            } = row;
            problems.extend(of_row);
            if winding.is_empty() {
                unnamed.extend(why.map(|why| (line, why)));
                continue;
            }
            let other_name = |written| OtherName { written, winding: winding.clone(), file: file.to_owned(), line };
            other_names.extend(names.into_iter().map(other_name));
            if let Some((first, rows, place)) = places.get_mut(&winding) {
                *rows += 1;
                if nameplates[*place].1 == nameplate {
                    repeated += 1;
                    continue;
                }
                let message = format!(
                    "{file}:{line}: winding is {}, as on line {first}, with other data; a winding has one row in the register",
                    shown(&winding)
                );
                problems.push(Problem { message, hint: Some("delete the row that is wrong".to_owned()) });
            } else {
                for (problem, deciding) in cells {
                    if deciding { &mut unread } else { &mut ignored }.push(problem);
                }
                places.insert(winding.clone(), (line, 1, nameplates.len()));
                nameplates.push((winding, nameplate));
            }
        }
        problems
            .extend(alike(file, &nameplates, &other_names, |winding| places.get(winding).map_or(0, |place| place.0)));
        let several = places.values().filter(|(_, rows, _)| *rows > 1).count();
        if let Some(day) = dated.filter(|_| 2 * several > places.len()) {
            return Err(Failure::usage(format!(
                "{file}:{line}: {several} of {} windings are listed here several times and {day} is a column of days; this looks \
                 like a history, not a register",
                places.len()
            ))
            .hint("give it as a history, without --register; a register has one row per winding, with what is on its nameplate"));
        }
        if nameplates.is_empty() {
            problems.extend(unnamed.drain(..).map(|(_, why)| why));
        }
        if nameplates.is_empty() && problems.is_empty() {
            return Err(Failure::usage(format!("{file}: there is a header but no row below it"))
                .hint("one row per winding follows the header"));
        }
        // Made in one go, the tree has no half-filled nodes: with a quarter of a million windings that is a third of its room.
        let nameplates = nameplates.into_iter().collect();
        let assumed = headings.assumed(&header).into_iter().map(|(written, column)| {
            format!(
                "{file}:{line}: column {written} is taken for {column}; [columns] in the policy file says otherwise"
            )
        });
        let register = Self {
            assumed: assumed.collect(),
            file: given.to_owned(),
            sha256,
            has_rated_volts: headings.has("rated_volts"),
            left_alone: headings.left_alone,
            near: headings.near,
            unread,
            unnamed,
            ignored,
            repeated,
            other_names,
            nameplates,
            bare: OnceLock::new(),
        };
        Failure::of_problems(problems).map_or(Ok(register), Err)
    }

    /// Makes rows of one winding under several of its names one row, under the name for which the others stand.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with every name whose row says something else than that of its winding, and every name that stands for a winding
    /// that is not here.
    pub fn join(&mut self, names: &JoinedNames) -> Result<(), Failure> {
        let mut problems = Vec::new();
        let mut problem = |name: &OtherName, what: String, hint: String| {
            let OtherName { written, winding, file, line } = name;
            let message = format!("{file}:{line}: {} is another name of {}; {what}", shown(written), shown(winding));
            problems.push(Problem { message, hint: Some(hint) });
        };
        for name in names.all() {
            let own = self.nameplates.remove(&name.written);
            match (own, self.nameplates.get_mut(&name.winding)) {
                (None, Some(_)) => {}
                (None, None) => {
                    let near = closest(&name.winding, self.nameplates.keys().map(String::as_str), 0.6);
                    let near =
                        near.first().map_or_else(String::new, |near| format!("; the closest there is {}", shown(near)));
                    let what = format!("the register {} has no such winding", self.file);
                    problem(name, what, format!("enter it there, or write its name as it is there{near}"));
                }
                (Some(own), None) => {
                    self.nameplates.insert(name.winding.clone(), own);
                }
                (Some(own), Some(kept)) if *kept == own || own == Nameplate::default() => {}
                (Some(own), Some(kept)) if *kept == Nameplate::default() => *kept = own,
                (Some(_), Some(_)) => {
                    let what = format!("the register {} has both, with different data", self.file);
                    problem(name, what, "leave one of the two rows out, or write the same into both".to_owned());
                }
            }
        }
        self.bare = OnceLock::new();
        Failure::of_problems(problems).map_or(Ok(()), Err)
    }

    /// The nameplates by which these windings are judged. Where rows name no winding for certain, each that is not in the register has one of
    /// which nothing can be read: such a row may be its own.
    #[must_use]
    pub fn for_windings<'t>(&self, tested: impl Iterator<Item = &'t str>) -> Cow<'_, BTreeMap<String, Nameplate>> {
        let mut nameplates = Cow::Borrowed(&self.nameplates);
        let Some((line, _)) = self.unnamed.first() else { return nameplates };
        for winding in tested.filter(|winding| !self.nameplates.contains_key(*winding)) {
            let unread = vec![format!("on line {line}, in a row that names no winding for certain, what may be")];
            let unnamed = Nameplate { unread, ..Nameplate::default() };
            nameplates.to_mut().insert(winding.to_owned(), unnamed);
        }
        nameplates
    }

    /// What is known of a winding.
    #[must_use]
    pub fn nameplate(&self, winding: &str) -> Option<&Nameplate> {
        self.nameplates.get(winding)
    }

    /// How many windings are known.
    #[must_use]
    pub fn len(&self) -> usize {
        self.nameplates.len()
    }

    /// Whether none is.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.nameplates.is_empty()
    }

    /// The name under which a winding seems to be here: the same letters and digits, in capitals or spaced otherwise.
    #[must_use]
    pub fn written_otherwise(&self, winding: &str) -> Option<&str> {
        let names = self.bare.get_or_init(|| {
            // The first of several names in order of the alphabet is the one to give.
            self.nameplates.keys().rev().map(|name| (bare(name), name.clone())).collect()
        });
        names.get(&bare(winding)).map(String::as_str)
    }

    /// Windings that were tested and are not in the register, each once, in alphabetical order.
    #[must_use]
    pub fn unregistered<'t>(&self, tested: impl Iterator<Item = &'t str>) -> BTreeSet<&'t str> {
        tested.filter(|winding| !self.nameplates.contains_key(*winding)).collect()
    }
}

/// Windings whose names differ only by case, blanks or Unicode form, with different data: it is unclear which of them a history means.
/// One may be said to be another name of the other.
fn alike(
    file: &str,
    nameplates: &[(String, Nameplate)],
    other_names: &[OtherName],
    line_of: impl Fn(&str) -> u64,
) -> Vec<Problem> {
    let is_said = |one: &str, other: &str| {
        other_names.iter().any(|name| {
            (name.written == one && name.winding == other) || (name.written == other && name.winding == one)
        })
    };
    let mut first: HashMap<String, usize> = HashMap::new();
    let mut problems = Vec::new();
    for (at, (winding, nameplate)) in nameplates.iter().enumerate() {
        let (other, data) = &nameplates[*first.entry(folded(winding)).or_insert(at)];
        if data == nameplate || is_said(winding, other) {
            continue;
        }
        let message = format!(
            "{file}:{}: winding is {}, and {} on line {}, with other data; the names differ only by case, blanks or Unicode form",
            line_of(winding),
            shown(winding),
            shown(other),
            line_of(other)
        );
        let hint = "delete the row that is wrong, or give two windings names that differ by more".to_owned();
        problems.push(Problem { message, hint: Some(hint) });
    }
    problems
}

#[cfg(test)]
mod tests;
