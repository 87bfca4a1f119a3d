//! Units that a spreadsheet shows after numbers because of their number format: `840` under `0" kΩ"` looks like `840 kΩ`, and is read so.
//! Names that it shows otherwise than they are stored, too: `410012` under `00000000` looks like `00410012`.
//!
//! A format can also divide what it shows by a thousand, `0.0," kΩ"`: then the number that is stored has the smaller unit.
//!
//! # References
//!
//! ECMA-376 part 1, 18.8.30 and 18.8.31 (numFmt), 18.8.45 (xf), 18.3.1.4 (c), 18.2.19 (sheet). Open Document Format for Office
//! Applications 1.3, part 3, 16.29 (data styles), 19.348 (display factor), 16.3 (style:map).

use super::trouble::Trouble;
use super::unit::Unit;
use super::unpack::stream_of;
use super::xml_attributes::{attribute, column_of};
use super::{said_unit, xml_cells};
use groundwall::record::columns::TemperatureScale;
use groundwall::resistance::ResistanceUnit;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::io::{BufRead, BufReader};
use std::rc::Rc;

/// What a format shows after a number, other than MΩ: a unit of resistance, or another text, which rejects the reading.
pub(super) type Shown = &'static str;

const UNITS: [ResistanceUnit; 5] = [
    ResistanceUnit::Ohm,
    ResistanceUnit::Kilohm,
    ResistanceUnit::Megohm,
    ResistanceUnit::Gigohm,
    ResistanceUnit::Teraohm,
];
/// Where the parts of a format disagree, or the unit is none that there is.
const UNCLEAR: Shown = "of several units";
/// Where a format divides by thousands and names no unit: what is seen is not what is stored.
const DIVIDED: Shown = "divided by thousands";

/// A unit that a text of a format names, and how many thousands the number that is shown is smaller than the one that is stored.
fn stored(text: &str, thousands: usize) -> Option<Shown> {
    let is_prefix = matches!(text.trim(), "k" | "K");
    let is_ohm = |word: &&str| word.to_lowercase().replace(['\u{2126}', 'ω'], "ohm").contains("ohm");
    let unit = match Unit::read(text) {
        Some(Unit::Ohms(unit)) if is_prefix || is_ohm(&text) => Some(unit),
        _ => {
            let word = text.split_whitespace().find(is_ohm)?;
            match Unit::read(word) {
                Some(Unit::Ohms(unit)) => Some(unit),
                _ => None,
            }
        }
    };
    let Some(unit) = unit else { return Some("mΩ") };
    let place = UNITS.iter().position(|own| *own == unit)?;
    let Some(unit) = place.checked_sub(thousands).map(|place| UNITS[place]) else { return Some(UNCLEAR) };
    Some(said_unit::symbol(Some(unit)))
}

/// The unit of a number that is stored, as the parts of its format say it.
fn agreed(parts: impl Iterator<Item = Option<Shown>>) -> Option<Shown> {
    let mut named = parts.flatten();
    let first = named.next()?;
    Some(if named.all(|other| other == first) { first } else { UNCLEAR })
}

/// Whether a unit need be said: a bare number is in MΩ, or in the unit of the header.
fn is_other(unit: &Shown) -> bool {
    *unit != said_unit::symbol(Some(ResistanceUnit::Megohm))
}

/// A format code has no more parts: of numbers above zero, below it, of zero, and of texts (ISO/IEC 29500-1, 18.8.31, from memory).
const MOST_SECTIONS: usize = 4;

/// The parts of a format code such as `0" kΩ"`, `#,##0.0,\ [$kΩ]` or `[<1000]"<"0;0`.
fn sections(code: &str) -> Vec<Section> {
    let (mut parts, mut part) = (Vec::new(), Section::default());
    let code = code.replace("General", "0");
    let mut chars = code.chars();
    while let Some(c) = chars.next() {
        match c {
            ';' => {
                parts.push(std::mem::take(&mut part));
                if parts.len() == MOST_SECTIONS {
                    return parts;
                }
            }
            '"' => {
                part.is_quoted = true;
                part.add(chars.by_ref().take_while(|c| *c != '"'));
            }
            '\\' => part.add(chars.next().into_iter()),
            // A blank as wide as a character, and a character that fills the cell.
            '_' | '*' => {
                chars.next();
            }
            '[' => {
                let inside: String = chars.by_ref().take_while(|c| *c != ']').collect();
                let currency = inside.strip_prefix('$').map(|rest| rest.split('-').next().unwrap_or_default());
                part.add(currency.unwrap_or_default().chars());
                part.condition = part.condition.take().or_else(|| Condition::read(&inside));
            }
            '0' | '#' | '?' => (part.has_digits, part.commas) = (true, 0),
            ',' => part.commas += usize::from(part.has_digits),
            '%' => part.is_percent = true,
            '.' | 'E' | 'e' | '+' | '-' | '/' | '@' | '(' | ')' => {}
            other => part.add([other].into_iter()),
        }
    }
    parts.push(part);
    parts
}

/// The unit of what these parts of a format show.
fn unit_of(parts: &[Section]) -> Option<Shown> {
    let named = |part: &Section| stored(&part.text(), part.commas).or((part.commas > 0).then_some(DIVIDED));
    agreed(parts.iter().filter(|part| part.has_digits).map(named)).filter(is_other)
}

/// What is seen after a number, as `kΩ` after `840 kΩ`.
pub(super) fn of_number(text: &str) -> Option<Shown> {
    let (_, after) = text.rsplit_once(|c: char| c.is_ascii_digit())?;
    stored(after, 0).filter(is_other)
}

/// What the format of a cell shows.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Format {
    /// A unit after a number.
    Unit(Shown),
    /// A name in place of a number.
    Name(Rc<NameFormat>),
    /// Other text beside a number or in its place, or a share as a percentage.
    Text(Rc<[Section]>),
}

impl Format {
    /// What a format code shows that is more than the number.
    pub(super) fn of_code(code: &str) -> Option<Self> {
        let parts = sections(code);
        if let Some(unit) = unit_of(&parts) {
            return Some(Self::Unit(unit));
        }
        if let Some(form) = NameFormat::of_code(code) {
            return Some(Self::Name(Rc::new(form)));
        }
        // Letters outside of quotes are those of dates and times.
        let is_date = parts.iter().any(|part| !part.has_digits && !part.is_quoted && says_more(&part.text()));
        let says_more = |part: &Section| part.is_percent || says_more(&part.text());
        (!is_date && parts.iter().any(says_more)).then(|| Self::Text(parts.into()))
    }
}

/// Whether text beside a number says more than the number does: it is neither a mark nor the unit that a bare number has.
fn says_more(text: &str) -> bool {
    let text = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '-' | '+' | '(' | ')' | '.' | ',' | '\''));
    let is_plain = matches!(
        Unit::read(text),
        Some(
            Unit::Volts | Unit::Percent | Unit::Degrees(TemperatureScale::Celsius) | Unit::Ohms(ResistanceUnit::Megohm)
        )
    );
    !text.is_empty() && !is_plain
}

/// What is seen in a cell of this number, where it is another text: `<930`, `930 void`, 48 % of 0.48.
pub(super) fn seen_by(parts: &[Section], number: &str) -> Option<String> {
    let value: f64 = number.replace(',', ".").parse().ok()?;
    let conditioned = parts.iter().any(|part| part.condition.is_some());
    let part = if conditioned {
        parts.iter().find(|part| part.condition.as_ref().is_none_or(|condition| condition.holds(value)))
    } else {
        let at = if value < 0.0 { 1 } else { usize::from(value == 0.0) * 2 };
        parts.get(at.min(2)).filter(|_| at < parts.len().min(3)).or(parts.first())
    }?;
    part.seen(number, value)
}

/// What is seen in place of a number, by its text: `< 930`, `930 void`.
pub(super) fn text_seen(number: &str, seen: &str) -> Option<String> {
    let is_digit = |c: char| c.is_ascii_digit();
    let (before, after) = match (seen.find(is_digit), seen.rfind(is_digit)) {
        (Some(first), Some(last)) => (&seen[..first], &seen[last + 1..]),
        _ => (seen, ""),
    };
    let is_percent = after.trim() == "%";
    let after = if is_percent { "" } else { after };
    let has_digits = seen.contains(is_digit);
    let part =
        Section { before: before.to_owned(), after: after.to_owned(), has_digits, is_percent, ..Section::default() };
    part.seen(number, number.replace(',', ".").parse().ok()?)
}

/// A format that shows whole numbers as names: with zeros before them, a word before them or hyphens inside.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct NameFormat(Vec<Part>);

#[derive(Clone, Copy, Debug, PartialEq)]
enum Part {
    /// A digit, and whether a zero is shown where there is none.
    Digit(bool),
    Text(char),
}

impl NameFormat {
    fn of_code(code: &str) -> Option<Self> {
        let code = code.replace("General", "0");
        let (mut parts, mut chars) = (Vec::new(), code.chars());
        while let Some(c) = chars.next() {
            match c {
                ';' => break,
                '"' => parts.extend(chars.by_ref().take_while(|c| *c != '"').map(Part::Text)),
                '\\' => parts.extend(chars.next().map(Part::Text)),
                '0' | '#' => parts.push(Part::Digit(c == '0')),
                '-' => parts.push(Part::Text(c)),
                // A quantity, a date, a condition or a fraction.
                _ => return None,
            }
        }
        let digits: Vec<usize> = (0..parts.len()).filter(|at| matches!(parts[*at], Part::Digit(_))).collect();
        let (first, last) = (*digits.first()?, *digits.last()?);
        let zeros = parts.iter().filter(|part| **part == Part::Digit(true)).count();
        let begins_with_a_word = matches!(parts[0], Part::Text(c) if c.is_alphabetic());
        let is_inside = |part: &Part| matches!(part, Part::Digit(_) | Part::Text('-'));
        let is_name = last + 1 == parts.len()
            && (first == 0 || begins_with_a_word)
            && parts[first..].iter().all(is_inside)
            && (zeros > 1 || digits.len() < parts.len());
        is_name.then_some(Self(parts))
    }

    /// The name that is seen where this whole number is stored.
    pub(super) fn show(&self, number: &str) -> Option<String> {
        if number.is_empty() || number.len() > 15 || !number.bytes().all(|byte| byte.is_ascii_digit()) {
            return None;
        }
        let mut left: Vec<char> = number.chars().collect();
        let first = self.0.iter().position(|part| matches!(part, Part::Digit(_)))?;
        let mut seen = Vec::new();
        for (at, part) in self.0.iter().enumerate().rev() {
            match part {
                Part::Text(c) => seen.push(*c),
                Part::Digit(zero) => seen.extend(left.pop().or(zero.then_some('0'))),
            }
            if at == first {
                seen.extend(left.drain(..).rev());
            }
        }
        Some(seen.into_iter().rev().collect())
    }
}

/// The name that is seen in a cell of a whole number, where it is another text: zeros or a word before it, hyphens inside.
pub(super) fn name_seen(number: &str, seen: &str) -> Option<String> {
    let seen = seen.trim();
    let at = seen.find(|c: char| c.is_ascii_digit())?;
    let (word, digits) = seen.split_at(at);
    let is_whole = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let bare: String = digits.chars().filter(|c| *c != '-').collect();
    let is_same = is_whole(number)
        && is_whole(&bare)
        && bare.trim_start_matches('0') == number.trim_start_matches('0')
        && (word.is_empty() || word.starts_with(char::is_alphabetic));
    (is_same && seen != number).then(|| seen.to_owned())
}

/// A part of a format code, up to a semicolon.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Section {
    condition: Option<Condition>,
    before: String,
    after: String,
    has_digits: bool,
    is_quoted: bool,
    is_percent: bool,
    /// Commas after the last digit: each divides by a thousand.
    commas: usize,
}

impl Section {
    fn add(&mut self, text: impl Iterator<Item = char>) {
        let side = if self.has_digits { &mut self.after } else { &mut self.before };
        side.extend(text);
    }

    fn text(&self) -> String {
        [self.before.as_str(), self.after.as_str()].join(" ")
    }

    /// The text that is displayed for a number, where it says more than the number. Text displayed in place of the number does not hide it.
    fn seen(&self, number: &str, value: f64) -> Option<String> {
        if self.is_percent {
            let percent = (value * 1e12).round() / 1e10;
            return Some(format!("{}{percent}%{}", self.before, self.after));
        }
        if !says_more(&self.text()) {
            return None;
        }
        Some(if self.has_digits {
            format!("{}{number}{}", self.before, self.after).trim().to_owned()
        } else {
            format!("{} = {number}", self.before.trim())
        })
    }
}

/// For which numbers a part of a format is: `<1000`.
#[derive(Clone, Debug, PartialEq)]
struct Condition {
    comparison: String,
    limit: f64,
}

impl Condition {
    fn read(text: &str) -> Option<Self> {
        let at = text.find(|c: char| c.is_ascii_digit() || matches!(c, '-' | '.'))?;
        let (comparison, limit) = text.split_at(at);
        let is_one = matches!(comparison, "<" | "<=" | ">" | ">=" | "=" | "<>");
        is_one.then_some(Self { comparison: comparison.to_owned(), limit: limit.parse().ok()? })
    }

    fn holds(&self, value: f64) -> bool {
        match self.comparison.as_str() {
            "<" => value < self.limit,
            "<=" => value <= self.limit,
            ">" => value > self.limit,
            ">=" => value >= self.limit,
            "=" => value.total_cmp(&self.limit).is_eq(),
            _ => value.total_cmp(&self.limit).is_ne(),
        }
    }
}

/// Numbers of the formats of percentages that every workbook has.
pub(super) const PERCENT: [u16; 2] = [9, 10];

/// Cells of a sheet, in order of row and column, with what their format shows.
pub(super) type Formatted = BTreeMap<(u32, u32), Format>;

/// The formats of an XML workbook, for those of its cells that are shown with a unit or as names.
pub(super) struct CellFormats<'a> {
    bytes: &'a [u8],
    /// By number of the cell format.
    formats: HashMap<u32, Format>,
    /// Parts of the sheets by their names.
    parts: HashMap<String, String>,
}

impl<'a> CellFormats<'a> {
    /// Looks for formats with units or names; most workbooks have none.
    pub(super) fn of(bytes: &'a [u8], parts: &[String]) -> Result<Self, Trouble> {
        let mut found = Self { bytes, formats: HashMap::new(), parts: HashMap::new() };
        found.find_parts()?;
        let Some(styles) = parts.iter().find(|part| part.eq_ignore_ascii_case("xl/styles.xml")) else {
            return Ok(found);
        };
        let percent = PERCENT.into_iter().filter_map(|id| Some((u32::from(id), Format::of_code("0%")?)));
        let (mut codes, mut in_cells, mut count) = (percent.collect::<HashMap<u32, Format>>(), false, 0);
        each_tag(bytes, styles, |tag, is_start| {
            match tag.local_name().as_ref() {
                "numFmt" => {
                    let code = attribute(tag, "formatCode")?.and_then(|code| Format::of_code(&code));
                    if let (Some(id), Some(shown)) = (number(tag, "numFmtId")?, code) {
                        codes.insert(id, shown);
                    }
                }
                "cellXfs" => in_cells = is_start,
                "xf" if in_cells && is_start => {
                    if let Some(shown) = number(tag, "numFmtId")?.and_then(|id| codes.get(&id)) {
                        found.formats.insert(count, shown.clone());
                    }
                    count += 1;
                }
                _ => {}
            }
            Ok(())
        })?;
        Ok(found)
    }

    fn find_parts(&mut self) -> Result<(), Trouble> {
        let mut ids: Vec<(String, String)> = Vec::new();
        each_tag(self.bytes, "xl/workbook.xml", |tag, is_start| {
            if is_start && tag.local_name().as_ref() == "sheet" {
                let id = tag.attributes().flatten().find(|own| own.key.local_name().as_ref() == "id");
                let id = id.map(|own| own.value.to_string());
                ids.extend(attribute(tag, "name")?.zip(id));
            }
            Ok(())
        })?;
        let mut targets = HashMap::new();
        each_tag(self.bytes, "xl/_rels/workbook.xml.rels", |tag, _| {
            if let (Some(id), Some(target)) = (attribute(tag, "Id")?, attribute(tag, "Target")?) {
                let part = target.strip_prefix('/').map_or_else(|| format!("xl/{target}"), str::to_owned);
                targets.insert(id, part);
            }
            Ok(())
        })?;
        self.parts = ids.into_iter().filter_map(|(name, id)| Some((name, targets.get(&id)?.clone()))).collect();
        Ok(())
    }

    /// The cells of a sheet whose value cannot be told.
    pub(super) fn unread(&self, sheet: &str, most: u64) -> Result<BTreeSet<(u32, u32)>, Trouble> {
        let content = self.parts.get(sheet).and_then(|part| stream_of(self.bytes, part));
        content.map_or_else(|| Ok(BTreeSet::new()), |content| xml_cells::unread(BufReader::new(content), most))
    }

    /// The cells of a sheet that are shown with a unit or as names, as many as it may have.
    pub(super) fn cells(&self, sheet: &str, most: u64) -> Result<Formatted, Trouble> {
        let mut found = Formatted::new();
        let part = self.parts.get(sheet).filter(|_| !self.formats.is_empty());
        let Some(part) = part else { return Ok(found) };
        let (mut row, mut column) = (0, 0);
        each_tag(self.bytes, part, |tag, is_start| {
            match tag.local_name().as_ref() {
                "row" if is_start => {
                    row = number(tag, "r")?.unwrap_or(row + 1);
                    column = 0;
                }
                "c" if is_start => {
                    column = attribute(tag, "r")?.and_then(|place| column_of(&place)).unwrap_or(column + 1);
                    if let Some(shown) = number(tag, "s")?.and_then(|format| self.formats.get(&format)) {
                        found.insert((row.saturating_sub(1), column.saturating_sub(1)), shown.clone());
                        if found.len() as u64 > most {
                            return Err(Trouble::TooMany);
                        }
                    }
                }
                _ => {}
            }
            Ok(())
        })?;
        Ok(found)
    }
}

/// Calls `look` with every tag of a part that begins an element, and with those that end one.
fn each_tag(
    bytes: &[u8],
    part: &str,
    mut look: impl FnMut(&BytesStart<'_>, bool) -> Result<(), Trouble>,
) -> Result<(), Trouble> {
    let Some(content) = stream_of(bytes, part) else { return Ok(()) };
    let mut xml = Reader::from_reader(BufReader::new(content));
    xml.config_mut().check_end_names = false;
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|_| Trouble::Damaged)? {
            Event::Start(tag) | Event::Empty(tag) => look(&tag, true)?,
            Event::End(tag) => look(&BytesStart::new(tag.name().as_ref()), false)?,
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

fn number(tag: &BytesStart<'_>, name: &str) -> Result<Option<u32>, Trouble> {
    Ok(attribute(tag, name)?.and_then(|text| text.trim().parse().ok()))
}

/// Styles of cells of an open document that show a unit, by name.
#[derive(Default)]
pub(super) struct CellStyles {
    cells: HashMap<String, Shown>,
    /// Data styles, MΩ among them.
    numbers: HashMap<String, Shown>,
}

impl CellStyles {
    /// Reads the styles of a part, which stand before its body.
    pub(super) fn add(&mut self, content: impl BufRead) -> Result<(), Trouble> {
        let mut xml = Reader::from_reader(content);
        xml.config_mut().expand_empty_elements = true;
        let mut buffer = Vec::new();
        // The data style that is being read: its name, its text, the thousands by which it divides, and others that it may become.
        let mut open: Option<(String, String, usize, Vec<Option<Shown>>)> = None;
        let mut in_text = false;
        loop {
            buffer.clear();
            match xml.read_event_into(&mut buffer).map_err(|_| Trouble::Damaged)? {
                Event::Start(tag) => match tag.name().as_ref() {
                    "office:body" => return Ok(()),
                    "number:number-style" | "number:currency-style" => {
                        open = attribute(&tag, "style:name")?.map(|name| (name, String::new(), 0, Vec::new()));
                    }
                    "number:text" | "number:currency-symbol" => in_text = true,
                    "number:number" => {
                        let factor =
                            attribute(&tag, "number:display-factor")?.and_then(|text| text.parse::<f64>().ok());
                        if let (Some((_, _, thousands, _)), Some(factor)) = (&mut open, factor) {
                            *thousands = (factor.max(1.0).log10() / 3.0).round() as usize;
                        }
                    }
                    "style:map" => {
                        let other = attribute(&tag, "style:apply-style-name")?.and_then(|name| self.numbers.get(&name));
                        if let (Some((_, _, _, others)), Some(other)) = (&mut open, other) {
                            others.push(Some(*other));
                        }
                    }
                    "style:style" => {
                        let shown = match attribute(&tag, "style:data-style-name")? {
                            Some(data) => self.numbers.get(&data).copied().filter(is_other),
                            None => attribute(&tag, "style:parent-style-name")?.and_then(|name| self.of(&name)),
                        };
                        if let (Some(name), Some(shown)) = (attribute(&tag, "style:name")?, shown) {
                            self.cells.insert(name, shown);
                        }
                    }
                    _ => {}
                },
                Event::Text(text) if in_text => {
                    if let Some((_, all, _, _)) = open.as_mut().filter(|(_, all, _, _)| all.len() < LONGEST_TEXT) {
                        all.push_str(&text.xml10_content());
                    }
                }
                Event::End(tag) => match tag.name().as_ref() {
                    "number:number-style" | "number:currency-style" => {
                        if let Some((name, text, thousands, mut parts)) = open.take() {
                            parts.push(stored(&text, thousands));
                            self.numbers.extend(agreed(parts.into_iter()).map(|unit| (name, unit)));
                        }
                    }
                    "number:text" | "number:currency-symbol" => in_text = false,
                    _ => {}
                },
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    }

    /// What cells of a style show after a number.
    pub(super) fn of(&self, style: &str) -> Option<Shown> {
        self.cells.get(style).copied()
    }
}

/// The texts of a format are no longer.
const LONGEST_TEXT: usize = 256;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_format_that_divides_and_names_no_unit_leaves_no_number() {
        for code in ["#,##0.0,", "0.00,", "0,,"] {
            assert_eq!(unit_of(&sections(code)), Some(DIVIDED), "{code}");
        }
        let of_code = |code: &str| unit_of(&sections(code));
        assert_eq!((of_code("#,##0"), of_code("#,##0.00"), of_code("0.0,\" kΩ\"")), (None, None, Some("Ω")));
    }

    #[test]
    fn formats_say_the_unit_of_the_number_that_is_stored() {
        for (code, shown) in [
            ("0\" kΩ\"", Some("kΩ")),
            ("#,##0.0\\ \\k\\Ω", Some("kΩ")),
            ("0.0[$ kΩ-407]", Some("kΩ")),
            ("General\" kOhm\"", Some("kΩ")),
            ("0\" k-Ohm\";-0\" k-Ohm\"", Some("kΩ")),
            ("0.00\" GΩ\"", Some("GΩ")),
            ("0\"k\"", Some("kΩ")),
            ("0\" mΩ\"", Some("mΩ")),
            // 840000 looks like 0.84 MΩ, or like 840 kΩ.
            ("0.00,,\" MΩ\"", Some("Ω")),
            ("0,\" kΩ\"", Some("Ω")),
            ("[<1000]0\" kΩ\";0.0,\" MΩ\"", Some("kΩ")),
            ("[<1000]0\" kΩ\";0\" MΩ\"", Some(UNCLEAR)),
            ("0\" MΩ\"", None),
            ("#,##0.0", None),
            ("0.0\" °C\"", None),
            ("yyyy\\-mm\\-dd", None),
            ("[Red]0.0_);(0.0)", None),
            ("", None),
        ] {
            assert_eq!(unit_of(&sections(code)), shown, "{code}");
        }
    }

    #[test]
    fn formats_show_numbers_as_names() {
        let shown = |code: &str, number: &str| match Format::of_code(code) {
            Some(Format::Name(form)) => form.show(number),
            Some(Format::Text(parts)) => seen_by(&parts, number),
            other => other.map(|other| format!("{other:?}")),
        };
        for (code, number, name) in [
            ("00000000", "410012", Some("00410012")),
            ("000", "7", Some("007")),
            ("000", "1234", Some("1234")),
            ("000;-000", "7", Some("007")),
            ("\"P-\"000", "12", Some("P-012")),
            ("\\M\\-0", "12", Some("M-12")),
            ("\"Motor \"General", "12", Some("Motor 12")),
            ("00\\-00\\-000", "1203045", Some("12-03-045")),
            ("00-00", "7", Some("00-07")),
            ("##-00", "1207", Some("12-07")),
            // Numbers of anything else are not names.
            ("000", "7.5", None),
            ("000", "-7", None),
            ("0", "7", None),
            ("#", "7", None),
            ("#,##0", "7", None),
            ("0.00", "7", None),
            ("0%", "0.48", Some("48%")),
            ("0.0%", "0.575", Some("57.5%")),
            ("\">\"0", "7", Some(">7")),
            ("\"under \"0.0", "7.5", Some("under 7.5")),
            ("0 \"void\"", "930", Some("930 void")),
            ("0.0\" кОм\"", "930", Some("930 кОм")),
            ("0 \"°F\"", "40", Some("40 °F")),
            ("[>100]\"OL\";0", "930", Some("OL = 930")),
            ("[>100]\"OL\";0", "93", None),
            ("0;-0;\"-\"", "0", None),
            ("0 \"°C\"", "40", None),
            ("0.0\" MΩ\"", "40", None),
            ("0\" V\"", "7", None),
            ("00\" V\"", "7", None),
            ("[Red]000", "7", None),
            ("yyyy\\-mm\\-dd", "7", None),
            ("hh:mm", "7", None),
            ("000\" kΩ\"", "7", Some("Unit(\"kΩ\")")),
        ] {
            assert_eq!(shown(code, number).as_deref(), name, "{code} of {number}");
        }
        for (number, seen, text) in [
            ("930", "<930", Some("<930")),
            ("930", "930 void", Some("930 void")),
            ("930", "OL", Some("OL = 930")),
            ("0.48", "48%", Some("48%")),
            ("930", "930,0 MΩ", None),
            ("930", "1,000", None),
            ("40", "40 °C", None),
        ] {
            assert_eq!(text_seen(number, seen).as_deref(), text, "{seen} of {number}");
        }
        for (number, seen, name) in [
            ("410012", "00410012", Some("00410012")),
            ("12", "P-012", Some("P-012")),
            ("1203045", "12-03-045", Some("12-03-045")),
            ("12", "12", None),
            ("1200", "1,200", None),
            ("1200", "1 200", None),
            ("12", "12.00", None),
            ("12.5", "012.5", None),
            ("12", "€ 12", None),
            ("12", "12 V", None),
            ("12", "###", None),
        ] {
            assert_eq!(name_seen(number, seen).as_deref(), name, "{seen} of {number}");
        }
    }

    #[test]
    fn styles_of_open_documents_say_it_too() {
        let styles = "<a><number:number-style style:name='N1'><number:number number:decimal-places='0'/><number:text> kΩ</number:text>\
            </number:number-style><number:number-style style:name='N2P0'><number:number number:display-factor='1000'/>\
            <number:text> MΩ</number:text></number:number-style><number:number-style style:name='N2'><number:text>-</number:text>\
            <number:number/><style:map style:condition='value()&gt;=0' style:apply-style-name='N2P0'/></number:number-style>\
            <number:number-style style:name='N3'><number:number/><number:text> MΩ</number:text></number:number-style>\
            <style:style style:name='ce1' style:data-style-name='N1'/><style:style style:name='ce2' style:data-style-name='N2'/>\
            <style:style style:name='ce3' style:data-style-name='N3'/><style:style style:name='ce4' style:parent-style-name='ce1'/>\
            <office:body/></a>";
        let mut found = CellStyles::default();
        assert_eq!(found.add(styles.as_bytes()), Ok(()));
        let shown: Vec<Option<Shown>> = ["ce1", "ce2", "ce3", "ce4", "ce5"].iter().map(|name| found.of(name)).collect();
        assert_eq!(shown, [Some("kΩ"), Some("kΩ"), None, Some("kΩ"), None]);
    }
}
