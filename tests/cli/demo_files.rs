//! `demo`: the plant that the program carries is the one of this project, and what it says to do next works.

use crate::world::{Outcome, World, demo};

const FILES: [&str; 6] = ["README.md", "history.csv", "jobs-register.csv", "jobs.csv", "policy.toml", "register.csv"];

#[test]
fn what_it_writes_is_what_the_project_shows() {
    let world = World::new(&[]);
    let run = world.run(&["demo", "plant/of mine"]);
    assert_eq!(
        run,
        Outcome {
            status: 0,
            out: String::new(),
            words: "plant/of mine: an invented plant, in README.md, history.csv, register.csv, policy.toml, \
                    jobs.csv, jobs-register.csv; no machine and no reading of it ever was\n\
                    next: groundwall assess \"plant/of mine/history.csv\" --register \"plant/of mine/register.csv\" \
                    --policy \"plant/of mine/policy.toml\" --as-of 2026-11-25\n"
                .to_owned(),
        }
    );
    for name in ["history.csv", "register.csv", "policy.toml", "jobs.csv", "jobs-register.csv"] {
        let ours = std::fs::read_to_string(demo(name)).unwrap();
        assert!(
            world.read(&format!("plant/of mine/{name}")) == ours,
            "crates/cli/demo/{name} is not data-demo/{name}; `cargo run --release -p groundwall --example make-demo` \
             copies it"
        );
    }
}

#[test]
fn what_its_page_says_to_type_runs() {
    let world = World::new(&[]);
    assert_eq!(world.run(&["demo", ".", "-q"]), Outcome::printed(0, ""));
    assert_eq!(world.names(), FILES);
    let page = world.read("README.md");
    let mut ran = 0;
    for line in page.lines().filter(|line| line.starts_with("groundwall ")) {
        let args: Vec<&str> = line
            .split('"')
            .enumerate()
            .flat_map(|(i, part)| if i % 2 == 0 { part.split_whitespace().collect() } else { vec![part] })
            .collect();
        let run = world.run(&args[1..]);
        assert_eq!(run.status, 0, "{line}\n{}", run.words);
        ran += 1;
    }
    assert_eq!(ran, 6);
    assert!(world.names().contains(&"a-212.png".to_owned()));
    let counts = world.run(&["check", "history.csv", "--register", "register.csv"]);
    assert!(
        page.contains("1239 insulation tests of 45 windings") && counts.out.contains("1239 accepted"),
        "{}",
        counts.out
    );
}

#[test]
fn nothing_is_written_over() {
    let world = World::new(&[("register.csv", "mine")]);
    assert_eq!(
        world.run(&["demo", "."]),
        Outcome::refused(
            2,
            "./register.csv: this file is there already; nothing was written\n\
             hint: name another folder; it is made if there is none\n"
        )
    );
    assert_eq!(world.names(), ["register.csv"]);
    assert_eq!(
        world.run(&["demo", "register.csv"]),
        Outcome::refused(
            2,
            "register.csv: cannot be written: a part of the path is a file, not a folder\nhint: give another path\n"
        )
    );
}
