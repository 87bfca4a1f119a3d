use super::world::{World, demo};

fn assess(more: &[&str]) -> super::world::Outcome {
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let args = ["assess", &history, "--register", &register, "--as-of", "2026-11-25", "-q"];
    World::new(&[]).run(&[&args[..], more].concat())
}

#[test]
fn fail_on_tells_the_action_or_a_more_urgent_one() {
    for (action, status) in [("hold", 4), ("plan", 4), ("keep", 4)] {
        assert_eq!(assess(&["--fail-on", action]).status, status, "{action}");
    }
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-11-01,500,40\n")]);
    let one = ["assess", "a.csv", "--as-of", "2026-11-25", "-q", "--fail-on"];
    assert_eq!(world.run(&[&one[..], &["shorten"]].concat()).status, 0);
    let outcome = assess(&["--fail-on", "panic"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.words.starts_with(
        "error: invalid value 'panic' for '--fail-on <ACTION>': \
         an action is one of hold, plan, recheck, shorten, keep, gather\n"
    ));
}

#[test]
fn a_winding_that_is_not_in_the_register_is_kept_and_said_once() {
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s\nX-9,2026-01-05,500\nX-9,2026-02-05,500\n"),
        ("r.csv", "winding\nP-1\n"),
    ]);
    let outcome = world.run(&["assess", "a.csv", "--register", "r.csv", "--as-of", "2026-11-25"]);
    assert_eq!(outcome.status, 0);
    assert!(outcome.out.contains("X-9"));
    let sentence = "r.csv: winding X-9 is not in the register; it is judged with what is known\n";
    assert_eq!(outcome.words.matches(sentence).count(), 1, "{}", outcome.words);
}

#[test]
fn rejected_rows_are_counted_beside_the_result_and_change_the_status_of_the_strict() {
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,500\nP-1,2026-02-05,wet\n")]);
    let args = ["assess", "a.csv", "--as-of", "2026-11-25"];
    let outcome = world.run(&args);
    assert_eq!(outcome.status, 0);
    assert!(outcome.words.contains("a.csv: 2 rows: 1 accepted, 0 repeated, 1 rejected\n"), "{}", outcome.words);
    assert_eq!(world.run(&[&args[..], &["--strict"]].concat()).status, 3);
}

#[test]
fn a_result_file_is_the_result() {
    let world = World::new(&[]);
    let history = demo("history.csv");
    let args = ["assess", &history, "--as-of", "2026-11-25", "-q", "--format", "csv"];
    let printed = world.run(&args).out;
    assert_eq!(world.run(&[&args[..], &["--out", "out.csv"]].concat()).out, "");
    assert_eq!(world.read("out.csv"), printed);
    assert_eq!(world.names(), ["out.csv"]);
}
