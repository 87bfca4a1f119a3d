//! A result file read back, as far as it is compared.

use super::{Key, Snapshot, State, tells_why};
use crate::error::{Failure, shown};
use chrono::NaiveDate;
use groundwall::assess::{Action, Code};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The schema whose files are understood.
const SCHEMA: &str = "groundwall/assessment/1";

#[derive(Deserialize)]
struct File {
    schema: String,
    as_of: NaiveDate,
    series: Vec<Series>,
}

#[derive(Deserialize)]
struct Series {
    winding: String,
    connection: String,
    scope: String,
    action: String,
    findings: Vec<Finding>,
    latest: Option<Latest>,
    #[serde(default)]
    overdue_days: Option<u32>,
}

#[derive(Deserialize)]
struct Finding {
    code: String,
    message: String,
}

#[derive(Deserialize)]
struct Latest {
    tested_on: NaiveDate,
}

impl Snapshot {
    /// Reads a result file, the JSON of `assess` or of a report.
    ///
    /// # Errors
    ///
    /// A [`Failure`] that says where the file is no such result.
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, Failure> {
        let failure = |what: String| {
            Failure::usage(format!("{name}: {what}"))
                .hint("write one with assess --format json, or take assessment.json of a report")
        };
        let file: File = serde_json::from_slice(bytes).map_err(|error| failure(format!("no result file: {error}")))?;
        if file.schema != SCHEMA {
            return Err(failure(format!("schema {} is not known, only {SCHEMA}", shown(&file.schema))));
        }
        let silent: Vec<&str> =
            Code::WORDS.iter().filter(|(code, _)| !tells_why(*code)).map(|(_, word)| *word).collect();
        let mut series: BTreeMap<Key, State> = BTreeMap::new();
        for (place, one) in file.series.into_iter().enumerate() {
            let Some(action) = Action::read(&one.action) else {
                let words = Action::ALL.map(Action::word).join(", ");
                return Err(failure(format!(
                    "{} has action {}, and the actions are {words}",
                    shown(&one.winding),
                    shown(&one.action)
                )));
            };
            // Results of before these days were counted have the finding.
            let is_overdue = one.findings.iter().any(|finding| finding.code == Code::Overdue.word());
            let state = State {
                action,
                reason: one
                    .findings
                    .into_iter()
                    .find(|finding| !silent.contains(&finding.code.as_str()))
                    .map(|f| f.message),
                tested_on: one.latest.map(|latest| latest.tested_on),
                overdue_days: one.overdue_days.or(is_overdue.then_some(0)),
                place,
            };
            let key = [one.winding, one.connection, one.scope];
            if series.insert(key.clone(), state).is_some() {
                return Err(failure(format!("{} is there twice", shown(&key.join(", ")))));
            }
        }
        Ok(Self { as_of: file.as_of, series })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> String {
        Snapshot::read("old.json", text.as_bytes()).err().map_or_else(String::new, |failure| failure.to_string())
    }

    const HINT: &str = "\nhint: write one with assess --format json, or take assessment.json of a report";

    #[test]
    fn a_file_that_is_no_result_is_refused_with_the_place() {
        assert_eq!(read("winding"), format!("old.json: no result file: expected value at line 1 column 1{HINT}"));
        let one = r#"{"winding":"P-1","connection":"all-earth","scope":"winding","action":"keep","findings":[],"latest":null}"#;
        let file =
            |schema: &str, series: &str| format!(r#"{{"schema":"{schema}","as_of":"2026-01-02","series":[{series}]}}"#);
        assert_eq!(
            read(&file("groundwall/assessment/9", one)),
            format!("old.json: schema groundwall/assessment/9 is not known, only groundwall/assessment/1{HINT}")
        );
        assert_eq!(read(&file(SCHEMA, one)), "");
        assert_eq!(
            read(&file(SCHEMA, &one.replace("keep", "rest"))),
            format!(
                "old.json: P-1 has action rest, and the actions are hold, plan, recheck, shorten, keep, gather{HINT}"
            )
        );
        assert_eq!(
            read(&file(SCHEMA, &format!("{one},{one}"))),
            format!("old.json: P-1, all-earth, winding is there twice{HINT}")
        );
    }
}
