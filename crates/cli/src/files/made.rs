//! Several files in a folder: all of them, or none.

use super::place::{Place, must_not_dangle};
use super::result::may_be_replaced;
use super::sink::{kept, not_replaced};
use super::unfinished::Unfinished;
use groundwall_engine::error::Failure;
use std::fs;
use std::io;
use std::path::Path;

/// Writes these files into a folder, which is made if it is not there, and gives what is to be said of it. A file of such a name is replaced if
/// it is a result of the same kind; any other by `force` alone, which keeps a copy of it. Where it holds the same already, and
/// under other names, nothing changes.
///
/// All are on the disk before the first takes its name. If one cannot be written, or the run is ended by a signal, what was made is
/// removed again.
///
/// # Errors
///
/// A [`Failure`] with the path and the reason.
pub fn write_all(folder: &Path, files: &[(&str, &[u8])], force: bool) -> Result<Vec<String>, Failure> {
    must_not_dangle(folder)?;
    let mut made = Made::default();
    made.folder(folder).map_err(|error| unmade(folder, &error))?;
    let mut parts = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(name);
        if holds(&path, bytes) {
            continue;
        }
        if let Place::File(place) = Place::find(&path)? {
            let part = place.begin()?.write(bytes)?;
            let unread = |error: io::Error| Failure::unreadable(&path.display().to_string(), &error);
            let is_theirs = place.is_taken() && !may_be_replaced(&path, part.path()).map_err(unread)?;
            if is_theirs && !force {
                let hint = "give another folder, or use --force, which keeps a copy of the old file";
                return Err(not_replaced(&path).hint(hint));
            }
            parts.push((path, place, is_theirs, part));
        }
    }
    let mut remarks = Vec::new();
    for (path, place, is_theirs, part) in parts {
        if is_theirs {
            remarks.push(kept(&path, &place.keep_copy()?));
        }
        if place.is_taken() {
            part.replace()?;
        } else {
            made.0.push(part.put_unfinished()?);
        }
    }
    Unfinished::keep(&made.0);
    Ok(remarks)
}

/// Whether a file holds these bytes.
#[must_use]
pub fn holds(path: &Path, bytes: &[u8]) -> bool {
    path.symlink_metadata().is_ok_and(|found| found.is_file() && found.len() == bytes.len() as u64)
        && fs::read(path).is_ok_and(|found| found == bytes)
}

/// Files and folders that were made; they are removed again, the last one first, unless all are.
#[derive(Default)]
struct Made(Vec<Unfinished>);

impl Made {
    /// Makes a folder and those it is in.
    fn folder(&mut self, folder: &Path) -> io::Result<()> {
        let missing: Vec<&Path> =
            folder.ancestors().take_while(|around| !around.as_os_str().is_empty() && !around.exists()).collect();
        for folder in missing.into_iter().rev() {
            match Unfinished::make(folder.to_owned(), |folder| fs::create_dir(folder)) {
                Err(_) if folder.is_dir() => {}
                made => self.0.push(made?.0),
            }
        }
        if folder.is_dir() { Ok(()) } else { Err(io::ErrorKind::NotADirectory.into()) }
    }
}

impl Drop for Made {
    fn drop(&mut self) {
        while let Some(last) = self.0.pop() {
            drop(last);
        }
    }
}

/// A folder that cannot be made: a file in its way is reported as such.
fn unmade(folder: &Path, error: &io::Error) -> Failure {
    match error.kind() {
        io::ErrorKind::AlreadyExists => Failure::unwritable(folder, &io::ErrorKind::NotADirectory.into()),
        _ => Failure::unwritable(folder, error),
    }
}
