//! What a trend chart of 12, 40 and 160 readings costs on one core, from a judgement to the bytes of a PNG, 1200 × 800.
//!
//! ```text
//! cargo run --release -p groundwall-engine --example long-chart-timing
//! ```
//!
//! Median of fifteen rounds, with the least and the greatest; the bytes are checked.

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

mod dice;
mod falling;
mod rounds;

use std::error::Error;

use groundwall::assess::{InTurn, Judgement, Terms, assess_fleet};
use groundwall::policy::Policy;
use groundwall::units::Confidence;
use groundwall_engine::chart::trend::TrendPicture;
use groundwall_engine::chart::{ChartContext, ChartError, DEFAULT_DPI, Size, render_png};

/// Charts drawn in a round.
const CHARTS: usize = 20;
/// What every PNG begins with, up to its width and height (ISO/IEC 15948).
const PNG_HEAD: [u8; 16] = *b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR";

fn main() -> Result<(), Box<dyn Error>> {
    let terms = Terms {
        policy: Policy::default(),
        as_of: falling::AS_OF.parse()?,
        confidence: Confidence::from_fraction(0.9)?,
    };
    let context = ChartContext { sources: vec!["history.csv".to_owned()], place: vec!["North works".to_owned()] };
    let draw =
        |judgement: &Judgement| render_png(&TrendPicture::new(judgement, &context), Size::default(), DEFAULT_DPI);
    rounds::head();
    for readings in [12, 40, 160] {
        let (fleet, register) = falling::fleet(CHARTS, readings, false)?;
        let judged = assess_fleet(fleet, &register, &terms, &InTurn, |judgement| judgement);
        let pictures = judged.iter().map(draw).collect::<Result<Vec<_>, _>>()?;
        let head = [PNG_HEAD.as_slice(), &1200_u32.to_be_bytes(), &800_u32.to_be_bytes()].concat();
        if pictures.len() != CHARTS || !pictures.iter().all(|png| png.starts_with(&head)) {
            return Err("a chart is no PNG of 1200 by 800 pixels".into());
        }
        // The same chart must give the same bytes in every round.
        let same = |()| {
            let drawn = judged.iter().map(draw).collect::<Result<Vec<_>, ChartError>>();
            drawn.is_ok_and(|drawn| drawn == pictures)
        };
        rounds::line("trend chart", &format!("{readings} readings"), CHARTS, || (), same, &true)?;
    }
    Ok(())
}
