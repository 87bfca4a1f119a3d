//! Old binary workbooks are small file systems: chains of sectors listed in a table. A damaged table can send a chain round in
//! a circle, and whoever follows it fills the memory; so the table is checked before anybody does.
//!
//! Layout: [MS-CFB], sections 2.2 to 2.5.

const FIRST_RESERVED: u32 = 0xffff_fffa;
const HEADER: usize = 512;

/// Whether every chain of sectors ends: no sector of the table leads back to itself.
#[must_use]
pub fn chains_end(bytes: &[u8]) -> bool {
    read(bytes).is_some_and(|(table, small)| !has_circle(&table) && !has_circle(&small))
}

/// Whether a sheet says that it has more rows than such a sheet can have (the record Dimensions of [MS-XLS],
/// section 2.4.90): room for all of them would be set aside.
#[must_use]
pub fn says_too_large(bytes: &[u8]) -> bool {
    let marks = bytes.windows(4).enumerate().filter(|(_, mark)| matches!(mark, [0, 2, 14 | 16, 0]));
    let past = |at: usize| number(bytes, at).is_some_and(|rows| rows > 65_536);
    marks.into_iter().any(|(at, _)| past(at + 4) || past(at + 8))
}

fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let digits = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_le_bytes([digits[0], digits[1], digits[2], digits[3]]))
}

/// The table of sectors and that of small sectors; `None` when the file is cut short or they cannot be found.
fn read(bytes: &[u8]) -> Option<(Vec<u32>, Vec<u32>)> {
    let size = match bytes.get(30..32)? {
        [9, 0] => 512,
        [12, 0] => 4096,
        _ => return None,
    };
    let numbers = |sector: u32| -> Vec<u32> {
        let start = usize::try_from(sector).unwrap_or(usize::MAX).saturating_add(1).saturating_mul(size).max(HEADER);
        let end = start.saturating_add(size).min(bytes.len());
        let part = bytes.get(start..end).unwrap_or_default();
        part.chunks_exact(4).filter_map(|digits| number(digits, 0)).collect()
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
    Some((table, small))
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
        assert!(says_too_large(b"\x00\x02\x0e\x00\0\0\0\0\xff\xff\xff\0"));
        assert!(!says_too_large(b"\x00\x02\x0e\x00\0\0\0\0\x07\0\0\0"));
        assert!(!chains_end(b"\xd0\xcf\x11\xe0"));
    }
}
