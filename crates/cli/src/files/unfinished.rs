//! Files and folders that are still being written, and what becomes of them when the run is ended from outside.
//!
//! An interrupt (Ctrl-C), a terminal that is closed, and a request to quit or to terminate remove all of them before the program ends. Nothing helps against a kill
//! or a loss of power; their names are therefore fixed, and the next run that writes the same place cleans up.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

/// How the names of unfinished files and folders end.
pub const PART: &str = ".groundwall-part";

/// What is being written now. Whoever makes, renames or removes one of them holds this, and so does the end by a signal.
static ALL: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// A file or folder that goes away with this value, or with the program, unless it has been put in its place.
#[derive(Debug)]
pub struct Unfinished {
    path: PathBuf,
}

impl Unfinished {
    /// Makes a file or folder by `make`, and takes charge of it in the same instant.
    ///
    /// # Errors
    ///
    /// That of `make`.
    pub fn make<T>(path: PathBuf, make: impl FnOnce(&Path) -> io::Result<T>) -> io::Result<(Self, T)> {
        watch_signals();
        let mut all = all();
        let made = make(&path)?;
        all.push(path.clone());
        Ok((Self { path }, made))
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

    /// Moves it by `put` to another place, where it is as unfinished as before.
    ///
    /// # Errors
    ///
    /// That of `put`.
    pub fn moved(mut self, place: &Path, put: impl FnOnce(&Path, &Path) -> io::Result<()>) -> io::Result<Self> {
        let mut all = all();
        put(&self.path, place)?;
        all.iter_mut().filter(|path| **path == self.path).for_each(|path| place.clone_into(path));
        place.clone_into(&mut self.path);
        drop(all);
        Ok(self)
    }

    /// Keeps several, all in one instant.
    pub fn keep(finished: &[Self]) {
        all().retain(|path| finished.iter().all(|kept| kept.path != *path));
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        let mut all = all();
        if let Some(i) = all.iter().position(|path| *path == self.path) {
            all.remove(i);
            remove(&self.path);
        }
    }
}

fn all() -> MutexGuard<'static, Vec<PathBuf>> {
    ALL.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Removes a file or folder of ours, and says whether it is gone. If that fails, the next run does it. Only folders under a
/// name of ours are removed with all that is in them; others may hold what somebody put there.
fn remove(path: &Path) -> bool {
    let is_part = path.file_name().is_some_and(|name| name.as_encoded_bytes().ends_with(PART.as_bytes()));
    let removed = match fs::symlink_metadata(path) {
        Ok(found) if found.is_dir() && is_part => fs::remove_dir_all(path),
        Ok(found) if found.is_dir() => fs::remove_dir(path),
        Ok(_) => fs::remove_file(path),
        Err(_) => Ok(()),
    };
    removed.is_ok()
}

/// Starts the watch with the first unfinished file. Without a thread for it, signals end the program as they always do.
fn watch_signals() {
    static STARTED: Once = Once::new();
    STARTED.call_once(|| {
        #[cfg(unix)]
        signals::begin();
    });
}

/// What the process may use is at an end: a file that reaches its size limit makes its write fail with an error, instead of ending
/// the program without a word; where the system grants no memory, the runtime says so, and the program ends with `status`.
#[cfg(unix)]
pub fn handle_file_size_signal(status: u8) {
    use signal_hook::consts::{SIGABRT, SIGXFSZ};
    use signal_hook::flag::{register, register_conditional_shutdown};
    use std::sync::Arc;
    // Whoever has it caught gets the error. Signals that cannot be caught end the program as always.
    let _ = register(SIGXFSZ, Arc::default());
    let _ = register_conditional_shutdown(SIGABRT, i32::from(status), Arc::new(true.into()));
}

/// Where there are no such signals there is nothing to heed.
#[cfg(not(unix))]
pub const fn handle_file_size_signal(_status: u8) {}

#[cfg(unix)]
mod signals {
    use signal_hook::consts::{SIGALRM, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGUSR1, SIGUSR2, SIGVTALRM, SIGXCPU};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;
    use std::sync::mpsc::{Sender, channel};
    use std::time::Duration;

    /// Other threads may be writing into a folder that is being removed, so that it is not empty in the end: it is tried so often,
    /// with a pause between.
    const TRIES: usize = 200;
    const PAUSE: Duration = Duration::from_millis(5);

    /// Returns as soon as the watch is on.
    pub(super) fn begin() {
        let (on, is_on) = channel();
        let started = std::thread::Builder::new().name("signals".to_owned()).spawn(|| watch(on));
        if started.is_ok() {
            // It fails if signals cannot be caught; they then end the program as always.
            let _ = is_on.recv();
        }
    }

    /// Removes what is unfinished when one of these signals comes, and then ends as if it had not been caught.
    fn watch(on: Sender<()>) {
        let all = [SIGALRM, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGUSR1, SIGUSR2, SIGVTALRM, SIGXCPU];
        let heeded = all.into_iter().filter(|signal| !is_ignored(*signal));
        let Ok(mut signals) = Signals::new(heeded) else { return };
        drop(on);
        for signal in &mut signals {
            // Kept to the end, so that nothing more is begun or put in place.
            let all = super::all();
            // The latest first: what is in a folder goes before the folder.
            for path in all.iter().rev() {
                for _ in 0..TRIES {
                    if super::remove(path) {
                        break;
                    }
                    std::thread::sleep(PAUSE);
                }
            }
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
        let [file, tree, kept, place] =
            ["file", ".tree.groundwall-part", "kept", "place"].map(|name| folder.path().join(name));
        let write = |path: &Path| fs::write(path, "x");
        let made = |path: &Path| Unfinished::make(path.to_owned(), write).unwrap().0;
        let [a, c, d] = [&file, &kept, &folder.path().join("part")].map(|path| made(path));
        let (b, ()) = Unfinished::make(tree.clone(), |tree| fs::create_dir_all(tree.join("deep"))).unwrap();
        assert_eq!(c.finish(|_| Ok(())).map_err(|error| error.kind()), Ok(()));
        assert_eq!(
            b.finish(|_| Err(io::ErrorKind::StorageFull.into())).map_err(|error| error.kind()),
            Err(io::ErrorKind::StorageFull)
        );
        drop(a);
        let d = d.moved(&place, |part, place| fs::rename(part, place)).unwrap();
        assert!(place.exists());
        drop(d);
        assert_eq!([file, tree, kept, place].map(|path| path.exists()), [false, false, true, false]);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
