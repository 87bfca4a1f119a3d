//! `chart`: one picture for a work order.

use crate::args::{ChartArgs, ChartKind};
use crate::chart::{self, ChartContext, DEFAULT_DPI, Size, trend::TrendPicture};
use crate::console::Console;
use crate::error::{Failure, Status, shown};
use crate::file_name::FileNames;
use crate::fleet;
use crate::settings::Plan;
use crate::sink::Target;
use crate::values::{PictureFile, PictureFormat, PicturePlace};
use groundwall::assess::Judgement;

/// Draws one chart.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, the winding is not in it, or the picture cannot be written.
pub fn run(args: &ChartArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let plan = Plan::check(&args.history, &[args.out.file()])?;
    let (judgement, ingested) = fleet::one(&plan, console, &args.series)?;
    let context = ChartContext { sources: sources(&plan), place: place(&judgement) };
    let picture = match args.kind {
        ChartKind::Trend => TrendPicture::new(&judgement, &context),
    };
    let (size, dpi) = (Size::default(), DEFAULT_DPI);
    let file = match &args.out {
        PicturePlace::File(file) => file.clone(),
        PicturePlace::Folder(folder) => {
            let name = FileNames::default().name(&judgement.assessment.name(), "png");
            PictureFile { path: folder.join(name), format: PictureFormat::Png }
        }
    };
    let bytes = match file.format {
        PictureFormat::Png => chart::render_png(&picture, size, dpi),
        PictureFormat::Svg => chart::render_svg(&picture, size, dpi).map(String::into_bytes),
    }
    .map_err(|error| Failure::ours(error.to_string()))?;
    Target::File(file.path.clone()).write(console.out, |out| out.write_all(&bytes))?;
    if matches!(args.out, PicturePlace::Folder(_)) {
        console.remark(&format!(
            "{}: this is the chart of {}",
            file.path.display(),
            shown(&judgement.assessment.name())
        ));
    }
    Ok(ingested.status(plan.strict))
}

/// The files that the picture was made from.
pub(crate) fn sources(plan: &Plan) -> Vec<String> {
    plan.inputs.iter().map(ToString::to_string).collect()
}

/// Where the machine stands and what it is, as far as the register says.
pub(crate) fn place(judgement: &Judgement) -> Vec<String> {
    let plate = &judgement.background.nameplate;
    [&plate.site, &plate.area, &plate.description].into_iter().flatten().cloned().collect()
}
