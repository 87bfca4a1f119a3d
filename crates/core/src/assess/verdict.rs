//! One case and its fit become a judgement: findings, action, next test.

use super::action;
use super::case::Case;
use super::cause;
use super::copies::Copied;
use super::finding::Finding;
use super::group_prior::GroupPrior;
use super::inputs::Terms;
use super::judgement::{Background, Judgement};
use super::laws::{self, LawAnswer};
use super::otherwise::of_otherwise;
use super::outlook::Outlook;
use super::phases::{Leads, PhaseStanding};
use super::result::{Action, Forecast, Latest, SeriesAssessment, SinceReason, TestRatios};
use super::rules;
use super::second_look;
use super::view::View;
use super::whole::{LargerWhole, Unnamed};
use crate::absorption::Ratio;
use crate::resistance::Measured;
use crate::series::Series;
use crate::temperature::TemperatureLaw;
use crate::trend::StretchFit;

/// How a case compares with others: the phases of its winding, the whole that it is a part of, and a winding that has its very values.
#[derive(Clone, Debug, Default)]
pub(super) struct Beside {
    pub(super) phases: PhaseStanding,
    pub(super) leads: Option<Leads>,
    pub(super) copied: Option<Copied>,
    pub(super) whole: Option<LargerWhole>,
    /// Tests under a connection that is not understood, which may be of this series.
    pub(super) unnamed: Vec<Unnamed>,
    /// What a second look at its tests found.
    pub(super) second_look: Vec<Finding>,
}

/// Judges a case, and once more where its tests may be taken in another way; the most urgent answer stands.
pub(super) fn judge(
    mut case: Case,
    fit: Option<StretchFit>,
    beside: &Beside,
    group_prior: &GroupPrior,
    terms: &Terms,
) -> Judgement {
    let mut standing = by_every_law(&mut case, fit, beside, group_prior, terms);
    let again = |series: Series, second_look: &[Finding]| {
        let mut case = case.with_series(series, terms);
        let fit = group_prior.fit(&case, terms);
        let beside = Beside { second_look: second_look.to_vec(), ..beside.clone() };
        by_every_law(&mut case, fit, &beside, group_prior, terms)
    };
    let higher = |series: &Series, standing: &Judgement| {
        second_look::of_higher_readings(series, standing, |series| again(series, &[]))
    };
    let mut found: Vec<Finding> = higher(&case.series, &standing).into_iter().collect();
    if !found.is_empty() {
        standing = again(case.series.clone(), &found);
    }
    let once_more = |series: Series| {
        let judged = again(series.clone(), &[]);
        match higher(&series, &judged) {
            Some(finding) => again(series, &[finding]),
            None => judged,
        }
    };
    let in_other_orders = second_look::of_other_orders(&case.series, &standing, terms.as_of, once_more);
    if let Some(finding) = in_other_orders {
        found.push(finding);
        standing = again(case.series.clone(), &found);
    }
    if let Some(finding) = second_look::of_rows_kept_out(&case.series, &standing, terms.as_of, once_more) {
        found.push(finding);
        standing = again(case.series.clone(), &found);
    }
    if let Some(finding) = of_otherwise(&case.series, &standing, terms.as_of, once_more) {
        found.push(finding);
        standing = again(case.series.clone(), &found);
    }
    if let Some(finding) = second_look::of_unnamed(&case.series, &standing, &beside.unnamed, once_more) {
        found.push(finding);
        standing = again(case.series.clone(), &found);
    }
    standing
}

/// Judges a case by every temperature law that may hold; the most urgent answer stands.
fn by_every_law(
    case: &mut Case,
    fit: Option<StretchFit>,
    beside: &Beside,
    group_prior: &GroupPrior,
    terms: &Terms,
) -> Judgement {
    let mut standing = judge_once(case, fit, None, beside, group_prior, terms);
    let in_use = LawAnswer::of(&standing, None);
    let mut answers = vec![in_use.clone()];
    if laws::may_matter(&standing, case) {
        for other in laws::others(case) {
            let mut other_case = case.by_law(other, terms);
            // A trend that was fitted under the same law serves both.
            let same_fit = case.law == other.into();
            let fit = if same_fit { standing.fit.take() } else { group_prior.fit(&other_case, terms) };
            let mut judged = judge_once(&mut other_case, fit, Some(other), beside, group_prior, terms);
            let answer = LawAnswer::of(&judged, Some(other));
            if judged.assessment.action < standing.assessment.action {
                standing = judged;
                // It asks for nothing, so it comes after what does.
                standing.assessment.findings.push(laws::disagreement(&in_use, &answer));
            } else if same_fit {
                standing.fit = judged.fit.take();
            }
            answers.push(answer);
        }
    }
    standing.background.by_law = answers;
    standing
}

/// Judges a case by the law it was corrected with, `other` if that is not the one in use.
fn judge_once(
    case: &mut Case,
    fit: Option<StretchFit>,
    other: Option<TemperatureLaw>,
    beside: &Beside,
    group_prior: &GroupPrior,
    terms: &Terms,
) -> Judgement {
    if let Some(fit) = &fit {
        take_over(case, fit);
    }
    let outlook = fit.as_ref().map(|fit| Outlook::read(fit, case, other.is_some(), &group_prior.priors, terms));
    let view = View {
        case,
        terms,
        outlook: outlook.as_ref(),
        phases: &beside.phases,
        leads: beside.leads.as_ref(),
        copied: beside.copied.as_ref(),
        whole: beside.whole.as_ref(),
        second_look: &beside.second_look,
    };
    let findings = rules::findings(&view);
    let action = action::decide(&findings);
    let findings = cause::first(&view, findings);
    let next_test = action::next_test(&view, action, &findings);
    let overdue_days = case.overdue(terms).map(|overdue| overdue.age_days.saturating_sub(overdue.interval_days));
    let void_tested_on = case.void_since_latest();
    // A void test is not in the trend, so the reading before it is not the one in doubt.
    let is_doubted = action == Action::Recheck && void_tested_on.is_none();
    let doubted = is_doubted.then(|| case.stretch_before_latest(terms)).flatten();
    let latest = latest(case);
    let law = case.law_in_words();
    let background = Background {
        nameplate: case.nameplate.clone(),
        registered: case.registered,
        law: case.law,
        assumed_law: case.assumed_law,
        learnt_law: case.learnt,
        by_law: Vec::new(),
        priors: group_prior.priors,
        noise_weights: group_prior.weights,
        p_below_today: outlook.as_ref().map(|outlook| outlook.p_below_today),
        p_below_in_shorten: outlook.as_ref().map(|outlook| outlook.p_below_in_shorten),
    };
    let (trend, forecast) = match outlook {
        Some(outlook) => (Some(outlook.summary), outlook.forecast),
        None => (None, Forecast::without_reading()),
    };
    let work_by = action::work_by(action, &findings, &forecast, terms.as_of);
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
        void_tested_on,
        ratios: TestRatios::of(&case.tests),
        minimum: Some(case.minimum.clone()),
        trend,
        forecast,
        work_by,
        next_test,
        overdue_days,
    };
    Judgement {
        assessment,
        tests: std::mem::take(&mut case.tests),
        law,
        reference: terms.policy.reference_temp,
        confidence: terms.confidence,
        as_of: terms.as_of,
        fit,
        doubted,
        drying: case.drying.clone(),
        background,
    }
}

/// Takes over what the fit found about single tests: where the level shifted, and which readings are outliers.
fn take_over(case: &mut Case, fit: &StretchFit) {
    let mut counted: Vec<usize> = case.counted().collect();
    if let Some(shift) = fit.shift()
        && let Some(&at) = counted.get(shift.index)
    {
        case.start_at(at, SinceReason::LevelShift);
        counted.drain(..shift.index);
    }
    for (at, p_outlier) in counted.into_iter().zip(fit.outlier_probabilities()) {
        case.tests[at].p_outlier = *p_outlier;
    }
}

fn latest(case: &Case) -> Option<Latest> {
    let at = case.latest()?;
    let test = &case.tests[at];
    let as_read = test.as_read?;
    let megohms = |value: Option<Measured>| value.and_then(Measured::resistance).map(|r| r.as_megohms());
    Some(Latest {
        tested_on: test.tested_on.date,
        r60_mohm: megohms(Some(as_read)),
        // Beyond the limits of a resistance the corrected value is a bound, and so is what was read.
        bound: test.kt.and(test.corrected).unwrap_or(as_read).bound(),
        winding_temp_c: test.winding_temp,
        kt: test.kt,
        r60_ref_mohm: test.kt.and_then(|_| megohms(test.corrected)),
        pi: test.pi.and_then(Ratio::exact),
        dar: test.dar.and_then(Ratio::exact),
        procedure: case.record(at).procedure().clone(),
    })
}
