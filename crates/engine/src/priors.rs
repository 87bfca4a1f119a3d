//! The file of what a fleet taught, so that parts of it, and single readings, are judged without the whole.

use crate::digest::sha256;
use crate::error::Failure;
use crate::program::write_json;
use groundwall::assess::{Learnt, NotAsLearnt};
use serde::{Deserialize, Serialize};
use std::io::{self, Write};

/// Names what such a file holds; the number rises with every change of its keys or of their meaning.
pub const SCHEMA: &str = "groundwall/priors/1";

/// What to do about a file that is none of ours, or no longer as it was written.
const WRITE_ANEW: &str = "write it again with `groundwall assess --save-priors`";

/// What a fleet taught, and the file that it is from.
#[derive(Clone, Debug)]
pub struct Priors {
    /// The file, as messages name it.
    pub name: String,
    /// What was learnt.
    pub learnt: Learnt,
}

#[derive(Serialize)]
struct Written<'a> {
    schema: &'static str,
    sha256: String,
    learnt: &'a Learnt,
}

#[derive(Deserialize)]
struct Named {
    schema: Option<String>,
}

#[derive(Deserialize)]
struct Held {
    sha256: String,
    learnt: Learnt,
}

/// Writes what a fleet taught as JSON, with the digest by which a changed file is known.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, learnt: &Learnt) -> io::Result<()> {
    write_json(out, &Written { schema: SCHEMA, sha256: digest(learnt)?, learnt })
}

fn digest(learnt: &Learnt) -> io::Result<String> {
    Ok(sha256(&serde_json::to_vec(learnt).map_err(io::Error::from)?))
}

impl Priors {
    /// Reads the file.
    ///
    /// # Errors
    ///
    /// A [`Failure`] where it is none, is of another schema, or was changed since it was written.
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, Failure> {
        let unreadable = |error: serde_json::Error| {
            Failure::usage(format!("{name}: these priors cannot be read: {error}")).hint(WRITE_ANEW)
        };
        let named: Named = serde_json::from_slice(bytes).map_err(unreadable)?;
        if named.schema.as_deref() != Some(SCHEMA) {
            let found = named.schema.unwrap_or_else(|| "missing".to_owned());
            return Err(
                Failure::usage(format!("{name}: schema is {found}; this version reads {SCHEMA}")).hint(WRITE_ANEW)
            );
        }
        let Held { sha256, learnt } = serde_json::from_slice(bytes).map_err(unreadable)?;
        let now = digest(&learnt).map_err(|error| Failure::internal(error.to_string()))?;
        if now != sha256 {
            return Err(Failure::usage(format!(
                "{name}: sha256 is {sha256}, and what follows has {now}; priors are used as they were learnt, and these were changed"
            ))
            .hint(WRITE_ANEW));
        }
        Ok(Self { name: name.to_owned(), learnt })
    }

    /// A refusal to judge under them.
    #[must_use]
    pub fn refused(&self, why: &NotAsLearnt) -> Failure {
        refused(&self.name, why)
    }
}

/// Why what was given under a name does not fit to what else was given.
#[must_use]
pub fn refused(name: &str, why: &NotAsLearnt) -> Failure {
    Failure::usage(format!("{name}: {why}")).hint(why.hint())
}
