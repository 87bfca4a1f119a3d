//! The tests since the last event, with which one of them is compared.

use crate::assess::case::Case;
use crate::assess::result::LeftOut;
use crate::resistance::Measured;

/// Tests beside the one in question without which nothing is said about it.
pub(super) const LEAST_OTHERS: usize = 4;

/// Positions of the tests since the last event that have a reading, the latest one that counts being the last.
pub(super) fn since_event(case: &Case) -> Option<Vec<usize>> {
    let latest = case.latest()?;
    let start = case.tests[..=latest].iter().rposition(|test| test.event.is_some()).unwrap_or(0);
    let counts = |at: &usize| matches!(case.tests[*at].left_out, None | Some(LeftOut::BeforeStretch));
    Some((start..=latest).filter(counts).filter(|at| case.tests[*at].as_read.is_some()).collect())
}

/// log10 of an exact corrected reading.
pub(super) fn level(case: &Case, at: usize) -> Option<f64> {
    match case.tests[at].corrected? {
        Measured::Exact(r) => Some(r.log10_megohms()),
        Measured::Above(_) | Measured::Below(_) | Measured::OffScale => None,
    }
}
