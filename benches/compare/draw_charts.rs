//! Draws the trend charts of a fleet into a folder and says how long the drawing took.
//!
//! ```text
//! cargo run --release -p groundwall-engine --example draw-charts -- fleet.csv register.csv 200 charts/
//! ```
//!
//! The fleet is read and judged first, untimed; then its first so many series are drawn, 1200 × 800 pixels, encoded as PNG
//! and written, on as many threads as rayon takes (`RAYON_NUM_THREADS`).

#![allow(clippy::print_stdout, reason = "the figures are what this program is for")]

use std::error::Error;
use std::path::Path;
use std::time::Instant;

use groundwall::assess::{Judgement, Terms};
use groundwall::policy::Policy;
use groundwall::units::Confidence;
use groundwall_engine::chart::trend::TrendPicture;
use groundwall_engine::chart::{ChartContext, DEFAULT_DPI, Size, render_png};
use groundwall_engine::fleet::Fleet;
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::ingest::{Reading, ReadingRules};
use groundwall_engine::spread::AllCores;
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

/// The day on which the generated histories are judged.
const AS_OF: &str = "2026-11-25";
/// What every PNG begins with, up to its width and height (ISO/IEC 15948).
const PNG_HEAD: [u8; 16] = *b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR";

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [history, register, number, folder] = arguments.as_slice() else {
        return Err("draw-charts HISTORY REGISTER NUMBER FOLDER".into());
    };
    let mut judged = judge(history, register)?;
    judged.truncate(number.parse()?);
    std::fs::create_dir_all(folder)?;
    let context = ChartContext { sources: vec![history.clone()], place: Vec::new() };

    let start = Instant::now();
    let bytes = judged
        .par_iter()
        .map(|judgement| draw(judgement, &context, Path::new(folder)))
        .try_reduce(|| 0, |one, other| Ok(one + other))?;
    let seconds = start.elapsed().as_secs_f64();
    println!("{{\"charts\": {}, \"seconds\": {seconds}, \"bytes\": {bytes}}}", judged.len());
    Ok(())
}

fn judge(history: &str, register: &str) -> Result<Vec<Judgement>, Box<dyn Error>> {
    let register = Register::parse(register, &std::fs::read(register)?, None, false, &Mapping::default())?;
    let rules = ReadingRules::default();
    let mut reading = Reading::new(&rules);
    reading.add(history, std::fs::read(history)?)?;
    let terms = Terms { policy: Policy::default(), as_of: AS_OF.parse()?, confidence: Confidence::from_fraction(0.9)? };
    Ok(Fleet::new(reading.finish(), Some(&register), terms).judge(&AllCores, |judgement| judgement))
}

/// Draws and writes one chart; gives its size in bytes.
fn draw(judgement: &Judgement, context: &ChartContext, folder: &Path) -> Result<usize, String> {
    let picture = TrendPicture::new(judgement, context);
    let size = Size::default();
    let png = render_png(&picture, size, DEFAULT_DPI).map_err(|error| error.to_string())?;
    let head = [PNG_HEAD.as_slice(), &size.width.to_be_bytes(), &size.height.to_be_bytes()].concat();
    if !png.starts_with(&head) {
        return Err(format!("the chart of {} is no PNG of the size asked for", judgement.assessment.winding));
    }
    std::fs::write(folder.join(format!("{}.png", judgement.assessment.winding)), &png)
        .map_err(|error| error.to_string())?;
    Ok(png.len())
}
