//! The JSON documents of this program.

use benchhand_wire::{DOCUMENTS, SCHEMAS};

use super::table::Table;

/// The documents that have a schema.
pub(crate) fn list() -> String {
    let mut table = Table::new(&["document", "printed with --json by"]);
    for one in SCHEMAS {
        table.row(vec![one.name.to_owned(), one.printed_by.to_owned()]);
    }
    format!(
        "{}Version {DOCUMENTS}. The schema of one: benchhand schema NAME",
        table.text()
    )
}
