//! A reading that was kept is taken again: what its capture must forget, and what it must not.
//!
//! A person may say so late, when the next pour runs or is over. What came since is no part of the
//! reading, and the capture keeps it.

use benchhand_wire::{Refusal, SaidAs};

use super::asking::Undo;
use super::{NOWHERE, RouteRun, RunJournal, RunOutcome, reading_of};
use crate::capture::CaptureControl;
use crate::known::words;
use crate::store::fact::Fact;

/// Values of a capture from this number on are parts of a pour that was parted by hand: the capture
/// does not know these numbers.
pub(super) const PARTED: u32 = 1 << 31;

/// Whoever says `again` so soon after the value was first told, s, means that value. Common
/// practice, no source: nobody wipes a chamber and turns to the next in less.
const JUST_NOW_S: f64 = 20.0;

impl RouteRun {
    /// Whether the reading of a stop is still held and was told only just now.
    pub(super) fn was_told_just_now(&self, stop: usize) -> bool {
        let Some(id) = reading_of(self.walk.became()[stop]) else {
            return false;
        };
        self.actives.iter().any(|active| {
            let of = active.outcomes.values().find(|one| one.id == Some(id));
            let since = of
                .filter(|one| one.held)
                .and_then(|one| active.last_us?.checked_sub(one.first_us?));
            since.is_some_and(|us| us as f64 / 1e6 <= JUST_NOW_S)
        })
    }

    /// Voids the reading of a stop; the stop is visited again.
    pub(super) fn take_again(
        &mut self,
        stop: usize,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        // Liquid that runs by now is no part of the reading.
        for index in 0..self.actives.len() {
            if self.actives[index].holds() && self.actives[index].delivers() {
                self.tell(index, CaptureControl::Over, at_us, keep, out);
            }
        }
        let stood = self.walk.clone();
        let id = reading_of(self.walk.became()[stop]);
        if let Some(of) = id {
            keep.keep(Fact::voided(of, "taken again".to_owned()))?;
            out.readings.push(of);
            self.undo = Some(Undo::Restore {
                id: of,
                stop,
                walk: stood,
            });
            for index in 0..self.actives.len() {
                self.forget_reading(index, of, at_us);
            }
        }
        self.walk.again(stop);
        self.stirred = false;
        // What came since may be this chamber poured once more, or the next one.
        self.mark_meanwhile();
        self.mark_under_way();
        out.say(SaidAs::Again, words::again(&self.stops[stop].stop.spot));
        self.third_round(stop, keep, out);
        Ok(())
    }

    /// A capture forgets the reading, unless the next pour has begun: then only the reading's number
    /// stays taken, so that no later pour is filed in its place.
    fn forget_reading(&mut self, index: usize, id: u64, at_us: u64) {
        let active = &self.actives[index];
        let of = active.outcomes.iter().find(|(_, one)| one.id == Some(id));
        let Some(pour) = of.map(|(pour, _)| *pour) else {
            return;
        };
        let newest = active.outcomes.keys().rfind(|number| **number < PARTED);
        let is_last = newest == Some(&pour);
        let begun = active.delivers() || self.poured_since(index, pour);
        let active = &mut self.actives[index];
        if let Some(outcome) = active.outcomes.get_mut(&pour) {
            (outcome.id, outcome.held) = (None, false);
            if !is_last || begun {
                outcome.stop = NOWHERE;
                return;
            }
        }
        active.told(CaptureControl::Again, at_us, &mut Vec::new());
    }
}
