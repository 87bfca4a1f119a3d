//! Annual flow of the Nile at Aswan, 1871 to 1970: Cobb (1978), Biometrika 65, 243-251.
//!
//! The flow fell in 1899, after the 28th year: the estimate of that paper and of every later one (quoted from memory). The
//! scan of the trend for an unannounced shift must find it, with flows in thousands of the paper's unit so that the break
//! and the scatter are of the size that the scan is made for.

use crate::check::Case;
use groundwall::resistance::Bound;
use groundwall::trend::{Reading, Stretch, fit_lone};
use groundwall::units::{Resistance, TemperatureDifference, Years};

#[test]
fn the_scan_for_a_shift_finds_the_dam() {
    let case = Case::named("nile_cobb_1978.json", "nile-step");
    let flows = case.column("flow");
    let at_reference = TemperatureDifference::from_kelvins(0.0).unwrap();
    let readings = flows.iter().enumerate().map(|(i, flow)| {
        let year = Years::from_years(i as f64 - 100.0).unwrap();
        Reading::new(year, Bound::Exact, Resistance::from_log10_megohms(flow / 1000.0)).at_temperature(at_reference)
    });
    let fit = fit_lone(&Stretch::new(readings.collect()).unwrap());
    let shift = fit.shift().expect("the break of 1899 is a shift");
    assert_eq!(shift.index, 28);
    // Means of 1097.75 and 849.97 before and after (computed from the series): a step of -0.248 thousand.
    assert!((shift.step_log10 + 0.248).abs() < 0.06, "{shift:?}");
    assert!(fit.used().len() == 72);
}
