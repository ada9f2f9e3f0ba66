//! Writes the description of the local API to standard output.

use std::io::Write;

fn main() -> std::io::Result<()> {
    std::io::stdout().write_all(benchhand_openapi::document().as_bytes())
}
