//! Disks that fail, or forget what was not synced.

mod failing;
mod memory;

pub use failing::{DiskFault, FailingFiles, Operation};
pub use memory::MemoryDisk;
