//! Completions: every shell gets a script, and in bash it really completes.

use crate::help::commands;
use crate::world::World;
use std::process::Command;

#[test]
fn every_shell_has_a_script_that_names_all_commands() {
    let world = World::new(&[]);
    let commands = commands(&world);
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let run = world.run(&["completions", shell]);
        assert_eq!((run.status, run.words.as_str()), (0, ""), "{shell}");
        for command in &commands {
            assert!(run.out.contains(command.as_str()), "{shell} {command}");
        }
    }
}

/// What bash offers behind these words; none where there is no bash.
fn offered(words: &[&str]) -> Option<Vec<String>> {
    let world = World::new(&[]);
    assert_eq!(world.run(&["completions", "bash", "--out", "c.bash"]).status, 0);
    let line = words.iter().map(|word| format!("'{word}'")).collect::<Vec<_>>().join(" ");
    let script = format!(
        "source c.bash; COMP_WORDS=({line}); COMP_CWORD={}; _groundwall groundwall \"${{COMP_WORDS[COMP_CWORD]}}\" \
         \"${{COMP_WORDS[COMP_CWORD-1]}}\"; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
        words.len() - 1
    );
    let output = Command::new("bash").current_dir(world.path("")).args(["-c", &script]).output().ok()?;
    Some(String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect())
}

#[test]
fn bash_completes_commands_options_and_words() {
    let Some(commands) = offered(&["groundwall", "ro"]) else { return };
    assert_eq!(commands, ["round"]);
    assert_eq!(offered(&["groundwall", "round", "--unt"]).unwrap(), ["--until"]);
    assert_eq!(offered(&["groundwall", "round", "--format", ""]).unwrap(), ["table", "csv", "xlsx", "html", "json"]);
}
