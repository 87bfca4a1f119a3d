//! What the planner should do about a series.

use std::fmt;

/// What the planner should do about a series, most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "lowercase"))]
pub enum Action {
    /// At or below the minimum now: keep out of service until a qualified person has decided.
    Hold,
    /// The minimum is likely to be reached inside the planning horizon: raise work; where the latest test is doubtful, repeat it too.
    Plan,
    /// The evidence is doubtful and nothing above applies: repeat the test before deciding.
    Recheck,
    /// A real decline that does not reach the minimum inside the horizon: test sooner.
    Shorten,
    /// Nothing found: carry on with the usual interval.
    Keep,
    /// Too little evidence to judge a trend; the latest reading is acceptable.
    Gather,
}

impl Action {
    /// All actions, most urgent first.
    pub const ALL: [Action; 6] =
        [Action::Hold, Action::Plan, Action::Recheck, Action::Shorten, Action::Keep, Action::Gather];

    /// The action as written in results.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hold => "hold",
            Self::Plan => "plan",
            Self::Recheck => "recheck",
            Self::Shorten => "shorten",
            Self::Keep => "keep",
            Self::Gather => "gather",
        }
    }

    /// What the action asks of people, as one sentence without a full stop.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Hold => "keep out of service until a qualified person has decided",
            Self::Plan => "raise work: what was found needs work, not only another test",
            Self::Recheck => "repeat the test before deciding anything else",
            Self::Shorten => "test sooner than usual, and look for the cause",
            Self::Keep => "carry on with the usual interval",
            Self::Gather => "too little evidence to judge a trend; the latest reading is acceptable",
        }
    }

    /// The same in two or three plain words.
    #[must_use]
    pub const fn in_short(self) -> &'static str {
        match self {
            Self::Hold => "keep out of service",
            Self::Plan => "raise work",
            Self::Recheck => "repeat the test",
            Self::Shorten => "test sooner",
            Self::Keep => "usual interval",
            Self::Gather => "more tests needed",
        }
    }

    /// Reads the word of an action, in any case.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::assess::Action;
    /// assert_eq!(Action::read("Plan"), Some(Action::Plan));
    /// assert!(Action::Hold < Action::Plan); // the more urgent is the lesser
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|action| action.word().eq_ignore_ascii_case(text.trim()))
    }
}

impl fmt::Display for Action {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
