//! A sheet on its way into a table: its tests so far, what was seen, and what must be settled.

use super::blocks::Block;
use super::draft::Test;
use super::entry::Entry;
use super::grid::{GridRow, Limits};
use super::label::conductors::Letters;
use super::label_reader::LabelReader;
use super::sheet_name::SheetName;
use super::texts::{TextId, Texts};
use super::titles::Values;
use super::turned::Turned;
use crate::error::{Failure, shown};
use crate::ingest::ReadingRules;
use crate::ingest::cell_place::CellPlace;
use crate::ingest::date_forms::DateForms;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::ResistanceUnit;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

/// What was seen on the way, for the sentence that says how the sheet was read.
#[derive(Default)]
pub(super) struct Seen {
    pub(super) dates_across: bool,
    pub(super) phases_across: bool,
    /// The colours by whose letters rows call the phases.
    pub(super) colours: Option<Letters>,
    pub(super) stages_across: bool,
    pub(super) units_across: bool,
    pub(super) occasions_across: bool,
    pub(super) voltages_across: bool,
    pub(super) windings_across: bool,
    pub(super) tables_beside: bool,
    pub(super) points: bool,
    pub(super) sheet_winding: bool,
    pub(super) sheet_date: bool,
    pub(super) title_winding: bool,
    pub(super) blocks: usize,
    pub(super) units: bool,
    pub(super) signs: bool,
    pub(super) divided: bool,
    pub(super) filled: bool,
    pub(super) periods: bool,
    pub(super) title_unit: bool,
    pub(super) header_rows: bool,
    pub(super) names_above: bool,
    pub(super) dates_above: bool,
    pub(super) clock: bool,
    pub(super) timed: bool,
    pub(super) components: bool,
    pub(super) machines: bool,
    pub(super) described: bool,
    pub(super) dates_in_cells: bool,
}

impl Seen {
    /// Whether anything was seen that a plain table does not have.
    pub(super) const fn is_a_layout(&self) -> bool {
        self.dates_across
            || self.phases_across
            || self.colours.is_some()
            || self.stages_across
            || self.units_across
            || self.occasions_across
            || self.voltages_across
            || self.windings_across
            || self.tables_beside
            || self.points
            || self.periods
            || self.sheet_winding
            || self.sheet_date
            || self.title_winding
            || self.title_unit
            || self.header_rows
            || self.names_above
            || self.dates_above
            || self.clock
            || self.timed
            || self.components
            || self.machines
            || self.described
            || self.dates_in_cells
            || self.units
            || self.signs
            || self.divided
            || self.filled
            || self.blocks > 1
    }
}

/// What is known of the test of a rejected cell, as [`KnownTest`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    pub(super) winding: TextId,
    pub(super) date: TextId,
    pub(super) connection: TextId,
    pub(super) column: Option<Column>,
}

/// A text that names a unit other than MΩ for readings beside it.
#[derive(Clone, Debug)]
pub(super) struct Said {
    /// Its cell; none for the name of the sheet.
    pub(super) place: Option<CellPlace>,
    pub(super) text: String,
    pub(super) unit: Option<ResistanceUnit>,
}

pub(super) struct Sheet<'a> {
    pub(super) reader: &'a LabelReader<'a>,
    pub(super) name: SheetName<'a>,
    pub(super) forms: DateForms,
    /// Names, dates, work orders and connections.
    pub(super) texts: Texts,
    /// The day of each date as written.
    pub(super) days: HashMap<TextId, TextId>,
    pub(super) tests: Vec<Test<'a>>,
    pub(super) unplaced: Vec<(CellPlace, String, Fault, Option<Known>)>,
    pub(super) ignored: Vec<String>,
    pub(super) not_understood: Vec<String>,
    /// Columns that seem to hold readings and are not understood, by their places.
    pub(super) unread_readings: BTreeMap<usize, String>,
    /// The name of the sheet and the motor that its title names, where they are alike and differ.
    pub(super) two_names: Option<(String, String)>,
    pub(super) other_points: BTreeMap<String, u64>,
    /// What the values of a block are by its title, where they are no resistances as read.
    pub(super) no_resistances: Option<(Values, String)>,
    /// Temperatures of blocks without readings, and their titles.
    pub(super) deferred: Vec<(Entry<'a>, String)>,
    pub(super) summaries: u64,
    pub(super) not_done: u64,
    pub(super) seen: Seen,
    /// What it may still hold, and whether it holds more.
    pub(super) left: Limits,
    pub(super) is_too_large: bool,
    pub(super) remarks: Vec<String>,
    /// A text that names a unit for readings, and the first reading that nothing gives one.
    pub(super) said: Option<Said>,
    pub(super) bare: Option<CellPlace>,
    /// Bare numbers of a layout that is described, and what they are read as.
    pub(super) bare_described: Vec<(CellPlace, Column)>,
    /// What must be settled before the sheet can be read.
    pub(super) open_question: Option<Failure>,
    /// What its title may call the motor, where nothing says that it does.
    pub(super) title_name: Option<String>,
    /// The first rows of all blocks with the header of the one that is read, where there are several.
    pub(super) of_header: Option<Rc<[GridRow]>>,
    /// Whether it has several blocks, of which each is of a motor.
    pub(super) has_blocks: bool,
    /// How its columns became rows.
    pub(super) turned: Option<&'a Turned>,
}

impl<'a> Sheet<'a> {
    /// The rows that tell what the columns of a block hold: its own, and those of others with its header.
    pub(super) fn of_header<'r>(&'r self, block: &Block<'r>) -> &'r [GridRow] {
        self.of_header.as_deref().filter(|rows| rows.len() > block.rows.len()).unwrap_or(block.rows)
    }

    /// A sheet of which nothing is read yet.
    pub(super) fn new(rules: &'a ReadingRules, reader: &'a LabelReader<'a>, name: SheetName<'a>, left: Limits) -> Self {
        Self {
            reader,
            name,
            forms: DateForms::new(rules),
            texts: Texts::default(),
            days: HashMap::new(),
            tests: Vec::new(),
            unplaced: Vec::new(),
            ignored: Vec::new(),
            not_understood: Vec::new(),
            unread_readings: BTreeMap::new(),
            two_names: None,
            other_points: BTreeMap::new(),
            no_resistances: None,
            deferred: Vec::new(),
            summaries: 0,
            not_done: 0,
            seen: Seen::default(),
            left,
            is_too_large: false,
            remarks: Vec::new(),
            said: None,
            bare: None,
            bare_described: Vec::new(),
            open_question: None,
            title_name: None,
            of_header: None,
            has_blocks: false,
            turned: None,
        }
    }

    /// The cell of the sheet that a cell of its rows is.
    pub(super) fn cell(&self, place: CellPlace) -> CellPlace {
        self.turned.map_or(place, |turned| turned.place(place))
    }

    /// Finds the order of day and month, where it is not given and these texts prove it.
    pub(super) fn prove_dates<'t>(&mut self, texts: impl Iterator<Item = &'t str>) {
        if !self.forms.given.is_empty() {
            return;
        }
        if let Some((order, proof)) = self.forms.prove(texts) {
            self.remarks.push(format!(
                "{}: {} is a date, so the dates of this sheet are read {}; --date-format says otherwise",
                self.name.place,
                shown(&proof),
                order.words()
            ));
        }
    }

    /// Takes so many of what it may still hold; false where there are not as many.
    pub(super) fn may_hold(&mut self, of: fn(&mut Limits) -> &mut usize, count: usize) -> bool {
        let left = of(&mut self.left);
        self.is_too_large |= *left < count;
        *left = left.saturating_sub(count);
        !self.is_too_large
    }
}
