//! What the README names exists: commands, options, files.

use crate::help::commands;
use crate::world::{World, demo};
use std::collections::BTreeSet;

fn readme() -> String {
    std::fs::read_to_string(demo("../README.md")).unwrap()
}

/// Texts between single back-quotes outside of blocks.
fn quoted(text: &str) -> Vec<&str> {
    let prose = text.split("```").step_by(2);
    prose.flat_map(|part| part.split('`').skip(1).step_by(2)).collect()
}

/// The words of a text that look like options.
fn options(text: &str) -> BTreeSet<String> {
    let word = |word: &str| word.trim_matches(|c: char| !c.is_ascii_alphanumeric() && c != '-').to_owned();
    text.split_whitespace().map(word).filter(|word| word.starts_with("--") && word.len() > 2).collect()
}

#[test]
fn every_option_it_names_is_one() {
    let world = World::new(&[]);
    let known: BTreeSet<String> =
        commands(&world).iter().flat_map(|command| options(&world.run(&[command, "--help"]).out)).collect();
    let named: BTreeSet<String> = quoted(&readme()).iter().flat_map(|text| options(text)).collect();
    assert!(named.len() >= 6, "{named:?}");
    assert_eq!(named.difference(&known).collect::<Vec<_>>(), Vec::<&String>::new());
}

#[test]
fn the_table_of_commands_has_them_all() {
    let text = readme();
    let table = text.split("## The commands").nth(1).unwrap().split("\n\n").nth(1).unwrap();
    let listed: BTreeSet<String> = table
        .lines()
        .skip(2)
        .flat_map(|line| quoted(line.split('|').nth(1).unwrap()))
        .filter_map(|entry| entry.split_whitespace().next())
        .map(str::to_owned)
        .collect();
    assert_eq!(listed, commands(&World::new(&[])).into_iter().collect());
}

#[test]
fn its_commands_run_as_they_stand() {
    let world = World::new(&[]);
    let text = readme();
    let mut ran = 0;
    for block in text.split("```sh\n").skip(1).filter_map(|rest| rest.split("```").next()) {
        let Some(line) = block.trim().strip_prefix("cargo run --release --locked -- ") else { continue };
        // Words in quotes stay together; paths start at the top of the project, and pictures go into the test's folder.
        let args: Vec<String> = line
            .split('"')
            .enumerate()
            .flat_map(|(i, part)| match i % 2 {
                0 => part.split_whitespace().map(str::to_owned).collect(),
                _ => vec![part.to_owned()],
            })
            .map(|arg| arg.strip_prefix("data-demo/").map(demo).unwrap_or(arg))
            .collect();
        let run = world.run(&args.iter().map(String::as_str).collect::<Vec<_>>());
        assert_eq!(run.status, 0, "{line}\n{}", run.words);
        ran += 1;
    }
    assert!(ran >= 2, "{ran}");
    assert_eq!(
        world.names(),
        [".report.lock", "a-212.png", "fleet.png", "r-201-absorption.png", "r-203-phases.png", "report"]
    );
}

#[test]
fn its_links_lead_somewhere() {
    let text = readme();
    let links = text.split("](").skip(1).filter_map(|rest| rest.split(')').next());
    let inside: Vec<&str> = links.filter(|link| !link.contains("://")).collect();
    assert!(!inside.is_empty());
    for link in inside {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(link.split('#').next().unwrap());
        assert!(path.exists(), "{link}");
    }
}
