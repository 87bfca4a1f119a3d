//! Several files in a folder: all of them, or none.

use super::place::{Place, must_not_dangle};
use groundwall_engine::error::Failure;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Writes these files into a folder, which is made if it is not there. Files of these names are replaced; others stay.
///
/// All are on the disk before the first takes its name. If one cannot be written, what was made is removed again.
///
/// # Errors
///
/// A [`Failure`] with the path and the reason.
pub fn write_all(folder: &Path, files: &[(&str, &[u8])]) -> Result<(), Failure> {
    must_not_dangle(folder)?;
    let mut made = Made::default();
    made.folder(folder).map_err(|error| unmade(folder, &error))?;
    let mut parts = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(name);
        if let Place::File(place) = Place::find(&path)? {
            parts.push((path, place.is_taken(), place.begin()?.write(bytes)?));
        }
    }
    for (path, is_taken, part) in parts {
        if is_taken {
            part.replace()?;
        } else {
            part.put_new()?;
            made.0.push(path);
        }
    }
    made.0.clear();
    Ok(())
}

/// Files and folders that were made; they are removed again, the last one first, unless all are.
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

/// A folder that cannot be made: a file in its way is reported as such.
fn unmade(folder: &Path, error: &io::Error) -> Failure {
    match error.kind() {
        io::ErrorKind::AlreadyExists => Failure::unwritable(folder, &io::ErrorKind::NotADirectory.into()),
        _ => Failure::unwritable(folder, error),
    }
}
