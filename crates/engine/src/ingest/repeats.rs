//! Rows that describe the same test twice: same winding, connection, scope and moment.
//!
//! Where they say the same, one is kept and the rest are counted. Where they differ, nobody can know which is right: all are
//! kept out, each with the place of the other.

use groundwall::record::TestRecord;
use groundwall::record::validate::Fault;

/// Rows that differ about one test are compared with so many others. Beyond that a row counts as differing: it is kept out
/// either way, and a file in which every row claims the same test must not cost the square of its length.
const DIFFERING_COMPARED: usize = 16;

/// What became of the rows that tell of one and the same test.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Settled {
    /// Rows that say again what an earlier one says.
    pub repeats: Vec<usize>,
    /// Rows that differ, each with one that it contradicts.
    pub contradictions: Vec<(usize, usize)>,
}

/// Settles the rows of one test, given in the order of their places; `test` reads one.
pub fn settle(rows: &[usize], test: impl Fn(usize) -> TestRecord) -> Settled {
    let mut settled = Settled::default();
    let Some((first, later)) = rows.split_first() else { return settled };
    let mut seen = vec![test(*first)];
    let mut differing: Vec<usize> = Vec::new();
    for row in later {
        let candidate = test(*row);
        if seen.iter().any(|other| other.same_content(&candidate)) {
            settled.repeats.push(*row);
            continue;
        }
        differing.push(*row);
        if seen.len() <= DIFFERING_COMPARED {
            seen.push(candidate);
        }
    }
    if let Some(other) = differing.first() {
        settled.contradictions.push((*first, *other));
    }
    settled.contradictions.extend(differing.into_iter().map(|row| (row, *first)));
    settled
}

/// The fault of a test that another row contradicts.
#[must_use]
pub fn contradiction(here: &TestRecord, there: &TestRecord, place_there: &str) -> Fault {
    Fault {
        column: "tested_on".to_owned(),
        value: here.tested_on().to_string(),
        rule: format!(
            "{place_there} says something else about the same test of {}, {} ({}), so neither is used",
            crate::error::shown(&here.winding()),
            here.connection(),
            difference(here, there)
        ),
        hint: "keep the right row and delete the other; if there were two tests, write the time of day too".to_owned(),
    }
}

/// The first thing in which two rows of one test differ.
#[must_use]
pub fn difference(here: &TestRecord, there: &TestRecord) -> String {
    let pair = |name: &str, a: Option<String>, b: Option<String>| {
        let word = |text: Option<String>| text.map_or_else(|| "missing".to_owned(), |t| crate::error::shown(&t));
        (a != b).then(|| format!("{name} is {} here and {} there", word(a), word(b)))
    };
    if let Some(text) = pair("tested_on", Some(here.tested_on().to_string()), Some(there.tested_on().to_string())) {
        return text;
    }
    for reading in here.readings().iter().chain(there.readings()) {
        let value = |test: &TestRecord| test.reading_at(reading.elapsed).map(|value| value.to_string());
        let name = format!("r_{}s", reading.elapsed.as_seconds());
        if let Some(text) = pair(&name, value(here), value(there)) {
            return text;
        }
    }
    let text = |value: Option<&str>| value.map(str::to_owned);
    pair("winding temperature", here.winding_temp().map(|t| t.to_string()), there.winding_temp().map(|t| t.to_string()))
        .or_else(|| {
            pair("test_volts", here.test_volts().map(|v| v.to_string()), there.test_volts().map(|v| v.to_string()))
        })
        .or_else(|| {
            pair("event", here.event().map(|e| e.word().to_owned()), there.event().map(|e| e.word().to_owned()))
        })
        .or_else(|| pair("instrument", text(here.instrument()), text(there.instrument())))
        .or_else(|| pair("note", text(here.note()), text(there.note())))
        .unwrap_or_else(|| "the other columns differ".to_owned())
}
