//! Whose copy a job is.

use benchhand_wire::CopyOf;

/// Of which job a job is a copy, e.g. `a copy of v8 as of fact 214`.
pub fn copy_of(of: &CopyOf) -> String {
    format!("a copy of {} as of entry {}", of.job, of.seq)
}
