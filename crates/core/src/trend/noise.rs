//! Three kinds of noise, each applied by whitening: after it, readings are independent with variance sig².
//!
//! Both correlated kinds have a Markov structure, so one pass of a scalar filter per column does what a Cholesky
//! factor of the n × n covariance would do (Ansley 1979), in time proportional to n.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::shapes;
use crate::stats::small_matrix::NormalEquations;

/// Number of kinds.
pub(super) const COUNT: usize = 3;
/// Columns shared by all shapes: level, sin, cos, step, temperature.
pub(super) const SHARED: usize = 5;
/// The shared columns and the shape.
pub(super) const COLUMNS: usize = 6;
/// The shape's column.
pub(super) const SHAPE: usize = 5;

/// Share of the variance that lingers.
const LINGERING_SHARE: f64 = 0.9;
/// Time over which it is forgotten, years.
const LINGERING_YEARS: f64 = 0.6;
/// Size of the lumps in which a wandering level is lost, decades.
pub(super) const LUMP: f64 = 0.07;

/// How readings scatter around the level.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoiseKind {
    /// Every reading scatters on its own.
    Independent,
    /// What pushed one reading still pushes the next: nine tenths of the variance are forgotten over 0.6 years
    /// (continuous autoregression; Jones 1993).
    Lingering,
    /// The level itself is lost in random lumps, with a variance proportional to the mean loss (gamma wear:
    /// Abdel-Hameed 1975; van Noortwijk 2009).
    Wandering,
}

impl NoiseKind {
    /// All kinds, in the order of every table of them.
    pub const ALL: [NoiseKind; COUNT] = [NoiseKind::Independent, NoiseKind::Lingering, NoiseKind::Wandering];

    /// A name for people.
    pub fn name(self) -> &'static str {
        match self {
            NoiseKind::Independent => "independent scatter",
            NoiseKind::Lingering => "lingering scatter",
            NoiseKind::Wandering => "wandering level",
        }
    }
}

/// One exact reading: shared columns and the reading itself, the shapes, its time and 1/weight.
#[derive(Clone, Copy, Debug)]
pub(super) struct ExactRow {
    /// Level, sin, cos, step, temperature, reading.
    pub(super) shared: [f64; SHARED + 1],
    pub(super) shapes: [f64; shapes::COUNT],
    pub(super) t: f64,
    /// Variance of the reading in units of sig².
    pub(super) variance: f64,
}

/// Inner products of the whitened columns, enough for the normal equations of every shape.
#[derive(Clone, Debug)]
pub(super) struct Gram {
    /// Products among shared columns and the reading; lower triangle.
    shared: [[f64; SHARED + 1]; SHARED + 1],
    /// Products of shared columns and the reading with each shape.
    crossed: [[f64; shapes::COUNT]; SHARED + 1],
    /// Each shape with itself.
    own: [f64; shapes::COUNT],
    /// ln of the determinant of the noise covariance in units of sig².
    pub(super) ln_det: f64,
    /// Where the lingering part stands after the last reading.
    pub(super) state: State,
}

/// State of the lingering noise after the last exact reading, column by column.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct State {
    pub(super) t: f64,
    pub(super) shared: [f64; SHARED + 1],
    pub(super) shapes: [f64; shapes::COUNT],
    /// Its variance in units of sig².
    pub(super) variance: f64,
}

impl Gram {
    fn zero() -> Self {
        Self {
            shared: [[0.0; SHARED + 1]; SHARED + 1],
            crossed: [[0.0; shapes::COUNT]; SHARED + 1],
            own: [0.0; shapes::COUNT],
            ln_det: 0.0,
            state: State::default(),
        }
    }

    #[inline]
    fn add(&mut self, shared: &[f64; SHARED + 1], shapes: &[f64; shapes::COUNT], weight: f64) {
        for i in 0..=SHARED {
            let w = weight * shared[i];
            for j in 0..=i {
                self.shared[i][j] += w * shared[j];
            }
            for j in 0..shapes::COUNT {
                self.crossed[i][j] += w * shapes[j];
            }
        }
        for j in 0..shapes::COUNT {
            self.own[j] += weight * shapes[j] * shapes[j];
        }
    }

    /// Normal equations of one shape, and the sum of squares of the readings.
    pub(super) fn equations(&self, shape: usize) -> (NormalEquations<COLUMNS>, f64) {
        let mut equations = NormalEquations::ZERO;
        for i in 0..SHARED {
            for j in 0..=i {
                equations.matrix[i][j] = self.shared[i][j];
            }
            equations.right[i] = self.shared[SHARED][i];
            equations.matrix[SHAPE][i] = self.crossed[i][shape];
        }
        equations.matrix[SHAPE][SHAPE] = self.own[shape];
        equations.right[SHAPE] = self.crossed[SHARED][shape];
        (equations, self.shared[SHARED][SHARED])
    }

    /// Independent noise.
    pub(super) fn independent(rows: &[ExactRow]) -> Self {
        let mut gram = Self::zero();
        for row in rows {
            gram.add(&row.shared, &row.shapes, 1.0 / row.variance);
            gram.ln_det += row.variance.ln();
        }
        gram
    }

    /// Lingering noise, filtered from the first reading to the latest.
    pub(super) fn lingering(rows: &[ExactRow]) -> Self {
        let mut filter = Filter::new(LINGERING_SHARE);
        let mut previous = None;
        for row in rows {
            if let Some(t) = previous {
                let (keep, fresh) = fade(row.t - t);
                filter.scale(keep);
                filter.state.variance = keep * keep * filter.state.variance + fresh;
            }
            previous = Some(row.t);
            filter.take(row, (row.variance - LINGERING_SHARE).max(FLEETING_SHARE));
            filter.state.t = row.t;
        }
        filter.gram.state = filter.state;
        filter.gram
    }

    /// Wandering level of variance `rho`·sig² per year, filtered from the as-of date back.
    ///
    /// The walk is 0 at the as-of date, so past and future walk are independent.
    pub(super) fn wandering(rows: &[ExactRow], rho: f64) -> Self {
        let mut filter = Filter::new(0.0);
        let mut last = 0.0_f64;
        for row in rows.iter().rev() {
            filter.state.variance += rho * (last - row.t).max(0.0);
            last = last.min(row.t);
            filter.take(row, row.variance);
        }
        filter.gram
    }
}

/// Share of the lingering part that is left after `years`, and the variance that replaces what is gone.
pub(super) fn fade(years: f64) -> (f64, f64) {
    let keep = (-years.max(0.0) / LINGERING_YEARS).exp();
    (keep, LINGERING_SHARE * (1.0 - keep * keep))
}

/// Variance of one reading that does not linger, in units of sig².
pub(super) const FLEETING_SHARE: f64 = 1.0 - LINGERING_SHARE;

/// The scalar filter, run over all columns at once.
struct Filter {
    gram: Gram,
    state: State,
}

impl Filter {
    fn new(variance: f64) -> Self {
        Self { gram: Gram::zero(), state: State { variance, ..State::default() } }
    }

    fn scale(&mut self, keep: f64) {
        for m in &mut self.state.shared {
            *m *= keep;
        }
        for m in &mut self.state.shapes {
            *m *= keep;
        }
    }

    /// Takes in one reading whose own variance, beyond the state's, is `own`.
    #[inline]
    fn take(&mut self, row: &ExactRow, own: f64) {
        let total = self.state.variance + own;
        let gain = self.state.variance / total;
        let mut shared = row.shared;
        let mut shapes = row.shapes;
        for (v, m) in shared.iter_mut().zip(&mut self.state.shared) {
            *v -= *m;
            *m += gain * *v;
        }
        for (v, m) in shapes.iter_mut().zip(&mut self.state.shapes) {
            *v -= *m;
            *m += gain * *v;
        }
        self.gram.add(&shared, &shapes, 1.0 / total);
        self.gram.ln_det += total.ln();
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
                    shared: [1.0, (2.0 * t).sin(), (3.0 * t).cos(), 0.0, k * 0.3 - 1.0, 2.0 - 0.1 * k * k],
                    shapes: std::array::from_fn(|j| t * (1.0 + 0.1 * j as f64) + k.sqrt()),
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
                    if i == SHAPE { r.shapes[shape] } else { r.shared[i] }
                };
                rows.iter().map(value).collect()
            };
            let reading: Vec<f64> = rows.iter().map(|r| r.shared[SHARED]).collect();
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
        agree(&Gram::lingering(&rows()), |i, j| {
            let lingers = LINGERING_SHARE * (-(TIMES[i] - TIMES[j]).abs() / LINGERING_YEARS).exp();
            lingers + same(i, j) * (VARIANCES[i] - LINGERING_SHARE)
        });
        let rho = 2.3;
        agree(&Gram::wandering(&rows(), rho), |i, j| {
            rho * TIMES[i].abs().min(TIMES[j].abs()) + same(i, j) * VARIANCES[i]
        });
    }
}
