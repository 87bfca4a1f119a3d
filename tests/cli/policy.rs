use super::world::{Outcome, World, demo};

#[test]
fn the_template_is_written_and_read_back() {
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n")]);
    assert_eq!(world.run(&["policy", "--out", "policy.toml"]), Outcome::printed(0, ""));
    assert_eq!(world.names(), ["a.csv", "policy.toml"]);
    assert_eq!(world.run(&["policy"]).out, world.read("policy.toml"));
    assert!(world.read("policy.toml").contains(
        "# Planning horizon, days: usually the time to the next outage.\n\
         # Allowed: a whole number from 1 to 3650. Source: common practice: one year.\n\
         horizon_days = 365\n"
    ));
    let history = demo("history.csv");
    let args = ["assess", "--format", "csv", "--as-of", "2026-11-25", "-q", &history];
    let plain = world.run(&args);
    let with_template = world.run(&[&args[..], &["--policy", "policy.toml"]].concat());
    assert_eq!((plain.status, &plain.out), (0, &with_template.out));
}

#[test]
fn a_policy_that_is_wrong_is_refused_with_key_line_and_range() {
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"),
        ("p.toml", "[decision]\nhorizon_days = 0\nhorizn_days = 3\n"),
    ]);
    let words = "p.toml:2: decision.horizon_days is 0; it must be a whole number from 1 to 3650\n\
                 hint: the default is 365 (Planning horizon, days: usually the time to the next outage)\n\
                 p.toml:3: decision.horizn_days is not a key of the policy\n\
                 hint: the closest key is horizon_days\n";
    for command in [&["check", "a.csv"][..], &["assess", "a.csv"], &["spot", "--r60", "200"]] {
        assert_eq!(world.run(&[command, &["--policy", "p.toml"]].concat()), Outcome::refused(2, words));
    }
}

#[test]
fn a_policy_that_is_not_there_is_said_so() {
    let world = World::new(&[("policy.toml", "")]);
    assert_eq!(
        world.run(&["spot", "--r60", "200", "--policy", "polcy.toml"]),
        Outcome::refused(
            2,
            "polcy.toml: there is no such file\nhint: the most similar name in that folder is policy.toml\n"
        )
    );
}
