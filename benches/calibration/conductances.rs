//! Second simulator: conductances in parallel. A bulk that ages, leakage that grows in proportion to time, and
//! moisture from an onset; the resistance is what they leave together.

use crate::dice::Dice;
use crate::history::{Level, MINIMUM, Testing};
use crate::kind::{Kind, Role, Simulator};

const LIFE: f64 = 60.0;

type Drawn = (Level, Testing, bool);

pub(crate) const CONDUCTANCES: Simulator = Simulator {
    name: "conductances in parallel",
    kinds: &[
        Kind { name: "sound", role: Role::Steady, draw: sound },
        Kind { name: "bulk ageing", role: Role::Declining, draw: |d| ageing(d, |_, _| ()) },
        Kind { name: "leakage growing linearly", role: Role::Declining, draw: |d| leaking(d, |_, _| ()) },
        Kind { name: "ageing and leakage", role: Role::Declining, draw: both },
        Kind { name: "moisture from an onset", role: Role::Declining, draw: moisture },
        Kind { name: "ageing, yearly tests", role: Role::Declining, draw: |d| ageing(d, yearly) },
        Kind { name: "leakage, half-yearly tests", role: Role::Declining, draw: |d| leaking(d, half_yearly) },
        Kind { name: "leakage after cleaning", role: Role::Declining, draw: cleaned },
        Kind { name: "ageing from over range", role: Role::Declining, draw: over_range },
    ],
};

/// Siemens of parts relative to the sound bulk.
struct Parts {
    /// Sound level, log10 MΩ.
    sound: f64,
    /// Growth of the bulk's conductance, per year, as a natural logarithm.
    ageing: f64,
    /// Leakage there at the start and gained per year, relative to the sound bulk.
    leakage: [f64; 2],
    /// Onset of moisture in years, and its growth.
    moisture: (f64, f64, f64),
}

impl Parts {
    fn level(&self) -> Level {
        Level::of(LIFE, |t| {
            let (onset, gain, power) = self.moisture;
            let damp = gain * (t - onset).max(0.0).powf(power);
            let bulk = (self.ageing * t).min(200.0).exp();
            self.sound - (bulk + self.leakage[0] + self.leakage[1] * t + damp).log10()
        })
    }
}

fn testing(dice: &mut Dice) -> Testing {
    let mut testing = Testing::usual(dice);
    testing.scatter = dice.log_normal(0.06, 0.4);
    testing.season = dice.between(0.0, 0.2);
    // The law is wrong by something, and not along a straight line.
    testing.law_error = [0.05 * dice.normal(), 0.01 * dice.normal()];
    testing
}

fn sound(dice: &mut Dice) -> Drawn {
    let testing = testing(dice);
    let parts = Parts {
        sound: MINIMUM + dice.between(0.8, 2.6),
        ageing: 0.01,
        leakage: [dice.between(0.0, 2.0), 0.0],
        moisture: (0.0, 0.0, 1.0),
    };
    let end = parts.level().at(10.0);
    let level = parts.level();
    (Level(level.0.iter().map(|y| y.max(end)).collect()), testing, false)
}

fn ageing(dice: &mut Dice, change: impl Fn(&mut Testing, &mut Dice)) -> Drawn {
    let mut testing = testing(dice);
    change(&mut testing, dice);
    let parts = Parts {
        sound: MINIMUM + dice.between(0.9, 2.6),
        ageing: dice.log_normal(0.35, 0.6),
        leakage: [dice.between(0.0, 0.5), 0.0],
        moisture: (0.0, 0.0, 1.0),
    };
    (parts.level(), testing, false)
}

fn leaking(dice: &mut Dice, change: impl Fn(&mut Testing, &mut Dice)) -> Drawn {
    let mut testing = testing(dice);
    change(&mut testing, dice);
    let parts = Parts {
        sound: MINIMUM + dice.between(0.9, 2.6),
        ageing: 0.02,
        leakage: [dice.between(0.0, 1.0), dice.log_normal(3.0, 1.0)],
        moisture: (0.0, 0.0, 1.0),
    };
    (parts.level(), testing, false)
}

fn both(dice: &mut Dice) -> Drawn {
    let testing = testing(dice);
    let parts = Parts {
        sound: MINIMUM + dice.between(0.9, 2.6),
        ageing: dice.log_normal(0.2, 0.6),
        leakage: [dice.between(0.0, 1.0), dice.log_normal(1.0, 1.0)],
        moisture: (0.0, 0.0, 1.0),
    };
    (parts.level(), testing, false)
}

fn moisture(dice: &mut Dice) -> Drawn {
    let testing = testing(dice);
    let known = testing.interval * testing.tests as f64;
    let parts = Parts {
        sound: MINIMUM + dice.between(0.9, 2.6),
        ageing: dice.log_normal(0.05, 0.5),
        leakage: [dice.between(0.0, 0.5), 0.0],
        moisture: (known * dice.between(0.2, 0.8), dice.log_normal(1.0, 1.0), dice.between(1.0, 2.0)),
    };
    (parts.level(), testing, false)
}

fn yearly(testing: &mut Testing, dice: &mut Dice) {
    testing.interval = 1.0;
    testing.tests = dice.count(5, 14);
}

fn half_yearly(testing: &mut Testing, dice: &mut Dice) {
    testing.interval = 0.5;
    testing.tests = dice.count(8, 20);
}

fn cleaned(dice: &mut Dice) -> Drawn {
    leaking(dice, |t, d| t.tests = d.count(5, 12))
}

fn over_range(dice: &mut Dice) -> Drawn {
    let (level, mut testing, none) = ageing(dice, |_, _| ());
    let known = testing.interval * testing.tests as f64;
    testing.top = level.at(known * dice.between(0.4, 0.85));
    (level, testing, none)
}
