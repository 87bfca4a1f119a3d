//! `history-dirty.csv`: written by hand, no random numbers. Semicolons, decimal commas, a byte order mark.
//!
//! Every row carries what becomes of it, so that the counts on the card are counted and not typed.

/// What becomes of a row.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Fate {
    Accepted,
    /// The same test written twice, byte for byte: the second is dropped and counted.
    Repeated,
    /// The same test with another result: both are shown and kept out.
    Conflicting,
    /// Column and rule.
    Rejected(&'static str, &'static str),
}

use Fate::{Accepted as A, Conflicting as C, Rejected as X, Repeated as R};

const HEADER: &str = "winding;tested_on;connection;test_volts;r_30s;r_60s;r_10min;winding_temp_c;air_temp_c;\
rh_percent;instrument;full_scale;lead_check;event;note;trolley";

/// The register of these windings; itself clean.
pub(crate) const REGISTER: &str = "\
winding,site,area,description,rated_volts,rated_kw,construction,insulation,thermal_class,year_made,interval_days,minimum_mohm,group,criticality
E-701 stator,Vennick Tarn,effluent,aerator 1,400,55,random-wound,thermosetting,F,2009,91,,effluent 400 V,B
E-702 stator,Vennick Tarn,effluent,aerator 2,400,55,random-wound,thermosetting,F,2009,91,,effluent 400 V,B
E-703 stator,Vennick Tarn,effluent,blower,3300,450,form-wound,thermosetting,F,2005,91,,,A
E-704 stator,Vennick Tarn,effluent,sludge pump,400,30,random-wound,thermosetting,F,2014,91,,effluent 400 V,B
E-705 stator,Vennick Tarn,effluent,press drive,400,22,random-wound,unknown,,1996,91,,effluent 400 V,C
E-706 stator,Vennick Tarn,effluent,lift pump,400,37,random-wound,thermosetting,F,2014,91,,effluent 400 V,B
";

/// The rows in the order of the file.
pub(crate) const ROWS: &[(Fate, &str)] = &[
    (A, "E-701 stator;2024-10-16;all-earth;500;;310 MΩ;;19,5;17;61;tester 1;2000;ok;;;2"),
    (A, "E-702 stator;2024-10-16;all-earth;500;;0,26 GΩ;;20;17;61;tester 1;2000;ok;;;2"),
    (A, "E-703 stator;2024-10-17;all-earth;2500;1,1 GΩ;1,6 GΩ;4,9 GΩ;23,5;16;58;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2024-10-17;all-earth;500;;OL;;18;16;58;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2024-10-17;all-earth;500;;38;;18,5;16;;tester 2;1000;;;;2"),
    (A, "E-706 stator;2024-10-17;all-earth;500;;145;;19;16;58;tester 1;2000;ok;;;2"),
    (A, "E-701 stator;2025-01-14;all-earth;500;;295;;17;14;66;tester 1;2000;ok;;\"cold; heater off\";2"),
    (R, "E-701 stator;2025-01-14;all-earth;500;;295;;17;14;66;tester 1;2000;ok;;\"cold; heater off\";2"),
    (A, "E-702 stator;2025-01-14;all-earth;500;;2,4e2;;17,5;14;66;tester 1;2000;ok;;;2"),
    (A, "E-703 stator;2025-01-15;all-earth;2500;1,2 GΩ;1,8 GΩ;5,3 GΩ;21;14;64;tester 3;100 GΩ;ok;;;1"),
    (X("tested_on", "no such day"), "E-704 stator;2025-02-30;all-earth;500;;> 2 GΩ;;16;14;64;tester 1;2000;ok;;;2"),
    (A, "E-704 stator;2025-01-15;all-earth;500;;∞;;16;14;64;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2025-01-15;all-earth;500;;31;;17;14;;tester 2;1000;;;;2"),
    (A, "E-706 stator;2025-01-15;all-earth;500;;150 MOhm;;16,5;14;64;tester 1;2000;ok;;;2"),
    (
        X("tested_on", "day and month are not guessed"),
        "E-701 stator;03/04/2025;all-earth;500;;305;;19;17;55;tester 1;2000;ok;;;2",
    ),
    (A, "E-702 stator;2025-04-15;all-earth;500;;235;;41;18;55;tester 1;2000;ok;;after shutdown, still warm;2"),
    (A, "E-703 stator;2025-04-16;all-earth;2500;1,1 GΩ;1,7 GΩ;5,0 GΩ;25;18;54;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2025-04-16;all-earth;500;;> 2 GΩ;;20;18;54;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2025-04-16;all-earth;500;;27;;20,5;18;54;tester 2;1000;ok;;;2"),
    (X("r_60s", "negative resistance"), "E-706 stator;2025-04-16;all-earth;500;;-140;;20;18;54;tester 1;2000;ok;;;2"),
    (
        A,
        "E-706 stator;2025-04-17;all-earth;500;;138;;20;18;54;tester 1;2000;ok;;typing mistake of the 16th put right;2",
    ),
    (A, "E-701 stator;2025-07-15;L1L2L3-PE;500;;280;;26;23;52;tester 1;2000;ok;;;2"),
    (C, "E-702 stator;2025-07-15T09:00;all-earth;500;;225;;27;23;52;tester 1;2000;ok;;;2"),
    (C, "E-702 stator;2025-07-15T09:00;all-earth;500;;22,5;;27;23;52;tester 1;2000;ok;;;2"),
    (A, "E-703 stator;2025-07-16;all-earth;2500;1,0 GΩ;1,5 GΩ;4,4 GΩ;29;23;50;tester 3;100 GΩ;ok;;;1"),
    (X("r_60s", "not a number"), "E-704 stator;2025-07-16;all-earth;500;;NaN;;26;23;50;tester 1;2000;ok;;;2"),
    (A, "E-704 stator;2025-07-17;all-earth;500;;inf;;26;23;50;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2025-07-16;all-earth;500;;17;;27;23;50;tester 2;1000;ok;;;2"),
    (X("r_60s", "unknown unit"), "E-706 stator;2025-07-16;all-earth;500;;132 mho;;26;23;50;tester 1;2000;ok;;;2"),
    (A, "E-701 stator;2025-10-14;all-earth;500;;300;;20;17;60;tester 1;2000;ok;;;2"),
    (A, "E-702 stator;2025-10-14;all-earth;500;;230;;20;17;60;tester 1;2000;ok;;;2"),
    (R, "E-702 stator;2025-10-14;all-earth;500;;230;;20;17;60;tester 1;2000;ok;;;2"),
    (
        X("winding_temp_c", "outside the range that is believed"),
        "E-703 stator;2025-10-15;all-earth;2500;1,1 GΩ;1,6 GΩ;4,7 GΩ;700;17;60;tester 3;100 GΩ;ok;;;1",
    ),
    (A, "E-703 stator;2025-10-16;all-earth;2500;1,1 GΩ;1,6 GΩ;4,7 GΩ;24;17;60;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2025-10-15;all-earth;500;;OL;;19;17;60;tester 6;;ok;;tester 1 away for calibration;2"),
    (X("rh_percent", "above 100"), "E-705 stator;2025-10-15;all-earth;500;;14;;19,5;17;140;tester 2;1000;ok;;;2"),
    (A, "E-705 stator;2025-10-20;all-earth;500;;14;;19;16;71;tester 2;1000;ok;;rain overnight;2"),
    (A, "E-706 stator;2025-10-15;all-earth;500;;141;;19;17;60;tester 1;2000;ok;;;2"),
    (
        X("r_60s", "more digits than a tester shows"),
        "E-701 stator;2026-01-13;all-earth;500;;290000000000;;16;14;62;tester 1;2000;ok;;;2",
    ),
    (A, "E-701 stator;2026-01-14;all-earth;500;;290;;16;14;62;tester 1;2000;ok;;;2"),
    (A, "E-702 stator;2026-01-13;all-earth;500;;219;;16,5;14;62;tester 1;2000;ok;;;2"),
    (A, "E-703 stator;2026-01-14;all-earth;2500;1,2 GΩ;1,7 GΩ;5,1 GΩ;20;14;62;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2026-01-14;all-earth;500;;1,9 GΩ;;16;14;62;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2026-01-14;all-earth;500;;11;;;14;62;tester 2;1000;ok;;no thermometer;2"),
    (X("r_60s", "not a resistance"), "E-706 stator;2026-01-14;all-earth;500;;see card;;16;14;62;tester 1;2000;ok;;;2"),
    (C, "E-706 stator;2026-01-15T09:00;all-earth;500;;139;;16;14;62;tester 1;2000;ok;;;2"),
    (C, "E-706 stator;2026-01-15T09:00;all-earth;500;;139;;36;14;62;tester 1;2000;ok;;;2"),
    (X("winding", "missing"), ";2026-04-14;all-earth;500;;285;;21;18;56;tester 1;2000;ok;;;2"),
    (A, "E-702 stator;2026-04-14;all-earth;500;;222;;21;18;56;tester 1;2000;ok;;;2"),
    (X("tested_on", "missing"), "E-703 stator;;all-earth;2500;1,1 GΩ;1,6 GΩ;4,8 GΩ;25;18;56;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2026-04-15;all-earth;500;;> 2 GΩ;;20;18;56;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2026-04-15;all-earth;500;;8,4;;20;18;56;tester 2;1000;ok;;;2"),
    (
        X("winding_temp_c", "not a number"),
        "E-706 stator;2026-04-15;all-earth;500;;136;;warm;18;56;tester 1;2000;ok;;;2",
    ),
    (X("r_60s", "not a resistance"), "E-701 stator;2026-07-14;all-earth;500;;280?;;27;24;51;tester 1;2000;ok;;;2"),
    (X("tested_on", "no such month"), "E-702 stator;2026-13-14;all-earth;500;;215;;27;24;51;tester 1;2000;ok;;;2"),
    (A, "E-703 stator;2026-07-15;all-earth;2500;1,0 GΩ;1,5 GΩ;4,3 GΩ;30;24;51;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2026-07-15;all-earth;500;;>2000;;27;24;51;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2026-07-15;all-earth;500;;4,9;;28;24;51;tester 2;1000;ok;;;2"),
    (A, "E-706 stator;2026-07-15;all-earth;500;;131;;27;24;51;tester 1;2000;ok;;;2"),
    (A, "E-701 stator;2026-10-20;all-earth;500;;288;;19;16;63;tester 1;2000;ok;;;2"),
    (A, "E-702 stator;2026-10-20;all-earth;500;;220;;19,5;16;63;tester 1;2000;ok;;;2"),
    (
        X("winding", "longer than 120 characters"),
        "E-703 stator of the blower on the upper deck beside the aeration tank, behind the second door, the machine with the green cover plate;2026-10-21;all-earth;2500;1,1 GΩ;1,6 GΩ;4,8 GΩ;23;16;63;tester 3;100 GΩ;ok;;;1",
    ),
    (A, "E-703 stator;2026-10-21;all-earth;2500;1,1 GΩ;1,6 GΩ;4,8 GΩ;23;16;63;tester 3;100 GΩ;ok;;;1"),
    (A, "E-704 stator;2026-10-21;all-earth;500;;1,7 GΩ;;19;16;63;tester 1;2000;ok;;;2"),
    (A, "E-705 stator;2026-10-21;all-earth;500;;850k;;19;16;63;tester 2;1000;ok;;read three times;2"),
    (A, "E-706 stator;2026-10-21;all-earth;500;;<0,1;;19;16;63;tester 1;2000;ok;;tripped on start the day before;2"),
    (R, "E-704 stator;2026-10-21;all-earth;500;;1,7 GΩ;;19;16;63;tester 1;2000;ok;;;2"),
];

/// The whole file.
pub(crate) fn history() -> String {
    let mut text = format!("\u{feff}{HEADER}\n");
    for (_, row) in ROWS {
        text += row;
        text += "\n";
    }
    text
}
