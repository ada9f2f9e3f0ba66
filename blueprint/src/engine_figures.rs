//! The figures of each cylinder and port at one stage, from which decisions are made.
//!
//! A value that was not measured and not stated is `None`; nothing is filled in.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::engine::LengthUnits;
use crate::figure::{Estimate, Scalar};
use crate::formula::compression::CylinderVolumes;
use crate::formula::flow::FlowDirection;
use crate::formula::volume;
use crate::named::named_enum;
use crate::spot::{Spot, SpotLength, SpotName};
use crate::units::Unit;

/// The figures of one cylinder. Lengths in mm, volumes in cc.
#[derive(Debug, Clone, PartialEq)]
pub struct CylinderFigures {
    /// Number.
    pub number: u32,
    /// Bank.
    pub bank: String,
    /// Bore.
    pub bore: Option<Estimate>,
    /// Piston travel.
    pub stroke: Option<Estimate>,
    /// Chamber volume.
    pub chamber: Option<Estimate>,
    /// Deck clearance, positive below the deck.
    pub deck: Option<Estimate>,
    /// How much nearer to the head the nearest point of the piston stands than its mean, mm, 0 or
    /// more. Rock is included.
    pub deck_low: Option<Estimate>,
    /// Crown volume, dome positive.
    pub crown: Option<Estimate>,
    /// Diameter of the gasket's opening.
    pub gasket_bore: Option<Estimate>,
    /// Compressed thickness of the gasket.
    pub gasket_thickness: Option<Estimate>,
    /// Volume above the top ring; `None`: not counted.
    pub crevice: Option<Estimate>,
    /// Rod length, centre to centre.
    pub rod: Option<Estimate>,
    /// Height of the deck above the crank's axis.
    pub block_height: Option<Estimate>,
    /// Compression height of the piston.
    pub compression_height: Option<Estimate>,
}

impl CylinderFigures {
    /// The volumes that the compression is calculated from. `None` unless all are known.
    pub fn whole(&self) -> Option<CylinderVolumes<Estimate>> {
        Some(CylinderVolumes {
            bore: self.bore.clone()?,
            stroke: self.stroke.clone()?,
            chamber: self.chamber.clone()?,
            gasket_bore: self.gasket_bore.clone()?,
            gasket_thickness: self.gasket_thickness.clone()?,
            deck: self.deck.clone()?,
            crown: self.crown.clone()?,
            crevice: self.crevice.clone().unwrap_or_else(|| Estimate::exact(0.0)),
        })
    }

    /// Swept volume, cc; `None` unless bore and stroke are known.
    pub fn swept(&self) -> Option<Estimate> {
        Some(volume::disc(self.bore.as_ref()?, self.stroke.as_ref()?))
    }

    /// Clearance volume, cc; `None` also if it is not positive, which no engine can have.
    pub fn clearance(&self) -> Option<Estimate> {
        let clearance = self.whole().map(|whole| whole.clearance());
        clearance.filter(|clearance| clearance.value() > 0.0)
    }

    /// Compression ratio; `None` also if the clearance volume is not positive.
    pub fn ratio(&self) -> Option<Estimate> {
        let whole = self.whole()?;
        (whole.clearance().value() > 0.0).then(|| whole.ratio())
    }

    /// Distance between the nearest point of the piston and the head at top dead centre, mm. Every
    /// least distance is judged by it. The mean distance where no points are known.
    pub fn nearest_quench(&self) -> Option<Estimate> {
        let mean = self.quench()?;
        Some(match &self.deck_low {
            Some(low) => mean - low,
            None => mean,
        })
    }

    /// Distance between piston and head at top dead centre, mm: gasket and deck.
    pub fn quench(&self) -> Option<Estimate> {
        Some(self.gasket_thickness.as_ref()? + self.deck.as_ref()?)
    }
}

/// All cylinders of one engine at one stage.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineFigures {
    /// The stage.
    pub stage: String,
    /// The units of lengths.
    pub units: LengthUnits,
    /// The cylinders, in their order.
    pub cylinders: Vec<CylinderFigures>,
    /// How many readings each spot's figure rests on.
    pub counts: BTreeMap<Spot, usize>,
    /// The figures of the ports, in the order of their spots.
    pub flow: Vec<PortFigures>,
}

named_enum! {
    /// The areas by which the flow of a port is judged.
    PortArea {
        /// Curtain: valve head's circumference times lift.
        Curtain = "curtain",
        /// The valve's head.
        ValveHead = "valve head",
        /// The throat less the stem.
        ThroatLessStem = "throat less stem",
        /// The least area between valve and seat or in the throat, by the seat's form.
        LeastGeometric = "least geometric area",
    }
}

/// A coefficient by a named area.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowCoefficient {
    /// The area that it is by.
    pub by_area: PortArea,
    /// The area, mm², of all valves of the port.
    pub area: Estimate,
    /// Effective area over that area.
    pub coefficient: Estimate,
}

impl FlowCoefficient {
    /// Expanded uncertainty at 95 %, what is lacking at its assumed width; 0 where nothing is known
    /// or assumed of it.
    pub fn expanded(&self) -> f64 {
        let figure = self.coefficient.figure(Unit::One);
        let known = || figure.expanded_known();
        figure.expanded_assumed().or_else(known).unwrap_or(0.0)
    }
}

/// The figures of a port at one lift. Pressures in Pa, volume flows in L/min.
#[derive(Debug, Clone, PartialEq)]
pub struct PortFigures {
    /// The spot.
    pub spot: Spot,
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// The lift that was asked for.
    pub lift: SpotLength,
    /// The lift as measured, mm.
    pub lift_measured: Option<Estimate>,
    /// Which way the air went.
    pub direction: FlowDirection,
    /// How many readings it rests on.
    pub readings: usize,
    /// A sentence: what is missing for the figures through the air's density, or what was assumed
    /// because nobody said it.
    pub needs: Option<String>,
    /// Test pressure.
    pub test: Option<Estimate>,
    /// Metering pressure.
    pub metering: Option<Estimate>,
    /// Effective area of the port over that of the metering orifice.
    pub area_ratio: Option<Estimate>,
    /// Metering pressure at the reference depression.
    pub metering_at_reference: Option<Estimate>,
    /// Flow at the orifice as the bench shows it, less leakage.
    pub flow: Option<Estimate>,
    /// The same at the reference depression, by the square root alone.
    pub flow_at_reference: Option<Estimate>,
    /// Mass flow of the port, kg/s, through the whole chain.
    pub mass: Option<Estimate>,
    /// Density of the air before the port, kg/m³.
    pub density: Option<Estimate>,
    /// Volume flow of the air before the port.
    pub port_flow: Option<Estimate>,
    /// Effective area of the port, mm² (isentropic).
    pub effective_area: Option<Estimate>,
    /// Volume flow at the reference depression with compressibility, of the same air.
    pub flow_at_reference_compressible: Option<Estimate>,
    /// The same in the reference air.
    pub flow_in_reference_air: Option<Estimate>,
    /// Coefficients by each area that is known.
    pub coefficients: Vec<FlowCoefficient>,
    /// Temperature of the room's air, °C.
    pub air_temperature: Option<Estimate>,
}

impl PortFigures {
    /// The figure by which ports are compared: flow at the reference depression by the square root,
    /// or where the orifice is not known the area ratio. Both follow the port's effective area.
    pub fn compared(&self) -> Option<&Estimate> {
        self.flow_at_reference.as_ref().or(self.area_ratio.as_ref())
    }

    /// The figure by which this port is compared with another: flows with flows, ratios with ratios.
    /// `None` where the other one has not what this one is compared by.
    pub fn comparable<'a>(&self, other: &'a PortFigures) -> Option<&'a Estimate> {
        match self.flow_at_reference {
            Some(_) => other.flow_at_reference.as_ref(),
            None => other.area_ratio.as_ref(),
        }
    }

    /// The coefficient by the least of the areas that are known; all air passes each of them.
    pub fn on_least_area(&self) -> Option<&FlowCoefficient> {
        self.coefficients
            .iter()
            .min_by(|a, b| a.area.value().total_cmp(&b.area.value()))
    }

    /// A coefficient above 1 by more than its expanded uncertainty, with lacking ones at their
    /// assumed width: more air passed than the area can pass (`docs/formulas.md`, section 14). Of
    /// several, the one by the least area.
    pub fn impossible_coefficient(&self) -> Option<&FlowCoefficient> {
        self.coefficients
            .iter()
            .filter(|one| one.coefficient.value() > 1.0 + one.expanded())
            .min_by(|a, b| a.area.value().total_cmp(&b.area.value()))
    }
}

impl EngineFigures {
    /// The cylinders whose compression is known, with their ratios.
    pub fn ratios(&self) -> Vec<(u32, Estimate)> {
        self.cylinders
            .iter()
            .filter_map(|one| Some((one.number, one.ratio()?)))
            .collect()
    }

    /// Whether the cylinders stand in more than one bank.
    pub fn has_banks(&self) -> bool {
        let mut banks = self.cylinders.iter().map(|one| &one.bank);
        let first = banks.next();
        banks.any(|bank| Some(bank) != first)
    }

    /// The same figures as those of the job `job`. Errors of its parts, readings, zeroings and
    /// checks then cancel with nothing of another job. Errors of the shop (gauges, stated orifices
    /// of the flow bench) stay shared, since both jobs may have been measured with the same gauges.
    #[must_use]
    pub fn of_job(&self, job: &str) -> EngineFigures {
        let job = Arc::from(job);
        let theirs = |estimate: &Estimate| estimate.identified(|id| id.of_job(&job));
        let cylinders = self
            .cylinders
            .iter()
            .map(|one| CylinderFigures {
                number: one.number,
                bank: one.bank.clone(),
                bore: one.bore.as_ref().map(theirs),
                stroke: one.stroke.as_ref().map(theirs),
                chamber: one.chamber.as_ref().map(theirs),
                deck: one.deck.as_ref().map(theirs),
                deck_low: one.deck_low.as_ref().map(theirs),
                crown: one.crown.as_ref().map(theirs),
                gasket_bore: one.gasket_bore.as_ref().map(theirs),
                gasket_thickness: one.gasket_thickness.as_ref().map(theirs),
                crevice: one.crevice.as_ref().map(theirs),
                rod: one.rod.as_ref().map(theirs),
                block_height: one.block_height.as_ref().map(theirs),
                compression_height: one.compression_height.as_ref().map(theirs),
            })
            .collect();
        let flow = self
            .flow
            .iter()
            .map(|one| PortFigures {
                spot: one.spot.clone(),
                cylinder: one.cylinder,
                port: one.port.clone(),
                runner: one.runner.clone(),
                lift: one.lift,
                direction: one.direction,
                readings: one.readings,
                needs: one.needs.clone(),
                lift_measured: one.lift_measured.as_ref().map(theirs),
                test: one.test.as_ref().map(theirs),
                metering: one.metering.as_ref().map(theirs),
                area_ratio: one.area_ratio.as_ref().map(theirs),
                metering_at_reference: one.metering_at_reference.as_ref().map(theirs),
                flow: one.flow.as_ref().map(theirs),
                flow_at_reference: one.flow_at_reference.as_ref().map(theirs),
                mass: one.mass.as_ref().map(theirs),
                density: one.density.as_ref().map(theirs),
                port_flow: one.port_flow.as_ref().map(theirs),
                effective_area: one.effective_area.as_ref().map(theirs),
                flow_at_reference_compressible: one
                    .flow_at_reference_compressible
                    .as_ref()
                    .map(theirs),
                flow_in_reference_air: one.flow_in_reference_air.as_ref().map(theirs),
                coefficients: one
                    .coefficients
                    .iter()
                    .map(|one| FlowCoefficient {
                        by_area: one.by_area,
                        area: theirs(&one.area),
                        coefficient: theirs(&one.coefficient),
                    })
                    .collect(),
                air_temperature: one.air_temperature.as_ref().map(theirs),
            })
            .collect();
        // Each field is named: errors of a field that was only copied would cancel between two jobs.
        EngineFigures {
            stage: self.stage.clone(),
            units: self.units,
            cylinders,
            counts: self.counts.clone(),
            flow,
        }
    }
}

/// The largest less the smallest of several estimates, by first order. Equal ones give 0 with the
/// uncertainty of a difference. `None` for fewer than two.
pub fn spread<'a>(estimates: impl IntoIterator<Item = &'a Estimate>) -> Option<Estimate> {
    let mut all: Vec<&Estimate> = estimates.into_iter().collect();
    all.sort_by(|a, b| a.value().total_cmp(&b.value()));
    let (least, most) = (*all.first()?, *all.last()?);
    (all.len() > 1).then(|| most - least)
}
