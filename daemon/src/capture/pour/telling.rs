//! What an account of pours says: a value is held, revised, final, or withdrawn.

use super::super::{CaptureEvent, CaptureNote, CapturedValue};
use super::account::Account;
use super::level::Level;

impl Account {
    pub(super) fn say_evaporation(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) {
        if !self.said_evaporation
            && let Some(note) = self.evaporation(level)
        {
            self.said_evaporation = true;
            out.push(CaptureEvent::Note(note));
        }
    }

    pub(super) fn announce(
        &mut self,
        taken: CapturedValue,
        level: &Level,
        out: &mut Vec<CaptureEvent>,
    ) {
        let pour = self.number;
        self.drips |= level.dripped && self.may_be_whole(&taken);
        self.drops_on(&taken, level);
        let taken = self.doubted(taken, level.dripped);
        self.held_at = Some(level.clone());
        self.rests_at(&taken, level);
        if let Some((_, rest)) = self.rests.last() {
            // Where samples were lost, how the level came to rest is known from before.
            self.held_at = Some(rest.clone());
        }
        match &self.held {
            None => {
                self.held = Some(taken.clone());
                self.settled = false;
                out.push(CaptureEvent::Held { pour, taken });
            }
            Some(held) => {
                let least = (self.settings.revise_cc * self.scale).max(0.8 * self.resolution);
                if (taken.value - held.value).abs() >= least {
                    self.held = Some(taken.clone());
                    self.settled = false;
                    out.push(CaptureEvent::Revised { pour, taken });
                }
            }
        }
    }

    pub(super) fn finish(&mut self, taken: CapturedValue, out: &mut Vec<CaptureEvent>) {
        self.last_final = Some(taken.clone());
        self.held = None;
        let number = self.number;
        self.carried = self.said_of(&taken).map(|early| (number, early));
        self.clear_pour();
        self.unseen = None;
        out.push(CaptureEvent::Final {
            pour: self.number,
            taken,
        });
        self.number += 1;
    }

    pub(super) fn withdraw(&mut self, why: CaptureNote, out: &mut Vec<CaptureEvent>) {
        if self.held.take().is_some() {
            out.push(CaptureEvent::Withdrawn {
                pour: self.number,
                why,
            });
        }
        self.clear_pour();
    }

    /// Forgets what is known of one pour.
    pub(super) fn clear_pour(&mut self) {
        self.sum = 0.0;
        (self.across, self.resumes) = (None, None);
        self.goes_on = false;
        self.said_evaporation = false;
        self.held_at = None;
        self.rests.clear();
        self.fills.clear();
        self.refilled = None;
        self.two = None;
        self.undrained = None;
        self.amid = None;
        self.early = None;
        self.added = false;
        self.reopened = false;
        self.lingered = false;
        (self.kept_behind, self.risen) = (false, false);
        self.poured_on_hold = false;
        (self.pour_expected, self.begun, self.renew) = (None, false, false);
    }
}
