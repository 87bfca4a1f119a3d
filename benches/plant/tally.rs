//! The looks counted: every line of the plant's table.

use std::collections::BTreeMap;

use groundwall::assess::{Action, Code};

use crate::life::Fate;
use crate::replay::{CONFIDENCES, Look, USUAL};

/// Years of warning that a planner needs.
const WARNING_YEARS: f64 = 0.5;
/// Classes of width of a closed interval, years.
const WIDTHS: [f64; 5] = [0.5, 1.0, 2.0, 4.0, f64::INFINITY];

/// How a way of raising alarms did.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Alarm {
    /// Alarms per hundred healthy windings and quarter.
    pub(crate) false_per_100: f64,
    /// Share of the windings that reached the minimum in the replay without an alarm before.
    pub(crate) missed: f64,
    /// Share with an alarm at least half a year before.
    pub(crate) warned: f64,
}

/// Counts what `raises` an alarm.
pub(crate) fn alarm(looks: &[Look], raises: impl Fn(&Look) -> bool) -> Alarm {
    let healthy = looks.iter().filter(|look| !look.fate.declines());
    let (mut all, mut wrong) = (0.0, 0.0);
    for look in healthy {
        all += 1.0;
        wrong += f64::from(u8::from(raises(look)));
    }
    // Of each failing winding: whether it was warned of, and early; whether it could have been early.
    let mut failing: BTreeMap<usize, (bool, bool, bool)> = BTreeMap::new();
    let last = looks.iter().filter(|look| look.fails && look.ahead > 0.0).map(|look| (look, raises(look)));
    for (look, raised) in last {
        let early = look.ahead >= WARNING_YEARS;
        let known = failing.entry(look.winding).or_default();
        known.0 |= raised;
        known.1 |= raised && early;
        known.2 |= early;
    }
    let count = |of: &dyn Fn(&(bool, bool, bool)) -> bool| failing.values().filter(|w| of(w)).count() as f64;
    Alarm {
        false_per_100: 100.0 * wrong / all,
        missed: count(&|w| !w.0) / count(&|_| true),
        warned: count(&|w| w.1) / count(&|w| w.2),
    }
}

/// What the false alarms that `raises` come from: per hundred healthy windings and quarter, the most frequent first.
pub(crate) fn causes(looks: &[Look], raises: impl Fn(&Look) -> bool) -> Vec<(&'static str, f64)> {
    let healthy = || looks.iter().filter(|look| !look.fate.declines());
    let count = healthy().count() as f64;
    let mut by_cause: BTreeMap<&'static str, f64> = BTreeMap::new();
    for look in healthy().filter(|look| raises(look)) {
        *by_cause.entry(look.cause.map_or("none", Code::word)).or_default() += 100.0 / count;
    }
    let mut causes: Vec<(&'static str, f64)> = by_cause.into_iter().collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    causes
}

/// The alarm at the threshold of `score` that raises so many false alarms per hundred healthy windings and quarter.
pub(crate) fn alarm_at(looks: &[Look], false_per_100: f64, score: impl Fn(&Look) -> f64) -> Alarm {
    let mut healthy: Vec<f64> = looks.iter().filter(|look| !look.fate.declines()).map(&score).collect();
    healthy.sort_unstable_by(|a, b| b.total_cmp(a));
    let allowed = (false_per_100 / 100.0 * healthy.len() as f64) as usize;
    let limit = healthy.get(allowed).copied().unwrap_or(f64::NEG_INFINITY);
    alarm(looks, |look| score(look) > limit)
}

/// A share of a count.
#[derive(Clone, Copy, Default)]
pub(crate) struct Share {
    pub(crate) part: f64,
    pub(crate) whole: f64,
}

impl Share {
    pub(crate) fn take(&mut self, yes: bool) {
        self.part += f64::from(u8::from(yes));
        self.whole += 1.0;
    }

    pub(crate) fn value(self) -> f64 {
        self.part / self.whole
    }
}

/// Intervals of decliners against the true dates.
pub(crate) struct Intervals {
    /// By confidence.
    pub(crate) held: [Share; CONFIDENCES.len()],
    /// At 90 %, by what makes it decline: held, and before the earliest.
    pub(crate) by_fate: BTreeMap<Fate, [Share; 2]>,
    /// At 90 %: those with both ends, altogether and by width.
    pub(crate) closed: Share,
    pub(crate) by_width: [Share; WIDTHS.len()],
    /// Truth before the earliest, after the latest.
    pub(crate) before: f64,
    pub(crate) after: f64,
    /// "Reached": said, of which wrongly.
    pub(crate) reached: Share,
}

impl Intervals {
    pub(crate) fn of(looks: &[Look]) -> Self {
        let mut all = Self {
            held: Default::default(),
            by_fate: BTreeMap::new(),
            closed: Share::default(),
            by_width: Default::default(),
            before: 0.0,
            after: 0.0,
            reached: Share::default(),
        };
        let declining = || looks.iter().filter(|look| look.fate.declines());
        for look in declining().filter(|look| look.p.is_some_and(|p| p[0] > 0.5)) {
            all.reached.take(look.ahead > 0.0);
        }
        for look in declining().filter(|look| look.ahead > 0.0 && look.exact >= 3) {
            for (k, dates) in look.dates.iter().enumerate() {
                let held = dates.earliest <= look.ahead && dates.latest.is_none_or(|latest| look.ahead <= latest);
                all.held[k].take(held);
                if k != USUAL {
                    continue;
                }
                let by_fate = all.by_fate.entry(look.fate).or_default();
                by_fate[0].take(held);
                by_fate[1].take(look.ahead < dates.earliest);
                all.before += f64::from(u8::from(look.ahead < dates.earliest));
                let Some(latest) = dates.latest else { continue };
                all.after += f64::from(u8::from(look.ahead > latest));
                all.closed.take(held);
                let width = latest - dates.earliest;
                let class = WIDTHS.iter().filter(|limit| width >= **limit).count().min(WIDTHS.len() - 1);
                all.by_width[class].take(held);
            }
        }
        all
    }
}

/// Probabilities that the level gets to the minimum within the horizon, said and come.
pub(crate) struct Chances {
    pub(crate) said: f64,
    pub(crate) came: f64,
    /// By tenth of the scale: sum said, came, number.
    pub(crate) tenths: [[f64; 3]; 10],
    /// Of windings without an exact reading.
    pub(crate) unknown_said: f64,
    pub(crate) unknown_came: f64,
    /// A probability of falling from 0.95 to 0.99, and above: how often the level was lower than at the start.
    pub(crate) falling: [Share; 2],
}

impl Chances {
    pub(crate) fn of(looks: &[Look]) -> Self {
        let mut all = Self {
            said: 0.0,
            came: 0.0,
            tenths: [[0.0; 3]; 10],
            unknown_said: 0.0,
            unknown_came: 0.0,
            falling: Default::default(),
        };
        for look in looks.iter().filter(|look| look.ahead > 0.0) {
            let came = f64::from(u8::from(look.comes));
            match look.p {
                _ if look.exact == 0 => {
                    all.unknown_said += look.p.map_or(0.0, |p| p[1]);
                    all.unknown_came += came;
                }
                Some([_, p, _]) => {
                    all.said += p;
                    all.came += came;
                    let tenth = &mut all.tenths[((10.0 * p) as usize).min(9)];
                    tenth[0] += p;
                    tenth[1] += came;
                    tenth[2] += 1.0;
                }
                None => {}
            }
            if let Some(p) = look.p_falling.filter(|p| *p >= 0.95) {
                all.falling[usize::from(p >= 0.99)].take(look.fell);
            }
        }
        all
    }
}

impl Look {
    /// A repeat asked for on a test for which none had been asked.
    pub(crate) fn newly_rechecked(&self) -> bool {
        self.action == Action::Recheck && !self.asked_before
    }
}

/// Names of the classes of width.
pub(crate) fn width_names() -> [String; WIDTHS.len()] {
    let mut from = 0.0;
    WIDTHS.map(|to| {
        let name = if to.is_finite() { format!("{from} to {to} years") } else { format!("{from} years and more") };
        from = to;
        name
    })
}
