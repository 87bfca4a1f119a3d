//! Help that teaches: it fits a page, names units and ranges, and its commands and options are those there are.

use crate::world::World;

/// Columns that help may take.
const WIDTH: usize = 100;

/// The commands as the program lists them.
pub(crate) fn commands(world: &World) -> Vec<String> {
    let help = world.run(&["-h"]).out;
    let listed = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    // What is said of a command may go on in the next line, far from the edge.
    let names = listed.filter(|line| !line.starts_with("   ")).filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

#[test]
fn help_fits_and_has_an_example_that_names_the_command() {
    let world = World::new(&[]);
    let commands = commands(&world);
    assert!(commands.len() >= 9, "{commands:?}");
    for command in &commands {
        for flag in ["-h", "--help"] {
            let run = world.run(&[command, flag]);
            assert_eq!((run.status, run.words.as_str()), (0, ""), "{command} {flag}");
            let long: Vec<&str> = run.out.lines().filter(|line| line.chars().count() > WIDTH).collect();
            assert_eq!(long, Vec::<&str>::new(), "{command} {flag}");
            let example = run.out.lines().skip_while(|line| !line.starts_with("Example")).nth(1).unwrap_or_default();
            assert!(example.starts_with(&format!("  groundwall {command}")), "{command} {flag}: {example}");
        }
        assert!(world.run(&["help", command]).out.contains("Usage: groundwall"), "{command}");
    }
}

/// The first line of an option and what is said of it.
fn options(help: &str) -> Vec<(String, String)> {
    let mut options: Vec<(String, String)> = Vec::new();
    for line in help.lines().take_while(|line| !line.starts_with("Example")) {
        let text = line.trim();
        if text.starts_with('-') && line.len() - text.len() <= 6 {
            options.push((text.to_owned(), String::new()));
        } else if line.starts_with("          ")
            && let Some((_, said)) = options.last_mut()
        {
            said.push_str(text);
            said.push(' ');
        }
    }
    options
}

#[test]
fn every_quantity_has_its_unit_or_range() {
    let world = World::new(&[]);
    let mut seen = 0;
    for command in commands(&world) {
        for (option, said) in options(&world.run(&[&command, "--help"]).out) {
            let words: &[&str] = match option.split('<').nth(1).map(|name| name.trim_end_matches('>')) {
                Some("TEMPERATURE") => &["°C"],
                Some("RESISTANCE") => &["MΩ"],
                Some("VOLTS") => &[" V"],
                Some("KELVINS") => &["kelvins", " to "],
                Some("PERCENT") => &["%", " to "],
                Some("FRACTION" | "YEAR" | "DAYS") => &[" to "],
                _ => continue,
            };
            seen += 1;
            for word in words {
                assert!(said.contains(word), "{command} {option}: {said}");
            }
        }
    }
    assert!(seen > 10, "{seen}");
}

#[test]
fn every_option_is_explained() {
    let world = World::new(&[]);
    for command in commands(&world) {
        for (option, said) in options(&world.run(&[&command, "--help"]).out) {
            // Where all texts are short they stand on the line of the option.
            assert!(!said.trim().is_empty() || option.contains("  "), "{command} {option}");
        }
    }
}
