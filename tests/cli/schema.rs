//! The result file follows its schema key for key: every key always there, unknown is null, all counts add up.

use crate::world::{World, demo};
use serde_json::Value;

/// What stands under each key. `?` behind a kind allows null.
const FILE: &[(&str, &str)] = &[
    ("program", "object"),
    ("schema", "text"),
    ("as_of", "day"),
    ("confidence", "number"),
    ("policy", "object"),
    ("input", "list"),
    ("summary", "object"),
    ("series", "list"),
];
const INPUT: &[(&str, &str)] = &[
    ("file", "text"),
    ("sha256", "text"),
    ("rows", "number"),
    ("accepted", "number"),
    ("repeated", "number"),
    ("rejected", "number"),
];
const SUMMARY: &[(&str, &str)] =
    &[("series", "number"), ("actions", "object"), ("overdue", "object"), ("motors", "object?")];
const OVERDUE: &[(&str, &str)] = &[("series", "number"), ("longest_days", "number?")];
const ACTIONS: [&str; 6] = ["hold", "plan", "recheck", "shorten", "keep", "gather"];
const SERIES: &[(&str, &str)] = &[
    ("motor", "text"),
    ("asks_for", "text"),
    ("winding", "text"),
    ("connection", "text"),
    ("scope", "text"),
    ("site", "text?"),
    ("area", "text?"),
    ("description", "text?"),
    ("criticality", "text?"),
    ("work_order", "text?"),
    ("maker", "text?"),
    ("group", "text?"),
    ("action", "text"),
    ("findings", "list"),
    ("latest", "object?"),
    ("void_tested_on", "text?"),
    ("ratios", "list"),
    ("minimum", "object?"),
    ("trend", "object?"),
    ("forecast", "object"),
    ("work_by", "text?"),
    ("next_test", "object"),
    ("overdue_days", "number?"),
];
const FINDING: &[(&str, &str)] = &[("code", "text"), ("message", "text"), ("evidence", "object"), ("source", "text")];
const LATEST: &[(&str, &str)] = &[
    ("tested_on", "day"),
    ("r60_mohm", "number?"),
    ("bound", "text"),
    ("winding_temp_c", "number?"),
    ("kt", "number?"),
    ("r60_ref_mohm", "number?"),
    ("pi", "number?"),
    ("dar", "number?"),
    ("other_phases", "text?"),
    ("serial", "text?"),
    ("calibration_due", "text?"),
    ("battery", "text?"),
    ("zero_check", "text?"),
    ("open_check", "text?"),
    ("source_check", "text?"),
    ("proved_dead", "text?"),
    ("discharged_min", "number?"),
    ("dielectric_discharge", "number?"),
    ("tested_by", "text?"),
    ("work_order", "text?"),
    ("equipment_state", "text?"),
    ("standing_h", "number?"),
];
const RATIOS: &[(&str, &str)] = &[("tested_on", "day"), ("pi", "number?"), ("dar", "number?")];
const MINIMUM: &[(&str, &str)] = &[("mohm", "number"), ("as_read_mohm", "number?"), ("rule", "text")];
const TREND: &[(&str, &str)] = &[
    ("method", "text"),
    ("since", "day"),
    ("since_reason", "text"),
    ("tests", "number"),
    ("exact", "number"),
    ("above", "number"),
    ("below", "number"),
    ("level_mohm", "number?"),
    ("slope_log10_per_year", "number?"),
    ("slope_low", "number?"),
    ("slope_high", "number?"),
    ("halving_years", "number?"),
    ("scatter_log10", "number?"),
    ("p_falling", "number?"),
];
const FORECAST: &[(&str, &str)] = &[
    ("reaches_minimum", "object?"),
    ("p_below_at_next_test", "number?"),
    ("p_below_in_horizon", "number?"),
    ("cannot_say", "text?"),
];
const CROSSING: &[(&str, &str)] = &[("earliest", "day"), ("median", "day?"), ("latest", "day?")];
const NEXT_TEST: &[(&str, &str)] = &[("by", "day"), ("why", "text")];

fn is_day(value: &Value) -> bool {
    value.as_str().is_some_and(|text| chrono::NaiveDate::parse_from_str(text, "%Y-%m-%d").is_ok() && text.len() == 10)
}

/// Everything in which a value differs from its schema.
fn faults(place: &str, value: &Value, schema: &[(&str, &str)]) -> Vec<String> {
    let Some(object) = value.as_object() else { return vec![format!("{place} is no object: {value}")] };
    let mut faults: Vec<String> = object
        .keys()
        .filter(|key| !schema.iter().any(|(name, _)| name == key))
        .map(|key| format!("{place}.{key} is not in the schema"))
        .collect();
    for (key, kind) in schema {
        let Some(found) = object.get(*key) else {
            faults.push(format!("{place}.{key} is missing"));
            continue;
        };
        let fits = match kind.trim_end_matches('?') {
            "text" => found.as_str().is_some_and(|text| !text.is_empty()),
            "day" => is_day(found),
            "number" => found.is_number(),
            "list" => found.is_array(),
            _ => found.is_object(),
        };
        let unknown = kind.ends_with('?') && found.is_null();
        if !fits && !unknown {
            faults.push(format!("{place}.{key} is {found}, not {kind}"));
        }
    }
    faults
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map(Vec::as_slice).unwrap_or_default()
}

fn whole(value: &Value) -> u64 {
    value.as_u64().unwrap_or_else(|| unreachable!("{value} is no count"))
}

/// The result of a history, and everything in which it differs from the schema.
fn result_of(args: &[&str]) -> (Value, Vec<String>) {
    let world = World::new(&[("empty-policy.toml", "")]);
    let run = world.run(&[&["assess", "--format", "json", "-q", "--as-of", "2026-11-25"], args].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    for word in ["NaN", "nan,", "inf,", "Infinity"] {
        assert!(!run.out.contains(&format!(": {word}")), "{word}");
    }
    let result: Value = serde_json::from_str(&run.out).unwrap();
    let mut found = faults("file", &result, FILE);
    for input in list(&result["input"]) {
        found.extend(faults("input", input, INPUT));
    }
    found.extend(faults("summary", &result["summary"], SUMMARY));
    found.extend(faults("overdue", &result["summary"]["overdue"], OVERDUE));
    let counts: Vec<(&str, &str)> = ACTIONS.iter().map(|action| (*action, "number")).collect();
    found.extend(faults("actions", &result["summary"]["actions"], &counts));
    for one in list(&result["series"]) {
        let name = one["winding"].as_str().unwrap_or("?");
        found.extend(faults(name, one, SERIES));
        for finding in list(&one["findings"]) {
            found.extend(faults(name, finding, FINDING));
        }
        for ratios in list(&one["ratios"]) {
            found.extend(faults(name, ratios, RATIOS));
        }
        for (key, schema) in [
            ("latest", LATEST),
            ("minimum", MINIMUM),
            ("trend", TREND),
            ("forecast", FORECAST),
            ("next_test", NEXT_TEST),
        ] {
            if !one[key].is_null() {
                found.extend(faults(name, &one[key], schema));
            }
        }
        if !one["forecast"]["reaches_minimum"].is_null() {
            found.extend(faults(name, &one["forecast"]["reaches_minimum"], CROSSING));
        }
    }
    (result, found)
}

fn demo_result() -> Value {
    let (result, found) = result_of(&[&demo("history.csv"), "--register", &demo("register.csv")]);
    assert_eq!(found, Vec::<String>::new());
    result
}

#[test]
fn the_result_of_the_demo_has_every_key_and_no_other() {
    assert_eq!(demo_result()["schema"], "groundwall/assessment/1");
    let (result, found) = result_of(&[&demo("history-dirty.csv"), "--register", &demo("register-dirty.csv")]);
    assert_eq!(found, Vec::<String>::new());
    assert!(list(&result["series"]).len() > 1);
}

#[test]
fn the_keys_are_there_when_next_to_nothing_is_known() {
    let world = World::new(&[(
        "poor.csv",
        "winding,tested_on,r_60s,lead_check\nA,2026-01-05,OL,\nB,2026-01-05,0,\nC,2027-01-05,5,\nD,2026-01-05,5,failed\n",
    )]);
    let file = world.path("poor.csv").to_string_lossy().into_owned();
    let (result, found) = result_of(&[&file]);
    assert_eq!(found, Vec::<String>::new());
    let names: Vec<&str> = list(&result["series"]).iter().filter_map(|one| one["winding"].as_str()).collect();
    // What was tested first after the as-of date is not known on it.
    assert_eq!(names.len(), 3, "{names:?}");
}

#[test]
fn every_count_adds_up() {
    let (result, _) = result_of(&[&demo("history.csv"), &demo("history-dirty.csv")]);
    for input in list(&result["input"]) {
        let [rows, accepted, repeated, rejected] =
            ["rows", "accepted", "repeated", "rejected"].map(|key| whole(&input[key]));
        assert_eq!(accepted + repeated + rejected, rows, "{input}");
    }
    let series = list(&result["series"]);
    assert_eq!(whole(&result["summary"]["series"]), series.len() as u64);
    for action in ACTIONS {
        let count = series.iter().filter(|one| one["action"] == action).count() as u64;
        assert_eq!(whole(&result["summary"]["actions"][action]), count, "{action}");
    }
    assert_eq!(
        ACTIONS.map(|action| whole(&result["summary"]["actions"][action])).iter().sum::<u64>(),
        series.len() as u64
    );
}

#[test]
fn figures_agree_with_each_other() {
    for one in list(&demo_result()["series"]) {
        let (name, trend, forecast) = (&one["winding"], &one["trend"], &one["forecast"]);
        let tests = [&trend["exact"], &trend["above"], &trend["below"]].map(whole).iter().sum::<u64>();
        assert_eq!(tests, whole(&trend["tests"]), "{name}");
        let at = |value: &Value| value.as_f64().unwrap_or_else(|| unreachable!("{name}: {value} is no number"));
        // A number that could not be written would stand as null.
        if whole(&trend["exact"]) >= 3 {
            assert!(at(&trend["level_mohm"]) > 0.0 && at(&trend["scatter_log10"]) > 0.0, "{name}");
            let [low, slope, high] = ["slope_low", "slope_log10_per_year", "slope_high"].map(|key| at(&trend[key]));
            assert!(low <= slope && slope <= high, "{name}: {low} {slope} {high}");
        }
        for p in [&trend["p_falling"], &forecast["p_below_at_next_test"], &forecast["p_below_in_horizon"]] {
            assert!(p.is_null() || (0.0..=1.0).contains(&at(p)), "{name}: {p}");
        }
        assert_ne!(forecast["reaches_minimum"].is_null(), forecast["cannot_say"].is_null(), "{name}");
        let days = ["earliest", "median", "latest"].map(|key| forecast["reaches_minimum"][key].as_str());
        assert!(days.iter().flatten().is_sorted(), "{name}: {days:?}");
        if let (Some(kt), Some(read), Some(corrected)) =
            (one["latest"]["kt"].as_f64(), one["latest"]["r60_mohm"].as_f64(), one["latest"]["r60_ref_mohm"].as_f64())
        {
            assert!((read * kt / corrected - 1.0).abs() < 1e-9, "{name}");
        }
    }
}

#[test]
fn the_flat_form_has_the_same_names() {
    let world = World::new(&[]);
    let run = world.run(&["assess", &demo("history.csv"), "--format", "csv", "-q", "--as-of", "2026-11-25"]);
    let found: Vec<&str> = run.out.lines().next().unwrap_or_default().split(',').collect();
    let under = |prefix: &str, schema: &[(&str, &str)]| -> Vec<String> {
        schema.iter().map(|(key, _)| format!("{prefix}_{key}")).collect()
    };
    let mut names: Vec<String> = SERIES
        .iter()
        .filter(|(key, kind)| !kind.starts_with("object") && *key != "ratios")
        .map(|(key, _)| (*key).to_owned())
        .chain(under("latest", LATEST))
        .chain(under("minimum", MINIMUM))
        .chain(under("trend", TREND))
        .chain(under("forecast", FORECAST).into_iter().filter(|name| name != "forecast_reaches_minimum"))
        .chain(under("forecast_reaches_minimum", CROSSING))
        .chain(under("next_test", NEXT_TEST))
        .collect();
    let mut sorted = found.clone();
    sorted.sort_unstable();
    names.sort_unstable();
    assert_eq!(sorted, names);
}
