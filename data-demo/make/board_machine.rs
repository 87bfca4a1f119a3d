//! The windings of the board machine.

use crate::build::{form_wound, random_wound};
use crate::plant::{AS_OF, Area, Shape, Twist, Winding};

pub(crate) fn windings() -> Vec<Winding> {
    let vacuum = |id, what| random_wound(id, Area::BoardMachine, what, "vacuum pumps 690 V", (690, 200), 2006);
    let drive = |id, what, construction, insulation, volts, group| Winding {
        construction,
        insulation,
        thermal_class: "B",
        criticality: "A",
        ..random_wound(id, Area::BoardMachine, what, group, (volts, 180), 1984)
    };
    vec![
        form_wound("FP-301 stator", Area::BoardMachine, "fan pump", "", (3300, 560), 2006)
            .line(2400.0, -0.02)
            .twists(&[Twist::Volts((2020, 1), 1000, 0.0), Twist::Volts((2026, 4), 2500, -0.08)])
            .story(
                "steady; tested with 1000 V, the latest time with 2500 V, which reads 0.08 decades lower",
                "nothing wrong; the change of voltage is said",
            ),
        vacuum("V-311 stator", "vacuum pump 1")
            .line(240.0, -0.02)
            .twists(&[Twist::Off((2026, 4), -0.85, "dry day")])
            .expect("recheck")
            .story(
                "steady until the latest test, which is 0.85 decades down on a dry day",
                "a sudden fall without damp: repeat and inspect at once; never smoothed away",
            ),
        vacuum("V-312 stator", "vacuum pump 2").line(260.0, -0.02).story("steady", "nothing found"),
        vacuum("V-313 stator", "vacuum pump 3")
            .starting((2019, 4))
            .level(vec![(0.0, Shape::SpeedingUp { mohm: 270.0, from: 2019.8, c: 0.0172, k: 0.6 })])
            .scatter(0.06)
            .expect("plan")
            .story(
                "decline speeds up: its rate doubles every 14 months; level 17 MΩ on the as-of date",
                "reaches 5 MΩ about mid-2027; a straight line through all tests would say years later",
            ),
        vacuum("V-314 stator", "vacuum pump 4")
            .level(vec![
                (0.0, Shape::Line { mohm: 70.0, at: 2023.0, slope: -0.03 }),
                (2023.0, Shape::Line { mohm: 260.0, at: AS_OF, slope: -0.015 }),
            ])
            .story(
                "jumps up 0.6 decades at the start of 2023 with no event written (a cleaning nobody filed)",
                "the level shift is found and said; the trend starts after it",
            ),
        drive("D-321 armature", "section drive 1", "dc-armature", "thermosetting", 440, "section drives dc")
            .starting((2019, 1))
            .level(vec![
                (0.0, Shape::Line { mohm: 105.0, at: 2019.05, slope: -0.52 }),
                (2022.0, Shape::Line { mohm: 100.0, at: 2022.05, slope: -0.42 }),
                (2024.8, Shape::Line { mohm: 120.0, at: AS_OF, slope: -0.04 }),
            ])
            .twists(&[
                Twist::Event((2022, 1), "cleaned", "brush dust blown out"),
                Twist::Event((2024, 4), "cleaned", "cleaned, cooling air now filtered"),
            ])
            .story(
                "brush dust: fell to 4 MΩ, cleaned early 2022, fell again to about 10 MΩ, cleaned late 2024 with the air filtered since; steady now",
                "only tests since the second cleaning count: it worked",
            ),
        drive("D-321 field", "section drive 1", "field", "thermosetting", 220, "section drives dc, fields")
            .starting((2019, 1))
            .line(85.0, -0.01)
            .story("steady", "nothing found"),
        drive("D-322 armature", "section drive 2", "dc-armature", "thermosetting", 440, "section drives dc")
            .starting((2019, 1))
            .line(48.0, -0.03)
            .scatter(0.1)
            .story("steady, a little scattered", "nothing found"),
        drive("D-322 field", "section drive 2", "field", "thermosetting", 220, "section drives dc, fields")
            .starting((2019, 1))
            .line(17.0, 0.0)
            .story("steady at a low value", "low for a motor, but far above its own minimum of 1.22 MΩ"),
        form_wound("C-331 stator", Area::BoardMachine, "air compressor", "", (11_000, 2400), 2012)
            .series("U-earth", "winding", vec![(0.0, Shape::Line { mohm: 4100.0, at: AS_OF, slope: -0.01 })], "keep")
            .series("V-earth", "winding", vec![(0.0, Shape::Line { mohm: 4600.0, at: AS_OF, slope: -0.01 })], "keep")
            .series("W-earth", "winding", vec![(0.0, Shape::Line { mohm: 3900.0, at: AS_OF, slope: -0.01 })], "keep")
            .minimum_of(200.0)
            .story(
                "tested phase by phase, all three steady; the site's own minimum of 200 MΩ is in the register",
                "nothing found; the phases agree",
            ),
    ]
}
