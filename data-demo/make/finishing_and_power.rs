//! The windings of the boiler house, of finishing and of the hydro station.

use crate::build::{form_wound, random_wound};
use crate::physics::{Absorption, Law};
use crate::plant::{AS_OF, Area, Shape, TESTER_1_OL, TESTER_2, TESTER_4, Timing, Twist, Winding};

pub(crate) fn windings() -> Vec<Winding> {
    [boiler_house(), finishing(), power()].concat()
}

fn boiler_house() -> Vec<Winding> {
    let fan = |id, what| random_wound(id, Area::BoilerHouse, what, "fans 690 V", (690, 160), 2009);
    let conveyor = |id, what| random_wound(id, Area::BoilerHouse, what, "conveyors 400 V", (400, 22), 2001);
    vec![
        form_wound("F-401 stator", Area::BoilerHouse, "induced draught fan", "", (6600, 900), 2015)
            .line(9000.0, -0.01)
            .story("steady at 9 GΩ", "nothing found; no verdict from the PI, since R60 is above 5000 MΩ"),
        Winding {
            law: Law::Halving(17.0),
            warm: (0.45, 30.0, 62.0),
            scatter: 0.06,
            ..fan("F-402 stator", "forced draught fan 1")
        }
        .line(230.0, -0.01)
        .story(
            "steady, but halves every 17 °C, below 40 °C too: the law of its insulation system is wrong for it; tested cold and hot",
            "no decline; its own readings teach a better temperature law",
        ),
        fan("F-403 stator", "forced draught fan 2")
            .line(190.0, -0.015)
            .scatter(0.06)
            .twists(&[Twist::Temperature((2026, 4), 73.0, 37.0, "straight off load")])
            .expect("recheck")
            .story(
                "steady; at the latest test the winding was at 73 °C and 37 was written down",
                "appears to have lost half a decade or more at once: repeat, with the temperature read again",
            ),
        fan("F-404 stator", "over-fire air fan")
            .line(340.0, -0.02)
            .twists(&[Twist::Temperature((2023, 2), 19.0, 66.0, "")])
            .story(
                "steady; in spring 2023 the temperature was entered in °F (66) in the °C column",
                "one wild high value in the past: set aside, nothing found",
            ),
        form_wound("B-421 stator", Area::BoilerHouse, "boiler feed pump 1", "feed pumps 3.3 kV", (3300, 710), 2007)
            .one_minute_only()
            .series("all-earth", "winding", vec![(0.0, Shape::Line { mohm: 2600.0, at: AS_OF, slope: -0.015 })], "keep")
            .series(
                "all-earth",
                "winding+cable",
                vec![(0.0, Shape::Line { mohm: 900.0, at: AS_OF, slope: -0.02 })],
                "keep",
            )
            .story(
                "tested alone and again with its cable; both steady, the second lower by the cable",
                "two series that are never mixed; nothing found in either",
            ),
        form_wound("B-422 stator", Area::BoilerHouse, "boiler feed pump 2", "feed pumps 3.3 kV", (3300, 710), 2007)
            .line(2100.0, -0.02)
            .twists(&[Twist::Damp((2022, 1), 0.45)])
            .story("steady; one damp day early in 2022", "nothing found"),
        conveyor("K-431 stator", "ash conveyor")
            .line(3.4, -0.28)
            .tested_with(TESTER_2)
            .expect("hold")
            .story(
                "falls 0.28 decades a year; passed 5 MΩ in spring 2026 and is at 3.4 MΩ",
                "below the minimum: keep out of service until a qualified person has decided",
            ),
        conveyor("K-432 stator", "fuel conveyor 1")
            .starting((2019, 1))
            .level(vec![
                (0.0, Shape::Line { mohm: 150.0, at: 2019.05, slope: -0.46 }),
                (2023.0, Shape::Line { mohm: 470.0, at: AS_OF, slope: -0.015 }),
            ])
            .twists(&[Twist::Event((2023, 1), "rewound", "burnt out on start, rewound by a repair shop")])
            .story(
                "fell 0.46 decades a year, passed the minimum in spring 2022, failed, rewound early in 2023; steady since",
                "the trend starts at the rewind; the old decline says nothing about the new winding",
            ),
        conveyor("K-433 stator", "fuel conveyor 2")
            .line(140.0, -0.02)
            .twists(&[Twist::LeadsFailed((2026, 4), "> 2 GΩ")])
            .expect("recheck")
            .story(
                "steady near 140 MΩ; at the latest test the check of the leads failed and >2 GΩ was read",
                "an open lead reads fine: that test does not count, repeat it",
            ),
        conveyor("K-434 stator", "bark conveyor")
            .line(185.0, -0.02)
            .twists(&[Twist::Tester((2026, 3), TESTER_4, -0.12)])
            .story(
                "steady; tester 4 instead of tester 1 since July 2026 reads 0.12 decades lower",
                "the step belongs to the tester: said, not read as a fall",
            ),
    ]
}

fn finishing() -> Vec<Winding> {
    let line =
        |id, what, kw| random_wound(id, Area::Finishing, what, "reel line 480 V", (480, kw), 2018).starting((2021, 3));
    vec![
        line("S-501 stator", "winder drum 1", 90)
            .level(vec![(0.0, Shape::Hinge { mohm: 2300.0, from: 2025.2, slope: -0.75 })])
            .tested_with(TESTER_2)
            .expect("shorten")
            .story(
                "level 2300 MΩ until early 2025, always beyond the scale of tester 2 (>1000); then falls 0.75 decades a year, and the last readings are its first numbers",
                "a fast decline from a good level: test sooner; dropping the >1000 tests or taking them for 1000 gives the wrong slope",
            ),
        line("S-502 stator", "winder drum 2", 90)
            .line(5200.0, 0.0)
            .tested_with(TESTER_1_OL)
            .expect("keep")
            .story(
                "always over range (OL on a 2000 MΩ scale)",
                "beyond the scale throughout, far above the minimum; a tester with a longer scale would show a decline sooner",
            ),
        line("S-503 stator", "slitter", 37)
            .line(31.0, -0.005)
            .twists(&[Twist::NoTemperature((2026, 4))])
            .expect("recheck")
            .story(
                "steady near 31 MΩ; no temperature was written down at the latest test",
                "cannot be corrected, and it is not far enough above the minimum to stand anyhow: repeat with the winding temperature",
            ),
        line("S-504 stator", "reel hoist", 30)
            .line(280.0, -0.02)
            .twists(&[Twist::On((2025, 3), 9, 23), Twist::NoTests((2025, 4), (2026, 4))])
            .story("steady; last tested on 23 September 2025", "nothing found, but overdue by eleven months"),
        line("S-505 stator", "sheeter", 55)
            .line(380.0, -0.02)
            .starting((2026, 3))
            .expect("gather")
            .story("two tests only", "both acceptable; too few for a trend"),
        line("S-506 stator", "stacker", 18)
            .line(900.0, 0.0)
            .starting((2026, 4))
            .twists(&[Twist::Event((2026, 4), "commissioned", "new")])
            .expect("gather")
            .story("new, one test", "acceptable; too few for a trend"),
        Winding { insulation: "unknown", thermal_class: "", ..line("S-507 stator", "wrapping line fan", 11) }
            .line(330.0, -0.01)
            .story(
                "steady; the register does not know the insulation (it is thermosetting)",
                "judged under both laws with the wider uncertainty; far above the minimum either way",
            ),
        line("S-508 stator", "wrapping line conveyor", 15)
            .level(vec![
                (0.0, Shape::Line { mohm: 26.0, at: 2026.0, slope: -0.22 }),
                (2026.0, Shape::Line { mohm: 850.0, at: AS_OF, slope: 0.0 }),
            ])
            .twists(&[Twist::Event((2026, 1), "replaced", "motor changed for the stores spare")])
            .story(
                "fell to 26 MΩ, motor replaced early in 2026; four tests since",
                "only the new motor's tests count; few, but nothing found",
            ),
    ]
}

fn power() -> Vec<Winding> {
    let tailrace = |id, what| random_wound(id, Area::Power, what, "tailrace pumps 400 V", (400, 45), 2010);
    vec![
        Winding {
            insulation: "thermoplastic",
            thermal_class: "B",
            law: Law::Halving(10.0),
            interval_days: 182,
            warm: (0.3, 30.0, 46.0),
            first: (2019, 2),
            absorption: Absorption { exponent: 0.55, leakage: 0.12 },
            ..form_wound("G-1 stator", Area::Power, "hydro generator", "", (6300, 4000), 1961)
        }
        .line(210.0, -0.02)
        .story(
            "asphaltic mica of 1961, tested twice a year; steady",
            "nothing found; the minimum is kV + 1 = 7.3 MΩ, and the correction halves per 10 °C",
        ),
        Winding {
            construction: "field",
            insulation: "thermoplastic",
            thermal_class: "B",
            law: Law::Halving(10.0),
            interval_days: 182,
            timing: Timing::One,
            criticality: "A",
            first: (2019, 2),
            ..random_wound("G-1 field", Area::Power, "hydro generator", "", (125, 40), 1961)
        }
        .line(14.0, -0.02)
        .story("steady", "nothing found; the minimum is 1.125 MΩ"),
        tailrace("T-601 stator", "tailrace pump 1")
            .line(33.0, -0.3)
            .scatter(0.06)
            .starting((2021, 1))
            .expect("shorten")
            .story(
                "falls 0.30 decades a year in a straight line; level 33 MΩ on the as-of date",
                "reaches 5 MΩ in 2029: real, but after the next outage; test sooner",
            ),
        tailrace("T-602 stator", "tailrace pump 2")
            .level(vec![(0.0, Shape::Easing { mohm: 420.0, from: 2020.0, a: 0.28, k: 3.0 })])
            .scatter(0.06)
            .story(
                "fell fast after a change of duty in 2020 and is easing off near 55 MΩ",
                "nearly level now; a straight line through all tests would promise a date that never comes",
            ),
    ]
}
