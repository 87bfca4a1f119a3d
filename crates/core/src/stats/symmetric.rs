//! Small symmetric matrices: covariances, and the Cholesky factor that solves with them.

/// A symmetric matrix of a few rows, stored whole.
///
/// # Units
///
/// Entry (i, j) has the product of the units of parameters i and j.
#[derive(Debug, Clone, PartialEq)]
pub struct SymmetricMatrix {
    size: usize,
    entries: Vec<f64>,
}

impl SymmetricMatrix {
    /// A matrix of zeros.
    pub(crate) fn zeros(size: usize) -> Self {
        Self { size, entries: vec![0.0; size * size] }
    }

    /// Number of rows.
    #[must_use]
    pub fn size(&self) -> usize {
        self.size
    }

    /// Entry in row `i`, column `j`, both from 0; `None` outside the matrix.
    #[must_use]
    pub fn get(&self, i: usize, j: usize) -> Option<f64> {
        (i < self.size && j < self.size).then(|| self.entries[i * self.size + j])
    }

    /// Square root of a diagonal entry: the standard error of parameter `i`, from 0; `None` outside the matrix.
    #[must_use]
    pub fn standard_error(&self, i: usize) -> Option<f64> {
        self.get(i, i).map(|v| v.max(0.0).sqrt())
    }

    /// Square roots of the diagonal.
    #[must_use]
    pub fn standard_errors(&self) -> Vec<f64> {
        (0..self.size).map(|i| self.at(i, i).max(0.0).sqrt()).collect()
    }

    /// Entry at a place known to be inside.
    pub(crate) fn at(&self, i: usize, j: usize) -> f64 {
        self.entries[i * self.size + j]
    }

    /// Sets one entry and its mirror image.
    pub(crate) fn set(&mut self, i: usize, j: usize, value: f64) {
        self.entries[i * self.size + j] = value;
        self.entries[j * self.size + i] = value;
    }

    /// Adds `factor * a a'` to the lower triangle only; [`Self::mirror`] completes it.
    pub(crate) fn add_outer_lower(&mut self, factor: f64, a: &[f64]) {
        for (i, &ai) in a.iter().enumerate() {
            let row = &mut self.entries[i * self.size..i * self.size + i + 1];
            for (entry, &aj) in row.iter_mut().zip(a) {
                *entry += factor * ai * aj;
            }
        }
    }

    /// Adds to one entry of the lower triangle.
    pub(crate) fn add_lower(&mut self, i: usize, j: usize, value: f64) {
        self.entries[i * self.size + j] += value;
    }

    /// Sets every entry to zero.
    pub(crate) fn clear(&mut self) {
        self.entries.fill(0.0);
    }

    /// Copies the lower triangle to the upper.
    pub(crate) fn mirror(&mut self) {
        for i in 0..self.size {
            for j in 0..i {
                self.entries[j * self.size + i] = self.entries[i * self.size + j];
            }
        }
    }

    /// The value of `a' M a`.
    pub(crate) fn quadratic(&self, a: &[f64]) -> f64 {
        let mut sum = 0.0;
        for (i, &ai) in a.iter().enumerate() {
            for (j, &aj) in a.iter().enumerate() {
                sum += ai * aj * self.at(i, j);
            }
        }
        sum
    }

    /// The covariance `J M J'` of linear combinations, `jacobian` holding one combination a row.
    pub(crate) fn transformed(&self, jacobian: &[Vec<f64>]) -> Self {
        let mut out = Self::zeros(jacobian.len());
        for (i, a) in jacobian.iter().enumerate() {
            let mapped: Vec<f64> =
                (0..self.size).map(|k| a.iter().enumerate().map(|(l, &v)| v * self.at(l, k)).sum()).collect();
            for (j, b) in jacobian.iter().enumerate().take(i + 1) {
                out.set(i, j, mapped.iter().zip(b).map(|(x, y)| x * y).sum());
            }
        }
        out
    }

    /// Whether every entry is a finite number.
    pub(crate) fn is_finite(&self) -> bool {
        self.entries.iter().all(|v| v.is_finite())
    }
}

/// The lower Cholesky factor of a positive definite matrix.
pub(crate) struct Cholesky {
    size: usize,
    factor: Vec<f64>,
}

impl Cholesky {
    /// Factors the lower triangle of `m` after adding `ridge` times its diagonal; `None` unless positive definite.
    pub(crate) fn new(m: &SymmetricMatrix, ridge: f64) -> Option<Self> {
        let n = m.size;
        let mut l = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let mut sum = m.at(i, j);
                if i == j {
                    sum += ridge * m.at(i, i).abs();
                }
                for k in 0..j {
                    sum -= l[i * n + k] * l[j * n + k];
                }
                if i == j {
                    // A pivot that has lost all its digits is rounding, not curvature.
                    if !sum.is_finite() || sum <= 1e-15 * m.at(i, i).abs() {
                        return None;
                    }
                    l[i * n + i] = sum.sqrt();
                } else {
                    l[i * n + j] = sum / l[j * n + j];
                }
            }
        }
        Some(Self { size: n, factor: l })
    }

    /// Solves `M x = b`.
    pub(crate) fn solve(&self, b: &[f64]) -> Vec<f64> {
        let n = self.size;
        let mut x = b.to_vec();
        for i in 0..n {
            for k in 0..i {
                x[i] -= self.factor[i * n + k] * x[k];
            }
            x[i] /= self.factor[i * n + i];
        }
        for i in (0..n).rev() {
            for k in i + 1..n {
                x[i] -= self.factor[k * n + i] * x[k];
            }
            x[i] /= self.factor[i * n + i];
        }
        x
    }

    /// The inverse of the factored matrix.
    pub(crate) fn inverse(&self) -> SymmetricMatrix {
        let n = self.size;
        let mut out = SymmetricMatrix::zeros(n);
        for j in 0..n {
            let mut unit = vec![0.0; n];
            unit[j] = 1.0;
            for (i, v) in self.solve(&unit).into_iter().enumerate().skip(j) {
                out.set(i, j, v);
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    #[test]
    fn inverse_of_a_hand_worked_matrix() {
        // [4 2; 2 3] has determinant 8 and inverse [3 -2; -2 4] / 8.
        let mut m = SymmetricMatrix::zeros(2);
        m.set(0, 0, 4.0);
        m.set(1, 0, 2.0);
        m.set(1, 1, 3.0);
        let inverse = Cholesky::new(&m, 0.0).unwrap().inverse();
        for (i, j, exact) in [(0, 0, 0.375), (1, 0, -0.25), (0, 1, -0.25), (1, 1, 0.5)] {
            assert!((inverse.get(i, j).unwrap() - exact).abs() < 1e-15);
        }
        assert_eq!(inverse.get(2, 0), None);
        assert_eq!(inverse.standard_error(2), None);
    }

    #[test]
    fn singular_and_indefinite_matrices_have_no_factor() {
        let mut m = SymmetricMatrix::zeros(2);
        m.add_outer_lower(1.0, &[1.0, 3.0]);
        assert!(Cholesky::new(&m, 0.0).is_none());
        assert!(Cholesky::new(&m, 1e-3).is_some());
        m.set(0, 0, -1.0);
        assert!(Cholesky::new(&m, 0.0).is_none());
    }
}
