//! Inside each package: no circle of files, and no import upwards through the layers. One job, and long.
//!
//! A file that imports another is read after it. What only tests need is not looked at.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use benchhand_tests::tree::{files, root, text};
use syn::visit::Visit;

/// Where each package has its sources, and its layers from the bottom to the top. A module may
/// name those that stand before its own layer, and those of its own.
const PACKAGES: &[(&str, &[&[&str]])] = &[
    (
        "drivers",
        &[
            &["unit", "serial_settings", "timebase"],
            &["sample"],
            &["driver"],
            &["profile", "decode"],
            &["stream"],
            &["arrival", "transport"],
            &["port"],
            &["player"],
        ],
    ),
    ("units", &[]),
    ("toml-places", &[]),
    ("drivers/find", &[]),
    (
        "blueprint",
        &[
            &["units", "known_word", "most_told", "named"],
            &["figure", "spot", "stats", "formula", "engine"],
            &["readings", "engine_figures", "check"],
            &["report", "decide"],
            &["answers"],
        ],
    ),
    (
        "daemon",
        &[
            &["clock"],
            &["capture", "examine", "pedal", "route"],
            &["store", "synth"],
            &["known"],
            &["live", "joined"],
            &["desk"],
            &["api"],
            &["backup", "serve", "offline"],
            &["demo"],
        ],
    ),
    ("daemon/wire", &[]),
    ("daemon/wire/openapi", &[]),
    (
        "daemon/words",
        &[
            &[
                "copied",
                "digits",
                "over_lift",
                "rows",
                "sheet",
                "times",
                "visible",
            ],
            &["told", "stated", "spots"],
            &["lifts"],
            &[
                "conditions",
                "flowed",
                "chart",
                "decide",
                "ordered",
                "record",
                "section",
                "shop",
                "short",
                "spoken",
            ],
            &["full"],
        ],
    ),
    ("daemon/files", &[]),
    ("daemon/proof", &[]),
    (
        "daemon/shop",
        &[
            &["address", "line", "pace", "password", "record", "version"],
            &["fault", "kept", "pieces", "said"],
            &["connecting", "schema"],
            &["rows"],
            &["state"],
            &["exchange", "introducing"],
            &["link"],
        ],
    ),
    (
        "daemon/workbook",
        &[&["cells"], &["compression", "flow", "overview", "readings"]],
    ),
    (
        "daemon/pages",
        &[
            &["address", "files", "gauge_words"],
            &["frame"],
            &["form"],
            &["readings"],
            &["decide"],
            &[
                "begin",
                "engine",
                "enter",
                "gauge",
                "gauges",
                "guide",
                "history",
                "job",
                "jobs",
                "machine",
                "new_gauge",
                "record",
                "refused",
                "report",
                "sheets",
                "shop",
                "unpack",
            ],
        ],
    ),
    (
        "daemon/sheets",
        &[
            &["facts", "sizes", "verdict"],
            &["frame", "rests_on"],
            &["build", "flow", "labels", "order", "work"],
        ],
    ),
    ("testbed", &[]),
    (
        "cli",
        &[
            &["arenas", "out", "data", "interrupt", "written"],
            &["errors", "client"],
            &["args", "foreground", "local"],
            &["show", "context"],
            &["files"],
            &["commands"],
        ],
    ),
    ("tests", &[]),
];

/// A module's path inside its package; empty for the root.
type Module = Vec<String>;

/// The modules of a package and which of them each names.
type Imports = BTreeMap<Module, BTreeSet<Module>>;

fn imports(package: &str) -> Imports {
    let sources = root().join(package).join("src");
    let mut parsed: BTreeMap<Module, syn::File> = BTreeMap::new();
    for path in files(&sources, ".rs") {
        let file =
            syn::parse_file(&text(&path)).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        parsed.insert(module_of(&sources, &path), file);
    }
    let tested: Vec<Module> = parsed
        .iter()
        .flat_map(|(module, file)| test_modules(module, file))
        .collect();
    // A file of tests that stands beside what it tests is declared under another name.
    let beside = |module: &Module| module.last().is_some_and(|name| name.ends_with("_tests"));
    parsed.retain(|module, _| {
        !beside(module) && !tested.iter().any(|tested| module.starts_with(tested))
    });
    let known: BTreeSet<Module> = parsed.keys().cloned().collect();
    let mut all = Imports::new();
    for (module, file) in &parsed {
        let mut named = Named {
            module,
            known: &known,
            found: BTreeSet::new(),
        };
        named.visit_file(file);
        named.found.remove(module);
        all.insert(module.clone(), named.found);
    }
    all
}

fn module_of(sources: &Path, path: &Path) -> Module {
    let below = path.strip_prefix(sources).expect("below its sources");
    let mut module: Module = below
        .with_extension("")
        .iter()
        .map(|part| part.to_string_lossy().into_owned())
        .collect();
    if matches!(
        module.last().map(String::as_str),
        Some("mod" | "lib" | "main")
    ) {
        module.pop();
    }
    module
}

fn is_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("cfg")
            && attribute
                .parse_args::<syn::Ident>()
                .is_ok_and(|ident| ident == "test")
    })
}

/// The files that a module declares for tests only.
fn test_modules(module: &Module, file: &syn::File) -> Vec<Module> {
    let declared = file.items.iter().filter_map(|item| match item {
        syn::Item::Mod(declared) if is_for_tests(&declared.attrs) => {
            Some([module.as_slice(), &[declared.ident.to_string()]].concat())
        }
        _ => None,
    });
    declared.collect()
}

/// The modules of its own package that a file names.
struct Named<'a> {
    module: &'a Module,
    known: &'a BTreeSet<Module>,
    found: BTreeSet<Module>,
}

impl Named<'_> {
    /// A path as it is written, from `crate`, `super` or `self` on.
    fn name(&mut self, path: &[String]) {
        let mut at = match path.first().map(String::as_str) {
            Some("crate") => Module::new(),
            Some("self" | "super") => self.module.clone(),
            _ => return,
        };
        let mut rest = path;
        while let Some((first, behind)) = rest.split_first() {
            match first.as_str() {
                "crate" | "self" => {}
                "super" => {
                    at.pop();
                }
                _ => break,
            }
            rest = behind;
        }
        // What a path names last may be an item: the longest part that is a module counts.
        let longest = (0..=rest.len())
            .map(|length| [at.as_slice(), &rest[..length]].concat())
            .rfind(|module| self.known.contains(module));
        self.found.extend(longest);
    }

    fn name_tree(&mut self, before: &[String], tree: &syn::UseTree) {
        let with = |ident: &syn::Ident| [before, &[ident.to_string()]].concat();
        match tree {
            syn::UseTree::Path(path) => self.name_tree(&with(&path.ident), &path.tree),
            syn::UseTree::Name(name) => self.name(&with(&name.ident)),
            syn::UseTree::Rename(rename) => self.name(&with(&rename.ident)),
            syn::UseTree::Glob(_) => self.name(before),
            syn::UseTree::Group(group) => {
                for tree in &group.items {
                    self.name_tree(before, tree);
                }
            }
        }
    }
}

impl<'ast> Visit<'ast> for Named<'_> {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        if !is_for_tests(&item.attrs) {
            self.name_tree(&[], &item.tree);
        }
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        // Paths inside a module that is written in place count from there: only tests have such.
        if item.content.is_none() {
            syn::visit::visit_item_mod(self, item);
        }
    }

    // `pub(super)` names nothing that is used.
    fn visit_visibility(&mut self, _: &'ast syn::Visibility) {}

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let segments: Vec<String> = path.segments.iter().map(|s| s.ident.to_string()).collect();
        self.name(&segments);
        syn::visit::visit_path(self, path);
    }
}

/// Modules that are reached from themselves, each with a way round.
fn circles(imports: &Imports) -> Vec<String> {
    let mut found = Vec::new();
    let mut told: BTreeSet<&Module> = BTreeSet::new();
    for start in imports.keys() {
        if told.contains(start) {
            continue;
        }
        if let Some(way) = way_back(imports, start) {
            found.push(
                way.iter()
                    .map(|m| shown(m))
                    .collect::<Vec<_>>()
                    .join(" names "),
            );
            told.extend(way);
        }
    }
    found
}

/// The shortest way from a module over what it names back to itself.
fn way_back<'a>(imports: &'a Imports, start: &'a Module) -> Option<Vec<&'a Module>> {
    let mut came_from: BTreeMap<&Module, &Module> = BTreeMap::new();
    let mut next: Vec<&Module> = vec![start];
    while !next.is_empty() {
        let mut beyond = Vec::new();
        for module in next {
            for named in &imports[module] {
                if named == start {
                    let mut way = vec![start, module];
                    while let Some(before) = came_from.get(way[way.len() - 1]) {
                        way.push(before);
                    }
                    way.reverse();
                    return Some(way);
                }
                if !came_from.contains_key(named) {
                    came_from.insert(named, module);
                    beyond.push(named);
                }
            }
        }
        next = beyond;
    }
    None
}

fn shown(module: &Module) -> String {
    match module.is_empty() {
        true => "the root".to_owned(),
        false => module.join("::"),
    }
}

#[test]
fn no_file_is_named_by_what_it_names() {
    let mut all = Vec::new();
    for (package, _) in PACKAGES {
        let circles = circles(&imports(package));
        all.extend(circles.into_iter().map(|way| format!("{package}: {way}")));
    }
    assert!(all.is_empty(), "{} circles:\n{}", all.len(), all.join("\n"));
}

#[test]
fn nothing_is_imported_upwards() {
    let mut all = Vec::new();
    for (package, layers) in PACKAGES.iter().filter(|(_, layers)| !layers.is_empty()) {
        let layer = |module: &Module| -> Option<usize> {
            let top = module.first()?;
            let at = layers
                .iter()
                .position(|layer| layer.contains(&top.as_str()));
            Some(at.unwrap_or_else(|| panic!("{package}: {top} is in no layer")))
        };
        for (module, named) in &imports(package) {
            // The root declares and hands on; it is above all.
            let Some(own) = layer(module) else { continue };
            let above = named.iter().filter(|named| layer(named) > Some(own));
            all.extend(above.map(|a| format!("{package}: {} names {}", shown(module), shown(a))));
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn a_circle_is_seen_and_a_chain_is_none() {
    let module = |name: &str| vec![name.to_owned()];
    let chain = |pairs: &[(&str, &[&str])]| -> Imports {
        let of = |names: &[&str]| names.iter().map(|name| module(name)).collect();
        pairs
            .iter()
            .map(|(name, names)| (module(name), of(names)))
            .collect()
    };
    let straight = chain(&[("a", &["b", "c"]), ("b", &["c"]), ("c", &[])]);
    assert!(circles(&straight).is_empty());
    let round = chain(&[("a", &["b"]), ("b", &["c"]), ("c", &["b"])]);
    assert_eq!(circles(&round), ["b names c names b"]);
}
