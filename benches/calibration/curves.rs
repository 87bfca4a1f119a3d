//! First simulator: a curve of log resistance, with season, scatter and outliers laid over it.

use crate::dice::Dice;
use crate::history::{Level, MINIMUM, Testing};
use crate::kind::{Kind, Role, Simulator};

/// Years of life simulated: the longest record and the horizon after it.
const LIFE: f64 = 60.0;

type Drawn = (Level, Testing, bool);

pub(crate) const CURVES: Simulator = Simulator {
    name: "curves with season, scatter and outliers",
    kinds: &[
        Kind { name: "steady", role: Role::Steady, draw: steady },
        Kind { name: "steady, few tests", role: Role::Steady, draw: steady_few },
        Kind { name: "steady, autocorrelated noise", role: Role::Steady, draw: steady_autocorrelated },
        Kind { name: "linear", role: Role::Declining, draw: |d| linear(d, |_, _| ()) },
        Kind { name: "mostly over range", role: Role::Declining, draw: over_range },
        Kind { name: "outliers", role: Role::Declining, draw: |d| linear(d, |t, _| t.outlier_share = 0.12) },
        Kind { name: "speeding up: exponential", role: Role::Declining, draw: exponential },
        Kind { name: "speeding up: with age", role: Role::Declining, draw: power },
        Kind { name: "speeding up: from a date", role: Role::Declining, draw: hinge },
        Kind {
            name: "four to seven tests",
            role: Role::Declining,
            draw: |d| linear(d, |t, d| t.tests = d.count(4, 7)),
        },
        Kind { name: "wrong temperature law", role: Role::Declining, draw: wrong_law },
        Kind { name: "autocorrelated noise", role: Role::Declining, draw: |d| linear(d, lingers) },
        Kind {
            name: "strong season",
            role: Role::Declining,
            draw: |d| linear(d, |t, d| t.season = d.between(0.25, 0.5)),
        },
        Kind { name: "after an event", role: Role::Declining, draw: after_event },
        Kind { name: "sudden fall", role: Role::Declining, draw: sudden_fall },
        Kind { name: "unannounced shift", role: Role::Declining, draw: shift },
        Kind { name: "monthly for ten years", role: Role::Declining, draw: |d| linear(d, monthly) },
        Kind { name: "easing off", role: Role::Declining, draw: easing },
        Kind { name: "half-yearly", role: Role::Declining, draw: |d| linear(d, |t, d| rare(t, d, 0.5, 8, 20)) },
        Kind { name: "yearly", role: Role::Declining, draw: |d| linear(d, |t, d| rare(t, d, 1.0, 6, 15)) },
        Kind { name: "bounds only, then a fall", role: Role::FallAfterBounds, draw: bounds_then_fall },
    ],
};

fn start(dice: &mut Dice) -> f64 {
    MINIMUM + dice.between(0.9, 2.8)
}

/// Decades per year.
fn slope(dice: &mut Dice) -> f64 {
    dice.log_normal(0.16, 0.6)
}

fn flat(dice: &mut Dice, change: impl Fn(&mut Testing, &mut Dice)) -> Drawn {
    let mut testing = Testing::usual(dice);
    change(&mut testing, dice);
    let (a, b) = (start(dice), 0.005 * dice.normal());
    (Level::of(LIFE, |t| a - b.max(-0.01) * t.min(10.0)), testing, false)
}

fn steady(dice: &mut Dice) -> Drawn {
    flat(dice, |_, _| ())
}

fn steady_few(dice: &mut Dice) -> Drawn {
    flat(dice, |t, d| t.tests = d.count(4, 8))
}

fn steady_autocorrelated(dice: &mut Dice) -> Drawn {
    flat(dice, lingers)
}

fn linear(dice: &mut Dice, change: impl Fn(&mut Testing, &mut Dice)) -> Drawn {
    let mut testing = Testing::usual(dice);
    change(&mut testing, dice);
    let (a, b) = (start(dice), slope(dice));
    (Level::of(LIFE, |t| a - b * t), testing, false)
}

fn lingers(testing: &mut Testing, dice: &mut Dice) {
    testing.scatter *= 1.3;
    testing.autocorrelated = (dice.between(0.5, 0.95), dice.between(0.3, 1.2));
}

fn monthly(testing: &mut Testing, dice: &mut Dice) {
    testing.interval = 1.0 / 12.0;
    testing.tests = dice.count(110, 125);
}

fn rare(testing: &mut Testing, dice: &mut Dice, interval: f64, low: usize, high: usize) {
    testing.interval = interval;
    testing.tests = dice.count(low, high);
}

fn over_range(dice: &mut Dice) -> Drawn {
    let mut testing = Testing::usual(dice);
    let (a, b) = (start(dice) + 0.6, slope(dice));
    let known = testing.interval * testing.tests as f64;
    // The scale ends where the line is after half to nine tenths of the record.
    testing.top = a - b * known * dice.between(0.5, 0.9);
    (Level::of(LIFE, |t| a - b * t), testing, false)
}

fn exponential(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let (a, b, k) = (start(dice), dice.log_normal(0.04, 0.6), dice.between(0.12, 0.6));
    (Level::of(LIFE, |t| a - b * ((k * t).min(50.0).exp_m1()) / k), testing, false)
}

fn power(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let known = testing.interval * testing.tests as f64;
    let (a, loss, p) = (start(dice), slope(dice) * known, dice.between(1.5, 2.5));
    let before = known * dice.between(0.0, 0.5);
    let age = |t: f64| ((t + before) / known).powf(p) - (before / known).powf(p);
    (Level::of(LIFE, |t| a - 0.7 * loss * age(t)), testing, false)
}

fn hinge(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let known = testing.interval * testing.tests as f64;
    let (a, b, begins) = (start(dice), slope(dice) * 1.5, known * dice.between(0.2, 0.75));
    (Level::of(LIFE, |t| a - b * (t - begins).max(0.0)), testing, false)
}

fn wrong_law(dice: &mut Dice) -> Drawn {
    linear(dice, |t, d| {
        let wrong = d.between(0.08, 0.25);
        t.law_error = [if d.chance(0.5) { wrong } else { -wrong }, 0.0];
    })
}

fn after_event(dice: &mut Dice) -> Drawn {
    let mut testing = Testing::usual(dice);
    testing.tests = dice.count(5, 12);
    let (a, b) = (start(dice), slope(dice));
    // A dry-out fades over the first months.
    let (extra, fades) = (dice.between(0.0, 0.15), dice.between(0.2, 0.6));
    (Level::of(LIFE, |t| a - b * t + extra * (-t / fades).exp()), testing, false)
}

fn sudden_fall(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let (a, b) = (start(dice) + 0.7, slope(dice));
    let drop = dice.between(0.5, 0.9);
    let after = dice.count(1, 2);
    let begins = testing.interval * (testing.tests as f64 - after as f64 - 0.5);
    let mut testing = testing;
    testing.outlier_share = 0.0;
    testing.punctual = true;
    (Level::of(LIFE, |t| a - b * t - if t > begins { drop } else { 0.0 }), testing, true)
}

fn shift(dice: &mut Dice) -> Drawn {
    let mut testing = Testing::usual(dice);
    testing.tests = dice.count(20, 40);
    let (a, b) = (start(dice), slope(dice));
    let step = dice.between(0.4, 0.9) * if dice.chance(0.5) { 1.0 } else { -1.0 };
    let begins = testing.interval * testing.tests as f64 * dice.between(0.3, 0.7);
    (Level::of(LIFE, |t| a - b * t + if t > begins { step } else { 0.0 }), testing, false)
}

fn easing(dice: &mut Dice) -> Drawn {
    let testing = Testing::usual(dice);
    let known = testing.interval * testing.tests as f64;
    let (a, loss) = (start(dice), slope(dice) * known * 1.3);
    if dice.chance(0.5) {
        let p = dice.between(0.45, 0.75);
        return (Level::of(LIFE, |t| a - loss * (t / known).powf(p)), testing, false);
    }
    // A fast part that dies away over a slow one.
    let (fast, fades) = (loss * 0.6, known * dice.between(0.2, 0.6));
    (Level::of(LIFE, |t| a - 0.4 * loss * t / known - fast * (1.0 - (-t / fades).exp())), testing, false)
}

fn bounds_then_fall(dice: &mut Dice) -> Drawn {
    let mut testing = Testing::usual(dice);
    testing.tests = dice.count(4, 20);
    testing.only_bounds = true;
    testing.punctual = true;
    testing.top = start(dice) + 0.7;
    let (a, drop) = (testing.top + 0.3, dice.between(0.5, 1.2));
    let begins = testing.interval * (testing.tests as f64 - 1.5);
    // Far enough under the scale that scatter does not lift the reading over half a decade.
    let fallen = testing.top - drop - 0.35;
    (Level::of(LIFE, |t| if t > begins { fallen } else { a }), testing, true)
}
