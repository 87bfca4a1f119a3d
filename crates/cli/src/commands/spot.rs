//! `spot`: one reading judged at the machine.

use crate::args::{SpotArgs, TextFormat};
use crate::console::Console;
use crate::settings;
use crate::values::ItemText;
use chrono::Local;
use groundwall::absorption::one_minute;
use groundwall::assess::{
    Action, Code, Finding, InTurn, Judgement, Minimum, Register, SeriesAssessment, Terms, assess_fleet,
};
use groundwall::nameplate::Nameplate;
use groundwall::policy::Policy;
use groundwall::record::validate::TestRules;
use groundwall::record::{Connection, Phase, Procedure, TestRecord, TestedOn};
use groundwall::resistance::Bound;
use groundwall::series::Series;
use groundwall::units::{Confidence, three_digits};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::program::write_json;
use serde::Serialize;

/// What the single winding is called inside; nobody sees it.
const NAME: &str = "spot";

#[derive(Serialize)]
struct Answer<'a> {
    r60_mohm: Option<f64>,
    bound: Bound,
    kt: Option<f64>,
    r60_ref_mohm: Option<f64>,
    minimum: Option<&'a Minimum>,
    margin: Option<f64>,
    action: Action,
    findings: &'a [Finding],
}

/// Judges one reading.
///
/// # Errors
///
/// A [`Failure`] when the policy cannot be read or the output cannot be written.
pub fn run(args: &SpotArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let policy = settings::policy(args.policy.as_ref())?;
    let Some(judgement) = judge(args, policy) else {
        return Err(Failure::ours("one reading gave no judgement"));
    };
    let result = &judgement.assessment;
    let latest = result.latest.as_ref();
    let minimum = result.minimum.as_ref();
    let at_reference = latest.and_then(|latest| latest.r60_ref_mohm);
    let margin = margin(result);
    match args.format {
        TextFormat::Json => {
            let answer = Answer {
                r60_mohm: args.r60.resistance().map(|r| r.as_megohms()),
                bound: latest.map_or(args.r60.bound(), |latest| latest.bound),
                kt: latest.and_then(|latest| latest.kt),
                r60_ref_mohm: at_reference,
                minimum,
                margin,
                action: result.action,
                findings: &result.findings,
            };
            console.print_data(|out| write_json(out, &answer))?;
        }
        TextFormat::Text => console.print(|out| {
            writeln!(out, "{}: {}", result.action, meaning(result.action, margin))?;
            let as_read = args.r60;
            match (args.at, result.latest_at_reference()) {
                (Some(at), Some(value)) => {
                    writeln!(out, "reading   {as_read} at {at}, {value} at {}", judgement.reference)?;
                }
                _ => writeln!(out, "reading   {as_read}, winding temperature not given")?,
            }
            writeln!(out, "law       {}", judgement.law)?;
            if let Some(minimum) = minimum {
                writeln!(out, "minimum   {} ({})", minimum.value_in_words(), minimum.rule)?;
            }
            if let Some(margin) = margin {
                let is_least = latest.is_some_and(|latest| latest.bound == Bound::Above);
                let least = if is_least { "at least " } else { "" };
                let assumed = if minimum.is_some_and(|minimum| minimum.assumed) { "assumed " } else { "" };
                writeln!(out, "margin    {least}{} times the {assumed}minimum", three_digits(margin))?;
            }
            let record: Vec<String> = given_items(args)
                .map(|given| format!("{} {}", given.item.name().replace('_', " "), given.text))
                .collect();
            if !record.is_empty() {
                writeln!(out, "record    {}", record.join("; "))?;
            }
            for finding in &result.findings {
                writeln!(out, "found     {}", finding.message)?;
            }
            Ok(())
        })?,
    }
    console.remark(&groundwall_engine::output::table::cautions());
    Ok(Status::Done)
}

/// What was given of the record of the test.
fn given_items(args: &SpotArgs) -> impl Iterator<Item = &ItemText> {
    [
        &args.other_phases,
        &args.serial,
        &args.calibration_due,
        &args.battery,
        &args.zero_check,
        &args.open_check,
        &args.source_check,
        &args.proved_dead,
        &args.discharged_min,
        &args.dielectric_discharge,
        &args.tested_by,
        &args.work_order,
        &args.equipment_state,
        &args.standing_h,
    ]
    .into_iter()
    .flatten()
}

fn judge(args: &SpotArgs, policy: Policy) -> Option<Judgement> {
    let today = Local::now().date_naive();
    let mut procedure = Procedure::default();
    for given in given_items(args) {
        // Each was checked with the arguments.
        TestRules::default().read_item(&mut procedure, given.item, &given.text).ok()?;
    }
    let connection =
        if procedure.other_phases.is_some() { Connection::PhaseEarth(Phase::U) } else { Connection::AllEarth };
    let test = TestRecord::builder(NAME, TestedOn::day(today))
        .connection(connection)
        .procedure(procedure)
        .reading(one_minute(), args.r60.with_full_scale(policy.full_scale))
        .test_volts(args.test_volts)
        .winding_temp(args.at)
        .air_temp(args.air)
        .humidity(args.rh)
        .build()
        .ok()?;
    let nameplate = Nameplate {
        rated_voltage: args.rated_volts,
        construction: args.construction,
        insulation: args.insulation,
        minimum: args.minimum,
        minimum_basis: args.minimum_basis,
        year_made: args.year,
        ..Nameplate::default()
    };
    let register = Register::from([(NAME.to_owned(), nameplate)]);
    let terms = Terms { policy, as_of: today, confidence: Confidence::from_fraction(0.9).ok()? };
    let mut judged = assess_fleet(Series::collect([test]), &register, &terms, &InTurn, |judgement| judgement);
    let mut judgement = judged.pop()?;
    // One reading is all there is: that it gives no trend need not be said, and far above the minimum it asks for nothing.
    let result = &mut judgement.assessment;
    result.findings.retain(|finding| finding.code != Code::FewReadings);
    let is_far = margin(result).is_some_and(|margin| margin >= terms.policy.doubt_margin);
    if result.action == Action::Gather && is_far {
        result.action = Action::Keep;
    }
    Some(judgement)
}

/// How many times the minimum the reading is at least: as it was read where the limit is one for that. "Less than" gives no margin.
fn margin(result: &SeriesAssessment) -> Option<f64> {
    let latest = result.latest.as_ref().filter(|latest| latest.bound != Bound::Below)?;
    let minimum = result.minimum.as_ref()?;
    let (value, limit) = match minimum.as_read {
        Some(limit) => (latest.r60_mohm?, limit),
        None => (latest.r60_ref_mohm?, minimum.resistance),
    };
    Some(value / limit.as_megohms())
}

/// What an action means for one reading, which says nothing of a trend.
fn meaning(action: Action, margin: Option<f64>) -> String {
    match (action, margin) {
        (Action::Keep, Some(margin)) => {
            format!("acceptable, {} times the minimum; whether it falls, one reading cannot say", three_digits(margin))
        }
        (Action::Gather, Some(margin)) => format!(
            "acceptable, but only {} times the minimum; set it beside earlier tests, because one reading cannot say whether it falls",
            three_digits(margin)
        ),
        _ => action.meaning().to_owned(),
    }
}
