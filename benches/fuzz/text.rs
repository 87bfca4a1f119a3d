//! Text in any encoding.

#![no_main]

mod history;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| history::read(bytes));
