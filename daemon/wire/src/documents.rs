//! The JSON documents that commands print: their version, and a schema of each.

/// The version of the documents, which each of them carries as `version`. A new key does not change
/// it; a key that goes away or means something else does.
pub const DOCUMENTS: u32 = 1;

/// A document that a command prints with `--json`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DocumentSchema {
    /// Its name.
    pub name: &'static str,
    /// The commands that print it.
    pub printed_by: &'static str,
    /// Its JSON Schema (2020-12), made from the types.
    pub schema: &'static str,
}

macro_rules! documents {
    ($($name:literal: $printed_by:literal,)+) => {
        /// Every document that has a schema.
        pub const SCHEMAS: &[DocumentSchema] = &[$(DocumentSchema {
            name: $name,
            printed_by: $printed_by,
            schema: include_str!(concat!("../schemas/", $name, ".json")),
        },)+];
    };
}

documents! {
    "report": "report, demo",
    "decide": "decide",
    "job-list": "job list",
    "job-readings": "job list --readings",
    "job-like": "job list --like",
    "job-new": "job new",
    "job-engine": "job engine JOB",
    "job-show": "job show",
    "job-cut": "job cut",
    "job-correct-cut": "job correct-cut",
    "job-order": "job order",
    "job-orders": "job orders",
    "job-recompute": "job recompute",
    "job-verify": "job verify",
    "job-accept-damage": "job accept-damage",
    "job-pack": "job pack",
    "job-unpack": "job unpack",
    "backup": "backup",
    "restore": "restore",
    "sheet": "sheet build, flow, order, work, labels",
    "sheet-check": "sheet check",
    "enter": "enter",
    "import": "import",
    "void": "void",
    "move": "move",
    "condition": "condition",
    "routes": "routes",
    "job-exchange-heads": "job exchange-heads",
    "steer": "steer",
    "gauge-list": "gauge list, gauge drop",
    "gauge-set": "gauge set",
    "gauge-check": "gauge check by one value",
    "gauge-compare": "gauge check by several values, or by water",
    "gauge-history": "gauge history",
    "gauge-zero": "gauge zero",
    "gauge-study": "gauge study",
    "flow-bench-plate": "flow-bench plate",
    "flow-bench-leak": "flow-bench leak",
    "tdc": "tdc",
    "profile-check": "profile check",
    "ports": "ports",
    "examine": "examine",
    "export-workbook": "export workbook",
    "export-tables": "export tables",
    "board": "board",
    "board-open-network": "board --open-network",
    "board-close-network": "board --close-network",
    "shop": "shop join, show",
    "shop-leave": "shop leave",
    "stop": "stop",
}

/// The schema of this name.
#[must_use]
pub fn document_schema(name: &str) -> Option<&'static DocumentSchema> {
    SCHEMAS.iter().find(|one| one.name == name)
}
