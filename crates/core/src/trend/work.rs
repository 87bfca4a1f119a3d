//! How many readings the steps of the trend look at: counted in tests only, to keep every step from growing faster than
//! the record.

use std::cell::Cell;

thread_local! {
    static LOOKED_AT: Cell<usize> = const { Cell::new(0) };
}

/// Notes that a step looks at so many readings.
pub(super) fn note(readings: usize) {
    LOOKED_AT.with(|count| count.set(count.get() + readings));
}

/// Looks at readings while `task` runs.
fn during(task: impl FnOnce()) -> usize {
    let before = LOOKED_AT.with(Cell::get);
    task();
    LOOKED_AT.with(Cell::get) - before
}

mod tests {
    use super::super::degenerate::{mohm, ninety};
    use super::super::*;
    use super::*;
    use crate::resistance::Bound;

    fn history(n: usize, kind: usize) -> Stretch {
        let readings = (0..n).map(|k| {
            let t = -8.0 * (n - 1 - k) as f64 / n as f64;
            let scatter = 0.08 * ((k * 7919 % 101) as f64 / 50.0 - 1.0);
            let (bound, fallen, shifted) = (kind == 1 && k < n / 2, kind == 2 && k + 1 == n, kind == 3 && k > n / 2);
            Reading {
                log10_mohm: 2.0 - 0.1 * t + scatter - f64::from(u8::from(fallen)) + f64::from(u8::from(shifted)),
                bound: if bound { Bound::Above } else { Bound::Exact },
                winding_temp_c: (k % 11 > 0).then_some(20.0 + (k * 31 % 23) as f64),
                ..Reading::exact(t, 0.0)
            }
        });
        Stretch::new(readings.collect()).expect("a valid stretch")
    }

    #[test]
    fn sixteen_times_the_readings_are_at_most_twenty_five_times_the_work() {
        for kind in 0..4 {
            let work = |n: usize| {
                let stretch = history(n, kind);
                during(|| {
                    assert!(Summary::of(&stretch).is_some());
                    let fit = fit_lone(&stretch);
                    assert_eq!((fit.fall().is_some(), fit.shift().is_some()), (kind == 2, kind == 3), "{n}, {kind}");
                    std::hint::black_box(fit.crossing(mohm(0.7), ninety()));
                })
            };
            let counts = [400, 1600, 6400, 25_600].map(work);
            assert!(counts[0] > 10 * 400, "nothing was counted: {counts:?}");
            // The number of rounds differs from record to record, but has a limit; squares would make it 256 times.
            assert!(counts.windows(3).all(|three| three[2] <= 25 * three[0]), "kind {kind}: {counts:?}");
            assert!(counts[3] <= 250 * 25_600, "kind {kind}: {counts:?}");
        }
    }
}
