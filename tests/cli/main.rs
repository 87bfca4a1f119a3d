//! Whole runs of the binary, one module per command. Each test builds its own folder and states the exact outcome.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod add;
mod assess;
mod bad_input;
mod chart;
mod check;
mod completions;
mod correct;
mod demo;
mod demo_files;
mod explain;
mod files;
mod first_mistakes;
mod guide;
mod habits;
mod help;
mod identities;
mod in_process;
mod manual;
mod mistaken_files;
mod pictures;
mod policy;
mod practice;
mod ratios;
mod readme;
mod replay;
mod report;
mod round;
mod schema;
mod settings_file;
mod spot;
mod table;
mod unreadable_cells;
mod usage;
mod world;
