//! The `groundwall` binary: everything is in the library, so that it can be tested and timed.

use std::process::ExitCode;

/// Ten million tests are judged in a seventh less processor time than with the system's allocator; `benches/README.md` has the
/// figures.
#[cfg(not(target_family = "wasm"))]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    groundwall_cli::run(std::env::args_os())
}
