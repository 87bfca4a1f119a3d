//! The statistical part of an account: what similar windings lend, which models explain the readings, what they foresee.

use super::lines::Lines;
use super::probability;
use groundwall::assess::Judgement;
use groundwall::assess::textbook::TextbookCrossing;
use groundwall::policy::Policy;
use groundwall::units::three_digits;
use std::io;

/// Weights below this are not listed.
const LEAST_WEIGHT: f64 = 0.01;

pub(super) fn group(lines: &mut Lines<'_>, judgement: &Judgement) -> io::Result<()> {
    lines.heading("Group prior")?;
    let priors = &judgement.background.priors;
    let from = match priors.learnt_from {
        0 => "fewer than five similar windings can be learnt from, so the general figures are used".to_owned(),
        n => format!("learnt from {n} windings of the group"),
    };
    lines.row("from", &from)?;
    let [narrow, wide] = priors.slope_sds;
    lines.row(
        "slope",
        &format!(
            "{} decades a year, give or take {} (weight {}) or {} (weight {})",
            three_digits(priors.slope_mean),
            three_digits(narrow),
            three_digits(priors.slope_weights[0]),
            three_digits(wide),
            three_digits(priors.slope_weights[1])
        ),
    )?;
    lines.row(
        "scatter of readings",
        &format!("{} decades, worth {} readings", three_digits(priors.scatter), three_digits(priors.scatter_df)),
    )?;
    lines.row("season", &format!("up to about {} decades either way", three_digits(priors.season_sd)))?;
    lines.row("law out by much", &format!("weight {} beforehand", three_digits(priors.law_wrong_weight)))?;
    let [independent, autocorrelated, wandering] = judgement.background.noise_weights.0;
    lines.row(
        "kind of scatter",
        &format!(
            "independent {}, autocorrelated {}, a level that falls in steps {}",
            three_digits(independent),
            three_digits(autocorrelated),
            three_digits(wandering)
        ),
    )
}

pub(super) fn models(lines: &mut Lines<'_>, judgement: &Judgement) -> io::Result<()> {
    lines.heading("Which models explain the readings")?;
    let Some(fit) = &judgement.fit else {
        return lines.say("None was fitted: no reading counts.");
    };
    lines.row("method", &fit.method())?;
    let shapes: Vec<String> = fit
        .shape_weights()
        .into_iter()
        .filter(|(_, weight)| *weight >= LEAST_WEIGHT)
        .map(|(shape, weight)| format!("{} {weight:.2}", shape.name()))
        .collect();
    lines.row("shapes of decline", &shapes.join(", "))?;
    let kinds: Vec<String> = fit
        .noise_weights()
        .into_iter()
        .filter(|(_, weight)| *weight >= LEAST_WEIGHT)
        .map(|(kind, weight)| format!("{} {weight:.2}", kind.name()))
        .collect();
    lines.row("kinds of scatter", &kinds.join(", "))?;
    lines.row(
        "scatter",
        &format!(
            "{} decades (a factor of {}), on {} degrees of freedom",
            three_digits(fit.scatter().as_decades()),
            three_digits(10f64.powf(fit.scatter().as_decades())),
            three_digits(fit.degrees_of_freedom())
        ),
    )?;
    let [sin, cos] = fit.season();
    lines.row("season", &format!("{} decades either way over the year", three_digits(sin.hypot(cos))))?;
    let error = fit.law_error();
    lines.row(
        "left of the law's error",
        &format!("{} ± {} decades per 10 K", three_digits(error.mean), three_digits(error.sd)),
    )?;
    if let Some(fall) = fit.fall() {
        lines.row(
            "recent fall",
            &format!(
                "latest {} readings, {} decades, p = {:.1e}",
                fall.readings,
                three_digits(fall.drop_log10),
                fall.probability
            ),
        )?;
    }
    if let Some(shift) = fit.shift() {
        lines.row(
            "jump",
            &format!("{} decades, t = {}", three_digits(shift.step_log10), three_digits(shift.t_statistic)),
        )?;
    }
    Ok(())
}

pub(super) fn forecast(lines: &mut Lines<'_>, judgement: &Judgement, policy: &Policy) -> io::Result<()> {
    lines.heading("What the trend says")?;
    let result = &judgement.assessment;
    let Some(trend) = &result.trend else { return lines.say("Nothing: no reading counts.") };
    let confidence = judgement.confidence;
    if let Some(level) = judgement.level_at(judgement.as_of) {
        lines
            .row("level today", &format!("{} ({confidence} interval {} to {})", level.median, level.low, level.high))?;
    }
    if let (Some(slope), Some(low), Some(high)) = (trend.slope_log10_per_year, trend.slope_low, trend.slope_high) {
        let halving = trend.halving_years.map(three_digits).map_or_else(String::new, |years| {
            format!("; it halves in {years} year{}", if years == "1" { "" } else { "s" })
        });
        lines.row(
            "slope",
            &format!(
                "{} decades a year ({} to {}){halving}",
                three_digits(slope),
                three_digits(low),
                three_digits(high)
            ),
        )?;
    }
    lines.row("reaches the minimum", &result.forecast.in_words(judgement.as_of))?;
    lines.row("a plain line", &textbook(judgement))?;
    if let Some(p) = result.forecast.p_below_at_next_test {
        lines.row("below it at next test", &format!("probability {}", probability(p)))?;
    }
    if let Some(p) = result.forecast.p_below_in_horizon {
        lines.row(
            "below it in the horizon",
            &format!("probability {} inside {} days", probability(p), policy.horizon_days),
        )?;
    }
    Ok(())
}

/// What the plain censored line says, for whoever wants to check with other means.
fn textbook(judgement: &Judgement) -> String {
    let line = match judgement.textbook_line() {
        Ok(line) => line,
        Err(why) => return format!("cannot be fitted: {why}"),
    };
    let reaches = match line.reaches {
        TextbookCrossing::Between(low, high) if low == high => format!("meets the minimum on {low}"),
        TextbookCrossing::Between(low, high) => format!("meets the minimum between {low} and {high}"),
        TextbookCrossing::NotBefore(low) => format!("meets the minimum not before {low}"),
        TextbookCrossing::CannotSay => "gives no date".to_owned(),
    };
    format!(
        "for comparison, straight, bounds by maximum likelihood: {} ± {} decades a year, {reaches}; it knows no outliers, seasons or faster decline",
        three_digits(line.slope),
        three_digits(line.slope_se)
    )
}
