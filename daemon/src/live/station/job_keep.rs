//! The journal of one job, as a run reaches it.

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Spot};
use benchhand_wire::Refusal;

use crate::capture::CaptureNote;
use crate::known::expectation::{
    Expectation, ExpectedAt, FlowShown, doubted_brothers, expectation, flow_doubt, only_brother,
    rounds_apart,
};
use crate::known::inputs;
use crate::known::keeper::Keeper;
use crate::known::told;
use crate::live::recorder::Recorders;
use crate::live::run::{DoubtedReading, RunJournal};
use crate::live::zeros::doubt;
use crate::store::fact::{Fact, StreamAt, ZeroedGauge};
use crate::store::view::JobView;

/// The journal of one job, as a run reaches it.
pub(super) struct JobKeep<'a> {
    pub(super) keeper: &'a Keeper,
    pub(super) recorders: &'a Recorders,
    pub(super) job: &'a str,
    pub(super) engine: &'a Engine,
}

impl RunJournal for JobKeep<'_> {
    fn keep(&mut self, fact: Fact) -> Result<u64, Refusal> {
        self.keeper.append(self.job, fact, None).map(|ack| ack.seq)
    }

    fn stream_at(&self, gauge: &str, at_us: u64) -> Option<StreamAt> {
        self.recorders.position(self.job, gauge, at_us)
    }

    fn expectation(&self, spot: &Spot, round: u32, kind: QuantityKind) -> Option<Expectation> {
        let of = |view: &JobView| {
            let stage = view.stage();
            let at = ExpectedAt {
                stage,
                spot,
                round,
                kind,
            };
            // What was said since the route began counts: with the liquid, what a weight fills.
            let engine = inputs::engine(view).ok();
            expectation(engine.as_deref().unwrap_or(self.engine), view, at)
        };
        self.keeper.look(self.job, of).ok().flatten()
    }

    fn flow_doubt(&self, spot: &Spot, round: u32, shown: FlowShown) -> Option<CaptureNote> {
        let of = |view: &JobView| flow_doubt(self.engine, view, (spot, round), shown);
        self.keeper.look(self.job, of).ok().flatten()
    }

    fn doubted(&self, spot: &Spot) -> Vec<DoubtedReading> {
        let of = |view: &JobView| {
            let ids = doubted_brothers(self.engine, view, spot);
            ids.into_iter()
                .filter_map(|id| doubted_reading(self.engine, view, id))
                .collect()
        };
        self.keeper.look(self.job, of).unwrap_or_default()
    }

    fn apart(&self, spot: &Spot) -> Option<String> {
        let of = |view: &JobView| rounds_apart(self.engine, view, spot);
        self.keeper.look(self.job, of).ok().flatten()
    }

    fn live_at(&self, spot: &Spot, round: u32) -> Vec<u64> {
        let of = |view: &JobView| {
            let there = view.at_spot(view.stage(), &spot.to_string());
            let counts = there.filter(|r| r.state.is_live() && r.round.unwrap_or(1) == round);
            counts.map(|r| r.id).collect()
        };
        self.keeper.look(self.job, of).unwrap_or_default()
    }

    fn old_zero(&self, gauge: &str) -> Option<String> {
        let now = self.keeper.clock().now_utc();
        // The run knows when the gauge was off.
        let of = |view: &JobView| doubt(view, gauge, None, now);
        self.keeper.look(self.job, of).ok().flatten()
    }

    fn let_zero_stand(&mut self, gauge: &str) -> Result<(), Refusal> {
        let of = |view: &JobView| Some(view.gauge(gauge)?.zeros.last()?.what.clone());
        let Some(zero) = self.keeper.look(self.job, of)? else {
            return Ok(());
        };
        let let_stand = ZeroedGauge {
            u: None,
            sd: None,
            n: None,
            let_stand: true,
            ..zero
        };
        self.keep(Fact::Zero(let_stand)).map(drop)
    }

    fn only_brother(&self, spot: &Spot) -> Option<DoubtedReading> {
        let of = |view: &JobView| {
            let other = only_brother(self.engine, view, spot)?;
            doubted_reading(self.engine, view, other)
        };
        self.keeper.look(self.job, of).ok().flatten()
    }
}

/// A reading in the form in which it is asked about.
pub(in crate::live) fn doubted_reading(
    engine: &Engine,
    view: &JobView,
    id: u64,
) -> Option<DoubtedReading> {
    let kept = view.reading(id)?;
    Some(DoubtedReading {
        id,
        spot: kept.spot.parse().ok()?,
        shown: told::shown(Some(engine), kept),
    })
}
