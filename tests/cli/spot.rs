use super::world::World;

fn json(args: &[&str]) -> serde_json::Value {
    let outcome = World::new(&[]).run(&[&["spot", "-q", "--format", "json"], args].concat());
    assert_eq!((outcome.status, outcome.words.as_str()), (0, ""), "{args:?}");
    serde_json::from_str(&outcome.out).unwrap()
}

#[test]
fn a_good_reading_of_a_small_motor() {
    let answer = json(&[
        "--r60",
        "200",
        "--at",
        "40",
        "--rated-volts",
        "480",
        "--construction",
        "random-wound",
        "--insulation",
        "thermosetting",
    ]);
    assert_eq!(answer["minimum"]["mohm"].as_f64(), Some(5.0));
    assert!((answer["margin"].as_f64().unwrap() - 40.0).abs() < 1e-9);
    assert_eq!(answer["action"], "keep");
}

/// One reading gives no trend. Far above the minimum, by the policy's `doubt_margin` of ten times, it is acceptable and asks for nothing;
/// nearer to it, it is to be compared with earlier ones. "Less than" is never far above anything.
#[test]
fn one_reading_far_above_the_minimum_is_acceptable() {
    let first = |r60: &str| {
        let args = ["spot", "-q", "--r60", r60, "--at", "40", "--rated-volts", "480", "--construction", "random-wound"];
        let outcome = World::new(&[]).run(&[&args[..], &["--insulation", "thermosetting"]].concat());
        outcome.out.lines().next().unwrap_or_default().to_owned()
    };
    assert_eq!(first("430"), "keep: acceptable, 86 times the minimum; whether it falls, one reading cannot say");
    assert_eq!(
        first("20"),
        "gather: acceptable, but only 4 times the minimum; compare it with earlier tests; one reading cannot \
         show a trend"
    );
    assert_eq!(first(">2000"), "keep: acceptable, 400 times the minimum; whether it falls, one reading cannot say");
    assert!(!first("<1000").starts_with("keep") && !first("<1000").contains("acceptable,"), "{}", first("<1000"));
}

#[test]
fn zero_is_hold_and_the_end_of_the_scale_is_a_bound() {
    // Common practice: with 100 MΩ as the site's own limit.
    let zero = json(&["--r60", "0", "--at", "25", "--minimum", "100"]);
    assert_eq!((&zero["action"], &zero["bound"]), (&"hold".into(), &"below".into()));
    let over = json(&["--r60", ">1000", "--at", "25", "--minimum", "100", "--insulation", "thermosetting"]);
    assert_eq!((&over["action"], &over["bound"]), (&"keep".into(), &"above".into()));
}

#[test]
fn ranges_are_told() {
    for (option, value, rule) in [
        ("--rh", "140", "140 % is outside what a relative humidity can be: 0 to 100 %"),
        ("--rated-volts", "0", "0 V is outside what a voltage can be: 1 to 100000 V"),
        ("--construction", "wire", "water-cooled-drained, cable, circuit"),
        ("--insulation", "epoxy", "an insulation is one of thermosetting, thermoplastic, unknown"),
        ("--year", "88", "a year of make is a whole number from 1880 to 2199"),
        ("--minimum", "OL", "this must be a plain resistance greater than 0, such as 2000 or 2 GΩ"),
    ] {
        let outcome = World::new(&[]).run(&["spot", "--r60", "200", option, value]);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""));
        let first = outcome.words.lines().next().unwrap();
        assert!(first.starts_with(&format!("error: invalid value '{value}' for '{option} <")), "{first}");
        assert!(first.ends_with(rule), "{first}");
    }
}

#[test]
fn a_test_that_is_void_keeps_its_temperature() {
    let outcome = World::new(&[]).run(&["spot", "-q", "--r60", "200", "--at", "20", "--zero-check", "failed"]);
    assert!(outcome.out.contains("\nreading   200 MΩ at 20 °C\n"), "{}", outcome.out);
}
