//! Findings: one thing noticed each, with a code, a sentence, the evidence and the source of the rule.

use super::action_kind::Action;
use std::fmt;

macro_rules! codes {
    ($($name:ident $word:literal $doc:literal,)*) => {
        /// What was noticed, weightiest first.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $(#[doc = $doc] $name,)*
        }

        impl Code {
            /// All codes with their words, weightiest first.
            pub const WORDS: &'static [(Code, &'static str)] = &[$((Code::$name, $word)),*];
        }
    };
}

codes! {
    BelowMinimum "below-minimum" "The latest reading, or the level today, is at or below the minimum.",
    IndexBelowOne "index-below-one" "The resistance fell while the voltage was on.",
    TestApart "test-apart" "Winding and cable together are below the winding's minimum.",
    Drying "drying" "The winding is being dried out, and no cold test has passed yet.",
    PhasesJoined "phases-joined" "The leads of one winding were not separated, or may not have been.",
    OtherPhasesMixed "other-phases-mixed" "The other phases were connected differently at readings that are set side by side.",
    LeadCheckFailed "lead-check-failed" "The leads were not proved before the latest test.",
    FallsWithVoltage "falls-with-voltage" "The resistance falls as the test voltage rises.",
    RowKeptOut "row-kept-out" "A row that was rejected, or that another contradicts, may say something worse.",
    CheckFailed "check-failed" "The output of the tester failed its check before the latest test.",
    TesterOutput "tester-output" "The tester's output as measured does not fit its setting.",
    CalibrationExpired "calibration-expired" "The tester was out of calibration at the latest test.",
    BatteryLow "battery-low" "The battery of the tester was low at the latest test.",
    NotProvedDead "not-proved-dead" "The circuit was not proved dead before the latest test.",
    NoteOfWater "note-of-water" "The note of the latest test mentions water, and no event does.",
    NoteOfFailure "note-of-failure" "The note of the latest test mentions a failure or a lower resistance.",
    CellUnread "cell-unread" "A cell of the test says something that cannot be read.",
    FallSinceLast "fall-since-last" "The latest reading is lower than the earlier ones allow.",
    DampTest "damp-test" "The winding was close to the dew point at the latest test.",
    FrozenWinding "frozen-winding" "The winding was at or below freezing at the latest test.",
    TemperatureMissing "temperature-missing" "The latest test has no winding temperature.",
    TemperatureOutsideLaw "temperature-outside-law" "The winding was outside the range of its temperature law.",
    ReachesMinimum "reaches-minimum" "The minimum is likely to be reached inside the planning horizon.",
    RecoveredWithoutWork "recovered-without-work" "A reading within the last year was below the minimum and came back without any work.",
    PhaseSpread "phase-spread" "One phase differs from the others.",
    LowAbsorption "low-absorption" "A ratio of timed readings is below its least value.",
    IndexMissing "index-missing" "A large machine was not tested for ten minutes within a year.",
    LimitBasis "limit-basis" "The site's own limit passes as read and would fail at the reference temperature.",
    HighDischarge "high-discharge" "The dielectric discharge is high.",
    RatioFallen "ratio-fallen" "A ratio of timed readings has fallen below its own usual value.",
    HighIndex "high-index" "A very high polarization index on old insulation.",
    BelowCommissioning "below-commissioning" "Little is left of what the winding read when it came into service.",
    Falling "falling" "The level falls, and that is not chance.",
    LevelShift "level-shift" "The level jumped in the past and no reason was recorded.",
    UnitSlip "unit-slip" "A reading lies a whole unit away from the others.",
    CopiedRows "copied-rows" "The latest test has the very values of another winding on that day.",
    TimedReadingsFall "timed-readings-fall" "A later reading of the latest test is lower than an earlier one.",
    TemperatureImplausible "temperature-implausible" "A temperature that the air, or the other tests, do not bear out.",
    OffScale "off-scale" "A reading and the tester's scale do not fit, or over-range has no known limit.",
    NoReading "no-reading" "No test of the series has a one-minute resistance.",
    RegisterUnread "register-unread" "The register says something of the winding that cannot be read.",
    MinimumUnknown "minimum-unknown" "Rating or construction is not known, so the minimum is assumed.",
    InsulationUnknown "insulation-unknown" "The insulation family is not in the register: it was inferred, or the stricter law was used.",
    LawsDisagree "laws-disagree" "The temperature laws that may hold lead to different actions; the most urgent is used.",
    LawLearnt "law-learnt" "The readings themselves beat the standard's temperature law, so theirs was used.",
    RatioNotMeaningful "ratio-not-meaningful" "The polarization index is not a measure of condition here.",
    VoltageOutsideGuide "voltage-outside-guide" "The test voltage is outside the guide.",
    VoltageChanged "voltage-changed" "The latest test was made at another voltage than the one before.",
    TestedTwice "tested-twice" "The winding was tested more than once on the day of the latest test, with different results.",
    InstrumentChanged "instrument-changed" "The latest test was made with another tester than the one before.",
    FullScaleChanged "full-scale-changed" "The scale of the tester ended elsewhere at the test before.",
    ValueRepeated "value-repeated" "The same value was written down at test after test.",
    ShortDischarge "short-discharge" "The winding was discharged for too short a time.",
    InStore "in-store" "The winding is a spare in store.",
    AfterEvent "after-event" "Work was done since the previous test: the stretch starts afresh.",
    FewReadings "few-readings" "Too few exact readings in the stretch to judge a trend.",
    BeyondScale "beyond-scale" "Every reading of the stretch is beyond the end of the scale, far above the minimum.",
    FutureTest "future-test" "Tests after the as-of date were left out.",
    Overdue "overdue" "The usual interval has passed since the last test.",
}

impl Code {
    /// The code as written in results.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(code, _)| *code == self).map_or("", |(_, word)| word)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

#[cfg(feature = "serde")]
impl serde::Serialize for Code {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

/// One piece of evidence: a number or a text under a name that carries its unit.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(untagged))]
pub enum Evidence {
    /// A finite number.
    Number(f64),
    /// A text.
    Text(String),
    /// A number that could not be computed; null in a result.
    Unknown,
}

impl From<f64> for Evidence {
    /// A number that is not finite is unknown, so that a result never holds one.
    fn from(value: f64) -> Self {
        if value.is_finite() { Self::Number(value) } else { Self::Unknown }
    }
}

impl From<String> for Evidence {
    fn from(value: String) -> Self {
        Self::Text(value)
    }
}

impl From<&str> for Evidence {
    fn from(value: &str) -> Self {
        Self::Text(value.to_owned())
    }
}

/// What a finding asks for, most urgent first. The action of a series is what the most urgent of its findings asks for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Asks {
    /// To keep the winding out of service.
    Hold,
    /// A new test, because the latest one is void: what follows from it may be wrong both ways.
    NewTest,
    /// To raise work.
    Work,
    /// To repeat the latest test, because it is doubtful.
    Repeat,
    /// To test sooner than usual.
    SoonerTest,
    /// To test as usual: there are too few readings to judge by.
    Readings,
    /// Nothing: it is worth knowing.
    #[default]
    Nothing,
}

impl Asks {
    /// The action that meets it.
    #[must_use]
    pub const fn action(self) -> Option<Action> {
        match self {
            Self::Hold => Some(Action::Hold),
            Self::Work => Some(Action::Plan),
            Self::NewTest | Self::Repeat => Some(Action::Recheck),
            Self::SoonerTest => Some(Action::Shorten),
            Self::Readings => Some(Action::Gather),
            Self::Nothing => None,
        }
    }
}

/// One thing noticed.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Finding {
    /// What was noticed.
    pub code: Code,
    /// A whole sentence with the numbers, for people.
    pub message: String,
    /// The numbers, by name.
    #[cfg_attr(feature = "serde", serde(serialize_with = "as_map"))]
    pub evidence: Vec<(&'static str, Evidence)>,
    /// Where the rule comes from.
    pub source: String,
    /// What it asks for.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub asks: Asks,
    /// Whether the winding must not be energised before that is done.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub before_use: bool,
}

impl Finding {
    /// A finding that has no evidence yet and asks for nothing.
    #[must_use]
    pub fn new(code: Code, message: impl Into<String>, source: impl Into<String>) -> Self {
        Self {
            code,
            message: message.into(),
            evidence: Vec::new(),
            source: source.into(),
            asks: Asks::Nothing,
            before_use: false,
        }
    }

    /// The same, asking for something.
    #[must_use]
    pub fn asking(mut self, asks: Asks) -> Self {
        self.asks = asks;
        self
    }

    /// The same, asking for something that must be done before the winding is energised.
    #[must_use]
    pub fn asking_before_use(mut self, asks: Asks) -> Self {
        (self.asks, self.before_use) = (asks, true);
        self
    }

    /// Adds a piece of evidence.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<Evidence>) -> Self {
        self.evidence.push((name, value.into()));
        self
    }
}

#[cfg(feature = "serde")]
fn as_map<S: serde::Serializer>(evidence: &[(&'static str, Evidence)], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(evidence.iter().map(|(name, value)| (name, value)))
}
