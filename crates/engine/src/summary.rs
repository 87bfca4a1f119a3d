//! Short texts about a series that lists, charts and pages share.

use groundwall::assess::{Code, Latest, SeriesAssessment};
use groundwall::resistance::{Bound, Measured};
use groundwall::units::{Resistance, Temperature};

/// The latest reading of a series at the reference temperature in words; as read where it could not be corrected.
#[must_use]
pub fn latest_in_words(series: &SeriesAssessment) -> String {
    let as_read = || series.latest.as_ref().and_then(as_read_in_words);
    if let Some(hot) = hot_while_drying(series) {
        let read = as_read().unwrap_or_else(|| Measured::OffScale.to_string());
        return format!("{read}, hot ({hot})");
    }
    if let Some(value) = series.latest_at_reference() {
        return value.to_string();
    }
    as_read().map_or_else(|| "none".to_owned(), |read| format!("{read} as read"))
}

/// The temperature of a latest reading that was taken hot while the winding is drying out, which passes nothing.
#[must_use]
pub fn hot_while_drying(series: &SeriesAssessment) -> Option<Temperature> {
    let is_drying = series.findings.iter().any(|finding| finding.code == Code::Drying);
    series.latest.as_ref().filter(|latest| is_drying && latest.kt.is_none())?.winding_temp_c
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
