//! What the captures of a route were told, so that their readings can be made out anew.
//!
//! A recorded stream holds what a gauge sent. What a person steered meanwhile, and what was lost,
//! is not in it: this room hands that on to the journal. It knows the sample after which a thing
//! was told, and neither file nor clock.

use benchhand_drivers::Sample;

use super::{Active, Run};
use crate::capture::{CaptureEvent, Control, Mode, Steer};

/// One thing that a capture was told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heard {
    /// The gauge of the capture.
    pub gauge: String,
    /// Its mode: a gauge may serve stops of more than one.
    pub mode: Mode,
    /// The time of the last sample before it, in microseconds; `None` before the first.
    pub after_us: Option<u64>,
    /// What it was told.
    pub steer: Steer,
}

impl Active {
    pub(super) fn sample(&mut self, sample: &Sample, events: &mut Vec<CaptureEvent>) {
        self.last_us = Some(sample.at_us);
        self.capture.sample(sample, events);
    }

    /// Tells the capture what a person steered.
    pub(super) fn told(&mut self, control: Control, at_us: u64, events: &mut Vec<CaptureEvent>) {
        self.hear(Steer::Control(control));
        self.capture.control(control, at_us, events);
    }

    /// Samples were lost, or the gauge went away.
    pub(super) fn gap(&mut self, at_us: u64, events: &mut Vec<CaptureEvent>) {
        self.hear(Steer::Gap);
        self.capture.gap(at_us, events);
    }

    fn hear(&mut self, steer: Steer) {
        self.heard.push(Heard {
            gauge: self.gauge.clone(),
            mode: self.capture.mode(),
            after_us: self.last_us,
            steer,
        });
    }
}

impl Run {
    /// What the captures were told since this was last asked, in the order of each capture.
    pub fn heard(&mut self) -> Vec<Heard> {
        let heard = |active: &mut Active| std::mem::take(&mut active.heard);
        self.actives.iter_mut().flat_map(heard).collect()
    }
}
