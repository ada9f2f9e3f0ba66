//! Reading a spot from its text.

use std::str::FromStr;

use super::{CrankAngle, CrownPart, Depth, GasketPart, Height, Name, Part, PortQuantity, Spot};

/// What is wrong with a spot.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SpotError {
    /// The first word is not the name of anything that is measured.
    #[error(
        "there is no spot {found:?}: {word:?} is not measured; expected one of chamber, deck, crown, gasket, bore, stroke, rod, height, skirt, block, flow, runner, seat, valve, throat or gap, such as chamber/3"
    )]
    Unknown {
        /// The whole text.
        found: String,
        /// Its first word.
        word: String,
    },
    /// The first word is known, but what follows does not fit it.
    #[error("there is no spot {found:?}; expected {expected}")]
    Shape {
        /// The whole text.
        found: String,
        /// The form that is expected, with an example.
        expected: &'static str,
    },
    /// A deck point that nobody knows.
    #[error(
        "spot {found} names a point that is not known; expected one of {known}, or declare it in the engine file: deck_points = [\"…\"]"
    )]
    Point {
        /// The spot.
        found: String,
        /// Those that are known.
        known: String,
    },
    /// The engine does not have this cylinder.
    #[error(
        "spot {found} names cylinder {cylinder}, but the engine has cylinders 1 to {cylinders}; correct the spot, or `cylinders` in the engine file"
    )]
    Cylinder {
        /// The spot.
        found: String,
        /// The cylinder that it names.
        cylinder: u32,
        /// How many the engine has.
        cylinders: u32,
    },
}

impl Name {
    /// Reads a name; capital letters are made small.
    pub fn parse(text: &str) -> Option<Name> {
        let name = text.to_ascii_lowercase();
        let good = name.len() <= 40
            && name.starts_with(|c: char| c.is_ascii_lowercase())
            && name
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
        good.then_some(Name(name))
    }
}

fn cylinder(text: &str) -> Option<u32> {
    let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    text.parse()
        .ok()
        .filter(|&number| plain && (1..=99).contains(&number))
}

fn chamber(parts: &[&str]) -> Option<Spot> {
    match parts {
        [n] => Some(Spot::Chamber {
            cylinder: cylinder(n)?,
        }),
        _ => None,
    }
}

fn deck(parts: &[&str]) -> Option<Spot> {
    match parts {
        [n] => Some(Spot::Deck {
            cylinder: cylinder(n)?,
            point: None,
        }),
        [n, point] => Some(Spot::Deck {
            cylinder: cylinder(n)?,
            point: Some(Name::parse(point)?),
        }),
        _ => None,
    }
}

fn crown(parts: &[&str]) -> Option<Spot> {
    let (n, part) = match parts {
        [n] => (n, CrownPart::Volume),
        [n, "fluid"] => (n, CrownPart::Fluid),
        [n, "depth"] => (n, CrownPart::Depth),
        _ => return None,
    };
    Some(Spot::Crown {
        cylinder: cylinder(n)?,
        part,
    })
}

fn gasket(parts: &[&str]) -> Option<Spot> {
    let (part, rest) = match parts {
        ["bore", rest @ ..] => (GasketPart::Bore, rest),
        ["thickness", rest @ ..] => (GasketPart::Thickness, rest),
        _ => return None,
    };
    match rest {
        [] => Some(Spot::Gasket {
            part,
            cylinder: None,
        }),
        [n] => Some(Spot::Gasket {
            part,
            cylinder: Some(cylinder(n)?),
        }),
        _ => None,
    }
}

fn bore(parts: &[&str]) -> Option<Spot> {
    let (n, at) = match parts {
        [n] => (n, None),
        [n, height, across] => {
            let height = match Depth::parse(height) {
                Some(depth) => Height::At(depth),
                None => Height::Named(Name::parse(height)?),
            };
            (n, Some((height, Name::parse(across)?)))
        }
        _ => return None,
    };
    Some(Spot::Bore {
        cylinder: cylinder(n)?,
        at,
    })
}

fn part(part: Part, parts: &[&str]) -> Option<Spot> {
    match parts {
        [n] => Some(Spot::Part {
            part,
            cylinder: cylinder(n)?,
            point: None,
        }),
        [n, point] => Some(Spot::Part {
            part,
            cylinder: cylinder(n)?,
            point: Some(Name::parse(point)?),
        }),
        _ => None,
    }
}

fn flow(parts: &[&str]) -> Option<Spot> {
    let (n, port, runner, lift) = match parts {
        [n, port, lift] => (n, port, None, lift),
        [n, port, runner, lift] => (n, port, Some(Name::parse(runner)?), lift),
        _ => return None,
    };
    let lift = Depth::parse(lift).filter(|lift| lift.mm() >= 0.0)?;
    Some(Spot::Flow {
        cylinder: cylinder(n)?,
        port: Name::parse(port)?,
        runner,
        lift,
    })
}

fn port(quantity: PortQuantity, parts: &[&str]) -> Option<Spot> {
    match parts {
        [n, port] => Some(Spot::Port {
            quantity,
            cylinder: cylinder(n)?,
            port: Name::parse(port)?,
        }),
        _ => None,
    }
}

fn gap(parts: &[&str]) -> Option<Spot> {
    match parts {
        [n, port, angle] => Some(Spot::Gap {
            cylinder: cylinder(n)?,
            port: Name::parse(port)?,
            angle: CrankAngle::parse(angle)?,
        }),
        _ => None,
    }
}

const PART: &str = "a cylinder and, where several are measured, a point, such as stroke/1";
const PORT: &str = "a cylinder and a port, such as runner/3/intake";

impl FromStr for Spot {
    type Err = SpotError;

    fn from_str(text: &str) -> Result<Spot, SpotError> {
        let text = text.trim();
        let parts: Vec<&str> = text.split('/').collect();
        let (word, rest) = (parts[0], &parts[1..]);
        let (spot, expected) = match word {
            "chamber" => (chamber(rest), "a cylinder, such as chamber/3"),
            "deck" => (
                deck(rest),
                "a cylinder and, where several are measured, a point, such as deck/5/front",
            ),
            "crown" => (crown(rest), "crown/3, crown/3/fluid or crown/3/depth"),
            "gasket" => (
                gasket(rest),
                "gasket/bore or gasket/thickness, with a cylinder after it if it holds for one only",
            ),
            "bore" => (
                bore(rest),
                "a cylinder, a height and a direction, such as bore/2/top/thrust or bore/2/25mm/pin",
            ),
            "stroke" => (part(Part::Stroke, rest), PART),
            "rod" => (part(Part::Rod, rest), PART),
            "height" => (part(Part::Height, rest), PART),
            "skirt" => (part(Part::Skirt, rest), PART),
            "block" => (part(Part::Block, rest), PART),
            "flow" => (
                flow(rest),
                "a cylinder, a port and a lift, such as flow/4/intake/7.62mm or flow/4/intake/0.300in",
            ),
            "runner" => (port(PortQuantity::Runner, rest), PORT),
            "seat" => (port(PortQuantity::Seat, rest), PORT),
            "valve" => (port(PortQuantity::Valve, rest), PORT),
            "throat" => (port(PortQuantity::Throat, rest), PORT),
            "gap" => (
                gap(rest),
                "a cylinder, a port and a crank angle, such as gap/3/intake/10deg",
            ),
            _ => {
                return Err(SpotError::Unknown {
                    found: text.to_owned(),
                    word: word.to_owned(),
                });
            }
        };
        spot.ok_or_else(|| SpotError::Shape {
            found: text.to_owned(),
            expected,
        })
    }
}
