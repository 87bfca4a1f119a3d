//! Files and folders that are still being written, and what becomes of them when the run is ended from outside.
//!
//! An interrupt (Ctrl-C) or a request to terminate removes all of them before the program ends. Nothing helps against a kill
//! or a loss of power; their names are therefore fixed, and the next run that writes the same place cleans up.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

/// What is being written now. Whoever renames or removes one of them holds this, and so does the end by a signal.
static ALL: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// A file or folder that goes away with this value, or with the program, unless it has been put in its place.
#[derive(Debug)]
pub struct Unfinished {
    path: PathBuf,
}

impl Unfinished {
    /// Takes charge of a path. What is there already is removed like everything else.
    #[must_use]
    pub fn new(path: PathBuf) -> Self {
        watch_signals();
        all().push(path.clone());
        Self { path }
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Puts it in its place by `put`, which no signal interrupts. If that fails it goes away as before.
    ///
    /// # Errors
    ///
    /// That of `put`.
    pub fn finish(self, put: impl FnOnce(&Path) -> io::Result<()>) -> io::Result<()> {
        let mut all = all();
        put(&self.path)?;
        all.retain(|path| *path != self.path);
        Ok(())
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        let mut all = all();
        if let Some(i) = all.iter().position(|path| *path == self.path) {
            all.swap_remove(i);
            remove(&self.path);
        }
    }
}

fn all() -> MutexGuard<'static, Vec<PathBuf>> {
    ALL.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Removes a file or folder of ours. If that fails, the next run does it.
fn remove(path: &Path) {
    let _ = match fs::symlink_metadata(path) {
        Ok(found) if found.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
        Err(_) => Ok(()),
    };
}

/// Starts the watch with the first unfinished file. Without a thread for it, signals end the program as they always do.
fn watch_signals() {
    static STARTED: Once = Once::new();
    STARTED.call_once(|| {
        #[cfg(unix)]
        signals::begin();
    });
}

#[cfg(unix)]
mod signals {
    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;
    use std::sync::mpsc::{Sender, channel};

    /// Returns as soon as the watch is on.
    pub(super) fn begin() {
        let (on, is_on) = channel();
        let started = std::thread::Builder::new().name("signals".to_owned()).spawn(|| watch(on));
        if started.is_ok() {
            // It fails if signals cannot be caught; they then end the program as always.
            let _ = is_on.recv();
        }
    }

    /// Removes what is unfinished when one of these signals comes, and then ends as if nobody had caught it.
    fn watch(on: Sender<()>) {
        let heeded = [SIGINT, SIGTERM].into_iter().filter(|signal| !is_ignored(*signal));
        let Ok(mut signals) = Signals::new(heeded) else { return };
        drop(on);
        for signal in &mut signals {
            // Kept to the end, so that nothing more is begun or put in place.
            let all = super::all();
            all.iter().for_each(|path| super::remove(path));
            let _ = emulate_default_handler(signal);
        }
    }

    /// Whether whoever started the program had it ignore a signal, as shells do for work in the background; where the system
    /// does not say, no.
    fn is_ignored(signal: i32) -> bool {
        let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
        let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:")).map(str::trim);
        mask.and_then(|mask| u64::from_str_radix(mask, 16).ok()).is_some_and(|mask| mask >> (signal - 1) & 1 == 1)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_finished_goes_away_and_what_is_stays() {
        let folder = tempfile::tempdir().unwrap();
        let [file, tree, kept] = ["file", "tree", "kept"].map(|name| folder.path().join(name));
        let unfinished = [file.clone(), tree.clone(), kept.clone()].map(Unfinished::new);
        fs::write(&file, "x").unwrap();
        fs::create_dir_all(tree.join("deep")).unwrap();
        fs::write(&kept, "x").unwrap();
        let [a, b, c] = unfinished;
        assert_eq!(c.finish(|_| Ok(())).map_err(|error| error.kind()), Ok(()));
        assert_eq!(
            b.finish(|_| Err(io::ErrorKind::StorageFull.into())).map_err(|error| error.kind()),
            Err(io::ErrorKind::StorageFull)
        );
        drop(a);
        assert_eq!([file.exists(), tree.exists(), kept.exists()], [false, false, true]);
    }
}
