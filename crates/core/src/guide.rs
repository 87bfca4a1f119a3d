//! Pages for people, from the folder `guide` of this crate. Their examples run with the tests.

#[doc = "[findings]: crate::guide::findings\n[policy]: crate::guide::policy\n[limits]: crate::guide::limits\n\n"]
#[doc = include_str!("../guide/method.md")]
pub mod method {}

#[doc = include_str!("../guide/findings.md")]
pub mod findings {}

#[doc = include_str!("../guide/policy.md")]
pub mod policy {}

#[doc = include_str!("../guide/limits.md")]
pub mod limits {}

#[doc = include_str!("../guide/validation.md")]
pub mod validation {}

#[doc = include_str!("../guide/numbers.md")]
pub mod numbers {}

#[cfg(test)]
mod tests {
    use crate::assess::{Action, Code};
    use crate::policy::Policy;
    use crate::policy::keys::{KEYS, Value};

    const FINDINGS: &str = include_str!("../guide/findings.md");
    const POLICY: &str = include_str!("../guide/policy.md");

    /// The words of the second-level headings, in order.
    fn sections(page: &str) -> Vec<&str> {
        page.lines().filter_map(|line| line.strip_prefix("## `")?.strip_suffix('`')).collect()
    }

    #[test]
    fn every_action_and_every_finding_has_its_section_in_order() {
        let actions = Action::ALL.iter().map(|action| action.word());
        let codes = Code::WORDS.iter().map(|(_, word)| *word);
        assert_eq!(sections(FINDINGS), actions.chain(codes).collect::<Vec<_>>());
        for part in FINDINGS.split("\n## ").skip(1) {
            assert!(part.contains("*What to do.* "), "{part}");
        }
        for action in Action::ALL {
            assert!(FINDINGS.contains(&format!("It means: {}.", action.meaning())), "{action}");
        }
    }

    #[test]
    fn every_key_has_its_section_as_the_table_has_it() {
        let names: Vec<String> = KEYS.iter().map(|key| format!("{}.{}", key.section, key.name)).collect();
        assert_eq!(sections(POLICY), names);
        let policy = Policy::default();
        for key in KEYS {
            let value = match key.get(&policy) {
                Value::Number(number) => number.to_string(),
                Value::Word(word) => format!("\"{word}\""),
            };
            let section = format!(
                "\n## `{}.{}`\n\n{}\n\nAllowed: {}. Default: {value}. Source: {}.\n\n",
                key.section,
                key.name,
                key.meaning,
                key.kind.rule(),
                key.source.trim_end_matches('.')
            );
            let after = POLICY.split(&section).nth(1);
            assert!(after.is_some_and(|note| !note.starts_with(['#', '\n'])), "the page lacks {section}");
        }
    }
}
