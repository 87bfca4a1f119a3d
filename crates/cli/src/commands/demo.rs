//! `demo`: the invented works, written into a folder, so that everything can be tried without a file of one's own.

use crate::args::DemoArgs;
use crate::console::Console;
use crate::files::Target;
use groundwall_engine::error::{Failure, Status};
use std::fs;
use std::path::{Path, PathBuf};

/// The files, as they lie in this crate; a test holds them equal to those of the project's demo folder.
const FILES: [(&str, &[u8]); 4] = [
    ("README.md", include_bytes!("../../demo/README.md")),
    ("history.csv", include_bytes!("../../demo/history.csv")),
    ("register.csv", include_bytes!("../../demo/register.csv")),
    ("policy.toml", include_bytes!("../../demo/policy.toml")),
];

/// The day for which the works was made.
const AS_OF: &str = "2026-11-25";

/// Writes the demo works: all its files, or none.
///
/// # Errors
///
/// A [`Failure`] when one of the files is there already, or cannot be written.
pub fn run(args: &DemoArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let folder = &args.folder;
    let places = FILES.map(|(name, _)| folder.join(name));
    if let Some(taken) = places.iter().find(|place| place.symlink_metadata().is_ok()) {
        return Err(Failure::usage(format!("{}: this file is there already; nothing was written", taken.display()))
            .hint("name another folder; it is made if there is none"));
    }
    fs::create_dir_all(folder).map_err(|error| unmade(folder, &error))?;
    let mut written: Vec<&PathBuf> = Vec::new();
    for (place, (_, bytes)) in places.iter().zip(FILES) {
        if let Err(failure) = Target::File(place.clone()).write(console.out, |out| out.write_all(bytes)) {
            for place in written {
                // What cannot be taken away again was written whole, and does no harm.
                let _ = fs::remove_file(place);
            }
            return Err(failure);
        }
        written.push(place);
    }
    let [_, history, register, policy] = places.map(|place| quoted(&place));
    console.remark(&format!(
        "{}: an invented works, in {}; no machine and no reading of it ever was",
        folder.display(),
        FILES.map(|(name, _)| name).join(", ")
    ));
    console
        .remark(&format!("next: groundwall assess {history} --register {register} --policy {policy} --as-of {AS_OF}"));
    Ok(Status::Done)
}

/// A folder that cannot be made: a file in its way is told as such.
fn unmade(folder: &Path, error: &std::io::Error) -> Failure {
    match error.kind() {
        std::io::ErrorKind::AlreadyExists => Failure::unwritable(folder, &std::io::ErrorKind::NotADirectory.into()),
        _ => Failure::unwritable(folder, error),
    }
}

/// A path as it is typed: between quotes if it has a blank.
fn quoted(path: &Path) -> String {
    let text = path.display().to_string();
    if text.contains(char::is_whitespace) { format!("\"{text}\"") } else { text }
}
