//! From the hidden truth to the cells a technician would have written.

use chrono::{Datelike, Days, NaiveDate};

use crate::SEED;
use crate::dice::Dice;
use crate::physics::{Absorption, dew_point, significant};
use crate::plant::{Area, Round, Series, Shape, Tester, Timing, Twist, Winding};

/// The first and the last round of the plant.
const FIRST: Round = (2019, 1);
const LAST: Round = (2026, 4);

/// One row of the history, cells as written. `timed` runs 15 s, 30 s, 60 s, 2 min … 10 min.
pub(crate) struct Test {
    pub(crate) date: NaiveDate,
    pub(crate) winding: &'static str,
    pub(crate) connection: &'static str,
    pub(crate) scope: &'static str,
    pub(crate) test_volts: u32,
    pub(crate) output_volts: String,
    pub(crate) timed: [String; 12],
    pub(crate) winding_temp_c: String,
    pub(crate) air_temp_c: String,
    pub(crate) rh_percent: String,
    pub(crate) instrument: &'static str,
    pub(crate) full_scale: &'static str,
    pub(crate) lead_check: &'static str,
    pub(crate) event: &'static str,
    pub(crate) note: &'static str,
    pub(crate) work_order: String,
}

/// Seconds of the twelve timed readings.
pub(crate) const SECONDS: [u32; 12] = [15, 30, 60, 120, 180, 240, 300, 360, 420, 480, 540, 600];

/// Day and weather of one area in one round.
#[derive(Clone, Copy)]
struct Visit {
    day: NaiveDate,
    air_c: f64,
    rh: f64,
}

/// Every test of every winding, in the order of the master file: by date, then as the register has them.
pub(crate) fn history(windings: &[Winding]) -> Vec<Test> {
    let rounds: Vec<Round> = (FIRST.0..=LAST.0).flat_map(|y| (1..=4).map(move |q| (y, q))).collect();
    let visits: Vec<Vec<Visit>> = Area::ALL
        .iter()
        .enumerate()
        .map(|(i, _)| {
            let mut dice = Dice::new(SEED, 1000 + i as u64);
            rounds.iter().map(|&round| visit(&mut dice, round)).collect()
        })
        .collect();
    let mut tests = Vec::new();
    for (i, winding) in windings.iter().enumerate() {
        let area = Area::ALL.iter().position(|&a| a == winding.area).unwrap_or(0);
        let (mut dice, mut curve) = (Dice::new(SEED, i as u64), Dice::new(SEED, 2000 + i as u64));
        for (k, &round) in rounds.iter().enumerate() {
            test_round((&mut dice, &mut curve), winding, round, visits[area][k], &mut tests);
        }
    }
    tests.sort_by_key(|t| t.date);
    let mut order = 4100;
    let mut last = None;
    for test in &mut tests {
        let visit = (test.date, test.winding);
        if last != Some(visit) {
            order += 1 + (test.date.day() % 3);
        }
        last = Some(visit);
        test.work_order = format!("WO-{order}");
    }
    tests
}

fn date(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default()
}

/// Year with a fraction.
fn decimal(day: NaiveDate) -> f64 {
    f64::from(day.year()) + f64::from(day.ordinal0()) / 365.25
}

/// +1 in the middle of summer, −1 in the middle of winter.
fn summer(day: NaiveDate) -> f64 {
    -((decimal(day) - 0.04) * std::f64::consts::TAU).cos()
}

fn visit(dice: &mut Dice, (year, quarter): Round) -> Visit {
    let middle = date(year, quarter * 3 - 2, if quarter == 4 { 22 } else { 18 });
    let day = middle + Days::new(dice.between(0.0, 19.0) as u64) - Days::new(9);
    let air_c = (17.0 + 5.5 * summer(day) + 2.0 * dice.normal()).max(11.5);
    let rh = (58.0 - 6.0 * summer(day) + 8.0 * dice.normal()).clamp(35.0, 76.0);
    Visit { day, air_c, rh }
}

/// What one round's twists say about a winding, put together.
struct Situation {
    tester: Tester,
    volts: u32,
    shift: f64,
    damp: f64,
    temperature: Option<(f64, Option<f64>)>,
    no_temperature: bool,
    leads: Option<&'static str>,
    event: &'static str,
    note: &'static str,
    day: Option<NaiveDate>,
    skipped: bool,
    told: bool,
}

fn situation(winding: &Winding, round: Round) -> Situation {
    let mut s = Situation {
        tester: winding.tester,
        volts: winding.test_volts,
        shift: 0.0,
        damp: 0.0,
        temperature: None,
        no_temperature: false,
        leads: None,
        event: "",
        note: "",
        day: None,
        skipped: round < winding.first || (winding.interval_days > 150 && round.1 % 2 == 1),
        told: round == winding.first || round >= (2026, 2),
    };
    for twist in &winding.twists {
        let here = match *twist {
            Twist::Event(r, ..)
            | Twist::On(r, ..)
            | Twist::Damp(r, _)
            | Twist::Temperature(r, ..)
            | Twist::NoTemperature(r)
            | Twist::LeadsFailed(r, _)
            | Twist::Off(r, ..)
            | Twist::Note(r, _) => r == round,
            Twist::Tester(r, ..) | Twist::Volts(r, ..) => r <= round,
            Twist::NoTests(from, to) => from <= round && round <= to,
            Twist::Extra(..) => false,
        };
        if !here {
            continue;
        }
        match *twist {
            Twist::Event(_, event, note) => (s.event, s.note) = (event, note),
            Twist::On(r, month, day) => s.day = Some(date(r.0, month, day)),
            Twist::NoTests(..) => s.skipped = true,
            Twist::Damp(_, decades) => (s.damp, s.note) = (decades, "rain overnight, hall doors open"),
            Twist::Temperature(_, true_c, written, note) => {
                (s.temperature, s.note) = (Some((true_c, Some(written))), note)
            }
            Twist::NoTemperature(_) => s.no_temperature = true,
            Twist::LeadsFailed(_, cell) => (s.leads, s.note) = (Some(cell), "red lead loose at the plug"),
            Twist::Off(_, decades, note) => (s.shift, s.note) = (s.shift + decades, note),
            Twist::Tester(_, tester, decades) => (s.tester, s.shift) = (tester, s.shift + decades),
            Twist::Volts(_, volts, decades) => (s.volts, s.shift) = (volts, s.shift + decades),
            Twist::Note(_, note) => s.note = note,
            Twist::Extra(..) => {}
        }
        s.told = true;
    }
    s
}

/// The tests of one winding in one round. The same random numbers are drawn whatever happens.
fn test_round(
    (dice, curve): (&mut Dice, &mut Dice),
    winding: &Winding,
    round: Round,
    visit: Visit,
    out: &mut Vec<Test>,
) {
    let mut s = situation(winding, round);
    let missed = dice.uniform() < 0.05 && !s.told;
    let later = Days::new(dice.between(0.0, 3.0) as u64);
    let warm = (dice.uniform() < winding.warm.0).then_some(dice.between(winding.warm.1, winding.warm.2));
    let rise = dice.between(0.5, if winding.timing == Timing::One { 4.5 } else { 9.0 });
    let mut noise = dice.normal().clamp(-2.5, 2.5);
    if round == LAST || winding.twists.iter().any(|t| matches!(t, Twist::NoTests(_, to) if *to == LAST)) {
        noise = noise.clamp(-1.2, 1.2);
    }
    let remark = dice.uniform();
    let mut small: Vec<f64> = winding.series.iter().map(|_| dice.normal().clamp(-2.0, 2.0)).collect();
    let output = dice.between(1.0, 1.055);
    if winding.series.len() == 1 {
        small[0] = 0.0;
    }
    if !(s.skipped || missed) {
        let day = s.day.unwrap_or(visit.day + later);
        if s.temperature.is_none() {
            s.temperature = warm.map(|t| (t, None));
        }
        if s.note.is_empty() {
            s.note = match (warm.is_some(), visit.rh, remark) {
                (true, _, r) if r < 0.45 => "after shutdown, still warm",
                (false, rh, r) if rh > 66.0 && r < 0.35 => "rain overnight",
                (false, _, r) if r < 0.02 => "terminal box dusty, wiped",
                (false, _, r) if r > 0.985 => "second reading, first not held for the full minute",
                _ => "",
            };
        }
        test_day(winding, &s, Visit { day, ..visit }, (rise, noise, &small, output), curve, out);
    }
    for twist in &winding.twists {
        if let Twist::Extra(year, month, day, event, note) = *twist
            && (year, (month - 1) / 3 + 1) == round
        {
            let extra = Situation { event, note, temperature: None, ..situation(winding, round) };
            test_day(
                winding,
                &extra,
                Visit { day: date(year, month, day), ..visit },
                (rise, noise * 0.5, &small, output),
                curve,
                out,
            );
        }
    }
}

/// Every series of one winding on one day.
fn test_day(
    winding: &Winding,
    s: &Situation,
    visit: Visit,
    (rise, noise, small, output): (f64, f64, &[f64], f64),
    curve: &mut Dice,
    out: &mut Vec<Test>,
) {
    let day = visit.day;
    let (mut air_c, mut rh) = (visit.air_c.round(), visit.rh.round());
    let mut true_c = s.temperature.map_or(visit.air_c + rise, |(t, _)| t);
    true_c = (true_c * 2.0).round() / 2.0;
    if s.damp > 0.0 {
        (air_c, rh) = ((true_c - 0.5).round(), 96.0);
    }
    while s.damp <= 0.0 && true_c - dew_point(air_c, rh) < 5.0 {
        rh -= 1.0;
    }
    let written = s.temperature.and_then(|(_, w)| w).unwrap_or(true_c);
    for (series, &own) in winding.series.iter().zip(small) {
        let level = series.shape(decimal(day)).log10(decimal(day));
        let share = if winding.series.len() == 1 { (1.0, 0.0) } else { (0.9, 0.35) };
        let scatter = winding.scatter * (share.0 * noise + share.1 * own);
        let at_40 = level + winding.season * summer(day) + scatter - s.damp + s.shift;
        let r60 = 10f64.powf(at_40) / winding.law.to_40(true_c);
        out.push(Test {
            date: day,
            winding: winding.id,
            connection: series.connection,
            scope: series.scope,
            test_volts: s.volts,
            output_volts: if s.tester.shows_volts && day.year() >= 2021 {
                (f64::from(s.volts) * output).round().to_string()
            } else {
                String::new()
            },
            timed: timed(winding, series, s, (r60, decimal(day)), curve),
            winding_temp_c: if s.no_temperature { String::new() } else { written.to_string() },
            air_temp_c: if s.no_temperature { String::new() } else { air_c.to_string() },
            rh_percent: if s.no_temperature || day.year() < 2020 { String::new() } else { rh.to_string() },
            instrument: s.tester.name,
            full_scale: s.tester.full_scale,
            lead_check: match (s.leads.is_some(), day.year() >= 2022) {
                (true, _) => "failed",
                (false, true) => "ok",
                (false, false) => "",
            },
            event: s.event,
            note: s.note,
            work_order: String::new(),
        });
    }
}

/// The timed readings as written down.
fn timed(winding: &Winding, series: &Series, s: &Situation, (r60, year): (f64, f64), curve: &mut Dice) -> [String; 12] {
    let mut absorption = match series.shape(year) {
        Shape::Leakage { ratio_now, growth, .. } => {
            Absorption { leakage: ratio_now * growth.powf(year - crate::plant::AS_OF), ..winding.absorption }
        }
        _ => winding.absorption,
    };
    absorption.exponent *= 1.0 + 0.03 * curve.normal().clamp(-2.0, 2.0);
    SECONDS.map(|seconds| {
        let read = if seconds == 60 { 1.0 } else { 1.0 + 0.01 * curve.normal().clamp(-2.0, 2.0) };
        let wanted = match winding.timing {
            Timing::One => seconds == 60,
            Timing::Three => seconds == 30 || seconds == 60 || seconds == 600,
            Timing::Full => true,
        };
        match (wanted, s.leads) {
            (false, _) => String::new(),
            (true, Some(cell)) => cell.to_owned(),
            (true, None) => reading(read * absorption.at(f64::from(seconds), r60), s.tester),
        }
    })
}

/// One cell: rounded as read, `>` the end of the scale, GΩ for the large ones.
fn reading(mohm: f64, tester: Tester) -> String {
    if mohm > tester.full_scale_mohm {
        tester.over.to_owned()
    } else if mohm >= 10_000.0 {
        format!("{} GΩ", significant(mohm / 1000.0, tester.digits))
    } else {
        significant(mohm, tester.digits)
    }
}
