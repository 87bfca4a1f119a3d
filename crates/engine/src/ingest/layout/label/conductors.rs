//! Phases by their letters, and pairs of conductors.

use crate::ingest::aliases;
use groundwall::record::Connection;
use std::collections::BTreeSet;

/// Three letters by which phases are called.
pub type Custom = [&'static str; 3];

/// The customs of phases.
pub const CUSTOMS: [Custom; 12] = [
    ["u", "v", "w"],
    ["r", "s", "t"],
    ["r", "y", "b"],
    ["a", "b", "c"],
    ["l1", "l2", "l3"],
    ["t1", "t2", "t3"],
    ["u1", "v1", "w1"],
    ["1", "2", "3"],
    ["red", "yellow", "blue"],
    ["r", "w", "b"],
    ["red", "white", "blue"],
    ["brown", "black", "grey"],
];

/// What single letters of phases stand for beside U, V, W and the others that cannot be mistaken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Letters {
    /// Phases.
    OfPhases,
    /// R, Y and B are red, yellow and blue.
    RedYellowBlue,
    /// R, W and B are red, white and blue.
    RedWhiteBlue,
}

impl Letters {
    /// What they stand for in texts of connections. `R` and `B` are of no custom but those of colours.
    pub fn of<'t>(texts: impl Iterator<Item = &'t str>) -> Self {
        let (mut found, mut seen) = (BTreeSet::new(), BTreeSet::new());
        for text in texts.filter(|text| seen.insert(*text)) {
            found.extend(text.to_lowercase().split(['-', '/', ' ']).map(str::to_owned));
        }
        let has = |letters: &[&str]| letters.iter().any(|letter| found.contains(*letter));
        let (red, yellow, blue) = (has(&["r", "ry", "rw"]), has(&["y", "yb"]), has(&["b", "br"]));
        let is_white = red && blue && has(&["w", "rw", "wb"]) && !has(&["u", "v"]);
        match (yellow, red, blue) {
            (true, true, _) | (true, _, true) => Self::RedYellowBlue,
            (false, true, true) if is_white => Self::RedWhiteBlue,
            (false, true, true) => Self::RedYellowBlue,
            _ => Self::OfPhases,
        }
    }
}

/// Whether two letters of phases belong to one custom: `U-1` is the name of a motor.
fn is_custom(one: &str, other: &str) -> bool {
    CUSTOMS.iter().any(|custom| custom.contains(&one) && custom.contains(&other))
}

/// Whether a word is the letter of a phase.
#[must_use]
pub fn is_phase(word: &str) -> bool {
    matches!(
        word.to_lowercase().as_str(),
        "red"
            | "yellow"
            | "blue"
            | "white"
            | "brown"
            | "black"
            | "grey"
            | "u"
            | "v"
            | "w"
            | "r"
            | "s"
            | "t"
            | "y"
            | "a"
            | "b"
            | "c"
            | "l1"
            | "l2"
            | "l3"
            | "t1"
            | "t2"
            | "t3"
            | "u1"
            | "v1"
            | "w1"
    )
}

/// A word used beside the letter of a phase.
pub(super) fn is_word_of_phases(word: &str) -> bool {
    let lower = word.to_lowercase();
    matches!(
        lower.trim_end_matches([':', '.']),
        "phase" | "ph" | "fase" | "faz" | "wdg" | "winding" | "wicklung" | "strang" | "leg" | "lead" | "terminal"
    )
}

/// Words of connections beside those for phases and earth.
const JOINTS: [&str; 24] = [
    "between", "across", "inter", "entre", "zwischen", "tra", "fra", "tussen", "to", "and", "gegen", "vs", "contre",
    "contra", "tegen", "le", "les", "la", "las", "a", "à", "e", "et", "all",
];

/// Whether a word of a header is one for phases in general.
pub(super) fn names_phases(word: &str) -> bool {
    let lower = word.to_lowercase();
    lower.split(['-', '/', '–']).any(|part| {
        matches!(part, "phase" | "phases" | "ph" | "phasen" | "fase" | "fases" | "fasi" | "fasen" | "leiter")
    })
}

/// What a header says of phases in general, `Ph-Ph`, `Entre phases`, `Phases / masse`; the words that say it are taken away.
pub(super) fn of_any_phases(words: &mut Vec<String>) -> Option<String> {
    let says = |word: &String| {
        let lower = word.to_lowercase();
        let is_part = |part: &str| part.is_empty() || names_phases(part) || is_earth(part) || JOINTS.contains(&part);
        lower.split(['-', '/', '–']).all(is_part)
    };
    let said: Vec<&str> = words.iter().filter(|word| says(word)).map(String::as_str).collect();
    let is_pair = said.iter().flat_map(|word| word.split(['-', '/', '–'])).filter(|part| !part.is_empty()).count() > 1;
    let connection = match Connection::read(&said.join(" ")) {
        _ if !is_pair => None,
        found @ Connection::AllEarth => Some(found.to_string()),
        Connection::Other(text) if text == "phase-phase" => Some(text),
        _ => None,
    };
    if connection.is_some() {
        words.retain(|word| !says(word));
    }
    connection
}

/// Whether a header begins with the letter of a phase, and goes on with something else than a quantity: `W-PEE`.
#[must_use]
pub fn begins_with_phase(header: &str) -> bool {
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '-' | '/' | '_' | '–');
    let other = ["a", "amp", "amps", "current", "v", "volt", "volts", "voltage", "hz", "kw"];
    let is_quantity = aliases::unit_in_brackets(header).is_some();
    header.split_once(is_gap).filter(|_| !is_quantity).is_some_and(|(first, rest)| {
        is_phase(first) && !rest.to_lowercase().split(is_gap).any(|word| other.contains(&word))
    })
}

/// Whether a word is earth, what is joined to it, or the neutral in a pair of conductors.
pub(in crate::ingest::layout) fn is_earth(word: &str) -> bool {
    word == "n" || Connection::is_earth_word(word)
}

/// Whether a word is two conductors, such as `R-E`, `L1-PE`, `U/V`, `A-G`, `RS`.
pub(super) fn is_connection(word: &str) -> bool {
    let lower = word.to_lowercase();
    let is_all = |part: &str| matches!(part, "all" | "uvw" | "rst" | "abc" | "3ph" | "l1l2l3");
    if let Some((one, other)) = lower.split_once(['-', '/', '–', '>', '+']) {
        // `N-1` is the name of a motor.
        let is_numbered = |part: &str| is_phase(part) || matches!(part, "1" | "2" | "3");
        let phases = is_numbered(one) && is_numbered(other) && one != other && is_custom(one, other);
        return phases
            || (is_numbered(one) && is_earth(other))
            || (matches!(one, "f1" | "f2" | "f3") && matches!(other, "tierra" | "terra" | "terre" | "massa" | "masa"))
            || numbered_phase(one).is_some_and(|number| {
                is_earth_of_numbered(other) || numbered_phase(other).is_some_and(|other| other != number)
            })
            || (is_earth(one) && is_phase(other))
            // T is earth beside other letters than R and S.
            || (other == "t" && is_phase(one) && one.starts_with(['u', 'v', 'w', 'l']))
            || (is_all(one) && is_earth(other))
            || (is_earth(one) && is_all(other));
    }
    // `L1PE`.
    let letter = lower.strip_suffix("pe").or_else(|| lower.strip_suffix("gnd"));
    if letter.is_some_and(|letter| letter.len() == 2 && is_phase(letter)) {
        return true;
    }
    matches!(
        lower.as_str(),
        "rs" | "st" | "tr" | "uv" | "vw" | "wu" | "ry" | "yb" | "br" | "re" | "se" | "te" | "ue" | "ve" | "we"
    ) && word.chars().all(char::is_uppercase)
}

/// Whether a word is earth beside `Ph1`: `T` and `M` too, for terre, tierra and masse.
fn is_earth_of_numbered(word: &str) -> bool {
    is_earth(word) || matches!(word, "t" | "m")
}

/// The number of a phase in a word such as `Ph1`.
fn numbered_phase(word: &str) -> Option<&str> {
    let number = word.strip_prefix("phase").or_else(|| word.strip_prefix("ph"))?;
    matches!(number, "1" | "2" | "3").then_some(number)
}

/// A connection by the letters U, V and W; `letters` says what other letters stand for.
#[must_use]
pub fn connection(text: &str, letters: Letters) -> String {
    let mut text = text.replace(['–', '>', '+'], "-");
    let lower = text.to_lowercase();
    // `L1PE`.
    if let Some(letter) =
        ["pe", "gnd"].into_iter().find_map(|earth| lower.strip_suffix(earth)).filter(|_| !text.contains(['-', '/']))
    {
        text = format!("{letter}-E");
    }
    if letters != Letters::OfPhases {
        let lower = text.to_lowercase();
        let parts = lower.split(['-', '/']).map(|part| match part {
            "r" => "U",
            "y" => "V",
            "w" if letters == Letters::RedWhiteBlue => "V",
            "b" => "W",
            other => other,
        });
        text = parts.collect::<Vec<_>>().join("-");
    }
    match Connection::read(&text) {
        Connection::Other(text) => text,
        known => known.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbered_phases_are_pairs_with_earth_or_with_each_other() {
        for (written, read) in [("Ph1/T", "U-earth"), ("Ph2-E", "V-earth"), ("Ph1-Ph2", "U-V"), ("Phase3/M", "W-earth")]
        {
            assert!(is_connection(written), "{written}");
            assert_eq!(connection(written, Letters::OfPhases), read);
        }
        assert!(!is_connection("Ph1-Ph1"));
        assert_eq!(Connection::read("phase 3 / M").to_string(), "W-earth");
    }
}
