//! Cells and notes of the latest test that may say more than was understood.

use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::{CorrectedTest, LeftOut};
use crate::assess::view::{View, quoted};
use crate::record::columns::Column;
use crate::record::trouble::{
    lowest_resistance, names_water, says_failed, says_wet, tells_of_a_failed_winding, tells_of_trouble, tells_of_water,
};
use crate::record::typed::{tells_of_a_failure, tells_of_rewind};
use crate::record::{Event, Item, TestRecord, UnreadCell};
use crate::units::Resistance;
use chrono::Datelike;

pub(in crate::assess) const SOURCE: &str =
    "a cell that cannot be read is unknown, and nothing unknown makes an answer less urgent; common practice";

/// The latest test that counts, with the steps of its day at other voltages and those of its day without a time, and the rows after it up to
/// the as-of date, such as one of work done since; without one, all rows.
fn latest_rows<'v>(view: &'v View<'_>) -> impl DoubleEndedIterator<Item = &'v TestRecord> {
    let case = view.case;
    let mut from = case.latest().unwrap_or(0);
    let is_beside = |test: &CorrectedTest, next: &CorrectedTest| {
        let untimed = test.tested_on.time.is_none() && test.tested_on.date == next.tested_on.date;
        test.left_out == Some(LeftOut::OtherStep) || untimed
    };
    while from > 0 && is_beside(&case.tests[from - 1], &case.tests[from]) {
        from -= 1;
    }
    rows(view).filter(move |(at, _)| *at >= from).map(|(_, record)| record)
}

/// All rows up to the as-of date with their numbers.
fn rows<'v>(view: &'v View<'_>) -> impl DoubleEndedIterator<Item = (usize, &'v TestRecord)> {
    let rows = view.case.series.tests.iter().enumerate();
    rows.filter(|(_, record)| record.tested_on.date <= view.terms.as_of)
}

/// A cell of the latest test that could not be read may have forbidden to rely on it; an event that could not be read may have been a
/// rewind, which owes another minimum for good.
pub(super) fn cell_unread(view: &View<'_>) -> Option<Finding> {
    let latest = latest_rows(view).rev().flat_map(|record| {
        let cells = record.procedure().unread.iter().filter(|cell| matters(cell, record));
        cells.map(move |cell| (record, cell))
    });
    let before = rows(view).rev().flat_map(|(_, record)| {
        let cells = record.procedure().unread.iter().filter(|cell| cell.may_be_a_new_winding());
        cells.map(move |cell| (record, cell))
    });
    let mut found: Vec<(&TestRecord, &UnreadCell)> = Vec::new();
    for (record, cell) in latest.chain(before) {
        if !found.iter().any(|(other, same)| other.tested_on == record.tested_on && *same == cell) {
            found.push((record, cell));
        }
    }
    let ((record, cell), others) = found.split_first()?;
    let others = others
        .iter()
        .map(|(record, cell)| format!("{} {} of {}", cell.column, quoted(&cell.text), record.tested_on.date));
    let others = others.collect::<Vec<_>>().join(", ");
    let more = if others.is_empty() { others } else { format!(" Also not recognised: {others}.") };
    let message = format!(
        "Under {} the row of {} says {}, {}.{more}",
        cell.column,
        record.tested_on.date,
        quoted(&cell.text),
        what_to_write(cell, record)
    );
    let cells = found.iter().map(|(_, cell)| format!("{} {}", cell.column, cell.text)).collect::<Vec<_>>().join(", ");
    Some(Finding::new(Code::CellUnread, message, SOURCE).with("cells", cells).asking_before_use(Asks::Repeat))
}

/// Whether a cell, read, could have made the answer more urgent.
fn matters(cell: &UnreadCell, record: &TestRecord) -> bool {
    match cell.column {
        // Too short a discharge, and where the machine was, ask for nothing.
        Column::Procedure(Item::Discharged) => false,
        Column::Procedure(Item::EquipmentState) => {
            says_wet(&cell.text) || says_failed(&cell.text) || tells_of_a_failure(&cell.text)
        }
        Column::Event => {
            let is_trouble = || tells_of_trouble(&cell.text) || says_failed(&cell.text);
            cell.may_be_an_event() || says_wet(&cell.text) || names_water(&cell.text) || is_trouble()
        }
        // The checks of a row that counts for nothing do not matter.
        _ => record.kept_out.is_none(),
    }
}

fn what_to_write(cell: &UnreadCell, record: &TestRecord) -> String {
    let choices = match (cell.column, record.event) {
        (Column::Event, Some(event)) => {
            let word = event.word();
            return format!(
                "which leaves it in doubt: write {word} there if that was done, and empty the cell if it was not"
            );
        }
        (Column::Event, None) => {
            return "which is not understood: write rewound, replaced or flooded there if that is what happened to the winding, and \
                    anything else into the note"
                .to_owned();
        }
        (Column::Procedure(Item::SourceCheck), _) => "ok, failed or the volts that the second meter showed".to_owned(),
        (Column::Procedure(Item::CalibrationDue), _) => "a day such as 2027-03-31".to_owned(),
        (Column::Procedure(Item::DielectricDischarge | Item::Standing), _) => "the number alone".to_owned(),
        (Column::Procedure(item), _) => item.choices().join(" or "),
        _ => "ok or failed".to_owned(),
    };
    format!(
        "which is not understood: write {choices} from the test sheet, or repeat the test before the winding is energised"
    )
}

/// A connection that is misspelt makes a series of its own, whose tests are held against none of the others.
pub(super) fn connection_misspelt(view: &View<'_>) -> Option<Finding> {
    let connection = &view.case.series.key.connection;
    if !connection.may_be_misspelt() {
        return None;
    }
    let message = format!(
        "The connection {} was not recognised, so these tests form a separate series and are not compared with any other: \
         write all-earth, U-earth or what was tested, and judge it again before the winding is energised.",
        quoted(&connection.to_string())
    );
    Some(Finding::new(Code::CellUnread, message, SOURCE).asking_before_use(Asks::Repeat))
}

/// A note of water on the latest test is no event, and is not passed over.
pub(super) fn note_of_water(view: &View<'_>) -> Option<Finding> {
    let told = |record: &&TestRecord| {
        let is_answered =
            matches!(record.event, Some(Event::Flooded | Event::Drying | Event::Rewound | Event::Replaced));
        !is_answered && record.note.as_deref().is_some_and(|note| tells_of_water(note, record.tested_on.date.year()))
    };
    let record = latest_rows(view).rev().find(told)?;
    let note = record.note.as_deref()?;
    let message = format!(
        "The note for {} mentions water: {}. If the winding was flooded, write flooded under event; do not start it until it is \
         known to be dry and the test is repeated.",
        record.tested_on.date,
        quoted(note)
    );
    Some(
        Finding::new(
            Code::NoteOfWater,
            message,
            "common practice: a winding that was in water is dried before it is started",
        )
        .asking_before_use(Asks::Repeat),
    )
}

/// A note of a failure, or of another and lower reading, on the latest test is not passed over.
pub(super) fn note_of_failure(view: &View<'_>) -> Option<Finding> {
    let repaired =
        |record: &TestRecord| matches!(record.event, Some(Event::Rewound | Event::Replaced | Event::Repaired));
    let failed = |record: &&TestRecord| {
        !repaired(record) && tells_of_a_failed_winding(&written_note(record), record.tested_on.date.year())
    };
    let lower = |record: &&TestRecord| {
        let read = record.readings().iter().filter_map(|reading| reading.value.resistance());
        let lowest = read.map(Resistance::as_megohms).fold(f64::INFINITY, f64::min);
        let noted = lowest_resistance(&written_note(record)).map_or(f64::INFINITY, Resistance::as_megohms);
        lowest.is_finite() && noted * LOWER_THAN_READ <= lowest
    };
    let (record, what) = latest_rows(view)
        .rev()
        .find(failed)
        .map(|record| (record, "a failure"))
        .or_else(|| Some((latest_rows(view).rev().find(lower)?, "a lower resistance")))?;
    let message = format!(
        "The note for {} mentions {what}: {}. The reading may be from before it, or another one: write what was read into a row \
         of its own, and repeat the test before the winding is energised.",
        record.tested_on.date,
        quoted(record.note.as_deref()?)
    );
    Some(
        Finding::new(
            Code::NoteOfFailure,
            message,
            "common practice: a winding that failed is tested again after its repair",
        )
        .asking_before_use(Asks::Repeat),
    )
}

/// The note as people wrote it. Cells that could not be read are kept in notes too; of these, what was written under event counts here.
fn written_note(record: &TestRecord) -> String {
    let others = || record.procedure().unread.iter().filter(|cell| cell.column != Column::Event);
    let is_of_a_cell = |part: &&str| others().any(|cell| part.ends_with(&cell.text));
    let note = record.note.as_deref().unwrap_or_default();
    note.split("; ").filter(|part| !is_of_a_cell(part)).collect::<Vec<_>>().join("; ")
}

/// A resistance in a note is another reading where it is lower by this factor.
const LOWER_THAN_READ: f64 = 2.0;

/// A note that tells of a rewind, where the winding is judged by the lower minimum of its first, old winding.
pub(super) fn note_of_rewind(view: &View<'_>) -> Option<Finding> {
    let (nameplate, policy) = (&view.case.nameplate, &view.terms.policy);
    let is_old = nameplate.year_of_winding().is_some_and(|year| year < policy.modern_from_year);
    if !is_old || nameplate.year_rewound.is_some() || nameplate.minimum.is_some() {
        return None;
    }
    let told = |(_, record): &(usize, &TestRecord)| record.note.as_deref().is_some_and(tells_of_rewind);
    let (_, record) = rows(view).rev().find(told)?;
    let message = format!(
        "The note for {} mentions a rewind: {}. A rewound winding must meet the minimum for its rewind year, and this one is judged against \
         {}, for the year it was made: write rewound under event in the row of that work, or year_rewound into the register, and do not start it on this \
         answer.",
        record.tested_on.date,
        quoted(record.note.as_deref()?),
        view.case.minimum.value_in_words()
    );
    Some(Finding::new(Code::MinimumUnknown, message, view.case.minimum.rule.clone()).asking_before_use(Asks::Repeat))
}
