//! Histories through the method, in fleets of mixed kinds or each on its own.

use groundwall::trend::{NoiseWeights, Priors, Stretch, StretchFit, fit_group, solve};

use crate::baseline;
use crate::dice::Dice;
use crate::history::History;
use crate::kind::{Role, Simulator};
use crate::scoring::{Interval, Tally, action_of, crossing};

/// Windings in a fleet.
const FLEET: usize = 40;

/// Whether windings lend each other strength.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Company {
    Fleet,
    Lone,
}

/// One history, its kind, and what was known.
struct Case {
    kind: usize,
    history: History,
    stretch: Stretch,
}

/// Runs `number` histories of every kind; one tally per kind.
pub(crate) fn run(simulator: &Simulator, seed: u64, number: usize, company: Company) -> Vec<Tally> {
    let mut tallies = vec![Tally::default(); simulator.kinds.len()];
    let mut cases = Vec::new();
    // Dealt kind after kind, so that every fleet is mixed.
    for round in 0..number {
        for (kind, k) in simulator.kinds.iter().enumerate() {
            let mut dice = Dice::new(seed, (kind * 1_000_000 + round) as u64);
            let history = k.history(&mut dice);
            if let Some(stretch) = history.stretch() {
                cases.push(Case { kind, history, stretch });
            }
        }
    }
    for fleet in cases.chunks(FLEET) {
        let (priors, weights, fits) = match company {
            Company::Fleet => fit_group(&fleet.iter().map(|c| &c.stretch).collect::<Vec<_>>()),
            Company::Lone => {
                let (priors, weights) = (Priors::default(), NoiseWeights::default());
                (priors, weights, fleet.iter().map(|c| solve(&c.stretch, &priors).average(&weights)).collect())
            }
        };
        for (case, fit) in fleet.iter().zip(&fits) {
            let ahead = case.history.two_tests_ahead().map(|s| solve(&s, &priors).average(&weights));
            count(&mut tallies[case.kind], simulator.kinds[case.kind].role, case, fit, ahead.as_ref());
        }
    }
    tallies
}

fn count(tally: &mut Tally, role: Role, case: &Case, fit: &StretchFit, ahead: Option<&StretchFit>) {
    let found = fit.fall().is_some();
    tally.fall(case.history.planted, found);
    if role != Role::FallAfterBounds {
        tally.say(crossing(fit).cannot_say);
    }
    match role {
        Role::Steady => tally.steady(action_of(fit)),
        Role::Declining => {
            tally.date(case.history.truth(), Interval::of(fit), baseline::interval(&case.stretch));
            if let Some(ahead) = ahead {
                tally.ahead(action_of(ahead));
            }
        }
        Role::FallAfterBounds => {}
    }
}

/// All tallies together.
pub(crate) fn total(tallies: &[Tally]) -> Tally {
    tallies.iter().fold(Tally::default(), |mut sum, t| {
        sum.add(t);
        sum
    })
}
