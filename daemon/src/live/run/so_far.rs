//! What went into the present chamber so far is kept, so that the chamber goes on after the work was
//! broken off.

use benchhand_wire::SaidAs;

use super::asking::{ValueOrigin, Waiting};
use super::{RouteRun, RunJournal, RunOutcome, reading_of};
use crate::capture::PourSoFar;
use crate::known::words;
use crate::store::fact::{ChamberSoFar, Fact};

/// Rests that differ by less than this many counts are one rest.
const ONE_REST_COUNTS: f64 = 2.5;

impl RouteRun {
    /// The work was broken off amid a chamber: the chamber goes on, if the route stands at it.
    pub fn resume(
        &mut self,
        before: &ChamberSoFar,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        let resumed = self.resume_here(before);
        self.so_far = Some(before.clone());
        if let Some(waiting) = resumed {
            self.waiting.push_back(waiting);
            self.settle_waiting(keep, out);
        } else {
            self.record_so_far(keep, out);
        }
    }

    fn resume_here(&mut self, before: &ChamberSoFar) -> Option<Waiting> {
        let poured = before.poured.as_ref()?;
        let here = &self.stops[self.walk.at()?];
        let same =
            (here.stop.spot.to_string(), here.stop.round) == (before.spot.clone(), before.round);
        if !same || here.gauge != before.gauge {
            return None;
        }
        let serves = |index: &usize| self.stop_for(*index).is_some();
        let active = (0..self.actives.len()).find(serves)?;
        let taken = Box::new(poured.captured()?);
        let resumed = self.actives[active].resume(poured);
        resumed.then(|| Waiting {
            is_final: false,
            told: false,
            ..Waiting::whole(ValueOrigin::Captured {
                active,
                pour: 0,
                taken,
            })
        })
    }

    /// Keeps what went into the present chamber so far, where that has changed.
    pub(super) fn record_so_far(&mut self, keep: &mut dyn RunJournal, out: &mut RunOutcome) {
        let front = self.waiting.front().filter(|one| !one.is_final);
        let now = match front.map(|one| &one.origin) {
            Some(ValueOrigin::Captured { active, .. }) => match self.stands_at(*active) {
                // Between two rests, what was kept at the first one still holds.
                None => return,
                now => now,
            },
            _ => None,
        };
        let fact = match (now, &self.so_far) {
            (Some(now), Some(before)) if is_same(&now, before) => return,
            (Some(now), _) => now,
            (None, None) => return,
            (None, Some(before)) if self.is_recorded(before) => {
                self.so_far = None;
                return;
            }
            (None, Some(before)) => ChamberSoFar {
                poured: None,
                ..before.clone()
            },
        };
        self.so_far = fact.poured.is_some().then(|| fact.clone());
        if let Err(refusal) = keep.keep(Fact::SoFar(fact)) {
            out.say(SaidAs::Again, words::not_kept(&refusal));
        }
    }

    fn stands_at(&self, active: usize) -> Option<ChamberSoFar> {
        let stop = &self.stops[self.stop_for(active)?];
        Some(ChamberSoFar {
            spot: stop.stop.spot.to_string(),
            round: stop.stop.round,
            gauge: stop.gauge.clone(),
            poured: Some(self.actives[active].capture.so_far()?),
        })
    }

    /// Whether the burette must be refilled for the rest of the chamber that is begun: what is left in
    /// it, at rest, will not do. `None` where no chamber is begun.
    pub fn wants_refill(&self) -> Option<bool> {
        let taken = self.so_far()?;
        let Some(Waiting {
            origin: ValueOrigin::Captured { active, .. },
            ..
        }) = self.waiting.front()
        else {
            return None;
        };
        let left = || {
            let stop = &self.stops[self.stop_for(*active)?];
            let at = self.actives[*active].capture.so_far()?.at;
            let (from, to) = *taken.fills.last()?;
            match to > from {
                true => Some(stop.capacity_cc? / taken.unit.to_base(1.0) - at),
                false => Some(at),
            }
        };
        let to_come = taken.expected.map(|e| e.middle - taken.value);
        let will_not_do = to_come.zip(left()).is_some_and(|(rest, left)| rest > left);
        Some(will_not_do)
    }

    /// Whether the chamber's reading is kept by now, or kept safe while it is asked about: then the
    /// journal counts nothing beside it.
    fn is_recorded(&self, before: &ChamberSoFar) -> bool {
        let front = self.waiting.front();
        let of = |stop: usize| {
            let stop = &self.stops[stop].stop;
            (stop.spot.to_string(), stop.round) == (before.spot.clone(), before.round)
        };
        let mut stops = (0..self.stops.len()).filter(|stop| of(*stop));
        front.is_some_and(|one| one.record.is_some())
            || stops.any(|stop| reading_of(self.walk.became()[stop]).is_some())
    }
}

fn is_same(now: &ChamberSoFar, before: &ChamberSoFar) -> bool {
    let place = |one: &ChamberSoFar| (one.spot.clone(), one.round, one.gauge.clone());
    let near = |now: &PourSoFar, before: &PourSoFar| {
        let near = |a: f64, b: f64| (a - b).abs() < ONE_REST_COUNTS * now.resolution;
        near(now.at, before.at)
            && near(now.value, before.value)
            && (now.fills.len(), now.unheard) == (before.fills.len(), before.unheard)
    };
    let both = now.poured.as_ref().zip(before.poured.as_ref());
    place(now) == place(before) && both.is_some_and(|(now, before)| near(now, before))
}
