//! Why a part of a fleet cannot be judged by what was learnt, or a fleet not be learnt from.

use crate::units::Confidence;
use chrono::NaiveDate;
use std::error::Error;
use std::fmt;

/// Why a part cannot be judged, or a fleet not be learnt from: something differs.
#[derive(Clone, Debug, PartialEq)]
pub enum NotAsLearnt {
    /// There is no part to survey.
    Nothing,
    /// Two parts have the same winding.
    InTwoParts {
        /// The winding.
        winding: String,
    },
    /// The as-of dates differ.
    OtherDay {
        /// That of the survey or of the priors.
        then: NaiveDate,
        /// That of now.
        now: NaiveDate,
    },
    /// The priors are of a later day than the reading.
    LaterDay {
        /// That of the priors.
        then: NaiveDate,
        /// That of the reading.
        now: NaiveDate,
    },
    /// The confidences differ.
    OtherConfidence {
        /// That of the priors.
        then: Confidence,
        /// That of now.
        now: Confidence,
    },
    /// The policies differ.
    OtherPolicy {
        /// The first key that differs.
        key: String,
        /// Its value when the priors were learnt.
        then: String,
        /// Its value now.
        now: String,
    },
    /// A winding has other tests than when the fleet was surveyed.
    OtherTests {
        /// The winding.
        winding: String,
        /// How many it had; none where the survey has no such winding.
        then: Option<usize>,
        /// How many it has.
        now: usize,
    },
    /// A winding belongs to a group that was not surveyed.
    OtherGroup {
        /// The winding.
        winding: String,
        /// The group.
        group: String,
    },
}

impl NotAsLearnt {
    /// What to do about it.
    #[must_use]
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Nothing => "give the surveys of all parts",
            Self::InTwoParts { .. } => "divide the fleet by the name of the winding, and write each name in one way",
            Self::OtherDay { .. } | Self::OtherConfidence { .. } | Self::OtherPolicy { .. } => {
                "learn from the fleet again, or judge with the same settings"
            }
            Self::LaterDay { .. } => "take priors that were learnt up to the day of the reading",
            Self::OtherTests { .. } | Self::OtherGroup { .. } => {
                "learn from the fleet again, with the histories and the register that are judged, and judge whole windings"
            }
        }
    }
}

impl fmt::Display for NotAsLearnt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tests = |count: usize| if count == 1 { "1 test".to_owned() } else { format!("{count} tests") };
        match self {
            Self::Nothing => f.write_str("there is no part of a fleet; at least one is surveyed"),
            Self::InTwoParts { winding } => {
                write!(f, "winding {winding} is in two parts of the fleet; the tests of a winding are judged together")
            }
            Self::OtherDay { then, now } => {
                write!(f, "the as-of date was {then} when the fleet was surveyed and is {now}; both must be the same")
            }
            Self::LaterDay { then, now } => {
                write!(
                    f,
                    "the priors were learnt as of {then} and the reading is of {now}; priors must not be learnt after it"
                )
            }
            Self::OtherConfidence { then, now } => {
                let (then, now) = (then.as_fraction(), now.as_fraction());
                write!(f, "the confidence was {then} when the priors were learnt and is {now}; both must be the same")
            }
            Self::OtherPolicy { key, then, now } => {
                write!(
                    f,
                    "{key} of the policy was {then} when the priors were learnt and is {now}; both must be the same"
                )
            }
            Self::OtherTests { winding, then: Some(then), now } => write!(
                f,
                "winding {winding} had {} when the fleet was surveyed and has {now}; both must be the same",
                tests(*then)
            ),
            Self::OtherTests { winding, then: None, now } => {
                write!(f, "winding {winding} has {} and was not in the fleet that was surveyed", tests(*now))
            }
            Self::OtherGroup { winding, group } => {
                write!(
                    f,
                    "winding {winding} belongs to the group {group}; the fleet that was surveyed had no such group"
                )
            }
        }
    }
}

impl Error for NotAsLearnt {}
