//! `[columns]` of the policy file: which of our columns a header of the site's stands for. It goes before every other rule.

use crate::error::shown;
use groundwall::record::columns::Column;
use std::collections::BTreeMap;

/// Headers as the site writes them, and what they hold; `None` for one that is to be left alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mapping(BTreeMap<String, Option<Column>>);

impl Mapping {
    /// Adds a header. Its case and the blanks in it do not matter.
    ///
    /// # Errors
    ///
    /// The rule that the name breaks.
    pub fn add(&mut self, header: &str, name: &str) -> Result<(), String> {
        let column = if name == "-" {
            None
        } else {
            Some(Column::read(name).ok_or_else(|| {
                format!("it must be the name of a column, or - to leave it alone: {}", Column::names().join(", "))
            })?)
        };
        match self.0.insert(plain(header), column) {
            Some(earlier) if earlier != column => Err(format!("{} stands here twice with another name", shown(header))),
            _ => Ok(()),
        }
    }

    /// What a header stands for, if the site says so.
    #[must_use]
    pub fn get(&self, header: &str) -> Option<Option<Column>> {
        if self.0.is_empty() { None } else { self.0.get(&plain(header)).copied() }
    }
}

fn plain(header: &str) -> String {
    let header = header.trim_start_matches('\u{feff}').replace('\u{2126}', "\u{3a9}").to_lowercase();
    header.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_are_found_whatever_their_case_and_blanks() {
        let mut mapping = Mapping::default();
        assert_eq!(mapping.add("Wert  nach 1 Min", "r_60s_gohm"), Ok(()));
        assert_eq!(mapping.add("Temp", "-"), Ok(()));
        assert_eq!(
            mapping.get(" wert nach 1 min ").flatten().map(|column| column.to_string()).as_deref(),
            Some("r_60s_gohm")
        );
        assert_eq!((mapping.get("TEMP"), mapping.get("other")), (Some(None), None));
        assert!(mapping.add("a", "r_60").is_err_and(|rule| rule.starts_with("it must be the name of a column")));
        assert_eq!(mapping.add("temp", "note"), Err("temp stands here twice with another name".to_owned()));
    }
}
