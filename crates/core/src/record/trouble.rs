//! Whether a note mentions a winding in water, or one that failed. Few words, and none that a sound machine has in its notes: a cooling
//! water pump is not a flood, and a failed bearing no failed winding.

use super::typed::tells_of_a_failure;
use crate::resistance::ResistanceUnit;
use crate::units::Resistance;

/// Beginnings of words that mention a flood.
const FLOODS: &[&str] = &[
    "flood",
    "submerg",
    "submers",
    "immers",
    "immerg",
    "inundat",
    "underwater",
    "waterlogged",
    "drenched",
    "soaked",
    "drowned",
    "überflut",
    "ueberflut",
    "geflutet",
    "überschwemm",
    "ueberschwemm",
    "hochwasser",
    "abgesoffen",
    "wassereinbruch",
    "wasserschaden",
    "inond",
    "noyé",
    "inund",
    "sumergid",
    "anegad",
    "allag",
    "sommers",
    "alagad",
    "overstro",
    "vollgelaufen",
    "wassereintritt",
];
/// Words that begin so and mention none.
const DRY_WORDS: &[&str] = &["floodlight", "floodlights", "floodlit", "submersible"];
/// What follows a flood in the name of a thing, as it begins.
const FLOOD_THINGS: &[&str] =
    &["light", "lamp", "gate", "barrier", "pump", "heater", "probe", "protect", "relief", "suction", "wall", "alarm"];
const DRY_LIQUIDS: &[&str] = &["varnish", "solvent", "resin", "oil", "white"];
const WATER: &[&str] = &[
    "water",
    "wasser",
    "eau",
    "agua",
    "água",
    "acqua",
    "seawater",
    "rainwater",
    "groundwater",
    "regenwasser",
    "h2o",
    "condensation",
    "condensate",
    "moisture",
    "kondenswasser",
];
/// What falls everywhere, and mentions a wet winding only where it got in.
const RAIN: &[&str] = &["rain", "regen", "snow", "schnee", "pluie", "lluvia", "pioggia", "chuva"];
const RAIN_GETS_IN: &[&str] =
    &["got", "entered", "ingress", "leaked", "leaking", "inside", "came", "blew", "eingedrungen"];
/// Where water is at home.
const PLACES: &[&str] = &["tank", "tower", "jacket", "pipe", "line", "sump", "cooler", "boiler", "bucket", "reservoir"];
/// What stands before the water that a winding is in; articles are left out.
const IN: &[&str] = &[
    "in",
    "under",
    "into",
    "beneath",
    "im",
    "unter",
    "dans",
    "sous",
    "bajo",
    "en",
    "sotto",
    "sott",
    "nell",
    "na",
    "debaixo",
    "dentro",
    "onder",
    "standing",
    "stehendes",
    "full",
    "filled",
    "pleine",
    "plein",
    "lleno",
    "llena",
    "pieno",
    "piena",
    "voll",
    "vol",
    "infiltration",
    "infiltración",
    "infiltrazione",
    "entrée",
    "entrada",
    "entró",
    "entrou",
];
const ARTICLES: &[&str] =
    &["the", "of", "some", "dem", "l", "d", "de", "el", "la", "di", "het", "a", "da", "with", "mit"];
/// What follows the water that gets in.
const GETS_IN: &[&str] = &[
    "ingress",
    "entered",
    "inside",
    "damage",
    "damaged",
    "got",
    "leaked",
    "eingedrungen",
    "standing",
    "stood",
    "dans",
    "found",
    "everywhere",
    "up",
    "drained",
    "leaking",
    "leaks",
    "dripping",
    "dripped",
    "eingetreten",
    "dentro",
    "présente",
    "presente",
];
/// What may stand between the water and the word that it got in.
const HAS: &[&str] = &["has", "have", "had", "is", "was", "ist", "visibly", "very", "still", "found", "est", "está"];
const WET: &[&str] = &[
    "wet",
    "damp",
    "soaking",
    "dripping",
    "nass",
    "feucht",
    "mojado",
    "mojada",
    "húmedo",
    "bagnato",
    "bagnata",
    "umido",
    "molhado",
    "mouillé",
    "humide",
    "nat",
    "vochtig",
    "nasse",
    "nasser",
    "feuchte",
    "feuchter",
    "húmeda",
    "humedo",
    "humeda",
    "umida",
    "molhada",
    "úmido",
    "úmida",
    "húmido",
    "mouillée",
    "natte",
    "vochtige",
];
/// What stands around them where a clause says nothing else: `got wet`, `nass geworden`.
const BECAME: &[&str] = &[
    "got",
    "is",
    "was",
    "became",
    "been",
    "a",
    "bit",
    "slightly",
    "still",
    "very",
    "quite",
    "geworden",
    "ist",
    "war",
    "leicht",
    "sehr",
    "noch",
    "etwas",
    "devenu",
    "devenue",
    "est",
    "était",
    "très",
    "un",
    "peu",
    "está",
    "estaba",
    "muy",
    "poco",
    "è",
    "era",
    "molto",
    "diventato",
    "diventata",
    "muito",
    "ficou",
    "erg",
    "zeer",
    "licht",
    "nog",
];
/// What is wet where the winding is.
const WINDINGS: &[&str] = &[
    "winding",
    "windings",
    "motor",
    "stator",
    "coil",
    "coils",
    "overhang",
    "klemmkasten",
    "bobinado",
    "bobinage",
    "avvolgimento",
    "enrolamento",
    "terminals",
    "box",
    "wicklung",
    "moteur",
    "motore",
    "machine",
];
/// After its water or flood, that there was none; also alone behind a comma.
const NONE: &[&str] = &["none", "no", "nil", "keine", "keines", "nein", "aucune", "ninguna", "nessuna"];
/// What follows water in the name of a thing, as it begins.
const THINGS: &[&str] = &[
    "pump", "cool", "intake", "treat", "works", "tank", "tower", "jacket", "supply", "plant", "house", "station",
    "line", "pipe", "side", "tight", "proof", "temp", "level", "meter", "system", "circuit", "box", "heater", "inlet",
    "outlet", "turbine",
];
/// What stands before the name of such a water.
const KINDS: &[&str] = &[
    "cooling",
    "feed",
    "raw",
    "drinking",
    "circulating",
    "chilled",
    "process",
    "waste",
    "service",
    "boiler",
    "refroidissement",
    "refrigeración",
    "raffreddamento",
    "potable",
];
const NO: &[&str] = &[
    "no", "not", "never", "without", "none", "isn", "wasn", "kein", "keine", "keinem", "nicht", "ohne", "nie", "pas",
    "sans", "jamais", "aucun", "aucune", "sin", "non", "senza", "não", "nao", "sem", "nunca", "geen", "niet",
];
/// What may stand between a no and its water.
const BETWEEN: &[&str] = &[
    "been", "sign", "signs", "trace", "traces", "evidence", "of", "any", "the", "a", "l", "d", "de", "yet", "was",
    "stood", "standing", "ever", "t", "found",
];

/// Words of a winding that failed, one after the other as they begin.
const FAILED_WINDINGS: &[&[&str]] = &[
    &["earth", "fault"],
    &["ground", "fault"],
    &["fault", "to", "earth"],
    &["fault", "to", "ground"],
    &["down", "to", "earth"],
    &["down", "to", "ground"],
    &["winding", "fail"],
    &["winding", "fault"],
    &["winding", "short"],
    &["insulation", "fail"],
    &["failed", "insulation"],
    &["burnt"],
    &["arced"],
    &["arcing"],
    &["burned", "out"],
    &["too", "wet"],
    &["condemned"],
    &["punctured"],
    &["breakdown"],
    &["would", "not", "hold"],
    &["verdict", "failed"],
    &["not", "build", "up"],
    &["removed", "for", "rewind"],
    &["in", "massa"],
    &["a", "terra"],
    &["derivado", "a", "tierra"],
    &["masse", "franche"],
    &["flashover"],
    &["flashed"],
    &["shorted"],
    &["erdschluss"],
    &["masseschluss"],
    &["körperschluss"],
    &["windungsschluss"],
    &["wicklungsschluss"],
    &["durchgebrannt"],
    &["verbrannt"],
    &["défaut", "de", "terre"],
    &["défaut", "à", "la", "terre"],
    &["défaut", "d", "isolement"],
    &["défaut", "de", "masse"],
    &["défaut", "masse"],
    &["défaut", "terre"],
    &["à", "la", "masse"],
    &["court", "circuit"],
    &["brûlé"],
    &["motor", "failed"],
    &["motor", "has", "failed"],
    &["winding", "has", "failed"],
    &["insulation", "fault"],
    &["isolation", "fault"],
    &["insulation", "breakdown"],
    &["earth", "leakage", "trip"],
    &["short", "circuit"],
    &["short", "to"],
    &["smoke"],
    &["smoking"],
    &["rcd"],
    &["trips", "on", "earth"],
    &["tripped", "on", "earth"],
    &["trips", "on", "start"],
    &["test", "invalid"],
    &["invalid"],
    &["test", "void"],
    &["wrong", "motor"],
    &["wrong", "machine"],
    &["not", "valid"],
    &["non", "valable"],
    &["ungültig"],
    &["nicht", "gültig"],
    &["no", "válid"],
    &["non", "valid"],
    &["isolationsfehler"],
    &["isolationsschaden"],
    &["kurzschluss"],
    &["schluss", "gegen"],
    &["cortocircuito"],
    &["fuga", "a", "tierra"],
    &["fuga", "à", "terra"],
    &["fuga", "a", "terra"],
    &["dispersione", "a", "terra"],
    &["kortsluiting"],
    &["blew", "up"],
    &["blown", "up"],
    &["dead", "to"],
    &["dead", "short"],
    &["insulation", "gone"],
    &["insulation", "dead"],
    &["scrap"],
    &["withdrawn"],
    &["broke", "down"],
    &["sparking"],
    &["tracking"],
    &["meter", "faulty"],
    &["tester", "faulty"],
    &["megs", "zero"],
    &["reads", "zero"],
    &["zero", "to", "earth"],
    &["zero", "to", "ground"],
    &["durchgeschlagen"],
    &["durchschlag"],
    &["abgebrannt"],
    &["ausgefallen"],
    &["ausgesondert"],
    &["unbrauchbar"],
    &["iso", "schlecht"],
    &["isolation", "schlecht"],
    &["isolation", "am", "ende"],
    &["wicklung", "hin"],
    &["wicklung", "defekt"],
    &["raucht"],
    &["claqu"],
    &["refusé"],
    &["rebuté"],
    &["amorçage"],
    &["isolement", "mort"],
    &["fallo", "a", "tierra"],
    &["derivad", "a", "masa"],
    &["en", "corto"],
    &["averiad"],
    &["perforad"],
    &["no", "vale"],
    &["salt", "el", "diferencial"],
    &["corto", "circuito"],
    &["in", "corto"],
    &["perforat"],
    &["curto", "circuito"],
    &["em", "curto"],
    &["avariad"],
    &["disparou"],
    &["doorslag"],
    &["doorgeslagen"],
    &["doorgebrand"],
    &["sluiting"],
    &["wikkelsluiting"],
    &["ligt", "aan", "aarde"],
    &["ligt", "aan", "massa"],
    &["dispersione", "verso"],
    &["rookt"],
    &["ongeldig"],
    &["ondergelopen"],
    &["grillé"],
    &["falla", "a", "tierra"],
    &["quemado"],
    &["guasto", "a", "terra"],
    &["bruciato"],
    &["falha", "à", "terra"],
    &["queimado"],
    &["aardfout"],
    &["aardsluiting"],
    &["verbrand"],
];
/// Notes, cells of a state and verdicts that say nothing else than that it failed; the dots of `n.i.O.` and blanks are left out.
const FAILED: &[&str] = &[
    "cancelled",
    "canceled",
    "cancel",
    "deleted",
    "voided",
    "storniert",
    "storno",
    "annulé",
    "annulée",
    "anulado",
    "anulada",
    "annullato",
    "annullata",
    "geannuleerd",
    "vervallen",
    "estornado",
    "failed",
    "fail",
    "fails",
    "failing",
    "failure",
    "void",
    "tripped",
    "tripping",
    "us",
    "kaput",
    "grounded",
    "kapot",
    "defect",
    "storing",
    "guasto",
    "danificado",
    "dañado",
    "derivado",
    "atierra",
    "defectueux",
    "deadearth",
    "testfailed",
    "irfailed",
    "faulty",
    "defective",
    "reject",
    "rejected",
    "notaccepted",
    "notacceptable",
    "unacceptable",
    "notok",
    "nok",
    "nook",
    "nonok",
    "ko",
    "notgood",
    "nogood",
    "ng",
    "notpassed",
    "didnotpass",
    "unsatisfactory",
    "notsatisfactory",
    "unsat",
    "bad",
    "condemn",
    "nogo",
    "unfit",
    "hs",
    "horsservice",
    "défectueux",
    "nonconforme",
    "mauvais",
    "defekt",
    "kaputt",
    "nio",
    "nichtio",
    "nichtok",
    "nichtinordnung",
    "nichtbestanden",
    "durchgefallen",
    "mangelhaft",
    "ungenügend",
    "schlecht",
    "defecto",
    "defectuoso",
    "noconforme",
    "noapto",
    "malo",
    "rechazado",
    "reprobado",
    "difettoso",
    "negativo",
    "respinto",
    "scarto",
    "nonidoneo",
    "cattivo",
    "nãook",
    "nãoconforme",
    "defeituoso",
    "reprovado",
    "rejeitado",
    "ruim",
    "nietok",
    "nietgoed",
    "afgekeurd",
    "onvoldoende",
    "slecht",
];

/// Whether a text says that a test failed, and nothing else: `FAIL`, `n.i.O.`, `NON OK`.
///
/// # Examples
///
/// ```
/// use groundwall::record::says_failed;
/// assert!(says_failed("n.i.O.") && says_failed("NOT OK"));
/// assert!(!says_failed("OK") && !says_failed("failed bearing"));
/// ```
#[must_use]
pub fn says_failed(text: &str) -> bool {
    const LONGEST: usize = 40;
    if text.len() > LONGEST {
        return false;
    }
    let letters = |c: &char| !matches!(c, ' ' | '.' | '!' | '-' | '/' | '\u{a0}');
    let bare: String = text.to_lowercase().chars().filter(letters).collect();
    FAILED.contains(&bare.as_str())
}

/// Whether a note of a test says that the winding failed; what it mentions two years before the test and more is history.
pub(crate) fn tells_of_a_failed_winding(note: &str, year_of_test: i32) -> bool {
    let has_failed = |clause: &str| {
        let words: Vec<&str> = clause.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let is_said = |at: usize, said: &[&str]| {
            said.len() <= words.len() - at && said.iter().zip(&words[at..]).all(|(own, word)| word.starts_with(own))
        };
        // What follows a denial is denied.
        let denied = words.iter().position(|word| NO.contains(word)).map_or(words.len(), |at| at + 1);
        (0..denied).any(|at| FAILED_WINDINGS.iter().any(|said| is_said(at, said)))
    };
    note.split(';').any(says_failed) || any_clause(note, year_of_test, &has_failed)
}

/// Whether a note of a test says that a winding was in water, or water in it; what it mentions two years before the test and more is history.
pub(crate) fn tells_of_water(note: &str, year_of_test: i32) -> bool {
    any_clause(note, year_of_test, &in_clause)
}

/// Whether a clause of a note passes a test, is not denied by the next one, and mentions no earlier years.
fn any_clause(note: &str, year_of_test: i32, test: &dyn Fn(&str) -> bool) -> bool {
    let lower = note.to_lowercase();
    let clauses: Vec<&str> = lower.split(['.', ';', ',', '!', '?', '\n', '(', ')']).collect();
    let is_denied = |at: usize| clauses.get(at + 1).is_some_and(|next| NONE.contains(&next.trim()));
    let is_history = |clause: &str| {
        let numbers = clause.split(|c: char| !c.is_alphanumeric()).filter_map(|word| word.parse::<i32>().ok());
        let years: Vec<i32> = numbers.filter(|number| (1900..=2199).contains(number)).collect();
        !years.is_empty() && years.iter().all(|year| *year < year_of_test.saturating_sub(1))
    };
    (0..clauses.len()).any(|at| test(clauses[at]) && !is_denied(at) && !is_history(clauses[at]))
}

/// Whether a text mentions water or a failure: that may be why a test gave no reading.
///
/// # Examples
///
/// ```
/// use groundwall::record::tells_of_trouble;
/// assert!(tells_of_trouble("could not test, earth fault") && tells_of_trouble("motor under water"));
/// assert!(tells_of_trouble("motor verbrand 2-11-2026"));
/// assert!(!tells_of_trouble("motor running"));
/// ```
#[must_use]
pub fn tells_of_trouble(text: &str) -> bool {
    names_earth_fault(text)
        || tells_of_a_failure(text)
        || tells_of_a_failed_winding(text, i32::MIN)
        || tells_of_water(text, i32::MIN)
}

/// Whether a text has the short form for an earth fault, `E/F`.
fn names_earth_fault(text: &str) -> bool {
    let is_gap = |c: char| !(c.is_alphanumeric() || c == '/');
    text.split(is_gap).any(|word| word.eq_ignore_ascii_case("e/f"))
}

/// Words before a number that is a reading, though no unit follows it: `now only 0.4`.
const NOW: &[&str] = &[
    "only",
    "now",
    "just",
    "dropped",
    "drops",
    "fell",
    "falls",
    "fallen",
    "sank",
    "down",
    "reads",
    "reading",
    "nur",
    "jetzt",
    "gefallen",
    "seulement",
    "maintenant",
    "tombé",
    "solo",
    "sólo",
    "ahora",
    "cayó",
    "bajó",
    "adesso",
    "sceso",
    "só",
    "apenas",
    "agora",
    "caiu",
    "slechts",
    "nu",
    "gezakt",
];
/// A test made again.
const AGAIN: &[&str] = &["then", "recheck", "rechecked", "retest", "retested", "repeat"];
/// What may come between such a word and its number.
const TO: &[&str] = &["to", "at", "about", "approx", "noch", "auf", "ca", "à", "a", "para", "naar", "op"];

/// What may follow such a number in place of a unit.
const AFTER: &[&str] = &[
    "after", "since", "today", "this", "from", "instead", "when", "nach", "seit", "heute", "après", "depuis", "tras",
    "hoy", "dopo", "oggi", "após", "hoje", "na", "sinds",
];

/// The lowest resistance that a text names with its unit, other than what is required and what was read before. A number without a unit
/// counts in megohms where the words before it say that it was read.
///
/// # Examples
///
/// ```
/// use groundwall::record::lowest_resistance;
/// let now = lowest_resistance("350 kΩ after rain, 2 MΩ dry");
/// assert_eq!(now.map(|found| found.as_megohms()), Some(0.35));
/// assert_eq!(lowest_resistance("reads 0.4 after wash down").map(|found| found.as_megohms()), Some(0.4));
/// assert_eq!(lowest_resistance("T3-E 500k").map(|found| found.as_megohms()), Some(0.5));
/// assert_eq!(lowest_resistance("0.5 on recheck").map(|found| found.as_megohms()), Some(0.5));
/// assert_eq!(lowest_resistance("limit 1 MΩ"), None);
/// assert_eq!(lowest_resistance("only 2 phases"), None);
/// ```
#[must_use]
pub fn lowest_resistance(text: &str) -> Option<Resistance> {
    const OTHERS: [&str; 12] = [
        "min",
        "minimum",
        "limit",
        "required",
        "spec",
        "target",
        "was",
        "before",
        "last",
        "previous",
        "grenzwert",
        "mind",
    ];
    let lower = text.to_lowercase();
    if lower.split(|c: char| !c.is_alphanumeric()).any(|word| OTHERS.contains(&word)) {
        return None;
    }
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let (mut lowest, mut rest) = (None::<Resistance>, text);
    while let Some(start) = rest.find(|c: char| c.is_ascii_digit()) {
        let from = &rest[start..];
        let end = from.find(|c: char| !is_number(c)).unwrap_or(from.len());
        let after = from[end..].trim_start();
        let unit: String = after.chars().take_while(|c| c.is_alphabetic()).collect();
        let before = last_words(&text[..text.len() - from.len()]);
        let said = before.iter().rev().find(|word| !TO.contains(&word.as_str()));
        let is_decimal = from[..end].trim_end_matches(['.', ',']).contains(['.', ',']);
        // `L3 0.5`, `T3-E 500k`, `0.5 on recheck`, `0.5 M next day`
        let is_of_a_phase = match &before[..] {
            [.., lead, earth] if matches!(earth.as_str(), "e" | "pe") => is_lead(lead),
            [.., lead] => is_lead(lead),
            [] => false,
        };
        let is_again = |word: &str| AGAIN.contains(&word.to_lowercase().as_str());
        let is_made_again = is_decimal
            && (said.is_some_and(|word| is_again(word))
                || after.strip_prefix("on ").is_some_and(|rest| rest.split_whitespace().next().is_some_and(is_again)));
        // `1.5 M cable` is a length.
        let after_mega = after.strip_prefix('M').map(str::trim_start);
        let is_mega = is_decimal
            && after_mega.is_some_and(|rest| {
                let next = rest.split_whitespace().next().unwrap_or_default().to_lowercase();
                rest.is_empty()
                    || rest.starts_with([',', ';', '.', '!', ')'])
                    || matches!(next.as_str(), "next" | "today" | "after" | "when")
            });
        let is_read = is_made_again
            || is_mega
            || (is_of_a_phase && (is_decimal || unit.eq_ignore_ascii_case("k")))
            || said.is_some_and(|word| NOW.contains(&word.as_str()));
        let is_bare =
            after.is_empty() || after.starts_with([',', ';', '.', '!', ')']) || AFTER.contains(&&*unit.to_lowercase());
        let unit = match unit.chars().count() {
            _ if is_read && (is_bare || is_made_again) => Some(ResistanceUnit::Megohm),
            0 => None,
            1 if !is_read => None,
            _ => ResistanceUnit::read(&unit),
        };
        let number = from[..end].trim_end_matches(['.', ',']).replace(',', ".").parse().ok();
        let found = number.zip(unit).and_then(|(number, unit)| Resistance::from_megohms(unit.to_megohms(number)).ok());
        lowest = match (lowest, found) {
            (Some(one), Some(other)) if one.as_megohms() <= other.as_megohms() => Some(one),
            (one, other) => other.or(one),
        };
        rest = &from[end..];
    }
    lowest
}

/// Whether a word, in small letters, is the lead of a phase: `L3`, `T3`.
fn is_lead(word: &str) -> bool {
    matches!(word, "l1" | "l2" | "l3" | "t1" | "t2" | "t3" | "u1" | "v1" | "w1")
}

/// The words at the end of a text, in small letters.
fn last_words(text: &str) -> Vec<String> {
    const LOOKED_AT: usize = 40;
    let tail = &text[text.floor_char_boundary(text.len().saturating_sub(LOOKED_AT))..];
    let words = tail.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}

fn in_clause(clause: &str) -> bool {
    let words: Vec<&str> = clause.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    // A full tank is where water belongs.
    let is_place = |word: &&str| PLACES.iter().any(|place| word.starts_with(place));
    let is_elsewhere = words.iter().any(is_place) && !words.iter().any(|word| WINDINGS.contains(word));
    if is_elsewhere && !(0..words.len()).any(|at| is_flood(&words, at)) {
        return false;
    }
    let is_denied = |at: usize| {
        let mut before = words[..at].iter().rev();
        before.find(|word| !BETWEEN.contains(word) && !IN.contains(word)).is_some_and(|word| NO.contains(word))
    };
    if words.last().is_some_and(|word| NONE.contains(word)) {
        return false;
    }
    let is_wet_alone = words.iter().any(|word| WET.contains(word))
        && words.iter().all(|word| WET.contains(word) || BECAME.contains(word));
    is_wet_alone
        || (0..words.len())
            .any(|at| (is_flood(&words, at) || is_in_water(&words, at) || is_wet_winding(&words, at)) && !is_denied(at))
}

fn is_flood(words: &[&str], at: usize) -> bool {
    let is_named = FLOODS.iter().any(|stem| words[at].starts_with(stem)) && !DRY_WORDS.contains(&words[at]);
    let begins = |word: &&str, things: &[&str]| things.iter().any(|thing| word.starts_with(thing));
    // A flood light, a flood gate, an immersion heater; a submerged pump in other languages; soaked in varnish.
    let names_a_thing = words.get(at + 1).is_some_and(|next| begins(next, FLOOD_THINGS))
        || words[at].contains("pumpe")
        || words[at].contains("schutz")
        || at.checked_sub(1).is_some_and(|before| ["bomba", "pompe", "pompa", "oil"].contains(&words[before]))
        || (words.get(at + 1) == Some(&"in") && words.get(at + 2).is_some_and(|what| begins(what, DRY_LIQUIDS)));
    is_named && !names_a_thing
}

/// Whether a text names water at all.
pub(crate) fn names_water(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric());
    words.any(|word| WATER.contains(&word) || RAIN.contains(&word) || FLOODS.iter().any(|stem| word.starts_with(stem)))
}

/// Whether a word says that something is wet.
pub(crate) fn says_wet(text: &str) -> bool {
    let lower = text.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).any(|word| WET.contains(&word) || word.starts_with("dry"))
}

/// Whether a clause says that the winding is wet.
fn is_wet_winding(words: &[&str], at: usize) -> bool {
    let before = words[..at].iter().rev().find(|word| !HAS.contains(word));
    WET.contains(&words[at]) && before.is_some_and(|word| WINDINGS.contains(word))
}

/// Whether a clause says that something is in water, or that water got in.
fn is_in_water(words: &[&str], at: usize) -> bool {
    let next = words[at + 1..].iter().find(|word| !HAS.contains(word));
    if RAIN.contains(&words[at]) {
        return next.is_some_and(|next| RAIN_GETS_IN.contains(next));
    }
    if !WATER.contains(&words[at]) {
        return false;
    }
    let before = words[..at].iter().rev().find(|word| !ARTICLES.contains(word));
    if next.is_some_and(|next| THINGS.iter().any(|thing| next.starts_with(thing)))
        || before.is_some_and(|word| KINDS.contains(word))
    {
        return false;
    }
    let stands_in = before.is_some_and(|word| IN.contains(word));
    let got_in = next.is_some_and(|next| GETS_IN.contains(next));
    // Water in the motor, on its winding, but not water in, at 25 °C, nor in the tank.
    let is_in_something = next
        .is_some_and(|next| matches!(*next, "in" | "on" | "im" | "en" | "no" | "nel" | "nella" | "auf"))
        && words[at + 2..].iter().find(|word| !ARTICLES.contains(word)).is_some_and(|what| {
            what.starts_with(char::is_alphabetic)
                && !matches!(*what, "and" | "out" | "at" | "temp" | "order")
                && !PLACES.iter().any(|place| what.starts_with(place))
        });
    stands_in || got_in || is_in_something
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_of_a_winding_in_water_are_told_from_others() {
        for note in [
            "motor stood in water",
            "Flooded in June",
            "was under water for two days",
            "water in terminal box",
            "pit full of water",
            "water ingress at gland",
            "No heater, motor stood in water",
            "not dried after flooding",
            "soaked by fire hose",
            "Motor stand im Wasser",
            "Motor unter Wasser",
            "Hochwasser im Keller",
            "Wasser eingedrungen",
            "moteur inondé",
            "moteur resté sous l'eau",
            "de l'eau dans la boîte",
            "motor inundado",
            "motor bajo el agua",
            "motore allagato",
            "motore sott'acqua",
            "agua en la caja",
            "motor alagado",
            "motor debaixo de água",
            "motor onder water gestaan",
            "kelder overstroomd",
            "not started; flooded",
            "water found in slots",
            "Motor vollgelaufen",
            "Wassereintritt am Klemmenkasten",
            "Wasser eingetreten",
            "Wicklung nass",
            "water has entered motor",
            "seawater ingress",
            "water up to terminal box",
            "filled with water",
            "winding is wet",
            "entrée d'eau",
            "entró agua",
            "entrou água",
            "motor mojado",
            "motore bagnato",
            "water leaking into terminal box",
            "rain got in",
            "water on end winding",
            "water on the floor of the terminal box",
            "condensation in terminal box",
            "winding damp",
            "got wet",
            "nass geworden",
            "umido",
            "mojado",
            "très humide",
            "nat geworden",
            "molhado",
            "moisture in slots",
            "flooded in 2025",
            "boîte à bornes pleine d'eau",
            "Klemmkasten nass",
            "bobinado húmedo",
            "winding visibly wet",
            "TB full of H2O",
        ] {
            assert!(tells_of_water(note, 2026), "{note}");
        }
        for note in [
            "Hochwasserpumpe 2",
            "Hochwasserschutz fertig",
            "flood protection installed",
            "flood relief pump",
            "bomba sumergida",
            "pompe immergée",
            "checked for water ingress, none",
            "water ingress: none",
            "water ingress no",
            "winding soaked in varnish",
            "oil immersed cable",
            "winding not wet",
            "wet day",
            "water pump",
            "cooling water ok",
            "watertight",
            "no water found",
            "not flooded",
            "never been under water",
            "kein Wasser gefunden",
            "floodlight repaired",
            "flood light repaired",
            "in water pump house",
            "cooling water in 22 °C",
            "water in 22, out 30",
            "water temperature 25",
            "no sign of flooding",
            "pas d'eau dans la boîte",
            "submersible pump",
            "rain overnight",
            "waterproof gland",
            "pompe à eau",
            "sin agua en la caja",
            "water-cooled",
            "immersion heater on",
            "tested in water treatment plant",
            "flooded in 2019, rewound 2020",
            "water in tank low",
            "water on order",
            "rain in the morning",
            "no condensation",
            "anti-condensation heater on",
            "moisture content 3 %",
            "damp day",
            "tank full of water",
        ] {
            assert!(!tells_of_water(note, 2026), "{note}");
        }
    }
}
