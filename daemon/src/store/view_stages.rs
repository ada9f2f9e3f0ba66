//! Which stages of a job stand, and for which of them what was measured counts.

use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{FIRST_STAGE, PartsCut, Reading, ReadingId, WithdrawnCut};
use crate::store::view::{CutCorrection, JobStage, JobView};

impl JobView {
    /// The stages, in order; never empty once the job is opened.
    #[must_use]
    pub fn stages(&self) -> &[JobStage] {
        &self.stages
    }

    /// The stages and those that are none any more, as their cuts were taken back, in order.
    #[must_use]
    pub fn opened_stages(&self) -> &[JobStage] {
        &self.opened_stages
    }

    /// The stage that the parts are in.
    #[must_use]
    pub fn stage(&self) -> &str {
        self.stages
            .last()
            .map_or(FIRST_STAGE, |stage| stage.name.as_str())
    }

    /// The stage that the fact of this number opened, whether it stands or not.
    #[must_use]
    pub fn opened_by(&self, seq: u64) -> Option<&JobStage> {
        self.opened_stages.iter().find(|stage| stage.seq == seq)
    }

    /// How many readings were taken in the stage that the fact of this number opened.
    #[must_use]
    pub fn taken_in(&self, seq: u64) -> usize {
        let all = self.readings.iter();
        all.filter(|reading| reading.opened_in == seq).count()
    }

    /// The stage for which what was measured in the stage of this number counts: itself, or the
    /// latest one before it that stands.
    pub(crate) fn counts_for(&self, seq: u64) -> Option<&JobStage> {
        let at = self.opened_stages.iter().position(|one| one.seq == seq)?;
        let until = self.opened_stages.get(..=at)?;
        until.iter().rev().find(|stage| stage.stands())
    }

    /// The number of the stage in which a reading is taken.
    pub(super) fn stage_of(&self, said: &Reading) -> u64 {
        if let Some(known) = said.opened_in {
            return known;
        }
        let named = |stage: &&JobStage| said.stage.as_ref().is_none_or(|name| *name == stage.name);
        let stage = self.stages.iter().rfind(named);
        stage.map_or(0, |stage| stage.seq)
    }

    pub(super) fn open_stage(
        &mut self,
        (seq, at): (u64, Timestamp),
        name: String,
        cut: Option<PartsCut>,
    ) {
        self.part.cut = Some(seq);
        let stage = JobStage {
            name,
            seq,
            at,
            cut,
            corrected: None,
        };
        Arc::make_mut(&mut self.opened_stages).push(stage.clone());
        Arc::make_mut(&mut self.stages).push(stage);
    }

    /// Takes in what is said of a cut after it. Returns the readings that count for another stage
    /// now.
    pub(super) fn take_withdrawn(
        &mut self,
        (seq, at): (u64, Timestamp),
        said: WithdrawnCut,
    ) -> Vec<ReadingId> {
        let stages = Arc::make_mut(&mut self.opened_stages);
        let Some(stage) = stages.iter_mut().find(|stage| stage.seq == said.of) else {
            return Vec::new();
        };
        stage.corrected = Some(CutCorrection {
            seq,
            at,
            reason: said.reason,
            by: said.by,
            stands: said.instead.is_some(),
        });
        if let (Some(truly), Some(cut)) = (said.instead, &mut stage.cut) {
            cut.what = truly.what;
            cut.changes = truly.changes;
            cut.cylinders = truly.cylinders;
            cut.depths = truly.depths;
        }
        self.stages_anew()
    }

    fn stages_anew(&mut self) -> Vec<ReadingId> {
        let standing = self.opened_stages.iter().filter(|stage| stage.stands());
        self.stages = Arc::new(standing.cloned().collect());
        let other = self.readings.iter().filter_map(|reading| {
            let stage = &self.counts_for(reading.opened_in)?.name;
            (*stage != reading.stage).then(|| (reading.id, stage.clone()))
        });
        let other: Vec<(ReadingId, String)> = other.collect();
        for (id, stage) in &other {
            self.readings
                .change(*id, |reading| reading.stage.clone_from(stage));
        }
        other.into_iter().map(|(id, _)| id).collect()
    }
}
