//! Whole runs of the binary, one module per command. Each test builds its own folder and states the exact outcome.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod add;
mod assess;
mod chart;
mod check;
mod correct;
mod demo;
mod explain;
mod files;
mod policy;
mod practice;
mod ratios;
mod replay;
mod spot;
mod usage;
mod world;
