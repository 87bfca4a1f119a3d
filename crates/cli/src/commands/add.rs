//! `add`: files new tests into the master history, whole or not at all.

use crate::args::AddArgs;
use crate::console::Console;
use crate::files::{lock, replace};
use crate::settings::Plan;
use groundwall_engine::error::{Failure, Problem, Status, shown};
use groundwall_engine::ingest::repeats::difference;
use groundwall_engine::ingest::source::read_all;
use groundwall_engine::ingest::{Ingested, InputLedger, Reading, ReadingRules, exchanged, ledger, reasons};
use groundwall_engine::master::Master;
use groundwall_engine::master::compare::{self, Compared};
use groundwall_engine::master::foreign::Foreign;
use groundwall_engine::master::merge::{self, Merged, New};
use std::collections::BTreeMap;
use std::fs::File;
use std::path::Path;
use std::time::Duration;

/// Files the tests of the sheets.
///
/// # Errors
///
/// A [`Failure`] when a sheet or the master cannot be read, when rows are rejected or contradict others (unless they are to
/// be left out), when another run keeps the master locked, or when it cannot be written. The master is then as it was.
pub fn run(args: &AddArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let plan = Plan::check(&args.history, &[])?;
    let name = args.to.display().to_string();
    let sheets = read_sheets(&plan)?;
    let found = replace::place_of(&args.to)?;
    if found.is_none() && !args.create {
        return Err(Failure::usage(format!("{name}: there is no such master"))
            .hint("check the spelling and the folder, or use --create to begin a new one"));
    }
    let place = found.unwrap_or_else(|| args.to.clone());
    let wait = Duration::from_secs(args.wait.into());
    let _lock = if args.dry_run { None } else { Some(lock::take(&place, wait)?) };
    // Whoever waited for the lock may find a master that was not there before.
    let own_rules = args.master.as_ref().map(|own| plan.rules_by(own));
    let rules = own_rules.as_ref().unwrap_or(&plan.rules);
    let master = match File::open(&place).and_then(|file| read_all(&name, file)) {
        Ok(bytes) => Master::read(&name, bytes?, rules)?,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Master::new(&name, rules)?,
        Err(error) => return Err(Failure::unreadable(&name, &error)),
    };
    let ingested = ingest(&plan, &sheets)?;
    let compared = compare::compare(&master.tests, ingested.tests());
    let filing = Filing { args, plan: &plan, place: &place, master, ingested, compared };
    let faults = filing.faults();
    if !faults.is_empty() && !args.skip_rejected {
        return Err(filing.refusal(faults));
    }
    let merged = filing.merge(&sheets)?;
    let backup = match &merged {
        Some(merged) if !args.dry_run => {
            replace::replace(&place, filing.master.bytes.as_deref(), &merged.bytes, &plan.inputs)?
        }
        _ => None,
    };
    let account = filing.account(merged.as_ref(), backup.as_deref(), &faults);
    let printed = console.print(|out| account.iter().try_for_each(|line| writeln!(out, "{line}")));
    printed.map_err(|failure| match account.last() {
        Some(outcome) if merged.is_some() && !args.dry_run => failure.after(outcome),
        _ => failure,
    })?;
    Ok(if plan.strict && !faults.is_empty() { Status::RowsRejected } else { Status::Done })
}

/// A sheet as it was read: standard input can be read only once.
struct Sheet {
    file: String,
    bytes: Vec<u8>,
}

fn read_sheets(plan: &Plan) -> Result<Vec<Sheet>, Failure> {
    let read = plan.inputs.iter().map(|input| Ok(Sheet { file: input.to_string(), bytes: input.read()? }));
    all(read.collect())
}

fn ingest(plan: &Plan, sheets: &[Sheet]) -> Result<Ingested, Failure> {
    let mut reading = Reading::new(&plan.rules);
    let read: Vec<_> = sheets.iter().map(|sheet| reading.add(&sheet.file, sheet.bytes.clone())).collect();
    all(read)?;
    let ingested = reading.finish();
    exchanged::must_not_be(&ingested, &plan.rules.tests)?;
    Ok(ingested)
}

/// All of the results, or all of their failures in one.
fn all<T>(results: Vec<Result<T, Failure>>) -> Result<Vec<T>, Failure> {
    let mut good = Vec::new();
    let mut failure: Option<Failure> = None;
    for result in results {
        match (result, failure.take()) {
            (Ok(value), earlier) => {
                good.push(value);
                failure = earlier;
            }
            (Err(new), Some(earlier)) => failure = Some(earlier.and(new)),
            (Err(new), None) => failure = Some(new),
        }
    }
    failure.map_or(Ok(good), Err)
}

/// Everything that is known before the master is written.
struct Filing<'a> {
    args: &'a AddArgs,
    plan: &'a Plan,
    place: &'a Path,
    master: Master,
    ingested: Ingested,
    compared: Compared,
}

impl Filing<'_> {
    /// Everything that keeps rows of the sheets out of the master.
    fn faults(&self) -> Vec<Problem> {
        let rejected = reasons::list(&self.ingested)
            .map(|reason| Problem { message: reason.message, hint: Some(reason.hint.to_owned()) });
        let conflicts = self.compared.conflicts.iter().map(|(here, there)| Problem {
            message: format!(
                "{}: {} says something else about the test of {}, {} on {}: {}",
                self.ingested.place(here.origin()),
                self.master.ingested.place(there.origin()),
                shown(here.winding()),
                here.connection(),
                here.tested_on(),
                difference(here, there)
            ),
            hint: Some("correct the row that is wrong; if there were two tests, write the time of day too".to_owned()),
        });
        rejected.chain(conflicts).collect()
    }

    fn refusal(&self, faults: Vec<Problem>) -> Failure {
        let mut parts = Vec::new();
        match self.ingested.rejections.len() {
            0 => {}
            1 => parts.push("1 row is rejected".to_owned()),
            count => parts.push(format!("{count} rows are rejected")),
        }
        match self.compared.conflicts.len() {
            0 => {}
            1 => parts.push("1 test contradicts the master".to_owned()),
            count => parts.push(format!("{count} tests contradict the master")),
        }
        let first = Failure::usage(format!("{}: nothing was added: {}", self.master.name, parts.join(" and ")))
            .hint("fix the problems listed below, or file the rest with --skip-rejected");
        Failure::of_problems(faults).map_or(first.clone(), |rest| first.and(rest))
    }

    /// The master with the new tests in it; none if there is nothing new.
    fn merge(&self, sheets: &[Sheet]) -> Result<Option<Merged>, Failure> {
        if self.compared.new.is_empty() {
            return Ok(None);
        }
        let foreign: Vec<Foreign> = all(self
            .ingested
            .inputs
            .iter()
            .zip(0..)
            .map(|(ledger, input)| self.foreign(sheets, ledger, input))
            .collect())?;
        let foreign_of = |input: u32| foreign.get(input as usize);
        let place_of = |origin| self.ingested.place(origin);
        let new = New { tests: &self.compared.new, foreign: &foreign_of, place: &place_of, extend: self.args.extend };
        merge::merge(&self.master, &new).map(Some)
    }

    /// The columns of an input that are not ours, in the rows that are filed.
    fn foreign(&self, sheets: &[Sheet], ledger: &InputLedger, input: u32) -> Result<Foreign, Failure> {
        let origins = self.compared.new.iter().map(|test| test.origin()).filter(|origin| origin.input == input);
        let lines: BTreeMap<u64, u64> = origins.map(|origin| (origin.line, ledger.row(origin.line))).collect();
        let sheet = sheets.iter().find(|sheet| sheet.file == ledger.file);
        let Some(sheet) = sheet.filter(|_| !lines.is_empty()) else { return Ok(Foreign::default()) };
        let rules = ReadingRules { sheets: ledger.sheet.iter().cloned().collect(), ..self.plan.rules.clone() };
        Foreign::read(&sheet.file, sheet.bytes.clone(), &rules, &ledger.columns.left_alone, &lines)
    }

    /// The count of each sheet, what was left out, what became of the master.
    fn account(&self, merged: Option<&Merged>, backup: Option<&Path>, faults: &[Problem]) -> Vec<String> {
        let (name, new) = (&self.master.name, &self.compared.new);
        let mut lines = Vec::new();
        for ledger in &self.ingested.inputs {
            lines.push(ledger::counts(ledger));
            lines.extend(ledger.remarks.iter().cloned());
        }
        lines.extend(faults.iter().map(ToString::to_string));
        if let Some(register) = &self.plan.register {
            lines.extend(
                register
                    .unregistered(new.iter().map(|test| test.winding()))
                    .into_iter()
                    .map(|winding| ledger::unregistered(register, winding)),
            );
        }
        let as_of = self.plan.as_of;
        match new.iter().filter(|test| test.tested_on().date > as_of).count() {
            0 => {}
            1 => lines.push(format!("1 new test is later than {as_of}; check its date")),
            count => lines.push(format!("{count} new tests are later than {as_of}; check their dates")),
        }
        match self.master.ingested.rejections.len() {
            0 => {}
            1 => lines.push(format!("{name}: 1 row cannot be read and stays as written; `groundwall check` says why")),
            count => {
                lines.push(format!(
                    "{name}: {count} rows cannot be read and stay as written; `groundwall check` says why"
                ));
            }
        }
        if let Some(merged) = merged.filter(|merged| !merged.left_out.is_empty()) {
            let plural = if merged.left_out.len() == 1 { "column" } else { "columns" };
            let names = merged.left_out.join(", ");
            lines.push(format!("{name}: has no {plural} {names}; those cells are left out, --extend adds them"));
        }
        if let Some(merged) = merged.filter(|merged| !merged.misread.is_empty()) {
            let plural = if merged.misread.len() == 1 { "column" } else { "columns" };
            let names = merged.misread.join(", ");
            lines.push(format!(
                "{name}: the {plural} {names} of the sheet cannot be beside its other columns without being read or asked about; those cells \
                 are left out, and [columns] in the policy file says what they hold"
            ));
        }
        match self.compared.there {
            0 => {}
            1 => lines.push(format!("{name}: already has 1 of these tests; skipped")),
            count => lines.push(format!("{name}: already has {count} of these tests; skipped")),
        }
        match merged {
            Some(merged) => lines.push(self.outcome(merged, backup)),
            None => lines.push(format!("{name}: nothing new; it stays as it is")),
        }
        lines
    }

    fn outcome(&self, merged: &Merged, backup: Option<&Path>) -> String {
        let count = self.compared.new.len();
        let (tests, were) = if count == 1 { ("test", "was") } else { ("tests", "were") };
        let verb = if self.args.dry_run { "would be" } else { were };
        let there = match (&self.master.bytes, self.master.rows()) {
            (None, _) => "to a new master".to_owned(),
            (Some(_), 1) => "after its 1 row".to_owned(),
            (Some(_), rows) => format!("after its {rows} rows"),
        };
        let columns = match merged.added.len() {
            _ if self.master.bytes.is_none() => String::new(),
            0 => String::new(),
            1 => format!(", with the new column {}", merged.added.join(", ")),
            _ => format!(", with the new columns {}", merged.added.join(", ")),
        };
        let end = if self.args.dry_run {
            "; nothing was written".to_owned()
        } else if let Some(name) = backup.and_then(Path::file_name) {
            let path = if self.args.to.is_symlink() { self.place } else { &self.args.to };
            format!("; the previous master is {}", path.with_file_name(name).display())
        } else {
            String::new()
        };
        format!("{}: {count} {tests} {verb} added {there}{columns}{end}", self.master.name)
    }
}
