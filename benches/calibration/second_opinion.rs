//! How often the second opinion of `explain`, the straight line, holds the date: true straight declines with few exact readings.

use std::fmt::{self, Display, Formatter};

use chrono::{Days, NaiveDate};
use groundwall::assess::textbook::TextbookCrossing;
use groundwall::assess::{Terms, assess};
use groundwall::nameplate::{LimitBasis, Nameplate};
use groundwall::policy::Policy;
use groundwall::record::{TestRecord, TestedOn};
use groundwall::resistance::Measured;
use groundwall::series::Series;
use groundwall::units::{Confidence, Elapsed, Resistance, Temperature};

use crate::dice::Dice;

/// Readings of a history, half a year apart.
const READINGS: [usize; 6] = [3, 4, 5, 8, 12, 20];
const DAYS: u64 = 182;
/// Decades above the minimum at the first test, decades lost from test to test, scatter.
const ABOVE: f64 = 1.5;
const LOSS: f64 = 0.06;
const SCATTER: f64 = 0.05;

/// What the line said of the date of one history.
enum Said {
    Held,
    Missed,
    Nothing,
}

/// Counts of one number of readings.
struct Row {
    readings: usize,
    held: usize,
    missed: usize,
    nothing: usize,
}

/// The table: for each number of readings, so many histories.
pub(crate) struct SecondOpinion(Vec<Row>);

impl SecondOpinion {
    /// Simulates and counts.
    pub(crate) fn measure(seed: u64, number: usize) -> Result<Self, Box<dyn std::error::Error>> {
        let mut rows = Vec::new();
        for readings in READINGS {
            let mut row = Row { readings, held: 0, missed: 0, nothing: 0 };
            for history in 0..number {
                let mut dice = Dice::new(seed, (readings * number + history) as u64);
                match ask(readings, &mut dice)? {
                    Said::Held => row.held += 1,
                    Said::Missed => row.missed += 1,
                    Said::Nothing => row.nothing += 1,
                }
            }
            rows.push(row);
        }
        Ok(Self(rows))
    }
}

/// One history: whether the 90 % interval of the date holds the day on which the true line is at the minimum.
fn ask(readings: usize, dice: &mut Dice) -> Result<Said, Box<dyn std::error::Error>> {
    let first = NaiveDate::from_ymd_opt(2016, 1, 4).unwrap_or_default();
    let day = |k: f64| first + Days::new((k * DAYS as f64).round() as u64);
    let tests = (0..readings).map(|k| {
        let log10 = 1.0 + ABOVE - LOSS * k as f64 + SCATTER * dice.normal();
        let value = Measured::Exact(Resistance::from_log10_megohms(log10));
        let test =
            TestRecord::builder("line", TestedOn::day(day(k as f64))).reading(Elapsed::from_seconds(60.0)?, value);
        Ok(test.winding_temp(Temperature::from_celsius(40.0)?).build()?)
    });
    let tests = tests.collect::<Result<Vec<_>, Box<dyn std::error::Error>>>()?;
    let nameplate = Nameplate {
        minimum: Some(Resistance::from_megohms(10.0)?),
        minimum_basis: Some(LimitBasis::Reference),
        ..Nameplate::default()
    };
    let as_of = day((readings - 1) as f64);
    let terms = Terms { policy: Policy::default(), as_of, confidence: Confidence::from_fraction(0.9)? };
    let series = Series::collect(tests);
    let line = assess(series.first().ok_or("no series")?, &nameplate, &terms).textbook_line()?;
    let truth = day(ABOVE / LOSS);
    let holds = |yes: bool| if yes { Said::Held } else { Said::Missed };
    Ok(match line.reaches {
        TextbookCrossing::Between(low, high) => holds((low..=high).contains(&truth)),
        TextbookCrossing::NotBefore(low) => holds(low <= truth),
        TextbookCrossing::CannotSay => Said::Nothing,
    })
}

impl Display for SecondOpinion {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(f, "| exact readings | held, of those with a date | held or no date | no date |")?;
        writeln!(f, "| --- | --- | --- | --- |")?;
        for Row { readings, held, missed, nothing } in &self.0 {
            let (held, missed, nothing) = (*held as f64, *missed as f64, *nothing as f64);
            let all = held + missed + nothing;
            let (of_dated, open, none) = (held / (held + missed), (held + nothing) / all, nothing / all);
            writeln!(f, "| {readings} | {of_dated:.3} | {open:.3} | {none:.3} |")?;
        }
        Ok(())
    }
}
