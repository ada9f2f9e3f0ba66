//! Stages where several stations cut, and take cuts back, without knowing of each other.

use std::sync::Arc;

use crate::store::fact::{PartsCut, Reading, WithdrawnCut};
use crate::store::merge::Waits;
use crate::store::merged::StationFinding;
use crate::store::stages::JobStage;
use crate::store::view::JobView;

impl JobView {
    /// Puts a reading into the stage that its line means: the one it rests on; else the one it names,
    /// of its own station first; else the last one that its own journal opened, or the job's first.
    /// Where that one's cut was taken back it counts for the stage before, and a person is told.
    pub(super) fn stage_said(
        &mut self,
        reading: &mut Reading,
        on: Option<u64>,
    ) -> Result<(), Waits> {
        let meant = self.meant(reading.stage.as_deref(), on).ok_or(Waits)?;
        let (seq, stands) = (meant.seq, meant.stands());
        reading.opened_in = Some(seq);
        reading.stage = Some(self.counts_for(seq).ok_or(Waits)?.name.clone());
        if !stands && reading.supersedes.is_none() {
            let finding = StationFinding::MeasuredWhereNoCutWas { stage: seq };
            self.notes().find(finding);
        }
        Ok(())
    }

    fn meant(&self, said: Option<&str>, on: Option<u64>) -> Option<&JobStage> {
        let by = |which: &dyn Fn(&JobStage) -> bool| {
            let standing = self.stages.iter().find(|one| which(one));
            standing.or_else(|| self.opened_stages.iter().rfind(|one| which(one)))
        };
        match (on, said) {
            (Some(on), _) => self.opened_by(on),
            (None, Some(said)) => {
                let own = |stage: &JobStage| {
                    let cut = stage.cut.as_ref().is_some_and(|cut| cut.stage == said);
                    cut && self.part.wrote(stage.seq)
                };
                by(&own).or_else(|| by(&|stage| stage.name == said))
            }
            (None, None) => match self.part.cut {
                Some(cut) => self.opened_by(cut),
                None => self.stages.first(),
            },
        }
    }

    /// Notes a cut that did not know of the stage before it, and gives it a name of its own.
    pub(super) fn meet_cut(
        &mut self,
        seq: u64,
        cut: &mut PartsCut,
        on: Option<u64>,
    ) -> Result<(), Waits> {
        let last = self.stages.last().ok_or(Waits)?.seq;
        let first = self.stages.first().map(|stage| stage.seq);
        let known = on.or(self.part.cut).or(first);
        // What was cut after a cut that was none follows the stage before that one.
        let known = known.map(|known| self.counts_for(known).map_or(known, |stage| stage.seq));
        if known != Some(last) {
            let (first, second) = (last, seq);
            self.notes().find(StationFinding::TwoCuts { first, second });
        }
        if let Some(name) = self.other_name(&cut.stage, &self.part.label) {
            cut.stage = name;
        }
        Ok(())
    }

    /// Notes where a cut was taken back or corrected at two stations that did not know of each other,
    /// and where more was measured in its stage than who took it back knew of.
    pub(super) fn meet_withdrawn(
        &mut self,
        said: &WithdrawnCut,
        on: Option<u64>,
    ) -> Result<(), Waits> {
        let stage = self.opened_by(said.of).ok_or(Waits)?;
        let seq = stage.seq;
        let same = match (&said.instead, &stage.cut) {
            (None, _) => !stage.stands(),
            (Some(truly), Some(cut)) => {
                let found = (&cut.what, &cut.changes, &cut.cylinders, &cut.depths);
                let truly = (&truly.what, &truly.changes, &truly.cylinders, &truly.depths);
                stage.stands() && found == truly
            }
            (Some(_), None) => false,
        };
        if on.is_some_and(|known| known != stage.said()) && !same {
            self.notes()
                .find(StationFinding::TwoCorrections { stage: seq });
        }
        if said.instead.is_none() && self.taken_in(seq) as u64 > said.measured {
            let finding = StationFinding::MeasuredWhereNoCutWas { stage: seq };
            self.notes().find(finding);
        }
        let Some(stage) = self.opened_by(seq).filter(|stage| !stage.stands()) else {
            return Ok(());
        };
        // It may stand again, and another one may have its name by now.
        let label = Arc::clone(&self.part_of(seq).label);
        let Some(name) = self.other_name(&stage.name, &label) else {
            return Ok(());
        };
        for one in Arc::make_mut(&mut self.opened_stages) {
            if one.seq == seq {
                one.name.clone_from(&name);
            }
        }
        Ok(())
    }

    /// A name for a stage whose own another one has; `None` where it is free.
    fn other_name(&self, name: &str, station: &str) -> Option<String> {
        let taken = |name: &str| self.stages.iter().any(|stage| stage.name == name);
        if !taken(name) {
            return None;
        }
        let base = format!("{name} ({station})");
        let more = (2_u32..).map(|n| format!("{base} {n}"));
        std::iter::once(base.clone())
            .chain(more)
            .find(|name| !taken(name))
    }
}
