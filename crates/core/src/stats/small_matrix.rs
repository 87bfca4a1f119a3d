//! Symmetric systems of a handful of unknowns, on the stack: the normal equations of a regression and their
//! Cholesky factor.
//!
//! Every system here carries a positive prior on each unknown, so the matrices are positive definite by
//! construction; a pivot lost to rounding is floored instead of failing.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use fearless_simd::{Level, Simd, SimdFrom, dispatch, f64x4};

/// The smallest pivot, relative to its diagonal element, that is not put down to rounding.
const PIVOT_FLOOR: f64 = 1e-14;

/// Normal equations of a weighted regression with `N` columns; only the lower triangle of `matrix` is used.
#[derive(Clone, Copy, Debug)]
pub(crate) struct NormalEquations<const N: usize> {
    pub(crate) matrix: [[f64; N]; N],
    pub(crate) right: [f64; N],
}

impl<const N: usize> NormalEquations<N> {
    pub(crate) const ZERO: Self = Self { matrix: [[0.0; N]; N], right: [0.0; N] };

    /// The prior alone: independent normals of the given precision and mean.
    pub(crate) fn from_prior(precision: &[f64; N], mean: &[f64; N]) -> Self {
        let mut equations = Self::ZERO;
        for i in 0..N {
            equations.matrix[i][i] = precision[i];
            equations.right[i] = precision[i] * mean[i];
        }
        equations
    }

    /// The sum of two systems of the same columns.
    #[inline(always)]
    pub(crate) fn plus(&self, other: &Self) -> Self {
        let mut sum = *other;
        for i in 0..N {
            for j in 0..=i {
                sum.matrix[i][j] += self.matrix[i][j];
            }
            sum.right[i] += self.right[i];
        }
        sum
    }

    /// The factor of `matrix`.
    pub(crate) fn factor(&self) -> Cholesky<N> {
        Cholesky::factor(&self.matrix)
    }

    /// The solution.
    pub(crate) fn solve(&self) -> [f64; N] {
        self.factor().solve(&self.right)
    }
}

/// Numbers of a row that are worked on side by side.
const LANES: usize = 4;

/// Normal equations on their way, held in registers: sums over many readings, in their order, each element on its own. At most
/// eight columns.
pub(crate) struct Gathering<S: Simd, const N: usize> {
    simd: S,
    /// The first four columns of each row of the matrix, and the others.
    first: [f64x4<S>; N],
    others: [f64x4<S>; N],
    right: [f64x4<S>; 2],
}

impl<S: Simd, const N: usize> Gathering<S, N> {
    #[inline(always)]
    pub(crate) fn new(simd: S) -> Self {
        let nothing = f64x4::simd_from(simd, 0.0);
        Self { simd, first: [nothing; N], others: [nothing; N], right: [nothing; 2] }
    }

    /// Begins with these.
    #[inline(always)]
    pub(crate) fn from(simd: S, equations: &NormalEquations<N>) -> Self {
        let mut gathering = Self::new(simd);
        for i in 0..N {
            gathering.first[i] = gathering.columns(&equations.matrix[i], 0);
            gathering.others[i] = gathering.columns(&equations.matrix[i], LANES);
        }
        gathering.right = [0, LANES].map(|from| gathering.columns(&equations.right, from));
        gathering
    }

    /// Four columns of a row, 0 where there are none.
    #[inline(always)]
    fn columns(&self, x: &[f64; N], from: usize) -> f64x4<S> {
        let value = |k: usize| if from + k < N { x[from + k] } else { 0.0 };
        f64x4::simd_from(self.simd, [value(0), value(1), value(2), value(3)])
    }

    /// Adds one reading `y` at row `x` with weight `w`.
    #[inline(always)]
    pub(crate) fn add(&mut self, x: &[f64; N], w: f64, y: f64) {
        let (first, others) = (self.columns(x, 0), self.columns(x, LANES));
        for i in 0..N {
            let wx = w * x[i];
            self.first[i] += first * wx;
            if i >= LANES {
                self.others[i] += others * wx;
            }
        }
        self.right[0] += first * w * y;
        self.right[1] += others * w * y;
    }

    /// The sums.
    #[inline(always)]
    pub(crate) fn equations(&self) -> NormalEquations<N> {
        let mut equations = NormalEquations::ZERO;
        for i in 0..N {
            for j in 0..=i {
                equations.matrix[i][j] = if j < LANES { self.first[i][j] } else { self.others[i][j - LANES] };
            }
            equations.right[i] = self.right[i / LANES][i % LANES];
        }
        equations
    }
}

/// The normal equations of rows, each with its weight and its reading.
pub(crate) fn gather<const N: usize>(rows: impl Iterator<Item = ([f64; N], f64, f64)>) -> NormalEquations<N> {
    #[inline(always)]
    fn all<S: Simd, const N: usize>(simd: S, rows: impl Iterator<Item = ([f64; N], f64, f64)>) -> NormalEquations<N> {
        let mut gathering = Gathering::new(simd);
        for (x, w, y) in rows {
            gathering.add(&x, w, y);
        }
        gathering.equations()
    }
    dispatch!(Level::new(), simd => all(simd, rows))
}

/// Lower Cholesky factor, with the reciprocals of its diagonal.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cholesky<const N: usize> {
    lower: [[f64; N]; N],
    reciprocal: [f64; N],
}

impl<const N: usize> Cholesky<N> {
    /// Factors the lower triangle of `matrix`.
    pub(crate) fn factor(matrix: &[[f64; N]; N]) -> Self {
        let mut lower = [[0.0; N]; N];
        let mut reciprocal = [0.0; N];
        for i in 0..N {
            for j in 0..i {
                let mut sum = matrix[i][j];
                for k in 0..j {
                    sum -= lower[i][k] * lower[j][k];
                }
                lower[i][j] = sum * reciprocal[j];
            }
            let mut pivot = matrix[i][i];
            for k in 0..i {
                pivot -= lower[i][k] * lower[i][k];
            }
            let pivot = pivot.max(PIVOT_FLOOR * matrix[i][i]).max(f64::MIN_POSITIVE).sqrt();
            lower[i][i] = pivot;
            reciprocal[i] = 1.0 / pivot;
        }
        Self { lower, reciprocal }
    }

    /// L⁻¹ b.
    pub(crate) fn forward(&self, b: &[f64; N]) -> [f64; N] {
        let mut x = *b;
        for i in 0..N {
            let mut sum = x[i];
            for k in 0..i {
                sum -= self.lower[i][k] * x[k];
            }
            x[i] = sum * self.reciprocal[i];
        }
        x
    }

    /// L⁻ᵀ b.
    pub(crate) fn backward(&self, b: &[f64; N]) -> [f64; N] {
        let mut x = *b;
        for i in (0..N).rev() {
            let mut sum = x[i];
            for k in i + 1..N {
                sum -= self.lower[k][i] * x[k];
            }
            x[i] = sum * self.reciprocal[i];
        }
        x
    }

    /// A⁻¹ b.
    pub(crate) fn solve(&self, b: &[f64; N]) -> [f64; N] {
        self.backward(&self.forward(b))
    }

    /// x′ A⁻¹ x.
    pub(crate) fn quadratic(&self, x: &[f64; N]) -> f64 {
        let scaled = self.forward(x);
        dot(&scaled, &scaled)
    }

    /// The diagonal of A⁻¹.
    pub(crate) fn inverse_diagonal(&self) -> [f64; N] {
        let mut diagonal = [0.0; N];
        let mut inverse = [[0.0; N]; N];
        for i in 0..N {
            // Row i of L⁻¹, from the rows above it.
            let mut row = [0.0; N];
            for k in 0..i {
                for j in 0..=k {
                    row[j] -= self.lower[i][k] * inverse[k][j];
                }
            }
            for j in 0..i {
                row[j] *= self.reciprocal[i];
            }
            row[i] = self.reciprocal[i];
            for j in 0..=i {
                diagonal[j] += row[j] * row[j];
            }
            inverse[i] = row;
        }
        diagonal
    }

    /// A⁻¹, both triangles.
    pub(crate) fn inverse(&self) -> [[f64; N]; N] {
        let mut inverse = [[0.0; N]; N];
        for (i, column) in inverse.iter_mut().enumerate() {
            let mut unit = [0.0; N];
            unit[i] = 1.0;
            *column = self.solve(&unit);
        }
        inverse
    }
}

/// The inner product.
#[inline]
pub(crate) fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    let mut sum = 0.0;
    for i in 0..N {
        sum += a[i] * b[i];
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_system_worked_by_hand() {
        // [4 2; 2 5] has inverse [5 -2; -2 4]/16.
        let chol = Cholesky::factor(&[[4.0, 0.0], [2.0, 5.0]]);
        let inverse = chol.inverse();
        for (got, want) in [(inverse[0][0], 5.0 / 16.0), (inverse[0][1], -2.0 / 16.0), (inverse[1][1], 4.0 / 16.0)] {
            assert!((got - want).abs() < 1e-15);
        }
        let diagonal = chol.inverse_diagonal();
        assert!((diagonal[0] - 5.0 / 16.0).abs() < 1e-15 && (diagonal[1] - 0.25).abs() < 1e-15);
        assert!((chol.quadratic(&[1.0, 1.0]) - 5.0 / 16.0).abs() < 1e-15);
    }

    #[test]
    fn a_singular_matrix_gives_finite_answers() {
        let x = Cholesky::factor(&[[1.0, 0.0], [1.0, 1.0]]).solve(&[1.0, 1.0]);
        assert!(x.iter().all(|v| v.is_finite()));
    }

    #[test]
    fn normal_equations_find_the_line_through_two_readings() {
        let readings = gather([([1.0, 0.0], 1.0, 3.0), ([1.0, 2.0], 1.0, 7.0)].into_iter());
        let beta = NormalEquations::from_prior(&[1e-12; 2], &[0.0; 2]).plus(&readings).solve();
        assert!((beta[0] - 3.0).abs() < 1e-9 && (beta[1] - 2.0).abs() < 1e-9);
    }

    /// Sums in two plain loops, for six columns, which do not fill the registers.
    #[test]
    fn what_is_gathered_are_the_plain_sums_bit_for_bit() {
        let rows: Vec<([f64; 6], f64, f64)> = (0..50)
            .map(|k| {
                (std::array::from_fn(|i| f64::from(k * 7 % 11 + i as i32).sin()), 0.1 + f64::from(k % 5), f64::from(k))
            })
            .collect();
        let gathered = gather(rows.iter().copied());
        for i in 0..6 {
            for j in 0..=i {
                let plain = rows.iter().fold(0.0, |sum, (x, w, _)| sum + x[j] * (w * x[i]));
                assert_eq!(gathered.matrix[i][j].to_bits(), plain.to_bits(), "{i} {j}");
            }
            let plain = rows.iter().fold(0.0, |sum, (x, w, y)| sum + x[i] * w * y);
            assert_eq!(gathered.right[i].to_bits(), plain.to_bits(), "{i}");
        }
    }
}
