//! Forms of the ranked list: one file each. All take the same [`Assessment`].

pub mod account;
#[cfg(feature = "arrow")]
pub mod arrow;
pub mod columns;
pub mod csv;
#[cfg(feature = "frames")]
pub mod frame;
pub mod json;
pub mod register_template;
pub mod rejects;
pub mod replay;
pub mod round;
pub mod table;
pub mod workbook;
pub mod wrap;

use crate::ingest::InputLedger;
use crate::summary::overdue_in_words;
use chrono::NaiveDate;
use groundwall::assess::{Action, Evidence, Finding, SeriesAssessment};
use groundwall::policy::Policy;
use groundwall::policy::keys::{KEYS, Value};
use groundwall::units::Confidence;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The result of a run, most urgent series first.
pub struct Assessment<'a> {
    /// The as-of date.
    pub as_of: NaiveDate,
    /// Confidence of every interval.
    pub confidence: Confidence,
    /// The rules applied.
    pub policy: &'a Policy,
    /// The ledger, one line per input.
    pub inputs: &'a [InputLedger],
    /// What a line of the list is about.
    pub by: ListBy,
    /// Series by urgency, in the order of the list.
    pub series: Vec<SeriesAssessment>,
}

/// What a line of a list is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ListBy {
    /// One series.
    #[default]
    Series,
    /// One motor: its most urgent series, and the others below it.
    Motor,
}

impl ListBy {
    /// Puts the most urgent first; by motor, the series of each motor stand together where its most urgent one stands. Equally
    /// urgent ones stay in the order of their names.
    pub fn sort<T>(self, items: &mut [T], series: impl Fn(&T) -> &SeriesAssessment) {
        items.sort_by_key(|item| series(item).urgency());
        if self == Self::Motor {
            let mut places: HashMap<String, usize> = HashMap::new();
            for (place, item) in items.iter().enumerate() {
                places.entry(motor(&series(item).winding).to_owned()).or_insert(place);
            }
            items.sort_by_key(|item| places.get(motor(&series(item).winding)).copied());
        }
    }
}

/// Words at the end of a winding's name that say which winding of a motor it is.
const WINDINGS_OF_A_MOTOR: [&str; 10] =
    ["stator", "rotor", "armature", "field", "winding", "main", "auxiliary", "exciter", "interpoles", "compensating"];

/// The motor of a winding: its name without the words at the end that say which of the windings it is, so that `D-321 armature` and
/// `D-321 field` are one motor.
///
/// # Examples
///
/// ```
/// use groundwall_engine::output::motor;
/// assert_eq!((motor("D-321 field winding"), motor("P-7"), motor("rotor")), ("D-321", "P-7", "rotor"));
/// ```
#[must_use]
pub fn motor(winding: &str) -> &str {
    let mut name = winding.trim();
    while let Some((rest, last)) = name.rsplit_once([' ', '-', '_', '/'])
        && WINDINGS_OF_A_MOTOR.iter().any(|word| word.eq_ignore_ascii_case(last))
        && !rest.trim().is_empty()
    {
        name = rest.trim_end_matches([' ', '-', '_', '/', ',']);
    }
    name
}

impl Assessment<'_> {
    /// How many lines of the list have each action, most urgent first: series, or motors by their most urgent series.
    #[must_use]
    pub fn counts(&self) -> [(Action, usize); 6] {
        let under = self.under(self.series.iter());
        let lines = || self.series.iter().zip(&under).filter(|(_, under)| !**under).map(|(series, _)| series);
        Action::ALL.map(|action| (action, lines().filter(|series| series.action == action).count()))
    }

    /// How many motors the series belong to, where the list is by motor.
    #[must_use]
    pub fn motors(&self) -> Option<usize> {
        let motors = || self.series.iter().map(|series| motor(&series.winding)).collect::<BTreeSet<_>>();
        (self.by == ListBy::Motor).then(|| motors().len())
    }

    /// How many lines the list has: series, or motors.
    #[must_use]
    pub fn lines(&self) -> usize {
        self.motors().unwrap_or(self.series.len())
    }

    /// What was judged: "128 series", or "120 motors with 128 series".
    #[must_use]
    pub fn judged(&self) -> String {
        let series = self.series.len();
        match self.motors() {
            Some(1) => format!("1 motor with {series} series"),
            Some(motors) => format!("{motors} motors with {series} series"),
            None => format!("{series} series"),
        }
    }

    /// For each of these series, in the order of the list, whether it stands below a more urgent one of the same motor.
    pub fn under<'s>(&self, series: impl Iterator<Item = &'s SeriesAssessment>) -> Vec<bool> {
        let mut before = None;
        let is_under = |series: &'s SeriesAssessment| {
            let motor = motor(&series.winding);
            self.by == ListBy::Motor && before.replace(motor) == Some(motor)
        };
        series.map(is_under).collect()
    }

    /// For how many days each line of the list is overdue that is.
    #[must_use]
    pub fn overdue(&self) -> Vec<u32> {
        let days = self.series.iter().filter_map(|series| Some((motor(&series.winding), series.overdue_days?)));
        if self.by == ListBy::Series {
            return days.map(|(_, days)| days).collect();
        }
        let mut longest: BTreeMap<&str, u32> = BTreeMap::new();
        for (motor, days) in days {
            let known = longest.entry(motor).or_default();
            *known = days.max(*known);
        }
        longest.into_values().collect()
    }

    /// How many lines of the list are overdue, as a line of its own; none where none is.
    #[must_use]
    pub fn overdue_in_words(&self) -> Option<String> {
        Some(format!("{}.", overdue_in_words(&self.overdue(), self.lines())?))
    }
}

/// What the register says of a machine beside where it is and what it does: criticality, open work order, maker.
#[must_use]
pub fn of_the_register(series: &SeriesAssessment) -> Vec<String> {
    let said = [
        series.criticality.as_ref().map(|word| format!("criticality {word}")),
        series.work_order.as_ref().map(|order| format!("work order {order}")),
        series.maker.as_ref().map(|maker| format!("made by {maker}")),
    ];
    said.into_iter().flatten().collect()
}

/// The day of the next test: "now" where that day has come.
#[must_use]
pub fn test_by(series: &SeriesAssessment, as_of: NaiveDate) -> String {
    if series.next_test.by <= as_of { "now".to_owned() } else { series.next_test.by.to_string() }
}

/// The evidence of a finding on one line: `fall_log10 = 0.41; readings = 2`.
#[must_use]
pub fn evidence(finding: &Finding) -> String {
    let one = |(name, value): &(&str, Evidence)| match value {
        Evidence::Number(number) => format!("{name} = {}", in_six_digits(*number)),
        Evidence::Text(text) => format!("{name} = {text}"),
        Evidence::Unknown => format!("{name} unknown"),
    };
    finding.evidence.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// A number without digits that carry no information.
fn in_six_digits(number: f64) -> f64 {
    format!("{number:.5e}").parse().unwrap_or(number)
}

/// The rules applied, by section and name.
#[must_use]
pub fn rules(policy: &Policy) -> BTreeMap<&'static str, BTreeMap<&'static str, Value>> {
    let mut rules: BTreeMap<&'static str, BTreeMap<&'static str, Value>> = BTreeMap::new();
    for key in KEYS {
        rules.entry(key.section).or_default().insert(key.name, key.get(policy));
    }
    rules
}
