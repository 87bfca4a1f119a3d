//! What the rows say together: a process of drying out, leads of one winding that were not separated.

use crate::assess::drying::{self, flat_for};
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::phases::Leads;
use crate::assess::view::View;
use crate::nameplate::Construction;
use crate::record::{Connection, OtherPhases, Scope};
use crate::resistance::Measured;
use crate::units::{Resistance, three_digits};

/// A winding that is being dried out is not released by a hot reading.
pub(super) fn drying(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let drying = case.drying.as_ref().filter(|drying| !drying.is_over)?;
    let began = if drying.flooded { "was flooded on" } else { "has been drying since" };
    let latest = drying.rows.clone().rev().map(|at| &case.tests[at]).find(|test| test.as_read.is_some());
    let reads = latest.map_or_else(
        || "nothing was read since".to_owned(),
        |test| {
            let at = test.winding_temp.map_or_else(|| " at an unknown temperature".to_owned(), |t| format!(" at {t}"));
            let value = test.as_read.map_or_else(String::new, |value| value.to_string());
            format!("the latest reading, {value}{at} on {}, releases nothing", test.tested_on.date)
        },
    );
    let points = drying::drying_points(&case.tests, drying.rows.clone());
    let flat = flat_for(&points);
    let end = flat.map_or_else(String::new, |hours| {
        format!(" It has been flat for {} h at a steady temperature: let it cool and test it.", three_digits(hours))
    });
    let message = format!(
        "The winding {began} {}, and {reads}: hold it until a cold reading, at {} or less and near the temperature of the air, is above \
         the minimum of {}, and the polarization index where one means something.{end}",
        drying.since,
        view.terms.policy.reference_temp,
        case.minimum.value_in_words()
    );
    let finding = Finding::new(Code::Drying, message, "common practice: drying out; cold test before release")
        .with("since", drying.since.to_string())
        .with("tests", drying.rows.len() as f64);
    let finding = match flat {
        Some(hours) => finding.with("flat_h", hours),
        None => finding,
    };
    Some(finding.asking_before_use(Asks::Hold))
}

/// Whether nothing at all was read between two leads that nobody is known to have separated: copper of a joined star.
pub(super) fn is_zero_between_leads(view: &View<'_>) -> bool {
    let key = &view.case.series.key;
    let is_machine = !matches!(view.case.nameplate.construction, Some(Construction::Cable | Construction::Circuit))
        && matches!(key.scope, Scope::Winding | Scope::WindingAndCable);
    let may_be_joined = matches!(view.case.other_phases, None | Some(OtherPhases::Joined));
    let zero = view.latest().and_then(|(latest, _)| latest.as_read).is_some_and(|value| match value {
        Measured::Below(below) => below <= view.terms.policy.zero_means_below,
        Measured::Exact(r) => r <= Resistance::from_megohms_held(COPPER_MOHM),
        Measured::Above(_) | Measured::OffScale => false,
    });
    matches!(key.connection, Connection::PhasePhase(_)) && is_machine && may_be_joined && zero
}

/// What is read through the copper of a winding is less than this, MΩ, whatever the tester can show.
const COPPER_MOHM: f64 = 0.001;

/// Leads that are joined by the copper of the winding are one winding, and nothing between them can be tested.
pub(super) fn phases_joined(view: &View<'_>) -> Option<Finding> {
    let (latest, _) = view.latest()?;
    let on = latest.tested_on.date;
    let source = "common practice: separate the phases at the star point before testing them apart";
    if is_zero_between_leads(view) {
        let joined = view.case.other_phases == Some(OtherPhases::Joined);
        let (so, ask) = if joined {
            ("the phases were joined, so this is the copper of the winding and no fault of its insulation", "")
        } else {
            (
                "leads of a joined star are connected by the copper of the winding, and then this is no fault",
                " Were the phases separated? If they were, it is a short between phases: keep it out of service.",
            )
        };
        let message = format!(
            "{} was read from lead to lead ({}) on {on}: {so}.{ask} Separate the phases at the star point and repeat the test before the winding is \
             energised.",
            latest.as_read?, view.case.series.key.connection
        );
        return Some(Finding::new(Code::PhasesJoined, message, source).asking_before_use(Asks::Repeat));
    }
    match view.leads? {
        Leads::Alike { leads, owes_if_separated } => {
            let (value, limit) = view.case.judged(latest)?;
            if value.at_or_below(limit) || !value.at_or_below(*owes_if_separated) {
                return None;
            }
            let message = format!(
                "{leads} leads of this winding read alike on {on}, and nobody wrote what the other phases were: if they were joined, this is \
                 one winding read {leads} times, and {value} is above its minimum of {limit}; if they were separated and earthed, each \
                 phase owes {owes_if_separated}. Write other_phases, or separate them and repeat the test, before the winding is energised."
            );
            let finding = Finding::new(Code::PhasesJoined, message, source).with("leads", *leads as f64);
            Some(finding.asking_before_use(Asks::Repeat))
        }
        Leads::Differ { highest, lowest, ratio } => {
            let message = format!(
                "On {on} the phases were joined, so that every lead is the same copper, and {highest} read {} times {lowest}, more than {} \
                 times: one of the leads was not connected, or its reading is wrong; repeat both.",
                three_digits(*ratio),
                three_digits(view.terms.policy.phase_ratio_limit)
            );
            let finding = Finding::new(Code::PhasesJoined, message, source).with("ratio", *ratio);
            Some(finding.asking_before_use(Asks::Repeat))
        }
    }
}
