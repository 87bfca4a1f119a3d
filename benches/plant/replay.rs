//! The plant judged quarter by quarter, as its planner would have: only with the tests entered by then.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};
use groundwall::assess::{Action, Code, InTurn, Judgement, Register, Terms, assess_fleet};
use groundwall::policy::Policy;
use groundwall::resistance::Measured;
use groundwall::series::Series;
use groundwall::units::{Confidence, Resistance, Years};

use crate::dice::Dice;
use crate::life::Fate;
use crate::winding::{DAYS_PER_YEAR, Failure, Plant, Winding};

/// Quarters of the replay and their length.
const LOOKS: u64 = 12;
const QUARTER_DAYS: u64 = 91;
/// Levels at which the interval of the date is asked for, and the place of the usual one.
pub(crate) const CONFIDENCES: [f64; 4] = [0.5, 0.8, 0.9, 0.95];
pub(crate) const USUAL: usize = 2;

/// An interval of dates in years from the look; `None` where it is open.
#[derive(Clone, Copy)]
pub(crate) struct Dates {
    pub(crate) earliest: f64,
    pub(crate) latest: Option<f64>,
}

/// What was said of one winding in one quarter, and what was true.
pub(crate) struct Look {
    pub(crate) winding: usize,
    pub(crate) fate: Fate,
    /// Years until the level is at the minimum; infinite if it never is.
    pub(crate) ahead: f64,
    pub(crate) action: Action,
    /// What the first of its findings noticed.
    pub(crate) cause: Option<Code>,
    /// Whether the latest test had been judged in the quarter before, with the same action.
    pub(crate) asked_before: bool,
    pub(crate) exact: usize,
    pub(crate) dates: [Dates; CONFIDENCES.len()],
    /// Probabilities of being below today, within a year, within three; none where the forecast gives none.
    pub(crate) p: Option<[f64; 3]>,
    pub(crate) p_falling: Option<f64>,
    /// Whether the level is lower than at the beginning of the stretch.
    pub(crate) fell: bool,
    /// Whether the level gets to the minimum within the planning horizon, and before the replay ends.
    pub(crate) comes: bool,
    pub(crate) fails: bool,
    /// Latest corrected reading over the minimum; infinite without one.
    pub(crate) margin: f64,
    /// Latest test below 10 °C.
    pub(crate) cool: bool,
}

/// Replays one plant.
pub(crate) fn replay(seed: u64, plant: usize, windings: usize) -> Result<Vec<Look>, Failure> {
    let mut dice = Dice::new(seed, plant as u64);
    let site = Plant::draw(&mut dice);
    let years = (LOOKS * QUARTER_DAYS) as f64 / DAYS_PER_YEAR;
    let all = (0..windings)
        .map(|k| Winding::draw(&format!("{plant}-{k:04}"), &site, years, &mut dice))
        .collect::<Result<Vec<Winding>, _>>()?;
    let names: BTreeMap<String, usize> = (0..windings).map(|k| (format!("{plant}-{k:04}"), k)).collect();
    let register: Register = names.iter().map(|(name, k)| (name.clone(), all[*k].nameplate.clone())).collect();
    let mut looks = Vec::new();
    let mut before: BTreeMap<usize, (NaiveDate, Action)> = BTreeMap::new();
    for quarter in 0..LOOKS {
        let as_of = site.first_look.checked_add_days(Days::new(quarter * QUARTER_DAYS)).unwrap_or(site.first_look);
        let known = all.iter().flat_map(|winding| &winding.tests).filter(|entered| entered.on <= as_of);
        let tests: Vec<_> = known.map(|entered| entered.test.clone()).collect();
        let terms = Terms { policy: Policy::default(), as_of, confidence: Confidence::from_fraction(0.9)? };
        for judgement in assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement) {
            let Some(k) = names.get(&judgement.assessment.winding) else { continue };
            let winding = &all[*k];
            let mut look = look(&judgement, winding, as_of, plant * windings + k);
            let latest = judgement.assessment.latest.as_ref().map_or(as_of, |latest| latest.tested_on);
            let now = (latest, judgement.assessment.action);
            look.fails = look.ahead * DAYS_PER_YEAR <= ((LOOKS - quarter) * QUARTER_DAYS) as f64;
            look.asked_before = before.insert(*k, now) == Some(now);
            // A winding at its minimum has been dealt with a year later.
            if look.ahead > -1.0 {
                looks.push(look);
            }
        }
    }
    Ok(looks)
}

fn look(judgement: &Judgement, winding: &Winding, as_of: NaiveDate, number: usize) -> Look {
    let assessment = &judgement.assessment;
    let fit = judgement.fit.as_ref();
    let exact = assessment.trend.as_ref().map_or(0, |trend| trend.exact);
    let minimum = Resistance::from_log10_megohms(winding.minimum);
    let dates = CONFIDENCES.map(|confidence| {
        let confidence = Confidence::from_fraction(confidence).ok();
        let crossing = fit.zip(confidence).map(|(fit, confidence)| fit.crossing(minimum, confidence));
        let earliest = crossing.and_then(|crossing| crossing.earliest).map_or(f64::INFINITY, Years::as_years);
        Dates { earliest, latest: crossing.and_then(|crossing| crossing.latest).map(Years::as_years) }
    });
    let background = &judgement.background;
    let p = (assessment.forecast.p_below_in_horizon)
        .and_then(|in_horizon| Some([background.p_below_today?, in_horizon, background.p_below_in_shorten?]));
    let latest = judgement.tests.iter().rfind(|test| test.left_out.is_none());
    let value = latest.and_then(|test| test.corrected).and_then(Measured::resistance);
    let since = assessment.trend.as_ref().map_or(as_of, |trend| trend.since);
    Look {
        winding: number,
        fate: winding.fate,
        ahead: winding.reaches_after(as_of),
        action: assessment.action,
        cause: assessment.findings.first().map(|finding| finding.code),
        asked_before: false,
        exact,
        dates,
        p,
        p_falling: assessment.trend.as_ref().and_then(|trend| trend.p_falling),
        fell: winding.level(as_of) < winding.level(since),
        comes: winding.reaches_after(as_of) <= f64::from(Policy::default().horizon_days) / DAYS_PER_YEAR,
        fails: false,
        margin: value.map_or(f64::INFINITY, |r| 10f64.powf(r.log10_megohms() - winding.minimum)),
        cool: latest.and_then(|test| test.winding_temp).is_some_and(|t| t.as_celsius() < 10.0),
    }
}

/// Replays so many plants on all cores; the looks are in the order of the plants.
pub(crate) fn replay_all(seed: u64, plants: usize, windings: usize) -> Result<Vec<Look>, Failure> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    let mut all = BTreeMap::new();
    std::thread::scope(|scope| {
        let running: Vec<_> = (0..workers)
            .map(|worker| {
                let mine = (0..plants).skip(worker).step_by(workers);
                scope.spawn(move || mine.map(|plant| Ok((plant, replay(seed, plant, windings)?))).collect())
            })
            .collect();
        for worker in running {
            let share: Result<Vec<(usize, Vec<Look>)>, Failure> =
                worker.join().unwrap_or_else(|_| Err("a worker ended early".into()));
            all.extend(share?);
        }
        Ok::<(), Failure>(())
    })?;
    Ok(all.into_values().flatten().collect())
}
