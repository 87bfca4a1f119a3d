//! What the rows say together: a process of drying out, leads of one winding that were not separated.

use super::fall::{BEFORE_FALL, Drop, after_agreed_fall};
use crate::assess::drying::{self, flat_for};
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::phases::Leads;
use crate::assess::result::LeftOut;
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
            format!("the latest reading, {value}{at} on {}, does not clear it for service", test.tested_on.date)
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

/// Whether nothing at all was read between two leads that are not known to have been separated: copper of a joined star.
pub(super) fn is_zero_between_leads(view: &View<'_>) -> bool {
    let key = &view.case.series.key;
    let is_machine = !matches!(view.case.nameplate.construction, Some(Construction::Cable | Construction::Circuit))
        && matches!(key.scope, Scope::Winding | Scope::WindingAndCable);
    let may_be_joined = matches!(view.case.other_phases, None | Some(OtherPhases::Joined));
    let zero = view.latest().and_then(|(latest, _)| latest.as_read).is_some_and(|value| match value {
        Measured::Below(below) => below <= view.terms.policy.zero_means_below,
        Measured::Exact(r) => r <= Resistance::from_megohms_clamped(COPPER_MOHM),
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
    let source = "common practice: separate the phases at the star point before testing them separately";
    if is_zero_between_leads(view) {
        let joined = view.case.other_phases == Some(OtherPhases::Joined);
        let (so, ask) = if joined {
            ("the phases were joined, so this is the copper of the winding and no fault of its insulation", "")
        } else {
            (
                "leads of a joined star are connected by the copper of the winding, and then this is not a fault",
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
                "{leads} leads of this winding read alike on {on}, and the other phases were not recorded: if they were joined, this is \
                 one winding read {leads} times, and {value} is above its minimum of {limit}; if they were separated and earthed, each \
                 phase owes {owes_if_separated}. Write other_phases, or separate them and repeat the test, before the winding is energised."
            );
            let finding = Finding::new(Code::PhasesJoined, message, source).with("leads", *leads as f64);
            Some(finding.asking_before_use(Asks::Repeat))
        }
        Leads::Mixed { .. } => None,
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

/// What a lead reads by what the other phases were.
const LEADS_READ: &str = "a lead reads the whole winding with the other phases joined to it, about twice that with them earthed and three times with them guarded";
const LEADS_READ_SOURCE: &str = "IEEE Std 43 cl. 12.3 note (from memory)";

/// Of one round, the record of one lead says that the others were joined to it, that of another that they were separated: which is
/// right is unknown, so each is compared with what is stricter.
pub(super) fn other_phases_mixed(view: &View<'_>) -> Option<Finding> {
    let Leads::Mixed { here, elsewhere, owes, higher } = view.leads? else { return None };
    let on = view.case.tests[view.case.last_made()?].tested_on.date;
    let is_joined = *here == OtherPhases::Joined;
    let held = owes.map_or_else(String::new, |owes| {
        format!(" Because the records conflict, this one is compared with the separated-phase minimum, {owes}.")
    });
    let far = higher.as_ref().map_or_else(String::new, |(name, ratio)| {
        format!(" Brought to the whole winding, {name} read {} times as much as this lead.", three_digits(*ratio))
    });
    let todo = match higher {
        Some(_) => "Repeat the test before the winding is energised, every lead connected alike.",
        None if is_joined => "Write what the other phases were at each reading, or repeat the test.",
        None => "Write what the other phases were at each reading.",
    };
    let message = format!(
        "On {on} the other phases were {here} at this lead, and {elsewhere}; {LEADS_READ}, so the readings are compared as read \
         and as brought to the whole winding.{held}{far} {todo}"
    );
    let finding =
        Finding::new(Code::OtherPhasesMixed, message, LEADS_READ_SOURCE).with("other_phases", here.to_string());
    Some(match (is_joined, higher) {
        (_, Some((_, ratio))) => finding.with("ratio", *ratio).asking_before_use(Asks::Repeat),
        (true, None) => finding.asking(Asks::Repeat),
        (false, None) => finding,
    })
}

/// A change of what the other phases were is said while at most so many tests followed it.
const MOST_SINCE_CHANGE: usize = 4;
/// Between phases earthed and phases guarded the rule itself leaves this factor open, decades.
const CONNECTION_LEAVES_OPEN: f64 = 0.1761;

/// The other phases were connected differently at earlier tests: what rose with the connection may hide a fall.
pub(super) fn other_phases_changed(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let last = case.latest().filter(|_| case.series.key.connection.phase_to_earth().is_some())?;
    let since = case.tests[..=last].iter().rposition(|test| test.event.is_some()).unwrap_or(0);
    let counts = |at: &usize| matches!(case.tests[*at].left_out, None | Some(LeftOut::BeforeStretch));
    let written = |at: usize| case.record(at).procedure().other_phases;
    // Where nothing was written, the leads were connected as the time before.
    let mut known = (since..=last).find_map(written)?;
    let tests: Vec<(usize, OtherPhases)> = (since..=last)
        .map(|at| {
            known = written(at).unwrap_or(known);
            (at, known)
        })
        .filter(|(at, _)| counts(at))
        .collect();
    let (_, now) = *tests.last()?;
    let is_same = |others: OtherPhases| others.divisor().total_cmp(&now.divisor()).is_eq();
    let changed = tests.iter().rposition(|(_, others)| !is_same(*others))?;
    let latest = &tests[changed + 1..];
    if latest.len() > MOST_SINCE_CHANGE {
        return None;
    }
    let (then_at, then) = tests[changed];
    let before = tests[..=changed].iter().rev().take_while(|(_, others)| !is_same(*others)).take(BEFORE_FALL);
    let whole = |(at, others): &(usize, OtherPhases)| Some(case.tests[*at].corrected?.scaled(1.0 / others.divisor()));
    let before: Vec<Measured> = before.filter_map(whole).collect();
    let brought: Vec<Measured> = latest.iter().filter_map(whole).collect();
    let on = case.tests[last].tested_on.date;
    let then_on = case.tests[then_at].tested_on.date;
    let drop = Drop::between(&before, &brought).map(|drop| drop.size);
    let fell = drop.filter(|size| *size > CONNECTION_LEAVES_OPEN);
    // A joined lead that passes as such and would not as a separated one.
    let separated = case.minimum_with(OtherPhases::Earthed, view.terms).resistance;
    let is_low = now == OtherPhases::Joined
        && case.minimum.as_read.is_none()
        && case.judged(&case.tests[last]).is_some_and(|(value, _)| value.at_or_below(separated));
    let (asks, so) = match fell {
        Some(size) => {
            let factor = libm::exp10(size);
            let lower = format!(
                ": brought to the whole winding, the latest reading{} lower by a factor of {} than those before",
                if latest.len() > 1 { "s are" } else { " is" },
                three_digits(factor)
            );
            let (asks, look) = match latest.len() {
                1 => {
                    (Asks::Repeat, "; repeat the test before the winding is energised, connected as before".to_owned())
                }
                _ => after_agreed_fall(view, factor),
            };
            (asks, format!("{lower}{look}."))
        }
        None if is_low => (
            Asks::Repeat,
            format!(
                ". As a joined lead it is above its minimum, and as a separated one it would need {separated}: see how it was connected, and \
                 repeat the test before the winding is energised."
            ),
        ),
        None => (Asks::Nothing, "; part of any difference comes from that. Connect it alike each time.".to_owned()),
    };
    let message = format!("The other phases were {now} on {on} and {then} on {then_on}, and {LEADS_READ}{so}");
    let mut finding = Finding::new(Code::OtherPhasesMixed, message, LEADS_READ_SOURCE);
    if let Some(size) = drop {
        finding = finding.with("drop_log10", size);
    }
    Some(if asks <= Asks::Repeat { finding.asking_before_use(asks) } else { finding.asking(asks) })
}
