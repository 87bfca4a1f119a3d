//! What the voltage was applied between, and what was in the circuit: the parts of a series' name beside the winding.

use crate::nameplate::Construction;
use std::fmt;

/// One of three phases. Whatever letters a site uses, they are kept as U, V, W.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Phase {
    /// First phase.
    U,
    /// Second phase.
    V,
    /// Third phase.
    W,
}

impl Phase {
    /// Letters, colours and terminals, those of several speeds and of parts of a phase too: IEC 60034-8 (`1U`, `2U1`) and the numbers of
    /// NEMA MG 1 (`T4`), both from memory.
    fn read(word: &str) -> Option<Self> {
        match word {
            "a" | "r" | "l1" | "p1" | "t1" | "t4" | "t7" | "t10" | "1" | "red" | "rot" | "rouge" | "rojo" | "rosso"
            | "rood" | "brown" | "braun" => Some(Self::U),
            "b" | "s" | "l2" | "p2" | "t2" | "t5" | "t8" | "t11" | "2" | "yellow" | "white" | "gelb" | "jaune"
            | "amarillo" | "giallo" | "geel" | "black" | "schwarz" => Some(Self::V),
            "c" | "t" | "l3" | "p3" | "t3" | "t6" | "t9" | "t12" | "3" | "blue" | "blau" | "bleu" | "azul" | "blu"
            | "blauw" | "grey" | "gray" | "grau" => Some(Self::W),
            // `U`, `U1`, `1U`, `1U1`
            _ => match word.trim_matches(|c: char| c.is_ascii_digit()) {
                letter if word.len() > letter.len() + 2 => None,
                "u" => Some(Self::U),
                "v" => Some(Self::V),
                "w" => Some(Self::W),
                _ => None,
            },
        }
    }

    const fn next(self) -> Self {
        match self {
            Self::U => Self::V,
            Self::V => Self::W,
            Self::W => Self::U,
        }
    }
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::U => "U",
            Self::V => "V",
            Self::W => "W",
        })
    }
}

/// What the voltage was applied between.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Connection {
    /// All windings together against earth: the whole winding.
    #[default]
    AllEarth,
    /// One phase against earth.
    PhaseEarth(Phase),
    /// One phase against the next: U-V, V-W or W-U.
    PhasePhase(Phase),
    /// Anything else, as written: a neutral, a part winding, an armature against its field.
    Other(String),
}

impl Connection {
    /// Reads a connection. Letters of phases and words for earth may be any in common use; the order does not matter.
    ///
    /// What is not understood is kept as written and forms a series of its own; it is never mixed with another.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::Connection;
    /// assert_eq!(Connection::read("L1 - PE").to_string(), "U-earth");
    /// assert_eq!(Connection::read("c/a").to_string(), "W-U");
    /// assert_eq!(Connection::read("all to frame").to_string(), "all-earth");
    /// assert_eq!(Connection::read("phase B").to_string(), "V-earth");
    /// assert_eq!(Connection::read("N-earth").to_string(), "N-earth");
    /// assert_eq!(Connection::read("Ph-Ph").to_string(), "phase-phase");
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Self {
        let text = text.trim();
        let lower = text.to_lowercase();
        if text.contains('?') || in_doubt_between_two(&lower) {
            return Self::Other(text.to_owned());
        }
        if is_between_any_phases(&lower) {
            return Self::Other(BETWEEN_PHASES.to_owned());
        }
        let says_phase =
            ["ph", "fase", "strang", "lead", "leg", "leiter", "coil"].iter().any(|word| lower.contains(word));
        let says_lead = WORDS_FOR_A_PHASE[4..].iter().any(|word| lower.contains(word));
        let between = ["", "to", "and", "gegen", "contre", "contra", "tegen", "vs"];
        let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !between.contains(word));
        let words = words.filter(|word| !WORDS_FOR_A_PHASE.contains(word));
        let mut words: Vec<&str> = words.map(without_phase).map(without_other_end).collect();
        // `L3 a massa`
        if let [_, "a", last] = words[..]
            && is_earth(last)
        {
            words.remove(1);
        }
        let earth = is_earth;
        let whole = [
            "all", "3", "three", "uvw", "abc", "rst", "ryb", "rwb", "l1l2l3", "t1t2t3", "stator", "winding",
            "windings", "motor",
        ];
        let all = |word: &str| {
            whole.contains(&word)
                && (word != "3" || lower.contains("3ph") || lower.contains("3 ph") || lower.contains("3-ph"))
        };
        let three = |words: &[&str]| {
            let phases: Vec<_> = words.iter().filter_map(|word| Phase::read(word)).collect();
            phases.len() == 3
                && words.len() == 3
                && phases[0] != phases[1]
                && phases[1] != phases[2]
                && phases[2] != phases[0]
        };
        match words.as_slice() {
            [] if !says_lead => Self::AllEarth,
            _ if matches!(lower.as_str(), "n/a" | "na" | "none" | "nil") => Self::AllEarth,
            [one] if all(one) || (earth(one) && (one.len() > 2 || says_phase)) => Self::AllEarth,
            // `phase 3`
            [one] if says_phase && Phase::read(one).is_some() => {
                Phase::read(one).map_or(Self::AllEarth, Self::PhaseEarth)
            }
            [phases @ .., last] if earth(last) && three(phases) => Self::AllEarth,
            // `F` is a phase beside words for earth of some languages, and a field in others.
            [one, last]
                if one.strip_prefix('f').is_some_and(|number| matches!(number, "1" | "2" | "3"))
                    && matches!(last, &("tierra" | "terra" | "terre" | "massa" | "masa")) =>
            {
                Phase::read(&one[1..]).map_or(Self::AllEarth, Self::PhaseEarth)
            }
            // Both ends of a phase: `T1/T4-G`.
            [one, same, last] if earth(last) && Phase::read(one).is_some() && Phase::read(one) == Phase::read(same) => {
                Phase::read(one).map_or(Self::AllEarth, Self::PhaseEarth)
            }
            // A phase alone was tested against earth; a number alone may count anything.
            [one] if !one.starts_with(|c: char| c.is_ascii_digit()) && Phase::read(one).is_some() => {
                Phase::read(one).map_or(Self::AllEarth, Self::PhaseEarth)
            }
            // A phase and earth, or two phases, written as one word: `UE`, `L1PE`, `UV`.
            [one] if in_two(one).is_some() => in_two(one).unwrap_or_default(),
            [one, other] if (all(one) && earth(other)) || (earth(one) && all(other)) => Self::AllEarth,
            [one, other] if earth(one) || earth(other) => {
                let phase = Phase::read(if earth(one) { other } else { one });
                phase.map_or_else(|| Self::Other(text.to_owned()), Self::PhaseEarth)
            }
            // Beside the number of a phase, T and M are earth: `Ph1/T`, `Phase 2 - M`.
            [one @ ("1" | "2" | "3"), "t" | "m"] if says_phase => {
                Phase::read(one).map_or(Self::AllEarth, Self::PhaseEarth)
            }
            // Beside U, V, W or L the letter T is earth: `U1-T`, tierra.
            [one, "t"] | ["t", one] if one.starts_with(['u', 'v', 'w', 'l']) && Phase::read(one).is_some() => {
                Phase::read(one).map_or(Self::AllEarth, Self::PhaseEarth)
            }
            [one, other] => phase_to_phase(one, other).unwrap_or_else(|| Self::Other(text.to_owned())),
            _ => Self::Other(text.to_owned()),
        }
    }

    /// Whether words of a connection name earth, or metal that is earthed: a pipe, the armour of a cable.
    pub(crate) fn names_earth(text: &str) -> bool {
        text.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| is_earth(word) || is_metal(word))
    }

    /// Whether a word, in small letters, is one for earth or what is joined to it: the frame, the core.
    #[must_use]
    pub fn is_earth_word(word: &str) -> bool {
        is_earth(word)
    }

    /// Whether the neutral point was tested against earth.
    #[must_use]
    pub fn is_neutral_to_earth(&self) -> bool {
        let Self::Other(text) = self else { return false };
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
        words.iter().any(|word| is_earth(word)) && words.iter().any(|word| matches!(*word, "n" | "neutral" | "star"))
    }

    /// Whether none of its words is one by which parts of a machine, phases or earth are called.
    pub(crate) fn is_unusual(&self) -> bool {
        const USUAL: [&str; 34] = [
            "rotor",
            "stator",
            "field",
            "star",
            "neutral",
            "armature",
            "exciter",
            "heater",
            "heaters",
            "rtd",
            "thermistor",
            "main",
            "aux",
            "auxiliary",
            "start",
            "run",
            "brush",
            "brushes",
            "rings",
            "cable",
            "series",
            "shunt",
            "interpole",
            "compensating",
            "brake",
            "feld",
            "anker",
            "läufer",
            "rotorico",
            "inducteur",
            "induit",
            "campo",
            "indotto",
            "induzido",
        ];
        let Self::Other(text) = self else { return false };
        if text == BETWEEN_PHASES {
            return false;
        }
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let is_usual =
            |word: &&str| USUAL.contains(word) || is_earth(word) || is_metal(word) || Phase::read(word).is_some();
        words.iter().any(|word| word.chars().count() > 2) && !words.iter().any(is_usual)
    }

    /// Whether it was not understood and may be one that is: one of its words is a letter away from earth or all (`al-earth`, `U-eatrh`),
    /// it says nothing (`3`), or it is in doubt (`x?y`).
    pub(crate) fn may_be_misspelt(&self) -> bool {
        let Self::Other(text) = self else { return false };
        // Other terminals are a letter with a number, a star point or a field.
        let is_short = text.chars().filter(|c| c.is_alphabetic()).count() < 3 && !text.contains(char::is_numeric);
        let terminals = ["n", "f", "fe", "ne", "np", "sp", "nt"];
        // A lead whose letter is not known, or that is said to be more than a lead against earth: it may owe what a phase owes.
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let is_lead = |word: &&str| {
            !is_earth(word) && (Phase::read(word).is_some() || word.len() < 3 && word.chars().all(char::is_alphabetic))
        };
        let names_earth = words.iter().any(|word| is_earth(word) && *word != "g" || *word == "earthed");
        let is_unknown_lead = names_earth && words.iter().any(|word| is_lead(word) && !terminals.contains(word));
        // A phase against something that is neither another phase nor a neutral may be a phase against earth: `L1-M`.
        let is_phase = |word: &&str| word.contains(char::is_alphabetic) && Phase::read(word).is_some();
        let phases: Vec<Option<Phase>> =
            words.iter().filter(|word| is_phase(word)).map(|word| Phase::read(word)).collect();
        let is_neutral = |word: &&str| matches!(*word, "n" | "neutral" | "star");
        let is_half_known = phases.first().is_some_and(|first| {
            (phases.len() > 1 && phases.iter().all(|other| other == first))
                || words.iter().any(|word| {
                    !is_phase(word) && !is_neutral(word) && !WORDS_FOR_A_PHASE.contains(word) && !is_metal(word)
                })
        });
        let says_nothing = is_unknown_lead
            || is_half_known
            || !text.contains(char::is_alphabetic)
            || is_short
                && text.chars().all(char::is_alphanumeric)
                && !terminals.contains(&text.to_lowercase().as_str());
        // `#REF!` is an error of a spreadsheet.
        if says_nothing || text.contains('?') || text.starts_with('#') || in_doubt_between_two(&lower) {
            return true;
        }
        let mut words =
            lower.split(|c: char| !c.is_alphanumeric()).filter(|word| word.chars().all(char::is_alphabetic));
        let known = ["all", "earth", "ground", "frame"];
        // `a11-earth`
        let as_letters = |word: &str| word.replace('1', "l").replace('0', "o");
        let has_digit = |word: &&str| word.contains(['0', '1']) && word.chars().any(char::is_alphabetic);
        if lower.split(|c: char| !c.is_alphanumeric()).filter(has_digit).any(|word| known.contains(&&*as_letters(word)))
        {
            return true;
        }
        words.any(|word| {
            !is_earth(word) && word.len() > 1 && known.iter().any(|known| strsim::osa_distance(word, known) == 1)
        })
    }

    /// Whether one phase alone was tested against earth, or against a neutral, which may be earthed.
    #[must_use]
    pub fn may_be_phase_to_earth(&self) -> bool {
        let Self::Other(text) = self else { return self.phase_to_earth().is_some() };
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let is_neutral = |word: &str| matches!(word, "n" | "neutral" | "star");
        matches!(words[..], [one, other] if (Phase::read(one).is_some() && is_neutral(other)) || (is_neutral(one) && Phase::read(other).is_some()))
    }

    /// The phase that alone was tested against earth, if one was.
    #[must_use]
    pub const fn phase_to_earth(&self) -> Option<Phase> {
        match self {
            Self::PhaseEarth(phase) => Some(*phase),
            _ => None,
        }
    }
}

/// Between phases, which of them is not said.
const BETWEEN_PHASES: &str = "phase-phase";

/// Whether a connection is one phase against another, and neither is named: `phase to phase`, `Ph-Ph`, `entre phases`.
fn is_between_any_phases(lower: &str) -> bool {
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_phase = |word: &&&str| WORDS_FOR_A_PHASE.contains(word) || matches!(**word, "p" | "fasen");
    let says_between = words
        .iter()
        .any(|word| matches!(*word, "between" | "across" | "inter" | "zwischen" | "entre" | "tra" | "fra" | "tussen"));
    let phases: Vec<&&str> = words.iter().filter(is_phase).collect();
    // `Phase lead` is one lead.
    let are_two = phases
        .iter()
        .enumerate()
        .any(|(at, one)| phases[at + 1..].iter().any(|other| other.bytes().next() == one.bytes().next()));
    let is_named = words.iter().any(|word| Phase::read(word).is_some() || is_earth(word) || is_metal(word));
    !is_named && (are_two || (!phases.is_empty() && says_between) || words == ["interphase"])
}

/// Whether a connection is one of two: `12 or 13`.
fn in_doubt_between_two(lower: &str) -> bool {
    lower.split_whitespace().any(|word| matches!(word, "or" | "oder" | "ou"))
}

/// Two phases, one after the other.
fn phase_to_phase(one: &str, other: &str) -> Option<Connection> {
    match (Phase::read(one)?, Phase::read(other)?) {
        (a, b) if a.next() == b => Some(Connection::PhasePhase(a)),
        (a, b) if b.next() == a => Some(Connection::PhasePhase(b)),
        _ => None,
    }
}

/// A phase and earth, or two phases, in one word that begins with a letter.
fn in_two(word: &str) -> Option<Connection> {
    let cuts = word.char_indices().skip(1).map(|(at, _)| word.split_at(at));
    let starts_with_a_letter = |part: &str| part.starts_with(char::is_alphabetic);
    let mut cuts = cuts.filter(|(one, other)| starts_with_a_letter(one) && starts_with_a_letter(other));
    cuts.find_map(|(one, other)| match Phase::read(one).filter(|_| is_earth(other)) {
        Some(phase) => Some(Connection::PhaseEarth(phase)),
        None => phase_to_phase(one, other),
    })
}

/// Words beside the letter or number of a phase.
const WORDS_FOR_A_PHASE: [&str; 13] =
    ["phase", "phases", "ph", "phasen", "fase", "fases", "fasi", "strang", "lead", "leads", "leg", "leiter", "coil"];

/// A word without that for a phase before or after it: `phase3`, `3ph`.
fn without_phase(word: &str) -> &str {
    let before = ["phase", "fase", "strang", "lead", "ph"].iter().find_map(|before| word.strip_prefix(before));
    let after = ["phases", "phase", "ph"].iter().find_map(|after| word.strip_suffix(after));
    before.or(after).filter(|rest| !rest.is_empty() && rest.len() < 3).unwrap_or(word)
}

/// One end of a phase, where a word names both: `U1U2`.
fn without_other_end(word: &str) -> &str {
    let mut cuts = word.char_indices().skip(1).map(|(at, _)| word.split_at(at));
    let is_both = |one: &str, other: &str| {
        let is_end = |end: &str| end.starts_with(char::is_alphabetic) && end.ends_with(|c: char| c.is_ascii_digit());
        is_end(one) && is_end(other) && Phase::read(one).is_some() && Phase::read(one) == Phase::read(other)
    };
    cuts.find(|(one, other)| is_both(one, other)).map_or(word, |(one, _)| one)
}

/// Words for metal that is earthed or ought to be.
fn is_metal(word: &str) -> bool {
    matches!(word, "pipe" | "metal" | "steel" | "chassis" | "armour" | "armor" | "sheath")
}

fn is_earth(word: &str) -> bool {
    matches!(
        word,
        "earth"
            | "ground"
            | "gnd"
            | "frame"
            | "e"
            | "g"
            | "pe"
            | "erde"
            | "masse"
            | "terre"
            | "tierra"
            | "terra"
            | "massa"
            | "mass"
            | "masa"
            | "aarde"
            | "chassis"
            | "casing"
            | "case"
            | "core"
            | "body"
            | "gehäuse"
            | "carcasa"
            | "carcassa"
            | "carcaça"
            | "huis"
    )
}

impl fmt::Display for Connection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AllEarth => f.write_str("all-earth"),
            Self::PhaseEarth(phase) => write!(f, "{phase}-earth"),
            Self::PhasePhase(phase) => write!(f, "{phase}-{}", phase.next()),
            Self::Other(text) => f.write_str(text),
        }
    }
}

/// What was in the circuit. Different scopes are never mixed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub enum Scope {
    /// The winding alone.
    #[default]
    #[cfg_attr(feature = "serde", serde(rename = "winding"))]
    Winding,
    /// The winding with its cable.
    #[cfg_attr(feature = "serde", serde(rename = "winding+cable"))]
    WindingAndCable,
    /// The cable alone.
    #[cfg_attr(feature = "serde", serde(rename = "cable"))]
    Cable,
    /// A circuit of an installation.
    #[cfg_attr(feature = "serde", serde(rename = "circuit"))]
    Circuit,
}

impl Scope {
    /// Reads a scope; `None` when it is none of these.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        if text.contains('?') {
            return None;
        }
        match text.trim().to_lowercase().replace(' ', "").as_str() {
            "" | "winding" => Some(Self::Winding),
            "winding+cable" | "cable+winding" | "windingandcable" => Some(Self::WindingAndCable),
            "cable" => Some(Self::Cable),
            "circuit" => Some(Self::Circuit),
            _ => Self::in_words(text),
        }
    }

    /// `motor + drop cable`, `Motor und Kabel`, `incl. cable`, `motor only`.
    fn in_words(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let has = |list: &[&str]| words.iter().any(|word| list.contains(word));
        let beside = ["and", "und", "et", "y", "e", "en", "plus", "the", "drop", "supply", "feeder", "power", "motors"];
        let is_known =
            |word: &&str| [&MOTORS[..], &CABLES, &WITH, &WITHOUT, &beside].iter().any(|list| list.contains(word));
        if !words.iter().all(is_known) || (has(&WITHOUT) && has(&WITH)) {
            return None;
        }
        match (has(&MOTORS), has(&CABLES)) {
            (true, true) | (false, true) if has(&["without", "ohne", "sans", "sin", "senza", "sem", "zonder"]) => {
                Some(Self::Winding)
            }
            (true, true) => (!has(&WITHOUT)).then_some(Self::WindingAndCable),
            (false, true) if has(&WITH) => Some(Self::WindingAndCable),
            (false, true) => Some(Self::Cable),
            (true, false) => (!has(&WITH)).then_some(Self::Winding),
            (false, false) => None,
        }
    }

    /// The construction of what was tested, where the scope says it.
    #[must_use]
    pub const fn construction(self) -> Option<Construction> {
        match self {
            Self::Cable => Some(Construction::Cable),
            Self::Circuit => Some(Construction::Circuit),
            Self::Winding | Self::WindingAndCable => None,
        }
    }
}

/// Words of scopes, in small letters.
const MOTORS: [&str; 12] = [
    "motor",
    "winding",
    "windings",
    "wicklung",
    "moteur",
    "motore",
    "bobinage",
    "bobinado",
    "devanado",
    "avvolgimento",
    "enrolamento",
    "wikkeling",
];
const CABLES: [&str; 9] = ["cable", "cables", "kabel", "zuleitung", "câble", "câbles", "cavo", "cabo", "kabels"];
const WITH: [&str; 12] =
    ["with", "incl", "including", "inkl", "mit", "avec", "con", "com", "met", "inclusive", "compris", "incluido"];
const WITHOUT: [&str; 12] =
    ["without", "only", "alone", "ohne", "nur", "allein", "sans", "sin", "senza", "sem", "zonder", "alleen"];

impl fmt::Display for Scope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Winding => "winding",
            Self::WindingAndCable => "winding+cable",
            Self::Cable => "cable",
            Self::Circuit => "circuit",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn t_beside_other_letters_is_earth_and_scopes_are_read_in_words() {
        for (text, said) in
            [("U1-T", "U-earth"), ("T/V1", "V-earth"), ("L3-T", "W-earth"), ("R-T", "W-U"), ("T-S", "V-W")]
        {
            assert_eq!(Connection::read(text).to_string(), said, "{text}");
        }
        for text in ["Phase-Phase", "Ph-Ph", "phase to phase", "Entre phases", "Leiter-Leiter", "P-P", "interphase"] {
            let read = Connection::read(text);
            assert_eq!((read.to_string().as_str(), read.is_unusual()), ("phase-phase", false), "{text}");
        }
        for text in ["phase leads", "phase xyzzy", "phase to earth", "Ph-E", "L1 phase to L2 phase", "phases to frame"]
        {
            assert_ne!(Connection::read(text).to_string(), "phase-phase", "{text}");
        }
        assert!(Connection::read("phase xyzzy").is_unusual());
        let both = [
            "motor + cable",
            "motor + drop cable",
            "Motor und Kabel",
            "incl. cable",
            "with cable",
            "Motor inkl. Kabel",
            "cable & motor",
        ];
        for text in both {
            assert_eq!(Scope::read(text), Some(Scope::WindingAndCable), "{text}");
        }
        for (text, scope) in [
            ("motor only", Some(Scope::Winding)),
            ("Motor ohne Kabel", Some(Scope::Winding)),
            ("drop cable", Some(Scope::Cable)),
            ("cable only", Some(Scope::Cable)),
            ("motor with heater", None),
            ("U-V", None),
        ] {
            assert_eq!(Scope::read(text), scope, "{text}");
        }
    }

    #[test]
    fn letters_of_every_custom_mean_the_same_phase() {
        for text in [
            "U-earth",
            "a-ground",
            "R/PE",
            "l1 to frame",
            "T1-E",
            "earth-U",
            "phase U to earth",
            "G-A",
            "U",
            "phase A",
            "U1-PE",
            "L1 gegen Erde",
            "phase 1",
            "ph1-E",
            "U-chassis",
            "L1 a massa",
            "UE",
            "AG",
            "L1PE",
            "Ugnd",
            "Fase R",
            "Fase 1",
            "Strang U",
            "Lead 1",
            "Coil A",
            "Fase1-terra",
            "F1-Tierra",
            "P1-earth",
            "1U-PE",
            "1U1-PE",
            "U1U2",
            "U1U2-PE",
            "T1/T4-G",
            "T4-G",
            "Rouge",
            "Brown-PE",
        ] {
            assert_eq!(Connection::read(text), Connection::PhaseEarth(Phase::U), "{text}");
        }
        for text in ["W-U", "U-W", "c-a", "T-R", "L3 to L1", "T3/T1", "WU", "L1L3"] {
            assert_eq!(Connection::read(text), Connection::PhasePhase(Phase::W), "{text}");
        }
        for text in [
            "",
            "all-earth",
            "ALL to ground",
            "earth-all",
            "UVW-PE",
            "abc",
            "L1L2L3-PE",
            "frame",
            "earth",
            "all phases",
            "3ph-E",
            "3 phase",
            "RYB-E",
            "L1+L2+L3-PE",
            "stator-earth",
            "winding to frame",
            "n/a",
            "none",
            "U,V,W to earth",
        ] {
            assert_eq!(Connection::read(text), Connection::AllEarth, "{text}");
        }
    }

    #[test]
    fn what_is_not_understood_is_kept_as_written() {
        for text in ["N-earth", "U-U", "armature-field", "U-V-W"] {
            assert_eq!(Connection::read(text).to_string(), text);
        }
    }

    #[test]
    fn what_says_nothing_or_is_in_doubt_may_be_any_connection() {
        let may_be_misspelt = |text: &str| Connection::read(text).may_be_misspelt();
        for text in [
            "3",
            "x?y",
            "?",
            "red-blue?",
            "all-earth?",
            "12 or 13",
            "U-E or V-E",
            "X",
            "WX",
            "12",
            "al-earth",
            "a11-earth",
            "U-eatrh",
            "W-E (U,V earthed)",
            "Y-E",
            "Y-earth",
            "L1-M",
            "U1-U2",
            "T1-T4",
            "R-other",
        ] {
            assert!(may_be_misspelt(text), "{text}");
        }
        for text in [
            "N",
            "F1-F2",
            "A1",
            "N-earth",
            "armature-field",
            "WE",
            "U-V-W",
            "field",
            "main-aux",
            "Z1-Z2",
            "armature-earth",
            "field-earth",
            "F1-earth",
            "N-PE",
            "heater",
        ] {
            assert!(!may_be_misspelt(text), "{text}");
        }
    }

    #[test]
    fn what_is_printed_can_be_read() {
        for connection in [
            Connection::AllEarth,
            Connection::PhaseEarth(Phase::V),
            Connection::PhasePhase(Phase::W),
            Connection::Other("N-earth".to_owned()),
        ] {
            assert_eq!(Connection::read(&connection.to_string()), connection);
        }
        for scope in [Scope::Winding, Scope::WindingAndCable, Scope::Cable, Scope::Circuit] {
            assert_eq!(Scope::read(&scope.to_string()), Some(scope));
        }
    }
}
