//! Defaults of the policy that a document states, through the keys that a policy file uses.

use crate::published_rows::{Row, Rows};
use groundwall::policy::Policy;
use groundwall::policy::keys::{Key, Value};

fn stated() -> Rows {
    Rows::read("policy_defaults.csv", include_str!("data/policy_defaults.csv"), 9)
}

fn key(row: &Row) -> &'static Key {
    Key::find(row.text("section"), row.text("name")).unwrap()
}

#[test]
fn a_default_is_the_number_that_its_document_states() {
    let policy = Policy::default();
    stated().check(|row| match key(row).get(&policy) {
        Value::Number(number) => number,
        Value::Word(_) => f64::NAN,
    });
}

#[test]
fn a_key_names_the_document_of_its_default() {
    for row in stated().iter() {
        let source = key(row).source;
        assert!(source.contains(row.text("document")), "{source}; {}", row.cite());
    }
}

/// A source that is from memory in the data says so to the user as well.
#[test]
fn a_default_from_memory_says_so() {
    for row in stated().iter().filter(|row| row.text("status") == "from memory") {
        assert!(key(row).source.contains("from memory"), "{}; {}", key(row).source, row.cite());
    }
}

/// IEEE Std 43 has no minimum for R60/R30 (from memory), so none is applied unless the site asks for one.
#[test]
fn no_minimum_for_the_absorption_ratio_without_a_source() {
    let found = Key::find("ratios", "dar_minimum").unwrap().get(&Policy::default());
    assert_eq!(found, Value::Word("none".to_owned()));
}
