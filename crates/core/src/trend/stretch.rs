//! What goes in: the readings of one stretch, checked once at this door.

use crate::resistance::Bound;
use crate::units::{Decades, Resistance, TemperatureDifference, Years};
use std::fmt;

/// +1 above, -1 below, 0 exact: the sign that censored likelihoods use.
pub(super) fn sign(bound: Bound) -> f64 {
    match bound {
        Bound::Exact => 0.0,
        Bound::Above => 1.0,
        Bound::Below => -1.0,
    }
}

/// One test as the trend sees it: a one-minute resistance, corrected to the reference temperature.
///
/// # Examples
/// ```
/// use groundwall::{resistance::Bound, trend::Reading};
/// use groundwall::units::{OutOfRange, Resistance, Temperature, Years};
/// let reference = Temperature::from_celsius(40.0)?;
/// let corrected = Resistance::from_megohms(171.7)?;
/// let reading = Reading::new(Years::from_years(-0.25)?, Bound::Exact, corrected)
///     .at_temperature(Temperature::from_celsius(24.5)? - reference);
/// assert_eq!(reading.bound(), Bound::Exact);
/// # Ok::<(), OutOfRange>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Years from the as-of date, past negative.
    pub(super) years_from_as_of: f64,
    /// log10 of the corrected resistance in MΩ, or of its bound.
    pub(super) log10_mohm: f64,
    /// Whether the value is exact or a bound.
    pub(super) bound: Bound,
    /// Winding temperature at the test, °C, if it was taken; the reference temperature counts as 40.
    pub(super) winding_temp_c: Option<f64>,
    /// Known extra variance of `log10_mohm`, decades².
    pub(super) extra_variance: f64,
}

impl Reading {
    /// A reading at an unknown temperature: the resistance at the reference temperature as far as it is known, or its bound.
    #[must_use]
    pub fn new(when: Years, bound: Bound, corrected: Resistance) -> Self {
        Self { bound, winding_temp_c: None, ..Self::exact(when.as_years(), corrected.log10_megohms()) }
    }

    /// The same reading, taken at a temperature of the winding so far above the reference temperature.
    #[must_use]
    pub fn at_temperature(self, above_reference: TemperatureDifference) -> Self {
        Self { winding_temp_c: Some(REFERENCE_TEMP_C + above_reference.as_kelvins()), ..self }
    }

    /// The same reading with a standard deviation of what is uncertain about it beyond ordinary scatter: insulation unknown,
    /// temperature outside of the law's range. The sign does not matter.
    #[must_use]
    pub fn with_doubt(self, doubt: Decades) -> Self {
        Self { extra_variance: doubt.as_decades().powi(2), ..self }
    }

    /// When it was taken.
    #[must_use]
    pub fn when(&self) -> Years {
        Years::clamped(self.years_from_as_of)
    }

    /// Whether the resistance is exact or a bound.
    #[must_use]
    pub fn bound(&self) -> Bound {
        self.bound
    }

    /// The resistance at the reference temperature, or its bound.
    #[must_use]
    pub fn corrected(&self) -> Resistance {
        Resistance::from_log10_megohms(self.log10_mohm)
    }

    /// An exact reading at the reference temperature with nothing special about it.
    pub(super) fn exact(years_from_as_of: f64, log10_mohm: f64) -> Self {
        Self {
            years_from_as_of,
            log10_mohm,
            bound: Bound::Exact,
            winding_temp_c: Some(REFERENCE_TEMP_C),
            extra_variance: 0.0,
        }
    }
}

/// The temperature at which the law needs no correction, °C.
pub(super) const REFERENCE_TEMP_C: f64 = 40.0;

/// Why readings do not make a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum StretchError {
    /// There is no reading at all.
    Empty,
    /// A reading was taken after the as-of date.
    AfterAsOf {
        /// The time.
        when: Years,
    },
}

impl fmt::Display for StretchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StretchError::Empty => write!(f, "a stretch must have at least one reading"),
            StretchError::AfterAsOf { when } => {
                write!(f, "a reading was taken {when} after the as-of date; leave out readings after that date")
            }
        }
    }
}

impl std::error::Error for StretchError {}

/// What a temperature law of middling slope can have got wrong, decades per 10 °C: insulation neither rises with temperature
/// nor falls by more than half a decade in 10 °C.
const LAW_ERRORS: (f64, f64) = (-0.25, 0.25);

/// The readings of one series since its last event, in time order.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    readings: Vec<Reading>,
    /// What the temperature law can have got wrong, decades per 10 °C.
    law_errors: (f64, f64),
}

impl Stretch {
    /// Sorts the readings by time; those of the same time keep their order.
    ///
    /// # Errors
    /// [`StretchError`] when there is no reading or one was taken after the as-of date.
    ///
    /// # Examples
    /// ```
    /// use groundwall::{resistance::Bound, trend::{Reading, Stretch}};
    /// use groundwall::units::{OutOfRange, Resistance, Years};
    /// let reading = |years, mohm| {
    ///     Ok::<_, OutOfRange>(Reading::new(Years::from_years(years)?, Bound::Exact, Resistance::from_megohms(mohm)?))
    /// };
    /// let stretch = Stretch::new(vec![reading(-0.1, 250.0)?, reading(-1.0, 310.0)?])?;
    /// assert_eq!(stretch.readings()[0].when().as_years(), -1.0);
    /// let error = Stretch::new(vec![reading(0.5, 310.0)?]).unwrap_err();
    /// assert_eq!(
    ///     error.to_string(),
    ///     "a reading was taken 0.5 years after the as-of date; leave out readings after that date"
    /// );
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(mut readings: Vec<Reading>) -> Result<Self, StretchError> {
        if readings.is_empty() {
            return Err(StretchError::Empty);
        }
        if let Some(late) = readings.iter().find(|reading| reading.years_from_as_of > 0.0) {
            return Err(StretchError::AfterAsOf { when: late.when() });
        }
        readings.sort_by(|a, b| a.years_from_as_of.total_cmp(&b.years_from_as_of));
        Ok(Self { readings, law_errors: LAW_ERRORS })
    }

    /// Says what the temperature law that corrected the readings can have got wrong, decades per 10 °C: from `least` to
    /// `greatest`, positive where warm tests read too high. Models that need more get no weight. Nothing wrong is always
    /// possible.
    #[must_use]
    pub(crate) fn with_law_errors(mut self, least: f64, greatest: f64) -> Self {
        self.law_errors = (least.min(0.0), greatest.max(0.0));
        self
    }

    /// The same readings as the law corrected them: as if all had been taken at the reference temperature, so that the trend fits nothing
    /// of what the law gets wrong.
    #[must_use]
    pub(crate) fn without_law_error(mut self) -> Self {
        for temperature in self.readings.iter_mut().filter_map(|reading| reading.winding_temp_c.as_mut()) {
            *temperature = REFERENCE_TEMP_C;
        }
        self
    }

    pub(super) fn law_errors(&self) -> (f64, f64) {
        self.law_errors
    }

    /// The readings, in time order.
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// How many readings are exact.
    pub fn exact_count(&self) -> usize {
        exact_count(&self.readings)
    }
}

pub(super) fn exact_count(readings: &[Reading]) -> usize {
    readings.iter().filter(|r| r.bound == Bound::Exact).count()
}
