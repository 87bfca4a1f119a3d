//! Workbooks of the open document format: one part of a good one is replaced.

#![no_main]

mod book;
mod history;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Some(book) = book::with_part(include_bytes!("../../tests/cli/data/odfpy.ods"), bytes) {
        history::read(&book);
    }
});
