//! One step in a level, found by least squares.
//!
//! The readings scatter about one level before the step and another after it. The place of the step is the one that
//! leaves the least scatter. One pass over running sums finds it.

use super::design::mean;
use super::input::{InputError, check_values};

/// The best place for one step.
///
/// # Units
/// Levels as the readings; sums of squares as their square; `f` has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Number of readings before the step.
    pub location: usize,
    /// Mean of the readings before it.
    pub mean_before: f64,
    /// Mean of the readings after it.
    pub mean_after: f64,
    /// Sum of squares about one common level.
    pub sum_of_squares_level: f64,
    /// Sum of squares about the two levels.
    pub sum_of_squares_step: f64,
    /// F ratio of the step on 1 and n - 2 degrees of freedom; `None` when the two levels fit without remainder.
    pub f: Option<f64>,
}

/// Finds the step that leaves the least scatter.
///
/// # Formula
/// For `k` readings before and `n - k` after, the scatter explained is `k (n - k) / n` times the squared difference of the
/// two means; the location maximises it. `F = (RSS0 - RSS1) / (RSS1 / (n - 2))`. The first of equally good places wins.
///
/// # Units
/// Any; the order of the readings is that of time.
///
/// # Validity
/// The F ratio belongs to a place named in advance. Here the place was searched for, so F must be judged against the
/// distribution of its maximum, not against an F table. A trend looks like a step to this function: remove it first.
///
/// # Errors
/// [`InputError::TooFew`] for fewer than `2 min_side` or fewer than three readings (a `min_side` of 0 counts as 1);
/// [`InputError::Value`] for a reading that is no number.
///
/// # Examples
/// ```
/// let step = groundwall::stats::step::one_step(&[5.0, 5.5, 4.5, 2.0, 2.5, 1.5], 2)?;
/// assert_eq!(step.location, 3);
/// assert_eq!(step.mean_before - step.mean_after, 3.0);
/// assert!((step.f.unwrap_or(0.0) - 54.0).abs() < 1e-12); // 13.5 explained, 1.0 left over 4
/// # Ok::<(), groundwall::stats::input::InputError>(())
/// ```
///
/// # References
/// Hawkins (1977), Testing a sequence of observations for a shift in location, J. Am. Stat. Assoc. 72, 180-186,
/// doi:10.1080/01621459.1977.10479935.
pub fn one_step(readings: &[f64], min_side: usize) -> Result<Step, InputError> {
    check_values("readings", readings)?;
    let n = readings.len();
    let side = min_side.max(1);
    let needed = side.saturating_mul(2).max(3);
    if n < needed {
        return Err(InputError::TooFew { found: n, needed });
    }
    let centre = mean(readings, None);
    let mut best = side;
    let mut most = f64::NEG_INFINITY;
    let mut sum = 0.0;
    for (i, reading) in readings.iter().enumerate() {
        sum += reading - centre;
        let k = i + 1;
        if k < side || n - k < side {
            continue;
        }
        // The readings are centred, so the sum before is minus the sum after and n factors out.
        let explained = sum * sum / (count(k) * count(n - k));
        if explained > most {
            most = explained;
            best = k;
        }
    }
    let (before, after) = readings.split_at(best);
    let (mean_before, mean_after) = (mean(before, None), mean(after, None));
    let squares = |part: &[f64], level: f64| part.iter().map(|v| (v - level) * (v - level)).sum::<f64>();
    let sum_of_squares_step = squares(before, mean_before) + squares(after, mean_after);
    let explained = (mean_before - mean_after).powi(2) * (count(best) / count(n)) * count(n - best);
    let f = explained / (sum_of_squares_step / count(n - 2));
    Ok(Step {
        location: best,
        mean_before,
        mean_after,
        sum_of_squares_level: squares(readings, centre),
        sum_of_squares_step,
        f: f.is_finite().then_some(f),
    })
}

#[allow(clippy::cast_precision_loss, reason = "reading counts are far below 2^53")]
fn count(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    #[test]
    fn every_place_tried_by_hand_agrees() {
        let y = [3.0, 2.9, 3.2, 2.2, 3.1, 1.0, 1.3, 0.8, 1.1, 1.0, 0.7];
        let squares = |part: &[f64]| {
            let m = part.iter().sum::<f64>() / count(part.len());
            part.iter().map(|v| (v - m).powi(2)).sum::<f64>()
        };
        let left = |k: usize| squares(&y[..k]) + squares(&y[k..]);
        let best = (1..y.len()).min_by(|a, b| left(*a).total_cmp(&left(*b))).unwrap();
        let step = one_step(&y, 1).unwrap();
        assert_eq!(step.location, best);
        assert!((step.sum_of_squares_step - left(best)).abs() < 1e-12);
    }

    #[test]
    fn short_flat_and_odd_series_have_an_answer() {
        assert_eq!(one_step(&[1.0, 2.0], 1), Err(InputError::TooFew { found: 2, needed: 3 }));
        assert_eq!(one_step(&[1.0; 5], 3), Err(InputError::TooFew { found: 5, needed: 6 }));
        assert!(one_step(&[1.0; 5], usize::MAX).is_err());
        assert!(one_step(&[1.0, f64::NAN, 2.0], 1).is_err());
        assert_eq!(one_step(&[1.0; 5], 1).unwrap().f, None);
        assert_eq!(one_step(&[1e40, -1e40, 1e40, 1e40], 1).unwrap().location, 2);
        assert_eq!(one_step(&[9.0, 9.0, 1.0, 1.0], 1).unwrap().f, None);
    }
}
