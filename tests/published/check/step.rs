//! Comparing a step with a case.

use super::Case;
use groundwall::stats::step::{Step, one_step};

/// Location, levels, sums of squares and F, with steps allowed anywhere.
pub(crate) fn step(case: &Case, readings: &[f64]) -> Step {
    let want = &case.computed()["least_squares"];
    let rel = case.tolerance("rel");
    let found = one_step(readings, 1).unwrap();
    assert_eq!(Some(found.location as u64), want["location"].as_u64(), "{}", case.id);
    case.close("mean before", &[found.mean_before], &want["mean_before"], rel);
    case.close("mean after", &[found.mean_after], &want["mean_after"], rel);
    case.close("rss0", &[found.sum_of_squares_level], &want["rss0"], rel);
    case.close("rss1", &[found.sum_of_squares_step], &want["rss1"], rel);
    case.close("F", &[found.f.unwrap()], &want["F"], rel);
    found
}
