//! The pages for people: their commands run on their files, their sentences are what the program says, their links lead
//! somewhere.
//!
//! A block ```` ```csv NAME ```` or ```` ```toml NAME ```` is a file; a block ```` ```sh ```` is typed in the folder of the page's
//! files; a block ```` ```text part ```` behind it is a part of what the last command said; ```` ```text picture ```` shows a layout.

use crate::world::{World, demo};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn folder(place: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(place).join("guide")
}

/// All pages: where they stand, and their text.
fn pages() -> Vec<(PathBuf, String)> {
    let mut pages: Vec<(PathBuf, String)> = ["core", "cli"]
        .iter()
        .flat_map(|place| std::fs::read_dir(folder(place)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
        .map(|path| (path.clone(), std::fs::read_to_string(path).unwrap()))
        .collect();
    pages.sort();
    pages
}

/// The fenced blocks of a page: what is after the fence, and the text.
fn blocks(page: &str) -> Vec<(&str, &str)> {
    page.split("```").skip(1).step_by(2).filter_map(|block| block.split_once('\n')).collect()
}

/// The words of a command; what is between quotes stays together.
fn words(line: &str) -> Vec<&str> {
    line.split('"')
        .enumerate()
        .flat_map(|(i, part)| if i % 2 == 0 { part.split_whitespace().collect() } else { vec![part] })
        .collect()
}

#[test]
fn their_commands_run_and_say_what_is_shown() {
    let (mut ran, mut shown) = (0, 0);
    for (path, page) in pages() {
        let world = World::new(&[]);
        let mut said = String::new();
        for (kind, text) in blocks(&page) {
            match kind.split_whitespace().collect::<Vec<_>>()[..] {
                ["csv" | "toml", name] => std::fs::write(world.path(name), text).unwrap(),
                ["sh"] => {
                    for line in text.lines() {
                        let args = words(line);
                        assert_eq!(args[0], "groundwall", "{}: {line}", path.display());
                        let run = world.run(&args[1..]);
                        assert_eq!(run.status, 0, "{}: {line}\n{}", path.display(), run.words);
                        said = run.out + &run.words;
                        ran += 1;
                    }
                }
                ["text", "part"] => {
                    assert!(said.contains(text.trim_end()), "{}: {text}is no part of\n{said}", path.display());
                    shown += 1;
                }
                ["text", "picture"] => {}
                // What is left are examples in Rust, which run with the documentation of their crate.
                _ => assert_eq!(kind, "rust", "{}", path.display()),
            }
        }
    }
    assert!(ran >= 12 && shown >= 4, "{ran} {shown}");
}

#[test]
fn the_example_of_every_finding_is_a_sentence_that_the_program_says() {
    let world = World::new(&[]);
    let beside = |name: &str| folder("core").join(name).to_string_lossy().into_owned();
    let mut said: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (history, register) in
        [(demo("history.csv"), demo("register.csv")), (beside("findings-history.csv"), beside("findings-register.csv"))]
    {
        let args = ["assess", &history, "--register", &register, "--as-of", "2026-11-25", "--format", "json", "-q"];
        let result: serde_json::Value = serde_json::from_str(&world.run(&args).out).unwrap();
        for finding in result["series"].as_array().unwrap().iter().flat_map(|one| one["findings"].as_array().unwrap()) {
            let text = |key: &str| finding[key].as_str().unwrap().to_owned();
            let sentence = format!("> {}\n>\n> Source: {}\n", text("message"), text("source"));
            said.entry(text("code")).or_default().push(sentence);
        }
    }
    let page = std::fs::read_to_string(folder("core").join("findings.md")).unwrap();
    let mut checked = 0;
    for part in page.split("\n## `").skip(1).filter(|part| part.contains("\n> ")) {
        let code = part.split('`').next().unwrap();
        assert!(said.contains_key(code), "no example has {code}");
        let sentences = &said[code];
        assert!(sentences.iter().any(|sentence| part.contains(sentence)), "{code}: none of {sentences:?}");
        checked += 1;
    }
    assert_eq!(checked, 58);
}

#[test]
fn their_links_lead_somewhere() {
    let mut seen = 0;
    for (path, page) in pages() {
        let inline = page.split("](").skip(1).filter_map(|rest| rest.split(')').next());
        let below = page.lines().filter_map(|line| line.strip_prefix('[')?.split_once("]: ")).map(|(_, link)| link);
        for link in inline.chain(below).filter(|link| !link.contains("://")) {
            assert!(path.parent().unwrap().join(link).exists(), "{}: {link}", path.display());
            seen += 1;
        }
    }
    assert!(seen >= 6, "{seen}");
}
