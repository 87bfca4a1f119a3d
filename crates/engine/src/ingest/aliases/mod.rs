//! The usual words of other people's headers: `R60 (MΩ)`, `IR 1 min`, `Winding temp`, `Motor`, `Date tested`, `RH %`.
//!
//! A header is taken apart into words and units. What can mean only one thing is sure; plain words such as `Temp` or `Date`
//! are not, and are used only where no other column contradicts them, and said.

mod words;

use super::said_unit::names_factor;
use super::unit::Unit;
use groundwall::record::columns::{Column, ElapsedUnit, TemperatureScale};
use groundwall::resistance::ResistanceUnit;
use groundwall::units::Elapsed;
use std::ops::Range;
use words::{
    AIR_TEMP, BESIDE_FURTHER, CABLES, FILLERS, FURTHER, HOT, IN_ENGLISH, JOINED, JOINED_TO, LIKELY, MACHINES, MEASURED,
    MINUTES, MULTIPLIERS, NUMBERED, OF_NAMES, PREFIXES, RESISTANCE, SECONDS, SOME_TEMP, SOMETHING_ELSE, SURE,
    WINDING_TEMP,
};

/// What a header of somebody else's making means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Meaning {
    /// It can mean only this.
    Sure(Column),
    /// It probably means this.
    Likely(Column),
    /// It names two units at once.
    TwoUnits,
}

impl Meaning {
    /// Whether it is a date of tests.
    const fn is_date(&self) -> bool {
        matches!(self, Self::Sure(Column::TestedOn) | Self::Likely(Column::TestedOn))
    }
}

/// Two usual words that are written as one.
fn unjoined(word: &str) -> Option<(&str, &str)> {
    let joined = |second: &&str| {
        let first = word.strip_suffix(second)?;
        JOINED.contains(&first).then(|| word.split_at(first.len()))
    };
    JOINED_TO.iter().find_map(joined)
}

/// Whether words name machines by their kind, or what those are called by.
fn names_machine(words: &[String]) -> bool {
    let is_machine = |word: &String| {
        MACHINES.contains(&word.as_str()) || matches!(word.as_str(), "motor" | "machine" | "equipment" | "asset")
    };
    // `Pump` alone is the name of many a motor, and `Drive` heads how they are started.
    let is_named = |last: &String, machines: &[String]| {
        !machines.is_empty()
            && machines.iter().all(is_machine)
            && (OF_NAMES.contains(&last.as_str()) || is_machine(last))
    };
    words.split_last().is_some_and(|(last, machines)| is_named(last, machines))
        || words.split_first().is_some_and(|(first, machines)| is_named(first, machines))
}

/// Whether a header is one word, in any of our languages.
#[must_use]
pub fn is_kind(header: &str, word: &str) -> bool {
    Words::of(header).is_some_and(|words| matches!(words.rest.as_slice(), [only] if only == word))
}

/// Whether a header is the kind of a machine: `Fan`, `Pumpe`.
#[must_use]
pub fn names_kind_of_machine(header: &str) -> bool {
    Words::of(header).is_some_and(|words| matches!(words.rest.as_slice(), [only] if MACHINES.contains(&only.as_str())))
}

/// Whether a header speaks of a resistance.
#[must_use]
pub fn names_a_resistance(header: &str) -> bool {
    Words::of(header).is_some_and(|words| {
        !words.ohms.is_empty() || words.rest.iter().any(|word| RESISTANCE.contains(&word.as_str()) && word != "after")
    })
}

/// A header without a unit that is too small for insulation, `mΩ` and `µΩ`, though a small m may stand for mega.
fn without_small_unit(header: &str) -> Option<String> {
    const SMALL: [&str; 12] =
        ["mω", "mohm", "mohms", "milliohm", "milliohms", "µω", "μω", "uω", "µohm", "uohm", "microohm", "microohms"];
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | ',' | ':' | '/');
    let is_small = |word: &str| {
        let lower = word.replace('\u{2126}', "Ω").to_lowercase();
        !word.starts_with('M') && SMALL.contains(&lower.as_str())
    };
    let kept: Vec<&str> = header.split(is_gap).filter(|word| !word.is_empty() && !is_small(word)).collect();
    header.split(is_gap).any(is_small).then(|| kept.join(" "))
}

/// Whether a header speaks of the resistance of a conductor, `Winding res. U-V (Ω)`, and of no insulation.
#[must_use]
pub fn names_a_conductor(header: &str) -> bool {
    const CONDUCTORS: [&str; 9] = ["winding", "coil", "copper", "conductor", "loop", "rw", "phase", "stator", "rotor"];
    let bare = without_small_unit(header);
    Words::of(bare.as_deref().unwrap_or(header)).is_some_and(|words| {
        let has = |word: &str| words.rest.iter().any(|own| own == word);
        let is_insulation = ["ir", "insulation", "riso", "iso", "meg", "rins"].into_iter().any(has);
        let is_large = words.ohms.iter().any(|unit| *unit != ResistanceUnit::Ohm);
        let is_resistance = has("resistance") || (has("r") && bare.is_some());
        let is_named =
            (is_resistance && CONDUCTORS.into_iter().any(has)) || ["wicklungswiderstand", "rw"].into_iter().any(has);
        is_named && !is_insulation && !is_large
    })
}

/// Whether a text says that it speaks of insulation, by a word for it or the unit of its resistance.
#[must_use]
pub fn says_insulation(text: &str) -> bool {
    let is_word = |word: &String| {
        matches!(
            word.as_str(),
            "ir" | "insulation" | "resistance" | "resistances" | "riso" | "iso" | "meg" | "isolationsmessung"
        )
    };
    Words::of(text).is_some_and(|words| !words.ohms.is_empty() || words.rest.iter().any(is_word))
}

/// The voltage that a header of a resistance says it was measured with, `@ 500 VDC`, and the header without it.
#[must_use]
pub fn voltage_and_rest(header: &str) -> Option<(String, String)> {
    let bare = |word: &str| word.trim_matches(|c: char| matches!(c, ',' | '(' | ')' | '[' | ']' | '@')).to_lowercase();
    let is_number = |word: &str| !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let of_volts = |word: &str| {
        ["kvdc", "vdc", "kv", "v", "volts", "volt"]
            .into_iter()
            .find_map(|unit| word.strip_suffix(unit).map(str::to_owned))
    };
    let words: Vec<&str> = header.split_whitespace().collect();
    let joined = words.iter().position(|word| of_volts(&bare(word)).is_some_and(|number| is_number(&number)));
    let apart = || {
        words
            .windows(2)
            .position(|two| is_number(&bare(two[0])) && of_volts(&bare(two[1])).is_some_and(|rest| rest.is_empty()))
    };
    let voltage: Range<usize> = joined.map(|at| at..at + 1).or_else(|| apart().map(|at| at..at + 2))?;
    let is_beside = |at: usize| matches!(bare(words[at]).as_str(), "" | "at" | "dc");
    let kept = (0..words.len())
        .filter(|at| !voltage.contains(at) && !((at + 1 == voltage.start || *at == voltage.end) && is_beside(*at)));
    let rest: Vec<&str> = kept.map(|at| words[at]).collect();
    let said: String = words[voltage].iter().map(|word| bare(word)).collect();
    let number: f64 = said.trim_end_matches(|c: char| c.is_alphabetic()).parse().ok()?;
    let volts = if said.contains('k') { number * 1000.0 } else { number };
    names_a_resistance(header).then(|| (format!("{volts} V"), rest.join(" ")))
}

/// Whether a header names one of several readings: `Value 2`, `2nd reading`, `Final`, `N-E`.
#[must_use]
pub fn names_a_further_reading(header: &str) -> bool {
    let Some(words) = Words::of(header) else { return false };
    let is_number = |word: &String| word.len() < 3 && word.bytes().all(|byte| byte.is_ascii_digit());
    let has = |list: &[&str]| words.rest.iter().any(|word| list.contains(&word.as_str()));
    let is_earth = |word: &String| groundwall::record::Connection::is_earth_word(word);
    (has(&NUMBERED) && words.rest.iter().any(is_number))
        || (has(&FURTHER)
            && words
                .rest
                .iter()
                .all(|word| FURTHER.contains(&word.as_str()) || BESIDE_FURTHER.contains(&word.as_str())))
        || (words.rest.len() == 2 && words.rest.iter().any(is_earth) && has(&["n", "neutral", "star"]))
}

/// Whether a header says that its column holds what is required or planned: `Min. MΩ`, `Limit`, `Next due`.
#[must_use]
pub fn says_limit(header: &str) -> bool {
    const WORDS: &[&str] = &[
        "mínimo",
        "mínima",
        "minimo",
        "minima",
        "mín",
        "soll",
        "min",
        "mini",
        "minimum",
        "minimal",
        "limit",
        "limits",
        "required",
        "requirement",
        "allowed",
        "acceptable",
        "acceptance",
        "criteria",
        "threshold",
        "target",
        "alarm",
        "due",
        "next",
        "fällig",
        "nächste",
        "grenzwert",
        "mindestwert",
        "limite",
        "límite",
        "seuil",
        "próxima",
        "prochaine",
        "volgende",
    ];
    let lower = header.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    // `1 min` is a time.
    let is_time = |at: usize| at > 0 && words[at - 1].bytes().all(|byte| byte.is_ascii_digit());
    (0..words.len()).any(|at| WORDS.contains(&words[at]) && !(matches!(words[at], "min" | "mini") && is_time(at)))
}

/// Whether a header says that its column holds what a reading has to reach, and no reading.
#[must_use]
pub fn names_a_target(header: &str) -> bool {
    const WORDS: [&str; 10] = [
        "soll",
        "sollwert",
        "limit",
        "grenzwert",
        "mindestwert",
        "required",
        "threshold",
        "target",
        "seuil",
        "streefwaarde",
    ];
    let lower = header.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).any(|word| WORDS.contains(&word))
}

/// Whether a header has a word for the resistance of insulation.
#[must_use]
pub fn names_insulation(header: &str) -> bool {
    let is_word = |word: &String| matches!(word.as_str(), "ir" | "riso" | "insulation" | "meg");
    Words::of(header).is_some_and(|words| words.rest.iter().any(is_word))
}

/// Whether a header names a ratio of readings in full or in short: `Índice de polarización`, `Ind. pol.`, `Ind. de abs.`
#[must_use]
pub fn names_index(header: &str) -> bool {
    const INDEX: [&str; 8] = ["ind", "index", "indice", "índice", "indeks", "rapport", "coef", "coefficient"];
    let lower = header.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_of = |word: &&str| ["pol", "abs", "assorb"].iter().any(|stem| word.starts_with(stem));
    let is_one = |word: &&str| word.starts_with("polari") && word.ends_with("index");
    let has_unit = words.iter().any(|word| word.contains("ohm") || word.contains(['ω', '\u{2126}']));
    !has_unit && (words.iter().any(is_one) || words.iter().any(|word| INDEX.contains(word)) && words.iter().any(is_of))
}

/// Whether a header has a unit of resistance or of temperature, understood or not: what is below it is measured and names nothing.
#[must_use]
pub fn names_ohms_or_degrees(header: &str) -> bool {
    let lower = header.to_lowercase();
    names_ohms(header) || ["°c", "°f", "° c", "° f", "ºc", "ºf"].iter().any(|scale| lower.contains(scale))
}

/// Whether a header has a unit of resistance, understood or not.
fn names_ohms(header: &str) -> bool {
    let lower = header.to_lowercase().replace(['\u{2126}', 'ω'], "ohm");
    let mut words = lower.split(|c: char| !c.is_alphanumeric());
    words.any(|word| ["ohm", "ohms", "ohmio", "ohmios"].iter().any(|ohm| word.ends_with(ohm)))
}

/// A header without the scale of the instrument after it, where it has its unit before: `Isolamento MΩ (scala 2000 MΩ)`.
fn without_scale(header: &str) -> Option<&str> {
    const SCALES: [&str; 17] = [
        "scala",
        "fondo scala",
        "portata",
        "scale",
        "full scale",
        "range",
        "messbereich",
        "bereich",
        "skala",
        "échelle",
        "gamme",
        "calibre",
        "escala",
        "fondo de escala",
        "fundo de escala",
        "bereik",
        "meetbereik",
    ];
    let inside = header.trim_end().strip_suffix(')')?;
    let (before, scale) = inside.rsplit_once('(')?;
    let at = scale.find(|c: char| c.is_ascii_digit())?;
    let name = scale[..at].trim().trim_end_matches(':').to_lowercase();
    let unit = scale[at..].trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' '));
    let has_unit = matches!(Unit::read(unit), Some(Unit::Ohms(_)));
    (has_unit && SCALES.contains(&name.as_str()) && names_ohms(before)).then_some(before)
}

/// Whether a name of something measured speaks of what is no winding.
#[must_use]
pub fn names_something_else(name: &str) -> bool {
    let lower = name.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).any(|word| SOMETHING_ELSE.contains(&word))
}

/// Whether a name of something measured speaks of a cable.
#[must_use]
pub fn names_a_cable(name: &str) -> bool {
    let lower = name.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).any(|word| CABLES.contains(&word))
}

/// Whether a header names what is counted or measured beside a test.
#[must_use]
pub fn names_a_count(header: &str) -> bool {
    let lower = header.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric() && c != '%' && c != '°').filter(|word| !word.is_empty());
    // `U-1` is the name of a motor.
    words.any(|word| MEASURED.contains(&word) && (word.chars().count() > 1 || word == lower.trim()))
}

/// A header that names in brackets a unit of something else than a resistance or a temperature, such as `U set [V]` and `t [s]`: its name
/// and that unit in small letters. `IR (V)` and `Phase 2 (V)` name a phase, `R 60 (s)` the time of a reading.
#[must_use]
pub fn unit_in_brackets(header: &str) -> Option<(&str, String)> {
    const LETTERS: [&str; 3] = ["v", "a", "s"];
    const PHASES: [&str; 6] = ["phase", "ph", "winding", "lead", "leg", "terminal"];
    const TIMES: [&str; 3] = ["t", "time", "duration"];
    let header = header.trim();
    let (name, unit) = [('[', ']'), ('(', ')')]
        .into_iter()
        .find_map(|(open, close)| header.strip_suffix(close).and_then(|inside| inside.rsplit_once(open)))?;
    let (name, unit) = (name.trim(), unit.trim());
    let lower = unit.to_lowercase();
    let words = Words::of(name)?;
    let has = |list: &[&str]| words.rest.iter().any(|word| list.contains(&word.as_str()));
    let is_unit = match lower.as_str() {
        "s" => unit == "s",
        "sec" | "secs" | "seconds" | "kv" | "kvdc" | "na" => true,
        "min" | "minutes" => has(&TIMES),
        // Kelvins; of a resistance it is short for kΩ.
        "k" => has(&["t", "dt", "δt", "temp", "temperature", "rise"]),
        _ => matches!(Unit::read(unit), Some(Unit::Volts | Unit::Percent | Unit::Other)),
    };
    let is_letter = LETTERS.contains(&lower.as_str());
    let is_voltage = words.rest.first().is_some_and(|word| word == "u");
    let may_be_phase = is_letter && !is_voltage && (names_a_resistance(name) || has(&PHASES));
    let is_other = !words.ohms.is_empty() || may_be_phase;
    let is_time = matches!(lower.as_str(), "s" | "sec" | "secs" | "seconds" | "min" | "minutes");
    let has_number = words.rest.iter().any(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    (is_unit && !is_other && !(is_time && has_number)).then_some((name, lower))
}

/// Whether the unit in a header's brackets, or the last word of it, says that its column holds no resistances.
#[must_use]
pub fn has_unit_of_something_else(header: &str) -> bool {
    const UNITS: [&str; 12] = ["kv", "kw", "kva", "hp", "rpm", "hz", "ma", "µa", "ua", "na", "amps", "%"];
    let is_unit = |word: &str| UNITS.contains(&word.to_lowercase().trim_matches(['(', ')', '[', ']', '.']));
    unit_in_brackets(header).is_some() || header.split_whitespace().next_back().is_some_and(is_unit)
}

/// What the symbol of a quantity means beside its unit: `U set [V]`, `t [s]`.
fn symbol(name: &str, unit: &str) -> Option<Meaning> {
    let lower = name.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    Some(match (words.as_slice(), unit) {
        (["u"] | ["u", "set" | "nom" | "test" | "soll" | "prüf" | "mess"], "v" | "vdc" | "volt" | "volts") => {
            Meaning::Likely(Column::TestVolts)
        }
        (["u", "meas" | "act" | "actual" | "out" | "ist"], "v" | "vdc" | "volt" | "volts") => {
            Meaning::Likely(Column::OutputVolts)
        }
        (["t"], "s" | "sec" | "secs" | "seconds") => Meaning::Sure(Column::Elapsed(ElapsedUnit::Second)),
        (["t"], "min" | "minutes") => Meaning::Sure(Column::Elapsed(ElapsedUnit::Minute)),
        _ => return None,
    })
}

/// Reads a header that is not one of our names; `None` when its words are not among the usual ones.
#[must_use]
pub fn read(header: &str) -> Option<Meaning> {
    units_and_meaning(header).1
}

/// The units that a header names, none where one cannot be read or two are named, and what it [means](read).
#[must_use]
pub fn units_and_meaning(header: &str) -> (Units, Option<Meaning>) {
    if let Some(meaning) = in_several_languages(header) {
        return meaning;
    }
    let Some(words) = Words::of(header) else { return (Units::default(), None) };
    let meaning = match (words.meaning(), unit_in_brackets(header)) {
        (Some(Meaning::Sure(column) | Meaning::Likely(column)), Some((name, unit))) if is_resistance(column) => {
            symbol(name, &unit)
        }
        (None, Some((name, unit))) => symbol(name, &unit),
        (meaning, _) => meaning,
    };
    (words.units().unwrap_or_default(), meaning)
}

/// What a header means that says the same in several languages: `Moteur / Motor`.
fn in_several_languages(header: &str) -> Option<(Units, Option<Meaning>)> {
    const MOST: usize = 4;
    let parts: Vec<&str> = header.split(['/', '|', '\n']).map(str::trim).take(MOST + 1).collect();
    if !(2..=MOST).contains(&parts.len()) || !header.contains([' ', '\n']) {
        return None;
    }
    let meant: Vec<(Units, Option<Meaning>)> = parts.iter().map(|part| units_and_meaning(part)).collect();
    // Whatever its unit.
    let kind = |meaning: Option<Meaning>| match meaning? {
        Meaning::Sure(column) | Meaning::Likely(column) => {
            let elapsed = if let Column::Reading(elapsed, _) = column { Some(elapsed) } else { None };
            Some((std::mem::discriminant(&column), elapsed))
        }
        Meaning::TwoUnits => None,
    };
    let first = kind(meant.first()?.1)?;
    let is_same = meant.iter().all(|(_, meaning)| kind(*meaning) == Some(first));
    // The last may have the unit of all.
    let units = |(units, _): &&(Units, Option<Meaning>)| *units != Units::default();
    let mut with_unit = meant.iter().filter(units);
    let said = with_unit.next().or_else(|| meant.last())?;
    (is_same && with_unit.all(|other| other == said)).then_some(*said)
}

const fn is_resistance(column: Column) -> bool {
    matches!(column, Column::Reading(..) | Column::Resistance(_))
}

/// The units that a header names, whatever its other words are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Units {
    /// Of a resistance.
    pub ohms: Option<ResistanceUnit>,
    /// Of a temperature.
    pub scale: Option<TemperatureScale>,
}

/// Looks for the units alone; `None` where one cannot be read, or two are named.
#[must_use]
pub fn units(header: &str) -> Option<Units> {
    Words::of(header)?.units()
}

fn temperature(words: &Words, rest: &str) -> Option<Meaning> {
    const AIR: [&str; 13] = [
        "air",
        "ambient",
        "room",
        "outside",
        "outdoor",
        "hall",
        "hal",
        "locale",
        "local",
        "atelier",
        "sala",
        // `Umgebungs-` and `temperatur` on two lines.
        "umgebungs",
        "luft",
    ];
    let scale = words.scales.first().copied();
    let has = |word: &&String, list: &[&str]| list.contains(&word.as_str());
    // Words around those that count, in any order: `motor winding temperature`, `temp ambient`.
    let is_of = |list: &[&str]| {
        // `T° stator (°C)`
        let is_temp = |word: &String| has(&word, &["temp", "temperature"]) || (word == "t" && scale.is_some());
        words.rest.iter().any(&is_temp)
            && words.rest.iter().any(|word| has(&word, list))
            && words
                .rest
                .iter()
                .all(|word| is_temp(word) || has(&word, list) || has(&word, &["motor", "of", "at", "test"]))
    };
    let column = if WINDING_TEMP.contains(&rest) || (scale.is_some() && HOT.contains(&rest)) || is_of(&HOT) {
        Column::WindingTemp
    } else if AIR_TEMP.contains(&rest) || is_of(&AIR) {
        Column::AirTemp
    } else if SOME_TEMP.contains(&rest) || (rest.is_empty() && scale.is_some()) {
        return Some(Meaning::Likely(Column::WindingTemp(scale.unwrap_or(TemperatureScale::Celsius))));
    } else {
        return None;
    };
    Some(match scale {
        Some(scale) => Meaning::Sure(column(scale)),
        None => Meaning::Likely(column(TemperatureScale::Celsius)),
    })
}

fn resistance(words: &Words, rest: &str) -> Option<Meaning> {
    let unit = words.ohms.first().copied();
    let or_megohm = unit.unwrap_or_default();
    let is_full_scale = matches!(
        rest,
        "full scale"
            | "max range"
            | "range max"
            | "tester range"
            | "instrument range"
            | "meter range"
            | "fondo scala"
            | "fondo escala"
            | "fundo escala"
            | "messbereichsendwert"
    );
    // Without a unit of resistance these are ranges of voltage and currents, and the flow of a pump.
    let is_range = matches!(rest, "messbereich" | "meetbereik" | "portata" | "calibre");
    if is_full_scale || is_range && unit.is_some() {
        return Some(Meaning::Sure(Column::FullScale(or_megohm)));
    }
    let says_insulation = words.rest.iter().any(|word| matches!(word.as_str(), "ir" | "insulation" | "riso" | "meg"));
    let mut number = None;
    let mut time = None;
    let mut named = false;
    for word in &words.rest {
        match word.as_str() {
            word if RESISTANCE.contains(&word) => named = true,
            "at" => {}
            // `Isolement / masse`
            "earth" | "ground" | "frame" | "to" | "masse" | "massa" | "mass" | "tierra" | "terra" | "erde"
            | "terre" | "gegen" | "against" | "vs" | "contra" | "verso" | "contre" | "naar"
                if says_insulation => {}
            "counter" if words.rest.iter().any(|word| word == "reading") => {}
            // Without a unit of resistance `Current` means amperes.
            "current" | "actual" if says_insulation || unit.is_some() => named = true,
            // `Winding resistance` is that of the conductor.
            "winding" | "stator" | "motor" | "phase" | "test" if says_insulation => {}
            // `S1` is a place or a switch.
            "s" if number.is_none() => return None,
            word if SECONDS.contains(&word) && time.is_none() => time = Some(ElapsedUnit::Second),
            word if MINUTES.contains(&word) && time.is_none() => time = Some(ElapsedUnit::Minute),
            "elapsed" | "time" if words.ohms.is_empty() => return elapsed(&words.rest),
            digits if number.is_none() && digits.starts_with(|c: char| c.is_ascii_digit()) => {
                number = Some(digits.parse::<f64>().ok()?);
            }
            _ => return None,
        }
    }
    let Some(number) = number else {
        // A reading at no time: the one-minute reading by custom, or that of `elapsed_s` where there is one.
        return ((named || words.rest.is_empty()) && time.is_none())
            .then_some(Meaning::Likely(Column::Resistance(or_megohm)));
    };
    // `Reading 1` may be the first of three phases.
    let is_numbered =
        time.is_none() && number < 15.0 && words.rest.iter().any(|word| NUMBERED.contains(&word.as_str()));
    if is_numbered {
        return None;
    }
    // `IR 500` is a voltage: without its unit a time is one that tests have.
    let is_usual = number <= 10.0 || (number <= 600.0 && number % 15.0 == 0.0);
    if time.is_none() && !is_usual {
        return None;
    }
    let guessed = if number < 15.0 { ElapsedUnit::Minute } else { ElapsedUnit::Second };
    let seconds = number * time.unwrap_or(guessed).in_seconds();
    let column = Column::Reading(Elapsed::from_seconds(seconds).ok()?, or_megohm);
    let sure = (time.is_some() || number >= 15.0) && (named || unit.is_some());
    if !named && unit.is_none() && time.is_none() {
        return None;
    }
    Some(if sure { Meaning::Sure(column) } else { Meaning::Likely(column) })
}

fn elapsed(words: &[String]) -> Option<Meaning> {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["elapsed" | "time", "s" | "sec" | "seconds"] | ["elapsed", "time", "s" | "sec" | "seconds"] => {
            Some(Meaning::Sure(Column::Elapsed(ElapsedUnit::Second)))
        }
        ["elapsed" | "time", "min" | "minutes"] | ["elapsed", "time", "min" | "minutes"] => {
            Some(Meaning::Sure(Column::Elapsed(ElapsedUnit::Minute)))
        }
        _ => None,
    }
}

/// A header taken apart.
#[derive(Debug, Default)]
struct Words {
    rest: Vec<String>,
    ohms: Vec<ResistanceUnit>,
    scales: Vec<TemperatureScale>,
    volts: bool,
    percent: bool,
}

impl Words {
    /// `None` when a unit is there that cannot be read, such as mΩ, which is milliohms by the book.
    fn of(header: &str) -> Option<Self> {
        if header.chars().count() > 80 {
            return None;
        }
        let header = without_scale(header).unwrap_or(header);
        let header = header.replace(['\u{2126}', '\u{3a9}'], "ohm");
        let header = ["N°", "n°", "Nº", "nº"].iter().fold(header, |header, number| header.replace(number, "no "));
        let header = with_primes(&header.replace(['°', 'º'], " deg"));
        let (header, thousands) = without_multiplier(joined_prefixes(&header));
        if names_factor(&header) {
            return None;
        }
        let mut words = Self::default();
        let is_gap = |c: char| !(c.is_alphanumeric() || matches!(c, '%' | '.'));
        for token in header.split(is_gap).flat_map(parts).map(|token| token.trim_matches('.')) {
            let lower = token.to_lowercase();
            match lower.as_str() {
                word if FILLERS.contains(&word) => {}
                "%" => words.percent = true,
                "" | "deg" | "degree" | "degrees" | "in" | "percent" | "pct" | "dc" => {}
                "mohm" | "mohms" if token.starts_with('m') && token.ends_with("ohm") && header.contains("mohm") => {
                    return None;
                }
                "c" | "degc" | "celsius" => words.scales.push(TemperatureScale::Celsius),
                "f" | "degf" | "fahrenheit" => words.scales.push(TemperatureScale::Fahrenheit),
                "v" | "vdc" => words.volts = true,
                "volt" | "volts" if words.rest.last().is_some_and(|word| word == "test") => words.volts = true,
                word if word.contains("ohm") => words.ohms.push(ResistanceUnit::read(token)?),
                word => {
                    let word = &*word.replace('ß', "ss");
                    let translated =
                        |word: &str| IN_ENGLISH.get(word).map_or_else(|| word.to_owned(), |here| (*here).to_owned());
                    match unjoined(word).filter(|_| !IN_ENGLISH.contains_key(word)) {
                        Some((first, second)) => words.rest.extend([first, second].map(translated)),
                        None => words.rest.push(translated(word)),
                    }
                }
            }
        }
        if thousands > 0 {
            words.ohms = words.ohms.iter().map(|unit| times_thousand(*unit, thousands)).collect::<Option<_>>()?;
        }
        if words.rest.first().is_some_and(|word| word == "no") {
            words.rest.rotate_left(1);
        }
        let is_any = !words.rest.is_empty() || !words.ohms.is_empty() || words.scales.len() == 1;
        is_any.then_some(words)
    }

    fn meaning(&self) -> Option<Meaning> {
        if self.two_units() {
            return Some(Meaning::TwoUnits);
        }
        let rest = self.rest.join(" ");
        let rest = rest.as_str();
        let plain = self.ohms.is_empty() && self.scales.is_empty();
        // `HR (%)`
        if plain && self.percent && matches!(rest, "hr" | "rv" | "ur" | "rf" | "r f" | "rel humidity" | "humid") {
            return Some(Meaning::Sure(Column::Humidity));
        }
        if plain && self.volts && matches!(rest, "test" | "applied") {
            return Some(Meaning::Sure(Column::TestVolts));
        }
        if plain {
            let found =
                |table: &[(&str, Column)]| table.iter().find(|(word, _)| *word == rest).map(|(_, column)| *column);
            if let Some(column) = found(SURE) {
                return Some(Meaning::Sure(column));
            }
            if let Some(column) = found(LIKELY) {
                return Some(Meaning::Likely(column));
            }
            if !self.volts && names_machine(&self.rest) {
                return Some(Meaning::Likely(Column::Winding));
            }
            // `Date (yyyy-mm-dd)`.
            let is_of_form =
                |word: &String| matches!(word.as_str(), "yyyy" | "yy" | "mm" | "dd" | "jjjj" | "tt" | "aaaa" | "jj");
            if let Some(at) =
                self.rest.iter().position(is_of_form).filter(|at| *at > 0 && self.rest[*at..].iter().all(is_of_form))
            {
                return Self { rest: self.rest[..at].to_vec(), ..Self::default() }.meaning().filter(Meaning::is_date);
            }
            // `Pompmotor`, `Kreiselpumpe`: one word made of two.
            let is_machine = |end: &&str| rest.len() > end.len() + 2 && rest.ends_with(*end) && !rest.contains(' ');
            if !self.volts && ["motor", "pumpe", "pomp"].iter().any(is_machine) {
                return Some(Meaning::Likely(Column::Winding));
            }
        }
        if self.ohms.is_empty()
            && let Some(meaning) = temperature(self, rest)
        {
            return Some(meaning);
        }
        if self.scales.is_empty() && !self.volts { resistance(self, rest) } else { None }
    }

    fn units(&self) -> Option<Units> {
        (!self.two_units()).then(|| Units { ohms: self.ohms.first().copied(), scale: self.scales.first().copied() })
    }

    fn two_units(&self) -> bool {
        self.ohms.windows(2).any(|pair| pair[0] != pair[1]) || self.scales.windows(2).any(|pair| pair[0] != pair[1])
    }
}

/// A header in which minutes and seconds by primes after a number are words: `1'`, `15"`.
fn with_primes(header: &str) -> String {
    let mut text = String::with_capacity(header.len());
    let mut before = ' ';
    for c in header.chars() {
        match c {
            '\'' | '′' | '’' if before.is_ascii_digit() => text.push_str(" min "),
            '"' | '″' | '”' if before.is_ascii_digit() => text.push_str(" s "),
            other => text.push(other),
        }
        before = c;
    }
    text
}

/// A header with `Meg Ohms`, `k-Ohm` and the like in one word.
fn joined_prefixes(header: &str) -> String {
    // Some capitals have small letters of other lengths; no header of units has them.
    let changes = |c: char| c.to_lowercase().map(char::len_utf8).sum::<usize>() != c.len_utf8();
    if header.contains(changes) || !header.to_lowercase().contains("ohm") {
        return header.to_owned();
    }
    let (mut joined, mut rest) = (String::new(), header);
    while let Some(at) = rest.to_lowercase().find("ohm") {
        let before = rest[..at].trim_end_matches([' ', '-', '.', '_', '\u{a0}']);
        let word = before.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default();
        let is_prefix =
            PREFIXES.iter().any(|prefix| *prefix == word || (word.len() > 1 && *prefix == word.to_lowercase()))
                || word == "K"
                || word == "m";
        joined.push_str(if is_prefix { before } else { &rest[..at] });
        joined.push_str(&rest[at..at + 3]);
        rest = &rest[at + 3..];
    }
    joined + rest
}

/// A header without the `x1000` beside its unit of resistance.
fn without_multiplier(header: String) -> (String, u32) {
    if !header.to_lowercase().contains("ohm") {
        return (header, 0);
    }
    for (at, mark) in header.char_indices().filter(|(_, c)| matches!(c, 'x' | 'X' | '×' | '*')) {
        let behind = &header[at + mark.len_utf8()..];
        let number = behind.trim_start();
        let begins_word = !header[..at].ends_with(char::is_alphanumeric);
        let found = MULTIPLIERS.iter().find(|(text, _)| {
            number.strip_prefix(text).is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_digit()))
        });
        if let Some((text, thousands)) = found.filter(|_| begins_word) {
            return (format!("{} {}", &header[..at], &number[text.len()..]), *thousands);
        }
    }
    (header, 0)
}

/// A unit times so many thousands, up to MΩ: beyond it, nobody knows whether the values were multiplied or the unit.
fn times_thousand(unit: ResistanceUnit, thousands: u32) -> Option<ResistanceUnit> {
    match (unit, thousands) {
        (ResistanceUnit::Ohm, 1) => Some(ResistanceUnit::Kilohm),
        (ResistanceUnit::Ohm, 2) | (ResistanceUnit::Kilohm, 1) => Some(ResistanceUnit::Megohm),
        _ => None,
    }
}

/// Whether the unit of resistance in a header cannot be told, such as mΩ, or k alone.
#[must_use]
pub fn names_unknown_ohms(header: &str) -> bool {
    const ALONE: [&str; 6] = ["(k)", "[k]", "(m)", "[m]", "(µ)", "(u)"];
    let text = header.replace(['\u{2126}', '\u{3a9}'], "ohm").to_lowercase();
    let is_one = text.contains("ohm") && Words::of(header).is_none();
    let is_alone = || names_a_resistance(header) && ALONE.iter().any(|unit| text.trim_end().ends_with(unit));
    text.chars().count() <= 80 && (is_one || is_alone())
}

/// Parts letters from digits: `R60s` is `R`, `60`, `s`.
fn parts(token: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut start = 0;
    let mut last: Option<bool> = None;
    for (at, c) in token.char_indices() {
        let digit = c.is_ascii_digit() || (c == '.' && last == Some(true));
        if last.is_some_and(|last| last != digit) {
            found.push(&token[start..at]);
            start = at;
        }
        last = Some(digit);
    }
    found.push(&token[start..]);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ratio_and_a_scale_are_no_readings() {
        for header in
            ["Ind. pol.", "Ind. de pol.", "Índice de polarización", "Polarisationsindex", "Indice d'absorption"]
        {
            assert!(names_index(header), "{header}");
        }
        for header in ["Index", "Ind. fan", "Pole pump", "Indice pol. R600 (MΩ)"] {
            assert!(!names_index(header), "{header}");
        }
        assert_eq!(read("Isolamento MΩ (scala 2000 MΩ)"), read("Isolamento MΩ"));
        assert_eq!(read("IR GΩ (range 200 GΩ)"), read("IR GΩ"));
        assert_eq!(read("Portata"), None, "the flow of a pump");
        assert!(names_unknown_ohms("IR (10^3 ohm)") && names_unknown_ohms("IR (1000 Ω)"));
    }

    #[test]
    fn words_in_one_and_in_two_languages_are_understood() {
        for (header, column) in [
            ("Motornr.", "winding"),
            ("Pumpennummer", "winding"),
            ("EQNO", "winding"),
            ("Nº motor", "winding"),
            ("Pump code", "winding"),
            ("TESTDATE", "tested_on"),
            ("Date (yyyy-mm-dd)", "tested_on"),
            ("Date Megged", "tested_on"),
            ("WDGTEMP_C", "winding_temp_c"),
            ("Moteur / Motor", "winding"),
            ("Remarques / Remarks", "note"),
            ("Isolement / Insulation (GΩ)", "r_60s_gohm"),
        ] {
            let meant = match read(header) {
                Some(Meaning::Sure(column) | Meaning::Likely(column)) => {
                    column.to_string().replace("resistance", "r_60s")
                }
                _ => String::new(),
            };
            assert_eq!(meant, column, "{header}");
        }
        // A motor may be called by them, and the two of them are no one column.
        for header in ["Pump", "Fan", "Drive", "R 1 min / R 10 min", "Date / MΩ", "S1", "S 2"] {
            assert_eq!(read(header), None, "{header}");
        }
    }

    #[test]
    fn the_usual_words_are_understood() {
        for (header, column) in [
            ("R60 (MΩ)", "r_60s"),
            ("IR 1 min", "r_60s"),
            ("R 10 min [GΩ]", "r_600s_gohm"),
            ("60 s (MOhm)", "r_60s"),
            ("R60 Meg Ohms", "r_60s"),
            ("R60 (Meg-Ohm)", "r_60s"),
            ("R60 mega ohms", "r_60s"),
            ("R60 M Ohm", "r_60s"),
            ("R60 kilo ohm", "r_60s_kohm"),
            ("IR 1 min KILO OHMS", "r_60s_kohm"),
            ("R60 [k-Ohm]", "r_60s_kohm"),
            ("R60 (Ω x1000)", "r_60s_kohm"),
            ("R60 (×10⁶ Ω)", "r_60s"),
            ("R60 Giga ohms", "r_60s_gohm"),
            ("R60 TOhm", "r_60s_tohm"),
            ("IR@30s", "r_30s"),
            ("Insulation resistance 1 minute, megohms", "r_60s"),
            ("Winding temp. °F", "winding_temp_f"),
            ("Winding Temperature (deg C)", "winding_temp_c"),
            ("Ambient °C", "air_temp_c"),
            ("Wdg. temp. °C", "winding_temp_c"),
            ("Wdg °F", "winding_temp_f"),
            ("Amb. (°C)", "air_temp_c"),
            ("Wdg no.", "winding"),
            ("Motor", "winding"),
            ("Tag No.", "winding"),
            ("Date tested", "tested_on"),
            ("RH %", "rh_percent"),
            ("Test voltage (V)", "test_volts"),
            ("Test V DC", "test_volts"),
            ("Full scale GΩ", "full_scale_gohm"),
            ("Meetbereik (MΩ)", "full_scale"),
            ("Messbereich (GΩ)", "full_scale_gohm"),
            ("Calibre (MΩ)", "full_scale"),
            ("Portata (MΩ)", "full_scale"),
            ("Fondo scala", "full_scale"),
            ("Fondo de escala (MΩ)", "full_scale"),
            ("Lufttemp. (°C)", "air_temp_c"),
            ("Umgebungs- temperatur °C", "air_temp_c"),
            ("T locale (°C)", "air_temp_c"),
            ("T° atelier °C", "air_temp_c"),
            ("Temp. sala (°C)", "air_temp_c"),
            ("Ri 1' (MΩ)", "r_60s"),
            ("Ri 10' (MΩ)", "r_600s"),
            ("Resistencia 1 min (kilohmios)", "r_60s_kohm"),
            ("Isolamento 1 min (quilo-ohms)", "r_60s_kohm"),
            ("Remarks", "note"),
            ("Motor-Nr.", "winding"),
            ("N° moteur", "winding"),
            ("Date de mesure", "tested_on"),
            ("Motor winding temperature °C", "winding_temp_c"),
            ("Winding IR 1 min MΩ", "r_60s"),
            ("Elapsed time (s)", "elapsed_s"),
            ("Time, min", "elapsed_min"),
            ("Work Order", "work_order"),
            ("Cal. due", "calibration_due"),
            ("Tested by", "tested_by"),
            ("Tester S/N", "serial"),
            ("Leads open", "open_check"),
            ("Dead test", "proved_dead"),
            ("Discharge time (min)", "discharged_min"),
            ("Hours standing", "standing_h"),
            ("DD", "dielectric_discharge"),
            ("Prüfung am", "tested_on"),
            ("Geprüft am", "tested_on"),
            ("Gemessen am", "tested_on"),
            ("ACT_FINISH", "tested_on"),
            ("EQUIP_ID", "winding"),
            ("t [s]", "elapsed_s"),
        ] {
            match read(header) {
                Some(Meaning::Sure(found)) => assert_eq!(found.to_string(), column, "{header}"),
                other => assert_eq!(format!("{other:?}"), column, "{header}"),
            }
        }
    }

    #[test]
    fn what_may_mean_something_else_is_only_likely() {
        for (header, column) in [
            ("Temp", "winding_temp_c"),
            ("Temp °F", "winding_temp_f"),
            ("Winding temp", "winding_temp_c"),
            ("Wdg temp", "winding_temp_c"),
            ("Wdg. temp.", "winding_temp_c"),
            ("Motor temp", "winding_temp_c"),
            ("Coil temp", "winding_temp_c"),
            ("Amb. temp", "air_temp_c"),
            ("Amb", "air_temp_c"),
            ("Wdg.", "winding"),
            ("Date", "tested_on"),
            ("R1", "r_60s"),
            ("1 min", "r_60s"),
            ("IR (MΩ)", "resistance"),
            ("°C", "winding_temp_c"),
            ("Lectura (MΩ)", "resistance"),
            ("Current MΩ", "resistance"),
            ("Volts", "test_volts"),
            ("U [V]", "test_volts"),
            ("U meas [V]", "output_volts"),
            ("Pompmotor", "winding"),
            ("Kreiselpumpe", "winding"),
            ("MEAS_VAL", "resistance"),
            ("M ohms", "resistance"),
            ("Circuit tested", "scope"),
        ] {
            match read(header) {
                Some(Meaning::Likely(found)) => assert_eq!(found.to_string(), column, "{header}"),
                other => assert_eq!(format!("{other:?}"), column, "{header}"),
            }
        }
        assert_eq!(read("R60 MΩ GΩ"), Some(Meaning::TwoUnits));
        assert_eq!(read("Temp °C °F"), Some(Meaning::TwoUnits));
        for header in [
            "Rated voltage",
            "R60 mΩ",
            "R60 m ohm",
            "R60 (MΩ x1000)",
            "PI",
            "60",
            "Rated kW",
            "",
            "Année",
            "IR 500",
            "Winding resistance",
        ] {
            assert_eq!(read(header), None, "{header}");
        }
    }
}
