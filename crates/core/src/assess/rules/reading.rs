//! What the latest reading itself says: against the minimum, its temperature, its scale.

use crate::assess::finding::{Code, Finding};
use crate::assess::view::View;
use crate::resistance::{Bound, Measured};
use crate::temperature::TemperatureLaw;
use crate::units::three_digits;

pub(super) fn no_reading(view: &View<'_>) -> Option<Finding> {
    if view.case.latest().is_some() {
        return None;
    }
    let start = view.case.tests.get(view.case.start);
    let message = match (view.case.last_made(), start.and_then(|start| Some((start, start.event?)))) {
        (None, _) => format!("No test was made up to {}: nothing is known of the winding.", view.terms.as_of),
        (_, Some((start, event))) if start.as_read.is_none() => format!(
            "Nothing has been read since the winding was {} on {}: test it before it is energised.",
            event.word(),
            start.tested_on.date
        ),
        (Some(made), _) => format!(
            "No test up to {} counts: none has a one-minute resistance taken with proven leads.",
            view.case.tests[made].tested_on.date
        ),
    };
    Some(Finding::new(Code::NoReading, message, "IEEE Std 43 cl. 5.3: the one-minute value is the one that is judged"))
}

pub(super) fn below_minimum(view: &View<'_>) -> Option<Finding> {
    let (latest, _) = view.latest()?;
    let minimum = &view.case.minimum;
    let reference = view.terms.policy.reference_temp;
    let value = latest.corrected.filter(|_| latest.kt.is_some()).or(latest.as_read)?;
    if value.at_or_below(minimum.resistance) {
        let at =
            if latest.kt.is_some() { format!(" at {reference}") } else { " as read (temperature unknown)".to_owned() };
        let on = latest.tested_on.date;
        let since = view.case.below_since().unwrap_or(on);
        let others = if since < on { format!(", as is every one since {since}") } else { String::new() };
        let message = format!(
            "The latest reading, {value}{at} on {on}, is at or below the minimum of {}{others}.",
            minimum.resistance
        );
        let mohm = value.resistance().map_or(0.0, |r| r.as_megohms());
        return Some(
            Finding::new(Code::BelowMinimum, message, minimum.rule.clone())
                .with("r60_ref_mohm", mohm)
                .with("minimum_mohm", minimum.resistance.as_megohms())
                .with("below_since", since.to_string()),
        );
    }
    let outlook = view.outlook.filter(|outlook| outlook.rests_on_readings())?;
    let limit = view.terms.policy.hold_probability.as_fraction();
    if outlook.p_below_today <= limit {
        return None;
    }
    let level = outlook.summary.level_mohm.map_or_else(String::new, |mohm| format!(" at {} MΩ", three_digits(mohm)));
    let message = format!(
        "The underlying level today{level} is below the minimum of {} with probability {}, more than the {} that the policy allows.",
        minimum.resistance,
        three_digits(outlook.p_below_today),
        three_digits(limit)
    );
    Some(
        Finding::new(Code::BelowMinimum, message, format!("policy decision.hold_probability; {}", minimum.rule))
            .with("p_below_today", outlook.p_below_today)
            .with("minimum_mohm", minimum.resistance.as_megohms()),
    )
}

/// How many times the minimum the latest reading keeps at the worst likely temperature.
pub(super) fn worst_margin(view: &View<'_>, factor: f64) -> Option<f64> {
    let as_read = view.latest()?.0.as_read?;
    let floor = match as_read {
        Measured::Exact(r) | Measured::Above(r) => r,
        Measured::Below(_) | Measured::OffScale => return None,
    };
    Some(floor.as_megohms() * factor / view.case.minimum.resistance.as_megohms())
}

/// What a doubtful temperature comes to: whether the verdict stands all the same.
pub(super) fn doubt(view: &View<'_>, margin: Option<f64>) -> (String, bool) {
    let needed = view.terms.policy.doubt_margin;
    match margin {
        Some(margin) if margin >= needed => (
            format!(
                "even at the worst likely temperature it keeps {} times the minimum, so it stands",
                three_digits(margin)
            ),
            true,
        ),
        Some(margin) => (
            format!(
                "at the worst likely temperature it keeps {} times the minimum, less than the {} at which it could stand",
                three_digits(margin),
                three_digits(needed)
            ),
            false,
        ),
        None => ("what it comes to at the reference temperature cannot be said".to_owned(), false),
    }
}

pub(super) fn temperature_missing(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    if record.winding_temp.is_some() || latest.as_read == Some(Measured::OffScale) {
        return None;
    }
    let factor = view.case.worst_likely_factor(view.terms.policy.reference_temp);
    let margin = worst_margin(view, factor);
    let (comes_to, stands) = doubt(view, margin);
    let message = format!(
        "The latest test, on {}, has no winding temperature, so {} cannot be corrected; {comes_to}.",
        latest.tested_on.date, latest.as_read?
    );
    Some(
        Finding::new(Code::TemperatureMissing, message, "policy temperature.doubt_margin; IEEE Std 43 cl. 6.3")
            .with("margin_at_worst", margin.unwrap_or(f64::NAN))
            .with("stands", if stands { "yes" } else { "no" }),
    )
}

pub(super) fn temperature_outside_law(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let reference = view.terms.policy.reference_temp;
    let at = record.winding_temp?;
    let correction = view.case.law.correction(at, reference);
    if !correction.outside {
        return None;
    }
    let range = view.case.law.range().map_or_else(String::new, |(from, to)| format!("{} to {to}", from.as_celsius()));
    let margin = worst_margin(view, 10f64.powf(correction.log10_factor - 2.0 * correction.log10_doubt));
    let (comes_to, stands) = doubt(view, margin);
    let message = format!(
        "The winding was at {at} on {}, outside the {range} for which the temperature law holds; {comes_to}.",
        latest.tested_on.date
    );
    Some(
        Finding::new(Code::TemperatureOutsideLaw, message, view.case.law.source())
            .with("winding_temp_c", at.as_celsius())
            .with("doubt_log10", correction.log10_doubt)
            .with("stands", if stands { "yes" } else { "no" }),
    )
}

pub(super) fn off_scale(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let source = "bounds are kept as bounds; policy readings.full_scale_mohm";
    let minimum = view.case.minimum.resistance;
    match latest.as_read? {
        Measured::OffScale => {
            let message = format!(
                "The tester was over range on {} and nobody wrote down where its scale ends, so the reading is no limit for anything; note the full scale.",
                latest.tested_on.date
            );
            Some(Finding::new(Code::OffScale, message, source))
        }
        Measured::Above(limit) if latest.corrected.and_then(Measured::resistance).is_some_and(|r| r <= minimum) => {
            let message = format!(
                "The tester's scale ended at {limit} on {}, which at the reference temperature is not above the minimum of {minimum}; test with a higher scale.",
                latest.tested_on.date
            );
            Some(Finding::new(Code::OffScale, message, source).with("limit_mohm", limit.as_megohms()))
        }
        Measured::Exact(shown) if record.full_scale.is_some_and(|scale| shown > scale) => {
            let scale = record.full_scale?;
            let message = format!(
                "{shown} was read on {} with a tester whose scale is said to end at {scale}; one of the two is wrong.",
                latest.tested_on.date
            );
            Some(Finding::new(Code::OffScale, message, source).with("full_scale_mohm", scale.as_megohms()))
        }
        _ => None,
    }
}

pub(super) fn minimum_unknown(view: &View<'_>) -> Option<Finding> {
    if !view.case.minimum.assumed {
        return None;
    }
    let cause = if view.case.registered {
        "Neither a rated voltage nor a limit is known for this winding"
    } else {
        "The winding is not in the register"
    };
    let message = format!(
        "{cause}, so it is judged against {}, the least value of any rule; enter its rating before relying on this.",
        view.case.minimum.resistance
    );
    Some(Finding::new(Code::MinimumUnknown, message, view.case.minimum.rule.clone()))
}

pub(super) fn insulation_unknown(view: &View<'_>) -> Option<Finding> {
    if view.case.law != TemperatureLaw::Either {
        return None;
    }
    let (latest, record) = view.latest()?;
    if latest.as_read?.bound() == Bound::Above && latest.as_read?.resistance().is_none() {
        return None;
    }
    let correction = view.case.law.correction(record.winding_temp?, view.terms.policy.reference_temp);
    let message = format!(
        "The insulation family is not known: both temperature laws were used, and they differ by a factor of {} for the latest reading.",
        three_digits(10f64.powf(2.0 * correction.log10_doubt))
    );
    Some(
        Finding::new(Code::InsulationUnknown, message, view.case.law.source())
            .with("doubt_log10", correction.log10_doubt),
    )
}

pub(super) fn law_learnt(view: &View<'_>) -> Option<Finding> {
    let learnt = view.case.learnt.filter(|learnt| learnt.beats_the_assumed())?;
    let message = format!(
        "The readings themselves say that the resistance {}; that beats the assumed law ({}), so it was used.",
        learnt.in_words(),
        view.case.assumed_law.name()
    );
    Some(
        Finding::new(
            Code::LawLearnt,
            message,
            "strength of evidence (Kass and Raftery 1995); IEEE Std 43 cl. 6.3 (from memory)",
        )
        .with("halving_k", learnt.halving.as_kelvins())
        .with("evidence", learnt.evidence),
    )
}
