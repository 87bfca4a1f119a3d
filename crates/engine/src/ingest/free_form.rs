//! Resistances as fitters write them: `550 (after drying)`, `~380`, `2000+`, `580/620`, `O/L`, `N/T`, `1 250`.
//!
//! Only cells that break the [grammar](groundwall::resistance) come here. Whatever remains unclear is refused, with its own reason.

use super::dates;
use super::said_unit::{self, may_name_ohms, said_unit};
use super::unit::Unit;
use groundwall::record::columns::TemperatureScale;
use groundwall::resistance::{CellRules, Measured, ResistanceUnit};

/// What a cell means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meant {
    /// A reading, in the grammar of cells.
    Reading(String),
    /// A reading with a text beside it that becomes a note.
    Noted(String, String),
    /// The lower of two readings, and both of them as written.
    Lower(String, String),
    /// The test was not done.
    NotDone,
}

/// Why a cell has no meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unclear {
    /// The rule that it breaks.
    pub rule: &'static str,
    /// What to do.
    pub hint: &'static str,
}

const NOT_DONE: &[&str] = &[
    "not run",
    "not taken",
    "missed",
    "non mesuré",
    "non mesurée",
    "non fait",
    "non effectué",
    "pas mesuré",
    "pas fait",
    "pas testé",
    "nicht durchgeführt",
    "n.g.",
    "nicht gem.",
    "n. gem.",
    "n.gem.",
    "no medido",
    "no realizado",
    "sin medir",
    "não medido",
    "não testado",
    "não realizado",
    "non eseguito",
    "non eseguita",
    "non provato",
    "niet getest",
    "niet uitgevoerd",
    "n/t",
    "n.t.",
    "nt",
    "not tested",
    "not done",
    "not measured",
    "no test",
    "n/a",
    "na",
    "n.a.",
    "-",
    "–",
    "—",
    "--",
    "---",
    "skipped",
    "n/m",
    "n.m.",
    "oos",
    "out of service",
    "außer betrieb",
    "hors service",
    "fuera de servicio",
    "buiten bedrijf",
    "nicht gemessen",
    "nicht geprüft",
    "non testé",
    "no probado",
    "non misurato",
    "niet gemeten",
];
const OVER_RANGE: [&str; 33] = [
    "over scale",
    "fuori scala",
    "fuori portata",
    "fondo scala",
    "außer bereich",
    "hors échelle",
    "hors gamme",
    "hors plage",
    "hors calibre",
    "fuera de escala",
    "fuera de rango",
    "fora de escala",
    "buiten bereik",
    "messbereichsüberschreitung",
    "messbereich überschritten",
    "bereichsüberschreitung",
    "o/l",
    "o.r.",
    "o/r",
    "open",
    "overload",
    "overflow",
    "off scale",
    "offscale",
    "out of range",
    "infinite",
    "infinito",
    "infini",
    "unendlich",
    "oneindig",
    ">ol",
    "full scale",
    "max range",
];
/// Words for no resistance: a winding that is joined to earth.
const ZERO: [&str; 31] = [
    "short",
    "shorted",
    "short circuit",
    "dead short",
    "zero",
    "nil",
    "earth fault",
    "ground fault",
    "e/f",
    "down to earth",
    "short to earth",
    "shorted to earth",
    "short to ground",
    "shorted to ground",
    "earth short",
    "kurzschluss",
    "erdschluss",
    "masseschluss",
    "körperschluss",
    "court-circuit",
    "à la masse",
    "défaut à la terre",
    "cortocircuito",
    "a tierra",
    "corto",
    "a massa",
    "curto",
    "curto-circuito",
    "à massa",
    "kortsluiting",
    "aardsluiting",
];
const VERDICTS: [&str; 14] = [
    "ok",
    "okay",
    "good",
    "pass",
    "passed",
    "fail",
    "failed",
    "bad",
    "poor",
    "satisfactory",
    "done",
    "yes",
    "tested",
    "i.o.",
];
const APPROXIMATELY: [&str; 17] = [
    "~",
    "≈",
    "approximately",
    "approx.",
    "approx",
    "about",
    "circa",
    "ca.",
    "ca",
    "c.",
    "environ",
    "env.",
    "etwa",
    "ungefähr",
    "aprox.",
    "aprox",
    "ongeveer",
];
const POINTERS: [&str; 6] = ["see ", "ref ", "refer ", "siehe ", "voir ", "ver "];
/// Words that a fitter writes after a number without meaning a unit.
const REMARKS: [&str; 47] = [
    "dry",
    "wet",
    "damp",
    "after",
    "before",
    "drying",
    "dried",
    "cleaned",
    "cleaning",
    "hot",
    "cold",
    "warm",
    "steady",
    "falling",
    "rising",
    "stable",
    "unsteady",
    "est",
    "est.",
    "estimated",
    "approx",
    "approx.",
    "ok",
    "i.o.",
    "n.i.o.",
    "good",
    "pass",
    "passed",
    "fail",
    "failed",
    "poor",
    "low",
    "high",
    "at",
    "with",
    "without",
    "heater",
    "heaters",
    "running",
    "idle",
    "spare",
    "new",
    "old",
    "retest",
    "repeat",
    "first",
    "second",
];

/// What a cell means that the grammar does not understand.
///
/// # Errors
///
/// [`Unclear`] where it cannot be told.
pub fn read(text: &str, rules: &CellRules) -> Result<Meant, Unclear> {
    let text = text.trim();
    let lower = text.to_lowercase();
    let noted = |cell: &str| Ok(Meant::Noted(cell.to_owned(), text.to_owned()));
    if NOT_DONE.contains(&lower.as_str()) {
        return Ok(Meant::NotDone);
    }
    if OVER_RANGE.contains(&lower.as_str()) {
        return noted("OL");
    }
    if ZERO.contains(&lower.as_str()) {
        return noted("0");
    }
    if VERDICTS.contains(&lower.as_str()) {
        return Err(Unclear {
            rule: "the cell holds a verdict and no reading",
            hint: "write the megohms that the tester showed, or leave the cell empty if they are unknown",
        });
    }
    if POINTERS.iter().any(|start| lower.starts_with(start)) {
        return Err(Unclear {
            rule: "the cell points to another text and holds no reading",
            hint: "write the megohms that the tester showed, or leave the cell empty if the test was not done",
        });
    }
    if text.contains('?') {
        return Err(Unclear {
            rule: "the question mark leaves the reading in doubt",
            hint: "write the value without it once it is certain, or leave the cell empty",
        });
    }
    if let Some(cell) = without_name(text).filter(|cell| is_reading(cell, rules)) {
        return noted(cell);
    }
    if let Some(rest) = APPROXIMATELY.iter().find_map(|mark| lower.strip_prefix(mark)) {
        let rest = text[text.len() - rest.len()..].trim_start();
        return match (rest.starts_with(|c: char| c.is_ascii_digit()), one(rest, rules)?) {
            (true, Meant::Reading(cell) | Meant::Noted(cell, _) | Meant::Lower(cell, _)) => noted(&cell),
            _ => Err(NO_NUMBER),
        };
    }
    one(text, rules)
}

/// A reading with its unit after its name: `IR 25 MΩ`, `R = 3 GΩ`. Without a unit the number may be the time of the reading.
fn without_name(text: &str) -> Option<&str> {
    const NAMES: [&str; 9] = ["ir", "riso", "rins", "r", "r60", "insulation", "resistance", "reading", "meg"];
    let end = text.find(|c: char| c.is_whitespace() || matches!(c, '=' | ':'))?;
    let cell = text[end..].trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '=' | ':'));
    let is_named = NAMES.contains(&text[..end].to_lowercase().as_str());
    let has_unit =
        ResistanceUnit::read(cell.trim_start_matches(|c: char| !c.is_alphabetic() && !matches!(c, 'Ω' | '\u{2126}')))
            .is_some();
    (is_named && has_unit && cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>'))).then_some(cell)
}

/// `200+ Meg` is more than that.
fn with_plus_inside(text: &str) -> Option<String> {
    let (number, unit) = text.split_once('+')?;
    let (number, unit) = (number.trim(), unit.trim());
    let is_number = number.starts_with(|c: char| c.is_ascii_digit())
        && number.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','));
    (is_number && ResistanceUnit::read(unit).is_some()).then(|| format!(">{number} {unit}"))
}

/// Why a text alone is refused.
pub const NO_NUMBER: Unclear = Unclear {
    rule: "the cell holds a text from which no resistance can be read",
    hint: "write the number alone, and the text into the note",
};
/// Why a text after a number is refused.
pub const UNKNOWN_TEXT: Unclear = Unclear {
    rule: "what follows the number is neither a unit of resistance nor a remark that is understood",
    hint: "write the number with Ω, kΩ, MΩ, GΩ or TΩ, and any text into the note or between brackets",
};

/// Why a second number beside a reading is refused.
pub const OTHER_NUMBER: Unclear = Unclear {
    rule: "the text beside the number holds another number, which may be another reading",
    hint: "write one reading in the cell, and a repeat into a row of its own",
};
/// Why a reading of something else is refused.
pub const OF_ANOTHER: Unclear = Unclear {
    rule: "the text beside the number says that it is of something else than this winding",
    hint: "write it into a row of its own with its connection and scope, or leave the cell empty",
};

/// Whether a remark says that a reading is of another motor, of a part, or of a cable, or that it is multiplied.
fn is_of_another(note: &str) -> bool {
    const WORDS: [&str; 10] = ["only", "nur", "seul", "seulement", "solo", "sólo", "apenas", "alleen", "wrong", "void"];
    const ALONE: [&str; 8] = ["leads", "cable", "kabel", "câble", "cavo", "rotor", "other motor", "other"];
    let lower = note.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let is_factor =
        lower.strip_prefix(['x', '×', '*']).is_some_and(|rest| rest.trim().starts_with(|c: char| c.is_ascii_digit()));
    is_factor || ALONE.contains(&lower.trim()) || words.any(|word| WORDS.contains(&word))
}

/// Why another unit beside a reading is refused.
pub const OTHER_UNIT: Unclear = Unclear {
    rule: "the text beside the number names a unit, and the reading may be in that unit or in its own",
    hint: "write the number with its unit, such as 450 kΩ, and the text into the note",
};

/// Units after a number that is not a resistance, as remarks have it.
const NO_OHMS: [&str; 59] = [
    "h", "hr", "hrs", "hour", "hours", "std", "stunden", "heures", "horas", "ore", "uur", "min", "mins", "minute",
    "minutes", "minuten", "minuti", "minutos", "s", "sec", "d", "day", "days", "tage", "tagen", "jours", "días",
    "dias", "giorni", "dagen", "week", "weeks", "wk", "wks", "wochen", "months", "month", "monate", "years", "year",
    "yrs", "jahre", "°c", "c", "degc", "°f", "f", "deg", "°", "v", "vdc", "kv", "volt", "volts", "%", "rpm", "hz", "a",
    "kw",
];
/// Words before a number that is only a name.
const NAMES: [&str; 14] =
    ["wo", "order", "job", "no", "no.", "nr", "nr.", "ref", "ref.", "phase", "rev", "#", "motor", "tester"];

/// Whether a remark holds a number that is not a time, temperature, voltage, share, date or name: another reading, perhaps.
fn has_other_number(remark: &str) -> bool {
    let is_gap = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')' | '=');
    let words: Vec<&str> = remark.split(is_gap).filter(|word| !word.is_empty()).collect();
    let is_date = |words: &[&str]| {
        let text = words.join(" ");
        text.contains(|c: char| c.is_ascii_digit())
            && (dates::is_date(&text) || dates::is_clock(&text) || dates::Period::read(&text).is_some())
    };
    let mut at = 0;
    while at < words.len() {
        if let Some(length) = (1..=3).rev().find(|length| words.get(at..at + length).is_some_and(is_date)) {
            at += length;
            continue;
        }
        let number = words[at].trim_start_matches(['<', '>', '~', '≈', '+', '-', ':']);
        // Behind a colon too: `retest:0.6`.
        let number = number.rsplit(':').next().unwrap_or(number);
        let end = number.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(number.len());
        let (digits, unit) = number.split_at(end);
        let unit = unit.trim_start_matches('-').to_lowercase();
        let next = words.get(at + 1).map(|word| word.to_lowercase()).unwrap_or_default();
        let before = at.checked_sub(1).map(|at| words[at].to_lowercase()).unwrap_or_default();
        let is_harmless = match unit.as_str() {
            "" => NO_OHMS.contains(&next.trim_end_matches('.')) || NAMES.contains(&before.as_str()),
            "st" | "nd" | "rd" | "th" | "x" | "ph" => true,
            unit => NO_OHMS.contains(&unit.trim_end_matches('.')),
        };
        if digits.contains(|c: char| c.is_ascii_digit()) && !is_harmless {
            return true;
        }
        at += 1;
    }
    false
}

/// The number that a cell begins with, or that stands alone between brackets, where the cell as a whole is no reading: what the test may have
/// read at the worst.
pub fn apparent(text: &str) -> Option<&str> {
    if dates::is_date(text) {
        return None;
    }
    let text = text.trim().trim_start_matches(['(', '[', '~', '=', '<']).trim_start();
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(text.len());
    // `1o4` is no 1.
    if text[end..].starts_with(char::is_alphanumeric) {
        return None;
    }
    let (number, rest) = (text[..end].trim_end_matches(['.', ',']), text[end..].trim_start());
    let word = rest.split([' ', ',', ';', ')', ']', '?', '!', '.']).next().unwrap_or_default().to_lowercase();
    let has_unit = NO_OHMS.contains(&word.as_str()) || Unit::read(&word).is_some() || may_name_ohms(word.as_bytes());
    let goes_on = (rest.starts_with(['/', ':', '\''])
        || rest.strip_prefix('-').is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit())))
        || word.starts_with(|c: char| c.is_ascii_digit())
        || matches!(word.as_str(), "k" | "m" | "g" | "t" | "x" | "ph" | "phase" | "phases" | "of" | "times");
    (number.starts_with(|c: char| c.is_ascii_digit()) && !has_unit && !goes_on).then_some(number)
}

/// The first temperature that a remark names, with its scale.
pub fn temperature_in(remark: &str) -> Option<(f64, TemperatureScale)> {
    let is_gap = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')' | '=' | '@');
    let words: Vec<&str> = remark.split(is_gap).filter(|word| !word.is_empty()).collect();
    words.iter().enumerate().find_map(|(at, word)| {
        let end = word.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(word.len());
        let number: f64 = word[..end].parse().ok()?;
        let unit = if end < word.len() { &word[end..] } else { words.get(at + 1)? };
        match Unit::read(unit) {
            Some(Unit::Degrees(scale)) => Some((number, scale)),
            _ => None,
        }
    })
}

/// A reading with the text after it.
fn one(text: &str, rules: &CellRules) -> Result<Meant, Unclear> {
    if is_reading(text, rules) {
        return Ok(Meant::Reading(text.to_owned()));
    }
    let written = without_thousands(text, rules.decimal_comma);
    if let Some(written) = written.filter(|written| is_reading(written, rules)) {
        return Ok(Meant::Reading(written));
    }
    let noted = |cell: &str, note: &str| match one(cell, rules)? {
        Meant::Reading(cell) | Meant::Noted(cell, _) => Ok(Meant::Noted(cell, note.trim().to_owned())),
        Meant::Lower(cell, both) => Ok(Meant::Lower(cell, format!("{both}; {}", note.trim()))),
        Meant::NotDone => Err(NO_NUMBER),
    };
    let remarked = |cell: &str, note: &str| {
        if is_of_another(note) {
            return Err(OF_ANOTHER);
        }
        if has_other_number(note) {
            return Err(OTHER_NUMBER);
        }
        let Some(said) = said_unit(note) else {
            let is_kilo = |word: &str| matches!(word, "k" | "K");
            let has_kilo = note.split(|c: char| !c.is_alphanumeric()).any(is_kilo);
            return if has_kilo { Err(OTHER_UNIT) } else { noted(cell, note) };
        };
        let with_unit = said.unit.filter(|_| said_unit::needs_unit(cell, rules.decimal_comma));
        let with_unit = with_unit.map(|unit| format!("{cell} {}", said_unit::symbol(Some(unit))));
        match with_unit.filter(|cell| is_reading(cell, rules)) {
            Some(cell) => noted(&cell, note),
            None => Err(OTHER_UNIT),
        }
    };
    if let Some(rest) = text.strip_suffix('*') {
        return noted(rest.trim_end_matches('*').trim_end(), text);
    }
    if let Some(rest) = text.strip_suffix('+').map(str::trim_end) {
        return noted(&format!(">{}", rest.trim_start_matches(['>', ' '])), text);
    }
    if let Some(cell) = with_plus_inside(text) {
        return noted(&cell, text);
    }
    if let Some((cell, inside)) = text.strip_suffix([')', ']']).and_then(|rest| rest.split_once(['(', '['])) {
        return in_brackets(cell.trim(), inside.trim(), rules).unwrap_or_else(|| remarked(cell.trim(), inside));
    }
    if let Some(meant) = lower_of_two(text, rules) {
        return Ok(meant);
    }
    let number = text.trim_start_matches(['<', '>', '=', '≤', '≥', ' ']);
    let Some(end) = number.find(|c: char| c.is_alphabetic() && c != 'e' && c != 'E') else { return Err(NO_NUMBER) };
    if !number.starts_with(|c: char| c.is_ascii_digit()) {
        return Err(NO_NUMBER);
    }
    // A unit may follow the number and remarks the unit.
    let end = text.len() - number.len() + end;
    let is_remark = |words: &str| {
        let first = words.split([' ', ',', ';']).next().unwrap_or_default().to_lowercase();
        REMARKS.contains(&first.as_str())
    };
    let behind = &text[end..];
    if is_remark(behind) {
        return remarked(text[..end].trim_end_matches([' ', ',', ';', '-']), behind);
    }
    if let Some((_, rest)) = behind.split_once([' ', ',', ';']).filter(|(_, rest)| is_remark(rest.trim())) {
        return remarked(text[..text.len() - rest.len()].trim_end_matches([' ', ',', ';', '-']), rest);
    }
    Err(UNKNOWN_TEXT)
}

/// What stands between brackets behind a reading, where it is not a mere remark: a unit, or something that leaves doubt.
fn in_brackets(cell: &str, inside: &str, rules: &CellRules) -> Option<Result<Meant, Unclear>> {
    if matches!(inside, "m" | "mΩ" | "mohm") || ResistanceUnit::read(inside).is_some() {
        let with_unit = format!("{cell} {inside}");
        return Some(if is_reading(&with_unit, rules) { Ok(Meant::Reading(with_unit)) } else { Err(UNKNOWN_TEXT) });
    }
    let in_doubt = inside.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>'));
    in_doubt.then_some(Err(Unclear {
        rule: "the number between the brackets may be another reading or a time",
        hint: "write one reading in the cell, and others into columns of their own",
    }))
}

/// `580/620`, `580 - 620 kΩ`: two readings, of which the lower counts.
fn lower_of_two(text: &str, rules: &CellRules) -> Option<Meant> {
    let (one, other) =
        ["->", "→", "=>", "/", " - ", "–", " to ", "&", "-"].iter().find_map(|mark| text.split_once(mark))?;
    let (one, other) = (one.trim(), other.trim());
    let unit = other.trim_start_matches(|c: char| !c.is_alphabetic() && c != 'Ω' && c != '\u{2126}');
    let bare = one.ends_with(|c: char| c.is_ascii_digit());
    let one = if bare && !unit.is_empty() { format!("{one} {unit}") } else { one.to_owned() };
    let value = |cell: &str| match rules.read(cell) {
        Ok(Some(measured)) => measured.resistance().map(|resistance| (measured, resistance.as_megohms())),
        _ => None,
    };
    let ((first, low), (_, high)) = (value(&one)?, value(other)?);
    // A bound below is the lowest of all.
    let takes_first = low < high || (low <= high && matches!(first, Measured::Below(_)));
    let cell = if takes_first { one } else { other.to_owned() };
    Some(Meant::Lower(cell, text.to_owned()))
}

fn is_reading(text: &str, rules: &CellRules) -> bool {
    matches!(rules.read(text), Ok(Some(_)))
}

/// `1 250`, `1'250,5`, `1.250,0`, `1,250.0` with the file's decimal mark and no others, where the groups leave no doubt.
fn without_thousands(text: &str, decimal_comma: bool) -> Option<String> {
    let start = text.find(|c: char| c.is_ascii_digit())?;
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '\u{a0}' | '\u{202f}' | '\'' | '’');
    let length = text[start..].find(|c: char| !is_part(c)).unwrap_or(text.len() - start);
    let number = text[start..start + length].trim_end();
    let after = &text[start + number.len()..];
    let mark = number.chars().find(|c| !c.is_ascii_digit())?;
    let (whole, decimals) = match (mark, number.rsplit_once(if mark == ',' { '.' } else { ',' })) {
        ('.' | ',', None) => return None,
        (_, None) => number.split_once('.').map_or((number, None), |(whole, rest)| (whole, Some(rest))),
        (_, Some((whole, rest))) => (whole, Some(rest)),
    };
    let mut groups = whole.split(mark);
    let digits = |group: &str| !group.is_empty() && group.bytes().all(|byte| byte.is_ascii_digit());
    // `0'500` is no five hundred.
    let first = groups.next().filter(|first| digits(first) && first.len() <= 3 && !first.starts_with('0'))?;
    let rest: Vec<&str> = groups.collect();
    if rest.is_empty() || !rest.iter().all(|group| digits(group) && group.len() == 3) || !decimals.is_none_or(digits) {
        return None;
    }
    let point = if decimal_comma { ',' } else { '.' };
    let decimals = decimals.map_or_else(String::new, |decimals| format!("{point}{decimals}"));
    Some(format!("{}{first}{}{decimals}{after}", &text[..start], rest.concat()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_mean_what_a_fitter_means() {
        let rules = CellRules::default();
        for (text, cell, note) in [
            ("550 (after drying)", "550", Some("after drying")),
            ("~380", "380", Some("~380")),
            ("approx 300", "300", Some("approx 300")),
            ("ca. 1.2 GΩ", "1.2 GΩ", Some("ca. 1.2 GΩ")),
            ("450*", "450", Some("450*")),
            ("2000+", ">2000", Some("2000+")),
            ("2 GΩ +", ">2 GΩ", Some("2 GΩ +")),
            ("200+ MOhm", ">200 MOhm", Some("200+ MOhm")),
            ("IR 25 MOhm", "25 MOhm", Some("IR 25 MOhm")),
            ("R = >2 GΩ", ">2 GΩ", Some("R = >2 GΩ")),
            ("580/620", "580", Some("580/620")),
            ("620 / 580 kΩ", "580 kΩ", Some("620 / 580 kΩ")),
            ("O/L", "OL", Some("O/L")),
            ("open", "OL", Some("open")),
            ("fuori scala", "OL", Some("fuori scala")),
            ("Hors échelle", "OL", Some("Hors échelle")),
            ("fuera de escala", "OL", Some("fuera de escala")),
            ("buiten bereik", "OL", Some("buiten bereik")),
            ("Messbereichsüberschreitung", "OL", Some("Messbereichsüberschreitung")),
            ("short", "0", Some("short")),
            ("1 250", "1250", None),
            ("1.250,5", "1250.5", None),
            ("1,250.5 kΩ", "1250.5 kΩ", None),
            ("550 MΩ dry", "550 MΩ", Some("dry")),
            ("550 after cleaning", "550", Some("after cleaning")),
            ("250 i.O.", "250", Some("i.O.")),
            ("1.2 n.i.O.", "1.2", Some("n.i.O.")),
            ("infinito", "OL", Some("infinito")),
            ("850 (kΩ)", "850 kΩ", None),
            ("450 (kOhm, damp)", "450 kΩ", Some("kOhm, damp")),
            ("450 damp kΩ", "450 kΩ", Some("damp kΩ")),
            ("450 (in kΩ)", "450 kΩ", Some("in kΩ")),
            ("~450 (k-Ohm, damp)", "450 kΩ", Some("~450 (k-Ohm, damp)")),
            ("550 (after 24 h drying at 90 °C)", "550", Some("after 24 h drying at 90 °C")),
            ("550 (at 1000V, 2nd try, WO 4711, 12/05/2026)", "550", Some("at 1000V, 2nd try, WO 4711, 12/05/2026")),
            ("> 1 000", "> 1000", None),
        ] {
            let expected = match note {
                None => Meant::Reading(cell.to_owned()),
                Some(note) if text.contains("620") => Meant::Lower(cell.to_owned(), note.to_owned()),
                Some(note) => Meant::Noted(cell.to_owned(), note.to_owned()),
            };
            assert_eq!(read(text, &rules), Ok(expected), "{text}");
        }
        for text in ["0'500", "0 500", "00'500", "0\u{202f}500"] {
            assert!(read(text, &rules).is_err(), "{text}");
        }
        for text in ["N/T", "not tested", "n/a", "-"] {
            assert_eq!(read(text, &rules), Ok(Meant::NotDone), "{text}");
        }
    }

    #[test]
    fn what_is_unclear_is_refused_with_that_reason() {
        let rules = CellRules::default();
        let reason = |text: &str| read(text, &rules).err().map(|unclear| unclear.rule);
        for (text, rule) in [
            ("ok", "the cell holds a verdict and no reading"),
            ("see note", "the cell points to another text and holds no reading"),
            ("450?", "the question mark leaves the reading in doubt"),
            ("4 DEGC", UNKNOWN_TEXT.rule),
            ("550 V", UNKNOWN_TEXT.rule),
            ("P-101", NO_NUMBER.rule),
            ("580 (retest 0.6)", OTHER_NUMBER.rule),
            ("580 (was 0.6)", OTHER_NUMBER.rule),
            ("580 (retest: 0.6)", OTHER_NUMBER.rule),
            ("580 (600 kΩ after 1 min)", "the number between the brackets may be another reading or a time"),
            ("580 (fell to 600k)", OTHER_NUMBER.rule),
            ("580 retest 0.6", OTHER_NUMBER.rule),
            ("450 MΩ (in kOhm)", OTHER_UNIT.rule),
            ("450 (in mΩ)", OTHER_UNIT.rule),
            ("450 (k, wet)", OTHER_UNIT.rule),
            ("550 (620)", "the number between the brackets may be another reading or a time"),
            ("12 500 0", NO_NUMBER.rule),
        ] {
            assert_eq!(reason(text), Some(rule), "{text}");
        }
    }
}
