//! Statistics on slices and numbers; nothing here has heard of a motor.

pub(crate) mod normal;
pub(crate) mod polygamma;
pub(crate) mod root;
pub(crate) mod small_matrix;
pub(crate) mod student;
