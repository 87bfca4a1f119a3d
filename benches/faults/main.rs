//! Fails every system call that a writing command makes, one at a time: each file is the old one or the new one, nothing of
//! anybody's is touched, the status is a documented one, and the next run ends well.
//!
//! ```text
//! cargo build --release -p groundwall-cli
//! cargo run --release -p groundwall-cli --example faults
//! ```
//!
//! Needs `strace` (Linux). See `benches/README.md`.

#![allow(clippy::print_stdout, reason = "the account is what this program is for")]

mod scene;

use scene::{SCENES, Scene, Snapshot, snapshot};
use std::error::Error;
use std::path::Path;

/// Calls that are made to fail, and the error each of them gives.
const CALLS: [(&str, &str); 13] = [
    ("openat", "EMFILE"),
    ("write", "ENOSPC"),
    ("fsync", "EIO"),
    ("rename", "EIO"),
    ("renameat2", "EIO"),
    ("link", "EIO"),
    ("linkat", "EIO"),
    ("unlink", "EIO"),
    ("mkdir", "ENOSPC"),
    ("rmdir", "EIO"),
    ("fchmod", "EPERM"),
    ("fchown", "EPERM"),
    ("flock", "EIO"),
];

fn main() -> Result<(), Box<dyn Error>> {
    let binary = match std::env::args().nth(1) {
        Some(path) => path.into(),
        None => std::env::current_exe()?.with_file_name("").join("../groundwall"),
    };
    let binary = std::fs::canonicalize(binary)?;
    let folder = tempfile::tempdir()?;
    let (mut faults, mut broken) = (0, 0);
    for scene in &SCENES {
        scene.reset(&binary, folder.path())?;
        let old = snapshot(folder.path())?;
        let undisturbed = scene.run(&binary, folder.path())?;
        if !undisturbed.status.success() {
            return Err(format!("{}: {}", scene.name, String::from_utf8_lossy(&undisturbed.stderr)).into());
        }
        let new = snapshot(folder.path())?;
        let mut of_scene = 0;
        for (call, error) in CALLS {
            scene.reset(&binary, folder.path())?;
            for when in 1..=scene.calls(call, &binary, folder.path())? {
                let fault = format!("inject={call}:error={error}:when={when}");
                of_scene += 1;
                if let Some(rule) = broken_rule(scene, &fault, &binary, folder.path(), [&old, &new])? {
                    broken += 1;
                    println!("{}, {fault}: {rule}", scene.name);
                }
            }
        }
        println!("{}: {of_scene} faults", scene.name);
        faults += of_scene;
    }
    println!("{faults} faults, {broken} broken rules");
    if broken == 0 { Ok(()) } else { Err("a rule was broken".into()) }
}

/// Runs a command with a fault, looks at what is there, and runs it again; the rule that was broken, if any was.
fn broken_rule(
    scene: &Scene,
    fault: &str,
    binary: &Path,
    folder: &Path,
    [old, new]: [&Snapshot; 2],
) -> Result<Option<String>, Box<dyn Error>> {
    scene.reset(binary, folder)?;
    let disturbed = scene.run_with(fault, binary, folder)?;
    let found = snapshot(folder)?;
    let words = String::from_utf8_lossy(&disturbed.stderr).into_owned();
    // Before the program itself begins, the system's loader opens the libraries.
    if disturbed.status.code() == Some(127) && words.contains("error while loading shared libraries") {
        return Ok((found != *old).then(|| "something was written without the program".to_owned()));
    }
    if !disturbed.status.code().is_some_and(|code| (0..=4).contains(&code)) {
        return Ok(Some(format!("ended with {}: {words}", disturbed.status)));
    }
    if let Some(rule) = mixed(&found, old, new) {
        return Ok(Some(rule));
    }
    if disturbed.status.success() && found != *new {
        return Ok(Some("said to be done, and not all was written".to_owned()));
    }
    if !disturbed.status.success() && words.is_empty() && !fault.contains(":write:") {
        return Ok(Some("failed without a word".to_owned()));
    }
    // The next run ends well.
    let again = scene.run(binary, folder)?;
    let left = snapshot(folder)?;
    if let Some(name) = left.keys().find(|name| name.contains("groundwall-")) {
        return Ok(Some(format!("{name} is still there after the next run")));
    }
    if !again.status.success() {
        return Ok(Some(format!("the next run: {}", String::from_utf8_lossy(&again.stderr))));
    }
    Ok(None)
}

/// The first file or folder that is neither the old nor the new one. What is on its way may still be there.
fn mixed(found: &Snapshot, old: &Snapshot, new: &Snapshot) -> Option<String> {
    let names = found.keys().chain(old.keys());
    let is_whole = |name: &String| {
        let now = found.get(name);
        name.contains("groundwall-") || now == old.get(name) || now == new.get(name)
    };
    names.into_iter().find(|name| !is_whole(name)).map(|name| format!("{name} is neither the old one nor the new one"))
}
