//! Whether results are coloured: options first, then the variables that most programs know.

use crate::args::ColorWhen;
use std::env;
use std::ffi::OsString;

/// Whether colours are switched off for all that the program says, its help included.
pub(crate) fn is_off(args: &[OsString]) -> bool {
    let options: Vec<&str> = args.iter().take_while(|arg| *arg != "--").filter_map(|arg| arg.to_str()).collect();
    let never = options.windows(2).any(|pair| pair == ["--color", "never"]);
    never || options.iter().any(|arg| matches!(*arg, "--no-color" | "--color=never"))
}

/// Whether results are coloured, where they are not switched off.
pub(crate) fn is_on(when: ColorWhen, terminal: bool) -> bool {
    let set = |name: &str| env::var_os(name).filter(|value| !value.is_empty());
    match when {
        ColorWhen::Always => true,
        ColorWhen::Never => false,
        ColorWhen::Auto if set("NO_COLOR").is_some() => false,
        ColorWhen::Auto if set("CLICOLOR_FORCE").is_some_and(|value| value != "0") => true,
        ColorWhen::Auto if set("CLICOLOR").is_some_and(|value| value == "0") => false,
        ColorWhen::Auto => terminal && set("TERM").is_none_or(|value| value != "dumb"),
    }
}
