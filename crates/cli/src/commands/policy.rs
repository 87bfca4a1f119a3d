//! `policy`: writes the commented template, and never over a policy that somebody has edited.

use crate::args::PolicyArgs;
use crate::console::Console;
use crate::files::place::{FilePlace, Place, taken};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::policy_file;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

/// Writes the template.
///
/// # Errors
///
/// A [`Failure`] when it cannot be written, or when the file is there already and `--force` is not said.
pub fn run(args: &PolicyArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let place = args.out.path().map(|path| Place::find(path).map(|place| (path, place))).transpose()?;
    let Some((path, Place::File(place))) = place else {
        args.out.write(console.out, policy_file::write_template)?;
        return Ok(Status::Done);
    };
    if place.is_taken() && !args.force {
        return Err(taken(path).hint("give another name, or say --force, which keeps a copy of the old file"));
    }
    let mut template = Vec::new();
    policy_file::write_template(&mut template).map_err(|error| Failure::ours(error.to_string()))?;
    let part = place.begin()?.write(&template)?;
    if !place.is_taken() {
        part.put_new()?;
        return Ok(Status::Done);
    }
    let copy = keep_copy(path, &place)?;
    part.replace()?;
    console.remark(&format!("{}: written; the previous file is now {}", path.display(), copy.display()));
    Ok(Status::Done)
}

/// Copies the file to the first name beside it that is free: `policy.toml.bak`, `policy.toml.bak2`, ...
fn keep_copy(path: &Path, place: &FilePlace) -> Result<PathBuf, Failure> {
    let old = fs::read(path).map_err(|error| Failure::unreadable(&path.display().to_string(), &error))?;
    let named = |number: u32| {
        let mut name = OsString::from(path);
        name.push(".bak");
        if number > 1 {
            name.push(number.to_string());
        }
        PathBuf::from(name)
    };
    let copy = (1..).map(named).find(|copy| copy.symlink_metadata().is_err()).unwrap_or_else(|| named(0));
    place.begin_at(copy.clone())?.write(&old)?.put_new()?;
    Ok(copy)
}
