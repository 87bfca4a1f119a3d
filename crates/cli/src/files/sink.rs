//! Where results go: standard output or a file that is either complete or untouched.
//!
//! A file is written beside its place, brought to the disk and then renamed over it. Whoever reads the place sees the old
//! file or the new one, never a part. Devices and pipes are written to directly.

use groundwall_engine::error::Failure;
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
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
                fill(&mut out)
                    .and_then(|()| out.flush())
                    .map_err(|error| Failure::unwritable(Path::new("standard output"), &error))
            }
            Self::File(path) => write_file(path, fill).map_err(|error| Failure::unwritable(path, &error)),
        }
    }
}

fn write_file(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let present = match fs::metadata(path) {
        Ok(metadata) => Some(metadata),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(error),
    };
    if present.as_ref().is_some_and(fs::Metadata::is_dir) {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    if present.as_ref().is_some_and(|metadata| !metadata.is_file()) {
        let mut device = BufWriter::new(OpenOptions::new().write(true).open(path)?);
        return fill(&mut device).and_then(|()| device.flush());
    }
    // Behind a link, the file it leads to is replaced and the link stays.
    let place = if present.is_some() { fs::canonicalize(path)? } else { path.to_owned() };
    let folder = place.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Some(metadata) = &present
        && metadata.permissions().readonly()
    {
        return Err(io::ErrorKind::PermissionDenied.into());
    }
    let beside = beside(folder)?;
    let mut file = BufWriter::new(beside);
    fill(&mut file)?;
    let beside = file.into_inner().map_err(io::IntoInnerError::into_error)?;
    beside.as_file().sync_all()?;
    if let Some(metadata) = present {
        fs::set_permissions(beside.path(), metadata.permissions())?;
    }
    beside.persist(&place).map_err(|error| error.error)?;
    // The rename itself reaches the disk with the folder; where folders cannot be opened this is the system's affair.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// An empty file beside the target, taken away again if anything fails.
fn beside(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".groundwall-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder).map_err(|error| io::Error::from(error.kind()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

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
