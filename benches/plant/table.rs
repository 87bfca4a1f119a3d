//! The tables in Markdown.

use std::fmt::{self, Display, Formatter, Write};

use groundwall::assess::Action;

use crate::cold::{self, COLLAPSES};
use crate::life::Fate;
use crate::replay::{CONFIDENCES, Look};
use crate::tally::{Alarm, Chances, Intervals, alarm, alarm_at, causes, width_names};

/// Seeds of each cold collapse.
const COLD_SEEDS: u64 = 50;

/// The plant's table.
pub(crate) struct Plants<'a>(pub(crate) &'a [Look]);

impl Display for Plants<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let looks = self.0;
        let intervals = Intervals::of(looks);
        let chances = Chances::of(looks);
        writeln!(f, "| what | found |\n| --- | --- |")?;
        let held: Vec<String> = (CONFIDENCES.iter().zip(intervals.held))
            .map(|(confidence, share)| format!("{:.0} %: {:.3}", 100.0 * confidence, share.value()))
            .collect();
        let looked = intervals.held[0].whole;
        writeln!(f, "| decliners' dates held | {} (of {looked:.0}) |", held.join(", "))?;
        for (fate, name) in Fate::DECLINING {
            let [held, before] = intervals.by_fate.get(&fate).copied().unwrap_or_default();
            let (held, before) = (held.value(), before.value());
            writeln!(f, "| 90 % held: {name} | {held:.3} (before {before:.3}, after {:.3}) |", 1.0 - held - before)?;
        }
        let outside = [intervals.before, intervals.after].map(|count| count / looked);
        writeln!(f, "| before the earliest, after the latest | {:.3}, {:.3} |", outside[0], outside[1])?;
        writeln!(f, "| held, both ends given | {:.3} (of {:.0}) |", intervals.closed.value(), intervals.closed.whole)?;
        for (name, share) in width_names().iter().zip(intervals.by_width) {
            writeln!(f, "| held, {name} wide | {:.3} (of {:.0}) |", share.value(), share.whole)?;
        }
        let reached = intervals.reached;
        writeln!(f, "| \"reached\" said of decliners, of which false | {:.0}, {:.0} |", reached.whole, reached.part)?;
        let ratio = chances.said / chances.came;
        writeln!(f, "| P(below in a year): said ÷ came | {:.0} ÷ {:.0} = {ratio:.2} |", chances.said, chances.came)?;
        let tenths: Vec<String> = (chances.tenths.iter())
            .map(|[said, came, number]| format!("{:.2}/{:.2}", said / number, came / number))
            .collect();
        writeln!(f, "| the same by tenths, said/came | {} |", tenths.join(" "))?;
        writeln!(
            f,
            "| the same without an exact reading | {:.0} said, {:.0} came |",
            chances.unknown_said, chances.unknown_came
        )?;
        for (name, share) in ["0.95 to 0.99", "0.99 and more"].iter().zip(chances.falling) {
            writeln!(f, "| P(falling) {name}: right | {:.3} (of {:.0}) |", share.value(), share.whole)?;
        }
        writeln!(f, "\n| alarm | false per 100 healthy windings and quarter | missed | warned half a year before |")?;
        writeln!(f, "| --- | --- | --- | --- |")?;
        let plan = |look: &Look| matches!(look.action, Action::Plan | Action::Hold);
        let shorten = |look: &Look| plan(look) || look.action == Action::Shorten;
        row(f, "plan or hold", alarm(looks, plan))?;
        row(f, "shorten, plan or hold", alarm(looks, shorten))?;
        row(f, "recheck, newly asked", alarm(looks, Look::newly_rechecked))?;
        row(f, "recheck of a test below 10 °C", alarm(looks, |look| look.newly_rechecked() && look.cool))?;
        row(
            f,
            "anything but keep or gather",
            alarm(looks, |look| !matches!(look.action, Action::Keep | Action::Gather)),
        )?;
        row(f, "P(below in a year) from 0.3", alarm(looks, |look| look.p.is_some_and(|p| p[1] >= 0.3)))?;
        row(f, "last reading below 4 times the minimum", alarm(looks, |look| look.margin < 4.0))?;
        let mut of_false = String::new();
        let only_shorten = |look: &Look| look.action == Action::Shorten;
        let raised: [(&str, Raises<'_>); 3] =
            [("plan or hold", &plan), ("shorten", &only_shorten), ("recheck, newly asked", &Look::newly_rechecked)];
        for (name, raises) in raised {
            let causes = causes(looks, raises).into_iter().filter(|(_, share)| *share >= 0.05);
            let causes: Vec<String> = causes.map(|(code, share)| format!("{code} {share:.2}")).collect();
            writeln!(of_false, "| {name} | {} |", causes.join(", "))?;
        }
        for allowed in [0.5, 1.0, 2.0, 5.0] {
            let within = |years: usize| move |look: &Look| look.p.map_or(0.0, |p| p[years]);
            row(f, "ranked by P(below in a year)", alarm_at(looks, allowed, within(1)))?;
            row(f, "ranked by P(below in three years)", alarm_at(looks, allowed, within(2)))?;
            row(f, "ranked by the last reading", alarm_at(looks, allowed, |look| -look.margin))?;
        }
        writeln!(
            f,
            "\n| false alarm | first finding, per 100 healthy windings and quarter |\n| --- | --- |\n{of_false}"
        )?;
        Ok(())
    }
}

/// Whether a look raised an alarm.
type Raises<'a> = &'a dyn Fn(&Look) -> bool;

fn row(f: &mut Formatter<'_>, name: &str, alarm: Alarm) -> fmt::Result {
    let Alarm { false_per_100, missed, warned } = alarm;
    writeln!(f, "| {name} | {false_per_100:.2} | {:.1} % | {:.1} % |", 100.0 * missed, 100.0 * warned)
}

/// The table of cold collapses, from a seed on.
pub(crate) struct Cold(pub(crate) u64);

impl Display for Cold {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(f, "| cold collapse | hold | plan | recheck | shorten | gather | keep |")?;
        writeln!(f, "| --- | --- | --- | --- | --- | --- | --- |")?;
        for collapse in &COLLAPSES {
            let actions: Vec<Action> = (0..COLD_SEEDS)
                .map(|k| cold::judge(collapse, self.0 + k))
                .collect::<Result<_, _>>()
                .map_err(|_| fmt::Error)?;
            write!(f, "| {} |", collapse.name)?;
            let columns = [Action::Hold, Action::Plan, Action::Recheck, Action::Shorten, Action::Gather, Action::Keep];
            for action in columns {
                write!(f, " {} |", actions.iter().filter(|a| **a == action).count())?;
            }
            writeln!(f)?;
        }
        Ok(())
    }
}
