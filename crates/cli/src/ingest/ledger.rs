//! What is said about the reading of histories: counts per file, columns left alone, windings that nobody knows.

use super::register::Register;
use super::{Ingested, InputLedger};
use crate::console::Console;
use crate::error::{Failure, Problem, shown};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// The counts of one input: `plant.csv: 240 rows: 237 accepted, 1 repeated, 2 rejected`.
#[must_use]
pub fn counts(ledger: &InputLedger) -> String {
    let rows = if ledger.rows == 1 { "row" } else { "rows" };
    format!(
        "{}: {} {rows}: {} accepted, {} repeated, {} rejected",
        ledger.name(),
        ledger.rows,
        ledger.accepted,
        ledger.repeated,
        ledger.rejected
    )
}

/// The columns of one input that were not read, if any.
#[must_use]
pub fn left_alone(file: &str, columns: &[String]) -> Option<String> {
    let plural = if columns.len() == 1 { "column" } else { "columns" };
    (!columns.is_empty()).then(|| format!("{file}: {plural} left alone: {}", columns.join(", ")))
}

/// The sentence about a winding that was tested and is not in the register.
#[must_use]
pub fn stranger(register: &Register, winding: &str) -> String {
    let near = register.written_otherwise(winding).map_or_else(String::new, |name| {
        format!("\nhint: the register has {}; write the name alike in both files", shown(name))
    });
    format!(
        "{}: winding {} is not in the register; it is judged with what is known{near}",
        register.file,
        shown(winding)
    )
}

/// The rule that most rows break, shown by the first of them, with what to do; nothing where rows break many rules alike.
fn commonest_reason(ingested: &Ingested) -> Option<Problem> {
    let mut rows: BTreeMap<(&str, &str), (usize, usize)> = BTreeMap::new();
    for (place, rejection) in ingested.rejections.iter().enumerate() {
        let broken: BTreeSet<(&str, &str)> =
            rejection.faults.iter().map(|fault| (fault.column.as_str(), fault.rule.as_str())).collect();
        for rule in broken {
            rows.entry(rule).or_insert((0, place)).0 += 1;
        }
    }
    let (rule, (count, first)) = rows.into_iter().max_by_key(|(_, (count, first))| (*count, Reverse(*first)))?;
    let all = ingested.rejections.len();
    if 2 * count < all {
        return None;
    }
    let rejection = &ingested.rejections[first];
    let found = rejection.faults.iter().position(|fault| (fault.column.as_str(), fault.rule.as_str()) == rule);
    let (message, hint) = found.and_then(|i| ingested.reasons(rejection).into_iter().nth(i))?;
    let message = if count > 1 { format!("{message} ({count} of the {all} rows)") } else { message };
    Some(Problem { message, hint: Some(hint) })
}

/// What leads to the reasons of all rejected rows.
const ALL_REASONS: &str = "`groundwall check` says why each row was rejected";

/// Whether there was anything to judge: histories of which every row is rejected are unreadable, and nothing is written of them.
///
/// # Errors
///
/// A [`Failure`] with the reason of most rows.
pub fn must_hold_a_test(ingested: &Ingested, strict: bool) -> Result<(), Failure> {
    if ingested.rejections.is_empty() || ingested.inputs.iter().any(|ledger| ledger.accepted > 0) {
        return Ok(());
    }
    let message = match ingested.rejections.len() {
        1 => "the only row was rejected, so nothing is judged".to_owned(),
        count => format!("all {count} rows were rejected, so nothing is judged"),
    };
    let nothing = Problem { message, hint: Some(ALL_REASONS.to_owned()) };
    let problems = commonest_reason(ingested).into_iter().chain([nothing]).collect();
    Failure::of_problems(problems)
        .map_or(Ok(()), |failure| Err(if strict { failure.of_rejected_rows() } else { failure }))
}

/// Says what a first history often lacks, and what to do about it.
pub fn remark_lacks(console: &mut Console<'_>, ingested: &Ingested, register: Option<&Register>, unrated: usize) {
    for ledger in ingested.inputs.iter().filter(|ledger| !ledger.columns.has_winding_temp()) {
        console.remark(&format!(
            "{}: there is no column of winding temperatures, so its readings cannot be brought to one temperature\n\
             hint: add a column winding_temp_c, or winding_temp_f",
            ledger.name()
        ));
    }
    if register.is_none() && unrated > 0 {
        console.remark(
            "there is no register, so windings are judged against the least value of any rule\n\
             hint: list them in a CSV file with the columns winding, rated_volts, construction, insulation, year_made, \
             and name it with --register",
        );
    }
}

/// Says beside a result how the reading went; rejected rows are counted here and listed by `check`.
pub fn remark(console: &mut Console<'_>, ingested: &Ingested, register: Option<&Register>) {
    for ledger in &ingested.inputs {
        for text in &ledger.remarks {
            console.remark(text);
        }
        if ledger.accepted < ledger.rows {
            console.remark(&counts(ledger));
        }
        if let Some(text) = left_alone(&ledger.name(), &ledger.columns.left_alone) {
            console.remark(&text);
        }
    }
    // Where nothing is left to judge, the failure says why.
    if !ingested.rejections.is_empty() && must_hold_a_test(ingested, false).is_ok() {
        if let Some(reason) = commonest_reason(ingested) {
            console.remark(&reason.to_string());
        }
        console.remark(&format!("hint: {ALL_REASONS}"));
    }
    if let Some(register) = register {
        if let Some(text) = left_alone(&register.file, &register.left_alone) {
            console.remark(&text);
        }
        for winding in register.strangers(ingested.series.windings()) {
            console.remark(&stranger(register, winding));
        }
    }
}
