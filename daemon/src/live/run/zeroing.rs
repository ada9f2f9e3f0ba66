//! Zeros during a route: a person is asked about a zero that no longer holds, and a new zero counts
//! from its setting on.

use std::collections::BTreeMap;

use benchhand_drivers::Unit;
use benchhand_wire::{Refusal, SaidAs};

use super::asking::{Doubt, ValueOrigin, Waiting};
use super::{NOWHERE, RouteRun, RunJournal, RunOutcome, ValueOutcome};
use crate::capture::{self, CapturedValue};
use crate::known::words;
use crate::live::figuring::FigureBasis;
use crate::live::steady::RestingValue;
use crate::route::{FigureRule, RouteStop};

/// Within so many counts of a zero a value may be the zero face itself.
const SAME: f64 = 2.0;

/// What is known of the zeros of a route's gauges beyond the journal.
#[derive(Debug, Default)]
pub(super) struct Zeros {
    /// Gauges that were switched off since they were zeroed, each with the reason to think so.
    lost: BTreeMap<String, String>,
    /// Gauges that stand on their zero face, and what they show there.
    on_face: BTreeMap<String, RestingValue>,
}

impl RouteRun {
    /// The gauge was switched off since it was zeroed. Returns whether any stop counts from its
    /// zero.
    pub fn lose_zero(&mut self, gauge: &str, why: &str) -> bool {
        let counts = |s: &super::ArrangedStop| s.gauge == gauge && counts_from_zero(&s.stop);
        let counts = self.stops.iter().any(counts);
        if counts {
            self.zeros.lost.insert(gauge.to_owned(), why.to_owned());
        }
        counts
    }

    /// Why the zero that a captured value counts from no longer holds, if so.
    pub(super) fn zero_in_doubt(
        &self,
        one: &Waiting,
        stop: usize,
        keep: &dyn RunJournal,
    ) -> Option<String> {
        let arranged = &self.stops[stop];
        let captured = matches!(one.origin, ValueOrigin::Captured { .. });
        if !captured || !counts_from_zero(&arranged.stop) {
            return None;
        }
        let lost = self.zeros.lost.get(&arranged.gauge).cloned();
        lost.or_else(|| keep.old_zero(&arranged.gauge))
    }

    /// A person lets the zero stand: the value is judged by what else is known.
    pub(super) fn let_zero_stand(
        &mut self,
        stop: usize,
        keep: &mut dyn RunJournal,
    ) -> Result<(), Refusal> {
        let gauge = &self.stops[stop].gauge;
        keep.let_zero_stand(gauge)?;
        self.zeros.lost.remove(gauge);
        self.question = None;
        Ok(())
    }

    /// The gauge was zeroed anew: later values and waiting values count from there. What the gauge
    /// shows on its zero face is no reading.
    pub fn zeroed(
        &mut self,
        gauge: &str,
        basis: &dyn Fn(&RouteStop) -> Option<FigureBasis>,
        (face, at_us): (RestingValue, u64),
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        let mut counts = false;
        let mut stands = false;
        for arranged in self.stops.iter_mut().filter(|s| s.gauge == gauge) {
            if let Some(basis) = basis(&arranged.stop).filter(|_| counts_from_zero(&arranged.stop))
            {
                stands |= is_the_same_zero(arranged.basis.zero, basis.zero, &face);
                arranged.basis = basis;
                counts = true;
            }
        }
        if !counts {
            return;
        }
        self.zeros.lost.remove(gauge);
        self.plungers.forget(gauge);
        let is_old_zero = |q: &super::StopQuestion| matches!(q.doubt, Doubt::OldZero(_));
        if self.question.as_ref().is_some_and(is_old_zero) {
            self.question = None;
        }
        for one in std::mem::take(&mut self.waiting) {
            let on_face = matches!(&one.origin, ValueOrigin::Captured { active, taken, .. }
                if self.actives[*active].gauge == gauge && is_face(taken, &face));
            if !on_face {
                self.waiting.push_back(one);
            } else if let Err(refusal) = self.forget_record(&one, "the zero face itself", keep) {
                out.say(SaidAs::Again, words::not_kept(&refusal));
            }
        }
        // Taking stopped when the gauge showed that its zero was lost; now there is a zero again.
        if !self.on_hold {
            for active in self.actives.iter_mut().filter(|a| a.gauge == gauge) {
                if stands {
                    active.told(capture::CaptureControl::ZeroStands, at_us, &mut Vec::new());
                }
                active.told(capture::CaptureControl::Zeroed, at_us, &mut Vec::new());
            }
        }
        self.zeros.on_face.insert(gauge.to_owned(), face);
        out.say(SaidAs::Note, format!("{gauge} is zeroed anew"));
        out.moved = true;
        self.settle_waiting(keep, out);
        self.turn_to_stop();
    }

    /// Whether a value is what the gauge shows on the face on which it was just zeroed.
    pub(super) fn still_on_zero_face(
        &mut self,
        active: usize,
        pour: u32,
        taken: &CapturedValue,
        out: &mut RunOutcome,
    ) -> bool {
        let gauge = self.actives[active].gauge.clone();
        let here = self.stop_for(active).map(|stop| &self.stops[stop].stop);
        if !here.is_some_and(counts_from_zero) {
            return false;
        }
        let Some(face) = self.zeros.on_face.remove(&gauge) else {
            return false;
        };
        if !is_face(taken, &face) {
            return false;
        }
        // A late event of the same value must find its number taken.
        let none = ValueOutcome {
            stop: NOWHERE,
            id: None,
            held: false,
            value: taken.value,
            confirmed: false,
            first_us: None,
        };
        self.actives[active].outcomes.insert(pour, none);
        out.say(SaidAs::Note, format!("{gauge} shows its zero: no reading"));
        true
    }
}

fn counts_from_zero(stop: &RouteStop) -> bool {
    stop.figure != FigureRule::AsCaptured
}

/// Whether a gauge shows the same number on its zero face as before, and that number is not 0: a
/// press of its zero key would have changed it.
fn is_the_same_zero(
    before: Option<(f64, Unit)>,
    now: Option<(f64, Unit)>,
    face: &RestingValue,
) -> bool {
    let (Some((before, unit)), Some((now, unit_now))) = (before, now) else {
        return false;
    };
    let far = 20.0 * face.resolution;
    unit == unit_now && now.abs() > far && (now - before).abs() <= far
}

fn is_face(taken: &CapturedValue, face: &RestingValue) -> bool {
    let count = taken.resolution.max(face.resolution);
    taken.unit == face.unit && (taken.value - face.raw).abs() <= SAME * count
}
