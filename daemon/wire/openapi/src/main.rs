//! Writes the description of the local API to standard output; with `schemas FOLDER` the schemas of
//! the JSON documents into that folder, each as a file.

use std::io::Write;
use std::path::Path;

fn main() -> std::io::Result<()> {
    let mut words = std::env::args().skip(1);
    match (words.next().as_deref(), words.next()) {
        (Some("schemas"), Some(folder)) => {
            for (name, text) in benchhand_openapi::documents() {
                std::fs::write(Path::new(&folder).join(format!("{name}.json")), text)?;
            }
            Ok(())
        }
        _ => std::io::stdout().write_all(benchhand_openapi::document().as_bytes()),
    }
}
