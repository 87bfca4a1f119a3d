//! One case and its fit become a judgement: findings, action, next test.

use super::action;
use super::case::Case;
use super::cause;
use super::copies::Copied;
use super::finding::{Code, Finding};
use super::group_prior::GroupPrior;
use super::inputs::Terms;
use super::judgement::{Background, Judgement};
use super::outlook::Outlook;
use super::phases::PhaseStanding;
use super::result::{Action, Forecast, Latest, SeriesAssessment, SinceReason};
use super::rules;
use super::view::View;
use crate::absorption::{absorption_ratio, polarization_index};
use crate::resistance::{Bound, Measured};
use crate::trend::StretchFit;

/// How a case stands beside others: the phases of its winding, and a winding that has its very values.
#[derive(Clone, Debug, Default)]
pub(super) struct Beside {
    pub(super) phases: PhaseStanding,
    pub(super) copied: Option<Copied>,
}

/// Judges a case; twice where what was learnt of the temperature law makes it look better, and then the more urgent answer stands.
pub(super) fn judge(
    case: Case,
    fit: Option<StretchFit>,
    beside: &Beside,
    group_prior: &GroupPrior,
    terms: &Terms,
) -> Judgement {
    let assumed = fit.as_ref().and_then(|fit| group_prior.by_assumed_law(&case, fit, terms));
    let learnt = judge_once(case, fit, beside, group_prior, terms);
    let Some((case, fit)) = assumed else { return learnt };
    let assumed = judge_once(case, Some(fit), beside, group_prior, terms);
    if learnt.assessment.action <= assumed.assessment.action {
        return learnt;
    }
    let mut standing = assumed;
    let message = format!(
        "Judged by the temperature law that its own readings suggest, the series would be {}; by the assumed law ({}) it is {}. The more urgent answer stands.",
        learnt.assessment.action,
        standing.background.assumed_law.name(),
        standing.assessment.action
    );
    let finding = Finding::new(Code::LawsDisagree, message, "what is learnt never makes an answer milder")
        .with("by_learnt_law", learnt.assessment.action.to_string());
    // It asks for nothing, so it comes after what does.
    standing.assessment.findings.push(finding);
    standing
}

/// Judges a case by the law it was corrected with.
fn judge_once(
    mut case: Case,
    fit: Option<StretchFit>,
    beside: &Beside,
    group_prior: &GroupPrior,
    terms: &Terms,
) -> Judgement {
    if let Some(fit) = &fit {
        take_over(&mut case, fit);
    }
    let outlook = fit.as_ref().map(|fit| Outlook::read(fit, &case, &group_prior.priors, terms));
    let view =
        View { case: &case, terms, outlook: outlook.as_ref(), phases: &beside.phases, copied: beside.copied.as_ref() };
    let findings = rules::findings(&view);
    let action = action::decide(&findings);
    let findings = cause::first(&view, findings);
    let next_test = action::next_test(&view, action, &findings);
    let overdue_days = case.overdue(terms).map(|overdue| overdue.age_days.saturating_sub(overdue.interval_days));
    let doubted = (action == Action::Recheck).then(|| case.stretch_before_latest(terms)).flatten();
    let latest = latest(&case);
    let law = case.law_in_words();
    let background = Background {
        nameplate: case.nameplate.clone(),
        registered: case.registered,
        law: case.law,
        assumed_law: case.assumed_law,
        learnt_law: case.learnt,
        priors: group_prior.priors,
        noise_weights: group_prior.weights,
        p_below_today: outlook.as_ref().map(|outlook| outlook.p_below_today),
        p_below_in_shorten: outlook.as_ref().map(|outlook| outlook.p_below_in_shorten),
    };
    let (trend, forecast) = match outlook {
        Some(outlook) => (Some(outlook.summary), outlook.forecast),
        None => (None, Forecast::without_reading()),
    };
    let assessment = SeriesAssessment {
        winding: case.series.key.winding.clone(),
        connection: case.series.key.connection.to_string(),
        scope: case.series.key.scope.to_string(),
        site: case.nameplate.site.clone(),
        area: case.nameplate.area.clone(),
        description: case.nameplate.description.clone(),
        criticality: case.nameplate.criticality.clone(),
        criticality_rank: terms.policy.criticality_rank(case.nameplate.criticality.as_deref()),
        work_order: case.nameplate.work_order.clone(),
        maker: case.nameplate.maker.clone(),
        group: Some(case.nameplate.group_name()),
        action,
        findings,
        latest,
        minimum: Some(case.minimum),
        trend,
        forecast,
        next_test,
        overdue_days,
    };
    Judgement {
        assessment,
        tests: case.tests,
        law,
        reference: terms.policy.reference_temp,
        confidence: terms.confidence,
        as_of: terms.as_of,
        fit,
        doubted,
        background,
    }
}

/// Takes over what the fit found about single tests: where the level shifted, and which readings are strays.
fn take_over(case: &mut Case, fit: &StretchFit) {
    let mut counted: Vec<usize> = case.counted().collect();
    if let Some(shift) = fit.shift()
        && let Some(&at) = counted.get(shift.index)
    {
        case.start_at(at, SinceReason::LevelShift);
        counted.drain(..shift.index);
    }
    for (at, p_stray) in counted.into_iter().zip(fit.wild()) {
        case.tests[at].p_stray = *p_stray;
    }
}

fn latest(case: &Case) -> Option<Latest> {
    let at = case.latest()?;
    let (test, record) = (&case.tests[at], case.record(at));
    let as_read = test.as_read?;
    let megohms = |value: Option<Measured>| value.and_then(Measured::resistance).map(|r| r.as_megohms());
    let plain = |ratio: Option<crate::absorption::Ratio>| ratio.filter(|r| r.bound == Bound::Exact).map(|r| r.value);
    Some(Latest {
        tested_on: test.tested_on.date,
        r60_mohm: megohms(Some(as_read)),
        bound: as_read.bound(),
        winding_temp_c: test.winding_temp,
        kt: test.kt,
        r60_ref_mohm: test.kt.and_then(|_| megohms(test.corrected)),
        pi: plain(polarization_index(&record.readings)),
        dar: plain(absorption_ratio(&record.readings)),
    })
}
