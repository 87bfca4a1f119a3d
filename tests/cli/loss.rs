//! Nothing of anybody's is lost: what is there, its rights, and what is said of it.

use crate::world::{Outcome, World};
use std::fs;

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-08-05,0.2,40\n";
const REPORT: [&str; 6] = ["report", "h.csv", "--as-of", "2026-11-25", "--out", "r"];

#[test]
fn a_folder_with_anything_in_it_is_never_taken_for_empty() {
    for name in [".git", ".ssh", ".env", "photos"] {
        let world = World::new(&[("h.csv", HISTORY)]);
        fs::create_dir(world.path("r")).unwrap();
        if name == ".env" {
            fs::write(world.path("r/.env"), "mine").unwrap();
        } else {
            fs::create_dir(world.path("r").join(name)).unwrap();
        }
        assert_eq!(
            world.run(&REPORT),
            Outcome::refused(
                2,
                "r: this folder is not a report of groundwall; a report only replaces a report that is as it was written\n\
                 hint: give another folder, or first move the files to be kept\n"
            )
        );
        assert!(world.path("r").join(name).exists(), "{name}");
        assert_eq!(world.names(), ["h.csv", "r"]);
    }
}

#[test]
fn what_was_put_into_a_report_is_never_removed() {
    let world = World::new(&[("h.csv", HISTORY)]);
    assert_eq!(world.run(&REPORT).status, 0);
    for name in [".notes", "series/.notes", "series/photos/mine.txt"] {
        let path = world.path("r").join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, "mine").unwrap();
        let words = format!(
            "r: {name} does not belong to the report in it; a report only replaces a report that is as it was written\n\
             hint: give another folder, or first move the files to be kept\n"
        );
        assert_eq!(world.run(&REPORT), Outcome::refused(2, &words));
        assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
        fs::remove_file(&path).unwrap();
        let _ = fs::remove_dir(world.path("r/series/photos"));
    }
    // What file browsers leave behind stops nobody, and stays all the same.
    for name in ["Thumbs.db", "series/.DS_Store"] {
        fs::write(world.path("r").join(name), "theirs").unwrap();
    }
    assert_eq!(world.run(&REPORT).status, 0);
    assert_eq!(world.run(&REPORT).status, 0);
    for name in ["Thumbs.db", "series/.DS_Store"] {
        assert_eq!(fs::read_to_string(world.path("r").join(name)).unwrap(), "theirs", "{name}");
    }
    assert_eq!(world.names(), [".r.lock", "h.csv", "r"]);
}

#[test]
fn what_lies_under_the_names_of_a_report_on_its_way_is_never_removed() {
    let world = World::new(&[("h.csv", HISTORY)]);
    fs::create_dir(world.path(".r.groundwall-part")).unwrap();
    fs::write(world.path(".r.groundwall-part/mine.txt"), "mine").unwrap();
    let run = world.run(&REPORT);
    assert_eq!(run.status, 2, "{}", run.words);
    assert!(
        run.words.starts_with("r: cannot be written: ")
            && run.words.ends_with("is in the way and is not left from a run\nhint: move it elsewhere\n"),
        "{}",
        run.words
    );
    assert_eq!(world.read(".r.groundwall-part/mine.txt"), "mine");
    fs::remove_dir_all(world.path(".r.groundwall-part")).unwrap();
    assert_eq!(world.run(&REPORT).status, 0);
    fs::create_dir(world.path(".r.groundwall-old")).unwrap();
    fs::write(world.path(".r.groundwall-old/index.html"), "mine").unwrap();
    let run = world.run(&REPORT);
    assert_eq!(run.status, 2, "{}", run.words);
    assert_eq!(world.read(".r.groundwall-old/index.html"), "mine");
}

#[cfg(unix)]
#[test]
fn a_folder_keeps_its_rights() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    let world = World::new(&[("h.csv", HISTORY)]);
    fs::create_dir(world.path("r")).unwrap();
    fs::set_permissions(world.path("r"), fs::Permissions::from_mode(0o2700)).unwrap();
    // Only root may give a folder to another group.
    let given = std::os::unix::fs::chown(world.path("r"), Some(65_534), Some(65_534)).is_ok();
    let rights = || {
        let found = fs::metadata(world.path("r")).unwrap();
        (found.permissions().mode() & 0o7777, found.uid(), found.gid())
    };
    let before = rights();
    assert!(!given || before.1 == 65_534);
    for _ in 0..2 {
        assert_eq!(world.run(&REPORT).status, 0);
        assert_eq!(rights(), before);
    }
    // So do the files in it that are written again.
    let list = world.path("r/index.html");
    fs::set_permissions(&list, fs::Permissions::from_mode(0o604)).unwrap();
    let given = std::os::unix::fs::chown(&list, Some(65_534), Some(65_534)).is_ok();
    assert_eq!(world.run(&REPORT).status, 0);
    let found = fs::metadata(&list).unwrap();
    let is_given = found.uid() == 65_534 && found.gid() == 65_534;
    assert_eq!((found.permissions().mode() & 0o7777, is_given), (0o604, given));
}

#[test]
fn a_policy_that_was_edited_is_not_written_over() {
    let world = World::new(&[("policy.toml", "[decision]\nhorizon_days = 90\n")]);
    assert_eq!(
        world.run(&["policy", "--out", "policy.toml"]),
        Outcome::refused(
            2,
            "policy.toml: this file is there already; nothing was written\n\
             hint: give another name, or use --force, which keeps a copy of the old file\n"
        )
    );
    assert_eq!(world.read("policy.toml"), "[decision]\nhorizon_days = 90\n");
    let force = ["policy", "--out", "policy.toml", "--force"];
    let remark = |copy: &str| Outcome {
        status: 0,
        out: String::new(),
        words: format!("policy.toml: written; the previous file is now {copy}\n"),
    };
    assert_eq!(world.run(&force), remark("policy.toml.bak"));
    // The same bytes are no replacement.
    assert_eq!(world.run(&force), Outcome::printed(0, ""));
    assert_eq!(world.run(&["policy", "--out", "policy.toml"]), Outcome::printed(0, ""));
    fs::write(world.path("policy.toml"), "# mine\n").unwrap();
    assert_eq!(world.run(&force), remark("policy.toml.bak2"));
    assert_eq!(world.read("policy.toml.bak"), "[decision]\nhorizon_days = 90\n");
    assert_eq!(world.read("policy.toml"), world.run(&["policy"]).out);
    assert_eq!(world.names(), ["policy.toml", "policy.toml.bak", "policy.toml.bak2"]);
}

#[cfg(target_os = "linux")]
#[test]
fn an_account_that_cannot_be_printed_says_what_was_done_before() {
    let world = World::new(&[("s.csv", HISTORY), ("h.csv", HISTORY)]);
    let full = |args: &[&str]| {
        let out = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = world.command(args).stdout(out).output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    let incomplete = "hint: what was printed is incomplete; free some space, or print to another place\n";
    assert_eq!(
        full(&["add", "s.csv", "--to", "m.csv", "--create"]),
        (
            Some(1),
            format!(
                "standard output: cannot be written: the disk is full; before that, m.csv: 1 test was added to a new master\n\
                 {incomplete}"
            )
        )
    );
    assert!(world.read("m.csv").contains("P-1,2026-08-05,0.2"));
    let nothing_done = (Some(1), format!("standard output: cannot be written: the disk is full\n{incomplete}"));
    assert_eq!(full(&["add", "s.csv", "--to", "m.csv"]), nothing_done);
    assert_eq!(full(&["spot", "--r60", "200"]), nothing_done);
    assert_eq!(
        full(&[&REPORT[..], &["-q"]].concat()),
        (
            Some(1),
            format!(
                "standard output: cannot be written: the disk is full; before that, r: the report was written\n{incomplete}"
            )
        )
    );
    assert!(world.path("r/index.html").exists());
}

/// Links that lead nowhere: a file in their place would not be where they say.
#[cfg(unix)]
#[test]
fn links_to_nothing_are_refused_by_every_command_that_writes() {
    let world = World::new(&[("h.csv", HISTORY)]);
    std::os::unix::fs::symlink("nowhere/f", world.path("l")).unwrap();
    let refused = Outcome::refused(
        2,
        "l: cannot be written: this is a link to nowhere/f, which does not exist\n\
         hint: remove the link, make what it leads to, or give another path\n",
    );
    for args in [
        &["assess", "h.csv", "--out", "l", "-q"][..],
        &["add", "h.csv", "--to", "l", "--create"],
        &["report", "h.csv", "--out", "l"],
        &["policy", "--out", "l"],
        &["demo", "l"],
    ] {
        assert_eq!(world.run(args), refused, "{args:?}");
        assert!(world.path("l").is_symlink());
    }
    assert_eq!(world.names(), ["h.csv", "l"]);
}

#[cfg(unix)]
#[test]
fn the_demo_leaves_nothing_behind_on_a_full_disk() {
    let world = World::new(&[]);
    // Files may have 20 kB: the history does not fit.
    let outcome = world.run_on_a_full_disk(20, "demo new/works");
    assert_eq!(outcome.status, 1, "{}", outcome.words);
    assert!(
        outcome.words.contains("history.csv: cannot be written: it would be larger than files may be"),
        "{}",
        outcome.words
    );
    assert!(world.names().is_empty(), "{:?}", world.names());
}

/// What people fill in is not replaced unasked: sheets of a round, registers, rejected rows.
#[test]
fn a_file_that_people_work_in_is_replaced_by_force_alone_and_a_copy_is_kept() {
    let bad = HISTORY.to_owned() + "P-1,soon,5,40\n";
    let world = World::new(&[("h.csv", &bad)]);
    for args in [
        &["round", "h.csv", "--as-of", "2026-11-25", "-q", "--format", "csv", "--out"][..],
        &["check", "h.csv", "--as-of", "2026-11-25", "-q", "--register-template"],
        &["check", "h.csv", "--as-of", "2026-11-25", "-q", "--rejects"],
    ] {
        let file = format!("{}.csv", args[args.len() - 1].trim_start_matches('-'));
        let args = [args, &[file.as_str()]].concat();
        assert_eq!(world.run(&args).status, 0);
        let written = world.read(&file);
        // The same bytes again are no replacement.
        assert_eq!((world.run(&args).status, world.run(&args).words.as_str()), (0, ""));
        fs::write(world.path(&file), "filled in").unwrap();
        let run = world.run(&args);
        let words = format!(
            "{file}: this file is there already; nothing was written\n\
             hint: give another name, or use --force, which keeps a copy of the old file\n"
        );
        assert_eq!((run.status, run.words, world.read(&file).as_str()), (2, words, "filled in"));
        let forced: Vec<&str> = args.iter().filter(|arg| **arg != "-q").copied().chain(["--force"]).collect();
        let run = world.run(&forced);
        let words = format!("{file}: written; the previous file is now {file}.bak\n");
        assert!(run.status == 0 && run.words.contains(&words), "{}", run.words);
        assert_eq!((world.read(&file), world.read(&format!("{file}.bak"))), (written, "filled in".to_owned()));
    }
}

#[test]
fn nothing_that_was_read_is_written_over_and_no_two_results_go_into_one_file() {
    let world = World::new(&[("h.csv", HISTORY), ("groundwall.toml", "confidence = 0.8\n"), ("m.csv", HISTORY)]);
    fs::create_dir(world.path("d")).unwrap();
    let refused = |args: &[&str], words: &str| {
        let names = world.names();
        assert_eq!(world.run(&[args, &["-q"]].concat()), Outcome::refused(2, words), "{args:?}");
        assert_eq!(world.names(), names);
    };
    let read = "groundwall.toml: this is an input file; the result would overwrite it\n\
                hint: give the result a name of its own\n";
    refused(&["assess", "h.csv", "--out", "groundwall.toml"], read);
    refused(&["check", "h.csv", "--register-template", "groundwall.toml", "--force"], read);
    refused(&["compare", "h.csv", "m.csv", "--out", "groundwall.toml"], read);
    let twice = |name: &str| {
        format!("{name}: two results would be written into this one file\nhint: give each a name of its own\n")
    };
    let both = |one: &str, other: &str| {
        refused(&["check", "h.csv", "--rejects", one, "--register-template", other], &twice(other));
    };
    both("x.csv", "x.csv");
    both("x.csv", "./x.csv");
    both("x.csv", "d/../x.csv");
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(".", world.path("l")).unwrap();
        both("x.csv", "l/x.csv");
        assert_eq!(
            world.run(&["check", "h.csv", "-q", "--rejects", "/dev/null", "--register-template", "/dev/null"]).status,
            0
        );
    }
    refused(&["replay", "h.csv", "--out", "x.svg", "--chart", "./x.svg"], &twice("./x.svg"));
    for file in ["r/x.html", "./r/deep/x.html"] {
        let run = world.run(&["report", "h.csv", "-q", "--out", "r", "--single", file]);
        let words = format!(
            "{file}: this file would lie in the folder of the report, which has only its own\n\
             hint: give it a place beside that folder\n"
        );
        assert_eq!(run, Outcome::refused(2, &words));
        assert!(!world.path("r").exists());
    }
    let nameless = "the name of what is to be written is empty\nhint: give it a name\n";
    for args in [&["assess", "h.csv", "--out", ""][..], &["check", "h.csv", "--rejects", ""], &["policy", "--out", ""]]
    {
        let run = world.run(&[args, &["-q"]].concat());
        assert_eq!((run.status, run.words.as_str()), (2, nameless), "{args:?}");
    }
}

/// The copy that `add` keeps goes under a name of its own where somebody's file has the usual one.
#[test]
fn a_copy_of_the_master_is_written_over_nothing_of_anybody() {
    let sheet = |day: u32| format!("winding,tested_on,r_60s,winding_temp_c\nP-9,2026-07-{day:02},9,40\n");
    let world = World::new(&[("m.csv", HISTORY), ("m.csv.bak", "mine"), ("m.csv.bak2", &sheet(1))]);
    let add = |sheet: &str| world.run(&["add", sheet, "--to", "m.csv", "--as-of", "2026-11-25"]);
    assert!(add("m.csv.bak2").out.ends_with("the previous master is m.csv.bak3\n"));
    assert_eq!(
        (world.read("m.csv.bak").as_str(), world.read("m.csv.bak2"), world.read("m.csv.bak3").as_str()),
        ("mine", sheet(1), HISTORY)
    );
    // An earlier state of the master makes room for the next.
    fs::write(world.path("s.csv"), sheet(2)).unwrap();
    let before = world.read("m.csv");
    assert!(add("s.csv").out.ends_with("the previous master is m.csv.bak3\n"));
    assert_eq!(world.read("m.csv.bak3"), before);
    // Here the sheet has the name, and holds what the master begins with.
    let world = World::new(&[
        ("m.csv", &(HISTORY.to_owned() + "P-2,2026-08-05,5,40\n")),
        ("m.csv.bak", HISTORY),
        ("s.csv", &sheet(3)),
    ]);
    let run = world.run(&["add", "s.csv", "m.csv.bak", "--to", "m.csv", "--as-of", "2026-11-25"]);
    let words = "m.csv.bak: this file is read, and the copy of the master would be written over it\nhint: give it another name\n";
    assert_eq!(run, Outcome::refused(2, words));
    assert_eq!((world.read("m.csv.bak").as_str(), world.names().len()), (HISTORY, 4));
    #[cfg(unix)]
    {
        let world = World::new(&[("m.csv", HISTORY), ("s.csv", &sheet(4)), ("victim", HISTORY)]);
        std::os::unix::fs::symlink("victim", world.path("m.csv.bak")).unwrap();
        assert!(std::process::Command::new("mkfifo").arg(world.path("m.csv.bak2")).status().unwrap().success());
        let run = world.run(&["add", "s.csv", "--to", "m.csv", "--as-of", "2026-11-25"]);
        assert!(run.out.ends_with("the previous master is m.csv.bak3\n"), "{}{}", run.out, run.words);
        assert!(world.path("m.csv.bak").is_symlink() && world.read("victim") == HISTORY);
    }
}

/// A run that was killed leaves some of the files of the demo; the next one completes them.
#[test]
fn the_demo_completes_what_a_killed_run_left() {
    let world = World::new(&[]);
    assert_eq!(world.run(&["demo", "d", "-q"]).status, 0);
    let history = world.read("d/history.csv");
    fs::remove_file(world.path("d/history.csv")).unwrap();
    fs::write(world.path("d/.history.csv.groundwall-part"), "half").unwrap();
    assert_eq!(world.run(&["demo", "d", "-q"]), Outcome::printed(0, ""));
    assert_eq!(world.read("d/history.csv"), history);
    assert!(!world.path("d/.history.csv.groundwall-part").exists());
    fs::write(world.path("d/policy.toml"), "mine").unwrap();
    let words = "d/policy.toml: this file is there already; nothing was written\n\
                 hint: name another folder; it is made if there is none\n";
    assert_eq!(world.run(&["demo", "d", "-q"]), Outcome::refused(2, words));
}

/// A register, notes or a history is not a result, whatever its name.
#[test]
fn what_is_no_result_is_not_replaced_without_force() {
    let results: [&[&str]; 4] = [
        &["assess", "h.csv", "--format", "csv"],
        &["explain", "h.csv", "--winding", "P-1"],
        &["compare", "h.csv", "--since", "2026-08-24"],
        &["chart", "h.csv", "--kind", "fleet"],
    ];
    for result in results {
        let name = if result[0] == "chart" { "x.svg" } else { "x.csv" };
        let world = World::new(&[("h.csv", HISTORY), (name, "winding,rated_volts\nP-1,400\n")]);
        let run = |more: &[&str]| world.run(&[result, &["--as-of", "2026-11-25", "-q", "--out", name], more].concat());
        let words = format!(
            "{name}: this file exists and is not a result of the same kind; nothing was written\n\
             hint: give another name, or use --force, which keeps a copy of the old file\n"
        );
        assert_eq!(run(&[]), Outcome::refused(2, &words), "{result:?}");
        assert_eq!(world.read(name), "winding,rated_volts\nP-1,400\n");
        assert_eq!(run(&["--force"]).status, 0, "{result:?}");
        assert_eq!(world.read(&format!("{name}.bak")), "winding,rated_volts\nP-1,400\n");
        let first = world.read(name);
        assert_eq!(run(&[]).status, 0, "a result is replaced: {result:?} {first}");
        assert_eq!(world.names(), ["h.csv", name, &format!("{name}.bak")]);
    }
}

#[test]
fn every_form_of_a_result_is_known_for_one() {
    for form in ["table", "json", "csv", "xlsx", "html"] {
        for by in ["series", "motor"] {
            let world = World::new(&[("h.csv", HISTORY)]);
            let run = || world.run(&["assess", "h.csv", "-q", "--format", form, "--by", by, "--out", "x"]);
            assert_eq!((run().status, run().words.as_str()), (0, ""), "{form} {by}");
        }
    }
}

/// What people fill in, and results of other kinds, stay where a result would replace them.
#[test]
fn a_result_replaces_results_of_its_own_kind_alone() {
    let history: String = (1..10).map(|month| format!("P-1,2026-{month:02}-05,{},40\n", 500 - month)).collect();
    let world = World::new(&[("h.csv", &format!("winding,tested_on,r_60s,winding_temp_c\n{history}"))]);
    let made = |args: &[&str]| world.run(&[args, &["--as-of", "2026-11-25", "-q"]].concat());
    for (args, file) in [
        (&["round", "h.csv", "--format", "xlsx", "--out", "r.xlsx"][..], "r.xlsx"),
        (&["round", "h.csv", "--format", "html", "--out", "r.html"], "r.html"),
        (&["round", "h.csv", "--format", "json", "--out", "r.json"], "r.json"),
        (&["assess", "h.csv", "--save-priors", "p.json", "--out", "a.txt"], "p.json"),
        (&["replay", "h.csv", "--format", "json", "--out", "y.json"], "y.json"),
        (&["check", "h.csv", "--rejects", "j.csv"], "j.csv"),
    ] {
        assert_eq!(made(args).status, 0, "{args:?}");
        let before = fs::read(world.path(file)).unwrap();
        for form in ["csv", "xlsx", "html", "json"] {
            let words = format!(
                "{file}: this file exists and is not a result of the same kind; nothing was written\n\
                 hint: give another name, or use --force, which keeps a copy of the old file\n"
            );
            let run = made(&["assess", "h.csv", "--format", form, "--out", file]);
            assert_eq!(run, Outcome::refused(2, &words), "{file} {form}");
        }
        assert_eq!(fs::read(world.path(file)).unwrap(), before, "{file}");
    }
    let names = world.names();
    assert!(!names.iter().any(|name| name.contains("bak") || name.starts_with('.')), "{names:?}");
}

/// A run that writes no report leaves no lock; one that was there stays.
#[test]
fn a_refused_report_leaves_no_lock() {
    let world = World::new(&[("h.csv", HISTORY), ("mine.txt", "mine")]);
    let refused = |input: &str, out: &str| {
        assert_eq!(world.run(&["report", input, "--out", out, "-q"]).status, 2);
        world.names()
    };
    assert_eq!(refused("h.csv", "mine.txt"), ["h.csv", "mine.txt"]);
    assert_eq!(refused("none.csv", "r"), ["h.csv", "mine.txt"]);
    assert_eq!(world.run(&REPORT).status, 0);
    assert_eq!(refused("none.csv", "r"), [".r.lock", "h.csv", "mine.txt", "r"]);
}

#[test]
fn neither_completions_nor_settings_are_written_over() {
    let world = World::new(&[("h.csv", HISTORY), ("m.csv", "mine"), ("groundwall.toml", "")]);
    assert_eq!(
        world.run(&["completions", "bash", "--out", "m.csv"]),
        Outcome::refused(
            2,
            "m.csv: this file is there already; nothing was written\n\
             hint: give another name, or use --force, which keeps a copy of the old file\n"
        )
    );
    let words = "groundwall.toml: this is the name of the settings, and no result is written over them\n\
                 hint: give the result a name of its own\n";
    for force in [&[][..], &["--force"]] {
        let args = ["assess", "h.csv", "--no-config", "-q", "--out", "groundwall.toml"];
        assert_eq!(world.run(&[&args, force].concat()), Outcome::refused(2, words));
    }
    assert_eq!((world.read("m.csv"), world.read("groundwall.toml")), ("mine".to_owned(), String::new()));
}

/// A link in a report would become a file, and the file with a second name would part from it.
#[cfg(unix)]
#[test]
fn a_report_with_a_link_in_it_is_not_replaced() {
    let world = World::new(&[("h.csv", HISTORY), ("theirs.html", "")]);
    let report = || world.run(&["report", "h.csv", "--as-of", "2026-11-25", "-q", "--out", "r"]);
    assert_eq!(report().status, 0);
    let page = world.path("r/index.html");
    let refused = "r: index.html is a link or has a second name, which would be lost; a report only replaces a report that is as it was \
                   written\nhint: give another folder, or first move the files to be kept\n";
    fs::hard_link(&page, world.path("second.html")).unwrap();
    assert_eq!(report(), Outcome::refused(2, refused));
    fs::remove_file(&page).unwrap();
    std::os::unix::fs::symlink(world.path("second.html"), &page).unwrap();
    assert_eq!(report(), Outcome::refused(2, refused));
    assert!(page.is_symlink());
}
