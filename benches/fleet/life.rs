//! How the level of one winding changes over its history.

use crate::dice::Dice;
use crate::groups::Group;

/// Share of the windings that do not fail but lose a tenth to a half of their resistance a year.
const DECLINING: f64 = 0.2;
/// Share of the windings that were cleaned once.
const CLEANED: f64 = 0.05;
/// What cleaning gives back, decades.
const REGAINED: f64 = 0.25;

/// The true level, log10 MΩ at 40 °C.
pub(crate) struct Life {
    /// At the end of the history, if nothing was cleaned.
    end: f64,
    /// Decades a year.
    slope: f64,
    /// Years before the end at which the decline began; earlier the level was flat.
    onset: f64,
    /// Test before which the winding was cleaned.
    pub(crate) cleaned: Option<u64>,
}

impl Life {
    /// Draws a life over so many years and tests; a share of them fails.
    pub(crate) fn draw(group: &Group, years: f64, tests: u64, failing: f64, dice: &mut Dice) -> Self {
        let (spread, wobble) = dice.normals();
        let fate = dice.uniform();
        let sound = group.sound_mohm.log10() + 0.3 * spread;
        let cleaned = dice.chance(CLEANED).then(|| 1 + (dice.uniform() * tests.saturating_sub(1) as f64) as u64);
        if fate < failing {
            let end = group.least_mohm.log10() + dice.between(-0.2, 0.5);
            let onset = dice.between(2.0, 6.0).min(years.max(0.5));
            return Self { end, slope: -((sound - end).max(0.4) / onset), onset, cleaned };
        }
        let slope =
            if fate < failing + (1.0 - failing) * DECLINING { -dice.between(0.04, 0.12) } else { 0.004 * wobble };
        // A decline leaves the sound level a few years before the end, so that it does not start out of reach.
        let onset = dice.between(3.0, 9.0);
        Self { end: sound + slope * onset, slope, onset, cleaned }
    }

    /// The level so many years before the end, at a test.
    pub(crate) fn level(&self, years_before_end: f64, test: u64) -> f64 {
        let regained = if self.cleaned.is_some_and(|first| test >= first) { REGAINED } else { 0.0 };
        self.end - self.slope * years_before_end.min(self.onset) + regained
    }
}
