//! `replay`: goes back through the history and reports how well the forecasts of the time came true.

use crate::args::{ReplayArgs, TextFormat};
use crate::console::{Console, legibly};
use crate::files::Target;
use crate::fleet;
use crate::progress::Watched;
use crate::settings::Plan;
use groundwall::replay::{Replay, replay};
use groundwall_engine::chart::{self, DEFAULT_DPI, PictureFormat, Size, calibration::CalibrationPicture};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::output::replay as words;

/// Replays the histories.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, or the result or the picture cannot be written.
pub fn run(args: &ReplayArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let plan = Plan::check(&args.history, &[args.out.path(), args.chart.as_ref().map(|file| file.path.as_path())])?;
    let plant = fleet::read(&plan, console)?;
    let found = replay(&plant.series, &plant.register, &plant.terms, args.every, &Watched::of(console));
    words::must_hold_a_cut(&found)?;
    args.out.write_result(console, args.force, |out| match args.format {
        TextFormat::Text => legibly(out, false, |out| words::write_text(out, &found)),
        TextFormat::Json => words::write_json(out, &found, plan.as_of, &plan.names()),
    })?;
    if let Some(file) = &args.chart {
        let bytes = picture(&found, file.format, &plan)?;
        Target::File(file.path.clone()).write_result(console, args.force, |out| out.write_all(&bytes))?;
        console.remark(&format!("{}: this is the chart of how well past forecasts held", file.path.display()));
    }
    Ok(plan.status(&plant.ingested))
}

fn picture(found: &Replay, format: PictureFormat, plan: &Plan) -> Result<Vec<u8>, Failure> {
    let picture = CalibrationPicture::new(found, plan.names());
    chart::render(&picture, format, Size::default(), DEFAULT_DPI).map_err(|error| Failure::internal(error.to_string()))
}
