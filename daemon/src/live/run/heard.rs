//! What the captures of a route were told, so that their readings can be made out anew.
//!
//! A recorded stream holds what a gauge sent. It does not hold the controls that a person gave
//! meanwhile, nor the losses: this module hands those on to the journal. It knows the sample after
//! which a capture was told something, and neither file nor clock.

use benchhand_drivers::Sample;

use super::{Active, RouteRun};
use crate::capture::{CaptureControl, CaptureEvent, CaptureMode, PourSoFar, Steer};

/// One thing that a capture was told.
#[derive(Debug, Clone, PartialEq)]
pub struct SteeredCapture {
    /// The gauge of the capture.
    pub gauge: String,
    /// The capture's mode: a gauge may serve stops of more than one mode.
    pub mode: CaptureMode,
    /// The time of the last sample before, in microseconds; `None` before the first sample.
    pub after_us: Option<u64>,
    /// What the capture was told.
    pub steer: Steer,
}

impl Active {
    pub(super) fn sample(&mut self, sample: &Sample, events: &mut Vec<CaptureEvent>) {
        self.last_us = Some(sample.at_us);
        self.capture.sample(sample, events);
    }

    /// Tells the capture a control.
    pub(super) fn told(
        &mut self,
        control: CaptureControl,
        at_us: u64,
        events: &mut Vec<CaptureEvent>,
    ) {
        self.hear(Steer::Control(control));
        self.capture.control(control, at_us, events);
    }

    /// Tells the capture that samples were lost, or that the gauge went away.
    pub(super) fn gap(&mut self, at_us: u64, events: &mut Vec<CaptureEvent>) {
        self.hear(Steer::Gap);
        self.capture.gap(at_us, events);
    }

    /// Goes on with a pour of which so much had come before the work was broken off. Returns whether
    /// the capture could.
    pub(super) fn resume(&mut self, so_far: &PourSoFar) -> bool {
        let resumed = self.capture.resume(so_far);
        if resumed {
            self.hear(Steer::Resume(so_far.clone()));
        }
        resumed
    }

    fn hear(&mut self, steer: Steer) {
        self.heard.push(SteeredCapture {
            gauge: self.gauge.clone(),
            mode: self.capture.mode(),
            after_us: self.last_us,
            steer,
        });
    }
}

impl RouteRun {
    /// Whether a capture was told something since the last call of [`RouteRun::heard`].
    pub fn has_heard(&self) -> bool {
        self.actives.iter().any(|active| !active.heard.is_empty())
    }

    /// What the captures were told since the last call, in the order of each capture.
    pub fn heard(&mut self) -> Vec<SteeredCapture> {
        let heard = |active: &mut Active| std::mem::take(&mut active.heard);
        self.actives.iter_mut().flat_map(heard).collect()
    }
}
