//! How one fact after another changes a view.
//!
//! Folding takes a fact as a whole or refuses it as a whole, with the reason; a refused fact
//! changes nothing. The same rules hold before a line is written and when it is read back. So a
//! journal never holds a line that a later opening cannot follow.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{
    ASKED, CheckedGauge, Fact, ImportedReadings, InputKind, JobInput, Reading, ReadingId,
    ReadingSource,
};
use crate::store::fits::fits;
use crate::store::misfit::Misfit;
use crate::store::view::{
    JobView, JournalEnd, KeptReading, LoadedInput, ReadingMove, ReadingState, ReadingVoid,
    RouteStanding, Stamped,
};

/// Where a fact stands in its journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// The number of the fact.
    pub seq: u64,
    /// When its line was written.
    pub at: Timestamp,
    /// The hash of its line, in hexadecimal.
    pub hash: String,
}

impl JobView {
    /// Whether the fact could follow on what is known.
    ///
    /// # Errors
    /// Says what does not fit and what to do.
    pub fn fits(&self, fact: &Fact) -> Result<(), Misfit> {
        fits(self, fact)
    }

    /// Takes in the fact. Returns the readings that it touched: new readings, and readings whose
    /// state, spot or mark changed.
    ///
    /// # Errors
    /// As for [`JobView::fits`]; the view is unchanged then.
    pub fn apply(&mut self, stamp: Stamp, fact: Fact) -> Result<Vec<ReadingId>, Misfit> {
        self.fits(&fact)?;
        Ok(self.apply_fitting(stamp, fact))
    }

    /// Takes in a fact that fits, as [`JobView::fits`] has found.
    pub(super) fn apply_fitting(&mut self, stamp: Stamp, fact: Fact) -> Vec<ReadingId> {
        let Stamp { seq, at, hash } = stamp;
        // A forged line may have any number.
        let last = seq.saturating_add(fact.numbers().saturating_sub(1));
        self.part.stopped = match fact {
            Fact::Stop {} => true,
            // Who only takes part has done no work that could end.
            Fact::Joined(_) => self.part.stopped || seq == self.part.base + 1,
            _ => false,
        };
        self.make_anew_after(&fact);
        if self.part.wrote(seq) {
            self.part.sessions.take(seq, at, &fact);
        }
        let touched = self.take(seq, at, fact);
        self.head = Some(JournalEnd {
            seq: last,
            hash,
            at,
        });
        touched
    }

    fn take(&mut self, seq: u64, at: Timestamp, fact: Fact) -> Vec<ReadingId> {
        match fact {
            Fact::Opened(opened) => {
                self.name = opened.job;
                self.title = opened.title;
                self.copy_of = opened.copy_of.map(Arc::new);
                self.opened = Some(at);
                self.open_stage((seq, at), opened.stage, None);
            }
            Fact::Input(input) => self.load(seq, at, input),
            Fact::Zero(what) => {
                let record = Arc::make_mut(&mut self.part.gauges)
                    .entry(what.gauge.clone())
                    .or_default();
                record.zeros.push(Stamped { seq, at, what });
            }
            Fact::Check(check) => return self.take_check(seq, at, check),
            Fact::Plate(what) => return self.take_plate(Stamped { seq, at, what }),
            Fact::Leak(what) => Arc::make_mut(&mut self.part.leaks).push(Stamped { seq, at, what }),
            Fact::Cut(cut) => self.open_stage((seq, at), cut.stage.clone(), Some(cut)),
            Fact::CutWithdrawn(said) => return self.take_withdrawn((seq, at), said),
            Fact::Condition(what) => {
                let said = Arc::make_mut(&mut self.part.conditions)
                    .entry(what.name.clone())
                    .or_default();
                said.push(Stamped { seq, at, what });
            }
            Fact::Held(reading) | Fact::Revised(reading) => {
                return self.add(seq, at, reading, ReadingState::Held);
            }
            Fact::Final(reading) => return self.add(seq, at, reading, ReadingState::Final),
            Fact::Asked(reading) => return self.add(seq, at, reading, ReadingState::Asked),
            Fact::Finalised { of } => return self.set_state(of, ReadingState::Final),
            Fact::Voided { of, reason, by } => {
                self.readings.change(of, |reading| {
                    let void = ReadingVoid {
                        seq,
                        reason: reason.clone(),
                        by: by.clone(),
                    };
                    reading.voids.push(void);
                    reading.state = ReadingState::Voided { reason, by };
                });
                return vec![of];
            }
            Fact::Restored { of } => {
                self.readings.change(of, |reading| reading.voids.clear());
                return self.set_state(of, ReadingState::Final);
            }
            Fact::Kept { of, asked } => {
                self.readings.change(of, |reading| {
                    reading.labels.insert(ASKED.to_owned(), asked);
                });
                return vec![of];
            }
            Fact::Moved {
                of,
                from,
                to,
                reason,
                by,
            } => {
                return self.move_to(
                    of,
                    ReadingMove {
                        seq,
                        at,
                        from,
                        to,
                        reason,
                        by,
                    },
                );
            }
            Fact::Fitted(what) => {
                Arc::make_mut(&mut self.fitted)
                    .insert(what.position.clone(), Stamped { seq, at, what });
            }
            Fact::Ordered(what) => Arc::make_mut(&mut self.orders).push(Stamped { seq, at, what }),
            Fact::Import(import) => return self.add_rows(seq, at, import),
            Fact::RouteStarted(started) => {
                self.part.route = Some(RouteStanding {
                    started: Arc::new(started),
                    seq,
                    stop: 0,
                    round: 1,
                    skipped: Vec::new(),
                    went_back: None,
                });
            }
            Fact::RouteAt(at) => {
                if let Some(route) = &mut self.part.route {
                    (route.stop, route.round, route.skipped) = (at.stop, at.round, at.skipped);
                    route.went_back = at.revisits.then_some(seq);
                }
            }
            Fact::SoFar(so_far) => self.part.so_far = so_far.poured.is_some().then_some(so_far),
            Fact::RouteEnded { .. } => self.part.route = None,
            Fact::Joined(_) | Fact::DamageKnown { .. } | Fact::Steered(_) | Fact::Stop {} => {}
        }
        Vec::new()
    }

    fn load(&mut self, seq: u64, at: Timestamp, input: JobInput) {
        let JobInput {
            kind,
            name,
            hash,
            content,
        } = input;
        let inputs = match kind {
            InputKind::Engine => {
                self.part.engine = Some(seq);
                &mut self.inputs
            }
            _ => &mut self.part.inputs,
        };
        let loads = Arc::make_mut(inputs).entry((kind, name)).or_default();
        loads.push(LoadedInput {
            seq,
            at,
            hash,
            content,
        });
    }

    fn add_rows(&mut self, seq: u64, at: Timestamp, import: ImportedReadings) -> Vec<ReadingId> {
        let numbered = (seq..).zip(import.rows);
        numbered
            .flat_map(|(id, row)| self.add(id, at, row, ReadingState::Final))
            .collect()
    }

    fn add(
        &mut self,
        id: ReadingId,
        at: Timestamp,
        said: Reading,
        state: ReadingState,
    ) -> Vec<ReadingId> {
        // What the reading holds is not counted again.
        self.part.so_far.take_if(|so_far| so_far.spot == said.spot);
        let opened_in = self.stage_of(&said);
        let mut reading = KeptReading::new((id, at), said, state, self.stage());
        reading.opened_in = opened_in;
        reading.marked = self.on_a_zero_let_stand(&reading);
        reading.place = self.saying;
        let mut touched = vec![id];
        reading.number = self.part.numbered + 1;
        reading.station = self.part.label.clone();
        if let Some(old) = reading.supersedes.and_then(|old| self.readings.get(old)) {
            touched.push(old.id);
            reading.number = old.number;
            reading.station.clone_from(&old.station);
            reading.stage.clone_from(&old.stage);
            reading.opened_in = old.opened_in;
            // A person who revises a reading need not know that it was moved meanwhile: a revision
            // of the old spot goes to the new one.
            if old
                .moves
                .first()
                .is_some_and(|first| first.from == reading.spot)
            {
                reading.spot.clone_from(&old.spot);
                reading.moves.clone_from(&old.moves);
                reading.round = old.round;
            }
            let old = old.id;
            self.readings
                .change(old, |old| old.state = ReadingState::Superseded { by: id });
        }
        if touched.len() == 1 {
            self.part.numbered += 1;
        }
        self.readings.insert(reading);
        touched
    }

    /// Why a captured reading is in doubt: its zero was let stand and has not been checked since.
    fn on_a_zero_let_stand(&self, reading: &KeptReading) -> Option<String> {
        if reading.source != ReadingSource::Captured {
            return None;
        }
        let gauge = reading.gauge.as_deref()?;
        let record = self.part.gauges.get(gauge)?;
        let zero = record.zeros.last().filter(|zero| zero.what.let_stand)?;
        let good =
            |check: &Stamped<CheckedGauge>| check.seq > zero.seq && check.what.passed == Some(true);
        if record.checks.iter().any(good) {
            return None;
        }
        let set = record.zeros.iter().rfind(|zero| !zero.what.let_stand);
        let set = set.map_or(zero.at, |zero| zero.at);
        Some(format!("gauge {gauge} was not zeroed anew since {set:.0}"))
    }

    fn set_state(&mut self, of: ReadingId, state: ReadingState) -> Vec<ReadingId> {
        self.readings.change(of, |reading| reading.state = state);
        vec![of]
    }

    /// A reading that comes to another spot counts as the next round there. What was moved to the spot
    /// that it leaves, and counted behind it, moves up: two readings that are exchanged keep their rounds.
    pub(super) fn move_to(&mut self, of: ReadingId, by: ReadingMove) -> Vec<ReadingId> {
        let from = by.from.clone();
        self.readings.change(of, |reading| {
            reading.spot.clone_from(&by.to);
            reading.moves.push(by);
        });
        let mut touched = vec![of];
        let Some(stage) = self.readings.get(of).map(|one| one.stage.clone()) else {
            return touched;
        };
        self.count_as_open_round(of);
        let moved_there = self.readings.newest_at(&stage, &from);
        let moved_there = moved_there.filter(|one| !one.moves.is_empty());
        let mut moved_there: Vec<(u32, ReadingId)> = moved_there
            .map(|one| (one.round.unwrap_or(1), one.id))
            .collect();
        moved_there.sort_unstable();
        for (round, id) in moved_there {
            if self.open_round(id).is_some_and(|open| open < round) {
                self.count_as_open_round(id);
                touched.push(id);
            }
        }
        touched
    }

    fn count_as_open_round(&mut self, of: ReadingId) {
        if let Some(open) = self.open_round(of) {
            self.readings
                .change(of, |reading| reading.round = Some(open));
        }
    }

    /// The first round that no other reading of the same spot has.
    fn open_round(&self, of: ReadingId) -> Option<u32> {
        let reading = self.readings.get(of)?;
        let others = self.readings.newest_at(&reading.stage, &reading.spot);
        let others = others.filter(|other| other.id != of);
        let taken: BTreeSet<u32> = others.map(|other| other.round.unwrap_or(1)).collect();
        (1..).find(|round| !taken.contains(round))
    }
}
