//! All series of a works judged together: similar windings lend each other strength, phases are compared.
//!
//! The work on single series can be spread over threads through [`InEach`]; sums over a group are always taken in the
//! order of the series, so the result does not depend on the threads.

use super::action;
use super::case::{Case, Terms};
use super::copies::{self, Copied};
use super::outlook::Outlook;
use super::phases::{self, PhaseStanding};
use super::result::{Forecast, Latest, SeriesAssessment, SinceReason};
use super::rules::{self, View};
use super::{Background, Judgement};
use crate::absorption::{absorption_ratio, polarization_index};
use crate::nameplate::Nameplate;
use crate::resistance::{Bound, Measured};
use crate::series::Series;
use crate::temperature::learnt::{self, LawEvidence, LearntLaw};
use crate::trend::{self, NoiseWeights, Priors, Solved, Stretch, StretchFit, Summary};
use std::collections::BTreeMap;

/// The list of windings with their nameplates.
pub type Register = BTreeMap<String, Nameplate>;

/// Does one thing in each of many, in any order, and gives the results in the order of the things.
pub trait InEach {
    /// Applies `f` to each.
    fn in_each<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R>;
}

/// One after the other on the caller's thread.
#[derive(Clone, Copy, Debug, Default)]
pub struct InTurn;

impl InEach for InTurn {
    fn in_each<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        things.into_iter().map(f).collect()
    }
}

/// What a group of similar windings has taught.
#[derive(Clone, Copy, Debug, Default)]
struct Learnt {
    priors: Priors,
    weights: NoiseWeights,
}

/// Judges every series. `finish` is called with each judgement as soon as it is made and says what is kept of it.
///
/// The results are in the order of `series`, which must be in the order of their keys, as [`Series::collect`] gives them.
///
/// # Validity
///
/// Any input: a series that cannot be judged gets an action and a finding that says why.
pub fn assess_fleet<R: Send>(
    series: Vec<Series>,
    register: &Register,
    terms: &Terms,
    spread: &impl InEach,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Vec<R> {
    let prepared = spread.in_each(series, |series| {
        let case = Case::prepare(series, register, terms);
        let stretch = case.stretch(terms);
        let summary = stretch.as_ref().and_then(Summary::of);
        (case, stretch, summary)
    });
    let prepared = learn_laws(prepared, terms, spread);
    let mut groups: BTreeMap<String, Vec<Summary>> = BTreeMap::new();
    for (case, _, summary) in &prepared {
        let members = groups.entry(case.nameplate.group_name()).or_default();
        members.extend(summary.iter().copied());
    }
    let mut learnt: BTreeMap<String, Learnt> = groups
        .into_iter()
        .map(|(name, summaries)| (name, Learnt { priors: Priors::learn(&summaries), ..Learnt::default() }))
        .collect();
    let priors_of = |case: &Case| learnt.get(&case.nameplate.group_name()).map(|l| l.priors).unwrap_or_default();
    let solved: Vec<(Case, Option<Solved>)> = spread.in_each(prepared, |(case, stretch, _)| {
        let solved = stretch.map(|stretch: Stretch| trend::solve(&stretch, &priors_of(&case)));
        (case, solved)
    });
    let mut evidence: BTreeMap<String, Vec<_>> = BTreeMap::new();
    for (case, solved) in &solved {
        let members = evidence.entry(case.nameplate.group_name()).or_default();
        members.extend(solved.as_ref().and_then(Solved::noise_evidence));
    }
    for (name, evidence) in evidence {
        if let Some(group) = learnt.get_mut(&name) {
            group.weights = NoiseWeights::learn(&evidence);
        }
    }
    let cases: Vec<&Case> = solved.iter().map(|(case, _)| case).collect();
    let standings: Vec<Beside> = phases::standings(&cases, terms).into_iter().zip(copies::copies(&cases)).collect();
    let ready = solved.into_iter().zip(standings).collect();
    spread.in_each(ready, |((case, solved), beside): ((Case, Option<Solved>), Beside)| {
        let learnt = learnt.get(&case.nameplate.group_name()).copied().unwrap_or_default();
        let fit = solved.map(|solved| solved.average(&learnt.weights));
        finish(judge(case, fit, &beside, learnt, terms))
    })
}

/// How a case stands beside others: the phases of its winding, and windings that have its very values.
type Beside = (PhaseStanding, Option<Copied>);

/// A case with its stretch and what that can teach.
type Prepared = (Case, Option<Stretch>, Option<Summary>);

/// Lets each group of windings corrected with the same law learn what that law gets wrong, and corrects anew where the
/// readings beat it.
fn learn_laws(prepared: Vec<Prepared>, terms: &Terms, spread: &impl InEach) -> Vec<Prepared> {
    if !terms.policy.learn_law {
        return prepared;
    }
    let mut groups: BTreeMap<(String, String), Vec<usize>> = BTreeMap::new();
    for (i, (case, _, _)) in prepared.iter().enumerate() {
        groups.entry((case.nameplate.group_name(), case.law.name())).or_default().push(i);
    }
    let evidence: Vec<Option<LawEvidence>> =
        prepared.iter().map(|(case, _, summary)| case.law_evidence(summary.as_ref()?, terms)).collect();
    let mut learnt: Vec<Option<LearntLaw>> = vec![None; prepared.len()];
    for members in groups.into_values() {
        let group: Vec<_> = members.iter().map(|&i| evidence[i]).collect();
        for (i, law) in members.into_iter().zip(learnt::learn(&group)) {
            learnt[i] = law;
        }
    }
    spread.in_each(prepared.into_iter().zip(learnt).collect(), |((mut case, stretch, summary), law)| {
        if law.is_some_and(|law| case.take_learnt_law(law, terms)) {
            let stretch = case.stretch(terms);
            let summary = stretch.as_ref().and_then(Summary::of);
            (case, stretch, summary)
        } else {
            (case, stretch, summary)
        }
    })
}

fn judge(
    mut case: Case,
    fit: Option<StretchFit>,
    (phases, copied): &Beside,
    learnt: Learnt,
    terms: &Terms,
) -> Judgement {
    if let Some(fit) = &fit {
        take_over(&mut case, fit);
    }
    let outlook = fit.as_ref().map(|fit| Outlook::read(fit, &case, terms));
    let view = View { case: &case, terms, outlook: outlook.as_ref(), phases, copied: copied.as_ref() };
    let findings = rules::findings(&view);
    let action = action::decide(&view, &findings);
    let next_test = action::next_test(&view, action);
    let latest = latest(&case);
    let law = case.law_in_words();
    let background = Background {
        nameplate: case.nameplate.clone(),
        registered: case.registered,
        assumed_law: case.assumed_law,
        learnt_law: case.learnt,
        priors: learnt.priors,
        noise_weights: learnt.weights,
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
        group: Some(case.nameplate.group_name()),
        action,
        findings,
        latest,
        minimum: Some(case.minimum),
        trend,
        forecast,
        next_test,
    };
    Judgement {
        assessment,
        tests: case.tests,
        law,
        reference: terms.policy.reference_temp,
        confidence: terms.confidence,
        as_of: terms.as_of,
        fit,
        background,
    }
}

/// Takes over what the fit found about single tests: where the level shifted, and which readings are strays.
fn take_over(case: &mut Case, fit: &StretchFit) {
    let mut counted = case.counted();
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
