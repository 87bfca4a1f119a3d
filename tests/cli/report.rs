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
    assert_eq!(outcome.out, "50 series judged, 12 with a page of their own; begin with one/index.html\n");
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
    assert_eq!((&manifest["as_of"], &manifest["pages"]), (&"2026-11-25".into(), &12.into()));

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
             hint: give another folder, or first move the files to be kept\n"
        )
    );
    std::fs::remove_file(world.path("r/notes.txt")).unwrap();
    std::fs::write(world.path("r/assessment.csv"), "changed").unwrap();
    assert_eq!(
        run(&world, &small),
        Outcome::refused(
            2,
            "r: assessment.csv was changed since the report was written; a report only replaces a report that is as it was \
             written\nhint: give another folder, or first move the files to be kept\n"
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
    assert!(sheet.rows().skip(2).all(|row| matches!(row[16], calamine::Data::Float(_))), "numbers are numbers");
    assert!(sheet.rows().skip(2).all(|row| matches!(row[14], calamine::Data::DateTime(_))), "dates are dates");
    let heading = |row: usize| sheet.rows().nth(row).map(|cells| cells[16].to_string());
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
    assert!(known.contains("2 series judged; 1 needs more than the usual test."), "{known}");
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

/// Three phases of one motor of which one fails, a motor with two windings, and one without a fault.
const MOTORS: &str = "winding,tested_on,connection,r_60s,winding_temp_c\n\
    P-1 stator,2025-11-05,U-earth,300,40\nP-1 stator,2025-11-05,V-earth,310,40\nP-1 stator,2025-11-05,W-earth,305,40\n\
    P-1 stator,2026-02-05,U-earth,300,40\nP-1 stator,2026-02-05,V-earth,310,40\nP-1 stator,2026-02-05,W-earth,2,40\n\
    D-2 armature,2026-02-05,,90,40\nD-2 field,2026-02-05,,1,40\nQ-3,2026-02-05,,700,40\n";
const MOTORS_REGISTER: &str = "winding,area,rated_volts,construction,criticality,work_order,maker\n\
    P-1 stator,Kiln,400,random-wound,B,WO-17,Ferring\nD-2 armature,Mill,400,dc-armature,A,,\nD-2 field,Mill,220,field,A,,\n\
    Q-3,Mill,400,random-wound,C,,\n";

fn motors(world: &World, command: &str, more: &[&str]) -> Outcome {
    let args = [command, "h.csv", "--register", "r.csv", "--as-of", "2026-02-25", "-q"];
    let outcome = world.run(&[&args[..], more].concat());
    assert_eq!(outcome.status, 0, "{}", outcome.words);
    outcome
}

#[test]
fn one_page_holds_everything_and_asks_for_no_other_file() {
    let world = World::new(&[("h.csv", MOTORS), ("r.csv", MOTORS_REGISTER)]);
    let outcome = motors(&world, "report", &["--single", "all.html"]);
    assert!(outcome.out.ends_with("begin with all.html\n"), "{}", outcome.out);
    assert_eq!(world.names(), ["all.html", "h.csv", "r.csv"], "no folder is made that was not asked for");
    let page = world.read("all.html");
    // What a page loads or links to is inside it: bytes as text, or a place on the page.
    for attribute in ["src=\"", "srcset=\"", "href=\""] {
        for address in page.split(attribute).skip(1) {
            let inside = ["data:", "#"].iter().any(|begin| address.starts_with(begin));
            assert!(inside, "{attribute}{}", &address[..address.len().min(80)]);
        }
    }
    for name in ["assessment.xlsx", "assessment.csv", "assessment.json"] {
        assert!(page.contains(&format!("download=\"{name}\"")), "{name}");
    }
    // Every link to a place on the page has that place.
    for id in page.split("href=\"#").skip(1).map(|rest| rest.split('"').next().unwrap_or_default()) {
        assert_eq!(page.matches(&format!("id=\"{id}\"")).count(), 1, "{id}");
    }
    assert!(page.matches("<h1").count() == 1 && page.contains(">P-1 stator W-earth</h2>"));
    // A file of people stays, or a copy of it does; a result is replaced.
    for file in ["theirs.html", "theirs.pdf"] {
        std::fs::write(world.path(file), "%PDF-1.4 <svg mine").unwrap();
        let option = if file.ends_with("pdf") { "--pdf" } else { "--single" };
        let args = ["report", "h.csv", "-r", "r.csv", "--as-of", "2026-11-25", "-q", option, file];
        let refused = format!(
            "{file}: this file exists and is not a result of the same kind; nothing was written\n\
             hint: give another name, or use --force, which keeps a copy of the old file\n"
        );
        assert_eq!(world.run(&args), Outcome::refused(2, &refused));
        assert_eq!(world.run(&[&args[..], &["--force"]].concat()).status, 0);
        assert_eq!(world.read(&format!("{file}.bak")), "%PDF-1.4 <svg mine");
        assert_eq!(world.run(&args).status, 0, "a result is replaced");
    }
    let both = world.run(&["report", "h.csv", "--single", "x", "--pdf", "x"]);
    let twice = "x: two results would be written into this one file\nhint: give each a name of its own\n";
    assert_eq!(both, Outcome::refused(2, twice));
}

/// What a list says of a series, from its name on.
fn said_of<'p>(page: &'p str, winding: &str) -> &'p str {
    let row = page.split("<tr").find(|row| row.contains(&format!(" data-series=\"[&quot;{winding}&quot;,"))).unwrap();
    row.split_once("</th>").unwrap().1.split_once("</tr>").unwrap().0
}

#[test]
fn one_winding_gets_its_work_order_whatever_its_action() {
    let world = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let on_demo = |command: &str, more: &[&str]| {
        let args = [command, &history, "--register", &register, "--as-of", "2026-11-25"];
        world.run(&[&args[..], more].concat())
    };
    let list = on_demo("assess", &["--format", "html"]).out;
    for winding in ["D-321 armature", "K-431 stator"] {
        let outcome = on_demo("report", &["--winding", winding, "--single", "one.html", "--pdf", "one.pdf"]);
        let page = world.read("one.html");
        assert_eq!(outcome.out, "1 series judged, 1 with a page of their own; begin with one.html\n");
        assert_eq!((page.matches("class=\"order\"").count(), page.matches("<tr data-series").count()), (1, 1));
        assert_eq!(said_of(&page, winding), said_of(&list, winding), "judged among all others");
    }
    assert!(said_of(&list, "D-321 armature").contains("2027-"), "it is acceptable, and has a page all the same");
    let history = Path::new(&history).display();
    let unknown = on_demo("report", &["--winding", "D-32l", "--single", "none.html", "-q"]);
    assert_eq!((unknown.status, world.names().contains(&"none.html".to_owned())), (2, false));
    assert!(
        unknown.words.starts_with(&format!("{history}: no series of winding D-32l fits\nhint: the nearest are ")),
        "{}",
        unknown.words
    );
}

#[test]
fn the_list_alone_is_a_page_that_names_no_file() {
    let world = World::new(&[("h.csv", MOTORS), ("r.csv", MOTORS_REGISTER)]);
    let page = motors(&world, "assess", &["--format", "html"]).out;
    assert!(page.contains("<h1>Winding insulation as of ") && page.contains(">P-1 stator W-earth</th>"), "{page}");
    assert!(page.contains("<form class=\"controls\"") && page.contains("<h2>What was read</h2>\n<ul>\n<li>h.csv: "));
    for absent in ["The same result as files", "rejected.csv", "<a href=\"#P", "src=\""] {
        assert!(!page.contains(absent), "{absent}");
    }
}

/// A field and its armature, and the phases of a stator, are one motor: its most urgent series leads, the others follow.
#[test]
fn by_motor_each_motor_is_one_line_with_its_other_series_below() {
    let world = World::new(&[("h.csv", MOTORS), ("r.csv", MOTORS_REGISTER)]);
    let list = motors(&world, "assess", &["--by", "motor"]).out;
    let names: Vec<&str> = list
        .lines()
        .skip(2)
        .take_while(|line| !line.is_empty())
        .map(|line| line.split("  ").filter(|cell| !cell.is_empty()).nth(1).unwrap_or_default().trim())
        .collect();
    assert_eq!(names[0], "D-2 field", "more critical than the other that is held: {list}");
    assert_eq!(names[1], "– D-2 armature", "{list}");
    assert_eq!(names[2], "P-1 stator W-earth", "{list}");
    assert!(names[3].starts_with("– P-1 stator ") && names[4].starts_with("– P-1 stator "), "{list}");
    assert_eq!(names[5], "Q-3", "{list}");
    assert!(list.contains("3 motors with 6 series: 2 hold"), "{list}");
    assert!(
        list.contains("P-1 stator W-earth (Kiln, criticality B, work order WO-17, made by Ferring): keep out"),
        "{list}"
    );
    let csv = motors(&world, "assess", &["--by", "motor", "--format", "csv"]).out;
    let names: Vec<&str> = csv.lines().skip(1).map(|line| line.split(',').next().unwrap_or_default()).collect();
    assert_eq!(names, ["D-2 field", "D-2 armature", "P-1 stator", "P-1 stator", "P-1 stator", "Q-3"]);
    let _ = motors(&world, "report", &["--by", "motor", "--out", "r"]);
    let index = world.read("r/index.html");
    assert_eq!(index.matches("<tr class=\"under\"").count(), 3, "{index}");
    assert!(index.contains("3 motors with 6 series judged"), "{index}");
    assert!(index.contains("criticality B · work order WO-17 · made by Ferring"), "{index}");
}

/// The policy says which words of the register come first inside one action.
#[test]
fn inside_one_action_the_more_critical_comes_first() {
    let policy = "[list]\ncriticality_order = \"B, A\"\n";
    let world = World::new(&[("h.csv", MOTORS), ("r.csv", MOTORS_REGISTER), ("p.toml", policy)]);
    let first = |more: &[&str]| {
        let csv = motors(&world, "assess", &[&["--format", "csv"], more].concat()).out;
        csv.lines().nth(1).unwrap_or_default().split(',').next().unwrap_or_default().to_owned()
    };
    assert_eq!(first(&[]), "D-2 field");
    assert_eq!(first(&["--policy", "p.toml"]), "P-1 stator");
}

/// Nothing is released on a page that asks for something to be done first, on a screen or on paper.
#[test]
fn no_sheet_offers_to_energise_what_is_held() {
    let world = World::new(&[("h.csv", MOTORS), ("r.csv", MOTORS_REGISTER)]);
    let _ = motors(&world, "report", &["--out", "r", "--pdf", "r.pdf"]);
    let held: Vec<String> = files(&world.path("r/series")).into_iter().filter(|name| name.ends_with(".html")).collect();
    assert_eq!(held, ["D-2_field.html", "P-1_stator_W-earth.html"]);
    for name in held {
        let page = world.read(&format!("r/series/{name}"));
        assert!(page.contains("<li>stays out of service</li>") && !page.contains("may be energised"), "{name}");
    }
}
