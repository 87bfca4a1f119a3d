//! One `add` that is killed at some instant, and what the master must be then.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A master and a sheet in a folder, and the two states that the master may have.
pub(crate) struct Scene {
    binary: PathBuf,
    folder: PathBuf,
    old: Vec<u8>,
    new: Vec<u8>,
    /// How long an undisturbed run takes.
    pub(crate) usual: Duration,
}

/// What a run left that was to be killed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Killed {
    pub(crate) left: Left,
    /// Whether it was still running at that instant.
    pub(crate) in_time: bool,
}

/// The state of the master.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Left {
    /// The master as it was before.
    Old,
    /// The master with the new tests.
    New,
}

impl Scene {
    /// Writes the files and makes one undisturbed run, which shows the new state.
    pub(crate) fn build(binary: &Path, folder: &Path, rows: usize, added: usize) -> Result<Self, String> {
        let row = |winding: String, day: usize, i: usize| {
            format!("{winding},20{:02}-{:02}-{:02},{}\n", day % 26, 1 + day % 12, 1 + i % 28, 100 + i % 97)
        };
        let header = "winding,tested_on,r_60s\n".to_owned();
        let old: String =
            std::iter::once(header.clone()).chain((0..rows).map(|i| row(format!("P-{i}"), i, i))).collect();
        let sheet: String = std::iter::once(header).chain((0..added).map(|i| row(format!("N-{i}"), i, i))).collect();
        let mut scene = Self {
            binary: binary.to_owned(),
            folder: folder.to_owned(),
            old: old.into_bytes(),
            new: Vec::new(),
            usual: Duration::ZERO,
        };
        std::fs::write(scene.path("sheet.csv"), sheet).map_err(|error| error.to_string())?;
        // The quickest of three: others may use the machine too.
        let mut quickest = Duration::MAX;
        for _ in 0..3 {
            scene.reset()?;
            let began = Instant::now();
            let status = scene.command().status().map_err(|error| error.to_string())?;
            quickest = quickest.min(began.elapsed());
            if !status.success() {
                return Err(format!("an undisturbed run ended with {status}"));
            }
        }
        scene.usual = quickest;
        scene.new = scene.read("m.csv")?;
        if scene.new.len() <= scene.old.len() || !scene.new.starts_with(&scene.old) {
            return Err("an undisturbed run did not put the rows behind the master".to_owned());
        }
        Ok(scene)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    fn read(&self, name: &str) -> Result<Vec<u8>, String> {
        std::fs::read(self.path(name)).map_err(|error| format!("{name}: {error}"))
    }

    fn reset(&self) -> Result<(), String> {
        let _ = std::fs::remove_file(self.path("m.csv.bak"));
        std::fs::write(self.path("m.csv"), &self.old).map_err(|error| error.to_string())
    }

    fn command(&self) -> Command {
        let mut command = Command::new(&self.binary);
        command.current_dir(&self.folder).args(["add", "sheet.csv", "--to", "m.csv"]);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    /// Runs `add`, kills it after so long, and looks at the master; then runs it again, which must end with the new one.
    ///
    /// # Errors
    ///
    /// What was damaged.
    pub(crate) fn kill_after(&self, delay: Duration) -> Result<Killed, String> {
        self.reset()?;
        let mut run = self.command().spawn().map_err(|error| error.to_string())?;
        std::thread::sleep(delay);
        let in_time = run.try_wait().map_err(|error| error.to_string())?.is_none();
        let _ = run.kill();
        run.wait().map_err(|error| error.to_string())?;
        let left = self.state()?;
        let again = self.command().status().map_err(|error| error.to_string())?;
        if !again.success() || self.state()? != Left::New {
            return Err(format!("the run after the killed one ended with {again}"));
        }
        let names = std::fs::read_dir(&self.folder).map_err(|error| error.to_string())?;
        let mut names: Vec<String> = names.filter_map(|e| e.ok()?.file_name().into_string().ok()).collect();
        names.sort();
        if left == Left::Old && names != [".m.csv.lock", "m.csv", "m.csv.bak", "sheet.csv"] {
            return Err(format!("the run after the killed one left {}", names.join(", ")));
        }
        Ok(Killed { left, in_time })
    }

    /// Whether the master is the old one or the new one, byte for byte, and the backup, if there is one, the old one.
    fn state(&self) -> Result<Left, String> {
        let master = self.read("m.csv")?;
        if self.path("m.csv.bak").exists() && self.read("m.csv.bak")? != self.old {
            return Err("the backup is not the previous master".to_owned());
        }
        if master == self.old {
            Ok(Left::Old)
        } else if master == self.new && self.path("m.csv.bak").exists() {
            Ok(Left::New)
        } else {
            Err(format!(
                "the master has {} bytes, neither the old {} nor the new {}",
                master.len(),
                self.old.len(),
                self.new.len()
            ))
        }
    }
}
