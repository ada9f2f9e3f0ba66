//! The keeper's journals, as the transport of the shop sees them.

use std::sync::Arc;

use benchhand_shop::{
    JobId, JournalHead, JournalLine, PieceKey, RecordFault, StationId, StationRecord,
};
use benchhand_wire::Refusal;

use super::pieces::PieceMaker;
use crate::known::keeper::Keeper;
use crate::store::other_journals::JournalLine as KeptLine;
use crate::store::station;

/// The record of this data folder.
pub(crate) struct KeptRecord {
    pub keeper: Arc<Keeper>,
    /// Which station it was when the exchange began.
    pub station: StationId,
    /// Who makes pieces of recorded streams.
    pub maker: PieceMaker,
}

/// A refusal in the words that the transport hands on.
fn fault(refusal: Refusal) -> RecordFault {
    let words = refusal.to_string();
    RecordFault { words }
}

fn job_of(job: &JobId) -> station::JobId {
    station::JobId(job.as_str().to_owned())
}

fn station_of(station: &StationId) -> station::StationId {
    station::StationId(station.as_str().to_owned())
}

fn kept(lines: &[JournalLine]) -> Vec<KeptLine> {
    let kept = |line: &JournalLine| KeptLine {
        number: line.number,
        hash: line.hash.clone(),
        text: line.text.clone(),
    };
    lines.iter().map(kept).collect()
}

impl StationRecord for KeptRecord {
    fn station(&self) -> StationId {
        let card = self.keeper.station().ok().flatten();
        let now = card.and_then(|card| StationId::parse(&card.station.0));
        now.unwrap_or_else(|| self.station.clone())
    }

    fn heads(&self) -> Result<Vec<JournalHead>, RecordFault> {
        let heads = self.keeper.heads().map_err(fault)?;
        let head = |head: crate::store::records::StationHead| {
            Some(JournalHead {
                job: JobId::parse(&head.job.0)?,
                station: StationId::parse(&head.station.0)?,
                number: head.number,
                hash: head.hash,
            })
        };
        Ok(heads.into_iter().filter_map(head).collect())
    }

    fn lines(
        &self,
        job: &JobId,
        station: &StationId,
        after: u64,
        most: usize,
    ) -> Result<Vec<JournalLine>, RecordFault> {
        let (job, station) = (job_of(job), station_of(station));
        let lines = self.keeper.lines(&job, &station, after, most);
        let line = |line: KeptLine| JournalLine {
            number: line.number,
            hash: line.hash,
            text: line.text,
        };
        Ok(lines.map_err(fault)?.into_iter().map(line).collect())
    }

    fn piece(&self, key: &PieceKey) -> Result<Vec<u8>, RecordFault> {
        let name = self.keeper.job_with(&job_of(&key.job)).map_err(fault)?;
        let made = self.maker.make(&name, key.seq, &key.about);
        let nobody = || RecordFault {
            words: "the program there has only just started".to_owned(),
        };
        made.ok_or_else(nobody)?.map_err(fault)
    }

    fn take_in(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<(), RecordFault> {
        let (job, station) = (job_of(job), station_of(station));
        let taken = self.keeper.take_in(&job, &station, &kept(lines));
        taken.map(drop).map_err(fault)
    }

    fn take_back(&self, job: &JobId, lines: &[JournalLine]) -> Result<(), RecordFault> {
        let taken = self.keeper.take_back(&job_of(job), &kept(lines));
        taken.map(drop).map_err(fault)
    }

    fn part_ways(&self, shared: &[(JobId, u64)]) -> Result<StationId, RecordFault> {
        let shared: Vec<_> = shared.iter().map(|(job, to)| (job_of(job), *to)).collect();
        let parted = self.keeper.part_ways(&shared).map_err(fault)?;
        tracing::warn!(old = %parted.old, new = %parted.new, "this data folder is a new station");
        for (job, shared, carried) in &parted.jobs {
            tracing::warn!(
                job,
                shared,
                carried,
                "lines that count as the new station's"
            );
        }
        Ok(self.station())
    }

    fn take_letter(&self, letter: &str) -> Result<(), RecordFault> {
        self.keeper.join_shop(Some(letter)).map(drop).map_err(fault)
    }
}
