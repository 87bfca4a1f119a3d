//! The program that made a result: its version, and what it was built from and for.

use serde::Serialize;
use std::io::{self, Write};

/// Name and version, as they stand in every file for people.
pub const NAME: &str = concat!("groundwall ", env!("CARGO_PKG_VERSION"));

/// What stands in every result for programs and in every manifest, so that it can be made again by the same program.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Program {
    /// The version.
    pub version: &'static str,
    /// The commit; none where `GROUNDWALL_COMMIT` was not set when the program was compiled.
    pub commit: Option<&'static str>,
    /// Processor and system.
    pub target: String,
    /// The features that were switched on.
    pub features: Vec<&'static str>,
}

impl Program {
    /// The one that is running.
    #[must_use]
    pub fn this() -> Self {
        let features = [("frames", cfg!(feature = "frames")), ("parquet", cfg!(feature = "parquet"))];
        Self {
            version: env!("CARGO_PKG_VERSION"),
            commit: option_env!("GROUNDWALL_COMMIT"),
            // A page in a browser has no system.
            target: format!("{}-{}", std::env::consts::ARCH, std::env::consts::OS).trim_end_matches('-').to_owned(),
            features: features.into_iter().filter_map(|(name, is_on)| is_on.then_some(name)).collect(),
        }
    }
}

/// A result with the program that made it, before its own keys.
#[derive(Serialize)]
struct Signed<T> {
    program: Program,
    #[serde(flatten)]
    result: T,
}

/// Writes a result for programs as JSON, with the program that made it under `program`.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write_json(out: &mut dyn Write, result: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &Signed { program: Program::this(), result }).map_err(io::Error::from)?;
    writeln!(out)
}
