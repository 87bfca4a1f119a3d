//! `report`: work-order pages, the page of the works and the results as files, in one folder.

use crate::args::{ReportArgs, ReportPages};
use crate::console::Console;
use crate::files::folder::Folder;
use crate::files::{Input, Target};
use crate::fleet;
use crate::progress::Watched;
use crate::settings::Plan;
use groundwall::assess::{Action, Code, assess_fleet};
use groundwall_engine::compare::{Comparison, Snapshot};
use groundwall_engine::digest::sha256;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::ingest::{Ingested, InputLedger, Rejection, ledger};
use groundwall_engine::output::csv::Line;
use groundwall_engine::output::{self, Assessment, rejects};
use groundwall_engine::page::Pages;
use groundwall_engine::report::manifest::{self, Made, Source, Written};
use groundwall_engine::report::{Entry, LEAST_URGENT, PAGES, PageMaker, PageNames, paper, series_page, works_page};
use std::io;

/// Writes the report.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, when the folder is something else than a report, or when it cannot be written.
pub fn run(args: &ReportArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let plan = Plan::check(&args.history, &[args.pdf.as_deref()])?;
    let read = plan.inputs.iter().chain(&args.history.register).chain(&args.history.policy);
    let folder = Folder::begin(&args.out, read)?;
    let previous = previous(args, console)?;
    let works = fleet::read(&plan, console)?;
    let names = PageNames::of((0..works.series.len()).map(|i| works.series.key(i)));
    let pages = Pages::new(&[series_page::TEMPLATE, works_page::TEMPLATE])?;
    folder.make(PAGES)?;
    let (sources, write) = (plan.names(), |path: &str, bytes: &[u8]| folder.write(path, bytes));
    let least_urgent = match args.pages {
        ReportPages::Urgent => LEAST_URGENT,
        ReportPages::All => Action::Gather,
    };
    let maker = PageMaker {
        write: &write,
        pages: &pages,
        names: &names,
        series: &works.series,
        sources: &sources,
        least_urgent,
        keep_orders: args.pdf.is_some(),
    };
    let watched = Watched::of(console);
    let made = assess_fleet(&works.series, works.register, &works.terms, &watched, |judgement| maker.make(judgement));
    drop(watched);
    let mut entries = made.into_iter().collect::<Result<Vec<Entry>, Failure>>()?;
    entries.sort_by_key(|entry| entry.series.urgency());
    let unrated = |entry: &&Entry| entry.series.findings.iter().any(|finding| finding.code == Code::MinimumUnknown);
    console.remarks(ledger::lacking(&works.ingested, plan.register.as_ref(), entries.iter().filter(unrated).count()));
    let assessment = Assessment {
        as_of: plan.as_of,
        confidence: plan.confidence,
        policy: &plan.policy,
        inputs: &works.ingested.inputs,
        series: entries.iter().map(|entry| entry.series.clone()).collect(),
    };
    let changes = previous.map(|previous| Comparison::new(&previous, &Snapshot::of(&assessment)));
    let content = works_page::Content::of(&assessment, &entries, changes.as_ref());
    let index = pages.render(&works_page::TEMPLATE, &content)?;
    if let Some(file) = &args.pdf {
        let bytes = paper::pack(&assessment, &entries).map_err(|error| Failure::ours(error.to_string()))?;
        Target::File(file.clone()).write(console.out, |out| out.write_all(&bytes))?;
        console.remark(&format!("{}: this is the pack in one file", file.display()));
    }
    let mut files: Vec<Written> = vec![folder.write("index.html", index.as_bytes())?];
    files.extend(entries.iter().flat_map(|entry| entry.files.iter().cloned()));
    files.extend(results(&folder, &assessment)?);
    files.extend(rejected(&folder, &works.ingested)?);
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let count = entries.iter().filter(|entry| entry.page.is_some()).count();
    let text = manifest::text(Made {
        as_of: plan.as_of,
        confidence: plan.confidence,
        rules: &plan.rules,
        full_scale: args.history.full_scale,
        policy: &plan.policy,
        policy_source: args.history.policy.as_ref().map(source).transpose()?,
        register: plan.register.as_ref(),
        input: &works.ingested.inputs,
        series: entries.len(),
        pages: count,
        files: &files,
    });
    let text = text.map_err(|error| Failure::ours(error.to_string()))?;
    let manifest = folder.write(manifest::NAME, text.as_bytes())?;
    folder.finish(&[files, vec![manifest]].concat())?;
    let begin = args.out.join("index.html");
    let outcome =
        format!("{} series judged, {count} with a page of their own; begin with {}", entries.len(), begin.display());
    console
        .print(|out| writeln!(out, "{outcome}"))
        .map_err(|failure| failure.after(&format!("{}: the report was written", args.out.display())))?;
    console.remark(&output::table::cautions());
    Ok(plan.status(&works.ingested))
}

/// The result of the report that is about to be replaced, where there is one.
///
/// # Errors
///
/// A [`Failure`] when it cannot be read: the changes since then would be missing from the new report.
fn previous(args: &ReportArgs, console: &mut Console<'_>) -> Result<Option<Snapshot>, Failure> {
    let file = args.out.join("assessment.json");
    let name = file.display().to_string();
    let bytes = match std::fs::read(&file) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::unreadable(&name, &error)),
    };
    let snapshot = Snapshot::read(&name, &bytes);
    if let Err(failure) = &snapshot {
        console.remark(&format!("no changes can be listed: {failure}"));
    }
    Ok(snapshot.ok())
}

/// The policy file as the manifest names it.
fn source(input: &Input) -> Result<Source, Failure> {
    let sha256 = match input {
        Input::Stdin => None,
        Input::File(_) => Some(sha256(&input.read()?)),
    };
    Ok(Source { file: input.to_string(), sha256 })
}

/// The result in the forms of `assess`.
fn results(folder: &Folder, assessment: &Assessment<'_>) -> Result<Vec<Written>, Failure> {
    let unmade = |error: io::Error| Failure::ours(error.to_string());
    let (mut json, mut csv) = (Vec::new(), Vec::new());
    output::json::write(&mut json, assessment).map_err(unmade)?;
    output::csv::write(&mut csv, assessment.series.iter().map(Line::of).collect()).map_err(unmade)?;
    let workbook = output::workbook::bytes(assessment).map_err(unmade)?;
    [("assessment.json", json), ("assessment.csv", csv), ("assessment.xlsx", workbook)]
        .into_iter()
        .map(|(name, bytes)| folder.write(name, &bytes))
        .collect()
}

/// The rejected rows: one file for all inputs that share a header, numbered from the second on.
fn rejected(folder: &Folder, ingested: &Ingested) -> Result<Vec<Written>, Failure> {
    let mut firsts: Vec<&InputLedger> = Vec::new();
    let mut files = Vec::new();
    for ledger in &ingested.inputs {
        let known = firsts.iter().position(|first| rejects::share_a_header(first, ledger));
        files.push(known.unwrap_or(firsts.len()));
        if known.is_none() {
            firsts.push(ledger);
        }
    }
    let is_in = |file: usize, row: &Rejection<'_>| files[row.origin.input as usize] == file;
    // The first file is there even if nothing was rejected, so that nobody looks for it in vain.
    let is_wanted =
        |file: usize| file == 0 || ingested.inputs.iter().zip(&files).any(|(i, of)| *of == file && i.rejected > 0);
    let wanted = firsts.into_iter().enumerate().filter(|(file, _)| is_wanted(*file));
    let mut written = Vec::new();
    for (number, (file, first)) in (1..).zip(wanted) {
        let rows = ingested.rejections.iter().filter(|row| is_in(file, row));
        let mut bytes = Vec::new();
        rejects::write(&mut bytes, ingested, first, rows).map_err(|error| Failure::ours(error.to_string()))?;
        let name = if number == 1 { "rejected.csv".to_owned() } else { format!("rejected-{number}.csv") };
        written.push(folder.write(&name, &bytes)?);
    }
    Ok(written)
}
