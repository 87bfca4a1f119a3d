//! What is said of whole inputs once their rows are read.

use super::ingested::InputLedger;
use super::rewrite;
use crate::error::shown;
use groundwall::record::Origin;
use groundwall::table::SeriesTable;
use std::collections::BTreeMap;

/// Says of each input how many of its readings are over range with no known end of the scale.
pub(super) fn of_scale_ends(inputs: &mut [InputLedger], series: &SeriesTable) {
    let mut counts = vec![0; inputs.len()];
    for place in series.off_scale() {
        counts[place.input as usize] += 1;
    }
    for (ledger, count) in inputs.iter_mut().zip(counts) {
        let readings = match count {
            0 => continue,
            1 => "1 reading is over range and nobody wrote where the scale ends, so it counts for nothing".to_owned(),
            _ => {
                format!(
                    "{count} readings are over range and nobody wrote where the scale ends, so they count for nothing"
                )
            }
        };
        let name = ledger.name();
        let text = format!(
            "{name}: {readings}\n\
             hint: name the largest value that the tester can show: --full-scale 1000 (MΩ), or a column full_scale"
        );
        ledger.remarks.push(text);
    }
}

/// Proposes an event for each kind of work that notes of an input seem to name: none is ever set by a note.
pub(super) fn of_work_in_notes(inputs: &mut [InputLedger], series: &SeriesTable) {
    let mut found: BTreeMap<(u32, &'static str), (u64, Origin, &str)> = BTreeMap::new();
    for (origin, note) in series.notes_without_event(|note| rewrite::work_in_note(note).is_some()) {
        let Some(event) = rewrite::work_in_note(note) else { continue };
        found.entry((origin.input, event.word())).or_insert((0, origin, note)).0 += 1;
    }
    let mut found: Vec<_> = found.into_iter().collect();
    found.sort_unstable_by_key(|(_, (_, origin, _))| *origin);
    for ((input, event), (count, origin, note)) in found {
        let Some(ledger) = inputs.get_mut(input as usize) else { continue };
        let more = if count == 1 { String::new() } else { format!(" ({count} notes like this)") };
        let text = format!(
            "{}: note is {}; it seems to name work, and no event is set{more}\n\
             hint: write {event} under event if that was done before the test; the trend then starts afresh",
            ledger.place(origin.line),
            shown(note)
        );
        ledger.remarks.push(text);
    }
}

/// Tests with both temperatures without which nothing is said of the column.
const LEAST_TEMPERATURES: u64 = 3;

/// Says of a whole input that its winding temperatures look like °F under a header of °C.
pub(super) fn of_fahrenheit(name: &str, (like, all): (u64, u64)) -> Option<String> {
    (all >= LEAST_TEMPERATURES && 2 * like > all).then(|| {
        format!(
            "{name}: in {like} of {all} tests the winding is 30 °C and more above the air, as a column of °F under a header of °C would \
             have it\n\
             hint: if it is in °F, name the column winding_temp_f"
        )
    })
}
