//! Whole evenings at a burette, played against a run: nothing may be kept wrong in silence.
//!
//! Some evenings are drawn at random, others are named; the generator is `synth::evening`.

mod bench;
mod lost_and_left;
mod named;
mod needless;
mod random;

use crate::synth::evening::{Plan, Played, play};

/// Plays one evening against a daemon of its own.
fn played(plan: &Plan) -> Played {
    play(plan, &mut bench::Daemon::new(plan))
}
