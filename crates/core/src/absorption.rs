//! Ratios of timed readings within one test.
//!
//! The current into a winding under direct voltage dies away for minutes. How much the resistance rises meanwhile says
//! whether absorption (sound, dry insulation) or leakage (damp, dirt) prevails. Temperature cancels in a ratio.
//!
//! # References
//!
//! IEEE Std 43-2000 cl. 5.4, 12.2: polarization index. DAR is R60/R30 here; other documents divide by R15 or R10.

use crate::resistance::{Bound, Measured, TimedReading};
use crate::stats::curve::{self, Decay, ErrorScale, Leakage};
use crate::stats::interval::student_two_sided;
use crate::units::{Elapsed, Resistance, three_digits};
use std::fmt;

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

impl Ratio {
    /// The ratio where it is a number and no bound.
    #[must_use]
    pub fn exact(self) -> Option<f64> {
        (self.bound == Bound::Exact).then_some(self.value)
    }
}

impl fmt::Display for Ratio {
    /// "2.41", or its limit: "> 1.9".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.bound {
            Bound::Exact => "",
            Bound::Above => "> ",
            Bound::Below => "< ",
        };
        write!(f, "{sign}{}", three_digits(self.value))
    }
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
/// # Validity
///
/// `readings` in any order. Between two exact readings. Never extrapolated; a bound on either side gives nothing.
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
    let by_time = |a: &&TimedReading, b: &&TimedReading| a.elapsed.as_seconds().total_cmp(&b.elapsed.as_seconds());
    let a = readings.iter().filter(|reading| reading.elapsed < at).max_by(by_time)?;
    let b = readings.iter().filter(|reading| reading.elapsed > at).min_by(by_time)?;
    let (Measured::Exact(ra), Measured::Exact(rb)) = (a.value, b.value) else { return None };
    let (ta, tb, t) =
        (libm::log(a.elapsed.as_seconds()), libm::log(b.elapsed.as_seconds()), libm::log(at.as_seconds()));
    let share = (t - ta) / (tb - ta);
    Some(Measured::Exact(Resistance::from_log10_megohms(
        ra.log10_megohms() * (1.0 - share) + rb.log10_megohms() * share,
    )))
}

/// The one-minute resistance of a test, as [`reading_at`].
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
/// use groundwall::absorption::{one_minute, ratio};
/// use groundwall::resistance::{Bound, CellRules, TimedReading};
/// use groundwall::units::Elapsed;
/// let at = |s: f64| Elapsed::from_seconds(s).unwrap();
/// let cell = |s: f64, text: &str| TimedReading {
///     elapsed: at(s),
///     value: CellRules::default().read(text).unwrap().unwrap(),
/// };
/// let readings = [cell(60.0, "800"), cell(300.0, "> 2 GΩ")];
/// let beyond = ratio(&readings, at(300.0), one_minute()).unwrap();
/// assert_eq!((beyond.value, beyond.bound), (2.5, Bound::Above));
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

/// Confidence of the intervals of an absorption curve. A leakage is part of it only where its interval leaves out zero.
const CURVE_CONFIDENCE: f64 = 0.9;

/// A steady leakage beside the absorption, with its 90 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakageResistance {
    /// The leakage resistance.
    pub resistance: Resistance,
    /// Lower end of its interval.
    pub low: Resistance,
    /// Upper end.
    pub high: Resistance,
}

/// The law that the absorption of a test follows.
///
/// # Units
///
/// `leakage` is a resistance in parallel with the decaying part; `exponent` is a pure number; `at_one_second` is the
/// resistance of the decaying part alone after one second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AbsorptionCurve {
    /// n of the decaying current t^−n: 0.5 to 1.1 is usual for winding insulation (from memory, low confidence).
    pub exponent: f64,
    /// Half width of the exponent's 90 % interval.
    pub exponent_error: f64,
    /// Resistance of what leaks steadily; none where the readings do not show that anything does.
    pub leakage: Option<LeakageResistance>,
    /// 1/K: what the decaying part alone would be after one second.
    pub at_one_second: Resistance,
}

impl AbsorptionCurve {
    /// The resistance that the law gives at an elapsed time.
    ///
    /// # Formula
    ///
    /// 1/R(t) = G + K·t^−n
    ///
    /// # Examples
    ///
    /// After 100 s as much leaks through 100 MΩ as is absorbed with n = 1 and 1 MΩ at one second: 1/R = 0.01 + 0.01 per MΩ.
    ///
    /// ```
    /// use groundwall::{absorption::AbsorptionCurve, units::{Elapsed, Resistance}};
    /// # use groundwall::absorption::LeakageResistance;
    /// let mohm = |value| Resistance::from_megohms(value);
    /// let leakage = Some(LeakageResistance { resistance: mohm(100.0)?, low: mohm(90.0)?, high: mohm(112.0)? });
    /// let law = AbsorptionCurve { exponent: 1.0, exponent_error: 0.02, leakage, at_one_second: mohm(1.0)? };
    /// assert!((law.resistance_at(Elapsed::from_seconds(100.0)?).as_megohms() - 50.0).abs() < 1e-12);
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn resistance_at(&self, at: Elapsed) -> Resistance {
        let absorbed = libm::pow(at.as_seconds(), -self.exponent) / self.at_one_second.as_megohms();
        let leaked = self.leakage.map_or(0.0, |leakage| 1.0 / leakage.resistance.as_megohms());
        Resistance::from_megohms_clamped(1.0 / (absorbed + leaked))
    }
}

/// Fits the absorption curve of a test.
///
/// # Formula
///
/// 1/R(t) = G + K·t^−n, least squares of the relative errors. G is left out where its 90 % interval, G ∓ t·se with Student's t on
/// n − 3 degrees of freedom, does not lie above zero, or where there are fewer than four exact readings.
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
    let fitted = |leakage| curve::fit_decay(&times, &currents, leakage, ErrorScale::Relative).ok();
    fitted(Leakage::Fitted)
        .filter(|decay| decay.exponent > 0.0 && decay.amplitude > 0.0)
        .and_then(|decay| Some(curve_of(&decay, Some(leakage_of(&decay)?))))
        .or_else(|| Some(curve_of(&fitted(Leakage::Absent)?, None)))
        .filter(|curve| curve.exponent > 0.0)
}

/// The leakage of a fit; none where its interval reaches zero.
fn leakage_of(decay: &Decay) -> Option<LeakageResistance> {
    let conductance = decay.leakage?;
    let error = half_width(decay, 2);
    let resistance = |siemens: f64| Resistance::from_megohms(1.0 / siemens).ok();
    Some(LeakageResistance {
        resistance: resistance(conductance)?,
        low: resistance(conductance + error)?,
        high: Some(conductance - error)
            .filter(|low| *low > 0.0)
            .map(|low| Resistance::from_megohms_clamped(1.0 / low))?,
    })
}

fn curve_of(decay: &Decay, leakage: Option<LeakageResistance>) -> AbsorptionCurve {
    AbsorptionCurve {
        exponent: decay.exponent,
        exponent_error: half_width(decay, 1),
        leakage,
        at_one_second: Resistance::from_megohms_clamped(1.0 / decay.amplitude),
    }
}

/// Half the interval of a parameter of a fit, by its place in the covariance.
fn half_width(decay: &Decay, parameter: usize) -> f64 {
    let quantile = student_two_sided(CURVE_CONFIDENCE, decay.degrees_of_freedom).unwrap_or(f64::INFINITY);
    quantile * decay.covariance.get(parameter, parameter).unwrap_or(f64::INFINITY).max(0.0).sqrt()
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
/// # Examples
///
/// ```
/// use groundwall::absorption::polarization_index;
/// use groundwall::resistance::{CellRules, TimedReading};
/// use groundwall::units::Elapsed;
/// let cell = |s: f64, text: &str| TimedReading {
///     elapsed: Elapsed::from_seconds(s).unwrap(),
///     value: CellRules::default().read(text).unwrap().unwrap(),
/// };
/// let pi = polarization_index(&[cell(60.0, "400"), cell(600.0, "1.2 GΩ")]).unwrap();
/// assert!((pi.value - 3.0).abs() < 1e-12);
/// ```
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
/// # Examples
///
/// ```
/// use groundwall::absorption::absorption_ratio;
/// use groundwall::resistance::{CellRules, TimedReading};
/// use groundwall::units::Elapsed;
/// let cell = |s: f64, text: &str| TimedReading {
///     elapsed: Elapsed::from_seconds(s).unwrap(),
///     value: CellRules::default().read(text).unwrap().unwrap(),
/// };
/// let dar = absorption_ratio(&[cell(30.0, "320"), cell(60.0, "400")]).unwrap();
/// assert!((dar.value - 1.25).abs() < 1e-12);
/// ```
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
mod tests;
