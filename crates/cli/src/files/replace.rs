//! Replaces a master whole or not at all: written beside it, brought to the disk, renamed over it.
//!
//! Whoever reads the master at any instant, or after a loss of power at any instant, sees the old one or the new one. The
//! previous master is kept as `NAME.bak`, written the same way. The caller holds the [`lock`](super::lock).

use super::place::{Place, must_not_dangle};
use groundwall_engine::error::Failure;
use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Where the previous master is kept.
#[must_use]
pub fn backup_of(place: &Path) -> PathBuf {
    let mut name = OsString::from(place.file_name().unwrap_or_default());
    name.push(".bak");
    place.with_file_name(name)
}

/// Where the file behind a path lies, links followed; none if there is none.
///
/// # Errors
///
/// A [`Failure`] when the path is no ordinary file.
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

/// Puts `new` into the place of `old`, which stays as the backup; none where there was no master.
///
/// # Errors
///
/// A [`Failure`] when the disk says no, or when somebody changed the master since it was read. It is then as it was.
pub fn replace(path: &Path, old: Option<&[u8]>, new: &[u8]) -> Result<(), Failure> {
    let Place::File(place) = Place::find(path)? else {
        return Err(
            Failure::usage(format!("{}: this is a device or a pipe, not a file", path.display())).hint("name a file")
        );
    };
    let part = place.begin()?.write(new)?;
    let Some(old) = old else { return part.put_new() };
    must_be_as_read(path, old)?;
    // The old master is on the disk as the backup before the new one takes its place.
    place.begin_at(backup_of(path))?.write(old)?.replace()?;
    part.replace()
}

/// Refuses a master that is not the one that was read.
fn must_be_as_read(path: &Path, old: &[u8]) -> Result<(), Failure> {
    if fs::read(path).is_ok_and(|now| now == old) {
        return Ok(());
    }
    Err(Failure::ours(format!("{}: somebody changed it meanwhile; nothing was written", path.display()))
        .hint("close it in other programs and try again"))
}
