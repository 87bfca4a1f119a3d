//! A workbook with one part replaced, packed so that its reader accepts the archive: what is fuzzed is inside.

#![allow(
    dead_code,
    reason = "a target takes books apart and packs them; the program that writes the corpus only takes apart"
)]

#[path = "../mutation/archive.rs"]
mod archive;

/// The first byte chooses the part; the others are its content.
pub fn with_part(book: &[u8], input: &[u8]) -> Option<Vec<u8>> {
    let (which, content) = input.split_first()?;
    let mut parts = archive::parts(book);
    let which = usize::from(*which) % parts.len().max(1);
    parts.get_mut(which)?.1 = content.to_vec();
    Some(archive::stored(&parts))
}

/// Inputs that give the workbook itself.
pub fn inputs(book: &[u8]) -> Vec<Vec<u8>> {
    let parts = (0..=u8::MAX).zip(archive::parts(book));
    parts.map(|(which, (_, content))| [vec![which], content].concat()).collect()
}
