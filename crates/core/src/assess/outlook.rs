//! From the fitted stretch to dates and probabilities against the minimum, in the words of the result.

use super::case::Case;
use super::inputs::Terms;
use super::laws;
use super::result::{CrossingDates, Forecast, TrendSummary};
use crate::resistance::Bound;
use crate::trend::{self, CannotSay, Fall, Priors, Shift, StretchFit};
use crate::units::{Confidence, Years};
use chrono::{Days, NaiveDate};

pub(super) const DAYS_PER_YEAR: f64 = 365.25;
/// Exact readings that make a level even where no temperature is known.
const LEAST_WITHOUT_TEMPERATURE: usize = 3;
/// A halving longer than this says that the level does not fall.
const LONGEST_HALVING_YEARS: f64 = 1000.0;

/// What the trend says against the minimum and the calendar.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    pub(super) summary: TrendSummary,
    /// Days with an exact reading.
    pub(super) exact_days: usize,
    pub(super) forecast: Forecast,
    pub(super) p_below_today: f64,
    /// Probability of getting below the minimum inside the horizons looked ahead for `shorten`.
    pub(super) p_below_in_shorten: f64,
    pub(super) fall: Option<Fall>,
    pub(super) shift: Option<Shift>,
    /// Until when the probability of being below stays under the policy's figure; none where it does so throughout.
    pub(super) safe_until: Option<NaiveDate>,
}

/// The day that many years after another, held inside the calendar.
pub(super) fn day_after(as_of: NaiveDate, years: f64) -> NaiveDate {
    let days = (years * DAYS_PER_YEAR).floor().max(0.0) as u64;
    as_of.checked_add_days(Days::new(days)).unwrap_or(NaiveDate::MAX)
}

impl Outlook {
    /// Whether the probabilities rest on more than bounds above.
    pub(super) fn rests_on_readings(&self) -> bool {
        self.summary.rests_on_readings()
    }

    /// Whether there are days with exact readings enough to judge a trend by: a test made again on its day says nothing new of it.
    pub(super) fn judges_a_trend(&self, terms: &Terms) -> bool {
        self.summary.exact.min(self.exact_days) >= terms.policy.trend_exact_readings as usize
    }

    /// What the trend says; `as_it_stands` leaves what it fitted of the law's error out of today's level and of falls.
    pub(super) fn read(fit: &StretchFit, case: &Case, as_it_stands: bool, priors: &Priors, terms: &Terms) -> Self {
        let policy = &terms.policy;
        let horizon = f64::from(policy.horizon_days) / DAYS_PER_YEAR;
        // By the law as it stands the level is lower by what a fitted error of it lifts: as far above the minimum as above a higher one.
        let lift = if as_it_stands { laws::lift(fit, &case.tests, policy.reference_temp).max(0.0) } else { 0.0 };
        let mut approach = fit.approach(case.minimum.resistance.scaled(libm::exp10(lift)));
        let crossing = approach.crossing(terms.confidence);
        let date = |years: Years| day_after(terms.as_of, years.as_years());
        let reaches_minimum = match (crossing.cannot_say, crossing.earliest) {
            (None, Some(earliest)) => Some(CrossingDates {
                earliest: date(earliest),
                median: crossing.median.map(date),
                latest: crossing.latest.map(date),
            }),
            _ => None,
        };
        let cannot_say = match (&reaches_minimum, crossing.cannot_say) {
            (Some(_), _) => None,
            (None, Some(why)) => Some(why.to_string()),
            (None, None) => Some(CannotSay::NoDecline { within_horizon: crossing.within_horizon }.to_string()),
        };
        let out_of_sight =
            reaches_minimum.is_none() && matches!(crossing.cannot_say, None | Some(CannotSay::NoDecline { .. }));
        let next = case.usual_next_test(terms).max(terms.as_of);
        let years_to_next = next.signed_duration_since(terms.as_of).num_days() as f64 / DAYS_PER_YEAR;
        let mut p_below = |years: f64| approach.p_below(Years::clamped(years)).as_fraction();
        let mut summary = summary(fit, case, terms.confidence);
        summary.level_mohm = summary.level_mohm.map(|level| level * libm::exp10(-lift));
        let fall_as_it_stands = || {
            let stretch = case.stretch(terms).filter(|_| as_it_stands)?;
            trend::recent_fall(&stretch.without_law_error(), priors)
        };
        // Bounds above alone leave the prior as it was: that is not a probability of this winding.
        let rests_on_readings = summary.rests_on_readings();
        let forecast = Forecast {
            reaches_minimum,
            p_below_at_next_test: rests_on_readings.then(|| p_below(years_to_next)),
            p_below_in_horizon: rests_on_readings.then(|| p_below(horizon)),
            cannot_say,
            out_of_sight,
            below_since: case.below_since(),
        };
        Self {
            summary,
            exact_days: case.exact_days(),
            forecast,
            p_below_today: p_below(0.0),
            p_below_in_shorten: p_below(horizon * policy.shorten_horizons),
            fall: [fit.fall().or_else(|| case.cold_fall(priors, terms)), fall_as_it_stands()]
                .into_iter()
                .flatten()
                .max_by(|a, b| (a.readings > 1).cmp(&(b.readings > 1)).then(a.drop_log10.total_cmp(&b.drop_log10))),
            shift: fit.shift(),
            safe_until: approach.quantile(policy.next_test_probability).filter(|_| rests_on_readings).map(date),
        }
    }
}

impl TrendSummary {
    /// Whether anything was read but bounds above: with those alone probabilities only repeat what was believed beforehand.
    fn rests_on_readings(&self) -> bool {
        self.exact + self.below > 0
    }
}

fn summary(fit: &StretchFit, case: &Case, confidence: Confidence) -> TrendSummary {
    let count = |bound| fit.used().iter().filter(|reading| reading.bound() == bound).count();
    let exact = count(Bound::Exact);
    // A reading or two at temperatures that were not read are not a level at the reference temperature.
    let has_level = exact >= LEAST_WITHOUT_TEMPERATURE || case.counted().any(|at| case.tests[at].kt.is_some());
    let judged = exact > 0 && !case.on_one_day();
    let slope = fit.slope(confidence);
    let halving = -std::f64::consts::LOG10_2 / slope.median.as_decades_per_year();
    TrendSummary {
        method: fit.method(),
        since: case.tests[case.start].tested_on.date,
        since_reason: case.since,
        tests: fit.used().len(),
        exact,
        above: count(Bound::Above),
        below: count(Bound::Below),
        level_mohm: (exact > 0 && has_level).then(|| fit.median_level_now().as_megohms()),
        slope_log10_per_year: judged.then_some(slope.median.as_decades_per_year()),
        slope_low: judged.then_some(slope.low.as_decades_per_year()),
        slope_high: judged.then_some(slope.high.as_decades_per_year()),
        halving_years: (judged && halving > 0.0 && halving < LONGEST_HALVING_YEARS).then_some(halving),
        scatter_log10: judged.then(|| fit.scatter().as_decades()),
        p_falling: judged.then(|| fit.p_falling().as_fraction()),
    }
}
