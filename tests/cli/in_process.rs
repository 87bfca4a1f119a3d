//! Histories read in this process, for tests of what is written at a given width.

use groundwall::assess::Terms;
use groundwall::policy::Policy;
use groundwall::units::Confidence;
use groundwall_engine::fleet::Fleet;
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::ingest::{Reading, ReadingRules};

/// A register file.
pub(crate) fn register(path: &str) -> Register {
    Register::parse(path, &std::fs::read(path).unwrap(), None, false, &Mapping::default()).unwrap()
}

/// A history file as of 2026-11-25.
pub(crate) fn fleet<'r>(path: &str, register: Option<&'r Register>) -> Fleet<'r> {
    let rules = ReadingRules::default();
    let mut reading = Reading::new(&rules);
    reading.add(path, std::fs::read(path).unwrap()).unwrap();
    let (as_of, confidence) = ("2026-11-25".parse().unwrap(), Confidence::from_fraction(0.9).unwrap());
    Fleet::new(reading.finish(), register, Terms { policy: Policy::default(), as_of, confidence })
}
