//! Conventions kept by a test, not by memory: who may depend on whom, who may name what, how
//! large a file may grow, and that pages name files that exist.

use std::collections::BTreeMap;

use benchhand_tests::tree::{files, from_root, root, text};

/// Which of our packages each package may depend on, outside its tests.
const MAY_DEPEND_ON: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("toml-places", &[]),
    ("drivers", &["benchhand-units", "benchhand-toml-places"]),
    ("drivers/find", &["benchhand-drivers"]),
    ("blueprint", &["benchhand-units", "benchhand-toml-places"]),
    ("daemon/wire", &[]),
    ("daemon/files", &[]),
    ("daemon/proof", &[]),
    ("daemon/shop", &[]),
    (
        "daemon/wire/openapi",
        &["benchhand-wire", "benchhand-blueprint"],
    ),
    (
        "daemon",
        &[
            "benchhand-wire",
            "benchhand-files",
            "benchhand-drivers",
            "benchhand-find",
            "benchhand-toml-places",
            "benchhand-blueprint",
            "benchhand-pages",
            "benchhand-proof",
            "benchhand-sheets",
            "benchhand-shop",
            "benchhand-words",
            "benchhand-workbook",
        ],
    ),
    (
        "cli",
        &[
            "benchhand-proof",
            "benchhand-wire",
            "benchhand-blueprint",
            "benchhand-words",
            "benchhand-workbook",
            "benchhand-daemon",
        ],
    ),
    (
        "daemon/workbook",
        &["benchhand-blueprint", "benchhand-wire", "benchhand-words"],
    ),
    ("daemon/words", &["benchhand-wire", "benchhand-blueprint"]),
    (
        "daemon/pages",
        &["benchhand-blueprint", "benchhand-wire", "benchhand-words"],
    ),
    (
        "daemon/sheets",
        &["benchhand-blueprint", "benchhand-wire", "benchhand-words"],
    ),
    ("testbed", &["benchhand-drivers", "benchhand-files"]),
];

/// Crates that a room must not even know of.
const MUST_NOT_DEPEND_ON: &[(&str, &[&str])] = &[
    ("drivers", &["tokio", "axum", "sled", "ureq"]),
    (
        "drivers/find",
        &["tokio", "axum", "sled", "ureq", "serialport"],
    ),
    (
        "blueprint",
        &[
            "tokio",
            "axum",
            "sled",
            "serialport",
            "rustix",
            "jiff",
            "ureq",
        ],
    ),
    ("daemon/words", &["tokio", "axum", "ureq"]),
    ("daemon/pages", &["tokio", "axum", "ureq"]),
    ("daemon/workbook", &["tokio", "axum", "ureq"]),
    ("daemon/sheets", &["tokio", "axum", "ureq"]),
    (
        "daemon/shop",
        &["axum", "sled", "ureq", "serde", "serde_json", "jiff"],
    ),
    ("cli", &["serialport", "sled", "tokio-postgres"]),
    ("daemon", &["tokio-postgres"]),
];

fn manifest(room: &str) -> toml::Table {
    let path = root().join(room).join("Cargo.toml");
    text(&path)
        .parse()
        .unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn dependencies(room: &str) -> Vec<String> {
    let manifest = manifest(room);
    let mut names: Vec<String> = Vec::new();
    let mut take = |table: Option<&toml::Value>| {
        let table = table.and_then(toml::Value::as_table);
        names.extend(table.into_iter().flat_map(|t| t.keys().cloned()));
    };
    take(manifest.get("dependencies"));
    take(manifest.get("build-dependencies"));
    for target in manifest
        .get("target")
        .and_then(toml::Value::as_table)
        .into_iter()
        .flatten()
    {
        take(target.1.get("dependencies"));
    }
    names
}

#[test]
fn dependencies_run_one_way() {
    for (room, allowed) in MAY_DEPEND_ON {
        for name in dependencies(room)
            .iter()
            .filter(|n| n.starts_with("benchhand"))
        {
            assert!(
                allowed.contains(&name.as_str()),
                "{room} must not depend on {name}"
            );
        }
    }
    for (room, forbidden) in MUST_NOT_DEPEND_ON {
        for name in dependencies(room) {
            assert!(
                !forbidden.contains(&name.as_str()),
                "{room} must not depend on {name}"
            );
        }
    }
    // The schemas are asked for only where the API's description is made.
    for room in ["daemon/wire", "blueprint", "units"] {
        let asked_for = &manifest(room)["dependencies"]["schemars"]["optional"];
        assert_eq!(asked_for.as_bool(), Some(true), "{room}");
    }
    for room in ["daemon", "cli", "tests"] {
        let manifest = manifest(room).to_string();
        assert!(!manifest.contains("schema"), "{room} asks for the schemas");
    }
    let mut wire = dependencies("daemon/wire");
    wire.retain(|name| name != "schemars");
    assert!(
        wire.iter().all(|n| n.starts_with("serde")),
        "the wire's types are serde only, found {wire:?}"
    );
}

/// The source files below `folder` in whose code (comments left out) `word` occurs.
fn naming(folder: &str, word: &str) -> Vec<String> {
    let of_code = |line: &&str| !line.trim_start().starts_with("//");
    files(&root().join(folder), ".rs")
        .into_iter()
        .filter(|path| {
            text(path)
                .lines()
                .filter(of_code)
                .any(|line| line.contains(word))
        })
        .map(|path| from_root(&path))
        .collect()
}

#[test]
fn only_the_serial_transport_names_the_serial_crate() {
    for room in ["drivers/src", "drivers/find", "daemon", "cli", "blueprint"] {
        let allowed = ["drivers/src/transport/serial.rs"];
        let found = naming(room, "serialport::");
        assert!(
            found.iter().all(|f| allowed.contains(&f.as_str())),
            "{found:?}"
        );
    }
}

#[test]
fn only_one_file_names_the_database_crate() {
    // The file itself is called after the crate, so the crate's own words are looked for.
    let mut found = naming("daemon/src", "sled::Config");
    found.extend(naming("daemon/src", "use sled::"));
    found.dedup();
    assert_eq!(found, ["daemon/src/store/index/sled.rs"]);
}

#[test]
fn in_the_cli_only_two_modules_name_the_daemon() {
    let allowed = ["cli/src/foreground.rs", "cli/src/local.rs"];
    for file in naming("cli/src", "benchhand_daemon") {
        assert!(
            allowed.contains(&file.as_str()),
            "{file} names the daemon's package"
        );
    }
}

#[test]
fn the_blueprint_knows_no_files_clocks_or_threads() {
    for word in [
        "std::fs",
        "std::time",
        "std::thread",
        "std::net",
        "std::env",
    ] {
        let found = naming("blueprint/src", word);
        assert!(found.is_empty(), "{word} named in {found:?}");
    }
}

#[test]
fn only_the_cli_prints() {
    for room in [
        "units/src",
        "toml-places/src",
        "drivers/src",
        "drivers/find/src",
        "blueprint/src",
        "daemon/src",
        "daemon/files/src",
        "daemon/sheets/src",
        "daemon/proof/src",
        "daemon/shop/src",
        "daemon/wire/src",
        "daemon/wire/openapi/src",
    ] {
        for word in ["println!(", "print!(", "dbg!("] {
            let found = naming(room, word);
            assert!(found.is_empty(), "{word} in {found:?}");
        }
    }
}

#[test]
fn files_stay_small_enough_to_have_one_job() {
    const LARGEST: usize = 400;
    let mut large = BTreeMap::new();
    for room in ["drivers", "blueprint", "daemon", "cli", "testbed", "tests"] {
        for file in files(&root().join(room), ".rs") {
            let whole = text(&file);
            let lines = whole.lines().count();
            // A file that has one job and is long says so in its first line.
            let says_so = whole
                .lines()
                .next()
                .is_some_and(|l| l.ends_with("One job, and long."));
            if lines > LARGEST && !says_so {
                large.insert(from_root(&file), lines);
            }
        }
    }
    assert!(large.is_empty(), "split by meaning: {large:?}");
}

#[test]
fn every_module_opens_with_what_it_does() {
    for room in [
        "drivers/src",
        "drivers/find/src",
        "blueprint/src",
        "daemon/src",
        "daemon/files/src",
        "daemon/sheets/src",
        "daemon/proof/src",
        "daemon/shop/src",
        "daemon/wire/src",
        "daemon/wire/openapi/src",
        "cli/src",
        "testbed/src",
        "units/src",
        "toml-places/src",
    ] {
        for file in files(&root().join(room), ".rs") {
            let opening = text(&file);
            assert!(
                opening.starts_with("//!"),
                "{} has no opening",
                from_root(&file)
            );
        }
    }
}

/// Where bytes and texts from outside are read.
const READERS: &[&str] = &[
    "drivers/src/lib.rs",
    "toml-places/src/lib.rs",
    "blueprint/src/engine/mod.rs",
    // Of spots.
    "blueprint/src/lib.rs",
    "blueprint/src/readings/mod.rs",
    "blueprint/src/units/mod.rs",
];

#[test]
fn what_reads_from_outside_may_not_panic() {
    for file in READERS {
        let code = text(&root().join(file));
        let denied = code
            .split_once("deny(")
            .and_then(|(_, behind)| behind.split_once(')'))
            .map_or("", |(denied, _)| denied);
        for lint in [
            "arithmetic_side_effects",
            "expect_used",
            "indexing_slicing",
            "panic",
            "string_slice",
            "unreachable",
            "unwrap_used",
        ] {
            let denies = denied.contains(&format!("clippy::{lint}"));
            assert!(denies, "{file} does not deny clippy::{lint}");
        }
    }
}

/// Words between backticks that look like a path of the project.
fn paths_named_in(page: &str) -> Vec<String> {
    let tops = [
        "drivers/",
        "blueprint/",
        "daemon/",
        "cli/",
        "tests/",
        "recorded-streams/",
        "docs/",
        "examples/",
    ];
    page.split('`')
        .skip(1)
        .step_by(2)
        .map(|word| word.split([' ', ':']).next().unwrap_or_default())
        .filter(|word| tops.iter().any(|top| word.starts_with(top)))
        .filter(|word| !word.contains(['*', '<', '{', '…', 'N']))
        .map(|word| word.trim_end_matches('/').to_owned())
        .collect()
}

#[test]
fn pages_name_only_files_that_exist() {
    let mut pages = files(&root().join("docs"), ".md");
    pages.extend(["README.md", "DEVELOPERS.md"].map(|p| root().join(p)));
    for page in pages {
        for named in paths_named_in(&text(&page)) {
            assert!(
                root().join(&named).exists(),
                "{} names {named}",
                from_root(&page)
            );
        }
    }
}

#[test]
fn stored_texts_name_no_place_outside_the_project() {
    let home_like = ["/home/", "/root/", "C:\\Users"];
    for folder in ["examples", "recorded-streams", "docs"] {
        for ending in [".md", ".toml", ".csv", ".ndjson", ".json"] {
            for file in files(&root().join(folder), ending) {
                let text = text(&file);
                for place in home_like {
                    assert!(!text.contains(place), "{} names {place}", from_root(&file));
                }
            }
        }
    }
}
