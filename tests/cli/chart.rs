use super::world::{World, demo};

#[test]
fn the_ending_decides_the_kind_of_picture() {
    let world = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let chart = |out: &str| {
        let args = ["chart", &history, "--register", &register, "--as-of", "2026-11-25", "-q"];
        world.run(&[&args[..], &["--winding", "P-101 stator", "--out", out]].concat())
    };
    assert_eq!(chart("a.png").status, 0);
    assert!(std::fs::read(world.path("a.png")).unwrap().starts_with(b"\x89PNG\r\n\x1a\n"));
    assert_eq!(chart("a.svg").status, 0);
    assert!(world.read("a.svg").contains("<svg"));
    let outcome = chart("a.gif");
    assert_eq!(outcome.status, 2);
    assert!(
        outcome.words.starts_with(
            "error: invalid value 'a.gif' for '--out <FILE>': a chart is a file that ends in .png or .svg, or a folder that is there\n"
        )
    );
    assert_eq!(world.names(), ["a.png", "a.svg"]);
}

#[test]
fn a_winding_that_is_not_there_is_said_with_the_nearest() {
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s\nP-101 stator,2026-01-05,500\n")]);
    let outcome = world.run(&["chart", "a.csv", "--winding", "P-102 stator", "--out", "a.png", "-q"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.words.contains("P-102 stator") && outcome.words.contains("P-101 stator"), "{}", outcome.words);
    assert_eq!(world.names(), ["a.csv"]);
}

#[test]
fn in_a_folder_the_chart_is_named_after_its_winding_and_stays_there() {
    let long = "x".repeat(120);
    let names = ["P-101 stator", "../../x", "CON", "😀", &long];
    let rows: String = names.iter().map(|name| format!("{name},2026-01-05,500\n")).collect();
    let world = World::new(&[("a.csv", &format!("winding,tested_on,r_60s\n{rows}"))]);
    std::fs::create_dir(world.path("charts")).unwrap();
    for name in names {
        let outcome = world.run(&["chart", "a.csv", "--winding", name, "--out", "charts", "--as-of", "2026-11-25"]);
        assert_eq!(outcome.status, 0, "{}", outcome.words);
        assert!(outcome.words.contains(": this is the chart of "), "{}", outcome.words);
    }
    assert_eq!(world.names(), ["a.csv", "charts"]);
    let entries = std::fs::read_dir(world.path("charts")).unwrap();
    let mut files: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    files.sort();
    assert_eq!(files.len(), names.len());
    assert!(files[0].starts_with("CON-") && files[1] == "P-101_stator.png" && files[2].starts_with("winding-"));
}
