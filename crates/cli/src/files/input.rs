//! Places that rows are read from, and how they are read.

use encoding_rs::Encoding;
use groundwall_engine::error::Failure;
use groundwall_engine::ingest::given::{Content, Given};
use groundwall_engine::ingest::source::{is_plain_text, read_all};
use groundwall_engine::similar::closest;
use std::ffi::OsString;
use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// A place that rows are read from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// Standard input, written `-`.
    Stdin,
    /// A file.
    File(PathBuf),
}

impl From<OsString> for Input {
    fn from(text: OsString) -> Self {
        if text == "-" { Self::Stdin } else { Self::File(text.into()) }
    }
}

impl fmt::Display for Input {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stdin => f.write_str("standard input"),
            Self::File(path) => write!(f, "{}", path.display()),
        }
    }
}

impl Input {
    /// Reads all of it.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and what to do; for a missing file also the name most like it.
    pub fn read(&self) -> Result<Vec<u8>, Failure> {
        let outcome = match self {
            Self::Stdin => read_all("standard input", io::stdin().lock()),
            Self::File(path) if path.is_dir() => Err(io::ErrorKind::IsADirectory.into()),
            Self::File(path) => File::open(path).and_then(|file| read_all(&self.to_string(), file)),
        };
        outcome.unwrap_or_else(|error| {
            let failure = Failure::unreadable(&self.to_string(), &error);
            Err(match self {
                Self::File(path) if error.kind() == io::ErrorKind::NotFound => match closest_file(path) {
                    Some(name) => failure.hint(format!("the most similar name in that folder is {name}")),
                    None => failure,
                },
                _ => failure,
            })
        })
    }
}

impl Input {
    /// The input as a history to be read.
    pub fn given(&self, encoding: Option<&'static Encoding>) -> Given<'_> {
        let content = match self {
            // It can be read only once.
            Self::Stdin => Content::Bytes(self.read()),
            Self::File(path) if is_large_plain_text(path, encoding) => Content::Chunks(
                Box::new(move || Box::new(move || Ok(Box::new(File::open(path)?)))),
                Box::new(move || self.read()),
            ),
            Self::File(_) => Content::Whole(Box::new(move || self.read())),
        };
        Given { name: self.to_string(), content }
    }
}

/// The name in the same folder that is most like the one asked for, where one is like it.
fn closest_file(path: &Path) -> Option<String> {
    let wanted = path.file_name()?.to_str()?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let names: Vec<String> =
        std::fs::read_dir(folder).ok()?.take(1000).filter_map(|e| e.ok()?.file_name().into_string().ok()).collect();
    closest(wanted, names.iter().map(String::as_str), 0.85).first().map(|name| (*name).to_owned())
}

/// Inputs with patterns replaced by the files they fit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Expanded {
    /// The inputs.
    pub inputs: Vec<Input>,
    /// Files among them that are not tables but locks of a spreadsheet program, and are skipped.
    pub locks: Vec<PathBuf>,
}

/// The inputs with patterns such as `round-*.csv` replaced by the files they fit, in order of name. A file that bears such a
/// name itself goes before the pattern. Locks are skipped where anything else is left: a shell may have put them there.
///
/// # Errors
///
/// A [`Failure`] when a pattern fits no file.
pub fn expand(inputs: &[Input]) -> Result<Expanded, Failure> {
    let (mut found, mut locks) = (Vec::new(), Vec::new());
    for input in inputs {
        let pattern = match input {
            Input::File(path) if !path.exists() => path.to_str().filter(|text| text.contains(['*', '?', '['])),
            _ => None,
        };
        let Some(pattern) = pattern else {
            found.push(input.clone());
            continue;
        };
        let fitting = glob::glob(pattern).map_err(|error| {
            Failure::usage(format!("{pattern}: this pattern cannot be read: {}", error.msg))
                .hint("* stands for any part of a name, ? for one character, [ab] for one of several")
        })?;
        let fitting = fitting.filter_map(Result::ok).filter(|path| path.is_file());
        let (passed_over, mut files): (Vec<PathBuf>, Vec<PathBuf>) = fitting.partition(|path| is_lock(path));
        locks.extend(passed_over);
        if files.is_empty() {
            return Err(Failure::usage(format!("{pattern}: no file fits this pattern"))
                .hint("check the folder and the ending; * stands for any part of a name"));
        }
        files.sort();
        found.extend(files.into_iter().map(Input::File));
    }
    let is_table = |input: &Input| !matches!(input, Input::File(path) if is_lock(path));
    if found.iter().any(is_table) {
        let named = found.extract_if(.., |input| !is_table(input));
        locks.extend(named.filter_map(|input| if let Input::File(path) = input { Some(path) } else { None }));
    }
    Ok(Expanded { inputs: found, locks })
}

/// What is said of a lock that is skipped.
#[must_use]
pub fn passed_over(path: &Path) -> String {
    format!("{}: skipped: this is the lock file of an open workbook", path.display())
}

/// Whether a file is the lock that a spreadsheet program leaves beside a workbook that is open in it.
fn is_lock(path: &Path) -> bool {
    path.file_name()
        .is_some_and(|name| name.to_string_lossy().starts_with("~$") || name.to_string_lossy().starts_with(".~lock."))
}

/// Files from this size on are read in chunks, if they are plain text.
const LARGE: u64 = 1 << 24;

/// Whether a file is so large that it should not be held whole, and text in UTF-8 as far as its first bytes tell.
fn is_large_plain_text(path: &Path, encoding: Option<&'static Encoding>) -> bool {
    let large = std::fs::metadata(path).is_ok_and(|found| found.is_file() && found.len() >= LARGE);
    let mut head = Vec::new();
    large
        && File::open(path).and_then(|file| file.take(4096).read_to_end(&mut head)).is_ok()
        && is_plain_text(&head, encoding)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_that_fits_nothing_is_said() {
        let inputs = [Input::File("no-such-folder/*.csv".into())];
        assert_eq!(
            expand(&inputs).err().map(|failure| failure.to_string()).as_deref(),
            Some(
                "no-such-folder/*.csv: no file fits this pattern\n\
                 hint: check the folder and the ending; * stands for any part of a name"
            )
        );
        assert_eq!(expand(&[Input::Stdin]), Ok(Expanded { inputs: vec![Input::Stdin], locks: Vec::new() }));
        // A lock that a shell put beside its workbook; one alone is what the user asked for.
        let (book, lock) = (Input::File("a.xlsx".into()), Input::File("~$a.xlsx".into()));
        assert_eq!(
            expand(&[book.clone(), lock.clone()]),
            Ok(Expanded { inputs: vec![book], locks: vec!["~$a.xlsx".into()] })
        );
        assert_eq!(expand(std::slice::from_ref(&lock)), Ok(Expanded { inputs: vec![lock], locks: Vec::new() }));
    }
}
