//! What a doubtful temperature leaves of the latest reading.

use crate::assess::finding::{Asks, Finding};
use crate::assess::view::View;
use crate::resistance::Measured;
use crate::units::three_digits;

/// How many times the minimum the latest reading keeps at the worst likely temperature.
pub(super) fn worst_margin(view: &View<'_>, factor: f64) -> Option<f64> {
    let as_read = view.latest()?.0.as_read?;
    let floor = match as_read {
        Measured::Exact(r) | Measured::Above(r) => r,
        Measured::Below(_) | Measured::OffScale => return None,
    };
    Some(floor.as_megohms() * factor / view.case.minimum.resistance.as_megohms())
}

/// What a doubtful temperature leaves of the latest reading.
pub(super) struct Doubt {
    /// How many times the minimum the reading keeps at the worst likely temperature; none where that cannot be said.
    margin: Option<f64>,
    /// The same in words.
    pub(super) in_words: String,
    enough: bool,
}

impl Doubt {
    /// The doubt about a reading that needs to keep so many times the minimum.
    pub(super) fn of(margin: Option<f64>, needed: f64) -> Self {
        let enough = margin.is_some_and(|margin| margin >= needed);
        let in_words = match margin.map(three_digits) {
            Some(times) if enough => {
                format!("even at the worst likely temperature it is {times} times the minimum, which is enough")
            }
            Some(times) => format!(
                "at the worst likely temperature it is {times} times the minimum, and {} are needed",
                three_digits(needed)
            ),
            None => "its value at the reference temperature is unknown".to_owned(),
        };
        Self { margin, in_words, enough }
    }

    /// Puts the doubt into a finding: a repeat where too little is left, before the winding is energised where it may be below the minimum.
    pub(super) fn put_into(&self, finding: Finding) -> Finding {
        let finding = match self.margin {
            Some(margin) => finding.with("margin_at_worst", margin),
            None => finding,
        };
        match (self.enough, self.margin) {
            (true, _) => finding,
            (false, Some(margin)) if margin > 1.0 => finding.asking(Asks::Repeat),
            (false, _) => finding.asking_before_use(Asks::Repeat),
        }
    }
}
