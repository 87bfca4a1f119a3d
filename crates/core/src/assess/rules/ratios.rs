//! What ratios say: of timed readings within the latest test, and of one phase to another.

use crate::absorption::{Ratio, absorption_ratio, one_minute_resistance, polarization_index};
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::view::View;
use crate::nameplate::{Construction, Nameplate};
use crate::policy::Policy;
use crate::resistance::{Bound, Measured, TimedReading};
use crate::units::three_digits;

/// Class 105 has a lower minimum than all others.
const LOW_CLASS_C: u16 = 105;

/// The least polarization index for a winding.
pub(crate) fn least_polarization_index(nameplate: &Nameplate, policy: &Policy) -> f64 {
    match nameplate.thermal_class {
        Some(class) if class.degrees_celsius() <= LOW_CLASS_C => policy.pi_minimum_class_105,
        _ => policy.pi_minimum,
    }
}

/// Why a polarization index says nothing about a winding; none where it does.
pub(crate) fn not_meaningful(readings: &[TimedReading], nameplate: &Nameplate, policy: &Policy) -> Option<String> {
    let limit = policy.pi_not_meaningful_above;
    match one_minute_resistance(readings) {
        Some(Measured::Exact(r) | Measured::Above(r)) if r > limit => {
            return Some(format!("the one-minute resistance, {r}, is above {limit}"));
        }
        _ => {}
    }
    (nameplate.construction == Some(Construction::RandomWound))
        .then(|| "in a random-wound stator absorption is over within seconds".to_owned())
}

fn says_too_low(ratio: Ratio, least: f64) -> bool {
    ratio.value < least && ratio.bound != Bound::Above
}

pub(super) fn low_absorption(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let (plate, policy) = (&view.case.nameplate, &view.terms.policy);
    let date = latest.tested_on.date;
    let least = least_polarization_index(plate, policy);
    if let Some(pi) = polarization_index(&record.readings)
        && says_too_low(pi, least)
        && not_meaningful(&record.readings, plate, policy).is_none()
    {
        let message = format!(
            "On {date} the polarization index R600/R60 was {}, below the least value of {}: damp or dirt is likely.",
            three_digits(pi.value),
            three_digits(least)
        );
        return Some(
            Finding::new(Code::LowAbsorption, message, "IEEE Std 43-2000 cl. 12.2; policy ratios")
                .with("pi", pi.value)
                .with("pi_minimum", least)
                .asking_before_use(Asks::Repeat),
        );
    }
    let (dar, least) = (absorption_ratio(&record.readings)?, policy.dar_minimum?);
    if !says_too_low(dar, least) {
        return None;
    }
    let message = format!(
        "On {date} the absorption ratio R60/R30 was {}, below the site's own least value of {}.",
        three_digits(dar.value),
        three_digits(least)
    );
    Some(
        Finding::new(Code::LowAbsorption, message, "policy ratios.dar_minimum")
            .with("dar", dar.value)
            .with("dar_minimum", least)
            .asking_before_use(Asks::Repeat),
    )
}

pub(super) fn ratio_not_meaningful(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let pi = polarization_index(&record.readings)?;
    let why = not_meaningful(&record.readings, &view.case.nameplate, &view.terms.policy)?;
    let message = format!(
        "The polarization index of {}, {}, is no measure of condition here: {why}.",
        latest.tested_on.date,
        three_digits(pi.value)
    );
    Some(Finding::new(Code::RatioNotMeaningful, message, "IEEE Std 43-2000 cl. 5.4 and 12.2").with("pi", pi.value))
}

pub(super) fn phase_spread(view: &View<'_>) -> Option<Finding> {
    let limit = view.terms.policy.phase_ratio_limit;
    let mut sentences = Vec::new();
    let mut finding = Finding::new(Code::PhaseSpread, "", "phases tested together share temperature and damp");
    if let Some(spread) = &view.phases.spread {
        let seen = match spread.rounds_in_a_row - 1 {
            0 => String::new(),
            1 => ", as in the round before".to_owned(),
            rounds => format!(", as in the {rounds} rounds before"),
        };
        sentences.push(format!(
            "On {} phase {} read {} times as much as phase {}, more than the limit of {}{seen}.",
            spread.on,
            spread.highest,
            three_digits(spread.ratio),
            spread.lowest,
            three_digits(limit)
        ));
        finding.source.insert_str(0, "GB 50150-2006 cl. 3.0.2; policy phases.ratio_limit; ");
        finding = finding.with("ratio", spread.ratio).with("rounds_in_a_row", spread.rounds_in_a_row as f64);
    }
    if let Some(drift) = &view.phases.drift {
        sentences.push(format!(
            "This phase falls away from the others by a factor of {} a year, in {} rounds since {}; temperature and damp cancel in the ratio.",
            three_digits(10f64.powf(-drift.log10_per_year)),
            drift.rounds,
            drift.since
        ));
        finding = finding.with("drift_log10_per_year", drift.log10_per_year).with("p", drift.p);
    }
    if sentences.is_empty() {
        return None;
    }
    finding.message = sentences.join(" ");
    // Seen once it may be a mistake; seen again it is the winding.
    let once = view.phases.drift.is_none() && view.phases.spread.as_ref().is_some_and(|s| s.rounds_in_a_row == 1);
    Some(if once { finding.asking_before_use(Asks::Repeat) } else { finding.asking(Asks::SoonerTest) })
}
