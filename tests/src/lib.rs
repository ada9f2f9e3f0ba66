//! The whole, from outside: what several test files share.
//!
//! `tests/` drives the real executable and the public surface of the rooms. It knows no private
//! module. Which file holds what:
//!
//! - `structure.rs`: direction of dependencies, imports, file sizes, pages that name files
//! - `end_to_end.rs`: the executable over pseudo-terminals, from bytes to report
//! - `crash.rs`: the daemon killed at random points keeps what it acknowledged
//! - `bad_input.rs`: what goes wrong at a bench, each with its words and exit code
//! - `forbidden.rs`: ports that may not be opened, under another user
//! - `report.rs`: the report from an engine file and a CSV, against worked figures

pub mod bench;
pub mod program;
pub mod tree;
