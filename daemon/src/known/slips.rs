//! Slips of the pen: a typed or imported value that is out of line with its brothers, where two
//! neighbouring digits that changed places, a point that was moved or one digit's neighbour on the
//! keys explains it.
//!
//! The bounds decide who is asked, and nothing else: no value and no figure is altered. Common
//! practice, no source: numbers called across a shop are swapped that way.

mod meant;
#[cfg(test)]
mod tests;

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Spot, Unit};

use crate::known::words;
use crate::store::view::JobView;
pub(crate) use meant::Written;
use meant::{Meant, Slip};

/// So many other spots make a value worth comparing with.
const LEAST: usize = 2;
/// So many make their range worth comparing with, where they lie close together.
const CLOSE: usize = 3;
/// The degrees of freedom of the scatter that is assumed beside what the brothers show: two readings
/// alone tell little of it. Chosen so that sound evenings of the widest ordinary spread are asked about
/// at about 1 % of their stops (`tests.rs`).
const ASSUMED_DOF: f64 = 4.0;
/// Out of line is what lies beyond so many standard deviations of another brother, for a slip that
/// hands make often, and for one digit's neighbour, which explains almost anything.
const OFTEN: f64 = 3.0;
const SELDOM: f64 = 3.5;

/// The question about a value that is out of line with the others of its kind at this stage, but in
/// line as it was perhaps meant; `None` where it is in line, or nothing explains it.
pub(crate) fn looks_like_a_slip(
    view: &JobView,
    spot: &Spot,
    value: Quantity,
    written: &Written<'_>,
) -> Option<String> {
    let found = Brothers::of(view, spot, value.unit)?;
    let meant = found.surely(value.value, written);
    let meant = meant.or_else(|| found.close(value.value, written))?;
    Some(told(spot, value.unit, written, (found.middle, &meant)))
}

/// The same for a value that was kept before the others came: only what is far out of line, since
/// each later reading would ask about it again.
pub(crate) fn looks_like_a_slip_by_now(
    view: &JobView,
    spot: &Spot,
    value: Quantity,
    written: &Written<'_>,
) -> Option<String> {
    let found = Brothers::of(view, spot, value.unit)?;
    let meant = found.surely(value.value, written)?;
    Some(told(spot, value.unit, written, (found.middle, &meant)))
}

fn told(spot: &Spot, unit: Unit, written: &Written<'_>, (middle, meant): (f64, &Meant)) -> String {
    let (unit, step) = (unit.symbol(), Some(written.step()));
    let number = |value: f64| words::number(value, step);
    format!(
        "{}: {} {unit} is out of line with the others (about {} {unit}). {} meant?",
        words::called(spot),
        number(written.value()),
        number(middle),
        meant.said(unit),
    )
}

/// What the like spots of this stage read, in the unit of the value in question.
struct Brothers {
    values: Vec<f64>,
    middle: f64,
    /// The standard deviation by which another brother differs from their mean.
    scatter: f64,
}

impl Brothers {
    fn of(view: &JobView, spot: &Spot, unit: Unit) -> Option<Brothers> {
        let like = view.newest_of(view.stage(), spot.family().name());
        let newest = like.filter_map(|(other, mut kept)| {
            let other: Spot = other.parse().ok()?;
            is_brother(spot, &other).then_some(())?;
            let kept = kept.next()?;
            let of: Unit = kept.unit.parse().ok()?;
            (of.kind() == unit.kind()).then(|| unit.from_base(of.to_base(kept.value)))
        });
        let mut values: Vec<f64> = newest.collect();
        values.sort_by(f64::total_cmp);
        let n = values.len();
        if n < LEAST {
            return None;
        }
        let middle = 0.5 * (values[(n - 1) / 2] + values[n / 2]);
        let mean = values.iter().sum::<f64>() / n as f64;
        let assumed = unit.from_base(assumed(spot, unit.kind(), unit.to_base(middle)));
        let squares: f64 = values.iter().map(|one| (one - mean).powi(2)).sum();
        let pooled = (ASSUMED_DOF * assumed.powi(2) + squares) / (ASSUMED_DOF + n as f64 - 1.0);
        Some(Brothers {
            scatter: pooled.sqrt() * (1.0 + 1.0 / n as f64).sqrt(),
            values,
            middle,
        })
    }

    /// Out of line beyond what brothers scatter by, and in line as it was perhaps meant.
    fn surely(&self, value: f64, written: &Written<'_>) -> Option<Meant> {
        let mean = self.values.iter().sum::<f64>() / self.values.len() as f64;
        let off = |value: f64| (value - mean).abs();
        let out = |times: f64| off(value) > times * self.scatter;
        let fits = |meant: &Meant| {
            let times = if meant.slip == Slip::Neighbour {
                SELDOM
            } else {
                OFTEN
            };
            out(times) && off(meant.value) <= (2.0 * self.scatter).min(0.3 * off(value))
        };
        let all = written.meant().into_iter().filter(fits);
        all.min_by(|a, b| {
            let by = |one: &Meant| (one.slip, off(one.value));
            let ((a, far), (b, further)) = (by(a), by(b));
            a.cmp(&b).then(far.total_cmp(&further))
        })
    }

    /// Brothers that lie closer together than most: two digits that changed places bring the value
    /// from well beyond their range into it.
    fn close(&self, value: f64, written: &Written<'_>) -> Option<Meant> {
        let ([least, .., most], true) = (&*self.values, self.values.len() >= CLOSE) else {
            return None;
        };
        let beyond = |value: f64| (least - value).max(value - most);
        // A value this close to the range of the others still belongs to them.
        let beside = (most - least).max(0.002 * self.middle.abs());
        let fits = |meant: &Meant| meant.slip == Slip::Swapped && beyond(meant.value) <= 0.0;
        let all = written.meant();
        (beyond(value) > beside).then(|| all.into_iter().find(fits))?
    }
}

/// Whether two spots are read alike: the same place of another cylinder, and all points of decks.
fn is_brother(spot: &Spot, other: &Spot) -> bool {
    let decks = matches!((spot, other), (Spot::Deck { .. }, Spot::Deck { .. }));
    let place = || other.at_cylinder(spot.cylinder().unwrap_or_default()) == *spot;
    spot != other && (decks || spot.cylinder().is_some() && place())
}

/// What brothers of a sound engine scatter by, in the base unit: a standard deviation. Common
/// practice, no source.
fn assumed(spot: &Spot, kind: QuantityKind, middle: f64) -> f64 {
    let share = |share: f64, least: f64| (share * middle.abs()).max(least);
    match (spot, kind) {
        (Spot::Deck { .. }, _) => 0.05,
        (Spot::Bore { .. }, _) => 0.02,
        (Spot::Flow { .. }, _) => share(0.02, 0.0),
        (Spot::Free { .. }, _) => share(0.005, 0.0),
        (_, QuantityKind::Length) => share(0.002, 0.05),
        (_, QuantityKind::Volume) => share(0.01, 0.2),
        _ => share(0.01, 0.0),
    }
}
