//! Files: read from here, and written here whole or not at all.

pub mod folder;
pub mod input;
pub mod lock;
pub mod made;
pub mod place;
pub mod replace;
mod result;
mod sink;
pub mod unfinished;

pub use input::Input;
pub use sink::Target;

/// Name of the file of settings beside a history.
pub const SETTINGS: &str = "groundwall.toml";
