//! Where a distribution function passes a probability, inside a bracket.

/// Most evaluations.
const STEPS: usize = 80;
/// A probability this close to its target, in units of [`Close::value`], needs one more interpolation and no evaluation.
const NEAR: f64 = 4.0;
/// An interpolated place keeps this share of the bracket away from its ends.
const INSIDE: f64 = 1e-3;
/// Scores end at this tail.
const LEAST_TAIL: f64 = 1e-15;

/// One end of a bracket: place and value of the function.
pub(crate) type End = (f64, f64);

/// When the search may stop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Close {
    /// Width of the bracket.
    pub(crate) place: f64,
    /// Distance of the probability from the target.
    pub(crate) value: f64,
}

/// A place and its normal score.
type Scored = (f64, f64);

/// Inverse quadratic interpolation of normal scores, in which a distribution of any width is nearly a straight line, with a
/// bisection whenever the bracket has not shrunk to half in three steps (after Brent 1973, chapter 4).
///
/// `low` must lie below the target and `high` not below it; the place returned is inside the bracket.
pub(crate) fn pass(function: impl Fn(f64) -> f64, target: f64, low: End, high: End, close: Close) -> f64 {
    if high.1 - target < close.value {
        return high.0;
    }
    let aim = score(target);
    let mut third: Option<Scored> = None;
    let mut low = (low.0, score(low.1));
    let mut high = (high.0, score(high.1));
    let mut wide = high.0 - low.0;
    for step in 1..=STEPS {
        let width = high.0 - low.0;
        if width < close.place {
            break;
        }
        let halve = step % 3 == 0 && width > 0.5 * wide;
        if step % 3 == 0 {
            wide = width;
        }
        let x = if halve { low.0 + 0.5 * width } else { interpolate(aim, low, high, third) };
        let p = function(x);
        let missed = p - target;
        if missed.abs() < close.value {
            return x;
        }
        let here = (x, score(p));
        third = Some(if missed > 0.0 { std::mem::replace(&mut high, here) } else { std::mem::replace(&mut low, here) });
        if missed.abs() < NEAR * close.value {
            return interpolate(aim, low, high, third);
        }
    }
    high.0
}

/// The place whose score is `aim`, by the parabola through three places if there are three and it stays inside the
/// bracket, else by the chord.
fn interpolate(aim: f64, low: Scored, high: Scored, third: Option<Scored>) -> f64 {
    let width = high.0 - low.0;
    let chord = width / (high.1 - low.1);
    let mut x = low.0 + (aim - low.1) * chord;
    if let Some(third) = third
        && (third.1 - low.1).abs() > 0.0
        && (third.1 - high.1).abs() > 0.0
    {
        let bend = ((third.0 - high.0) / (third.1 - high.1) - chord) / (third.1 - low.1);
        let curved = x + (aim - low.1) * (aim - high.1) * bend;
        if curved > low.0 && curved < high.0 {
            x = curved;
        }
    }
    if x.is_finite() { x.clamp(low.0 + INSIDE * width, high.0 - INSIDE * width) } else { low.0 + 0.5 * width }
}

/// The standard normal quantile to three digits, which is enough for a scale (Hastings 1955, sheet 68).
fn score(p: f64) -> f64 {
    let t = (-2.0 * libm::log(p.min(1.0 - p).max(LEAST_TAIL))).sqrt();
    let z =
        t - (2.515_517 + t * (0.802_853 + t * 0.010_328)) / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    if p < 0.5 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::normal::normal_lower_tail;
    use std::cell::Cell;

    #[test]
    fn finds_the_quantiles_of_smooth_mixed_and_stepped_distributions() {
        let close = Close { place: 1e-9, value: 1e-12 };
        let logistic = |x: f64| 1.0 / (1.0 + (-50.0 * (x - 3.0)).exp());
        assert!((pass(logistic, 0.5, (0.0, logistic(0.0)), (30.0, 1.0), close) - 3.0).abs() < 1e-8);
        let exponential = |x: f64| -(-x).exp_m1();
        assert!((pass(exponential, 0.25, (0.0, 0.0), (1e3, 1.0), close) - (4.0_f64 / 3.0).ln()).abs() < 1e-8);
        let stepped = |x: f64| if x < 1.25 { 0.0 } else { 1.0 };
        assert!((pass(stepped, 0.5, (0.0, 0.0), (30.0, 1.0), close) - 1.25).abs() < 1e-6);
        // Two separate normals: the quantile of their gap.
        let apart = |x: f64| 0.5 * (normal_lower_tail(x) + normal_lower_tail(50.0 * (x - 9.0)));
        let x = pass(apart, 0.6, (-5.0, 0.0), (20.0, 1.0), close);
        assert!((apart(x) - 0.6).abs() < 1e-10);
    }

    #[test]
    fn few_evaluations_are_enough_for_what_forecasts_ask() {
        let close = Close { place: 1e-3, value: 1e-5 };
        for (wide, share) in [(1.0, 0.5), (0.2, 0.7), (3.0, 0.1)] {
            let asked = Cell::new(0);
            let mixture = |x: f64| {
                asked.set(asked.get() + 1);
                share * normal_lower_tail((x - 4.0) / wide) + (1.0 - share) * normal_lower_tail((x - 5.0) / 1.5)
            };
            for target in [0.05, 0.5, 0.95] {
                let (low, high) = ((-2.0, mixture(-2.0)), (12.0, mixture(12.0)));
                asked.set(0);
                let x = pass(mixture, target, low, high, close);
                assert!(asked.get() <= 12, "{} evaluations", asked.get());
                let inside = mixture(x - close.place) <= target && target <= mixture(x + close.place);
                assert!(inside || (mixture(x) - target).abs() < 4e-5, "{} instead of {target}", mixture(x));
            }
        }
    }

    #[test]
    fn scores_are_normal_quantiles() {
        for z in [-5.0, -1.6, -0.3, 0.0, 0.8, 3.0] {
            assert!((score(normal_lower_tail(z)) - z).abs() < 5e-4, "{z}");
        }
    }
}
