//! The normal distribution: lower tail, its logarithm, and the hazard used by censored readings.
//!
//! Rational approximations of Cody (1969), which give the scaled complementary error function directly, so that
//! the logarithm of a tail stays exact where the tail itself has long underflowed.

#![allow(clippy::excessive_precision, reason = "coefficients as printed")]

use std::f64::consts::FRAC_1_SQRT_2;

/// 1/√π.
const FRAC_1_SQRT_PI: f64 = 0.564_189_583_547_756_3;

/// Lower tail Φ(q).
pub(crate) fn normal_lower_tail(q: f64) -> f64 {
    let x = q * FRAC_1_SQRT_2;
    if x.abs() <= SMALL {
        return 0.5 + 0.5 * erf_small(x);
    }
    let tail = 0.5 * scaled_erfc(x.abs()) * libm::exp(-x * x);
    if q < 0.0 { tail } else { 1.0 - tail }
}

/// ln Φ(q), without underflow for very negative q.
pub(crate) fn ln_normal_lower_tail(q: f64) -> f64 {
    let x = q * FRAC_1_SQRT_2;
    if x.abs() <= SMALL {
        libm::log(0.5 + 0.5 * erf_small(x))
    } else if q < 0.0 {
        libm::log(0.5 * scaled_erfc(-x)) - x * x
    } else {
        libm::log1p(-0.5 * scaled_erfc(x) * libm::exp(-x * x))
    }
}

/// φ(q)/Φ(q), the inverse Mills ratio: how strongly a bound pulls on its fit.
///
/// Grows like -q for very negative q and vanishes for large positive q.
pub(crate) fn inverse_mills(q: f64) -> f64 {
    let x = q * FRAC_1_SQRT_2;
    if q < 0.0 && x.abs() > SMALL {
        // φ/Φ with the common factor exp(-q²/2) cancelled.
        return (2.0 * FRAC_1_SQRT_2 * FRAC_1_SQRT_PI) / scaled_erfc(-x);
    }
    // One exponential for density and tail.
    let bell = libm::exp(-x * x);
    let tail = if x.abs() <= SMALL { 0.5 + 0.5 * erf_small(x) } else { 1.0 - 0.5 * scaled_erfc(x) * bell };
    FRAC_1_SQRT_2 * FRAC_1_SQRT_PI * bell / tail
}

/// Below this argument the error function itself is approximated.
const SMALL: f64 = 0.468_75;

const ERF_NUMERATOR: [f64; 5] = [
    3.161_123_743_870_565_6,
    1.138_641_541_510_501_6e2,
    3.774_852_376_853_02e2,
    3.209_377_589_138_469_5e3,
    1.857_777_061_846_031_5e-1,
];
const ERF_DENOMINATOR: [f64; 4] =
    [2.360_129_095_234_412_1e1, 2.440_246_379_344_441_7e2, 1.282_616_526_077_372_3e3, 2.844_236_833_439_170_6e3];

/// erf(x) for |x| ≤ 0.46875.
fn erf_small(x: f64) -> f64 {
    let s = x * x;
    let (mut num, mut den) = (ERF_NUMERATOR[4] * s, s);
    for i in 0..3 {
        num = (num + ERF_NUMERATOR[i]) * s;
        den = (den + ERF_DENOMINATOR[i]) * s;
    }
    x * (num + ERF_NUMERATOR[3]) / (den + ERF_DENOMINATOR[3])
}

const MIDDLE_NUMERATOR: [f64; 9] = [
    5.641_884_969_886_700_9e-1,
    8.883_149_794_388_375_9,
    6.611_919_063_714_163e1,
    2.986_351_381_974_001_3e2,
    8.819_522_212_417_690_9e2,
    1.712_047_612_634_070_6e3,
    2.051_078_377_826_071_5e3,
    1.230_339_354_797_997_2e3,
    2.153_115_354_744_038_5e-8,
];
const MIDDLE_DENOMINATOR: [f64; 8] = [
    1.574_492_611_070_983_5e1,
    1.176_939_508_913_125e2,
    5.371_811_018_620_098_6e2,
    1.621_389_574_566_690_2e3,
    3.290_799_235_733_459_6e3,
    4.362_619_090_143_247e3,
    3.439_367_674_143_721_6e3,
    1.230_339_354_803_749_4e3,
];
const FAR_NUMERATOR: [f64; 6] = [
    3.053_266_349_612_323_4e-1,
    3.603_448_999_498_044_4e-1,
    1.257_817_261_112_292_5e-1,
    1.608_378_514_874_227_7e-2,
    6.587_491_615_298_378e-4,
    1.631_538_713_730_209_8e-2,
];
const FAR_DENOMINATOR: [f64; 5] = [
    2.568_520_192_289_822,
    1.872_952_849_923_467_2,
    5.279_051_029_514_284e-1,
    6.051_834_131_244_132e-2,
    2.335_204_976_268_691_8e-3,
];

/// exp(x²)·erfc(x) for x > 0.46875.
fn scaled_erfc(x: f64) -> f64 {
    if x <= 4.0 {
        let (mut num, mut den) = (MIDDLE_NUMERATOR[8] * x, x);
        for i in 0..7 {
            num = (num + MIDDLE_NUMERATOR[i]) * x;
            den = (den + MIDDLE_DENOMINATOR[i]) * x;
        }
        (num + MIDDLE_NUMERATOR[7]) / (den + MIDDLE_DENOMINATOR[7])
    } else {
        let s = 1.0 / (x * x);
        let (mut num, mut den) = (FAR_NUMERATOR[5] * s, s);
        for i in 0..4 {
            num = (num + FAR_NUMERATOR[i]) * s;
            den = (den + FAR_DENOMINATOR[i]) * s;
        }
        let r = s * (num + FAR_NUMERATOR[4]) / (den + FAR_DENOMINATOR[4]);
        (FRAC_1_SQRT_PI - r) / x
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ln √(2π).
    const LN_SQRT_TWO_PI: f64 = 0.918_938_533_204_672_8;

    #[test]
    fn the_tail_agrees_with_an_independent_implementation() {
        // ½ erfc(-q/√2) of the C library (glibc, by way of Python's math.erfc), all digits.
        for (q, expected) in [
            (-30.0, 4.906713927148764e-198),
            (-20.0, 2.7536241186063314e-89),
            (-7.0, 1.279812543885835e-12),
            (-5.0, 2.866515718791946e-07),
            (-3.0, 0.0013498980316300957),
            (-1.5, 0.06680720126885809),
            (-0.74, 0.22964999716479065),
            (-0.5, 0.3085375387259869),
            (0.25, 0.5987063256829237),
            (0.9, 0.8159398746532405),
            (2.0, 0.9772498680518208),
            (5.0, 0.9999997133484281),
        ] {
            let q: f64 = q;
            let expected: f64 = expected;
            // The argument of the exponential is rounded once, hence q².
            let tolerance = 1e-15 * (1.0 + q * q);
            assert!((normal_lower_tail(q) / expected - 1.0).abs() < tolerance, "q = {q}");
            assert!((ln_normal_lower_tail(q) - expected.ln()).abs() < tolerance, "q = {q}");
        }
    }

    #[test]
    fn the_far_tail_agrees_with_its_asymptotic_series() {
        // φ(q)/|q| (1 - q⁻² + 3 q⁻⁴ - 15 q⁻⁶ + 105 q⁻⁸ - 945 q⁻¹⁰), the error is below the next term.
        for q in [-16.0_f64, -30.0, -37.0] {
            let s = 1.0 / (q * q);
            let series = 1.0 - s * (1.0 - 3.0 * s * (1.0 - 5.0 * s * (1.0 - 7.0 * s * (1.0 - 9.0 * s))));
            let expected = -0.5 * q * q - LN_SQRT_TWO_PI - q.abs().ln() + series.ln();
            assert!((ln_normal_lower_tail(q) - expected).abs() < 10395.0 * s.powi(6) + 1e-15 * q * q, "q = {q}");
        }
    }

    #[test]
    fn far_out_the_logarithm_follows_its_asymptote() {
        // ln Φ(-x) = -x²/2 - ln(x √(2π)) - 1/x² + O(x⁻⁴).
        let x: f64 = 200.0;
        let asymptote = -0.5 * x * x - x.ln() - LN_SQRT_TWO_PI - 1.0 / (x * x);
        assert!((ln_normal_lower_tail(-x) - asymptote).abs() < 1e-8);
        assert!((inverse_mills(-x) - (x + 1.0 / x)).abs() < 1e-6);
    }

    #[test]
    fn the_hazard_is_the_derivative_of_the_logarithm() {
        for i in -120..=60 {
            let q = f64::from(i) * 0.1 + 0.003;
            let h = 1e-5;
            let slope = (ln_normal_lower_tail(q + h) - ln_normal_lower_tail(q - h)) / (2.0 * h);
            assert!((inverse_mills(q) - slope).abs() < 1e-5 * (1.0 + q.abs()), "q = {q}");
        }
    }
}
