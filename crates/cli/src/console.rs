//! The two streams a command writes to: data to standard output, words to standard error.

use crate::error::Failure;
use std::io::Write;
use std::path::Path;

/// Where a command writes.
pub struct Console<'a> {
    /// Standard output: data.
    pub out: &'a mut dyn Write,
    /// Standard error: words.
    pub words: &'a mut dyn Write,
    /// Whether remarks are kept back. Failures never are.
    pub quiet: bool,
    /// Whether standard output may be coloured.
    pub color: bool,
}

impl Console<'_> {
    /// Says something beside the result.
    pub fn remark(&mut self, text: &str) {
        if !self.quiet {
            // Nobody may be listening; the result does not depend on it.
            let _ = writeln!(self.words, "{text}");
        }
    }

    /// Writes to standard output.
    ///
    /// # Errors
    ///
    /// [`Failure::closed_pipe`] when the reader went away, another [`Failure`] when the output cannot be written.
    pub fn print(&mut self, fill: impl FnOnce(&mut dyn Write) -> std::io::Result<()>) -> Result<(), Failure> {
        let mut out = std::io::BufWriter::new(&mut *self.out);
        fill(&mut out)
            .and_then(|()| out.flush())
            .map_err(|error| Failure::unwritable(Path::new("standard output"), &error))
    }
}
