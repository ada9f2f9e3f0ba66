//! One connection's work: own lines go out, other stations' lines come in, changed lines are mended.
//!
//! One step after the other, none of them long, until the connection ends.

mod comparing;
mod fetching;
mod live;
mod mending;
mod pieces;
mod sending;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use tokio::sync::{mpsc, watch};
use tokio::time::Instant;

use crate::fault::ShopFault;
use crate::kept::KeptLines;
use crate::pace::ShopPace;
use crate::pieces::PieceShelf;
use crate::record::{JobId, StationId, StationRecord};
use crate::rows::{HeadRow, ShopRows};
use crate::said::OwnRoutes;
use crate::state::{JournalTrouble, ShopState};

/// What stays from one connection to the next.
pub(crate) struct ExchangeMemory {
    pub record: Arc<dyn StationRecord>,
    pub kept: Arc<KeptLines>,
    pub routes: Arc<OwnRoutes>,
    pub shelf: Arc<PieceShelf>,
    pub state: Arc<watch::Sender<ShopState>>,
    /// What this station calls itself.
    pub name: String,
    pub pace: ShopPace,
}

/// Why a connection's work ended.
#[derive(Debug)]
pub(crate) enum ExchangeEnd {
    /// Something failed.
    Failed(ShopFault),
    /// This station became another one.
    Parted(String),
}

impl From<ShopFault> for ExchangeEnd {
    fn from(fault: ShopFault) -> Self {
        Self::Failed(fault)
    }
}

/// A journal: job and station.
type JournalKey = (JobId, StationId);

/// How far another station's journal is held here.
#[derive(Debug, Clone)]
struct HeldHere {
    number: u64,
    hash: String,
}

/// The work over one connection.
pub(crate) struct Exchange<'a> {
    rows: ShopRows<'a>,
    memory: &'a mut ExchangeMemory,
    me: StationId,
    /// Other stations' journals as they are held here.
    held: BTreeMap<JournalKey, HeldHere>,
    /// Jobs of which something is held here.
    known: BTreeSet<JobId>,
    /// Journals of which the shop has more than is held here.
    wanted: BTreeSet<JournalKey>,
    /// Which journals opened their job.
    openers: BTreeSet<JournalKey>,
    /// Own journals of which the shop has more than is held here.
    returning: BTreeMap<JobId, HeadRow>,
    /// Own journals that are not sent until the next comparison.
    set_aside: BTreeSet<JobId>,
    /// Own journals that another machine goes on with under this station's name, each with the last
    /// line that both share.
    forked: BTreeMap<JobId, u64>,
    /// Up to which own line the database was looked through.
    patrolled: Option<(JobId, u64)>,
    live: live::LiveTurn,
    pieces: pieces::PieceTurn,
}

impl<'a> Exchange<'a> {
    pub(crate) fn new(rows: ShopRows<'a>, memory: &'a mut ExchangeMemory, tables: i32) -> Self {
        let me = memory.record.station();
        Self {
            rows,
            memory,
            me,
            held: BTreeMap::new(),
            known: BTreeSet::new(),
            wanted: BTreeSet::new(),
            openers: BTreeSet::new(),
            returning: BTreeMap::new(),
            set_aside: BTreeSet::new(),
            forked: BTreeMap::new(),
            patrolled: None,
            live: live::LiveTurn::of(tables),
            pieces: pieces::PieceTurn::of(tables),
        }
    }

    /// Works until the connection ends.
    pub(crate) async fn run(
        mut self,
        heard: &mut mpsc::UnboundedReceiver<String>,
    ) -> Result<(), ExchangeEnd> {
        let letter = self.rows.register(&self.me, &self.memory.name).await?;
        let kept = self.ask(move |record| record.take_letter(&letter)).await?;
        kept.map_err(ShopFault::Record)?;
        self.compare().await?;
        self.look_for_pieces().await?;
        let mut poll = Instant::now() + self.memory.pace.poll;
        loop {
            while let Ok(hint) = heard.try_recv() {
                self.hear(&hint).await?;
            }
            let mut worked = match self.forked.is_empty() {
                true => self.take_back_some().await?,
                // What the other machine wrote is not this one's.
                false => false,
            };
            let sent = self.send_some().await?;
            if !sent {
                self.part_ways().await?;
            }
            worked |= sent;
            worked |= self.fetch_some().await?;
            self.publish();
            self.live_some().await?;
            self.pieces_some().await?;
            if Instant::now() >= poll {
                self.compare().await?;
                self.patrol().await?;
                self.look_for_pieces().await?;
                poll = Instant::now() + self.memory.pace.poll;
                continue;
            }
            if worked {
                continue;
            }
            let next = self.live_at(poll);
            tokio::select! {
                () = self.memory.kept.woken.notified() => {}
                hint = heard.recv() => match hint {
                    Some(hint) => self.hear(&hint).await?,
                    None => return Err(ShopFault::Ended("the line broke".to_owned()).into()),
                },
                made = self.pieces.is_made() => self.send_made(made).await?,
                () = tokio::time::sleep_until(next) => {}
            }
        }
    }

    /// Takes up what another station announced. Words that are not understood are passed over: the
    /// poll finds what they meant.
    async fn hear(&mut self, hint: &str) -> Result<(), ExchangeEnd> {
        let words: Vec<&str> = hint.split(' ').collect();
        match words.as_slice() {
            ["lines", station, job] => {
                let key = JobId::parse(job).zip(StationId::parse(station));
                if let Some(key) = key.filter(|(_, station)| *station != self.me) {
                    // A job that is not known yet needs its opening first, which a comparison finds.
                    match self.known.contains(&key.0) {
                        true => drop(self.wanted.insert(key)),
                        false => self.compare().await?,
                    }
                }
            }
            ["live", station] if *station != self.me.as_str() => self.live.hear(),
            ["ask", holder] if *holder == self.me.as_str() => self.pieces.hear_question(),
            ["piece", asker] if *asker == self.me.as_str() => self.pieces.hear_answer(),
            ["many", station] if *station != self.me.as_str() => self.compare().await?,
            ["bad", station, job, number] if *station == self.me.as_str() => {
                if let (Some(job), Ok(number)) = (JobId::parse(job), number.parse::<u64>()) {
                    self.mend(&job, number.saturating_sub(1), number).await?;
                }
            }
            _ => {}
        }
        Ok(())
    }

    /// Asks the record, which may wait for its disk, without holding up the others.
    async fn ask<T: Send + 'static>(
        &self,
        question: impl FnOnce(&dyn StationRecord) -> T + Send + 'static,
    ) -> Result<T, ShopFault> {
        let record = Arc::clone(&self.memory.record);
        let asked = tokio::task::spawn_blocking(move || question(&*record));
        let broke = |error: tokio::task::JoinError| ShopFault::Ended(error.to_string());
        asked.await.map_err(broke)
    }

    /// Shows how far sending is.
    fn publish(&self) {
        self.memory.state.send_if_modified(|state| {
            // Counted in here: whoever keeps a line counts in here too, and the last one is right.
            let waiting = self.memory.kept.waiting();
            let differs = state.waiting != waiting;
            state.waiting = waiting;
            differs
        });
    }

    /// Shows that something is wrong with a journal, in place of what was wrong before.
    fn trouble(&self, key: &JournalKey, words: String) {
        let (job, station) = key;
        self.memory.state.send_if_modified(|state| {
            let now = JournalTrouble {
                job: job.clone(),
                station: station.clone(),
                words,
            };
            if state.troubles.contains(&now) {
                return false;
            }
            tracing::warn!(%job, %station, words = now.words, "a journal of the shop");
            state
                .troubles
                .retain(|one| one.job != *job || one.station != *station);
            state.troubles.push(now);
            true
        });
    }

    /// Shows that nothing is wrong with a journal.
    fn sound(&self, (job, station): &JournalKey) {
        self.memory.state.send_if_modified(|state| {
            let before = state.troubles.len();
            state
                .troubles
                .retain(|one| one.job != *job || one.station != *station);
            state.troubles.len() != before
        });
    }
}
