//! Whatever names and notes hold, no text for people steers a terminal or hides anything.

use crate::world::World;

#[test]
fn names_and_notes_are_shown_as_text_by_every_command() {
    let name = "P-1\u{202e}\u{200b}";
    let mut history = "winding,tested_on,r_60s,winding_temp_c,note\n".to_owned();
    for i in 0..12 {
        history.push_str(&format!("\"{name}\",20{:02}-06-05,{},40,n\u{1b}[2Jo\n", 14 + i, 500 - 10 * i));
    }
    let register = format!(
        "winding,rated_volts,site,area,description,group,criticality\n\"{name}\",400,s\u{1b}[1m\u{202e},a\u{1b}]0;x\u{7},d\u{9b}1m,g\u{200d},c\u{feff}\n"
    );
    let world = World::new(&[("h.csv", &history), ("r.csv", &register)]);
    for (args, kept) in [
        (&["assess", "h.csv", "--register", "r.csv"][..], "\\u{202e}"),
        (&["explain", "h.csv", "--register", "r.csv", "--winding", name], "\\u{202e}"),
        (&["replay", "h.csv", "--register", "r.csv"], "\\u{200d}"),
        (&["round", "h.csv", "--register", "r.csv", "--until", "2027-12-01"], "\\u{200b}"),
        (&["check", "h.csv", "--register", "r.csv"], ""),
        (&["add", "h.csv", "--to", "h.csv\u{202e}", "--create"], "\\u{202e}"),
    ] {
        let run = world.run(&[args, &["--as-of", "2025-11-25"]].concat());
        let all = format!("{}{}", run.out, run.words);
        assert_eq!(run.status, 0, "{all}");
        let steering = |c: char| groundwall_engine::legible::steers(c);
        assert!(!all.contains(steering), "{}: {all:?}", args[0]);
        assert!(all.contains(kept), "{}: {all}", args[0]);
    }
    // Data for programs keep every character.
    let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--as-of", "2025-11-25", "--format", "json"]);
    let result: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(result["series"][0]["winding"], name);
}

/// A terminal is one whatever its name; a file and a pipe get every character. `script` of the system makes the terminal.
#[cfg(target_os = "linux")]
#[test]
fn no_name_of_the_terminal_lets_through_what_steers_it() {
    use std::process::Command;
    if Command::new("script").arg("--version").output().is_err() {
        return;
    }
    let history =
        "winding,tested_on,r_60s,note\n\"P\u{202e}\u{200b}\",2024-01-01,500,\n\"Q\u{1b}]0;x\u{7}\u{1b}[31m\",x,5,\n";
    let world = World::new(&[("h.csv", history)]);
    for (args, kept) in [
        ("check h.csv --rejects /dev/stdout", "\\u{1b}"),
        ("check h.csv --rejects -", "\\u{1b}"),
        ("assess h.csv -q -f csv -o /dev/stdout", "\\u{202e}"),
        ("assess h.csv -q -f csv -o /dev/stderr", "\\u{202e}"),
        ("assess h.csv -q -f json -o /proc/self/fd/1", "\\u{202e}"),
        ("assess h.csv -q -f csv -o /dev/fd/1", "\\u{202e}"),
        ("assess h.csv -q -f csv -o /dev/tty", "\\u{202e}"),
    ] {
        let line = format!("{} {args}", env!("CARGO_BIN_EXE_groundwall"));
        let shown =
            Command::new("script").args(["-qec", &line, "/dev/null"]).current_dir(world.path("")).output().unwrap();
        let shown = String::from_utf8(shown.stdout).unwrap();
        assert!(shown.contains(kept), "{args}: {shown}");
        assert!(!shown.contains(|c: char| c != '\r' && groundwall_engine::legible::steers(c)), "{args}: {shown:?}");
    }
    let run = world.run(&["assess", "h.csv", "-q", "-f", "csv", "-o", "/dev/stdout"]);
    assert!(run.out.contains('\u{202e}'), "{run:?}");
}
