//! The cell that a resistance is written in.
//!
//! # Grammar
//!
//! ```text
//! cell   = [ sign ] number [ unit ] | over
//! sign   = ">" | "≥" | ">=" | "<" | "≤" | "<="
//! number = digits [ point digits ] [ "e" [ "+" | "-" ] digits ]      point: "." , or "," where the file says so
//! unit   = "Ω" | "ohm" | "k" | "kΩ" | "M" | "MΩ" | "G" | "GΩ" | "T" | "TΩ" …    without one: the column's unit
//! over   = "OL" | "OFL" | "over" | "over range" | "∞" | "inf" | "infinity", also after ">"
//! ```

use super::{Bound, Measured};
use crate::units::Resistance;
use std::fmt;

/// Decimal multiple of the ohm, as headers and cells name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum ResistanceUnit {
    /// Ω
    Ohm,
    /// kΩ
    Kilohm,
    /// MΩ, the unit of a bare number unless the header says otherwise.
    #[default]
    Megohm,
    /// GΩ
    Gigohm,
    /// TΩ
    Teraohm,
}

/// The ohm in English and other languages, longer forms first.
const OHM: [&str; 4] = ["ohmios", "ohmio", "ohms", "ohm"];

impl ResistanceUnit {
    /// How many megohms one of this unit is.
    #[must_use]
    pub const fn in_megohms(self) -> f64 {
        match self {
            Self::Ohm => 1e-6,
            Self::Kilohm => 1e-3,
            Self::Megohm => 1.0,
            Self::Gigohm => 1e3,
            Self::Teraohm => 1e6,
        }
    }

    /// A number of this unit in MΩ, as exactly as a division gives it: 28,400 kΩ are 28.4 MΩ.
    #[must_use]
    pub fn to_megohms(self, number: f64) -> f64 {
        match self {
            Self::Ohm => number / 1e6,
            Self::Kilohm => number / 1e3,
            Self::Megohm | Self::Gigohm | Self::Teraohm => number * self.in_megohms(),
        }
    }

    /// Reads a unit as written after a number or in a header. A small `m` alone could mean milli and is refused.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().replace(['\u{2126}', '\u{3a9}'], "ohm");
        let lower = text.to_lowercase().replace('é', "e");
        let before = OHM.iter().find_map(|word| lower.strip_suffix(word));
        let has_ohm = before.is_some();
        match before.unwrap_or(&lower).trim_end_matches([' ', '-']) {
            "" if has_ohm => Some(Self::Ohm),
            "k" | "kil" | "kilo" => Some(Self::Kilohm),
            "quil" | "quilo" | "chil" | "chilo" if has_ohm => Some(Self::Kilohm),
            "m" if text.starts_with('M') => Some(Self::Megohm),
            "meg" | "mega" => Some(Self::Megohm),
            "g" | "gig" | "giga" => Some(Self::Gigohm),
            "t" | "ter" | "tera" => Some(Self::Teraohm),
            _ => None,
        }
    }
}

/// How a resistance cell is to be read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellRules {
    /// Unit of a number that names none.
    pub unit: ResistanceUnit,
    /// Whether `,` is the decimal point.
    pub decimal_comma: bool,
    /// What a reading of zero means: less than this.
    pub zero_means_below: Resistance,
}

impl Default for CellRules {
    fn default() -> Self {
        Self {
            unit: ResistanceUnit::Megohm,
            decimal_comma: false,
            zero_means_below: Resistance::from_megohms_clamped(0.1),
        }
    }
}

/// Why a resistance cell cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellFault {
    /// Not a number at all.
    NotANumber,
    /// The unit is not one of Ω, kΩ, MΩ, GΩ, TΩ.
    UnknownUnit,
    /// `m` may mean milli or mega.
    AmbiguousUnit,
    /// A comma where the file's decimal point is a point.
    CommaWithoutOption,
    /// A point as thousands mark, or several points or commas.
    ThousandsMark,
    /// A point in a file of decimal commas that may be a decimal mark or part thousands.
    PointOrThousands,
    /// Less than zero.
    Negative,
    /// Outside the limits of a resistance.
    OutOfRange,
}

impl CellFault {
    /// The rule that the cell breaks.
    #[must_use]
    pub const fn rule(self) -> &'static str {
        match self {
            Self::NotANumber => {
                "a resistance is a number, with `>` or `<` before it and a unit after it if needed, or OL"
            }
            Self::UnknownUnit => "the unit of a resistance is Ω, kΩ, MΩ, GΩ or TΩ",
            Self::AmbiguousUnit => "a small m could mean milli or mega; megohms are written MΩ",
            Self::CommaWithoutOption => "the decimal mark of this file is the point",
            Self::ThousandsMark => "a number has one decimal mark and no thousands marks",
            Self::PointOrThousands => {
                "the decimal mark of this file is the comma, and the point could be a thousands separator"
            }
            Self::Negative => "a resistance must be greater than 0 MΩ",
            Self::OutOfRange => "a resistance must lie between 0.000001 and 100000000 MΩ",
        }
    }

    /// What to do about it.
    #[must_use]
    pub const fn hint(self) -> &'static str {
        match self {
            Self::NotANumber => {
                "write the megohms the tester showed, `>1000` where its scale ended at 1000 MΩ, or leave the cell empty"
            }
            Self::UnknownUnit => "write the unit out, such as `1.2 GΩ`, or name it in the header, such as r_60s_gohm",
            Self::AmbiguousUnit => "write MΩ, or leave the unit out: a bare number is read in megohms",
            Self::CommaWithoutOption => {
                "if the comma is the decimal mark, use --decimal-comma; if it separates thousands, use --decimal-point or take it out"
            }
            Self::ThousandsMark => "take the thousands marks out",
            Self::PointOrThousands => {
                "if the point is the decimal mark of the file, use --decimal-point; if it separates thousands, use --decimal-comma or take it out"
            }
            Self::Negative => "if the tester showed over-range, write `>` before the largest value it can show",
            Self::OutOfRange => "check the unit and the digits against the test sheet",
        }
    }
}

impl fmt::Display for CellFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.rule())
    }
}

impl std::error::Error for CellFault {}

const OVER_RANGE: [&str; 12] =
    ["ol", "ovl", "o.l", "o.l.", "ofl", "over", "overrange", "over range", "over-range", "∞", "inf", "infinity"];

impl CellRules {
    /// Reads one cell. Empty is missing and gives `None`, as do a lone dash and `n/a`.
    ///
    /// # Errors
    ///
    /// [`CellFault`] names the rule that the text breaks and what to do.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::resistance::{CellRules, Measured, CellFault};
    /// let rules = CellRules::default();
    /// assert_eq!(rules.read("850k").unwrap().unwrap().to_string(), "0.85 MΩ");
    /// assert_eq!(rules.read("OL").unwrap(), Some(Measured::OffScale));
    /// assert_eq!(rules.read("0").unwrap().unwrap().to_string(), "< 0.1 MΩ");
    /// assert_eq!(rules.read("-3.1"), Err(CellFault::Negative));
    /// ```
    pub fn read(&self, text: &str) -> Result<Option<Measured>, CellFault> {
        let text = text.trim();
        if text.is_empty() || matches!(text, "-" | "–" | "—") || text.eq_ignore_ascii_case("n/a") {
            return Ok(None);
        }
        let (sign, rest) = split_sign(text);
        if let Some(number) = plain_decimal(rest, self.decimal_comma) {
            return self.bounded(sign, self.unit.to_megohms(number));
        }
        // `∞ MΩ`
        let bare = rest.rsplit_once(' ').filter(|(_, unit)| ResistanceUnit::read(unit).is_some());
        let bare = bare.map_or(rest, |(bare, _)| bare.trim_end());
        if OVER_RANGE.contains(&bare.to_lowercase().as_str()) {
            return if sign == Bound::Below { Err(CellFault::NotANumber) } else { Ok(Some(Measured::OffScale)) };
        }
        let (digits, unit) = split_unit(rest);
        // `1 200` and `1'200`: another way to part thousands.
        let behind = unit.trim_start_matches([' ', '\u{a0}', '\u{202f}', '\'', '’']);
        if !digits.is_empty() && behind.starts_with(|c: char| c.is_ascii_digit()) {
            return Err(CellFault::ThousandsMark);
        }
        let unit = match unit.trim() {
            "" => self.unit,
            "m" | "mΩ" | "mohm" | "m\u{2126}" => return Err(CellFault::AmbiguousUnit),
            word => ResistanceUnit::read(word).ok_or(if digits.is_empty() || is_misspelt_digits(word) {
                CellFault::NotANumber
            } else {
                CellFault::UnknownUnit
            })?,
        };
        let number = read_decimal(digits, self.decimal_comma)?;
        self.bounded(sign, unit.to_megohms(number))
    }

    fn bounded(&self, sign: Bound, megohms: f64) -> Result<Option<Measured>, CellFault> {
        if megohms < 0.0 {
            return Err(CellFault::Negative);
        }
        if megohms == 0.0 {
            return match sign {
                Bound::Above => Err(CellFault::OutOfRange),
                Bound::Exact | Bound::Below => Ok(Some(Measured::Below(self.zero_means_below))),
            };
        }
        let resistance = Resistance::from_megohms(megohms).map_err(|_| CellFault::OutOfRange)?;
        Ok(Some(match sign {
            Bound::Exact => Measured::Exact(resistance),
            Bound::Above => Measured::Above(resistance),
            Bound::Below => Measured::Below(resistance),
        }))
    }
}

fn split_sign(text: &str) -> (Bound, &str) {
    for (mark, bound) in [
        (">=", Bound::Above),
        ("≥", Bound::Above),
        (">", Bound::Above),
        ("<=", Bound::Below),
        ("≤", Bound::Below),
        ("<", Bound::Below),
    ] {
        if let Some(rest) = text.strip_prefix(mark) {
            return (bound, rest.trim_start());
        }
    }
    (Bound::Exact, text)
}

/// Splits the number from the unit after it. An `e` belongs to the number only with digits after it.
fn split_unit(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let mut end = 0;
    while end < bytes.len() {
        match bytes[end] {
            b'0'..=b'9' | b'.' | b',' => end += 1,
            b'+' | b'-' if end == 0 => end += 1,
            b'e' | b'E' if end > 0 => {
                let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
                if !bytes.get(end + 1 + sign).is_some_and(u8::is_ascii_digit) {
                    break;
                }
                end += 1 + sign;
                while bytes.get(end).is_some_and(u8::is_ascii_digit) {
                    end += 1;
                }
                break;
            }
            _ => break,
        }
    }
    text.split_at(end)
}

/// Whether what follows digits is not a unit but more of the number, with letters in the place of digits: `1o4`, `2OO`, `l5`.
fn is_misspelt_digits(word: &str) -> bool {
    word.chars().any(|c| c.is_ascii_digit()) || word.chars().all(|c| matches!(c, 'o' | 'O' | 'l' | 'I'))
}

/// A number of at most fifteen digits with at most one decimal mark among them and nothing else: what most cells hold. It is
/// the quotient of two whole numbers that are exact, so it is rounded once, as any other reading of the text would be.
pub(crate) fn plain_decimal(text: &str, decimal_comma: bool) -> Option<f64> {
    const POWERS: [f64; 16] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    let (negative, bytes) = match text.as_bytes() {
        [b'-', rest @ ..] => (true, rest),
        rest => (false, rest),
    };
    // Fifteen digits, a mark, and one byte more that is looked at no longer.
    if bytes.len() > 16 {
        return None;
    }
    let (whole, behind) = digits(0, bytes);
    let value = match behind {
        _ if behind.len() == bytes.len() => return None,
        [] if bytes.len() > 15 => return None,
        [] => whole as f64,
        [mark, decimals @ ..] if *mark == if decimal_comma { b',' } else { b'.' } && !decimals.is_empty() => {
            let (all, behind) = digits(whole, decimals);
            if !behind.is_empty() {
                return None;
            }
            all as f64 / POWERS[decimals.len()]
        }
        _ => return None,
    };
    Some(if negative { -value } else { value })
}

/// The digits that a text begins with, put after those of a number, and what follows them.
#[inline]
fn digits(mut number: i64, mut text: &[u8]) -> (i64, &[u8]) {
    while let [byte @ b'0'..=b'9', rest @ ..] = text {
        number = 10 * number + i64::from(byte - b'0');
        text = rest;
    }
    (number, text)
}

/// Reads a decimal number in which the decimal mark is known; thousands marks are refused, never guessed.
///
/// # Errors
///
/// [`CellFault`] when the text is not such a number.
///
/// # Examples
///
/// ```
/// use groundwall::resistance::{CellFault, read_decimal};
/// assert_eq!(read_decimal("0,85", true), Ok(0.85));
/// assert_eq!(read_decimal("0,85", false), Err(CellFault::CommaWithoutOption));
/// assert_eq!(read_decimal("1.200", true), Err(CellFault::PointOrThousands)); // 1.2 or 1200
/// ```
pub fn read_decimal(text: &str, decimal_comma: bool) -> Result<f64, CellFault> {
    let marks = text.matches(['.', ',']).count();
    if marks > 1 {
        return Err(CellFault::ThousandsMark);
    }
    if decimal_comma && could_part_thousands(text) {
        return Err(CellFault::PointOrThousands);
    }
    let point = if decimal_comma && text.contains(',') {
        text.replace(',', ".")
    } else if text.contains(',') {
        return Err(CellFault::CommaWithoutOption);
    } else {
        text.to_owned()
    };
    let value: f64 = point.parse().map_err(|_| CellFault::NotANumber)?;
    // `1e-400` is not a zero.
    let mantissa = point.split(['e', 'E']).next().unwrap_or_default();
    let vanished = value == 0.0 && mantissa.bytes().any(|byte| matches!(byte, b'1'..=b'9'));
    if value.is_finite() && !vanished { Ok(value) } else { Err(CellFault::NotANumber) }
}

/// One to three digits, a point, three digits: `1.200`, but not `0.500`.
fn could_part_thousands(text: &str) -> bool {
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    text.trim_start_matches(['+', '-']).split_once('.').is_some_and(|(whole, rest)| {
        digits(whole) && digits(rest) && rest.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0')
    })
}

#[cfg(test)]
mod tests;
