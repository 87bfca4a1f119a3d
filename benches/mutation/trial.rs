//! One input read, judged and filed in this process, and what must hold of it whatever it is.

use super::dice::Dice;
use groundwall::assess::{InTurn, Register, Terms, assess_fleet};
use groundwall::policy::Policy;
use groundwall::record::Origin;
use groundwall::units::Confidence;
use groundwall_engine::ingest::{Ingested, Reading, ReadingRules};
use groundwall_engine::master::Master;
use groundwall_engine::master::compare::compare;
use groundwall_engine::master::merge::{New, merge};

/// One in so many inputs is also judged.
const JUDGED: usize = 8;
/// One in so many inputs is also read in small pieces.
const CUT: usize = 4;
/// One in so many inputs is also read as a master and for a sheet.
const FILED: usize = 16;

/// What became of one input.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Outcome {
    pub(crate) refused: bool,
    pub(crate) rows: u64,
    pub(crate) accepted: u64,
    pub(crate) repeated: u64,
    pub(crate) rejected: u64,
    /// Files in which the rows were counted a second time, by hand.
    pub(crate) recounted: u64,
    /// Sheets that were arranged as plain tables.
    pub(crate) arranged: u64,
    pub(crate) series_judged: u64,
    pub(crate) filed: u64,
}

/// Rules of every kind, so that no way of reading is left out.
fn rules(dice: &mut Dice) -> ReadingRules {
    let mut rules = ReadingRules::default();
    match dice.below(12) {
        0 => rules.tests.decimal_comma = true,
        1 => rules.decimal_point = true,
        2 => rules.tests.date_format = Some("%d/%m/%Y".to_owned()),
        3 => rules.delimiter = Some(*dice.pick(b",;\t")),
        4 => rules.encoding = Some(*dice.pick(&[encoding_rs::UTF_8, encoding_rs::UTF_16LE, encoding_rs::WINDOWS_1252])),
        5 => rules.tests.full_scale = groundwall::units::Resistance::from_megohms(2000.0).ok(),
        _ => {}
    }
    rules
}

/// Reads one input as `check` does, and a share of them further.
///
/// # Errors
///
/// The rule that was broken.
pub(crate) fn trial(bytes: &[u8], dice: &mut Dice) -> Result<Outcome, String> {
    let rules = rules(dice);
    let mut outcome = Outcome::default();
    let Some(ingested) = read(bytes, &rules)? else {
        outcome.refused = true;
        return Ok(outcome);
    };
    for ledger in &ingested.inputs {
        outcome.rows += ledger.rows;
        outcome.accepted += ledger.accepted;
        outcome.repeated += ledger.repeated;
        outcome.rejected += ledger.rejected;
        // The rows of an arranged sheet are not lines of it; each comes from a cell that holds something.
        if let Some(places) = &ledger.places {
            outcome.arranged += 1;
            must(places.len() as u64 >= ledger.rows, || {
                format!("{} rows and the cells of {} of them", ledger.rows, places.len())
            })?;
        } else if let Some(rows) = rows_by_hand(bytes, ledger.layout.delimiter, &ledger.header) {
            outcome.recounted += 1;
            let (read, not_done) = (ledger.rows, ledger.not_done);
            must(rows == read + not_done, || {
                format!("{rows} rows counted by hand, {read} + {not_done} in the ledger")
            })?;
        }
    }
    // What can be read of a rejected row stays in its series and is not used. A test may be several timed rows.
    let timed = ingested.inputs.iter().any(|ledger| ledger.columns.is_timed());
    let (tests, read) = (ingested.series.tests() as u64, outcome.accepted + outcome.rejected);
    must(tests <= read && (timed || tests >= outcome.accepted), || {
        format!("{tests} tests of {} accepted rows", outcome.accepted)
    })?;
    must(outcome.rows == outcome.accepted + outcome.repeated + outcome.rejected, || format!("{outcome:?}"))?;
    must(ingested.rejections.len() as u64 == outcome.rejected, || "rejections and their count differ".to_owned())?;
    for rejection in &ingested.rejections {
        let reasons = ingested.reasons(&rejection);
        let told = !reasons.is_empty() && reasons.iter().all(|(message, hint)| !message.is_empty() && !hint.is_empty());
        must(told, || format!("line {} is rejected without a reason", rejection.origin.line))?;
    }
    if dice.one_in(CUT) {
        let size = 1 + dice.below(4096);
        let mut reading = Reading::in_pieces(&rules, size);
        must(reading.add("input", bytes.to_vec()).is_ok(), || "refused in small pieces".to_owned())?;
        let again = reading.finish();
        let same = again.inputs == ingested.inputs && again.rejections == ingested.rejections;
        must(same && again.tests() == ingested.tests(), || format!("pieces of {size} bytes change the result"))?;
    }
    if dice.one_in(FILED) {
        outcome.filed = u64::from(file(bytes, &rules, &ingested)?);
    }
    if dice.one_in(JUDGED) {
        outcome.series_judged = judge(ingested)?;
    }
    Ok(outcome)
}

fn must(holds: bool, otherwise: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(otherwise()) }
}

/// None where the input is not a history; a refusal has a sentence.
fn read(bytes: &[u8], rules: &ReadingRules) -> Result<Option<Ingested>, String> {
    let mut reading = Reading::new(rules);
    match reading.add("input", bytes.to_vec()) {
        Ok(()) => Ok(Some(reading.finish())),
        Err(failure) => {
            must(failure.problems().iter().all(|problem| !problem.message.is_empty()), || {
                "a refusal in silence".to_owned()
            })?;
            Ok(None)
        }
    }
}

/// The rows below the header, counted without the reader: lines that hold anything beside separators. Only for text in
/// UTF-8 without quotes, in which a line is a row.
fn rows_by_hand(bytes: &[u8], delimiter: u8, header: &[u8]) -> Option<u64> {
    let plain = std::str::from_utf8(bytes).is_ok() && !bytes.contains(&b'"') && !bytes.contains(&0);
    let packed = bytes.starts_with(b"PK") || bytes.starts_with(b"\x1f\x8b");
    if !plain || packed || header.is_empty() {
        return None;
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut lines = bytes.split(|byte| matches!(byte, b'\r' | b'\n'));
    lines.find(|line| *line == header)?;
    let blank = |line: &&[u8]| line.split(|byte| *byte == delimiter).all(|cell| cell.trim_ascii().is_empty());
    Some(lines.filter(|line| !blank(line)).count() as u64)
}

/// Judges every series; every result can be written.
fn judge(ingested: Ingested) -> Result<u64, String> {
    let as_of = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).unwrap_or_default();
    let confidence = Confidence::from_fraction(0.9).map_err(|error| error.to_string())?;
    let terms = Terms { policy: Policy::default(), as_of, confidence };
    let judged = assess_fleet(&ingested.series, &Register::new(), &terms, &InTurn, |judgement| judgement.assessment);
    for assessment in &judged {
        serde_json::to_string(assessment).map_err(|error| format!("a result that cannot be written: {error}"))?;
        let told = assessment.findings.iter().all(|finding| !finding.message.is_empty());
        must(told, || "a finding in silence".to_owned())?;
    }
    Ok(judged.len() as u64)
}

/// Files the tests into a small master, and a test into the input read as a master. True if either was done.
fn file(bytes: &[u8], rules: &ReadingRules, ingested: &Ingested) -> Result<bool, String> {
    const MASTER: &[u8] = b"note;winding;tested_on;r_60s\r\n\"a;b\";P-1;2026-01-05;5,5\r\n";
    let plain = ReadingRules::default();
    let place = |origin: Origin| origin.line.to_string();
    let into_small = Master::read("master", MASTER.to_vec(), &plain).ok().and_then(|master| {
        let compared = compare(&master.tests, ingested.tests());
        let new = New { tests: &compared.new, foreign: &|_| None, place: &place, extend: true };
        merge(&master, &new).ok()
    });
    if let Some(merged) = &into_small {
        let extended = merged.added.is_empty() || merged.bytes.starts_with(b"note;winding;tested_on;r_60s;");
        must(extended, || "columns are not at the end".to_owned())?;
    }
    let sheet =
        read(b"winding,tested_on,r_60s\nZ-9 of the harness,2026-10-05,5.5\n", &plain)?.map(|sheet| sheet.tests());
    let (Some(sheet), Ok(master)) = (sheet, Master::read("master", bytes.to_vec(), rules)) else {
        return Ok(into_small.is_some());
    };
    let new = New { tests: &sheet, foreign: &|_| None, place: &place, extend: false };
    let merged = merge(&master, &new);
    if let Ok(merged) = &merged {
        must(merged.bytes.starts_with(bytes), || "bytes of the master were altered".to_owned())?;
    }
    Ok(into_small.is_some() || merged.is_ok())
}
