//! Short texts about a series that lists, charts and pages share.

use groundwall::assess::{Action, Asks, Code, Finding, Latest, SeriesAssessment, WorkBy};
use groundwall::resistance::{Bound, Measured};
use groundwall::units::{Resistance, Temperature};

/// A count of what is overdue: "94 of 120 overdue, the oldest by 14 months". None where nothing is.
#[must_use]
pub fn overdue_in_words(days: &[u32], of: usize) -> Option<String> {
    let longest = span_in_words(*days.iter().max()?);
    Some(match days.len() {
        1 => format!("1 of {of} overdue, by {longest}"),
        count => format!("{count} of {of} overdue, the oldest by {longest}"),
    })
}

/// Days as a person counts them: "20 days", "14 months".
#[must_use]
pub fn span_in_words(days: u32) -> String {
    const DAYS_PER_MONTH: f64 = 365.25 / 12.0;
    match days {
        1 => "1 day".to_owned(),
        0..=59 => format!("{days} days"),
        _ => format!("{:.0} months", f64::from(days) / DAYS_PER_MONTH),
    }
}

/// What an action means, as one sentence without a full stop; where the test is overdue, that comes first.
#[must_use]
pub fn meaning(series: &SeriesAssessment) -> String {
    match (series.action, series.overdue_days.map(span_in_words)) {
        (Action::Keep, Some(late)) => format!("test now: overdue by {late}, and nothing else was found"),
        (Action::Gather, Some(late)) => format!("test now: overdue by {late}; {}", series.action.meaning()),
        _ => series.action.meaning().to_owned(),
    }
}

/// The suffix shown after the action in every list: by when the work is to be done, and what `shorten` means.
#[must_use]
pub fn asked(series: &SeriesAssessment) -> Option<String> {
    match series.action {
        Action::Plan => series.work_by.map(WorkBy::in_short),
        Action::Shorten => Some(series.action.in_short().to_owned()),
        Action::Hold | Action::Recheck | Action::Keep | Action::Gather => None,
    }
}

/// What any action asks for, in a few plain words.
#[must_use]
pub fn in_plain_words(series: &SeriesAssessment) -> String {
    match (series.action, series.overdue_days) {
        (Action::Keep | Action::Gather, Some(_)) => "test now".to_owned(),
        _ => asked(series).unwrap_or_else(|| series.action.in_short().to_owned()),
    }
}

/// A finding as the reason in a list: a few plain words.
#[must_use]
pub fn reason(code: Code) -> String {
    let words = match code {
        Code::BelowMinimum => "at or below the minimum",
        Code::IndexBelowOne => "falls while the voltage is on",
        Code::TestApart => "test winding and cable separately",
        Code::Drying => "being dried out",
        Code::PhasesJoined => "phases not separated",
        Code::OtherPhasesMixed => "other phases connected differently",
        Code::LeadCheckFailed => "leads not proved",
        Code::RowKeptOut => "an excluded row may be worse",
        Code::CheckFailed => "output check of the tester failed",
        Code::TesterOutput => "tester did not hold its voltage",
        Code::CalibrationExpired => "tester out of calibration",
        Code::BatteryLow => "battery of the tester low",
        Code::CellUnread => "a cell cannot be read",
        Code::FallSinceLast => "sudden fall",
        Code::DampTest => "damp at the test",
        Code::FrozenWinding => "frozen at the test",
        Code::TemperatureMissing => "no winding temperature",
        Code::TemperatureOutsideLaw => "too hot or too cold to correct",
        Code::ReachesMinimum => "heading for the minimum",
        Code::RecoveredWithoutWork => "came back without any work",
        Code::PhaseSpread => "phases differ",
        Code::LowAbsorption => "low ratio of timed readings",
        Code::IndexMissing => "ten-minute test missing",
        Code::LimitBasis => "basis of the minimum not known",
        Code::HighDischarge => "high dielectric discharge",
        Code::RatioFallen => "ratio of timed readings fallen",
        Code::HighIndex => "very high polarization index",
        Code::BelowCommissioning => "little left of its first reading",
        Code::LevelShift => "unexplained jump",
        Code::UnitSlip => "unit may be wrong",
        Code::CopiedRows => "values of another winding",
        Code::TimedReadingsFall => "falls during the test",
        Code::TemperatureImplausible => "temperature may be wrong",
        Code::OffScale => "reading does not fit the scale",
        Code::NoReading => "no one-minute reading",
        Code::RegisterUnread => "register cannot be read",
        Code::MinimumUnknown => "minimum assumed",
        Code::InsulationUnknown => "insulation not registered",
        Code::VoltageOutsideGuide => "voltage outside the guide",
        Code::TestedTwice => "tested twice, results differ",
        Code::InstrumentChanged => "another tester",
        Code::FullScaleChanged => "another scale",
        Code::ValueRepeated => "same value again and again",
        Code::ShortDischarge => "discharged too briefly",
        Code::InStore => "spare in store",
        Code::AfterEvent => "work done since",
        Code::BeyondScale => "always beyond the scale",
        Code::FutureTest => "later tests left out",
        _ => return code.word().replace('-', " "),
    };
    words.to_owned()
}

/// The reasons of a series in plain words, the one that caused the action first, and how many more there are.
#[must_use]
pub fn reasons(series: &SeriesAssessment, most: usize) -> String {
    let named: Vec<String> = series.noticed().take(most).map(|finding| reason(finding.code)).collect();
    let more = series.noticed().count().saturating_sub(most);
    let tail = if more > 0 { format!(" +{more}") } else { String::new() };
    format!("{}{tail}", named.join(", "))
}

/// The latest reading of a series at the reference temperature in words; as read where it could not be corrected.
#[must_use]
pub fn latest_in_words(series: &SeriesAssessment) -> String {
    let as_read = || series.latest.as_ref().and_then(as_read_in_words);
    if let Some(hot) = hot_while_drying(series) {
        let read = as_read().unwrap_or_else(|| Measured::OffScale.to_string());
        return format!("{read}, hot ({hot})");
    }
    if let Some(value) = series.latest_at_reference().filter(|_| !has_doubtful_temperature(series)) {
        return value.to_string();
    }
    as_read().map_or_else(|| "none".to_owned(), |read| format!("{read} as read"))
}

/// The same where the reading stands alone: with its day where a later test is void.
#[must_use]
pub fn latest_in_list(series: &SeriesAssessment) -> String {
    let value = latest_in_words(series);
    match (&series.latest, series.void_tested_on) {
        (Some(latest), Some(_)) => format!("{value} of {}", latest.tested_on),
        _ => value,
    }
}

/// Whether the temperature of the latest test is in doubt: then the corrected reading is only an estimate.
fn has_doubtful_temperature(series: &SeriesAssessment) -> bool {
    let asks = |finding: &Finding| finding.code == Code::TemperatureImplausible && finding.asks != Asks::Nothing;
    series.findings.iter().any(asks)
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
