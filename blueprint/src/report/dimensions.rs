//! The dimensions of one cylinder: as measured, else as the engine file states them.

use super::pooled_readings::PooledReadings;
use crate::engine::{CylinderEntry, StatedValue};
use crate::figure::{DimensionOwner, EngineDimension, Estimate, Scalar, SourceId};
use crate::formula::crank::Crank;
use crate::formula::volume;
use crate::spot::{CrownPart, GasketPart, PartLength, Spot};

/// The dimensions of one cylinder. A dimension that is neither measured nor stated is `None`.
pub(super) struct Dimensions<'a> {
    readings: &'a PooledReadings<'a>,
    number: u32,
}

impl<'a> Dimensions<'a> {
    /// Those of the cylinder with this number.
    pub(super) fn of(readings: &'a PooledReadings<'a>, number: u32) -> Dimensions<'a> {
        Dimensions { readings, number }
    }

    fn overrides(&self) -> Option<&CylinderEntry> {
        self.readings.engine.overrides.get(&self.number)
    }

    /// A dimension as the engine file states it: for this cylinder, else for all of them.
    fn stated(
        &self,
        dimension: EngineDimension,
        of_cylinder: Option<StatedValue>,
        of_all: Option<StatedValue>,
    ) -> Option<Estimate> {
        let own = DimensionOwner::Cylinder(self.number);
        match of_cylinder {
            Some(stated) => Some(stated.estimate(SourceId::dimension_of(dimension, own))),
            None => of_all.map(|stated| stated.estimate(SourceId::dimension(dimension))),
        }
    }

    /// The bore, mm.
    pub(super) fn bore(&self) -> Option<Estimate> {
        let own = self.overrides().and_then(|own| own.bore);
        self.readings
            .measured_bore(self.number)
            .or_else(|| self.stated(EngineDimension::Bore, own, self.readings.engine.bore))
    }

    /// Piston travel, mm.
    pub(super) fn stroke(&self) -> Option<Estimate> {
        let spot = Spot::Part {
            part: PartLength::Stroke,
            cylinder: self.number,
            point: None,
        };
        let own = self.overrides().and_then(|own| own.stroke);
        let measured = self.readings.parts.means.get(&spot).cloned();
        measured.or_else(|| self.stated(EngineDimension::Stroke, own, self.readings.engine.stroke))
    }

    /// Volume above the top ring, cc. Nothing measures it.
    pub(super) fn crevice(&self) -> Option<Estimate> {
        let own = self.overrides().and_then(|own| own.crevice);
        self.stated(
            EngineDimension::Crevice,
            own,
            self.readings.engine.piston.crevice,
        )
    }

    /// A dimension of the gasket, mm: measured for this cylinder, measured for all, or stated.
    pub(super) fn gasket(&self, part: GasketPart) -> Option<Estimate> {
        let gasket = &self.readings.engine.gasket;
        let (pool, stated, dimension) = match part {
            GasketPart::Bore => (
                &self.readings.gaskets,
                gasket.bore,
                EngineDimension::GasketBore,
            ),
            GasketPart::Thickness => (
                &self.readings.thicknesses,
                gasket.thickness,
                EngineDimension::GasketThickness,
            ),
        };
        let at = |cylinder| pool.means.get(&Spot::Gasket { part, cylinder }).cloned();
        at(Some(self.number))
            .or_else(|| at(None))
            .or_else(|| self.stated(dimension, None, stated))
    }

    /// The crown, cc: measured directly, from liquid poured on it in the bore, or as its maker
    /// states it.
    pub(super) fn crown(&self, bore: Option<&Estimate>) -> Option<Estimate> {
        let at = |part| Spot::Crown {
            cylinder: self.number,
            part,
        };
        let readings = self.readings;
        if let Some(direct) = readings.crowns.means.get(&at(CrownPart::Volume)) {
            return Some(direct.clone());
        }
        if let (Some(bore), Some(fluid), Some(depth)) = (
            bore,
            readings.fluids.means.get(&at(CrownPart::Fluid)),
            readings.depths.means.get(&at(CrownPart::Depth)),
        ) {
            // The gap above the top ring is taken as sealed while the liquid was poured.
            let sealed = Estimate::exact(0.0);
            return Some(volume::crown_in_bore(bore, depth, &sealed, fluid));
        }
        let own = self.overrides().and_then(|own| own.crown);
        self.stated(EngineDimension::Crown, own, readings.engine.piston.crown)
    }

    /// Rod length, mm.
    pub(super) fn rod(&self) -> Option<Estimate> {
        let own = self.overrides().and_then(|own| own.rod);
        self.readings
            .measured_length(PartLength::Rod, self.number)
            .or_else(|| self.stated(EngineDimension::Rod, own, self.readings.engine.rod))
    }

    /// Compression height of the piston, mm.
    pub(super) fn compression_height(&self) -> Option<Estimate> {
        let stated = self.readings.engine.piston.compression_height;
        self.readings
            .measured_length(PartLength::Height, self.number)
            .or_else(|| self.stated(EngineDimension::CompressionHeight, None, stated))
    }

    /// Height of the deck above the crank's axis, mm.
    pub(super) fn block_height(&self) -> Option<Estimate> {
        let stated = self.readings.engine.block_height;
        self.readings
            .measured_length(PartLength::Block, self.number)
            .or_else(|| self.stated(EngineDimension::BlockHeight, None, stated))
    }

    /// Diameter of the piston's skirt, mm.
    pub(super) fn skirt(&self) -> Option<Estimate> {
        let stated = self.readings.engine.piston.skirt;
        self.readings
            .measured_length(PartLength::Skirt, self.number)
            .or_else(|| self.stated(EngineDimension::Skirt, None, stated))
    }

    /// Deck clearance that the parts should give, mm: from block height, throw, rod, pin offset and
    /// compression height, without any mock-up. `None` unless all of them but the offset are known.
    ///
    /// Source: `docs/formulas.md`, section 4.
    pub(super) fn deck_from_parts(&self) -> Option<Estimate> {
        let height = self.compression_height()?;
        let (block, rod) = (self.block_height()?, self.rod()?);
        let offset = self
            .stated(
                EngineDimension::PinOffset,
                None,
                self.readings.engine.piston.pin_offset,
            )
            .unwrap_or_else(|| Estimate::exact(0.0));
        let crank = Crank::of_travel(&self.stroke()?, &rod, &offset);
        Some(block - crank.top() - height)
    }
}
