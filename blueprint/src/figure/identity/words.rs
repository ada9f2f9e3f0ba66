//! The words for people of an error's identity.

use std::fmt;

use super::{Dimension, FlowPart, Identity, Owner, What, Whose};

impl FlowPart {
    fn words(self) -> &'static str {
        match self {
            FlowPart::Test => "test",
            FlowPart::Metering => "metering",
            FlowPart::Flow => "flow",
            FlowPart::Leak => "leak",
            FlowPart::Lift => "lift",
            FlowPart::Temperature => "temperature",
            FlowPart::PlenumTemperature => "plenum_temperature",
        }
    }
}

impl Dimension {
    fn words(self) -> &'static str {
        match self {
            Dimension::Bore => "bore",
            Dimension::Stroke => "stroke",
            Dimension::Crown => "crown",
            Dimension::Crevice => "crevice",
            Dimension::GasketBore => "gasket bore",
            Dimension::GasketThickness => "gasket thickness",
            Dimension::Rod => "rod",
            Dimension::BlockHeight => "block height",
            Dimension::CompressionHeight => "compression height",
            Dimension::Skirt => "skirt",
            Dimension::PinOffset => "pin offset",
            Dimension::Valve => "valve",
            Dimension::Throat => "throat",
            Dimension::Stem => "stem",
            Dimension::Seat => "the seat's form",
            Dimension::Inclination => "inclination of the valve",
            Dimension::Lift => "lift as asked for",
        }
    }
}

impl fmt::Display for Identity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(job) = &self.job {
            write!(f, "{job}: ")?;
        }
        let from = |f: &mut fmt::Formatter<'_>| match &self.fact {
            Some(fact) => write!(f, " {fact}"),
            None => Ok(()),
        };
        let subject = |f: &mut fmt::Formatter<'_>| match &self.whose {
            Whose::Gauge(name) => write!(f, "gauge {name}"),
            Whose::NoGauge(kind) => write!(f, "a gauge that is not named for {kind}"),
            Whose::Orifice(name) => write!(f, "orifice {name}"),
            Whose::Spot(spot) => write!(f, "{spot}"),
            Whose::FlowPart(spot, part) => write!(f, "{spot}/{}", part.words()),
            Whose::Dimension(dimension, owner) => {
                f.write_str(dimension.words())?;
                match owner {
                    Owner::All => Ok(()),
                    Owner::Cylinder(number) => write!(f, " of cylinder {number}"),
                    Owner::Port(port) => write!(f, " of {port}"),
                    Owner::Spot(spot) => write!(f, " of {spot}"),
                }?;
                match dimension {
                    Dimension::Crown => f.write_str(" as stated"),
                    _ => Ok(()),
                }
            }
            Whose::Condition(name) => match &self.fact {
                Some(fact) => write!(f, "{name} as said in line {fact}"),
                None => f.write_str(name),
            },
            Whose::Leak => match &self.fact {
                Some(fact) => write!(f, "leak, check {fact}"),
                None => f.write_str("leak"),
            },
            Whose::Input(name) => f.write_str(name),
        };
        match (&self.whose, &self.what) {
            (_, What::RoundedAlike) => {
                f.write_str("rounding of ")?;
                subject(f)?;
                from(f)
            }
            (_, What::Repeats) => {
                f.write_str("repeats with ")?;
                subject(f)?;
                from(f)
            }
            (Whose::Gauge(_), what) => {
                subject(f)?;
                write!(f, " {what}")?;
                from(f)
            }
            // An orifice's name says by which check it is known.
            (Whose::Orifice(_), what) => {
                subject(f)?;
                write!(f, " {what}")
            }
            (Whose::Spot(_) | Whose::FlowPart(..), what) => {
                subject(f)?;
                from(f)?;
                match what {
                    What::Value => Ok(()),
                    what => write!(f, " {what}"),
                }
            }
            (_, What::Value) => subject(f),
            (_, what) => {
                subject(f)?;
                write!(f, " {what}")
            }
        }
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            What::Value => "value",
            What::Calibration => "calibration",
            What::Scale => "scale",
            What::Zero => "zero",
            What::Resolution => "resolution",
            What::RoundedAlike | What::Rounding => "rounding",
            What::Repeatability => "repeatability",
            What::NotRepeated => "repeatability (none is stated, nothing was set up twice)",
            What::Scatter => "scatter",
            What::Repeats => "repeats",
            What::UnknownGauge => "(nothing is known of it)",
            What::Flow => "flow",
            What::Pressure => "metering pressure",
            What::Air => "air",
            What::Diameter => "diameter",
            What::DischargeCoefficient => "discharge coefficient",
            What::Component(number) => return write!(f, "{number}"),
        })
    }
}
