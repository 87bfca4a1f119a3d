//! Columns of verdicts, such as `Result`, `Ergebnis` or `Pass?`: what says there that a test failed becomes a note of the test, and nothing
//! else of them is read.

use groundwall::record::{lowest_resistance, says_failed, tells_of_trouble};

/// Words of headers above verdicts.
const VERDICTS: [&str; 65] = [
    "result",
    "results",
    "verdict",
    "outcome",
    "rag",
    "status",
    "pass",
    "passed",
    "ok",
    "okay",
    "accept",
    "accepted",
    "acceptable",
    "acceptance",
    "satisfactory",
    "judgement",
    "judgment",
    "assessment",
    "evaluation",
    "condition",
    "grade",
    "rating",
    "valid",
    "validity",
    "usable",
    "fit",
    "ergebnis",
    "prüfergebnis",
    "befund",
    "bewertung",
    "beurteilung",
    "ampel",
    "bestanden",
    "zustand",
    "gültig",
    "ordnung",
    "urteil",
    "résultat",
    "avis",
    "conforme",
    "conformité",
    "état",
    "bon",
    "valide",
    "valable",
    "verdetto",
    "esito",
    "giudizio",
    "risultato",
    "stato",
    "idoneo",
    "valido",
    "resultado",
    "veredicto",
    "dictamen",
    "apto",
    "estado",
    "válido",
    "situação",
    "aprovado",
    "resultaat",
    "uitslag",
    "beoordeling",
    "geldig",
    "goedgekeurd",
];
/// What says below them that it failed; elsewhere it may say anything.
const DENIED: &[&str] = &[
    "✗",
    "✘",
    "✕",
    "nc",
    "mal",
    "malo",
    "fout",
    "scarso",
    "poor",
    "suspect",
    "abnormal",
    "alarm",
    "unsafe",
    "unserviceable",
    "do not use",
    "retest required",
    "retest",
    "à revoir",
    "revoir",
    "nicht best",
    "niet akk",
    "r",
    "no",
    "n",
    "f",
    "false",
    "0",
    "invalid",
    "void",
    "not valid",
    "red",
    "nein",
    "falsch",
    "ungültig",
    "rot",
    "non",
    "faux",
    "rouge",
    "rojo",
    "falso",
    "rosso",
    "não",
    "nao",
    "vermelho",
    "nee",
    "onwaar",
    "rood",
];

/// Whether a header is one of verdicts.
pub(super) fn heads_verdicts(header: &str) -> bool {
    let lower = header.to_lowercase();
    matches!(lower.trim(), "p/f" | "pass/fail" | "p / f" | "ok?" | "o/n" | "s/n?")
        || heads_failures(header)
        || lower.split(|c: char| !c.is_alphanumeric()).any(|word| VERDICTS.contains(&word))
}

/// Beginnings of the words of headers that name a failure, of which a cell says whether there was one.
const FAILURES: [&str; 42] = [
    "cancel",
    "storn",
    "annul",
    "anulad",
    "geannul",
    "estorn",
    "deleted",
    "voided",
    "fault",
    "fail",
    "defect",
    "tripped",
    "trip",
    "scrap",
    "condemn",
    "reject",
    "burnt",
    "flooded",
    "aardfout",
    "fout",
    "defekt",
    "fehler",
    "erdschluss",
    "ausgefallen",
    "gestört",
    "défaut",
    "défect",
    "panne",
    "rebut",
    "fallo",
    "averi",
    "defecto",
    "rechaz",
    "guast",
    "difett",
    "scart",
    "falha",
    "avari",
    "reprov",
    "kapot",
    "afgekeurd",
    "storing",
];
/// Headers that name water or a void test, of which a cell says whether it was so.
const TROUBLES: &[&str] = &[
    "wet",
    "damp",
    "was it wet",
    "under water",
    "underwater",
    "submerged",
    "water in box",
    "water ingress",
    "water inside",
    "water",
    "inondé",
    "mouillé",
    "humide",
    "allagato",
    "bagnato",
    "inundado",
    "mojado",
    "molhado",
    "überflutet",
    "nass",
    "feucht",
    "overstroomd",
    "nat",
    "smoke",
    "void",
    "disregard",
    "superseded",
    "bad test",
    "invalid",
    "do not use",
];
/// What says below them that there was one.
const AFFIRMED: [&str; 18] =
    ["yes", "y", "x", "1", "true", "ja", "j", "oui", "o", "sí", "si", "sì", "s", "sim", "wahr", "vrai", "✓", "✔"];

/// A text with fewer words names something.
const LEAST_WORDS: usize = 4;

/// Whether a text that is no cell of a test is a note of trouble or of another reading, as below a table, and no name.
pub(super) fn is_note_of_trouble(text: &str) -> bool {
    let is_long = text.split_whitespace().count() >= LEAST_WORDS;
    is_long && (tells_of_trouble(text) || lowest_resistance(text).is_some())
}

/// Whether a header names a failure, so that `yes` below it is one.
pub(super) fn heads_failures(header: &str) -> bool {
    let lower = header.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_named = words.iter().any(|word| FAILURES.iter().any(|stem| word.starts_with(stem)));
    let whole = words.join(" ");
    is_named || lower.contains("out of service") || TROUBLES.contains(&whole.as_str())
}

/// Whether a cell below a header says that the test failed.
pub(super) fn is_failure_under(header: &str, cell: &str) -> bool {
    if heads_failures(header) {
        return is_failure_named(cell);
    }
    is_failure(cell)
}

/// Whether a cell below a header that names a failure says that there was one.
fn is_failure_named(cell: &str) -> bool {
    let cell = cell.trim();
    AFFIRMED.contains(&cell.to_lowercase().trim_end_matches(['.', '!'])) || says_failed(cell) || tells_of_trouble(cell)
}

/// Whether a cell below such a header says that the test failed.
fn is_failure(cell: &str) -> bool {
    let cell = cell.trim();
    !cell.is_empty()
        && (says_failed(cell)
            || tells_of_trouble(cell)
            || DENIED.contains(&cell.to_lowercase().trim_end_matches(['.', '!'])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdicts_that_deny_are_told_from_others() {
        for header in ["Pass?", "Ergebnis", "Esito prova", "In Ordnung?", "RAG", "Résultat", "Result"] {
            assert!(heads_verdicts(header), "{header}");
        }
        for header in ["Motor", "Location", "Passage", "Tested by"] {
            assert!(!heads_verdicts(header), "{header}");
        }
        for cell in [
            "FAIL",
            "n.i.O.",
            "NON OK",
            "No",
            "N",
            "red",
            "Nicht bestanden",
            "failed, earth fault",
            "KO",
            "non conforme",
        ] {
            assert!(is_failure(cell), "{cell}");
        }
        for (header, cell) in
            [("Earth fault", "x"), ("Failed", "1"), ("Defective", "yes"), ("Aardfout", "ja"), ("Pass?", "no")]
        {
            assert!(heads_verdicts(header) && is_failure_under(header, cell), "{header} {cell}");
        }
        for (header, cell) in [("Earth fault", "no"), ("Failed", "0"), ("Fault", "none"), ("Pass?", "yes")] {
            assert!(!is_failure_under(header, cell), "{header} {cell}");
        }
        for cell in ["OK", "i.O.", "Pass", "Yes", "green", "amber", "", "conforme", "good", "fair"] {
            assert!(!is_failure(cell), "{cell}");
        }
    }
}
