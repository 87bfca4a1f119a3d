//! The design matrix of a regression in a frame where its columns are near one in size and near zero on average.
//!
//! Calendar years as abscissa make an intercept and a slope correlate to 1 - 1e-7: half the digits are gone before the
//! fit begins. Every fit therefore works on `z = (x - centre) / scale`, and only its results are carried back. Scales
//! are powers of two, so that scaling itself costs no digit.

use super::input::{InputError, LARGEST, check_length, check_values};
use super::symmetric::SymmetricMatrix;

/// Centre and scale of each column, with or without an intercept before them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Frame {
    pub(crate) intercept: bool,
    centre: Vec<f64>,
    scale: Vec<f64>,
}

/// The standardised matrix, row after row.
pub(crate) struct Design {
    pub(crate) frame: Frame,
    pub(crate) parameters: usize,
    entries: Vec<f64>,
}

impl Design {
    /// Checks the columns and standardises them; the centre is the weighted mean where there is an intercept.
    pub(crate) fn new(
        columns: &[&[f64]],
        rows: usize,
        intercept: bool,
        weights: Option<&[f64]>,
    ) -> Result<Self, InputError> {
        let mut frame = Frame { intercept, centre: Vec::new(), scale: Vec::new() };
        for (j, column) in columns.iter().enumerate() {
            check_length("a column", column, rows)?;
            check_values("a column", column)?;
            let centre = if intercept { mean(column, weights) } else { 0.0 };
            let size = column.iter().fold(0.0_f64, |m, x| m.max((x - centre).abs()));
            if size <= 1.0 / LARGEST || size <= 8.0 * f64::EPSILON * centre.abs() {
                return Err(InputError::Collinear { column: j + 1 });
            }
            frame.centre.push(centre);
            frame.scale.push(power_of_two_below(size));
        }
        let parameters = columns.len() + usize::from(intercept);
        let mut entries = Vec::with_capacity(rows * parameters);
        for i in 0..rows {
            if intercept {
                entries.push(1.0);
            }
            for (j, column) in columns.iter().enumerate() {
                entries.push((column[i] - frame.centre[j]) / frame.scale[j]);
            }
        }
        Ok(Self { frame, parameters, entries })
    }

    /// One standardised row.
    pub(crate) fn row(&self, i: usize) -> &[f64] {
        &self.entries[i * self.parameters..(i + 1) * self.parameters]
    }
}

impl Frame {
    /// A new row, given without the intercept's one, in standardised form.
    pub(crate) fn standardise(&self, row: &[f64]) -> Result<Vec<f64>, InputError> {
        check_length("the row to predict at", row, self.centre.len())?;
        check_values("the row to predict at", row)?;
        let ones = self.intercept.then_some(1.0);
        let rest = row.iter().zip(&self.centre).zip(&self.scale).map(|((x, c), s)| (x - c) / s);
        Ok(ones.into_iter().chain(rest).collect())
    }

    /// The matrix that carries standardised coefficients (in units of `y`) back to those of the columns.
    pub(crate) fn back(&self) -> Vec<Vec<f64>> {
        let first = usize::from(self.intercept);
        let size = self.centre.len() + first;
        let mut rows = vec![vec![0.0; size]; size];
        for (j, (centre, scale)) in self.centre.iter().zip(&self.scale).enumerate() {
            rows[j + first][j + first] = 1.0 / scale;
            if self.intercept {
                rows[0][j + first] = -centre / scale;
            }
        }
        if self.intercept {
            rows[0][0] = 1.0;
        }
        rows
    }

    /// Coefficients of the original columns; `shift` is what was taken off `y`.
    pub(crate) fn coefficients(&self, standardised: &[f64], shift: f64) -> Vec<f64> {
        let mut coef: Vec<f64> =
            self.back().iter().map(|row| row.iter().zip(standardised).map(|(a, b)| a * b).sum()).collect();
        if self.intercept
            && let Some(first) = coef.first_mut()
        {
            *first += shift;
        }
        coef
    }

    /// Centre and scale when there is one column and an intercept: a straight line.
    pub(crate) fn line(&self) -> Option<LineFrame> {
        match (self.intercept, self.centre.as_slice(), self.scale.as_slice()) {
            (true, [centre], [scale]) => Some(LineFrame { centre: *centre, scale: *scale }),
            _ => None,
        }
    }
}

/// Centre and scale of the one column of a straight line.
pub(crate) struct LineFrame {
    pub(crate) centre: f64,
    pub(crate) scale: f64,
}

/// Covariance of the original coefficients from that of the standardised ones.
pub(crate) fn covariance_back(frame: &Frame, standardised: &SymmetricMatrix) -> SymmetricMatrix {
    standardised.transformed(&frame.back())
}

/// The largest power of two not above a positive, normal `size`.
pub(crate) fn power_of_two_below(size: f64) -> f64 {
    #[allow(clippy::cast_possible_truncation, reason = "the exponent of an f64 is between -1075 and 1024")]
    let exponent = libm::log2(size).floor() as i32;
    2.0_f64.powi(exponent)
}

/// Mean with one refinement, so that rounding of a long sum does not remain in it.
pub(crate) fn mean(values: &[f64], weights: Option<&[f64]>) -> f64 {
    let pass = |shift: f64| match weights {
        None => {
            #[allow(clippy::cast_precision_loss, reason = "row counts are far below 2^53")]
            let n = values.len().max(1) as f64;
            values.iter().map(|v| v - shift).sum::<f64>() / n
        }
        Some(w) => values.iter().zip(w).map(|(v, w)| w * (v - shift)).sum::<f64>() / w.iter().sum::<f64>(),
    };
    let first = pass(0.0);
    first + pass(first)
}
