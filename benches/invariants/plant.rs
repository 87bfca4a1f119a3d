//! Random plants: histories of a few windings in every manner that a cell allows, with or without a register.

use super::dice::Dice;
use std::fmt::Write as _;

/// A plant as files.
pub(crate) struct Plant {
    /// The columns of the history.
    pub(crate) header: &'static str,
    /// Its rows.
    pub(crate) rows: Vec<String>,
    /// The register; empty without one.
    pub(crate) register: String,
}

/// The same plant can be written with every resistance and every minimum times a factor.
pub(crate) struct Manner {
    /// Only plain windings whose limits are their own, so that nothing depends on a resistance that is not scaled.
    pub(crate) plain: bool,
    pub(crate) factor: f64,
}

const CONNECTIONS: [&str; 5] = ["all-earth", "all-earth", "U-earth", "V-earth", "W-earth"];
const EVENTS: [&str; 6] = ["", "", "", "cleaned", "rewound", "dried"];
const REGISTER: &str = "winding,rated_volts,construction,insulation,year_made,interval_days,minimum_mohm,group\n";

impl Plant {
    /// The plant of these dice: the same dice give the same plant, whatever its factor.
    pub(crate) fn new(dice: &mut Dice, manner: &Manner) -> Self {
        let header = "winding,tested_on,connection,r_30s,r_60s,r_600s,winding_temp_c,air_temp_c,rh_percent,test_volts,instrument,event,note";
        let (mut rows, mut register) = (Vec::new(), String::new());
        let registered = manner.plain || !dice.one_in(3);
        if registered {
            register.push_str(REGISTER);
        }
        for winding in 0..1 + dice.below(4) {
            let name = format!("P-{winding}");
            let minimum = manner.factor * 5.0;
            if manner.plain {
                let _ = writeln!(register, "{name},400,random-wound,thermosetting,2001,91,{minimum},");
            } else if registered {
                let volts = dice.pick(&["400", "6600", "11000", "3x400", "n/a", "4OO", "0"]);
                let construction = dice.pick(&["random-wound", "form-wound", "field", "dc-armature", "", "wire"]);
                let insulation = dice.pick(&["thermosetting", "thermoplastic", "unknown", ""]);
                let minimum = dice.pick(&["", "", "5", "100", "?"]);
                let _ = writeln!(register, "{name},{volts},{construction},{insulation},1998,91.0,{minimum},g");
            }
            let connection = if manner.plain { "all-earth" } else { *dice.pick(&CONNECTIONS) };
            life(dice, manner, &name, connection, &mut rows);
            if !manner.plain && dice.one_in(3) {
                let other = *dice.pick(&CONNECTIONS);
                life(dice, manner, &name, other, &mut rows);
            }
        }
        Self { header, rows, register }
    }

    /// The history, its rows in the order of `order`.
    pub(crate) fn history(&self, order: &[usize]) -> String {
        let rows = order.iter().filter_map(|i| self.rows.get(*i)).map(String::as_str);
        std::iter::once(self.header).chain(rows).collect::<Vec<_>>().join("\n") + "\n"
    }
}

/// The tests of one winding: a level that drifts, with scatter, bounds and oddities.
fn life(dice: &mut Dice, manner: &Manner, name: &str, connection: &str, rows: &mut Vec<String>) {
    let share = |dice: &mut Dice| dice.below(10_000) as f64 / 10_000.0;
    let mut level = 1.0 + 2.5 * share(dice);
    let slope = (share(dice) - 0.7) * 0.4;
    for test in 0..dice.below(16) {
        let (year, month) = (2018 + test / 2, if test % 2 == 0 { 3 } else { 9 });
        level += slope / 2.0;
        let scatter = (share(dice) - 0.5) * if dice.one_in(12) { 3.0 } else { 0.2 };
        let reading = manner.factor * 10f64.powf((level + scatter).clamp(-1.0, 3.3));
        let temperature = 10 + dice.below(40);
        let (day, event) = (1 + dice.below(28), dice.pick(&EVENTS));
        if manner.plain {
            rows.push(format!("{name},{year}-{month:02}-{day:02},,,{reading},,{temperature},,,500,m1,,"));
            continue;
        }
        let r60 = match dice.below(14) {
            0 => format!(">{}", reading.round()),
            1 => "OL".to_owned(),
            2 => "0".to_owned(),
            3 => format!("{:.3} GΩ", reading / 1000.0),
            4 => format!("<{reading:.2}"),
            5 => "x".to_owned(),
            _ => format!("{reading:.2}"),
        };
        let timed = |dice: &mut Dice, times: f64| {
            if dice.one_in(3) { format!("{:.2}", reading * times) } else { String::new() }
        };
        let (r30, r600) = (timed(dice, 0.8), timed(dice, 1.5));
        let temperature = if dice.one_in(6) { String::new() } else { temperature.to_string() };
        let (air, humidity) = (dice.below(40), 20 + dice.below(80));
        rows.push(format!(
            "{name},{year}-{month:02}-{day:02},{connection},{r30},{r60},{r600},{temperature},{air},{humidity},500,m{},{event},",
            dice.below(2)
        ));
        if dice.one_in(10) {
            // The same row again, or one that contradicts it.
            let again = rows.last().cloned().unwrap_or_default();
            rows.push(if dice.one_in(2) { again } else { again.replace(",500,", ",1000,") });
        }
        if dice.one_in(6) {
            more_of_a_day(dice, reading, &format!("{name},{year}-{month:02}-{day:02},{connection}"), rows);
        }
    }
}

/// More rows of one day without a time: other voltages or none, work, notes, temperatures that are rejected.
fn more_of_a_day(dice: &mut Dice, reading: f64, of: &str, rows: &mut Vec<String>) {
    for _ in 0..1 + dice.below(4) {
        let r60 = reading * 10f64.powf((dice.below(2000) as f64 - 1000.0) / 1000.0);
        let celsius = dice.pick(&["40", "40", "20", "", "999"]);
        let volts = dice.pick(&["500", "500", "", "1000", "250"]);
        let event = dice.pick(&["", "", "", "cleaned", "flooded", "drying", "rewound"]);
        let note = dice.pick(&["", "", "as found", "rain"]);
        rows.push(format!("{of},,{r60:.3},,{celsius},20,50,{volts},m1,{event},{note}"));
    }
}
