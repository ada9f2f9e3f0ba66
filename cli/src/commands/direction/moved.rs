//! What kind of movement a change of a burette's level is.
//!
//! A movement of a few cc that does not end at an end of the scale is taken for the requested
//! delivery. Any other movement may be a filling. Nobody is asked here.

use benchhand_blueprint::units::{QuantityKind, Unit};
use benchhand_wire::BuretteCounts;

/// Amount that the person is asked to let out, in cc or g.
pub(super) const LITTLE: std::ops::RangeInclusive<f64> = 1.0..=5.0;
/// Distance from an end of the scale within which a burette is empty or full, in cc. Common
/// practice, no source.
const AT_END_CC: f64 = 0.5;
/// A movement below this is only drops, in cc or g.
const DROPS: f64 = 0.1;
/// Usual capacities of burettes, for a burette without a stated capacity, in cc. Common practice,
/// no source.
const USUAL_ENDS_CC: [f64; 6] = [10.0, 25.0, 50.0, 100.0, 150.0, 200.0];

/// One movement from rest to rest whose kind is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Moved {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) unit: Unit,
    /// Whether liquid was let out. `false` for a filling.
    pub(super) delivered: bool,
}

impl Moved {
    pub(super) fn counts(self) -> BuretteCounts {
        match (self.to > self.from) == self.delivered {
            true => BuretteCounts::Up,
            false => BuretteCounts::Down,
        }
    }

    /// The amount let out or filled, in the base unit of its kind.
    fn amount(self) -> f64 {
        self.unit.difference_to_base((self.to - self.from).abs())
    }
}

/// The kind of movement that a change looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Looks {
    /// Only drops, or no movement.
    Still,
    /// Too little to tell.
    TooLittle,
    /// The requested delivery.
    Little,
    /// A filling, and why it looks like one.
    Refill(&'static str),
}

/// Judges a movement. `capacity` is the burette's capacity in cc, if known. `after` is an earlier
/// movement that looked like a filling.
pub(super) fn looks(moved: Moved, capacity: Option<f64>, after: Option<Moved>) -> Looks {
    let end = moved.unit.to_base(moved.to);
    let usual: &[f64] = match (&capacity, moved.unit.kind()) {
        (Some(capacity), _) => std::slice::from_ref(capacity),
        (None, QuantityKind::Volume) => &USUAL_ENDS_CC,
        // A balance has no end of scale that matters here.
        (None, _) => &[],
    };
    let at_an_end = std::iter::once(&0.0)
        .chain(usual)
        .any(|mark| (end - mark).abs() <= AT_END_CC);
    match moved.amount() {
        amount if amount < DROPS => Looks::Still,
        amount if amount < *LITTLE.start() => Looks::TooLittle,
        amount if amount > *LITTLE.end() => Looks::Refill("it was more than a little"),
        _ if at_an_end => Looks::Refill("it ended at an end of the scale"),
        _ if after.is_some_and(|a| (a.to > a.from) == (moved.to > moved.from)) => {
            Looks::Refill("it may be the rest of a filling")
        }
        _ => Looks::Little,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(from: f64, to: f64) -> Moved {
        let (unit, delivered) = (Unit::CubicCentimetre, true);
        Moved {
            from,
            to,
            unit,
            delivered,
        }
    }

    #[test]
    fn a_little_that_is_let_out_tells_the_way() {
        for (from, to, counts) in [
            (0.0, 2.35, BuretteCounts::Up),
            (100.0, 96.0, BuretteCounts::Down),
            (42.0, 41.0, BuretteCounts::Down),
        ] {
            let moved = moved(from, to);
            assert_eq!(looks(moved, Some(100.0), None), Looks::Little);
            assert_eq!(moved.counts(), counts);
        }
    }

    #[test]
    fn drops_tell_nothing_and_more_is_asked_for() {
        assert_eq!(looks(moved(10.0, 10.05), None, None), Looks::Still);
        assert_eq!(looks(moved(10.0, 10.8), None, None), Looks::TooLittle);
    }

    #[test]
    fn what_a_refill_could_be_is_not_believed() {
        let refill =
            |from, to, capacity| matches!(looks(moved(from, to), capacity, None), Looks::Refill(_));
        assert!(refill(60.0, 0.0, Some(100.0)), "long");
        assert!(refill(3.0, 0.2, Some(100.0)), "to the zero");
        assert!(refill(97.0, 100.0, Some(100.0)), "to the full mark");
        assert!(refill(46.0, 50.0, None), "a full mark that nobody stated");
        assert!(!refill(46.0, 50.0, Some(100.0)), "amid the scale");
    }

    #[test]
    fn the_rest_of_a_filling_is_no_delivery() {
        let first = moved(60.0, 20.0);
        let rest = moved(20.0, 17.0);
        assert!(matches!(
            looks(rest, Some(100.0), Some(first)),
            Looks::Refill(_)
        ));
        let back = moved(20.0, 23.0);
        assert_eq!(looks(back, Some(100.0), Some(first)), Looks::Little);
    }

    #[test]
    fn a_filling_that_somebody_named_tells_the_way_too() {
        let filled = Moved {
            delivered: false,
            ..moved(60.0, 0.0)
        };
        assert_eq!(filled.counts(), BuretteCounts::Up);
    }
}
