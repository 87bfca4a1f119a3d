//! A judgement whose probabilities are set by hand, so that a rule can be asked exactly at its limit and beside it.

use super::*;
use crate::assess::outlook::Outlook;
use crate::assess::phases::PhaseStanding;
use crate::assess::rules;
use crate::assess::view::View;
use crate::assess::{action, cause, result};

/// A case with an outlook: twenty steady quarterly readings about 200 MΩ, of which the last was on 20 October 2026.
pub(super) struct ByHand {
    pub(super) case: Case,
    pub(super) terms: Terms,
    pub(super) outlook: Outlook,
    pub(super) phases: PhaseStanding,
}

/// What comes of it.
pub(super) struct Verdict {
    pub(super) action: Action,
    pub(super) findings: Vec<Finding>,
    pub(super) next_test: NextTest,
    pub(super) work_by: Option<WorkBy>,
}

impl Verdict {
    pub(super) fn message(&self, code: Code) -> &str {
        self.findings.iter().find(|finding| finding.code == code).map_or("", |finding| &finding.message)
    }
}

impl ByHand {
    /// Nothing is wrong and nothing is likely.
    pub(super) fn calm() -> Self {
        Self::of(nameplate())
    }

    pub(super) fn of(nameplate: Nameplate) -> Self {
        let terms =
            Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
        let series = Series::collect(quarterly(&steady(200.0, 20))).remove(0);
        let case = Case::prepare(series, &Register::from([("P-1".to_owned(), nameplate)]), None, &terms);
        let summary = TrendSummary {
            method: "by hand".to_owned(),
            since: day("2022-01-25"),
            since_reason: SinceReason::FirstTest,
            tests: 20,
            exact: 20,
            above: 0,
            below: 0,
            level_mohm: Some(120.0),
            slope_log10_per_year: Some(-0.1),
            slope_low: Some(-0.2),
            slope_high: Some(-0.01),
            halving_years: Some(3.01),
            scatter_log10: Some(0.05),
            p_falling: Some(0.5),
        };
        let forecast = Forecast {
            p_below_at_next_test: Some(0.0),
            p_below_in_horizon: Some(0.0),
            ..result::Forecast::without_reading()
        };
        let outlook = Outlook {
            exact_days: usize::MAX,
            summary,
            forecast,
            p_below_today: 0.0,
            p_below_in_shorten: 0.0,
            fall: None,
            shift: None,
            safe_until: None,
        };
        Self { case, terms, outlook, phases: PhaseStanding::default() }
    }

    /// The same with other probabilities.
    pub(super) fn with(mut self, change: impl FnOnce(&mut Outlook)) -> Self {
        change(&mut self.outlook);
        self
    }

    pub(super) fn judge(&self) -> Verdict {
        let view = View {
            case: &self.case,
            terms: &self.terms,
            outlook: Some(&self.outlook),
            phases: &self.phases,
            leads: None,
            copied: None,
            whole: None,
            second_look: &[],
        };
        let findings = rules::findings(&view);
        let action = action::decide(&findings);
        let findings = cause::first(&view, findings);
        let next_test = action::next_test(&view, action, &findings);
        let work_by = action::work_by(action, &findings, &self.outlook.forecast, self.terms.as_of);
        Verdict { action, findings, next_test, work_by }
    }
}
