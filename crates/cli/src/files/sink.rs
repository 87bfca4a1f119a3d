//! Where results go: standard output or a file that is either complete or untouched.
//!
//! How a file is replaced is the business of [`place`](super::place). Devices and pipes are written to directly; a terminal, under whatever name,
//! gets text that cannot control it.

use super::SETTINGS;
use super::place::{Place, taken};
use super::result::may_be_replaced;
use crate::console::{Console, legibly, width_of_table};
use groundwall_engine::error::Failure;
use groundwall_engine::output::table::Shape;
use std::ffi::OsString;
use std::fs::{File, OpenOptions};
use std::io::{self, BufRead as _, BufReader, BufWriter, IsTerminal as _, Write};
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

    /// Width and colours of a table there: those of the terminal, if standard output is one.
    #[must_use]
    pub fn shape(&self, console: &Console<'_>) -> Shape {
        let is_stdout = *self == Self::Stdout;
        Shape { width: width_of_table(is_stdout && io::stdout().is_terminal()), color: console.color && is_stdout }
    }

    /// Writes what `fill` writes: whole, or not at all.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and the reason. A reader that went away is none.
    pub fn write(
        &self,
        stdout: &mut dyn Write,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Failure> {
        match self {
            Self::Stdout => {
                let mut out = BufWriter::new(stdout);
                Failure::unless_unread(fill(&mut out).and_then(|()| out.flush()), Failure::unprintable)
            }
            Self::File(path) => write_file(path, fill),
        }
    }

    /// As [`Target::write`], but a file that is not a result of the same kind is replaced by `force` alone, which keeps a copy of it and
    /// says so.
    ///
    /// # Errors
    ///
    /// As [`Target::write`], and when there is such a file and `force` is not said.
    pub fn write_result(
        &self,
        console: &mut Console<'_>,
        force: bool,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Failure> {
        self.write_unless(console, force, fill, may_be_replaced, not_replaced)
    }

    /// As [`Target::write`], but a file of people that holds anything else is replaced by `force` alone, which keeps a copy of it and
    /// says so.
    ///
    /// # Errors
    ///
    /// As [`Target::write`], and when there is a file and `force` is not said.
    pub fn write_new(
        &self,
        console: &mut Console<'_>,
        force: bool,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Failure> {
        self.write_unless(console, force, fill, |_, _| Ok(false), taken)
    }

    /// Writes what `fill` writes over a file that may be replaced by it or holds the same.
    fn write_unless(
        &self,
        console: &mut Console<'_>,
        force: bool,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
        may_be_replaced: impl FnOnce(&Path, &Path) -> io::Result<bool>,
        refused: impl FnOnce(&Path) -> Failure,
    ) -> Result<(), Failure> {
        let Some(path) = self.path() else { return self.write(console.out, fill) };
        must_not_be_settings(path)?;
        let Place::File(place) = Place::find(path)? else { return self.write(console.out, fill) };
        let part = place.begin()?;
        filled(&part.file, fill).map_err(|error| Failure::unwritable(path, &error))?;
        if !place.is_taken() {
            return part.put_new();
        }
        let unread = |error: io::Error| Failure::unreadable(&path.display().to_string(), &error);
        if may_be_replaced(path, part.path()).map_err(unread)? {
            return part.replace();
        }
        if are_equal(path, part.path()).map_err(unread)? {
            return Ok(());
        }
        if !force {
            return Err(refused(path).hint("give another name, or use --force, which keeps a copy of the old file"));
        }
        let copy = place.keep_copy()?;
        part.replace()?;
        console.remark(&kept(path, &copy));
        Ok(())
    }
}

/// What is said of a file that was replaced and kept.
pub(super) fn kept(path: &Path, copy: &Path) -> String {
    format!("{}: written; the previous file is now {}", path.display(), copy.display())
}

/// A file is where a result was to be written, and may be anybody's.
pub(super) fn not_replaced(path: &Path) -> Failure {
    Failure::usage(format!(
        "{}: this file exists and is not a result of the same kind; nothing was written",
        path.display()
    ))
}

/// Whether two files hold the same bytes.
fn are_equal(one: &Path, other: &Path) -> io::Result<bool> {
    let (mut one, mut other) = (BufReader::new(File::open(one)?), BufReader::new(File::open(other)?));
    loop {
        let (here, there) = (one.fill_buf()?, other.fill_buf()?);
        let count = here.len().min(there.len());
        if here[..count] != there[..count] || (count == 0 && here.len() != there.len()) {
            return Ok(false);
        }
        if count == 0 {
            return Ok(true);
        }
        one.consume(count);
        other.consume(count);
    }
}

/// Refuses the name of the settings, whether they are read in this run or not.
fn must_not_be_settings(path: &Path) -> Result<(), Failure> {
    let found = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let is_named = |path: &Path| path.file_name().is_some_and(|name| name.eq_ignore_ascii_case(SETTINGS));
    if is_named(path) || is_named(&found) {
        return Err(Failure::usage(format!(
            "{}: this is the name of the settings, and no result is written over them",
            path.display()
        ))
        .hint("give the result a name of its own"));
    }
    Ok(())
}

fn write_file(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    must_not_be_settings(path)?;
    let unwritable = |error: io::Error| Failure::unwritable(path, &error);
    match Place::find(path)? {
        Place::Device => {
            let device = OpenOptions::new().write(true).open(path).map_err(unwritable)?;
            let written = if device.is_terminal() {
                filled(&device, |out| legibly(out, false, fill))
            } else {
                filled(&device, fill)
            };
            Failure::unless_unread(written, |error| Failure::unwritable(path, error))
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
    fn the_settings_are_never_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("Groundwall.toml");
        let error =
            Target::File(path.clone()).write(&mut io::sink(), |out| out.write_all(b"x")).unwrap_err().to_string();
        assert!(
            error.ends_with(
                "Groundwall.toml: this is the name of the settings, and no result is written over them\n\
                 hint: give the result a name of its own"
            ),
            "{error}"
        );
        assert!(!path.exists());
    }

    #[test]
    fn a_dash_is_standard_output() {
        let mut out = Vec::new();
        Target::from(OsString::from("-")).write(&mut out, |w| w.write_all(b"x")).unwrap();
        assert_eq!(out, b"x");
    }
}
