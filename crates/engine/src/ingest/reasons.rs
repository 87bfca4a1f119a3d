//! Why rows were rejected, for people: a reason that many rows of an input share is given once.

use super::ingested::Ingested;
use super::row_fault::RowFault;
use std::collections::{HashMap, HashSet};

/// More rows of an input than this that break one rule in one column are reported by the first of them.
const MAX_LISTED: u64 = 3;

/// Why a row was rejected, or many rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason<'a> {
    /// Place, thing, value found and rule.
    pub message: String,
    /// What to do.
    pub hint: &'a str,
    /// Whether it is that of many rows.
    pub is_shared: bool,
}

/// What faults of many rows share: the input, the column, the rule and what to do.
fn key<'a>(input: u32, fault: &RowFault<'a>) -> (u32, &'a str, &'a str, &'a str) {
    (input, fault.column, fault.rule, fault.hint)
}

/// The reasons of all rejected rows, in the order of the rows.
pub fn list<'a>(ingested: &'a Ingested) -> impl Iterator<Item = Reason<'a>> {
    let mut rows: HashMap<_, (u64, u64)> = HashMap::new();
    for rejection in &ingested.rejections {
        for fault in &rejection.faults {
            let (count, last) = rows.entry(key(rejection.origin.input, fault)).or_default();
            (*count, *last) = (*count + 1, rejection.origin.line);
        }
    }
    rows.retain(|_, (count, _)| *count > MAX_LISTED);
    let mut given = HashSet::new();
    ingested.rejections.iter().flat_map(move |rejection| {
        let mut reason = |fault: &RowFault<'a>| {
            let key = key(rejection.origin.input, fault);
            let shared = rows.get(&key);
            if shared.is_some() && !given.insert(key) {
                return None;
            }
            let mut message = ingested.sentence(rejection.origin, fault);
            if let Some((count, last)) = shared {
                let ledger = ingested.input(&rejection);
                let (first, last) = (ledger.row(rejection.origin.line), ledger.row(*last));
                message.push_str(&format!(" ({count} rows alike, from line {first} to {last})"));
            }
            Some(Reason { message, hint: fault.hint, is_shared: shared.is_some() })
        };
        rejection.faults.iter().filter_map(&mut reason).collect::<Vec<_>>()
    })
}
