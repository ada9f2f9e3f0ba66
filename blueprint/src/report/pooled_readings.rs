//! The readings of one stage, pooled: one estimate for each spot.
//!
//! The pools know which kind of spot they hold. What a cylinder's figures are made of is in
//! `dimensions`; this module does not know it.

use std::collections::{BTreeMap, BTreeSet};

use super::deck;
use super::liquid::{chamber_at_20, poured_in_bore};
use super::pool::{Pool, pool};
use super::sets::Set;
use super::stage::Current;
use crate::engine::{Engine, LengthUnits};
use crate::figure::{Estimate, Scalar};
use crate::spot::{CrownPart, GasketPart, PartLength, PortQuantity, Spot, SpotName};

/// Whether it is the volume of a runner; everything else of a port is a length.
fn is_runner(spot: &Spot) -> bool {
    let runner = |quantity: &PortQuantity| *quantity == PortQuantity::Runner;
    matches!(spot, Spot::Port { quantity, .. } if runner(quantity))
}

/// The pools of all kinds of spots.
pub(super) struct PooledReadings<'a> {
    pub(super) engine: &'a Engine,
    pub(super) current: &'a Current<'a>,
    pub(super) chambers: Pool<'a>,
    pub(super) decks: Pool<'a>,
    pub(super) crowns: Pool<'a>,
    pub(super) fluids: Pool<'a>,
    pub(super) depths: Pool<'a>,
    pub(super) gaskets: Pool<'a>,
    pub(super) thicknesses: Pool<'a>,
    pub(super) bores: Pool<'a>,
    pub(super) ports: Pool<'a>,
    pub(super) runners: Pool<'a>,
    pub(super) parts: Pool<'a>,
    pub(super) gaps: Pool<'a>,
    /// Those of free spots, by name.
    pub(super) free: BTreeMap<&'a SpotName, Pool<'a>>,
}

impl<'a> PooledReadings<'a> {
    pub(super) fn new(engine: &'a Engine, current: &'a Current<'a>) -> PooledReadings<'a> {
        let with = |wanted: &dyn Fn(&Spot) -> bool, others: usize| {
            let sets: Vec<Set<'a>> = current
                .spots
                .iter()
                .filter(|(spot, _)| wanted(spot))
                .map(|(spot, readings)| Set::new(spot, readings, engine))
                .collect();
            let earlier = current.earlier.iter();
            let earlier = earlier.filter(|(spot, _)| wanted(spot));
            let earlier: Vec<Set<'a>> = earlier
                .map(|(spot, readings)| Set::new(spot, readings, engine))
                .collect();
            pool(&sets, &earlier, &engine.gauges, others)
        };
        let of = |wanted: &dyn Fn(&Spot) -> bool| with(wanted, 0);
        let crown = |wanted: CrownPart| {
            of(&move |spot| matches!(spot, Spot::Crown { part, .. } if *part == wanted))
        };
        let gasket = |wanted: GasketPart| {
            of(&move |spot| matches!(spot, Spot::Gasket { part, .. } if *part == wanted))
        };
        let mut chambers = of(&|spot| matches!(spot, Spot::Chamber { .. }));
        let mut fluids = crown(CrownPart::Fluid);
        let at = |spot: &Spot| current.spots.get(spot).map_or(&[][..], Vec::as_slice);
        for (spot, mean) in &mut chambers.means {
            *mean = chamber_at_20(engine, at(spot), mean, chambers.weighed.contains(spot));
        }
        for (spot, mean) in &mut fluids.means {
            *mean = poured_in_bore(engine, at(spot), mean, fluids.weighed.contains(spot));
        }
        let names: BTreeSet<&SpotName> = current
            .spots
            .keys()
            .filter_map(|spot| spot.free_name())
            .collect();
        let free = names
            .into_iter()
            .map(|name| (name, of(&|spot| spot.free_name() == Some(name))));
        PooledReadings {
            engine,
            current,
            chambers,
            decks: with(
                &|spot| matches!(spot, Spot::Deck { .. }),
                deck::comparisons(current.spots.keys().copied()),
            ),
            crowns: crown(CrownPart::Volume),
            fluids,
            depths: crown(CrownPart::Depth),
            gaskets: gasket(GasketPart::Bore),
            thicknesses: gasket(GasketPart::Thickness),
            bores: of(&|spot| matches!(spot, Spot::Bore { .. })),
            ports: of(&|spot| matches!(spot, Spot::Port { .. }) && !is_runner(spot)),
            runners: of(&is_runner),
            parts: of(&|spot| matches!(spot, Spot::Part { .. })),
            gaps: of(&|spot| matches!(spot, Spot::Gap { .. })),
            free: free.collect(),
        }
    }

    /// The units in which people read lengths.
    pub(super) fn units(&self) -> LengthUnits {
        self.engine.units
    }

    /// All pools.
    pub(super) fn all(&self) -> impl Iterator<Item = &Pool<'a>> {
        let named = [
            &self.chambers,
            &self.decks,
            &self.crowns,
            &self.fluids,
            &self.depths,
            &self.gaskets,
            &self.thicknesses,
            &self.bores,
            &self.parts,
            &self.ports,
            &self.runners,
            &self.gaps,
        ];
        named.into_iter().chain(self.free.values())
    }

    /// The measured bore of a cylinder: of several diameters the root mean square, which has the
    /// area of an oval right.
    pub(super) fn measured_bore(&self, number: u32) -> Option<Estimate> {
        let squares: Vec<Estimate> = self
            .bores
            .means
            .iter()
            .filter(|(spot, _)| spot.cylinder() == Some(number))
            .map(|(_, mean)| mean.square())
            .collect();
        Estimate::mean(&squares).map(|mean| mean.sqrt())
    }

    /// A length of a cylinder's parts: the mean of the points at which it was measured.
    pub(super) fn measured_length(&self, wanted: PartLength, number: u32) -> Option<Estimate> {
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
}
