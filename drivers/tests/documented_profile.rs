//! The first profile of `docs/profile.md` is valid, and the page names every key.

use std::path::PathBuf;

use benchhand_drivers::Profile;
use benchhand_drivers::profile::BUILT_IN;

fn page() -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../docs/profile.md");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn the_first_profile_of_the_page_proves_itself() {
    let page = page();
    let (_, rest) = page.split_once("```toml\n").unwrap();
    let (text, _) = rest.split_once("```").unwrap();
    let profile = Profile::parse(text, "docs/profile.md").unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(profile.check_captures(), Ok(1));
}

#[test]
fn every_key_that_a_shipped_profile_uses_is_explained() {
    let page = page();
    for (file, text) in BUILT_IN {
        for line in text.lines() {
            let Some((key, _)) = line.split_once('=') else {
                continue;
            };
            let key = key.trim();
            let is_key = key.chars().all(|c| c.is_ascii_lowercase() || c == '_');
            if is_key && !key.is_empty() {
                let named =
                    page.contains(&format!("`{key}`")) || page.contains(&format!("{key} = "));
                assert!(
                    named,
                    "{file} uses `{key}`, which docs/profile.md does not explain"
                );
            }
        }
    }
}
