//! Judges the insulation of motor and generator windings from direct-voltage test histories.
//!
//! Readings of insulation resistance are hard to compare: they halve with every ten or twenty kelvins, dip on damp days, stop
//! at the top of the tester's scale, and start afresh after a rewind. This crate brings them to one temperature, follows
//! each winding's trend with its uncertainty, and gives one [`Action`](assess::Action) per series with its
//! findings: hold, plan, recheck, shorten, keep or gather.
//!
//! # Example
//!
//! A winding tested every quarter, each time a fifth lower. Quantities are types with a unit, so that volts are never taken for
//! megohms; [`assess`](assess::assess) does the rest.
//!
//! ```
//! use groundwall::prelude::*;
//!
//! let minute = Elapsed::from_seconds(60.0)?;
//! let rows = [
//!     ("2025-01-14", 61.0, 21.0), ("2025-04-15", 47.0, 24.0), ("2025-07-12", 36.0, 31.0), ("2025-10-11", 33.0, 22.0),
//!     ("2026-01-17", 27.0, 19.0), ("2026-04-14", 21.0, 23.0), ("2026-07-15", 16.0, 29.0), ("2026-10-13", 14.0, 22.0),
//! ];
//! let mut tests = Vec::new();
//! for (day, megohms, celsius) in rows {
//!     let test = TestRecord::builder("P-101", TestedOn::day(day.parse()?))
//!         .reading(minute, Measured::Exact(Resistance::from_megohms(megohms)?))
//!         .winding_temp(Temperature::from_celsius(celsius)?);
//!     tests.push(test.build()?);
//! }
//! let nameplate = Nameplate {
//!     construction: Some(Construction::RandomWound),
//!     insulation: Insulation::Thermosetting,
//!     rated_voltage: Some(Voltage::from_volts(400.0)?),
//!     ..Nameplate::default()
//! };
//! let terms = Terms {
//!     policy: Policy::default(),
//!     as_of: "2026-11-25".parse()?,
//!     confidence: Confidence::from_fraction(0.9)?,
//! };
//! let judged = assess(&Series::collect(tests)[0], &nameplate, &terms).assessment;
//! assert_eq!(judged.action, Action::Plan);
//! assert!(judged.forecast.p_below_in_horizon.is_some_and(|p| p > 0.3));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Dates are [`NaiveDate`](chrono::NaiveDate)s of [`chrono`], which this crate re-exports. Cells of text instead of numbers are
//! read by [`TestRules::validate`](record::validate::TestRules::validate). Many windings are judged by
//! [`assess_fleet`](assess::assess_fleet), where similar ones make each other's forecasts narrower.
//!
//! A trend of readings of one's own, and when it reaches 5 MΩ. The first was over range on a scale that ends at 50 MΩ: a bound
//! is said by its [`Bound`](resistance::Bound) and never turned into a number.
//!
//! ```
//! use groundwall::resistance::Bound;
//! use groundwall::temperature::TemperatureLaw;
//! use groundwall::trend::{fit_lone, Reading, Stretch};
//! use groundwall::units::{Confidence, OutOfRange, Resistance, Temperature, Years};
//!
//! let reference = Temperature::from_celsius(40.0)?;
//! let rows = [
//!     (-2.1, Bound::Above, 50.0, 23.0), // years from today, bound, MΩ as read, °C
//!     (-1.6, Bound::Exact, 47.0, 24.0),
//!     (-1.1, Bound::Exact, 33.0, 22.0),
//!     (-0.6, Bound::Exact, 21.0, 23.0),
//!     (-0.1, Bound::Exact, 14.0, 22.0),
//! ];
//! let readings = rows.map(|(years, bound, megohms, celsius)| {
//!     let temperature = Temperature::from_celsius(celsius)?;
//!     let correction = TemperatureLaw::Thermosetting.correction(temperature, reference);
//!     let corrected = Resistance::from_megohms(megohms)?.scaled(correction.factor());
//!     let reading = Reading::new(Years::from_years(years)?, bound, corrected);
//!     Ok::<_, OutOfRange>(reading.at_temperature(temperature - reference))
//! });
//! let fit = fit_lone(&Stretch::new(readings.into_iter().collect::<Result<_, _>>()?)?);
//!
//! let (minimum, confidence) = (Resistance::from_megohms(5.0)?, Confidence::from_fraction(0.9)?);
//! let slope = fit.slope(confidence).map(|slope| slope.as_decades_per_year());
//! assert!(slope.low < -0.33 && slope.high > -0.37); // a third lost in half a year is about −0.35
//! let (crossing, two_years) = (fit.crossing(minimum, confidence), Years::from_years(2.0)?);
//! assert!(crossing.earliest.is_some_and(|earliest| earliest < two_years));
//! assert!(fit.p_below(two_years, minimum).as_fraction() > 0.5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! The folder `examples` has three whole programs: one reading, one winding's history, a fleet from memory. The [`guide`] is for
//! people: the method, every finding and action, every key of the policy, the limits.
//!
//! # Flow
//!
//! ```text
//! cells ─validate→ TestRecord ─collect→ Series ─assess→ Judgement: action, findings, trend, forecast, next test
//!   │                                 Nameplate ↗  ↖ Terms: policy, as-of date, confidence
//!   └─→ faults: column, value, rule, hint
//! ```
//!
//! The crate reads no file, asks no clock and prints nothing: values in, values out.
//!
//! # Modules
//!
//! | module | holds |
//! | --- | --- |
//! | [`prelude`] | what most programs need |
//! | [`units`] | quantities with limits: resistance, temperature and temperature difference, voltage, elapsed time |
//! | [`resistance`] | a resistance that is exact, above or below; the grammar of its cell |
//! | [`record`], [`series`] | one test; its headers and the rule for every cell; the tests of one winding in time order |
//! | [`nameplate`], [`policy`] | what is known of a winding; every threshold of the site |
//! | [`temperature`], [`absorption`], [`moisture`], [`minimum`], [`voltage`] | the physics and the rules of the trade |
//! | [`trend`] | the model of a stretch and the date on which its level reaches a minimum |
//! | [`assess`] | findings, actions, the next test |
//! | [`round`] | what to test next, and what to expect there |
//! | [`replay`] | how well the forecasts of the time came true |
//! | [`guide`] | pages for people |
//!
//! # Features
//!
//! `serde`, off by default, serialises [`SeriesAssessment`](assess::SeriesAssessment) with all its
//! parts under the key names of the command line's result file, [`Replay`](replay::Replay) with its parts, and the quantities of
//! [`units`]; these are not read back. It writes and reads [`Learnt`](assess::Learnt). What goes in, and a whole
//! [`Judgement`](assess::Judgement), are not serialised.
//!
//! # Versions
//!
//! Semantic versioning: before 1.0 the second number rises with every change that can break a caller, after it the first. What
//! is documented is promised: names, units, the keys and words of results. Figures are not: a better method gives other
//! dates, and the changelog says so. The `rust-version` of the manifest is the release that everything is tested with.
#![forbid(unsafe_code)]
#![cfg_attr(not(test), deny(clippy::disallowed_methods))]
#![cfg_attr(docsrs, feature(doc_cfg))]

pub use chrono;

pub mod absorption;
pub mod assess;
pub mod guide;
pub mod minimum;
pub mod moisture;
pub mod nameplate;
pub mod policy;
pub mod prelude;
pub mod record;
pub mod replay;
pub mod resistance;
pub mod round;
pub mod series;
pub mod steps;
pub mod temperature;
pub mod trend;
pub mod units;
pub mod voltage;

// For the other crates, checks and benches of this project; no promise is made about them.
#[doc(hidden)]
pub mod stats;
#[doc(hidden)]
pub mod table;
