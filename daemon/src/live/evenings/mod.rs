//! Whole evenings at a burette, played against a run: nothing may be kept wrong in silence.
//!
//! Some evenings are drawn at random, others are named; the generator is `synth::evening`.

mod daemon;
mod gone_back;
mod held_off;
mod late_again;
mod lost_and_left;
mod named;
mod needless;
mod nobody_looks;
mod random;
mod restarts;
mod seeded;

use crate::synth::evening::{EveningPlan, PlayedEvening, play};

/// Plays one evening against a daemon of its own.
fn played(plan: &EveningPlan) -> PlayedEvening {
    play(plan, &mut daemon::PlayedDaemon::new(plan))
}
