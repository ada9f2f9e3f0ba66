//! How the facts of several stations, one after another in their common order, change a view.
//!
//! A station writes only what fits what it knows. What the others wrote meanwhile it does not know,
//! so a fact may not fit where it stands in the common order. Nothing is refused for that: the table
//! in [`JobView::settle`] says what each pair of facts comes to. A fact that names one which has not
//! come waits for it.

use std::sync::Arc;

use crate::store::fact::{ASKED, Fact, InputKind, ReadingId};
use crate::store::fold::Stamp;
use crate::store::kept_reading::{KeptReading, ReadingPlace};
use crate::store::merged::{MergeNotes, SaidFact, StationCast, StationFinding, StationRole};
use crate::store::misfit::Misfit;
use crate::store::naming::{name_gauges, named};
use crate::store::station::FactRef;
use crate::store::view::{JobView, ReadingMove, ReadingState, ReadingVoid, StationPart};

/// The fact names another one that has not come.
pub(super) struct Waits;

impl JobView {
    /// An empty view of a job of several stations, as the station of this role sees it.
    pub(crate) fn of_several(role: &StationRole) -> JobView {
        JobView {
            part: StationPart::of(role),
            merge: Some(Arc::default()),
            ..JobView::default()
        }
    }

    /// Takes in the next fact of the common order. Returns the readings that were touched.
    pub(crate) fn merge_in(&mut self, cast: &StationCast, said: &SaidFact) -> Vec<ReadingId> {
        let mut touched = match self.settled(cast, said) {
            Ok(touched) => touched,
            Err(Waits) => {
                self.notes().waiting.push(said.clone());
                return Vec::new();
            }
        };
        // What waited for it follows, and perhaps what waited for that.
        let mut waited = self.merge.as_ref().map_or(0, |notes| notes.waiting.len());
        while waited > 0 {
            for one in std::mem::take(&mut self.notes().waiting) {
                match self.settled(cast, &one) {
                    Ok(more) => touched.extend(more),
                    Err(Waits) => self.notes().waiting.push(one),
                }
            }
            let left = self.notes().waiting.len();
            if left == waited {
                break;
            }
            waited = left;
        }
        touched
    }

    fn settled(&mut self, cast: &StationCast, said: &SaidFact) -> Result<Vec<ReadingId>, Waits> {
        let role = cast.role(&said.station).ok_or(Waits)?;
        let seq = role.base + said.seq;
        let rank = cast.0.range(..&said.station).count();
        self.saying = ReadingPlace(said.stamp, rank);
        // What is stated of another station's readings belongs to that station.
        let role = match (&*said.fact, &said.of_station) {
            (Fact::Condition(_), Some(station)) => cast.role(station).ok_or(Waits)?,
            _ => role,
        };
        if self.part.base == role.base {
            return self.settle(cast, seq, said);
        }
        // The part of the station that speaks takes the place of this station's meanwhile.
        let others = Arc::make_mut(&mut self.others);
        let there = others.remove(&role.base);
        let there = there.unwrap_or_else(|| StationPart::of(role));
        let own = std::mem::replace(&mut self.part, there);
        let settled = self.settle(cast, seq, said);
        let there = std::mem::replace(&mut self.part, own);
        Arc::make_mut(&mut self.others).insert(role.base, there);
        settled
    }

    /// Takes in the fact of this number, which belongs to the part that is in place. Where it does not fit what others
    /// wrote meanwhile:
    ///
    /// | fact | on | comes to |
    /// |---|---|---|
    /// | `voided` | voided | both hold; a `restored` takes back the one that it knew |
    /// | `voided` | revised | the revision stands, a finding |
    /// | `restored` | a void it did not know | the reading stays voided, a finding |
    /// | `restored` | a reading that counts | nothing |
    /// | `restored` | one whose place another took | that one stands, a finding |
    /// | `moved` | voided | it lies there, voided |
    /// | `moved` | moved | the later spot holds, a finding where they differ |
    /// | `moved` | revised | the revision is moved |
    /// | `finalised` | anything but held | nothing |
    /// | `kept` | voided, revised | the question is kept with it |
    /// | `revised` | voided, final | the revision stands, a finding |
    /// | `revised` | revised | the later revision stands, a finding |
    /// | `cut` | cut | both open a stage, a finding; the later of equal names is named with its station |
    /// | `cut` | a cut that was taken back | it follows the stage before |
    /// | `cut_withdrawn` | the same | the later holds, a finding where they differ |
    /// | a reading | a cut that was taken back | it counts for the stage before, a finding |
    /// | `input` of the engine | the same | the later holds, a finding |
    /// | `ordered` that takes back | taken back | the rest of it holds |
    /// | any | a reference that has not come | it waits |
    fn settle(
        &mut self,
        cast: &StationCast,
        seq: u64,
        said: &SaidFact,
    ) -> Result<Vec<ReadingId>, Waits> {
        let mut fact = (*said.fact).clone();
        let number = |named: &FactRef| cast.number(named, &said.station).ok_or(Waits);
        if let Some(of) = named(&mut fact) {
            let (station, seq) = (said.of_station.clone(), *of);
            *of = number(&FactRef { station, seq })?;
        }
        let on = said.on.as_ref().map(number).transpose()?;
        name_gauges(&mut fact, &self.part);
        match &mut fact {
            Fact::Held(reading)
            | Fact::Revised(reading)
            | Fact::Final(reading)
            | Fact::Asked(reading) => {
                self.stage_said(reading, on)?;
            }
            Fact::Import(import) => {
                for row in &mut import.rows {
                    let on = on.filter(|_| row.stage.is_none());
                    self.stage_said(row, on)?;
                }
            }
            Fact::Restored { of } => {
                if let Some(touched) = self.restore_what_was_known(*of, on) {
                    return Ok(touched);
                }
                if let Some(touched) = self.restore_what_was_revised(*of) {
                    return Ok(touched);
                }
            }
            Fact::Cut(cut) => self.meet_cut(seq, cut, on)?,
            Fact::Joined(joined) => self.note_parting(cast, joined),
            Fact::Check(_) | Fact::Plate(_) => self.note_repeated(seq, on),
            Fact::CutWithdrawn(said) => self.meet_withdrawn(said, on)?,
            Fact::Input(input) if input.kind == InputKind::Engine => {
                let known = on.or(self.part.engine);
                if let Some(last) = self.engine()
                    && known.is_some_and(|known| known != last.seq)
                    && last.hash != input.hash
                {
                    let (first, second) = (last.seq, seq);
                    let finding = StationFinding::TwoEngines { first, second };
                    self.notes().find(finding);
                }
            }
            _ => {}
        }
        let misfit = match self.fits(&fact) {
            Ok(()) => {
                let (at, hash) = (said.at, String::new());
                return Ok(self.apply_fitting(Stamp { seq, at, hash }, fact));
            }
            Err(misfit) => misfit,
        };
        self.meet(misfit, (seq, said), fact)
    }

    /// What a fact comes to that does not fit what others wrote meanwhile.
    fn meet(
        &mut self,
        misfit: Misfit,
        (seq, said): (u64, &SaidFact),
        fact: Fact,
    ) -> Result<Vec<ReadingId>, Waits> {
        use Misfit::{AlreadyThere, Elsewhere, NotHeld, NotVoided, Superseded, Voided};
        Ok(match (misfit, fact) {
            (
                Misfit::NotOpened
                | Misfit::NoReading(_)
                | Misfit::NoCut(_)
                | Misfit::NoStage { .. },
                _,
            ) => {
                return Err(Waits);
            }
            // What else the order says holds; a cut is taken back once, whoever says it.
            (Misfit::NotOrdered(_), fact @ Fact::Ordered(_))
            | (Misfit::CutGone(_), fact @ Fact::CutWithdrawn(_)) => {
                let (at, hash) = (said.at, String::new());
                self.apply_fitting(Stamp { seq, at, hash }, fact)
            }
            (Voided { .. }, Fact::Voided { of, reason, by }) => {
                self.readings.change(of, |reading| {
                    reading.voids.push(ReadingVoid { seq, reason, by });
                });
                Vec::new()
            }
            (Superseded { .. }, Fact::Voided { of, .. }) => {
                self.notes()
                    .find(StationFinding::VoidedAndRevised { reading: of });
                Vec::new()
            }
            (
                Voided { .. } | Superseded { .. } | Elsewhere { .. },
                Fact::Moved {
                    of,
                    from,
                    to,
                    reason,
                    by,
                },
            ) => {
                let moved = ReadingMove {
                    seq,
                    at: said.at,
                    from,
                    to,
                    reason,
                    by,
                };
                self.move_met(of, moved)
            }
            (Voided { .. } | Superseded { .. }, Fact::Kept { of, asked }) => {
                self.readings.change(of, |reading| {
                    reading.labels.insert(ASKED.to_owned(), asked);
                });
                vec![of]
            }
            (
                misfit @ (Voided { .. } | Superseded { .. } | NotHeld(_)),
                fact @ (Fact::Held(_) | Fact::Revised(_) | Fact::Final(_) | Fact::Asked(_)),
            ) => self.take_place(&misfit, (seq, said), fact),
            (Voided { .. } | Superseded { .. } | NotHeld(_), Fact::Finalised { .. })
            | (NotVoided(_), Fact::Restored { .. })
            | (AlreadyThere { .. }, Fact::Moved { .. })
            | (Misfit::NotRunning { .. } | Misfit::OffRoute { .. }, _) => Vec::new(),
            _ => {
                self.notes().refused += 1;
                Vec::new()
            }
        })
    }

    /// Takes back the void that a station knew when it restored a reading; `None` where there is no
    /// other, so that the reading counts again.
    fn restore_what_was_known(
        &mut self,
        of: ReadingId,
        known: Option<u64>,
    ) -> Option<Vec<ReadingId>> {
        let known = known?;
        let voids = &self.readings.get(of)?.voids;
        if voids.iter().all(|void| void.seq != known) {
            // Another station restored it already, or it stands again for another reason.
            return Some(Vec::new());
        }
        let others = voids.iter().filter(|void| void.seq != known);
        let left: Vec<ReadingVoid> = others.cloned().collect();
        let latest = left.last()?.clone();
        self.readings.change(of, |reading| {
            reading.voids = left;
            let (reason, by) = (latest.reason, latest.by);
            reading.state = ReadingState::Voided { reason, by };
        });
        self.notes()
            .find(StationFinding::RestoredAndVoided { reading: of });
        Some(vec![of])
    }

    /// A reading that was taken back and whose place another one took meanwhile does not count again;
    /// `None` where none did.
    fn restore_what_was_revised(&mut self, of: ReadingId) -> Option<Vec<ReadingId>> {
        let restored = self.readings.get(of)?;
        if !restored.state.is_voided() {
            return None;
        }
        let order = restored.order();
        let later = self
            .readings
            .others_of(of)
            .filter(|one| one.order() > order);
        let by = later.max_by_key(|one| one.order())?.id;
        self.readings.change(of, |reading| {
            reading.voids.clear();
            reading.state = ReadingState::Superseded { by };
        });
        self.notes()
            .find(StationFinding::TwoRevisions { reading: of });
        Some(vec![of])
    }

    /// Moves a reading, or what replaced it, although it was moved, revised or taken back.
    fn move_met(&mut self, of: ReadingId, mut moved: ReadingMove) -> Vec<ReadingId> {
        let of = self.successor(of).unwrap_or(of);
        let Some(reading) = self.readings.get(of) else {
            return Vec::new();
        };
        let there = reading.spot.clone();
        if there == moved.to {
            return Vec::new();
        }
        if there != moved.from {
            let (first, second) = (there.clone(), moved.to.clone());
            let reading = of;
            self.notes().find(StationFinding::TwoMoves {
                reading,
                first,
                second,
            });
            moved.from = there;
        }
        self.move_to(of, moved)
    }

    /// Lets a reading take the place of one that was taken back, revised or made final meanwhile.
    fn take_place(
        &mut self,
        misfit: &Misfit,
        (seq, said): (u64, &SaidFact),
        fact: Fact,
    ) -> Vec<ReadingId> {
        let (Fact::Held(stated)
        | Fact::Revised(stated)
        | Fact::Final(stated)
        | Fact::Asked(stated)) = &fact
        else {
            return Vec::new();
        };
        let Some(reading) = stated.supersedes else {
            return Vec::new();
        };
        let finding = match misfit {
            Misfit::Voided { .. } => StationFinding::VoidedAndRevised { reading },
            Misfit::Superseded { .. } => StationFinding::TwoRevisions { reading },
            _ => StationFinding::RevisedAfterFinal { reading },
        };
        self.notes().find(finding);
        let (at, hash) = (said.at, String::new());
        let mut touched = self.apply_fitting(Stamp { seq, at, hash }, fact);
        // One of them all stands.
        let stood = |one: &&KeptReading| {
            let (gone, back) = (ReadingState::is_superseded, ReadingState::is_voided);
            !gone(&one.state) && !back(&one.state)
        };
        let stood = self.readings.others_of(seq).filter(stood);
        for stood in stood.map(|one| one.id).collect::<Vec<_>>() {
            self.readings.change(stood, |reading| {
                reading.state = ReadingState::Superseded { by: seq };
            });
            touched.push(stood);
        }
        touched
    }

    pub(super) fn notes(&mut self) -> &mut MergeNotes {
        Arc::make_mut(self.merge.get_or_insert_default())
    }
}
