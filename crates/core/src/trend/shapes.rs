//! The shapes a decline may take.
//!
//! Each shape g(t) is 0 at the start of the record and S, its span, at the last reading, so that its coefficient is
//! always the mean slope over the record and one prior serves all of them. The forecast is the same formula beyond
//! the last reading.

use super::priors::LEAST_SPAN_YEARS;

/// Number of shapes.
pub(super) const COUNT: usize = 12;

/// One shape of decline. Names say what it looks like on log paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shape {
    /// The usual case: a constant share lost per year.
    Straight,
    /// Wear that grows with age since the stretch began (power path; Meeker & Escobar 1998).
    Power,
    /// Speeding up slowly: the slope doubles every 7 years.
    ExponentialSlow,
    /// Speeding up: the slope doubles every 2.3 years.
    ExponentialMiddle,
    /// Speeding up fast: the slope doubles every 1.2 years.
    ExponentialFast,
    /// Level over the first 0.35 of the record, then falling (Hinkley 1971).
    HingeEarly,
    /// Level over the first 0.65 of the record, then falling.
    HingeLate,
    /// Level over the first 0.85 of the record, then falling.
    HingeLast,
    /// Easing off gently: a leakage that grows linearly beside a sound bulk.
    LogarithmGentle,
    /// Easing off sharply.
    LogarithmSharp,
    /// Level over the first 0.35 of the record, then falling and easing off: moisture or dirt from an onset.
    OnsetEarly,
    /// Level over the first 0.65 of the record, then falling and easing off.
    OnsetLate,
}

impl Shape {
    /// All shapes, in the order of every table of them.
    pub const ALL: [Shape; COUNT] = [
        Shape::Straight,
        Shape::Power,
        Shape::ExponentialSlow,
        Shape::ExponentialMiddle,
        Shape::ExponentialFast,
        Shape::HingeEarly,
        Shape::HingeLate,
        Shape::HingeLast,
        Shape::LogarithmGentle,
        Shape::LogarithmSharp,
        Shape::OnsetEarly,
        Shape::OnsetLate,
    ];

    /// Prior weight.
    pub fn prior_weight(self) -> f64 {
        PRIOR_WEIGHTS[self as usize]
    }

    /// A name for people.
    pub fn name(self) -> &'static str {
        match self {
            Shape::Straight => "straight",
            Shape::Power => "growing with age",
            Shape::ExponentialSlow => "speeding up slowly",
            Shape::ExponentialMiddle => "speeding up",
            Shape::ExponentialFast => "speeding up fast",
            Shape::HingeEarly => "level, then falling",
            Shape::HingeLate => "level until late, then falling",
            Shape::HingeLast => "level until shortly before the end, then falling",
            Shape::LogarithmGentle => "easing off gently",
            Shape::LogarithmSharp => "easing off sharply",
            Shape::OnsetEarly => "level, then falling and easing off",
            Shape::OnsetLate => "level until late, then falling and easing off",
        }
    }

    /// Whether only a fall may follow this shape: a decline may speed up, a rise may not.
    pub(super) fn falls_only(self) -> bool {
        !matches!(self, Shape::Straight | Shape::LogarithmGentle | Shape::LogarithmSharp)
    }
}

/// They add up to 1. Chosen by simulated histories of three kinds at once; `benches/README.md` has what each choice costs.
const PRIOR_WEIGHTS: [f64; COUNT] = [0.57, 0.075, 0.04, 0.07, 0.09, 0.04, 0.04, 0.02, 0.0125, 0.0125, 0.015, 0.015];

/// All exponential rates are whole multiples of this one, per year, so that one exponential serves the three.
const BASE_RATE: f64 = 0.05;
const SLOW: i32 = 2;
const MIDDLE: i32 = 6;
const FAST: i32 = 12;
const HINGES: [f64; 3] = [0.35, 0.65, 0.85];
const LOGARITHMS: [f64; 2] = [4.0, 30.0];
/// How far a leakage from an onset has outgrown the sound bulk by the last reading.
const ONSET_RATE: f64 = 10.0;

/// Where the record lies in time; evaluates the shapes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    /// Time of the last reading, years.
    pub(super) last: f64,
    /// Span of the record, at least half a year.
    pub(super) years: f64,
    start_factor: [f64; 3],
    log_factor: [f64; 2],
    onset_factor: f64,
}

impl Span {
    pub(super) fn new(first: f64, last: f64) -> Self {
        let years = (last - first).max(LEAST_SPAN_YEARS);
        let base = libm::exp(-BASE_RATE * years);
        Self {
            last,
            years,
            start_factor: [base.powi(SLOW), base.powi(MIDDLE), base.powi(FAST)],
            log_factor: LOGARITHMS.map(|k: f64| years / libm::log1p(k)),
            onset_factor: years / libm::log1p(ONSET_RATE),
        }
    }

    /// Place in the record: 0 at its start, 1 at the last reading.
    pub(super) fn place(&self, t: f64) -> f64 {
        1.0 + (t - self.last) / self.years
    }

    /// g(t) of every shape, years.
    pub(super) fn values(&self, t: f64) -> [f64; COUNT] {
        let u = self.place(t);
        let s = self.years;
        let base = libm::exp(BASE_RATE * (t - self.last));
        let growth = |power: i32, start: f64| s * (base.powi(power) - start) / (1.0 - start);
        let hinge = |h: f64| s * (u - h).max(0.0) / (1.0 - h);
        let onset =
            |h: f64| if u > h { self.onset_factor * libm::log1p(ONSET_RATE * (u - h) / (1.0 - h)) } else { 0.0 };
        let logarithm = |k: f64, factor: f64| factor * libm::log1p(k * u.max(-0.9 / k));
        [
            s * u,
            s * u * u.abs(),
            growth(SLOW, self.start_factor[0]),
            growth(MIDDLE, self.start_factor[1]),
            growth(FAST, self.start_factor[2]),
            hinge(HINGES[0]),
            hinge(HINGES[1]),
            hinge(HINGES[2]),
            logarithm(LOGARITHMS[0], self.log_factor[0]),
            logarithm(LOGARITHMS[1], self.log_factor[1]),
            onset(HINGES[0]),
            onset(HINGES[1]),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shape_runs_from_nothing_to_the_span() {
        let span = Span::new(-5.0, -1.0);
        for (start, end) in span.values(-5.0).into_iter().zip(span.values(-1.0)) {
            assert!(start.abs() < 1e-12 && (end - 4.0).abs() < 1e-12);
        }
        assert!((PRIOR_WEIGHTS.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn exponentials_are_the_formula_of_the_method() {
        let span = Span::new(-5.0, -1.0);
        for (i, k) in [(2, 0.10_f64), (3, 0.30), (4, 0.60)] {
            for t in [-7.0, -3.0, 2.0, 20.0] {
                let (s, u) = (4.0, span.place(t));
                let expected = s * (k * s * u).exp_m1() / (k * s).exp_m1();
                assert!((span.values(t)[i] - expected).abs() < 1e-10 * expected.abs().max(1.0), "k = {k}, t = {t}");
            }
        }
    }

    #[test]
    fn extreme_times_stay_finite() {
        for (first, last) in [(0.0, 0.0), (-200.0, -200.0), (-200.0, 0.0)] {
            for t in [-250.0, -1.0, 0.0, 30.0] {
                assert!(Span::new(first, last).values(t).iter().all(|g| g.is_finite()));
            }
        }
    }
}
