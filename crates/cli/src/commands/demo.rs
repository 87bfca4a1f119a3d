//! `demo`: the invented plant, written into a folder, so that everything can be tried without a file of one's own.

use crate::args::DemoArgs;
use crate::console::Console;
use crate::files::{made, place::taken};
use groundwall_engine::error::{Failure, Status};
use std::path::{Path, PathBuf};

/// The files, as they lie in this crate; a test holds them equal to those of the project's demo folder.
const FILES: [(&str, &[u8]); 6] = [
    ("README.md", include_bytes!("../../demo/README.md")),
    ("history.csv", include_bytes!("../../demo/history.csv")),
    ("register.csv", include_bytes!("../../demo/register.csv")),
    ("policy.toml", include_bytes!("../../demo/policy.toml")),
    ("jobs.csv", include_bytes!("../../demo/jobs.csv")),
    ("jobs-register.csv", include_bytes!("../../demo/jobs-register.csv")),
];

/// The day for which the plant was made.
const AS_OF: &str = "2026-11-25";

/// Writes the demo plant: all its files, or none.
///
/// # Errors
///
/// A [`Failure`] when one of the files is there already and holds anything else, or cannot be written.
pub fn run(args: &DemoArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let folder = &args.folder;
    let places = FILES.map(|(name, _)| folder.join(name));
    // What holds the same may be left from a run that was killed.
    let is_theirs = |(place, (_, bytes)): &(&PathBuf, &(&str, &[u8]))| {
        place.symlink_metadata().is_ok() && !made::holds(place, bytes)
    };
    if let Some((there, _)) = places.iter().zip(&FILES).find(is_theirs) {
        return Err(taken(there).hint("name another folder; it is made if there is none"));
    }
    made::write_all(folder, &FILES, false)?;
    let [_, history, register, policy, ..] = places.map(|place| quoted(&place));
    console.remark(&format!(
        "{}: an invented plant, in {}; no machine and no reading of it ever was",
        folder.display(),
        FILES.map(|(name, _)| name).join(", ")
    ));
    console
        .remark(&format!("next: groundwall assess {history} --register {register} --policy {policy} --as-of {AS_OF}"));
    Ok(Status::Done)
}

/// A path as it is typed: between quotes if it has a blank.
fn quoted(path: &Path) -> String {
    let text = path.display().to_string();
    if text.contains(char::is_whitespace) { format!("\"{text}\"") } else { text }
}
