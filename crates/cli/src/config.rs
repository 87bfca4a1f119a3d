//! `groundwall.toml`: what the options of a command leave open, from a file beside the histories or above them, beside what their links lead to,
//! or, for standard input, in the working directory or above it.
//!
//! ```toml
//! register = "register.csv"      # paths are relative to this file
//! policy = "policy.toml"
//! confidence = 0.9
//! date_format = "%d/%m/%Y"      # or several: ["%d/%m/%Y", "%d.%m.%y"]
//! skip_sheet = "Notes*"
//!
//! [columns]                      # as in the policy file, which goes first
//! "Wert 1" = "r_60s"
//!
//! [names]                        # other names of windings
//! "P01" = "P-01"
//!
//! [[layout]]                     # see `groundwall_engine::ingest::layout::described`
//! ```
//!
//! Options override environment variables, these override this file, and this overrides the defaults. What is taken from
//! here or from the environment is reported on standard error, because it changes the result.

use crate::args::{Command, HistoryArgs};
use crate::console::Console;
use crate::files::input::expand;
use crate::files::{Input, SETTINGS};
use crate::values;
use clap::ArgMatches;
use clap::parser::ValueSource;
use groundwall::record::validate::WINDING_MAX_CHARS;
use groundwall_engine::error::{Failure, Problem, shown};
use groundwall_engine::ingest::description::Description;
use groundwall_engine::ingest::joined::OtherName;
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::policy_file::{line_of, must_not_nest};
use groundwall_engine::similar::closest;
use std::fs;
use std::ops::Range;
use std::path::{Component, Path, PathBuf};
use toml_edit::{Document, Item};

/// Settings that every command on histories takes.
const JUDGING: [&str; 4] = ["register", "policy", "confidence", "names"];
/// Settings that say how histories are read.
const READING: [&str; 11] = [
    "date_format",
    "decimal_comma",
    "decimal_point",
    "sheet",
    "skip_sheet",
    "encoding",
    "delimiter",
    "full_scale",
    "strict",
    "columns",
    "layout",
];
/// Options that have an environment variable of their own and change the result.
const FROM_ENVIRONMENT: [(&str, &str); 2] = [("register", "GROUNDWALL_REGISTER"), ("policy", "GROUNDWALL_POLICY")];

/// Fills in what the options of a command leave open, and reports where it came from.
///
/// # Errors
///
/// A [`Failure`] with everything that is wrong with the file, or when histories lie below different ones.
pub(crate) fn fill_in(command: &mut Command, matches: &ArgMatches, console: &mut Console<'_>) -> Result<(), Failure> {
    if let Some((_, own)) = matches.subcommand() {
        for (option, variable) in FROM_ENVIRONMENT {
            let source = own.try_contains_id(option).is_ok().then(|| own.value_source(option)).flatten();
            if source == Some(ValueSource::EnvVariable) {
                console.remark(&format!("--{option} is set by the environment variable {variable}"));
            }
        }
    }
    let all = [&JUDGING[..], &READING].concat();
    let Command::Add(args) = command else {
        let Some(history) = command.history_mut().filter(|history| !history.no_config) else { return Ok(()) };
        let Some(file) = find(&expand(&history.inputs)?.inputs)? else { return Ok(()) };
        return take_from(&file, history, &all, console);
    };
    if args.history.no_config {
        return Ok(());
    }
    // Sheets are read as they are when they are judged; what tests are judged by is the master's.
    let of_sheets = find(&expand(&args.history.inputs)?.inputs)?;
    let of_master = find(&[Input::File(args.to.clone())])?;
    if of_sheets == of_master {
        return of_master.map_or(Ok(()), |file| take_from(&file, &mut args.history, &all, console));
    }
    let mut master = args.history.clone();
    if let Some(file) = of_master {
        take_from(&file, &mut master, &all, console)?;
        let (register, policy, names) = (master.register.clone(), master.policy.clone(), master.names.clone());
        let history = &mut args.history;
        (history.register, history.policy, history.names, history.confidence) =
            (register, policy, names, master.confidence);
        history.settings.clone_from(&master.settings);
    }
    if let Some(file) = of_sheets {
        take_from(&file, &mut args.history, &READING, console)?;
    }
    args.master = Some(Box::new(master));
    Ok(())
}

/// Takes what a file says of these settings, and reports it.
fn take_from(
    file: &Path,
    history: &mut HistoryArgs,
    keys: &[&'static str],
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    if let (false, Ok(target)) = (file.exists(), fs::read_link(file)) {
        let (file, target) = (file.display(), target.display());
        let message = format!("{file}: cannot be read: this is a link to {target}, which does not exist");
        return Err(Failure::usage(message).hint("make what it leads to, or use --no-config"));
    }
    let bytes = Input::File(file.to_owned()).read()?;
    let taken = take(file, &String::from_utf8_lossy(&bytes), history, keys)?;
    history.settings = Some(Input::File(file.to_owned()));
    if !taken.is_empty() {
        let (name, verb) = (file.display(), if taken.len() == 1 { "is" } else { "are" });
        console.remark(&format!("{name}: {} {verb} taken from here; --no-config leaves it unread", taken.join(", ")));
    }
    Ok(())
}

/// The one file beside the inputs or above them, wherever their links lead.
fn find<'a>(inputs: impl IntoIterator<Item = &'a Input>) -> Result<Option<PathBuf>, Failure> {
    let here = std::env::current_dir().unwrap_or_default();
    let short = |file: &Path| file.strip_prefix(&here).unwrap_or(file).display().to_string();
    let mut found: Option<(PathBuf, &Input)> = None;
    for input in inputs {
        for file in places(input, &here).iter().filter_map(|place| above(place)) {
            let Some((other, of)) = &found else {
                found = Some((file, input));
                continue;
            };
            if *other == file || other.canonicalize().ok() == file.canonicalize().ok() {
                continue;
            }
            let (file, other) = (short(&file), short(other));
            return Err(if *of == input {
                Failure::usage(format!(
                    "{input}: this name leads to a file elsewhere; settings are in {other} for the name, and in {file} for \
                     the file"
                ))
                .hint("give the path of the file itself, or use --no-config and pass the settings as options")
            } else {
                Failure::usage(format!("{input}: its settings are in {file}, and those of another history in {other}"))
                    .hint("judge them separately, or use --no-config and pass the settings as options")
            });
        }
    }
    Ok(found.map(|(file, _)| short(&file).into()))
}

/// Where an input is looked for: as it is named, wherever its links lead, and in the working directory where it is not an ordinary file.
fn places(input: &Input, here: &Path) -> Vec<PathBuf> {
    /// So many links in a row the system follows.
    const LINKS: usize = 40;
    let unnamed = here.join("-");
    let Input::File(path) = input else { return vec![unnamed] };
    let mut places: Vec<PathBuf> = std::path::absolute(path).into_iter().collect();
    while let Some((place, target)) = places.last().and_then(|place| Some((place, fs::read_link(place).ok()?))) {
        if places.len() > LINKS {
            break;
        }
        let place = place.with_file_name(target);
        let folder = place.parent().and_then(|folder| folder.canonicalize().ok());
        places.push(folder.zip(place.file_name()).map_or(place.clone(), |(folder, name)| folder.join(name)));
    }
    places.extend(path.canonicalize());
    if path.metadata().is_ok_and(|found| !found.is_file()) {
        places.push(unnamed);
    }
    places
}

/// The file beside a place, or in the next folder above it that has one. A folder that the path leaves again by `..` is not above it.
fn above(place: &Path) -> Option<PathBuf> {
    let is_left = |folder: &Path| {
        place.strip_prefix(folder).is_ok_and(|rest| rest.components().any(|part| part == Component::ParentDir))
    };
    let mut folders = place.ancestors().skip(1).filter(|folder| !is_left(folder)).map(|folder| folder.join(SETTINGS));
    // A link to nothing is found too, and then cannot be read.
    folders.find(|file| file.is_file() || file.is_symlink())
}

/// Takes what the options leave open, and gives the names of what was taken.
fn take(file: &Path, text: &str, history: &mut HistoryArgs, keys: &[&'static str]) -> Result<Vec<String>, Failure> {
    let name = file.display().to_string();
    must_not_nest(&name, text)?;
    let document = Document::parse(text).map_err(|error| {
        let line = line_of(text, error.span());
        let message = error.message().trim().lines().collect::<Vec<_>>().join(", ");
        Failure::usage(format!("{name}:{line}: the settings are not readable: {message}"))
            .hint("a line is name = value, such as register = \"register.csv\"")
    })?;
    let (mut taken, mut problems) = (Vec::new(), Vec::new());
    for (key, item) in document.iter() {
        let line = line_of(text, document.key(key).and_then(toml_edit::Key::span));
        if !JUDGING.contains(&key) && !READING.contains(&key) {
            let near = closest(key, JUDGING.into_iter().chain(READING), 0.7);
            let hint = near.first().map_or_else(
                || format!("it can hold {}", [&JUDGING[..], &READING].concat().join(", ")),
                |near| format!("did you mean {near}?"),
            );
            problems
                .push(Problem { message: format!("{name}:{line}: {} is not a setting", shown(key)), hint: Some(hint) });
            continue;
        }
        if !keys.contains(&key) {
            continue;
        }
        let line_of_entry = |span| line_of(text, span) as u64;
        let outcome = match key {
            "names" => names(&mut history.names, item, &name, &line_of_entry),
            _ => set(history, key, item, file.parent().unwrap_or(Path::new(""))),
        };
        match outcome {
            Ok(true) => taken.push(key.to_owned()),
            Ok(false) => {}
            Err(rule) => {
                let message = if item.is_value() {
                    format!("{name}:{line}: {key} is {}; {rule}", shown(item.to_string().trim()))
                } else {
                    format!("{name}:{line}: {key}: {rule}")
                };
                problems.push(Problem { message, hint: Some("correct it, or use --no-config".to_owned()) });
            }
        }
    }
    Failure::of_problems(problems).map_or(Ok(taken), Err)
}

/// Sets one option unless it was given; true if it was set.
fn set(history: &mut HistoryArgs, key: &str, item: &Item, folder: &Path) -> Result<bool, String> {
    let path = || text(item).map(|text| Input::File(folder.join(text)));
    match key {
        "register" => fill(&mut history.register, path),
        "policy" => fill(&mut history.policy, path),
        "confidence" => fill(&mut history.confidence, || values::confidence(&text(item)?)),
        "date_format" => fill_several(&mut history.date_format, item, values::date_format),
        "sheet" => fill_several(&mut history.sheet, item, |name| Ok(name.to_owned())),
        "skip_sheet" => fill_several(&mut history.skip_sheet, item, |name| Ok(name.to_owned())),
        "columns" => columns(&mut history.columns, item),
        "layout" => layouts(&mut history.layouts, item),
        "encoding" => fill(&mut history.encoding, || values::encoding(&text(item)?)),
        "delimiter" => fill(&mut history.delimiter, || values::delimiter(&text(item)?)),
        "full_scale" => fill(&mut history.full_scale, || values::plain_resistance(&text(item)?)),
        "decimal_comma" => switch(&mut history.decimal_comma, item, history.decimal_point),
        "decimal_point" => switch(&mut history.decimal_point, item, history.decimal_comma),
        _ => switch(&mut history.strict, item, false),
    }
}

/// Reads a value even where an option overrides it, so that a wrong one is always found.
fn fill<T>(option: &mut Option<T>, read: impl FnOnce() -> Result<T, String>) -> Result<bool, String> {
    let value = read()?;
    let open = option.is_none();
    if open {
        *option = Some(value);
    }
    Ok(open)
}

/// As [`fill`], for options that may be given several times: one text, or a list of them between square brackets.
fn fill_several(
    option: &mut Vec<String>,
    item: &Item,
    read: impl Fn(&str) -> Result<String, String>,
) -> Result<bool, String> {
    let texts = match item.as_array().filter(|list| !list.is_empty()) {
        Some(list) => list.iter().map(|value| text(&Item::Value(value.clone()))).collect::<Result<Vec<_>, _>>()?,
        None => vec![text(item)?],
    };
    let values = texts.iter().map(|text| read(text)).collect::<Result<Vec<_>, _>>()?;
    let open = option.is_empty();
    if open {
        *option = values;
    }
    Ok(open)
}

/// Takes `[columns]`: headers and what they stand for.
fn columns(mapping: &mut Mapping, item: &Item) -> Result<bool, String> {
    let table =
        item.as_table_like().ok_or("it is a section [columns] of headers and the columns that they stand for")?;
    for (header, item) in table.iter() {
        let name =
            item.as_str().ok_or_else(|| format!("{} must be the name of a column between quotes", shown(header)))?;
        mapping.add(header, name).map_err(|rule| format!("of {}, {rule}", shown(header)))?;
    }
    Ok(!mapping.is_empty())
}

/// Takes `[names]`: other names of windings and the names that they stand for.
fn names(
    found: &mut Vec<OtherName>,
    item: &Item,
    file: &str,
    line_of: &dyn Fn(Option<Range<usize>>) -> u64,
) -> Result<bool, String> {
    let table =
        item.as_table_like().ok_or("it is a section [names] of other names and the names that they stand for")?;
    for (written, item) in table.iter() {
        let is_name = |name: &&str| !name.is_empty() && name.chars().count() <= WINDING_MAX_CHARS;
        let winding = item.as_str().map(str::trim).filter(is_name).ok_or_else(|| {
            format!(
                "{} must be the name of a winding between quotes, at most {WINDING_MAX_CHARS} characters",
                shown(written)
            )
        })?;
        let (written, winding) = (written.trim().to_owned(), winding.to_owned());
        let line = line_of(table.key(&written).and_then(toml_edit::Key::span));
        found.push(OtherName { written, winding, file: file.to_owned(), line });
    }
    Ok(!found.is_empty())
}

/// Takes every `[[layout]]`.
fn layouts(found: &mut Vec<Description>, item: &Item) -> Result<bool, String> {
    let tables = item.as_array_of_tables().ok_or("a layout is a section [[layout]] between double brackets")?;
    for table in tables {
        let layout = Description::read(table).map_err(|(key, rule)| format!("of {}, {rule}", shown(&key)))?;
        found.push(layout);
    }
    Ok(true)
}

/// Switches an option on, unless it is on already or the opposite one is.
fn switch(option: &mut bool, item: &Item, opposite: bool) -> Result<bool, String> {
    let on = item.as_bool().ok_or("it is true or false")?;
    let set = on && !*option && !opposite;
    *option |= set;
    Ok(set)
}

/// A text or a number as it would be written on the command line.
fn text(item: &Item) -> Result<String, String> {
    match (item.as_str(), item.as_float(), item.as_integer()) {
        (Some(text), _, _) => Ok(text.to_owned()),
        (_, Some(number), _) => Ok(number.to_string()),
        (_, _, Some(number)) => Ok(number.to_string()),
        _ => Err("it is a text between quotes or a number".to_owned()),
    }
}
