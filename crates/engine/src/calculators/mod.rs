//! Answers without a history: one reading judged or corrected, the ratios of one test.

pub mod correct;
pub mod ratios;
pub mod spot;
