//! What a level does between two rests: delivery, refill, and where it turned.
//!
//! Which direction is a delivery is not known here.

use super::super::still::Point;
use super::level::Level;

/// One run in one direction that is plainly no noise.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Leg {
    /// +1 where the numbers rise, −1 where they fall.
    pub(crate) sign: f64,
    /// Where the leg began.
    pub(crate) from: f64,
    /// Whether the level rested there; otherwise `from` is the turn as sampled.
    pub(crate) rested: bool,
    /// How far off a turn without a rest may be.
    pub(crate) uncertain: f64,
    /// The samples at the turn.
    pub(crate) turn: Vec<(u64, f64)>,
}

impl Leg {
    /// The short rest at the turn, as a level.
    pub(crate) fn turn_level(&self) -> Level {
        Level {
            settled: self.from,
            now: self.from,
            lean: None,
            late: None,
            from_us: self.turn.first().map_or(0, |p| p.0),
            mid_us: self.turn.get(self.turn.len() / 2).map_or(0, |p| p.0),
            to_us: self.turn.last().map_or(0, |p| p.0),
            sd: None,
            dripped: false,
            window: self.turn.clone(),
        }
    }
}

/// Follows a movement from a rest.
#[derive(Debug)]
pub(crate) struct Legs {
    /// A smaller run is no leg.
    least: f64,
    /// Samples within this of a turn belong to a short rest there.
    near: f64,
    from: f64,
    rested: bool,
    uncertain: f64,
    sign: f64,
    furthest: f64,
    step: f64,
    last: f64,
    /// Samples near the furthest point.
    plateau: Vec<(u64, f64)>,
}

/// So many samples near a turn make a short rest.
const SHORT_REST: usize = 4;

impl Legs {
    /// Begins to follow a movement that leaves the rest at `from`.
    pub(crate) fn leave(from: f64, least: f64, near: f64) -> Self {
        Self {
            least,
            near,
            from,
            rested: true,
            uncertain: 0.0,
            sign: 0.0,
            furthest: from,
            step: 0.0,
            last: from,
            plateau: Vec::new(),
        }
    }

    /// The direction of the present leg; 0 where there is none.
    pub(crate) fn sign(&self) -> f64 {
        self.sign
    }

    /// Takes a value. Returns a leg that has just become plain.
    pub(crate) fn push(&mut self, point: Point) -> Option<Leg> {
        let v = point.v;
        self.step = (v - self.last).abs();
        self.last = v;
        if self.sign == 0.0 {
            return ((v - self.from).abs() > self.least).then(|| self.begin(v));
        }
        let beyond = self.sign * (v - self.furthest);
        if beyond > 0.0 {
            self.furthest = v;
            if beyond > self.near {
                self.plateau.clear();
            }
        }
        if (v - self.furthest).abs() <= self.near {
            self.plateau.push((point.at_us, v));
        }
        (-beyond > self.least).then(|| {
            let short_rest = self.plateau.len() >= SHORT_REST;
            self.from = if short_rest {
                self.plateau.iter().map(|p| p.1).sum::<f64>() / self.plateau.len() as f64
            } else {
                self.furthest
            };
            self.rested = short_rest;
            self.uncertain = self.step.max(self.near);
            self.begin(v)
        })
    }

    fn begin(&mut self, v: f64) -> Leg {
        self.sign = (v - self.from).signum();
        self.furthest = v;
        Leg {
            sign: self.sign,
            from: self.from,
            rested: self.rested,
            uncertain: self.uncertain,
            turn: std::mem::take(&mut self.plateau),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(i: usize, v: f64) -> Point {
        Point {
            at_us: i as u64 * 100_000,
            v,
            stable: None,
        }
    }

    #[test]
    fn a_delivery_that_turns_into_a_refill_after_a_short_rest_keeps_its_level() {
        let mut legs = Legs::leave(0.0, 1.0, 0.05);
        let mut seen = Vec::new();
        let values = [0.4, 0.8, 1.2, 1.6, 2.0, 2.0, 2.01, 1.99, 2.0, 1.5, 0.9, 0.1];
        for (i, v) in values.into_iter().enumerate() {
            seen.extend(legs.push(point(i, v)));
        }
        assert_eq!(seen.len(), 2);
        assert_eq!(
            (seen[0].sign, seen[0].from, seen[0].rested),
            (1.0, 0.0, true)
        );
        assert_eq!((seen[1].sign, seen[1].rested), (-1.0, true));
        assert!((seen[1].from - 2.0).abs() < 0.01);
    }

    #[test]
    fn a_turn_without_rest_is_said_to_be_rough() {
        let mut legs = Legs::leave(0.0, 1.0, 0.05);
        let values = [1.5, 3.0, 1.8, 0.5].into_iter().enumerate();
        let seen: Vec<Leg> = values.filter_map(|(i, v)| legs.push(point(i, v))).collect();
        assert!(!seen[1].rested);
        assert!(seen[1].uncertain > 0.5);
    }
}
