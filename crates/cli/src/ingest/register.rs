//! The register: what is known of each winding.
//!
//! Unlike a history, a register is read whole or not at all. A wrong nameplate gives a wrong minimum, and a minimum that is
//! wrong without anybody noticing is worse than a run that stops: every bad cell is listed with its line, and the status
//! is 2. Empty cells are fine: what is not known is treated as not known.

use super::columns::missing_columns;
use super::document::{Document, Header, Opening, find_header};
use super::source::{Input, sha256};
use crate::error::{Failure, Problem, shown};
use groundwall::nameplate::{Construction, Insulation, Nameplate, ThermalClass};
use groundwall::record::validate::WINDING_MAX_CHARS;
use groundwall::resistance::{CellRules, Measured, read_decimal};
use groundwall::units::{OutOfRange, Power, Resistance, Voltage};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// All windings that are known, by identifier.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Register {
    /// The path as given.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Headers that are not ours; their cells are not read.
    pub left_alone: Vec<String>,
    plates: BTreeMap<String, Nameplate>,
}

/// The columns of a register.
pub const COLUMNS: [&str; 14] = [
    "winding",
    "site",
    "area",
    "description",
    "rated_volts",
    "rated_kw",
    "construction",
    "insulation",
    "thermal_class",
    "year_made",
    "interval_days",
    "minimum_mohm",
    "group",
    "criticality",
];

impl Register {
    /// The nameplates, by winding.
    #[must_use]
    pub const fn plates(&self) -> &BTreeMap<String, Nameplate> {
        &self.plates
    }

    /// Reads a register.
    ///
    /// # Errors
    ///
    /// A [`Failure`] that lists everything that is wrong with it.
    pub fn read(input: &Input, delimiter: Option<u8>, decimal_comma: bool) -> Result<Self, Failure> {
        Self::parse(&input.to_string(), &input.read()?, delimiter, decimal_comma)
    }

    /// Reads the bytes of a register.
    ///
    /// # Errors
    ///
    /// As [`Register::read`].
    pub fn parse(given: &str, bytes: &[u8], delimiter: Option<u8>, decimal_comma: bool) -> Result<Self, Failure> {
        let opening = Opening { delimiter, decimal_comma, ..Opening::default() };
        let fits = |cells: &[String]| cells.iter().any(|cell| place_of(cell) == Some(0));
        let weight = |cells: &[String]| cells.iter().filter(|cell| place_of(cell).is_some()).count();
        let document = Document::open(given, bytes.to_vec(), &opening, &|name| place_of(name).is_some(), &fits)?;
        let decimal_comma = decimal_comma || document.layout.delimiter == b';';
        let mut rows = document.rows();
        let place = document.name(given);
        let Header { line, mut cells, .. } =
            find_header(&place, &|line| document.line(line), &mut rows, &fits, &weight)?;
        let width = cells.iter().rposition(|name| !name.trim().is_empty()).map_or(0, |last| last + 1);
        cells.truncate(width);
        let header = cells;
        let file = place.as_str();
        let places: Vec<Option<usize>> = header.iter().map(|name| place_of(name)).collect();
        let stranger = |(name, place): (&String, &Option<usize>)| place.is_none().then(|| shown(name.trim()));
        let left_alone: Vec<String> = header.iter().zip(&places).filter_map(stranger).collect();
        for (i, place) in places.iter().enumerate() {
            let Some(column) = place.map(|place| COLUMNS[place]) else { continue };
            if let Some(first) = places[..i].iter().position(|other| other == place) {
                let message = format!("{file}:{line}: the columns {} and {} are both {column}", first + 1, i + 1);
                return Err(Failure::usage(message).hint("rename or delete the one that is not to be read"));
            }
        }
        if !places.contains(&Some(0)) {
            return Err(missing_columns(file, line, &["winding"], &header, &left_alone).hint(format!(
                "name the column that holds the windings; the columns of a register are {}",
                COLUMNS.join(", ")
            )));
        }
        let mut plates: Vec<(String, Nameplate)> = Vec::new();
        let mut problems = Vec::new();
        let mut lines: HashMap<String, u64> = HashMap::new();
        while let Some(row) = rows.next_row() {
            let line = document.line(row.line);
            let mut problem = |message: String, hint: &str| {
                problems.push(Problem { message: format!("{file}:{line}: {message}"), hint: Some(hint.to_owned()) });
            };
            let Some(cells) = row.cells else {
                problem(
                    "the row has a quote that is opened and never closed".to_owned(),
                    "close the quote or take it out",
                );
                continue;
            };
            if cells.len() < header.len() || cells.iter().skip(header.len()).any(|cell| !cell.trim_ascii().is_empty()) {
                problem(
                    format!("the row has {} cells; the header has {}", cells.len(), header.len()),
                    "put text that holds the separator between quotes, or add the cells that are missing",
                );
                continue;
            }
            let mut winding = String::new();
            let mut plate = Nameplate::default();
            for (place, cell) in places.iter().zip(cells.iter()) {
                let Some(place) = *place else { continue };
                let Ok(text) = std::str::from_utf8(cell) else {
                    let value = shown(&String::from_utf8_lossy(cell));
                    problem(
                        format!("{} is {value}; text is written in UTF-8", COLUMNS[place]),
                        "save the file as CSV in UTF-8",
                    );
                    continue;
                };
                let text = text.trim();
                if text.is_empty() || text == "-" {
                    continue;
                }
                if let Err((rule, hint)) = cell_into(&mut winding, &mut plate, place, text, decimal_comma) {
                    problem(format!("{} is {}; {rule}", COLUMNS[place], shown(text)), &hint);
                }
            }
            if winding.is_empty() {
                problem("winding is empty; every row names its winding".to_owned(), "write the winding's identifier");
            } else if let Some(first) = lines.insert(winding.clone(), line) {
                problem(
                    format!(
                        "winding is {}, as on line {first}; a winding stands in the register once",
                        shown(&winding)
                    ),
                    "delete one of the two rows",
                );
            } else {
                plates.push((winding, plate));
            }
        }
        if plates.is_empty() && problems.is_empty() {
            return Err(Failure::usage(format!("{file}: there is a header but no row below it"))
                .hint("one row per winding follows the header"));
        }
        // Made in one go, the tree has no half-filled nodes: with a quarter of a million windings that is a third of its room.
        let plates = plates.into_iter().collect();
        let register = Self { file: given.to_owned(), sha256: sha256(bytes), left_alone, plates };
        Failure::of_problems(problems).map_or(Ok(register), Err)
    }

    /// What is known of a winding.
    #[must_use]
    pub fn nameplate(&self, winding: &str) -> Option<&Nameplate> {
        self.plates.get(winding)
    }

    /// How many windings are known.
    #[must_use]
    pub fn len(&self) -> usize {
        self.plates.len()
    }

    /// Whether none is.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.plates.is_empty()
    }

    /// The name under which a winding seems to stand here: the same letters and digits, in capitals or parted otherwise.
    #[must_use]
    pub fn written_otherwise(&self, winding: &str) -> Option<&str> {
        let bare =
            |name: &str| name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
        let wanted = bare(winding);
        self.plates.keys().map(String::as_str).find(|name| bare(name) == wanted)
    }

    /// Windings that were tested and are not in the register, each once, in alphabetical order.
    #[must_use]
    pub fn strangers<'t>(&self, tested: impl Iterator<Item = &'t str>) -> BTreeSet<&'t str> {
        tested.filter(|winding| !self.plates.contains_key(*winding)).collect()
    }
}

fn place_of(header: &str) -> Option<usize> {
    let name = header.trim().trim_start_matches('\u{feff}').to_lowercase().replace([' ', '-'], "_");
    COLUMNS.iter().position(|column| *column == name)
}

/// Takes one cell into the nameplate, or gives the rule it breaks and what to do.
fn cell_into(
    winding: &mut String,
    plate: &mut Nameplate,
    place: usize,
    text: &str,
    decimal_comma: bool,
) -> Result<(), (String, String)> {
    let owned = || Some(text.to_owned());
    match COLUMNS[place] {
        "winding" if text.chars().count() > WINDING_MAX_CHARS => {
            let rule = format!("an identifier has at most {WINDING_MAX_CHARS} characters");
            return Err((rule, "put the description into its own column".to_owned()));
        }
        "winding" => text.clone_into(winding),
        "site" => plate.site = owned(),
        "area" => plate.area = owned(),
        "description" => plate.description = owned(),
        "rated_volts" => {
            plate.rated_voltage = quantity(text, &[("kv", 1000.0), ("v", 1.0)], decimal_comma, Voltage::from_volts)?
        }
        "rated_kw" => {
            plate.rated_power = quantity(text, &[("mw", 1000.0), ("kw", 1.0)], decimal_comma, Power::from_kilowatts)?
        }
        "construction" => {
            plate.construction = Some(Construction::read(text).ok_or_else(|| {
                let words = Construction::WORDS.map(|(_, word)| word).join(", ");
                (format!("a construction is one of {words}"), construction_hint(text))
            })?);
        }
        "insulation" => {
            plate.insulation = Insulation::read(text).ok_or_else(|| {
                let words = Insulation::WORDS.map(|(_, word)| word).join(", ");
                (format!("an insulation is one of {words}"), "epoxy and polyester are thermosetting, asphaltic mica is thermoplastic; a letter such as F goes into thermal_class".to_owned())
            })?;
        }
        "thermal_class" => {
            plate.thermal_class = Some(ThermalClass::read(text).ok_or_else(|| {
                let letters = ThermalClass::LETTERS.map(|(letter, _)| letter).join(", ");
                (
                    format!("a thermal class is one of {letters} or degrees from 90 to 260"),
                    "leave the cell empty if it is not known".to_owned(),
                )
            })?);
        }
        "year_made" => plate.year_made = Some(whole(text, 1880, 2199, "a year of make")?),
        "interval_days" => plate.interval_days = Some(whole(text, 1, 7305, "an interval in days")?),
        "minimum_mohm" => plate.minimum = Some(limit(text, decimal_comma)?),
        "group" => plate.group = owned(),
        _ => plate.criticality = owned(),
    }
    Ok(())
}

fn quantity<Q>(
    text: &str,
    units: &[(&str, f64)],
    decimal_comma: bool,
    from: impl Fn(f64) -> Result<Q, OutOfRange>,
) -> Result<Option<Q>, (String, String)> {
    let lower = text.to_lowercase();
    let found = units.iter().find_map(|(unit, times)| Some((lower.strip_suffix(unit)?.trim_end(), *times)));
    let (bare, times) = found.unwrap_or((&lower, 1.0));
    let number = read_decimal(bare, decimal_comma).map_err(|_| {
        let names =
            units.iter().rev().map(|(unit, _)| unit.to_uppercase().replace('K', "k")).collect::<Vec<_>>().join(" or ");
        let hint = "write digits only, such as 6600, with no mark between thousands";
        (format!("this column holds numbers, with {names} behind them if need be"), hint.to_owned())
    })?;
    from(number * times).map(Some).map_err(|error| {
        let rule = format!("{} lies between {}", error.quantity, error.rule().replacen(" to ", " and ", 1));
        (rule, "check the digits against the nameplate".to_owned())
    })
}

fn whole<N: TryFrom<i64>>(text: &str, least: i64, greatest: i64, what: &str) -> Result<N, (String, String)> {
    let number = text.parse::<i64>().ok().filter(|number| (least..=greatest).contains(number));
    number.and_then(|number| N::try_from(number).ok()).ok_or_else(|| {
        let rule = format!("{what} is a whole number from {least} to {greatest}");
        (rule, "leave the cell empty if it is not known".to_owned())
    })
}

fn limit(text: &str, decimal_comma: bool) -> Result<Resistance, (String, String)> {
    match (CellRules { decimal_comma, ..CellRules::default() }).read(text) {
        Ok(Some(Measured::Exact(limit))) => Ok(limit),
        Ok(_) => Err(("a minimum is a plain resistance".to_owned(), "write it in MΩ, such as 5".to_owned())),
        Err(fault) => Err((fault.rule().to_owned(), fault.hint().to_owned())),
    }
}

/// "form" and "random" are what registers often hold.
fn construction_hint(text: &str) -> String {
    let begun = text.trim().to_lowercase();
    let meant = Construction::WORDS.iter().find(|(_, word)| !begun.is_empty() && word.starts_with(&begun));
    match meant {
        Some((_, word)) => format!("write {word} if that is what is meant"),
        None => "leave the cell empty if it is not known".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Register, String> {
        Register::parse("r.csv", text.as_bytes(), None, false).map_err(|failure| failure.to_string())
    }

    #[test]
    fn a_full_row_is_read() {
        let text = "\u{feff}construction;winding;rated_volts;rated_kw;insulation;thermal_class;year_made;interval_days;\
                    minimum_mohm;colour\nForm-wound; G-1 stator ;6600 V;1250,5;thermosetting;F;1988;91;8,5;red\n";
        let register = parse(text);
        assert_eq!(register.as_ref().map(|r| (r.len(), r.left_alone.clone())), Ok((1, vec!["colour".to_owned()])));
        let plate = register.ok().and_then(|r| r.nameplate("G-1 stator").cloned()).unwrap_or_default();
        assert_eq!(plate.construction, Some(Construction::FormWound));
        assert_eq!(plate.rated_voltage.map(Voltage::as_volts), Some(6600.0));
        assert_eq!(plate.rated_power.map(Power::as_kilowatts), Some(1250.5));
        assert_eq!(plate.insulation, Insulation::Thermosetting);
        assert_eq!((plate.year_made, plate.interval_days), (Some(1988), Some(91)));
        assert_eq!(plate.minimum.map(Resistance::as_megohms), Some(8.5));
    }

    #[test]
    fn empty_cells_are_not_known() {
        let plate = parse("winding,rated_volts,insulation\nP-1,,\n").ok().and_then(|r| r.nameplate("P-1").cloned());
        assert_eq!(plate, Some(Nameplate::default()));
    }

    #[test]
    fn a_word_that_is_begun_leads_to_the_whole_one() {
        assert_eq!(
            parse("winding,construction\nP-1,Random\n"),
            Err("r.csv:2: construction is Random; a construction is one of form-wound, random-wound, dc-armature, field\n\
                 hint: write random-wound if that is what is meant"
                .to_owned())
        );
    }

    #[test]
    fn every_bad_cell_is_listed() {
        let text = "winding,rated_volts,construction,insulation,thermal_class,year_made,minimum_mohm,rated_kw\n\
                    P-1,0,wire,epoxy,Q,88,>5,big\n,400,,,,,,\nP-2,400\n";
        assert_eq!(
            parse(text),
            Err("r.csv:2: rated_volts is 0; a voltage lies between 1 and 100000 V\n\
                 hint: check the digits against the nameplate\n\
                 r.csv:2: construction is wire; a construction is one of form-wound, random-wound, dc-armature, field\n\
                 hint: leave the cell empty if it is not known\n\
                 r.csv:2: insulation is epoxy; an insulation is one of thermosetting, thermoplastic, unknown\n\
                 hint: epoxy and polyester are thermosetting, asphaltic mica is thermoplastic; a letter such as F goes into thermal_class\n\
                 r.csv:2: thermal_class is Q; a thermal class is one of Y, A, E, B, F, H, N, R or degrees from 90 to 260\n\
                 hint: leave the cell empty if it is not known\n\
                 r.csv:2: year_made is 88; a year of make is a whole number from 1880 to 2199\n\
                 hint: leave the cell empty if it is not known\n\
                 r.csv:2: minimum_mohm is >5; a minimum is a plain resistance\n\
                 hint: write it in MΩ, such as 5\n\
                 r.csv:2: rated_kw is big; this column holds numbers, with kW or MW behind them if need be\n\
                 hint: write digits only, such as 6600, with no mark between thousands\n\
                 r.csv:3: winding is empty; every row names its winding\n\
                 hint: write the winding's identifier\n\
                 r.csv:4: the row has 2 cells; the header has 8\n\
                 hint: put text that holds the separator between quotes, or add the cells that are missing"
                .to_owned())
        );
    }

    #[test]
    fn a_winding_and_a_column_stand_once() {
        assert_eq!(
            parse("winding\nP-1\nP-2\nP-1\n"),
            Err("r.csv:4: winding is P-1, as on line 2; a winding stands in the register once\n\
                 hint: delete one of the two rows"
                .to_owned())
        );
        assert_eq!(
            parse("winding,site,Site\nP-1,a,b\n"),
            Err("r.csv:1: the columns 2 and 3 are both site\nhint: rename or delete the one that is not to be read"
                .to_owned())
        );
        assert_eq!(
            parse("windings,site\nP-1,a\n"),
            Err("r.csv:1: the column winding is missing; the header has windings, site\n\
                 hint: name the column that holds the windings; the columns of a register are winding, site, area, \
                 description, rated_volts, rated_kw, construction, insulation, thermal_class, year_made, interval_days, \
                 minimum_mohm, group, criticality"
                .to_owned())
        );
    }
}
