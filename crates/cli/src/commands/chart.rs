//! `chart`: a picture for a work order, or of the whole plant for a meeting.

use crate::args::{ChartArgs, ChartKind, SeriesArgs};
use crate::console::Console;
use crate::files::{Target, made};
use crate::fleet;
use crate::settings::Plan;
use crate::values::{PictureFile, PicturePlace};
use groundwall::assess::{Action, Judgement};
use groundwall::record::Connection;
use groundwall_engine::chart::absorption::AbsorptionPicture;
use groundwall_engine::chart::fleet::{FleetPicture, Row, Terms};
use groundwall_engine::chart::panels::{drying, steps};
use groundwall_engine::chart::phases::PhasesPicture;
use groundwall_engine::chart::trend::TrendPicture;
use groundwall_engine::chart::{self, Chart, ChartContext, PictureFormat, Size, place_of};
use groundwall_engine::error::{Failure, Status, shown};
use groundwall_engine::file_name::FileNames;
use groundwall_engine::fleet::Judged;
use std::path::Path;

/// Draws one chart, or the pages of a fleet.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, the winding is not in it or was not tested as the chart needs, or the picture
/// cannot be written.
pub fn run(args: &ChartArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let kind = args.kind.word();
    if args.page.is_some() && args.kind != ChartKind::Fleet {
        return Err(Failure::usage(format!("--page is of the fleet only; a chart of kind {kind} is one page"))
            .hint("leave out --page, or draw --kind fleet"));
    }
    let plan = Plan::check(&args.history, &[args.out.file()])?;
    if args.kind == ChartKind::Fleet {
        return plant(args, &plan, console);
    }
    let Some(winding) = args.winding.clone() else {
        return Err(Failure::usage(format!("a chart of kind {kind} shows one winding, and none is named"))
            .hint("add --winding with its name as the history has it, or draw --kind fleet"));
    };
    let wanted = SeriesArgs { winding, circuit: args.circuit.clone() };
    if args.kind == ChartKind::Phases {
        return phases(args, &plan, &wanted, console);
    }
    let (Judged { judgement, series }, ingested) = fleet::one(&plan, console, &wanted)?;
    let (name, context) = (judgement.assessment.name(), context(&plan, Some(&judgement)));
    if matches!(args.kind, ChartKind::Steps | ChartKind::Drying) {
        let picture = if args.kind == ChartKind::Steps {
            steps::picture(&judgement, &context)
        } else {
            drying::picture(&judgement, &context)
        };
        let picture = picture.ok_or_else(|| nothing_to_draw(args.kind, &name, &plan))?;
        write(args, args.size.unwrap_or_default(), &picture, &format!("{name} {kind}"), &name, console)?;
    } else if args.kind == ChartKind::Absorption {
        let picture = AbsorptionPicture::new(&judgement, series.tests(), &context).ok_or_else(|| {
            Failure::usage(format!(
                "{}: no test up to {} has a reading after ten minutes, so there is no absorption curve to draw",
                shown(&name),
                plan.as_of
            ))
            .hint("a history tells it in columns such as r_30s, r_60s and r_10min; --kind trend needs one minute only")
        })?;
        write(args, args.size.unwrap_or_default(), &picture, &format!("{name} absorption"), &name, console)?;
    } else {
        write(args, args.size.unwrap_or_default(), &TrendPicture::new(&judgement, &context), &name, &name, console)?;
    }
    Ok(plan.status(&ingested))
}

/// The failure where the tests of a series have nothing of a kind of chart.
fn nothing_to_draw(kind: ChartKind, name: &str, plan: &Plan) -> Failure {
    let (what, hint) = match kind {
        ChartKind::Steps => (
            "no test was made at rising voltages on one day",
            "each step is a row with its test_volts, in the order in which they were applied; --kind trend draws single tests",
        ),
        _ => (
            "no rows with readings tell of drying out",
            "each is a row with its time, its winding_temp_c and the event flooded or drying; --kind trend draws single tests",
        ),
    };
    Failure::usage(format!("{}: {what} up to {}, so there is nothing to draw", shown(name), plan.as_of)).hint(hint)
}

/// Draws the phases of a winding: those of the scope with the most of them, of several the most urgent.
fn phases(args: &ChartArgs, plan: &Plan, wanted: &SeriesArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    if args.circuit.connection.is_some() {
        return Err(Failure::usage("a chart of kind phases shows all phases, and --connection names one of them")
            .hint("leave out --connection, or draw --kind trend"));
    }
    let (judged, ingested) = fleet::of_winding(plan, console, wanted)?;
    let is_phase =
        |judgement: &Judgement| Connection::read(&judgement.assessment.connection).phase_to_earth().is_some();
    let of_scope = |scope: &str| -> Vec<&Judgement> {
        let all = judged.iter().map(|judged| &judged.judgement);
        all.filter(|judgement| judgement.assessment.scope == scope && is_phase(judgement)).collect()
    };
    let groups = ["winding", "winding+cable", "cable", "circuit"].map(of_scope);
    let urgent = |group: &[&Judgement]| {
        group.iter().map(|judgement| judgement.assessment.action).min().unwrap_or(Action::Gather)
    };
    let pictures = groups.iter().filter_map(|group| {
        let context = context(plan, group.first().copied());
        Some((urgent(group), PhasesPicture::new(group, plan.policy.phase_ratio_limit, &context)?))
    });
    let Some((_, picture)) = pictures.min_by_key(|(action, picture)| (3 - picture.phases.len().min(3), *action)) else {
        return Err(Failure::usage(format!(
            "{}: fewer than two phases were tested to earth separately; a chart of phases needs two",
            shown(&wanted.winding)
        ))
        .hint("the history names phases in its column connection: U-earth, V-earth, W-earth; --kind trend draws one series"));
    };
    write(
        args,
        args.size.unwrap_or_default(),
        &picture,
        &format!("{} phases", wanted.winding),
        &wanted.winding,
        console,
    )?;
    Ok(plan.status(&ingested))
}

/// Draws the plant: one page into a file, all pages into a folder.
fn plant(args: &ChartArgs, plan: &Plan, console: &mut Console<'_>) -> Result<Status, Failure> {
    if let Some(winding) = &args.winding {
        return Err(Failure::usage(format!(
            "a chart of kind fleet shows all series, and --winding names {}",
            shown(winding)
        ))
        .hint("leave out --winding, or draw --kind trend"));
    }
    let (judged, ingested) = fleet::judge(plan, console, |judgement| (Row::of(&judgement), judgement.assessment))?;
    let mut judged = judged;
    judged.sort_by_key(|(_, series)| series.urgency());
    let rows: Vec<Row> = judged.into_iter().map(|(row, _)| row).collect();
    let terms = Terms { as_of: plan.as_of, confidence: plan.confidence, reference: plan.policy.reference_temp };
    let (size, pages) = fleet_pages(args, &rows, &terms, &context(plan, None))?;
    let count = pages.len();
    let page = args.page.map_or(0, |page| page as usize - 1);
    let chosen = match (&args.out, args.page) {
        (PicturePlace::Folder(_), None) => pages.as_slice(),
        _ => pages.get(page..=page).ok_or_else(|| {
            let noun = if count == 1 { "page" } else { "pages" };
            Failure::usage(format!(
                "there is no page {}: {} series take {count} {noun} of this size",
                page + 1,
                rows.len()
            ))
            .hint(format!("choose --page 1 to {count}"))
        })?,
    };
    let number = |i: usize| if count > 1 { format!(" {}", page + i + 1) } else { String::new() };
    let named: Vec<(String, &FleetPicture)> =
        chosen.iter().enumerate().map(|(i, picture)| (format!("fleet{}", number(i)), picture)).collect();
    write_all(args, size, &named, "the fleet", console)?;
    if count > 1 && matches!(args.out, PicturePlace::File(_)) {
        console
            .remark(&format!("page {} of {count}; --page chooses another, and a folder as --out gets all", page + 1));
    }
    Ok(plan.status(&ingested))
}

/// The pages of the plant and their size: the one asked for, or the least on whose first page all series stand that need action.
fn fleet_pages(
    args: &ChartArgs,
    rows: &[Row],
    terms: &Terms,
    context: &ChartContext,
) -> Result<(Size, Vec<FleetPicture>), Failure> {
    let needed = rows.iter().filter(|row| row.action <= Action::Shorten).count();
    let mut size = args.size.unwrap_or_default();
    loop {
        let pages = FleetPicture::pages(rows, terms, context, size, args.dpi).map_err(cannot)?;
        let named = pages.first().map_or(0, |page| page.rows.len());
        if named >= needed || args.size.is_some() || size.height >= HIGHEST_FLEET {
            return Ok((size, pages));
        }
        size.height += FLEET_STEP;
    }
}

/// A page of the plant whose size is not given grows in these steps up to this height, pixels.
const FLEET_STEP: u32 = 100;
const HIGHEST_FLEET: u32 = 2400;

/// Writes a picture to its file, or into the folder under a name of its own.
fn write(
    args: &ChartArgs,
    size: Size,
    picture: &impl Chart,
    file_name: &str,
    subject: &str,
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    write_all(args, size, &[(file_name.to_owned(), picture)], subject, console)
}

/// Writes pictures, of which a file takes one only: all of them, or none.
fn write_all<C: Chart>(
    args: &ChartArgs,
    size: Size,
    pictures: &[(String, &C)],
    subject: &str,
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    let render = |picture: &C, format| chart::render(picture, format, size, args.dpi).map_err(cannot);
    let said = |path: &Path| format!("{}: this is the chart of {}", path.display(), shown(subject));
    match &args.out {
        PicturePlace::File(PictureFile { path, format }) => {
            for (_, picture) in pictures {
                let bytes = render(picture, *format)?;
                Target::File(path.clone()).write_result(console, args.force, |out| out.write_all(&bytes))?;
                console.remark(&said(path));
            }
        }
        PicturePlace::Folder(folder) => {
            let mut names = FileNames::default();
            let drawn = pictures
                .iter()
                .map(|(name, picture)| Ok((names.name(name, "png"), render(picture, PictureFormat::Png)?)));
            let drawn = drawn.collect::<Result<Vec<(String, Vec<u8>)>, Failure>>()?;
            let files: Vec<(&str, &[u8])> =
                drawn.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
            console.remarks(made::write_all(folder, &files, args.force)?);
            console.remarks(files.iter().map(|(name, _)| said(&folder.join(name))));
        }
    }
    Ok(())
}

fn cannot(error: chart::ChartError) -> Failure {
    Failure::internal(error.to_string())
}

/// What goes into a picture beside the judgement: the files, and where the machine stands as far as the register says.
fn context(plan: &Plan, judgement: Option<&Judgement>) -> ChartContext {
    let place = judgement.map(|judgement| place_of(&judgement.background.nameplate)).unwrap_or_default();
    ChartContext { sources: plan.inputs.iter().map(ToString::to_string).collect(), place }
}
