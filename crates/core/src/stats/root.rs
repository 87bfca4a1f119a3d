//! Where an increasing function passes a target, inside a bracket.

/// Most evaluations.
const STEPS: usize = 80;

/// One end of a bracket: place and value of the function.
pub(crate) type End = (f64, f64);

/// When the search may stop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Close {
    /// Width of the bracket.
    pub(crate) place: f64,
    /// Distance of the value from the target.
    pub(crate) value: f64,
}

/// Regula falsi that halves the value of an end kept twice (Dowell & Jarratt 1971), with a bisection whenever the
/// bracket has not shrunk to half in three steps.
///
/// `low` must lie below the target and `high` not below it; the place returned is inside the bracket.
pub(crate) fn pass(function: impl Fn(f64) -> f64, target: f64, low: End, high: End, close: Close) -> f64 {
    let (mut low, mut f_low) = (low.0, low.1 - target);
    let (mut high, mut f_high) = (high.0, high.1 - target);
    let mut side = 0_i8;
    let mut wide = high - low;
    for step in 1..=STEPS {
        if high - low < close.place || f_high < close.value {
            break;
        }
        let mut share = f_low / (f_low - f_high);
        if step % 3 == 0 {
            if high - low > 0.5 * wide {
                share = 0.5;
            }
            wide = high - low;
        }
        let x = low + share.clamp(0.01, 0.99) * (high - low);
        let f = function(x) - target;
        if f >= 0.0 {
            (high, f_high) = (x, f);
            if side == 1 {
                f_low *= 0.5;
            }
            side = 1;
        } else {
            if f > -close.value {
                return x;
            }
            (low, f_low) = (x, f);
            if side == -1 {
                f_high *= 0.5;
            }
            side = -1;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_root_of_curved_and_stepped_functions() {
        let close = Close { place: 1e-9, value: 1e-12 };
        let cube = |x: f64| x * x * x;
        assert!((pass(cube, 2.0, (0.0, 0.0), (100.0, 1e6), close) - 2.0_f64.cbrt()).abs() < 1e-8);
        let steep = |x: f64| 1.0 / (1.0 + (-50.0 * (x - 3.0)).exp());
        assert!((pass(steep, 0.5, (0.0, steep(0.0)), (30.0, 1.0), close) - 3.0).abs() < 1e-8);
        let stepped = |x: f64| if x < 1.25 { 0.0 } else { 1.0 };
        assert!((pass(stepped, 0.5, (0.0, 0.0), (30.0, 1.0), close) - 1.25).abs() < 1e-6);
    }
}
