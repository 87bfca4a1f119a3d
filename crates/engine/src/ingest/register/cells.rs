//! The cells of a register.

use crate::ingest::register_columns::COLUMNS;
use crate::ingest::register_heading::{Heading, Numbers};
use groundwall::nameplate::{Construction, Insulation, LimitBasis, Nameplate, ThermalClass};
use groundwall::record::validate::WINDING_MAX_CHARS;
use groundwall::resistance::{CellRules, Measured, ResistanceUnit, read_decimal};
use groundwall::units::{OutOfRange, Power, Resistance, Voltage};
use std::ops::RangeInclusive;

/// Units of a voltage and how many volts they are, of a power and how many kilowatts; the longer name first.
const VOLTS: [(&str, f64); 2] = [("kv", 1000.0), ("v", 1.0)];
/// One horsepower of 550 foot-pounds a second is 745.699872 W: the foot and the pound are defined in metres and kilograms.
/// Apparent power counts as power, because a machine delivers at most that much: the larger machine owes more.
const KILOWATTS: [(&str, f64); 5] = [("mva", 1000.0), ("mw", 1000.0), ("kva", 1.0), ("kw", 1.0), ("hp", 0.745_699_872)];
/// What people write into a cell that they have nothing for.
const NOTHING: [&str; 21] = [
    "-",
    "--",
    "---",
    "–",
    "—",
    "?",
    "??",
    "???",
    "n/a",
    "n.a.",
    "na",
    "nan",
    "nil",
    "null",
    "none",
    "unknown",
    "not known",
    "tbc",
    "tbd",
    "tba",
    "to be confirmed",
];
/// Columns whose cells decide something: one that cannot be read forbids a mild answer. The others are only shown.
const DECIDING: [&str; 10] = [
    "rated_volts",
    "rated_kw",
    "construction",
    "insulation",
    "thermal_class",
    "year_made",
    "year_rewound",
    "interval_days",
    "minimum_mohm",
    "minimum_basis",
];
/// From this year on a winding owes the most, and no doubt about the year makes it owe less (IEEE Std 43 cl. 12.3).
const OWES_MOST_FROM: i64 = 1970;
/// Earlier ones are not years: spreadsheets show 0 and the years of our time as days from 1899 to 1906 where a cell has the form of dates,
/// and an old winding owes less.
const YEARS: RangeInclusive<i64> = 1910..=2199;
const MONTHS: RangeInclusive<u8> = 1..=12;
const DAYS: RangeInclusive<u8> = 1..=31;
/// A rated voltage below this is taken only with its unit, V.
const LEAST_BARE_VOLTS: f64 = 24.0;

/// How numbers are written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Digits {
    /// Whether `,` is the decimal point.
    pub(super) decimal_comma: bool,
    /// Whether that is certain: a program wrote them from cells that hold numbers, as those of a workbook do, or other cells show it.
    pub(super) certain: bool,
}

/// Whether a cell says nothing.
pub(super) fn says_nothing(text: &str) -> bool {
    text.is_empty() || NOTHING.iter().any(|word| word.eq_ignore_ascii_case(text))
}

/// Whether a judgement depends on the cells of a column.
pub(super) fn is_deciding(heading: Heading) -> bool {
    DECIDING.contains(&COLUMNS[heading.place])
}

/// Whether a column holds the year of the latest rewind.
pub(super) fn is_year_of_rewind(heading: Heading) -> bool {
    COLUMNS[heading.place] == "year_rewound"
}

/// Takes one cell into the nameplate, or gives the rule it breaks and what to do.
pub(super) fn cell_into(
    winding: &mut String,
    nameplate: &mut Nameplate,
    heading: Heading,
    text: &str,
    digits: Digits,
) -> Result<(), (String, String)> {
    let decimal_comma = digits.decimal_comma;
    let owned = || Some(text.to_owned());
    match COLUMNS[heading.place] {
        "winding" if text.chars().count() > WINDING_MAX_CHARS => {
            let rule = format!("an identifier has at most {WINDING_MAX_CHARS} characters");
            return Err((rule, "put the description into its own column".to_owned()));
        }
        "winding" => text.clone_into(winding),
        "site" => nameplate.site = owned(),
        "area" => nameplate.area = owned(),
        "description" => nameplate.description = owned(),
        "rated_volts" => {
            nameplate.rated_voltage = Some(rated_voltage(heading, text, decimal_comma)?);
        }
        "rated_kw" => {
            nameplate.rated_power = Some(quantity(heading, text, &KILOWATTS, decimal_comma, Power::from_kilowatts)?);
        }
        "construction" => {
            nameplate.construction = Some(Construction::read(text).ok_or_else(|| {
                let words = Construction::WORDS.map(|(_, word)| word).join(", ");
                (format!("a construction is one of {words}"), construction_hint(text))
            })?);
        }
        "drive_fed" => {
            nameplate.drive_fed = Some(is_drive_fed(text).ok_or_else(|| {
                (
                    "drive_fed is yes or no, and is read as yes".to_owned(),
                    "yes for a machine that a frequency converter feeds".to_owned(),
                )
            })?);
        }
        "insulation" => {
            nameplate.insulation = Insulation::read(text).ok_or_else(|| {
                let words = Insulation::WORDS.map(|(_, word)| word).join(", ");
                (format!("an insulation is one of {words}"), "epoxy and polyester are thermosetting, asphaltic mica is thermoplastic; a letter such as F goes into thermal_class".to_owned())
            })?;
        }
        "thermal_class" => {
            nameplate.thermal_class = Some(thermal_class(text, decimal_comma).ok_or_else(|| {
                let letters = ThermalClass::LETTERS.map(|(letter, _)| letter).join(", ");
                (
                    format!("a thermal class is one of {letters} or degrees from 90 to 260"),
                    "leave the cell empty if it is not known".to_owned(),
                )
            })?);
        }
        "year_made" => nameplate.year_made = Some(year(text, decimal_comma, "a year of make")?),
        "year_rewound" => nameplate.year_rewound = Some(year(text, decimal_comma, "a year of rewinding")?),
        "interval_days" => nameplate.interval_days = Some(whole(text, decimal_comma, 1..=7305, "an interval in days")?),
        "minimum_mohm" => nameplate.minimum = Some(limit(heading, text, digits)?),
        "minimum_basis" => {
            nameplate.minimum_basis = Some(LimitBasis::read(text).ok_or_else(|| {
                (
                    "a basis is as-read or reference".to_owned(),
                    "as-read for a limit that the tester's number is compared with, reference for one at the reference temperature"
                        .to_owned(),
                )
            })?);
        }
        "group" => nameplate.group = owned(),
        "criticality" => nameplate.criticality = owned(),
        "work_order" => nameplate.work_order = owned(),
        _ => nameplate.maker = owned(),
    }
    Ok(())
}

/// How many times the lower of two rated voltages the higher one is: star and delta, series and parallel, with room for rounding.
const OF_ONE_WINDING: [RangeInclusive<f64>; 2] = [1.6..=1.85, 1.9..=2.1];

/// A rated voltage: one number, `3x400` or `3~400` for three phases, or the two of a winding that is joined in star or in
/// delta, `400/690`. Of two the higher is taken: it asks for the higher minimum.
fn rated_voltage(heading: Heading, text: &str, decimal_comma: bool) -> Result<Voltage, (String, String)> {
    let phases = text.strip_prefix('3').map(str::trim_start);
    let text = phases.and_then(|rest| rest.strip_prefix(['x', 'X', '×', '~'])).map_or(text, str::trim_start);
    let mut unit = text.trim_start_matches(|c: char| !c.is_alphabetic());
    if !text.contains('/') {
        unit = "";
    }
    let read = |one: &str| {
        // The unit after the second number is that of both.
        let one = one.trim();
        let one = if one.ends_with(char::is_alphabetic) { one.to_owned() } else { format!("{one} {unit}") };
        let one = one.trim_end();
        must_not_be_kilovolts(heading, one, decimal_comma)?;
        quantity(heading, one, &VOLTS, decimal_comma, Voltage::from_volts)
    };
    match text.split_once('/') {
        None => read(text),
        Some((one, other)) => {
            let (one, other) = (read(one)?, read(other)?);
            let (low, high) = if one < other { (one, other) } else { (other, one) };
            if !OF_ONE_WINDING.iter().any(|range| range.contains(&(high.as_volts() / low.as_volts()))) {
                let rule = "two rated voltages of one winding are 1.73 times or twice each other, as in star and delta";
                return Err((rule.to_owned(), "write the voltage that it is connected for, such as 400".to_owned()));
            }
            Ok(high)
        }
    }
}

/// A bare number of volts that no winding of a machine is rated for: those of fields begin at 24 V.
fn must_not_be_kilovolts(heading: Heading, text: &str, decimal_comma: bool) -> Result<(), (String, String)> {
    match read_decimal(text, decimal_comma) {
        Ok(number) if !heading.in_thousands() && number > 0.0 && number < LEAST_BARE_VOLTS => Err((
            format!("a rated voltage of less than {LEAST_BARE_VOLTS} V is written with its unit"),
            format!("if this is in kilovolts write {}, or {text} kV", (number * 1000.0).round()),
        )),
        _ => Ok(()),
    }
}

fn quantity<Q>(
    heading: Heading,
    text: &str,
    units: &[(&str, f64)],
    decimal_comma: bool,
    from: impl Fn(f64) -> Result<Q, OutOfRange>,
) -> Result<Q, (String, String)> {
    let lower = text.to_lowercase();
    let found = units.iter().find_map(|(unit, times)| Some((lower.strip_suffix(unit)?.trim_end(), *times)));
    let (bare, times) = found.unwrap_or((&lower, if heading.in_thousands() { 1000.0 } else { 1.0 }));
    let mark = if decimal_comma { ',' } else { '.' };
    if let Some((small, large)) = thousands_or_decimals(bare, mark) {
        let rule = format!("the mark in it may separate thousands, so it may be {small} or {large}");
        return Err((rule, format!("write {large} without a mark, or {small}")));
    }
    let number = read_decimal(bare, decimal_comma).map_err(|_| {
        let names = units.iter().rev().map(|(unit, _)| shown_unit(unit)).collect::<Vec<_>>().join(" or ");
        let hint = "write digits only, such as 6600, with no mark between thousands";
        (format!("this column holds numbers, optionally followed by {names}"), hint.to_owned())
    })?;
    from(number * times).map_err(|error| {
        let rule = format!("{} lies between {}", error.quantity, error.rule().replacen(" to ", " and ", 1));
        let hint = match (found, units) {
            (None, [(unit, _), ..]) if heading.in_thousands() => format!(
                "bare numbers of this column are in {}, as its header says; write the unit into the cell if this one is not",
                shown_unit(unit)
            ),
            _ => "check the digits against the nameplate".to_owned(),
        };
        (rule, hint)
    })
}

/// A unit as people write it.
fn shown_unit(unit: &str) -> String {
    match unit {
        "hp" => unit.to_owned(),
        _ => unit.to_uppercase().replace('K', "k"),
    }
}

/// A whole number; spreadsheets write one as `91.0`.
fn whole<N: TryFrom<i64>>(
    text: &str,
    decimal_comma: bool,
    range: RangeInclusive<i64>,
    what: &str,
) -> Result<N, (String, String)> {
    let number = read_decimal(text, decimal_comma).ok().filter(|number| number.fract() == 0.0);
    let number = number.map(|number| number as i64).filter(|number| range.contains(number));
    number.and_then(|number| N::try_from(number).ok()).ok_or_else(|| {
        let rule = format!("{what} is a whole number from {} to {}", range.start(), range.end());
        (rule, "leave the cell empty if it is not known".to_owned())
    })
}

/// A thermal class: `F`, `Class F`, `155`, `155.0`, `155 °C`, `180C`.
fn thermal_class(text: &str, decimal_comma: bool) -> Option<ThermalClass> {
    let word = text.get(..5).filter(|word| word.eq_ignore_ascii_case("class"));
    let bare = word.map_or(text, |word| text[word.len()..].trim_start());
    let number = bare.strip_suffix(['C', 'c']).map(|number| number.trim_end().trim_end_matches(['°', 'º']).trim_end());
    let bare = number.filter(|number| number.ends_with(|c: char| c.is_ascii_digit())).unwrap_or(bare);
    let degrees = || whole::<u16>(bare, decimal_comma, 90..=260, "a thermal class").ok();
    ThermalClass::read(bare).or_else(|| ThermalClass::read(&degrees()?.to_string()))
}

/// A year, alone, in a date such as `2019-05` or `17.5.2019`, or in doubt as `2019?` where the doubt lowers no minimum. A range such
/// as `1969/70` is none: it is unclear which of its years is meant.
fn year(text: &str, decimal_comma: bool, what: &str) -> Result<i32, (String, String)> {
    let lower = text.to_lowercase();
    let about =
        ["~", "≈", "approx.", "approx", "about", "circa", "ca.", "c."].iter().find_map(|mark| lower.strip_prefix(mark));
    let bare = about.unwrap_or(&lower).trim().trim_end_matches('?').trim_end();
    let is_doubtful = bare.len() < lower.len();
    let is_date = bare.chars().all(|c| c.is_ascii_digit() || matches!(c, '-' | '/' | '.'));
    let (years, others): (Vec<&str>, Vec<&str>) = bare.split(['-', '/', '.']).partition(|group| group.len() == 4);
    let numbers: Vec<Option<u8>> = others.iter().map(|other| other.parse().ok()).collect();
    let is_rest_of_a_date = match numbers.as_slice() {
        [] => true,
        [Some(month)] => MONTHS.contains(month),
        [Some(one), Some(other)] => {
            [one, other].iter().all(|number| DAYS.contains(number))
                && [one, other].iter().any(|number| MONTHS.contains(number))
        }
        _ => false,
    };
    // `1965.5` is not a May, and half a year is none.
    let is_fraction = matches!(bare.split_once('.'), Some((year, rest)) if year.len() == 4 && rest.len() < 2);
    let found = match years.as_slice() {
        [year] if is_date && is_rest_of_a_date && !is_fraction => year.parse().ok(),
        _ => None,
    };
    let found = found.filter(|year| YEARS.contains(year) && (!is_doubtful || *year >= OWES_MOST_FROM));
    match found.and_then(|year| i32::try_from(year).ok()) {
        Some(year) => Ok(year),
        None => whole(text, decimal_comma, YEARS, what).map_err(|(rule, _)| {
            (rule, "write the year alone, such as 2019, or leave the cell empty if it is not known".to_owned())
        }),
    }
}

/// Whether a drive feeds the machine, in the words of seven languages.
fn is_drive_fed(text: &str) -> Option<bool> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" | "✓" | "ja" | "j" | "oui" | "o" | "sí" | "si" | "sì" | "sim" => {
            Some(true)
        }
        "vfd" | "vsd" | "drive" | "inverter" | "converter" | "frequency converter" => Some(true),
        "no" | "n" | "false" | "0" | "nein" | "nee" | "non" | "não" | "nao" => Some(false),
        _ => None,
    }
}

fn limit(
    heading: Heading,
    text: &str,
    Digits { decimal_comma, certain }: Digits,
) -> Result<Resistance, (String, String)> {
    let unit = match heading.numbers {
        Numbers::NotUnderstood => {
            return Err((
                "this column may hold minimums, and its name has no unit, several units or more than that, so it is not read".to_owned(),
                "rename the column minimum_mohm, or say under [columns] in the policy file what it holds, - to leave it alone"
                    .to_owned(),
            ));
        }
        Numbers::In(unit) => unit,
        Numbers::AsNamed | Numbers::InThousands => ResistanceUnit::Megohm,
    };
    if let Some((small, large)) =
        thousands_or_decimals(text, if decimal_comma { ',' } else { '.' }).filter(|_| !certain)
    {
        return Err((
            format!("this may be {small} or {large}"),
            format!("write {small} or {large}, whichever is meant"),
        ));
    }
    match (CellRules { unit, decimal_comma, ..CellRules::default() }).read(text) {
        Ok(Some(Measured::Exact(limit))) => Ok(limit),
        Ok(_) => Err(("a minimum is a plain resistance".to_owned(), "write it in MΩ, such as 5".to_owned())),
        Err(fault) => Err((fault.rule().to_owned(), fault.hint().to_owned())),
    }
}

/// Both values of a number such as `1.500`, whose mark may be that of decimals or of thousands.
fn thousands_or_decimals(text: &str, mark: char) -> Option<(String, String)> {
    let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
    let (whole, groups) = digits.split_once(mark)?;
    let all_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let is_meant_both_ways = (1..=3).contains(&whole.len())
        && all_digits(whole)
        && !whole.starts_with('0')
        && groups.len() == 3
        && all_digits(groups);
    let decimals = groups.trim_end_matches('0');
    let small = if decimals.is_empty() { whole.to_owned() } else { format!("{whole}{mark}{decimals}") };
    is_meant_both_ways.then(|| (small, format!("{whole}{groups}")))
}

/// "form", "random" and "formwound" are what registers often hold.
fn construction_hint(text: &str) -> String {
    let bare = |text: &str| text.to_lowercase().replace(|c: char| !c.is_alphanumeric(), "");
    let begun = bare(text);
    let meant = Construction::WORDS.iter().find(|(_, word)| !begun.is_empty() && bare(word).starts_with(&begun));
    match meant {
        Some((_, word)) => format!("write {word} if that is what is meant"),
        None => "leave the cell empty if it is not known".to_owned(),
    }
}
