//! A history of any bytes, read, judged and filed as in the mutation bench: the same rules must hold.

#[path = "../dice.rs"]
mod dice;
#[path = "../mutation/trial.rs"]
mod trial;

/// Reads a history.
///
/// # Panics
///
/// When a rule is broken.
pub fn read(bytes: &[u8]) {
    // What is done beside reading depends on the input alone, so that it can be done again.
    let mut dice = dice::Dice::new(1, bytes.len() as u64);
    if let Err(rule) = trial::trial(bytes, &mut dice) {
        panic!("{rule}");
    }
}
