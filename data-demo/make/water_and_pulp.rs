//! The windings of the water intake and of pulping.

use crate::build::{form_wound, random_wound};
use crate::plant::{AS_OF, Area, Shape, TESTER_2, Twist, Winding};

pub(crate) fn windings() -> Vec<Winding> {
    let pump = |id, what, year| random_wound(id, Area::Intake, what, "intake pumps 400 V", (400, 75), year);
    let agitator = |id, what| random_wound(id, Area::Pulping, what, "agitators 690 V", (690, 132), 2008);
    vec![
        pump("P-101 stator", "raw water pump 1", 2004)
            .level(vec![
                (0.0, Shape::Line { mohm: 95.0, at: 2021.0, slope: 0.0 }),
                (2021.15, Shape::Line { mohm: 165.0, at: AS_OF, slope: -0.01 }),
            ])
            .twists(&[
                Twist::Event((2021, 2), "repaired", "cracked terminal block changed"),
                Twist::Off((2023, 3), 0.55, "reading high, leads may have been off"),
            ])
            .story(
                "steady; repaired in 2021, one wild high reading in 2023",
                "nothing found; the wild reading must not swing the line",
            ),
        pump("P-102 stator", "raw water pump 2", 2004)
            .line(210.0, -0.015)
            .twists(&[Twist::Damp((2024, 4), 0.7)])
            .story(
                "steady; a damp day in autumn 2024 cost that test 0.7 decades",
                "the damp test is explained by the dew point and does not count against it",
            ),
        pump("P-103 stator", "pit pump", 2011)
            .level(vec![
                (0.0, Shape::Line { mohm: 230.0, at: 2024.0, slope: -0.03 }),
                (2024.11, Shape::Line { mohm: 0.6, at: 2024.13, slope: 0.0 }),
                (2024.17, Shape::Easing { mohm: 42.0, from: 2024.17, a: -0.22, k: 6.0 }),
            ])
            .twists(&[
                Twist::On((2024, 1), 1, 17),
                Twist::Extra(2024, 2, 19, "", "pit flooded on the 17th, pump was under water"),
                Twist::Extra(2024, 3, 8, "dried", "dried out 12 days in the oven"),
            ])
            .story(
                "steady, flooded in February 2024 (0.6 MΩ), dried out, still gaining a little",
                "only tests since the dry-out count; rising and well above the minimum",
            ),
        pump("P-104 stator", "transfer pump", 2013)
            .line(130.0, 0.0)
            .twists(&[Twist::Note((2022, 1), "cold and wet in the pump house")])
            .seasonal(0.21)
            .story(
                "no decline; the year swings it by ±0.21 decades, lowest in January",
                "the autumn readings are the season, not a fall",
            ),
        pump("P-105 stator", "transfer pump, standby", 2013)
            .line(175.0, -0.02)
            .twists(&[Twist::Damp((2026, 4), 0.62)])
            .expect("recheck")
            .story(
                "steady; the latest test was made within 2 °C of the dew point and lost 0.62 decades",
                "damp test: repeat it dry before deciding anything",
            ),
        pump("SP-1 stator", "", 0)
            .line(620.0, -0.01)
            .twists(&[Twist::NoTests((2020, 1), (2020, 4))])
            .unregistered()
            .story(
                "a spare pump that nobody entered in the register; steady",
                "said once that it is not in the register; above every minimum that could apply to it",
            ),
        form_wound("R-201 stator", Area::Pulping, "refiner 1", "refiners 6.6 kV", (6600, 1600), 1998)
            .level(vec![(0.0, Shape::Leakage { dry_mohm: 3000.0, ratio_now: 2.0, growth: 2.25 })])
            .full_curve(0.75)
            .expect("plan")
            .story(
                "absorption K·t^−0.75 stays; leakage conductance grows 2.25-fold a year, so that the PI falls from above 5 to about 1.4 while R60 is still at ten times the minimum",
                "PI below 2.0 at every test since July 2025 warns before R60 does; the repeat has long been made: clean and dry",
            ),
        form_wound("R-202 stator", Area::Pulping, "refiner 2", "refiners 6.6 kV", (6600, 1600), 1998)
            .line(2700.0, -0.02)
            .full_curve(0.72)
            .story("sister of R-201; steady, PI about 4", "nothing found"),
        form_wound("R-203 stator", Area::Pulping, "reject refiner", "", (3300, 630), 2003)
            .series("U-earth", "winding", vec![(0.0, Shape::Line { mohm: 3700.0, at: AS_OF, slope: -0.015 })], "keep")
            .series("V-earth", "winding", vec![(0.0, Shape::Line { mohm: 3300.0, at: AS_OF, slope: -0.015 })], "keep")
            .series("W-earth", "winding", vec![(0.0, Shape::Hinge { mohm: 3500.0, from: 2025.1, slope: -0.4 })], "plan")
            .story(
                "tested phase by phase; W falls 0.40 decades a year since early 2025, U and V are steady",
                "W falls away from its sisters (ratio above 4, in round after round) while still above the minimum: find out why before it is started again",
            ),
        agitator("A-211 stator", "chest agitator 1").line(320.0, -0.02).story("steady", "nothing found"),
        agitator("A-212 stator", "chest agitator 2")
            .line(9.6, -0.36)
            .scatter(0.06)
            .starting((2021, 4))
            .expect("plan")
            .story(
                "falls 0.36 decades a year in a straight line; level 9.6 MΩ on the as-of date",
                "reaches 5 MΩ around September 2027, before the next outage: raise work",
            ),
        agitator("A-213 stator", "chest agitator 3")
            .line(420.0, 0.0)
            .tested_with(TESTER_2)
            .story("steady; pointer instrument, two digits", "nothing found"),
        agitator("A-214 stator", "dump chest agitator")
            .line(300.0, -0.075)
            .scatter(0.06)
            .story(
                "falls slowly, 0.075 decades a year, far from the minimum",
                "a real decline but decades away: usual interval",
            ),
    ]
}
