//! The dataset card, `README.md`: its counts are counted, its table comes from the windings themselves.

use std::collections::BTreeMap;
use std::fmt::Write;

use crate::SEED;
use crate::cautions::CAUTIONS;
use crate::dirty::{Fate, ROWS};
use crate::plant::Winding;
use crate::simulate::Test;

const TEMPLATE: &str = include_str!("card.md");

pub(crate) fn card(windings: &[Winding], tests: &[Test]) -> String {
    let series: usize = windings.iter().map(|w| w.series.len()).sum();
    let mut actions: BTreeMap<&str, usize> = BTreeMap::new();
    for s in windings.iter().flat_map(|w| &w.series) {
        *actions.entry(s.expected).or_default() += 1;
    }
    let order = ["hold", "plan", "recheck", "shorten", "keep", "gather"];
    let actions: Vec<String> =
        order.iter().map(|&a| format!("{} `{a}`", actions.get(a).copied().unwrap_or(0))).collect();
    let count = |fate: fn(&Fate) -> bool| ROWS.iter().filter(|(f, _)| fate(f)).count().to_string();
    let first = tests.first().map(|t| t.date.to_string()).unwrap_or_default();
    let last = tests.last().map(|t| t.date.to_string()).unwrap_or_default();
    [
        ("{seed}", SEED.to_string()),
        ("{windings}", windings.len().to_string()),
        ("{registered}", windings.iter().filter(|w| w.in_register).count().to_string()),
        ("{series}", series.to_string()),
        ("{tests}", tests.len().to_string()),
        ("{first}", first),
        ("{last}", last),
        ("{actions}", actions.join(", ")),
        ("{stories}", stories(windings)),
        ("{dirty_rows}", ROWS.len().to_string()),
        ("{dirty_accepted}", count(|f| *f == Fate::Accepted)),
        ("{dirty_repeated}", count(|f| *f == Fate::Repeated)),
        ("{dirty_conflicting}", count(|f| *f == Fate::Conflicting)),
        ("{dirty_rejected}", count(|f| matches!(f, Fate::Rejected(..)))),
        ("{dirty_table}", dirty_table()),
        ("{cautions}", CAUTIONS.len().to_string()),
        ("{cautions_rows}", (crate::cautions::history().lines().count() - 1).to_string()),
        ("{cautions_table}", crate::cautions::table()),
    ]
    .iter()
    .fold(TEMPLATE.to_owned(), |text, (key, value)| text.replace(key, value))
}

/// One row a winding; the actions of its series in the order of the series.
fn stories(windings: &[Winding]) -> String {
    let mut text = String::new();
    for w in windings {
        let mut expected: Vec<String> = w.series.iter().map(|s| format!("`{}`", s.expected)).collect();
        if expected.iter().all(|e| *e == expected[0]) {
            expected.truncate(1);
        }
        let (minimum, _) = w.minimum();
        let minimum = if w.in_register { minimum.to_string() } else { "?".to_owned() };
        let _ = writeln!(text, "| {} | {minimum} | {} | {} | {} |", w.id, w.made, expected.join(", "), w.conclusion);
    }
    text.trim_end().to_owned()
}

/// Line numbers count the header as line 1.
fn dirty_table() -> String {
    let mut text = String::new();
    for (i, (fate, row)) in ROWS.iter().enumerate() {
        let (column, rule) = match fate {
            Fate::Accepted => continue,
            Fate::Repeated => ("", "repeated, identical: dropped and counted"),
            Fate::Conflicting => ("", "repeated, conflicting: both shown and kept out"),
            Fate::Rejected(column, rule) => (*column, *rule),
        };
        let winding: String = row.split(';').next().unwrap_or_default().chars().take(12).collect();
        let _ = writeln!(text, "| {} | {winding} | {column} | {rule} |", i + 2);
    }
    text.trim_end().to_owned()
}
