//! The threads that share long work: as many as there are cores, or as many as the system grants.

use rayon::{ThreadBuilder, ThreadPoolBuilder};
use std::sync::mpsc::{Sender, channel};

/// Starts them once and for all, as many as were `said`. Where the system grants none, because of a limit on processes or memory, this thread does
/// the work alone. They are started before the pool is built, because a pool that cannot start its threads cannot be built
/// again.
pub fn start(said: Option<usize>) {
    let mut granted = match said.unwrap_or_else(wanted) {
        1 => Vec::new(),
        count => (0..count).map_while(|_| one()).collect(),
    };
    let pool = match granted.len() {
        0 => ThreadPoolBuilder::new().num_threads(1).use_current_thread(),
        count => ThreadPoolBuilder::new().num_threads(count),
    };
    let started = pool.spawn_handler(move |work| {
        let handed = granted.pop().is_some_and(|thread| thread.send(work).is_ok());
        if handed { Ok(()) } else { Err(std::io::ErrorKind::WouldBlock.into()) }
    });
    // It fails only where the pool has been started already.
    let _ = started.build_global();
}

/// A thread that waits for its work.
fn one() -> Option<Sender<ThreadBuilder>> {
    let (hand, work) = channel::<ThreadBuilder>();
    let run = move || {
        if let Ok(work) = work.recv() {
            work.run();
        }
    };
    std::thread::Builder::new().spawn(run).ok().map(|_| hand)
}

/// `RAYON_NUM_THREADS`, if it is a number above 0; otherwise the number of cores.
fn wanted() -> usize {
    let said = std::env::var("RAYON_NUM_THREADS").ok().and_then(|text| text.parse().ok()).filter(|count| *count > 0);
    said.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, std::num::NonZero::get))
}
