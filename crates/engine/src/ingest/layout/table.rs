//! From the cells of a sheet to one row per test.

use super::blocks::blocks;
use super::context::Context;
use super::grid::GridRow;
use super::join::Test;
use super::{Arranged, CellPlace, SheetName};
use crate::error::shown;
use crate::ingest::ReadingRules;
use crate::ingest::dates::{DateForms, proved_order};
use groundwall::record::validate::Fault;
use std::collections::{BTreeMap, BTreeSet};

/// What separates cells in the text of a plain table until its delimiter is known.
pub(super) const SEPARATOR: u8 = 0x1f;

/// What was seen on the way, for the sentence that says how the sheet was read.
#[derive(Default)]
pub(super) struct Seen {
    pub(super) dates_across: bool,
    pub(super) phases_across: bool,
    pub(super) stages_across: bool,
    pub(super) windings_across: bool,
    pub(super) points: bool,
    pub(super) sheet_winding: bool,
    pub(super) sheet_date: bool,
    pub(super) title_winding: bool,
    pub(super) blocks: usize,
    pub(super) units: bool,
    pub(super) filled: bool,
    pub(super) periods: bool,
    pub(super) title_unit: bool,
}

impl Seen {
    /// Whether anything was seen that a plain table does not have.
    pub(super) const fn is_a_layout(&self) -> bool {
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

pub(super) struct Sheet<'a> {
    pub(super) rules: &'a ReadingRules,
    pub(super) name: SheetName<'a>,
    pub(super) forms: DateForms,
    pub(super) tests: Vec<Test>,
    pub(super) unplaced: Vec<(CellPlace, String, Fault)>,
    pub(super) ignored: Vec<String>,
    pub(super) other_points: BTreeMap<String, u64>,
    pub(super) summaries: u64,
    pub(super) not_done: u64,
    pub(super) seen: Seen,
    pub(super) remarks: Vec<String>,
}

impl Sheet<'_> {
    /// The plain table, and everything worth saying about it.
    pub(super) fn finish(mut self) -> Option<Arranged> {
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
    pub(super) fn described(&self) -> String {
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
