//! Counting how forecasts came true, with the interval that a share of so many cases leaves open.

use statrs::distribution::{Beta, ContinuousCDF};

/// Classes of the calibration table: tenths of a forecast, and parts of each, as many as tell 50, 80, 90 and 95 % apart.
const TENTHS: usize = 10;
const PARTS: usize = 4;
const CLASSES: usize = TENTHS * PARTS;
/// Claimed shares of the middle intervals that are compared with what was found, with the classes left out at either side.
const LEVELS: [(f64, usize); 4] = [(0.5, 10), (0.8, 4), (0.9, 2), (0.95, 1)];
/// Edges between the classes of the probability of reaching the minimum.
pub const EDGES: [f64; 3] = [0.05, 0.3, 0.7];

/// A share of cases with the binomial interval that it leaves open.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Share {
    /// Cases for which it came true.
    pub hits: usize,
    /// All cases.
    pub cases: usize,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl Share {
    fn count(&mut self, hit: bool) {
        self.cases += 1;
        self.hits += usize::from(hit);
    }

    /// The share; none without a case.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        (self.cases > 0).then(|| self.hits as f64 / self.cases as f64)
    }

    /// Clopper-Pearson: quantiles of Beta(k, n − k + 1) and Beta(k + 1, n − k).
    fn finish(&mut self, confidence: f64) {
        let tail = (1.0 - confidence) / 2.0;
        let (k, n) = (self.hits as f64, self.cases as f64);
        // In single precision: the last digits are those of the system's elementary functions.
        let quantile = |a: f64, b: f64, p: f64| {
            Beta::new(a, b).map_or(f64::from(p > 0.5), |beta| f64::from(beta.inverse_cdf(p) as f32))
        };
        self.low = if self.hits == 0 { 0.0 } else { quantile(k, n - k + 1.0, tail) };
        self.high = if self.hits == self.cases { 1.0 } else { quantile(k + 1.0, n - k, 1.0 - tail) };
    }
}

/// How the next readings fell against their intervals.
#[derive(Clone, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct NextReadings {
    /// Inside the interval, of those that decide.
    pub inside: Share,
    /// Below it.
    pub below: usize,
    /// Above it.
    pub above: usize,
    /// Bounds that do not decide.
    pub undecided: usize,
    /// Readings without temperature, which were not compared.
    pub without_temperature: usize,
    /// Forecasts that were not made: too few exact readings.
    pub not_judged: usize,
}

/// Where exact next readings fell in their forecasts: each class should hold as many of them.
#[derive(Clone, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Calibration {
    /// Readings by the probability that the forecast gave to a lower one: by tenths, and by quarters of each.
    pub classes: [[usize; PARTS]; TENTHS],
}

impl Calibration {
    fn count(&mut self, p_lower: f64) {
        let class = (p_lower * CLASSES as f64).floor().clamp(0.0, (CLASSES - 1) as f64) as usize;
        self.classes[class / PARTS][class % PARTS] += 1;
    }

    /// All readings.
    #[must_use]
    pub fn cases(&self) -> usize {
        self.classes.as_flattened().iter().sum()
    }

    /// Share of readings in each tenth of their forecasts; all 0 without a reading.
    #[must_use]
    pub fn tenths(&self) -> [f64; TENTHS] {
        let cases = self.cases().max(1) as f64;
        self.classes.map(|tenth| tenth.iter().sum::<usize>() as f64 / cases)
    }

    /// Share of readings inside the middle interval of each width 0.5, 0.8, 0.9 and 0.95: claimed and found.
    #[must_use]
    pub fn central(&self) -> [(f64, Share); LEVELS.len()] {
        LEVELS.map(|(claimed, skip)| {
            let hits = self.classes.as_flattened()[skip..CLASSES - skip].iter().sum();
            let mut share = Share { hits, cases: self.cases(), low: 0.0, high: 1.0 };
            share.finish(0.9);
            (claimed, share)
        })
    }
}

/// One class of the probability of reaching the minimum inside the horizon.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct ProbabilityBin {
    /// Least probability of the class.
    pub from: f64,
    /// Greatest.
    pub to: f64,
    /// Sum of the probabilities claimed.
    pub claimed: f64,
    /// How many reached it.
    pub reached: Share,
}

/// How the probabilities of reaching the minimum came true.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Crossings {
    /// By class of probability.
    pub bins: [ProbabilityBin; EDGES.len() + 1],
    /// Sum of the squared differences between probability and outcome.
    pub brier_sum: f64,
    /// Forecasts whose outcome is not known: work was done, or the record ended.
    pub undecided: usize,
}

impl Default for Crossings {
    fn default() -> Self {
        let edge = |k: usize| if k == 0 { 0.0 } else { EDGES.get(k - 1).copied().unwrap_or(1.0) };
        let bin = |k: usize| ProbabilityBin { from: edge(k), to: edge(k + 1), ..ProbabilityBin::default() };
        Self { bins: std::array::from_fn(bin), brier_sum: 0.0, undecided: 0 }
    }
}

impl Crossings {
    fn count(&mut self, p: f64, reached: bool) {
        let class = EDGES.iter().filter(|edge| p >= **edge).count();
        self.bins[class].claimed += p;
        self.bins[class].reached.count(reached);
        self.brier_sum += (p - f64::from(u8::from(reached))).powi(2);
    }

    /// Forecasts with a known outcome.
    #[must_use]
    pub fn cases(&self) -> usize {
        self.bins.iter().map(|bin| bin.reached.cases).sum()
    }
}

/// Skill against the plain least-squares line, on the readings that both forecast.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Skill {
    /// Readings compared.
    pub cases: usize,
    /// Sum of the absolute errors of the middle forecast, decades.
    pub error_sum: f64,
    /// The line's.
    pub line_error_sum: f64,
    /// Sum of the interval scores, decades.
    pub score_sum: f64,
    /// The line's.
    pub line_score_sum: f64,
    /// Readings inside the line's interval.
    pub line_inside: usize,
}

impl Skill {
    /// Ratio of the interval scores: below 1 the method is better than the line. None without a case.
    #[must_use]
    pub fn score_ratio(&self) -> Option<f64> {
        (self.cases > 0 && self.line_score_sum > 0.0).then(|| self.score_sum / self.line_score_sum)
    }

    /// Ratio of the mean absolute errors.
    #[must_use]
    pub fn error_ratio(&self) -> Option<f64> {
        (self.cases > 0 && self.line_error_sum > 0.0).then(|| self.error_sum / self.line_error_sum)
    }
}

/// Interval score: width, plus 2/α times the distance by which the value lies outside.
pub(super) fn interval_score(low: f64, high: f64, value: f64, confidence: f64) -> f64 {
    let beyond = (low - value).max(value - high).max(0.0);
    high - low + 2.0 / (1.0 - confidence) * beyond
}

/// What one forecast met: no more than is needed to count it, because there is one for every series at every cut.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Met {
    /// How the next reading fell; none where there was none to compare.
    pub(super) next: Option<NextReading>,
    /// The probability of reaching the minimum, and whether it did; none where work or the end of the record came first.
    pub(super) crossing: Option<(f64, Option<bool>)>,
}

/// How the next reading fell against its forecast.
#[derive(Clone, Copy, Debug)]
pub(super) enum NextReading {
    /// No forecast was made.
    NotJudged,
    WithoutTemperature,
    /// A bound that does not decide.
    Undecided,
    /// A bound beyond the interval.
    Beyond {
        above: bool,
    },
    Exact(ExactReading),
}

/// An exact next reading.
#[derive(Clone, Copy, Debug)]
pub(super) struct ExactReading {
    pub(super) is_inside: bool,
    pub(super) is_above: bool,
    /// Probability that the forecast gave to a lower one.
    pub(super) p_lower: f64,
    /// Its distance from the middle forecast, decades, and the interval score; the same of the line, and whether its interval held it.
    pub(super) skill: Option<(OfForecast, OfForecast, bool)>,
}

/// How good one forecast was.
#[derive(Clone, Copy, Debug)]
pub(super) struct OfForecast {
    pub(super) error: f64,
    pub(super) score: f64,
}

/// Everything counted for a group, or for all.
#[derive(Clone, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Tally {
    /// How the next readings fell.
    pub next_readings: NextReadings,
    /// Where they fell in their forecasts.
    pub calibration: Calibration,
    /// How the probabilities of reaching the minimum came true.
    pub crossings: Crossings,
    /// Skill against the plain line.
    pub skill: Skill,
}

impl Tally {
    pub(super) fn count(&mut self, met: &Met) {
        match met.next {
            None => {}
            Some(NextReading::NotJudged) => self.next_readings.not_judged += 1,
            Some(NextReading::WithoutTemperature) => self.next_readings.without_temperature += 1,
            Some(NextReading::Undecided) => self.next_readings.undecided += 1,
            Some(NextReading::Beyond { above }) => self.reading(false, above),
            Some(NextReading::Exact(exact)) => {
                self.reading(exact.is_inside, exact.is_above);
                self.calibration.count(exact.p_lower);
                if let Some((own, line, is_inside_line)) = exact.skill {
                    self.skill.cases += 1;
                    self.skill.error_sum += own.error;
                    self.skill.line_error_sum += line.error;
                    self.skill.score_sum += own.score;
                    self.skill.line_score_sum += line.score;
                    self.skill.line_inside += usize::from(is_inside_line);
                }
            }
        }
        match met.crossing {
            None => {}
            Some((p, Some(reached))) => self.crossings.count(p, reached),
            Some((_, None)) => self.crossings.undecided += 1,
        }
    }

    fn reading(&mut self, inside: bool, above: bool) {
        let next = &mut self.next_readings;
        next.inside.count(inside);
        next.above += usize::from(!inside && above);
        next.below += usize::from(!inside && !above);
    }

    pub(super) fn finish(&mut self, confidence: f64) {
        self.next_readings.inside.finish(confidence);
        for bin in &mut self.crossings.bins {
            bin.reached.finish(confidence);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clopper and Pearson's limits for 8 of 10 at 95 %: 0.4439 and 0.9748 (standard tables, from memory).
    #[test]
    fn the_binomial_interval_is_the_exact_one() {
        let mut share = Share { hits: 8, cases: 10, ..Share::default() };
        share.finish(0.95);
        assert!((share.low - 0.4439).abs() < 5e-5 && (share.high - 0.9748).abs() < 5e-5, "{share:?}");
        let mut none = Share::default();
        none.finish(0.9);
        assert_eq!((none.value(), none.low, none.high), (None, 0.0, 1.0));
    }

    #[test]
    fn a_miss_costs_twenty_times_its_distance_at_ninety_percent() {
        assert!((interval_score(1.0, 2.0, 1.5, 0.9) - 1.0).abs() < 1e-12);
        assert!((interval_score(1.0, 2.0, 2.1, 0.9) - 3.0).abs() < 1e-9);
        assert!((interval_score(1.0, 2.0, 0.9, 0.9) - 3.0).abs() < 1e-9);
    }

    #[test]
    fn even_classes_are_perfect_calibration() {
        let mut calibration = Calibration::default();
        for i in 0..1000 {
            calibration.count((f64::from(i) + 0.5) / 1000.0);
        }
        assert_eq!(calibration.classes, [[25; PARTS]; TENTHS]);
        assert!(calibration.tenths().iter().all(|share| (share - 0.1).abs() < 1e-12), "{:?}", calibration.tenths());
        for (claimed, found) in calibration.central() {
            assert!((found.value().unwrap_or(0.0) - claimed).abs() < 1e-9);
        }
    }

    #[test]
    fn probabilities_fall_into_their_classes() {
        let mut crossings = Crossings::default();
        for (p, reached) in [(0.0, false), (0.05, false), (0.3, true), (0.7, true), (1.0, true)] {
            crossings.count(p, reached);
        }
        let counts = crossings.bins.map(|bin| bin.reached.cases);
        assert_eq!(counts, [1, 1, 1, 2]);
        assert!((crossings.brier_sum - (0.0025 + 0.49 + 0.09)).abs() < 1e-12);
    }
}
