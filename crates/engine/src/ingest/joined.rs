//! Names that are other names of a winding, because the register or the site's settings say so.
//!
//! Names that only look alike are never joined: a forgotten hyphen and another machine look the same.

use crate::error::{Failure, Problem, shown};
use std::collections::{BTreeMap, BTreeSet};

/// Another name of a winding, and who says so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherName {
    /// The name as rows may have it.
    pub written: String,
    /// The name of the winding.
    pub winding: String,
    /// The file that says so.
    pub file: String,
    /// Its line.
    pub line: u64,
}

impl OtherName {
    fn place(&self) -> String {
        format!("{}:{}", self.file, self.line)
    }
}

/// A name stands for another over at most so many names between them.
const MOST_STEPS: usize = 8;
/// So many names of a circle are written.
const SHOWN: usize = 4;

/// Names of windings that stand for another, each with the name under which its tests are judged.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JoinedNames(BTreeMap<String, OtherName>);

impl JoinedNames {
    /// Puts together what is said of names. A name may stand for one that stands for a third.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with every name that stands for two windings, and every circle of names.
    pub fn of(said: impl IntoIterator<Item = OtherName>) -> Result<Self, Failure> {
        let (mut direct, mut problems) = (BTreeMap::<String, OtherName>::new(), Vec::new());
        for name in said.into_iter().filter(|name| name.written != name.winding) {
            match direct.get(&name.written) {
                Some(earlier) if earlier.winding != name.winding => problems.push(Problem {
                    message: format!(
                        "{}: {} is another name of {} here, and of {} at {}; a name belongs to one winding",
                        name.place(),
                        shown(&name.written),
                        shown(&name.winding),
                        shown(&earlier.winding),
                        earlier.place()
                    ),
                    hint: Some("take the name out where it is wrong".to_owned()),
                }),
                Some(_) => {}
                None => {
                    direct.insert(name.written.clone(), name);
                }
            }
        }
        let (mut joined, mut endless) = (BTreeMap::new(), BTreeSet::new());
        for first in direct.values() {
            let (mut last, mut chain) = (first, vec![first.written.as_str()]);
            let is_new = |next: &&OtherName, chain: &[&str]| {
                chain.len() <= MOST_STEPS && !chain.contains(&next.written.as_str())
            };
            while let Some(next) = direct.get(&last.winding).filter(|next| is_new(next, &chain)) {
                chain.push(&next.written);
                last = next;
            }
            if !direct.contains_key(&last.winding) {
                joined.insert(first.written.clone(), OtherName { winding: last.winding.clone(), ..first.clone() });
                continue;
            }
            if chain.iter().any(|name| endless.contains(*name)) {
                continue;
            }
            endless.extend(chain.iter().copied());
            let circle = &chain[chain.iter().position(|name| *name == last.winding).unwrap_or(0)..];
            let names: Vec<String> =
                circle.iter().copied().chain([last.winding.as_str()]).take(SHOWN).map(shown).collect();
            let place = direct.get(circle[0]).map_or_else(|| first.place(), OtherName::place);
            problems.push(Problem {
                message: format!(
                    "{place}: other names lead from {} and on without end; one of the names is the winding's own",
                    names.join(" to ")
                ),
                hint: Some("write the others beside that one, and no name beside them".to_owned()),
            });
        }
        Failure::of_problems(problems).map_or(Ok(Self(joined)), Err)
    }

    /// The name under which tests of a name are judged, where it is another one.
    #[must_use]
    pub fn winding(&self, written: &str) -> Option<&str> {
        self.0.get(written).map(|name| name.winding.as_str())
    }

    /// All names that stand for another.
    pub fn all(&self) -> impl Iterator<Item = &OtherName> {
        self.0.values()
    }

    /// Whether no name stands for another.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What is said of the names that rows had: one sentence for each file that joins them.
    #[must_use]
    pub fn sentences(&self, found: &BTreeSet<String>) -> Vec<String> {
        let mut by_file: BTreeMap<&str, Vec<&OtherName>> = BTreeMap::new();
        for name in found.iter().filter_map(|name| self.0.get(name)) {
            by_file.entry(&name.file).or_default().push(name);
        }
        let sentence = |(file, names): (&str, Vec<&OtherName>)| {
            let few = names.iter().take(MOST_NAMED);
            let few: Vec<String> =
                few.map(|name| format!("{} is {}", shown(&name.written), shown(&name.winding))).collect();
            let more = match names.len().saturating_sub(MOST_NAMED) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            format!("{file}: windings with several names are judged as one: {}{more}", few.join(", "))
        };
        by_file.into_iter().map(sentence).collect()
    }
}

/// So many names are listed.
const MOST_NAMED: usize = 5;

#[cfg(test)]
mod tests {
    use super::*;

    fn name(written: &str, winding: &str, line: u64) -> OtherName {
        OtherName { written: written.to_owned(), winding: winding.to_owned(), file: "r.csv".to_owned(), line }
    }

    fn refusal(names: &[OtherName]) -> String {
        JoinedNames::of(names.to_vec()).err().map(|failure| failure.to_string()).unwrap_or_default()
    }

    #[test]
    fn names_lead_to_the_last_one() {
        let names =
            JoinedNames::of([name("P01", "P-01", 2), name("P1", "P01", 3), name("K", "K", 4)]).unwrap_or_default();
        assert_eq!((names.winding("P1"), names.winding("P01")), (Some("P-01"), Some("P-01")));
        assert_eq!((names.winding("P-01"), names.winding("K")), (None, None));
        let found = ["P1", "P01", "P-01"].map(str::to_owned).into_iter().collect();
        assert_eq!(
            names.sentences(&found),
            ["r.csv: windings with several names are judged as one: P01 is P-01, P1 is P-01"]
        );
    }

    #[test]
    fn a_name_of_two_windings_and_a_circle_are_refused() {
        assert_eq!(
            refusal(&[name("P1", "P-01", 2), name("P1", "P-02", 3), name("P1", "P-01", 4)]),
            "r.csv:3: P1 is another name of P-02 here, and of P-01 at r.csv:2; a name belongs to one winding\n\
             hint: take the name out where it is wrong"
        );
        assert_eq!(
            refusal(&[name("P-01", "P01", 2), name("P01", "P-01", 3)]),
            "r.csv:2: other names lead from P-01 to P01 to P-01 and on without end; one of the names is the winding's own\n\
             hint: write the others beside that one, and no name beside them"
        );
    }

    #[test]
    fn long_chains_end() {
        let chain: Vec<OtherName> = (0..50_000).map(|i| name(&format!("N{i}"), &format!("N{}", i + 1), i)).collect();
        assert!(refusal(&chain).contains("to N1 to N2 to N3 and on without end"));
    }
}
