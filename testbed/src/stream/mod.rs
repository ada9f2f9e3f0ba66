//! Recorded streams, damaged on purpose or cut into other reads.

mod damage;
mod recut;

pub use damage::{Damage, Damaged, damage};
pub use recut::recut;
