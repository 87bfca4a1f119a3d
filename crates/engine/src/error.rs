//! What stops a run, in words for the person who started it.
//!
//! A [`Failure`] is one or more [`Problem`]s (place, thing, value found, rule; then what to do) and the [`Status`] the program
//! ends with. Nothing else ends a run: a rejected row is data, not a failure.

use crate::legible::{UNREADABLE, steers};
use std::fmt;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// How a run ended; the number is the exit status.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Done.
    Done = 0,
    /// The system or this program failed.
    Failed = 1,
    /// Wrong usage or unreadable input.
    Usage = 2,
    /// `--strict` found rejected rows.
    RowsRejected = 3,
    /// `--fail-on` was met.
    ActionMet = 4,
}

impl Status {
    /// The exit status.
    #[must_use]
    pub const fn code(self) -> u8 {
        self as u8
    }
}

/// One thing that is wrong and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Place, thing, value found, rule: a lowercase phrase without a full stop.
    pub message: String,
    /// What to do.
    pub hint: Option<String>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        match &self.hint {
            Some(hint) => write!(f, "\nhint: {hint}"),
            None => Ok(()),
        }
    }
}

/// Why a run cannot go on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    problems: Vec<Problem>,
    status: Status,
}

/// More problems than this are counted, not printed.
const PROBLEMS_SHOWN: usize = 50;

impl Failure {
    /// The user has to change something: usage, a path, a file.
    #[must_use]
    pub fn usage(message: impl Into<String>) -> Self {
        Self { problems: vec![Problem { message: message.into(), hint: None }], status: Status::Usage }
    }

    /// Nothing the user wrote is wrong: the disk is full, a device broke.
    #[must_use]
    pub fn internal(message: impl Into<String>) -> Self {
        Self { status: Status::Failed, ..Self::usage(message) }
    }

    /// Several problems at once, all of them the user's to mend; `None` when the list is empty.
    #[must_use]
    pub fn of_problems(problems: Vec<Problem>) -> Option<Self> {
        (!problems.is_empty()).then_some(Self { problems, status: Status::Usage })
    }

    /// The same, found where the user is strict about rejected rows.
    #[must_use]
    pub fn of_rejected_rows(self) -> Self {
        Self { status: Status::RowsRejected, ..self }
    }

    /// Adds what to do to the last problem.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        if let Some(problem) = self.problems.last_mut() {
            problem.hint = Some(hint.into());
        }
        self
    }

    /// Adds something else to do to what the last problem says already.
    #[must_use]
    pub fn also(mut self, hint: &str) -> Self {
        if let Some(problem) = self.problems.last_mut() {
            problem.hint =
                Some(problem.hint.take().map_or_else(|| hint.to_owned(), |first| format!("{first}; {hint}")));
        }
        self
    }

    /// Adds the problems of another failure.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.problems.extend(other.problems);
        self
    }

    /// The status the program ends with.
    #[must_use]
    pub const fn status(&self) -> Status {
        self.status
    }

    /// The problems, in the order found.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Prints the problems, each with its hint.
    ///
    /// # Errors
    ///
    /// That of the writer.
    pub fn print(&self, words: &mut dyn Write) -> io::Result<()> {
        for problem in self.problems.iter().take(PROBLEMS_SHOWN) {
            writeln!(words, "{problem}")?;
        }
        match self.problems.len().saturating_sub(PROBLEMS_SHOWN) {
            0 => Ok(()),
            more => writeln!(words, "and {more} more"),
        }
    }

    /// A file or standard input that cannot be read.
    #[must_use]
    pub fn unreadable(place: &str, error: &io::Error) -> Self {
        let (message, hint) = match error.kind() {
            io::ErrorKind::NotFound => ("there is no such file", "check the spelling and the folder"),
            io::ErrorKind::PermissionDenied => {
                ("this file may not be read by you", "ask its owner for permission to read it, or work on a copy")
            }
            io::ErrorKind::IsADirectory => ("this is a folder, not a file", "name the files inside it"),
            // Of the system and of this process: not the file's fault.
            _ if cfg!(unix) && matches!(error.raw_os_error(), Some(23 | 24)) => {
                return Self::internal(format!("{place}: cannot be read: too many files are open"))
                    .hint("close other programs, or allow this one more open files");
            }
            _ => return Self::usage(format!("{place}: cannot be read: {error}")).hint("try again with a copy of it"),
        };
        Self::usage(format!("{place}: {message}")).hint(hint)
    }

    /// Adds to the last problem what had been done before it.
    #[must_use]
    pub fn after(mut self, done: &str) -> Self {
        if let Some(problem) = self.problems.last_mut() {
            problem.message = format!("{}; before that, {done}", problem.message);
        }
        self
    }

    /// What became of writing into standard output, a pipe or a device. A reader that went away, as `head` does, wants no more: that
    /// is not a failure, and changes neither what else is done nor the status.
    ///
    /// # Errors
    ///
    /// What `failure` makes of any other error.
    pub fn unless_unread(written: io::Result<()>, failure: impl FnOnce(&io::Error) -> Self) -> Result<(), Self> {
        match written {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(failure(&error)),
            _ => Ok(()),
        }
    }

    /// Standard output that cannot be written. Unlike a file, it may hold the first part of a result.
    #[must_use]
    pub fn unprintable(error: &io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::FileTooLarge => {
                Self::internal("standard output: cannot be written: it would be larger than files may be")
                    .hint("what was printed is incomplete; raise the limit for the size of files")
            }
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                Self::internal("standard output: cannot be written: the disk is full")
                    .hint("what was printed is incomplete; free some space, or print to another place")
            }
            _ => Self::internal(format!("standard output: cannot be written: {error}"))
                .hint("what was printed is incomplete; print to another place"),
        }
    }

    /// A file that cannot be written.
    #[must_use]
    pub fn unwritable(path: &Path, error: &io::Error) -> Self {
        let place = path.display();
        match error.kind() {
            io::ErrorKind::NotFound => {
                let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
                Self::usage(format!("{place}: cannot be written: the folder {} does not exist", folder.display()))
                    .hint("make the folder first, or give another path")
            }
            io::ErrorKind::IsADirectory => {
                Self::usage(format!("{place}: cannot be written: this is a folder")).hint("add a file name to the path")
            }
            io::ErrorKind::NotADirectory => {
                Self::usage(format!("{place}: cannot be written: a part of the path is a file, not a folder"))
                    .hint("give another path")
            }
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                Self::usage(format!("{place}: cannot be written: you may not write there"))
                    .hint("give a path in a folder of your own")
            }
            io::ErrorKind::FileTooLarge => {
                Self::internal(format!("{place}: cannot be written: it would be larger than files may be"))
                    .hint("raise the limit for the size of files; nothing was left half-written")
            }
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                Self::internal(format!("{place}: cannot be written: the disk is full"))
                    .hint("make room or give a path on another disk; nothing was left half-written")
            }
            _ => Self::internal(format!("{place}: cannot be written: {error}")),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.problems.iter().enumerate() {
            write!(f, "{}{problem}", if i == 0 { "" } else { "\n" })?;
        }
        Ok(())
    }
}

impl std::error::Error for Failure {}

/// What work comes to: a panic is a failure of ours, for callers that go on after it.
///
/// # Errors
///
/// That of the work, or a [`Failure`] with what the panic says.
pub fn caught<T>(work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| {
        let text = panic.downcast_ref::<String>().map(String::as_str).or_else(|| panic.downcast_ref::<&str>().copied());
        let text = shown(text.unwrap_or("no reason was given"));
        Err(Failure::internal(format!("internal error: {text}"))
            .hint("nothing was judged; tell the maintainers, with the smallest input that shows it"))
    })
}

/// Text from a file made fit for one line of a message: characters that [steer](steers) are shown as escapes, long text is cut.
#[must_use]
pub fn shown(text: &str) -> String {
    const LONGEST: usize = 60;
    // A cell that cannot be read has no text of its own.
    let text = if text == UNREADABLE { text.trim_end_matches(char::is_control) } else { text };
    let mut line = String::new();
    for (count, c) in text.chars().enumerate() {
        if count == LONGEST {
            line.push('…');
            break;
        }
        if c == '\n' || c == '\t' || steers(c) {
            line.extend(c.escape_default());
        } else {
            line.push(c);
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_reason_has_its_sentence_and_status() {
        for (kind, message, status) in [
            (io::ErrorKind::NotFound, "a.csv: there is no such file", Status::Usage),
            (io::ErrorKind::PermissionDenied, "a.csv: this file may not be read by you", Status::Usage),
            (io::ErrorKind::IsADirectory, "a.csv: this is a folder, not a file", Status::Usage),
        ] {
            let failure = Failure::unreadable("a.csv", &kind.into());
            assert_eq!((failure.problems()[0].message.as_str(), failure.status()), (message, status));
            assert!(failure.problems()[0].hint.is_some());
        }
        for (kind, message, status) in [
            (io::ErrorKind::NotFound, "x/a.csv: cannot be written: the folder x does not exist", Status::Usage),
            (io::ErrorKind::PermissionDenied, "x/a.csv: cannot be written: you may not write there", Status::Usage),
            (io::ErrorKind::StorageFull, "x/a.csv: cannot be written: the disk is full", Status::Failed),
        ] {
            let failure = Failure::unwritable(Path::new("x/a.csv"), &kind.into());
            assert_eq!((failure.problems()[0].message.as_str(), failure.status()), (message, status));
        }
        let written = |kind: io::ErrorKind| Failure::unless_unread(Err(kind.into()), Failure::unprintable);
        assert_eq!(written(io::ErrorKind::BrokenPipe), Ok(()));
        assert!(written(io::ErrorKind::StorageFull).is_err());
        assert_eq!(
            Failure::unprintable(&io::ErrorKind::StorageFull.into()).after("m.csv: 1 test was added").to_string(),
            "standard output: cannot be written: the disk is full; before that, m.csv: 1 test was added\n\
             hint: what was printed is incomplete; free some space, or print to another place"
        );
    }

    #[test]
    fn a_panic_is_a_failure_of_ours() {
        let none: [u8; 0] = [];
        let broken = caught(|| Ok(none[std::hint::black_box(1)]));
        let said = broken.map_err(|failure| (failure.status(), failure.to_string()));
        assert_eq!(
            said,
            Err((
                Status::Failed,
                "internal error: index out of bounds: the len is 0 but the index is 1\n\
                 hint: nothing was judged; tell the maintainers, with the smallest input that shows it"
                    .to_owned()
            ))
        );
    }

    #[test]
    fn many_problems_are_counted_at_the_end() {
        let problem = Problem { message: "m".to_owned(), hint: None };
        let mut words = Vec::new();
        let failure = Failure::of_problems(vec![problem; 53]);
        assert!(failure.is_some_and(|failure| failure.print(&mut words).is_ok()));
        let words = String::from_utf8_lossy(&words).into_owned();
        assert_eq!((words.lines().count(), words.lines().last()), (51, Some("and 3 more")));
    }

    #[test]
    fn text_from_a_file_cannot_steer_the_terminal() {
        assert_eq!(shown("a\u{1b}[2Jb\n"), "a\\u{1b}[2Jb\\n");
        assert_eq!(shown(&"x".repeat(100)).chars().count(), 61);
    }
}
