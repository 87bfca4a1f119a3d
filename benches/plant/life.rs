//! What happens to the insulation of one simulated winding: its wall ages, dirt and moisture open paths beside it, and
//! tracking may begin on any day.
//!
//! The resistance at 40 °C is that of two paths in parallel, the sound wall and the surface, lowered by the water in both:
//! log10 R = −log10(10^−wall + surface) − moisture. All numbers are invented for this bench.

use crate::dice::Dice;

/// Days between two points of a level, and years that are simulated.
const STEP_YEARS: f64 = 1.0 / 52.0;
pub(crate) const LIFE_YEARS: f64 = 40.0;

/// What makes a winding decline, or does not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Fate {
    /// Steady for ever, often at three to ten times its minimum.
    Steady,
    /// Ages so slowly that nobody alive will see the end.
    Slow,
    /// Gathers dirt and is cleaned before it matters.
    Cleaned,
    /// Swings with the seasons and with standstill.
    Damp,
    /// Ages by heat, faster as it ages.
    Heat,
    /// Gathers dirt and is never cleaned.
    Dirt,
    /// Takes up water from a day on, and fills.
    Water,
    /// Tracks from a day on, faster and faster.
    Tracking,
    /// Loses the same share every year.
    Straight,
}

impl Fate {
    pub(crate) const DECLINING: [(Fate, &'static str); 5] = [
        (Fate::Heat, "heat"),
        (Fate::Dirt, "dirt"),
        (Fate::Water, "water"),
        (Fate::Tracking, "tracking"),
        (Fate::Straight, "straight"),
    ];
    const HEALTHY: [(Fate, f64); 4] =
        [(Fate::Steady, 0.45), (Fate::Slow, 0.25), (Fate::Cleaned, 0.18), (Fate::Damp, 0.12)];
    /// Share of windings that do not decline.
    const SOUND: f64 = 0.85;

    pub(crate) fn draw(dice: &mut Dice) -> Self {
        if dice.chance(Self::SOUND) {
            let mut place = dice.uniform();
            for (fate, share) in Self::HEALTHY {
                if place < share {
                    return fate;
                }
                place -= share;
            }
            return Fate::Steady;
        }
        Self::DECLINING[dice.count(0, Self::DECLINING.len() - 1)].0
    }

    pub(crate) fn declines(self) -> bool {
        Self::DECLINING.iter().any(|(fate, _)| *fate == self)
    }
}

/// One winding's insulation from the first test of its record on.
pub(crate) struct Life {
    /// log10 MΩ at 40 °C, mean of the year, every week.
    level: Vec<f64>,
    /// log10 MΩ of the wall alone at 40 °C, every week: only the wall follows the temperature law.
    wall_share: Vec<f64>,
    /// Years at which the winding was cleaned.
    pub(crate) cleaned: Vec<f64>,
    /// Decades that a damp season takes and a dry one gives.
    pub(crate) season: f64,
    /// Share of the time in long standstill, and decades of moisture taken up in it.
    pub(crate) standstill: (f64, f64),
}

impl Life {
    /// A winding whose minimum is `minimum` (log10 MΩ), of which `record` years are known when the replay begins.
    pub(crate) fn draw(fate: Fate, minimum: f64, record: f64, dice: &mut Dice) -> Self {
        let far = minimum + dice.between(1.0, 2.9);
        let near = minimum + dice.between(3f64.log10(), 1.0);
        let mut start = if fate == Fate::Steady && dice.chance(0.45) { near } else { far };
        let mut rate = 0.0;
        let mut growth = 0.0;
        let (mut dirt, mut dirt_power) = (0.0, 1.0);
        let (mut water, mut fills) = (0.0, 1.0);
        let (mut track, mut doubles) = (0.0, 1.0);
        let onset = record * dice.between(0.1, 1.2);
        let mut cleaned = Vec::new();
        // Half of a decliner's record, or all of it and some years more, is what the decline takes.
        match fate {
            Fate::Steady | Fate::Damp => rate = 0.004 * dice.normal(),
            Fate::Slow => {
                start = minimum + dice.between(1.6, 2.9);
                rate = dice.between(0.008, 0.025);
            }
            Fate::Cleaned => {
                // A surface that never gets below five times the minimum before it is cleaned.
                start = minimum + dice.between(1.5, 2.9);
                let every = dice.between(2.0, 5.0);
                let mut t = dice.between(0.0, every);
                while t < LIFE_YEARS {
                    cleaned.push(t);
                    t += every * dice.between(0.8, 1.2);
                }
                dirt = 10f64.powf(-(minimum + dice.between(0.75, 1.3))) / (1.3 * every);
            }
            Fate::Heat => {
                rate = dice.log_normal(0.05, 0.7);
                growth = dice.between(0.04, 0.45);
            }
            Fate::Dirt => {
                dirt_power = dice.between(0.8, 2.2);
                let years = record + dice.between(0.2, 8.0);
                dirt = 10f64.powf(-minimum) / years.powf(dirt_power);
            }
            Fate::Water => {
                water = (start - minimum) * dice.between(1.05, 1.6);
                fills = dice.between(0.7, 5.0);
            }
            Fate::Tracking => {
                doubles = dice.between(0.25, 2.0);
                track = 10f64.powf(-(start + dice.between(0.2, 1.0)));
            }
            Fate::Straight => rate = dice.log_normal(0.15, 0.6),
        }
        let mut level = Vec::new();
        let mut wall_share = Vec::new();
        let weeks = (LIFE_YEARS / STEP_YEARS) as usize;
        for week in 0..weeks {
            let t = week as f64 * STEP_YEARS;
            let loss = if growth > 0.0 { rate * (growth * t).min(30.0).exp_m1() / growth } else { rate * t };
            let wall = start - loss;
            let since = t - cleaned.iter().copied().filter(|at| *at <= t).fold(0.0, f64::max);
            let tracked = if t > onset { track * ((t - onset) / doubles).min(60.0).exp_m1() } else { 0.0 };
            let surface = dirt * since.powf(dirt_power) + tracked;
            let filled = if t > onset { water * (1.0 - (-(t - onset) / fills).exp()) } else { 0.0 };
            let sound = 10f64.powf(-wall);
            level.push(-(sound + surface).log10() - filled);
            wall_share.push(sound / (sound + surface));
        }
        let season = if fate == Fate::Damp { dice.between(0.12, 0.3) } else { dice.between(0.0, 0.12) };
        let standstill = match fate {
            Fate::Damp => (0.2, dice.between(0.1, 0.35)),
            _ if dice.chance(0.15) => (0.1, dice.between(0.05, 0.25)),
            _ => (0.0, 0.0),
        };
        Self { level, wall_share, cleaned, season, standstill }
    }

    fn place(t: f64) -> usize {
        (t / STEP_YEARS).max(0.0) as usize
    }

    /// log10 MΩ at 40 °C, mean of the year.
    pub(crate) fn level(&self, t: f64) -> f64 {
        self.level.get(Self::place(t)).or(self.level.last()).copied().unwrap_or(0.0)
    }

    /// Share of the current that the wall carries: the rest does not follow the temperature law.
    pub(crate) fn wall_share(&self, t: f64) -> f64 {
        self.wall_share.get(Self::place(t)).copied().unwrap_or(1.0)
    }

    /// Years until the level is first at `minimum`, from the first test of the record; infinite if it never is.
    pub(crate) fn reaches(&self, minimum: f64) -> f64 {
        self.level.iter().position(|y| *y <= minimum).map_or(f64::INFINITY, |week| week as f64 * STEP_YEARS)
    }
}
