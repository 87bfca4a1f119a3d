//! Old binary workbooks are small file systems: chains of sectors listed in a table. A damaged table can send a chain round in
//! a circle, and whoever follows it fills the memory; so the table is checked before anybody does.
//!
//! Layout: [MS-CFB], sections 2.2 to 2.5.

const FIRST_RESERVED: u32 = 0xffff_fffa;
const HEADER: usize = 512;
/// Length of a name in the directory.
const ENTRY: usize = 128;
/// Streams shorter than this lie in small sectors.
const SMALL_STREAM: usize = 4096;
const SMALL_SECTOR: usize = 64;

/// Whether every chain of sectors ends: no sector of the table leads back to itself.
#[must_use]
pub fn chains_end(bytes: &[u8]) -> bool {
    read(bytes).is_some_and(|tables| !has_circle(&tables.sectors) && !has_circle(&tables.small))
}

/// The stream of a workbook, put together from its sectors as its reader does it; `None` where there is none. Only for
/// files whose chains end.
#[must_use]
pub fn workbook_stream(bytes: &[u8]) -> Option<Vec<u8>> {
    let tables = read(bytes)?;
    let large = |id: u32| sector(bytes, id, tables.size);
    let directory = chain(number(bytes, 48)?, &tables.sectors, usize::MAX, large);
    let entries: Vec<Entry> =
        directory.chunks_exact(ENTRY).filter_map(|entry| Entry::read(entry, tables.size)).collect();
    let named = |name: &str| entries.iter().find(|entry| entry.name.eq_ignore_ascii_case(name));
    let entry = named("Workbook").or_else(|| named("Book"))?;
    if entry.length >= SMALL_STREAM {
        return Some(chain(entry.start, &tables.sectors, entry.length, large));
    }
    let root = entries.first()?;
    let small = chain(root.start, &tables.sectors, root.length, large);
    let part = |id: u32| {
        let start = (id as usize).saturating_mul(SMALL_SECTOR).min(small.len());
        &small[start..(start + SMALL_SECTOR).min(small.len())]
    };
    Some(chain(entry.start, &tables.small, entry.length, part))
}

/// One name in the directory.
struct Entry {
    name: String,
    start: u32,
    length: usize,
}

impl Entry {
    fn read(entry: &[u8], size: usize) -> Option<Self> {
        let units = entry.get(..64)?.chunks_exact(2).map(|pair| u16::from_le_bytes([pair[0], pair[1]]));
        let name =
            char::decode_utf16(units.take_while(|unit| *unit != 0)).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER));
        let high = if size == 512 { 0 } else { u64::from(number(entry, 124)?) };
        let length = u64::from(number(entry, 120)?) | (high << 32);
        Some(Self {
            name: name.collect(),
            start: number(entry, 116)?,
            length: usize::try_from(length).unwrap_or(usize::MAX),
        })
    }
}

fn sector(bytes: &[u8], id: u32, size: usize) -> &[u8] {
    let start = usize::try_from(id).unwrap_or(usize::MAX).saturating_add(1).saturating_mul(size).max(HEADER);
    let start = start.min(bytes.len());
    &bytes[start..start.saturating_add(size).min(bytes.len())]
}

/// The sectors of a chain one behind the other, up to a length.
fn chain<'a>(start: u32, table: &[u32], length: usize, sector: impl Fn(u32) -> &'a [u8]) -> Vec<u8> {
    let mut chain = Vec::new();
    let mut next = start;
    for _ in 0..=table.len() {
        if next >= FIRST_RESERVED || chain.len() >= length {
            break;
        }
        let part = sector(next);
        chain.extend_from_slice(&part[..part.len().min(length - chain.len())]);
        next = table.get(next as usize).copied().unwrap_or(u32::MAX);
    }
    chain
}

/// The tables of a file and the size of its sectors.
struct Tables {
    size: usize,
    sectors: Vec<u32>,
    small: Vec<u32>,
}

pub(super) fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let digits = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_le_bytes([digits[0], digits[1], digits[2], digits[3]]))
}

/// The table of sectors and that of small sectors; `None` when the file is cut short or they cannot be found.
fn read(bytes: &[u8]) -> Option<Tables> {
    let size = match bytes.get(30..32)? {
        [9, 0] => 512,
        [12, 0] => 4096,
        _ => return None,
    };
    let numbers = |id: u32| -> Vec<u32> {
        sector(bytes, id, size).chunks_exact(4).filter_map(|digits| number(digits, 0)).collect()
    };
    let most = bytes.len() / size + 2;
    let mut places: Vec<u32> = (0..109).filter_map(|i| number(bytes, 76 + 4 * i)).collect();
    let mut next = number(bytes, 68)?;
    let mut steps = 0;
    while next < FIRST_RESERVED {
        steps += 1;
        if steps > most {
            return None;
        }
        places.extend(numbers(next));
        next = places.pop()?;
    }
    places.retain(|sector| *sector < FIRST_RESERVED);
    if places.len() > most {
        return None;
    }
    let table: Vec<u32> = places.into_iter().flat_map(numbers).collect();
    let mut small = Vec::new();
    let mut next = number(bytes, 60)?;
    let mut steps = 0;
    while next < FIRST_RESERVED && steps <= most {
        steps += 1;
        small.extend(numbers(next));
        next = table.get(usize::try_from(next).ok()?).copied().unwrap_or(u32::MAX);
    }
    Some(Tables { size, sectors: table, small })
}

/// Follows every chain once; what was walked in this walk already is a circle.
fn has_circle(table: &[u32]) -> bool {
    let mut walked_in = vec![0_u32; table.len()];
    for (walk, start) in (1_u32..).zip(0..table.len()) {
        let mut at = start;
        while walked_in[at] == 0 {
            walked_in[at] = walk;
            match usize::try_from(table[at]) {
                Ok(next) if table[at] < FIRST_RESERVED && next < table.len() => at = next,
                _ => break,
            }
            if walked_in[at] == walk {
                return true;
            }
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn circles_are_found_and_chains_that_meet_are_none() {
        assert!(!has_circle(&[1, 2, u32::MAX, 1]));
        assert!(has_circle(&[1, 2, 0]));
        assert!(has_circle(&[u32::MAX, 1]));
        assert!(!has_circle(&[7, 0xffff_fffe]));
        assert!(!chains_end(b"\xd0\xcf\x11\xe0"));
    }
}
