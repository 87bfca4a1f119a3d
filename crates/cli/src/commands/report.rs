//! `report`: work-order pages, the page of the plant and the results as files, in one folder.

use crate::args::{HistoryArgs, ReportArgs, ReportPages};
use crate::console::Console;
use crate::files::folder::Folder;
use crate::files::{Input, Target};
use crate::fleet;
use crate::progress::Watched;
use crate::settings::Plan;
use groundwall::assess::{Action, assess_windings};
use groundwall_engine::chart::ChartError;
use groundwall_engine::compare::{Comparison, Snapshot};
use groundwall_engine::digest::sha256;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::ingest::{Ingested, InputLedger, Rejection, ledger};
use groundwall_engine::output::csv::Line;
use groundwall_engine::output::{self, Assessment, ListBy, rejects};
use groundwall_engine::page::Pages;
use groundwall_engine::report::manifest::{self, Made, Source, Written};
use groundwall_engine::report::plant_page::File;
use groundwall_engine::report::{
    Entry, Kept, LEAST_URGENT, PAGES, PageMaker, PageNames, paper, plant_page, series_page, single,
};
use std::io;
use std::path::Path;

/// Writes the report.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, when the folder is something else than a report, or when it cannot be written.
pub fn run(args: &ReportArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let beside = [args.single.as_deref(), args.pdf.as_deref()];
    let plan = Plan::check(&args.history, &beside)?;
    let HistoryArgs { register, policy, settings, .. } = &args.history;
    let read = plan.inputs.iter().chain(register).chain(policy).chain(settings);
    let folder = args.out.as_deref().map(|out| Folder::begin(out, read)).transpose()?;
    if let Some(folder) = &folder {
        beside.into_iter().flatten().try_for_each(|path| folder.must_not_hold(path))?;
    }
    let previous = args.out.as_deref().map_or(Ok(None), |out| previous(out, console))?;
    let plant = fleet::read(&plan, console)?;
    let names = PageNames::of((0..plant.series.len()).map(|i| plant.series.key(i)));
    let pages = Pages::new(&[series_page::TEMPLATE, plant_page::LIST, plant_page::TEMPLATE, single::TEMPLATE])?;
    if let Some(folder) = &folder {
        folder.make(PAGES)?;
    }
    let write = |path: &str, bytes: &[u8]| match &folder {
        Some(folder) => folder.write(path, bytes),
        None => Ok(Written::of(path, bytes)),
    };
    let sources = plan.names();
    let wanted = args.winding.as_ref().map(|winding| plant.whole_name(&args.circuit.of(winding)));
    let maker = PageMaker {
        write: &write,
        pages: &pages,
        names: &names,
        series: &plant.series,
        sources: &sources,
        phase_ratio_limit: plan.policy.phase_ratio_limit,
        least_urgent: if args.pages == ReportPages::All || wanted.is_some() { Action::Gather } else { LEAST_URGENT },
        only: wanted.as_ref(),
        kept: Kept { orders: args.single.is_some() || args.pdf.is_some(), images: args.single.is_some() },
    };
    let watched = Watched::of(console);
    let made = assess_windings(&plant.series, &plant.register, &plant.terms, &watched, |judged| maker.make(judged));
    drop(watched);
    let mut entries = made.into_iter().collect::<Result<Vec<Entry>, Failure>>()?;
    if let Some(wanted) = &wanted {
        let others: Vec<String> = entries.iter().map(|entry| entry.series.name()).collect();
        entries.retain(|entry| wanted.is(&entry.series));
        if entries.is_empty() {
            return Err(plant.not_found(wanted, &others));
        }
    }
    let by = ListBy::from(args.by);
    by.sort(&mut entries, |entry| &entry.series);
    let unrated = |entry: &&Entry| ledger::is_unrated(&entry.series);
    console.remarks(ledger::lacking(&plant.ingested, plan.register.is_some(), entries.iter().filter(unrated).count()));
    let assessment = Assessment {
        as_of: plan.as_of,
        confidence: plan.confidence,
        policy: &plan.policy,
        inputs: &plant.ingested.inputs,
        by,
        series: entries.iter().map(|entry| entry.series.clone()).collect(),
    };
    let changes = previous.map(|previous| Comparison::new(&previous, &Snapshot::of(&assessment)));
    let results = results(&assessment)?;
    let pdf =
        args.pdf.as_ref().map(|file| Ok((file, paper::pack(&assessment, &entries, changes.as_ref())?))).transpose();
    let pdf = pdf.map_err(|error: ChartError| Failure::internal(error.to_string()))?;
    let count = entries.iter().filter(|entry| entry.page.is_some()).count();
    if let Some(folder) = folder {
        let link = |entry: &Entry| entry.page.clone();
        let beside = RESULTS.iter().map(|(name, _)| *name).chain([manifest::NAME]);
        let beside = beside.map(|name| File { name, source: name.to_owned(), download: false }).collect();
        let content = plant_page::Content::of(&assessment, &entries, changes.as_ref(), beside, &link);
        let index = pages.render(&plant_page::TEMPLATE, &content)?;
        let mut files: Vec<Written> = vec![folder.write("index.html", index.as_bytes())?];
        files.extend(entries.iter().flat_map(|entry| entry.files.iter().cloned()));
        for ((name, _), bytes) in RESULTS.iter().zip(&results) {
            files.push(folder.write(name, bytes)?);
        }
        files.extend(rejected(&folder, &plant.ingested)?);
        files.sort_by(|a, b| a.path.cmp(&b.path));
        let text = manifest::text(Made {
            as_of: plan.as_of,
            confidence: plan.confidence,
            rules: &plan.rules,
            full_scale: args.history.full_scale,
            policy: &plan.policy,
            policy_source: args.history.policy.as_ref().map(source).transpose()?,
            register: plan.register.as_ref(),
            input: &plant.ingested.inputs,
            series: entries.len(),
            pages: count,
            files: &files,
        });
        let text = text.map_err(|error| Failure::internal(error.to_string()))?;
        let manifest = folder.write(manifest::NAME, text.as_bytes())?;
        folder.finish(&[files, vec![manifest]].concat())?;
    }
    let written = args.out.as_ref().map(|out| format!("{}: the report was written", out.display()));
    let after = |failure: Failure| match &written {
        Some(written) => failure.after(written),
        None => failure,
    };
    if let Some((file, bytes)) = pdf {
        Target::File(file.clone()).write_result(console, args.force, |out| out.write_all(&bytes)).map_err(after)?;
        console.remark(&format!("{}: this is the pack in one file", file.display()));
    }
    if let Some(file) = &args.single {
        let inside: Vec<single::Result<'_>> =
            RESULTS.iter().zip(&results).map(|((name, kind), bytes)| (*name, *kind, bytes.as_slice())).collect();
        let text = single::text(&pages, &assessment, &mut entries, changes.as_ref(), &inside)?;
        Target::File(file.clone())
            .write_result(console, args.force, |out| out.write_all(text.as_bytes()))
            .map_err(after)?;
        console.remark(&format!("{}: this is the whole report as one page", file.display()));
    }
    let begin = args.out.as_ref().map(|out| out.join("index.html"));
    let begin = begin.as_ref().or(args.single.as_ref()).or(args.pdf.as_ref());
    let begin = begin.map_or_else(String::new, |file| format!("; begin with {}", file.display()));
    let outcome = format!("{} series judged, {count} with a page of their own{begin}", entries.len());
    console.print(|out| writeln!(out, "{outcome}")).map_err(after)?;
    console.remark(&output::table::cautions());
    Ok(plan.status(&plant.ingested))
}

/// The forms of the result beside the pages: names and kinds.
const RESULTS: [(&str, &str); 3] = [
    ("assessment.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    ("assessment.csv", "text/csv"),
    ("assessment.json", "application/json"),
];

/// The result of the report that is about to be replaced, where there is one.
///
/// # Errors
///
/// A [`Failure`] when it cannot be read: the changes since then would be missing from the new report.
fn previous(out: &Path, console: &mut Console<'_>) -> Result<Option<Snapshot>, Failure> {
    let file = out.join("assessment.json");
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

/// The result in the forms of `assess`, in the order of [`RESULTS`].
fn results(assessment: &Assessment<'_>) -> Result<[Vec<u8>; 3], Failure> {
    let unmade = |error: io::Error| Failure::internal(error.to_string());
    let (mut json, mut csv) = (Vec::new(), Vec::new());
    output::json::write(&mut json, assessment).map_err(unmade)?;
    let lines: Vec<Line> = assessment.series.iter().map(Line::of).collect();
    output::csv::write(&mut csv, &lines).map_err(unmade)?;
    let workbook = output::workbook::bytes(assessment).map_err(unmade)?;
    Ok([workbook, csv, json])
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
        let name = if number == 1 { "rejected.csv".to_owned() } else { format!("rejected-{number}.csv") };
        written.push(folder.stream(&name, |out| rejects::write(out, ingested, first, rows))?);
    }
    Ok(written)
}
