//! What is counted.

use groundwall::assess::Action;
use groundwall::resistance::Bound;
use groundwall::trend::{CannotSay, Crossing, StretchFit};
use groundwall::units::{Confidence, Resistance, Years};

use crate::history::{HORIZON, MINIMUM};

/// Claimed probability of the interval.
pub(crate) const CONFIDENCE: f64 = 0.9;
/// What the method says of the date on which the minimum is reached.
pub(crate) fn crossing(fit: &StretchFit) -> Crossing {
    fit.crossing(minimum(), Confidence::from_fraction(CONFIDENCE).expect("it is a confidence"))
}

fn minimum() -> Resistance {
    Resistance::from_log10_megohms(MINIMUM)
}

fn p_below(fit: &StretchFit, years: f64) -> f64 {
    fit.p_below(Years::from_years(years).expect("it is within the horizon"), minimum()).as_fraction()
}

/// Years beyond this are all the same to a planner, and to the score.
const CAP: f64 = 15.0;

/// An interval of years from the as-of date; infinite where never is inside it.
#[derive(Clone, Copy)]
pub(crate) struct Interval {
    pub(crate) earliest: f64,
    pub(crate) median: f64,
    pub(crate) latest: f64,
}

impl Interval {
    /// The interval of the method. "No decline within 30 years" claims that the date is later than that.
    pub(crate) fn of(fit: &StretchFit) -> Self {
        let crossing = crossing(fit);
        let or = |years: Option<Years>, otherwise: f64| years.map_or(otherwise, Years::as_years);
        Self {
            earliest: or(crossing.earliest, HORIZON),
            median: or(crossing.median, f64::INFINITY),
            latest: or(crossing.latest, f64::INFINITY),
        }
    }

    pub(crate) fn covers(&self, truth: f64) -> bool {
        self.earliest <= truth && truth <= self.latest
    }

    /// Interval score of Gneiting & Raftery (2007), eq. 43: width, and 2/alpha years for every year missed by.
    pub(crate) fn score(&self, truth: f64) -> f64 {
        let [low, high, truth] = [self.earliest, self.latest, truth].map(|x| x.min(CAP));
        (high - low) + 2.0 / (1.0 - CONFIDENCE) * ((low - truth).max(0.0) + (truth - high).max(0.0))
    }

    /// Distance of the median from the truth, years, both capped.
    pub(crate) fn error(&self, truth: f64) -> f64 {
        (self.median.min(CAP) - truth.min(CAP)).abs()
    }
}

/// What a planner would be asked to do, by the default policy.
pub(crate) fn action_of(fit: &StretchFit) -> Action {
    let readings = fit.used();
    let at_minimum = readings.last().is_some_and(|r| r.bound() != Bound::Above && r.corrected() <= minimum());
    if at_minimum || p_below(fit, 0.0) > 0.5 {
        Action::Hold
    } else if p_below(fit, 1.0) >= 0.3 {
        Action::Plan
    } else if fit.fall().is_some() {
        Action::Recheck
    } else if fit.p_falling().as_fraction() > 0.95 && p_below(fit, 3.0) > 0.05 {
        Action::Shorten
    } else if readings.iter().filter(|r| r.bound() == Bound::Exact).count() < 3 {
        Action::Gather
    } else {
        Action::Keep
    }
}

/// Counts of one kind of history.
#[derive(Clone, Default)]
pub(crate) struct Tally {
    /// Histories with a date to be covered, and what became of them.
    pub(crate) dated: f64,
    pub(crate) covered: f64,
    /// The truth came before the earliest date, or after the latest.
    pub(crate) too_early: f64,
    pub(crate) too_late: f64,
    pub(crate) score: f64,
    pub(crate) baseline_covered: f64,
    pub(crate) baseline_score: f64,
    errors: Vec<f64>,
    /// All histories; those without a date.
    pub(crate) all: f64,
    pub(crate) cannot_say: f64,
    /// Steady histories, and those given `plan` or `hold`.
    pub(crate) steady: f64,
    pub(crate) false_alarms: f64,
    /// Declining histories seen two tests ahead, and those flagged by then.
    pub(crate) ahead: f64,
    pub(crate) flagged: f64,
    /// Planted falls and those found; histories without a fall and those called one.
    pub(crate) falls: f64,
    pub(crate) falls_found: f64,
    pub(crate) calm: f64,
    pub(crate) false_falls: f64,
}

impl Tally {
    /// Counts the interval of a declining winding beside the baseline's.
    pub(crate) fn date(&mut self, truth: f64, ours: Interval, baseline: Interval) {
        self.dated += 1.0;
        self.covered += one(ours.covers(truth));
        self.too_early += one(truth < ours.earliest);
        self.too_late += one(truth > ours.latest);
        self.score += ours.score(truth);
        self.errors.push(ours.error(truth));
        self.baseline_covered += one(baseline.covers(truth));
        self.baseline_score += baseline.score(truth);
    }

    /// Counts whether a date could be given.
    pub(crate) fn say(&mut self, cannot_say: Option<CannotSay>) {
        self.all += 1.0;
        self.cannot_say += one(cannot_say.is_some());
    }

    /// Counts the action of a steady winding.
    pub(crate) fn steady(&mut self, action: Action) {
        self.steady += 1.0;
        self.false_alarms += one(matches!(action, Action::Plan | Action::Hold));
    }

    /// Counts the action two tests ahead of the minimum.
    pub(crate) fn ahead(&mut self, action: Action) {
        self.ahead += 1.0;
        self.flagged += one(!matches!(action, Action::Keep | Action::Gather));
    }

    /// Counts whether a fall was found, planted or not.
    pub(crate) fn fall(&mut self, planted: bool, found: bool) {
        if planted {
            self.falls += 1.0;
            self.falls_found += one(found);
        } else {
            self.calm += 1.0;
            self.false_falls += one(found);
        }
    }

    pub(crate) fn add(&mut self, other: &Tally) {
        self.dated += other.dated;
        self.covered += other.covered;
        self.too_early += other.too_early;
        self.too_late += other.too_late;
        self.score += other.score;
        self.baseline_covered += other.baseline_covered;
        self.baseline_score += other.baseline_score;
        self.errors.extend(&other.errors);
        self.all += other.all;
        self.cannot_say += other.cannot_say;
        self.steady += other.steady;
        self.false_alarms += other.false_alarms;
        self.ahead += other.ahead;
        self.flagged += other.flagged;
        self.falls += other.falls;
        self.falls_found += other.falls_found;
        self.calm += other.calm;
        self.false_falls += other.false_falls;
    }

    /// Half of the medians were nearer to the truth than this, years.
    pub(crate) fn median_error(&self) -> f64 {
        let mut errors = self.errors.clone();
        errors.sort_unstable_by(f64::total_cmp);
        errors.get(errors.len() / 2).copied().unwrap_or(f64::NAN)
    }
}

fn one(yes: bool) -> f64 {
    if yes { 1.0 } else { 0.0 }
}
