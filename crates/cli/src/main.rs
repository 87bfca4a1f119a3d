//! The `groundwall` binary.
fn main() {}
