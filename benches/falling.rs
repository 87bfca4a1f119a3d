//! A fleet of windings that fall towards their minimum at one known rate, made in memory.

use std::error::Error;

use crate::dice::Dice;
use chrono::{Days, NaiveDate};
use groundwall::assess::Register;
use groundwall::nameplate::{Construction, Insulation, Nameplate};
use groundwall::record::Origin;
use groundwall::record::columns::Column;
use groundwall::record::validate::TestRules;
use groundwall::series::Series;
use groundwall::units::Voltage;

/// The day on which they are judged, six weeks after the last test.
pub(crate) const AS_OF: &str = "2026-11-25";
/// The true slope.
pub(crate) const DECADES_A_YEAR: f64 = -0.25;
/// The true level on the last day, log10 MΩ at 40 °C; the minimum is 5 MΩ, log10 0.7.
const LAST_LEVEL: f64 = 0.85;
/// Standard deviation of the readings, decades.
const SCATTER: f64 = 0.06;
/// The history spans at most so many years, however many readings it has: no winding starts beyond all testers.
const YEARS: f64 = 10.0;

/// So many series of so many readings; with `bounds` the earlier half is over the tester's scale.
pub(crate) fn fleet(series: usize, readings: usize, bounds: bool) -> Result<(Vec<Series>, Register), Box<dyn Error>> {
    let nameplate = Nameplate {
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(400.0)?),
        ..Nameplate::default()
    };
    let column = |header: &str| Column::read(header).ok_or(format!("{header} is no column"));
    let columns = [column("winding")?, column("tested_on")?, column("r_60s")?, column("winding_temp_c")?];
    let (rules, last_day) = (TestRules::default(), NaiveDate::from_ymd_opt(2026, 10, 12).unwrap_or_default());
    let step = 0.25_f64.min(YEARS / readings as f64);
    let mut tests = Vec::with_capacity(series * readings);
    let mut register = Register::new();
    let mut dice = Dice::new(1, 0);
    for number in 0..series {
        let name = format!("P-{number:03}");
        register.insert(name.clone(), nameplate.clone());
        for reading in 0..readings {
            let years = (readings - 1 - reading) as f64 * step;
            let day = last_day.checked_sub_days(Days::new((years * 365.25) as u64)).unwrap_or_default();
            let celsius = 15.0 + 20.0 * dice.uniform();
            // K_T of IEEE Std 43-2013 cl. 6.3 below 40 °C (from memory).
            let to_40 = -1245.0 * (1.0 / (celsius + 273.0) - 1.0 / 313.0) * std::f64::consts::LOG10_E;
            let level = LAST_LEVEL - DECADES_A_YEAR * years;
            let mohm = 10f64.powf(level + SCATTER * dice.normal() - to_40);
            let scale = 10f64.powf(LAST_LEVEL - DECADES_A_YEAR * step * readings as f64 / 2.0);
            let over = bounds && reading < readings / 2;
            let cell = if over { format!(">{scale:.3}") } else { format!("{mohm:.3}") };
            let cells = [name.clone(), day.to_string(), cell, format!("{celsius:.1}")];
            let cells = columns.iter().copied().zip(cells.iter().map(String::as_str));
            let test = rules.validate(cells, Origin::default());
            tests.push(test.map_err(|faults| format!("row {reading} of {name}: {faults:?}"))?);
        }
    }
    Ok((Series::collect(tests), register))
}
