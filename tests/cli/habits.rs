//! Habits of the command line: short options, colours, threads, variables, versions, messages for programs.

use crate::world::{Outcome, World, demo};

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-01-05,0.3,20\nP-2,2026-01-05,300,20\n";

/// A run with environment variables.
fn run(world: &World, args: &[&str], variables: &[(&str, &str)]) -> Outcome {
    let mut command = world.command(args);
    for usual in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE"] {
        command.env_remove(usual);
    }
    command.envs(variables.iter().copied());
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Outcome { status: output.status.code().unwrap_or(-1), out: text(output.stdout), words: text(output.stderr) }
}

#[test]
fn short_options_are_the_long_ones() {
    let world = World::new(&[]);
    let (history, register, policy) = (demo("history.csv"), demo("register.csv"), demo("policy.toml"));
    let day = ["--as-of", "2026-11-25"];
    let short = ["assess", &history, "-r", &register, "-p", &policy, "-f", "json", "-o", "short.json"];
    let long =
        ["assess", &history, "--register", &register, "--policy", &policy, "--format", "json", "--out", "long.json"];
    for args in [&short[..], &long] {
        assert_eq!(world.run(&[args, &day].concat()).status, 0);
    }
    assert_eq!(world.read("short.json"), world.read("long.json"));
    let explain = |option: &str| world.run(&[&["explain", &history, option, "A-212 stator"], &day[..]].concat());
    assert_eq!(explain("-w"), explain("--winding"));
}

#[test]
fn colours_follow_the_option_and_then_the_usual_variables() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let coloured = |more: &[&str], variables: &[(&str, &str)]| {
        run(&world, &[&["assess", "h.csv", "--as-of", "2026-11-25"], more].concat(), variables).out.contains('\u{1b}')
    };
    assert!(coloured(&["--color", "always"], &[]));
    assert!(coloured(&["--color=always"], &[("NO_COLOR", "1")]));
    assert!(coloured(&[], &[("CLICOLOR_FORCE", "1")]));
    assert!(coloured(&[], &[("GROUNDWALL_COLOR", "always")]));
    for (more, variables) in [
        (&[][..], &[][..]),
        (&["--color", "never"], &[("CLICOLOR_FORCE", "1")]),
        (&["--no-color"], &[("CLICOLOR_FORCE", "1")]),
        (&[], &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]),
        (&[], &[("CLICOLOR_FORCE", "0")]),
    ] {
        assert!(!coloured(more, variables), "{more:?} {variables:?}");
    }
}

#[test]
fn the_number_of_threads_changes_no_byte() {
    let world = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let args = ["assess", &history, "-r", &register, "--as-of", "2026-11-25", "-f", "json"];
    let one = world.run(&[&args[..], &["--threads", "1"]].concat());
    let three = run(&world, &args, &[("GROUNDWALL_THREADS", "3")]);
    assert_eq!((one.status, &one.out), (0, &three.out));
    assert_eq!(world.run(&["check", &history, "--threads", "0"]).status, 2);
}

#[test]
fn what_a_variable_sets_is_said_and_gives_way_to_the_option() {
    let world = World::new(&[("h.csv", HISTORY), ("r.csv", "winding,rated_volts\nP-1,400\nP-2,400\n")]);
    let args = ["check", "h.csv", "--as-of", "2026-11-25"];
    let by_variable = run(&world, &args, &[("GROUNDWALL_REGISTER", "r.csv")]);
    assert_eq!(by_variable.words, "--register is set by the environment variable GROUNDWALL_REGISTER\n");
    let by_option = run(&world, &[&args[..], &["-r", "r.csv"]].concat(), &[("GROUNDWALL_REGISTER", "missing.csv")]);
    assert_eq!((by_option.words.as_str(), &by_option.out), ("", &by_variable.out));
}

#[test]
fn messages_for_programs_are_one_object_a_line() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let run = world.run(&["assess", "h.csv", "--as-of", "2026-11-25", "--messages", "json"]);
    let lines: Vec<serde_json::Value> = run.words.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(lines.len() == 2 && lines.iter().all(|line| line["kind"] == "remark"), "{}", run.words);
    let lacks =
        lines.iter().find(|line| line["message"].as_str().unwrap().starts_with("there is no register")).unwrap();
    assert!(lacks["hint"].as_str().unwrap().starts_with("list them in a CSV file"), "{lacks}");
    let refused = world.run(&["assess", "missing.csv", "--messages", "json"]);
    assert_eq!(
        refused,
        Outcome::refused(
            2,
            "{\"hint\":\"check the spelling and the folder\",\"kind\":\"problem\",\
             \"message\":\"missing.csv: there is no such file\"}\n"
        )
    );
}

#[test]
fn verbose_says_how_each_file_was_read_and_changes_no_result() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let args = ["assess", "h.csv", "--as-of", "2026-11-25"];
    let (plain, verbose) = (world.run(&args), world.run(&[&args[..], &["-v"]].concat()));
    assert_eq!(plain.out, verbose.out);
    for line in [
        "h.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected; columns read: winding, tested_on, r_60s, winding_temp_c",
        "judged as of 2026-11-25 with 90 % confidence and no register",
    ] {
        assert!(verbose.words.lines().any(|said| said == line), "{}", verbose.words);
        assert!(!plain.words.contains(line));
    }
    assert_eq!(world.run(&["assess", "h.csv", "-q", "-v"]).status, 2);
}

#[test]
fn the_long_version_says_what_was_built() {
    let world = World::new(&[]);
    let short = world.run(&["-V"]);
    assert_eq!(short.out, format!("groundwall {}\n", env!("CARGO_PKG_VERSION")));
    let long = world.run(&["--version"]);
    let lines: Vec<&str> = long.out.lines().collect();
    assert_eq!(lines[0], short.out.trim_end());
    assert!(lines[1].starts_with("commit: "), "{}", long.out);
    assert_eq!(lines[2], format!("target: {}-{}", std::env::consts::ARCH, std::env::consts::OS));
    assert_eq!(lines[3..], ["features: none"]);
}

/// Every result for programs, and the manifest of a report, name the program that made them.
#[test]
fn results_for_programs_name_the_program() {
    let tests: String = (0..8).map(|year| format!("A,{}-01-05,{},20\n", 2019 + year, 500 - 10 * year)).collect();
    let world = World::new(&[("h.csv", &format!("winding,tested_on,r_60s,winding_temp_c\n{tests}"))]);
    let json = ["--format", "json", "--as-of", "2026-11-25"];
    let mut texts: Vec<String> = Vec::new();
    for command in [&["assess", "h.csv"][..], &["check", "h.csv"], &["round", "h.csv"], &["replay", "h.csv"]] {
        texts.push(world.run(&[command, &json].concat()).out);
    }
    texts.push(world.run(&[&["compare", "h.csv", "--since", "2026-02-01"][..], &json].concat()).out);
    for command in [
        &["spot", "--r60", "50", "--at", "20"][..],
        &["correct", "50", "--at", "20", "--insulation", "thermosetting"],
        &["ratios", "1min=100", "10min=300"],
    ] {
        texts.push(world.run(&[command, &json[..2]].concat()).out);
    }
    assert_eq!(world.run(&["report", "h.csv", "--out", "r", "--as-of", "2026-11-25"]).status, 0);
    texts.push(std::fs::read_to_string(world.path("r/manifest.json")).unwrap());
    for text in texts {
        let result: serde_json::Value = serde_json::from_str(&text).unwrap();
        let program = &result["program"];
        assert_eq!(program["version"], env!("CARGO_PKG_VERSION"), "{text}");
        assert_eq!(program["target"], format!("{}-{}", std::env::consts::ARCH, std::env::consts::OS));
        assert!(program["commit"].is_null() && program["features"] == serde_json::json!([]), "{program}");
    }
}
