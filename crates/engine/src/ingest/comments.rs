//! Comments that a spreadsheet keeps beside its cells. They are no part of the table and are not read; where one of them may say that a
//! reading is wrong or a winding failed, the workbook is not read either.
//!
//! # References
//!
//! ECMA-376 part 1, 18.7 (comments). Open Document Format for Office Applications 1.3, part 3, 14.1 (annotations).

use super::said_unit::said_unit;
use super::trouble::Trouble;
use super::unpack::stream_of;
use crate::error::{Failure, shown};
use groundwall::record;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::Event;
use quick_xml::reader::Reader;
use std::io::BufReader;

/// So much of a comment is looked at, bytes.
pub(super) const LONGEST: usize = 2000;

/// The comments of a workbook.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comments {
    count: u64,
    /// The first that a test must not be judged without.
    telling: Option<String>,
}

impl Comments {
    /// Those of an XML workbook.
    ///
    /// # Errors
    ///
    /// That a part is damaged.
    pub(super) fn of(bytes: &[u8], parts: &[String]) -> Result<Self, Trouble> {
        let mut found = Self::default();
        let is_comments = |part: &&String| {
            let name = part.rsplit('/').next().unwrap_or_default().to_lowercase();
            part.starts_with("xl/") && name.starts_with("comment") && name.ends_with(".xml")
        };
        for part in parts.iter().filter(is_comments) {
            let Some(content) = stream_of(bytes, part) else { continue };
            let mut xml = Reader::from_reader(BufReader::new(content));
            xml.config_mut().check_end_names = false;
            let (mut buffer, mut text, mut is_inside) = (Vec::new(), None, false);
            loop {
                buffer.clear();
                match xml.read_event_into(&mut buffer).map_err(|_| Trouble::Damaged)? {
                    Event::Start(tag) => match tag.local_name().as_ref() {
                        "comment" => text = Some(String::new()),
                        "t" => is_inside = true,
                        _ => {}
                    },
                    Event::End(tag) => match tag.local_name().as_ref() {
                        "comment" => text.take().iter().for_each(|text: &String| found.add(text)),
                        "t" => is_inside = false,
                        _ => {}
                    },
                    Event::Text(part) if is_inside => {
                        if let Some(text) = text.as_mut().filter(|text| text.len() < LONGEST) {
                            text.extend(part.xml10_content().chars().take(LONGEST));
                        }
                    }
                    Event::GeneralRef(entity) if is_inside => {
                        let named = resolve_predefined_entity(&entity).map(str::to_owned);
                        let seen = named.or_else(|| entity.resolve_char_ref().ok().flatten().map(String::from));
                        if let Some(text) = text.as_mut().filter(|text| text.len() < LONGEST) {
                            text.push_str(&seen.unwrap_or_default());
                        }
                    }
                    Event::Eof => break,
                    _ => {}
                }
            }
        }
        Ok(found)
    }

    /// Takes one in.
    pub(super) fn add(&mut self, text: &str) {
        self.count += 1;
        if self.telling.is_none() && is_telling(text) {
            self.telling = Some(text.split_whitespace().collect::<Vec<_>>().join(" "));
        }
    }

    /// What is said of them.
    ///
    /// # Errors
    ///
    /// A [`Failure`] where one of them may say that a reading does not hold.
    pub fn sentence(&self, file: &str) -> Result<Option<String>, Failure> {
        if let Some(text) = &self.telling {
            let short: String = text.chars().take(SHOWN).collect();
            let message = format!("{file}: comments beside cells are not read, and one says “{}”", shown(&short));
            return Err(Failure::usage(message).hint(
                "write it into a column note of its row, or correct the cell, and delete the comment; save the sheet as CSV to judge the \
                 cells alone",
            ));
        }
        Ok(match self.count {
            0 => None,
            1 => Some(format!(
                "{file}: 1 cell has a comment, which is not read; what matters for a test belongs in a column named note"
            )),
            count => Some(format!(
                "{file}: {count} cells have comments, which are not read; what matters for a test belongs in a column named note"
            )),
        })
    }
}

/// So many characters of a comment are shown.
const SHOWN: usize = 80;

/// Whether a comment may say that a reading or a winding is not what its cell says: trouble, another unit or resistance, a test that does
/// not hold.
fn is_telling(text: &str) -> bool {
    const VOID: [&str; 20] = [
        "void",
        "invalid",
        "wrong",
        "disregard",
        "ignore",
        "incorrect",
        "mistake",
        "error",
        "not connected",
        "disconnected",
        "ungültig",
        "falsch",
        "fehler",
        "erroné",
        "erreur",
        "erróneo",
        "errato",
        "errado",
        "fout",
        "wet",
    ];
    let lower = text.to_lowercase();
    record::tells_of_trouble(text)
        || said_unit(text).is_some()
        || record::lowest_resistance(text).is_some()
        || VOID.iter().any(|word| lower.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comment_that_may_matter_stops_and_others_are_counted() {
        for text in [
            "kOhm!! winding wet after flood",
            "0.9 MΩ in fact, read wrong range",
            "leads were not connected, void",
            "now 350kΩ",
        ] {
            let mut comments = Comments::default();
            comments.add("read by the day shift");
            comments.add(text);
            assert_eq!(
                comments.sentence("a.xlsx").map_err(|failure| failure.to_string()),
                Err(format!(
                    "a.xlsx: comments beside cells are not read, and one says “{text}”\n\
                     hint: write it into a column note of its row, or correct the cell, and delete the comment; save the sheet as CSV to judge \
                     the cells alone"
                ))
            );
        }
        let mut comments = Comments::default();
        assert_eq!(comments.sentence("a.xlsx"), Ok(None));
        comments.add("read by the day shift");
        let sentence =
            "a.xlsx: 1 cell has a comment, which is not read; what matters for a test belongs in a column named note";
        assert_eq!(comments.sentence("a.xlsx"), Ok(Some(sentence.to_owned())));
    }
}
