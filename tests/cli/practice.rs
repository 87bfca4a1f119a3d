//! What every practitioner knows: common practice, with no document behind it.

use crate::world::World;
use serde_json::Value;

const AS_OF: [&str; 2] = ["--as-of", "2026-11-25"];

/// The result file of a history judged against the site's own limit of 100 MΩ.
fn judged(rows: &str) -> Value {
    let header = "winding,tested_on,connection,r_60s,full_scale,winding_temp_c,test_volts,output_volts,lead_check\n";
    let world = World::new(&[
        ("h.csv", &format!("{header}{rows}")),
        (
            "register.csv",
            "winding,rated_volts,construction,insulation,minimum_mohm\nM-1,480,random-wound,thermosetting,100\n",
        ),
    ]);
    let args = ["assess", "h.csv", "--register", "register.csv", "--format", "json", "-q"];
    let run = world.run(&[&args[..], &AS_OF[..]].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    serde_json::from_str(&run.out).unwrap()
}

fn codes(series: &Value) -> Vec<&str> {
    series["findings"].as_array().unwrap().iter().map(|finding| finding["code"].as_str().unwrap()).collect()
}

/// Common practice: twice the site's limit on each phase and on the neutral is acceptable.
#[test]
fn two_hundred_megohms_on_each_phase_and_the_neutral_pass_a_limit_of_a_hundred() {
    let rows: String = ["U-earth", "V-earth", "W-earth", "N-earth"]
        .iter()
        .map(|connection| format!("M-1,2026-11-01,{connection},200,,40,500,,ok\n"))
        .collect();
    let result = judged(&rows);
    let series = result["series"].as_array().unwrap();
    assert_eq!(series.len(), 4);
    for one in series {
        assert_eq!(one["action"], "gather", "{one}");
        assert_eq!(one["minimum"]["mohm"], 100.0);
        assert!(!codes(one).contains(&"below-minimum") && !codes(one).contains(&"phase-spread"));
    }
}

/// Common practice: the end of a 1000 MΩ scale is "more than", not 1000.
#[test]
fn the_end_of_the_scale_is_acceptable_and_a_bound() {
    for cell in [">1000", "OL"] {
        let result = judged(&format!("M-1,2026-11-01,all-earth,{cell},1000,40,500,,ok\n"));
        let series = &result["series"][0];
        assert_eq!(series["action"], "gather", "{series}");
        assert_eq!(series["latest"]["bound"], "above");
        assert_eq!(series["latest"]["r60_mohm"], 1000.0);
        assert_eq!(series["trend"]["exact"], 0);
        assert_eq!(series["trend"]["above"], 1);
        assert_eq!(series["trend"]["level_mohm"], Value::Null);
    }
}

/// Common practice: a winding that reads nothing is earthed.
#[test]
fn zero_is_held() {
    let result = judged("M-1,2026-11-01,all-earth,0,1000,40,500,,ok\n");
    assert_eq!(result["series"][0]["action"], "hold");
    assert_eq!(result["series"][0]["latest"]["bound"], "below");
}

/// IEC 61557-2 cl. 4.2 (from memory): the output may be up to 1.25 times the nominal voltage, 625 V of 500 V.
#[test]
fn a_tester_set_to_500_volts_may_put_out_534() {
    let of_voltage = ["tester-output", "voltage-outside-guide", "voltage-changed"];
    let said = |test_volts: &str, output_volts: &str| {
        let result = judged(&format!(
            "M-1,2026-08-01,all-earth,210,1000,40,500,,ok\n\
             M-1,2026-11-01,all-earth,200,1000,40,{test_volts},{output_volts},ok\n"
        ));
        let codes = codes(&result["series"][0]);
        of_voltage.into_iter().filter(|code| codes.contains(code)).collect::<Vec<_>>()
    };
    assert!(said("500", "534").is_empty());
    assert!(said("534", "").is_empty());
    assert_eq!(said("500", "640"), ["tester-output"]);
    assert_eq!(said("640", ""), ["voltage-outside-guide", "voltage-changed"]);
}

/// Common practice: shorted leads read zero and open ones over range, or the test does not count.
#[test]
fn a_test_with_unproved_leads_does_not_count() {
    let result =
        judged("M-1,2026-08-01,all-earth,300,1000,40,500,,ok\nM-1,2026-11-01,all-earth,900,1000,40,500,,failed\n");
    let series = &result["series"][0];
    assert_eq!(series["action"], "recheck");
    assert_eq!(series["latest"]["tested_on"], "2026-08-01");
    assert!(codes(series).contains(&"lead-check-failed"));
}
