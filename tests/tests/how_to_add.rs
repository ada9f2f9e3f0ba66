//! What DEVELOPERS.md says under "How to add" is what an example of each takes: every paragraph has
//! a patch in `tests/how_to_add/` that fits the sources, and both name the same files. `.ci/long`
//! applies the patches to a copy and runs the whole suite there.

use std::process::Command;

use benchhand_testbed::needed;
use benchhand_tests::tree::{files, from_root, root, text};

/// The example of each paragraph, by the paragraph's first words.
const EXAMPLES: &[(&str, &str)] = &[
    ("a profile", "profile"),
    ("a field of a profile", "profile-field"),
    ("a measured quantity", "quantity"),
    ("a question at a stop", "stop-question"),
    ("a question to the figures", "question"),
    ("a route", "route"),
    ("a request", "request"),
];

/// The paragraphs of the section, each with its first words, which are bold.
fn paragraphs() -> Vec<(String, String)> {
    let page = text(&root().join("DEVELOPERS.md"));
    let (_, rest) = page.split_once("## How to add").expect("the section");
    let (section, _) = rest.split_once("\n## ").expect("a section after it");
    let told = |paragraph: &str| {
        let (what, how) = paragraph.strip_prefix("**")?.split_once("**")?;
        Some((what.to_owned(), how.to_owned()))
    };
    section.split("\n\n").filter_map(told).collect()
}

/// The files and folders that a paragraph names.
fn named(paragraph: &str) -> Vec<&str> {
    let words = paragraph.split('`').skip(1).step_by(2);
    let is_path = |word: &&str| word.contains('/') && !word.contains(' ');
    words.filter(is_path).collect()
}

/// The files that a patch changes or adds.
fn touched(patch: &str) -> Vec<&str> {
    let files = patch.lines().filter_map(|line| line.strip_prefix("+++ b/"));
    files.collect()
}

/// Whether a name is that of the file, or of a folder around it.
fn covers(name: &str, file: &str) -> bool {
    name == file || name.ends_with('/') && file.starts_with(name)
}

/// Tests stand beside what they test and need not be named.
fn is_test(file: &str) -> bool {
    file.contains("/tests/") || file.starts_with("tests/") || file.ends_with("_tests.rs")
}

fn patch_of(example: &str) -> String {
    text(&root().join(format!("tests/how_to_add/{example}.patch")))
}

#[test]
fn every_paragraph_has_an_example_and_every_example_a_paragraph() {
    let mut told: Vec<String> = paragraphs()
        .into_iter()
        .filter(|(_, how)| !how.starts_with(" (no example)"))
        .map(|(what, _)| what)
        .collect();
    let mut shown: Vec<&str> = EXAMPLES.iter().map(|(what, _)| *what).collect();
    told.sort_unstable();
    shown.sort_unstable();
    assert_eq!(told, shown);
    let mut kept: Vec<String> = files(&root().join("tests/how_to_add"), ".patch")
        .iter()
        .map(|path| from_root(path))
        .collect();
    let mut known: Vec<String> = EXAMPLES
        .iter()
        .map(|(_, example)| format!("tests/how_to_add/{example}.patch"))
        .collect();
    kept.sort_unstable();
    known.sort_unstable();
    assert_eq!(kept, known);
}

#[test]
fn a_paragraph_names_what_its_example_takes_and_nothing_else() {
    let paragraphs = paragraphs();
    for (what, example) in EXAMPLES {
        let (_, how) = paragraphs
            .iter()
            .find(|(told, _)| told == what)
            .expect(what);
        let (names, patch) = (named(how), patch_of(example));
        let files = touched(&patch);
        assert!(!names.is_empty() && !files.is_empty(), "{what}");
        for file in files.iter().filter(|file| !is_test(file)) {
            assert!(
                names.iter().any(|name| covers(name, file)),
                "{what}: the example changes {file}, which the paragraph does not name"
            );
        }
        for name in names {
            assert!(
                files.iter().any(|file| covers(name, file)),
                "{what}: the paragraph names {name}, which the example does not change"
            );
        }
        assert!(
            files.iter().any(|file| is_test(file)) || *example == "profile",
            "{what}: the example has no test of its own, and none that reads every one"
        );
    }
}

#[test]
fn every_example_fits_the_sources() {
    if !needed::is_here("git", needed::on_path("git").is_some()) {
        return;
    }
    for (what, example) in EXAMPLES {
        let patch = format!("tests/how_to_add/{example}.patch");
        let ran = Command::new("git")
            .args(["apply", "--check", &patch])
            .current_dir(root())
            .output()
            .expect("git runs");
        assert!(
            ran.status.success(),
            "{what}: {patch} fits no more; make it anew as DEVELOPERS.md says\n{}",
            String::from_utf8_lossy(&ran.stderr)
        );
    }
}
