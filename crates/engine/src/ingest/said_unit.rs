//! Units of resistance in texts beside readings: `All readings in kΩ` below a table, `in kOhm` as a remark, `kOhm, damp` between
//! brackets.
//!
//! A unit after a number belongs to that number and not to others. No bare number is read as megohms where a text
//! beside it names another unit.

use super::unit::Unit;
use groundwall::resistance::{CellRules, ResistanceUnit};

/// A unit that a text names for readings beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SaidUnit {
    /// The unit; `None` where it is not clear: mΩ could be milliohms or megohms, and of `x 1000 ohm` nobody knows what is multiplied.
    pub unit: Option<ResistanceUnit>,
    /// Whether the text says nothing else: `in kΩ`, `Readings [kOhm]`.
    pub is_certain: bool,
}

/// Words beside a unit that say no more than that it is one of readings.
const FILLERS: [&str; 62] = [
    "in",
    "en",
    "em",
    "all",
    "the",
    "is",
    "are",
    "of",
    "unit",
    "units",
    "uom",
    "reading",
    "readings",
    "value",
    "values",
    "result",
    "results",
    "measured",
    "measurement",
    "measurements",
    "insulation",
    "resistance",
    "resistances",
    "ir",
    "r",
    "r60",
    "alle",
    "werte",
    "messwerte",
    "wert",
    "angaben",
    "einheit",
    "isolationswiderstand",
    "widerstand",
    "toutes",
    "tous",
    "les",
    "valeurs",
    "mesures",
    "unité",
    "lectures",
    "todos",
    "todas",
    "los",
    "las",
    "lecturas",
    "valores",
    "medidas",
    "unidad",
    "tutti",
    "i",
    "valori",
    "letture",
    "misure",
    "unità",
    "leituras",
    "unidade",
    "waarden",
    "metingen",
    "eenheid",
    "note",
    "nb",
];
const IN: [&str; 4] = ["in", "en", "em", "unit"];
/// Prefixes of ohm that are written as words of their own.
const PREFIXES: [&str; 20] = [
    "k", "m", "g", "t", "kilo", "meg", "mega", "giga", "tera", "kil", "gig", "ter", "még", "méga", "quil", "quilo",
    "chil", "chilo", "milli", "micro",
];
/// The ohm in English and other languages.
const OHM: [&str; 4] = ["ohm", "ohms", "ohmio", "ohmios"];
/// Words for a number of ohms that is a factor of all readings.
const FACTORS: [&str; 26] = [
    "10",
    "100",
    "1000",
    "10000",
    "100000",
    "1000000",
    "1.000",
    "1,000",
    "1 000",
    "1.000.000",
    "1,000,000",
    "1 000 000",
    "hundred",
    "thousand",
    "thousands",
    "million",
    "millions",
    "tausend",
    "mille",
    "milliers",
    "miles",
    "mila",
    "migliaia",
    "milhares",
    "duizend",
    "duizenden",
];

/// The unit other than MΩ that a text names without a number before it.
#[must_use]
pub fn said_unit(text: &str) -> Option<SaidUnit> {
    if !may_name_ohms(text.as_bytes()) {
        return None;
    }
    if names_factor(text) {
        return Some(SaidUnit { unit: None, is_certain: true });
    }
    let is_gap = |c: char| !(c.is_alphanumeric() || matches!(c, '.' | '\u{2126}'));
    let words: Vec<&str> =
        text.split(is_gap).map(|word| word.trim_matches('.')).filter(|word| !word.is_empty()).collect();
    if words.len() > 1 && names_kilo_alone(&words) {
        return Some(SaidUnit { unit: Some(ResistanceUnit::Kilohm), is_certain: true });
    }
    let is_ohm = |word: &str| matches!(word.to_lowercase().as_str(), "ω") || OHM.contains(&&*word.to_lowercase());
    let mut at = 0;
    while at < words.len() {
        let prefix = words[at].to_lowercase();
        let is_two = PREFIXES.contains(&prefix.as_str()) && words.get(at + 1).is_some_and(|next| is_ohm(next));
        let (word, length) = if is_two { (words[at..at + 2].concat(), 2) } else { (words[at].to_owned(), 1) };
        let has_number =
            at.checked_sub(1).is_some_and(|before| words[before].starts_with(|c: char| c.is_ascii_digit()));
        let is_meter = words.get(at + length).is_some_and(|next| next.eq_ignore_ascii_case("meter"));
        if !has_number
            && !is_meter
            && let Some(unit) = unit_named(&word)
        {
            let others = words[..at].iter().chain(&words[at + length..]).map(|word| word.to_lowercase());
            let is_certain = others.clone().all(|word| FILLERS.contains(&word.as_str()));
            let is_meant = (is_certain && words.len() > length)
                || at.checked_sub(1).is_some_and(|at| IN.contains(&words[at].to_lowercase().as_str()));
            // Of kilohms no more need be said; other units are also those of ranges and of conductors.
            if unit != Some(ResistanceUnit::Megohm) && (is_meant || unit == Some(ResistanceUnit::Kilohm)) {
                return Some(SaidUnit { unit, is_certain });
            }
        }
        at += length;
    }
    None
}

/// The unit that a word names: nothing where it names none, `Some(None)` for mΩ.
fn unit_named(word: &str) -> Option<Option<ResistanceUnit>> {
    let lower = word.to_lowercase().replace(['\u{2126}', 'ω'], "ohm");
    let prefix = OHM.iter().find_map(|ohm| lower.strip_suffix(ohm))?;
    if word.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    match Unit::read(word) {
        Some(Unit::Ohms(unit)) => Some(Some(unit)),
        _ => matches!(prefix, "m" | "milli" | "mili" | "micro" | "mikro" | "µ" | "u").then_some(None),
    }
}

/// Whether a text says of readings that they are in kilo, and nothing else: `Valores en kilo`.
fn names_kilo_alone(words: &[&str]) -> bool {
    let [rest @ .., before, last] = words else { return false };
    matches!(last.to_lowercase().as_str(), "kilo" | "k")
        && IN[..3].contains(&before.to_lowercase().as_str())
        && rest.iter().all(|word| FILLERS.contains(&word.to_lowercase().as_str()))
}

/// Whether a text multiplies a unit of resistance: `x 1000 ohm`, `10^3 Ω`, `values in thousands of ohms`. A number of ohms that is a limit
/// or the end of a range does not.
#[must_use]
pub fn names_factor(text: &str) -> bool {
    let lower = text.to_lowercase().replace(['\u{2126}', 'ω'], "ohm");
    lower.match_indices("ohm").any(|(at, _)| {
        let after = lower[at + 3..].trim_start_matches("ios").trim_start_matches('s');
        let before = lower[..at].trim_end_matches([' ', '-']);
        let word = |text: &str| text.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default().to_owned();
        let without = |text: &'_ str, is: &dyn Fn(&str) -> bool| {
            let end = word(text);
            text[..text.len() - if is(&end) { end.len() } else { 0 }].trim_end_matches([' ', '\'', '’', '-']).len()
        };
        // `(100 MΩ)` is a limit or the end of a scale, and `2 x 100 MΩ` two of them.
        let is_large = PREFIXES.contains(&&*word(before)) && word(before).starts_with(['m', 'g']);
        let before = &before[..without(before, &|end| PREFIXES.contains(&end))];
        let before = &before[..without(before, &|end| matches!(end, "of" | "de" | "di" | "d" | "von" | "van"))];
        if after.starts_with(char::is_alphanumeric) {
            return false;
        }
        // `10^3`, `10³`, `E3`.
        let power = before.trim_end_matches(|c: char| c.is_ascii_digit());
        let is_power = power.len() < before.len() && (power.ends_with("10^") || power.ends_with("10^-"));
        let is_exponent = power.len() < before.len()
            && power.strip_suffix('e').is_some_and(|base| !base.ends_with(char::is_alphabetic));
        if is_power || is_exponent || ["10³", "10⁶", "10⁹"].iter().any(|power| before.ends_with(power)) {
            return true;
        }
        let mut factors = FACTORS.iter().filter_map(|factor| before.strip_suffix(factor));
        factors.any(|rest| {
            let rest = rest.trim_end();
            let mark = word(rest);
            let is_alone = before.ends_with(char::is_alphabetic)
                && rest.split(|c: char| !c.is_alphanumeric()).all(|word| word.is_empty() || FILLERS.contains(&word))
                && after.trim_matches([' ', '.', ')', ']', ':', '!']).is_empty();
            let is_enclosed = rest.ends_with(['(', '[']) && after.starts_with([')', ']']);
            let of_another = |end: char| {
                rest.strip_suffix(end).is_some_and(|rest| rest.trim_end().ends_with(|c: char| c.is_ascii_digit()))
            };
            let multiplies =
                (rest.ends_with(['×', '*']) || mark == "x") && !['×', '*', 'x'].into_iter().any(of_another);
            is_alone || multiplies || (!is_large && (is_enclosed || IN.contains(&mark.as_str())))
        })
    })
}

/// What a cell of a row of units says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitCell {
    /// The unit of something else, such as °C.
    Other,
    /// A unit of resistance, or none that is clear.
    Ohms(Option<ResistanceUnit>),
}

/// The units of a row that has nothing else, such as one above or below a header: their places and themselves. A number of ohms, `1000 Ω`,
/// is there a unit too. Nothing where a row may mean something else, or names no resistance.
#[must_use]
pub fn row_of_units<'a>(cells: impl Iterator<Item = (usize, &'a str)>) -> Option<Vec<(usize, UnitCell)>> {
    let (mut found, mut is_letter) = (Vec::new(), true);
    for (place, cell) in cells {
        let cell = cell.trim().trim_matches(['(', ')', '[', ']']);
        is_letter &= cell.chars().count() == 1;
        let mut units = FACTORS[..12].iter().filter_map(|factor| unit_named(cell.strip_prefix(factor)?.trim()));
        let unit = match Unit::read(cell) {
            Some(Unit::Ohms(unit)) if cell.chars().count() > 1 || !matches!(cell, "T" | "t" | "m") => {
                UnitCell::Ohms(Some(unit))
            }
            Some(Unit::Ohms(_)) => return None,
            Some(_) => UnitCell::Other,
            None if matches!(cell, "kO" | "KO" | "k0" | "K0" | "milli" | "micro") => UnitCell::Ohms(None),
            None if said_unit(cell).is_some_and(|said| said.unit.is_none()) => UnitCell::Ohms(None),
            None if units.next().is_some() => UnitCell::Ohms(None),
            None => return None,
        };
        found.push((place, unit));
    }
    let names_ohms = found.iter().any(|(_, unit)| matches!(unit, UnitCell::Ohms(_)));
    (names_ohms && !is_letter).then_some(found)
}

/// The unit of all readings that a row of units names; `None` in it where it is not clear or names several.
#[must_use]
pub fn unit_of_row<'a>(cells: impl Iterator<Item = (usize, &'a str)>) -> Option<(usize, Option<ResistanceUnit>)> {
    let units = row_of_units(cells)?;
    let mut ohms = units.iter().filter_map(|(place, unit)| match unit {
        UnitCell::Ohms(unit) => Some((*place, *unit)),
        UnitCell::Other => None,
    });
    let first = ohms.next()?;
    Some(if ohms.all(|(_, unit)| unit == first.1) { first } else { (first.0, None) })
}

/// Whether a text could name a unit of resistance; quick, for texts of any length.
#[must_use]
pub fn may_name_ohms(text: &[u8]) -> bool {
    let has = |part: &[u8]| memchr::memmem::find(text, part).is_some();
    let has_sign = || ["\u{3a9}", "\u{2126}", "ω"].iter().any(|sign| has(sign.as_bytes()));
    has(b"hm") || has(b"HM") || has(b"n k") || has(b"em k") || (!text.is_ascii() && has_sign())
}

/// Whether a cell of a resistance takes its unit from its surroundings: a bare number, and neither `840 kΩ` nor `OL`.
#[must_use]
pub fn needs_unit(cell: &str, decimal_comma: bool) -> bool {
    let by = |unit: ResistanceUnit| CellRules { unit, decimal_comma, ..CellRules::default() }.read(cell);
    let read = by(ResistanceUnit::Kilohm);
    !matches!(read, Ok(None)) && (read.is_err() || read != by(ResistanceUnit::Gigohm))
}

/// The unit in words: `kΩ`, and that it is unclear where it is.
#[must_use]
pub const fn symbol(unit: Option<ResistanceUnit>) -> &'static str {
    match unit {
        None => "an unclear unit",
        Some(ResistanceUnit::Ohm) => "Ω",
        Some(ResistanceUnit::Kilohm) => "kΩ",
        Some(ResistanceUnit::Megohm) => "MΩ",
        Some(ResistanceUnit::Gigohm) => "GΩ",
        Some(ResistanceUnit::Teraohm) => "TΩ",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_say_the_unit_of_readings() {
        let kilo = Some(ResistanceUnit::Kilohm);
        for (text, unit, is_certain) in [
            ("All readings in kΩ", kilo, true),
            ("in kOhm", kilo, true),
            ("# kOhm", kilo, true),
            ("Alle Werte in kΩ", kilo, true),
            ("Valori in kΩ", kilo, true),
            ("Einheit: kOhm", kilo, true),
            ("kilo ohms", kilo, true),
            ("k-Ohm", kilo, true),
            ("kOhm, damp", kilo, false),
            ("damp kΩ", kilo, false),
            ("Values in Ω", Some(ResistanceUnit::Ohm), true),
            ("IR in GΩ", Some(ResistanceUnit::Gigohm), true),
            ("in mΩ", None, true),
            ("Valores en kiloohmios", kilo, true),
            ("en kohmios", kilo, true),
            ("Leituras em quilo-ohms", kilo, true),
            ("valori in chiloohm", kilo, true),
            ("Valores en kilo", kilo, true),
            ("Aislamiento de motores en kilohmios", kilo, false),
            ("lecturas en ohmios", Some(ResistanceUnit::Ohm), true),
            ("x 1000 ohm", None, true),
            ("Valores en 1000 ohmios", None, true),
            ("Insulation (1000 Ω)", None, true),
            ("10^3 ohm", None, true),
            ("10³ Ω", None, true),
            ("E3 Ω", None, true),
            ("x10 MΩ", None, true),
            ("Werte in Tausend Ohm", None, true),
            ("valeurs en milliers d'ohms", None, true),
            ("values in milliohm", None, true),
        ] {
            assert_eq!(said_unit(text), Some(SaidUnit { unit, is_certain }), "{text}");
        }
        for text in [
            "All readings in MΩ",
            "840 kΩ before drying",
            "minimum 1 MΩ",
            "10 GΩ range",
            "GΩ range",
            "checked with ohm meter",
            "Ω",
            "winding resistance Ω",
            "damp",
            "",
            "Böhm",
            "Kilo 3 mill",
            "Unit K",
            "Ohm street pump",
            "pump in kiln",
            "minimum 100 MΩ",
            "range 1000 MΩ",
            "1000 ohms per volt",
            "1000 MΩ",
        ] {
            assert_eq!(said_unit(text), None, "{text}");
        }
    }

    #[test]
    fn a_row_of_units_says_that_of_readings() {
        let unit = |cells: &[&'static str]| unit_of_row(cells.iter().copied().enumerate());
        assert_eq!(unit(&["kilo", "°C"]), Some((0, Some(ResistanceUnit::Kilohm))));
        assert_eq!(unit(&["°C", "k"]), Some((1, Some(ResistanceUnit::Kilohm))));
        assert_eq!(unit(&["GΩ", "°C"]), Some((0, Some(ResistanceUnit::Gigohm))));
        for unclear in ["1000 Ω", "x10 MΩ", "10^3 ohm", "kO", "micro", "Tausend Ohm"] {
            assert_eq!(unit(&[unclear, "°C"]), Some((0, None)), "{unclear}");
        }
        assert_eq!(unit(&["kΩ", "MΩ"]), Some((0, None)), "one of two");
        for other in [&["°C", "%"][..], &["k", "A"], &["Limit", "100 MΩ"], &["R", "S", "T"], &["500", "°C"]] {
            assert_eq!(unit(other), None, "{other:?}");
        }
    }

    #[test]
    fn numbers_without_a_unit_need_one() {
        for (cell, needs) in
            [("840", true), (">840", true), ("450 damp", true), ("840 kΩ", false), ("OL", false), ("", false)]
        {
            assert_eq!(needs_unit(cell, false), needs, "{cell}");
        }
    }
}
