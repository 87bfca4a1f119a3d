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

/// What the policy assumes where the register is silent, said in every form of the answer; the register goes before it.
#[test]
fn what_the_policy_assumes_of_silent_windings_is_said_everywhere() {
    let world = World::new(&[
        ("h.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-07-10,60,40\nP-2,2026-07-10,60,40\n"),
        ("r.csv", "winding,rated_volts,construction,insulation\nP-1,,,\nP-2,400,random-wound,thermoplastic\n"),
        ("p.toml", "[assumed]\nrated_volts = 6600\nconstruction = \"form-wound\"\ninsulation = \"thermosetting\"\n"),
    ]);
    let args = ["h.csv", "-r", "r.csv", "-p", "p.toml", "--as-of", "2026-07-20", "-q"];
    let run = |command: &[&str]| world.run(&[&command[..1], &args, &command[1..]].concat()).out;
    let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let list = one_line(&run(&["assess"]));
    for sentence in [
        "hold P-1 60 MΩ 100 MΩ assumed by policy",
        "The rated voltage is not known, so the winding is judged against 100 MΩ, assumed by policy; enter it into the register before relying on this.",
        "1 minimum is assumed by policy, on the strict side: enter the winding's rating and construction into the register.",
    ] {
        assert!(list.contains(sentence), "{list}");
    }
    let explained = one_line(&run(&["explain", "-w", "P-1"]));
    for sentence in [
        "construction not known, form-wound assumed by policy",
        "insulation thermosetting, assumed by policy",
        "rated voltage not known, 6600 V assumed by policy",
        "100 MΩ after one minute at 40 °C: assumed by policy (6600 V, form-wound): form-wound stator made since 1970, year not known and taken as modern, IEEE Std 43 cl. 12.3.",
        "The insulation family is not in the register and is thermosetting, assumed by policy.",
    ] {
        assert!(explained.contains(sentence), "{explained}");
    }
    let result: serde_json::Value = serde_json::from_str(&run(&["assess", "--format", "json"])).unwrap();
    assert_eq!(result["policy"]["assumed"]["rated_volts"], 6600.0);
    let minimum = |winding: &str| {
        let series = result["series"].as_array().unwrap();
        series.iter().find(|series| series["winding"] == winding).unwrap()["minimum"].clone()
    };
    assert_eq!(
        minimum("P-1")["rule"],
        "assumed by policy (6600 V, form-wound): form-wound stator made since 1970, year not known and taken as modern, IEEE Std 43 cl. 12.3"
    );
    assert_eq!(
        (&minimum("P-2")["mohm"], &minimum("P-2")["rule"]),
        (&5.0.into(), &"random-wound stator, IEEE Std 43 cl. 12.3".into())
    );
}

/// A low assumed voltage does not pass what a winding of 1 kV and above would fail: it may be the one that nobody entered.
#[test]
fn a_low_assumed_voltage_makes_no_answer_milder() {
    let world = World::new(&[
        ("h.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-07-10,60,40\nP-2,2026-07-10,3,40\n"),
        ("p.toml", "[assumed]\nrated_volts = 400\nconstruction = \"random-wound\"\n"),
    ]);
    let actions = |more: &[&str]| {
        let args = ["assess", "h.csv", "--as-of", "2026-07-20", "-q", "--format", "json"];
        let result: serde_json::Value = serde_json::from_str(&world.run(&[&args[..], more].concat()).out).unwrap();
        let series = result["series"].as_array().unwrap().clone();
        series.into_iter().map(|one| (one["winding"].clone(), one["action"].clone())).collect::<Vec<_>>()
    };
    let without = actions(&[]);
    assert_eq!(without, [("P-2".into(), "hold".into()), ("P-1".into(), "recheck".into())]);
    assert_eq!(actions(&["-p", "p.toml"]), without);
}

#[test]
fn what_the_policy_may_assume_is_checked() {
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"),
        ("p.toml", "[assumed]\nrated_volts = \"6.6 kV\"\nconstruction = \"cable\"\n"),
    ]);
    assert_eq!(
        world.run(&["assess", "a.csv", "-p", "p.toml"]),
        Outcome::refused(
            2,
            "p.toml:2: assumed.rated_volts is \"6.6 kV\"; it must be a number from 1 to 100000, or \"none\"\n\
             hint: the default is \"none\" (Rated voltage of the site's windings, V, where the register is silent. It can raise a minimum, never lower one)\n\
             p.toml:3: assumed.construction is \"cable\"; it must be one of \"none\", \"form-wound\", \"random-wound\", \"dc-armature\", \"field\", \"bare-field\", \"wound-rotor\", \"water-cooled\", \"water-cooled-drained\"\n\
             hint: the default is \"none\" (Construction of the site's windings where the register is silent. It can raise a minimum, never lower one)\n"
        )
    );
}

/// A name of a million parts is a million tables, one in the other: 2 MB took 352 MiB.
#[test]
fn a_name_of_many_parts_is_refused_before_it_is_read() {
    let deep = format!("\na{}=1\n", ".a".repeat(1_000_000));
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"), ("p.toml", &deep)]);
    let words = "p.toml:2: a name of more than 8 parts with points between them\nhint: put a name that holds points between quotes\n";
    assert_eq!(world.run(&["check", "a.csv", "--policy", "p.toml"]), Outcome::refused(2, words));
    std::fs::rename(world.path("p.toml"), world.path("groundwall.toml")).unwrap();
    assert_eq!(world.run(&["check", "a.csv"]), Outcome::refused(2, &words.replace("p.toml", "groundwall.toml")));
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"),
        ("p.toml", "[columns]\n\"R......... (60 s)\" = \"-\" # a.b.c.d.e.f.g.h.i.j\n'a\\.b.c.d.e.f.g.h.i.j' = \"-\"\n"),
    ]);
    assert_eq!(world.run(&["check", "a.csv", "--policy", "p.toml"]).status, 0);
}
