//! One random plant through everything that the commands do, and what must hold of the answers whatever it is.

use super::dice::Dice;
use super::plant::{Manner, Plant};
use chrono::NaiveDate;
use groundwall::assess::{Code, InTurn, SeriesAssessment, Terms};
use groundwall::policy::Policy;
use groundwall::replay::replay;
use groundwall::round::plan_round;
use groundwall::series::SeriesKey;
use groundwall::units::Confidence;
use groundwall_engine::fleet::{Fleet, Wanted};
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::ingest::{Ingested, Reading, ReadingRules};
use groundwall_engine::master::Master;
use groundwall_engine::master::compare::compare;
use groundwall_engine::output::csv::Line;
use groundwall_engine::output::round::Planned;
use groundwall_engine::output::table::Shape;
use groundwall_engine::output::{self, Assessment, account, round};
use groundwall_engine::spread::AllCores;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

/// What became of one plant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Outcome {
    /// The registers or histories that were refused with a sentence.
    pub(crate) refused: bool,
    pub(crate) rows: u64,
    pub(crate) series: u64,
    pub(crate) replayed: u64,
    pub(crate) scaled: u64,
}

/// What the seed of plants with scaled readings differs by.
pub(crate) const SCALED: u64 = 0x5CA1E;

const SHAPE: Shape = Shape { width: 80, color: false };

/// Runs the plant with this number.
///
/// # Errors
///
/// The rule that was broken.
pub(crate) fn trial(seed: u64, number: u64) -> Result<Outcome, String> {
    let plant = Plant::new(&mut Dice::new(seed, number), &Manner { plain: false, factor: 1.0 });
    let mut dice = Dice::new(!seed, number);
    let mut outcome = Outcome::default();
    let in_turn: Vec<usize> = (0..plant.rows.len()).collect();
    let Some(files) = Files::read(&plant, &in_turn)? else {
        return Ok(Outcome { refused: true, ..outcome });
    };
    let rows = &files.ingested.inputs;
    outcome.rows = rows.iter().map(|ledger| ledger.rows).sum();
    let parts: u64 = rows.iter().map(|ledger| ledger.accepted + ledger.repeated + ledger.rejected).sum();
    must(outcome.rows == parts && outcome.rows == plant.rows.len() as u64, || {
        format!("{} rows written, {} read, {parts} accounted for", plant.rows.len(), outcome.rows)
    })?;
    let fleet = files.fleet()?;
    let judged = fleet.judge(&InTurn, |judgement| judgement.assessment);
    judged.iter().try_for_each(sound)?;
    outcome.series = judged.len() as u64;
    let said = json(&fleet, judged.clone())?;
    if dice.one_in(4) {
        let spread = fleet.judge(&AllCores, |judgement| judgement.assessment);
        must(json(&fleet, spread)? == said, || "threads change the answer".to_owned())?;
    }
    if dice.one_in(4) {
        let order = shuffled(&plant.rows, &mut dice);
        let other = Files::read(&plant, &order)?.ok_or("refused when its rows are shuffled")?;
        let again = other.fleet()?;
        let judged = again.judge(&InTurn, |judgement| judgement.assessment);
        must(json(&again, judged)?["series"] == said["series"], || {
            "the order of the rows changes the answer".to_owned()
        })?;
    }
    if dice.one_in(4) {
        as_of_alone(&plant, &mut dice)?;
    }
    if dice.one_in(8) {
        outcome.replayed = u64::from(written(&fleet, judged)?);
        filed(&plant.history(&in_turn), &fleet)?;
    }
    if dice.one_in(8) {
        outcome.scaled = scaled(seed, number)?;
    }
    Ok(outcome)
}

fn must(holds: bool, otherwise: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(otherwise()) }
}

/// A plant that was read.
struct Files {
    register: Option<Register>,
    ingested: Ingested,
}

impl Files {
    /// None where the files are refused with a sentence.
    fn read(plant: &Plant, order: &[usize]) -> Result<Option<Self>, String> {
        Self::read_text(plant, plant.history(order), None)
    }

    fn read_text(plant: &Plant, history: String, as_of: Option<NaiveDate>) -> Result<Option<Self>, String> {
        let rules = ReadingRules { as_of, ..ReadingRules::default() };
        let mut reading = Reading::new(&rules);
        let history = reading.add("history", history.into_bytes());
        let register = (!plant.register.is_empty())
            .then(|| Register::parse("register", plant.register.as_bytes(), None, false, &Mapping::default()));
        match (history, register.transpose()) {
            (Ok(()), Ok(register)) => Ok(Some(Self { register, ingested: reading.finish() })),
            (Err(failure), _) | (_, Err(failure)) => {
                let told = failure.problems().iter().all(|problem| !problem.message.is_empty());
                must(told && !failure.problems().is_empty(), || "a refusal in silence".to_owned())?;
                Ok(None)
            }
        }
    }

    fn fleet(&self) -> Result<Fleet<'_>, String> {
        self.fleet_as_of(2026, 11, 25)
    }

    fn fleet_as_of(&self, year: i32, month: u32, day: u32) -> Result<Fleet<'_>, String> {
        let as_of = NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default();
        let confidence = Confidence::from_fraction(0.9).map_err(|error| error.to_string())?;
        let terms = Terms { policy: Policy::default(), as_of, confidence };
        Ok(Fleet::new(self.ingested.clone(), self.register.as_ref(), terms))
    }
}

/// What was tested after the as-of date changes nothing in the series that were tested before, but the count of such tests.
fn as_of_alone(plant: &Plant, dice: &mut Dice) -> Result<(), String> {
    let is_before = |row: &usize| plant.rows[*row].split(',').nth(1).is_some_and(|date| date <= "2022-01-01");
    let before: Vec<usize> = (0..plant.rows.len()).filter(is_before).collect();
    let all_rows: Vec<usize> = (0..plant.rows.len()).collect();
    let histories =
        [plant.history(&before), plant.history(&all_rows), plant.history(&all_rows) + &later_rows(plant, dice)];
    let mut files = Vec::new();
    for history in histories {
        let Some(read) = Files::read_text(plant, history, NaiveDate::from_ymd_opt(2022, 1, 1))? else { return Ok(()) };
        files.push(read);
    }
    let alone = &files[0];
    let tested: BTreeSet<SeriesKey> =
        alone.ingested.series.to_vec().into_iter().map(|series| series.key().clone()).collect();
    let is_known = |series: &SeriesAssessment| {
        let says = |key: &SeriesKey| (key.connection.to_string(), key.scope.to_string());
        let own = (series.connection.clone(), series.scope.clone());
        tested.iter().any(|key| key.winding == series.winding && says(key) == own)
    };
    let mut said = Vec::new();
    for files in &files {
        let fleet = files.fleet_as_of(2022, 1, 1)?;
        let mut judged = fleet.judge(&InTurn, |judgement| judgement.assessment);
        judged.retain(is_known);
        judged.iter_mut().for_each(|series| series.findings.retain(|finding| finding.code != Code::FutureTest));
        said.push(json(&fleet, judged)?["series"].clone());
    }
    must(said.iter().all(|other| *other == said[0]), || {
        "what was tested after the as-of date changes the answer".to_owned()
    })
}

/// Rows after all others, of every winding, connection and event.
fn later_rows(plant: &Plant, dice: &mut Dice) -> String {
    let events = ["", "rewound", "replaced", "commissioned", "cleaned", "dried", "repaired", "flooded", "drying"];
    let windings: BTreeSet<&str> = plant.rows.iter().filter_map(|row| row.split(',').next()).collect();
    let mut rows = String::new();
    for name in windings {
        for month in 0..dice.below(4) {
            let connection = dice.pick(&["all-earth", "U-earth", "V-earth", "W-earth"]);
            let (r60, celsius) = (dice.pick(&["0.01", "3", "77", "OL", "x", "99000"]), dice.pick(&["", "5", "60"]));
            let (month, event) = (8 + month, dice.pick(&events));
            let _ = writeln!(rows, "{name},2026-{month:02}-20,{connection},,{r60},,{celsius},,,500,m9,{event}");
        }
    }
    rows
}

/// A random order of the rows in which those of one winding and day keep theirs: without a time they are tests one after the other.
fn shuffled(rows: &[String], dice: &mut Dice) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    for i in (1..rows.len()).rev() {
        order.swap(i, dice.below(i + 1));
    }
    let test_of = |row: usize| rows[row].splitn(3, ',').take(2).collect::<Vec<_>>().join(",");
    let mut in_turn: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
    for row in 0..rows.len() {
        in_turn.entry(test_of(row)).or_default().insert(row);
    }
    let next = |row: &usize| in_turn.get_mut(&test_of(*row)).and_then(BTreeSet::pop_first).unwrap_or(*row);
    order.iter().map(next).collect()
}

fn assessment<'a>(fleet: &'a Fleet<'_>, mut series: Vec<SeriesAssessment>) -> Assessment<'a> {
    output::ListBy::Series.sort(&mut series, |series| series);
    let Terms { policy, as_of, confidence } = &fleet.terms;
    Assessment {
        as_of: *as_of,
        confidence: *confidence,
        policy,
        inputs: &fleet.ingested.inputs,
        by: output::ListBy::Series,
        series,
    }
}

/// The result file, which must be JSON.
fn json(fleet: &Fleet<'_>, series: Vec<SeriesAssessment>) -> Result<Value, String> {
    let mut bytes = Vec::new();
    output::json::write(&mut bytes, &assessment(fleet, series)).map_err(|error| error.to_string())?;
    serde_json::from_slice(&bytes).map_err(|error| format!("the result is no JSON: {error}"))
}

/// Dates are in order, probabilities between 0 and 1, every finding is said.
fn sound(series: &SeriesAssessment) -> Result<(), String> {
    let name = series.name();
    if let Some(dates) = &series.forecast.reaches_minimum {
        let median = dates.median.unwrap_or(NaiveDate::MAX);
        let in_order =
            dates.earliest <= median && dates.latest.is_none_or(|latest| dates.earliest <= latest && median <= latest);
        must(in_order, || format!("{name}: {dates:?}"))?;
    }
    let p_falling = series.trend.as_ref().and_then(|trend| trend.p_falling);
    for p in [series.forecast.p_below_at_next_test, series.forecast.p_below_in_horizon, p_falling].into_iter().flatten()
    {
        must((0.0..=1.0).contains(&p), || format!("{name}: a probability of {p}"))?;
    }
    let told = series.findings.iter().all(|finding| !finding.message.is_empty() && !finding.source.is_empty());
    must(told, || format!("{name}: a finding in silence"))?;
    let unread = series.findings.iter().any(|finding| finding.code == Code::RegisterUnread);
    must(!unread || series.action.to_string() != "keep", || format!("{name}: kept by a register that cannot be read"))
}

/// Writes every form of every answer; true if there was something to replay.
fn written(fleet: &Fleet<'_>, series: Vec<SeriesAssessment>) -> Result<bool, String> {
    let mut out = Vec::new();
    let said =
        |result: std::io::Result<()>| result.map_err(|error| format!("an answer that cannot be written: {error}"));
    let all = assessment(fleet, series);
    said(output::table::write(&mut out, &all, &SHAPE))?;
    said(output::csv::write(&mut out, &all.series.iter().map(Line::of).collect::<Vec<_>>()))?;
    output::workbook::bytes(&all).map_err(|error| error.to_string())?;
    for one in &all.series {
        let wanted = Wanted { winding: one.winding.clone(), connection: None, scope: None };
        let found = fleet.of_winding(&InTurn, &wanted).map_err(|failure| failure.to_string())?;
        must(!found.is_empty(), || format!("{} is not found", one.winding))?;
        for judged in &found {
            said(account::write(&mut out, judged, &fleet.terms.policy, &SHAPE))?;
        }
    }
    let until = fleet.terms.as_of + chrono::Days::new(400);
    let planned = plan_round(fleet.series.to_vec(), &fleet.register, &fleet.terms, until, &InTurn);
    let planned = Planned { round: &planned, inputs: &fleet.ingested.inputs };
    said(round::table::write(&mut out, &planned, &SHAPE))?;
    said(round::csv::write(&mut out, &planned))?;
    said(round::json::write(&mut out, &planned))?;
    round::page::text(&planned, true).map_err(|failure| failure.to_string())?;
    round::workbook::bytes(&planned).map_err(|error| error.to_string())?;
    let found = replay(&fleet.series, &fleet.register, &fleet.terms, 182, &InTurn);
    said(output::replay::write_text(&mut out, &found))?;
    said(output::replay::write_json(&mut out, &found, fleet.terms.as_of, &[]))?;
    must(std::str::from_utf8(&out).is_ok(), || "an answer that is no text".to_owned())?;
    Ok(!found.cuts.is_empty())
}

/// A history that was filed has nothing new for itself.
fn filed(history: &str, fleet: &Fleet<'_>) -> Result<(), String> {
    let master = Master::read("master", history.as_bytes().to_vec(), &ReadingRules::default());
    let master = master.map_err(|failure| failure.to_string())?;
    let tests = fleet.series.by_place();
    let compared = compare(&master.tests, tests);
    must(compared.new.is_empty() && compared.conflicts.is_empty(), || {
        format!("{} tests of a history are new to itself", compared.new.len())
    })
}

/// Every resistance and every minimum twice as high: the same actions, findings, dates and probabilities.
fn scaled(seed: u64, number: u64) -> Result<u64, String> {
    let mut answers = Vec::new();
    for factor in [1.0, 2.0] {
        let plant = Plant::new(&mut Dice::new(seed ^ SCALED, number), &Manner { plain: true, factor });
        let order: Vec<usize> = (0..plant.rows.len()).collect();
        let Some(files) = Files::read(&plant, &order)? else { return Ok(0) };
        let fleet = files.fleet()?;
        answers.push(fleet.judge(&InTurn, |judgement| judgement.assessment));
    }
    let [one, two] = &answers[..] else { return Ok(0) };
    for (one, two) in one.iter().zip(two) {
        let name = one.name();
        let codes = |series: &SeriesAssessment| series.findings.iter().map(|finding| finding.code).collect::<Vec<_>>();
        must(one.action == two.action && codes(one) == codes(two), || {
            format!("{name}: {} {:?}, and twice as high {} {:?}", one.action, codes(one), two.action, codes(two))
        })?;
        let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() <= 1e-6,
            (a, b) => a == b,
        };
        let p = |series: &SeriesAssessment| series.forecast.p_below_in_horizon;
        must(near(p(one), p(two)), || format!("{name}: {:?}, and twice as high {:?}", p(one), p(two)))?;
        must(one.forecast.reaches_minimum == two.forecast.reaches_minimum, || {
            let dates = |series: &SeriesAssessment| format!("{:?}", series.forecast.reaches_minimum);
            format!("{name}: {}, and twice as high {}", dates(one), dates(two))
        })?;
        let level = |series: &SeriesAssessment| series.trend.as_ref().and_then(|trend| trend.level_mohm);
        let levels = (level(one).map(|mohm| 2.0 * mohm), level(two));
        // A level at the least or the greatest resistance there is stays there, at any scale.
        let is_held = level(one).is_some_and(|mohm| !(1e-5..5e7).contains(&mohm));
        must(is_held || near(levels.0.map(f64::log10), levels.1.map(f64::log10)), || {
            format!("{name}: levels {levels:?}")
        })?;
        let slope = |series: &SeriesAssessment| series.trend.as_ref().and_then(|trend| trend.slope_log10_per_year);
        must(near(slope(one), slope(two)), || format!("{name}: slopes {:?} and {:?}", slope(one), slope(two)))?;
    }
    Ok(one.len() as u64)
}
