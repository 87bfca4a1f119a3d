//! Points and commas in numbers: which of them is the decimal mark and which separates thousands, as the other numbers of the
//! file prove.
//!
//! `1.200` may be 1.2 or 1200. Where the same columns also hold `1.250,5`, the point separates thousands; where they hold
//! `0.85` and no comma, it is the decimal mark. Numbers that contradict each other prove nothing.

/// What the numbers of the resistance columns of a file prove.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    /// The mark that separates thousands, and a number that proves it.
    thousands: Option<(char, String)>,
    /// The decimal mark, and a number that proves it.
    decimal: Option<(char, String)>,
}

/// A number that is settled by others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settled {
    /// The cell with the decimal mark of the file and no other.
    pub cell: String,
    /// Whether the mark separates thousands; else it is the decimal mark.
    pub thousands: bool,
    /// A number that proves it.
    pub proof: String,
}

impl Marks {
    /// What these cells prove.
    pub fn of<'a>(cells: impl Iterator<Item = &'a str>) -> Self {
        let mut thousands: Vec<(char, &str)> = Vec::new();
        let mut decimal = thousands.clone();
        let note = |found: &mut Vec<(char, &'a str)>, mark: char, cell: &'a str| {
            if !found.iter().any(|(other, _)| *other == mark) {
                found.push((mark, cell));
            }
        };
        for cell in cells {
            let Some((_, number, _)) = split(cell) else { continue };
            let marks: Vec<char> = number.chars().filter(|c| matches!(c, '.' | ',')).collect();
            match marks.as_slice() {
                [] => {}
                [only] if is_group(number, *only) => {}
                [only] => note(&mut decimal, *only, cell),
                [first, .., last] if first != last && marks.iter().filter(|mark| *mark == last).count() == 1 => {
                    note(&mut thousands, *first, cell);
                    note(&mut decimal, *last, cell);
                }
                [first, rest @ ..] if rest.iter().all(|mark| mark == first) => note(&mut thousands, *first, cell),
                _ => return Self::default(),
            }
        }
        let only = |found: &[(char, &str)], others: &[(char, &str)]| match found {
            [(mark, cell)] if !others.iter().any(|(other, _)| other == mark) => Some((*mark, (*cell).to_owned())),
            _ => None,
        };
        let (separator, point) = (only(&thousands, &decimal), only(&decimal, &thousands));
        // Two decimal marks contradict each other.
        if decimal.len() > 1 { Self::default() } else { Self { thousands: separator, decimal: point } }
    }

    /// A number that proves the comma to be the decimal mark, where one does.
    #[must_use]
    pub fn decimal_comma(&self) -> Option<&str> {
        self.decimal.as_ref().filter(|(mark, _)| *mark == ',').map(|(_, proof)| proof.as_str())
    }

    /// A cell with one mark and three digits after it, as the other numbers prove it; `None` where they do not. Where people say which the
    /// decimal mark is, it `is_said`, and one number that agrees with them is enough.
    #[must_use]
    pub fn settle(&self, cell: &str, decimal_comma: bool, is_said: bool) -> Option<Settled> {
        let (before, number, after) = split(cell)?;
        let own = if decimal_comma { ',' } else { '.' };
        let mark = number.chars().find(|c| matches!(c, '.' | ','))?;
        if mark == own {
            return None;
        }
        if !is_group(number, mark) {
            // `9,3` can mean nothing else.
            let is_single =
                number.matches(['.', ',']).count() == 1 && !number.ends_with(mark) && !number.starts_with(mark);
            let cell_read = format!("{before}{}{after}", number.replace(mark, &own.to_string()));
            return is_single.then(|| Settled { cell: cell_read, thousands: false, proof: cell.to_owned() });
        }
        let (number, thousands, proof) = match (&self.thousands, &self.decimal) {
            (Some((separator, proof)), _) if *separator == mark => (number.replace(mark, ""), true, proof),
            (None, Some((point, proof))) if *point == mark => (number.replace(mark, &own.to_string()), false, proof),
            (None, Some((point, proof))) if is_said && *point == own => (number.replace(mark, ""), true, proof),
            _ => return None,
        };
        Some(Settled { cell: format!("{before}{number}{after}"), thousands, proof: proof.clone() })
    }
}

/// What stands before, in and after the number of a cell that begins with one.
fn split(cell: &str) -> Option<(&str, &str, &str)> {
    let start = cell.find(|c: char| c.is_ascii_digit())?;
    let before = &cell[..start];
    if !before.chars().all(|c| matches!(c, '>' | '<' | '=' | '≥' | '≤' | '~' | ' ')) {
        return None;
    }
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let length = cell[start..].find(|c: char| !is_part(c)).unwrap_or(cell.len() - start);
    // A comma or full stop at the end is punctuation: `410, rechecked`.
    let length = cell[start..start + length].trim_end_matches(['.', ',']).len();
    let (number, after) = cell[start..].split_at(length);
    Some((before, number, after))
}

/// Whether a number has one mark and reads as thousands: `1.200`, and not `0.500`, `1.20` or `1200.5`.
fn is_group(number: &str, mark: char) -> bool {
    number.split_once(mark).is_some_and(|(whole, rest)| {
        (1..=3).contains(&whole.len())
            && !whole.starts_with('0')
            && rest.len() == 3
            && rest.bytes().all(|byte| byte.is_ascii_digit())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn punctuation_after_a_number_is_no_decimal_mark() {
        assert_eq!(Marks::of(["410, rechecked", "405."].into_iter()), Marks::default());
    }

    fn settled(cells: &[&str], cell: &str, decimal_comma: bool) -> Option<(String, bool)> {
        Marks::of(cells.iter().copied())
            .settle(cell, decimal_comma, false)
            .map(|settled| (settled.cell, settled.thousands))
    }

    #[test]
    fn other_numbers_settle_what_a_mark_means() {
        let thousands = |cell: &str| Some((cell.to_owned(), true));
        assert_eq!(settled(&["1.250,0", "980,5"], "12.500", true), thousands("12500"));
        assert_eq!(settled(&["1.250.000"], "> 1.200 kΩ", true), thousands("> 1200 kΩ"));
        assert_eq!(settled(&["1,250.5"], "12,500", false), thousands("12500"));
        assert_eq!(settled(&["0.85", "12.5"], "1.200", true), Some(("1,200".to_owned(), false)));
    }

    #[test]
    fn a_decimal_mark_that_people_say_settles_what_parts_thousands() {
        let settled = |cells: &[&str], cell: &str| {
            let settled = Marks::of(cells.iter().copied()).settle(cell, true, true)?;
            Some((settled.cell, settled.thousands))
        };
        assert_eq!(settled(&["62,5"], "1.250"), Some(("1250".to_owned(), true)));
        assert_eq!(settled(&["412"], "1.250"), None, "no number of the file agrees");
        assert_eq!(settled(&["0.85"], "1.250"), Some(("1,250".to_owned(), false)), "the file contradicts them");
        assert_eq!(settled(&["0.85", "62,5"], "1.250"), None);
    }

    #[test]
    fn what_proves_nothing_or_contradicts_itself_settles_nothing() {
        for cells in
            [&[][..], &["980,5"], &["1.200", "412"], &["1.250,0", "0.85"], &["0.85", "980,5"], &["1.250,0", "1,250.0"]]
        {
            assert_eq!(settled(cells, "1.200", true), None, "{cells:?}");
        }
        assert_eq!(settled(&["0.85"], "9,3", false), Some(("9.3".to_owned(), false)), "which can mean nothing else");
        // The decimal mark of the file is never thousands.
        assert_eq!(settled(&["1,250.5"], "1.200", false), None);
    }
}
