//! Old binary workbooks.

#![no_main]

mod history;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        history::read(bytes);
    }
});
