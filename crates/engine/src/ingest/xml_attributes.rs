//! What the tags in the XML of workbooks say.

use super::trouble::Trouble;
use quick_xml::XmlVersion;
use quick_xml::events::BytesStart;

pub(super) fn attribute(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>, Trouble> {
    let found = tag.try_get_attribute(name).map_err(|_| Trouble::Damaged)?;
    let value = found.map(|found| found.normalized_value(XmlVersion::Implicit1_0).map(std::borrow::Cow::into_owned));
    value.transpose().map_err(|_| Trouble::Damaged)
}

/// The number of the column, from one, in the name of a cell such as `C7`.
pub(super) fn column_of(place: &str) -> Option<u32> {
    let letters = place.bytes().take_while(u8::is_ascii_alphabetic);
    letters
        .take(4)
        .try_fold(0_u32, |number, letter| Some(26 * number + u32::from(letter.to_ascii_uppercase() - b'A') + 1))
}
