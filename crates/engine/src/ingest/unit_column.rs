//! Units in a column of their own: `840` beside `kOhm`.
//!
//! A unit belongs to the columns of its kind. Where a header has several columns of units, each belongs to the columns on its
//! left, back to the one before. A unit that is not understood, or that measures something else, costs the row: a number is
//! never read in another unit than the one that stands beside it.

use super::aliases;
use super::unit::Unit;
use crate::error::shown;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::ResistanceUnit;
/// Words for a column of units.
const HEADERS: [&str; 30] = [
    "unit",
    "units",
    "uom",
    "u/m",
    "unit of measure",
    "units of measure",
    "unit of measurement",
    "eng unit",
    "eng units",
    "measunit",
    "einheit",
    "maßeinheit",
    "masseinheit",
    "messeinheit",
    "unité",
    "unite",
    "unidad",
    "unità",
    "unita",
    "unidade",
    "eenheid",
    "meeteenheid",
    "einh",
    "u m",
    "unité de mesure",
    "unidad de medida",
    "unità di misura",
    "unita di misura",
    "unidade de medida",
    "meßeinheit",
];
/// Words for what a unit belongs to, beside `unit` in a header.
const BELONGS_TO: [&str; 22] = [
    "resistance",
    "insulation",
    "r",
    "r60",
    "ir",
    "reading",
    "value",
    "result",
    "meg",
    "meas",
    "measurement",
    "test",
    "temp",
    "temperature",
    "winding",
    "wdg",
    "air",
    "ambient",
    "t",
    "volt",
    "voltage",
    "of",
];

/// The rule that a text in a column of units breaks, and what to do.
pub const NO_UNIT: (&str, &str) = (
    "this column holds units, and the unit of a resistance is Ω, kΩ, MΩ, GΩ or TΩ",
    "write the unit out; a small m before ohm could mean milli or mega",
);

/// Whether a cell of a column of units names one of resistance that is not MΩ, be it one that cannot be told.
#[must_use]
pub fn is_other_than_megohms(cell: &str) -> bool {
    match Unit::read(cell) {
        Some(Unit::Ohms(unit)) => unit != ResistanceUnit::Megohm,
        Some(_) => false,
        None => names_ohms(cell),
    }
}

/// Whether a header names a column of units: a word for units, alone or beside what they belong to (`Temp unit`, `Unit (IR)`).
#[must_use]
pub fn is_header(name: &str) -> bool {
    // In small letters it is a micrometre.
    if name.trim() == "UM" {
        return true;
    }
    let name = name.trim().to_lowercase().replace(['_', '(', ')', '[', ']', '.'], " ");
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if HEADERS.contains(&name.as_str()) {
        return true;
    }
    let mut words: Vec<&str> = name.split(' ').collect();
    let is_unit = |word: &str| matches!(word, "unit" | "units" | "uom" | "einheit" | "unité" | "unidad" | "unità");
    let Some(at) = words.iter().position(|word| is_unit(word)) else { return false };
    words.remove(at);
    !words.is_empty() && words.iter().all(|word| BELONGS_TO.contains(word))
}

/// Whether cells of an unnamed column are units of resistances: most of them, and so that reading them cannot make a
/// number larger by mistake. A lone `G` or `T` may be a mark of the site's own, and a `k` too where the readings have a unit in their
/// headers (`is_said`).
#[must_use]
pub fn holds_units<'a>(cells: impl Iterator<Item = &'a str>, is_said: bool) -> bool {
    let (mut filled, mut units, mut certain) = (0, 0, false);
    for cell in cells.map(str::trim).filter(|cell| !cell.is_empty()) {
        filled += 1;
        match Unit::read(cell) {
            Some(Unit::Ohms(unit)) => {
                units += 1;
                certain |= cell.chars().count() > 1 || (unit == ResistanceUnit::Kilohm && !is_said);
            }
            // Such as mΩ: the rows are rejected for it, and none is read as MΩ.
            None if names_ohms(cell) => (units, certain) = (units + 1, true),
            // Rows of other quantities, such as temperatures.
            Some(_) => units += 1,
            None => {}
        }
    }
    certain && 2 * units >= filled
}

/// Whether a cell is a number with the unit of a temperature, a voltage or another quantity: `18C`, `500 V`.
#[must_use]
pub fn is_quantity(cell: &str) -> bool {
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | ',' | ' ' | '<' | '>');
    let unit = cell.trim_start_matches(is_number);
    unit.len() < cell.len() && (matches!(unit, "C" | "c" | "F" | "f") || Unit::read(unit).is_some())
}

fn names_ohms(cell: &str) -> bool {
    let has_digit = cell.contains(|c: char| c.is_ascii_digit());
    cell.chars().count() < 8
        && !has_digit
        && (cell.to_lowercase().ends_with("ohm") || cell.ends_with(['Ω', '\u{2126}']))
}

/// A column of units and the columns that it belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitColumn {
    /// Its place in the row.
    pub place: usize,
    /// Its header.
    pub header: String,
    /// Places of the columns that its units belong to.
    pub belongs_to: Vec<usize>,
    /// What a blank cell of it means.
    pub blank: Blank,
}

/// What a blank cell in a column of units means, as its other cells tell.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Blank {
    /// Megohms: no other cell names another unit.
    #[default]
    Megohms,
    /// The unit of the first row, which is the only one that has any, and smaller than a megohm.
    AsFirst(String),
    /// Nobody knows: other cells name this unit.
    Unknown(String),
}

impl Blank {
    /// Finds it from all cells of a column, blank ones among them.
    pub fn of<'a>(cells: impl Iterator<Item = &'a str>) -> Self {
        let (mut filled, mut is_first, mut other) = (0_u32, false, None);
        for (row, cell) in cells.map(str::trim).enumerate().filter(|(_, cell)| !cell.is_empty()) {
            filled += 1;
            is_first |= row == 0;
            if other.is_none() && is_other_than_megohms(cell) {
                other = Some((cell, Unit::read(cell)));
            }
        }
        match other {
            None => Self::Megohms,
            Some((cell, Some(Unit::Ohms(unit)))) if filled == 1 && is_first && unit.in_megohms() < 1.0 => {
                Self::AsFirst(cell.to_owned())
            }
            Some((cell, _)) => Self::Unknown(cell.to_owned()),
        }
    }

    /// The rule that a row without a unit breaks, where other rows have this one, and what to do.
    #[must_use]
    pub fn fault(other: &str) -> (String, &'static str) {
        (format!("other rows name {}, and this one names no unit", shown(other)), "write the unit of each reading")
    }
}

/// The columns of units among those at `places`.
#[must_use]
pub fn find(places: &[usize], header: &[String], known: &[(usize, Column)]) -> Vec<UnitColumn> {
    let mut from = 0;
    places
        .iter()
        .map(|place| {
            let measured = known.iter().filter(|(_, column)| is_measured(column)).map(|(at, _)| *at);
            let left: Vec<usize> = measured.clone().filter(|at| (from..*place).contains(at)).collect();
            from = place + 1;
            let belongs_to = if left.is_empty() || places.len() == 1 { measured.collect() } else { left };
            UnitColumn { place: *place, header: header[*place].trim().to_owned(), belongs_to, blank: Blank::default() }
        })
        .collect()
}

fn is_measured(column: &Column) -> bool {
    matches!(
        column,
        Column::Reading(..)
            | Column::Resistance(_)
            | Column::WindingTemp(_)
            | Column::AirTemp(_)
            | Column::TestVolts
            | Column::OutputVolts
            | Column::Humidity
    )
}

impl UnitColumn {
    /// A column in the unit of a cell beside it.
    ///
    /// # Errors
    ///
    /// The fault of a unit that contradicts the header, or that the column cannot have.
    pub fn apply(&self, text: &str, column: Column, header: &str) -> Result<Column, Fault> {
        let fault = |rule: String, hint: &str| Fault {
            column: self.header.clone(),
            value: text.to_owned(),
            rule,
            hint: hint.to_owned(),
        };
        let Some(unit) = Unit::read(text) else {
            return Err(fault(NO_UNIT.0.to_owned(), NO_UNIT.1));
        };
        let named = aliases::units(header).unwrap_or_default();
        let is_named = |suffix: &str| header.trim().to_lowercase().ends_with(suffix);
        Ok(match (column, unit) {
            (Column::Reading(_, own) | Column::Resistance(own), Unit::Ohms(unit))
                if own != unit && (named.ohms.is_some() || is_named("ohm")) =>
            {
                let rule = format!("the header {} names another unit", header.trim());
                return Err(fault(
                    rule,
                    "leave the unit out of the header, or write the cell in the unit of the header",
                ));
            }
            (Column::Reading(at, _), Unit::Ohms(unit)) => Column::Reading(at, unit),
            (Column::Resistance(_), Unit::Ohms(unit)) => Column::Resistance(unit),
            (Column::WindingTemp(_), Unit::Degrees(scale)) => Column::WindingTemp(scale),
            (Column::AirTemp(_), Unit::Degrees(scale)) => Column::AirTemp(scale),
            (other, _) => other,
        })
    }

    /// Whether a unit is of a kind that none of its columns has: then the row measures something else.
    #[must_use]
    pub fn measures_something_else(&self, text: &str, known: &[(usize, Column)]) -> bool {
        let Some(unit) = Unit::read(text) else { return false };
        let fits = |column: &Column| match unit {
            Unit::Ohms(_) => matches!(column, Column::Reading(..) | Column::Resistance(_)),
            Unit::Degrees(_) => matches!(column, Column::WindingTemp(_) | Column::AirTemp(_)),
            Unit::Volts => matches!(column, Column::TestVolts | Column::OutputVolts),
            Unit::Percent => matches!(column, Column::Humidity),
            Unit::Other => false,
        };
        !known.iter().any(|(place, column)| self.belongs_to.contains(place) && fits(column))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use groundwall::record::columns::TemperatureScale;

    #[test]
    fn units_are_read_as_sheets_write_them() {
        for (text, unit) in [
            ("kOhm", Some(Unit::Ohms(ResistanceUnit::Kilohm))),
            ("GOHM", Some(Unit::Ohms(ResistanceUnit::Gigohm))),
            ("MEGOHMS", Some(Unit::Ohms(ResistanceUnit::Megohm))),
            ("M-Ohm", Some(Unit::Ohms(ResistanceUnit::Megohm))),
            ("Meg Ohms", Some(Unit::Ohms(ResistanceUnit::Megohm))),
            ("Meg-Ohm", Some(Unit::Ohms(ResistanceUnit::Megohm))),
            ("kilo ohm", Some(Unit::Ohms(ResistanceUnit::Kilohm))),
            ("Giga ohms", Some(Unit::Ohms(ResistanceUnit::Gigohm))),
            ("TOhm", Some(Unit::Ohms(ResistanceUnit::Teraohm))),
            ("(MΩ)", Some(Unit::Ohms(ResistanceUnit::Megohm))),
            ("DEGC", Some(Unit::Degrees(TemperatureScale::Celsius))),
            ("° F", Some(Unit::Degrees(TemperatureScale::Fahrenheit))),
            ("mm/s", Some(Unit::Other)),
            ("mohm", None),
            ("furlong", None),
        ] {
            assert_eq!(Unit::read(text), unit, "{text}");
        }
        for name in [
            "Unit",
            "UOM",
            "U/M",
            "Units",
            "Einheit",
            "IR unit",
            "Reading_Units",
            "Temp Unit",
            "Units (IR)",
            "UM",
            "U.M.",
            "u.m.",
            "Einh.",
            "Unità di misura",
        ] {
            assert!(is_header(name), "{name}");
        }
        assert!(!is_header("um") && !is_header("Unit no") && !is_header("Unit name") && !is_header("Business unit"));
    }

    #[test]
    fn a_blank_unit_means_what_the_other_rows_leave_open() {
        let blank = |cells: &[&str]| Blank::of(cells.iter().copied());
        assert_eq!(blank(&["MΩ", "", "°C"]), Blank::Megohms);
        assert_eq!(blank(&["kOhm", "", ""]), Blank::AsFirst("kOhm".to_owned()));
        // Filled down it would be milder.
        assert_eq!(blank(&["GOhm", "", ""]), Blank::Unknown("GOhm".to_owned()));
        assert_eq!(blank(&["", "kOhm", ""]), Blank::Unknown("kOhm".to_owned()));
        assert_eq!(blank(&["kOhm", "", "kOhm"]), Blank::Unknown("kOhm".to_owned()));
        assert_eq!(blank(&["mΩ", ""]), Blank::Unknown("mΩ".to_owned()));
    }

    #[test]
    fn columns_of_units_are_known_by_their_cells() {
        let holds = |cells: &[&str]| holds_units(cells.iter().copied(), false);
        assert!(
            holds(&["K", "M"]) && !holds_units(["K", "M"].into_iter(), true),
            "letters beside a unit in the header"
        );
        assert!(
            holds(&["kΩ", "°C", "°C", "kΩ"])
                && !holds(&["°C", "%"])
                && holds(&["kΩ", "", "MΩ"])
                && holds(&["k", "M"])
                && holds(&["MOhm", "°C"])
                && holds(&["mΩ"])
        );
        // Marks of the site's own: G for good.
        assert!(!holds(&["G", "G", "G"]) && !holds(&["G", "M"]));
        assert!(!holds(&["greased", "kΩ", "belt"]) && !holds(&[]));
        // Readings of another column with their units.
        assert!(!holds(&["> 2 GΩ", "2.1 GΩ"]));
    }
}
