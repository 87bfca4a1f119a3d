//! The year of a sheet whose columns or rows name months and quarters alone, and the date of one whose tests have none: what its
//! titles and its name say of it, and whether that is certain.

use super::cells::is_point;
use super::label;
use super::label_reader::LabelReader;
use super::titles::TITLE_WORDS;
use crate::error::{Failure, shown};
use crate::ingest::date_forms::DateForms;
use crate::ingest::dates::Period;

/// A date, a month, a quarter or a year that a title names.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Titled {
    pub(super) date: String,
    /// The title.
    pub(super) text: String,
    /// Whether the title says nothing else, or nothing that the year may be of.
    pub(super) is_certain: bool,
}

/// Words beside dates that are those of papers, machines and rules.
const OF_PAPERS: &[&str] = &[
    "prepared",
    "saved",
    "updated",
    "bearings",
    "bearing",
    "greased",
    "lubricated",
    "purchased",
    "delivered",
    "previous",
    "overhauled",
    "rewound",
    "serviced",
    "inspected",
    "kalibriert",
    "erstellt",
    "installiert",
    "geschmiert",
    "étalonné",
    "installé",
    "graissé",
    "calibrado",
    "instalado",
    "engrasado",
    "impreso",
    "stampato",
    "tarato",
    "installato",
    "impresso",
    "geprint",
    "gekalibreerd",
    "geïnstalleerd",
    "form",
    "forms",
    "rev",
    "revision",
    "revised",
    "issue",
    "issued",
    "edition",
    "version",
    "template",
    "printed",
    "print",
    "valid",
    "approved",
    "standard",
    "iec",
    "ieee",
    "iso",
    "din",
    "vde",
    "norm",
    "norme",
    "norma",
    "built",
    "manufactured",
    "manufacture",
    "construction",
    "installed",
    "commissioned",
    "since",
    "copyright",
    "©",
    "calibrated",
    "calibration",
    "due",
    "next",
    "ausgabe",
    "stand",
    "baujahr",
    "formular",
    "formblatt",
    "gedruckt",
    "gültig",
    "formulaire",
    "édition",
    "révision",
    "imprimé",
    "construit",
    "edición",
    "emisión",
    "versión",
    "formulario",
    "edizione",
    "emissione",
    "modulo",
    "edição",
    "uitgave",
    "bouwjaar",
];
/// Words beside years of tests, other than [`TITLE_WORDS`].
const OF_TESTS: &[&str] = &[
    "registro",
    "register",
    "log",
    "list",
    "liste",
    "lista",
    "lijst",
    "record",
    "records",
    "valori",
    "werte",
    "valeurs",
    "valores",
    "waarden",
    "insulation",
    "resistance",
    "year",
    "jahr",
    "année",
    "año",
    "anno",
    "ano",
    "jaar",
    "motor",
    "motors",
    "motoren",
    "moteurs",
    "motores",
    "motori",
    "winding",
    "windings",
    "ir",
    "measurement",
    "measurements",
    "measured",
    "survey",
    "round",
    "rounds",
    "monthly",
    "yearly",
    "half",
    "first",
    "second",
    "quarter",
    "of",
    "for",
    "in",
    "the",
    "all",
    "and",
    "de",
    "des",
    "der",
    "di",
    "messungen",
    "isolationsmessungen",
    "isolationswiderstand",
    "isolation",
    "messwerte",
    "mesures",
    "isolement",
    "mediciones",
    "medición",
    "aislamiento",
    "misure",
    "isolamento",
    "metingen",
    "isolatiemetingen",
    "medições",
    "readings",
    "mω",
    "mohm",
];

/// The date that a title names; none beside a word for a form, an issue, a standard, or the building of a machine.
pub(super) fn of_title(title: &str, reader: &LabelReader<'_>) -> Option<Titled> {
    let title = title.trim();
    if label::is_date(title) {
        return Some(Titled { date: title.to_owned(), text: title.to_owned(), is_certain: true });
    }
    let is_end = |c: char| matches!(c, ',' | ';' | '(' | ')' | '[' | ']' | '|');
    let mut found: Vec<String> = Vec::new();
    let mut others: Vec<String> = Vec::new();
    for part in title.replace('_', " ").replace(" - ", " ; ").replace(" – ", " ; ").split(is_end) {
        let trimmed = part.split_whitespace().map(|word| word.trim_matches(|c: char| !c.is_alphanumeric() && c != '©'));
        let mut words: Vec<&str> = trimmed.filter(|word| !word.is_empty()).collect();
        let is_of_papers = words.iter().any(|word| OF_PAPERS.contains(&word.to_lowercase().as_str()));
        // `janeiro de 2026`
        words.retain(|word| !matches!(word.to_lowercase().as_str(), "de" | "del" | "di" | "do" | "of"));
        let mut at = 0;
        while at < words.len() {
            let phrase = (1..=3.min(words.len() - at)).rev().map(|length| (length, words[at..at + length].join(" ")));
            let mut dates =
                phrase.filter(|(_, text)| text.contains(|c: char| c.is_ascii_digit()) && label::is_date(text));
            match dates.next() {
                Some((length, date)) => {
                    found.extend((!is_of_papers).then_some(date));
                    at += length;
                }
                None => {
                    others.push(words[at].to_lowercase());
                    at += 1;
                }
            }
        }
    }
    let is_year = |date: &str| matches!(Period::read(date), Some(Period::Year(_)));
    let is_of_tests = |word: &String| {
        let is_paper = OF_PAPERS.contains(&word.as_str())
            || matches!(word.as_str(), "page" | "date" | "site" | "plant" | "department");
        !is_paper
            && (TITLE_WORDS.contains(&word.as_str()) || OF_TESTS.contains(&word.as_str()) || is_point(word, reader))
    };
    let date = found.first()?.clone();
    let is_one = found.iter().all(|other| *other == date);
    let is_certain = is_one && (!is_year(&date) || others.iter().all(is_of_tests));
    Some(Titled { date, text: title.to_owned(), is_certain })
}

/// What titles and the name of the sheet say together.
#[derive(Clone, Debug, Default)]
pub(super) struct Said {
    /// The most exact date.
    pub(super) date: Option<String>,
    /// Its year.
    pub(super) year: Option<String>,
    /// The question about it, where it is not certain.
    pub(super) question: Option<Failure>,
}

/// Weighs what is said: a date in a cell of its own or beside its name, `Date: 2026-04-03`, which `explicit` is; titles; the name of the
/// sheet.
pub(super) fn said(
    place: &str,
    explicit: Option<String>,
    titles: &[Titled],
    sheet: Option<(&str, String)>,
    forms: &DateForms,
) -> Said {
    let year_of = |date: &str| -> Option<String> {
        let written = || date.split(|c: char| !c.is_ascii_digit()).find(|part| part.len() == 4).map(str::to_owned);
        forms.read(date).and_then(|dated| dated.iso.get(..4).map(str::to_owned)).or_else(written)
    };
    let is_own = |title: &Titled| title.is_certain && (title.date == title.text || title.text.contains([':', '=']));
    let is_explicit = explicit.is_some() || titles.iter().any(is_own);
    let titles = titles.iter().filter(|title| title.is_certain || !is_explicit);
    // What it is, in words, the date, and whether it is certain.
    let mut all: Vec<(String, String, bool)> = Vec::new();
    let of_sheet = sheet.map(|(name, date)| (format!("the name of the sheet, {},", shown(name)), date, true));
    // A name that is a year goes first.
    let (first, last) = match of_sheet {
        Some(sheet) if sheet.1.len() == 4 => (Some(sheet), None),
        other => (None, other),
    };
    all.extend(first);
    all.extend(explicit.map(|date| (shown(&date), date, true)));
    all.extend(titles.map(|title| (shown(&title.text), title.date.clone(), title.is_certain)));
    all.extend(last);
    let dated: Vec<(&(String, String, bool), String)> =
        all.iter().filter_map(|one| Some((one, year_of(&one.1)?))).collect();
    let Some((first, year)) = dated.first() else {
        return Said { date: all.into_iter().next().map(|(_, date, _)| date), ..Said::default() };
    };
    let which = "in which year were the tests made?";
    let how = |year: &str| {
        format!(
            "write the year alone into a cell above the table, such as {year}, or into each header, such as Q1 {year}"
        )
    };
    let differs = dated.iter().find(|(_, other)| other != year);
    let question = if let Some((other, of_other)) = differs {
        let (one, other) = (&first.0, &other.0);
        let message = format!("{place}: {one} says {year} and {other} says {of_other}: {which}");
        Some(
            Failure::usage(message)
                .hint("correct the one that is wrong, in the title or in the name of the sheet, or take it out"),
        )
    } else if dated.iter().all(|((_, _, is_certain), _)| !is_certain) {
        let message = format!(
            "{place}: {} is the only text that names a year, which may be that of something else: {which}",
            first.0
        );
        Some(Failure::usage(message).hint(how(year)))
    } else {
        None
    };
    let is_bare = |date: &str| date.len() == 4;
    let exact = dated.iter().map(|((_, date, _), _)| date).find(|date| !is_bare(date)).unwrap_or(&first.1);
    Said { date: Some(exact.clone()), year: Some(year.clone()), question }
}

/// The question about a period without a year.
pub(super) fn without_year(place: &str, period: &str) -> Failure {
    let message = format!("{place}: {} is a part of a year, and nothing says of which", shown(period.trim()));
    Failure::usage(message).hint(
        "write the year alone into a cell above the table, such as 2024, or into each header, such as Q1 2024; the year of a form, an issue or \
         a standard is not taken",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::mapping::Mapping;

    #[test]
    fn titles_name_years_of_tests_and_of_other_things() {
        let mapping = Mapping::default();
        let reader = LabelReader::new(&mapping, 1 << 20);
        let found = |title: &str| of_title(title, &reader).map(|titled| (titled.date, titled.is_certain));
        let certain = |date: &str| Some((date.to_owned(), true));
        let open = |date: &str| Some((date.to_owned(), false));
        for title in ["2024", "Insulation readings 2024", "Motor insulation tests, 2024", "IR (MΩ) 2024"] {
            assert_eq!(found(title), certain("2024"), "{title}");
        }
        assert_eq!(found("Boiler house, 12 May 2024"), certain("12 May 2024"));
        assert_eq!(found("Pumps Q1 2024"), certain("Q1 2024"));
        assert_eq!(found("Pedreira - medições, janeiro de 2026"), certain("janeiro 2026"));
        let half = "Insulation log 2024 - first half (readings in megohms, 500 V, 1 min)";
        for title in ["Pump house 2024", "Tests 2024 and 2025", "Insulation 2024 (1 min)", half, "E-17, 2024"] {
            assert_eq!(found(title), open("2024"), "{title}");
        }
        for title in [
            "Form rev. 2019",
            "Boiler house motors, form E-17, issue of 2019",
            "Pump motor 75 kW, built 1987",
            "Baujahr 1987",
            "Insulation tests after IEEE 43 2013",
            "Insulation tests",
        ] {
            assert_eq!(found(title), None, "{title}");
        }
        assert_eq!(found("Insulation tests 2024, form E-17, issue of 2019"), open("2024"));
    }
}
