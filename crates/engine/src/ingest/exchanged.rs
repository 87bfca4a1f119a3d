//! Day and month exchanged: the form of date that leaves a history half rejected and half wrong.
//!
//! Dates up to the twelfth of a month fit either order, so a file read by the wrong one keeps a third of its rows, on days
//! on which nothing was tested. Such a file is listed by `check`, but neither judged nor filed.

use super::Ingested;
use crate::error::{Failure, shown};
use chrono::Datelike;
use groundwall::record::validate::TestRules;

/// The last day of a month that can be a month as well.
const LAST_MONTH: u32 = 12;

/// Refuses inputs of which every accepted date could be read with day and month exchanged, and a rejected one must be.
///
/// # Errors
///
/// A [`Failure`] with one problem for every such input.
pub fn must_not_be(ingested: &Ingested, rules: &TestRules) -> Result<(), Failure> {
    let suspects = ingested.inputs.iter().enumerate().filter(|(_, ledger)| ledger.accepted > 0 && ledger.rejected > 0);
    let failures = suspects.filter_map(|(input, ledger)| {
        let of_input = ingested.rejections.iter().filter(|rejection| rejection.origin.input as usize == input);
        let mut exchanged = of_input.filter_map(|rejection| {
            let fault = rejection.faults.iter().find(|fault| fault.column == "tested_on")?;
            Some((rejection.origin.line, fault.value, rules.exchanged_form(fault.value)?))
        });
        let (line, value, form) = exchanged.next()?;
        let count = 1 + exchanged.count();
        let told_apart = |(origin, day): (groundwall::record::Origin, chrono::NaiveDate)| {
            origin.input as usize == input && day.day() > LAST_MONTH
        };
        if ingested.series.days().any(told_apart) {
            return None;
        }
        let dates = if count == 1 { "1 date fits".to_owned() } else { format!("{count} dates fit") };
        Some(
            Failure::usage(format!(
                "{}:{line}: tested_on is {}; {dates} only with day and month exchanged, and no accepted date lies after the \
                 {LAST_MONTH}th of a month: the file was read the wrong way round",
                ledger.name(),
                shown(value)
            ))
            .hint(format!(
                "give --date-format {form}; if the other dates are right all the same, leave these rows out of the file"
            )),
        )
    });
    failures.reduce(Failure::and).map_or(Ok(()), Err)
}
