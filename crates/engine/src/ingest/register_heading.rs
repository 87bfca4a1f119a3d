//! What the headers of a register stand for: our own names first, then what the site says, then the usual words.
//!
//! A unit is never guessed: a power without one may be horsepower, and an interval without one may be months.

use super::aliases::{self, Meaning};
use super::mapping::Mapping;
use super::register_columns::COLUMNS;
use super::rows::Rows;
use crate::error::{Failure, shown};
use groundwall::record::columns::Column;
use groundwall::resistance::ResistanceUnit;

/// What one header stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Heading {
    /// Which of [`COLUMNS`].
    pub(super) place: usize,
    /// What bare numbers below it are.
    pub(super) numbers: Numbers,
    /// How sure that is.
    rank: Rank,
}

/// What a header says of the bare numbers below it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Numbers {
    /// In the unit of our name.
    AsNamed,
    /// In kV or MW.
    InThousands,
    /// Resistances in this unit.
    In(ResistanceUnit),
    /// It mentions a least resistance, and its unit, or what else it says, is not understood: the cells are not read.
    NotUnderstood,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// Our own name, or the site says so.
    Own,
    /// It can hardly mean anything else here.
    Usual,
    /// It may mean something else.
    Likely,
}

impl Heading {
    /// Whether bare numbers are in kV or MW.
    pub(super) fn in_thousands(self) -> bool {
        self.numbers == Numbers::InThousands
    }

    /// Whether its cells are read.
    fn is_read(self) -> bool {
        self.numbers != Numbers::NotUnderstood
    }

    /// Whether the column says that a drive feeds the winding.
    pub(super) fn is_drive_fed(self) -> bool {
        COLUMNS[self.place] == "drive_fed"
    }

    /// Whether the column names the windings.
    pub(super) fn is_winding(self) -> bool {
        COLUMNS[self.place] == "winding"
    }

    /// Whether the column holds numbers that may have decimals.
    pub(super) fn is_number(self) -> bool {
        matches!(COLUMNS[self.place], "rated_volts" | "rated_kw" | "minimum_mohm")
    }

    /// Whether the column holds other names of the windings.
    pub(super) fn is_other_names(self) -> bool {
        COLUMNS[self.place] == "aliases"
    }

    /// The column in messages: our name, or the header as it is written where that is another.
    pub(super) fn name(self, written: &str) -> String {
        if own(written).is_some() { COLUMNS[self.place].to_owned() } else { shown(written.trim()) }
    }
}

/// Usual words, without the unit, and the column they stand for. The winding has the words of a history.
const USUAL: &[(&str, &str)] = &[
    ("plant", "site"),
    ("works", "site"),
    ("plant area", "area"),
    ("department", "area"),
    ("service", "description"),
    ("duty", "description"),
    ("driven machine", "description"),
    ("winding type", "construction"),
    ("type of winding", "construction"),
    ("winding construction", "construction"),
    ("construction type", "construction"),
    ("coil type", "construction"),
    ("alias", "aliases"),
    ("other names", "aliases"),
    ("also known as", "aliases"),
    ("vfd", "drive_fed"),
    ("vsd", "drive_fed"),
    ("drive", "drive_fed"),
    ("drive fed", "drive_fed"),
    ("inverter fed", "drive_fed"),
    ("converter fed", "drive_fed"),
    ("insulation type", "insulation"),
    ("insulation system", "insulation"),
    ("type of insulation", "insulation"),
    ("insulation class", "thermal_class"),
    ("class of insulation", "thermal_class"),
    ("ins class", "thermal_class"),
    ("year", "year_made"),
    ("year built", "year_made"),
    ("year of make", "year_made"),
    ("year of manufacture", "year_made"),
    ("year manufactured", "year_made"),
    ("year rewound", "year_rewound"),
    ("year of rewind", "year_rewound"),
    ("rewind year", "year_rewound"),
    ("test interval days", "interval_days"),
    ("days between tests", "interval_days"),
];
/// Words beside a minimum and its unit that say no more.
const BESIDE_A_MINIMUM: [&str; 9] =
    ["min", "minimum", "ir", "r", "insulation", "resistance", "value", "allowed", "acceptable"];
/// How words begin that mention a least resistance, in seven languages.
const LIMITS: [&str; 19] = [
    "minim",
    "mínim",
    "mindest",
    "limit",
    "límit",
    "limiar",
    "limiet",
    "grenz",
    "grens",
    "alarm",
    "allarm",
    "threshold",
    "seuil",
    "umbral",
    "soglia",
    "schwell",
    "drempel",
    "acceptance",
    "acceptable",
];
/// How words begin that make it a limit of something else, where no unit of a resistance is named.
const OF_SOMETHING_ELSE: [&str; 39] = [
    "temp",
    "degc",
    "degf",
    "bear",
    "lager",
    "palier",
    "cojinet",
    "cuscinett",
    "vibr",
    "speed",
    "rpm",
    "drehz",
    "current",
    "amp",
    "strom",
    "courant",
    "corrent",
    "corrient",
    "stroom",
    "volt",
    "spannung",
    "tensi",
    "power",
    "load",
    "day",
    "date",
    "datum",
    "interval",
    "time",
    "zeit",
    "month",
    "stock",
    "oil",
    "press",
    "humid",
    "ratio",
    "index",
    "basis",
    "max",
];
/// The same, whole words.
const UNITS_OF_SOMETHING_ELSE: [&str; 12] = ["c", "f", "v", "kv", "a", "ma", "kw", "mw", "pi", "dar", "rh", "upper"];
/// Words that may as well mean something else, such as the type of the machine or a power in horsepower: only asked about.
const ASKED: [(&str, &str); 8] = [
    ("type", "construction"),
    ("wound", "construction"),
    ("rewound", "year_rewound"),
    ("class", "thermal_class"),
    ("power", "rated_kw"),
    ("rated power", "rated_kw"),
    ("rated", "rated_volts"),
    ("test interval", "interval_days"),
];
const RATED_VOLTAGE: [&str; 9] = [
    "rated voltage",
    "rated volts",
    "rated volt",
    "voltage rating",
    "nominal voltage",
    "nameplate voltage",
    "nameplate volts",
    "rated",
    "nominal",
];
/// Without "rated", a history could have them too.
const VOLTAGE: [&str; 4] = ["voltage", "volts", "volt", ""];
const POWER: [&str; 8] =
    ["rated power", "rated output", "power rating", "nominal power", "nameplate power", "power", "rated", ""];

/// The headers of one register.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Headings {
    /// For each header what it stands for; `None` where its cells are not read.
    pub(super) known: Vec<Option<Heading>>,
    /// Headers that are not read.
    pub(super) left_alone: Vec<String>,
    /// Of those, the ones that are like a name of ours, with that name.
    pub(super) near: Vec<(String, &'static str)>,
}

/// Whether a cell shows that a mark separates decimals, not thousands: `400.5`, and not `1.500`.
fn shows_decimals(text: &str, mark: char) -> bool {
    let number = text.trim_end_matches(|c: char| !c.is_ascii_digit());
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    number.split_once(mark).is_some_and(|(whole, decimals)| digits(whole) && digits(decimals) && decimals.len() != 3)
}

impl Headings {
    /// Whether any cell in a column of numbers shows that a mark separates decimals.
    pub(super) fn show_decimals(&self, mut rows: Rows<'_>, mark: char) -> bool {
        let numbers: Vec<usize> = self
            .known
            .iter()
            .enumerate()
            .filter(|(_, heading)| heading.is_some_and(Heading::is_number))
            .map(|(at, _)| at)
            .collect();
        while let Some(row) = rows.next_row() {
            let Ok(cells) = row.cells else { continue };
            if numbers.iter().any(|at| cells.text(*at).is_ok_and(|cell| shows_decimals(cell.trim(), mark))) {
                return true;
            }
        }
        false
    }

    /// What can be understood of a row, if it were the header. Surer words go before others; of two that are as sure neither is
    /// taken, unless both are our own names.
    pub(super) fn resolve(header: &[String], mapping: &Mapping) -> Self {
        let read: Vec<Option<Heading>> = header.iter().map(|name| heading(name, mapping)).collect();
        let wins = |at: usize, heading: &Heading| {
            let rivals = read.iter().enumerate().filter(|(other, _)| *other != at).filter_map(|(_, rival)| *rival);
            let mut rivals = rivals.filter(|rival| rival.place == heading.place && rival.is_read());
            rivals.all(|rival| rival.rank > heading.rank || (rival.rank, heading.rank) == (Rank::Own, Rank::Own))
        };
        let taken = |(at, heading): (usize, &Option<Heading>)| match heading {
            Some(heading) if wins(at, heading) => Some(*heading),
            // Of two minimums it is unclear which applies.
            Some(heading) if COLUMNS[heading.place] == "minimum_mohm" => {
                Some(Heading { numbers: Numbers::NotUnderstood, ..*heading })
            }
            _ => None,
        };
        let known: Vec<Option<Heading>> = read.iter().enumerate().map(taken).collect();
        let free = |place: usize| !known.iter().flatten().any(|heading| heading.place == place);
        let (mut left_alone, mut near) = (Vec::new(), Vec::new());
        for (at, name) in header.iter().enumerate().filter(|(at, _)| known[*at].is_none()) {
            let name = name.trim();
            if name.is_empty() {
                left_alone.push(format!("column {} (no name)", at + 1));
                continue;
            }
            left_alone.push(shown(name));
            if mapping.in_register(name).is_none()
                && let Some(place) = read[at].map_or_else(|| nearest(name), |heading| Some(heading.place))
                && free(place)
            {
                near.push((shown(name), COLUMNS[place]));
            }
        }
        Self { known, left_alone, near }
    }

    /// Whether a column is there.
    pub(super) fn has(&self, column: &str) -> bool {
        self.known.iter().flatten().any(|heading| COLUMNS[heading.place] == column && heading.is_read())
    }

    /// Headers that are read as a column and may mean something else, with that column.
    pub(super) fn assumed(&self, header: &[String]) -> Vec<(String, &'static str)> {
        let known = header.iter().zip(&self.known).filter_map(|(name, heading)| Some((name, (*heading)?)));
        let likely = known.filter(|(_, heading)| heading.rank == Rank::Likely);
        likely.map(|(name, heading)| (shown(name.trim()), COLUMNS[heading.place])).collect()
    }

    /// How many headers are understood.
    pub(super) fn count(&self) -> usize {
        self.known.iter().flatten().filter(|heading| heading.is_read()).count()
    }

    /// Whether a row that reads so can only be the header: a word such as Motor may also stand in a title.
    pub(super) fn are_a_header(&self) -> bool {
        let winding = self.known.iter().flatten().find(|heading| heading.place == 0);
        winding.is_some_and(|winding| winding.rank == Rank::Own || self.count() > 1)
    }

    /// Each column stands once.
    pub(super) fn must_be_single(&self, file: &str, line: u64) -> Result<(), Failure> {
        for (i, heading) in self.known.iter().enumerate() {
            let Some(heading) = heading.filter(|heading| heading.is_read()) else { continue };
            let same =
                |other: &Option<Heading>| other.is_some_and(|other| other.place == heading.place && other.is_read());
            if let Some(first) = self.known[..i].iter().position(same) {
                let column = COLUMNS[heading.place];
                let message = format!("{file}:{line}: the columns {} and {} are both {column}", first + 1, i + 1);
                return Err(Failure::usage(message).hint("rename or delete the one that is not to be read"));
            }
        }
        Ok(())
    }
}

/// Whether a header names something of a nameplate, which no history has.
#[must_use]
pub(super) fn describes_a_winding(header: &str) -> bool {
    let nameplate = ["rated_volts", "rated_kw", "construction", "thermal_class", "year_made"];
    heading(header, &Mapping::default())
        .is_some_and(|heading| heading.rank < Rank::Likely && nameplate.contains(&COLUMNS[heading.place]))
}

fn heading(header: &str, mapping: &Mapping) -> Option<Heading> {
    match mapping.in_register(header) {
        Some(place) => place.map(|place| Heading { place, numbers: Numbers::AsNamed, rank: Rank::Own }),
        None => own(header)
            .map(|place| Heading { place, numbers: Numbers::AsNamed, rank: Rank::Own })
            .or_else(|| usual(header)),
    }
}

fn own(header: &str) -> Option<usize> {
    let name = header.trim().trim_start_matches('\u{feff}').to_lowercase().replace([' ', '-'], "_");
    COLUMNS.iter().position(|column| *column == name)
}

fn usual(header: &str) -> Option<Heading> {
    let column = |column: &str, numbers: Numbers, rank: Rank| {
        COLUMNS.iter().position(|name| *name == column).map(|place| Heading { place, numbers, rank })
    };
    let at = |name: &str, in_thousands: bool, rank: Rank| {
        column(name, if in_thousands { Numbers::InThousands } else { Numbers::AsNamed }, rank)
    };
    match aliases::read(header) {
        Some(Meaning::Sure(Column::Winding)) => return at("winding", false, Rank::Usual),
        Some(Meaning::Likely(Column::Winding)) => return at("winding", false, Rank::Likely),
        _ => {}
    }
    let lower = header.to_lowercase().replace(['\u{2126}', '\u{3c9}'], "ohm");
    let mut words: Vec<&str> =
        lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !matches!(*word, "" | "in")).collect();
    let whole = words.join(" ");
    if let Some((_, column)) = USUAL.iter().find(|(usual, _)| *usual == whole) {
        return at(column, false, Rank::Usual);
    }
    if let Some(numbers) = least_resistance(&words) {
        return column("minimum_mohm", numbers, Rank::Usual);
    }
    let unit = words.pop_if(|word| matches!(*word, "v" | "kv" | "kw" | "mw"));
    let rest = words.join(" ");
    let rest = rest.as_str();
    match unit {
        Some("kw") if POWER.contains(&rest) => at("rated_kw", false, Rank::Usual),
        Some("mw") if POWER.contains(&rest) => at("rated_kw", true, Rank::Usual),
        Some("kw" | "mw") => None,
        // "Rated" alone says nothing of what.
        None if matches!(rest, "rated" | "nominal" | "") => None,
        _ => {
            let rank = if RATED_VOLTAGE.contains(&rest) {
                Rank::Usual
            } else if VOLTAGE.contains(&rest) {
                Rank::Likely
            } else {
                return None;
            };
            at("rated_volts", unit == Some("kv"), rank)
        }
    }
}

/// What the words of a header say of the numbers below it, where they mention a least resistance.
fn least_resistance(words: &[&str]) -> Option<Numbers> {
    let begins = |list: &[&str], word: &str| list.iter().any(|begin| word.starts_with(begin));
    let speaks_of_a_limit = words.iter().enumerate().any(|(at, word)| {
        // `1 min` is a time.
        let is_minimum =
            matches!(*word, "min" | "mín") && (at == 0 || !words[at - 1].ends_with(|c: char| c.is_ascii_digit()));
        is_minimum || begins(&LIMITS, word) || is_nearly_minimum(word)
    });
    let (units, others): (Vec<&str>, Vec<&str>) = words.iter().partition(|word| unit_of_resistance(word).is_some());
    // A large resistance of no test may be the least that is allowed, whatever it is called: `lowest permitted MΩ`.
    let is_large = |unit: &&str| unit_of_resistance(unit).is_some_and(|unit| unit != ResistanceUnit::Ohm);
    let may_be_a_limit =
        units.iter().any(is_large) && !others.is_empty() && !others.iter().any(|word| begins(&OF_A_TEST, word));
    if !speaks_of_a_limit && !may_be_a_limit {
        return None;
    }
    match units.as_slice() {
        // `IR min` may be the lowest that was read.
        [unit]
            if matches!(words[0], "min" | "minimum") && others.iter().all(|word| BESIDE_A_MINIMUM.contains(word)) =>
        {
            Some(unit_of_resistance(unit).map_or(Numbers::NotUnderstood, Numbers::In))
        }
        [] if others.iter().any(|word| begins(&OF_SOMETHING_ELSE, word) || UNITS_OF_SOMETHING_ELSE.contains(word)) => {
            None
        }
        _ => Some(Numbers::NotUnderstood),
    }
}

/// Beginnings of words for what was read at a test.
const OF_A_TEST: [&str; 34] = [
    "last",
    "latest",
    "previous",
    "prior",
    "first",
    "initial",
    "baseline",
    "factory",
    "commission",
    "new",
    "fat",
    "read",
    "measured",
    "test",
    "letzt",
    "mess",
    "werk",
    "neu",
    "erst",
    "inbetrieb",
    "dern",
    "mesur",
    "usine",
    "ultim",
    "últim",
    "medid",
    "medic",
    "misur",
    "laatst",
    "gemeten",
    "meting",
    "value",
    "current",
    "actual",
];

/// Whether a word is `minimum` with a slip or two.
fn is_nearly_minimum(word: &str) -> bool {
    word.len() > 4 && ["minimum", "minimal"].iter().any(|own| strsim::osa_distance(word, own) <= 2)
}

/// A unit of a resistance in small letters: nobody writes a minimum in milliohms.
fn unit_of_resistance(word: &str) -> Option<ResistanceUnit> {
    let prefix = word.strip_suffix("ohms").or_else(|| word.strip_suffix("ohm"))?;
    Some(match prefix {
        "" => ResistanceUnit::Ohm,
        "k" | "kil" | "kilo" => ResistanceUnit::Kilohm,
        "m" | "meg" | "mega" => ResistanceUnit::Megohm,
        "g" | "gig" | "giga" => ResistanceUnit::Gigohm,
        "t" | "ter" | "tera" => ResistanceUnit::Teraohm,
        _ => return None,
    })
}

/// The column that a header may be meant for: a usual word that is not sure, or a name that is spelt nearly so, with one letter
/// in six wrong.
fn nearest(header: &str) -> Option<usize> {
    let lower = header.to_lowercase();
    if let Some((_, column)) = ASKED.iter().find(|(word, _)| *word == lower) {
        return COLUMNS.iter().position(|name| name == column);
    }
    let spelt = header.to_lowercase().replace([' ', '-', '.'], "_");
    let distance = |name: &str| strsim::damerau_levenshtein(&spelt, name);
    let near = COLUMNS.iter().enumerate().filter(|(_, name)| 6 * distance(name) <= name.len());
    near.min_by_key(|(_, name)| distance(name)).map(|(place, _)| place)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Columns with whether they are in thousands, and headers with what they may be meant for.
    type Found = (Vec<Option<(&'static str, bool)>>, Vec<(String, &'static str)>);

    fn resolve(header: &[&str]) -> Found {
        let header: Vec<String> = header.iter().map(|name| (*name).to_owned()).collect();
        let headings = Headings::resolve(&header, &Mapping::default());
        let known = headings
            .known
            .iter()
            .map(|heading| heading.map(|heading| (COLUMNS[heading.place], heading.in_thousands())));
        (known.collect(), headings.near)
    }

    #[test]
    fn the_usual_words_are_understood() {
        for (header, column, in_thousands) in [
            ("Motor no.", "winding", false),
            ("Rated voltage", "rated_volts", false),
            ("Rated voltage (kV)", "rated_volts", true),
            ("Rated kV", "rated_volts", true),
            ("Voltage [V]", "rated_volts", false),
            ("Rated power, MW", "rated_kw", true),
            ("kW", "rated_kw", false),
            ("Winding type", "construction", false),
            ("Insulation class", "thermal_class", false),
            ("Year", "year_made", false),
        ] {
            assert_eq!(resolve(&[header]).0, [Some((column, in_thousands))], "{header}");
        }
        // A power may be in horsepower, an interval in months, and a type is that of the machine.
        for header in ["Rated power", "Power (hp)", "Test interval", "Type", "Rated", "Rated current", "Test voltage"] {
            assert_eq!(resolve(&[header]).0, [None], "{header}");
        }
    }

    #[test]
    fn a_column_of_minimums_has_one_unit_or_is_not_read() {
        let numbers = |header: &str| heading(header, &Mapping::default()).map(|heading| heading.numbers);
        for (header, unit) in [
            ("Minimum IR (MΩ)", ResistanceUnit::Megohm),
            ("minimum_gohm", ResistanceUnit::Gigohm),
            ("minimum_kohm", ResistanceUnit::Kilohm),
            ("minimum (kΩ)", ResistanceUnit::Kilohm),
            ("min_mohm", ResistanceUnit::Megohm),
            ("minimum MΩ", ResistanceUnit::Megohm),
            ("Min. insulation resistance [Ohm]", ResistanceUnit::Ohm),
        ] {
            assert_eq!(numbers(header), Some(Numbers::In(unit)), "{header}");
        }
        for header in [
            "minimum",
            "Min.",
            "limit",
            "alarm_mohm",
            "minimum_mohm_40c",
            "minimum mohm gohm",
            "Grenzwert",
            "Mindestwert",
            "Mindest-Isolationswiderstand",
            "limite d'isolement",
            "seuil",
            "valor mínimo",
            "límite",
            "soglia di allarme",
            "valore minimo",
            "limite mínimo",
            "grenswaarde",
            "Lower limit",
            "IR min (MΩ)",
        ] {
            assert_eq!(numbers(header), Some(Numbers::NotUnderstood), "{header}");
        }
        for header in [
            "Temperature limit",
            "Alarm bearing °C",
            "IR 1 min",
            "interval min days",
            "Current limit (A)",
            "min PI",
            "Ming",
            "minor",
        ] {
            assert!(numbers(header).is_none_or(|numbers| numbers == Numbers::AsNamed), "{header}");
        }
        // Of two that are as sure neither holds.
        let header = ["min_mohm", "minimum MΩ"].map(str::to_owned);
        let two = Headings::resolve(&header, &Mapping::default());
        assert!(
            two.known.iter().flatten().all(|heading| heading.numbers == Numbers::NotUnderstood)
                && two.left_alone.is_empty()
        );
    }

    #[test]
    fn our_own_names_go_first_and_two_that_are_as_sure_are_not_taken() {
        let volts = Some(("rated_volts", false));
        assert_eq!(resolve(&["Rated voltage", "rated_volts"]).0, [None, volts]);
        assert_eq!(resolve(&["Voltage", "Rated voltage"]).0, [None, volts]);
        let (known, near) = resolve(&["Rated voltage", "Nominal voltage"]);
        assert_eq!(known, [None, None]);
        let meant = |name: &str| (name.to_owned(), "rated_volts");
        assert_eq!(near, [meant("Rated voltage"), meant("Nominal voltage")]);
    }

    #[test]
    fn misspelt_names_are_near_and_other_names_are_not() {
        let near = |name: &str| nearest(name).map(|place| COLUMNS[place]);
        for (name, column) in [
            ("rated_volt", "rated_volts"),
            ("constuction", "construction"),
            ("Rated vlots", "rated_volts"),
            ("thermal_clas", "thermal_class"),
            ("windng", "winding"),
            ("Type", "construction"),
            ("Rated power", "rated_kw"),
        ] {
            assert_eq!(near(name), Some(column), "{name}");
        }
        for name in ["rated_kva", "rated_amps", "rated_hp", "size", "instrument", "colour"] {
            assert_eq!(near(name), None, "{name}");
        }
    }
}
