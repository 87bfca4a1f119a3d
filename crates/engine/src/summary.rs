//! Short texts about a series that lists, charts and pages share.

use groundwall::assess::SeriesAssessment;
use groundwall::resistance::Bound;
use groundwall::units::Resistance;

/// The latest reading of a series at the reference temperature in words; as read where it could not be corrected.
#[must_use]
pub fn latest_in_words(series: &SeriesAssessment) -> String {
    if let Some(value) = series.latest_at_reference() {
        return value.to_string();
    }
    let Some(latest) = &series.latest else { return "none".to_owned() };
    let sign = match latest.bound {
        Bound::Exact => "",
        Bound::Above => "> ",
        Bound::Below => "< ",
    };
    match latest.r60_mohm.and_then(|mohm| Resistance::from_megohms(mohm).ok()) {
        Some(r) => format!("{sign}{r} as read"),
        None => "none".to_owned(),
    }
}

/// Whether no date is given because the level does not reach the minimum as far as can be seen.
#[must_use]
pub fn is_out_of_sight(series: &SeriesAssessment) -> bool {
    series.forecast.out_of_sight
}
