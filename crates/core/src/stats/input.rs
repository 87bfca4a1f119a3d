//! What every fit refuses: the checks on slices, and the sentences that name the value at fault.
//!
//! All fits accept numbers up to [`LARGEST`] in size. The limit keeps every square and product of the calculation far
//! from overflow, so that no input, however odd, can turn into an infinity or a NaN halfway.

use core::fmt;

/// Largest size of an input value, and the inverse of the smallest weight or variance.
///
/// # Validity
///
/// Squares of ratios of such numbers reach 1e160 and their products with variances 1e320 only when an input is at the
/// limit on every side at once; results that still leave the range of `f64` are reported as [`InputError::OutOfRange`].
pub const LARGEST: f64 = 1e40;

/// Why a set of numbers cannot be fitted.
///
/// # Units
///
/// `row` and `column` count from 1, as a person would count them in a table.
#[derive(Debug, Clone, PartialEq)]
pub enum InputError {
    /// Two slices that belong together differ in length.
    Length {
        /// Which slice.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The length it should have.
        expected: usize,
    },
    /// One value breaks a rule.
    Value {
        /// Which slice or argument.
        what: &'static str,
        /// Position, from 1.
        row: usize,
        /// The value.
        found: f64,
        /// The rule, as a clause.
        rule: &'static str,
    },
    /// Fewer rows than the model can be fitted to.
    TooFew {
        /// Rows given.
        found: usize,
        /// Rows needed.
        needed: usize,
    },
    /// One column says nothing that the columns before it have not said.
    Collinear {
        /// Position among the columns, from 1; 0 is the intercept.
        column: usize,
    },
    /// A confidence level that is not a probability.
    Confidence {
        /// The level asked for.
        found: f64,
    },
    /// The result is too large or too small for a floating-point number.
    OutOfRange,
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { what, found, expected } => {
                write!(f, "{what} has {found} values; it must have {expected}")
            }
            Self::Value { what, row, found, rule } => write!(f, "{what}, row {row}, is {found}; it {rule}"),
            Self::TooFew { found, needed } => {
                write!(f, "the data have {found} rows; this model needs at least {needed}")
            }
            Self::Collinear { column: 0 } => {
                write!(f, "the intercept is a combination of the columns; every column must add something of its own")
            }
            Self::Collinear { column } => write!(
                f,
                "column {column} is constant or a combination of those before it; every column must add something of its own"
            ),
            Self::Confidence { found } => {
                write!(f, "the confidence level is {found}; it must lie between 0 and 1, both excluded")
            }
            Self::OutOfRange => {
                write!(f, "the result is outside the range of floating-point numbers; the data must be rescaled")
            }
        }
    }
}

impl core::error::Error for InputError {}

/// Refuses a slice of the wrong length.
pub(crate) fn check_length(what: &'static str, values: &[f64], expected: usize) -> Result<(), InputError> {
    if values.len() == expected { Ok(()) } else { Err(InputError::Length { what, found: values.len(), expected }) }
}

/// Refuses NaN, infinities and numbers beyond [`LARGEST`].
pub(crate) fn check_values(what: &'static str, values: &[f64]) -> Result<(), InputError> {
    match values.iter().position(|v| v.is_nan() || v.abs() > LARGEST) {
        None => Ok(()),
        Some(i) => Err(InputError::Value {
            what,
            row: i + 1,
            found: values[i],
            rule: "must be a number no larger than 1e40 in size",
        }),
    }
}

/// Refuses anything that is not a positive number within `1/LARGEST..=LARGEST`.
pub(crate) fn check_positive(what: &'static str, values: &[f64]) -> Result<(), InputError> {
    match values.iter().position(|v| !(1.0 / LARGEST..=LARGEST).contains(v)) {
        None => Ok(()),
        Some(i) => {
            Err(InputError::Value { what, row: i + 1, found: values[i], rule: "must be a number from 1e-40 to 1e40" })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_give_place_value_and_rule() {
        let cases = [
            (check_values("y", &[1.0, f64::NAN]), "y, row 2, is NaN; it must be a number no larger than 1e40 in size"),
            (check_positive("weights", &[0.0]), "weights, row 1, is 0; it must be a number from 1e-40 to 1e40"),
            (check_length("y", &[1.0], 2), "y has 1 values; it must have 2"),
            (Err(InputError::TooFew { found: 2, needed: 3 }), "the data have 2 rows; this model needs at least 3"),
            (
                Err(InputError::Confidence { found: 1.0 }),
                "the confidence level is 1; it must lie between 0 and 1, both excluded",
            ),
        ];
        for (result, sentence) in cases {
            assert_eq!(result.map_err(|e| e.to_string()), Err(sentence.to_owned()));
        }
    }
}
