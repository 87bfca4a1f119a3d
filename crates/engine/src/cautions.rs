//! What is to be done before a reading is taken and after it, and what no result of ours does.

/// The safety text as a literal, for texts that are put together when the program is compiled.
#[macro_export]
macro_rules! safety {
    () => {
        "Before a reading is taken: isolate the machine, lock it out and prove it dead; disconnect drives, transformers, \
         surge arresters and surge capacitors; earth temperature detectors and heaters; keep others away while the voltage is on; afterwards discharge the winding to earth for at least \
         four times as long as it was charged. Local codes and licensed people decide, not this program."
    };
}

/// What is to be done before a reading is taken, and after it.
pub const SAFETY: &str = safety!();

/// What is said to whoever acts on a result.
pub const CAUTIONS: &str = "This does not release a machine. Before any test or work: isolate, lock out, prove dead, \
    disconnect drives, transformers, arresters and capacitors, earth detectors and heaters; after a test discharge at least four times the charging time. Local codes and \
    licensed people decide.";
