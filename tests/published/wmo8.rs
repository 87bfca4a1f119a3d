//! Dew point: WMO-No. 8, Annex 4.B, and a second set of coefficients from the literature.
//!
//! Coefficients of both sets were read; the dew points were computed from them apart from this code, with the
//! enhancement factor for pressure at 1. Ours are those of the WMO, so its rows are held to the digits and the rows of
//! Alduchov and Eskridge (1996) to 0.02 °C.

use crate::published_rows::Rows;
use groundwall::moisture::{damp_check, dew_point};
use groundwall::units::{RelativeHumidity, Temperature, TemperatureDifference};

fn points() -> Rows {
    Rows::read("dew_points.csv", include_str!("data/dew_points.csv"), 16)
}

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value).unwrap()
}

#[test]
fn dew_points_of_both_sets_of_coefficients() {
    points().check(|row| {
        let humidity = RelativeHumidity::from_percent(row.number("humidity_percent")).unwrap();
        dew_point(celsius(row.number("air_c")), humidity).as_celsius()
    });
}

/// IEEE Std 43 cl. 6.2, from memory: the winding must be above the dew point; at it or below a film of moisture forms.
#[test]
fn a_winding_at_or_below_the_dew_point_is_damp_and_one_above_is_dry() {
    let no_margin = TemperatureDifference::from_kelvins(0.0).unwrap();
    for row in points().iter() {
        let humidity = RelativeHumidity::from_percent(row.number("humidity_percent")).unwrap();
        // Beyond the 0.02 °C within which the sets agree.
        for (offset, damp) in [(-0.03, true), (0.03, false)] {
            let winding = celsius(row.printed() + offset);
            let found = damp_check(winding, celsius(row.number("air_c")), humidity, no_margin);
            assert_eq!(found.damp, damp, "{offset}; {}", row.cite());
            assert!((found.above_dew_point.as_kelvins() - offset).abs() <= 0.02, "{}", row.cite());
        }
    }
}

/// At 100 % the dew point is the temperature of the air, whatever the coefficients.
#[test]
fn saturated_air_is_at_its_dew_point() {
    let saturated = RelativeHumidity::from_percent(100.0).unwrap();
    for row in points().iter() {
        let air = celsius(row.number("air_c"));
        assert!((dew_point(air, saturated).as_celsius() - air.as_celsius()).abs() < 1e-9, "{}", row.cite());
    }
}
