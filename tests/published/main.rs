//! Checks against published values, one module per source.
