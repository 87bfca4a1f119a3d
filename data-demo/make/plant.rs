//! What an invented winding is made of: nameplate, hidden truth, and what happens to its tests.

use crate::physics::{Absorption, Law};

/// A round of tests: year and quarter.
pub(crate) type Round = (i32, u32);

/// The as-of date of the demo, 2026-11-25, as a year with a fraction.
pub(crate) const AS_OF: f64 = 2026.899;

/// Areas of the plant; each has its own weather and its own days for a round.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Area {
    Intake,
    Pulping,
    BoardMachine,
    BoilerHouse,
    Finishing,
    Power,
}

impl Area {
    pub(crate) const ALL: [Area; 6] =
        [Area::Intake, Area::Pulping, Area::BoardMachine, Area::BoilerHouse, Area::Finishing, Area::Power];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Area::Intake => "water intake",
            Area::Pulping => "pulping",
            Area::BoardMachine => "board machine",
            Area::BoilerHouse => "boiler house",
            Area::Finishing => "finishing",
            Area::Power => "hydro power",
        }
    }
}

/// A tester: what it is called in the files, the end of its scale, and the digits a technician reads from it.
#[derive(Clone, Copy, PartialEq)]
pub(crate) struct Tester {
    pub(crate) name: &'static str,
    pub(crate) full_scale_mohm: f64,
    pub(crate) full_scale: &'static str,
    pub(crate) digits: i32,
    /// What is written when the scale has ended.
    pub(crate) over: &'static str,
    /// Whether it shows its own output voltage.
    pub(crate) shows_volts: bool,
}

/// Digital, 500 V.
pub(crate) const TESTER_1: Tester = Tester {
    name: "tester 1",
    full_scale_mohm: 2000.0,
    full_scale: "2000",
    digits: 3,
    over: "> 2 GΩ",
    shows_volts: true,
};
/// The same tester in the hands of someone who writes what the display shows.
pub(crate) const TESTER_1_OL: Tester = Tester { over: "OL", ..TESTER_1 };
/// Pointer instrument, 500 V.
pub(crate) const TESTER_2: Tester = Tester {
    name: "tester 2",
    full_scale_mohm: 1000.0,
    full_scale: "1000",
    digits: 2,
    over: ">1000",
    shows_volts: false,
};
/// For the machines above 1 kV: up to 5 kV, timed readings.
pub(crate) const TESTER_3: Tester = Tester {
    name: "tester 3",
    full_scale_mohm: 100_000.0,
    full_scale: "100 GΩ",
    digits: 3,
    over: ">100 GΩ",
    shows_volts: true,
};
/// Bought in 2026.
pub(crate) const TESTER_4: Tester = Tester {
    name: "tester 4",
    full_scale_mohm: 4000.0,
    full_scale: "4000",
    digits: 3,
    over: ">4000",
    shows_volts: true,
};

/// The level: one-minute resistance at 40 °C in MΩ, without season and scatter.
#[derive(Clone, Copy)]
pub(crate) enum Shape {
    /// `mohm` at year `at`, `slope` decades a year throughout.
    Line { mohm: f64, at: f64, slope: f64 },
    /// As `Line` at slope nought until `from`, falling after it.
    Hinge { mohm: f64, from: f64, slope: f64 },
    /// Loss in decades: `c` · (exp(`k` · years since `from`) − 1).
    SpeedingUp { mohm: f64, from: f64, c: f64, k: f64 },
    /// Loss in decades: `a` · ln(1 + `k` · years since `from`); a negative `a` is a rise that levels off.
    Easing { mohm: f64, from: f64, a: f64, k: f64 },
    /// `dry_mohm` beside a leakage conductance `ratio_now` times as large on the as-of date, growing `growth`-fold a year.
    Leakage { dry_mohm: f64, ratio_now: f64, growth: f64 },
}

impl Shape {
    /// log10 of the level in MΩ.
    pub(crate) fn log10(self, year: f64) -> f64 {
        match self {
            Shape::Line { mohm, at, slope } => mohm.log10() + slope * (year - at),
            Shape::Hinge { mohm, from, slope } => mohm.log10() + slope * (year - from).max(0.0),
            Shape::SpeedingUp { mohm, from, c, k } => mohm.log10() - c * (k * (year - from)).exp_m1(),
            Shape::Easing { mohm, from, a, k } => mohm.log10() - a * (k * (year - from).max(0.0)).ln_1p(),
            Shape::Leakage { dry_mohm, ratio_now, growth } => {
                dry_mohm.log10() - (ratio_now * growth.powf(year - AS_OF)).ln_1p() / std::f64::consts::LN_10
            }
        }
    }
}

/// Which timed readings a test has.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Timing {
    /// One minute only.
    One,
    /// 30 s, 60 s and ten minutes.
    Three,
    /// 15 s, 30 s, 60 s and every minute to ten.
    Full,
}

/// One connection and scope of a winding, with its hidden truth and the action a competent judge should reach.
#[derive(Clone)]
pub(crate) struct Series {
    pub(crate) connection: &'static str,
    pub(crate) scope: &'static str,
    /// Each shape holds from its year on.
    pub(crate) level: Vec<(f64, Shape)>,
    pub(crate) expected: &'static str,
}

impl Series {
    pub(crate) fn shape(&self, year: f64) -> Shape {
        let mut shape = self.level[0].1;
        for &(from, next) in &self.level {
            if year >= from {
                shape = next;
            }
        }
        shape
    }
}

/// Something that happens to the tests of one round.
#[derive(Clone, Copy)]
pub(crate) enum Twist {
    /// Work done since the previous test.
    Event(Round, &'static str, &'static str),
    /// Month and day instead of the round's own.
    On(Round, u32, u32),
    /// No test in any round from the first to the second, both included.
    NoTests(Round, Round),
    /// A test between rounds: year, month, day, event, note.
    Extra(i32, u32, u32, &'static str, &'static str),
    /// A damp day: the surface loses this many decades.
    Damp(Round, f64),
    /// The winding truly was at the first temperature; the second was written down.
    Temperature(Round, f64, f64, &'static str),
    /// No temperature was written down.
    NoTemperature(Round),
    /// The check of the leads failed and this was read.
    LeadsFailed(Round, &'static str),
    /// A reading off by this many decades, for this round only.
    Off(Round, f64, &'static str),
    /// Another tester from this round on; its readings differ by so many decades.
    Tester(Round, Tester, f64),
    /// Another test voltage from this round on; the readings differ by so many decades.
    Volts(Round, u32, f64),
    /// A note.
    Note(Round, &'static str),
}

/// One winding: nameplate, truth, habits of its testers, story.
#[derive(Clone)]
pub(crate) struct Winding {
    pub(crate) id: &'static str,
    pub(crate) area: Area,
    pub(crate) description: &'static str,
    pub(crate) rated_volts: u32,
    pub(crate) rated_kw: u32,
    pub(crate) construction: &'static str,
    pub(crate) insulation: &'static str,
    pub(crate) thermal_class: &'static str,
    pub(crate) year_made: i32,
    pub(crate) interval_days: u32,
    pub(crate) minimum_mohm: Option<f64>,
    pub(crate) group: &'static str,
    pub(crate) criticality: &'static str,
    pub(crate) in_register: bool,
    pub(crate) first: Round,
    pub(crate) series: Vec<Series>,
    pub(crate) law: Law,
    /// Standard scatter of one test in decades.
    pub(crate) scatter: f64,
    /// Half the swing of the year in decades; lowest at the turn of the year.
    pub(crate) season: f64,
    /// Share of tests made soon after shutdown, and the temperatures of those.
    pub(crate) warm: (f64, f64, f64),
    pub(crate) tester: Tester,
    pub(crate) test_volts: u32,
    pub(crate) timing: Timing,
    pub(crate) absorption: Absorption,
    pub(crate) twists: Vec<Twist>,
    /// For the card: how it was made, and what should be concluded.
    pub(crate) made: &'static str,
    pub(crate) conclusion: &'static str,
}

impl Winding {
    /// Least acceptable one-minute resistance at 40 °C and the rule, IEEE Std 43-2013 cl. 12.3 (tables quoted in print).
    pub(crate) fn minimum(&self) -> (f64, &'static str) {
        let kilovolts = f64::from(self.rated_volts) / 1000.0;
        match (self.minimum_mohm, self.construction) {
            (Some(own), _) => (own, "site's own"),
            (None, "field") => (kilovolts + 1.0, "kV + 1"),
            (None, "form-wound") if self.year_made < 1970 => (kilovolts + 1.0, "kV + 1"),
            (None, "form-wound") if self.rated_volts >= 1000 => (100.0, "100"),
            (None, _) => (5.0, "5"),
        }
    }
}
