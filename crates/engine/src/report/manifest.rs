//! `manifest.json`: what a report was made from and by, and the digest of every file in it.
//!
//! It is enough to make the same report again, byte for byte, and to tell a report of ours from any other folder.

use crate::digest::sha256;
use crate::ingest::register::Register;
use crate::ingest::{InputLedger, ReadingRules};
use crate::output;
use crate::program::Program;
use chrono::NaiveDate;
use groundwall::policy::keys::Value;
use groundwall::units::{Confidence, Resistance};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Name of the file.
pub const NAME: &str = "manifest.json";
/// What tells a report of ours.
pub const SCHEMA: &str = "groundwall/report/1";

/// A file of a report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Written {
    /// Its path inside the folder, separated by slashes.
    pub path: String,
    /// Its length.
    pub bytes: u64,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

impl Written {
    /// A file with these bytes.
    #[must_use]
    pub fn of(path: &str, bytes: &[u8]) -> Self {
        Self { path: path.to_owned(), bytes: bytes.len() as u64, sha256: sha256(bytes) }
    }
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
    program: Program,
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
    date_format: &'a [String],
    decimal_comma: bool,
    decimal_point: bool,
    sheet: &'a [String],
    skip_sheet: &'a [String],
    encoding: Option<&'static str>,
    delimiter: Option<char>,
    full_scale_mohm: Option<f64>,
}

#[derive(Serialize)]
struct Policy {
    source: Option<Source>,
    rules: BTreeMap<&'static str, BTreeMap<&'static str, Value>>,
}

/// A file that was read once.
#[derive(Clone, Debug, Serialize)]
pub struct Source {
    /// Its name as given.
    pub file: String,
    /// SHA-256 of its bytes; none where it came through standard input.
    pub sha256: Option<String>,
}

/// What a report was made from.
pub struct Made<'a> {
    /// The day of the judgement.
    pub as_of: NaiveDate,
    /// Confidence of every interval.
    pub confidence: Confidence,
    /// How the histories were read.
    pub rules: &'a ReadingRules,
    /// The largest value that the testers can show, if an option named it.
    pub full_scale: Option<Resistance>,
    /// The rules applied.
    pub policy: &'a groundwall::policy::Policy,
    /// The file they come from, if any.
    pub policy_source: Option<Source>,
    /// The register, if any.
    pub register: Option<&'a Register>,
    /// The ledger, one line per input.
    pub input: &'a [InputLedger],
    /// How many series were judged.
    pub series: usize,
    /// How many have a page of their own.
    pub pages: usize,
    /// The files of the report.
    pub files: &'a [Written],
}

/// The text of a manifest.
///
/// # Errors
///
/// None in practice: everything in it can be written as JSON.
pub fn text(made: Made<'_>) -> serde_json::Result<String> {
    let rules = made.rules;
    let manifest = Manifest {
        schema: SCHEMA,
        program: Program::this(),
        as_of: made.as_of.to_string(),
        confidence: made.confidence.as_fraction(),
        reading: Reading {
            date_format: &rules.date_forms,
            decimal_comma: rules.tests.decimal_comma,
            decimal_point: rules.decimal_point,
            sheet: &rules.sheets,
            skip_sheet: &rules.skipped_sheets,
            encoding: rules.encoding.map(encoding_rs::Encoding::name),
            delimiter: rules.delimiter.map(char::from),
            full_scale_mohm: made.full_scale.map(Resistance::as_megohms),
        },
        policy: Policy { source: made.policy_source, rules: output::rules(made.policy) },
        register: made
            .register
            .map(|register| Source { file: register.file.clone(), sha256: Some(register.sha256.clone()) }),
        input: made.input,
        series: made.series,
        pages: made.pages,
        files: made.files,
    };
    serde_json::to_string_pretty(&manifest).map(|text| text + "\n")
}
