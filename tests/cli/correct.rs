use super::world::World;

fn json(args: &[&str]) -> serde_json::Value {
    let outcome = World::new(&[]).run(&[&["correct"], args, &["--format", "json"]].concat());
    assert_eq!((outcome.status, outcome.words.as_str()), (0, ""), "{args:?}");
    serde_json::from_str(&outcome.out).unwrap()
}

#[test]
fn each_law_gives_its_factor() {
    // Hand-worked: halving 15 K over 30 K is a quarter; 10 K over 10 K (thermoplastic) is a half.
    for (args, kt) in [
        (&["200", "--at", "10", "--halving", "15"][..], 0.25),
        (&["200", "--at", "30", "--insulation", "thermoplastic"], 0.5),
        (&["200", "--at", "86F", "--insulation", "thermoplastic"], 0.5),
        (&["200", "--at", "40", "--activation-kelvin", "4230"], 1.0),
        (&["200", "--at", "-10", "--to", "-20", "--halving", "10"], 2.0),
    ] {
        let answer = json(args);
        let found = answer["kt"].as_f64().unwrap();
        assert!((found - kt).abs() < 1e-12, "{args:?}: {found}");
        assert!((answer["r_ref_mohm"].as_f64().unwrap() - 200.0 * kt).abs() < 1e-9);
        for key in ["r_mohm", "at_c", "to_c", "law", "source"] {
            assert!(!answer[key].is_null(), "{key}");
        }
    }
}

#[test]
fn one_law_is_named_and_its_range_is_told() {
    let world = World::new(&[]);
    for (args, start) in [
        (
            &["200", "--at", "700", "--halving", "10"][..],
            "error: invalid value '700' for '--at <TEMPERATURE>': \
             700 °C is outside what a temperature can be: −60 to 250 °C\n",
        ),
        (
            &["200", "--at", "23", "--halving", "-1"],
            "error: invalid value '-1' for '--halving <KELVINS>': \
             -1 K is outside what a halving interval can be: 4 to 100 K\n",
        ),
        (
            &["-3", "--at", "23", "--halving", "10"],
            "error: invalid value '-3' for '<RESISTANCE>': a resistance must be greater than 0 MΩ; \
             if the tester showed over-range, write `>` before the largest value it can show\n",
        ),
        (&["200", "--at", "23"], "error: the following required arguments were not provided:\n"),
        (
            &["200", "--at", "23", "--halving", "10", "--insulation", "unknown"],
            "error: the argument '--halving <KELVINS>' cannot be used with '--insulation <FAMILY>'\n",
        ),
    ] {
        let outcome = world.run(&[&["correct"], args].concat());
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""));
        assert!(outcome.words.starts_with(start), "{}", outcome.words);
    }
}

/// Beyond what a resistance can be, a bound takes the place of the number: 1e8 MΩ times 2^8, 1e-6 MΩ times 2^-8.
#[test]
fn what_is_beyond_the_range_of_a_resistance_is_a_bound() {
    for (args, bound, limit, text) in [
        (["1e8", "--at", "120", "--halving", "10"], "above", 1e8, "100 TΩ at 120 °C is > 100 TΩ at 40 °C\n"),
        ([">1e8", "--at", "120", "--halving", "10"], "above", 1e8, "> 100 TΩ at 120 °C is > 100 TΩ at 40 °C\n"),
        (["1e-6", "--at", "-40", "--halving", "10"], "below", 1e-6, "1 Ω at −40 °C is < 1 Ω at 40 °C\n"),
        (["<1e-6", "--at", "-40", "--halving", "10"], "below", 1e-6, "< 1 Ω at −40 °C is < 1 Ω at 40 °C\n"),
    ] {
        let answer = json(&args);
        assert_eq!((answer["bound"].as_str(), answer["r_ref_mohm"].as_f64()), (Some(bound), Some(limit)), "{args:?}");
        let printed = World::new(&[]).run(&[&["correct"], &args[..]].concat()).out;
        assert!(printed.starts_with(text), "{printed}");
    }
}
