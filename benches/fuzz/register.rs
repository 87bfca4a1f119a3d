//! Registers: what is read of one can be judged with, and one that is refused says why.

#![no_main]

use groundwall::assess::{Code, InTurn, Terms};
use groundwall::policy::Policy;
use groundwall::units::Confidence;
use groundwall_engine::fleet::Fleet;
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::ingest::{Reading, ReadingRules, ledger};

/// So many windings of a register are judged.
const MAX_JUDGED: usize = 8;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    match Register::parse("register.csv", bytes, None, false, &Mapping::default()) {
        // Judging takes a hundred times as long as reading.
        Ok(register) if bytes.len() % 16 == 0 => judge(&register),
        Ok(_) => {}
        Err(failure) => {
            assert!(!failure.problems().is_empty());
            assert!(failure.problems().iter().all(|problem| !problem.message.is_empty()));
        }
    }
});

/// Judges four tests of each of its first windings.
fn judge(register: &Register) {
    let mut history = "winding,tested_on,r_60s,winding_temp_c\n".to_owned();
    for name in register.nameplates().keys().take(MAX_JUDGED) {
        let name = name.replace('"', "\"\"");
        for (year, reading) in (2022..).zip([900, 880, 905, 870]) {
            history.push_str(&format!("\"{name}\",{year}-03-05,{reading},35\n"));
        }
    }
    let rules = ReadingRules::default();
    let mut reading = Reading::new(&rules);
    if reading.add("history.csv", history.into_bytes()).is_err() {
        return;
    }
    let (Some(as_of), Ok(confidence)) = (chrono::NaiveDate::from_ymd_opt(2026, 1, 1), Confidence::from_fraction(0.9))
    else {
        return;
    };
    let terms = Terms { policy: Policy::default(), as_of, confidence };
    let ingested = reading.finish();
    assert!(ledger::of_names(&ingested, Some(register)).iter().all(|text| !text.is_empty()));
    let fleet = Fleet::new(ingested, Some(register), terms);
    for series in fleet.judge(&InTurn, |judgement| judgement.assessment) {
        let is_unread = series.findings.iter().any(|finding| finding.code == Code::RegisterUnread);
        assert!(!is_unread || series.action.to_string() != "keep", "{} is kept", series.name());
    }
}
