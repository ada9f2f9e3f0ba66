//! What heights, bores and flows should be near to.
//!
//! The sources, in order: the same spot's earlier round, the same spot of the other cylinders, the
//! parts or the nominal value. A zero on the wrong face, a flipped sign, exchanged hoses and a
//! valve at another lift lie outside the bounds; the scatter of a sound engine lies well within.

use benchhand_blueprint::spot::{CrownPart, GasketPart, PartLength, PortQuantity};
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Spot};

use super::{ASKED, Expectation, ExpectationSource, Known, median};
use crate::capture::ExpectedBounds;

/// The first word of the spots of decks.
const DECK: &str = "deck";

/// How far a value may lie from the expected one without a question.
#[derive(Debug, Clone, Copy)]
enum Within {
    /// Millimetres.
    Mm(f64),
    /// Cubic centimetres.
    Cc(f64),
    /// A share of the expected value.
    Share(f64),
    /// A share of the expected value, but at least so many cubic centimetres.
    ShareOrCc(f64, f64),
}

impl Within {
    fn around(self, middle: f64) -> ExpectedBounds {
        let within = match self {
            Within::Mm(base) | Within::Cc(base) => base,
            Within::Share(share) => share * middle.abs(),
            Within::ShareOrCc(share, least) => (share * middle.abs()).max(least),
        };
        ExpectedBounds::around(middle, within)
    }
}

/// The outer bounds of a kind of spot: for a repeat, for the other cylinders, for parts or nominal.
/// Common practice, no source, except that the deck from the parts is 0.020 in.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    repeat: Within,
    brothers: Within,
    stated: Within,
}

fn bounds(spot: &Spot, kind: QuantityKind) -> Option<Bounds> {
    let (repeat, brothers, stated) = match (spot, kind) {
        (Spot::Deck { .. }, QuantityKind::Length) => (0.15, 0.508, 0.508),
        // An engine is bored over by at most 0.060 in as a rule.
        (Spot::Bore { .. }, QuantityKind::Length) => (0.1, 0.25, 1.6),
        (
            Spot::Port {
                quantity: PortQuantity::Seat,
                ..
            },
            QuantityKind::Length,
        ) => (0.25, 1.0, f64::INFINITY),
        // Digits that changed places lie outside of these: 1.81 for 1.18.
        (
            Spot::Gasket {
                part: GasketPart::Thickness,
                ..
            },
            QuantityKind::Length,
        ) => (0.25, 0.25, 0.4),
        (
            Spot::Gasket {
                part: GasketPart::Bore,
                ..
            },
            QuantityKind::Length,
        ) => (0.5, 0.5, 2.0),
        (Spot::Part { .. }, QuantityKind::Length) => (0.25, 0.508, 1.6),
        (
            Spot::Crown {
                part: CrownPart::Depth,
                ..
            },
            QuantityKind::Length,
        ) => (0.25, f64::INFINITY, f64::INFINITY),
        // A dome typed for a dish, or the other way, lies outside of what the parts state.
        (
            Spot::Crown {
                part: CrownPart::Volume,
                ..
            },
            QuantityKind::Volume,
        ) => {
            return Some(Bounds {
                repeat: Within::Cc(1.0),
                brothers: Within::Cc(2.5),
                stated: Within::ShareOrCc(0.5, 2.0),
            });
        }
        // A turn of the dial that was lost lies outside of these.
        (Spot::Free { .. }, QuantityKind::Length) => (0.5, 2.0, f64::INFINITY),
        (Spot::Free { .. }, _) => {
            return Some(Bounds {
                repeat: Within::Share(0.15),
                brothers: Within::Share(0.25),
                stated: Within::Share(f64::INFINITY),
            });
        }
        (Spot::Flow { .. }, QuantityKind::Pressure | QuantityKind::Flow) => {
            return Some(Bounds {
                repeat: Within::Share(0.15),
                brothers: Within::Share(0.25),
                stated: Within::Share(f64::INFINITY),
            });
        }
        _ => return None,
    };
    Some(Bounds {
        repeat: Within::Mm(repeat),
        brothers: Within::Mm(brothers),
        stated: Within::Mm(stated),
    })
}

impl Known<'_> {
    /// What the value should be near to; `None` where nothing is known.
    pub(crate) fn measured(&self, round: u32) -> Option<Expectation> {
        let bounds = bounds(self.spot, self.kind)?;
        self.same_spot(round, bounds)
            .or_else(|| self.same_spot_elsewhere(bounds))
            .or_else(|| self.other_points(bounds))
            .or_else(|| self.stated(bounds))
    }

    /// The other points of the same piston, which rocks by far less than these bounds: a zero that
    /// was shifted between two places lies outside them.
    fn other_points(&self, bounds: Bounds) -> Option<Expectation> {
        let Spot::Deck { cylinder: own, .. } = self.spot else {
            return None;
        };
        let decks = self.view.newest_of(self.stage, DECK);
        let known = decks.filter_map(|(spot, kept)| Some((spot.parse::<Spot>().ok()?, kept)));
        let others = known.filter(|(spot, _)| {
            matches!(spot, Spot::Deck { cylinder, .. } if cylinder == own) && spot != self.spot
        });
        let found = others.filter_map(|(_, mut kept)| self.value(kept.next()?));
        let middle = median(found.collect())?;
        Some(self.plain(
            bounds.brothers.around(middle),
            ExpectationSource::OtherPoints,
        ))
    }

    fn same_spot(&self, round: u32, bounds: Bounds) -> Option<Expectation> {
        let middle = self.middle_of_earlier(round)?;
        let others = self.same_spot_elsewhere(bounds);
        let others = others.map(|it| bounds.repeat.around(it.expected.middle));
        Some(self.plain(
            bounds.repeat.around(middle),
            self.source_of_earlier(round, others),
        ))
    }

    fn same_spot_elsewhere(&self, bounds: Bounds) -> Option<Expectation> {
        let own = self.spot.cylinder()?;
        let others = (1..=self.engine.cylinders).filter(|other| *other != own);
        let found: Vec<(f64, bool)> = others
            .filter_map(|other| {
                let spot = self.spot.at_cylinder(other);
                let kept = self.newest_at(self.stage, &spot).next()?;
                Some((self.value(kept)?, kept.labels.contains_key(ASKED)))
            })
            .collect();
        let middle = median(found.iter().map(|(value, _)| *value).collect())?;
        let confirmed = found.iter().filter(|(_, confirmed)| *confirmed);
        Some(Expectation {
            expected: bounds.brothers.around(middle),
            confirmed: confirmed
                .map(|(value, _)| bounds.brothers.around(*value))
                .collect(),
            source: ExpectationSource::Brothers { count: found.len() },
            unit: self.unit(),
        })
    }

    /// The value from the parts as they came; after a cut the engine file no longer states it.
    fn stated(&self, bounds: Bounds) -> Option<Expectation> {
        let first = self.view.stages().first()?.name == self.stage;
        let (middle, source) = match self.spot {
            Spot::Deck { cylinder, .. } if first => (
                deck_of_parts(self.engine, *cylinder)?,
                ExpectationSource::Parts,
            ),
            Spot::Bore { cylinder, .. } if first => {
                let own = self.engine.overrides.get(cylinder).and_then(|own| own.bore);
                (own.or(self.engine.bore)?.value, ExpectationSource::Nominal)
            }
            _ => (self.of_the_file(first)?, ExpectationSource::Nominal),
        };
        Some(self.plain(bounds.stated.around(middle), source))
    }

    /// What the engine file states, mm or cc. A gasket that it states is the one that is to be
    /// fitted, after every cut; the other parts are as it says until the first.
    fn of_the_file(&self, first: bool) -> Option<f64> {
        let (engine, own) = (self.engine, self.spot.cylinder());
        let own = own.and_then(|cylinder| engine.overrides.get(&cylinder));
        let stated = match self.spot {
            Spot::Gasket { part, .. } => match part {
                GasketPart::Thickness => engine.gasket.thickness,
                GasketPart::Bore => engine.gasket.bore,
            },
            Spot::Crown {
                part: CrownPart::Volume,
                ..
            } if first => own
                .and_then(|own| own.crown)
                .or(engine.piston.crown)
                .or(engine.piston.nominal_crown),
            Spot::Part { part, .. } if first => match part {
                PartLength::Stroke => own.and_then(|own| own.stroke).or(engine.stroke),
                PartLength::Rod => own.and_then(|own| own.rod).or(engine.rod),
                PartLength::Height => engine.piston.compression_height,
                PartLength::Block => engine.block_height,
                _ => None,
            },
            _ => None,
        };
        Some(stated?.value)
    }
}

/// Block height less half the stroke, the rod and the compression height, mm. A pin offset of some
/// millimetres changes it by less than 0.01 mm. `None` unless all are stated.
fn deck_of_parts(engine: &Engine, cylinder: u32) -> Option<f64> {
    let own = engine.overrides.get(&cylinder);
    let rod = own.and_then(|own| own.rod).or(engine.rod)?.value;
    let stroke = own.and_then(|own| own.stroke).or(engine.stroke)?.value;
    let (block, height) = (engine.block_height?, engine.piston.compression_height?);
    Some(block.value - 0.5 * stroke - rod - height.value)
}
