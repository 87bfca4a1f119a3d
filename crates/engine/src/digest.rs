//! Digests of files, and bytes as text.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::{self, Write};

/// SHA-256 of the bytes, in lower-case hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// A writer that knows the length and the digest of what passed through it.
#[derive(Clone, Debug)]
pub struct Digesting<W> {
    inner: W,
    digest: Sha256,
    bytes: u64,
}

impl<W: Write> Digesting<W> {
    /// Nothing written yet.
    pub fn new(inner: W) -> Self {
        Self { inner, digest: Sha256::new(), bytes: 0 }
    }

    /// How many bytes passed through it, and their SHA-256 in lower-case hexadecimal.
    pub fn finish(self) -> (u64, String) {
        (self.bytes, hexadecimal(&self.digest.finalize()))
    }
}

impl<W: Write> Write for Digesting<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let count = self.inner.write(bytes)?;
        self.digest.update(&bytes[..count]);
        self.bytes += count as u64;
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

/// Bytes as hexadecimal digits.
pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Bytes as text in the alphabet of RFC 4648, section 4.
pub(crate) fn base64(bytes: &[u8]) -> String {
    const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let bits = three.iter().fold(0u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - three.len()));
        for place in 0..4 {
            let sign = ALPHABET[(bits >> (18 - 6 * place)) as usize & 63];
            text.push(if place <= three.len() { char::from(sign) } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digest_of_abc_is_the_published_one() {
        // FIPS 180-2, appendix B.1.
        let published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256(b"abc"), published);
        let mut out = Digesting::new(Vec::new());
        assert!(out.write_all(b"a").and_then(|()| out.write_all(b"bc")).is_ok());
        assert_eq!(out.finish(), (3, published.to_owned()));
    }

    #[test]
    fn base64_follows_the_test_vectors() {
        // RFC 4648, section 10.
        for (plain, coded) in [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
