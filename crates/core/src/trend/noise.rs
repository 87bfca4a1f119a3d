//! Three kinds of noise, each applied by whitening: after it, readings are independent with variance sig².
//!
//! Both correlated kinds have a Markov structure, so one pass of a scalar filter per column does what a Cholesky
//! factor of the n × n covariance would do (Ansley 1979), in time proportional to n.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::shapes;
use crate::stats::small_matrix::NormalEquations;
use fearless_simd::{Level, dispatch};

/// Number of kinds.
pub(super) const COUNT: usize = 3;
/// Columns shared by all shapes: level, sin, cos, step, temperature.
pub(super) const SHARED: usize = 5;
/// The shared columns and the shape.
pub(super) const COLUMNS: usize = 6;
/// The shape's column.
pub(super) const SHAPE: usize = 5;
/// The column of the step of a recent fall.
pub(super) const STEP: usize = 3;
/// Column of the level.
pub(super) const LEVEL: usize = 0;
/// Column of the law's error.
pub(super) const TEMPERATURE: usize = 4;
/// Columns before the two whose prior comes in two scales.
pub(super) const HEAD: usize = 4;

/// Share of the variance that lingers.
const AUTOCORRELATED_SHARE: f64 = 0.9;
/// Time over which it is forgotten, years.
const AUTOCORRELATED_YEARS: f64 = 0.6;
/// Size of the drops in which a wandering level is lost, decades.
pub(super) const DROP: f64 = 0.07;

/// How readings scatter around the level.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoiseKind {
    /// Every reading scatters on its own.
    Independent,
    /// What pushed one reading still pushes the next: nine tenths of the variance are forgotten over 0.6 years
    /// (continuous autoregression; Jones 1993).
    Autocorrelated,
    /// The level itself is lost in random drops, with a variance proportional to the mean loss (gamma wear:
    /// Abdel-Hameed 1975; van Noortwijk 2009).
    Wandering,
}

impl NoiseKind {
    /// All kinds, in the order of every table of them.
    pub const ALL: [NoiseKind; COUNT] = [NoiseKind::Independent, NoiseKind::Autocorrelated, NoiseKind::Wandering];

    /// A name for people.
    pub fn name(self) -> &'static str {
        match self {
            NoiseKind::Independent => "independent scatter",
            NoiseKind::Autocorrelated => "autocorrelated scatter",
            NoiseKind::Wandering => "wandering level",
        }
    }
}

/// Where the reading itself and the shapes stand in a wide row.
pub(super) const READING: usize = SHARED;
const SHAPES: usize = SHARED + 1;
/// Shared columns, the reading and all shapes, padded to an even number.
pub(super) const WIDE: usize = (SHAPES + shapes::COUNT).next_multiple_of(2);

/// The columns of one reading: level, sin, cos, step, temperature; the reading; the shapes.
pub(super) fn wide(shared: [f64; SHARED], reading: f64, shapes: &[f64; shapes::COUNT]) -> [f64; WIDE] {
    let mut columns = [0.0; WIDE];
    columns[..SHARED].copy_from_slice(&shared);
    columns[READING] = reading;
    columns[SHAPES..SHAPES + shapes::COUNT].copy_from_slice(shapes);
    columns
}

/// One exact reading: its columns, its time and 1/weight.
#[derive(Clone, Copy, Debug)]
pub(super) struct ExactRow {
    pub(super) columns: [f64; WIDE],
    pub(super) t: f64,
    /// Variance of the reading in units of sig².
    pub(super) variance: f64,
}

/// Inner products of the whitened columns, enough for the normal equations of every shape.
#[derive(Clone, Debug)]
pub(super) struct Gram {
    /// Products of each shared column and the reading with every column.
    crossed: [[f64; WIDE]; SHAPES],
    /// Each column with itself.
    own: [f64; WIDE],
    /// ln of the determinant of the noise covariance in units of sig².
    pub(super) ln_det: f64,
    /// Where the autocorrelated part stands after the last reading.
    pub(super) state: State,
}

/// State of the autocorrelated noise after the last exact reading, column by column.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct State {
    pub(super) t: f64,
    columns: [f64; WIDE],
    /// Its variance in units of sig².
    pub(super) variance: f64,
}

impl State {
    /// Where it stands in a shared column or in the reading.
    pub(super) fn shared(&self, column: usize) -> f64 {
        self.columns[column]
    }

    /// Where it stands in a shape.
    pub(super) fn shape(&self, shape: usize) -> f64 {
        self.columns[SHAPES + shape]
    }
}

impl Gram {
    fn zero() -> Self {
        Self { crossed: [[0.0; WIDE]; SHAPES], own: [0.0; WIDE], ln_det: 0.0, state: State::default() }
    }

    #[inline(always)]
    fn add(&mut self, columns: &[f64; WIDE], weight: f64) {
        let mut weighted = *columns;
        for j in 0..WIDE {
            weighted[j] *= weight;
            self.own[j] += weighted[j] * columns[j];
        }
        for (i, row) in self.crossed.iter_mut().enumerate() {
            if i == STEP && columns[STEP].abs() <= 0.0 {
                continue;
            }
            for j in 0..WIDE {
                row[j] += weighted[j] * columns[i];
            }
        }
    }

    /// Normal equations of one shape, and the sum of squares of the readings.
    pub(super) fn equations(&self, shape: usize) -> (NormalEquations<COLUMNS>, f64) {
        let mut equations = NormalEquations::ZERO;
        for i in 0..SHARED {
            for j in 0..=i {
                equations.matrix[i][j] = self.crossed[i][j];
            }
            equations.right[i] = self.crossed[i][READING];
            equations.matrix[SHAPE][i] = self.crossed[i][SHAPES + shape];
        }
        equations.matrix[SHAPE][SHAPE] = self.own[SHAPES + shape];
        equations.right[SHAPE] = self.crossed[READING][SHAPES + shape];
        (equations, self.own[READING])
    }

    /// Independent noise.
    pub(super) fn independent(rows: &[ExactRow]) -> Self {
        #[cfg(test)]
        super::work::note(rows.len());
        let mut gram = Self::zero();
        let mut ln_det = LnProduct::ONE;
        dispatch!(Level::new(), _ => for row in rows {
            gram.add(&row.columns, 1.0 / row.variance);
            ln_det.take(row.variance);
        });
        gram.ln_det = ln_det.ln();
        gram
    }

    /// Autocorrelated noise, filtered from the first reading to the latest.
    pub(super) fn autocorrelated(rows: &[ExactRow]) -> Self {
        #[cfg(test)]
        super::work::note(rows.len());
        let mut filter = Filter::new(AUTOCORRELATED_SHARE);
        let mut previous = None;
        dispatch!(Level::new(), _ => for row in rows {
            if let Some(t) = previous {
                let (keep, fresh) = fade(row.t - t);
                filter.scale(keep);
                filter.state.variance = keep * keep * filter.state.variance + fresh;
            }
            previous = Some(row.t);
            filter.take(row, (row.variance - AUTOCORRELATED_SHARE).max(FLEETING_SHARE));
            filter.state.t = row.t;
        });
        filter.gram.state = filter.state;
        filter.done()
    }

    /// Wandering level of variance `rho`·sig² per year, filtered from the as-of date back.
    ///
    /// The walk is 0 at the as-of date, so past and future walk are independent.
    pub(super) fn wandering(rows: &[ExactRow], rho: f64) -> Self {
        #[cfg(test)]
        super::work::note(rows.len());
        let mut filter = Filter::new(0.0);
        let mut last = 0.0_f64;
        dispatch!(Level::new(), _ => for row in rows.iter().rev() {
            filter.state.variance += rho * (last - row.t).max(0.0);
            last = last.min(row.t);
            filter.take(row, row.variance);
        });
        filter.done()
    }
}

/// Share of the autocorrelated part that is left after `years`, and the variance that replaces what is gone.
pub(super) fn fade(years: f64) -> (f64, f64) {
    let keep = libm::exp(-years.max(0.0) / AUTOCORRELATED_YEARS);
    (keep, AUTOCORRELATED_SHARE * (1.0 - keep * keep))
}

/// Variance of one reading that does not linger, in units of sig².
pub(super) const FLEETING_SHARE: f64 = 1.0 - AUTOCORRELATED_SHARE;

/// The scalar filter, run over all columns at once.
struct Filter {
    gram: Gram,
    state: State,
    ln_det: LnProduct,
}

/// The logarithm of a long product of positive numbers: one logarithm for many factors.
struct LnProduct {
    ln: f64,
    product: f64,
}

impl LnProduct {
    const ONE: Self = Self { ln: 0.0, product: 1.0 };
    /// Products are kept inside these.
    const RANGE: std::ops::Range<f64> = 1e-100..1e100;

    #[inline]
    fn take(&mut self, factor: f64) {
        self.product *= factor;
        if !Self::RANGE.contains(&self.product) {
            self.ln += libm::log(self.product);
            self.product = 1.0;
        }
    }

    fn ln(&self) -> f64 {
        self.ln + libm::log(self.product)
    }
}

impl Filter {
    fn new(variance: f64) -> Self {
        Self { gram: Gram::zero(), state: State { variance, ..State::default() }, ln_det: LnProduct::ONE }
    }

    fn done(mut self) -> Gram {
        self.gram.ln_det = self.ln_det.ln();
        self.gram
    }

    #[inline(always)]
    fn scale(&mut self, keep: f64) {
        for m in &mut self.state.columns {
            *m *= keep;
        }
    }

    /// Takes in one reading whose own variance, beyond the state's, is `own`.
    #[inline(always)]
    fn take(&mut self, row: &ExactRow, own: f64) {
        let total = self.state.variance + own;
        let gain = self.state.variance / total;
        let mut columns = row.columns;
        for j in 0..WIDE {
            columns[j] -= self.state.columns[j];
            self.state.columns[j] += gain * columns[j];
        }
        self.gram.add(&columns, 1.0 / total);
        self.ln_det.take(total);
        self.state.variance *= 1.0 - gain;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TIMES: [f64; 6] = [-3.0, -2.2, -2.2, -1.1, -0.9, -0.2];
    const VARIANCES: [f64; 6] = [1.0, 1.4, 1.0, 31.0, 1.0, 1.0];

    fn rows() -> Vec<ExactRow> {
        TIMES
            .iter()
            .zip(VARIANCES)
            .enumerate()
            .map(|(k, (&t, variance))| {
                let k = k as f64;
                ExactRow {
                    columns: wide(
                        [1.0, (2.0 * t).sin(), (3.0 * t).cos(), f64::from(u8::from(k > 3.5)), k * 0.3 - 1.0],
                        2.0 - 0.1 * k * k,
                        &std::array::from_fn(|j| t * (1.0 + 0.1 * j as f64) + k.sqrt()),
                    ),
                    t,
                    variance,
                }
            })
            .collect()
    }

    /// x′ V⁻¹ y and ln det V by Gaussian elimination on the full covariance.
    fn dense(covariance: impl Fn(usize, usize) -> f64, x: &[f64], y: &[f64]) -> (f64, f64) {
        let n = x.len();
        let mut a: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| covariance(i, j)).chain([y[i]]).collect()).collect();
        let mut ln_det = 0.0;
        for i in 0..n {
            ln_det += a[i][i].ln();
            for k in 0..n {
                if k != i {
                    let factor = a[k][i] / a[i][i];
                    for j in i..=n {
                        a[k][j] -= factor * a[i][j];
                    }
                }
            }
        }
        ((0..n).map(|i| x[i] * a[i][n] / a[i][i]).sum(), ln_det)
    }

    fn agree(gram: &Gram, covariance: impl Fn(usize, usize) -> f64) {
        let rows = rows();
        for shape in [0, 8] {
            let (equations, squares) = gram.equations(shape);
            let column = |i: usize| -> Vec<f64> {
                let value = |r: &ExactRow| {
                    if i == SHAPE { r.columns[SHAPES + shape] } else { r.columns[i] }
                };
                rows.iter().map(value).collect()
            };
            let reading: Vec<f64> = rows.iter().map(|r| r.columns[READING]).collect();
            let check = |got: f64, x: &[f64], y: &[f64]| {
                let (expected, ln_det) = dense(&covariance, x, y);
                assert!((got - expected).abs() < 1e-10 * (1.0 + expected.abs()), "{got} {expected}");
                assert!((gram.ln_det - ln_det).abs() < 1e-10);
            };
            for i in 0..COLUMNS {
                for j in 0..=i {
                    check(equations.matrix[i][j], &column(i), &column(j));
                }
                check(equations.right[i], &column(i), &reading);
            }
            check(squares, &reading, &reading);
        }
    }

    #[test]
    fn the_filters_whiten_like_the_full_covariance() {
        let same = |i: usize, j: usize| if i == j { 1.0 } else { 0.0 };
        agree(&Gram::independent(&rows()), |i, j| same(i, j) * VARIANCES[i]);
        agree(&Gram::autocorrelated(&rows()), |i, j| {
            let lingers = AUTOCORRELATED_SHARE * (-(TIMES[i] - TIMES[j]).abs() / AUTOCORRELATED_YEARS).exp();
            lingers + same(i, j) * (VARIANCES[i] - AUTOCORRELATED_SHARE)
        });
        let rho = 2.3;
        agree(&Gram::wandering(&rows(), rho), |i, j| {
            rho * TIMES[i].abs().min(TIMES[j].abs()) + same(i, j) * VARIANCES[i]
        });
    }
}
