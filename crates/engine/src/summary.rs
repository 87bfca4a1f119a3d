//! Short texts about a series that lists, charts and pages share.

use groundwall::assess::{Latest, SeriesAssessment};
use groundwall::resistance::Bound;
use groundwall::units::Resistance;

/// The latest reading of a series at the reference temperature in words; as read where it could not be corrected.
#[must_use]
pub fn latest_in_words(series: &SeriesAssessment) -> String {
    if let Some(value) = series.latest_at_reference() {
        return value.to_string();
    }
    let Some(latest) = &series.latest else { return "none".to_owned() };
    as_read_in_words(latest).map_or_else(|| "none".to_owned(), |read| format!("{read} as read"))
}

/// The latest reading as it was read, with the sign of a bound; none where it was over a range of unknown end.
#[must_use]
pub fn as_read_in_words(latest: &Latest) -> Option<String> {
    let sign = match latest.bound {
        Bound::Exact => "",
        Bound::Above => "> ",
        Bound::Below => "< ",
    };
    let read = Resistance::from_megohms(latest.r60_mohm?).ok()?;
    Some(format!("{sign}{read}"))
}

/// Whether no date is given because the level does not reach the minimum as far as can be seen.
#[must_use]
pub fn is_out_of_sight(series: &SeriesAssessment) -> bool {
    series.forecast.out_of_sight
}
