//! Trend of one stretch, and the distribution of the date on which its level reaches a minimum.
//!
//! A numeric engine: log10 MΩ against years, with bounds, temperatures and known extra uncertainty, in; levels,
//! slopes, probabilities and dates out. It knows nothing of windings, calendars, policies or actions.
//!
//! # The method
//! 1. [`Stretch::new`] checks the readings of one stretch (those since the last event).
//! 2. The latest readings are judged by what the earlier ones predict: a fall (`fall`).
//! 3. Without a fall, an unannounced shift is looked for (`shift`); it resets the level, not the slope.
//! 4. Wild readings and ordinary scatter are distinguished (`robust`).
//! 5. Twelve shapes of decline, three kinds of noise, and two scales each for slope and temperature are solved in
//!    closed form (`models`), each weighed by how well it explains the readings.
//! 6. Their average gives P(level(x) ≤ L) (`mixture`) and with it the crossing date (`crossing`).
//!
//! Priors are defaults for one lone winding, or learnt from a group in one deterministic pass (`pooled`).
//!
//! # Map
//! | file | decides |
//! | --- | --- |
//! | `stretch` | what goes in, and its limits |
//! | `prepared` | season and temperature columns; what a missing temperature costs |
//! | `bounds` | regression with bounds |
//! | `robust` | which readings are outliers; the scatter |
//! | `fall`, `likelihood`, `shift` | recent falls, unannounced shifts |
//! | `shapes`, `noise`, `models`, `weighing`, `elimination` | the models, their solution and evidence |
//! | `mixture`, `crossing`, `approach`, `band` | the average, dates and intervals from it |
//! | `priors`, `pooled` | what is believed before, and what a group teaches |
//! | `fit` | the order of the steps, and every answer |
//!
//! # Cost
//! Time proportional to the number of readings: every step is a fixed number of passes over them at most, counted by a test
//! (`work`). One allocation per table, none per model.
//!
//! # Examples
//! Thirteen quarters of a steady decline, 0.2 decades a year, now at 100 MΩ: 5 MΩ is 1.30 decades below.
//! ```
//! use groundwall::{resistance::Bound, trend::{fit_lone, Reading, Stretch}};
//! use groundwall::units::{Confidence, OutOfRange, Resistance, Years};
//! let readings = (0..13).map(|k| {
//!     let t = -0.25 * f64::from(12 - k);
//!     Ok::<_, OutOfRange>(Reading::new(Years::from_years(t)?, Bound::Exact, Resistance::from_log10_megohms(2.0 - 0.2 * t)))
//! });
//! let fit = fit_lone(&Stretch::new(readings.collect::<Result<_, _>>()?)?);
//! let minimum = Resistance::from_megohms(5.0)?;
//! let crossing = fit.crossing(minimum, Confidence::from_fraction(0.9)?);
//! let (earliest, median) = (crossing.earliest.unwrap().as_years(), crossing.median.unwrap().as_years());
//! assert!(earliest < 6.5 && (median - 6.5).abs() < 0.7);
//! assert!(fit.p_below(Years::from_years(1.0)?, minimum).as_fraction() < 0.001);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Quantities are typed at this door, so that a confidence of 90 or a minimum that is not a number cannot be written:
//! ```
//! # use groundwall::units::{Confidence, Resistance};
//! assert!(Confidence::from_fraction(90.0).is_err() && Confidence::from_fraction(f64::NAN).is_err());
//! assert!(Resistance::from_megohms(f64::NAN).is_err());
//! ```
//! and arguments cannot be swapped, nor log10 be given for megohms:
//! ```compile_fail,E0308
//! # use groundwall::{trend::StretchFit, units::{Confidence, Resistance}};
//! # fn f(fit: &StretchFit, minimum: Resistance, confidence: Confidence) {
//! fit.crossing(confidence, minimum);
//! # }
//! ```
//! ```compile_fail,E0308
//! # use groundwall::{trend::StretchFit, units::Confidence};
//! # fn f(fit: &StretchFit, confidence: Confidence) {
//! fit.crossing(5.0_f64.log10(), confidence);
//! # }
//! ```
//!
//! # References
//! Fieller 1954; Lu & Meeker 1993; Hoeting et al. 1999; Singh, Xie & Strawderman 2005; each part cites its own.

mod approach;
mod band;
mod blocks;
mod bounds;
mod crossing;
#[cfg(test)]
mod degenerate;
mod elimination;
mod fall;
mod fit;
#[cfg(test)]
mod identities;
mod kept;
mod likelihood;
mod mixture;
mod models;
mod noise;
mod pooled;
mod prepared;
mod priors;
mod robust;
mod shapes;
mod shift;
mod stretch;
mod weighing;
#[cfg(test)]
mod work;

pub use approach::Approach;
pub use band::{Band, ReadingForecast};
pub use crossing::{CannotSay, Crossing, HORIZON_YEARS};
pub use fall::Fall;
pub use fit::{Estimate, Screened, Solved, StretchFit, fit_lone, recent_fall, screen, solve};
pub use noise::NoiseKind;
pub use pooled::{Summary, fit_group};
pub use priors::{NoiseWeights, Priors};
pub use shapes::Shape;
pub use shift::Shift;
pub use stretch::{Reading, Stretch, StretchError};
