//! One journal becomes two where two machines wrote under one station's name: what both share stays
//! the old station's as it is, and what stands behind it becomes a new station's.
//!
//! The new journal begins with what this machine's gauges were known by where the two part, since
//! zeros, checks, conditions and routes belong to their station. What follows keeps its order, its
//! times, its stamps and its keys; numbers are counted anew. Files are not known here.

use std::collections::BTreeMap;

use jiff::Timestamp;

use crate::store::fact::{Fact, InputKind, JoinedStation, PartedFrom};
use crate::store::held_journal::stamp_after;
use crate::store::line::{self, BatchPlace, Beside, FactText, JournalEntry, NO_LINE};
use crate::store::naming::named;
use crate::store::scan::lines as lines_of;
use crate::store::session::Sessions;
use crate::store::station::{FactRef, JobId, StationId};

/// A journal that was parted.
#[derive(Debug)]
pub(super) struct PartedLines {
    /// How many bytes of the old journal stay the old station's.
    pub(super) shared: usize,
    /// The new station's journal.
    pub(super) journal: Vec<u8>,
    /// How many lines went over to the new station.
    pub(super) carried: u64,
    /// The new numbers, by the old ones.
    numbers: BTreeMap<u64, u64>,
}

impl PartedLines {
    /// A fact of the old journal, as the new station names it.
    pub(super) fn moved(&self, seq: u64, old: &StationId) -> FactRef {
        moved(&self.numbers, seq, old)
    }
}

fn moved(numbers: &BTreeMap<u64, u64>, seq: u64, old: &StationId) -> FactRef {
    match numbers.get(&seq) {
        Some(seq) => FactRef {
            station: None,
            seq: *seq,
        },
        None => FactRef {
            station: Some(old.clone()),
            seq,
        },
    }
}

/// The two stations.
#[derive(Debug, Clone, Copy)]
pub(super) struct PartingStations<'a> {
    pub(super) old: &'a StationId,
    pub(super) new: &'a StationId,
}

/// Parts the whole lines of a journal behind its line `after`. Lines whose damage was accepted stay
/// behind, and with them what accepts it.
///
/// # Errors
/// Where a fact cannot be written as JSON; every fact that was read can.
pub(super) fn parted(
    bytes: &[u8],
    after: u64,
    stations: PartingStations<'_>,
    job: &JobId,
    now: Timestamp,
) -> Result<PartedLines, serde_json::Error> {
    let PartingStations { old, new } = stations;
    let joined = |parted: Option<PartedFrom>| {
        Fact::Joined(JoinedStation {
            job: job.clone(),
            station: new.clone(),
            letter: None,
            parted,
        })
    };
    let (mut shared, mut last, mut stamp) = (0, 0, 0);
    let mut known = KnownThere::default();
    let mut lines = (1_u64..).zip(lines_of(bytes)).peekable();
    while let Some((_, text)) = lines.next_if(|(number, _)| *number <= after) {
        shared += text.len() + 1;
        if let Ok(entry) = line::decode(text) {
            stamp = stamp_after(stamp, entry.beside.stamp, entry.at);
            last = entry.seq + entry.fact.numbers() - 1;
            known.note(entry);
        }
    }
    let mut writing = NewJournal::default();
    if after > 0 {
        let beside = |on: Option<FactRef>| Beside {
            stamp: Some(stamp),
            on,
        };
        let (from, seq) = (old.clone(), last);
        let text = FactText::of(&joined(Some(PartedFrom { from, seq })))?;
        writing.put(now, &beside(None), None, None, &text, 1)?;
        for (at, on, fact) in known.told(old) {
            let text = FactText::of(&fact)?;
            writing.put(at, &beside(on), None, None, &text, fact.numbers())?;
        }
    }
    let (mut numbers, mut carried, mut batch_begun) = (BTreeMap::new(), 0, false);
    for (_, text) in lines {
        let Ok(entry) = line::decode(text) else {
            continue;
        };
        stamp = stamp_after(stamp, entry.beside.stamp, entry.at);
        if matches!(entry.fact, Fact::DamageKnown { .. }) {
            continue;
        }
        let said = entry.fact.numbers();
        for place in 0..said {
            numbers.insert(entry.seq + place, writing.seq + place);
        }
        batch_begun |= entry.batch.is_none_or(|batch| batch.place == 1);
        let on = entry.beside.on.map(|on| match on.station {
            None => moved(&numbers, on.seq, old),
            Some(_) => on,
        });
        let beside = Beside {
            // A line without one must not fall behind those that the new journal begins with.
            stamp: match after {
                0 => entry.beside.stamp,
                _ => Some(stamp),
            },
            on,
        };
        let mut fact = match entry.fact {
            Fact::Joined(was) => joined(was.parted),
            fact => fact,
        };
        let mut of_station = entry.of_station;
        let mut same = !matches!(fact, Fact::Joined(_));
        if of_station.is_none()
            && let Some(of) = named(&mut fact)
        {
            let FactRef { station, seq } = moved(&numbers, *of, old);
            same = station.is_none() && seq == *of;
            (*of, of_station) = (seq, station);
        }
        let text = match same.then(|| line::as_written(text)).flatten() {
            Some(text) => text,
            None => FactText::naming(&fact, of_station.as_ref())?,
        };
        let batch = entry.batch.filter(|_| batch_begun);
        let key = entry.key.as_deref();
        writing.put(entry.at, &beside, key, batch, &text, said)?;
        carried += 1;
    }
    Ok(PartedLines {
        shared,
        journal: writing.bytes,
        carried,
        numbers,
    })
}

/// A journal that is written from its beginning.
struct NewJournal {
    bytes: Vec<u8>,
    seq: u64,
    prev: String,
}

impl Default for NewJournal {
    fn default() -> Self {
        Self {
            bytes: Vec::new(),
            seq: 1,
            prev: NO_LINE.to_owned(),
        }
    }
}

impl NewJournal {
    fn put(
        &mut self,
        at: Timestamp,
        beside: &Beside,
        key: Option<&str>,
        batch: Option<BatchPlace>,
        text: &FactText,
        numbers: u64,
    ) -> Result<(), serde_json::Error> {
        let line = line::encode((self.seq, at, beside), key, batch, &self.prev, text)?;
        self.bytes.extend_from_slice(&line.bytes);
        self.prev = line.hash;
        self.seq += numbers;
        Ok(())
    }
}

/// What a station said of its gauges, its surroundings and its route, as far as it still holds.
#[derive(Default)]
struct KnownThere {
    sessions: Sessions,
    said: Vec<(String, JournalEntry)>,
}

impl KnownThere {
    fn note(&mut self, entry: JournalEntry) {
        self.sessions.take(entry.seq, entry.at, &entry.fact);
        if matches!(entry.fact, Fact::RouteStarted(_) | Fact::RouteEnded { .. }) {
            self.said.retain(|(what, _)| !what.starts_with(ROUTE));
        }
        // A condition of another station's reading belongs to that station.
        if let Some(what) = holds_on(&entry.fact)
            && entry.of_station.is_none()
        {
            self.said.retain(|(earlier, _)| *earlier != what);
            self.said.push((what, entry));
        }
    }

    /// The facts, oldest first, each with its time, and a check with the one of the old station that it
    /// repeats.
    fn told(self, old: &StationId) -> impl Iterator<Item = (Timestamp, Option<FactRef>, Fact)> {
        let Self { sessions, said } = self;
        let (last, until) = (sessions.of(u64::MAX), sessions.last());
        said.into_iter().map(move |(_, entry)| {
            // What was said in the last session holds in it to its end, also where nothing was said
            // for hours but readings.
            let at = match sessions.of(entry.seq) == last {
                true => until.unwrap_or(entry.at).max(entry.at),
                false => entry.at,
            };
            let said_there = FactRef {
                station: Some(old.clone()),
                seq: entry.seq,
            };
            // What it repeats itself may stand in the journal of a third station.
            let on = entry.beside.on.filter(|on| on.station.is_some());
            let on = matches!(entry.fact, Fact::Check(_) | Fact::Plate(_))
                .then(|| on.unwrap_or(said_there));
            let fact = match entry.fact {
                Fact::Condition(mut condition) => {
                    condition.since = None;
                    Fact::Condition(condition)
                }
                fact => fact,
            };
            (at, on, fact)
        })
    }
}

/// What the name of everything about a route begins with.
const ROUTE: &str = "route ";

/// What a fact states that holds on until it is stated anew; `None` where it states nothing of the
/// kind.
fn holds_on(fact: &Fact) -> Option<String> {
    Some(match fact {
        Fact::Zero(zero) => format!("zero {} {} {}", zero.gauge, zero.channel, zero.let_stand),
        Fact::Check(check) => {
            let passed = check.passed == Some(false);
            format!("check {} {} {passed}", check.gauge, check.channel)
        }
        Fact::Plate(plate) => format!("plate {plate:?}"),
        Fact::Leak(leak) => format!("leak {leak:?}"),
        Fact::Condition(condition) => format!("condition {}", condition.name),
        Fact::Input(input) if input.kind != InputKind::Engine => {
            format!("input {} {}", input.kind.word(), input.name)
        }
        Fact::RouteStarted(_) => format!("{ROUTE}started"),
        Fact::RouteAt(_) => format!("{ROUTE}at"),
        Fact::SoFar(_) => format!("{ROUTE}so far"),
        _ => return None,
    })
}
