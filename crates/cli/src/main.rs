//! The `groundwall` binary: everything is in the library, so that it can be tested and timed.

use std::process::ExitCode;

fn main() -> ExitCode {
    groundwall_cli::run(std::env::args_os())
}
