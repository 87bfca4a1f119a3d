//! Pages for people, from the folder `guide` of this crate. Their commands run with the tests. The method, the findings, the
//! policy and the limits are in [`groundwall::guide`].

#[doc = include_str!("../guide/first-steps.md")]
pub mod first_steps {}

#[doc = include_str!("../guide/tasks.md")]
pub mod tasks {}

#[doc = include_str!("../guide/jobs.md")]
pub mod jobs {}

#[doc = include_str!("../guide/files.md")]
pub mod files {}

#[doc = include_str!("../guide/charts.md")]
pub mod charts {}
