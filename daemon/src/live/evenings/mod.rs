//! Whole evenings at a burette, played against a run: nothing may be kept wrong in silence.
//!
//! Some evenings are drawn at random, others are named; the generator is `synth::evening`.

mod daemon;
mod lost_and_left;
mod named;
mod needless;
mod random;
mod restarts;

use crate::synth::evening::{EveningPlan, PlayedEvening, play};

/// Plays one evening against a daemon of its own.
fn played(plan: &EveningPlan) -> PlayedEvening {
    play(plan, &mut daemon::PlayedDaemon::new(plan))
}
