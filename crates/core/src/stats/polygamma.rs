//! Digamma, trigamma and the inverse of trigamma, for estimating how variances differ among series (Smyth 2004).

/// ψ(x) for x > 0: recurrence up to 10, then the asymptotic series (Abramowitz & Stegun 1964, 6.3.18).
pub(crate) fn digamma(mut x: f64) -> f64 {
    let mut sum = 0.0;
    while x < 10.0 {
        sum -= 1.0 / x;
        x += 1.0;
    }
    let s = 1.0 / (x * x);
    sum + libm::log(x)
        - 0.5 / x
        - s * (1.0 / 12.0 - s * (1.0 / 120.0 - s * (1.0 / 252.0 - s * (1.0 / 240.0 - s / 132.0))))
}

/// ψ′(x) for x > 0: recurrence up to 10, then the asymptotic series (Abramowitz & Stegun 1964, 6.4.12).
pub(crate) fn trigamma(mut x: f64) -> f64 {
    let mut sum = 0.0;
    while x < 10.0 {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let s = 1.0 / (x * x);
    sum + (1.0 + 0.5 / x + s * (1.0 / 6.0 - s * (1.0 / 30.0 - s * (1.0 / 42.0 - s / 30.0)))) / x
}

/// The x with ψ′(x) = y, for y > 0: Newton on 1/ψ′, which is convex and nearly linear (Smyth 2004, appendix).
pub(crate) fn inverse_trigamma(y: f64) -> f64 {
    if y > 1e7 {
        return 1.0 / y.sqrt();
    }
    if y < 1e-6 {
        return 1.0 / y;
    }
    let mut x = 0.5 + 1.0 / y;
    for _ in 0..50 {
        let value = trigamma(x);
        let h = 1e-4 * x;
        let derivative = (trigamma(x + h) - trigamma(x - h)) / (2.0 * h);
        let step = value * (1.0 - value / y) / derivative;
        x = (x + step).max(1e-8);
        if step.abs() < 1e-10 * x {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn known_values() {
        // ψ(1) = -γ, ψ(1/2) = -γ - 2 ln 2, ψ′(1) = π²/6, ψ′(1/2) = π²/2.
        let euler = 0.577_215_664_901_532_9;
        assert!((digamma(1.0) + euler).abs() < 1e-12);
        assert!((digamma(0.5) + euler + 2.0 * 2.0_f64.ln()).abs() < 1e-12);
        assert!((trigamma(1.0) - PI * PI / 6.0).abs() < 1e-12);
        assert!((trigamma(0.5) - PI * PI / 2.0).abs() < 1e-12);
    }

    #[test]
    fn the_inverse_inverts() {
        for x in [0.05, 0.3, 1.0, 2.5, 20.0, 400.0] {
            assert!((inverse_trigamma(trigamma(x)) / x - 1.0).abs() < 1e-7, "x = {x}");
        }
    }
}
