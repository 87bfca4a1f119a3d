use super::world::{Outcome, World, demo};

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
            "error: invalid value 'a.gif' for '--out <FILE>': a chart is a file that ends in .png or .svg, or a folder, whose name ends in /\n"
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
fn a_chart_that_was_made_is_told_beside_it_and_not_to_the_quiet() {
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-01-05,500,20\n")]);
    let args = ["chart", "a.csv", "--winding", "P-1", "--out", "p.svg", "--as-of", "2026-11-25"];
    let run = world.run(&args);
    assert_eq!((run.status, run.out.as_str()), (0, ""));
    assert_eq!(run.words.lines().last(), Some("p.svg: this is the chart of P-1"), "{}", run.words);
    assert_eq!(world.run(&[&args[..], &["-q"]].concat()), Outcome::printed(0, ""));
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

const TEN_MINUTES: &str =
    "winding,tested_on,r_30s,r_60s,r_10min\nR-1,2026-01-05,400,500,1500\nP-1,2026-01-05,400,500,\n";

#[test]
fn size_and_resolution_are_those_asked_for() {
    let world = World::new(&[("a.csv", TEN_MINUTES)]);
    let chart = |more: &[&str]| {
        let args = ["chart", "a.csv", "--as-of", "2026-11-25", "-q", "--out", "a.png"];
        world.run(&[&args[..], more].concat())
    };
    for (kind, winding) in [("trend", Some("R-1")), ("absorption", Some("R-1")), ("fleet", None)] {
        let named: Vec<&str> = winding.iter().flat_map(|winding| ["--winding", winding]).collect();
        let run = chart(&[&named[..], &["--kind", kind, "--size", "900x700", "--dpi", "300"]].concat());
        assert_eq!(run.status, 0, "{}", run.words);
        let file = std::fs::read(world.path("a.png")).unwrap();
        assert_eq!(file[16..24], [0, 0, 3, 132, 0, 0, 2, 188], "900 by 700 pixels");
        let at = file.windows(4).position(|four| four == b"pHYs").unwrap() + 4;
        // 300 dpi are 11811 dots a metre.
        assert_eq!(file[at..at + 4], [0, 0, 0x2e, 0x23]);
    }
    let run = chart(&["--winding", "R-1", "--size", "900"]);
    assert_eq!(run.status, 2);
    let rule = "a size is WIDTHxHEIGHT in pixels, such as 1200x800, each side 200 to 10000";
    assert!(run.words.contains(rule), "{}", run.words);
}

#[test]
fn a_picture_that_cannot_be_made_is_said_with_what_would_help() {
    let phases = "winding,tested_on,connection,r_60s\nM-1,2026-01-05,U-earth,500\nM-1,2026-01-05,U-V,500\n";
    let world = World::new(&[("a.csv", TEN_MINUTES), ("phases.csv", phases)]);
    for (file, more, words) in [
        (
            "a.csv",
            &["--kind", "absorption", "--winding", "P-1"][..],
            "P-1: no test up to 2026-11-25 has a reading after ten minutes, so there is no absorption curve to draw\n\
             hint: a history tells it in columns such as r_30s, r_60s and r_10min; --kind trend needs one minute only\n",
        ),
        (
            "a.csv",
            &["--kind", "phases", "--winding", "P-1"],
            "P-1: fewer than two phases were tested to earth separately; a chart of phases needs two\n\
             hint: the history names phases in its column connection: U-earth, V-earth, W-earth; --kind trend draws one series\n",
        ),
        (
            "phases.csv",
            &["--kind", "phases", "--winding", "M-1"],
            "M-1: fewer than two phases were tested to earth separately; a chart of phases needs two\n\
             hint: the history names phases in its column connection: U-earth, V-earth, W-earth; --kind trend draws one series\n",
        ),
        (
            "phases.csv",
            &["--kind", "phases", "--winding", "M-1", "--connection", "U-earth"],
            "a chart of kind phases shows all phases, and --connection names one of them\n\
             hint: leave out --connection, or draw --kind trend\n",
        ),
        (
            "a.csv",
            &["--kind", "trend"],
            "a chart of kind trend shows one winding, and none is named\n\
             hint: add --winding with its name as the history has it, or draw --kind fleet\n",
        ),
        (
            "a.csv",
            &["--kind", "fleet", "--winding", "P-1"],
            "a chart of kind fleet shows all series, and --winding names P-1\n\
             hint: leave out --winding, or draw --kind trend\n",
        ),
        (
            "a.csv",
            &["--kind", "trend", "--winding", "P-1", "--page", "2"],
            "--page is of the fleet only; a chart of kind trend is one page\n\
             hint: leave out --page, or draw --kind fleet\n",
        ),
        (
            "a.csv",
            &["--kind", "fleet", "--page", "2"],
            "there is no page 2: 2 series take 1 page of this size\nhint: choose --page 1 to 1\n",
        ),
    ] {
        let args = ["chart", file, "--as-of", "2026-11-25", "-q", "--out", "a.png"];
        assert_eq!(world.run(&[&args[..], more].concat()), Outcome::refused(2, words));
    }
    assert_eq!(world.names(), ["a.csv", "phases.csv"]);
}

#[test]
fn a_fleet_of_several_pages_goes_into_a_folder_or_page_by_page() {
    let rows: String = (0..60).map(|i| format!("P-{i} stator,2026-01-05,{}\n", 5 + i)).collect();
    let world = World::new(&[("a.csv", &format!("winding,tested_on,r_60s\n{rows}"))]);
    let args = ["chart", "a.csv", "--as-of", "2026-11-25", "--kind", "fleet", "--size", "1200x800", "--out"];
    let run = world.run(&[&args[..], &["pages/"]].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    let entries = std::fs::read_dir(world.path("pages")).unwrap();
    let mut files: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    files.sort();
    assert_eq!(files, ["fleet_1.png", "fleet_2.png", "fleet_3.png"]);
    let run = world.run(&[&args[..], &["second.png", "--page", "2"]].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    let remark = "page 2 of 3; --page chooses another, and a folder as --out gets all\n";
    assert!(run.words.ends_with(remark), "{}", run.words);
    assert_eq!(
        std::fs::read(world.path("second.png")).unwrap(),
        std::fs::read(world.path("pages/fleet_2.png")).unwrap()
    );
}

/// Without a size the picture is as high as it takes to name all that need action.
#[test]
fn a_fleet_grows_until_all_that_need_action_are_on_its_first_page() {
    let rows: String = (0..60).map(|i| format!("P-{i} stator,2026-01-05,{}\n", 5 + i)).collect();
    let world = World::new(&[("a.csv", &format!("winding,tested_on,r_60s\n{rows}"))]);
    let run = world.run(&["chart", "a.csv", "--as-of", "2026-11-25", "--kind", "fleet", "--out", "fleet.svg"]);
    assert_eq!(run.status, 0, "{}", run.words);
    let picture = world.read("fleet.svg");
    for i in 0..60 {
        assert!(picture.contains(&format!("P-{i} stator")), "{i}");
    }
}

#[test]
fn names_of_every_kind_go_through_every_kind_of_chart() {
    let long = "x".repeat(120);
    for name in ["<script>alert(1)</script>", "=HYPERLINK(\"a\")", "it's \"quoted\" & so", "👩‍🔧⚡", "محرك 7", &long]
    {
        let cell = format!("\"{}\"", name.replace('"', "\"\""));
        let row = |connection: &str| format!("{cell},2026-01-05,{connection},400,500,1500\n");
        let rows: String = ["U-earth", "V-earth", "W-earth"].map(row).concat();
        let world = World::new(&[("a.csv", &format!("winding,tested_on,connection,r_30s,r_60s,r_10min\n{rows}"))]);
        for (kind, named) in [("trend", true), ("absorption", true), ("phases", true), ("fleet", false)] {
            for out in ["a.svg", "a.png"] {
                let args = ["chart", "a.csv", "--as-of", "2026-11-25", "-q", "--kind", kind, "--out", out];
                let winding = ["--winding", name];
                let run = world.run(&[&args[..], if named { &winding } else { &[] }].concat());
                assert_eq!((run.status, run.out.as_str()), (0, ""), "{name} {kind}: {}", run.words);
            }
            let svg = world.read("a.svg");
            assert!(!svg.contains("<script") && svg.trim_end().ends_with("</svg>"), "{name} {kind}");
            let escaped = groundwall_engine::legible::legible(name)
                .replace('&', "&amp;")
                .replace('<', "&lt;")
                .replace('>', "&gt;");
            let start: String = escaped.chars().take(20).collect();
            assert!(svg.replace("&quot;", "\"").replace("&#39;", "'").contains(&start), "{name} {kind}");
        }
    }
}

/// In a folder a file of somebody's is left alone as it is under its own name, and so is what a link leads to.
#[test]
fn pictures_in_a_folder_replace_pictures_of_ours_alone() {
    let rows: String = (0..40).map(|i| format!("P-{i},2026-01-05,500\n")).collect();
    let world = World::new(&[("a.csv", &format!("winding,tested_on,r_60s\n{rows}"))]);
    std::fs::create_dir(world.path("p")).unwrap();
    let chart = |more: &[&str]| {
        let args = ["chart", "a.csv", "--kind", "fleet", "--size", "600x400", "--as-of", "2026-11-25", "--out", "p/"];
        world.run(&[&args, more].concat())
    };
    // The second page is in the way; the first is not written either.
    std::fs::write(world.path("p/fleet_2.png"), "a photo").unwrap();
    let words = "p/fleet_2.png: this file exists and is not a result of the same kind; nothing was written\n\
                 hint: give another folder, or use --force, which keeps a copy of the old file\n";
    assert!(chart(&[]).words.ends_with(words), "{}", chart(&[]).words);
    assert_eq!(chart(&["-q"]), Outcome::refused(2, words));
    assert_eq!(std::fs::read_dir(world.path("p")).unwrap().count(), 1);
    let run = chart(&["--force"]);
    let kept = "p/fleet_2.png: written; the previous file is now p/fleet_2.png.bak\n";
    assert!(run.status == 0 && run.words.contains(kept), "{}", run.words);
    assert_eq!(world.read("p/fleet_2.png.bak"), "a photo");
    // Pictures of ours are replaced, without copies.
    let count = std::fs::read_dir(world.path("p")).unwrap().count();
    assert_eq!(chart(&["-q", "--dpi", "100"]), Outcome::printed(0, ""));
    assert_eq!(std::fs::read_dir(world.path("p")).unwrap().count(), count);
    #[cfg(unix)]
    {
        std::fs::write(world.path("s.txt"), "secret").unwrap();
        std::fs::remove_file(world.path("p/fleet_1.png")).unwrap();
        std::os::unix::fs::symlink("../s.txt", world.path("p/fleet_1.png")).unwrap();
        assert_eq!(chart(&["-q"]), Outcome::refused(2, &words.replace("_2", "_1")));
        assert_eq!(world.read("s.txt"), "secret");
    }
}
