//! A fast view over all jobs: lists and searches.
//!
//! An index repeats what the journals hold. The journals alone are true: an index can be thrown
//! away at any time and is then built again from them. Files and facts are not known here.

mod changed_rows;
mod contract;
mod digest;
mod memory;
mod packed;
mod rows;
mod sled;
mod sled_keys;

pub use self::contract::Index;
pub(crate) use self::digest::quantity_of;
pub use self::digest::{Digests, EngineRow, GaugeCheck, GaugeInJob, JobEntry, RepeatScatter};
pub use self::memory::MemoryIndex;
pub(crate) use self::rows::in_order;
pub use self::rows::{IndexError, ReadingQuery, ReadingRow, ReadingStanding};
pub use self::sled::SledIndex;
