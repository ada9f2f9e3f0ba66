//! The page of words and the code say the same: what `docs/words.md` names exists where it says,
//! and public types are understood without their module.

use std::collections::BTreeMap;

use benchhand_tests::tree::{files, from_root, root, text};

/// Rooms whose public types have been named by the page, each with how many it has at least, so that
/// a room that was not looked at shows.
const NAMED: &[(&str, usize)] = &[
    ("blueprint/src", 51),
    ("drivers/src", 51),
    ("daemon/src", 51),
    ("daemon/pages/src", 15),
    ("daemon/words/src", 15),
    ("daemon/shop/src", 15),
    ("toml-places/src", 3),
];

/// Words that mean nothing without their module. No public type of a named room is called so.
const TOO_BARE: &[&str] = &[
    "About",
    "Against",
    "Aim",
    "Answered",
    "Arranged",
    "Asked",
    "At",
    "Basis",
    "Became",
    "Before",
    "Bench",
    "Change",
    "Check",
    "Choices",
    "Condition",
    "Conditions",
    "Control",
    "Correction",
    "Cut",
    "Damage",
    "Depth",
    "Dimension",
    "Direction",
    "Entry",
    "Event",
    "Evidence",
    "Expected",
    "Family",
    "Fault",
    "Figures",
    "Fitted",
    "Form",
    "Format",
    "Gauge",
    "Goal",
    "Hand",
    "Head",
    "Header",
    "Heard",
    "Height",
    "Identity",
    "Import",
    "Input",
    "Inputs",
    "Joined",
    "Judged",
    "Keep",
    "Kind",
    "Known",
    "Leak",
    "Level",
    "Limits",
    "Line",
    "Link",
    "Liquid",
    "Live",
    "Lost",
    "Make",
    "Mark",
    "Measured",
    "Mode",
    "Move",
    "Name",
    "Next",
    "Note",
    "Opened",
    "Opening",
    "Order",
    "Origin",
    "Outcome",
    "Owner",
    "Pair",
    "Part",
    "Phase",
    "Place",
    "Placed",
    "Plan",
    "Plate",
    "Point",
    "Port",
    "Progress",
    "Query",
    "Read",
    "Refused",
    "Registry",
    "Reply",
    "Room",
    "Row",
    "Run",
    "Said",
    "Saying",
    "Settings",
    "Shape",
    "Share",
    "Shown",
    "Side",
    "Sink",
    "Source",
    "Standing",
    "State",
    "Stated",
    "Status",
    "Steady",
    "Steered",
    "Step",
    "Stop",
    "Sum",
    "Summary",
    "Taken",
    "Timed",
    "Told",
    "Took",
    "Tool",
    "Totals",
    "Trouble",
    "Truth",
    "Turn",
    "Value",
    "Walk",
    "Wanted",
    "Water",
    "Way",
    "What",
    "Whose",
    "Why",
    "Zero",
];

/// The public types that a file declares.
fn public_types(file: &syn::File) -> Vec<String> {
    let public = |visibility: &syn::Visibility| matches!(visibility, syn::Visibility::Public(_));
    let of = |item: &syn::Item| match item {
        syn::Item::Struct(one) if public(&one.vis) => Some(one.ident.to_string()),
        syn::Item::Enum(one) if public(&one.vis) => Some(one.ident.to_string()),
        syn::Item::Trait(one) if public(&one.vis) => Some(one.ident.to_string()),
        _ => None,
    };
    file.items.iter().filter_map(of).collect()
}

#[test]
fn public_types_are_understood_without_their_module_and_named_once() {
    for (room, least) in NAMED {
        let mut all: BTreeMap<String, String> = BTreeMap::new();
        for path in files(&root().join(room), ".rs") {
            let place = from_root(&path);
            let parsed = syn::parse_file(&text(&path)).unwrap_or_else(|e| panic!("{place}: {e}"));
            for name in public_types(&parsed) {
                assert!(
                    !TOO_BARE.contains(&name.as_str()),
                    "{place}: {name} says nothing without its module"
                );
                if let Some(other) = all.insert(name.clone(), place.clone()) {
                    panic!("{name} is a public type of {other} and of {place}");
                }
            }
        }
        assert!(all.len() >= *least, "{room} has public types");
    }
}

#[test]
fn every_type_on_the_page_of_words_stands_in_the_file_beside_it() {
    let page = text(&root().join("docs/words.md"));
    let bare = |cell: &str| cell.trim().trim_matches('`').to_owned();
    let mut found = 0;
    for row in page.lines().filter(|line| line.starts_with("| ")) {
        let cells: Vec<String> = row.trim_matches('|').split('|').map(bare).collect();
        let [_, _, name, file] = cells.as_slice() else {
            panic!("not four cells: {row}");
        };
        if !file.ends_with(".rs") {
            assert_eq!(name, "type", "a head, or a row without its file: {row}");
            continue;
        }
        let source = text(&root().join(file));
        let parsed = syn::parse_file(&source).unwrap_or_else(|e| panic!("{file}: {e}"));
        // What a macro declares stands in its text.
        let by_macro = [format!("pub enum {name} {{"), format!("    {name} {{")];
        let declared = public_types(&parsed).contains(name)
            || by_macro.iter().any(|head| source.contains(head.as_str()));
        assert!(declared, "{file} declares no public {name}");
        found += 1;
    }
    assert!(found > 30, "the page has rows");
}
