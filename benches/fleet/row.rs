//! One test: one row of the history.

use std::f64::consts::TAU;
use std::io::{self, Write};

use chrono::{Days, NaiveDate};

use crate::dice::Dice;
use crate::options::{Every, Options};
use crate::winding::Winding;

pub(crate) const HEADER: &[u8] =
    b"winding,tested_on,connection,test_volts,r_30s,r_60s,winding_temp_c,air_temp_c,rh_percent,instrument,event\n";

/// Standard deviation of one reading about the level, decades.
const SCATTER: f64 = 0.06;
/// Half the yearly swing, decades.
const SEASON: f64 = 0.03;
/// Share of outliers.
const OUTLIERS: f64 = 0.01;
/// Least resistance a tester shows, MΩ.
const LEAST_MOHM: f64 = 0.01;

/// Writes one row.
pub(crate) fn write(
    out: &mut impl Write,
    winding: &Winding,
    test: u64,
    options: &Options,
    dice: &mut Dice,
) -> io::Result<()> {
    dice.of_test(winding.number, test);
    let group = winding.group;
    let back = options.tests - 1 - test;
    let (days, clock) = match options.every {
        Every::Quarter => {
            let due = back as f64 * options.every.days() + winding.ahead;
            ((due + dice.between(-10.0, 10.0)).max(0.0), None)
        }
        Every::Hour => ((back / 24) as f64, Some((23 - back % 24, (60.0 * dice.uniform()) as u64))),
    };
    let years = days / 365.25;
    // The last day is in autumn: a quarter of a year before the coldest time.
    let season = TAU * (0.25 - years);
    let (warmth, damp) = dice.normals();
    let (scatter, apart) = dice.normals();
    let air = 14.0 - 8.0 * season.cos() + 3.0 * warmth;
    let temp = (air + 5.0 + 2.0 * apart).clamp(3.0, 60.0);
    let humidity = (58.0 + 11.0 * damp).clamp(20.0, 96.0);
    let outlier = if dice.chance(OUTLIERS) { -dice.between(0.3, 1.0) } else { 0.0 };
    let corrected = winding.life.level(years, test) - SEASON * season.cos() + SCATTER * scatter + outlier;
    let r60 = 10f64.powf(corrected - group.insulation.log10_to_40(temp)).max(LEAST_MOHM);
    let r30 = r60 / winding.absorption * (1.0 + 0.02 * dice.between(-1.0, 1.0));

    winding.write_name(out)?;
    write!(out, ",{}", day_before_end(days as u64))?;
    if let Some((hour, minute)) = clock {
        write!(out, "T{hour:02}:{minute:02}")?;
    }
    write!(out, ",all-earth,{}", group.test_volts)?;
    for mohm in [r30, r60] {
        write_resistance(out, mohm, group.scale_mohm)?;
    }
    write!(out, ",{temp:.1},{air:.0},{humidity:.0},tester {},", winding.tester)?;
    out.write_all(if winding.life.cleaned == Some(test) { b"cleaned\n" } else { b"\n" })
}

/// The day so many days before the last one of the history, 30 September 2026.
fn day_before_end(days: u64) -> NaiveDate {
    let end = NaiveDate::from_ymd_opt(2026, 9, 30).unwrap_or_default();
    end.checked_sub_days(Days::new(days)).unwrap_or_default()
}

/// Three digits, as a tester shows; over its scale as a bound.
fn write_resistance(out: &mut impl Write, mohm: f64, scale: u32) -> io::Result<()> {
    match mohm {
        m if m > f64::from(scale) => write!(out, ",>{scale}"),
        m if m >= 1000.0 => write!(out, ",{:.0}", (m / 10.0).round() * 10.0),
        m if m >= 100.0 => write!(out, ",{m:.0}"),
        m if m >= 10.0 => write!(out, ",{m:.1}"),
        m => write!(out, ",{m:.2}"),
    }
}
