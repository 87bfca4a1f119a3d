//! The account of one judgement, from the cell to the action, in the order a foreman would ask.

mod lines;
mod model;

use super::table::Shape;
use crate::fleet::Judged;
use crate::legible::clean;
use groundwall::absorption::{Ratio, absorption_curve};
use groundwall::assess::{Action, CorrectedTest, Judgement, LeftOut, SinceReason};
use groundwall::policy::{Policy, SiteDefaults};
use groundwall::record::{KeptOut, TestRecord};
use groundwall::resistance::Measured;
use groundwall::temperature::insulation_of;
use groundwall::units::{Temperature, three_digits};
use lines::Lines;
use std::io::{self, Write};

/// Tests of the stretch that are listed one by one; of a longer stretch the latest are.
const TESTS_SHOWN: usize = 24;

/// Writes the account.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, judged: &Judged, policy: &Policy, shape: &Shape) -> io::Result<()> {
    let judgement = &judged.judgement;
    let mut lines = Lines::new(out, shape.width);
    let result = &judgement.assessment;
    lines.title(&format!("{}, as of {}", result.name(), judgement.as_of))?;
    lines.say(&format!("{}: {}.", result.action, result.action.meaning()))?;
    winding(&mut lines, judgement, policy)?;
    minimum(&mut lines, judgement)?;
    law(&mut lines, judgement)?;
    latest(&mut lines, judgement)?;
    absorption(&mut lines, judged)?;
    stretch(&mut lines, judged)?;
    model::group(&mut lines, judgement)?;
    model::models(&mut lines, judgement)?;
    model::forecast(&mut lines, judgement, policy)?;
    findings(&mut lines, judgement)?;
    action(&mut lines, judgement, policy)
}

fn winding(lines: &mut Lines<'_>, judgement: &Judgement, policy: &Policy) -> io::Result<()> {
    lines.heading("What is known of the winding")?;
    let background = &judgement.background;
    if !background.registered {
        lines.say(
            "It is not in the register, or there is no register: rating, construction and insulation are not known.",
        )?;
        if policy.assumed == SiteDefaults::default() {
            return Ok(());
        }
    }
    let nameplate = &background.nameplate;
    let known = |text: Option<String>, assumed: Option<String>| match (text, assumed) {
        (Some(text), _) => text,
        (None, Some(assumed)) => format!("not known, {assumed} assumed by policy"),
        (None, None) => "not known".to_owned(),
    };
    let assumed = &policy.assumed;
    let construction = nameplate.construction.map(|how| how.to_string());
    lines.row("construction", &known(construction, assumed.construction.map(|how| how.to_string())))?;
    let insulation = insulation_of(nameplate, policy);
    let because = match insulation.because {
        Some(because) => format!(", assumed from {because}"),
        None if insulation.by_policy => ", assumed by policy".to_owned(),
        None => String::new(),
    };
    lines.row("insulation", &format!("{}{because}", insulation.family))?;
    let rated = nameplate.rated_voltage.map(|volts| volts.to_string());
    lines.row("rated voltage", &known(rated, assumed.rated_voltage.map(|volts| volts.to_string())))?;
    if !background.registered {
        return Ok(());
    }
    lines.row("made", &known(nameplate.year_made.map(|year| year.to_string()), None))?;
    if let Some(year) = nameplate.year_rewound {
        lines.row("rewound", &year.to_string())?;
    }
    lines.row("judged with", judgement.assessment.group.as_deref().unwrap_or("no group"))
}

fn minimum(lines: &mut Lines<'_>, judgement: &Judgement) -> io::Result<()> {
    lines.heading("The least it may read")?;
    match &judgement.assessment.minimum {
        Some(minimum) if minimum.as_read.is_some() => {
            lines.say(&format!("{} after one minute: {}.", minimum.value_in_words(), minimum.rule))
        }
        Some(minimum) => {
            lines.say(&format!("{} after one minute at {}: {}.", minimum.resistance, judgement.reference, minimum.rule))
        }
        None => lines.say("No minimum applies."),
    }
}

fn law(lines: &mut Lines<'_>, judgement: &Judgement) -> io::Result<()> {
    lines.heading("How readings are brought to one temperature")?;
    let background = &judgement.background;
    lines.row(
        "law by insulation",
        &format!("{} ({})", background.assumed_law.name(), background.assumed_law.source()),
    )?;
    match background.learnt_law {
        None => lines.row("own readings", "say nothing of the law: too few, or all at about one temperature")?,
        Some(learnt) => {
            let verdict = if learnt.beats_the_assumed() {
                "beats the law by insulation and is used"
            } else {
                "does not beat the law by insulation, which is kept"
            };
            lines.row(
                "own readings",
                &format!(
                    "{}; evidence {} against the 6 that counts as strong: {verdict}",
                    learnt.in_words(),
                    three_digits(learnt.evidence)
                ),
            )?;
        }
    }
    lines.row("used", &judgement.law)?;
    for answer in &background.by_law {
        let or_dash = |value: Option<String>| value.unwrap_or_else(|| "–".to_owned());
        lines.row(
            &format!("so it is {}", answer.action),
            &format!(
                "by {}: latest {} at {}, level today {}",
                answer.law,
                or_dash(answer.latest.map(|value| value.to_string())),
                judgement.reference,
                or_dash(answer.level.map(|level| level.to_string()))
            ),
        )?;
    }
    if let [_] = background.by_law[..] {
        lines.row("", "no other law that may hold can make this answer more urgent")?;
    }
    Ok(())
}

fn latest(lines: &mut Lines<'_>, judgement: &Judgement) -> io::Result<()> {
    lines.heading("The latest test that counts")?;
    let Some(latest) = &judgement.assessment.latest else {
        return lines.say("There is none.");
    };
    let test = judgement.tests.iter().rev().find(|test| {
        test.tested_on.date == latest.tested_on && matches!(test.left_out, None | Some(LeftOut::BeforeStretch))
    });
    let Some(test) = test else { return Ok(()) };
    let as_read = test.as_read.map_or_else(|| "–".to_owned(), |value| value.to_string());
    lines.row("made on", &test.tested_on.to_string())?;
    lines.row("read after one minute", &as_read)?;
    match (test.winding_temp, test.kt, test.corrected) {
        (Some(at), Some(kt), Some(corrected)) => lines.row(
            "corrected",
            &format!("{as_read} at {at} × {} = {corrected} at {}", three_digits(kt), judgement.reference),
        )?,
        (Some(_), None, _) => lines.row("corrected", "not: a hot reading while drying out passes nothing")?,
        _ => lines.row("corrected", "no winding temperature was written down, so it cannot be")?,
    }
    if let Some(pi) = latest.pi {
        lines.row("polarization index", &format!("R600/R60 = {}", three_digits(pi)))?;
    }
    for (item, value) in latest.procedure.items() {
        lines.row(&item.name().replace('_', " "), &clean(&value.to_string()))?;
    }
    if let Some(dar) = latest.dar {
        lines.row("absorption ratio", &format!("R60/R30 = {}", three_digits(dar)))?;
    }
    Ok(())
}

/// The law of absorption of the latest test that counts, where its readings tell one.
fn absorption(lines: &mut Lines<'_>, Judged { judgement, series }: &Judged) -> io::Result<()> {
    let on = judgement.assessment.latest.as_ref().map(|latest| latest.tested_on);
    // A judgement has its tests in the order of the rows.
    let tests = judgement.tests.iter().zip(series.tests()).rev();
    let mut counted = tests.filter(|(test, _)| Some(test.tested_on.date) == on && test.left_out.is_none());
    let Some(curve) = counted.next().and_then(|(_, row)| absorption_curve(row.readings())) else { return Ok(()) };
    let leakage = curve.leakage.map_or_else(
        || "no steady leakage could be estimated".to_owned(),
        |found| format!("steady leakage {} ({} to {})", found.resistance, found.low, found.high),
    );
    lines.row(
        "law of absorption",
        &format!(
            "1/R = 1/leakage + K·t^−n, least squares of relative errors: n = {} ± {}, {leakage}, as read",
            three_digits(curve.exponent),
            three_digits(curve.exponent_error)
        ),
    )
}

fn stretch(lines: &mut Lines<'_>, Judged { judgement, series }: &Judged) -> io::Result<()> {
    lines.heading("The stretch that the trend is fitted to")?;
    let Some(trend) = &judgement.assessment.trend else {
        return lines.say("No reading counts, so there is none.");
    };
    let why = match trend.since_reason {
        SinceReason::FirstTest => "its first test",
        SinceReason::Event => "work was done on the winding then",
        SinceReason::LevelShift => "the level jumped there and no reason was recorded",
    };
    lines.say(&format!(
        "Since {} ({why}): {} tests, {} exact, {} above the scale, {} below.",
        trend.since, trend.tests, trend.exact, trend.above, trend.below
    ))?;
    for (reason, words) in [
        (LeftOut::BeforeStretch, "before the stretch"),
        (LeftOut::LeadCheckFailed, "leads not proved"),
        (LeftOut::NoOneMinuteReading, "no one-minute reading"),
        (LeftOut::AfterAsOf, "after the as-of date"),
        (LeftOut::OtherStep, "another step of the voltage"),
        (LeftOut::Drying, "rows of drying out"),
        (LeftOut::KeptOut(KeptOut::Contradicted), "contradicted by another row"),
        (LeftOut::KeptOut(KeptOut::Rejected), "row rejected"),
        (LeftOut::KeptOut(KeptOut::Undated), "row rejected, without a date"),
        (LeftOut::KeptOut(KeptOut::Misdated), "row rejected, dated after today"),
        (LeftOut::KeptOut(KeptOut::Unread), "row rejected, reading not known"),
    ] {
        let count = judgement.tests.iter().filter(|test| test.left_out == Some(reason)).count();
        if count > 0 {
            lines.row("left out", &format!("{count}: {words}"))?;
        }
    }
    // A judgement has its tests in the order of the rows.
    let rows = judgement.tests.iter().zip(series.tests());
    let counted: Vec<(&CorrectedTest, &TestRecord)> = rows.filter(|(test, _)| test.left_out.is_none()).collect();
    let skipped = counted.len().saturating_sub(TESTS_SHOWN);
    if skipped > 0 {
        lines.say(&format!("The latest {TESTS_SHOWN}; {skipped} earlier ones count too."))?;
    }
    let has_ratios = counted.iter().any(|(test, _)| test.pi.is_some() || test.dar.is_some());
    let ratios = if has_ratios { "PI    DAR  " } else { "" };
    lines.plain(&format!("tested on     as read       at         factor   corrected     {ratios}outlier"))?;
    for (test, row) in &counted[skipped..] {
        let note = row.note().map(clean).filter(|note| !note.is_empty()).map(|note| format!("“{note}”"));
        lines.remarked(&test_line(test, has_ratios), note.as_deref())?;
    }
    Ok(())
}

fn test_line(test: &CorrectedTest, has_ratios: bool) -> String {
    let value = |measured: Option<Measured>| measured.map_or_else(|| "–".to_owned(), |value| value.to_string());
    let at = test.winding_temp.map_or_else(|| "not known".to_owned(), |t: Temperature| t.to_string());
    let factor = match (test.kt, test.winding_temp) {
        (Some(kt), _) => three_digits(kt),
        (None, Some(_)) => "none, hot".to_owned(),
        (None, None) => "assumed".to_owned(),
    };
    let outlier = if test.p_outlier < 0.005 { "no".to_owned() } else { format!("{:.0} %", 100.0 * test.p_outlier) };
    let event = test.event.map_or_else(String::new, |event| format!("  ({})", event.word()));
    let ratio = |ratio: Option<Ratio>| ratio.map_or_else(|| "–".to_owned(), |ratio| ratio.to_string());
    let ratios = if has_ratios { format!("{:<5} {:<4} ", ratio(test.pi), ratio(test.dar)) } else { String::new() };
    format!(
        "{:<13} {:<13} {:<10} {:<8} {:<13} {ratios}{outlier}{event}",
        test.tested_on.date.to_string(),
        value(test.as_read),
        at,
        factor,
        value(test.corrected)
    )
}

fn findings(lines: &mut Lines<'_>, judgement: &Judgement) -> io::Result<()> {
    lines.heading("What was noticed")?;
    if judgement.assessment.findings.is_empty() {
        return lines.say("Nothing.");
    }
    for finding in &judgement.assessment.findings {
        let evidence = super::evidence(finding);
        let told = if evidence.is_empty() { String::new() } else { format!("{evidence}; ") };
        lines.row(finding.code.word(), &format!("{} [{told}{}]", finding.message, finding.source))?;
    }
    Ok(())
}

fn action(lines: &mut Lines<'_>, judgement: &Judgement, policy: &Policy) -> io::Result<()> {
    lines.heading("What to do")?;
    let result = &judgement.assessment;
    let background = &judgement.background;
    let line = |p: Option<f64>, sign: &str, limit: f64| match p {
        Some(p) => format!("probability {}, needs {sign} {}", probability(p), three_digits(limit)),
        None => "cannot be said".to_owned(),
    };
    lines.row(
        "hold",
        &format!(
            "level below the minimum today: {}",
            line(background.p_below_today, ">", policy.hold_probability.as_fraction())
        ),
    )?;
    let in_horizon = line(result.forecast.p_below_in_horizon, "≥", policy.plan_probability.as_fraction());
    let later = |threshold: f64| {
        let horizons = three_digits(policy.shorten_horizons);
        format!("inside {horizons} horizons: {}", line(background.p_below_in_shorten, "≥", threshold))
    };
    let plan_later = later(policy.plan_later_probability.as_fraction());
    lines.row("plan", &format!("inside {} days: {in_horizon}; {plan_later}", policy.horizon_days))?;
    let falling = line(result.trend.as_ref().and_then(|t| t.p_falling), ">", policy.falling_probability.as_fraction());
    let likely = later(policy.shorten_likely_probability.as_fraction());
    lines.row("shorten", &likely)?;
    let certain = later(policy.shorten_probability.as_fraction());
    lines.row("", &format!("or {certain}, and falls: {falling}"))?;
    lines.say(&format!("So the action is {}: {}.", result.action, result.action.meaning()))?;
    lines.say(&format!("Test again by {}: {}.", result.next_test.by, result.next_test.why))?;
    if matches!(result.action, Action::Hold | Action::Recheck) {
        lines.say(&super::table::cautions().replace('\n', " "))?;
    }
    Ok(())
}

/// A probability as people read it.
fn probability(p: f64) -> String {
    match p {
        p if p < 0.000_5 => "under 0.001".to_owned(),
        p if p > 0.999_5 => "over 0.999".to_owned(),
        p => format!("{p:.3}"),
    }
}
