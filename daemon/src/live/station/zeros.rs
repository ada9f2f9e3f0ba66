//! Zeros of gauges on a running route: set anew, or no longer reliable.

use std::collections::BTreeSet;

use benchhand_wire::{Event, SaidAs};

use super::{JobKeep, Running, Station};
use crate::live::arrange::arrange;
use crate::live::run::{ArrangedStop, RunOutcome};
use crate::live::steady::RestingValue;
use crate::route::FigureRule;
use crate::store::view::JobView;

impl Station {
    /// A gauge was zeroed in a job: from now on its values count from there, on a running route as
    /// well.
    pub(crate) fn zeroed(&mut self, job: &str, name: &str, steady: RestingValue) {
        let at_us = self.now_us();
        let Station {
            runs,
            keeper,
            recorders,
            lines,
            hub,
            ..
        } = self;
        let Some(line) = lines.get_mut(name) else {
            return;
        };
        line.zeroed(steady.raw, steady.unit);
        hub.announce(Event::Link {
            gauge: line.state(),
        });
        let now = keeper.clock().now_utc();
        let (Some(Running { run, engine, .. }), Ok(gauge)) = (
            runs.get_mut(job),
            keeper.look(job, |view| line.on_route(view, now)),
        ) else {
            return;
        };
        let basis = |stop: &_| {
            let arranged = arrange(Clone::clone(stop), &gauge, job).ok()?;
            Some(arranged.basis)
        };
        let mut keep = JobKeep {
            keeper,
            recorders,
            job,
            engine,
        };
        let mut out = RunOutcome::default();
        run.zeroed(name, &basis, (steady, at_us), &mut keep, &mut out);
        self.publish(job, out);
    }

    /// The digits of a gauge count from the zero from which the stops of a route count, also where
    /// the daemon was started since.
    pub(super) fn show_zeros(&mut self, stops: &[ArrangedStop], view: &JobView) {
        let counts = |stop: &&ArrangedStop| stop.stop.figure != FigureRule::AsCaptured;
        let counting = stops.iter().filter(counts);
        let gauges: BTreeSet<&str> = counting.map(|stop| stop.gauge.as_str()).collect();
        for gauge in gauges {
            let zero = view.gauge(gauge).and_then(|known| known.zeros.last());
            let zero = zero.and_then(|zero| Some((zero.what.raw, zero.what.unit.parse().ok()?)));
            let Some(line) = self.lines.get_mut(gauge) else {
                continue;
            };
            if zero.is_some() && line.zero != zero {
                line.zero = zero;
                let gauge = line.state();
                self.hub.announce(Event::Link { gauge });
            }
        }
    }

    /// A gauge was switched off: its zero is lost.
    pub(super) fn zero_lost(&mut self, gauge: &str, why: String) {
        let mut counts = false;
        for running in self.runs.values_mut() {
            counts |= running.run.lose_zero(gauge, &why);
        }
        if counts {
            self.say(None, SaidAs::Gauge, format!("{why}: zero it anew"));
        }
    }
}
