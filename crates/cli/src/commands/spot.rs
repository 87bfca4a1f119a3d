//! `spot`: one reading judged at the machine.

use crate::args::{SpotArgs, TextFormat};
use crate::console::Console;
use crate::settings;
use crate::values::ItemText;
use chrono::Local;
use groundwall::assess::Action;
use groundwall::nameplate::Nameplate;
use groundwall::resistance::Bound;
use groundwall::units::three_digits;
use groundwall_engine::calculators::spot::{GroupTaught, Spot};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::program::write_json;

/// Judges one reading.
///
/// # Errors
///
/// A [`Failure`] when the policy cannot be read or the output cannot be written.
pub fn run(args: &SpotArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let policy = settings::policy(args.policy.as_ref())?;
    let priors = args.priors.as_deref().map(settings::priors).transpose()?;
    let judged = spot(args).judge(policy, Local::now().date_naive(), priors.as_ref())?;
    let (judgement, margin) = (&judged.judgement, judged.margin);
    let result = &judgement.assessment;
    let (latest, minimum) = (result.latest.as_ref(), result.minimum.as_ref());
    match args.format {
        TextFormat::Json => console.print_data(|out| write_json(out, &judged.answer()))?,
        TextFormat::Text => console.print(|out| {
            writeln!(out, "{}: {}", result.action, meaning(result.action, margin))?;
            let as_read = args.r60;
            match (args.at, result.latest_at_reference()) {
                (Some(at), Some(value)) => {
                    writeln!(out, "reading   {as_read} at {at}, {value} at {}", judgement.reference)?;
                }
                (Some(at), None) => writeln!(out, "reading   {as_read} at {at}")?,
                (None, _) => writeln!(out, "reading   {as_read}, winding temperature not given")?,
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
            if let Some(priors) = &priors {
                writeln!(out, "priors    {}", group_in_words(&priors.name, judged.taught.as_ref()))?;
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

fn spot(args: &SpotArgs) -> Spot {
    Spot {
        r60: args.r60,
        winding_temp: args.at,
        air_temp: args.air,
        humidity: args.rh,
        test_volts: args.test_volts,
        record: given_items(args).cloned().collect(),
        nameplate: Nameplate {
            rated_voltage: args.rated_volts,
            construction: args.construction,
            insulation: args.insulation,
            minimum: args.minimum,
            minimum_basis: args.minimum_basis,
            year_made: args.year,
            group: args.group.clone(),
            ..Nameplate::default()
        },
    }
}

/// Whose priors the reading was judged by too.
fn group_in_words(file: &str, taught: Option<&GroupTaught>) -> String {
    match taught {
        Some(GroupTaught { group, learnt_from: 0, .. }) => format!("{file}: {group}: too few series to learn from"),
        Some(GroupTaught { group, learnt_from, as_of }) => {
            format!("{file}: {group}: {learnt_from} series as of {as_of}; they never make an answer less urgent")
        }
        None => format!("{file}: the fleet had no such winding"),
    }
}

/// What an action means for one reading, which says nothing of a trend.
fn meaning(action: Action, margin: Option<f64>) -> String {
    match (action, margin) {
        (Action::Keep, Some(margin)) => {
            format!("acceptable, {} times the minimum; whether it falls, one reading cannot say", three_digits(margin))
        }
        (Action::Gather, Some(margin)) => format!(
            "acceptable, but only {} times the minimum; compare it with earlier tests; one reading cannot show a trend",
            three_digits(margin)
        ),
        _ => action.meaning().to_owned(),
    }
}
