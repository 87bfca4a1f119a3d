//! Short words to describe a winding with.

use crate::physics::{Absorption, Law};
use crate::plant::{AS_OF, Area, Round, Series, Shape, TESTER_1, TESTER_3, Tester, Timing, Twist, Winding};

/// A random-wound ac motor below 1 kV, tested all phases to earth for one minute.
pub(crate) fn random_wound(
    id: &'static str,
    area: Area,
    description: &'static str,
    group: &'static str,
    (rated_volts, rated_kw): (u32, u32),
    year_made: i32,
) -> Winding {
    Winding {
        id,
        area,
        description,
        rated_volts,
        rated_kw,
        construction: "random-wound",
        insulation: "thermosetting",
        thermal_class: "F",
        year_made,
        interval_days: 91,
        minimum_mohm: None,
        group,
        criticality: "B",
        in_register: true,
        first: (2020, 1),
        series: Vec::new(),
        law: Law::Thermosetting,
        scatter: 0.08,
        season: 0.04,
        warm: (0.2, 32.0, 50.0),
        tester: TESTER_1,
        test_volts: 500,
        timing: Timing::One,
        absorption: Absorption { exponent: 0.15, leakage: 1.0 },
        twists: Vec::new(),
        made: "",
        conclusion: "",
    }
}

/// A form-wound machine above 1 kV with 30 s, one- and ten-minute readings.
pub(crate) fn form_wound(
    id: &'static str,
    area: Area,
    description: &'static str,
    group: &'static str,
    rating: (u32, u32),
    year_made: i32,
) -> Winding {
    Winding {
        construction: "form-wound",
        criticality: "A",
        scatter: 0.07,
        tester: TESTER_3,
        test_volts: if rating.0 > 5000 { 5000 } else { 2500 },
        timing: Timing::Three,
        absorption: Absorption { exponent: 0.7, leakage: 0.08 },
        ..random_wound(id, area, description, group, rating, year_made)
    }
}

impl Winding {
    /// A level that falls by `slope` decades a year and is `mohm` on the as-of date.
    pub(crate) fn line(self, mohm: f64, slope: f64) -> Winding {
        self.level(vec![(0.0, Shape::Line { mohm, at: AS_OF, slope })])
    }

    /// The level of the whole winding to earth.
    pub(crate) fn level(self, level: Vec<(f64, Shape)>) -> Winding {
        self.series("all-earth", "winding", level, "keep")
    }

    /// One more connection or scope.
    pub(crate) fn series(
        mut self,
        connection: &'static str,
        scope: &'static str,
        level: Vec<(f64, Shape)>,
        expected: &'static str,
    ) -> Winding {
        self.series.push(Series { connection, scope, level, expected });
        self
    }

    /// What happens to its tests.
    pub(crate) fn twists(mut self, twists: &[Twist]) -> Winding {
        self.twists.extend_from_slice(twists);
        self
    }

    /// How it was made and what should be concluded.
    pub(crate) fn story(mut self, made: &'static str, conclusion: &'static str) -> Winding {
        self.made = made;
        self.conclusion = conclusion;
        self
    }

    /// The action expected of the last series added; `keep` unless said.
    pub(crate) fn expect(mut self, action: &'static str) -> Winding {
        if let Some(last) = self.series.last_mut() {
            last.expected = action;
        }
        self
    }

    /// Readings swing with the year by ± so many decades.
    pub(crate) fn seasonal(mut self, decades: f64) -> Winding {
        self.season = decades;
        self
    }

    /// Standard scatter of one test in decades.
    pub(crate) fn scatter(mut self, scatter: f64) -> Winding {
        self.scatter = scatter;
        self
    }

    /// First round.
    pub(crate) fn starting(mut self, first: Round) -> Winding {
        self.first = first;
        self
    }

    /// Tester used throughout.
    pub(crate) fn tested_with(mut self, tester: Tester) -> Winding {
        self.tester = tester;
        self
    }

    /// Left out of the register.
    pub(crate) fn unregistered(mut self) -> Winding {
        self.in_register = false;
        self
    }

    /// Readings from 15 s to ten minutes, absorption current t^−`exponent`.
    pub(crate) fn full_curve(mut self, exponent: f64) -> Winding {
        self.timing = Timing::Full;
        self.absorption = Absorption { exponent, ..self.absorption };
        self
    }

    /// The site's own minimum, which overrides the rule.
    pub(crate) fn minimum_of(mut self, mohm: f64) -> Winding {
        self.minimum_mohm = Some(mohm);
        self
    }

    /// No other timed reading.
    pub(crate) fn one_minute_only(mut self) -> Winding {
        self.timing = Timing::One;
        self
    }
}
