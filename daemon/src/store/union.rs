//! The facts of all stations of a job, in the one order that every station computes alike: stamp,
//! then station, then number.
//!
//! The facts are held in memory, and views of the job on the way to the last of them. Facts that
//! come late are put where they belong, and what follows them is folded anew from the view before
//! them, once for all that come together. Files are not known here.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{Fact, ReadingId};
use crate::store::followed::FollowedFact;
use crate::store::held_journal::{HeldJournal, head_of, is_ahead, keep_ends_of_windows};
use crate::store::line::JournalEntry;
use crate::store::merged::{SaidFact, StationCast, StationRole};
use crate::store::naming::measures;
use crate::store::station::{FactRef, JobId, StationId, base_in, base_of, next_place};
use crate::store::view::{JobView, JournalEnd};

/// A view is held before every so manieth fact.
const EVERY: usize = 256;

/// All journals of a job, and what they come to together.
#[derive(Debug)]
pub(crate) struct Union {
    job: JobId,
    pub(super) own: StationId,
    /// The job's name here, which is its folder's.
    name: String,
    pub(super) journals: BTreeMap<StationId, HeldJournal>,
    pub(super) cast: Arc<StationCast>,
    pub(super) order: Vec<SaidFact>,
    /// Facts that are not in the order yet.
    fresh: Vec<SaidFact>,
    /// By how many facts came before, the view of them.
    held: Vec<(usize, JobView)>,
    view: JobView,
    /// The readings that the last folding touched, where nothing was folded anew.
    touched: Option<Vec<ReadingId>>,
    /// Whether the facts keep the samples of their readings' windows.
    with_samples: bool,
}

impl Union {
    /// No journal yet, of a job that is named `name` here, as the station `own` sees it.
    pub(crate) fn new(job: JobId, own: StationId, name: &str) -> Self {
        Self {
            job,
            own,
            name: name.to_owned(),
            journals: BTreeMap::new(),
            cast: Arc::default(),
            order: Vec::new(),
            fresh: Vec::new(),
            held: Vec::new(),
            view: JobView::default(),
            touched: None,
            with_samples: false,
        }
    }

    /// The same with the samples of windows, for who follows what was measured; who keeps a job open
    /// needs none of them.
    pub(crate) fn with_samples(mut self) -> Self {
        self.with_samples = true;
        self
    }

    /// The job's identity.
    pub(crate) fn job(&self) -> &JobId {
        &self.job
    }

    /// This station.
    pub(crate) fn own(&self) -> &StationId {
        &self.own
    }

    /// Takes in the next line of a station's journal. It is part of the view after
    /// [`Union::fold`].
    pub(crate) fn take(&mut self, station: &StationId, mut entry: JournalEntry) {
        if !self.with_samples {
            keep_ends_of_windows(&mut entry.fact);
        }
        let journal = self.journals.entry(station.clone()).or_default();
        self.fresh.extend(journal.take(station, entry));
    }

    /// Takes in the next line of a station's journal, of which this program understands its number
    /// and hash alone.
    pub(crate) fn pass_over(&mut self, station: &StationId, seq: u64, hash: &str) {
        let journal = self.journals.entry(station.clone()).or_default();
        journal.lines += 1;
        journal.not_understood += 1;
        (journal.seq, journal.hash) = (seq, hash.to_owned());
    }

    /// The number before this station's first one in the view.
    pub(crate) fn base(&self) -> u64 {
        let own = self.cast.role(&self.own);
        own.map_or_else(|| base_of(self.own.place()), |role| role.base)
    }

    /// The number before a station's first one in the view; `None` where it has no journal.
    pub(crate) fn base_of(&self, station: &StationId) -> Option<u64> {
        Some(self.cast.role(station)?.base)
    }

    /// The job as it stands.
    pub(crate) fn view(&self) -> &JobView {
        &self.view
    }

    /// The largest stamp that advances this station's: its own, and those of others that are not
    /// ahead of its clock.
    pub(crate) fn last_stamp(&self, now: Timestamp) -> u64 {
        let counts =
            |(station, stamp): &(&StationId, u64)| **station == self.own || !is_ahead(*stamp, now);
        let stamps = self
            .order
            .iter()
            .rev()
            .map(|said| (&said.station, said.stamp));
        stamps
            .into_iter()
            .find(counts)
            .map_or(0, |(_, stamp)| stamp)
    }

    /// Puts what was taken in where it belongs, and folds anew what follows it.
    pub(crate) fn fold(&mut self) {
        let cast = self.cast_with(&[]);
        let mut fresh = std::mem::take(&mut self.fresh);
        self.touched = None;
        fresh.sort_by(|a, b| a.order().cmp(&b.order()));
        if cast != *self.cast {
            // Names or numbers of the stations changed.
            self.held.clear();
            self.cast = Arc::new(cast);
        } else if let Some(first) = fresh.first() {
            let before = self.place_of(first);
            if before == self.order.len() && before > 0 {
                self.held.push((before, std::mem::take(&mut self.view)));
                self.touched = Some(Vec::new());
            }
            self.held.retain(|(count, _)| *count <= before);
        } else {
            let view = std::mem::take(&mut self.view);
            self.show(view);
            return;
        }
        self.order.append(&mut fresh);
        // Both parts are in order already, which this sort makes use of.
        self.order.sort_by(|a, b| a.order().cmp(&b.order()));
        let (from, mut view) = match self.held.last() {
            Some((count, view)) => (*count, view.clone()),
            None => (0, self.empty(&self.cast)),
        };
        for (count, said) in self.order.iter().enumerate().skip(from) {
            if count % EVERY == 0 && count > from {
                self.held.push((count, view.clone()));
            }
            let touched = view.merge_in(&self.cast, said);
            self.touched.iter_mut().for_each(|all| all.extend(&touched));
        }
        self.show(view);
    }

    /// The readings that the last folding touched; `None` where any may have changed.
    pub(crate) fn take_touched(&mut self) -> Option<Vec<ReadingId>> {
        self.touched.take()
    }

    /// Takes the last of this station's facts that are in line to be written into `view`, which is the
    /// job with those before it. Returns the readings that it touched.
    pub(crate) fn take_last(&self, waiting: &[SaidFact], view: &mut JobView) -> Vec<ReadingId> {
        let Some(new) = waiting.last() else {
            return Vec::new();
        };
        if !self.changes_cast(waiting) && self.is_last(new) {
            let touched = view.merge_in(&self.cast, new);
            self.count(view, waiting);
            return touched;
        }
        let cast = self.cast_with(waiting);
        // Somebody's clock is ahead, or this station is the second one that measures.
        let first = waiting.iter().map(|said| self.place_of(said)).min();
        let (from, mut anew) = match cast == *self.cast {
            true => self.held_before(first.unwrap_or(0), &cast),
            false => (0, self.empty(&cast)),
        };
        let mut all: Vec<&SaidFact> = self.order.iter().skip(from).chain(waiting).collect();
        all.sort_by(|a, b| a.order().cmp(&b.order()));
        let mut touched = Vec::new();
        for said in all {
            let one = anew.merge_in(&cast, said);
            if said.order() == new.order() {
                touched = one;
            }
        }
        self.count(&mut anew, waiting);
        *view = anew;
        touched
    }

    /// Keeps facts of this station that were written; `view` is the job with all of them, and the
    /// last line has this hash.
    pub(crate) fn keep(&mut self, written: Vec<SaidFact>, view: JobView, hash: &str) {
        let same =
            !self.changes_cast(&written) && written.first().is_none_or(|first| self.is_last(first));
        let journal = self.journals.entry(self.own.clone()).or_default();
        for said in &written {
            journal.lines += 1;
            (journal.seq, journal.stamp) = (said.seq, said.stamp);
            journal.note(&said.fact);
        }
        journal.hash = hash.to_owned();
        if same {
            // The views on the way are not at hand; one before the next fact will do.
            let before = self.order.len();
            self.order.extend(written);
            if self.order.len() / EVERY != before / EVERY {
                self.held.push((self.order.len(), view.clone()));
            }
            self.show(view);
        } else {
            self.fresh.extend(written);
            self.fold();
        }
    }

    /// The number and the hash of all journals together.
    pub(crate) fn head(&self) -> (u64, String) {
        let ends = self.journals.iter();
        head_of(ends.map(|(station, held)| (station, held.seq, held.hash.as_str())))
    }

    /// Calls `each` with every fact in order, and with the job as it stands with it.
    ///
    /// # Errors
    /// As `each`.
    pub(crate) fn follow<E>(
        &self,
        mut each: impl FnMut(&JobView, FollowedFact<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut view = self.empty(&self.cast);
        for said in &self.order {
            view.merge_in(&self.cast, said);
            view.name.clone_from(&self.name);
            let held = self.journals.get(&said.station);
            let label = held.map(|held| self.label(&said.station, held));
            let role = self.cast.role(&said.station);
            let followed = FollowedFact {
                id: role.map_or(0, |role| role.base) + said.seq,
                station: label.as_deref().filter(|_| said.station != self.own),
                fact: &said.fact,
            };
            each(&view, followed)?;
        }
        Ok(())
    }

    fn show(&mut self, mut view: JobView) {
        let (seq, hash) = self.head();
        let at = self.order.last().map(|said| said.at).unwrap_or_default();
        view.head = Some(JournalEnd { seq, hash, at });
        if view.opened.is_some() {
            view.name.clone_from(&self.name);
        }
        self.tell_of_journals(&mut view);
        self.view = view;
    }

    /// Gives the view the number that its head will have once `waiting` is written.
    fn count(&self, view: &mut JobView, waiting: &[SaidFact]) {
        let own = self.journals.get(&self.own).map_or(0, |own| own.seq);
        let seq: u64 = self.journals.values().map(|held| held.seq).sum();
        let last = waiting.last().map_or(own, |said| said.seq);
        let at = waiting.last().map(|said| said.at).unwrap_or_default();
        let hash = String::new();
        view.head = Some(JournalEnd {
            seq: seq - own + last,
            hash,
            at,
        });
        view.name.clone_from(&self.name);
    }

    /// The latest view at hand of at most so many facts, and of how many it is.
    fn held_before(&self, count: usize, cast: &StationCast) -> (usize, JobView) {
        let held = self.held.iter().rfind(|(held, _)| *held <= count);
        held.map_or_else(
            || (0, self.empty(cast)),
            |(count, view)| (*count, view.clone()),
        )
    }

    fn empty(&self, cast: &StationCast) -> JobView {
        // A station that has said nothing yet has its numbers all the same.
        let none = || StationRole {
            base: base_of(self.own.place()),
            label: "".into(),
            station: self.own.clone(),
        };
        let role = cast.role(&self.own).cloned().unwrap_or_else(none);
        JobView::of_several(&role)
    }

    /// Whether nothing in the order stands behind the fact.
    fn is_last(&self, said: &SaidFact) -> bool {
        let last = self.order.last();
        last.is_none_or(|last| last.order() < said.order())
    }

    /// Whether facts of this station that are in line may change what the stations are called.
    fn changes_cast(&self, waiting: &[SaidFact]) -> bool {
        let measured = self.journals.get(&self.own).is_some_and(|own| own.measures);
        let changes = |said: &SaidFact| {
            matches!(&*said.fact, Fact::Joined(_)) || (!measured && measures(&said.fact))
        };
        waiting.iter().any(changes)
    }

    fn place_of(&self, said: &SaidFact) -> usize {
        let before = |one: &SaidFact| one.order() < said.order();
        self.order.partition_point(before)
    }

    /// The stations of the job with the facts of this one that are in line.
    fn cast_with(&self, waiting: &[SaidFact]) -> StationCast {
        let here = |station: &StationId| {
            *station == self.own && waiting.iter().any(|said| measures(&said.fact))
        };
        let measure = self.journals.iter();
        let measure = measure.filter(|(station, held)| held.measures || here(station));
        let several = measure.count() > 1;
        let mut taken = Vec::new();
        let roles = self.journals.iter().map(|(station, held)| {
            let mut place = match held.opens {
                true => 0,
                false => station.place(),
            };
            // Two stations of a job have one place in eight million at once. The later one of the
            // two by its identity then moves on, at every station alike.
            while taken.contains(&place) {
                place = next_place(place);
            }
            taken.push(place);
            let label: Arc<str> = match several {
                true => self.label(station, held).into(),
                false => "".into(),
            };
            let role = StationRole {
                base: base_of(place),
                label,
                station: station.clone(),
            };
            (station.clone(), role)
        });
        StationCast(roles.collect())
    }

    /// What a line of this station has to say of another fact, by the fact's number in the view.
    pub(crate) fn reference(&self, number: u64) -> FactRef {
        let mut roles = self.cast.0.iter();
        let base = base_in(number);
        let of = roles.find(|(_, role)| role.base == base);
        FactRef {
            station: of.map(|(id, _)| id.clone()).filter(|id| *id != self.own),
            seq: number - base,
        }
    }
}
