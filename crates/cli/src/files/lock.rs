//! A lock against two planners at once: a file beside the master that the system itself keeps for one holder.
//!
//! Whoever holds it and ends, however abruptly, gives it back, because the lock belongs to the open file and not to its
//! name. The file therefore stays where it is: taking it away while another waits for it would let a third in.

use groundwall_engine::error::Failure;
use std::ffi::OsString;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Time between two tries.
const PAUSE: Duration = Duration::from_millis(25);

/// The right to write a master, given back when this goes out of scope.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

/// A hidden name beside a file: `.plant.csv.lock`.
pub(crate) fn beside(place: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(place.file_name().unwrap_or_default());
    name.push(ending);
    place.with_file_name(name)
}

/// Takes the lock of a master, and waits for it at most so long.
///
/// # Errors
///
/// A [`Failure`] when another holds it all the while, or the folder allows no such file.
pub fn take(place: &Path, wait: Duration) -> Result<Lock, Failure> {
    let path = beside(place, ".lock");
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(|error| Failure::unwritable(place, &error))?;
    let end = Instant::now() + wait;
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(Lock { _file: file }),
            Err(TryLockError::WouldBlock) if Instant::now() < end => std::thread::sleep(PAUSE),
            Err(TryLockError::WouldBlock) => {
                return Err(Failure::ours(format!(
                    "{}: somebody else is adding to it; nothing was written after waiting {} s",
                    place.display(),
                    wait.as_secs()
                ))
                .hint("try again, or wait longer with --wait SECONDS"));
            }
            Err(TryLockError::Error(error)) => {
                return Err(Failure::ours(format!("{}: cannot be locked: {error}", path.display()))
                    .hint("keep the master on a disk that knows locks, such as one of this machine"));
            }
        }
    }
}
