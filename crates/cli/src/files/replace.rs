//! Replaces a master whole or not at all: written beside it, brought to the disk, renamed over it.
//!
//! Whoever reads the master at any instant, or after a loss of power at any instant, sees the old one or the new one. The
//! previous master is kept as `NAME.bak`, or under the next name that is free, written the same way. The caller holds the [`lock`](super::lock).

use super::Input;
use super::place::{Place, copies_of, must_not_dangle, whereabouts};
use groundwall_engine::error::Failure;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Where the previous master is kept: the first name that is free, or holds an earlier state of the master. Rows of a master are never
/// altered, so such a state is what the master begins with. Any other file of that name is somebody's.
fn backup_of(place: &Path, old: &[u8], read: &[Input]) -> Result<PathBuf, Failure> {
    let is_ours = |copy: &PathBuf| match copy.symlink_metadata() {
        Ok(found) => {
            found.is_file()
                && found.len() <= old.len() as u64
                && fs::read(copy).is_ok_and(|copy| old.starts_with(&copy))
        }
        Err(_) => true,
    };
    let copy = copies_of(place).find(is_ours).unwrap_or_else(|| place.to_owned());
    let is_copy = |input: &&Input| matches!(input, Input::File(file) if whereabouts(file) == whereabouts(&copy));
    match read.iter().find(is_copy) {
        Some(file) => {
            let message = format!("{file}: this file is read, and the copy of the master would be written over it");
            Err(Failure::usage(message).hint("give it another name"))
        }
        None => Ok(copy),
    }
}

/// Where the file behind a path lies, links followed; none if there is none.
///
/// # Errors
///
/// A [`Failure`] when the path is not an ordinary file.
pub fn place_of(path: &Path) -> Result<Option<PathBuf>, Failure> {
    let name = path.display().to_string();
    if path.as_os_str() == "-" {
        return Err(Failure::usage("--to is -; the master is a file that rows are put into").hint("name a file"));
    }
    match std::fs::metadata(path) {
        Ok(found) if found.is_file() => {
            std::fs::canonicalize(path).map(Some).map_err(|error| Failure::unreadable(&name, &error))
        }
        Ok(found) if found.is_dir() => Err(Failure::unreadable(&name, &io::ErrorKind::IsADirectory.into())),
        Ok(_) => Err(Failure::usage(format!("{name}: this is a device or a pipe, not a file")).hint("name a file")),
        Err(error) if error.kind() == io::ErrorKind::NotFound => must_not_dangle(path).map(|()| None),
        Err(error) => Err(Failure::unreadable(&name, &error)),
    }
}

/// Puts `new` into the place of `old`, and gives the name of the backup in which that stays; none where there was no master. `read` are
/// the files that the new rows come from.
///
/// # Errors
///
/// A [`Failure`] when the disk says no, when the backup is one of the files that were read, or when somebody changed the master since it
/// was read. It is then as it was.
pub fn replace(path: &Path, old: Option<&[u8]>, new: &[u8], read: &[Input]) -> Result<Option<PathBuf>, Failure> {
    let Place::File(place) = Place::find(path)? else {
        return Err(
            Failure::usage(format!("{}: this is a device or a pipe, not a file", path.display())).hint("name a file")
        );
    };
    let part = place.begin()?.write(new)?;
    let Some(old) = old else { return part.put_new().map(|()| None) };
    must_be_as_read(path, old)?;
    // The old master is on the disk as the backup before the new one takes its place.
    let backup = backup_of(path, old, read)?;
    place.begin_at(backup.clone())?.write(old)?.replace()?;
    part.replace().map(|()| Some(backup))
}

/// Refuses a master that is not the one that was read.
fn must_be_as_read(path: &Path, old: &[u8]) -> Result<(), Failure> {
    if fs::read(path).is_ok_and(|now| now == old) {
        return Ok(());
    }
    Err(Failure::internal(format!("{}: somebody changed it meanwhile; nothing was written", path.display()))
        .hint("close it in other programs and try again"))
}
