//! Disks that do not do what they should.

mod failing;
mod memory;

pub use failing::{DiskFault, FailingFiles, Operation};
pub use memory::MemoryDisk;
