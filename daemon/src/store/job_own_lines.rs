//! What a job of a station of several writes beside a fact into its own journal.

use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{Fact, InputKind, JoinedStation};
use crate::store::held_journal::keep_ends_of_windows;
use crate::store::job::Job;
use crate::store::job_error::JobError;
use crate::store::job_stations::job_of;
use crate::store::journal::{JOURNAL, JournalError};
use crate::store::line::{Beside, FactText};
use crate::store::merged::SaidFact;
use crate::store::naming::named;
use crate::store::station::{FactRef, StationId};

/// A fact of a station of several, on its way into the own journal.
pub(super) struct OwnLine {
    pub(super) text: FactText,
    /// The fact that it names, as the own journal does, where there are several.
    pub(super) names: Option<FactRef>,
}

/// A fact of this station among those of others. `names` is the one that it names, as the journal does.
pub(super) fn said(
    (station, stamp): (StationId, u64),
    (seq, at): (u64, Timestamp),
    on: Option<FactRef>,
    names: Option<FactRef>,
    mut fact: Fact,
) -> SaidFact {
    let mut of_station = None;
    if let (Some(number), Some(names)) = (named(&mut fact), names) {
        (*number, of_station) = (names.seq, names.station);
    }
    keep_ends_of_windows(&mut fact);
    SaidFact {
        stamp,
        station,
        seq,
        at,
        on,
        of_station,
        fact: Arc::new(fact),
    }
}

impl Job {
    /// The fact as a line of the own journal says it. The fact stays as it is.
    pub(super) fn own_line(&self, fact: &mut Fact) -> Result<OwnLine, JobError> {
        let Some(union) = self.stations.as_ref().and_then(|s| s.union.as_ref()) else {
            return Ok(OwnLine {
                text: FactText::of(fact).map_err(JournalError::from)?,
                names: None,
            });
        };
        let of = named(fact).map(|number| *number);
        let names = of.map(|number| union.reference(number));
        let put = |fact: &mut Fact, seq: Option<u64>| {
            if let (Some(number), Some(seq)) = (named(fact), seq) {
                *number = seq;
            }
        };
        put(fact, names.as_ref().map(|names| names.seq));
        let of_station = names.as_ref().and_then(|names| names.station.as_ref());
        let text = FactText::naming(fact, of_station);
        put(fact, of);
        Ok(OwnLine {
            text: text.map_err(JournalError::from)?,
            names,
        })
    }

    /// What stands beside the fact in the own journal: nothing where the data folder is no station.
    pub(super) fn beside(&mut self, fact: &Fact, now: Timestamp) -> Beside {
        let on = self.rests_on(fact);
        let Some(stations) = &mut self.stations else {
            return Beside::default();
        };
        let stamp = Some(stations.next_stamp(now));
        if let Some(on) = stations.next_on.take() {
            return Beside {
                stamp,
                on: Some(on),
            };
        }
        let on = on.map(|number| match &stations.union {
            Some(union) => union.reference(number),
            None => FactRef {
                station: None,
                seq: number,
            },
        });
        Beside { stamp, on }
    }

    /// A fact of another number in the view, as a line of this station names it; `None` where one
    /// station alone has a journal.
    pub(super) fn reference(&self, number: u64) -> Option<FactRef> {
        let union = self.stations.as_ref()?.union.as_ref()?;
        Some(union.reference(number))
    }

    /// Lets the next fact rest on this one.
    pub(super) fn rest_on(&mut self, on: Option<FactRef>) {
        if let Some(stations) = &mut self.stations {
            stations.next_on = on;
        }
    }

    /// Whether another station opened the job.
    pub(super) fn begins_elsewhere(&self) -> bool {
        self.keys.base != 0
    }

    /// The number of the fact on which this one rests, as this station knows it.
    fn rests_on(&self, fact: &Fact) -> Option<u64> {
        self.stations.as_ref()?;
        let stages = self.view.stages();
        let stage = |named: Option<&String>| match named {
            Some(name) => stages.iter().find(|stage| stage.name == *name),
            None => stages.last(),
        };
        match fact {
            Fact::Held(reading)
            | Fact::Revised(reading)
            | Fact::Final(reading)
            | Fact::Asked(reading) => Some(stage(reading.stage.as_ref())?.seq),
            Fact::Import(_) | Fact::Cut(_) => Some(stage(None)?.seq),
            Fact::CutWithdrawn(said) => Some(self.view.opened_by(said.of)?.said()),
            Fact::Input(input) if input.kind == InputKind::Engine => Some(self.view.engine()?.seq),
            Fact::Restored { of } => Some(self.view.reading(*of)?.voids.last()?.seq),
            _ => None,
        }
    }

    /// This station and the stamp of the line, where a fact is one of several stations'.
    pub(super) fn speaks(&self, beside: &Beside) -> Option<(StationId, u64)> {
        let stations = self.stations.as_ref()?;
        stations.union.as_ref()?;
        Some((stations.card.station.clone(), beside.stamp?))
    }

    /// Takes a fact that is in line into the view of all stations; returns the readings that it
    /// touched.
    pub(super) fn take_said(&mut self, said: SaidFact) -> Vec<u64> {
        self.line.said.push(said);
        let Some(union) = self.stations.as_ref().and_then(|s| s.union.as_ref()) else {
            return Vec::new();
        };
        union.take_last(&self.line.said, &mut self.view)
    }

    /// Says in the own journal whose it is, where it does not say so yet. A journal from before the
    /// folder joined a shop does not.
    pub(super) fn say_joined(&mut self) -> Result<(), JobError> {
        let Some(stations) = &self.stations else {
            return Ok(());
        };
        let card = &stations.card;
        let said = stations.joined.as_ref();
        if said.is_some_and(|said| said.letter == card.letter || card.letter.is_none()) {
            return Ok(());
        }
        let job = match &stations.union {
            Some(union) => Some(union.job().clone()),
            None => job_of(&self.files().read(&self.dir().join(JOURNAL))?),
        };
        let Some(job) = job else {
            return Ok(());
        };
        let joined = JoinedStation {
            job,
            station: card.station.clone(),
            letter: card.letter.clone(),
            parted: None,
        };
        self.append(Fact::Joined(joined.clone()), None)?;
        if let Some(stations) = &mut self.stations {
            stations.joined = Some(joined);
        }
        Ok(())
    }
}
