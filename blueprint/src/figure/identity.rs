//! The identity of a source of error: whose error it is, which error, and from which fact and job.
//!
//! Two figures share an error where they carry the same identity. The words for people are made
//! from the identity; nothing is decided from those words.

mod words;

use std::sync::Arc;

use crate::spot::{FlowPart, Spot};
use crate::units::QuantityKind;

/// The identity of a source of error.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SourceId {
    /// Whose error it is.
    pub whose: SourceOwner,
    /// Which error.
    pub what: SourceKind,
    /// The reading, zeroing, check or saying that the error comes from, if it comes from one.
    pub fact: Option<Arc<str>>,
    /// The job that the error belongs to, where several jobs are put together.
    pub job: Option<Arc<str>>,
}

/// Whose error it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SourceOwner {
    /// A gauge of the shop, by its name.
    Gauge(Arc<str>),
    /// The gauge that nobody named, by what it measures.
    NoGauge(QuantityKind),
    /// A metering orifice, by its name.
    Orifice(Arc<str>),
    /// The readings of a spot.
    Spot(Spot),
    /// One part of the flow readings of a spot.
    FlowPart(Spot, FlowPart),
    /// A dimension that the engine file states.
    Dimension(EngineDimension, DimensionOwner),
    /// Something of the surroundings.
    Condition(Arc<str>),
    /// The leak of the flow bench.
    Leak,
    /// An input of a formula or a question, by its name.
    Input(Arc<str>),
}

/// Which error it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SourceKind {
    /// Error of the value as it stands.
    Value,
    /// Error of a gauge's calibration: the same in all its readings.
    Calibration,
    /// Error of a gauge's scale: in proportion to the reading.
    Scale,
    /// Error of a zeroing.
    Zero,
    /// How far a check found a zero off.
    ZeroOff,
    /// The rounding of one reading.
    Resolution,
    /// The one rounding that repeats within a step have in common.
    RoundedAlike,
    /// The roundings and other known errors of several readings as one.
    Rounding,
    /// Error of setting up anew.
    Repeatability,
    /// Error of setting up anew, where nobody stated it and nothing was set up twice.
    NotRepeated,
    /// The scatter of repeats that lie too far apart.
    Scatter,
    /// The standard deviation of repeats, on which several sources rest.
    Repeats,
    /// All errors of a gauge that is not in the engine file.
    UnknownGauge,
    /// Error of a calibrated flow.
    Flow,
    /// Error of the pressure at which a flow is stated.
    Pressure,
    /// Error of the air in which a flow is stated.
    Air,
    /// Error of a diameter.
    Diameter,
    /// Error of a discharge coefficient.
    DischargeCoefficient,
    /// One of several independent parts of a covariance.
    Component(usize),
}

/// A dimension that the engine file states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EngineDimension {
    /// Bore.
    Bore,
    /// Stroke.
    Stroke,
    /// Crown volume.
    Crown,
    /// Volume above the top ring.
    Crevice,
    /// Diameter of the gasket's opening.
    GasketBore,
    /// Compressed thickness of the gasket.
    GasketThickness,
    /// Rod length.
    Rod,
    /// Height of the block's deck.
    BlockHeight,
    /// Compression height of the piston.
    CompressionHeight,
    /// Diameter of the piston's skirt.
    Skirt,
    /// Offset of the pin.
    PinOffset,
    /// Diameter of the valve's head.
    Valve,
    /// Diameter of the throat.
    Throat,
    /// Diameter of the valve's stem.
    Stem,
    /// Width and angle of the valve's seat.
    Seat,
    /// Inclination of the valve to the bore.
    Inclination,
    /// Lift at which a port was flowed, as it was asked for.
    Lift,
}

/// The owner of a stated dimension.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DimensionOwner {
    /// All cylinders alike.
    All,
    /// One cylinder.
    Cylinder(u32),
    /// A port, the same in all cylinders.
    Port(Arc<str>),
    /// One port at one lift.
    Spot(Spot),
}

impl SourceId {
    /// An error of something, from no single fact.
    pub fn new(whose: SourceOwner, what: SourceKind) -> SourceId {
        SourceId {
            whose,
            what,
            fact: None,
            job: None,
        }
    }

    /// An error of a gauge.
    pub fn gauge(name: &str, what: SourceKind) -> SourceId {
        SourceId::new(SourceOwner::Gauge(name.into()), what)
    }

    /// An error of a metering orifice.
    pub fn orifice(name: &str, what: SourceKind) -> SourceId {
        SourceId::new(SourceOwner::Orifice(name.into()), what)
    }

    /// A dimension that is stated for all cylinders.
    pub fn dimension(dimension: EngineDimension) -> SourceId {
        SourceId::dimension_of(dimension, DimensionOwner::All)
    }

    /// A dimension that is stated for one owner.
    pub fn dimension_of(dimension: EngineDimension, owner: DimensionOwner) -> SourceId {
        SourceId::new(SourceOwner::Dimension(dimension, owner), SourceKind::Value)
    }

    /// Something of the surroundings, by its name.
    pub fn condition(name: &str) -> SourceId {
        SourceId::new(SourceOwner::Condition(name.into()), SourceKind::Value)
    }

    /// The same from this fact.
    #[must_use]
    pub fn from_fact(self, fact: &str) -> SourceId {
        SourceId {
            fact: Some(fact.into()),
            ..self
        }
    }

    /// Another error of the same thing, from the same fact.
    #[must_use]
    pub fn but(&self, what: SourceKind) -> SourceId {
        SourceId {
            what,
            ..self.clone()
        }
    }

    /// Whether the error is the shop's: the same in every job. A zeroing and a check belong to the
    /// job in which they were made.
    pub fn is_of_the_shop(&self) -> bool {
        matches!(self.whose, SourceOwner::Gauge(_) | SourceOwner::Orifice(_))
            && self.fact.is_none()
            && !matches!(self.what, SourceKind::Zero | SourceKind::ZeroOff)
    }

    /// The same error in the job `job`. An error of the shop, or one that has a job already, stays
    /// as it is.
    #[must_use]
    pub fn of_job(&self, job: &Arc<str>) -> SourceId {
        let job = match self.is_of_the_shop() {
            true => None,
            false => Some(job.clone()),
        };
        SourceId {
            job: self.job.clone().or(job),
            ..self.clone()
        }
    }

    /// Whether each reading of the spot has this error for itself: then one more reading averages
    /// it down.
    pub fn is_own_of(&self, spot: &Spot) -> bool {
        matches!(&self.whose, SourceOwner::Spot(own) if own == spot)
            && self.what != SourceKind::RoundedAlike
    }

    /// Whether it is the error of this stated dimension, whoever owns it.
    pub fn is_dimension(&self, dimension: EngineDimension) -> bool {
        matches!(self.whose, SourceOwner::Dimension(found, _) if found == dimension)
    }
}

impl From<&str> for SourceId {
    fn from(name: &str) -> SourceId {
        SourceId::new(SourceOwner::Input(name.into()), SourceKind::Value)
    }
}

impl From<String> for SourceId {
    fn from(name: String) -> SourceId {
        SourceId::from(name.as_str())
    }
}

impl From<&String> for SourceId {
    fn from(name: &String) -> SourceId {
        SourceId::from(name.as_str())
    }
}

impl From<&SourceId> for SourceId {
    fn from(identity: &SourceId) -> SourceId {
        identity.clone()
    }
}
