//! The distribution of the date on which the level reaches a minimum.
//!
//! P(level(x) ≤ L) of the averaged models, read as a function of x, is the distribution of the crossing date: the
//! inversion of Fieller (1954), as a whole confidence distribution (Singh, Xie & Strawderman 2005), made monotone by
//! a running maximum.

use std::fmt;

use crate::stats::root::{self, Close, End};
use crate::units::{Probability, Years};

/// The forecast looks this far ahead, years.
pub const HORIZON_YEARS: f64 = 30.0;
/// The search for a date stops within nine hours, or at this difference of probability.
const CLOSE: Close = Close { place: 1e-3, value: 1e-5 };
/// Two targets closer than this are one: 1 - 0.9 and 2 · 0.05 differ in the last digit.
const SAME_TARGET: f64 = 1e-12;

/// When the level reaches a minimum, in years from the as-of date; 0 where it is there already.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Lower end of the interval; `None` where even this is not reached within 30 years.
    pub earliest: Option<Years>,
    /// As likely before as after; `None` where it is not reached within 30 years.
    pub median: Option<Years>,
    /// Upper end; `None` where never reaching the minimum is inside the interval.
    pub latest: Option<Years>,
    /// Probability that the minimum is reached within 30 years.
    pub within_horizon: Probability,
    /// Why no date can be given, if none can.
    pub cannot_say: Option<CannotSay>,
}

/// Why no crossing date can be given. Probabilities are still given.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum CannotSay {
    /// Every reading of the stretch is a bound.
    NoExactReading {
        /// Readings in the stretch.
        readings: usize,
    },
    /// Too few readings for a trend.
    FewReadings {
        /// Readings in the stretch.
        readings: usize,
    },
    /// All readings of the stretch were taken within a day: nothing was seen over time.
    OneDay,
    /// The level does not go down to the minimum in sight.
    NoDecline {
        /// Probability that the minimum is reached within 30 years.
        within_horizon: Probability,
    },
}

impl fmt::Display for CannotSay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CannotSay::NoExactReading { readings: 1 } => {
                write!(f, "the only reading of the stretch is a bound, so no date can be given")
            }
            CannotSay::NoExactReading { readings } => {
                write!(f, "all {readings} readings of the stretch are bounds, so no date can be given")
            }
            CannotSay::FewReadings { readings: 1 } => {
                write!(f, "the stretch has one reading; a date needs at least 3")
            }
            CannotSay::FewReadings { readings } => {
                write!(f, "the stretch has {readings} readings; a date needs at least 3")
            }
            CannotSay::OneDay => {
                write!(f, "all readings of the stretch were taken on one day, so no date can be given")
            }
            CannotSay::NoDecline { .. } => {
                write!(f, "the trend does not reach the minimum within {HORIZON_YEARS:.0} years")
            }
        }
    }
}

/// Places that are looked at before a bracket is narrowed, years.
const NODES: [f64; 18] =
    [0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 26.0, HORIZON_YEARS];

/// A probability as a function of years ahead, with what it is at the nodes: every question about one minimum begins
/// there, so each node is worked out once, when it is first needed.
pub(super) struct Curve<'a> {
    below: Box<dyn Fn(f64) -> f64 + 'a>,
    at_nodes: [f64; NODES.len()],
    /// How many nodes are known.
    known: usize,
    /// Targets that were asked for, and where they are reached.
    reached: Vec<(f64, f64)>,
}

impl<'a> Curve<'a> {
    pub(super) fn new(below: impl Fn(f64) -> f64 + 'a) -> Self {
        Self { below: Box::new(below), at_nodes: [0.0; NODES.len()], known: 0, reached: Vec::new() }
    }

    /// Nodes in ascending order with their values.
    fn node(&mut self, index: usize) -> (f64, f64) {
        while self.known <= index {
            self.at_nodes[self.known] = (self.below)(NODES[self.known]);
            self.known += 1;
        }
        (NODES[index], self.at_nodes[index])
    }

    /// Where the curve passes a target between two places, worked out once for targets that are the same.
    fn pass(&mut self, target: f64, low: End, high: End) -> f64 {
        let asked = self.reached.iter().find(|(other, _)| (other - target).abs() < SAME_TARGET);
        if let Some((_, place)) = asked {
            return *place;
        }
        let place = root::pass(&self.below, target, low, high, CLOSE);
        self.reached.push((target, place));
        place
    }

    /// Running maximum over [0, x].
    pub(super) fn reached_by(&mut self, x: f64) -> f64 {
        let x = if x.is_finite() { x.clamp(0.0, HORIZON_YEARS) } else { HORIZON_YEARS };
        let mut highest = 0.0_f64;
        for (index, place) in NODES.into_iter().enumerate() {
            if place >= x {
                let here = if place > x { (self.below)(x) } else { self.node(index).1 };
                return highest.max(here);
            }
            highest = highest.max(self.node(index).1);
        }
        highest
    }

    /// Where the running maximum reaches each of some ascending `targets`, and how far it goes in 30 years (at least;
    /// the search ends where the last target is reached).
    pub(super) fn quantiles<const N: usize>(&mut self, targets: [f64; N]) -> ([Option<f64>; N], f64) {
        let mut found = [None; N];
        let mut next = 0;
        let mut previous = (0.0, 0.0);
        for index in 0..NODES.len() {
            let (node, here) = self.node(index);
            while next < N && here >= targets[next] {
                found[next] = Some(if node > 0.0 { self.pass(targets[next], previous, (node, here)) } else { 0.0 });
                next += 1;
            }
            if next == N {
                return (found, here);
            }
            if here >= previous.1 {
                previous = (node, here);
            } else {
                // Past its maximum so far: only a higher value counts, from here on.
                previous.0 = node;
            }
        }
        (found, previous.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_a_known_curve() {
        // F(x) = x/20.
        let (found, reached) = Curve::new(|x| (x / 20.0_f64).min(1.0)).quantiles([0.05, 0.5, 0.95]);
        for (x, expected) in found.into_iter().zip([1.0, 10.0, 19.0]) {
            assert!((x.unwrap_or(f64::NAN) - expected).abs() < 2.0 * CLOSE.place);
        }
        assert!(reached >= 0.95);
    }

    #[test]
    fn a_curve_that_turns_back_keeps_its_maximum() {
        // Rises to 0.6 at x = 2, then falls away.
        let curve = |x: f64| (0.3 * x).min(0.6) - if x > 2.0 { 0.1 * (x - 2.0) } else { 0.0 };
        let mut curve = Curve::new(curve);
        let (found, reached) = curve.quantiles([0.05, 0.5, 0.95]);
        assert!((found[1].unwrap_or(f64::NAN) - 0.5 / 0.3).abs() < 1e-3);
        assert!(found[2].is_none());
        assert!((reached - 0.6).abs() < 1e-12);
        assert!((curve.reached_by(10.0) - 0.6).abs() < 1e-12);
        assert!((curve.reached_by(1.2) - 0.36).abs() < 1e-12);
    }

    #[test]
    fn every_node_is_worked_out_once() {
        let asked = std::cell::Cell::new(0);
        let mut curve = Curve::new(|x: f64| {
            asked.set(asked.get() + 1);
            0.01 * x
        });
        for x in [0.0, 1.0, 3.0, HORIZON_YEARS, 0.5] {
            assert!((curve.reached_by(x) - 0.01 * x).abs() < 1e-12);
        }
        assert_eq!(curve.quantiles([0.4, 0.5]), ([None, None], 0.3));
        assert_eq!(asked.get(), NODES.len());
        assert!((curve.reached_by(0.3) - 0.003).abs() < 1e-12);
        assert_eq!(asked.get(), NODES.len() + 1);
    }
}
