//! What is said about the reading of histories: counts per file, columns left alone, windings that nobody knows.

use super::register::Register;
use super::{Ingested, InputLedger};
use crate::console::Console;
use crate::error::shown;

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
    format!("{}: winding {} is not in the register; it is judged with what is known", register.file, shown(winding))
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
    if !ingested.rejections.is_empty() {
        console.remark("hint: `groundwall check` says why each row was rejected");
    }
    if let Some(register) = register {
        if let Some(text) = left_alone(&register.file, &register.left_alone) {
            console.remark(&text);
        }
        for winding in register.strangers(&ingested.tests) {
            console.remark(&stranger(register, winding));
        }
    }
}
