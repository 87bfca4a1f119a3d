//! Policy files: one that is accepted holds only values within their ranges, and one that is refused says why.

#![no_main]

use groundwall::policy::Policy;
use groundwall::policy::keys::KEYS;
use groundwall_engine::policy_file;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| match policy_file::read("policy.toml", bytes.to_vec()) {
    Ok((policy, _)) => {
        let mut again = Policy::default();
        for key in KEYS {
            assert!(key.set(&mut again, &key.get(&policy)).is_ok(), "{}.{}", key.section, key.name);
        }
        assert_eq!(again, policy);
    }
    Err(failure) => {
        assert!(!failure.problems().is_empty());
        assert!(failure.problems().iter().all(|problem| !problem.message.is_empty()));
    }
});
