//! Tests of `absorption`.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use crate::resistance::CellRules;

fn curve(cells: &[(f64, &str)]) -> Vec<TimedReading> {
    cells
        .iter()
        .map(|(s, text)| TimedReading {
            elapsed: seconds(*s),
            value: CellRules::default().read(text).unwrap().unwrap(),
        })
        .collect()
}

#[test]
fn between_exact_readings_it_interpolates_and_beyond_them_it_does_not() {
    let readings = curve(&[(30.0, "100"), (120.0, "200")]);
    let Some(Measured::Exact(at_60)) = one_minute_resistance(&readings) else { unreachable!() };
    assert!((at_60.as_megohms() - 100.0 * 2f64.sqrt()).abs() < 1e-9);
    assert_eq!(polarization_index(&readings), None);
    assert_eq!(one_minute_resistance(&curve(&[(30.0, "100"), (120.0, ">200")])), None);
}

#[test]
fn readings_out_of_order_are_read_like_those_in_order() {
    let readings = curve(&[(120.0, "200"), (600.0, "300"), (15.0, "50"), (30.0, "100")]);
    assert_eq!(one_minute_resistance(&readings), one_minute_resistance(&curve(&[(30.0, "100"), (120.0, "200")])));
}

#[test]
fn the_law_gives_back_the_readings_it_was_made_from() {
    // 1/R = 1/20000 + t^−0.6/40, worked out for each time.
    let law = |t: f64| 1.0 / (1.0 / 20_000.0 + t.powf(-0.6) / 40.0);
    let times = [15.0, 30.0, 60.0, 120.0, 300.0, 600.0];
    let cells: Vec<(f64, String)> = times.iter().map(|t| (*t, format!("{:.9}", law(*t)))).collect();
    let cells: Vec<(f64, &str)> = cells.iter().map(|(t, text)| (*t, text.as_str())).collect();
    let found = absorption_curve(&curve(&cells)).unwrap();
    assert!((found.exponent - 0.6).abs() < 1e-6 && (found.at_one_second.as_megohms() - 40.0).abs() < 1e-4);
    for t in times {
        assert!((found.resistance_at(seconds(t)).as_megohms() / law(t) - 1.0).abs() < 1e-7, "{t} s");
    }
}

/// A winding that reads the same at all times absorbs nothing: the exponent is 0, at which there is no law.
#[test]
fn steady_readings_have_no_absorption_curve() {
    for mohm in ["0.3", "1", "7", "100", "777", "20000"] {
        for times in [&[30.0, 60.0, 600.0][..], &[15.0, 30.0, 60.0, 600.0], &[15.0, 30.0, 60.0, 120.0, 300.0, 600.0]] {
            let cells: Vec<(f64, &str)> = times.iter().map(|s| (*s, mohm)).collect();
            assert_eq!(absorption_curve(&curve(&cells)), None, "{cells:?}");
        }
    }
    assert_eq!(absorption_curve(&curve(&[(30.0, "102"), (60.0, "101"), (600.0, "100")])), None);
    assert!(absorption_curve(&curve(&[(30.0, "100"), (60.0, "101"), (600.0, "102")])).is_some());
}

#[test]
fn a_ratio_of_bounds_is_a_bound() {
    for (over, under, expected) in [
        (">1000", "500", Some(Bound::Above)),
        ("1000", ">500", Some(Bound::Below)),
        ("1000", "<500", Some(Bound::Above)),
        ("<1000", "500", Some(Bound::Below)),
        (">1000", ">1000", None),
        (">1000", "<500", Some(Bound::Above)),
    ] {
        let found = polarization_index(&curve(&[(60.0, under), (600.0, over)]));
        assert_eq!(found.map(|ratio| ratio.bound), expected, "{over}/{under}");
    }
    assert_eq!(polarization_index(&curve(&[(60.0, "500"), (600.0, "OL")])), None);
}

/// Readings of 1/R = G + K·t^−n, MΩ, with as many digits as a cell keeps.
fn law(g: f64, k: f64, n: f64, times: &[f64]) -> Vec<TimedReading> {
    let value = |t: f64| Measured::Exact(Resistance::from_megohms(1.0 / (g + k * t.powf(-n))).unwrap());
    times.iter().map(|&t| TimedReading { elapsed: seconds(t), value: value(t) }).collect()
}

/// The law of IEEE Std 43-2000 cl. 5.1 (from memory) with n = 0.8 and a leakage of 4 GΩ, read six times and four.
#[test]
fn a_curve_gives_back_the_exponent_and_the_leakage_it_was_made_with() {
    for times in [&[15.0, 30.0, 60.0, 120.0, 300.0, 600.0][..], &[15.0, 60.0, 120.0, 600.0]] {
        let found = absorption_curve(&law(0.000_25, 0.05, 0.8, times)).unwrap();
        assert!((found.exponent - 0.8).abs() < 1e-6, "{found:?}");
        assert!((found.leakage.unwrap().resistance.as_megohms() / 4000.0 - 1.0).abs() < 1e-5, "{found:?}");
    }
}

/// R60 = 100 MΩ and R = 100·(t/60)^0.5: 50 MΩ at 15 s, 200 MΩ at 240 s.
#[test]
fn three_readings_give_an_exponent_and_two_give_nothing() {
    let found = absorption_curve(&curve(&[(15.0, "50"), (60.0, "100"), (240.0, "200")])).unwrap();
    assert!((found.exponent - 0.5).abs() < 1e-9, "{found:?}");
    assert_eq!(found.leakage, None);
    assert_eq!(absorption_curve(&curve(&[(15.0, "50"), (60.0, "100")])), None);
    assert_eq!(absorption_curve(&curve(&[(15.0, "50"), (60.0, "100"), (240.0, ">200")])), None);
}

/// With a steady current to be taken away instead of added there is no leakage, and the exponent alone is fitted.
#[test]
fn readings_that_rise_faster_than_any_power_show_no_leakage() {
    let found = absorption_curve(&law(-0.000_01, 0.05, 0.8, &[15.0, 30.0, 60.0, 120.0, 300.0])).unwrap();
    assert_eq!(found.leakage, None);
    assert!(found.exponent > 0.8, "{found:?}");
}

/// A current that grows towards a steady one: the fit is perfect, and it is not an absorption.
#[test]
fn a_growing_current_is_no_absorption() {
    assert_eq!(absorption_curve(&law(0.02, -0.05, 0.8, &[15.0, 30.0, 60.0, 120.0, 300.0, 600.0])), None);
}

#[test]
fn readings_that_fall_or_stand_still_have_no_curve() {
    let falling = [(15.0, "200"), (30.0, "150"), (60.0, "120"), (120.0, "100"), (600.0, "70")];
    assert_eq!(absorption_curve(&curve(&falling)), None);
    assert_eq!(absorption_curve(&curve(&falling[..3])), None);
    assert_eq!(absorption_curve(&curve(&[(15.0, "100"), (60.0, "100"), (240.0, "100")])), None);
}

/// Of curves without leakage, read six times with an error of 1 % each, about one in twenty may seem to have one: the lower end of a
/// two-sided interval of 90 %. Those with a leakage of a tenth of the ten-minute current show it, inside its interval nine times in ten.
#[test]
fn a_leakage_is_reported_only_where_the_readings_show_one() {
    use chacha20::ChaCha8Rng;
    use chacha20::rand_core::{Rng, SeedableRng};
    let mut rng = ChaCha8Rng::seed_from_u64(20_261_128);
    let mut uniform = || (rng.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
    // Box and Muller 1958.
    let mut normal = || (-2.0 * (1.0 - uniform()).ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos();
    let mut read = |leakage: f64, error: f64| {
        let clean = law(leakage, 0.02, 0.6, &[15.0, 30.0, 60.0, 120.0, 300.0, 600.0]);
        let noisy = clean
            .into_iter()
            .map(|reading| TimedReading { value: reading.value.scaled((error * normal()).exp()), ..reading });
        absorption_curve(&noisy.collect::<Vec<_>>()).unwrap()
    };
    let seeming = (0..400).filter(|_| read(0.0, 0.01).leakage.is_some()).count();
    assert!((8..=36).contains(&seeming), "{seeming} of 400");
    let leaking: Vec<AbsorptionCurve> = (0..400).map(|_| read(0.000_5, 0.001)).collect();
    let found: Vec<LeakageResistance> = leaking.iter().filter_map(|curve| curve.leakage).collect();
    assert!(found.len() >= 390, "{} of 400", found.len());
    let held = found.iter().filter(|found| found.low.as_megohms() <= 2000.0 && found.high.as_megohms() >= 2000.0);
    let held = held.count() as f64 / found.len() as f64;
    assert!((held - 0.9).abs() < 0.06, "{held}");
    let held = leaking.iter().filter(|curve| (curve.exponent - 0.6).abs() <= curve.exponent_error).count();
    assert!((340..=380).contains(&held), "{held} of 400");
}
