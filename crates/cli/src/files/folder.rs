//! The folder of a report: the old one or the new one, never a mixture.
//!
//! A report is written into a hidden folder beside its place (`.plant.groundwall-part`), brought to the disk, and then put
//! there by renaming: the old report moves aside (`.plant.groundwall-old`), the new one takes its place, the old one is
//! removed. A run that was ended between the two renames left the old one aside; the next run puts it back first. Two runs
//! at once are kept apart by a lock, whose file stays beside the report as that of a master does; a run that writes no report takes away the one
//! that it made.
//!
//! A folder is replaced only if it is a report of ours as we left it: every file in it is named by its manifest and has the
//! digest it says. Whatever else is there, hidden or not, is never removed: what file browsers create goes into the new
//! folder, anything else refuses the report. The new folder, and each file that is written again, has the owner, group and mode that the old
//! one had.

use super::Input;
use super::lock;
use super::place::{beside, is_at, keep_owner, must_not_dangle, sync_folder_of, whereabouts};
use super::unfinished::{PART, Unfinished};
use groundwall_engine::digest::{Digesting, sha256};
use groundwall_engine::error::{Failure, shown};
use groundwall_engine::report::PAGES;
use groundwall_engine::report::manifest::{Claim, NAME, SCHEMA, Written};
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use std::collections::BTreeMap;
use std::fs::{self, File, Metadata, OpenOptions, TryLockError};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Files that file browsers create.
const LEFT_BY_BROWSERS: [&str; 3] = ["Thumbs.db", "desktop.ini", ".DS_Store"];
/// How deep a folder is looked into.
const FOLDERS_DEEP: usize = 4;

/// A report on its way to its place. What was written goes away with it unless it is finished.
#[derive(Debug)]
pub struct Folder {
    place: PathBuf,
    part: Unfinished,
    old: PathBuf,
    lock: Held,
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
        let lock = take_lock(out, &place)?;
        let (part, old) = (beside(&place, PART), beside(&place, ".groundwall-old"));
        let unwritable = |error: io::Error| Failure::unwritable(out, &error);
        if old.symlink_metadata().is_ok() {
            if place.symlink_metadata().is_ok() {
                retire(out, &old, &place)?;
            } else {
                fs::rename(&old, &place).map_err(unwritable)?;
            }
        }
        let present = must_be_ours(out, &place)?;
        remove_part(out, &part)?;
        let (part, ()) = Unfinished::make(part, |part| fs::create_dir(part)).map_err(unwritable)?;
        if let Some(present) = present {
            keep_rights(out, part.path(), &present)?;
        }
        Ok(Self { place, part, old, lock })
    }

    /// Refuses a file that is to be written and would come to lie in this folder.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with its path.
    pub fn must_not_hold(&self, file: &Path) -> Result<(), Failure> {
        if !whereabouts(file).starts_with(&self.place) {
            return Ok(());
        }
        let message =
            format!("{}: this file would lie in the folder of the report, which has only its own", file.display());
        Err(Failure::usage(message).hint("give it a place beside that folder"))
    }

    /// Makes a folder inside it.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason.
    pub fn make(&self, name: &str) -> Result<(), Failure> {
        fs::create_dir(self.part.path().join(name)).map_err(|error| self.failure(name, &error))
    }

    /// Writes a file of it.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason.
    pub fn write(&self, path: &str, bytes: &[u8]) -> Result<Written, Failure> {
        fs::write(self.part.path().join(path), bytes).map_err(|error| self.failure(path, &error))?;
        Ok(Written::of(path, bytes))
    }

    /// Writes a file of it that may be too large to be held.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason.
    pub fn stream(&self, path: &str, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<Written, Failure> {
        let write = || -> io::Result<(u64, String)> {
            let mut out = Digesting::new(BufWriter::new(File::create(self.part.path().join(path))?));
            fill(&mut out)?;
            out.flush()?;
            Ok(out.finish())
        };
        let (bytes, sha256) = write().map_err(|error| self.failure(path, &error))?;
        Ok(Written { path: path.to_owned(), bytes, sha256 })
    }

    /// Brings these files to the disk and puts the folder in its place.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason; the old report is then where it was.
    pub fn finish(self, files: &[Written]) -> Result<(), Failure> {
        let synced: Result<Vec<()>, Failure> = files
            .par_iter()
            .map(|file| {
                let path = self.part.path().join(&file.path);
                let synced = OpenOptions::new().write(true).open(path).and_then(|f| f.sync_all());
                synced.map_err(|error| self.failure(&file.path, &error))
            })
            .collect();
        synced?;
        for file in files {
            self.keep_rights_of(Path::new(&file.path))?;
        }
        self.keep_rights_of(Path::new(PAGES))?;
        let Self { place, part, old, mut lock } = self;
        sync_folder_of(&part.path().join(NAME));
        let here = place.exists();
        let put = |part: &Path| {
            if here {
                fs::rename(&place, &old)?;
            }
            fs::rename(part, &place).inspect_err(|_| {
                if here {
                    // Whatever this says, the first reason is the one to report; the next run puts the old report back too.
                    let _ = fs::rename(&old, &place);
                }
            })
        };
        part.finish(put).map_err(|error| Failure::unwritable(&place, &error))?;
        lock.stays = true;
        sync_folder_of(&place);
        if here { retire(&place, &old, &place) } else { Ok(()) }
    }

    /// Gives what is written again the owner, group and mode that it had.
    fn keep_rights_of(&self, path: &Path) -> Result<(), Failure> {
        let (before, now) = (self.place.join(path), self.part.path().join(path));
        match (before.symlink_metadata(), now.symlink_metadata()) {
            (Ok(present), Ok(made)) if present.file_type() == made.file_type() => keep_rights(&before, &now, &present),
            _ => Ok(()),
        }
    }

    fn failure(&self, path: &str, error: &io::Error) -> Failure {
        let place = if path.is_empty() { self.place.clone() } else { self.place.join(path) };
        Failure::unwritable(&place, error)
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
    must_not_dangle(out)?;
    let name = out.file_name().ok_or_else(none)?;
    let around = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let around = around.canonicalize().map_err(|error| Failure::unwritable(out, &error))?;
    Ok(around.join(name))
}

/// The lock of a report, held.
#[derive(Debug)]
struct Held {
    path: PathBuf,
    _file: File,
    /// Whether its file stays: it was there before, or a report is there now.
    stays: bool,
}

impl Drop for Held {
    fn drop(&mut self) {
        if !self.stays {
            let _ = fs::remove_file(&self.path);
        }
    }
}

fn take_lock(out: &Path, place: &Path) -> Result<Held, Failure> {
    loop {
        let lock::Opened { path, file, is_new } = lock::open(out, place)?;
        match file.try_lock() {
            // The run that held it has taken it away.
            Ok(()) if !is_at(&file, &path) => {}
            Ok(()) => return Ok(Held { path, _file: file, stays: !is_new }),
            Err(TryLockError::WouldBlock) => {
                let message = format!("{}: somebody else is writing this report; nothing was written", out.display());
                return Err(Failure::internal(message).hint("try again when that has ended, or give another folder"));
            }
            Err(TryLockError::Error(error)) if lock::is_alone(&error) => {
                return Ok(Held { path, _file: file, stays: !is_new });
            }
            Err(TryLockError::Error(error)) => {
                return Err(Failure::internal(format!("{}: cannot be locked: {error}", path.display()))
                    .hint("write the report to a disk that knows locks, such as one of this machine"));
            }
        }
    }
}

/// Gives a folder or file the owner, group and mode of the one that it replaces.
fn keep_rights(out: &Path, part: &Path, present: &Metadata) -> Result<(), Failure> {
    let unwritable = |error: io::Error| Failure::unwritable(out, &error);
    if cfg!(unix) {
        let made = File::open(part).map_err(unwritable)?;
        keep_owner(&made, present).map_err(|()| {
            Failure::usage(format!(
                "{}: cannot be replaced: it belongs to another user or group, and the new one would not",
                out.display()
            ))
            .hint("ask its owner to run this, or give another folder")
        })?;
    }
    fs::set_permissions(part, present.permissions()).map_err(unwritable)
}

/// Refuses a place that holds anything but a report of ours as it was written; gives what the system says of the folder.
fn must_be_ours(out: &Path, place: &Path) -> Result<Option<Metadata>, Failure> {
    let refused = |what: String| {
        Failure::usage(format!("{}: {what}; a report only replaces a report that is as it was written", out.display()))
            .hint("give another folder, or first move the files to be kept")
    };
    let present = match fs::symlink_metadata(place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::unwritable(out, &error)),
        Ok(metadata) if metadata.is_dir() => metadata,
        Ok(_) => return Err(refused("this is a file, not a folder".to_owned())),
    };
    let found = entries(place).map_err(|error| Failure::unwritable(out, &error))?;
    let found: Vec<&String> = found.iter().filter(|path| !is_left_by_browser(path)).collect();
    if found.is_empty() {
        return Ok(Some(present));
    }
    // What is in a folder without the right to write cannot be removed when the new report is in its place.
    for folder in [place.to_owned(), place.join(PAGES)] {
        if folder.metadata().is_ok_and(|found| found.permissions().readonly()) {
            return Err(Failure::unwritable(&folder, &io::ErrorKind::PermissionDenied.into()));
        }
    }
    let Some(claimed) = claim(place) else {
        return Err(refused("this folder is not a report of groundwall".to_owned()));
    };
    if let Some(strange) = found.iter().find(|path| path.as_str() != NAME && !claimed.contains_key(path.as_str())) {
        return Err(refused(format!("{} does not belong to the report in it", shown(strange))));
    }
    if let Some(link) = found.iter().find(|path| is_link(&place.join(path))) {
        return Err(refused(format!("{} is a link or has a second name, which would be lost", shown(link))));
    }
    match found.par_iter().find_first(|path| !is_as_written(place, path, &claimed)) {
        Some(path) => Err(refused(format!("{} was changed since the report was written", shown(path)))),
        None => Ok(Some(present)),
    }
}

/// Removes an old report that has been moved aside. What is not of the report, or was changed meanwhile, goes into the new
/// folder; where that has such a name already, it stays and is reported.
fn retire(out: &Path, old: &Path, place: &Path) -> Result<(), Failure> {
    let failed = |error: io::Error| Failure::unwritable(old, &error);
    let claimed = claim(old).unwrap_or_default();
    let mut folders = Vec::new();
    let mut stays = None;
    for path in entries(old).map_err(failed)? {
        let (from, to) = (old.join(&path), place.join(&path));
        folders.extend(Path::new(&path).ancestors().skip(1).map(Path::to_owned));
        if path == NAME {
            continue;
        }
        if claimed.contains_key(&path) && is_as_written(old, &path, &claimed) {
            fs::remove_file(&from).map_err(failed)?;
        } else if to.symlink_metadata().is_err() && to.parent().is_some_and(Path::is_dir) {
            fs::rename(&from, &to).map_err(failed)?;
        } else {
            stays.get_or_insert(path);
        }
    }
    if let Some(path) = stays {
        return Err(Failure::usage(format!(
            "{}: {} was put into the previous report or changed in it; it is kept in {}",
            out.display(),
            shown(&path),
            old.display()
        ))
        .hint("move the files to be kept and remove that folder"));
    }
    match fs::remove_file(old.join(NAME)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(failed(error)),
        _ => {}
    }
    folders.push(PathBuf::from(PAGES));
    folders.sort_by_key(|folder| std::cmp::Reverse(folder.components().count()));
    folders.dedup();
    for folder in folders {
        // Only empty folders can be removed so.
        let _ = fs::remove_dir(old.join(folder));
    }
    match fs::remove_dir(old) {
        Err(error) if old.exists() => Err(failed(error)),
        _ => Ok(()),
    }
}

/// Removes what a run left that was ended while it wrote a report, if it has nothing but files of such names.
fn remove_part(out: &Path, part: &Path) -> Result<(), Failure> {
    let unwritable = |error: io::Error| Failure::unwritable(out, &error);
    let strange = match fs::symlink_metadata(part) {
        Err(_) => return Ok(()),
        Ok(found) if found.is_dir() => {
            entries(part).map_err(unwritable)?.into_iter().find(|path| !is_of_report(Path::new(path)))
        }
        Ok(_) => Some(String::new()),
    };
    match strange {
        None => fs::remove_dir_all(part).map_err(unwritable),
        Some(_) => Err(Failure::usage(format!(
            "{}: cannot be written: {} is in the way and is not left from a run",
            out.display(),
            part.display()
        ))
        .hint("move it elsewhere")),
    }
}

/// Whether a report has files of this name.
fn is_of_report(path: &Path) -> bool {
    let folder = path.parent().and_then(Path::to_str).unwrap_or_default();
    let ending = path.extension().and_then(std::ffi::OsStr::to_str).unwrap_or_default();
    match folder {
        "" => ["html", "json", "csv", "xlsx"].contains(&ending),
        PAGES => ["html", "png", "svg"].contains(&ending),
        _ => false,
    }
}

/// The files that the manifest of a report names; none where the folder is not a report.
fn claim(folder: &Path) -> Option<BTreeMap<String, Written>> {
    let claim: Claim = serde_json::from_slice(&fs::read(folder.join(NAME)).ok()?).ok()?;
    let files = claim.files.into_iter().map(|file| (file.path.clone(), file));
    (claim.schema == SCHEMA).then(|| files.collect())
}

fn is_as_written(folder: &Path, path: &str, claimed: &BTreeMap<String, Written>) -> bool {
    let digest = || fs::read(folder.join(path)).ok().map(|bytes| sha256(&bytes));
    claimed.get(path).is_none_or(|file| digest().is_some_and(|digest| digest == file.sha256))
}

/// Whether a file is a symbolic link, or has other names.
fn is_link(path: &Path) -> bool {
    #[cfg(unix)]
    let has_names = |found: &Metadata| std::os::unix::fs::MetadataExt::nlink(found) > 1;
    #[cfg(not(unix))]
    let has_names = |_: &Metadata| false;
    fs::symlink_metadata(path).is_ok_and(|found| found.is_symlink() || (found.is_file() && has_names(&found)))
}

fn is_left_by_browser(path: &str) -> bool {
    LEFT_BY_BROWSERS.contains(&path.rsplit('/').next().unwrap_or_default())
}

/// The files in a folder and the folders in it, and empty folders but for that of the pages, in order of name.
fn entries(folder: &Path) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    entries_below(folder, "", FOLDERS_DEEP, &mut found)?;
    Ok(found)
}

fn entries_below(folder: &Path, prefix: &str, deep: usize, found: &mut Vec<String>) -> io::Result<()> {
    let mut entries = fs::read_dir(folder)?.collect::<io::Result<Vec<_>>>()?;
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let path = format!("{prefix}{}", entry.file_name().to_string_lossy());
        let before = found.len();
        if entry.file_type()?.is_dir() && deep > 0 {
            entries_below(&entry.path(), &format!("{path}/"), deep - 1, found)?;
            if found.len() > before || path == PAGES {
                continue;
            }
        }
        found.push(path);
    }
    Ok(())
}
