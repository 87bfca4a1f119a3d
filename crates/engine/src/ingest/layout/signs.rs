//! Signs of bounds in a column of their own, `<` beside `500`: they are put before the reading that they belong to.

use super::SheetName;
use super::blocks::Block;
use super::cells::holds_readings;
use super::grid::GridRow;
use super::label_reader::LabelReader;
use crate::error::Failure;
use crate::ingest::kinds::is_reading;

/// Bytes of the longest word for a sign.
const LONGEST_WORD: usize = 14;

/// What a cell says of the reading beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sign {
    Below,
    Above,
    Exact,
}

impl Sign {
    /// A sign alone in its cell.
    fn read(cell: &str) -> Option<Self> {
        match cell {
            "<" | "≤" | "<=" | "=<" => Some(Self::Below),
            ">" | "≥" | ">=" | "=>" => Some(Self::Above),
            "=" => Some(Self::Exact),
            _ => None,
        }
    }

    /// A word for one, in a column that holds nothing else.
    fn word(cell: &str) -> Option<Self> {
        match cell.to_lowercase().as_str() {
            "below" | "less than" | "unter" | "kleiner als" | "kleiner dan" | "inférieur" | "menor que"
            | "minore di" => Some(Self::Below),
            "above" | "more than" | "greater than" | "über" | "größer als" | "groter dan" | "supérieur"
            | "mayor que" | "maggiore di" => Some(Self::Above),
            "exact" => Some(Self::Exact),
            _ => None,
        }
    }

    const fn mark(self) -> &'static str {
        match self {
            Self::Below => "<",
            Self::Above => ">",
            Self::Exact => "",
        }
    }
}

/// Whether any cell of these rows may be a sign.
pub(super) fn are_there(rows: &[GridRow]) -> bool {
    let may_be = |cell: &str| {
        cell.len() <= LONGEST_WORD
            && !cell.bytes().any(|byte| byte.is_ascii_digit())
            && (Sign::read(cell).is_some() || Sign::word(cell).is_some())
    };
    rows.iter().flat_map(GridRow::filled).any(|(_, cell)| may_be(cell))
}

/// A sign and the reading that it belongs to.
pub(super) struct Signed {
    /// Line of the row.
    line: u64,
    /// Column of the sign.
    place: usize,
    /// Column of the reading.
    reading: usize,
    sign: Sign,
}

/// The signs of a sheet beside the readings that they belong to.
///
/// # Errors
///
/// The question about a column of signs beside which it cannot be seen which reading is meant.
pub(super) fn find(
    blocks: &[Block<'_>],
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
) -> Result<Vec<Signed>, Failure> {
    let mut found = Vec::new();
    for block in blocks {
        let width = block.headers.first().map_or(0, |row| row.cells.len());
        let labels = |place: usize| block.headers.iter().map(move |row| reader.read(&row.cells[place]));
        let is_read = |place: usize| labels(place).any(|label| label.column().is_some_and(is_reading));
        let readings: Vec<usize> =
            (0..width).filter(|place| is_read(*place) && holds_readings(block.rows, *place)).collect();
        for place in (0..width).filter(|place| !is_read(*place)) {
            let is_ours = block.headers.iter().any(|row| row.cells[place].to_lowercase().ends_with("_bound"));
            if is_ours || labels(place).any(|label| label.left_out) {
                continue;
            }
            let signs = signs_in(block.rows, place);
            if signs.iter().all(|(_, sign)| *sign == Sign::Exact) {
                continue;
            }
            let beside = [Some(place + 1), place.checked_sub(1)].into_iter().flatten().find(|at| readings.contains(at));
            let only = (readings.len() == 1).then(|| readings[0]);
            let Some(reading) = only.or(beside) else {
                let (line, sign) = signs[0];
                return Err(not_read(name, &Signed { line, place, reading: place, sign }));
            };
            found.extend(signs.into_iter().map(|(line, sign)| Signed { line, place, reading, sign }));
        }
    }
    Ok(found)
}

/// The signs in a column with the lines of their rows: words too, where it holds nothing else.
fn signs_in(rows: &[GridRow], place: usize) -> Vec<(u64, Sign)> {
    let filled = || rows.iter().map(|row| (row.line, row.cells[place].as_str())).filter(|(_, cell)| !cell.is_empty());
    let all = filled().map(|(line, cell)| Some((line, Sign::read(cell).or_else(|| Sign::word(cell))?)));
    let alone = || filled().filter_map(|(line, cell)| Some((line, Sign::read(cell)?))).collect();
    all.collect::<Option<Vec<(u64, Sign)>>>().unwrap_or_else(alone)
}

/// The question about a sign of which it is not understood what reading it belongs to.
pub(super) fn not_read(name: SheetName<'_>, sign: &Signed) -> Failure {
    let message = format!(
        "{}: row {} has {} in column {}, and it is not understood of which reading",
        name.place,
        sign.line,
        if sign.sign == Sign::Above { ">" } else { "<" },
        sign.place + 1
    );
    Failure::usage(message).hint("write the sign before the number that it belongs to, such as >1000 or <0.5")
}

/// Puts signs before their readings, and takes them out of their own cells.
pub(super) fn join(rows: &mut [GridRow], signs: &[Signed]) {
    for signed in signs {
        let Ok(at) = rows.binary_search_by_key(&signed.line, |row| row.line) else { continue };
        let cells = &mut rows[at].cells;
        cells[signed.place].clear();
        let reading = &mut cells[signed.reading];
        if !reading.starts_with(['<', '>', '≤', '≥']) {
            reading.insert_str(0, signed.sign.mark());
        }
    }
}
