//! Replaces a master whole or not at all: written beside it, brought to the disk, renamed over it.
//!
//! Whoever reads the master at any instant, or after a loss of power at any instant, sees the old one or the new one. The
//! previous master is kept as `NAME.bak`, written the same way. The names beside the master are always the same, so what a
//! killed run left behind is overwritten by the next; the caller holds the [`lock`](super::lock).

use super::lock::beside;
use groundwall_engine::error::Failure;
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, Permissions};
use std::io::{self, Write as _};
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
        // A link that leads nowhere must not be replaced by a file.
        Err(error) if error.kind() == io::ErrorKind::NotFound && !path.is_symlink() => Ok(None),
        Err(error) => Err(Failure::unreadable(&name, &error)),
    }
}

/// Puts `new` into the place of `old`, which stays as the backup; none where there was no master.
///
/// # Errors
///
/// A [`Failure`] when the disk says no, or when somebody changed the master since it was read. It is then as it was.
pub fn replace(place: &Path, old: Option<&[u8]>, new: &[u8]) -> Result<(), Failure> {
    let permissions = match old {
        Some(_) => Some(writable(place).map_err(|error| Failure::unwritable(place, &error))?),
        None => None,
    };
    let part = write_part(place, new, permissions.clone()).map_err(|error| Failure::unwritable(place, &error))?;
    let outcome = keep_old(place, old, permissions)
        .and_then(|()| fs::rename(&part, place).map_err(|error| Failure::unwritable(place, &error)));
    if outcome.is_err() {
        let _ = fs::remove_file(&part);
    } else {
        sync_folder(place);
    }
    outcome
}

/// Keeps the old master as the backup, if it is still the one that was read.
fn keep_old(place: &Path, old: Option<&[u8]>, permissions: Option<Permissions>) -> Result<(), Failure> {
    let same = match old {
        Some(old) => fs::read(place).is_ok_and(|now| now == old),
        None => !place.exists() && !place.is_symlink(),
    };
    if !same {
        return Err(Failure::ours(format!("{}: somebody changed it meanwhile; nothing was written", place.display()))
            .hint("close it in other programs and try again"));
    }
    let Some(old) = old else { return Ok(()) };
    let backup = backup_of(place);
    let failed = |error: io::Error| Failure::unwritable(&backup, &error);
    let part = write_part(&backup, old, permissions).map_err(failed)?;
    fs::rename(&part, &backup).map_err(|error| {
        let _ = fs::remove_file(&part);
        failed(error)
    })?;
    // Otherwise a loss of power could keep the second rename and not this one.
    sync_folder(place);
    Ok(())
}

fn writable(place: &Path) -> io::Result<Permissions> {
    let permissions = fs::metadata(place)?.permissions();
    if permissions.readonly() { Err(io::ErrorKind::PermissionDenied.into()) } else { Ok(permissions) }
}

/// Writes a file beside the place and brings it to the disk.
fn write_part(place: &Path, bytes: &[u8], permissions: Option<Permissions>) -> io::Result<PathBuf> {
    let part = beside(place, ".part");
    let written = write_whole(&part, bytes, permissions);
    if written.is_err() {
        let _ = fs::remove_file(&part);
    }
    written.map(|()| part)
}

fn write_whole(part: &Path, bytes: &[u8], permissions: Option<Permissions>) -> io::Result<()> {
    // What a killed run left behind, or a link that somebody put there.
    match fs::remove_file(part) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
        _ => {}
    }
    let mut file = OpenOptions::new().write(true).create_new(true).open(part)?;
    file.write_all(bytes)?;
    if let Some(permissions) = permissions {
        file.set_permissions(permissions)?;
    }
    file.sync_all()
}

/// The rename itself reaches the disk with the folder; where folders cannot be opened this is the system's affair.
fn sync_folder(place: &Path) {
    let folder = place.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
