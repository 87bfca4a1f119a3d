//! What a page may load and run: its own style and script, told by their digests, and pictures beside it.

use crate::digest::base64;
use sha2::{Digest, Sha256};

/// The content security policy of a page.
pub(super) fn policy(style: &str, script: Option<&str>, fonts: bool) -> String {
    let fonts = if fonts { "; font-src data:" } else { "" };
    let script = script.map_or_else(|| "'none'".to_owned(), source);
    // Pages are opened from a folder as often as from a server: `file:` is what 'self' means there.
    format!(
        "default-src 'none'; style-src {}; script-src {script}; img-src 'self' file: data:; base-uri 'none'; form-action 'none'{fonts}",
        source(style)
    )
}

/// An inline text as the policy names it.
fn source(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inline_text_is_named_by_its_digest() {
        // CSP Level 3, 8.3: the example `alert('Hello, world.');`.
        assert_eq!(source("alert('Hello, world.');"), "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='");
    }

    #[test]
    fn a_page_without_script_runs_none() {
        assert!(policy("a{}", None, false).contains("script-src 'none';"));
        assert!(policy("a{}", None, true).ends_with("; font-src data:"));
        assert!(!policy("a{}", None, false).contains("font-src"));
    }
}
