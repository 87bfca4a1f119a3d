//! ln Φ and the inverse Mills ratio from a table, for fits that ask for thousands of them.

use super::normal::{inverse_mills, ln_normal_lower_tail};
use std::sync::LazyLock;

/// The table covers this range; below it the functions themselves are asked, above it the tail is nothing.
const LOW: f64 = -12.0;
const HIGH: f64 = 8.0;
const CELLS_PER_UNIT: f64 = 8.0;
const CELLS: usize = ((HIGH - LOW) * CELLS_PER_UNIT) as usize;

/// A constant that is worked out instead of written down: the quintic of each cell in the place inside it, 0 to 1.
static QUINTICS: LazyLock<[[f64; 6]; CELLS]> = LazyLock::new(|| std::array::from_fn(quintic));

/// The table, borrowed once for many questions.
#[derive(Clone, Copy)]
pub(crate) struct NormalTable(&'static [[f64; 6]; CELLS]);

impl NormalTable {
    pub(crate) fn new() -> Self {
        Self(&QUINTICS)
    }

    /// ln Φ(q), to 1e-10.
    #[inline]
    pub(crate) fn ln_lower_tail(self, q: f64) -> f64 {
        match self.cell(q) {
            Some((c, s)) => c[0] + s * (c[1] + s * (c[2] + s * (c[3] + s * (c[4] + s * c[5])))),
            None if q >= HIGH => 0.0,
            None => ln_normal_lower_tail(q),
        }
    }

    /// φ(q)/Φ(q), the slope of ln Φ, to 1e-8 and one part in 10,000.
    #[inline]
    pub(crate) fn inverse_mills(self, q: f64) -> f64 {
        match self.cell(q) {
            Some((c, s)) => {
                CELLS_PER_UNIT * (c[1] + s * (2.0 * c[2] + s * (3.0 * c[3] + s * (4.0 * c[4] + s * 5.0 * c[5]))))
            }
            None if q >= HIGH => 0.0,
            None => inverse_mills(q),
        }
    }

    /// The quintic that holds for `q`, and the place inside its cell.
    #[inline]
    fn cell(self, q: f64) -> Option<(&'static [f64; 6], f64)> {
        let place = (q - LOW) * CELLS_PER_UNIT;
        // The cast of a place below 0 would give cell 0.
        let cell = if place >= 0.0 { place as u32 as usize } else { CELLS };
        self.0.get(cell).map(|c| (c, place - cell as f64))
    }
}

/// The quintic with the values, slopes and curvatures of ln Φ at both ends of a cell.
fn quintic(cell: usize) -> [f64; 6] {
    let width = 1.0 / CELLS_PER_UNIT;
    let [a, b] = [cell, cell + 1].map(|node| {
        let q = LOW + width * node as f64;
        let mills = inverse_mills(q);
        [ln_normal_lower_tail(q), width * mills, -width * width * mills * (mills + q)]
    });
    let rise = b[0] - a[0] - a[1] - 0.5 * a[2];
    let slope = b[1] - a[1] - a[2];
    let bend = b[2] - a[2];
    [
        a[0],
        a[1],
        0.5 * a[2],
        10.0 * rise - 4.0 * slope + 0.5 * bend,
        -15.0 * rise + 7.0 * slope - bend,
        6.0 * rise - 3.0 * slope + 0.5 * bend,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_the_function() {
        let table = NormalTable::new();
        for i in -20_000..10_000 {
            let q = f64::from(i) * 1.003e-3;
            let (ln, mills) = (ln_normal_lower_tail(q), inverse_mills(q));
            assert!((table.ln_lower_tail(q) - ln).abs() < 1e-10, "{q}");
            let error = (table.inverse_mills(q) - mills).abs();
            assert!(error < 1e-8 && (q > 8.0 || error < 1e-4 * mills), "{q}: {error:e} of {mills:e}");
        }
    }

    #[test]
    fn any_argument_gives_an_answer() {
        let table = NormalTable::new();
        assert!(table.ln_lower_tail(f64::NEG_INFINITY).is_infinite());
        assert!(table.ln_lower_tail(f64::INFINITY).abs() < 1e-300);
        assert!(table.inverse_mills(1e300).abs() < 1e-300);
        assert!(table.inverse_mills(-1e10) > 9e9);
    }
}
