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
    /// The unit; `None` for mΩ, which could be milliohms or megohms.
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
const PREFIXES: [&str; 13] = ["k", "m", "g", "t", "kilo", "meg", "mega", "giga", "tera", "kil", "gig", "ter", "még"];

/// The unit other than MΩ that a text names without a number before it.
#[must_use]
pub fn said_unit(text: &str) -> Option<SaidUnit> {
    if !may_name_ohms(text.as_bytes()) {
        return None;
    }
    let is_gap = |c: char| !(c.is_alphanumeric() || matches!(c, '.' | '\u{2126}'));
    let words: Vec<&str> =
        text.split(is_gap).map(|word| word.trim_matches('.')).filter(|word| !word.is_empty()).collect();
    let is_ohm = |word: &str| matches!(word.to_lowercase().as_str(), "ohm" | "ohms" | "ω");
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
    if word.contains(|c: char| c.is_ascii_digit()) || !(lower.ends_with("ohm") || lower.ends_with("ohms")) {
        return None;
    }
    match Unit::read(word) {
        Some(Unit::Ohms(unit)) => Some(Some(unit)),
        _ if matches!(lower.as_str(), "mohm" | "mohms") => Some(None),
        _ => None,
    }
}

/// Whether a text could name a unit of resistance; quick, for texts of any length.
#[must_use]
pub fn may_name_ohms(text: &[u8]) -> bool {
    let has = |part: &[u8]| memchr::memmem::find(text, part).is_some();
    let has_sign = || ["\u{3a9}", "\u{2126}", "ω"].iter().any(|sign| has(sign.as_bytes()));
    has(b"hm") || has(b"HM") || (!text.is_ascii() && has_sign())
}

/// Whether a cell of a resistance takes its unit from its surroundings: a bare number, and neither `840 kΩ` nor `OL`.
#[must_use]
pub fn needs_unit(cell: &str, decimal_comma: bool) -> bool {
    let by = |unit: ResistanceUnit| CellRules { unit, decimal_comma, ..CellRules::default() }.read(cell);
    let read = by(ResistanceUnit::Kilohm);
    !matches!(read, Ok(None)) && (read.is_err() || read != by(ResistanceUnit::Gigohm))
}

/// The unit in words: `kΩ`, and `mΩ` where it cannot be told.
#[must_use]
pub const fn symbol(unit: Option<ResistanceUnit>) -> &'static str {
    match unit {
        None => "mΩ",
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
        ] {
            assert_eq!(said_unit(text), None, "{text}");
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
