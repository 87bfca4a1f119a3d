//! Tests of `cell`.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use proptest::prelude::*;

fn read(text: &str) -> Result<Option<Measured>, CellFault> {
    CellRules::default().read(text)
}

#[test]
fn the_forms_of_the_grammar() {
    let comma = CellRules { decimal_comma: true, ..CellRules::default() };
    let gohm = CellRules { unit: ResistanceUnit::Gigohm, ..CellRules::default() };
    for (rules, text, expected) in [
        (CellRules::default(), "412", "412 MΩ"),
        (CellRules::default(), "412 MΩ", "412 MΩ"),
        (CellRules::default(), "412 M\u{2126}", "412 MΩ"),
        (CellRules::default(), "1.2 GΩ", "1.2 GΩ"),
        (CellRules::default(), "1.2Gohm", "1.2 GΩ"),
        (CellRules::default(), "850k", "0.85 MΩ"),
        (comma, "3,4e2", "340 MΩ"),
        (comma, "3.4e2", "340 MΩ"),
        (CellRules::default(), ">1000", "> 1 GΩ"),
        (CellRules::default(), "≥ 2 TΩ", "> 2 TΩ"),
        (CellRules::default(), "<0.1", "< 0.1 MΩ"),
        (CellRules::default(), "0", "< 0.1 MΩ"),
        (CellRules::default(), "> OL", "over range"),
        (CellRules::default(), "∞", "over range"),
        (CellRules::default(), "Inf", "over range"),
        (gohm, "1.5", "1.5 GΩ"),
        (gohm, "15 MΩ", "15 MΩ"),
    ] {
        assert_eq!(rules.read(text).unwrap().unwrap().to_string(), expected, "{text}");
    }
    for empty in ["", "  ", "-", "n/a", "N/A"] {
        assert_eq!(read(empty), Ok(None));
    }
}

#[test]
fn a_point_that_could_part_thousands_is_not_guessed() {
    let comma = CellRules { decimal_comma: true, ..CellRules::default() };
    assert_eq!(comma.read("1.200"), Err(CellFault::PointOrThousands));
    assert_eq!(comma.read("0.500").unwrap().unwrap().to_string(), "0.5 MΩ");
    assert_eq!(comma.read("1.20").unwrap().unwrap().to_string(), "1.2 MΩ");
    assert_eq!(read("1.200").unwrap().unwrap().to_string(), "1.2 MΩ");
}

#[test]
fn each_fault_is_told_from_the_others() {
    for (text, fault) in [
        ("-3.1", CellFault::Negative),
        ("NaN", CellFault::NotANumber),
        ("dry", CellFault::NotANumber),
        ("412 mΩ", CellFault::AmbiguousUnit),
        ("412 furlong", CellFault::UnknownUnit),
        ("1,200", CellFault::CommaWithoutOption),
        ("1.200.000", CellFault::ThousandsMark),
        ("1 200", CellFault::ThousandsMark),
        ("1’200 MΩ", CellFault::ThousandsMark),
        ("123456789012", CellFault::OutOfRange),
        (">0", CellFault::OutOfRange),
        ("< OL", CellFault::NotANumber),
        ("1e999", CellFault::NotANumber),
    ] {
        assert_eq!(read(text), Err(fault), "{text}");
    }
}

proptest! {
    #[test]
    fn what_is_printed_can_be_read(megohms in 1e-5f64..1e7, kind in 0..3) {
        let r = Resistance::from_megohms(megohms).unwrap();
        let measured = match kind { 0 => Measured::Exact(r), 1 => Measured::Above(r), _ => Measured::Below(r) };
        let back = read(&measured.to_string()).unwrap().unwrap();
        prop_assert_eq!(back.bound(), measured.bound());
        let ratio = back.resistance().unwrap().as_megohms() / megohms;
        prop_assert!((ratio - 1.0).abs() < 0.0051, "{} read back as {}", measured, back);
    }

    #[test]
    fn every_form_of_the_grammar_is_read_as_written(
        number in 1u32..999_999,
        places in 0usize..4,
        sign in prop::sample::select(vec![("", 0), (">", 1), ("> ", 1), ("≥", 1), (">=", 1), ("<", 2), ("≤ ", 2)]),
        unit in prop::sample::select(vec![
            ("", 1.0), (" MΩ", 1.0), ("M", 1.0), (" Mohm", 1.0), ("k", 1e-3), (" kΩ", 1e-3), ("GΩ", 1e3), (" Gohms", 1e3),
            ("T", 1e6), (" megohm", 1.0),
        ]),
        comma: bool,
    ) {
        let value = f64::from(number) / 10f64.powi(i32::try_from(places).unwrap());
        let digits = format!("{value:.places$}");
        let digits = if comma { digits.replace('.', ",") } else { digits };
        let text = format!("{}{digits}{}", sign.0, unit.0);
        let rules = CellRules { decimal_comma: comma, ..CellRules::default() };
        prop_assume!(value * unit.1 <= 1e8);
        // A smaller unit is a division, which loses nothing: 7371.03 kΩ are 7.37103 MΩ.
        let megohms = if unit.1 < 1.0 { value / (1.0 / unit.1).round() } else { value * unit.1 };
        let expected = Resistance::from_megohms(megohms).unwrap();
        let expected = match sign.1 {
            0 => Measured::Exact(expected),
            1 => Measured::Above(expected),
            _ => Measured::Below(expected),
        };
        prop_assert_eq!(rules.read(&text), Ok(Some(expected)), "{}", text);
    }

    #[test]
    fn no_text_panics(text in ".{0,40}") {
        let _ = read(&text);
    }
}

proptest! {
    #[test]
    fn plain_numbers_are_what_the_standard_library_reads(text in "-?[0-9]{1,10}(\\.[0-9]{0,9})?") {
        if let Some(number) = plain_decimal(&text, false) {
            prop_assert_eq!(Ok(number.to_bits()), text.parse::<f64>().map(f64::to_bits));
        }
        let with_comma = text.replace('.', ",");
        prop_assert_eq!(plain_decimal(&with_comma, true), plain_decimal(&text, false));
        prop_assert!(with_comma == text || (plain_decimal(&text, true).or(plain_decimal(&with_comma, false)).is_none()));
    }
}

#[test]
fn what_is_no_plain_number_is_left_to_the_grammar() {
    for text in ["", "-", ".", ".5", "5.", "1.2.3", "+1", "1e3", "1 ", "1,5", "1234567890123456"] {
        assert_eq!(plain_decimal(text, false), None, "{text}");
    }
    for text in ["1.5", "1.234,5", "1,2,3", ",5", "5,"] {
        assert_eq!(plain_decimal(text, true), None, "{text}");
    }
    assert_eq!(plain_decimal("-0,85", true), Some(-0.85));
    assert_eq!(plain_decimal("123456789.012345", false), Some(123_456_789.012_345));
}
