//! What goes in: the readings of one stretch, checked once at this door.

use std::fmt;

/// On which side of the value the truth lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The value was measured.
    Exact,
    /// The tester's scale ended: the truth is above the value.
    Above,
    /// The truth is below the value.
    Below,
}

impl Side {
    /// +1 above, -1 below, 0 exact: the sign that censored likelihoods use.
    pub(super) fn sign(self) -> f64 {
        match self {
            Side::Exact => 0.0,
            Side::Above => 1.0,
            Side::Below => -1.0,
        }
    }
}

/// One test as the trend sees it.
///
/// # Units
/// `years_from_as_of`: years of 365.25 days, 0 at the as-of date, past negative. `log10_mohm`: log10 of the
/// one-minute resistance in MΩ corrected to the reference temperature. `winding_temp_c`: °C.
/// `extra_variance`: decades², what is known to be uncertain about this reading beyond ordinary scatter (insulation
/// unknown, temperature outside the law's range); 0 when nothing is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Years from the as-of date, past negative.
    pub years_from_as_of: f64,
    /// log10 of the corrected resistance in MΩ, or of its bound.
    pub log10_mohm: f64,
    /// Whether the value is exact or a bound.
    pub side: Side,
    /// Winding temperature at the test, °C, if it was taken.
    pub winding_temp_c: Option<f64>,
    /// Known extra variance of `log10_mohm`, decades².
    pub extra_variance: f64,
}

impl Reading {
    /// An exact reading at the reference temperature with nothing special about it; change fields as needed.
    pub fn exact(years_from_as_of: f64, log10_mohm: f64) -> Self {
        Self {
            years_from_as_of,
            log10_mohm,
            side: Side::Exact,
            winding_temp_c: Some(REFERENCE_TEMP_C),
            extra_variance: 0.0,
        }
    }
}

/// The temperature at which the law needs no correction, °C.
pub(super) const REFERENCE_TEMP_C: f64 = 40.0;

/// Oldest reading accepted, years.
const OLDEST_YEARS: f64 = -200.0;
/// Largest magnitude of log10 MΩ accepted.
const LARGEST_LOG10: f64 = 30.0;
/// Temperatures accepted, °C.
const TEMPERATURES_C: (f64, f64) = (-100.0, 300.0);
/// Largest known extra variance accepted, decades².
const LARGEST_EXTRA: f64 = 100.0;

/// Why readings do not make a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum StretchError {
    /// There is no reading at all.
    Empty,
    /// A reading is earlier than the one before it.
    OutOfOrder {
        /// Position of the reading, from 0.
        index: usize,
    },
    /// A value is not finite or outside what is accepted.
    OutOfRange {
        /// Position of the reading, from 0.
        index: usize,
        /// Name of the field.
        field: &'static str,
        /// The value found.
        value: f64,
        /// Least value accepted.
        least: f64,
        /// Largest value accepted.
        largest: f64,
    },
}

impl fmt::Display for StretchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StretchError::Empty => write!(f, "a stretch must have at least one reading"),
            StretchError::OutOfOrder { index } => {
                write!(f, "reading {index} is earlier than the one before it; readings must be in time order")
            }
            StretchError::OutOfRange { index, field, value, least, largest } => {
                write!(f, "reading {index}: {field} is {value}; it must be from {least} to {largest}")
            }
        }
    }
}

impl std::error::Error for StretchError {}

/// The readings of one series since its last event, in time order.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    readings: Vec<Reading>,
}

impl Stretch {
    /// Checks the readings and keeps them.
    ///
    /// # Validity
    /// Times from -200 to 0 years in order (equal times are welcome), log10 MΩ from -30 to 30, temperatures from -100
    /// to 300 °C, extra variance from 0 to 100 decades².
    ///
    /// # Errors
    /// [`StretchError`] names the first reading that breaks a rule.
    ///
    /// # Examples
    /// ```
    /// use groundwall::trend::{Reading, Stretch};
    /// let stretch = Stretch::new(vec![Reading::exact(-1.0, 2.5), Reading::exact(-0.1, 2.4)]).unwrap();
    /// assert_eq!(stretch.readings().len(), 2);
    /// let error = Stretch::new(vec![Reading::exact(0.5, 2.5)]).unwrap_err();
    /// assert_eq!(error.to_string(), "reading 0: years_from_as_of is 0.5; it must be from -200 to 0");
    /// ```
    pub fn new(readings: Vec<Reading>) -> Result<Self, StretchError> {
        if readings.is_empty() {
            return Err(StretchError::Empty);
        }
        for (index, r) in readings.iter().enumerate() {
            let fields = [
                ("years_from_as_of", r.years_from_as_of, OLDEST_YEARS, 0.0),
                ("log10_mohm", r.log10_mohm, -LARGEST_LOG10, LARGEST_LOG10),
                ("winding_temp_c", r.winding_temp_c.unwrap_or(REFERENCE_TEMP_C), TEMPERATURES_C.0, TEMPERATURES_C.1),
                ("extra_variance", r.extra_variance, 0.0, LARGEST_EXTRA),
            ];
            for (field, value, least, largest) in fields {
                if !(least..=largest).contains(&value) {
                    return Err(StretchError::OutOfRange { index, field, value, least, largest });
                }
            }
            if index > 0 && r.years_from_as_of < readings[index - 1].years_from_as_of {
                return Err(StretchError::OutOfOrder { index });
            }
        }
        Ok(Self { readings })
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
    readings.iter().filter(|r| r.side == Side::Exact).count()
}
