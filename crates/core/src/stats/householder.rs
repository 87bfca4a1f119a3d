//! Orthogonal reduction of a weighted design to triangular form.
//!
//! Reference: Golub (1965), Numerical methods for solving linear least squares problems, Numer. Math. 7, 206-216,
//! doi:10.1007/BF01436075.

use super::design::Design;
use super::input::InputError;
use super::symmetric::SymmetricMatrix;

/// A pivot below this share of its column's length is rounding: the column adds nothing.
const RANK_TOLERANCE: f64 = 1e-13;

/// Coefficients, and the inverse of the cross product `(Z'WZ)^-1`.
pub(crate) struct Solution {
    pub(crate) coef: Vec<f64>,
    pub(crate) inverse_cross_product: SymmetricMatrix,
}

/// Reflects the weighted matrix to triangular form, then solves and inverts.
pub(crate) fn householder(
    design: &Design,
    roots: &[f64],
    target: &[f64],
    intercept: bool,
) -> Result<Solution, InputError> {
    let n = roots.len();
    let p = design.parameters;
    let mut columns: Vec<Vec<f64>> = (0..p).map(|j| (0..n).map(|i| roots[i] * design.row(i)[j]).collect()).collect();
    let mut rhs: Vec<f64> = roots.iter().zip(target).map(|(r, y)| r * y).collect();
    let mut diagonal = vec![0.0; p];
    let lengths: Vec<f64> = columns.iter().map(|c| norm(c)).collect();
    for k in 0..p {
        let tail = norm(&columns[k][k..]);
        if tail <= RANK_TOLERANCE * lengths[k] {
            return Err(InputError::Collinear { column: k + usize::from(!intercept) });
        }
        let pivot = if columns[k][k] > 0.0 { -tail } else { tail };
        let mut reflector = columns[k][k..].to_vec();
        reflector[0] -= pivot;
        let half_square = reflector.iter().map(|v| v * v).sum::<f64>() / 2.0;
        for other in columns.iter_mut().skip(k + 1) {
            reflect(&reflector, half_square, &mut other[k..]);
        }
        reflect(&reflector, half_square, &mut rhs[k..]);
        diagonal[k] = pivot;
    }
    let mut coef = vec![0.0; p];
    for k in (0..p).rev() {
        let known: f64 = (k + 1..p).map(|j| columns[j][k] * coef[j]).sum();
        coef[k] = (rhs[k] - known) / diagonal[k];
    }
    // Inverse of the triangle, column by column; its product with its transpose is (Z'WZ)^-1.
    let mut inverse = vec![vec![0.0; p]; p];
    for j in 0..p {
        inverse[j][j] = 1.0 / diagonal[j];
        for i in (0..j).rev() {
            let sum: f64 = (i + 1..=j).map(|k| columns[k][i] * inverse[k][j]).sum();
            inverse[i][j] = -sum / diagonal[i];
        }
    }
    let mut inverse_cross_product = SymmetricMatrix::zeros(p);
    for i in 0..p {
        for j in 0..=i {
            inverse_cross_product.set(i, j, (i..p).map(|k| inverse[i][k] * inverse[j][k]).sum());
        }
    }
    Ok(Solution { coef, inverse_cross_product })
}

fn norm(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum::<f64>().sqrt()
}

fn reflect(reflector: &[f64], half_square: f64, column: &mut [f64]) {
    let share = reflector.iter().zip(column.iter()).map(|(v, c)| v * c).sum::<f64>() / half_square;
    for (c, v) in column.iter_mut().zip(reflector) {
        *c -= share * v;
    }
}
