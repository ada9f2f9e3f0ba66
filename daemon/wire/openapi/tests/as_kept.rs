//! The description that the daemon serves is what the wire's types say.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

const MADE_BY: &str = "cargo run -q -p benchhand-openapi > daemon/src/api/openapi.json";

fn wire() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
}

#[test]
fn the_description_that_is_kept_is_made_from_the_types() {
    let kept = wire().join("../src/api/openapi.json");
    let kept = fs::read_to_string(kept).expect("it can be read");
    let made = benchhand_openapi::document();
    let (kept, made): (Vec<&str>, Vec<&str>) = (kept.lines().collect(), made.lines().collect());
    let same = kept.iter().zip(&made).take_while(|(a, b)| a == b).count();
    if same < kept.len().max(made.len()) {
        panic!(
            "daemon/src/api/openapi.json is not what the types say from line {} on:\n  kept: {}\n  made: {}\nmake it anew with\n  {MADE_BY}",
            same + 1,
            kept.get(same).unwrap_or(&"nothing"),
            made.get(same).unwrap_or(&"nothing"),
        );
    }
}

/// A request that the list leaves out would be neither answered nor described.
#[test]
fn every_request_type_of_the_wire_stands_in_the_list() {
    macro_rules! names {
        ($($ask:ident),* $(,)?) => { BTreeSet::from([$(stringify!($ask).to_owned()),*]) };
    }
    let listed: BTreeSet<String> = benchhand_wire::every_request!(names);
    let mut declared = BTreeSet::new();
    for file in fs::read_dir(wire().join("src")).expect("the wire's sources") {
        let text = fs::read_to_string(file.expect("a file").path()).expect("it can be read");
        let names = text
            .lines()
            .filter_map(|line| line.strip_prefix("impl Ask for ")?.split([' ', '{']).next());
        declared.extend(names.map(str::to_owned));
    }
    assert_eq!(listed, declared);
}

/// What is published of the documents that commands print is made from the types as well.
#[test]
fn the_schemas_of_the_documents_that_are_kept_are_made_from_the_types() {
    let folder = wire().join("schemas");
    let made = benchhand_openapi::documents();
    for (name, text) in &made {
        let kept = fs::read_to_string(folder.join(format!("{name}.json"))).unwrap_or_default();
        assert!(
            kept == *text,
            "daemon/wire/schemas/{name}.json is not what the types say; make all of them anew with\n  \
             cargo run -q -p benchhand-openapi -- schemas daemon/wire/schemas"
        );
    }
    let kept = fs::read_dir(folder).expect("the schemas").count();
    assert_eq!(kept, made.len(), "there are schemas of no document");
}
