//! `history-cautions.csv`: one winding for each thing that could make an answer too mild. Written by hand, no random numbers.

use std::fmt::Write;

use chrono::{Days, NaiveDate};

/// One winding: nameplate, steady quarterly tests, and then what happens.
pub(crate) struct Caution {
    pub(crate) id: &'static str,
    /// rated_volts, construction, insulation, thermal_class, year_made of the register.
    nameplate: &'static str,
    /// Quarterly tests before: their number, MΩ, °C of the winding, and the cells of 30 s and 10 min as multiples.
    steady: (u64, f64, f64, Option<(f64, f64)>),
    /// Rows after them, cells as in the header from `tested_on` on.
    rows: &'static [&'static str],
    pub(crate) made: &'static str,
    pub(crate) expected: &'static str,
    pub(crate) conclusion: &'static str,
}

const HEADER: &str =
    "winding,tested_on,test_volts,output_volts,r_30s,r_60s,r_10min,winding_temp_c,air_temp_c,rh_percent,event,note";
const LOW: &str = "400,random-wound,thermosetting,F,2009";
const MEDIUM: &str = "3300,form-wound,thermosetting,F,2005";
/// What scatter leaves of one test after the other.
const SCATTER: [f64; 5] = [1.0, 1.06, 0.95, 1.03, 0.97];

pub(crate) const CAUTIONS: &[Caution] = &[
    Caution {
        id: "W-801 stator",
        nameplate: MEDIUM,
        steady: (14, 2500.0, 38.0, None),
        rows: &["2026-07-20,2500,,,700,,16,15,60,,", "2026-10-14,2500,,,420,,12,11,60,,standing since August"],
        made: "warm and dry in service near 2500 MΩ; stands cold since August and reads less than it did warm",
        expected: "plan",
        conclusion: "colder insulation reads more, so no temperature law explains this away: look for water before the next start",
    },
    Caution {
        id: "W-802 stator",
        nameplate: LOW,
        steady: (12, 820.0, 25.0, None),
        rows: &["2026-07-20,500,,,190,,25,21,60,,", "2026-10-14,500,,,185,,24,20,60,,"],
        made: "steady near 820 MΩ, then 190 MΩ at two tests that agree",
        expected: "plan",
        conclusion: "sudden, not slow: something happened between two tests",
    },
    Caution {
        id: "W-803 stator",
        nameplate: LOW,
        steady: (12, 480.0, 25.0, None),
        rows: &["2026-07-20,500,,,3.4,,25,21,80,,", "2026-10-14,500,,,470,,24,20,60,,"],
        made: "3.4 MΩ in July, 470 MΩ in October, and no work written down",
        expected: "shorten",
        conclusion: "water that comes and goes; the good test does not take the low one back",
    },
    Caution {
        id: "W-804 stator",
        nameplate: LOW,
        steady: (12, 320.0, 25.0, None),
        rows: &["2026-10-14T09:10,500,,,2.1,,25,21,60,,", "2026-10-14T09:40,500,,,310,,25,21,60,,terminals wiped"],
        made: "2.1 MΩ, and 310 MΩ half an hour later, after the terminals were wiped",
        expected: "shorten",
        conclusion: "the later test is judged, and the earlier one is remembered",
    },
    Caution {
        id: "W-805 stator",
        nameplate: MEDIUM,
        steady: (12, 4800.0, 30.0, None),
        rows: &[
            "2026-10-14,500,,,4900,,30,24,50,,",
            "2026-10-14,1000,,,3900,,30,24,50,,",
            "2026-10-14,2500,,,2100,,30,24,50,,",
        ],
        made: "tested at rising voltages: 4900, 3900 and 2100 MΩ",
        expected: "hold",
        conclusion: "less than half is left at the last step, as in cracked or dirty insulation",
    },
    Caution {
        id: "W-806 stator",
        nameplate: LOW,
        steady: (12, 410.0, 25.0, None),
        rows: &["2026-10-14,500,180,,420,,25,21,60,,battery low"],
        made: "the tester put out 180 V of its 500 V",
        expected: "recheck",
        conclusion: "such a test proves nothing",
    },
    Caution {
        id: "W-807 stator",
        nameplate: LOW,
        steady: (12, 610.0, 18.0, None),
        rows: &["2026-01-14,500,,,5800,,-4,-5,70,,yard"],
        made: "5800 MΩ at −4 °C",
        expected: "recheck",
        conclusion: "ice insulates: thaw and dry it, and test again",
    },
    Caution {
        id: "W-808 stator",
        nameplate: LOW,
        steady: (12, 350.0, 22.0, None),
        rows: &["2026-10-14,500,,,340,,12,14,92,,"],
        made: "12 °C in air of 14 °C and 92 % humidity",
        expected: "recheck",
        conclusion: "at the dew point a winding is wet: not started until it is dry and the test repeated",
    },
    Caution {
        id: "W-809 stator",
        nameplate: LOW,
        steady: (0, 0.0, 0.0, None),
        rows: &[
            "2026-01-14,500,,,52,,62,16,55,,",
            "2026-04-15,500,,,50,,66,19,55,,",
            "2026-07-20,500,,,47,,75,24,55,,",
            "2026-10-14,500,,,50,,69,20,55,,",
        ],
        made: "a standing motor at 62 to 75 °C in air of 16 to 24 °C",
        expected: "recheck",
        conclusion: "a column of °F under a header of °C; corrected from 69 °C the reading would look three times too good",
    },
    Caution {
        id: "W-810 stator",
        nameplate: MEDIUM,
        steady: (8, 900.0, 28.0, Some((0.72, 3.1))),
        rows: &["2026-10-14,2500,,430,640,450,28,22,60,,"],
        made: "640 MΩ after one minute, 450 MΩ after ten",
        expected: "hold",
        conclusion: "an index below 1: the leakage grows while the voltage is on",
    },
    Caution {
        id: "W-811 stator",
        nameplate: MEDIUM,
        steady: (8, 1400.0, 28.0, Some((0.72, 3.2))),
        rows: &["2026-07-20,2500,,1190,1350,2000,28,22,60,,", "2026-10-14,2500,,1210,1380,2010,28,22,60,,"],
        made: "index 1.5 at two tests running, resistance as always",
        expected: "plan",
        conclusion: "the repeat has been made: clean and dry",
    },
    Caution {
        id: "W-812 stator",
        nameplate: "4160,form-wound,thermosetting,F,1966",
        steady: (8, 62.0, 30.0, None),
        rows: &["2026-10-14,2500,,,61,,30,24,60,,"],
        made: "made in 1966, rewound in 2019; 62 MΩ",
        expected: "hold",
        conclusion: "it owes what its rewind owes, 100 MΩ, and not the 5.16 MΩ of 1966",
    },
    Caution {
        id: "W-813 stator",
        nameplate: "4000,form-wound,thermoplastic,B,1962",
        steady: (8, 950.0, 30.0, Some((0.6, 9.4))),
        rows: &["2026-10-14,2500,,570,960,9100,30,24,40,,"],
        made: "asphaltic mica of 1962 with an index of 9.5",
        expected: "keep",
        conclusion: "dry and perhaps brittle: look at it before it is moved",
    },
    Caution {
        id: "W-814 stator",
        nameplate: MEDIUM,
        steady: (8, 2100.0, 28.0, Some((0.68, 4.3))),
        rows: &["2026-10-14,2500,,1600,2050,5300,28,22,60,,"],
        made: "index 2.6 after 4.3 at every test before, resistance as always",
        expected: "shorten",
        conclusion: "the index fell by more than a third of its own level: damp shows there first",
    },
    Caution {
        id: "W-815 stator",
        nameplate: LOW,
        steady: (0, 0.0, 0.0, None),
        rows: &["2026-10-14,500,,,9,,,,,,"],
        made: "one reading, 9 MΩ, without a temperature",
        expected: "recheck",
        conclusion: "above the minimum as read, and nobody knows what it is at 40 °C: neither held nor passed",
    },
    Caution {
        id: "W-816 stator",
        nameplate: LOW,
        steady: (8, 360.0, 25.0, None),
        rows: &["2026-13-02,500,,,2.4,,25,21,60,,typed from the sheet"],
        made: "a row of 2.4 MΩ whose date is not a date",
        expected: "hold",
        conclusion: "it may be the latest: hold until the row is corrected",
    },
    Caution {
        id: "W-817 stator",
        nameplate: LOW,
        steady: (8, 700.0, 25.0, None),
        rows: &["2026-10-14,500,,,OL,,25,21,60,,borrowed tester"],
        made: "over range on a tester whose scale nobody wrote down",
        expected: "recheck",
        conclusion: "it shows nothing until the end of the scale is known",
    },
    Caution {
        id: "W-818 stator",
        nameplate: "690,random-wound,,,1978",
        steady: (14, 300.0, 12.0, None),
        rows: &["2026-07-20,500,,,54,,37,33,50,,", "2026-10-14,500,,,51,,38,34,50,,"],
        made: "insulation unknown; cold tests near 300 MΩ, then warm ones near 52 MΩ",
        expected: "plan",
        conclusion: "halving every 10 K explains it and the thermosetting law does not: by that one it fell to a quarter",
    },
    Caution {
        id: "W-819 stator",
        nameplate: "6600,,thermosetting,F,2010",
        steady: (8, 62.0, 30.0, None),
        rows: &["2026-10-14,2500,,,60,,30,24,60,,"],
        made: "construction not in the register, 60 MΩ",
        expected: "hold",
        conclusion: "from 1 kV on a modern winding of unknown construction owes 100 MΩ",
    },
];

/// The history.
pub(crate) fn history() -> String {
    let mut text = format!("{HEADER}\n");
    for caution in CAUTIONS {
        let (count, level, celsius, ratios) = caution.steady;
        for k in 0..count {
            let day = NaiveDate::from_ymd_opt(2026, 4, 22).unwrap_or_default() - Days::new(91 * (count - 1 - k));
            let day = if caution.id == "W-807 stator" { day - Days::new(182) } else { day };
            let r60 = (level * SCATTER[k as usize % SCATTER.len()]).round();
            let timed = |multiple: fn((f64, f64)) -> f64| {
                ratios.map_or_else(String::new, |ratios| (r60 * multiple(ratios)).round().to_string())
            };
            let is_high = caution.nameplate.split(',').next().is_some_and(|volts| volts.len() > 3);
            let volts = if is_high { "2500" } else { "500" };
            let event = if k == 0 && caution.id == "W-812 stator" { "rewound" } else { "" };
            let day = if event.is_empty() { day.to_string() } else { "2019-06-12".to_owned() };
            let _ = writeln!(
                text,
                "{},{day},{volts},,{},{r60},{},{celsius},{},55,{event},",
                caution.id,
                timed(|ratios| ratios.0),
                timed(|ratios| ratios.1),
                celsius - 6.0
            );
        }
        for row in caution.rows {
            let _ = writeln!(text, "{},{row}", caution.id);
        }
    }
    text
}

/// The register of these windings.
pub(crate) fn register() -> String {
    let mut text = "winding,rated_volts,construction,insulation,thermal_class,year_made\n".to_owned();
    for caution in CAUTIONS {
        let _ = writeln!(text, "{},{}", caution.id, caution.nameplate);
    }
    text
}

/// The part of the card, one row a winding.
pub(crate) fn table() -> String {
    let rows = CAUTIONS.iter().map(|c| format!("| {} | {} | `{}` | {} |", c.id, c.made, c.expected, c.conclusion));
    rows.collect::<Vec<_>>().join("\n")
}
