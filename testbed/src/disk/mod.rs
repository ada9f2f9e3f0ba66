//! Disks that do not do what they should.

mod failing;
mod memory;

pub use failing::{FailingFiles, Fault, Operation};
pub use memory::MemoryDisk;
