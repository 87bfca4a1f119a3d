//! A folder of files and what a run of the binary in it gives.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A folder that goes away with the test.
pub(crate) struct World {
    folder: tempfile::TempDir,
}

/// What a run gave.
#[derive(Debug, PartialEq)]
pub(crate) struct Outcome {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) words: String,
}

impl World {
    pub(crate) fn new(files: &[(&str, &str)]) -> Self {
        let world = Self { folder: tempfile::tempdir().unwrap() };
        for (name, text) in files {
            std::fs::write(world.path(name), text).unwrap();
        }
        world
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    /// Names of all files in the folder, hidden ones too.
    pub(crate) fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).unwrap();
        let mut names: Vec<String> = entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_groundwall"));
        command.current_dir(self.folder.path()).args(args).env("NO_COLOR", "1");
        for variable in ["REGISTER", "POLICY", "COLOR", "MESSAGES", "THREADS"] {
            command.env_remove(format!("GROUNDWALL_{variable}"));
        }
        command
    }

    pub(crate) fn run(&self, args: &[&str]) -> Outcome {
        self.run_with(args, b"")
    }

    /// Runs where no file may become larger than so many kilobytes, as on a full disk. The system sends a signal that ends whoever does not
    /// heed it.
    #[cfg(unix)]
    pub(crate) fn run_on_a_full_disk(&self, kilobytes: u32, args: &str) -> Outcome {
        self.run_within('f', kilobytes, args)
    }

    /// Runs where the shell grants so many kilobytes of something only.
    #[cfg(unix)]
    pub(crate) fn run_within(&self, limit: char, kilobytes: u32, args: &str) -> Outcome {
        let script = format!("ulimit -{limit} {kilobytes}; exec \"$0\" {args}");
        let output = Command::new("sh")
            .args(["-c", &script, env!("CARGO_BIN_EXE_groundwall")])
            .current_dir(self.path(""))
            .output()
            .unwrap();
        Outcome {
            status: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).unwrap(),
            words: String::from_utf8(output.stderr).unwrap(),
        }
    }

    pub(crate) fn run_with(&self, args: &[&str], input: &[u8]) -> Outcome {
        let mut command = self.command(args);
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // The program may end without reading its input.
        let _ = child.stdin.take().unwrap().write_all(input);
        let output = child.wait_with_output().unwrap();
        Outcome {
            status: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).unwrap(),
            words: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

impl Outcome {
    /// A run that refused: nothing on standard output.
    pub(crate) fn refused(status: i32, words: &str) -> Self {
        Self { status, out: String::new(), words: words.to_owned() }
    }

    /// A run that printed a result and no words.
    pub(crate) fn printed(status: i32, out: &str) -> Self {
        Self { status, out: out.to_owned(), words: String::new() }
    }
}

/// A file of the demo plant.
pub(crate) fn demo(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data-demo");
    folder.join(name).canonicalize().unwrap().to_string_lossy().into_owned()
}
