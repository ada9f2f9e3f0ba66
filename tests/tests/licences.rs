//! What is built in on this platform: every library comes from the public registry and under a licence that
//! `deny.toml` allows. `cargo deny check` says the same and looks for advisories too, but takes
//! minutes to build.

use std::process::Command;

use benchhand_tests::tree::{root, text};
use serde_json::Value;

/// This machine's platform, as the compiler calls it.
fn platform() -> String {
    let out = Command::new("rustc")
        .arg("-vV")
        .output()
        .expect("rustc runs");
    let told = String::from_utf8_lossy(&out.stdout).into_owned();
    let host = told.lines().find_map(|line| line.strip_prefix("host: "));
    host.expect("rustc names its host").to_owned()
}

/// The packages that are built on this platform, as cargo tells them. Those of other platforms need
/// not have been fetched.
fn packages() -> Vec<Value> {
    let out = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline"])
        .args(["--filter-platform", &platform()])
        .current_dir(root())
        .output()
        .expect("cargo runs");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let told: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    told["packages"].as_array().expect("packages").clone()
}

/// The licences that `deny.toml` allows.
fn allowed() -> Vec<String> {
    let deny: toml::Table = toml::from_str(&text(&root().join("deny.toml"))).expect("TOML");
    let allow = deny["licenses"]["allow"].as_array().expect("a list");
    let words = allow.iter().filter_map(|one| one.as_str());
    words.map(str::to_owned).collect()
}

/// Whether what is allowed satisfies a licence's expression (SPDX; the slash of older packages means
/// "or").
fn is_allowed(expression: &str, allowed: &[String]) -> bool {
    let mode = spdx::ParseMode::LAX;
    let parsed = spdx::Expression::parse_mode(expression, mode);
    let parsed = parsed.unwrap_or_else(|error| panic!("{expression}: {error}"));
    parsed.evaluate(|one| allowed.contains(&one.to_string()))
}

#[test]
fn every_library_has_an_allowed_licence_and_comes_from_the_registry() {
    let allowed = allowed();
    let mut libraries = 0;
    for package in packages() {
        let name = package["name"].as_str().expect("a name");
        let Some(source) = package["source"].as_str() else {
            let own = package["manifest_path"].as_str().expect("a path");
            assert!(own.starts_with(root().to_str().expect("UTF-8")), "{own}");
            continue;
        };
        assert_eq!(
            source, "registry+https://github.com/rust-lang/crates.io-index",
            "{name} comes from elsewhere"
        );
        let licence = package["license"].as_str().unwrap_or_default();
        assert!(!licence.is_empty(), "{name} states no licence");
        assert!(is_allowed(licence, &allowed), "{name}: {licence}");
        libraries += 1;
    }
    assert!(libraries > 100, "{libraries} libraries");
}

#[test]
fn a_licence_that_nobody_allowed_is_told() {
    let allowed = ["MIT".to_owned(), "Apache-2.0".to_owned()];
    assert!(is_allowed("MIT OR Apache-2.0", &allowed));
    assert!(is_allowed("MIT/Apache-2.0", &allowed));
    assert!(is_allowed("GPL-3.0-only OR MIT", &allowed));
    assert!(!is_allowed("GPL-3.0-only", &allowed));
    assert!(!is_allowed("MIT AND GPL-3.0-only", &allowed));
}
