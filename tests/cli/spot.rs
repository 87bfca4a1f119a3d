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
    assert_eq!(answer["action"], "gather");
}

#[test]
fn zero_is_hold_and_the_end_of_the_scale_is_a_bound() {
    // Common practice: with 100 MΩ as the site's own limit.
    let zero = json(&["--r60", "0", "--at", "25", "--minimum", "100"]);
    assert_eq!((&zero["action"], &zero["bound"]), (&"hold".into(), &"below".into()));
    let over = json(&["--r60", ">1000", "--at", "25", "--minimum", "100", "--insulation", "thermosetting"]);
    assert_eq!((&over["action"], &over["bound"]), (&"gather".into(), &"above".into()));
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
