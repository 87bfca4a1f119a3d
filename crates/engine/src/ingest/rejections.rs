//! Rejected rows with their reasons, in little more memory than the rows themselves.
//!
//! A file of a million rows can break one rule a million times. Each row is kept byte for byte, so that it can be written out
//! again. Of its faults the texts that many rows share are kept once, a value that is part of the row is kept as its place
//! there, and faults like those of the row before take no bytes at all: three bytes a row beside the row itself.

use super::row_fault::RowFault;
use groundwall::record::Origin;
use std::collections::HashMap;
use std::sync::Arc;

/// So many texts are shared; rules that name other rows differ from row to row and are kept with theirs.
const MAX_SHARED: usize = 1024;

/// A row that was rejected.
#[derive(Clone, Debug, PartialEq)]
pub struct Rejection<'a> {
    /// Its place.
    pub origin: Origin,
    /// The row, byte for byte, without the line ending.
    pub raw: &'a [u8],
    /// Everything that is wrong with it.
    pub faults: Vec<RowFault<'a>>,
}

/// Rejected rows in the order in which they were added.
#[derive(Clone, Debug, Default)]
pub struct Rejections {
    /// One row after another, as [`Rejections::push`] writes them.
    bytes: Vec<u8>,
    count: usize,
    texts: Texts,
    last: Origin,
    /// Where the faults that were written last are.
    last_faults: (usize, usize),
    scratch: Vec<u8>,
}

impl PartialEq for Rejections {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

impl Rejections {
    /// How many rows there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.count
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Adds a row.
    pub fn push<'f>(&mut self, origin: Origin, raw: &[u8], faults: impl IntoIterator<Item = RowFault<'f>>) {
        self.scratch.clear();
        let mut count = 0;
        for fault in faults {
            count += 1;
            self.texts.write(&mut self.scratch, fault.column);
            self.texts.write(&mut self.scratch, fault.rule);
            self.texts.write(&mut self.scratch, fault.hint);
            write_value(&mut self.scratch, fault.value.as_bytes(), raw);
        }
        let (begin, end) = self.last_faults;
        let same_faults = self.count > 0 && self.bytes[begin..end] == self.scratch[..];
        let same_input = self.count > 0 && origin.input == self.last.input;
        write_number(&mut self.bytes, u64::from(same_faults) | u64::from(same_input) << 1);
        if same_input {
            write_number(&mut self.bytes, origin.line.wrapping_sub(self.last.line));
        } else {
            write_number(&mut self.bytes, u64::from(origin.input));
            write_number(&mut self.bytes, origin.line);
        }
        write_bytes(&mut self.bytes, raw);
        if !same_faults {
            write_number(&mut self.bytes, count);
            let begin = self.bytes.len();
            self.bytes.extend_from_slice(&self.scratch);
            self.last_faults = (begin, self.bytes.len());
        }
        self.last = origin;
        self.count += 1;
    }

    /// Adds the rows of another list after its own.
    pub fn append(&mut self, other: &Self) {
        for row in other {
            self.push(row.origin, row.raw, row.faults);
        }
    }

    /// The rows of two lists in the order of their places, where each is in that order.
    #[must_use]
    pub fn merged(&self, other: &Self) -> Self {
        let mut merged = Self::default();
        let (mut one, mut two) = (self.iter().peekable(), other.iter().peekable());
        loop {
            let next = match (one.peek(), two.peek()) {
                (Some(a), Some(b)) if b.origin < a.origin => two.next(),
                (Some(_), _) => one.next(),
                (None, _) => two.next(),
            };
            let Some(row) = next else { return merged };
            merged.push(row.origin, row.raw, row.faults);
        }
    }

    /// The rows.
    #[must_use]
    pub fn iter(&self) -> Iter<'_> {
        Iter { texts: &self.texts.list, rest: Reader(&self.bytes), origin: Origin::default(), faults: (0, Reader(&[])) }
    }

    /// The first row.
    #[must_use]
    pub fn first(&self) -> Option<Rejection<'_>> {
        self.iter().next()
    }
}

impl<'a> IntoIterator for &'a Rejections {
    type Item = Rejection<'a>;
    type IntoIter = Iter<'a>;

    fn into_iter(self) -> Iter<'a> {
        self.iter()
    }
}

/// Rejected rows, read one after another.
#[derive(Clone, Debug)]
pub struct Iter<'a> {
    texts: &'a [Arc<str>],
    rest: Reader<'a>,
    origin: Origin,
    /// How many faults the row has, and their bytes.
    faults: (u64, Reader<'a>),
}

impl<'a> Iterator for Iter<'a> {
    type Item = Rejection<'a>;

    fn next(&mut self) -> Option<Rejection<'a>> {
        let how = self.rest.number()?;
        if how & 2 == 0 {
            self.origin.input = u32::try_from(self.rest.number()?).ok()?;
            self.origin.line = self.rest.number()?;
        } else {
            self.origin.line = self.origin.line.wrapping_add(self.rest.number()?);
        }
        let raw = self.rest.bytes()?;
        if how & 1 == 0 {
            self.faults = (self.rest.number()?, self.rest.clone());
        }
        let (count, mut reader) = self.faults.clone();
        let faults = (0..count).map(|_| reader.fault(self.texts, raw)).collect::<Option<Vec<_>>>()?;
        if how & 1 == 0 {
            self.rest = reader;
        }
        Some(Rejection { origin: self.origin, raw, faults })
    }
}

/// Texts that many faults share.
#[derive(Clone, Debug, Default)]
struct Texts {
    list: Vec<Arc<str>>,
    numbers: HashMap<Arc<str>, usize>,
}

impl Texts {
    /// Writes the number of a text, from one; or zero and the text.
    fn write(&mut self, out: &mut Vec<u8>, text: &str) {
        match self.number(text) {
            Some(number) => write_number(out, 1 + number as u64),
            None => {
                write_number(out, 0);
                write_bytes(out, text.as_bytes());
            }
        }
    }

    fn number(&mut self, text: &str) -> Option<usize> {
        if let Some(number) = self.numbers.get(text) {
            return Some(*number);
        }
        let number = self.list.len();
        if number >= MAX_SHARED {
            return None;
        }
        let text: Arc<str> = text.into();
        self.list.push(Arc::clone(&text));
        self.numbers.insert(text, number);
        Some(number)
    }
}

/// Writes where a value is in its row, from one, and its length; or zero and the value.
fn write_value(out: &mut Vec<u8>, value: &[u8], raw: &[u8]) {
    match memchr::memmem::find(raw, value) {
        Some(at) => {
            write_number(out, 1 + at as u64);
            write_number(out, value.len() as u64);
        }
        None => {
            write_number(out, 0);
            write_bytes(out, value);
        }
    }
}

fn write_bytes(out: &mut Vec<u8>, bytes: &[u8]) {
    write_number(out, bytes.len() as u64);
    out.extend_from_slice(bytes);
}

/// Writes a number as LEB128: seven bits a byte, the lowest first, the highest bit of a byte set where more follow.
fn write_number(out: &mut Vec<u8>, mut number: u64) {
    while number >= 0x80 {
        out.push(number as u8 | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
}

/// What was written, read again.
#[derive(Clone, Debug)]
struct Reader<'a>(&'a [u8]);

impl<'a> Reader<'a> {
    fn number(&mut self) -> Option<u64> {
        let mut number = 0;
        for shift in (0..u64::BITS).step_by(7) {
            let byte = *self.0.split_off_first()?;
            number |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Some(number);
            }
        }
        None
    }

    fn length(&mut self) -> Option<usize> {
        usize::try_from(self.number()?).ok()
    }

    fn bytes(&mut self) -> Option<&'a [u8]> {
        let length = self.length()?;
        self.0.split_off(..length)
    }

    fn text(&mut self, texts: &'a [Arc<str>]) -> Option<&'a str> {
        match self.length()?.checked_sub(1) {
            Some(number) => texts.get(number).map(|text| &**text),
            None => std::str::from_utf8(self.bytes()?).ok(),
        }
    }

    fn fault(&mut self, texts: &'a [Arc<str>], raw: &'a [u8]) -> Option<RowFault<'a>> {
        let (column, rule, hint) = (self.text(texts)?, self.text(texts)?, self.text(texts)?);
        let value = match self.length()?.checked_sub(1) {
            Some(at) => raw.get(at..)?.get(..self.length()?)?,
            None => self.bytes()?,
        };
        Some(RowFault { column, value: std::str::from_utf8(value).ok()?, rule, hint })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    type Row = (u32, u64, String, Vec<(u8, String, u16)>);

    fn row() -> impl Strategy<Value = Row> {
        let fault = (0_u8..3, "[ab,]{0,3}|Ω", 0_u16..2000);
        (0_u32..3, 0_u64..300, "[ab,Ω]{0,9}", prop::collection::vec(fault, 0..3))
    }

    proptest! {
        #[test]
        fn rows_come_back_as_they_were_added(rows in prop::collection::vec(row(), 0..40), more in prop::collection::vec(row(), 0..9)) {
            let texts: Vec<(Vec<String>, &Row)> = rows.iter().chain(&more).map(|row| {
                (row.3.iter().map(|(_, _, rule)| format!("rule {rule}")).collect(), row)
            }).collect();
            let expected: Vec<Rejection<'_>> = texts.iter().map(|(rules, (input, line, raw, faults))| {
                let faults = faults.iter().zip(rules).map(|((column, value, _), rule)| {
                    let column = ["tested_on", "r_60s", "row"][usize::from(*column)];
                    RowFault { column, value, rule, hint: "correct it" }
                });
                Rejection { origin: Origin { input: *input, line: *line }, raw: raw.as_bytes(), faults: faults.collect() }
            }).collect();
            let (mut all, mut rest) = (Rejections::default(), Rejections::default());
            for (i, row) in expected.iter().enumerate() {
                let list = if i < rows.len() { &mut all } else { &mut rest };
                list.push(row.origin, row.raw, row.faults.iter().copied());
            }
            all.append(&rest);
            prop_assert_eq!(all.len(), expected.len());
            prop_assert_eq!(all.iter().collect::<Vec<_>>(), expected);
        }
    }

    #[test]
    fn a_row_takes_three_bytes_beside_its_own_and_one_with_a_rule_of_its_own_takes_that_rule() {
        let mut rejections = Rejections::default();
        for line in 0..100_000 {
            let raw = format!("M-{:02},32/01/2026,5", line % 100);
            let fault =
                RowFault { column: "tested_on", value: "32/01/2026", rule: "not in the calendar", hint: "check" };
            rejections.push(Origin { input: 0, line }, raw.as_bytes(), [fault]);
        }
        let row = "M-00,32/01/2026,5".len();
        assert!(rejections.bytes.len() < 100_000 * (row + 3) + 100, "{}", rejections.bytes.len());
        let mut own = Rejections::default();
        for line in 0..100_000 {
            let rule = format!("line {line} says something else");
            own.push(Origin { input: 0, line }, b"a", [RowFault { column: "row", value: "a", rule: &rule, hint: "b" }]);
        }
        assert!(own.texts.list.len() <= MAX_SHARED && own.bytes.len() < 100_000 * 50);
    }
}
