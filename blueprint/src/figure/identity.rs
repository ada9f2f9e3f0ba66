//! Which source of error it is: what it is, whose it is, and from which job and fact.
//!
//! Two figures share an error where they carry the same identity. Nothing is decided from the words
//! for people, which are made from the identity.

mod words;

use std::sync::Arc;

use crate::spot::Spot;
use crate::units::Kind;

/// Which source of error it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Identity {
    /// Whose error it is.
    pub whose: Whose,
    /// What error of it.
    pub what: What,
    /// The reading, zeroing, check or saying that it comes from, where it comes from one.
    pub fact: Option<Arc<str>>,
    /// The job that it belongs to, where several jobs are put together.
    pub job: Option<Arc<str>>,
}

/// Whose error it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Whose {
    /// A gauge of the shop, by its name.
    Gauge(Arc<str>),
    /// The gauge that nobody named, by what it measures.
    NoGauge(Kind),
    /// A metering orifice, by its name.
    Orifice(Arc<str>),
    /// The readings of a spot.
    Spot(Spot),
    /// One part of the flow readings of a spot.
    FlowPart(Spot, FlowPart),
    /// A dimension that the engine file states.
    Dimension(Dimension, Owner),
    /// Something of the surroundings.
    Condition(Arc<str>),
    /// The leak of the flow bench.
    Leak,
    /// An input of a formula or a question, by its name.
    Input(Arc<str>),
}

/// What error it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum What {
    /// That of the value as it stands.
    Value,
    /// That of a gauge's calibration, the same for all its readings.
    Calibration,
    /// That of a gauge's scale, in proportion to the reading.
    Scale,
    /// That of a zeroing.
    Zero,
    /// The rounding of one reading.
    Resolution,
    /// The one rounding that repeats within a step have in common.
    RoundedAlike,
    /// The roundings and other known errors of several readings as one.
    Rounding,
    /// That of setting up anew.
    Repeatability,
    /// That of setting up anew, where nobody stated it and nothing was set up twice.
    NotRepeated,
    /// The scatter of repeats that lie too far apart.
    Scatter,
    /// The standard deviation of repeats, on which several sources rest.
    Repeats,
    /// All that a gauge of which nothing is known gives to its readings.
    UnknownGauge,
    /// That of a calibrated flow.
    Flow,
    /// That of the pressure at which a flow is stated.
    Pressure,
    /// That of the air in which a flow is stated.
    Air,
    /// That of a diameter.
    Diameter,
    /// That of a discharge coefficient.
    DischargeCoefficient,
    /// One of several independent parts of a covariance.
    Component(usize),
}

/// A part of a flow reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FlowPart {
    /// Test pressure.
    Test,
    /// Metering pressure.
    Metering,
    /// Flow, where the bench gives it by itself.
    Flow,
    /// Leak.
    Leak,
    /// Lift.
    Lift,
    /// Temperature at the metering orifice.
    Temperature,
    /// Temperature in the plenum.
    PlenumTemperature,
}

/// A dimension that the engine file states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
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

/// What a stated dimension belongs to.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Owner {
    /// All cylinders alike.
    All,
    /// One cylinder.
    Cylinder(u32),
    /// A port, the same in all cylinders.
    Port(Arc<str>),
    /// One port at one lift.
    Spot(Spot),
}

impl Identity {
    /// An error of something, from no single fact.
    pub fn new(whose: Whose, what: What) -> Identity {
        Identity {
            whose,
            what,
            fact: None,
            job: None,
        }
    }

    /// An error of a gauge.
    pub fn gauge(name: &str, what: What) -> Identity {
        Identity::new(Whose::Gauge(name.into()), what)
    }

    /// An error of a metering orifice.
    pub fn orifice(name: &str, what: What) -> Identity {
        Identity::new(Whose::Orifice(name.into()), what)
    }

    /// A dimension that is stated for all cylinders.
    pub fn dimension(dimension: Dimension) -> Identity {
        Identity::dimension_of(dimension, Owner::All)
    }

    /// A dimension that is stated for one owner.
    pub fn dimension_of(dimension: Dimension, owner: Owner) -> Identity {
        Identity::new(Whose::Dimension(dimension, owner), What::Value)
    }

    /// Something of the surroundings, by its name.
    pub fn condition(name: &str) -> Identity {
        Identity::new(Whose::Condition(name.into()), What::Value)
    }

    /// The same from this fact.
    #[must_use]
    pub fn from_fact(self, fact: &str) -> Identity {
        Identity {
            fact: Some(fact.into()),
            ..self
        }
    }

    /// Another error of the same thing, from the same fact.
    #[must_use]
    pub fn but(&self, what: What) -> Identity {
        Identity {
            what,
            ..self.clone()
        }
    }

    /// Whether it is the shop's: the same in every job. A zeroing and what one check found are of the
    /// job that they were made in.
    pub fn is_of_the_shop(&self) -> bool {
        matches!(self.whose, Whose::Gauge(_) | Whose::Orifice(_))
            && self.fact.is_none()
            && self.what != What::Zero
    }

    /// The same as another job's, unless it is the shop's or has a job already.
    #[must_use]
    pub fn of_job(&self, job: &Arc<str>) -> Identity {
        let job = match self.is_of_the_shop() {
            true => None,
            false => Some(job.clone()),
        };
        Identity {
            job: self.job.clone().or(job),
            ..self.clone()
        }
    }

    /// Whether it is an error that each reading of a spot has for itself, so that one more reading
    /// makes less of it.
    pub fn is_own_of(&self, spot: &Spot) -> bool {
        matches!(&self.whose, Whose::Spot(own) if own == spot) && self.what != What::RoundedAlike
    }

    /// Whether it is this dimension as it is stated, of whatever owner.
    pub fn is_dimension(&self, dimension: Dimension) -> bool {
        matches!(self.whose, Whose::Dimension(found, _) if found == dimension)
    }
}

impl From<&str> for Identity {
    fn from(name: &str) -> Identity {
        Identity::new(Whose::Input(name.into()), What::Value)
    }
}

impl From<String> for Identity {
    fn from(name: String) -> Identity {
        Identity::from(name.as_str())
    }
}

impl From<&String> for Identity {
    fn from(name: &String) -> Identity {
        Identity::from(name.as_str())
    }
}

impl From<&Identity> for Identity {
    fn from(identity: &Identity) -> Identity {
        identity.clone()
    }
}
