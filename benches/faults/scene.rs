//! A command that writes, in a folder of its own, and what the folder may look like after a fault.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Everything in a folder: each file or folder at its top with all that is in it. Locks are left out.
pub(crate) type Snapshot = BTreeMap<String, Vec<(PathBuf, Vec<u8>)>>;

/// A command and the files it finds.
pub(crate) struct Scene {
    pub(crate) name: &'static str,
    args: &'static [&'static str],
    /// The commands that come before it, undisturbed.
    before: &'static [&'static [&'static str]],
}

/// Every command that writes files.
pub(crate) const SCENES: [Scene; 15] = [
    Scene { name: "assess", args: &["assess", "h.csv", "-q", "--format", "csv", "--out", "out"], before: &[] },
    Scene {
        name: "check",
        args: &["check", "h.csv", "--rejects", "out", "--register-template", "t.csv", "--force"],
        before: &[],
    },
    Scene { name: "round", args: &["round", "h.csv", "--format", "csv", "--out", "out", "--force"], before: &[] },
    Scene { name: "chart", args: &["chart", "h.csv", "--winding", "P-1", "--out", "c.svg"], before: &[] },
    Scene { name: "fleet", args: &["chart", "h.csv", "--kind", "fleet", "--out", "f.svg"], before: &[] },
    Scene { name: "explain", args: &["explain", "h.csv", "--winding", "P-1", "--out", "out"], before: &[] },
    Scene { name: "replay", args: &["replay", "h.csv", "--out", "out", "--chart", "c.svg"], before: &[] },
    Scene {
        name: "compare",
        args: &["compare", "a.json", "b.json", "--out", "out"],
        before: &[
            &["assess", "h.csv", "--as-of", "2026-11-24", "--format", "json", "--out", "a.json"],
            &["assess", "h.csv", "--as-of", "2026-11-25", "--format", "json", "--out", "b.json"],
        ],
    },
    Scene { name: "completions", args: &["completions", "bash", "--out", "out"], before: &[] },
    Scene { name: "manual", args: &["manual", "--out", "man"], before: &[] },
    Scene { name: "policy", args: &["policy", "--out", "out", "--force"], before: &[] },
    Scene { name: "demo", args: &["demo", "d"], before: &[] },
    Scene { name: "add", args: &["add", "s.csv", "--to", "m.csv"], before: &[] },
    Scene { name: "create", args: &["add", "s.csv", "--to", "new.csv", "--create"], before: &[] },
    Scene {
        name: "report",
        args: &["report", "h.csv", "--as-of", "2026-11-25", "--out", "r"],
        before: &[&["report", "h.csv", "--as-of", "2026-11-24", "--out", "r"]],
    },
];

impl Scene {
    /// Makes the folder again.
    pub(crate) fn reset(&self, binary: &Path, folder: &Path) -> io::Result<()> {
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() { fs::remove_dir_all(path)? } else { fs::remove_file(path)? }
        }
        let header = "winding,tested_on,r_60s,winding_temp_c\n";
        let row = |name: &str, i: usize| format!("{name},20{}-0{}-05,{},40\n", 20 + i / 4, 1 + 2 * (i % 4), 90 - i);
        let rows = |name: &str, count: usize| (0..count).map(|i| row(name, i)).collect::<String>();
        fs::write(folder.join("h.csv"), format!("{header}{}P-2,2026-01-05,x,40\n", rows("P-1", 20)))?;
        fs::write(folder.join("m.csv"), format!("{header}{}", rows("P-1", 20)))?;
        fs::write(folder.join("s.csv"), format!("{header}{}", rows("P-3", 5)))?;
        fs::write(folder.join("out"), "old\n")?;
        for args in self.before {
            Command::new(binary).current_dir(folder).args(*args).output()?;
        }
        Ok(())
    }

    /// Runs the command undisturbed.
    pub(crate) fn run(&self, binary: &Path, folder: &Path) -> io::Result<Output> {
        Command::new(binary).current_dir(folder).args(self.args).env("RAYON_NUM_THREADS", "1").output()
    }

    /// Runs the command with one of its system calls failing.
    pub(crate) fn run_with(&self, fault: &str, binary: &Path, folder: &Path) -> io::Result<Output> {
        let mut traced = Self::traced(folder);
        traced.args(["-o", "/dev/null", "-e", fault]).arg(binary).args(self.args).output()
    }

    /// How often the command makes a system call.
    pub(crate) fn calls(&self, call: &str, binary: &Path, folder: &Path) -> io::Result<usize> {
        let trace = tempfile::NamedTempFile::new()?;
        let mut traced = Self::traced(folder);
        traced
            .arg("-o")
            .arg(trace.path())
            .args(["-e", &format!("trace={call}")])
            .arg(binary)
            .args(self.args)
            .output()?;
        Ok(fs::read_to_string(trace.path())?.lines().count())
    }

    /// One thread, so that the same call is the same one every time.
    fn traced(folder: &Path) -> Command {
        let mut traced = Command::new("strace");
        traced.current_dir(folder).env("RAYON_NUM_THREADS", "1").args(["-f", "-qqq"]);
        traced
    }
}

pub(crate) fn snapshot(folder: &Path) -> io::Result<Snapshot> {
    let mut found = Snapshot::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.ends_with(".lock") {
            continue;
        }
        let mut files = Vec::new();
        collect(&entry.path(), &mut files)?;
        found.insert(name, files);
    }
    Ok(found)
}

fn collect(path: &Path, files: &mut Vec<(PathBuf, Vec<u8>)>) -> io::Result<()> {
    if !path.is_dir() {
        files.push((path.to_owned(), fs::read(path)?));
        return Ok(());
    }
    let mut entries = fs::read_dir(path)?.collect::<io::Result<Vec<_>>>()?;
    entries.sort_by_key(fs::DirEntry::file_name);
    entries.iter().try_for_each(|entry| collect(&entry.path(), files))
}
