//! Words out of a set: what else there is to choose from is in the refusal.

use encoding_rs::Encoding;
use groundwall::assess::Action;
use groundwall::nameplate::{Construction, Insulation, LimitBasis};
use groundwall::record::validate::TestRules;
use groundwall::record::{Item, Procedure, Scope};

/// Reads a construction from its word.
///
/// # Errors
///
/// A message with the accepted words.
pub fn construction(text: &str) -> Result<Construction, String> {
    let words = Construction::WORDS.map(|(_, word)| word).join(", ");
    Construction::read(text).ok_or_else(|| format!("a construction is one of {words}"))
}

/// A cell of the record of a test, checked as the cell of its column is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemText {
    /// The item.
    pub item: Item,
    /// As it was given.
    pub text: String,
}

/// A cell of the record of a test.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn item(item: Item, text: &str) -> Result<ItemText, String> {
    let mut procedure = Procedure::default();
    match TestRules::default().read_item(&mut procedure, item, text) {
        Ok(()) => Ok(ItemText { item, text: text.to_owned() }),
        Err(fault) => Err(fault.rule),
    }
}

/// What a limit is compared with.
///
/// # Errors
///
/// A message with the accepted words.
pub fn basis(text: &str) -> Result<LimitBasis, String> {
    LimitBasis::read(text).ok_or_else(|| "a basis is as-read or reference".to_owned())
}

/// Reads an insulation family from its word.
///
/// # Errors
///
/// A message with the accepted words.
pub fn insulation(text: &str) -> Result<Insulation, String> {
    let words = Insulation::WORDS.map(|(_, word)| word).join(", ");
    Insulation::read(text).ok_or_else(|| format!("an insulation is one of {words}"))
}

/// A scope: `winding`, `winding+cable`, `cable` or `circuit`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn scope(text: &str) -> Result<Scope, String> {
    Scope::read(text).ok_or_else(|| "a scope is winding, winding+cable, cable or circuit".to_owned())
}

/// Reads an action from its word.
///
/// # Errors
///
/// A message with the accepted words.
pub fn action(text: &str) -> Result<Action, String> {
    let words = Action::ALL.map(Action::word).join(", ");
    Action::read(text).ok_or_else(|| format!("an action is one of {words}"))
}

/// What parts the cells: `,`, `;`, `tab`, or the words for them.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn delimiter(text: &str) -> Result<u8, String> {
    match text.to_lowercase().as_str() {
        "," | "comma" => Ok(b','),
        ";" | "semicolon" => Ok(b';'),
        "\t" | "\\t" | "tab" => Ok(b'\t'),
        _ => Err("a delimiter is comma, semicolon or tab".to_owned()),
    }
}

/// The name of an encoding.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn encoding(text: &str) -> Result<&'static Encoding, String> {
    Encoding::for_label(text.as_bytes())
        .ok_or_else(|| "an encoding is one such as utf-8, utf-16le, utf-16be, windows-1252, windows-1251".to_owned())
}
