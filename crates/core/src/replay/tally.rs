//! Counting how forecasts came true, with the interval that a share of so many cases leaves open.

use statrs::distribution::{Beta, ContinuousCDF};

/// Classes of the calibration table: tenths of a forecast, and parts of each, as many as tell 50, 80, 90 and 95 % apart.
const TENTHS: usize = 10;
const PARTS: usize = 4;
const CLASSES: usize = TENTHS * PARTS;
/// Claimed shares of the middle intervals that are held against what was found, with the classes left out at either side.
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

    fn add(&mut self, other: &Self) {
        self.cases += other.cases;
        self.hits += other.hits;
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
        let quantile = |a: f64, b: f64, p: f64| Beta::new(a, b).map_or(f64::from(p > 0.5), |beta| beta.inverse_cdf(p));
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
    pub(super) fn count(&mut self, p_lower: f64) {
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
    pub(super) fn count(&mut self, p: f64, reached: bool) {
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
    pub(super) fn reading(&mut self, inside: bool, above: bool) {
        let next = &mut self.next_readings;
        next.inside.count(inside);
        next.above += usize::from(!inside && above);
        next.below += usize::from(!inside && !above);
    }

    pub(super) fn add(&mut self, other: &Self) {
        let (here, there) = (&mut self.next_readings, &other.next_readings);
        here.inside.add(&there.inside);
        here.below += there.below;
        here.above += there.above;
        here.undecided += there.undecided;
        here.without_temperature += there.without_temperature;
        here.not_judged += there.not_judged;
        let there = other.calibration.classes.as_flattened();
        for (a, b) in self.calibration.classes.as_flattened_mut().iter_mut().zip(there) {
            *a += b;
        }
        for (a, b) in self.crossings.bins.iter_mut().zip(&other.crossings.bins) {
            a.claimed += b.claimed;
            a.reached.add(&b.reached);
        }
        self.crossings.brier_sum += other.crossings.brier_sum;
        self.crossings.undecided += other.crossings.undecided;
        self.skill.cases += other.skill.cases;
        self.skill.error_sum += other.skill.error_sum;
        self.skill.line_error_sum += other.skill.line_error_sum;
        self.skill.score_sum += other.skill.score_sum;
        self.skill.line_score_sum += other.skill.line_score_sum;
        self.skill.line_inside += other.skill.line_inside;
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
