//! One verb per file. Each takes its arguments and the console, and gives back how the run ended.

pub mod add;
pub mod assess;
pub mod chart;
pub mod check;
pub mod compare;
pub mod completions;
pub mod correct;
pub mod demo;
pub mod explain;
pub mod manual;
pub mod policy;
pub mod ratios;
pub mod replay;
pub mod report;
pub mod round;
pub mod spot;
