//! Clearance volume and compression ratio (`docs/formulas.md`, section 1).

use super::volume::disc;
use crate::figure::Scalar;

/// The dimensions and volumes that the compression of one cylinder is calculated from.
#[derive(Debug, Clone, PartialEq)]
pub struct CylinderVolumes<S> {
    /// Bore, mm.
    pub bore: S,
    /// Piston travel, mm.
    pub stroke: S,
    /// Chamber volume, cc.
    pub chamber: S,
    /// Diameter of the gasket's opening, mm.
    pub gasket_bore: S,
    /// Compressed thickness of the gasket, mm.
    pub gasket_thickness: S,
    /// Deck clearance, mm, positive below the deck.
    pub deck: S,
    /// Crown volume, cc, dome positive, dish negative.
    pub crown: S,
    /// Volume above the top ring, cc; 0 where it is not counted.
    pub crevice: S,
}

impl<S: Scalar> CylinderVolumes<S> {
    /// Swept volume, cc.
    pub fn swept(&self) -> S {
        disc(&self.bore, &self.stroke)
    }

    /// Volume of the gasket's opening, cc.
    pub fn gasket(&self) -> S {
        disc(&self.gasket_bore, &self.gasket_thickness)
    }

    /// Volume between the piston's flat and the deck, cc; negative above the deck.
    pub fn deck_volume(&self) -> S {
        disc(&self.bore, &self.deck)
    }

    /// Clearance volume, cc: chamber + gasket + deck + crevice − crown.
    pub fn clearance(&self) -> S {
        self.chamber.clone() + self.gasket() + self.deck_volume() + &self.crevice - &self.crown
    }

    /// Compression ratio, 1 + Vs/Vc. Meaningful for a positive clearance volume only.
    pub fn ratio(&self) -> S {
        (self.swept() / self.clearance()).offset(1.0)
    }
}

/// The clearance volume that gives a ratio, cc: Vs/(CR − 1).
pub fn clearance_for<S: Scalar>(swept: &S, ratio: &S) -> S {
    swept.clone() / ratio.offset(-1.0)
}

/// The slope of the ratio against the clearance volume, per cc: −Vs/Vc².
pub fn slope_by_clearance(swept: f64, clearance: f64) -> f64 {
    -swept / (clearance * clearance)
}
