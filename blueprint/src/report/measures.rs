//! What the readings of a stage say of each cylinder, with the engine file's dimensions where
//! nothing was measured.

use std::sync::Arc;

use super::liquid::{chamber_at_20, poured_in_bore};
use super::pool::{Pool, pool};
use super::sets::Set;
use super::stage::Current;
use super::{ReportError, deck, deck_doubts, flow, words};
use crate::engine::{Engine, LengthUnits};
use crate::figure::{Dimension, Estimate, Identity, Owner, Scalar, Source};
use crate::formula::volume;
use crate::known::{Known, State};
use crate::spot::{CrownPart, GasketPart, Part, Spot};

/// The pools of all kinds of spots.
pub(super) struct Measures<'a> {
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
    pub(super) parts: Pool<'a>,
    pub(super) gaps: Pool<'a>,
}

impl<'a> Measures<'a> {
    pub(super) fn new(engine: &'a Engine, current: &'a Current<'a>) -> Measures<'a> {
        let with = |wanted: &dyn Fn(&Spot) -> bool, others: usize| {
            let sets: Vec<Set<'a>> = current
                .spots
                .iter()
                .filter(|(spot, _)| wanted(spot))
                .map(|(spot, readings)| Set::new(spot, readings, engine))
                .collect();
            pool(&sets, &engine.gauges, others)
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
        Measures {
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
            ports: of(&|spot| matches!(spot, Spot::Port { .. })),
            parts: of(&|spot| matches!(spot, Spot::Part { .. })),
            gaps: of(&|spot| matches!(spot, Spot::Gap { .. })),
        }
    }

    pub(super) fn units(&self) -> LengthUnits {
        self.engine.units
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

    /// The bore of a cylinder: measured, or as the engine file states it.
    fn bore(&self, number: u32) -> Estimate {
        if let Some(measured) = self.measured_bore(number) {
            return measured;
        }
        let own = self.engine.overrides.get(&number).and_then(|own| own.bore);
        own.map_or_else(
            || {
                self.engine
                    .bore
                    .estimate(Identity::dimension(Dimension::Bore))
            },
            |own| {
                own.estimate(Identity::dimension_of(
                    Dimension::Bore,
                    Owner::Cylinder(number),
                ))
            },
        )
    }

    pub(super) fn stroke(&self, number: u32) -> Estimate {
        let spot = Spot::Part {
            part: Part::Stroke,
            cylinder: number,
            point: None,
        };
        if let Some(mean) = self.parts.means.get(&spot) {
            return mean.clone();
        }
        let own = self
            .engine
            .overrides
            .get(&number)
            .and_then(|own| own.stroke);
        own.map_or_else(
            || {
                self.engine
                    .stroke
                    .estimate(Identity::dimension(Dimension::Stroke))
            },
            |own| {
                own.estimate(Identity::dimension_of(
                    Dimension::Stroke,
                    Owner::Cylinder(number),
                ))
            },
        )
    }

    fn crevice(&self, number: u32) -> Option<Estimate> {
        let own = self
            .engine
            .overrides
            .get(&number)
            .and_then(|own| own.crevice);
        match own {
            Some(own) => Some(own.estimate(Identity::dimension_of(
                Dimension::Crevice,
                Owner::Cylinder(number),
            ))),
            None => self
                .engine
                .piston
                .crevice
                .map(|stated| stated.estimate(Identity::dimension(Dimension::Crevice))),
        }
    }

    /// A dimension of the gasket: measured for this cylinder, measured for all, or stated.
    fn gasket(&self, part: GasketPart, number: u32) -> Option<Estimate> {
        let (pool, stated, dimension) = match part {
            GasketPart::Bore => (
                &self.gaskets,
                self.engine.gasket.bore,
                Dimension::GasketBore,
            ),
            GasketPart::Thickness => (
                &self.thicknesses,
                self.engine.gasket.thickness,
                Dimension::GasketThickness,
            ),
        };
        let at = |cylinder| pool.means.get(&Spot::Gasket { part, cylinder }).cloned();
        at(Some(number))
            .or_else(|| at(None))
            .or(stated.map(|stated| stated.estimate(Identity::dimension(dimension))))
    }

    /// The crown of a cylinder: measured directly, from liquid poured on it in the bore, or as its
    /// maker states it.
    fn crown(&self, number: u32, bore: &Estimate) -> Option<Estimate> {
        let of = |pool: &Pool<'_>, part| {
            pool.means
                .get(&Spot::Crown {
                    cylinder: number,
                    part,
                })
                .cloned()
        };
        if let Some(direct) = of(&self.crowns, CrownPart::Volume) {
            return Some(direct);
        }
        if let (Some(fluid), Some(depth)) = (
            of(&self.fluids, CrownPart::Fluid),
            of(&self.depths, CrownPart::Depth),
        ) {
            // The gap above the top ring is taken as sealed while the liquid was poured.
            return Some(volume::crown_in_bore(
                bore,
                &depth,
                &Estimate::exact(0.0),
                &fluid,
            ));
        }
        let own = self.engine.overrides.get(&number).and_then(|own| own.crown);
        match own {
            Some(own) => Some(own.estimate(Identity::dimension_of(
                Dimension::Crown,
                Owner::Cylinder(number),
            ))),
            None => self
                .engine
                .piston
                .crown
                .map(|crown| crown.estimate(Identity::dimension(Dimension::Crown))),
        }
    }

    pub(super) fn cylinders(&self) -> Result<Vec<Known>, ReportError> {
        let points = deck::points(&self.decks.means);
        let doubts = deck_doubts::doubts(&self.decks, self.units());
        (1..=self.engine.cylinders)
            .map(|number| {
                let scatter = deck_doubts::scatter(&doubts, number);
                self.cylinder(number, points.get(&number), scatter)
            })
            .collect()
    }

    fn cylinder(
        &self,
        number: u32,
        points: Option<&deck::Points<'_>>,
        scatter: Option<Arc<Source>>,
    ) -> Result<Known, ReportError> {
        let bore = self.bore(number);
        let known = Known {
            number,
            bank: self
                .engine
                .bank_of(number)
                .map_or_else(String::new, |bank| bank.name.clone()),
            stroke: self.stroke(number),
            chamber: self
                .chambers
                .means
                .get(&Spot::Chamber { cylinder: number })
                .cloned(),
            deck: points
                .and_then(deck::clearance)
                .map(|clearance| match scatter {
                    Some(scatter) => clearance.with(scatter, 1.0),
                    None => clearance,
                }),
            deck_low: points.and_then(deck::low),
            crown: self.crown(number, &bore),
            gasket_bore: self.gasket(GasketPart::Bore, number),
            gasket_thickness: self.gasket(GasketPart::Thickness, number),
            crevice: self.crevice(number),
            rod: self.rod(number),
            block_height: self.block_height(number),
            compression_height: self.compression_height(number),
            bore,
        };
        self.possible(&known)?;
        if let Some(whole) = known
            .whole()
            .filter(|whole| whole.clearance().value() <= 0.0)
        {
            return Err(ReportError::Clearance {
                cylinder: number,
                clearance: whole.clearance().value(),
                chamber: whole.chamber.value(),
                gasket: whole.gasket().value(),
                deck: whole.deck_volume().value(),
                crevice: whole.crevice.value(),
                crown: whole.crown.value(),
            });
        }
        Ok(known)
    }

    /// The state of all cylinders, with how many readings each figure rests on.
    pub(super) fn state(&self) -> Result<State, ReportError> {
        let pools = [
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
            &self.gaps,
        ];
        let counts = pools
            .into_iter()
            .flat_map(|pool| {
                pool.counts
                    .iter()
                    .map(|(spot, count)| ((*spot).clone(), *count))
            })
            .collect();
        Ok(State {
            stage: self.current.stage.clone(),
            units: self.units(),
            cylinders: self.cylinders()?,
            counts,
            flow: flow::known(&self.current.spots, self.engine, &self.ports.means),
        })
    }

    /// Measured dimensions that cannot be are refused like stated ones.
    fn possible(&self, built: &Known) -> Result<(), ReportError> {
        let units = self.units();
        let absurd = |spot: String, found: f64, expected: String| {
            let found = words::length(found, units);
            Err(ReportError::Absurd {
                spot,
                found,
                expected,
            })
        };
        let number = built.number;
        for (what, value) in [("bore", &built.bore), ("stroke", &built.stroke)] {
            if value.value() <= 0.0 {
                return absurd(
                    format!("{what}/{number}"),
                    value.value(),
                    "more than 0".to_owned(),
                );
            }
        }
        if let Some(thickness) = built.gasket_thickness.as_ref().filter(|t| t.value() <= 0.0) {
            let spot = "gasket/thickness".to_owned();
            return absurd(spot, thickness.value(), "more than 0".to_owned());
        }
        if let Some(gasket) = &built.gasket_bore
            && gasket.value() < built.bore.value()
        {
            let [found, bore] = words::lengths([gasket.value(), built.bore.value()], units);
            return Err(ReportError::Absurd {
                spot: "gasket/bore".to_owned(),
                found,
                expected: format!("not less than the bore of cylinder {number}, {bore}"),
            });
        }
        if let Some(chamber) = built
            .chamber
            .as_ref()
            .filter(|chamber| chamber.value() <= 0.0)
        {
            return Err(ReportError::Absurd {
                spot: format!("chamber/{number}"),
                found: words::volume(chamber.value()),
                expected: "more than 0".to_owned(),
            });
        }
        Ok(())
    }
}
