//! An identity in words for people.

use std::fmt;

use super::{DimensionOwner, EngineDimension, SourceId, SourceKind, SourceOwner};

impl EngineDimension {
    fn words(self) -> &'static str {
        match self {
            EngineDimension::Bore => "bore",
            EngineDimension::Stroke => "stroke",
            EngineDimension::Crown => "dome/dish",
            EngineDimension::Crevice => "volume above the top ring",
            EngineDimension::GasketBore => "gasket bore",
            EngineDimension::GasketThickness => "gasket thickness",
            EngineDimension::Rod => "rod",
            EngineDimension::BlockHeight => "block height",
            EngineDimension::CompressionHeight => "compression height",
            EngineDimension::Skirt => "skirt",
            EngineDimension::PinOffset => "pin offset",
            EngineDimension::Valve => "valve",
            EngineDimension::Throat => "throat",
            EngineDimension::Stem => "stem",
            EngineDimension::Seat => "the seat's form",
            EngineDimension::Inclination => "inclination of the valve",
            EngineDimension::Lift => "lift as asked for",
        }
    }
}

impl fmt::Display for SourceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(job) = &self.job {
            write!(f, "{job}: ")?;
        }
        let from = |f: &mut fmt::Formatter<'_>| match &self.fact {
            Some(fact) => write!(f, " {fact}"),
            None => Ok(()),
        };
        let subject = |f: &mut fmt::Formatter<'_>| match &self.whose {
            SourceOwner::Gauge(name) => write!(f, "gauge {name}"),
            SourceOwner::NoGauge(kind) => write!(f, "a gauge that is not named for {kind}"),
            SourceOwner::Orifice(name) => write!(f, "orifice {name}"),
            SourceOwner::Spot(spot) => write!(f, "{spot}"),
            SourceOwner::FlowPart(spot, part) => write!(f, "{spot}/{part}"),
            SourceOwner::Dimension(dimension, owner) => {
                f.write_str(dimension.words())?;
                match owner {
                    DimensionOwner::All => Ok(()),
                    DimensionOwner::Cylinder(number) => write!(f, " of cylinder {number}"),
                    DimensionOwner::Port(port) => write!(f, " of {port}"),
                    DimensionOwner::Spot(spot) => write!(f, " of {spot}"),
                }?;
                match dimension {
                    EngineDimension::Crown => f.write_str(" as stated"),
                    _ => Ok(()),
                }
            }
            SourceOwner::Condition(name) => match &self.fact {
                Some(fact) => write!(f, "{name} as said in line {fact}"),
                None => f.write_str(name),
            },
            SourceOwner::Leak => match &self.fact {
                Some(fact) => write!(f, "leak, check {fact}"),
                None => f.write_str("leak"),
            },
            SourceOwner::Input(name) => f.write_str(name),
        };
        match (&self.whose, &self.what) {
            (_, SourceKind::RoundedAlike) => {
                f.write_str("rounding of ")?;
                subject(f)?;
                from(f)
            }
            (_, SourceKind::Repeats) => {
                f.write_str("repeats with ")?;
                subject(f)?;
                from(f)
            }
            (SourceOwner::Gauge(_), what) => {
                subject(f)?;
                write!(f, " {what}")?;
                from(f)
            }
            // An orifice's name says by which check it is known.
            (SourceOwner::Orifice(_), what) => {
                subject(f)?;
                write!(f, " {what}")
            }
            (SourceOwner::Spot(_) | SourceOwner::FlowPart(..), what) => {
                subject(f)?;
                from(f)?;
                match what {
                    SourceKind::Value => Ok(()),
                    what => write!(f, " {what}"),
                }
            }
            (_, SourceKind::Value) => subject(f),
            (_, what) => {
                subject(f)?;
                write!(f, " {what}")
            }
        }
    }
}

impl fmt::Display for SourceKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            SourceKind::Value => "value",
            SourceKind::Calibration => "calibration",
            SourceKind::Scale => "scale",
            SourceKind::Zero => "zero",
            SourceKind::ZeroOff => "zero, as a check found it",
            SourceKind::Resolution => "resolution",
            SourceKind::RoundedAlike | SourceKind::Rounding => "rounding",
            SourceKind::Repeatability => "repeatability",
            SourceKind::NotRepeated => "repeatability (none is stated, nothing was set up twice)",
            SourceKind::Scatter => "scatter",
            SourceKind::Repeats => "repeats",
            SourceKind::UnknownGauge => "(nothing is known of it)",
            SourceKind::Flow => "flow",
            SourceKind::Pressure => "metering pressure",
            SourceKind::Air => "air",
            SourceKind::Diameter => "diameter",
            SourceKind::DischargeCoefficient => "discharge coefficient",
            SourceKind::Component(number) => return write!(f, "{number}"),
        })
    }
}
