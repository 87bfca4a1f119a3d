//! Reports: what is in the folder, what replaces what, and names that would do harm if anything trusted them.

use crate::first_mistakes::CAUTIONS;
use crate::world::{Outcome, World, demo};
use sha2::{Digest, Sha256};
use std::path::Path;

fn files(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path.strip_prefix(folder).unwrap().to_str().unwrap().replace('\\', "/"));
            }
        }
    }
    found.sort();
    found
}

fn demo_args(out: &str) -> Vec<String> {
    let (history, register, policy) = (demo("history.csv"), demo("register.csv"), demo("policy.toml"));
    ["report", &history, "--register", &register, "--policy", &policy, "--as-of", "2026-11-25", "--out", out]
        .map(str::to_owned)
        .into()
}

fn run(world: &World, args: &[String]) -> Outcome {
    world.run(&args.iter().map(String::as_str).collect::<Vec<_>>())
}

const HOSTILE: [&str; 7] = [
    "<script>alert(1)</script>",
    "=HYPERLINK(\"x\",\"y\")",
    "../../x",
    "CON",
    "pump \"5\" & 'six'",
    "⚡ motor",
    "\u{202e}rotom",
];

/// Windings of all these names that fall below any minimum.
fn hostile_history() -> String {
    let mut text = "winding,tested_on,r_60s,winding_temp_c\n".to_owned();
    let long = "x".repeat(120);
    for name in HOSTILE.iter().copied().chain([long.as_str()]) {
        for (day, mohm) in [("2025-11-05", "2"), ("2026-02-05", "1.2"), ("2026-05-05", "0.8"), ("2026-08-05", "0.4")] {
            text.push_str(&format!("\"{}\",{day},{mohm},40\n", name.replace('"', "\"\"")));
        }
    }
    text + "P-1,2026-08-05,wet,40\n"
}

#[test]
fn the_folder_holds_what_the_manifest_says_and_is_the_same_whatever_the_threads() {
    let world = World::new(&[]);
    let outcome = run(&world, &demo_args("one"));
    assert_eq!(outcome.out, "50 series judged, 13 with a page of their own; begin with one/index.html\n");
    assert!(outcome.words.ends_with(CAUTIONS), "{}", outcome.words);
    let found = files(&world.path("one"));
    for name in ["assessment.csv", "assessment.json", "assessment.xlsx", "index.html", "manifest.json", "rejected.csv"]
    {
        assert!(found.contains(&name.to_owned()), "{name}");
    }
    let manifest: serde_json::Value = serde_json::from_str(&world.read("one/manifest.json")).unwrap();
    let listed = manifest["files"].as_array().unwrap();
    assert_eq!(listed.len() + 1, found.len());
    for file in listed {
        let bytes = std::fs::read(world.path("one").join(file["path"].as_str().unwrap())).unwrap();
        let digest: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(file["sha256"], digest.as_str());
        assert_eq!(file["bytes"], bytes.len());
    }
    assert_eq!((&manifest["as_of"], &manifest["pages"]), (&"2026-11-25".into(), &13.into()));

    let args = demo_args("two");
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let alone = world.command(&args).env("RAYON_NUM_THREADS", "1").output().unwrap();
    assert!(alone.status.success());
    for name in found.iter().filter(|name| *name != "manifest.json") {
        let read = |folder: &str| std::fs::read(world.path(folder).join(name)).unwrap();
        assert_eq!(read("one"), read("two"), "{name}");
    }
}

#[test]
fn an_old_report_is_replaced_whole_and_nothing_else_ever_is() {
    let world = World::new(&[("h.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-08-05,0.2,40\n")]);
    let small = ["report", "h.csv", "--as-of", "2026-11-25", "--out", "r"].map(str::to_owned);
    assert_eq!(run(&world, &demo_args("r")).status, 0);
    assert_eq!(run(&world, &small).status, 0);
    let found = files(&world.path("r"));
    assert!(found.contains(&"series/P-1.html".to_owned()), "{found:?}");
    assert!(!found.iter().any(|name| name.contains("K-431")), "{found:?}");
    assert_eq!(world.names(), [".r.lock", "h.csv", "r"]);

    std::fs::write(world.path("r/notes.txt"), "mine").unwrap();
    assert_eq!(
        run(&world, &small),
        Outcome::refused(
            2,
            "r: notes.txt does not belong to the report in it; a report only replaces a report that is as it was written\n\
             hint: give another folder, or move what is to be kept out of this one\n"
        )
    );
    std::fs::remove_file(world.path("r/notes.txt")).unwrap();
    std::fs::write(world.path("r/assessment.csv"), "changed").unwrap();
    assert_eq!(
        run(&world, &small),
        Outcome::refused(
            2,
            "r: assessment.csv was changed since the report was written; a report only replaces a report that is as it was \
             written\nhint: give another folder, or move what is to be kept out of this one\n"
        )
    );
    let strange = World::new(&[("h.csv", &hostile_history()), ("keep.txt", "mine")]);
    assert_eq!(
        strange.run(&["report", "h.csv", "--out", "."]),
        Outcome::refused(
            2,
            ".: a report needs a folder of its own\nhint: give the name of a folder, such as --out report; it is made\n"
        )
    );
    assert_eq!(strange.read("keep.txt"), "mine");
}

#[test]
fn what_a_killed_run_left_is_put_in_order() {
    let world = World::new(&[("h.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-08-05,0.2,40\n")]);
    let args = ["report", "h.csv", "--as-of", "2026-11-25", "--out", "r"].map(str::to_owned);
    assert_eq!(run(&world, &args).status, 0);
    // Ended between the two renames: the old report stands aside, a part of the new one is there.
    std::fs::rename(world.path("r"), world.path(".r.groundwall-old")).unwrap();
    std::fs::create_dir(world.path(".r.groundwall-part")).unwrap();
    std::fs::write(world.path(".r.groundwall-part/index.html"), "half").unwrap();
    assert_eq!(run(&world, &args).status, 0);
    assert_eq!(world.names(), [".r.lock", "h.csv", "r"]);
    assert!(world.read("r/index.html").contains("P-1"));
}

#[test]
fn hostile_names_go_through_every_output_unharmed() {
    let world = World::new(&[("h.csv", &hostile_history())]);
    let outcome = world.run(&["report", "h.csv", "--as-of", "2026-11-25", "--out", "r"]);
    assert_eq!(outcome.status, 0, "{}", outcome.words);
    let found = files(&world.path("r"));
    assert_eq!(found.iter().filter(|name| name.ends_with(".html")).count(), HOSTILE.len() + 2, "{found:?}");
    for name in found.iter().filter(|name| name.ends_with(".html")) {
        let page = world.read(&format!("r/{name}"));
        // The only script is ours, and the security policy names it by its digest.
        assert!(!page.contains("alert(1)</script>") && !page.contains("\u{202e}"), "{name}");
        assert!(page.contains("Content-Security-Policy") && page.contains("default-src &#x27;none&#x27;"), "{name}");
        assert_eq!(page.matches("<script").count(), usize::from(name == "index.html"), "{name}");
        for address in ["http:", "https:", "src=\"//"] {
            assert!(!page.contains(address), "{name} {address}");
        }
    }
    let csv = world.read("r/assessment.csv");
    assert!(csv.contains("\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\""), "{csv}");
    assert!(found.iter().all(|name| name.len() < 130 && !name.contains("..")), "{found:?}");
    assert!(!world.path("x.html").exists() && !world.path("r/x.html").exists());
    let rejected = world.read("r/rejected.csv");
    assert!(rejected.contains("P-1,2026-08-05,wet,40,\"h.csv:34\","), "{rejected}");
    let workbook = std::fs::read(world.path("r/assessment.xlsx")).unwrap();
    let mut book: calamine::Xlsx<_> = calamine::open_workbook_from_rs(std::io::Cursor::new(workbook)).unwrap();
    let sheet = calamine::Reader::worksheet_range(&mut book, "series").unwrap();
    let names: Vec<String> = sheet.rows().skip(2).map(|row| row[0].to_string()).collect();
    for name in HOSTILE {
        assert!(names.contains(&name.to_owned()), "{name:?} in {names:?}");
    }
    assert!(sheet.rows().skip(2).all(|row| matches!(row[11], calamine::Data::Float(_))), "numbers are numbers");
    assert!(sheet.rows().skip(2).all(|row| matches!(row[10], calamine::Data::DateTime(_))), "dates are dates");
    let heading = |row: usize| sheet.rows().nth(row).map(|cells| cells[11].to_string());
    assert_eq!([heading(0), heading(1)].map(Option::unwrap), ["Latest R60 as read, MΩ", "latest_r60_mohm"]);
    let formulas = calamine::Reader::worksheet_formula(&mut book, "series").unwrap();
    assert!(formulas.cells().all(|(_, _, formula)| formula.is_empty()));
}

#[test]
fn the_page_of_the_works_tells_the_place_where_the_register_does() {
    let history = "winding,tested_on,r_60s,winding_temp_c\nP,2026-02-05,0.5,40\nQ,2026-02-05,500,40\n";
    let register = "winding,area,description,rated_volts,construction\nP,Kiln,Cooler fan,400,random-wound\n";
    let world = World::new(&[("h.csv", history), ("r.csv", register)]);
    let index = |out: &str, more: &[&str]| {
        let run = world.run(&[&["report", "h.csv", "--out", out, "--as-of", "2026-02-25", "-q"], more].concat());
        assert_eq!(run.status, 0, "{}", run.words);
        world.read(&format!("{out}/index.html"))
    };
    let known = index("known", &["--register", "r.csv"]);
    assert!(
        known.contains("<th scope=\"col\" class=\"wider\">Place</th>")
            && known.contains("<td class=\"place wider\">Kiln, Cooler fan</td>")
    );
    assert!(known.contains("2 series judged; 1 needs something done."), "{known}");
    let unknown = index("unknown", &[]);
    assert!(!unknown.contains(">Place</th>") && !unknown.contains("class=\"place wider\""));
    // A site that all have is not told again in every row; of several, each row tells its own.
    let sites = |second: &str| {
        let register = format!("winding,site,area\nP,North,Kiln\nQ,{second},Mill\n");
        let world = World::new(&[("h.csv", history), ("r.csv", &register)]);
        let args = ["report", "h.csv", "--register", "r.csv", "--out", "r", "--as-of", "2026-02-25", "-q"];
        assert_eq!(world.run(&args).status, 0);
        world.read("r/index.html")
    };
    assert!(sites("North").contains("<td class=\"place wider\">Kiln</td>"));
    assert!(sites("South").contains("<td class=\"place wider\">North, Kiln</td>"));
}
