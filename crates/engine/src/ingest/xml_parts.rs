//! Whether the parts of an XML workbook stay in proportion when its reader has them in memory.
//!
//! The reader keeps all shared strings and all styles of a workbook, each with a fixed cost beside its text, and sets aside
//! as much as the table of strings says it has. A few letters of XML are enough for each of them, so they are counted first.
//!
//! Layout: ECMA-376 part 1, 18.4.9 (sst), 18.4.8 (si), 18.8.39 (styleSheet).

use super::trouble::Trouble;
use super::unpack::stream_of;
use quick_xml::events::Event;
use quick_xml::reader::Reader;
use std::io::BufReader;

/// What a string costs beside its text.
const STRING_COST: u64 = 32;
/// What an element of a string costs in time: a string has one, or one and two for each change of its type face.
const ELEMENT_COST: u64 = 16;
/// Elements of a part with styles; spreadsheet programs stop at 65,490 formats of cells.
const MOST_STYLE_ELEMENTS: u64 = 300_000;

/// Refuses a workbook whose strings would take more than the limit, or that has more styles than any program makes.
///
/// # Errors
///
/// That it is too large, or that its XML is damaged.
pub(super) fn must_be_in_proportion(bytes: &[u8], parts: &[String], limit: u64) -> Result<(), Trouble> {
    for part in parts {
        let name = part.to_lowercase();
        if name.ends_with("sharedstrings.xml") {
            let (strings, said) = count(bytes, part, "si", limit / ELEMENT_COST)?;
            if strings.max(said).saturating_mul(STRING_COST) > limit {
                return Err(Trouble::TooLarge);
            }
        } else if name.ends_with("styles.xml") {
            count(bytes, part, "", MOST_STYLE_ELEMENTS)?;
        }
    }
    Ok(())
}

/// How many elements of a name a part has that may have so many of any name, and how many its table says it has.
fn count(bytes: &[u8], part: &str, name: &str, most: u64) -> Result<(u64, u64), Trouble> {
    let content = stream_of(bytes, part).ok_or(Trouble::Damaged)?;
    let mut xml = Reader::from_reader(BufReader::new(content));
    xml.config_mut().check_end_names = false;
    let (mut buffer, mut all, mut found, mut said) = (Vec::new(), 0, 0, 0);
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|_| Trouble::Damaged)? {
            Event::Start(tag) | Event::Empty(tag) => {
                all += 1;
                if all > most {
                    return Err(Trouble::TooLarge);
                }
                found += u64::from(tag.local_name().as_ref() == name);
                if let Ok(Some(count)) = tag.try_get_attribute("uniqueCount") {
                    said = count.value.trim().parse().unwrap_or(0).max(said);
                }
            }
            Event::Eof => return Ok((found, said)),
            _ => {}
        }
    }
}
