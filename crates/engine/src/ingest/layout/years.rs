//! The year of a sheet whose columns or rows name months and quarters alone, and the date of one whose tests have none: what its
//! titles and its name say of it, and whether that is certain.

use super::cells::is_point;
use super::label;
use super::label_reader::LabelReader;
use super::titles::TITLE_WORDS;
use crate::error::{Failure, shown};
use crate::ingest::date_forms::DateForms;
use crate::ingest::dates::{Period, names_month};
use crate::ingest::day_ranges::last_day;
use crate::ingest::unit::Unit;

/// A date, a month, a quarter or a year that a title names.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Titled {
    pub(super) date: String,
    /// The title.
    pub(super) text: String,
    /// Whether the title says nothing else, or nothing that the year may be of.
    pub(super) is_certain: bool,
    /// Whether nothing beside the date may be a part of it: `Autumn 2026` and `14.11 2026` say more than the year.
    pub(super) is_whole: bool,
}

impl Titled {
    /// A date in a text that says nothing else.
    pub(super) fn alone(date: &str, text: String) -> Self {
        Self { date: date.to_owned(), text, is_certain: true, is_whole: true }
    }
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
/// Beginnings of words beside dates that are to come, or on which nothing was tested.
const OF_OTHER_DAYS: [&str; 17] = [
    "nächst",
    "naechst",
    "prochain",
    "próxim",
    "proxim",
    "prossim",
    "volgend",
    "geplant",
    "gepland",
    "fällig",
    "faellig",
    "échéance",
    "echeance",
    "vencim",
    "scaden",
    "vervald",
    "expir",
];

/// Whole words beside such dates.
const OF_PAPERS_TOO: [&str; 11] = [
    "generated",
    "created",
    "exported",
    "erzeugt",
    "ausdruck",
    "ausgedruckt",
    "druckdatum",
    "stampato",
    "ordered",
    "bestellt",
    "lieferdatum",
];

/// Whether a text names a day other than that of the tests below it: a form, an issue, the next test.
pub(super) fn names_another_day(text: &str) -> bool {
    let is_other = |word: &str| {
        OF_PAPERS.contains(&word)
            || OF_PAPERS_TOO.contains(&word)
            || OF_OTHER_DAYS.iter().any(|stem| word.starts_with(stem))
    };
    let lower = text.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric() && c != '©').any(is_other) || lower.contains("to be ")
}

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
        let is_certain = !begins_in_another_month(title);
        return Some(Titled { is_certain, ..Titled::alone(title, title.to_owned()) });
    }
    let days = last_day(title);
    let is_end = |c: char| matches!(c, ',' | ';' | '(' | ')' | '[' | ']' | '|');
    let mut found: Vec<String> = Vec::new();
    let mut others: Vec<String> = Vec::new();
    for part in days.replace('_', " ").replace(" - ", " ; ").replace(" – ", " ; ").split(is_end) {
        let trimmed = part.split_whitespace().map(|word| word.trim_matches(|c: char| !c.is_alphanumeric() && c != '©'));
        let mut words: Vec<&str> = trimmed.filter(|word| !word.is_empty()).collect();
        // `Tests 2026 (2)` is a copy.
        if !found.is_empty() && words.len() == 1 && words[0].len() == 1 {
            continue;
        }
        let is_of_papers = names_another_day(part);
        // `janeiro de 2026`
        words.retain(|word| !matches!(word.to_lowercase().as_str(), "de" | "del" | "di" | "do" | "of"));
        let mut at = 0;
        while at < words.len() {
            let phrase = (1..=3.min(words.len() - at)).rev().map(|length| (length, words[at..at + length].join(" ")));
            let mut dates = phrase.filter(|(_, text)| label::is_date_in_a_text(text));
            match dates.next() {
                Some((length, date)) => {
                    // `Report no. 7/2026`
                    let is_numbered = at > 0 && NUMBERED.contains(&words[at - 1].to_lowercase().as_str());
                    let is_other = is_of_papers || (is_numbered && is_of_numbers(&date));
                    found.extend((!is_other).then_some(date));
                    at += length;
                }
                None => {
                    others.push(words[at].to_lowercase());
                    at += 1;
                }
            }
        }
    }
    let is_of_tests = |word: &String| {
        let is_paper = OF_PAPERS.contains(&word.as_str())
            || matches!(word.as_str(), "page" | "date" | "site" | "plant" | "department");
        !is_paper
            && (TITLE_WORDS.contains(&word.as_str()) || OF_TESTS.contains(&word.as_str()) || is_point(word, reader))
    };
    let date = found.first()?.clone();
    let is_one = found.iter().all(|other| *other == date);
    let is_certain =
        is_one && !begins_in_another_month(title) && (!is_of_numbers(&date) || others.iter().all(is_of_tests));
    let is_year = matches!(Period::read(&date), Some(Period::Year(_)));
    let is_whole = is_one && !(is_year && (0..others.len()).any(|at| may_be_part_of_a_date(&others, at)));
    Some(Titled { date, text: title.to_owned(), is_certain, is_whole })
}

/// Whether a text names a year that begins in another month than January: its months and quarters are of two years.
fn begins_in_another_month(text: &str) -> bool {
    const WORDS: [&str; 19] = [
        "fy",
        "fiscal",
        "financial",
        "ending",
        "geschäftsjahr",
        "wirtschaftsjahr",
        "exercice",
        "ejercicio",
        "esercizio",
        "exercício",
        "boekjaar",
        "season",
        "saison",
        "campaña",
        "kampagne",
        "campagna",
        "safra",
        "stagione",
        "temporada",
    ];
    let lower = text.to_lowercase();
    lower.split(|c: char| !c.is_alphabetic()).any(|word| WORDS.contains(&word))
}

/// Whether a date is a year, or a month in numbers, which may be the number of something.
fn is_of_numbers(date: &str) -> bool {
    !date.contains(char::is_alphabetic) && Period::read(date).is_some()
}

/// Words before the numbers of papers: `Report no. 7/2026`.
const NUMBERED: [&str; 10] = ["no", "nr", "n°", "nº", "num", "number", "numero", "número", "po", "wo"];

/// Seasons of the year.
const SEASONS: [&str; 27] = [
    "spring",
    "summer",
    "autumn",
    "fall",
    "winter",
    "frühjahr",
    "frühling",
    "sommer",
    "herbst",
    "printemps",
    "été",
    "automne",
    "hiver",
    "primavera",
    "verano",
    "otoño",
    "invierno",
    "estate",
    "autunno",
    "inverno",
    "verão",
    "outono",
    "lente",
    "voorjaar",
    "zomer",
    "herfst",
    "najaar",
];

/// Whether a word beside a period may be a part of a date: a month, a season, numbers that are no quantity and no page.
fn may_be_part_of_a_date(words: &[String], at: usize) -> bool {
    let word = words[at].as_str();
    let is_small = |part: &str| matches!(part.len(), 1 | 2) && part.bytes().all(|byte| byte.is_ascii_digit());
    let are_small = word.split(['.', '-', '–', '/', '+', '&']).all(is_small);
    let is_unit = |unit: &String| {
        Unit::read(unit).is_some() || matches!(unit.as_str(), "min" | "minute" | "minutes" | "s" | "sec")
    };
    let is_page = |before: &String| {
        matches!(before.as_str(), "page" | "sheet" | "seite" | "blatt" | "hoja" | "pagina" | "feuille")
    };
    let is_quantity =
        words.get(at + 1).is_some_and(is_unit) || at.checked_sub(1).is_some_and(|before| is_page(&words[before]));
    (are_small && !is_quantity) || SEASONS.contains(&word) || names_month(word)
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
    /// The question about the date, where only a part of it is understood.
    pub(super) question_of_day: Option<Failure>,
}

/// A text that names a date.
struct Source {
    /// What it is, in words.
    what: String,
    date: String,
    is_certain: bool,
    is_whole: bool,
}

/// Weighs what is said: a date in a cell of its own or beside its name, `Date: 2026-04-03`, which `explicit` is; titles; the name of the
/// sheet.
pub(super) fn said(
    place: &str,
    explicit: Option<String>,
    titles: &[Titled],
    sheet: Option<(&str, Titled)>,
    forms: &DateForms,
) -> Said {
    let year_of = |date: &str| -> Option<String> {
        let written = || date.split(|c: char| !c.is_ascii_digit()).find(|part| part.len() == 4).map(str::to_owned);
        let of_period = || match Period::read(date)? {
            Period::Month(year, _)
            | Period::Quarter(year, _)
            | Period::Half(year, _)
            | Period::Week(year, _)
            | Period::Year(year) => Some(year.to_string()),
        };
        let iso = forms.read(date).and_then(|dated| dated.iso.get(..4).map(str::to_owned));
        iso.or_else(written).or_else(of_period)
    };
    let is_own = |title: &Titled| title.is_certain && (title.date == title.text || title.text.contains([':', '=']));
    let is_explicit = explicit.is_some() || titles.iter().any(is_own);
    let titles = titles.iter().filter(|title| title.is_certain || !is_explicit);
    let of = |what: String, titled: Titled| Source {
        what,
        date: titled.date,
        is_certain: titled.is_certain,
        is_whole: titled.is_whole,
    };
    let mut all: Vec<Source> = Vec::new();
    let of_sheet = sheet.map(|(name, titled)| {
        of(
            format!("the name of the sheet, {},", shown(name)),
            Titled { is_certain: !begins_in_another_month(name), ..titled },
        )
    });
    // A name that is a year goes first.
    let (first, last) = match of_sheet {
        Some(sheet) if sheet.date.len() == 4 => (Some(sheet), None),
        other => (None, other),
    };
    all.extend(first);
    all.extend(explicit.map(|date| of(shown(&date), Titled::alone(&date, String::new()))));
    all.extend(titles.map(|title| of(shown(&title.text), title.clone())));
    all.extend(last);
    let dated: Vec<(&Source, String)> = all.iter().filter_map(|one| Some((one, year_of(&one.date)?))).collect();
    let Some((first, year)) = dated.first() else {
        return Said { date: all.into_iter().next().map(|source| source.date), ..Said::default() };
    };
    let which = "in which year were the tests made?";
    let how = |year: &str| {
        format!(
            "write the year alone into a cell above the table, such as {year}, or into each header, such as Q1 {year}"
        )
    };
    // `Jan 26` may be a day of January.
    let days: Vec<String> = dated.iter().filter_map(|(one, _)| Some(forms.read(&one.date)?.iso)).collect();
    let is_day = |source: &Source| match Period::read(&source.date) {
        Some(Period::Month(year, month)) => {
            days.iter().any(|day| day.get(4..10) == Some(&format!("-{month:02}-{:02}", year.rem_euclid(100))))
        }
        _ => false,
    };
    let differs = dated.iter().find(|(source, other)| other != year && !is_day(source));
    let question = if let Some((other, of_other)) = differs {
        let (one, other) = (&first.what, &other.what);
        let message = format!("{place}: {one} says {year} and {other} says {of_other}: {which}");
        Some(
            Failure::usage(message)
                .hint("correct the one that is wrong, in the title or in the name of the sheet, or take it out"),
        )
    } else if dated.iter().all(|(source, _)| !source.is_certain) {
        let message = format!(
            "{place}: {} is the only text that names a year, which may be that of something else: {which}",
            first.what
        );
        Some(Failure::usage(message).hint(how(year)))
    } else {
        None
    };
    let is_bare = |source: &Source| source.date.len() == 4;
    let exact = dated.iter().map(|(source, _)| *source).find(|source| !is_bare(source));
    let partly = match exact {
        Some(exact) => Some(exact).filter(|exact| !exact.is_whole),
        None => dated.iter().map(|(source, _)| *source).find(|source| !source.is_whole),
    };
    let question_of_day = partly.map(|source| {
        let message = format!(
            "{place}: {} says {} and more that may be a part of the date: when were the tests made?",
            source.what,
            source.date
        );
        Failure::usage(message).hint(format!(
            "write the date into a cell above the table, Date: and beside it such as {year}-05-14, or give the table a column Date"
        ))
    });
    let date = exact.map_or(&first.date, |exact| &exact.date).clone();
    Said { date: Some(date), year: Some(year.clone()), question, question_of_day }
}

/// Whether days go from the first of a year to its last, or back; two that fall may be of two years.
pub(super) fn are_in_order(days: &[&str]) -> bool {
    days.windows(2).all(|two| two[0] <= two[1]) || (days.len() > 2 && days.windows(2).all(|two| two[0] >= two[1]))
}

/// The question about months and days that are not in the order of one year: `whose` go from one to another.
pub(super) fn of_two_years(place: &str, whose: &str, [first, last]: [&str; 2], year: &str) -> Failure {
    let message = format!(
        "{place}: {whose} from {} to {} are not in the order of one year, and only {year} is named: of which years are they?",
        shown(first.trim()),
        shown(last.trim())
    );
    Failure::usage(message).hint("write the year to each of them, such as Feb 2026")
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
