//! The pack as one file to print.

use crate::world::{World, demo};
use std::fmt::Write as _;

/// How often some bytes occur.
fn count(bytes: &[u8], what: &[u8]) -> usize {
    bytes.windows(what.len()).filter(|part| *part == what).count()
}

/// Pages of a pack. ISO 32000-1, 7.7.3.3: every page object says what it is and has a media box.
fn pages(pack: &[u8]) -> usize {
    count(pack, b"/MediaBox")
}

#[test]
fn the_pack_has_a_bookmark_and_two_pages_for_each_order() {
    let world = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let make = |pages: &str, out: &str| {
        let file = format!("{out}.pdf");
        let args = ["report", &history, "--register", &register, "--as-of", "2026-11-25", "--out", out];
        let run = world.run(&[&args[..], &["--pages", pages, "--pdf", &file]].concat());
        assert_eq!(run.status, 0, "{}", run.words);
        assert!(run.words.contains(&format!("{file}: this is the pack in one file")), "{}", run.words);
        std::fs::read(world.path(&file)).unwrap()
    };
    let urgent = make("urgent", "one");
    let listed = pages(&urgent) - 2 * 12;
    assert!((1..=3).contains(&listed), "{listed} pages of the list");
    assert_eq!(count(&urgent, b"/Dest"), 12 + 1, "the list and every order have a bookmark");
    assert!(urgent == make("urgent", "two"), "the same input gives the same bytes");
    let all = make("all", "three");
    assert_eq!((count(&all, b"/Dest"), pages(&all)), (50 + 1, 2 * 50 + listed));
}

/// Whatever is found, however long the notes and however full the records: two pages, never three.
#[test]
fn an_order_with_long_notes_and_full_records_is_two_pages() {
    let note = "rain overnight, hall doors open, the cleaning crew had hosed down the floor and the heaters were found \
                switched off since Friday; leads looked at twice";
    let mut history = "winding,tested_on,connection,r_30s,r_60s,r_600s,winding_temp_c,air_temp_c,rh_percent,test_volts,instrument,serial,\
                       calibration_due,battery,zero_check,open_check,tested_by,work_order,note\n"
        .to_owned();
    for quarter in 0..40 {
        let (year, month) = (2016 + quarter / 4, 1 + 3 * (quarter % 4));
        for (phase, megohms) in [("U-earth", 3000), ("V-earth", 2900), ("W-earth", 2800 - 65 * quarter)] {
            let megohms = if quarter == 39 { megohms / 4 } else { megohms };
            let (early, late) = (megohms * 9 / 10, megohms * 12 / 10);
            let _ = writeln!(
                history,
                "Pump 7 of the northern high lift station,{year}-{month:02}-05,{phase},{early},{megohms},{late},24,24.5,97,5000,T-1,\
                 SN-4711,2020-01-01,low,ok,ok,Team 2,WO-{quarter},\"{note}\""
            );
        }
    }
    let register = "winding,area,description,rated_volts,rated_kw,construction,insulation,year_made,criticality\n\
                    Pump 7 of the northern high lift station,High lift hall,drives the pump with the long description,6600,900,form-wound,\
                    thermosetting,1999,A\n";
    let world = World::new(&[("h.csv", history.as_str()), ("r.csv", register)]);
    let args = ["report", "h.csv", "--register", "r.csv", "--as-of", "2025-11-25", "--pages", "all", "--pdf", "p.pdf"];
    let run = world.run(&args);
    assert_eq!(run.status, 0, "{}", run.words);
    let pack = std::fs::read(world.path("p.pdf")).unwrap();
    assert_eq!((count(&pack, b"/Dest"), pages(&pack)), (3 + 1, 1 + 3 * 2));
}
