//! What is to be said of the journals of several stations beside what their facts say: lines that
//! nobody here understands, and clocks that are ahead.

use jiff::Timestamp;

#[cfg(test)]
use crate::store::fact::Fact;
use crate::store::held_journal::{HeldJournal, StationInJob, is_ahead, micros};
use crate::store::merged::LastSaid;
#[cfg(test)]
use crate::store::merged::SaidFact;
use crate::store::station::StationId;
use crate::store::union::Union;
use crate::store::view::JobView;

/// How many digits of its identity name a station that has no letter of its own.
const DIGITS: usize = 4;

impl Union {
    /// What is to be said of each station's journal.
    pub(crate) fn standing(&self, now: Timestamp) -> Vec<StationInJob> {
        let of = |(station, held): (&StationId, &HeldJournal)| {
            let ahead = is_ahead(held.stamp, now).then(|| held.stamp - micros(now));
            StationInJob {
                station: station.clone(),
                label: self.label(station, held),
                own: *station == self.own,
                lines: held.lines,
                not_understood: held.not_understood,
                ahead_us: ahead.unwrap_or(0),
            }
        };
        self.journals.iter().map(of).collect()
    }

    /// The letter of a station, or where it has none, or another has the same, some digits of its
    /// identity.
    pub(super) fn label(&self, station: &StationId, held: &HeldJournal) -> String {
        let same = |other: &&HeldJournal| other.letter == held.letter;
        let alone = self.journals.values().filter(same).count() == 1;
        let sound = |letter: &&String| {
            alone && !letter.is_empty() && letter.chars().all(|c| c.is_ascii_uppercase())
        };
        match held.letter.as_ref().filter(sound) {
            Some(letter) => letter.clone(),
            None => station.0.chars().take(DIGITS).collect(),
        }
    }

    /// How many samples of readings' windows are in memory.
    #[cfg(test)]
    pub(crate) fn samples(&self) -> usize {
        let of = |said: &SaidFact| match &*said.fact {
            Fact::Held(one) | Fact::Revised(one) | Fact::Final(one) | Fact::Asked(one) => {
                one.window.len()
            }
            Fact::Import(import) => import.rows.iter().map(|row| row.window.len()).sum(),
            _ => 0,
        };
        self.order.iter().map(of).sum()
    }

    /// Lets the view know of them.
    pub(super) fn tell_of_journals(&self, view: &mut JobView) {
        view.last_said = self.order.last().map(|said| LastSaid {
            stamp: said.stamp,
            base: self.cast.role(&said.station).map_or(0, |role| role.base),
        });
        let unread = self.journals.iter();
        let unread = unread.filter(|(_, held)| held.not_understood > 0);
        let unread: Vec<(String, u64)> = unread
            .map(|(station, held)| (self.label(station, held), held.not_understood))
            .collect();
        let known = view.merge.as_ref().map(|notes| &notes.not_understood);
        if known.is_some_and(|known| *known != unread) {
            view.notes().not_understood = unread;
        }
    }
}
