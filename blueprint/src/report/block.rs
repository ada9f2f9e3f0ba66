//! The block beside its bores: deck clearance from the parts apart from the mock-up, and
//! valve-to-piston distances.
//!
//! Sources: `docs/formulas.md`, sections 4 and 6.

use std::collections::BTreeMap;

use super::document::{GapReport, MeasuredReport};
use super::measures::Measures;
use crate::figure::{Dimension, Estimate, Figure, Identity, Owner, Scalar};
use crate::formula::crank::Crank;
use crate::spot::{CrankAngle, Part, Spot};

impl Measures<'_> {
    fn part(&self, wanted: Part, number: u32) -> Option<Estimate> {
        let points: Vec<&Estimate> = self
            .parts
            .means
            .iter()
            .filter(|(spot, _)| {
                matches!(spot, Spot::Part { part, cylinder, .. }
                    if *part == wanted && *cylinder == number)
            })
            .map(|(_, mean)| mean)
            .collect();
        Estimate::mean(points)
    }

    pub(super) fn skirt(&self, number: u32) -> Option<Estimate> {
        let stated = self
            .engine
            .piston
            .skirt
            .map(|skirt| skirt.estimate(Identity::dimension(Dimension::Skirt)));
        self.part(Part::Skirt, number).or(stated)
    }

    /// Deck clearance from the block's height, the throw, the rod, the pin's offset and the
    /// compression height, apart from any mock-up: what these parts should give. `None` unless all are known.
    pub(super) fn deck_from_parts(&self, number: u32) -> Option<Estimate> {
        let height = self.compression_height(number)?;
        let (block, rod) = (self.block_height(number)?, self.rod(number)?);
        let offset = self.engine.piston.pin_offset;
        let offset = offset.map_or_else(
            || Estimate::exact(0.0),
            |one| one.estimate(Identity::dimension(Dimension::PinOffset)),
        );
        let crank = Crank::of_travel(&self.stroke(number), &rod, &offset);
        Some(block - crank.top() - height)
    }

    /// The rod of a cylinder: measured, stated for it, or stated for all.
    pub(super) fn rod(&self, number: u32) -> Option<Estimate> {
        let own = self.engine.overrides.get(&number).and_then(|own| own.rod);
        self.part(Part::Rod, number)
            .or(own.map(|own| {
                own.estimate(Identity::dimension_of(
                    Dimension::Rod,
                    Owner::Cylinder(number),
                ))
            }))
            .or(self
                .engine
                .rod
                .map(|rod| rod.estimate(Identity::dimension(Dimension::Rod))))
    }

    /// The compression height of a piston: measured, or stated.
    pub(super) fn compression_height(&self, number: u32) -> Option<Estimate> {
        self.part(Part::Height, number).or(self
            .engine
            .piston
            .compression_height
            .map(|height| height.estimate(Identity::dimension(Dimension::CompressionHeight))))
    }

    /// The height of the deck over a cylinder: the mean of its points, or stated.
    pub(super) fn block_height(&self, number: u32) -> Option<Estimate> {
        self.part(Part::Block, number).or(self
            .engine
            .block_height
            .map(|height| height.estimate(Identity::dimension(Dimension::BlockHeight))))
    }

    /// Valve-to-piston distances, by cylinder and port.
    pub(super) fn gap_reports(&self) -> Vec<GapReport> {
        let length = self.units().length();
        let mut gaps: BTreeMap<(u32, String), Vec<(CrankAngle, &Estimate)>> = BTreeMap::new();
        for (spot, mean) in &self.gaps.means {
            if let Spot::Gap {
                cylinder,
                port,
                angle,
            } = spot
            {
                gaps.entry((*cylinder, port.to_string()))
                    .or_default()
                    .push((*angle, mean));
            }
        }
        let angle = |degrees: f64| Figure::bare(degrees, crate::Unit::Degree);
        let report = |((cylinder, port), mut points): ((u32, String), Vec<_>)| {
            points.sort_by_key(|(angle, _): &(CrankAngle, &Estimate)| *angle);
            let at = (0..points.len()).min_by(|a, b| {
                let value = |at: usize| points[at].1.value();
                value(*a).total_cmp(&value(*b))
            })?;
            let enclosed = (at > 0 && at + 1 < points.len())
                .then(|| parabola(&points[at - 1], &points[at], &points[at + 1]))
                .flatten();
            Some(GapReport {
                cylinder,
                port,
                least: points[at].1.figure(length),
                least_at: angle(points[at].0.degrees()),
                enclosed: enclosed.map(|(gap, at)| (gap.figure(length), angle(at))),
                points: points
                    .into_iter()
                    .map(|(at, gap)| (angle(at.degrees()), gap.figure(length)))
                    .collect(),
            })
        };
        gaps.into_iter().filter_map(report).collect()
    }

    /// Every other spot that was measured.
    pub(super) fn other_reports(&self) -> Vec<MeasuredReport> {
        let length = self.units().length();
        [&self.parts, &self.ports]
            .into_iter()
            .flat_map(|pool| &pool.means)
            .map(|(spot, mean)| MeasuredReport {
                spot: spot.to_string(),
                figure: match spot.kind() {
                    crate::units::Kind::Volume => mean.figure(crate::Unit::CubicCentimetre),
                    _ => mean.figure(length),
                },
                readings: [&self.parts, &self.ports]
                    .into_iter()
                    .find_map(|pool| pool.counts.get(spot).copied())
                    .unwrap_or(0),
            })
            .collect()
    }
}

/// The vertex of the parabola through three points, with the angle where it lies. `None` if they
/// lie on a line.
fn parabola(
    before: &(CrankAngle, &Estimate),
    least: &(CrankAngle, &Estimate),
    after: &(CrankAngle, &Estimate),
) -> Option<(Estimate, f64)> {
    let x = [before, least, after].map(|(angle, _)| angle.degrees() - least.0.degrees());
    let y = [before, least, after].map(|(_, gap)| (*gap).clone());
    let left = (y[1].clone() - y[0].clone()).scale(1.0 / (x[1] - x[0]));
    let right = (y[2].clone() - y[1].clone()).scale(1.0 / (x[2] - x[1]));
    let bend = (right - left.clone()).scale(1.0 / (x[2] - x[0]));
    if bend.value() <= 0.0 {
        return None;
    }
    // Through the middle point with slope b and bend c: its least is y − b²/(4c) at −b/(2c).
    let slope = left + bend.scale(x[1] - x[0]);
    let at = -slope.value() / (2.0 * bend.value()) + least.0.degrees();
    Some((y[1].clone() - slope.square() / bend.scale(4.0), at))
}
