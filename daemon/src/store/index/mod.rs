//! A fast view over all jobs: lists and searches.
//!
//! An index repeats what the journals say and is never asked for the truth: it can be thrown
//! away at any time and is built again from the journals. It does not know files or facts.

mod contract;
mod digest;
mod memory;
mod packed;
mod rows;
mod sled;

pub use self::contract::Index;
pub use self::digest::{Digests, EngineRow, GaugeCheck, GaugeInJob, JobEntry, RepeatScatter};
pub use self::memory::MemoryIndex;
pub(crate) use self::rows::in_order;
pub use self::rows::{IndexError, Query, Row, Standing};
pub use self::sled::SledIndex;
