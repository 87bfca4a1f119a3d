//! Command line of groundwall.
