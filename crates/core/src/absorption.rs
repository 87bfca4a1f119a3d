//! Ratios of timed readings within one test.
//!
//! The current into a winding under direct voltage dies away for minutes. How much the resistance rises meanwhile says
//! whether absorption (sound, dry insulation) or leakage (damp, dirt) prevails. Temperature cancels in a ratio.
//!
//! # References
//!
//! IEEE Std 43-2000 cl. 5.4, 12.2: polarization index. DAR is R60/R30 here; other documents divide by R15 or R10.

use crate::resistance::{Bound, Measured, TimedReading};
use crate::stats::curve::{self, ErrorScale, Leakage};
use crate::units::{Elapsed, Resistance};

/// Exact readings below which no curve is fitted.
const LEAST_FOR_A_CURVE: usize = 3;

/// A ratio of two timed readings, exact or a bound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratio {
    /// Numerator's elapsed time.
    pub longer: Elapsed,
    /// Denominator's elapsed time.
    pub shorter: Elapsed,
    /// The ratio, or its limit.
    pub value: f64,
    /// Whether that is exact or a bound.
    pub bound: Bound,
}

/// One minute.
#[must_use]
pub fn one_minute() -> Elapsed {
    seconds(60.0)
}

/// Ten minutes.
#[must_use]
pub fn ten_minutes() -> Elapsed {
    seconds(600.0)
}

fn seconds(value: f64) -> Elapsed {
    Elapsed::from_seconds(value).unwrap_or(Elapsed::LEAST)
}

/// The reading at an elapsed time: as taken, or between two exact ones on a line of log R against log t.
///
/// # Formula
///
/// log R = log Ra + (log Rb − log Ra)·(log t − log ta)/(log tb − log ta)
///
/// # Units
///
/// `readings` in order of time, as in [`TestRecord`](crate::record::TestRecord).
///
/// # Validity
///
/// Between two exact readings. Never extrapolated; a bound on either side gives nothing.
///
/// # Examples
///
/// ```
/// use groundwall::absorption::{one_minute, reading_at};
/// use groundwall::resistance::{Measured, TimedReading};
/// use groundwall::units::{Elapsed, Resistance};
/// let exact = |s, mohm| Some(TimedReading {
///     elapsed: Elapsed::from_seconds(s).ok()?,
///     value: Measured::Exact(Resistance::from_megohms(mohm).ok()?),
/// });
/// let readings: Vec<TimedReading> = [exact(30.0, 100.0), exact(120.0, 400.0)].into_iter().flatten().collect();
/// assert_eq!(reading_at(&readings, one_minute()).map(|r| r.to_string()).as_deref(), Some("200 MΩ"));
/// assert_eq!(reading_at(&readings[..1], one_minute()), None);
/// ```
#[must_use]
pub fn reading_at(readings: &[TimedReading], at: Elapsed) -> Option<Measured> {
    if let Some(taken) = readings.iter().find(|reading| reading.elapsed == at) {
        return Some(taken.value);
    }
    let after = readings.iter().position(|reading| reading.elapsed > at)?;
    let (a, b) = (readings.get(after.checked_sub(1)?)?, readings.get(after)?);
    let (Measured::Exact(ra), Measured::Exact(rb)) = (a.value, b.value) else { return None };
    let (ta, tb, t) = (a.elapsed.as_seconds().ln(), b.elapsed.as_seconds().ln(), at.as_seconds().ln());
    let share = (t - ta) / (tb - ta);
    Some(Measured::Exact(Resistance::from_log10_megohms(
        ra.log10_megohms() * (1.0 - share) + rb.log10_megohms() * share,
    )))
}

/// The one-minute resistance of a test.
#[must_use]
pub fn one_minute_resistance(readings: &[TimedReading]) -> Option<Measured> {
    reading_at(readings, one_minute())
}

/// Ratio of the readings at two times.
///
/// # Formula
///
/// R(longer)/R(shorter); a bound in one of them makes the ratio a bound, in both a ratio only where they pull the same way.
///
/// # Examples
///
/// ```
/// use groundwall::absorption::{polarization_index, ratio};
/// use groundwall::resistance::{CellRules, TimedReading};
/// use groundwall::units::Elapsed;
/// let cell = |s: f64, text: &str| TimedReading {
///     elapsed: Elapsed::from_seconds(s).unwrap(),
///     value: CellRules::default().read(text).unwrap().unwrap(),
/// };
/// let pi = polarization_index(&[cell(60.0, "20 GΩ"), cell(600.0, "150 GΩ")]).unwrap();
/// assert!((pi.value - 7.5).abs() < 1e-9);
/// ```
#[must_use]
pub fn ratio(readings: &[TimedReading], longer: Elapsed, shorter: Elapsed) -> Option<Ratio> {
    let (over, under) = (reading_at(readings, longer)?, reading_at(readings, shorter)?);
    let value = over.resistance()?.as_megohms() / under.resistance()?.as_megohms();
    let bound = match (over.bound(), under.bound()) {
        (Bound::Exact, Bound::Exact) => Bound::Exact,
        (Bound::Above, Bound::Exact | Bound::Below) | (Bound::Exact, Bound::Below) => Bound::Above,
        (Bound::Below, Bound::Exact | Bound::Above) | (Bound::Exact, Bound::Above) => Bound::Below,
        (Bound::Above, Bound::Above) | (Bound::Below, Bound::Below) => return None,
    };
    Some(Ratio { longer, shorter, value, bound })
}

/// The law that the absorption of a test follows.
///
/// # Units
///
/// `leakage` is a resistance in parallel with the decaying part; `exponent` is a pure number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AbsorptionCurve {
    /// n of the decaying current t^−n: 0.5 to 1.1 is usual for winding insulation (from memory, low confidence).
    pub exponent: f64,
    /// Resistance of what leaks steadily; none where the readings show none.
    pub leakage: Option<Resistance>,
}

/// Fits the absorption curve of a test.
///
/// # Formula
///
/// 1/R(t) = G + K·t^−n, least squares of the relative errors; G is left out where the fit gives none above zero or there are
/// fewer than four exact readings.
///
/// # Validity
///
/// At least three exact readings at different times that rise with time; else `None`.
///
/// # Examples
///
/// Readings made with n = 0.75 and no leakage: R(t) = 100·(t/60)^0.75 MΩ.
///
/// ```
/// use groundwall::absorption::absorption_curve;
/// use groundwall::resistance::{Measured, TimedReading};
/// use groundwall::units::{Elapsed, Resistance};
/// let readings: Vec<TimedReading> = [30.0, 60.0, 600.0_f64]
///     .into_iter()
///     .filter_map(|s| {
///         let value = Measured::Exact(Resistance::from_megohms(100.0 * (s / 60.0).powf(0.75)).ok()?);
///         Some(TimedReading { elapsed: Elapsed::from_seconds(s).ok()?, value })
///     })
///     .collect();
/// let curve = absorption_curve(&readings).unwrap();
/// assert!((curve.exponent - 0.75).abs() < 1e-6 && curve.leakage.is_none());
/// ```
///
/// # References
///
/// IEEE Std 43-2000 cl. 5.1 (from memory): absorption current K·t^−n beside a steady leakage.
#[must_use]
pub fn absorption_curve(readings: &[TimedReading]) -> Option<AbsorptionCurve> {
    let exact: Vec<(f64, f64)> = readings
        .iter()
        .filter_map(|reading| match reading.value {
            Measured::Exact(r) => Some((reading.elapsed.as_seconds(), 1.0 / r.as_megohms())),
            _ => None,
        })
        .collect();
    let (times, currents): (Vec<f64>, Vec<f64>) = exact.into_iter().unzip();
    if times.len() < LEAST_FOR_A_CURVE {
        return None;
    }
    let fitted = |leakage| curve::fit_decay(&times, &currents, leakage, ErrorScale::Relative).ok();
    let with_leakage = (times.len() > LEAST_FOR_A_CURVE).then(|| fitted(Leakage::Fitted)).flatten();
    let leaking = with_leakage.and_then(|decay| {
        let leakage = decay.leakage.filter(|g| *g > 0.0)?;
        let resistance = Resistance::from_megohms(1.0 / leakage).ok()?;
        (decay.exponent > 0.0 && decay.amplitude > 0.0)
            .then_some(AbsorptionCurve { exponent: decay.exponent, leakage: Some(resistance) })
    });
    leaking.or_else(|| {
        let decay = fitted(Leakage::Absent)?;
        (decay.exponent > 0.0).then_some(AbsorptionCurve { exponent: decay.exponent, leakage: None })
    })
}

/// Polarization index.
///
/// # Formula
///
/// PI = R(600 s)/R(60 s), as [`ratio`].
///
/// # Validity
///
/// No measure of condition above 5000 MΩ after one minute nor on random-wound stators; that is for the caller to see to.
///
/// # References
///
/// IEEE Std 43-2000 cl. 5.4, 12.2.
#[must_use]
pub fn polarization_index(readings: &[TimedReading]) -> Option<Ratio> {
    ratio(readings, ten_minutes(), one_minute())
}

/// Dielectric absorption ratio.
///
/// # Formula
///
/// DAR = R(60 s)/R(30 s), as [`ratio`].
///
/// # References
///
/// ANSI/NETA MTS cl. 7.15.1 (from memory); other documents divide by R(15 s).
#[must_use]
pub fn absorption_ratio(readings: &[TimedReading]) -> Option<Ratio> {
    ratio(readings, one_minute(), seconds(30.0))
}

/// The ratio that some documents call absorption ratio.
///
/// # Formula
///
/// R(60 s)/R(15 s), as [`ratio`].
///
/// # References
///
/// GB 50150-2006, from memory.
#[must_use]
pub fn sixty_to_fifteen(readings: &[TimedReading]) -> Option<Ratio> {
    ratio(readings, one_minute(), seconds(15.0))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use crate::resistance::CellRules;

    fn curve(cells: &[(f64, &str)]) -> Vec<TimedReading> {
        cells
            .iter()
            .map(|(s, text)| TimedReading {
                elapsed: seconds(*s),
                value: CellRules::default().read(text).unwrap().unwrap(),
            })
            .collect()
    }

    #[test]
    fn between_exact_readings_it_interpolates_and_beyond_them_it_does_not() {
        let readings = curve(&[(30.0, "100"), (120.0, "200")]);
        let Some(Measured::Exact(at_60)) = one_minute_resistance(&readings) else { unreachable!() };
        assert!((at_60.as_megohms() - 100.0 * 2f64.sqrt()).abs() < 1e-9);
        assert_eq!(polarization_index(&readings), None);
        assert_eq!(one_minute_resistance(&curve(&[(30.0, "100"), (120.0, ">200")])), None);
    }

    #[test]
    fn a_ratio_of_bounds_is_a_bound() {
        for (over, under, expected) in [
            (">1000", "500", Some(Bound::Above)),
            ("1000", ">500", Some(Bound::Below)),
            ("1000", "<500", Some(Bound::Above)),
            ("<1000", "500", Some(Bound::Below)),
            (">1000", ">1000", None),
            (">1000", "<500", Some(Bound::Above)),
        ] {
            let found = polarization_index(&curve(&[(60.0, under), (600.0, over)]));
            assert_eq!(found.map(|ratio| ratio.bound), expected, "{over}/{under}");
        }
        assert_eq!(polarization_index(&curve(&[(60.0, "500"), (600.0, "OL")])), None);
    }
}
