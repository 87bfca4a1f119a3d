//! The place of a file that is written: what is there now, whether it may be replaced, and what the new file must keep of it.
//!
//! A file is written beside its place, brought to the disk and then renamed over it. Whoever reads the place sees the old
//! file or the new one, never a part. A rename asks for rights on the folder only, and it makes a new file; so the rights on
//! the old file are checked first, and its owner, group and mode are given to the new one. What cannot be kept is refused.

use super::unfinished::{PART, Unfinished};
use groundwall_engine::digest::sha256;
use groundwall_engine::error::Failure;
use std::ffi::OsString;
use std::fs::{self, File, Metadata, OpenOptions, TryLockError};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// A place that a file can be put in.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant, reason = "there is one at a time")]
pub enum Place {
    /// A device or a pipe, which is written to directly.
    Device,
    /// An ordinary file, or nothing yet.
    File(FilePlace),
}

/// The place of an ordinary file.
#[derive(Clone, Debug)]
pub struct FilePlace {
    /// As it was given, for messages.
    name: PathBuf,
    /// The file itself, links followed.
    path: PathBuf,
    /// What is there now.
    present: Option<Metadata>,
}

impl Place {
    /// Looks at a place.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when a folder or a link to nothing is there, or a file that this user may not write or that cannot be
    /// replaced.
    pub fn find(name: &Path) -> Result<Self, Failure> {
        must_be_named(name)?;
        let unwritable = |error: io::Error| Failure::unwritable(name, &error);
        let present = match fs::metadata(name) {
            Ok(metadata) => Some(metadata),
            Err(error) if error.kind() == io::ErrorKind::NotFound => None,
            Err(error) => return Err(unwritable(error)),
        };
        let Some(found) = &present else {
            must_not_dangle(name)?;
            return Ok(Self::File(FilePlace { name: name.to_owned(), path: name.to_owned(), present: None }));
        };
        if found.is_dir() {
            return Err(unwritable(io::ErrorKind::IsADirectory.into()));
        }
        if !found.is_file() {
            return Ok(Self::Device);
        }
        if found.permissions().readonly() {
            return Err(unwritable(io::ErrorKind::PermissionDenied.into()));
        }
        OpenOptions::new().write(true).open(name).map_err(unwritable)?;
        let names = hard_links(found);
        if names > 1 {
            return Err(Failure::usage(format!(
                "{}: cannot be replaced: it has {names} names (hard links), and the others would keep the old content",
                name.display()
            ))
            .hint("remove the other names, or give another path"));
        }
        // Where a link leads to a file, that file is replaced and the link stays.
        let path = fs::canonicalize(name).map_err(unwritable)?;
        Ok(Self::File(FilePlace { name: name.to_owned(), path, present }))
    }
}

/// Refuses the empty name.
///
/// # Errors
///
/// A [`Failure`] that says so.
pub fn must_be_named(name: &Path) -> Result<(), Failure> {
    if name.as_os_str().is_empty() {
        return Err(Failure::usage("the name of what is to be written is empty").hint("give it a name"));
    }
    Ok(())
}

/// Where a file is or would be, links followed as far as they lead.
#[must_use]
pub fn whereabouts(name: &Path) -> PathBuf {
    let absolute = std::path::absolute(name).unwrap_or_else(|_| name.to_owned());
    let found = absolute.ancestors().find_map(|around| {
        let rest = absolute.strip_prefix(around).ok()?;
        around.canonicalize().ok().map(|found| found.join(rest))
    });
    found.unwrap_or(absolute)
}

/// The names for a copy beside a file, in the order in which they are tried: `policy.toml.bak`, `policy.toml.bak2`, ...
pub fn copies_of(file: &Path) -> impl Iterator<Item = PathBuf> {
    (1_u64..).map(|number| {
        let mut name = OsString::from(file.file_name().unwrap_or_default());
        name.push(".bak");
        if number > 1 {
            name.push(number.to_string());
        }
        file.with_file_name(name)
    })
}

/// Refuses a symbolic link that leads nowhere: a file put in its place would not be where the link says.
///
/// # Errors
///
/// A [`Failure`] with the target of the link.
pub fn must_not_dangle(name: &Path) -> Result<(), Failure> {
    let Ok(target) = fs::read_link(name) else { return Ok(()) };
    if name.exists() {
        return Ok(());
    }
    Err(Failure::usage(format!(
        "{}: cannot be written: this is a link to {}, which does not exist",
        name.display(),
        target.display()
    ))
    .hint("remove the link, make what it leads to, or give another path"))
}

/// A file is where a new one was to be written.
#[must_use]
pub fn taken(name: &Path) -> Failure {
    Failure::usage(format!("{}: this file is there already; nothing was written", name.display()))
}

impl FilePlace {
    /// Whether there is a file now.
    #[must_use]
    pub const fn is_taken(&self) -> bool {
        self.present.is_some()
    }

    /// Begins the new file, beside the place.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when the folder may not be written, or when another run is writing the same place.
    pub fn begin(&self) -> Result<Part, Failure> {
        self.begin_at(self.path.clone())
    }

    /// Begins a copy of the file that is there, in a place beside it, with the same rights.
    ///
    /// # Errors
    ///
    /// As [`FilePlace::begin`].
    pub fn begin_at(&self, path: PathBuf) -> Result<Part, Failure> {
        let hidden = beside(&path, PART);
        let made = Unfinished::make(hidden.clone(), |hidden| locked(hidden, self.present.is_some()));
        let (unfinished, file) = made.map_err(|error| self.failure(&hidden, &error))?;
        Ok(Part { file, unfinished, place: Self { path, ..self.clone() } })
    }

    /// Copies the file to the first name beside it that is free, and gives that name.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it cannot be read, or the copy cannot be written.
    pub fn keep_copy(&self) -> Result<PathBuf, Failure> {
        let unreadable = |error: io::Error| Failure::unreadable(&self.name.display().to_string(), &error);
        let old = fs::read(&self.path).map_err(unreadable)?;
        let free = copies_of(&self.name).find(|copy| copy.symlink_metadata().is_err());
        let copy = free.ok_or_else(|| taken(&self.name))?;
        self.begin_at(copy.clone())?.write(&old)?.put_new()?;
        Ok(copy)
    }

    fn failure(&self, hidden: &Path, error: &io::Error) -> Failure {
        match error.kind() {
            io::ErrorKind::WouldBlock => Failure::internal(format!(
                "{}: somebody else is writing this file; nothing was written",
                self.name.display()
            ))
            .hint("try again when that has ended"),
            io::ErrorKind::AlreadyExists => Failure::usage(format!(
                "{}: cannot be written: {} is in the way and is not a file left from a run",
                self.name.display(),
                hidden.display()
            ))
            .hint("move it elsewhere"),
            _ => Failure::unwritable(&self.name, error),
        }
    }
}

/// A file on its way to its place. It goes away if it is not finished.
#[derive(Debug)]
pub struct Part {
    /// The file, empty at first.
    pub file: File,
    unfinished: Unfinished,
    place: FilePlace,
}

impl Part {
    /// Where it is now.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.unfinished.path()
    }

    /// Puts the file in its place, over the one that was there.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when the disk says no, or when the owner or the group of the old file cannot be kept. The old file is
    /// then as it was.
    pub fn replace(self) -> Result<(), Failure> {
        self.put(|unfinished, place| unfinished.finish(|part| fs::rename(part, place)))
    }

    /// Puts the file in its place, where nothing may be.
    ///
    /// # Errors
    ///
    /// As [`Part::replace`], and when there is a file now.
    pub fn put_new(self) -> Result<(), Failure> {
        self.put(|unfinished, place| unfinished.finish(|part| rename_to_free(part, place)))
    }

    /// As [`Part::put_new`], but the file still goes away with what is given unless that is kept.
    ///
    /// # Errors
    ///
    /// As [`Part::put_new`].
    pub fn put_unfinished(self) -> Result<Unfinished, Failure> {
        self.put(|unfinished, place| unfinished.moved(place, rename_to_free))
    }

    /// Writes all of the file at once.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when the disk says no.
    pub fn write(mut self, bytes: &[u8]) -> Result<Self, Failure> {
        let written = self.file.write_all(bytes);
        written.map_err(|error| Failure::unwritable(&self.place.path, &error)).map(|()| self)
    }

    fn put<T>(self, rename: impl FnOnce(Unfinished, &Path) -> io::Result<T>) -> Result<T, Failure> {
        let Self { file, unfinished, place } = self;
        let unwritable = |error: io::Error| Failure::unwritable(&place.name, &error);
        if let Some(present) = &place.present {
            keep_owner(&file, present).map_err(|()| {
                Failure::usage(format!(
                    "{}: cannot be replaced: it belongs to another user or group, and the new file would not",
                    place.name.display()
                ))
                .hint("ask its owner to run this, or give another path")
            })?;
            file.set_permissions(present.permissions()).map_err(unwritable)?;
        }
        file.sync_all().map_err(unwritable)?;
        let put = rename(unfinished, &place.path).map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => taken(&place.name),
            _ => unwritable(error),
        })?;
        sync_folder_of(&place.path);
        Ok(put)
    }
}

/// Renames a file to a name that must be free.
fn rename_to_free(part: &Path, place: &Path) -> io::Result<()> {
    let part = tempfile::TempPath::try_from_path(part)?;
    part.persist_noclobber(place).map_err(|error| {
        // The unfinished file is removed by its owner.
        let _ = error.path.keep();
        error.error
    })
}

/// A hidden name beside a file or folder: `.plant.csv.lock`. A name too long for that is cut and distinguished by a digest.
#[must_use]
pub fn beside(place: &Path, ending: &str) -> PathBuf {
    /// Bytes of the longest name on usual disks.
    const LONGEST: usize = 255;
    let own = place.file_name().unwrap_or_default();
    let mut name = OsString::from(".");
    if own.len() + ending.len() < LONGEST {
        name.push(own);
    } else {
        name.push(sha256(own.as_encoded_bytes()));
    }
    name.push(ending);
    place.with_file_name(name)
}

/// A name reaches the disk with its folder; where folders cannot be opened this is the system's affair.
pub fn sync_folder_of(place: &Path) {
    let folder = place.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// Makes an empty file that this run alone holds. What an ended run left under the name is removed.
///
/// The lock is on the file itself: it is released when the process exits, so a file that can be locked has no owner.
fn locked(path: &Path, private: bool) -> io::Result<File> {
    loop {
        match open_new(path, private) {
            Ok(file) => {
                lock(&file).inspect_err(|error| {
                    // Whoever holds the lock took the file over; otherwise it has no owner.
                    if error.kind() != io::ErrorKind::WouldBlock {
                        let _ = fs::remove_file(path);
                    }
                })?;
                if is_at(&file, path) {
                    return Ok(file);
                }
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                match fs::symlink_metadata(path) {
                    Ok(found) if found.is_file() => {}
                    Ok(_) => return Err(error),
                    Err(gone) if gone.kind() == io::ErrorKind::NotFound => continue,
                    Err(error) => return Err(error),
                }
                let left = OpenOptions::new().write(true).open(path)?;
                lock(&left)?;
                if is_at(&left, path) {
                    fs::remove_file(path)?;
                }
            }
            Err(error) => return Err(error),
        }
    }
}

/// File systems without locking cannot serialise two runs; nothing else on them can either.
fn lock(file: &File) -> io::Result<()> {
    match file.try_lock() {
        Ok(()) => Ok(()),
        Err(TryLockError::WouldBlock) => Err(io::ErrorKind::WouldBlock.into()),
        Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => Ok(()),
        Err(TryLockError::Error(error)) => Err(error),
    }
}

/// A new file; what is to replace another is closed to others until it has the rights of that one.
fn open_new(path: &Path, private: bool) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(if private { 0o600 } else { 0o666 });
    }
    #[cfg(not(unix))]
    let _ = private;
    options.open(path)
}

/// Whether a name still is that of an open file.
#[cfg(unix)]
pub(super) fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let one = |found: Metadata| (found.dev(), found.ino());
    let (open, named) = (file.metadata().ok().map(one), fs::symlink_metadata(path).ok().map(one));
    open.is_some() && open == named
}

/// A name that is in use can mean nothing else here.
#[cfg(not(unix))]
pub(super) fn is_at(_: &File, path: &Path) -> bool {
    path.exists()
}

#[cfg(unix)]
fn hard_links(found: &Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::nlink(found)
}

#[cfg(not(unix))]
fn hard_links(_: &Metadata) -> u64 {
    1
}

/// Gives a file or folder the owner and group of another.
///
/// # Errors
///
/// Nothing but that the system does not allow it.
#[cfg(unix)]
pub fn keep_owner(file: &File, present: &Metadata) -> Result<(), ()> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let own = file.metadata().map_err(|_| ())?;
    let owner = (own.uid() != present.uid()).then(|| present.uid());
    let group = (own.gid() != present.gid()).then(|| present.gid());
    if owner.is_none() && group.is_none() { Ok(()) } else { fchown(file, owner, group).map_err(|_| ()) }
}

/// Where files have no owner of this kind there is nothing to keep.
#[cfg(not(unix))]
pub fn keep_owner(_: &File, _: &Metadata) -> Result<(), ()> {
    Ok(())
}

#[cfg(all(test, unix))]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use std::os::unix::fs::{PermissionsExt, symlink};

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    fn file(name: &Path) -> FilePlace {
        match Place::find(name) {
            Ok(Place::File(place)) => place,
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn two_writers_of_one_place_are_kept_apart_and_what_an_ended_one_left_is_removed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        fs::write(folder.path().join(".a.csv.groundwall-part"), "left by a killed run").unwrap();
        let mut first = file(&path).begin().unwrap();
        first.file.write_all(b"first").unwrap();
        let message = file(&path).begin().unwrap_err().to_string();
        assert!(message.ends_with(
            "a.csv: somebody else is writing this file; nothing was written\nhint: try again when that has ended"
        ));
        first.replace().unwrap();
        let mut second = file(&path).begin().unwrap();
        second.file.write_all(b"2").unwrap();
        drop(second);
        assert_eq!(
            (fs::read_to_string(&path).unwrap().as_str(), names(folder.path())),
            ("first", vec!["a.csv".to_owned()])
        );
    }

    #[test]
    fn nothing_of_anybody_is_written_through_a_link_in_the_way() {
        let folder = tempfile::tempdir().unwrap();
        let victim = folder.path().join("victim");
        fs::write(&victim, "mine").unwrap();
        symlink(&victim, folder.path().join(".a.csv.groundwall-part")).unwrap();
        let path = folder.path().join("a.csv");
        let message = file(&path).begin().unwrap_err().to_string();
        assert!(message.contains("a.csv: cannot be written: ") && message.contains(" is in the way"), "{message}");
        assert_eq!(fs::read_to_string(&victim).unwrap(), "mine");
        assert_eq!(names(folder.path()), [".a.csv.groundwall-part", "victim"]);
    }

    #[test]
    fn a_link_to_nothing_and_a_file_of_two_names_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let [link, one, two] = ["l", "one", "two"].map(|name| folder.path().join(name));
        symlink("nowhere/a.csv", &link).unwrap();
        let message = Place::find(&link).unwrap_err().to_string();
        assert!(
            message.ends_with(
                "l: cannot be written: this is a link to nowhere/a.csv, which does not exist\n\
                 hint: remove the link, make what it leads to, or give another path"
            ),
            "{message}"
        );
        fs::write(&one, "x").unwrap();
        fs::hard_link(&one, &two).unwrap();
        let message = Place::find(&one).unwrap_err().to_string();
        assert!(
            message.ends_with(
                "one: cannot be replaced: it has 2 names (hard links), and the others would keep the old content\n\
                 hint: remove the other names, or give another path"
            ),
            "{message}"
        );
        assert_eq!(names(folder.path()), ["l", "one", "two"]);
    }

    #[test]
    fn a_new_file_never_replaces_one_that_came_meanwhile() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        let part = file(&path).begin().unwrap();
        fs::write(&path, "theirs").unwrap();
        assert!(part.put_new().is_err());
        assert_eq!(
            (fs::read_to_string(&path).unwrap().as_str(), names(folder.path())),
            ("theirs", vec!["a.csv".to_owned()])
        );
        let other = folder.path().join("b.csv");
        file(&other).begin().unwrap().put_new().unwrap();
        assert_eq!(names(folder.path()), ["a.csv", "b.csv"]);
    }

    #[test]
    fn what_is_being_written_is_closed_to_others_until_it_has_the_rights_of_the_old_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        fs::write(&path, "old").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
        let part = file(&path).begin().unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&folder.path().join(".a.csv.groundwall-part")), 0o600);
        part.replace().unwrap();
        assert_eq!(mode(&path), 0o644);
    }

    #[test]
    fn the_longest_names_have_a_place_beside_them_too() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x".repeat(255));
        file(&path).begin().unwrap().replace().unwrap();
        assert_eq!(names(folder.path()), ["x".repeat(255)]);
    }
}
