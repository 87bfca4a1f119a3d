//! The folder of a report: the old one or the new one, never a mixture.
//!
//! A report is written into a hidden folder beside its place (`.plant.groundwall-part`), brought to the disk, and then put
//! there by renaming: the old report moves aside (`.plant.groundwall-old`), the new one takes its place, the old one is
//! removed. A run that was ended between the two renames left the old one aside; the next run puts it back first. Two runs
//! at once are kept apart by a lock, whose file stays beside the report as that of a master does.
//!
//! A folder is replaced only if it is a report of ours as we left it: every file in it stands in its manifest with the
//! digest it has. What somebody put beside, or wrote into the workbook, is not thrown away.

use super::Input;
use super::lock::beside;
use groundwall_engine::digest::sha256;
use groundwall_engine::error::{Failure, shown};
use groundwall_engine::report::manifest::{Claim, NAME, SCHEMA, Written};
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// Files that file browsers leave behind.
const LEFT_BY_BROWSERS: [&str; 2] = ["Thumbs.db", "desktop.ini"];
/// How deep a strange folder is looked into.
const FOLDERS_DEEP: usize = 4;

/// A report on its way to its place. What was written goes away with it unless it is finished.
#[derive(Debug)]
pub struct Folder {
    place: PathBuf,
    part: PathBuf,
    old: PathBuf,
    finished: bool,
    _lock: File,
}

impl Folder {
    /// Makes ready to write the report of a place, and puts back or takes away what a run left that was ended.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when the place is something else than a report of ours or nothing, when an input lies in it, when
    /// somebody else writes there, or when the folder around it cannot be written.
    pub fn begin<'a>(out: &Path, inputs: impl IntoIterator<Item = &'a Input>) -> Result<Self, Failure> {
        let place = resolved(out)?;
        for input in inputs {
            let Input::File(file) = input else { continue };
            if file.canonicalize().is_ok_and(|file| file.starts_with(&place)) {
                return Err(Failure::usage(format!(
                    "{}: this file is read, and the report would be written over its folder",
                    file.display()
                ))
                .hint("give the report a folder of its own"));
            }
        }
        let lock = lock(out, &beside(&place, ".lock"))?;
        let folder = Self {
            part: beside(&place, ".groundwall-part"),
            old: beside(&place, ".groundwall-old"),
            place,
            finished: false,
            _lock: lock,
        };
        let unwritable = |error: io::Error| Failure::unwritable(out, &error);
        if folder.old.exists() {
            if folder.place.exists() {
                fs::remove_dir_all(&folder.old).map_err(unwritable)?;
            } else {
                fs::rename(&folder.old, &folder.place).map_err(unwritable)?;
            }
        }
        must_be_ours(out, &folder.place)?;
        if folder.part.exists() {
            fs::remove_dir_all(&folder.part).map_err(unwritable)?;
        }
        fs::create_dir(&folder.part).map_err(unwritable)?;
        Ok(folder)
    }

    /// Makes a folder inside it.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason.
    pub fn make(&self, name: &str) -> Result<(), Failure> {
        fs::create_dir(self.part.join(name)).map_err(|error| self.failure(name, &error))
    }

    /// Writes a file of it.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason.
    pub fn write(&self, path: &str, bytes: &[u8]) -> Result<Written, Failure> {
        fs::write(self.part.join(path), bytes).map_err(|error| self.failure(path, &error))?;
        Ok(Written::of(path, bytes))
    }

    /// Brings these files to the disk and puts the folder in its place.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason; the old report is then where it was.
    pub fn finish(mut self, files: &[Written]) -> Result<(), Failure> {
        let synced: Result<Vec<()>, Failure> = files
            .par_iter()
            .map(|file| {
                let synced = OpenOptions::new().write(true).open(self.part.join(&file.path)).and_then(|f| f.sync_all());
                synced.map_err(|error| self.failure(&file.path, &error))
            })
            .collect();
        synced?;
        let around = self.place.parent().unwrap_or(Path::new("."));
        sync_folder(&self.part);
        let here = self.place.exists();
        let moved = if here { fs::rename(&self.place, &self.old) } else { Ok(()) };
        moved.map_err(|error| self.failure("", &error))?;
        if let Err(error) = fs::rename(&self.part, &self.place) {
            if here {
                // Whatever this says, the first reason is the one to tell; the next run puts the old report back too.
                let _ = fs::rename(&self.old, &self.place);
            }
            return Err(self.failure("", &error));
        }
        self.finished = true;
        sync_folder(around);
        // The new report is in its place; what is left of the old one goes with the next run at the latest.
        let _ = fs::remove_dir_all(&self.old);
        Ok(())
    }

    fn failure(&self, path: &str, error: &io::Error) -> Failure {
        let place = if path.is_empty() { self.place.clone() } else { self.place.join(path) };
        Failure::unwritable(&place, error)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if !self.finished {
            let _ = fs::remove_dir_all(&self.part);
        }
    }
}

/// The names in a folder reach the disk with it; where folders cannot be opened this is the system's affair.
fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// The place without links, so that a link stays one and its folder is replaced.
fn resolved(out: &Path) -> Result<PathBuf, Failure> {
    let own = |place: &Path| place.parent().is_some() && place.file_name().is_some();
    let none = || {
        Failure::usage(format!("{}: a report needs a folder of its own", out.display()))
            .hint("give the name of a folder, such as --out report; it is made")
    };
    if let Ok(place) = out.canonicalize() {
        let inside = std::env::current_dir().is_ok_and(|current| current.starts_with(&place));
        return if own(&place) && !inside { Ok(place) } else { Err(none()) };
    }
    let name = out.file_name().ok_or_else(none)?;
    let around = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let around = around.canonicalize().map_err(|error| Failure::unwritable(out, &error))?;
    Ok(around.join(name))
}

fn lock(out: &Path, path: &Path) -> Result<File, Failure> {
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(path)
        .map_err(|error| Failure::unwritable(out, &error))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => {
            Err(Failure::ours(format!("{}: somebody else is writing this report; nothing was written", out.display()))
                .hint("try again when that has ended, or give another folder"))
        }
        Err(TryLockError::Error(error)) => Err(Failure::ours(format!("{}: cannot be locked: {error}", path.display()))
            .hint("write the report to a disk that knows locks, such as one of this machine")),
    }
}

/// Refuses a place that holds anything but a report of ours as it was written.
fn must_be_ours(out: &Path, place: &Path) -> Result<(), Failure> {
    let refused = |what: String| {
        Failure::usage(format!("{}: {what}; a report only replaces a report that is as it was written", out.display()))
            .hint("give another folder, or move what is to be kept out of this one")
    };
    match fs::symlink_metadata(place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(Failure::unwritable(out, &error)),
        Ok(metadata) if metadata.is_dir() => {}
        Ok(_) => return Err(refused("this is a file, not a folder".to_owned())),
    }
    let mut found = Vec::new();
    files_in(place, "", FOLDERS_DEEP, &mut found).map_err(|error| Failure::unwritable(out, &error))?;
    if found.is_empty() {
        return Ok(());
    }
    let claim: Option<Claim> = fs::read(place.join(NAME)).ok().and_then(|text| serde_json::from_slice(&text).ok());
    let Some(claim) = claim.filter(|claim| claim.schema == SCHEMA) else {
        return Err(refused("this folder is not a report of groundwall".to_owned()));
    };
    let claimed: BTreeMap<&str, &Written> = claim.files.iter().map(|file| (file.path.as_str(), file)).collect();
    if let Some(strange) = found.iter().find(|path| *path != NAME && !claimed.contains_key(path.as_str())) {
        return Err(refused(format!("{} does not belong to the report in it", shown(strange))));
    }
    let changed = found.par_iter().find_first(|path| {
        claimed
            .get(path.as_str())
            .is_some_and(|file| fs::read(place.join(path)).map_or(true, |bytes| sha256(&bytes) != file.sha256))
    });
    match changed {
        Some(path) => Err(refused(format!("{} was changed since the report was written", shown(path)))),
        None => Ok(()),
    }
}

/// The files under a folder, in order of name, but for hidden ones.
fn files_in(folder: &Path, prefix: &str, deep: usize, found: &mut Vec<String>) -> io::Result<()> {
    let mut entries = fs::read_dir(folder)?.collect::<io::Result<Vec<_>>>()?;
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with('.') || LEFT_BY_BROWSERS.contains(&name.as_str()) {
            continue;
        }
        let path = format!("{prefix}{name}");
        if entry.file_type()?.is_dir() && deep > 0 {
            files_in(&entry.path(), &format!("{path}/"), deep - 1, found)?;
        } else {
            found.push(path);
        }
    }
    Ok(())
}
