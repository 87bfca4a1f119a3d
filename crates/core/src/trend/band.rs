//! Intervals of a mixture of t distributions: of a level, a slope, or one more reading.

use super::mixture::Moments;
use crate::stats::root::{self, Close};
use crate::stats::student::StudentTable;
use crate::units::{Confidence, Probability, Resistance};
use fearless_simd::{Level, Simd, SimdBase, SimdFrom, dispatch, f64x4};

/// The search starts this many standard deviations on either side.
const REACH: f64 = 2.5;
/// At least so many decades.
const LEAST_REACH: f64 = 1e-6;
/// And widens at most so often, by this factor each time.
const WIDENINGS: usize = 40;
const WIDER: f64 = 3.0;
/// It ends within so many decades, or at this difference of probability.
const CLOSE: Close = Close { place: 1e-5, value: 1e-5 };

/// A value with the interval that holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band<T> {
    /// Lower end.
    pub low: T,
    /// Median.
    pub median: T,
    /// Upper end.
    pub high: T,
}

impl<S> Band<S> {
    /// The same on another scale, which must rise with this one.
    #[must_use]
    pub fn map<T>(self, scale: impl Fn(S) -> T) -> Band<T> {
        Band { low: scale(self.low), median: scale(self.median), high: scale(self.high) }
    }
}

/// What one more reading would show.
#[derive(Clone, Debug)]
pub struct ReadingForecast {
    moments: Vec<Moments>,
    table: StudentTable,
}

impl ReadingForecast {
    pub(super) fn new(moments: Vec<Moments>, table: StudentTable) -> Self {
        Self { moments, table }
    }

    /// Probability that the reading, corrected to the reference temperature, is at or below a resistance.
    pub fn p_at_most(&self, corrected: Resistance) -> Probability {
        Probability::of_harm(cumulative(&blocks(&self.moments), &self.table, corrected.log10_megohms()))
    }

    /// The interval at `confidence` for the reading, corrected to the reference temperature.
    pub fn band(&self, confidence: Confidence) -> Band<Resistance> {
        band(&self.moments, &self.table, confidence).map(Resistance::from_log10_megohms)
    }
}

/// Moments of four models side by side; what is missing in the last block has no weight.
const LANES: usize = 4;
struct Block {
    mean: [f64; LANES],
    variance: [f64; LANES],
    weight: [f64; LANES],
    tail_weight: [f64; LANES],
}

impl Block {
    fn new(moments: &[Moments]) -> Self {
        let column = |of: &dyn Fn(&Moments) -> f64| std::array::from_fn(|k| moments.get(k).map_or(0.0, of));
        Self {
            mean: column(&|m| m.mean),
            variance: column(&|m| m.variance),
            weight: column(&|m| m.weight),
            tail_weight: column(&|m| m.tail_weight),
        }
    }
}

fn blocks(moments: &[Moments]) -> Vec<Block> {
    moments.chunks(LANES).map(Block::new).collect()
}

/// Lower tail of a mixture of t distributions.
fn cumulative(blocks: &[Block], table: &StudentTable, value: f64) -> f64 {
    #[inline(always)]
    fn sum<S: Simd>(simd: S, blocks: &[Block], table: &StudentTable, value: f64) -> f64 {
        let mut sum = 0.0;
        for block in blocks {
            let lanes = |lanes: [f64; LANES]| f64x4::simd_from(simd, lanes);
            let deviation = f64x4::simd_from(simd, value) - lanes(block.mean);
            let tails = table.lower_tails_of(simd, deviation, lanes(block.variance));
            for tail in *(lanes(block.tail_weight) * tails).min(lanes(block.weight)) {
                sum += tail;
            }
        }
        sum
    }
    dispatch!(Level::new(), simd => sum(simd, blocks, table, value)).clamp(0.0, 1.0)
}

/// The interval at `confidence` of a mixture of t distributions.
pub(super) fn band(moments: &[Moments], table: &StudentTable, confidence: Confidence) -> Band<f64> {
    let tail = tail(confidence);
    let [low, median, high] = quantiles(moments, table, [tail, 0.5, 1.0 - tail]);
    Band { low, median: median.max(low), high: high.max(median).max(low) }
}

/// The median of a mixture of t distributions.
pub(super) fn median(moments: &[Moments], table: &StudentTable) -> f64 {
    quantiles(moments, table, [0.5])[0]
}

/// Ascending quantiles of a mixture of t distributions.
///
/// The mixture is looked at in the middle and, where it is needed, a few standard deviations to either side; each
/// quantile is then narrowed from the bracket it falls into.
fn quantiles<const N: usize>(moments: &[Moments], table: &StudentTable, targets: [f64; N]) -> [f64; N] {
    let blocks = blocks(moments);
    let function = |x: f64| cumulative(&blocks, table, x);
    let at = |x: f64| (x, function(x));
    let centre = moments.iter().map(|m| m.weight * m.mean).sum::<f64>();
    let square: f64 = moments.iter().map(|m| m.weight * ((m.mean - centre).powi(2) + m.variance)).sum();
    let reach = REACH * square.sqrt().max(LEAST_REACH);
    let middle = at(centre);
    let widen = |side: f64, far_enough: &dyn Fn(f64) -> bool| {
        let mut reach = side * reach;
        let mut end = at(centre + reach);
        for _ in 0..WIDENINGS {
            if far_enough(end.1) {
                break;
            }
            reach *= WIDER;
            end = at(centre + reach);
        }
        end
    };
    let (least, most) = (targets[0], targets[N - 1]);
    let low = if least <= middle.1 { widen(-1.0, &|p| p < least) } else { middle };
    let high = if most > middle.1 { widen(1.0, &|p| p >= most) } else { middle };
    targets.map(|p| {
        let (below, above) = if p > middle.1 { (middle, high) } else { (low, middle) };
        root::pass(function, p, below, above, CLOSE)
    })
}

/// Half of what the interval leaves out.
pub(super) fn tail(confidence: Confidence) -> f64 {
    0.5 * (1.0 - confidence.as_fraction())
}
