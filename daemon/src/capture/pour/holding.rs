//! A person asks capture to ignore a pour, and to go on with it.
//!
//! People forget to go on. What is poured meanwhile is watched by a capture of its own: it is told at
//! once, and asked about when the person goes on.

use std::collections::BTreeMap;

use benchhand_drivers::Sample;

use super::super::still::Point;
use super::super::{Capture, CaptureEvent, CaptureNote, CaptureStatus, CapturedValue};
use super::Pour;
use super::account::PourStage;

/// What may run between the request to ignore the samples and the rest at which capture goes on,
/// cc. Common practice, no source: less than a second of a stream.
const RAN_ON_CC: f64 = 0.5;

/// What came while capture ignored the samples.
pub(super) struct OnHold {
    watched: Box<Pour>,
    /// The pours that came, by their number.
    poured: BTreeMap<u32, CapturedValue>,
    refilled: bool,
}

impl OnHold {
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        let mut events = Vec::new();
        self.watched.sample(sample, &mut events);
        self.refilled |= self.watched.account.stage() == PourStage::Refilling;
        for event in events {
            match event {
                CaptureEvent::Held { pour, taken } => {
                    out.push(CaptureEvent::Note(CaptureNote::PoursOnHold {
                        delivered: taken.value,
                        unit: taken.unit,
                    }));
                    self.poured.insert(pour, taken);
                }
                CaptureEvent::Revised { pour, taken } | CaptureEvent::Final { pour, taken } => {
                    self.poured.insert(pour, taken);
                }
                CaptureEvent::Withdrawn { pour, .. } => {
                    self.poured.remove(&pour);
                }
                _ => {}
            }
        }
    }

    /// What is shown of it.
    pub(super) fn shown(&self) -> CaptureStatus {
        self.watched.live()
    }

    /// Whether liquid went into a chamber, of which capture knows where it began.
    fn pours(&self) -> bool {
        let runs = self.watched.account.stage() == PourStage::Delivering;
        !self.poured.is_empty() || runs && self.watched.account.base.is_some()
    }
}

impl Pour {
    /// Begins to ignore the samples, or goes on.
    pub(super) fn hold(&mut self, out: &mut Vec<CaptureEvent>) {
        self.paused = !self.paused;
        if self.paused {
            self.stood_at = self.last.map(|point| point.v);
            // A recorded stream has nobody who forgets.
            self.on_hold =
                (self.which_way.is_none() && self.account.can_be_asked()).then(|| OnHold {
                    watched: Box::new(self.watched_on_hold()),
                    poured: BTreeMap::new(),
                    refilled: false,
                });
            return;
        }
        let pours = matches!(
            self.account.stage(),
            PourStage::Held | PourStage::Delivering
        );
        let came = self.on_hold.take();
        if let Some(came) = came.filter(|came| came.refilled || came.pours() && !pours) {
            return self.takes_over(came, out);
        }
        if self.account.stage() == PourStage::Delivering && self.stood_at.is_some() {
            // The first value tells whether the level stood still meanwhile.
            self.forget();
        } else {
            self.stood_at = None;
            self.lose(out);
        }
        // A person who asked for it knows what ran meanwhile.
        self.account.unseen();
    }

    /// A capture that watches from where the level stands now.
    fn watched_on_hold(&self) -> Pour {
        let mut watched = Pour::new(self.settings.clone(), self.sigma);
        if self.known {
            watched.intake = self.intake.clone();
            watched.tracker = self.tracker.clone();
            (watched.known, watched.balance) = (true, self.balance);
            watched.last = self.last;
            let account = &mut watched.account;
            account.meet(self.account.unit, self.account.resolution, self.balance);
            account.base = self.tracker.level(&self.sigma);
        }
        watched.account.expect(self.account.expected);
        watched
    }

    /// Watches what comes while the samples are ignored.
    pub(super) fn watch_on_hold(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        if let Some(on_hold) = &mut self.on_hold {
            on_hold.sample(sample, out);
        }
    }

    /// What was poured on hold comes after the pours before, and a person is asked about each.
    fn takes_over(&mut self, came: OnHold, out: &mut Vec<CaptureEvent>) {
        self.stood_at = None;
        match (self.account.stage(), self.account.held.clone()) {
            // The burette was refilled since: the amount stands as it was held.
            (PourStage::Held, Some(held)) => self.account.finish(held, out),
            _ => self.lose(out),
        }
        let before = self.account.number;
        let mut watched = *came.watched;
        let running = watched.account.number;
        for (pour, mut taken) in came.poured {
            taken.doubt = Some(CaptureNote::PouredOnHold);
            let (number, value) = (before + pour, taken.clone());
            out.push(match pour == running && watched.account.held.is_some() {
                true => CaptureEvent::Held {
                    pour: number,
                    taken,
                },
                false => CaptureEvent::Final {
                    pour: number,
                    taken,
                },
            });
            if let Some(held) = watched.account.held.as_mut().filter(|_| pour == running) {
                *held = value;
            }
        }
        watched.account.number += before;
        watched.account.poured_on_hold = watched.account.begun;
        watched.account.drips |= self.account.drips;
        (self.account, self.tracker) = (watched.account, watched.tracker);
        (self.legs, self.last) = (watched.legs, watched.last);
        (self.leak, self.away) = (watched.leak, watched.away);
        self.sigma = watched.sigma;
    }

    /// Takes the first value after samples amid a delivery were ignored: a level that stands where
    /// it stood has lost nothing.
    pub(super) fn after_hold(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        let most = RAN_ON_CC * self.scale();
        let ran = |stood: f64| (point.v - stood).abs() > most;
        if self.stood_at.take().is_some_and(ran) {
            self.last = Some(point);
            self.lose(out);
            self.last = Some(point);
        }
    }
}
