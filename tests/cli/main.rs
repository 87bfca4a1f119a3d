//! Whole runs of the binary, one module per command.

mod files;
