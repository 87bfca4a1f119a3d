//! Student's t: a single tail exactly, or thousands of tails of one number of degrees of freedom from a table.

use fearless_simd::{Simd, SimdBase, SimdFloat, SimdFrom, f64x4};

/// P(T ≤ t) with `df` > 0 degrees of freedom, to relative accuracy also far out.
///
/// # Formula
///
/// The lower tail is half of the regularised incomplete beta function I(df/2, 1/2) at df/(df + t²), by its continued fraction
/// (Abramowitz and Stegun 1964, 26.5.8 and 26.7.1). It is worked out here because the digits of a library would be those of the system's
/// elementary functions.
pub(crate) fn student_lower_tail(t: f64, df: f64) -> f64 {
    let (a, square) = (0.5 * df, t * t / df);
    if !square.is_finite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let (x, rest) = (1.0 / (1.0 + square), square / (1.0 + square));
    // x to the power a times the root of the rest, over the beta function of a and 1/2.
    let front = gamma_ratio(a) * libm::exp(-a * libm::log1p(square)) * (rest / std::f64::consts::PI).sqrt();
    let both_tails = if x < (a + 1.0) / (a + 2.5) {
        front * beta_fraction(a, 0.5, x) / a
    } else {
        1.0 - 2.0 * front * beta_fraction(0.5, a, rest)
    };
    let tail = 0.5 * both_tails;
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// The density of Student's t.
pub(super) fn student_density(t: f64, df: f64) -> f64 {
    let power = -0.5 * (df + 1.0) * libm::log1p(t * t / df);
    gamma_ratio(0.5 * df) * libm::exp(power) / (df * std::f64::consts::PI).sqrt()
}

/// Γ(a + 1/2)/Γ(a) for a > 0: its series in 1/a from 64 on, the recurrence below.
fn gamma_ratio(a: f64) -> f64 {
    let (mut large, mut below) = (a, 1.0);
    while large < 64.0 {
        below *= large / (large + 0.5);
        large += 1.0;
    }
    let u = 1.0 / large;
    let series = 1.0
        + u * (-1.0 / 8.0 + u * (1.0 / 128.0 + u * (5.0 / 1024.0 + u * (-21.0 / 32768.0 - u * (399.0 / 262_144.0)))));
    large.sqrt() * series * below
}

/// The continued fraction of the incomplete beta function, evaluated from the front (Thompson and Barnett 1986).
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const MOST_TERMS: usize = 10_000;
    const SMALLEST: f64 = 1e-300;
    let not_zero = |value: f64| if value.abs() < SMALLEST { SMALLEST } else { value };
    let (mut c, mut d) = (1.0, 1.0 / not_zero(1.0 - (a + b) * x / (a + 1.0)));
    let mut fraction = d;
    for m in 1..=MOST_TERMS {
        let m = m as f64;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let before = fraction;
        for term in [even, odd] {
            d = 1.0 / not_zero(1.0 + term * d);
            c = not_zero(1.0 + term / c);
            fraction *= c * d;
        }
        if (fraction - before).abs() <= f64::EPSILON * fraction.abs() {
            break;
        }
    }
    fraction
}

/// Number of cells of the table.
const CELLS: usize = 64;
/// The table ends here, in units of 1/√df: beyond it the tail is under 1e-17 for many degrees of freedom.
const REACH: f64 = 9.0;
/// A tail smaller than this is nothing at the accuracy of the table.
const NOTHING: f64 = 1e-12;
/// With fewer degrees of freedom the density has no smooth end and single tails are computed exactly.
const LEAST_DF: f64 = 4.0;

/// Tails of Student's t for one number of degrees of freedom.
///
/// In z = t/√(df + t²) the density is (1 - z²)^(df/2 - 1) up to a constant: bounded, smooth, and its first two
/// derivatives are known. The table holds the upper tail, the density and its slope at equal steps of z and
/// interpolates with the quintic that matches all three at both ends. Absolute error below 1e-8 from 4 degrees of
/// freedom up.
#[derive(Clone, Debug)]
pub(crate) struct StudentTable {
    df: f64,
    /// Cells per unit of z.
    per_unit: f64,
    /// The upper tail over each cell, as a polynomial in the place inside the cell.
    quintics: [[f64; 6]; CELLS],
    /// Factor that makes the density a density.
    norm: f64,
}

impl StudentTable {
    pub(crate) fn new(df: f64) -> Self {
        let df = df.max(1e-3);
        let end = (REACH / df.sqrt()).min(1.0);
        let cell = end / CELLS as f64;
        let mut table = Self { df, per_unit: 1.0 / cell, quintics: [[0.0; 6]; CELLS], norm: 1.0 };
        if df < LEAST_DF {
            return table;
        }
        let power = 0.5 * df - 1.0;
        // Upper tail, density · cell, its slope · cell², its curvature · cell³ at each node.
        let mut nodes = [[0.0; 4]; CELLS + 1];
        for (i, node) in nodes.iter_mut().enumerate() {
            let z = cell * i as f64;
            let room = (1.0 - z * z).max(1e-12);
            let density = cell * libm::exp(power * libm::log1p((-z * z).max(-1.0 + 1e-12)));
            let ratio = -2.0 * power * z / room;
            let bend = ratio * ratio - 2.0 * power * (1.0 + z * z) / (room * room);
            *node = [0.0, density, density * ratio * cell, density * bend * cell * cell];
        }
        let mut last = CELLS;
        if end >= 1.0 {
            // The density may end there without derivatives: that cell is left to its series.
            last = CELLS - 1;
            nodes[last][0] = end_cell(power, cell);
        }
        for i in (0..last).rev() {
            let (a, b) = (nodes[i], nodes[i + 1]);
            nodes[i][0] = b[0] + 0.5 * (a[1] + b[1]) + (a[2] - b[2]) / 10.0 + (a[3] + b[3]) / 120.0;
        }
        table.norm = 0.5 / nodes[0][0];
        for (i, quintic) in table.quintics.iter_mut().enumerate() {
            // The quintic with value, slope and curvature of the tail at both ends; slopes are minus the densities.
            let (a, b) = (nodes[i], nodes[i + 1]);
            let rise = b[0] - a[0] + a[1] + 0.5 * a[2];
            let slope = a[1] - b[1] + a[2];
            let bend = a[2] - b[2];
            *quintic = [
                a[0],
                -a[1],
                -0.5 * a[2],
                10.0 * rise - 4.0 * slope + 0.5 * bend,
                -15.0 * rise + 7.0 * slope - bend,
                6.0 * rise - 3.0 * slope + 0.5 * bend,
            ]
            .map(|c| c * table.norm);
        }
        table
    }

    /// Degrees of freedom.
    pub(crate) fn df(&self) -> f64 {
        self.df
    }

    /// P(T ≤ t).
    #[cfg(test)]
    pub(crate) fn lower_tail(&self, t: f64) -> f64 {
        self.lower_tail_of(t, 1.0)
    }

    /// P(T ≤ deviation/√variance): one square root for the whole tail.
    #[inline]
    pub(crate) fn lower_tail_of(&self, deviation: f64, variance: f64) -> f64 {
        if self.df < LEAST_DF {
            return student_lower_tail(deviation / variance.max(f64::MIN_POSITIVE).sqrt(), self.df);
        }
        let spread = (self.df * variance + deviation * deviation).sqrt();
        let z = deviation.abs() / spread.max(f64::MIN_POSITIVE);
        // Without a branch: signs are mixed where a quantile is looked for.
        0.5 + (0.5 - self.upper(z)).copysign(deviation)
    }

    /// Four tails side by side, with the bits of [`StudentTable::lower_tail_of`].
    #[inline(always)]
    pub(crate) fn lower_tails_of<S: Simd>(&self, simd: S, deviation: f64x4<S>, variance: f64x4<S>) -> f64x4<S> {
        if self.df < LEAST_DF {
            return f64x4::simd_from(simd, std::array::from_fn(|k| self.lower_tail_of(deviation[k], variance[k])));
        }
        let spread = (variance * self.df + deviation * deviation).sqrt();
        let z = deviation.abs() / spread.max(f64x4::simd_from(simd, f64::MIN_POSITIVE));
        let upper = f64x4::simd_from(simd, [self.upper(z[0]), self.upper(z[1]), self.upper(z[2]), self.upper(z[3])]);
        (-upper + 0.5).copysign(deviation) + 0.5
    }

    #[inline]
    fn upper(&self, z: f64) -> f64 {
        let place = z * self.per_unit;
        let cell = place as u32 as usize;
        if cell >= CELLS - 1 {
            return self.far(z);
        }
        let s = place - cell as f64;
        let c = &self.quintics[cell];
        let s2 = s * s;
        ((c[0] + c[1] * s) + s2 * ((c[2] + c[3] * s) + s2 * (c[4] + c[5] * s))).max(0.0)
    }

    #[cold]
    fn far(&self, z: f64) -> f64 {
        if self.quintics[CELLS - 1][0] < NOTHING {
            return 0.0;
        }
        self.norm * end_cell(0.5 * self.df - 1.0, (1.0 - z).max(0.0))
    }
}

/// ∫ (1 - z²)^power dz over the last `e` before z = 1, by series in e.
fn end_cell(power: f64, e: f64) -> f64 {
    if e <= 0.0 {
        return 0.0;
    }
    let p = power;
    libm::pow(2.0 * e, p)
        * e
        * (1.0 / (p + 1.0) - 0.5 * p * e / (p + 2.0) + p * (p - 1.0) / 8.0 * e * e / (p + 3.0)
            - p * (p - 1.0) * (p - 2.0) / 48.0 * e * e * e / (p + 4.0))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
    use super::*;
    use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};

    #[test]
    fn four_degrees_of_freedom_in_closed_form() {
        // Upper tail for df = 4: ½ - (3/4)(z - z³/3), z = t/√(4 + t²).
        for t in [0.0_f64, 0.3, 1.0, 2.776, 10.0] {
            let z = t / (4.0 + t * t).sqrt();
            let expected = 0.5 - 0.75 * (z - z * z * z / 3.0);
            assert!((1.0 - student_lower_tail(t, 4.0) - expected).abs() < 1e-12);
            assert!((StudentTable::new(4.0).lower_tail(-t) - expected).abs() < 1e-12, "t = {t}");
        }
    }

    #[test]
    fn tails_and_densities_agree_with_a_reference_library() {
        // statrs; closer to 0 than this, its tails lose digits, and the closed forms below are the check.
        for df in [0.3, 1.0, 2.5, 3.0, 4.7, 12.0, 60.0, 127.0, 1000.0, 40_000.0] {
            let law = StudentsT::new(0.0, 1.0, df).unwrap();
            for t in [0.0, 0.01, 0.4, 1.0, 2.3, 7.0, 30.0] {
                let (tail, expected) = (student_lower_tail(-t, df), law.cdf(-t));
                assert!((tail / expected - 1.0).abs() < 1e-10, "{t} {df}: {tail} and {expected}");
                assert!((student_lower_tail(t, df) - law.cdf(t)).abs() < 1e-10, "{t} {df}");
                assert!((student_density(t, df) / law.pdf(t) - 1.0).abs() < 1e-9, "{t} {df}");
            }
        }
    }

    #[test]
    fn two_degrees_of_freedom_and_one_in_closed_form() {
        for t in [0.0_f64, 1e-5, 0.2, 1.0, 3.0, 50.0, 1e4] {
            let cauchy = (1.0_f64 / t.max(1e-300)).atan() / std::f64::consts::PI;
            assert!((student_lower_tail(-t, 1.0) / cauchy - 1.0).abs() < 2e-14, "{t}");
            let root = (2.0 + t * t).sqrt();
            let two = 1.0 / (root * (root + t));
            assert!((student_lower_tail(-t, 2.0) / two - 1.0).abs() < 2e-14, "{t}");
        }
    }

    #[test]
    fn the_ratio_of_gamma_functions_at_halves() {
        let root = std::f64::consts::PI.sqrt();
        for (a, expected) in [(0.5, 1.0 / root), (1.0, root / 2.0), (1.5, 2.0 / root), (2.0, 0.75 * root)] {
            assert!((gamma_ratio(a) / expected - 1.0).abs() < 2e-14, "{a}");
        }
        assert!((gamma_ratio(0.5 * 1e5) / (0.5e5_f64 - 0.25).sqrt() - 1.0).abs() < 1e-10);
    }

    #[test]
    fn the_table_agrees_with_the_exact_tail() {
        for df in [4.0, 4.3, 5.0, 7.5, 12.945, 30.0, 44.0, 80.0, 81.5, 164.0, 1004.0, 4.0e4] {
            let table = StudentTable::new(df);
            for i in -4000..=4000 {
                let t = f64::from(i) * 0.0051;
                let difference = (table.lower_tail(t) - student_lower_tail(t, df)).abs();
                assert!(difference < 1e-8, "df = {df}, t = {t}: {difference:e}");
            }
        }
    }

    #[test]
    fn any_argument_gives_a_probability() {
        for df in [0.0, 0.5, 3.0, 4.0, 50.0, 1e9] {
            let table = StudentTable::new(df);
            for t in [f64::NEG_INFINITY, -1e300, -1e10, -0.0, 0.0, 1e10, 1e300, f64::INFINITY] {
                let p = table.lower_tail(t);
                assert!((0.0..=1.0).contains(&p) || !t.is_finite(), "df = {df}, t = {t}: {p}");
            }
        }
    }
}
