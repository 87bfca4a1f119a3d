//! Whether the XML of a workbook is whole: every element that begins also ends, in the right order.
//!
//! The reader of open documents waits for the end of each element and would wait for ever behind the end of a text that was
//! cut or damaged; so this is looked at before.

/// Whether all elements of a text are closed, each inside the one it stands in, and nothing else is left open.
#[must_use]
pub fn is_whole(text: &[u8]) -> bool {
    let mut open: Vec<&[u8]> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.iter().position(|byte| *byte == b'<') {
        rest = &rest[at + 1..];
        let skipped = [(&b"!--"[..], &b"-->"[..]), (b"![CDATA[", b"]]>"), (b"?", b"?>")]
            .iter()
            .find(|(begin, _)| rest.starts_with(begin))
            .map(|(begin, end)| behind(&rest[begin.len()..], end));
        if let Some(behind) = skipped {
            let Some(behind) = behind else { return false };
            rest = behind;
            continue;
        }
        // Declarations of document types have no place in a workbook.
        if rest.starts_with(b"!") {
            return false;
        }
        let Some(length) = length_of_tag(rest) else { return false };
        let tag = &rest[..length];
        rest = &rest[length + 1..];
        if let Some(name) = tag.strip_prefix(b"/") {
            if open.pop() != Some(name.trim_ascii()) {
                return false;
            }
        } else if !tag.ends_with(b"/") {
            let name = tag.split(u8::is_ascii_whitespace).next().unwrap_or_default();
            if name.is_empty() {
                return false;
            }
            open.push(name);
        }
    }
    open.is_empty()
}

fn behind<'a>(text: &'a [u8], end: &[u8]) -> Option<&'a [u8]> {
    let at = text.windows(end.len()).position(|part| part == end)?;
    Some(&text[at + end.len()..])
}

/// The length of a tag up to its `>`; those between quotes do not end it.
fn length_of_tag(text: &[u8]) -> Option<usize> {
    let mut quote = None;
    for (at, byte) in text.iter().enumerate() {
        match (quote, byte) {
            (None, b'>') => return Some(at),
            (None, b'"' | b'\'') => quote = Some(*byte),
            (Some(open), byte) if open == *byte => quote = None,
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_cut_or_crossed_is_not_whole() {
        for whole in
            ["", "<?xml version=\"1.0\"?>\n<a b='>'><c/><!-- <d> --><e >x</e ><![CDATA[<f>]]></a>", "text & more"]
        {
            assert!(is_whole(whole.as_bytes()), "{whole}");
        }
        for damaged in
            ["<a>", "<a></b>", "<a><b></a></b>", "</a>", "<a", "<a b=\">", "<!-- ", "<>", "<!DOCTYPE a>", "<?x"]
        {
            assert!(!is_whole(damaged.as_bytes()), "{damaged}");
        }
    }
}
