//! Every command has an example in its help, and every example is a command line that is understood.
//! `cli/tests/examples.rs` runs them.

use clap::{CommandFactory as _, Parser as _};

use super::Cli;

/// Every command with its path and its help's end.
fn every(command: &clap::Command, path: &str, found: &mut Vec<(String, String)>) {
    let after = command.get_after_help().map(ToString::to_string);
    found.push((path.to_owned(), after.unwrap_or_default()));
    for one in command.get_subcommands() {
        every(one, &format!("{path} {}", one.get_name()), found);
    }
}

fn commands() -> Vec<(String, String)> {
    let mut found = Vec::new();
    every(&Cli::command(), "benchhand", &mut found);
    found
}

/// The command lines of an example's block: they are indented, and begin with the program's name.
fn lines(after: &str) -> impl Iterator<Item = &str> {
    after
        .lines()
        .filter_map(|line| line.strip_prefix("  "))
        .filter(|line| line.starts_with("benchhand "))
}

/// The words of a line as a shell gives them, up to where the line leads its output elsewhere.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().expect("a word").push(letter),
        }
    }
    assert!(!quoted, "{line} leaves a quotation open");
    let end = words.iter().position(|word| word == ">" || word == "|");
    words.truncate(end.unwrap_or(words.len()));
    words
}

#[test]
fn every_command_has_an_example_of_itself() {
    for (path, after) in commands() {
        assert!(
            after.starts_with("Example:\n  ") || after.starts_with("Examples:\n  "),
            "the help of {path:?} has no example at its end: {after:?}"
        );
        // A control of a route stands behind the job's name.
        let typed = path.replace("steer ", "steer number-12 ");
        assert!(
            lines(&after).any(|line| line.starts_with(&typed)),
            "no example of {path:?} begins with it: {after:?}"
        );
    }
}

#[test]
fn every_example_is_understood() {
    let mut tried = 0;
    for (path, after) in commands() {
        for line in lines(&after) {
            if let Err(error) = Cli::try_parse_from(words(line)) {
                panic!("{path}: {line}: {error}");
            }
            tried += 1;
        }
    }
    assert!(tried > 80, "only {tried} examples were found");
}
