//! `explain`: every step is there, in the order a foreman would ask.

use crate::in_process;
use crate::world::{Outcome, World, demo};
use groundwall::assess::InTurn;
use groundwall_engine::fleet::Wanted;
use groundwall_engine::output::account;
use groundwall_engine::output::table::Shape;

#[test]
fn the_account_follows_a_judgement_from_cell_to_action() {
    let world = World::new(&[]);
    let run = world.run(&[
        "explain",
        &demo("history.csv"),
        "--register",
        &demo("register.csv"),
        "--as-of",
        "2026-11-25",
        "--winding",
        "F-402 stator",
        "-q",
    ]);
    assert_eq!(run.status, 0, "{}", run.words);
    let mut rest = run.out.as_str();
    for step in [
        "F-402 stator, as of 2026-11-25",
        "What is known of the winding",
        "The least it may read",
        "5 MΩ after one minute at 40 °C: random-wound stator, IEEE Std 43 cl. 12.3.",
        "How readings are brought to one temperature",
        "halves every 17 K",
        "The latest test that counts",
        "The stretch that the trend is fitted to",
        "Group prior",
        "Which models explain the readings",
        "What the trend says",
        "What was noticed",
        "law-learnt",
        "What to do",
        "So the action is keep: carry on with the usual interval.",
    ] {
        let at = rest.find(step).unwrap_or_else(|| unreachable!("{step} is missing, or out of order, in\n{}", run.out));
        rest = &rest[at..];
    }
    assert!(run.out.lines().all(|line| line.chars().count() <= 100), "{}", run.out);
}

#[test]
fn a_winding_that_is_not_there_leads_to_those_that_are() {
    let world = World::new(&[("h.csv", "winding,tested_on,r_60s\nP-101,2026-01-05,100\nP-102,2026-01-05,100\n")]);
    let run = world.run(&["explain", "h.csv", "--winding", "P-10", "--as-of", "2026-11-25"]);
    assert_eq!(run, Outcome::refused(2, "h.csv: no series of winding P-10 fits\nhint: the nearest are P-101, P-102\n"));
    // Names that begin so go first, whatever their marks and blanks.
    let text = "winding,tested_on,r_60s\nX31,2026-01-05,100\nK-431 (feed pump),2026-01-05,100\nA-1,2026-01-05,100\n";
    let world = World::new(&[("h.csv", text)]);
    let run = world.run(&["explain", "h.csv", "--winding", "k431", "--as-of", "2026-11-25"]);
    assert_eq!(
        run,
        Outcome::refused(
            2,
            "h.csv: no series of winding k431 fits\nhint: the nearest are K-431 (feed pump), X31, A-1\n"
        )
    );
}

const NOTED: &str = "winding,tested_on,r_60s,winding_temp_c,note\nP,2025-11-05,90,25,\nP,2026-02-05,80,25,moist fan room\n\
    P,2026-05-05,6,25,\"water stood under the terminal box after the night of the storm; dried with a fan until noon\"\n";

#[test]
fn a_note_stands_beside_its_test_or_below_it() {
    let world = World::new(&[("h.csv", NOTED)]);
    let run = world.run(&["explain", "h.csv", "--winding", "P", "--as-of", "2026-11-25", "-q"]);
    let lines: Vec<&str> = run.out.lines().skip_while(|line| !line.starts_with("tested on")).take(5).collect();
    assert!(lines[2].starts_with("2026-02-05    80 MΩ") && lines[2].ends_with("  “moist fan room”"), "{}", run.out);
    assert!(lines[3].starts_with("2026-05-05    6 MΩ"), "{}", run.out);
    let below = "  “water stood under the terminal box after the night of the storm; dried with a fan until noon”";
    assert_eq!(lines[4], below);
    let report = world.run(&["report", "h.csv", "--out", "r", "--as-of", "2026-11-25", "-q"]);
    assert_eq!(report.status, 0, "{}", report.words);
    let page = world.read("r/series/P.html");
    assert!(page.contains("<td class=\"remark\">“moist fan room”</td>"), "{page}");
}

#[test]
fn no_line_of_an_account_is_longer_than_the_terminal() {
    let world = World::new(&[("h.csv", NOTED)]);
    let history = world.path("h.csv").to_string_lossy().into_owned();
    let fleet = in_process::fleet(&history, None);
    let wanted = Wanted { winding: "P".to_owned(), connection: None, scope: None };
    let judged = fleet.of_winding(&InTurn, &wanted).unwrap().remove(0);
    for width in 80..=110 {
        let mut text = Vec::new();
        account::write(&mut text, &judged, &fleet.terms.policy, &Shape { width, color: false }).unwrap();
        let text = String::from_utf8(text).unwrap();
        let longest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        assert!(longest <= width, "{longest} at {width}:\n{text}");
        let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>().join(" ");
        assert!(words(&text).contains("dried with a fan until noon”"), "{text}");
    }
}
