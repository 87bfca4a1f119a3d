//! The average of the models: probabilities of the level, and everything read off them.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::kept::{LEAST_SHARE, Model};
use super::models::Models;
use super::noise::{self, NoiseKind};
use super::priors::NoiseWeights;
use super::shapes;
use crate::stats::student::StudentTable;
use fearless_simd::{Level, Simd, SimdBase, SimdFrom, dispatch, f64x4};

/// The models weighed.
#[derive(Clone, Debug)]
pub(super) struct Mixture {
    /// The models reduced to what the level and its slope need, those that say the same joined: a forecast asks for hundreds of
    /// these.
    lines: Vec<Line>,
    /// The lines side by side.
    blocks: Vec<LineBlock>,
    /// Shapes at the as-of date.
    now: [f64; shapes::COUNT],
}

/// Standard deviation of what no number of readings averages out of a level, decades: the tester, the temperature law, a
/// temperature of the frame. Chosen on simulated plants (`benches/README.md`).
const LEVEL_ERROR: f64 = 0.1;
/// Share of a model's own variances that counts beside it: averaging over all shapes would overstate them.
const MODEL_SHARE: f64 = 0.7;

/// Lines whose levels and slopes differ by less than this share of a standard deviation, and whose variances by less than
/// that share, say the same: joined they keep mean and variance, and no probability moves by more than 1e-4.
const SAME_MEAN: f64 = 0.12;
const SAME_VARIANCE: f64 = 0.05;

/// Level of one model: level + slope·g, with its variance as a polynomial in g.
#[derive(Clone, Copy, Debug)]
struct Line {
    shape: usize,
    level: f64,
    slope: f64,
    variance: [f64; 3],
    walk: f64,
    drift: f64,
    /// Weight, and weight divided by the probability that the tail is divided by.
    weight: f64,
    tail_weight: f64,
    /// Mean and variance at the as-of date.
    here: (f64, f64),
}

impl Line {
    /// The line of a model, whose shape is `now` at the as-of date.
    fn new(m: &Model, now: f64) -> Self {
        let weight = m.weight;
        let mut line = Self {
            shape: m.shape as usize,
            level: m.level,
            slope: m.beta[noise::SHAPE],
            variance: [
                MODEL_SHARE * m.level_variance + LEVEL_ERROR * LEVEL_ERROR,
                MODEL_SHARE * 2.0 * m.covariance,
                MODEL_SHARE * m.slope_variance,
            ],
            walk: m.walk,
            drift: m.drift,
            weight,
            tail_weight: weight / m.falling,
            here: (0.0, 0.0),
        };
        line.here = line.at(now, now);
        line
    }

    /// Whether it says the same as another of the same shape.
    fn agrees(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64, variance: f64| (a - b).powi(2) <= SAME_MEAN * SAME_MEAN * variance;
        let alike = |a: f64, b: f64| (a - b).abs() <= SAME_VARIANCE * a.max(b);
        let ((level, variance), (other_level, other_variance)) = (self.here, other.here);
        let [_, covariance, slope_variance] = self.variance;
        let [_, other_covariance, other_slope_variance] = other.variance;
        near(level, other_level, variance)
            && near(self.slope, other.slope, slope_variance)
            && alike(variance, other_variance)
            && alike(slope_variance, other_slope_variance)
            && (covariance - other_covariance).powi(2)
                <= 4.0 * SAME_VARIANCE * SAME_VARIANCE * variance * slope_variance
            && alike(self.walk, other.walk)
            && alike(self.drift, other.drift)
            && alike(self.tail_weight * other.weight, other.tail_weight * self.weight)
    }

    /// Takes another in, the mean and the variance of the two together; `now` is their shape at the as-of date.
    fn join(&mut self, other: &Self, now: f64) {
        let weight = self.weight + other.weight;
        let share = other.weight / weight;
        let mix = |a: f64, b: f64| a + share * (b - a);
        let apart = [other.level - self.level, other.slope - self.slope];
        let between = share * (1.0 - share);
        let between = [apart[0] * apart[0], 2.0 * apart[0] * apart[1], apart[1] * apart[1]].map(|v| v * between);
        for i in 0..3 {
            self.variance[i] = mix(self.variance[i], other.variance[i]) + between[i];
        }
        self.level = mix(self.level, other.level);
        self.slope = mix(self.slope, other.slope);
        self.walk = mix(self.walk, other.walk);
        self.drift = mix(self.drift, other.drift);
        self.tail_weight += other.tail_weight;
        self.weight = weight;
        self.here = self.at(now, now);
    }

    /// Mean and variance where the shape has the value `g`, and had `now` at the as-of date.
    #[inline]
    fn at(&self, g: f64, now: f64) -> (f64, f64) {
        let [a, b, c] = self.variance;
        let ahead = (g - now).max(0.0);
        let variance = a + g * (b + g * c) + self.walk * ahead + self.drift * ahead * ahead * ahead;
        (self.level + self.slope * g, variance.max(f64::MIN_POSITIVE))
    }
}

/// Values of the shapes at some time and at the as-of date.
struct Shapes<'a> {
    then: &'a [f64; shapes::COUNT],
    now: &'a [f64; shapes::COUNT],
}

/// Lines that are worked on side by side.
const LANES: usize = 4;
type Lanes = [f64; LANES];

/// Neighbouring lines, column by column; what is missing in the last block has no weight.
#[derive(Clone, Copy, Debug)]
struct LineBlock {
    shape: [usize; LANES],
    level: Lanes,
    slope: Lanes,
    variance: [Lanes; 3],
    walk: Lanes,
    drift: Lanes,
    weight: Lanes,
    tail_weight: Lanes,
}

impl LineBlock {
    fn new(lines: &[Line]) -> Self {
        let column = |of: &dyn Fn(&Line) -> f64| -> Lanes { std::array::from_fn(|k| lines.get(k).map_or(0.0, of)) };
        Self {
            shape: std::array::from_fn(|k| lines.get(k).map_or(0, |line| line.shape)),
            level: column(&|line| line.level),
            slope: column(&|line| line.slope),
            variance: [0, 1, 2].map(|power| column(&|line| line.variance[power])),
            walk: column(&|line| line.walk),
            drift: column(&|line| line.drift),
            weight: column(&|line| line.weight),
            tail_weight: column(&|line| line.tail_weight),
        }
    }

    /// Weighed probabilities that the lines are at or below `target`, with the bits of [`Line::at`] and of single tails.
    #[inline(always)]
    fn below<S: Simd>(&self, simd: S, shapes: &Shapes<'_>, table: &StudentTable, target: f64) -> Lanes {
        let lanes = |lanes: Lanes| f64x4::simd_from(simd, lanes);
        let least = |least: f64| f64x4::simd_from(simd, least);
        let g = lanes(self.shape.map(|shape| shapes.then[shape]));
        let ahead = (g - lanes(self.shape.map(|shape| shapes.now[shape]))).max(least(0.0));
        let [a, b, c] = self.variance.map(lanes);
        let variance = a + g * (b + g * c) + lanes(self.walk) * ahead + lanes(self.drift) * ahead * ahead * ahead;
        let mean = lanes(self.level) + lanes(self.slope) * g;
        let tails = table.lower_tails_of(simd, least(target) - mean, variance.max(least(f64::MIN_POSITIVE)));
        *(lanes(self.tail_weight) * tails).min(lanes(self.weight))
    }
}

/// Moments of the level at one time under one model.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moments {
    pub(super) weight: f64,
    pub(super) mean: f64,
    pub(super) variance: f64,
    /// Weight divided by the probability that the tail is divided by.
    pub(super) tail_weight: f64,
}

impl Mixture {
    /// Weighs the models and lets those go that are too light; the weights of the others add up to 1.
    pub(super) fn new(models: &mut Models, weights: &NoiseWeights) -> Self {
        let ln_kind = models.ln_kind_weights(weights);
        let ln = |m: &Model| m.ln_weight + ln_kind[m.kind as usize];
        let highest = models.models.iter().map(ln).fold(f64::NEG_INFINITY, f64::max);
        let least = highest + libm::log(LEAST_SHARE);
        models.models.retain(|m| ln(m) >= least);
        let mut total = 0.0;
        for m in &mut models.models {
            m.weight = libm::exp(ln(m) - highest);
            total += m.weight;
        }
        for m in &mut models.models {
            m.weight /= total;
        }
        let now = models.span.values(0.0);
        let mut lines: Vec<Line> = Vec::with_capacity(models.models.len());
        for model in &models.models {
            let now = now[model.shape as usize];
            let line = Line::new(model, now);
            match lines.iter_mut().find(|l| l.shape == line.shape && l.agrees(&line)) {
                Some(same) => same.join(&line, now),
                None => lines.push(line),
            }
        }
        let blocks = lines.chunks(LANES).map(LineBlock::new).collect();
        Self { lines, blocks, now }
    }

    /// F before the running maximum: probability that the level at `t` ≥ 0 is at or below `level`.
    pub(super) fn below(&self, models: &Models, t: f64, level: f64) -> f64 {
        let g = models.span.values(t);
        let target = level - models.centre;
        let shapes = Shapes { then: &g, now: &self.now };
        dispatch!(Level::new(), simd => below(simd, &self.blocks, &shapes, &models.table, target)).min(1.0)
    }

    /// Moments of the slope.
    pub(super) fn slopes(&self) -> Vec<Moments> {
        let moments =
            |l: &Line| Moments { weight: l.weight, mean: l.slope, variance: l.variance[2], tail_weight: l.weight };
        self.lines.iter().map(moments).collect()
    }

    /// Moments of the level at any time; `below_step` says whether a recent step has happened by then.
    pub(super) fn moments(&self, models: &Models, t: f64, below_step: bool) -> Vec<Moments> {
        let g = models.span.values(t);
        if models.has_step && !below_step {
            return models.models.iter().map(|m| above_step(models, m, g[m.shape as usize])).collect();
        }
        let moments = |line: &Line| {
            let (mean, variance) = line.at(g[line.shape], self.now[line.shape]);
            let tail_weight = if t > 0.0 { line.tail_weight } else { line.weight };
            Moments { weight: line.weight, mean: mean + models.centre, variance, tail_weight }
        };
        self.lines.iter().map(moments).collect()
    }

    /// Moments of the next reading at `t`, with season, temperature and noise.
    pub(super) fn reading(&self, models: &Models, t: f64, row: &[f64; noise::SHARED]) -> Vec<Moments> {
        let g = models.span.values(t);
        let state = &models.autocorrelated;
        models
            .models
            .iter()
            .map(|m| {
                let s = m.shape as usize;
                let mut x = [0.0; noise::COLUMNS];
                x[..noise::SHARED].copy_from_slice(row);
                x[noise::SHAPE] = g[s];
                let mut mean = 0.0;
                let mut noise_variance = 1.0;
                if m.kind == NoiseKind::Autocorrelated {
                    let (keep, fresh) = noise::fade(t - state.t);
                    for i in 0..noise::SHARED {
                        x[i] -= keep * state.shared(i);
                    }
                    x[noise::SHAPE] -= keep * state.shape(s);
                    mean = keep * state.shared(noise::READING);
                    noise_variance = keep * keep * state.variance + fresh + noise::FLEETING_SHARE;
                }
                mean += crate::stats::small_matrix::dot(&x, &m.beta);
                let ahead = (g[s] - self.now[s]).max(0.0);
                let variance =
                    m.scale * (models.quadratic(m, &x) + noise_variance) + m.walk * ahead + m.drift * ahead.powi(3);
                Moments { weight: m.weight, mean: mean + models.centre, variance, tail_weight: m.weight }
            })
            .collect()
    }
}

#[inline(always)]
fn below<S: Simd>(simd: S, blocks: &[LineBlock], shapes: &Shapes<'_>, table: &StudentTable, target: f64) -> f64 {
    let mut sum = 0.0;
    for block in blocks {
        for tail in block.below(simd, shapes, table, target) {
            sum += tail;
        }
    }
    sum
}

/// Moments of the level before a recent step, where the shape has the value `g`.
fn above_step(models: &Models, m: &Model, g: f64) -> Moments {
    let mut x = [0.0; noise::COLUMNS];
    x[super::noise::LEVEL] = 1.0;
    x[noise::SHAPE] = g;
    Moments {
        weight: m.weight,
        mean: m.level - m.beta[noise::STEP] + m.beta[noise::SHAPE] * g + models.centre,
        variance: MODEL_SHARE * models.quadratic(m, &x) * m.scale + LEVEL_ERROR * LEVEL_ERROR,
        tail_weight: m.weight,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trend::priors::Priors;
    use crate::trend::{Reading, Stretch, solve};

    /// Readings every quarter that fall by a slope a year, more and more where `bend` is above 0, with a scatter of a tenth of a
    /// decade that repeats itself every seven tests.
    fn models(tests: u32, slope: f64, bend: f64) -> Models {
        let readings = (0..tests).map(|k| {
            let years = 0.25 * f64::from(k);
            let scatter = 0.1 * (f64::from(k * 5 % 7) - 3.0) / 2.0;
            Reading::exact(years - 0.25 * f64::from(tests), 3.0 - slope * years - bend * years * years + scatter)
        });
        let stretch = Stretch::new(readings.collect()).unwrap_or_else(|error| unreachable!("{error}"));
        solve(&stretch, &Priors::default()).models()
    }

    #[test]
    fn joined_models_give_the_probabilities_of_each_on_its_own() {
        let (mut joined, mut alone) = (0, 0);
        for tests in [4, 8, 12, 24, 40, 120] {
            for (slope, bend) in [(0.0, 0.0), (0.1, 0.0), (0.3, 0.0), (-0.1, 0.0), (0.05, 0.03)] {
                let mut models = models(tests, slope, bend);
                let mixture = Mixture::new(&mut models, &NoiseWeights::default());
                let lines: Vec<Line> =
                    models.models.iter().map(|m| Line::new(m, mixture.now[m.shape as usize])).collect();
                let blocks = lines.chunks(LANES).map(LineBlock::new).collect();
                let apart = Mixture { lines, blocks, ..mixture.clone() };
                joined += mixture.lines.len();
                alone += apart.lines.len();
                let total: f64 = mixture.lines.iter().map(|line| line.weight).sum();
                assert!((total - 1.0).abs() < 1e-12);
                for years in [0.0, 0.5, 2.0, 10.0, 30.0] {
                    for level in (0..60).map(|i| 0.1 * f64::from(i) - 1.0) {
                        let [a, b] = [&mixture, &apart].map(|mixture| mixture.below(&models, years, level));
                        assert!((a - b).abs() < 1e-4, "{tests} tests, {slope}, {bend}: {years} {level}: {a} {b}");
                    }
                }
            }
        }
        assert!(3 * joined < 2 * alone, "{joined} lines of {alone} models");
    }
}
