//! Regression with bounds: the penalised censored normal likelihood (Tobin 1958), by Newton steps written as
//! weighted least squares (Amemiya 1984).
//!
//! A bound on the right side of the fit gets a weight near 0 by itself; one that contradicts the fit acts like a
//! reading.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use crate::stats::normal_table::NormalTable;
use crate::stats::small_matrix::{Cholesky, Gathering, NormalEquations};
use fearless_simd::{Level, Simd, SimdBase, SimdFrom, dispatch, f64x4};

/// Argument of the tail is kept above this.
const LEAST_ARGUMENT: f64 = -30.0;
/// Weight of a bound before the first fit.
const START_WEIGHT: f64 = 0.25;
/// Least weight of a bound.
const LEAST_WEIGHT: f64 = 1e-9;
/// The fit has settled when no coefficient moves more than this.
const SETTLED: f64 = 1e-5;
/// A bound this many standard deviations away on its right side pulls on nothing.
const HELD: f64 = 7.0;
/// And its probability is 1 to ten digits from here on.
const CERTAIN: f64 = 6.5;
/// Newton steps at most.
pub(super) const STEPS: usize = 12;

/// One bound as a row of a regression.
#[derive(Clone, Copy, Debug)]
pub(super) struct BoundRow<const N: usize> {
    pub(super) x: [f64; N],
    pub(super) y: f64,
    /// +1: the truth is above y; -1: below.
    pub(super) sign: f64,
    /// Known extra variance, decades².
    pub(super) extra: f64,
    /// Place among the readings.
    pub(super) index: usize,
}

/// Bounds that are worked on side by side.
const LANES: usize = 4;
type Lanes = [f64; LANES];

/// Neighbouring bounds, column by column, and what the last fit made of them; what is missing in the last block holds by
/// whatever margin.
#[derive(Clone, Debug)]
struct Block<const N: usize> {
    columns: [Lanes; N],
    y: Lanes,
    sign: Lanes,
    extra: Lanes,
    /// Standard deviation, and the ordinary one in units of it.
    sd: Lanes,
    ordinary: Lanes,
    /// Weight in units of 1/sig², and pseudo-reading.
    weight: Lanes,
    value: Lanes,
}

impl<const N: usize> Block<N> {
    fn new(rows: &[BoundRow<N>]) -> Self {
        let column = |of: &dyn Fn(&BoundRow<N>) -> f64, missing: f64| -> Lanes {
            std::array::from_fn(|k| rows.get(k).map_or(missing, of))
        };
        Self {
            columns: std::array::from_fn(|i| column(&|row| row.x[i], 0.0)),
            y: column(&|row| row.y, f64::MIN),
            sign: column(&|row| row.sign, 1.0),
            extra: column(&|row| row.extra, 0.0),
            sd: [1.0; LANES],
            ordinary: [1.0; LANES],
            weight: [0.0; LANES],
            value: [0.0; LANES],
        }
    }

    /// Takes note of the ordinary standard deviation.
    fn scale(&mut self, sig: f64) {
        for k in 0..LANES {
            self.sd[k] = if self.extra[k] > 0.0 { (sig * sig + self.extra[k]).sqrt() } else { sig };
            self.ordinary[k] = sig / self.sd[k];
        }
    }

    /// Fitted values, and how many standard deviations they lie on the right side.
    #[inline(always)]
    fn fitted<S: Simd>(&self, simd: S, beta: &[f64; N]) -> [f64x4<S>; 2] {
        let lanes = |lanes: Lanes| f64x4::simd_from(simd, lanes);
        let mut fitted = f64x4::simd_from(simd, 0.0);
        for i in 0..N {
            fitted += lanes(self.columns[i]) * beta[i];
        }
        [fitted, lanes(self.sign) * (fitted - lanes(self.y)) / lanes(self.sd)]
    }

    /// Weights (in units of 1/sig²) and pseudo-readings at some coefficients.
    #[inline(always)]
    fn linearise<S: Simd>(&mut self, simd: S, beta: &[f64; N], table: NormalTable) {
        let lanes = |lanes: Lanes| f64x4::simd_from(simd, lanes);
        let all = |value: f64| f64x4::simd_from(simd, value);
        let [fitted, q] = self.fitted(simd, beta);
        let q = q.max(all(LEAST_ARGUMENT));
        if q.iter().all(|q| *q > HELD) {
            (self.weight, self.value) = ([0.0; LANES], *fitted);
            return;
        }
        let mills = |k: usize| if q[k] > HELD { 1.0 } else { table.inverse_mills(q[k]) };
        let lam = lanes([mills(0), mills(1), mills(2), mills(3)]);
        let w = (lam * (lam + q)).max(all(LEAST_WEIGHT)).min(all(1.0));
        let ordinary = lanes(self.ordinary);
        self.weight = *(w * ordinary * ordinary);
        self.value = *(fitted + lanes(self.sign) * lanes(self.sd) * lam / w);
        for k in 0..LANES {
            if q[k] > HELD {
                (self.weight[k], self.value[k]) = (0.0, fitted[k]);
            }
        }
    }
}

/// The bounds of a regression.
#[derive(Clone, Debug)]
pub(super) struct Bounds<const N: usize> {
    rows: Vec<BoundRow<N>>,
    blocks: Vec<Block<N>>,
}

impl<const N: usize> FromIterator<BoundRow<N>> for Bounds<N> {
    fn from_iter<I: IntoIterator<Item = BoundRow<N>>>(rows: I) -> Self {
        let rows: Vec<BoundRow<N>> = rows.into_iter().collect();
        let blocks = rows.chunks(LANES).map(Block::new).collect();
        Self { rows, blocks }
    }
}

impl<const N: usize> Bounds<N> {
    pub(super) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    /// Each bound with the weight and the pseudo-reading by which it took part in the last fit.
    pub(super) fn pulled(&self) -> impl Iterator<Item = (&BoundRow<N>, f64, f64)> {
        let pulls = self.blocks.iter().flat_map(|block| block.weight.into_iter().zip(block.value));
        self.rows.iter().zip(pulls).map(|(row, (w, z))| (row, w, z))
    }

    /// ln P(all bounds hold) at some coefficients, with the scatter of the last fit.
    pub(super) fn ln_probability(&self, beta: &[f64; N]) -> f64 {
        #[cfg(test)]
        super::work::note(self.len());
        dispatch!(Level::new(), simd => ln_probability(simd, &self.blocks, beta))
    }
}

#[inline(always)]
fn ln_probability<S: Simd, const N: usize>(simd: S, blocks: &[Block<N>], beta: &[f64; N]) -> f64 {
    let table = NormalTable::new();
    let mut sum = 0.0;
    for block in blocks {
        let [_, q] = block.fitted(simd, beta);
        for q in q.iter().filter(|q| **q < CERTAIN) {
            sum += table.ln_lower_tail(*q);
        }
    }
    sum
}

/// A fit: coefficients, the factor of the equations that gave them, and the bounds' part in these.
#[derive(Clone, Debug)]
pub(super) struct CensoredFit<const N: usize> {
    pub(super) beta: [f64; N],
    /// Prior, exact readings and bounds.
    pub(super) factor: Cholesky<N>,
    /// The bounds alone.
    pub(super) from_bounds: NormalEquations<N>,
}

/// Fits `fixed` (prior and weighted exact readings) together with bounds, in at most `steps` steps from `start`.
///
/// Without a start every bound first counts as a light reading at its own value.
pub(super) fn fit<const N: usize>(
    fixed: &NormalEquations<N>,
    bounds: &mut Bounds<N>,
    sig: f64,
    start: Option<[f64; N]>,
    steps: usize,
) -> CensoredFit<N> {
    if bounds.is_empty() {
        let factor = fixed.factor();
        return CensoredFit { beta: factor.solve(&fixed.right), factor, from_bounds: NormalEquations::ZERO };
    }
    for (block, rows) in bounds.blocks.iter_mut().zip(bounds.rows.chunks(LANES)) {
        block.scale(sig);
        for (k, row) in rows.iter().enumerate() {
            block.weight[k] = START_WEIGHT * sig * sig / (sig * sig + row.extra);
            block.value[k] = row.y;
        }
    }
    dispatch!(Level::new(), simd => newton(simd, fixed, bounds, start, steps))
}

#[inline(always)]
fn newton<S: Simd, const N: usize>(
    simd: S,
    fixed: &NormalEquations<N>,
    bounds: &mut Bounds<N>,
    start: Option<[f64; N]>,
    steps: usize,
) -> CensoredFit<N> {
    let table = NormalTable::new();
    let mut beta = start.unwrap_or([0.0; N]);
    let mut step = 0;
    loop {
        #[cfg(test)]
        super::work::note(bounds.len());
        let mut from_bounds = Gathering::new(simd);
        for (block, rows) in bounds.blocks.iter_mut().zip(bounds.rows.chunks(LANES)) {
            if step > 0 || start.is_some() {
                block.linearise(simd, &beta, table);
            }
            for (k, row) in rows.iter().enumerate() {
                if block.weight[k] > 0.0 {
                    from_bounds.add(&row.x, block.weight[k], block.value[k]);
                }
            }
        }
        let from_bounds = from_bounds.equations();
        let equations = fixed.plus(&from_bounds);
        let factor = equations.factor();
        let next = factor.solve(&equations.right);
        let moved = (0..N).fold(0.0_f64, |m, i| m.max((next[i] - beta[i]).abs()));
        beta = next;
        step += 1;
        if moved < SETTLED || step >= steps {
            return CensoredFit { beta, factor, from_bounds };
        }
    }
}
