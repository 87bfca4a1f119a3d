//! Where results go: standard output or a file that is either complete or untouched.
//!
//! How a file is replaced is the business of [`place`](super::place). Devices and pipes are written to directly.

use super::place::Place;
use groundwall_engine::error::Failure;
use std::ffi::OsString;
use std::fs::{File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// A place for results.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// Standard output, written `-`.
    Stdout,
    /// A file.
    File(PathBuf),
}

impl From<OsString> for Target {
    fn from(text: OsString) -> Self {
        if text == "-" { Self::Stdout } else { Self::File(text.into()) }
    }
}

impl Target {
    /// The file, if it is one.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        match self {
            Self::Stdout => None,
            Self::File(path) => Some(path),
        }
    }

    /// Writes what `fill` writes: whole, or not at all.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason. A reader of standard output that went away gives
    /// [`Failure::closed_pipe`].
    pub fn write(
        &self,
        stdout: &mut dyn Write,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Failure> {
        match self {
            Self::Stdout => {
                let mut out = BufWriter::new(stdout);
                fill(&mut out).and_then(|()| out.flush()).map_err(|error| Failure::unprintable(&error))
            }
            Self::File(path) => write_file(path, fill),
        }
    }
}

fn write_file(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    let unwritable = |error: io::Error| Failure::unwritable(path, &error);
    match Place::find(path)? {
        Place::Device => {
            let device = OpenOptions::new().write(true).open(path).map_err(unwritable)?;
            filled(&device, fill).map_err(unwritable)
        }
        Place::File(place) => {
            let part = place.begin()?;
            filled(&part.file, fill).map_err(unwritable)?;
            part.replace()
        }
    }
}

fn filled(file: &File, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let mut out = BufWriter::new(file);
    fill(&mut out).and_then(|()| out.flush())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use std::fs;

    fn names(folder: &Path) -> Vec<String> {
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect()
    }

    #[test]
    fn a_failed_write_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        fs::write(&path, "old").unwrap();
        let target = Target::from(path.clone().into_os_string());
        let error = target
            .write(&mut io::sink(), |out| {
                out.write_all(b"half")?;
                Err(io::ErrorKind::StorageFull.into())
            })
            .unwrap_err();
        assert!(error.to_string().contains("a.csv: cannot be written: the disk is full"));
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(names(folder.path()), ["a.csv"]);
        target.write(&mut io::sink(), |out| out.write_all(b"new")).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "new");
        assert_eq!(names(folder.path()), ["a.csv"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_the_mode_stays_the_mode() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("a.csv"), folder.path().join("latest.csv"));
        fs::write(&path, "old").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        Target::File(link.clone()).write(&mut io::sink(), |out| out.write_all(b"new")).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&path).unwrap(), "new");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    }

    #[test]
    fn a_dash_is_standard_output() {
        let mut out = Vec::new();
        Target::from(OsString::from("-")).write(&mut out, |w| w.write_all(b"x")).unwrap();
        assert_eq!(out, b"x");
    }
}
