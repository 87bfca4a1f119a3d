//! `manifest.json`: what a report was made from and by, and the digest of every file in it.
//!
//! It is enough to make the same report again, byte for byte, and to tell a report of ours from any other folder.

use crate::args::HistoryArgs;
use crate::ingest::source::sha256;
use crate::ingest::{Input, InputLedger};
use crate::output::rules;
use crate::settings::Plan;
use groundwall::policy::keys::Value;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Name of the file.
pub const NAME: &str = "manifest.json";
/// What tells a report of ours.
pub const SCHEMA: &str = "groundwall/report/1";

/// A file of a report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Written {
    /// Its path inside the folder, parted by slashes.
    pub path: String,
    /// Its length.
    pub bytes: u64,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

/// As much of a manifest as tells whose folder it is in and what belongs to it.
#[derive(Debug, Deserialize)]
pub struct Claim {
    /// The schema.
    pub schema: String,
    /// The files.
    pub files: Vec<Written>,
}

#[derive(Serialize)]
struct Manifest<'a> {
    schema: &'static str,
    program: &'static str,
    as_of: String,
    confidence: f64,
    reading: Reading<'a>,
    policy: Policy,
    register: Option<Source>,
    input: &'a [InputLedger],
    series: usize,
    pages: usize,
    files: &'a [Written],
}

/// The options that say how files were read; null where the default was used.
#[derive(Serialize)]
struct Reading<'a> {
    date_format: Option<&'a str>,
    decimal_comma: bool,
    decimal_point: bool,
    sheet: Option<&'a str>,
    encoding: Option<&'static str>,
    delimiter: Option<char>,
    full_scale_mohm: Option<f64>,
}

#[derive(Serialize)]
struct Policy {
    source: Option<Source>,
    rules: BTreeMap<&'static str, BTreeMap<&'static str, Value>>,
}

#[derive(Serialize)]
struct Source {
    file: String,
    /// None where it came through standard input.
    sha256: Option<String>,
}

/// The text of a manifest.
///
/// # Errors
///
/// None in practice: everything in it can be written as JSON.
pub fn text(
    args: &HistoryArgs,
    plan: &Plan,
    input: &[InputLedger],
    counts: (usize, usize),
    files: &[Written],
) -> serde_json::Result<String> {
    let policy_source = args.policy.as_ref().map(|input| Source {
        file: input.to_string(),
        sha256: match input {
            Input::Stdin => None,
            Input::File(_) => input.read().ok().map(|bytes| sha256(&bytes)),
        },
    });
    let manifest = Manifest {
        schema: SCHEMA,
        program: concat!("groundwall ", env!("CARGO_PKG_VERSION")),
        as_of: plan.as_of.to_string(),
        confidence: plan.confidence.as_fraction(),
        reading: Reading {
            date_format: args.date_format.as_deref(),
            decimal_comma: args.decimal_comma,
            decimal_point: args.decimal_point,
            sheet: args.sheet.as_deref(),
            encoding: args.encoding.map(encoding_rs::Encoding::name),
            delimiter: args.delimiter.map(char::from),
            full_scale_mohm: args.full_scale.map(groundwall::units::Resistance::as_megohms),
        },
        policy: Policy { source: policy_source, rules: rules(&plan.policy) },
        register: plan
            .register
            .as_ref()
            .map(|register| Source { file: register.file.clone(), sha256: Some(register.sha256.clone()) }),
        input,
        series: counts.0,
        pages: counts.1,
        files,
    };
    serde_json::to_string_pretty(&manifest).map(|text| text + "\n")
}
