//! `demo`: the invented plant, written into a folder, so that everything can be tried without a file of one's own.

use crate::args::DemoArgs;
use crate::console::Console;
use crate::files::place::{Place, must_not_dangle, taken};
use groundwall_engine::error::{Failure, Status};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The files, as they lie in this crate; a test holds them equal to those of the project's demo folder.
const FILES: [(&str, &[u8]); 4] = [
    ("README.md", include_bytes!("../../demo/README.md")),
    ("history.csv", include_bytes!("../../demo/history.csv")),
    ("register.csv", include_bytes!("../../demo/register.csv")),
    ("policy.toml", include_bytes!("../../demo/policy.toml")),
];

/// The day for which the plant was made.
const AS_OF: &str = "2026-11-25";

/// Writes the demo plant: all its files, or none.
///
/// # Errors
///
/// A [`Failure`] when one of the files is there already, or cannot be written.
pub fn run(args: &DemoArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let folder = &args.folder;
    let places = FILES.map(|(name, _)| folder.join(name));
    if let Some(there) = places.iter().find(|place| place.symlink_metadata().is_ok()) {
        return Err(taken(there).hint("name another folder; it is made if there is none"));
    }
    must_not_dangle(folder)?;
    let mut made = Made::default();
    made.folder(folder).map_err(|error| unmade(folder, &error))?;
    let mut parts = Vec::new();
    for (place, (_, bytes)) in places.iter().zip(FILES) {
        if let Place::File(file) = Place::find(place)? {
            parts.push((place, file.begin()?.write(bytes)?));
        }
    }
    for (place, part) in parts {
        part.put_new()?;
        made.0.push(place.clone());
    }
    made.0.clear();
    let [_, history, register, policy] = places.map(|place| quoted(&place));
    console.remark(&format!(
        "{}: an invented plant, in {}; no machine and no reading of it ever was",
        folder.display(),
        FILES.map(|(name, _)| name).join(", ")
    ));
    console
        .remark(&format!("next: groundwall assess {history} --register {register} --policy {policy} --as-of {AS_OF}"));
    Ok(Status::Done)
}

/// Files and folders that were made; they are removed again, the last one first, unless the demo is complete.
#[derive(Default)]
struct Made(Vec<PathBuf>);

impl Made {
    /// Makes a folder and those it is in.
    fn folder(&mut self, folder: &Path) -> io::Result<()> {
        let missing: Vec<&Path> =
            folder.ancestors().take_while(|around| !around.as_os_str().is_empty() && !around.exists()).collect();
        for folder in missing.into_iter().rev() {
            match fs::create_dir(folder) {
                Err(_) if folder.is_dir() => {}
                made => made.map(|()| self.0.push(folder.to_owned()))?,
            }
        }
        if folder.is_dir() { Ok(()) } else { Err(io::ErrorKind::NotADirectory.into()) }
    }
}

impl Drop for Made {
    fn drop(&mut self) {
        for path in self.0.iter().rev() {
            // A folder in which somebody put something meanwhile stays.
            let _ = if path.is_dir() { fs::remove_dir(path) } else { fs::remove_file(path) };
        }
    }
}

/// A folder that cannot be made: a file in its way is told as such.
fn unmade(folder: &Path, error: &io::Error) -> Failure {
    match error.kind() {
        io::ErrorKind::AlreadyExists => Failure::unwritable(folder, &io::ErrorKind::NotADirectory.into()),
        _ => Failure::unwritable(folder, error),
    }
}

/// A path as it is typed: between quotes if it has a blank.
fn quoted(path: &Path) -> String {
    let text = path.display().to_string();
    if text.contains(char::is_whitespace) { format!("\"{text}\"") } else { text }
}
