//! What a replay found, for people and for programs.

use crate::error::Failure;
use crate::program;
use chrono::NaiveDate;
use groundwall::replay::{Replay, Share, Tally};
use groundwall::units::three_digits;
use serde::Serialize;
use std::io::{self, Write};

/// Cases below which a share is not spoken of without a warning.
const FEW_CASES: usize = 30;
/// Columns of text.
const WIDTH: usize = 96;

#[derive(Serialize)]
struct File<'a> {
    schema: &'static str,
    as_of: String,
    input: &'a [String],
    #[serde(flatten)]
    replay: &'a Replay,
}

/// Whether there was anything to replay.
///
/// # Errors
///
/// A [`Failure`] where no series is long enough.
pub fn must_hold_a_cut(replay: &Replay) -> Result<(), Failure> {
    if replay.cuts.is_empty() {
        return Err(Failure::usage("no series has five tests and one more, so there is nothing to replay")
            .hint("replay needs a history of some years; assess judges a short one"));
    }
    Ok(())
}

/// Writes the replay as JSON, schema `groundwall/replay/1`.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write_json(out: &mut dyn Write, replay: &Replay, as_of: NaiveDate, input: &[String]) -> io::Result<()> {
    let file = File { schema: "groundwall/replay/1", as_of: as_of.to_string(), input, replay };
    program::write_json(out, &file)
}

/// Writes the replay for people.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write_text(out: &mut dyn Write, replay: &Replay) -> io::Result<()> {
    let (first, last) = (replay.cuts.first(), replay.cuts.last());
    let span = first.zip(last).map_or_else(String::new, |(first, last)| format!(" from {first} to {last}"));
    say(
        out,
        &format!(
            "The plant was judged again at {} past dates{span}, each time with only the tests made until then, and compared with what followed.",
            replay.cuts.len()
        ),
    )?;
    say(out, &verdict(replay))?;
    heading(out, "Next readings inside their interval")?;
    writeln!(
        out,
        "{:<28} {:>8} {:>8} {:>16} {:>7} {:>7} {:>11}",
        "group", "readings", "inside", "could be", "below", "above", "error ratio"
    )?;
    let all = ("all", &replay.overall);
    for (name, tally) in replay.groups.iter().map(|(name, tally)| (name.as_str(), tally)).chain([all]) {
        if tally.next_readings.inside.cases > 0 {
            writeln!(out, "{}", group_line(name, tally))?;
        }
    }
    aside(out, replay)?;
    heading(out, "Where readings fell in their forecasts")?;
    say(out, "Each central interval of the forecasts should contain its claimed share of the readings.")?;
    writeln!(out, "{:>8} {:>8} {:>16}", "claimed", "found", "could be")?;
    for (claimed, found) in replay.overall.calibration.central() {
        writeln!(out, "{:>8} {:>8} {:>16}", percent(claimed), share(&found), range(&found))?;
    }
    crossings(out, replay)?;
    reached(out, replay)?;
    skill(out, replay)
}

fn say(out: &mut dyn Write, text: &str) -> io::Result<()> {
    writeln!(out, "{}", textwrap::fill(text, WIDTH))
}

fn heading(out: &mut dyn Write, text: &str) -> io::Result<()> {
    writeln!(out, "\n{text}\n{}", "─".repeat(text.chars().count()))
}

fn percent(value: f64) -> String {
    format!("{:.0} %", 100.0 * value)
}

fn share(found: &Share) -> String {
    found.value().map_or_else(|| "–".to_owned(), |value| format!("{:.1} %", 100.0 * value))
}

fn range(found: &Share) -> String {
    format!("{} to {}", percent(found.low), percent(found.high))
}

/// The replay in one sentence.
fn verdict(replay: &Replay) -> String {
    let inside = &replay.overall.next_readings.inside;
    let claimed = percent(replay.confidence);
    if inside.cases < FEW_CASES {
        return format!(
            "Only {} next readings could be compared: too few to say whether {claimed} intervals hold {claimed}.",
            inside.cases
        );
    }
    let judged = if inside.low > replay.confidence {
        "the intervals are wider than they need to be"
    } else if inside.high < replay.confidence {
        "the intervals are too narrow: read the dates with more room than they claim"
    } else {
        "the intervals keep their word"
    };
    format!(
        "Of {} next readings {} ({}) fell inside their {claimed} interval; with so many, {} would not surprise: {judged}.",
        inside.cases,
        inside.hits,
        share(inside),
        range(inside)
    )
}

fn group_line(name: &str, tally: &Tally) -> String {
    let next = &tally.next_readings;
    let name: String =
        if name.chars().count() > 28 { name.chars().take(27).chain(['…']).collect() } else { name.to_owned() };
    format!(
        "{name:<28} {:>8} {:>8} {:>16} {:>7} {:>7} {:>11}",
        next.inside.cases,
        share(&next.inside),
        range(&next.inside),
        next.below,
        next.above,
        tally.skill.error_ratio().map_or_else(|| "–".to_owned(), three_digits)
    )
}

fn aside(out: &mut dyn Write, replay: &Replay) -> io::Result<()> {
    let next = &replay.overall.next_readings;
    say(
        out,
        &format!(
            "Not compared: {} readings at the end of the scale that decide nothing, {} without a temperature, {} after too few exact readings. Damp tests are in.",
            next.undecided, next.without_temperature, next.not_judged
        ),
    )
}

fn crossings(out: &mut dyn Write, replay: &Replay) -> io::Result<()> {
    let crossings = &replay.overall.crossings;
    heading(out, "Probability of reaching the minimum inside the horizon")?;
    if crossings.cases() == 0 {
        return say(out, "No forecast was watched to the end of its horizon.");
    }
    writeln!(out, "{:>14} {:>10} {:>14} {:>8} {:>16}", "claimed", "forecasts", "mean claimed", "came", "could be")?;
    for bin in &crossings.bins {
        let cases = bin.reached.cases;
        let mean = if cases > 0 { format!("{:.1} %", 100.0 * bin.claimed / cases as f64) } else { "–".to_owned() };
        let class = format!("{} to {}", percent(bin.from), percent(bin.to));
        writeln!(out, "{class:>14} {cases:>10} {mean:>14} {:>8} {:>16}", share(&bin.reached), range(&bin.reached))?;
    }
    say(
        out,
        &format!(
            "Brier score {} over {} forecasts (0 is perfect); {} more could not be watched for {} days, because work was done or the record ended.",
            three_digits(crossings.brier_sum / crossings.cases() as f64),
            crossings.cases(),
            crossings.undecided,
            replay.horizon_days
        ),
    )
}

fn reached(out: &mut dyn Write, replay: &Replay) -> io::Result<()> {
    heading(out, "Windings that reached their minimum")?;
    if replay.reached.is_empty() {
        return say(out, "None did in this record.");
    }
    for winding in &replay.reached {
        let warned = match winding.flagged_on {
            Some(on) => format!("plan or hold said from {on} on, {} tests before", winding.tests_ahead),
            None => "no winding was warned by plan or hold".to_owned(),
        };
        let intervals = match winding.intervals {
            0 => "no date had been given".to_owned(),
            given => format!("{} of {given} intervals given before held the date", winding.held),
        };
        say(out, &format!("{}: at or below its minimum on {}; {warned}; {intervals}.", winding.series, winding.on))?;
    }
    Ok(())
}

fn skill(out: &mut dyn Write, replay: &Replay) -> io::Result<()> {
    let skill = &replay.overall.skill;
    heading(out, "Against a plain line through the exact readings")?;
    let (Some(errors), Some(scores)) = (skill.error_ratio(), skill.score_ratio()) else {
        return say(out, "There was nothing to compare.");
    };
    let n = skill.cases as f64;
    say(
        out,
        &format!(
            "On {} readings that both forecast, the middle forecast was out by {} decades on average, the line's by {} (ratio {}); the interval score was {} of the line's, whose intervals held {}.",
            skill.cases,
            three_digits(skill.error_sum / n),
            three_digits(skill.line_error_sum / n),
            three_digits(errors),
            three_digits(scores),
            percent(skill.line_inside as f64 / n)
        ),
    )
}
