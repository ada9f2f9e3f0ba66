//! Whether a dial's number runs the way that the register says.
//!
//! On its zero face a plunger is pushed in. Between two places it hangs free, so it comes further
//! out. A dial that rests far on the pushed-in side of its zero shows a number that runs the other
//! way than the register says: every height that settles would have the wrong sign. A piston eight
//! thou in the hole would be eight out of it, and the deck from the parts is too wide to notice.
//!
//! Neither the register nor the words of the question are known here.

use std::collections::BTreeMap;

use benchhand_drivers::{Sample, Unit};
use benchhand_wire::SaidAs;

use super::asking::{Doubt, StopQuestion, ValueOrigin, Waiting};
use super::{RouteRun, RunOutcome};
use crate::capture::CaptureNote;
use crate::live::figuring::FigureBasis;
use crate::route::FigureRule;

/// No piston stands so far out of its bore, and no bore is so much smaller than its ring, mm.
/// Common practice, no source.
const FAR_MM: f64 = 1.0;
/// A plunger that is in somebody's fingers does not stand still for so long, s.
const RESTS_S: f64 = 0.7;
/// Samples at rest lie within so many counts.
const REST_COUNTS: f64 = 2.0;

/// What the dials of a route showed between their places.
#[derive(Debug, Default)]
pub(super) struct Plungers(BTreeMap<String, Plunger>);

impl Plungers {
    /// The dial was zeroed anew: what it showed before counts from another zero.
    pub(super) fn forget(&mut self, gauge: &str) {
        self.0.remove(gauge);
    }
}

#[derive(Debug, Default)]
struct Plunger {
    /// The value at which the dial rests, and since when.
    rest: Option<(f64, u64)>,
    seen: Seen,
}

/// What the rests far from zero tell.
#[derive(Debug, Default, Clone, Copy, PartialEq)]
enum Seen {
    #[default]
    Nothing,
    /// The plunger came out as it should, or a person said that the direction is right.
    AsStated,
    /// The dial rested so far on the pushed-in side of its zero, in `unit`.
    PushedIn { by: f64, unit: Unit },
}

impl Plunger {
    /// Takes in one value; `out` is how far the plunger stands out of its zero face, in the sample's
    /// unit. Returns whether it is seen now that the plunger stands in too far.
    fn shows(&mut self, sample: &Sample, value: f64, out: f64) -> bool {
        let within = REST_COUNTS * sample.resolution;
        let since = match self.rest {
            Some((rest, since)) if (value - rest).abs() <= within => since,
            _ => {
                self.rest = Some((value, sample.at_us));
                sample.at_us
            }
        };
        let rests = sample.at_us.saturating_sub(since) as f64 / 1e6 >= RESTS_S;
        let far = Unit::Millimetre.difference_to_base(FAR_MM);
        let unit = sample.unit;
        if !rests || self.seen != Seen::Nothing || unit.difference_to_base(out.abs()) < far {
            return false;
        }
        self.seen = match out > 0.0 {
            true => Seen::AsStated,
            false => Seen::PushedIn { by: -out, unit },
        };
        out < 0.0
    }
}

impl RouteRun {
    /// Looks at where a dial rests while the route stands at a stop that counts down from its zero.
    pub(super) fn watch_plunger(&mut self, gauge: &str, sample: &Sample, out: &mut RunOutcome) {
        let here = self.walk.at().map(|stop| &self.stops[stop]);
        let Some(here) = here.filter(|s| {
            s.gauge == gauge && sample.channel == 0 && s.stop.figure == FigureRule::BelowZero
        }) else {
            return;
        };
        let (Some(value), Some((zero, unit))) = (sample.value, here.basis.zero) else {
            return;
        };
        if unit != sample.unit || self.on_hold {
            return;
        }
        let come_out = out_of_the_face(&here.basis, zero, value);
        let plunger = self.plungers.0.entry(gauge.to_owned()).or_default();
        if plunger.shows(sample, value, come_out)
            && let Some(note) = note(plunger.seen)
        {
            out.say(SaidAs::Note, note.to_string());
        }
    }

    /// What speaks against the direction of the dial that a captured value comes from.
    pub(super) fn direction_in_doubt(&self, one: &Waiting, stop: usize) -> Option<CaptureNote> {
        let arranged = &self.stops[stop];
        let captured = matches!(one.origin, ValueOrigin::Captured { .. });
        let counts = captured && arranged.stop.figure == FigureRule::BelowZero;
        let plunger = self.plungers.0.get(&arranged.gauge).filter(|_| counts)?;
        note(plunger.seen)
    }

    /// A person kept a value although its dial's direction was in doubt: the direction is right.
    pub(super) fn direction_is_kept(&mut self, question: &StopQuestion) {
        if let Doubt::Handling(CaptureNote::StoodPushedIn { .. }) = question.doubt {
            let gauge = self.stops[question.stop].gauge.clone();
            self.plungers.0.entry(gauge).or_default().seen = Seen::AsStated;
        }
    }
}

/// How far the plunger stands out of the face on which the dial was zeroed, by the stated sense.
fn out_of_the_face(basis: &FigureBasis, zero: f64, value: f64) -> f64 {
    basis.sense * (zero - value) - basis.master
}

fn note(seen: Seen) -> Option<CaptureNote> {
    match seen {
        Seen::PushedIn { by, unit } => Some(CaptureNote::StoodPushedIn { by, unit }),
        Seen::Nothing | Seen::AsStated => None,
    }
}
