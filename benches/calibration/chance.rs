//! Third simulator: the loss itself is chance. Nobody can know these dates; only how likely they are.

use crate::dice::Dice;
use crate::history::{Level, MINIMUM, STEPS, Testing};
use crate::kind::{Kind, Role, Simulator};

const LIFE: f64 = 45.0;

type Drawn = (Level, Testing, bool);

pub(crate) const CHANCE: Simulator = Simulator {
    name: "the loss itself is chance",
    kinds: &[
        Kind { name: "steady, swinging slowly", role: Role::Steady, draw: swinging },
        Kind { name: "small drops", role: Role::Declining, draw: |d| drops(d, 0.02, 0.08, 1.0) },
        Kind { name: "large drops", role: Role::Declining, draw: |d| drops(d, 0.12, 0.30, 1.0) },
        Kind { name: "drops that speed up", role: Role::Declining, draw: |d| drops(d, 0.03, 0.10, 1.6) },
        Kind { name: "wandering with a drift", role: Role::Declining, draw: wandering },
        Kind { name: "quiet, then drops", role: Role::Declining, draw: quiet_then_drops },
        Kind { name: "changing rate", role: Role::Declining, draw: changing_rate },
    ],
};

fn start(dice: &mut Dice) -> f64 {
    MINIMUM + dice.between(0.9, 2.6)
}

/// Adds up a loss drawn step by step.
fn level(dice: &mut Dice, start: f64, mut loss: impl FnMut(&mut Dice, f64) -> f64) -> Level {
    let mut y = start;
    let steps = (LIFE * STEPS) as usize;
    Level(
        (0..=steps)
            .map(|i| {
                let here = y;
                y -= loss(dice, i as f64 / STEPS);
                here
            })
            .collect(),
    )
}

/// Reverts to its mean over one to three years.
fn swinging(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let (a, sd, years) = (start(dice).max(MINIMUM + 1.2), dice.between(0.03, 0.10), dice.between(1.0, 3.0));
    let keep = (-1.0 / (STEPS * years)).exp();
    let mut x = sd * dice.normal();
    let levels = (0..=(LIFE * STEPS) as usize).map(|_| {
        let here = a + x;
        x = keep * x + (1.0 - keep * keep).sqrt() * sd * dice.normal();
        here
    });
    let levels: Vec<f64> = levels.collect();
    (Level(levels), testing, false)
}

/// Gamma wear: mean loss b t^p, in drops of `small` to `large` decades.
fn drops(dice: &mut Dice, small: f64, large: f64, power: f64) -> Drawn {
    let testing = Testing::usual(dice);
    let (a, loss) = (start(dice), dice.between(small, large));
    let known = testing.interval * testing.tests as f64;
    let b = dice.log_normal(0.16, 0.5) * known.powf(1.0 - power);
    let level = level(dice, a, |d, t| {
        let mean = b * ((t + 1.0 / STEPS).powf(power) - t.powf(power));
        loss * d.gamma((mean / loss).max(1e-9))
    });
    (level, testing, false)
}

/// Brownian motion with a downward drift.
fn wandering(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let (a, drift, sd) = (start(dice), dice.log_normal(0.16, 0.4), dice.between(0.04, 0.14));
    let level = level(dice, a, |d, _| drift / STEPS + sd / STEPS.sqrt() * d.normal());
    (level, testing, false)
}

fn quiet_then_drops(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let known = testing.interval * testing.tests as f64;
    let (a, loss, b) = (start(dice), dice.between(0.03, 0.15), dice.log_normal(0.25, 0.5));
    let begins = known * dice.between(0.2, 0.7);
    let level = level(dice, a, |d, t| if t < begins { 0.0 } else { loss * d.gamma(b / STEPS / loss) });
    (level, testing, false)
}

/// The yearly loss is drawn again every few years.
fn changing_rate(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let (a, b, years) = (start(dice), dice.log_normal(0.16, 0.4), dice.between(1.5, 4.0));
    let mut rate = b * dice.gamma(2.0) / 2.0;
    let level = level(dice, a, |d, _| {
        if d.chance(1.0 / (STEPS * years)) {
            rate = b * d.gamma(2.0) / 2.0;
        }
        rate / STEPS
    });
    (level, testing, false)
}
