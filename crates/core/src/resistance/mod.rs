//! A measured resistance, exact or a bound, and the grammar of the cell it is written in ([`cell`]).
//!
//! A tester whose scale ends says "more than"; leads that short say "less than". Both are kept as bounds from the cell
//! to the chart and are never turned into a number.

pub mod cell;
mod timed;

pub(crate) use cell::plain_decimal;
pub use cell::{CellFault, CellRules, ResistanceUnit, read_decimal};
pub use timed::{TimedReading, TimedReadings, TwoReadings};

use crate::units::Resistance;
use std::fmt;

/// Whether a resistance is what it says, more, or less.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "lowercase"))]
pub enum Bound {
    /// The value itself.
    Exact,
    /// The true value is above: the tester's scale ended.
    Above,
    /// The true value is below.
    Below,
}

/// A resistance as measured.
///
/// # Examples
///
/// ```
/// use groundwall::resistance::{Bound, Measured, CellRules};
/// let cell = CellRules::default().read("> 2 GΩ").unwrap().unwrap();
/// assert_eq!(cell.bound(), Bound::Above);
/// assert_eq!(cell.resistance().unwrap().as_megohms(), 2000.0);
/// assert_eq!(cell.to_string(), "> 2 GΩ");
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measured {
    /// The tester showed this value.
    Exact(Resistance),
    /// The tester's scale ended here: the resistance is greater.
    Above(Resistance),
    /// The resistance is smaller than this.
    Below(Resistance),
    /// The tester showed over-range and its full scale was not recorded.
    OffScale,
}

impl Measured {
    /// The kind of bound. Over-range on a scale of unknown end is a bound above.
    #[must_use]
    pub const fn bound(self) -> Bound {
        match self {
            Self::Exact(_) => Bound::Exact,
            Self::Above(_) | Self::OffScale => Bound::Above,
            Self::Below(_) => Bound::Below,
        }
    }

    /// The value or the limit; none where over-range has no known limit.
    #[must_use]
    pub const fn resistance(self) -> Option<Resistance> {
        match self {
            Self::Exact(r) | Self::Above(r) | Self::Below(r) => Some(r),
            Self::OffScale => None,
        }
    }

    /// The same kind of bound with the resistance multiplied by a positive factor, as a temperature correction does. Where
    /// the product lies outside the limits of a [`Resistance`], the limit is a bound and no value.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{resistance::Measured, units::Resistance};
    /// let read = Measured::Exact(Resistance::GREATEST);
    /// assert_eq!(read.scaled(2.0), Measured::Above(Resistance::GREATEST));
    /// assert_eq!(read.scaled(1.0), read);
    /// ```
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        match self {
            Self::Exact(r) if r.as_megohms() * factor > Resistance::GREATEST.as_megohms() => {
                Self::Above(Resistance::GREATEST)
            }
            Self::Exact(r) if r.as_megohms() * factor < Resistance::LEAST.as_megohms() => {
                Self::Below(Resistance::LEAST)
            }
            Self::Exact(r) => Self::Exact(r.scaled(factor)),
            Self::Above(r) => Self::Above(r.scaled(factor)),
            Self::Below(r) => Self::Below(r.scaled(factor)),
            Self::OffScale => Self::OffScale,
        }
    }

    /// Gives an over-range reading the end of the tester's scale as its limit, where that is known.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{resistance::Measured, units::Resistance};
    /// let full_scale = Some(Resistance::from_megohms(2000.0)?);
    /// assert_eq!(Measured::OffScale.with_full_scale(full_scale).to_string(), "> 2 GΩ");
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub const fn with_full_scale(self, full_scale: Option<Resistance>) -> Self {
        match (self, full_scale) {
            (Self::OffScale, Some(limit)) => Self::Above(limit),
            (other, _) => other,
        }
    }

    /// True when the resistance is certainly at or below the limit: exact or "below" readings only.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{resistance::Measured, units::Resistance};
    /// let limit = Resistance::from_megohms(5.0)?;
    /// assert!(Measured::Below(Resistance::from_megohms(1.0)?).at_or_below(limit));
    /// assert!(!Measured::Above(Resistance::from_megohms(1.0)?).at_or_below(limit)); // it may be anything above 1 MΩ
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn at_or_below(self, limit: Resistance) -> bool {
        match self {
            Self::Exact(r) | Self::Below(r) => r <= limit,
            Self::Above(_) | Self::OffScale => false,
        }
    }
}

impl fmt::Display for Measured {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exact(r) => write!(f, "{r}"),
            Self::Above(r) => write!(f, "> {r}"),
            Self::Below(r) => write!(f, "< {r}"),
            Self::OffScale => write!(f, "over range"),
        }
    }
}
