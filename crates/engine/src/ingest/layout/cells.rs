//! What single cells and rows look like: numbers, names of quantities, headers, rows of labels.

use super::grid::GridRow;
use super::label::conductors::{Letters, connection};
use super::label::{self, Field, Label};
use super::label_reader::LabelReader;
use crate::ingest::aliases::{self, Meaning};
use crate::ingest::dates::{Period, is_clock};
use crate::ingest::free_form::{self, Meant};
use crate::ingest::kinds::{is_reading, reads};
use crate::ingest::unit::Unit;
use crate::ingest::verdicts;
use groundwall::record::Connection;
use groundwall::record::columns::Column;
use groundwall::resistance::{CellRules, Measured, ResistanceUnit};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// The labels of a row's cells.
pub(super) fn labels_of(row: &GridRow, reader: &LabelReader<'_>) -> Vec<Rc<Label>> {
    row.cells.iter().map(|cell| reader.read(cell)).collect()
}

/// Whether a row below a header belongs to it: every cell of it is a label, and none a name, a number or a date of a test. One cell alone
/// is the unit of its column, or of all below.
pub(super) fn is_label_row(row: Option<&GridRow>, reader: &LabelReader<'_>) -> bool {
    let Some(row) = row else { return false };
    let is_label = |cell: &str| {
        let label = reader.read(cell);
        // A letter alone is a label where it is that of a phase.
        !is_number(cell)
            && label.is_known()
            && (!label.unknown || label.phase.is_some())
            && !cell.eq_ignore_ascii_case("ok")
    };
    match row.filled().count() {
        0 => false,
        1 => row.only().is_some_and(|(place, cell)| unit_alone(place, cell).is_some()),
        _ => row.filled().all(|(_, cell)| is_label(cell)),
    }
}

/// The unit of resistance that is the only text of a row. In the first column a letter alone is the name of something.
pub(super) fn unit_alone(place: usize, cell: &str) -> Option<ResistanceUnit> {
    match Unit::read(cell) {
        Some(Unit::Ohms(unit)) if place > 0 || cell.chars().count() > 1 => Some(unit),
        _ => None,
    }
}

pub(super) fn is_number(cell: &str) -> bool {
    let is_year = cell.len() == 4 && Period::read(cell).is_some();
    !is_year && cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>' | '-' | '.')) && reads(cell)
}

/// The share of cells that pass a test.
pub(super) fn share<'a>(cells: impl Iterator<Item = &'a str>, test: &dyn Fn(&str) -> bool) -> f64 {
    let (mut all, mut fit) = (0_u32, 0_u32);
    for cell in cells {
        all += 1;
        fit += u32::from(test(cell));
    }
    if all == 0 { 0.0 } else { f64::from(fit) / f64::from(all) }
}

/// Whether a text says that a table goes on, on another page: `Cont.`, `Page 2`, `Fortsetzung`. `Suite 2` may be a room.
pub(super) fn continues(text: &str) -> bool {
    const GOES_ON: [&str; 13] = [
        "cont",
        "cont'd",
        "contd",
        "continued",
        "continuation",
        "fortsetzung",
        "suite",
        "continuación",
        "continua",
        "continuação",
        "segue",
        "vervolg",
        "seguito",
    ];
    const PAGES: [&str; 7] = ["page", "seite", "blatt", "feuille", "pagina", "página", "bladzijde"];
    const BESIDE: [&str; 6] = ["of", "von", "de", "di", "van", "sur"];
    let lower = text.to_lowercase();
    let words: Vec<&str> =
        lower.split(|c: char| !(c.is_alphanumeric() || c == '\'')).filter(|word| !word.is_empty()).collect();
    let is_number = |word: &str| word.len() < 4 && word.bytes().all(|byte| byte.is_ascii_digit());
    let has_page = words.iter().any(|word| PAGES.contains(word));
    let is_known = |word: &&str| {
        GOES_ON.contains(word) || PAGES.contains(word) || (has_page && (BESIDE.contains(word) || is_number(word)))
    };
    !words.is_empty() && words.iter().all(is_known)
}

/// No insulation between phases has so few ohms on every day.
const MOST_OHMS_OF_COPPER: f64 = 1000.0;

/// Whether a column holds a few ohms between phases in all its rows.
pub(super) fn holds_conductors(rows: &[GridRow], place: usize, label: &Label) -> bool {
    let is_pair = |text: &String| {
        let is_read = |letters| matches!(Connection::read(&connection(text, letters)), Connection::PhasePhase(..));
        is_read(Letters::OfPhases) || is_read(Letters::RedYellowBlue)
    };
    let mut cells = rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty()).peekable();
    let is_small = |cell: &str| cell.replace(',', ".").parse().is_ok_and(|ohms: f64| ohms < MOST_OHMS_OF_COPPER);
    label.ohms == Some(ResistanceUnit::Ohm)
        && label.connection.as_ref().is_some_and(is_pair)
        && cells.peek().is_some()
        && cells.all(is_small)
}

/// Whether a cell names something measured.
pub(super) fn is_point(cell: &str, reader: &LabelReader<'_>) -> bool {
    let label = reader.read(cell);
    let is_measured = match label.field {
        Some(Field::Column(column)) => !matches!(column, Column::Winding | Column::TestedOn | Column::Note),
        _ => label.ohms.is_some(),
    };
    is_measured && !label.is_dated() && !is_number(cell)
}

/// Whether a cell is a single letter, which may be a mark of the site's own.
pub(super) fn is_letter(cell: &str) -> bool {
    let mut letters = cell.trim().chars();
    letters.next().is_some_and(char::is_alphabetic) && letters.next().is_none()
}

/// Whether a cell names a quantity that is no resistance. The letter of a phase names none.
pub(super) fn is_quantity(cell: &str, reader: &LabelReader<'_>) -> bool {
    let label = reader.read(cell);
    is_point(cell, reader) && !is_letter(cell) && label.phase.is_none() && !label.column().is_some_and(is_reading)
}

/// So many cells tell whether a column names measuring points.
pub(super) const POINTS_ASKED: usize = 400;

/// Whether a row is the header of a block.
pub(super) fn is_header(row: &GridRow, reader: &LabelReader<'_>) -> bool {
    if row.only().is_some() {
        return false;
    }
    let has_number = row.filled().any(|(_, cell)| is_number(cell) && Period::read(cell).is_none());
    let is_time = |field: Option<Field>| {
        matches!(
            field,
            Some(Field::Column(Column::TestedOn) | Field::Quarter | Field::Month | Field::Week | Field::Year)
        )
    };
    // Most rows are rows of tests: their cells need not be read as labels.
    let begins_with_time = || row.filled().next().is_some_and(|(_, cell)| is_time(reader.read(cell).field));
    if has_number && (row.filled().count() < 3 || !begins_with_time()) {
        return false;
    }
    let labels: Vec<(usize, Rc<Label>)> = row.filled().map(|(at, cell)| (at, reader.read(cell))).collect();
    // `Site:` beside its value is a title.
    let cells: Vec<&str> = row.filled().map(|(_, cell)| cell).collect();
    let is_value = |at: usize| cells[at - 1].ends_with(':') && !cells[at].ends_with(':') && !labels[at].1.is_known();
    if (1..cells.len()).any(is_value) {
        return false;
    }
    // Dates down and motors across; the names of motors may be numbers. Something else, such as a crew, may be on the left of the dates.
    let begins = |at: usize| labels.get(at).is_some_and(|(_, label)| is_time(label.field));
    let is_across = labels.len() > 2
        && (begins(0) || (begins(1) && !labels[0].1.is_known() && labels.len() > 3))
        && labels.iter().filter(|(_, label)| is_time(label.field)).count() == 1
        && row.filled().all(|(_, cell)| !cell.contains(':'));
    if !is_across && has_number {
        return false;
    }
    // Numbers such as 2000 are years only beside others of their kind, one after the other.
    let bare_year = |cell: &str| if cell.len() == 4 { cell.parse::<i32>().ok() } else { None };
    let years: Vec<i32> = labels.iter().filter_map(|(_, label)| bare_year(label.date.as_ref()?)).collect();
    let is_next = |pair: &[i32]| (1..=3).contains(&(pair[1] - pair[0]).abs());
    let has_days = labels.iter().any(|(_, label)| label.date.as_ref().is_some_and(|date| bare_year(date).is_none()));
    if !years.is_empty() && (has_days || !years.windows(2).all(is_next)) {
        return false;
    }
    // `IR 1` and `IR 2` beside `Date 1` and `Date 2` are known by their numbers.
    let numbers: BTreeSet<&str> = labels
        .iter()
        .filter(|(_, label)| label.field == Some(Field::Column(Column::TestedOn)))
        .filter_map(|(_, label)| label.occasion.as_deref())
        .collect();
    let is_numbered = |at: usize| {
        numbers.len() > 1
            && label::number_of_test(&row.cells[at])
                .is_some_and(|(number, rest)| numbers.contains(number) && reader.read(&rest).column().is_some())
    };
    let known = labels.iter().filter(|(at, label)| label.is_known() || is_numbered(*at)).count();
    let is_connection = |label: &Label| label.field == Some(Field::Column(Column::Connection));
    let keys = labels.iter().filter(|(_, label)| label.is_key() || is_connection(label)).count();
    let dates: Vec<usize> = labels.iter().filter(|(_, label)| label.is_dated()).map(|(at, _)| *at).collect();
    // `Motor` beside one day: the sheet of a single round.
    let is_one_round = dates.len() == 1
        && years.is_empty()
        && labels[0].1.field == Some(Field::Column(Column::Winding))
        && labels.iter().all(|(_, label)| label.is_known() && !is_time(label.field));
    let connections = labels.iter().filter(|(_, label)| label.connection.is_some()).count();
    // A limit, a mean or a verdict may follow the dates.
    let is_beside_dates = |at: usize| {
        let cell = row.cells[at].as_str();
        aliases::says_limit(cell) || is_summary(cell) || is_derived(cell) || verdicts::heads_verdicts(cell)
    };
    let all_known_from = |first: usize| {
        labels.iter().filter(|(at, _)| *at >= first).all(|(at, label)| label.is_known() || is_beside_dates(*at))
    };
    // `TM1`, `TM2` beside a day and the name of what they belong to.
    let open = labels.iter().filter(|(at, label)| !label.is_known() || label.unknown && !is_beside_dates(*at));
    let open: Vec<&str> =
        open.map(|(at, _)| row.cells[*at].as_str()).filter(|cell| !aliases::names_a_count(cell)).collect();
    let are_numbered = open.len() > 1 && known >= 2 && are_of_one_series(open.iter().copied());
    let has_time = labels.iter().any(|(_, label)| is_time(label.field));
    let has = |is: &dyn Fn(Column) -> bool| labels.iter().any(|(_, label)| label.column().is_some_and(is));
    let names_all =
        has(&|column| column == Column::Winding) && has(&|column| column == Column::TestedOn) && has(&is_reading);
    (keys > 0 && known >= 2 && dates.len() != 1 && 2 * known >= labels.len())
        || names_all && !has_number
        || (keys > 0 && has_time && are_numbered && !has_number)
        || is_across
        || is_one_round
        || (dates.len() >= 2 && all_known_from(dates[0]))
        || (connections >= 2 && dates.is_empty())
}

/// Whether headers are letters with numbers after them, the letters the same and each number another: `TM1`, `TM2`.
pub(super) fn are_of_one_series<'h>(headers: impl Iterator<Item = &'h str>) -> bool {
    let (mut letters, mut numbers) = (BTreeSet::new(), BTreeSet::new());
    for header in headers {
        let name = header.trim();
        let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
        let is_stem = !stem.is_empty()
            && stem.len() < name.len()
            && stem.chars().all(|c| c.is_alphabetic() || matches!(c, '-' | ' ' | '.'));
        if !is_stem || label::names_tests(stem) || !numbers.insert(&name[stem.len()..]) {
            return false;
        }
        letters.insert(stem.to_lowercase());
    }
    letters.len() == 1
}

/// Words of rows that sum up others or say what is allowed.
const SUMMARIES: &[&str] = &[
    "gemiddeld",
    "gem",
    "totaal",
    "durchschnitt",
    "durchschnittswert",
    "mittel",
    "mittelw",
    "schnitt",
    "ø",
    "moy",
    "mínimo",
    "minimo",
    "laagste",
    "hoogste",
    "kleinste",
    "doorsnee",
    "gesamt",
    "mediana",
    "worst",
    "grenswaarde",
    "subtotal",
    "aantal",
    "anzahl",
    "count",
    "medio",
    "máximo",
    "maximo",
    "average",
    "avg",
    "mean",
    "total",
    "totals",
    "sum",
    "min",
    "minimum",
    "max",
    "maximum",
    "median",
    "limit",
    "limits",
    "target",
    "std",
    "alarm",
    "alert",
    "accept",
    "acceptable",
    "acceptance",
    "allowed",
    "required",
    "criteria",
    "criterion",
    "spec",
    "threshold",
    "lowest",
    "highest",
    "mittelwert",
    "summe",
    "grenzwert",
    "mindestwert",
    "moyenne",
    "somme",
    "limite",
    "seuil",
    "promedio",
    "suma",
    "límite",
    "media",
    "somma",
    "média",
    "soma",
    "gemiddelde",
    "som",
    "limiet",
    "alerte",
    "alarme",
    "sollwert",
    "maximalwert",
    "minimalwert",
    "vorjahr",
    "referenz",
    "référence",
    "referencia",
    "riferimento",
    "totale",
    "totali",
];
/// Words that stand beside them.
const BESIDE_SUMMARIES: [&str; 32] = [
    "this",
    "round",
    "d",
    "de",
    "di",
    "du",
    "la",
    "le",
    "il",
    "del",
    "plant",
    "overall",
    "site",
    "fleet",
    "value",
    "values",
    "reading",
    "readings",
    "of",
    "all",
    "the",
    "dev",
    "deviation",
    "level",
    "ir",
    "mω",
    "mohm",
    "wert",
    "valeur",
    "valor",
    "valore",
    "waarde",
];

/// Whether a word speaks of a summary or of what is allowed.
pub(super) fn sums_up(word: &str) -> bool {
    SUMMARIES.contains(&word)
}

/// Whether a text is the name of a row that sums up others or says what is allowed: `Average`, `Min. value (MΩ)`.
pub(super) fn is_summary(text: &str) -> bool {
    let lower = text.to_lowercase().replace('\u{2126}', "ω");
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_beside = |word: &&str| sums_up(word) || BESIDE_SUMMARIES.contains(word);
    is_total(text) || (words.iter().any(|word| sums_up(word)) && words.iter().all(is_beside))
}

/// Whether a header names totals or means of the columns before it, as in pivot tables. `Lowest` is not one of them.
pub(super) fn is_total(header: &str) -> bool {
    const WORDS: [&str; 20] = [
        "total",
        "grand total",
        "total general",
        "total général",
        "total geral",
        "totale complessivo",
        "eindtotaal",
        "gesamtergebnis",
        "gesamt",
        "average",
        "avg",
        "mean",
        "mittelwert",
        "moyenne",
        "promedio",
        "media",
        "média",
        "gemiddelde",
        "gemiddeld",
        "durchschnitt",
    ];
    WORDS.contains(&header.trim().to_lowercase().as_str())
}

/// Whether one reading has a column in each of two units, `IR (MΩ)` and `IR (GΩ)`, of which every row fills one.
pub(super) fn are_in_two_units<'l>(rows: &[GridRow], labels: impl Iterator<Item = (usize, &'l Label)>) -> bool {
    let is_bare = |label: &Label| {
        label.connection.is_none() && label.stage.is_none() && label.occasion.is_none() && !label.is_dated()
    };
    let of = |(at, label): (usize, &Label)| match label.column().filter(|_| is_bare(label) && label.ohms.is_some())? {
        Column::Reading(time, unit) => Some((at, Some(time), unit)),
        Column::Resistance(unit) => Some((at, None, unit)),
        _ => None,
    };
    let readings: Vec<_> = labels.filter_map(of).collect();
    let [(one, time, unit), (other, other_time, other_unit)] = readings[..] else { return false };
    let is_filled = |row: &GridRow, at: usize| !row.cells[at].is_empty();
    let fills = |at: usize| rows.iter().any(|row| is_filled(row, at));
    let fills_both = || rows.iter().any(|row| is_filled(row, one) && is_filled(row, other));
    time == other_time && unit != other_unit && fills(one) && fills(other) && !fills_both()
}

/// Names of the windings of one machine.
const COMPONENTS: [&str; 57] = [
    "stator",
    "rotor",
    "field",
    "main field",
    "armature",
    "exciter",
    "exciter field",
    "exciter armature",
    "exciter stator",
    "exciter rotor",
    "main stator",
    "main rotor",
    "main winding",
    "pmg",
    "pmg stator",
    "pmg winding",
    "pilot exciter",
    "main exciter",
    "auxiliary stator",
    "aux winding",
    "start winding",
    "auxiliary winding",
    "main",
    "auxiliary",
    "interpoles",
    "compensating",
    "series field",
    "shunt field",
    "stator winding",
    "rotor winding",
    "field winding",
    "high speed",
    "low speed",
    "primary",
    "secondary",
    "ständer",
    "läufer",
    "anker",
    "erreger",
    "erregerwicklung",
    "estator",
    "inducido",
    "statore",
    "rotore",
    "inducteur",
    "induit",
    "rotorwicklung",
    "hv",
    "lv",
    "hv winding",
    "lv winding",
    "statorwicklung",
    "ständerwicklung",
    "läuferwicklung",
    "excitador",
    "eccitatrice",
    "excitatrice",
];

/// Whether a text names one of the windings of a machine.
pub(super) fn is_component(text: &str) -> bool {
    COMPONENTS.contains(&text.to_lowercase().as_str())
}

/// Of several columns of names, those that name the machines, and the one that tells the windings of one machine apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Names {
    /// Columns with a name for each machine; areas, which have several machines, are left out.
    pub(super) machines: Vec<usize>,
    /// The column whose texts stand beside several machines, as each machine stands beside several of them.
    pub(super) component: Option<usize>,
}

impl Names {
    /// Looks through columns of names, of which those count that surely name machines or windings: an `ID` may number rows.
    pub(super) fn of(rows: &[GridRow], named: &[usize], header: impl Fn(usize) -> String) -> Self {
        if named.len() < 2 {
            return Self { machines: named.to_vec(), component: None };
        }
        let is_sure = |place: &usize| {
            let name = header(*place);
            Column::read(&name) == Some(Column::Winding) || matches!(aliases::read(&name), Some(Meaning::Sure(_)))
        };
        let sure: Vec<usize> = named.iter().copied().filter(is_sure).collect();
        let places = if sure.is_empty() { named } else { &sure };
        let has_several = |of: usize, others: usize| {
            let mut seen: BTreeMap<&str, &str> = BTreeMap::new();
            rows.iter().any(|row| {
                let (one, other) = (row.cells[of].as_str(), row.cells[others].as_str());
                !one.is_empty() && !other.is_empty() && *seen.entry(one).or_insert(other) != other
            })
        };
        let distinct = |place: usize| rows.iter().map(|row| row.cells[place].as_str()).collect::<BTreeSet<_>>().len();
        let are_components = |place: &usize| {
            let mut cells = rows.iter().map(|row| row.cells[*place].as_str()).filter(|cell| !cell.is_empty());
            cells.all(is_component)
        };
        // Usual words tell windings apart in a file of one machine too, where nothing crosses.
        let by_words = places.iter().copied().find(|place| distinct(*place) > 1 && are_components(place));
        let is_area = |one: &usize| {
            let mut others = places.iter().filter(|other| *other != one && Some(**other) != by_words);
            others.any(|other| has_several(*one, *other) && !has_several(*other, *one))
        };
        let mut machines: Vec<usize> = places.iter().copied().filter(|place| !is_area(place)).collect();
        let crosses = |one: usize| machines.iter().any(|other| has_several(one, *other) && has_several(*other, one));
        let component = by_words.filter(|own| machines.iter().any(|place| place != own)).or_else(|| {
            let crossing = machines.iter().copied().filter(|place| crosses(*place));
            // A misspelt word must not turn the names round.
            let are_others = |place: usize| {
                share(rows.iter().map(|row| row.cells[place].as_str()), &|cell| is_component(cell)) < 0.5
            };
            crossing.min_by_key(|place| (are_others(*place), distinct(*place)))
        });
        machines.retain(|place| Some(*place) != component);
        Self { machines, component }
    }

    /// The column of names: of our own name, else one that surely names machines, else the first.
    pub(super) fn winding(&self, header: impl Fn(usize) -> String) -> Option<usize> {
        let rank = |place: &usize| {
            let name = header(*place);
            let is_sure = matches!(aliases::read(&name), Some(Meaning::Sure(_)));
            if Column::read(&name) == Some(Column::Winding) { 0 } else { 2 - i32::from(is_sure) }
        };
        self.machines.iter().copied().min_by_key(rank)
    }
}

/// The column that tells the windings of one machine apart by usual words, where one machine has several.
pub(super) fn component_column(rows: &[GridRow], winding: usize, free: impl Iterator<Item = usize>) -> Option<usize> {
    let has_several = |place: usize| {
        let mut of: BTreeMap<&str, &str> = BTreeMap::new();
        rows.iter().any(|row| {
            let (machine, part) = (row.cells[winding].as_str(), row.cells[place].as_str());
            !part.is_empty() && *of.entry(machine).or_insert(part) != part
        })
    };
    let is_all = |place: usize| {
        let mut cells = rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty()).peekable();
        cells.peek().is_some() && cells.all(is_component)
    };
    free.filter(|place| *place != winding).find(|place| is_all(*place) && has_several(*place))
}

/// A column of machines, as its header says, of which some have several windings in a column that is called so: `Fan` beside `Winding`.
pub(super) fn machine_column(
    rows: &[GridRow],
    winding: usize,
    header: impl Fn(usize) -> String,
    free: impl Iterator<Item = usize>,
) -> Option<usize> {
    let has_several = |place: usize| {
        let mut of: BTreeMap<&str, &str> = BTreeMap::new();
        rows.iter().any(|row| {
            let (machine, part) = (row.cells[place].as_str(), row.cells[winding].as_str());
            !machine.is_empty() && !part.is_empty() && *of.entry(machine).or_insert(part) != part
        })
    };
    let is_of_windings = aliases::is_kind(&header(winding), "winding");
    let mut found =
        free.filter(|at| is_of_windings && aliases::names_kind_of_machine(&header(*at)) && has_several(*at));
    found.next().filter(|_| found.next().is_none())
}

/// A reading and the date that one cell holds: `450 MΩ (14.03.2023)`.
pub(super) fn reading_and_date(cell: &str) -> Option<(&str, &str)> {
    const LONGEST: usize = 60;
    if cell.len() > LONGEST || !cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>')) {
        return None;
    }
    // `3 mars 2026` is a day, and no 3 MΩ of that month.
    if label::is_date(cell) {
        return None;
    }
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']');
    let is_mark = |c: char| is_gap(c) || matches!(c, ',' | ';' | ':' | '@' | '–');
    // A year alone may be anything.
    let is_day = |text: &str| text.len() > 5 && label::is_date(text);
    let gaps = cell.char_indices().filter(|(_, c)| is_gap(*c));
    let mut parts = gaps.map(|(at, _)| (cell[..at].trim_matches(is_mark), cell[at..].trim_matches(is_mark)));
    parts.find_map(|(one, other)| {
        if is_day(other) && reads(one) {
            Some((one, other))
        } else {
            (is_day(one) && reads(other)).then_some((other, one))
        }
    })
}

/// Whether most filled cells of a column hold a reading and its date.
pub(super) fn holds_dated_readings(rows: &[GridRow], place: usize) -> bool {
    let cells = || rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
    let dated = cells().filter(|cell| reading_and_date(cell).is_some()).count();
    dated > 0 && 10 * dated > 7 * cells().count()
}

/// Whether all cells of a column are times of day.
pub(super) fn holds_clock(rows: &[GridRow], place: usize) -> bool {
    let mut cells = rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty()).peekable();
    cells.peek().is_some() && cells.all(is_clock)
}

/// What a cell says as a fitter would mean it, whichever its decimal mark is: a resistance, or `None` for what was not done.
pub(super) fn meant(cell: &str) -> Option<Option<Measured>> {
    let read = |decimal_comma| {
        let rules = CellRules { decimal_comma, ..CellRules::default() };
        if let Ok(read) = rules.read(cell) {
            return Some(read);
        }
        match free_form::read(cell, &rules).ok()? {
            Meant::NotDone => Some(None),
            Meant::Reading(cell) | Meant::Noted(cell, _) | Meant::Lower(cell, _) => Some(rules.read(&cell).ok()?),
        }
    };
    read(false).or_else(|| read(true))
}

/// Longer texts without a number are notes.
const LONGEST_CODE: usize = 10;

/// Whether most cells of a column can be readings, of those that say something: `n/a`, `ok` and `TBC` do not.
pub(super) fn holds_readings(rows: &[GridRow], place: usize) -> bool {
    let says_nothing =
        |cell: &str| !cell.contains(|c: char| c.is_ascii_digit()) && cell.chars().count() <= LONGEST_CODE;
    let (mut readings, mut others) = (0, 0);
    for cell in rows.iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty()) {
        match meant(cell) {
            Some(Some(_)) => readings += 1,
            Some(None) => {}
            None if says_nothing(cell) => {}
            None => others += 1,
        }
    }
    3 * readings > 7 * others
}

/// Whether a header that is not understood speaks of readings all the same: by a date, a pair of conductors, a unit of large resistances.
pub(super) fn says_reading(header: &str, label: &Label) -> bool {
    // One that is understood, and not read because another column is, holds readings all the same.
    let is_open =
        label.field.is_none() || label.unknown || (label.column().is_some_and(is_reading) && !label.is_of_an_earlier());
    let has_unit = matches!(label.ohms, Some(unit) if unit != ResistanceUnit::Ohm);
    is_open
        && !aliases::names_something_else(header)
        && !aliases::has_unit_of_something_else(header)
        && !is_summary(header)
        && !aliases::names_a_target(header)
        && (label.is_dated()
            || label.connection.is_some()
            || label.stage.is_some()
            || label.occasion.is_some()
            || label.phase.is_some()
            || has_unit
            || aliases::names_insulation(header)
            || aliases::names_a_further_reading(header)
            || names_multiplier(header)
            || names_part(header))
}

/// Whether a header names what the readings are multiplied by.
fn names_multiplier(header: &str) -> bool {
    let lower = header.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_word = |word: &&str| {
        matches!(
            *word,
            "multiplier"
                | "multiplikator"
                | "multiplicateur"
                | "multiplicador"
                | "moltiplicatore"
                | "factor"
                | "faktor"
                | "facteur"
                | "scale"
                | "range"
                | "exp"
                | "exponent"
                | "x"
        )
    };
    words.iter().any(is_word)
        && !words.iter().any(|word| {
            matches!(*word, "correction" | "temp" | "temperature" | "power" | "kt" | "full" | "service" | "load")
        })
}

/// Whether a header names a part of a machine that has insulation of its own, and not what is done with it or its conductor.
fn names_part(header: &str) -> bool {
    let lower = header.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_other = |word: &&str| {
        matches!(
            *word,
            "temp"
                | "temperature"
                | "current"
                | "speed"
                | "no"
                | "nr"
                | "id"
                | "ohm"
                | "mohm"
                | "resistance"
                | "serial"
                | "amps"
                | "voltage"
                | "kv"
        )
    };
    is_component(&words.join(" "))
        || (words.iter().any(|word| matches!(*word, "neutral" | "rotor" | "exciter" | "armature" | "winding"))
            && !words.iter().any(is_other))
}

/// Whether a header says that its numbers follow from readings: a corrected resistance, a ratio, a limit.
pub(in crate::ingest) fn is_derived(header: &str) -> bool {
    const DERIVED: [&str; 24] = [
        "corrected",
        "corr",
        "correction",
        "normalised",
        "normalized",
        "calculated",
        "calc",
        "korrigiert",
        "korr",
        "corrigé",
        "corrigée",
        "corregido",
        "corregida",
        "corretto",
        "corretta",
        "corrigido",
        "corrigida",
        "gecorrigeerd",
        "pi",
        "dar",
        "ratio",
        "change",
        "difference",
        "trend",
    ];
    let lower = header.to_lowercase();
    // `IR at 40 °C`
    let is_at_reference = aliases::units(header).is_some_and(|units| units.scale.is_some());
    is_at_reference
        || aliases::names_index(header)
        || lower.split(|c: char| !c.is_alphanumeric()).any(|word| DERIVED.contains(&word) || sums_up(word))
}
