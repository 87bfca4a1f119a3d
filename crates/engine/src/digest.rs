//! Digests of files.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// SHA-256 of the bytes, in lower-case hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Bytes as hexadecimal digits.
pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digest_of_abc_is_the_published_one() {
        // FIPS 180-2, appendix B.1.
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
