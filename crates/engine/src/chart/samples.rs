//! Judgements made up for tests of the charts.

use super::ChartContext;
use super::trend::TrendPicture;
use chrono::{Days, NaiveDate};
use groundwall::assess::{
    Action, Background, Code, CorrectedTest, CrossingDates, Finding, Forecast, Judgement, Latest, LeftOut, Level,
    Minimum, NextTest, SeriesAssessment, SinceReason, TrendSummary,
};
use groundwall::nameplate::Nameplate;
use groundwall::record::{Event, TestRecord, TestedOn};
use groundwall::resistance::Measured;
use groundwall::temperature::TemperatureLaw;
use groundwall::trend::{NoiseWeights, Priors};
use groundwall::units::{Confidence, Elapsed, Resistance, Temperature, Voltage};

pub(crate) fn on(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

pub(crate) fn mohm(value: f64) -> Resistance {
    Resistance::from_megohms(value).expect("a resistance")
}

/// A number between −1 and 1 that is the same every time.
fn wobble(i: u32) -> f64 {
    f64::from((i.wrapping_mul(2_654_435_761) >> 8) % 2001) / 1000.0 - 1.0
}

pub(crate) struct Sample {
    pub(crate) judgement: Judgement,
    pub(crate) context: ChartContext,
    /// log10 level on the first day, slope per year, half width of the band and its growth per year to come.
    line: Option<(NaiveDate, f64, f64, f64, f64)>,
}

impl Sample {
    pub(crate) fn new(winding: &str, action: Action, as_of: &str) -> Self {
        let assessment = SeriesAssessment {
            winding: winding.to_owned(),
            connection: "all-earth".to_owned(),
            scope: "winding".to_owned(),
            site: Some("North works".to_owned()),
            area: None,
            description: None,
            criticality: None,
            criticality_rank: 0,
            work_order: None,
            maker: None,
            group: None,
            action,
            findings: Vec::new(),
            latest: None,
            ratios: Vec::new(),
            minimum: Some(Minimum {
                resistance: mohm(5.0),
                rule: "random-wound or below 1 kV: 5 MΩ at 40 °C (IEEE 43-2013, table 3)".to_owned(),
                as_read: None,
                basis_assumed: false,
                assumed: false,
                by_policy: false,
            }),
            void_tested_on: None,
            trend: None,
            forecast: Forecast::default(),
            work_by: None,
            next_test: NextTest { by: on(as_of), why: "usual interval".to_owned() },
            overdue_days: None,
        };
        Self {
            judgement: Judgement {
                assessment,
                tests: Vec::new(),
                law: "thermosetting, two activation branches (IEEE 43-2013, 6.3)".to_owned(),
                reference: Temperature::from_celsius(40.0).expect("a temperature"),
                confidence: Confidence::from_fraction(0.9).expect("a confidence"),
                as_of: on(as_of),
                fit: None,
                doubted: None,
                drying: None,
                background: Background {
                    nameplate: Nameplate::default(),
                    registered: true,
                    law: TemperatureLaw::Thermosetting.into(),
                    assumed_law: TemperatureLaw::Thermosetting,
                    learnt_law: None,
                    by_law: Vec::new(),
                    priors: Priors::default(),
                    noise_weights: NoiseWeights::default(),
                    p_below_today: None,
                    p_below_in_shorten: None,
                },
            },
            context: ChartContext {
                sources: vec!["tests-2019-2026.csv".to_owned()],
                place: vec![
                    "North works".to_owned(),
                    "Pump house 2".to_owned(),
                    "cooling water pump, 75 kW".to_owned(),
                ],
            },
            line: None,
        }
    }

    /// Adds tests every so many days around a line in log10, and the trend that goes with it.
    pub(crate) fn falling(mut self, from: &str, every: u64, start: f64, slope: f64, scatter: f64) -> Self {
        let first = on(from);
        let mut when = first;
        let mut i = 0;
        while when <= self.judgement.as_of {
            let years = when.signed_duration_since(first).num_days() as f64 / 365.25;
            let value = 10f64.powf(start + slope * years + scatter * wobble(i));
            self = self.test(
                &when.to_string(),
                Measured::Exact(mohm(value)),
                Some(10f64.powf(0.25 * wobble(i + 77) - 0.1)),
            );
            when = when + Days::new(every);
            i += 1;
        }
        self.trend(from, start, slope, scatter)
    }

    pub(crate) fn trend(mut self, since: &str, start: f64, slope: f64, scatter: f64) -> Self {
        let years = self.judgement.as_of.signed_duration_since(on(since)).num_days() as f64 / 365.25;
        let level = 10f64.powf(start + slope * years);
        self.line = Some((on(since), start, slope, scatter * 0.7, 0.05 + slope.abs() * 0.25));
        self.judgement.assessment.trend = Some(TrendSummary {
            method: "censored robust regression with drift".to_owned(),
            since: on(since),
            since_reason: SinceReason::FirstTest,
            tests: self.judgement.tests.len(),
            exact: self.judgement.tests.len(),
            above: 0,
            below: 0,
            level_mohm: Some(level),
            slope_log10_per_year: Some(slope),
            slope_low: None,
            slope_high: None,
            halving_years: (slope < 0.0).then(|| 2f64.log10() / -slope),
            scatter_log10: Some(scatter),
            p_falling: Some(0.99),
        });
        self
    }

    pub(crate) fn test(mut self, when: &str, corrected: Measured, kt: Option<f64>) -> Self {
        self.judgement.tests.push(CorrectedTest {
            tested_on: TestedOn::day(on(when)),
            as_read: Some(kt.map_or(corrected, |kt| corrected.scaled(1.0 / kt))),
            corrected: Some(corrected),
            kt,
            winding_temp: None,
            test_volts: Voltage::from_volts(500.0).ok(),
            pi: None,
            dar: None,
            event: None,
            left_out: None,
            p_outlier: 0.0,
        });
        self.judgement.assessment.latest = Some(Latest {
            tested_on: on(when),
            r60_mohm: corrected.resistance().map(Resistance::as_megohms),
            bound: corrected.bound(),
            winding_temp_c: None,
            kt,
            r60_ref_mohm: corrected.resistance().map(Resistance::as_megohms),
            pi: None,
            dar: None,
            procedure: Default::default(),
        });
        self
    }

    pub(crate) fn last(mut self, change: impl FnOnce(&mut CorrectedTest)) -> Self {
        self.judgement.tests.last_mut().map(change);
        self
    }

    pub(crate) fn nth(mut self, n: usize, change: impl FnOnce(&mut CorrectedTest)) -> Self {
        self.judgement.tests.get_mut(n).map(change);
        self
    }

    pub(crate) fn crosses(mut self, earliest: &str, median: Option<&str>, latest: Option<&str>) -> Self {
        let dates = CrossingDates { earliest: on(earliest), median: median.map(on), latest: latest.map(on) };
        self.judgement.assessment.forecast.reaches_minimum = Some(dates);
        self
    }

    pub(crate) fn finding(mut self, code: Code, message: &str) -> Self {
        self.judgement.assessment.findings.push(Finding::new(code, message, ""));
        self
    }

    fn level_at(&self, day: NaiveDate) -> Option<Level> {
        let (since, start, slope, half, growth) = self.line?;
        let years = |from: NaiveDate| day.signed_duration_since(from).num_days() as f64 / 365.25;
        let middle = start + slope * years(since);
        let ahead = years(self.judgement.as_of).max(0.0);
        let half = half + growth * ahead;
        Some(Level {
            low: Resistance::from_log10_megohms(middle - half * 1.2),
            median: Resistance::from_log10_megohms(middle),
            high: Resistance::from_log10_megohms(middle + half),
        })
    }

    pub(crate) fn picture(&self) -> TrendPicture {
        TrendPicture::with_levels(&self.judgement, &self.context, &|day| self.level_at(day))
    }
}

/// Names that a chart must stand.
pub(crate) const NAMES: [&str; 6] = [
    "P-101 stator",
    "<script>alert(\"1\")</script> & 'q'",
    "محرك 7 насос 馬",
    "👩‍🔧⚡ pump 🏭",
    "",
    "Reserve boiler feed water pump motor of the second turbine hall, with the old cable, on loan since the flood of last year",
];

/// A row of timed readings in MΩ.
pub(crate) fn row(when: &str, timed: &[(f64, Measured)]) -> TestRecord {
    let mut test = TestRecord::builder("R-1", TestedOn::day(on(when)));
    for (seconds, value) in timed {
        test = test.reading(Elapsed::from_seconds(*seconds).expect("a time"), *value);
    }
    test.build().expect("a test with readings")
}

/// Cases that a chart must stand, by name.
pub(crate) fn all() -> Vec<(&'static str, Sample)> {
    let exact = |value: f64| Measured::Exact(mohm(value));
    let above = |value: f64| Measured::Above(mohm(value));
    let mut cases = vec![
        ("steady", Sample::new("P-101", Action::Keep, "2026-11-25").falling("2019-03-10", 91, 2.9, -0.005, 0.09)),
        (
            "falling",
            Sample::new("P-104", Action::Plan, "2026-11-25")
                .falling("2020-03-14", 91, 3.1, -0.21, 0.1)
                .crosses("2029-03-01", Some("2032-02-01"), Some("2035-01-20"))
                .finding(
                    Code::ReachesMinimum,
                    "The level falls by half in 17 months and reaches 5 MΩ inside the planning horizon with a probability of 0.41.",
                ),
        ),
        (
            "soon",
            Sample::new("P-105", Action::Plan, "2026-11-25")
                .falling("2021-03-14", 91, 2.6, -0.29, 0.07)
                .crosses("2027-07-01", Some("2027-10-01"), Some("2028-01-20"))
                .nth(4, |t| t.event = Some(Event::Dried))
                .finding(Code::ReachesMinimum, "The level reaches 5 MΩ inside the planning horizon with a probability of 0.83."),
        ),
        (
            "below",
            Sample::new("M-7", Action::Hold, "2026-11-25")
                .falling("2021-06-14", 120, 2.2, -0.33, 0.08)
                .test("2026-11-20", exact(1.4), Some(0.6))
                .crosses("2026-06-01", Some("2026-08-01"), Some("2026-11-25"))
                .finding(Code::BelowMinimum, "The latest reading, 1.4 MΩ at 40 °C, is below the minimum of 5 MΩ."),
        ),
    ];
    let mut bounds = Sample::new("F-21", Action::Gather, "2026-11-25");
    for year in 2019..2027 {
        bounds =
            bounds.test(&format!("{year}-04-0{}", year - 2018), above(2000.0 + 300.0 * wobble(year as u32)), Some(0.5));
    }
    bounds.judgement.assessment.forecast.cannot_say =
        Some("every reading is over the end of the tester's scale, so no level can be given.".to_owned());
    cases.push(("bounds", bounds));
    let mut mixed =
        Sample::new("K-3 stator", Action::Shorten, "2026-11-25").falling("2019-05-02", 150, 3.6, -0.11, 0.12);
    for n in [0, 1, 3] {
        mixed = mixed.nth(n, |t| t.corrected = Some(above(2500.0)));
    }
    cases.push((
        "mixed",
        mixed
            .nth(6, |t| t.corrected = Some(Measured::OffScale))
            .nth(8, |t| t.left_out = Some(LeftOut::LeadCheckFailed))
            .nth(11, |t| (t.corrected, t.p_outlier) = (Some(exact(31.0)), 0.97))
            .nth(13, |t| t.kt = None)
            .nth(15, |t| t.corrected = Some(Measured::Below(mohm(100.0))))
            .test("2027-02-01", exact(700.0), Some(0.9))
            .last(|t| t.left_out = Some(LeftOut::AfterAsOf))
            .crosses("2034-02-01", None, None)
            .finding(Code::Falling, "The level falls by half in 33 months, and that is not chance (p = 0.99)."),
    ));
    cases.push(("one", Sample::new("N-1", Action::Gather, "2026-11-25").test("2026-10-01", exact(420.0), Some(0.7))));
    let mut restart = Sample::new("G-2 stator", Action::Keep, "2026-11-25")
        .falling("2017-02-10", 91, 2.7, -0.18, 0.08)
        .trend("2023-05-05", 3.3, -0.02, 0.1);
    for (n, test) in restart.judgement.tests.iter_mut().enumerate() {
        match n {
            25.. => test.corrected = Some(exact(10f64.powf(3.3 + 0.1 * wobble(n as u32)))),
            _ => test.left_out = Some(LeftOut::BeforeStretch),
        }
        test.as_read = test.corrected.map(|m| m.scaled(1.4));
    }
    restart = restart
        .nth(0, |t| t.event = Some(Event::Commissioned))
        .nth(12, |t| t.event = Some(Event::Cleaned))
        .nth(13, |t| t.event = Some(Event::Dried))
        .nth(25, |t| t.event = Some(Event::Rewound))
        .nth(37, |t| t.event = Some(Event::Cleaned));
    cases.push(("restart", restart));
    cases.push((
        "monthly",
        Sample::new("P-300", Action::Shorten, "2026-11-25").falling("2004-01-10", 30, 4.2, -0.06, 0.22),
    ));
    let long = "Reserve boiler feed water pump motor of the second turbine hall, with the old cable, on loan from the \
                neighbouring works since the flood, known to the shift as the tired one, ";
    let mut huge = Sample::new(&long.repeat(2), Action::Plan, "2026-11-25")
        .falling("2022-01-05", 60, 2.8, -0.3, 0.1)
        .crosses("2027-12-01", Some("2028-06-01"), Some("2029-03-01"))
        .finding(Code::ReachesMinimum, &"The level falls and reaches the minimum soon. ".repeat(12));
    huge.context.sources =
        (0..9).map(|i| format!("history-of-the-whole-works-sheet-{i}-final-corrected.csv")).collect();
    cases.push(("huge", huge));
    cases.push((
        "foreign",
        Sample::new("محرك <b>\"&'ق\u{202e}\u{0}7 насос Ä 馬", Action::Plan, "2026-11-25")
            .falling("2026-08-01", 9, 1.5, -1.1, 0.05)
            .crosses("2027-02-01", Some("2027-04-01"), None),
    ));
    let mut family =
        Sample::new("👩‍🔧⚡ pump 🏭", Action::Shorten, "2199-12-31").falling("2193-02-01", 91, 2.4, -0.1, 0.1);
    family = family.crosses("2203-01-01", Some("2206-01-01"), None);
    cases.push(("emoji", family));
    cases.push(("old", Sample::new("M-1", Action::Keep, "1907-06-01").falling("1900-01-01", 180, 1.2, 0.01, 0.05)));
    let mut wide = Sample::new("Q-9", Action::Recheck, "2026-11-25").test("1900-01-01", exact(1e-6), Some(1.0));
    wide = wide.test("2020-01-01", exact(1e8), Some(1.0)).test("2199-12-31", above(1e8), None);
    cases.push(("wide", wide.last(|t| t.left_out = Some(LeftOut::AfterAsOf))));
    cases.push(("nameless", Sample::new("", Action::Gather, "2026-11-25").test("2026-10-01", exact(420.0), None)));
    let mut shifted = Sample::new("K-8", Action::Keep, "2026-11-25").falling("2019-05-02", 91, 2.9, -0.01, 0.08);
    if let Some(trend) = &mut shifted.judgement.assessment.trend {
        (trend.since, trend.since_reason) = (on("2023-08-14"), SinceReason::LevelShift);
    }
    cases.push(("shifted", shifted));
    cases.push(("empty", Sample::new("X", Action::Gather, "2026-11-25")));
    cases
}
