//! Which direct voltage a winding, a cable or a circuit is tested with.
//!
//! # References
//!
//! IEEE Std 43-2000 Table 1, as quoted in a guide to ABNT NBR 16929 (its Table 2). The gaps printed between brackets
//! (2500 to 2501 V, 5000 to 5001 V) are taken as one edge.

use crate::nameplate::{Construction, Nameplate};
use crate::units::Voltage;

/// Least and greatest direct test voltage of a rating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TestVoltageGuide {
    /// Least.
    pub least: Voltage,
    /// Greatest.
    pub greatest: Voltage,
}

impl TestVoltageGuide {
    /// Whether a voltage is inside the guide, or as good as one that is ([`is_same_voltage`]): 534 V read off the tester is a 500 V test.
    #[must_use]
    pub fn allows(self, volts: Voltage) -> bool {
        (volts >= self.least && volts <= self.greatest)
            || is_same_voltage(volts, self.least)
            || is_same_voltage(volts, self.greatest)
    }
}

/// Share by which the higher of two voltages may exceed the lower where both are the same step of a tester.
const SAME_VOLTAGE: f64 = 1.25;

/// Whether two voltages are the same step of a tester: the higher is at most 1.25 times the lower.
///
/// # References
///
/// IEC 61557-2 cl. 4.2 (from memory): the output may be up to 1.25 times the nominal voltage.
///
/// # Examples
///
/// ```
/// use groundwall::{units::Voltage, voltage::is_same_voltage};
/// assert!(is_same_voltage(Voltage::from_volts(534.0)?, Voltage::from_volts(500.0)?));
/// assert!(!is_same_voltage(Voltage::from_volts(1000.0)?, Voltage::from_volts(500.0)?));
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn is_same_voltage(one: Voltage, other: Voltage) -> bool {
    let (one, other) = (one.as_volts(), other.as_volts());
    one.max(other) <= SAME_VOLTAGE * one.min(other)
}

/// Rated voltage up to which a row holds (the first row: below which), and its test voltages.
const GUIDE: [(f64, f64, f64); 5] = [
    (1000.0, 500.0, 500.0),
    (2500.0, 500.0, 1000.0),
    (5000.0, 1000.0, 2500.0),
    (12_000.0, 2500.0, 5000.0),
    (f64::INFINITY, 5000.0, 10_000.0),
];

/// The guide for a rated voltage.
///
/// # Units
///
/// Rated voltage line to line for three-phase machines, line to earth for single-phase ones, rated direct voltage for
/// direct-current machines and fields.
///
/// # Validity
///
/// Any rating; below 1 kV 500 V, from there by brackets of the rating.
///
/// # Examples
///
/// ```
/// use groundwall::{units::Voltage, voltage::test_voltage_guide};
/// let guide = test_voltage_guide(Voltage::from_volts(6600.0)?);
/// assert_eq!((guide.least.as_volts(), guide.greatest.as_volts()), (2500.0, 5000.0));
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn test_voltage_guide(rated: Voltage) -> TestVoltageGuide {
    let volts = rated.as_volts();
    let row = GUIDE.iter().enumerate().find(|(i, (to, _, _))| if *i == 0 { volts < *to } else { volts <= *to });
    let (_, least, greatest) = row.map_or(GUIDE[GUIDE.len() - 1], |(_, row)| *row);
    let volts = |value: f64| Voltage::from_volts(value).unwrap_or(Voltage::LEAST);
    TestVoltageGuide { least: volts(least), greatest: volts(greatest) }
}

/// Nominal voltage of a circuit up to which a row holds, and its test voltages, V.
const CIRCUIT_GUIDE: [(f64, f64, f64); 3] =
    [(50.0, 250.0, 250.0), (500.0, 500.0, 500.0), (f64::INFINITY, 1000.0, 1000.0)];
/// Rated voltage of a cable up to which a row holds, and its test voltages, V. The table gives least voltages; the greatest are the
/// next usual step (common practice).
const CABLE_GUIDE: [(f64, f64, f64); 4] =
    [(1000.0, 500.0, 1000.0), (2500.0, 1000.0, 2500.0), (15_000.0, 2500.0, 5000.0), (f64::INFINITY, 5000.0, 10_000.0)];

/// The guide for what a nameplate describes; none without a rated voltage.
///
/// A winding has that of [`test_voltage_guide`], a circuit and a cable those of their own tables.
///
/// # Examples
///
/// ```
/// use groundwall::nameplate::{Construction, Nameplate};
/// use groundwall::{units::Voltage, voltage::guide_for};
/// let rated_voltage = Some(Voltage::from_volts(400.0)?);
/// let of = |construction| Nameplate { construction: Some(construction), rated_voltage, ..Nameplate::default() };
/// let greatest = |construction| guide_for(&of(construction)).map(|guide| guide.greatest.as_volts());
/// assert_eq!(greatest(Construction::Circuit), Some(500.0));
/// assert_eq!(greatest(Construction::Cable), Some(1000.0));
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// Circuits: IEC 60364-6 Table 6.1, as printed in a railway's technical rules. Cables: ANSI/NETA MTS-2019 Table 100.1; 500 V up to
/// 500 V rated by IEC 60364-6.
#[must_use]
pub fn guide_for(nameplate: &Nameplate) -> Option<TestVoltageGuide> {
    let rated = nameplate.rated_voltage?;
    let table: &[(f64, f64, f64)] = match nameplate.construction {
        Some(Construction::Circuit) => &CIRCUIT_GUIDE,
        Some(Construction::Cable) => &CABLE_GUIDE,
        _ => return Some(test_voltage_guide(rated)),
    };
    let (_, least, greatest) = table.iter().find(|(up_to, _, _)| rated.as_volts() <= *up_to)?;
    let volts = |value: f64| Voltage::from_volts(value).unwrap_or(Voltage::LEAST);
    Some(TestVoltageGuide { least: volts(*least), greatest: volts(*greatest) })
}

/// The document behind [`guide_for`].
#[must_use]
pub fn guide_source(nameplate: &Nameplate) -> &'static str {
    match nameplate.construction {
        Some(Construction::Circuit) => "IEC 60364-6 Table 6.1",
        Some(Construction::Cable) => "ANSI/NETA MTS-2019 Table 100.1",
        _ => "IEEE Std 43-2000 Table 1",
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    fn volts(value: f64) -> Voltage {
        Voltage::from_volts(value).unwrap()
    }

    /// IEEE Std 43-2000 Table 1 at the edges of its rows: below 1000 V; 1000 to 2500; to 5000; to 12 000; above.
    #[test]
    fn every_row_holds_up_to_its_printed_edge() {
        for (rated, least, greatest) in [
            (999.0, 500.0, 500.0),
            (1000.0, 500.0, 1000.0),
            (2500.0, 500.0, 1000.0),
            (2501.0, 1000.0, 2500.0),
            (5000.0, 1000.0, 2500.0),
            (5001.0, 2500.0, 5000.0),
            (12_000.0, 2500.0, 5000.0),
            (12_001.0, 5000.0, 10_000.0),
        ] {
            let expected = TestVoltageGuide { least: volts(least), greatest: volts(greatest) };
            assert_eq!(test_voltage_guide(volts(rated)), expected, "rated {rated} V");
        }
    }

    #[test]
    fn both_ends_of_the_guide_are_inside_it() {
        let guide = test_voltage_guide(volts(6600.0));
        // 1.25 times either end is the same step of a tester: 2000 to 6250 V.
        for (tested, inside) in [
            (1999.0, false),
            (2000.0, true),
            (2500.0, true),
            (3000.0, true),
            (5000.0, true),
            (6250.0, true),
            (6251.0, false),
        ] {
            assert_eq!(guide.allows(volts(tested)), inside, "{tested} V");
        }
    }
}
