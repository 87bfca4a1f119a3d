//! A lock against two planners at once: a file beside the master that the system itself keeps for one holder.
//!
//! Whoever holds it and ends, however abruptly, gives it back, because the lock belongs to the open file and not to its
//! name. The file therefore stays where it is once something was written; one that was made for nothing is taken away while it is held, and whoever
//! got the lock of a file that was taken away tries again ([`is_at`]).

use super::place::{beside, is_at};
use groundwall_engine::error::Failure;
use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Time between two tries.
const PAUSE: Duration = Duration::from_millis(25);

/// The right to write a master, given back when this goes out of scope.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

/// Takes the lock of a master, and waits for it at most so long.
///
/// # Errors
///
/// A [`Failure`] when another holds it all the while, or the folder allows no such file.
pub fn take(place: &Path, wait: Duration) -> Result<Lock, Failure> {
    let end = Instant::now() + wait;
    let mut opened = open(place, place)?;
    loop {
        let Opened { path, file, .. } = &opened;
        match file.try_lock() {
            Ok(()) if is_at(file, path) => return Ok(Lock { _file: opened.file }),
            Ok(()) => opened = open(place, place)?,
            Err(TryLockError::WouldBlock) if Instant::now() < end => std::thread::sleep(PAUSE),
            Err(TryLockError::WouldBlock) => {
                return Err(Failure::internal(format!(
                    "{}: somebody else is adding to it; nothing was written after waiting {} s",
                    place.display(),
                    wait.as_secs()
                ))
                .hint("try again, or wait longer with --wait SECONDS"));
            }
            Err(TryLockError::Error(error)) => {
                return Err(Failure::internal(format!("{}: cannot be locked: {error}", path.display()))
                    .hint("keep the master on a disk that supports file locking, such as a local one"));
            }
        }
    }
}

/// The file of a lock, not held yet.
#[derive(Debug)]
pub(crate) struct Opened {
    /// Where it is.
    pub(crate) path: PathBuf,
    pub(crate) file: File,
    /// Whether it was not there before.
    pub(crate) is_new: bool,
}

/// Opens the file of the lock of a place, and makes it if there is none. One that somebody else made may only be readable, which is
/// enough. It is never opened through a link, which would make its target, nor is a pipe, which would wait for its other end.
///
/// # Errors
///
/// A [`Failure`] that names the place as `given`.
pub(crate) fn open(given: &Path, place: &Path) -> Result<Opened, Failure> {
    let path = beside(place, ".lock");
    let found = path.symlink_metadata();
    let is_missing = found.is_err();
    let opened = match found {
        Ok(found) if !found.is_file() => {
            let (given, path) = (given.display(), path.display());
            let message = format!("{given}: cannot be written: {path} is in the way and is not a file");
            return Err(Failure::usage(message).hint("move it elsewhere"));
        }
        Ok(_) => OpenOptions::new().write(true).open(&path),
        Err(_) => OpenOptions::new().create_new(true).write(true).open(&path),
    };
    let is_new = is_missing && opened.is_ok();
    if let (true, Ok(file)) = (is_new, &opened) {
        let_all_read(file);
    }
    let opened = match opened {
        // Another run has just made it.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => OpenOptions::new().write(true).open(&path),
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied && path.is_file() => File::open(&path),
        opened => opened,
    };
    match opened {
        Ok(file) => Ok(Opened { path, file, is_new }),
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied && path.is_file() => {
            let (given, path) = (given.display(), path.display());
            let message = format!("{given}: cannot be written: you may not read its lock {path}");
            Err(Failure::usage(message).hint("ask its owner for the right to read it; it holds nothing"))
        }
        Err(error) => Err(Failure::unwritable(given, &error)),
    }
}

/// Lets everybody read a new lock, whatever the umask is. The lock is empty, and everyone who may write the master must be able to open it.
#[cfg(unix)]
fn let_all_read(file: &File) {
    use std::os::unix::fs::PermissionsExt;
    if let Ok(found) = file.metadata() {
        let mode = found.permissions().mode() | 0o444;
        // If the rights cannot be changed, only the owner can use the lock; the error that others get names it.
        let _ = file.set_permissions(std::fs::Permissions::from_mode(mode));
    }
}

#[cfg(not(unix))]
const fn let_all_read(_: &File) {}

/// Whether a lock that fails so is not needed: in a browser the files are in the memory of one run.
pub(crate) fn is_alone(error: &io::Error) -> bool {
    cfg!(target_family = "wasm") && error.kind() == io::ErrorKind::Unsupported
}
