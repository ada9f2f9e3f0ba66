//! The two pressures of a flow: captured or typed, and what is odd about them.

use benchhand_wire::Refusal;

use super::RouteRun;
use super::RunJournal;
use super::arranged::ArrangedStop;
use crate::capture::{CaptureNote, CapturedValue};
use crate::known::expectation::{BesideTest, FlowShown};
use crate::known::typed::{ReadOff, along_with};
use crate::live::figuring::figure_of;
use crate::store::fact::ReadingPart;

impl RouteRun {
    /// The value with a doubt, where its pressures are unlike what the job lets expect.
    pub(super) fn doubted_flow(
        &self,
        active: usize,
        taken: &CapturedValue,
        keep: &dyn RunJournal,
    ) -> Option<CapturedValue> {
        let stop = self.stop_for(active).filter(|_| taken.doubt.is_none())?;
        let arranged = &self.stops[stop];
        let parts = arranged.parts(taken);
        let beside = parts.iter().find_map(BesideTest::of)?;
        let test = figure_of(arranged.stop.figure, &arranged.basis, taken).ok()?;
        let doubt = Some(arranged.odd_flow((test, taken.unit), beside, keep)?);
        Some(CapturedValue {
            doubt,
            ..taken.clone()
        })
    }

    /// What is odd about two pressures that a person typed.
    pub(super) fn typed_flow_in_doubt(
        &self,
        read: &ReadOff,
        stop: usize,
        keep: &dyn RunJournal,
    ) -> Option<CaptureNote> {
        let arranged = &self.stops[stop];
        let part = arranged.typed_part(read).ok().flatten()?;
        let beside = BesideTest::of(&part)?;
        arranged.odd_flow((read.value.value, read.value.unit), beside, keep)
    }
}

impl ArrangedStop {
    /// What a person typed beside the value, as a part of the reading, corrected as the gauge's last
    /// check says.
    ///
    /// # Errors
    /// Where the spot is no flow's and two values were typed, or it is a flow's and one was.
    pub(super) fn typed_part(&self, read: &ReadOff) -> Result<Option<ReadingPart>, Refusal> {
        let Some(mut part) = along_with(&self.stop.spot, read.along)? else {
            return Ok(None);
        };
        part.gauge = Some(self.gauge.clone());
        let channel = self.channels.iter().position(|name| *name == part.role);
        let correction = channel.and_then(|channel| self.corrections.get(channel).copied());
        if let (Some(correction), Some(along)) = (correction.flatten(), read.along) {
            (part.raw, part.raw_unit) = (Some(part.value), Some(part.unit.clone()));
            part.value += correction.at(along.value, along.unit, false);
        }
        Ok(Some(part))
    }

    fn odd_flow(
        &self,
        (test, unit): (f64, benchhand_drivers::Unit),
        beside: BesideTest,
        keep: &dyn RunJournal,
    ) -> Option<CaptureNote> {
        let shown = FlowShown {
            test: unit.to_base(test),
            beside,
        };
        keep.flow_doubt(&self.stop.spot, self.stop.round, shown)
    }
}
