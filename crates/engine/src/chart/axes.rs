//! Ticks that people can read: dates from days to centuries, resistances in decades.
//!
//! A day is counted from the first of January of the year 1, as `chrono` does, and may have a fraction.

use chrono::{Datelike, NaiveDate};

/// A mark on an axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where: a day, or log10 of megohms.
    pub at: f64,
    /// What is written beside it; nothing at a minor tick.
    pub label: String,
    /// What is written in the second row: the year under its first day or month.
    pub second: String,
}

/// Step between two ticks of the date axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Days(i32),
    Months(i32),
    Years(i32),
}

const STEPS: [Step; 15] = [
    Step::Days(1),
    Step::Days(2),
    Step::Days(7),
    Step::Days(14),
    Step::Months(1),
    Step::Months(3),
    Step::Months(6),
    Step::Years(1),
    Step::Years(2),
    Step::Years(5),
    Step::Years(10),
    Step::Years(20),
    Step::Years(50),
    Step::Years(100),
    Step::Years(500),
];

/// First and last day that the axis can name.
const NAMEABLE: (f64, f64) = (1.0, 3_652_059.0);

/// A date as a day number.
#[must_use]
pub fn day(date: NaiveDate) -> f64 {
    f64::from(date.num_days_from_ce()).clamp(NAMEABLE.0, NAMEABLE.1)
}

/// The date of a day number.
#[must_use]
pub fn date(day: f64) -> NaiveDate {
    let whole = if day.is_nan() { 1.0 } else { day.clamp(NAMEABLE.0, NAMEABLE.1).floor() };
    NaiveDate::from_num_days_from_ce_opt(whole as i32).unwrap_or_default()
}

/// Ticks of a date axis whose labels stay so many units apart.
#[must_use]
pub fn date_ticks(from: f64, to: f64, width: f64, apart: f64) -> Vec<Tick> {
    let per_day = width / (to - from).max(1.0);
    let fits = |step: &&Step| days_in(**step) * per_day >= apart;
    let step = STEPS.iter().find(fits).copied().unwrap_or(Step::Years(1000));
    let mut ticks = Vec::new();
    let mut year = None;
    for at in days_of(step, from, to) {
        let when = date(at);
        let label = match step {
            Step::Days(_) => when.format("%-d %b").to_string(),
            Step::Months(_) => when.format("%b").to_string(),
            Step::Years(_) => when.year().to_string(),
        };
        let second = match step {
            Step::Years(_) => String::new(),
            _ if year == Some(when.year()) => String::new(),
            _ => when.year().to_string(),
        };
        year = Some(when.year());
        ticks.push(Tick { at, label, second });
    }
    ticks
}

/// Minor ticks of a date axis: the quarters between the years, or the months between the quarters, where there is room.
#[must_use]
pub fn minor_dates(from: f64, to: f64, width: f64) -> Vec<f64> {
    let per_day = width / (to - from).max(1.0);
    let minor = [Step::Days(1), Step::Months(1), Step::Months(3), Step::Years(1)];
    let fits = |step: &&Step| days_in(**step) * per_day >= 9.0;
    minor.iter().find(fits).map_or_else(Vec::new, |step| days_of(*step, from, to))
}

fn days_in(step: Step) -> f64 {
    match step {
        Step::Days(n) => f64::from(n),
        Step::Months(n) => f64::from(n) * 30.4,
        Step::Years(n) => f64::from(n) * 365.25,
    }
}

fn days_of(step: Step, from: f64, to: f64) -> Vec<f64> {
    let inside = |at: &f64| *at >= from && *at <= to;
    match step {
        Step::Days(n) => {
            // Day 1 of the count was a Monday: steps of weeks fall on Mondays.
            let n = f64::from(n);
            let first = ((from - 1.0) / n).ceil();
            let most = ((to - from) / n).clamp(0.0, 1000.0) as u32 + 1;
            (0..=most).map(|i| (first + f64::from(i)) * n + 1.0).filter(inside).collect()
        }
        Step::Months(n) => months(from, to, n).filter(inside).collect(),
        Step::Years(n) => months(from, to, 12 * n).filter(inside).collect(),
    }
}

/// First days of every so many months, counted from the year 0.
fn months(from: f64, to: f64, every: i32) -> impl Iterator<Item = f64> {
    let count = |day: f64| date(day).year() * 12 + date(day).month0() as i32;
    let (first, last) = (count(from).div_euclid(every), count(to).div_euclid(every) + 1);
    (first..=last.min(first + 1000)).filter_map(move |i| {
        let month = i * every;
        NaiveDate::from_ymd_opt(month.div_euclid(12), month.rem_euclid(12) as u32 + 1, 1)
            .filter(|date| date.year() >= 1)
            .map(|date| f64::from(date.num_days_from_ce()))
    })
}

/// Ticks of an even axis between two values: so many at the most, at steps of 1, 2 or 5.
#[must_use]
pub fn linear_ticks(low: f64, high: f64, most: f64) -> Vec<Tick> {
    let least = (high - low).max(1e-9) / most.max(1.0);
    let power = 10f64.powf(least.log10().floor());
    let step =
        [1.0, 2.0, 5.0].map(|times| times * power).into_iter().find(|step| *step >= least).unwrap_or(10.0 * power);
    let decimals = (-step.log10().floor()).clamp(0.0, 9.0) as usize;
    let first = (low / step - 1e-9).ceil();
    let count = ((high / step + 1e-9).floor() - first).clamp(-1.0, 1000.0);
    (0..=count as i64)
        .take((count + 1.0).max(0.0) as usize)
        .map(|i| first + i as f64)
        .map(|at| Tick { at: at * step, label: format!("{:.decimals$}", at * step), second: String::new() })
        .collect()
}

/// Ticks of a resistance axis between two powers of ten of megohms: every decade, or every few where there are many, and
/// halfway steps where there are few.
#[must_use]
pub fn resistance_ticks(low: f64, high: f64) -> Vec<Tick> {
    let span = high - low;
    let every = if span > 12.0 {
        3
    } else if span > 7.0 {
        2
    } else {
        1
    };
    let steps: &[f64] = if span > 2.4 {
        &[1.0]
    } else if span > 0.9 {
        &[1.0, 2.0, 5.0]
    } else {
        &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0]
    };
    let mut ticks = Vec::new();
    for decade in decades(low, high).filter(|decade| decade.rem_euclid(every) == 0) {
        for step in steps {
            let at = f64::from(decade) + step.log10();
            if at >= low && at <= high {
                ticks.push(Tick { at, label: resistance_label(decade, *step), second: String::new() });
            }
        }
    }
    ticks
}

/// Minor ticks of a resistance axis: 2 to 9 of each decade, where the decades are few enough.
#[must_use]
pub fn minor_resistances(low: f64, high: f64) -> Vec<f64> {
    if high - low > 7.0 {
        return decades(low, high).map(f64::from).filter(|at| *at >= low && *at <= high).collect();
    }
    decades(low, high)
        .flat_map(|decade| (2..10).map(move |step| f64::from(decade) + f64::from(step).log10()))
        .filter(|at| *at >= low && *at <= high)
        .collect()
}

fn decades(low: f64, high: f64) -> std::ops::RangeInclusive<i32> {
    (low.floor().clamp(-30.0, 30.0) as i32)..=(high.ceil().clamp(-30.0, 30.0) as i32)
}

/// A round resistance with the prefix that leaves one to three digits: 100 kΩ, 1 MΩ, 10 GΩ.
fn resistance_label(decade: i32, step: f64) -> String {
    let (power, unit) = match decade {
        6.. => (6, "TΩ"),
        3..6 => (3, "GΩ"),
        0..3 => (0, "MΩ"),
        -3..0 => (-3, "kΩ"),
        _ => (-6, "Ω"),
    };
    let value = step * 10f64.powi(decade - power);
    let text = format!("{value:.3}");
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(ticks: &[Tick]) -> Vec<&str> {
        ticks.iter().map(|tick| tick.label.as_str()).collect()
    }

    fn on(year: i32, month: u32, of_month: u32) -> f64 {
        day(NaiveDate::from_ymd_opt(year, month, of_month).expect("a date"))
    }

    #[test]
    fn decades_read_as_an_engineer_writes_them() {
        assert_eq!(labels(&resistance_ticks(-1.2, 3.1)), ["100 kΩ", "1 MΩ", "10 MΩ", "100 MΩ", "1 GΩ"]);
        assert_eq!(labels(&resistance_ticks(1.9, 3.2)), ["100 MΩ", "200 MΩ", "500 MΩ", "1 GΩ"]);
        assert_eq!(labels(&resistance_ticks(-6.0, 8.0)), ["1 Ω", "1 kΩ", "1 MΩ", "1 GΩ", "1 TΩ"]);
    }

    #[test]
    fn dates_go_from_days_to_centuries() {
        let ticks = date_ticks(on(2019, 2, 3), on(2027, 1, 5), 900.0, 80.0);
        assert_eq!(labels(&ticks), ["2020", "2021", "2022", "2023", "2024", "2025", "2026", "2027"]);
        let ticks = date_ticks(on(2024, 11, 1), on(2025, 9, 1), 700.0, 80.0);
        assert_eq!(labels(&ticks), ["Jan", "Apr", "Jul"]);
        assert_eq!(ticks[0].second, "2025");
        let ticks = date_ticks(on(2025, 3, 1), on(2025, 3, 20), 700.0, 80.0);
        assert_eq!(labels(&ticks), ["3 Mar", "10 Mar", "17 Mar"], "weeks begin on Mondays");
        let ticks = date_ticks(on(1600, 1, 1), on(2100, 1, 1), 900.0, 80.0);
        assert_eq!(
            labels(&ticks),
            ["1600", "1650", "1700", "1750", "1800", "1850", "1900", "1950", "2000", "2050", "2100"]
        );
    }

    #[test]
    fn nothing_is_too_long_or_too_short() {
        for (from, to) in [(1.0, 1.0), (1.0, 3_652_059.0), (700_000.0, 700_000.5), (f64::NAN, 5.0), (9.0, -9.0)] {
            assert!(date_ticks(from, to, 800.0, 80.0).len() < 40);
            assert!(minor_dates(from, to, 800.0).len() < 2000);
        }
        assert!(resistance_ticks(f64::NAN, 1.0).len() < 60);
        assert_eq!(date(f64::NAN), date(1.0));
    }
}
