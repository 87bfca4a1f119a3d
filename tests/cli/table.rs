//! The ranked list on terminals of every width: nothing runs over, and where there is room every series is one line.

use crate::in_process;
use crate::world::demo;
use groundwall::assess::{Action, InTurn, SeriesAssessment, Terms};
use groundwall_engine::ingest::Ingested;
use groundwall_engine::output::table::{self, Shape};
use groundwall_engine::output::{self, Assessment};

struct Judged {
    terms: Terms,
    ingested: Ingested,
    series: Vec<SeriesAssessment>,
}

fn judged() -> Judged {
    let register = in_process::register(&demo("register.csv"));
    let fleet = in_process::fleet(&demo("history.csv"), Some(&register));
    let mut series = fleet.judge(&InTurn, |judgement| judgement.assessment);
    output::ListBy::Series.sort(&mut series, |series| series);
    Judged { terms: fleet.terms, ingested: fleet.ingested, series }
}

impl Judged {
    fn at(&self, width: usize, color: bool) -> String {
        let assessment = Assessment {
            as_of: self.terms.as_of,
            confidence: self.terms.confidence,
            policy: &self.terms.policy,
            inputs: &self.ingested.inputs,
            by: output::ListBy::Series,
            series: self.series.clone(),
        };
        let mut text = Vec::new();
        table::write(&mut text, &assessment, &Shape { width, color }).unwrap();
        String::from_utf8(text).unwrap()
    }
}

/// The lines of the table: down to the first empty one.
fn rows(text: &str) -> Vec<&str> {
    text.lines().take_while(|line| !line.is_empty()).collect()
}

#[test]
fn no_line_is_longer_than_the_terminal() {
    let judged = judged();
    for width in 60..=220 {
        let text = judged.at(width, false);
        let longest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        assert!(longest <= width, "{longest} at {width}");
    }
}

#[test]
fn no_word_is_broken() {
    let judged = judged();
    let words = |text: &str| rows(text).into_iter().flat_map(str::split_whitespace).map(str::to_owned).collect();
    let whole: std::collections::BTreeSet<String> = words(&judged.at(400, false));
    for width in 60..100 {
        let narrow: std::collections::BTreeSet<String> = words(&judged.at(width, false));
        let broken: Vec<&String> = narrow
            .iter()
            .filter(|word| {
                !word.starts_with(['─', '+']) && !whole.iter().any(|whole| whole.trim_matches(['(', ')', ',']) == *word)
            })
            .collect();
        assert!(broken.is_empty(), "{broken:?} at {width}");
    }
}

#[test]
fn each_series_is_one_line_where_there_is_room() {
    let judged = judged();
    for width in [120, 130, 140, 200] {
        let text = judged.at(width, false);
        // What an action asks for stands beside it, or below it where the line has no room.
        let (lines, below): (Vec<&str>, Vec<&str>) = rows(&text)[2..]
            .iter()
            .partition(|row| row.split_whitespace().next().is_some_and(|word| Action::read(word).is_some()));
        assert_eq!(lines.len(), judged.series.len(), "{width}");
        let said = lines.iter().chain(&below).copied().collect::<Vec<_>>().join(" ");
        for (words, action) in [("work before use", Action::Plan), ("test sooner", Action::Shorten)] {
            assert!(judged.series.iter().any(|series| series.action == action));
            assert!(said.contains(words), "{words} at {width}: {text}");
        }
        for (row, series) in lines.iter().zip(&judged.series) {
            assert!(row.starts_with(series.action.word()) && row.contains(&series.name()), "{width}: {row}");
            let by = series.next_test.by;
            let by = if by <= judged.terms.as_of { "now".to_owned() } else { by.to_string() };
            assert!(row.contains(&by), "{width}: {row}");
        }
    }
}

#[test]
fn findings_come_with_the_room_for_them() {
    let judged = judged();
    let header = |width| rows(&judged.at(width, false))[0].to_owned();
    for width in [80, 100, 120] {
        assert!(header(width).contains("Test by") && header(width).contains("Found"), "{width}: {}", header(width));
    }
    assert!(header(60).contains("Test by"), "{}", header(60));
    let named = |width, finding: &str| rows(&judged.at(width, false)).iter().any(|row| row.contains(finding));
    assert!(named(120, "below-minimum +1") && named(200, "below-minimum, falling"));
}

#[test]
fn dates_are_not_broken() {
    let judged = judged();
    for width in [60, 80, 93, 100, 120] {
        let text = judged.at(width, false);
        let broken: Vec<&str> = text.lines().filter(|line| line.ends_with('-')).collect();
        assert_eq!(broken, Vec::<&str>::new(), "{width}");
    }
}

#[test]
fn colour_marks_what_is_urgent_and_changes_nothing_else() {
    let judged = judged();
    let (plain, coloured) = (judged.at(120, false), judged.at(120, true));
    assert_eq!(coloured.replace("\u{1b}[1m", "").replace("\u{1b}[0m", ""), plain);
    let urgent = judged.series.iter().filter(|series| ["hold", "recheck", "plan"].contains(&series.action.word()));
    assert_eq!(coloured.matches("\u{1b}[1m").count(), urgent.count());
}
