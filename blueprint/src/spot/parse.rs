//! Reading a spot from its text.

use std::str::FromStr;

use super::{
    BoreHeight, CrankAngle, CrownPart, GasketPart, PartLength, PortQuantity, Spot, SpotFamily,
    SpotLength, SpotName,
};
use crate::engine::LengthUnits;
use crate::units::number;

/// What is wrong with a spot.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SpotError {
    /// The first word is not the name of anything that is measured.
    #[error(
        "there is no spot {found:?}: {word:?} is not measured{hint}; expected one of {known}, such as chamber/3"
    )]
    Unknown {
        /// The whole text.
        found: String,
        /// First word.
        word: String,
        /// The family that comes nearest, as a question; empty where none does.
        hint: String,
        /// The families that there are.
        known: String,
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
        /// The points that are known.
        known: String,
    },
    /// A free spot that the engine file does not state.
    #[error(
        "spot {found} names {name}, which the engine file does not state{hint}; expected one of {known}, or state it: [free.{name}]"
    )]
    Free {
        /// The spot.
        found: String,
        /// The name in it.
        name: String,
        /// The name that comes nearest, as a question; empty where none does.
        hint: String,
        /// The free spots that the engine file states.
        known: String,
    },
    /// A place at which a stated free spot is not measured.
    #[error("spot {found} is not where the engine file states it; expected one of {known}{hint}")]
    FreePlace {
        /// The spot.
        found: String,
        /// The place that comes nearest, as a question; empty where none does.
        hint: String,
        /// The spots that there are.
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

impl SpotName {
    /// Reads a name; capital letters are made small.
    pub fn parse(text: &str) -> Option<SpotName> {
        let name = text.to_ascii_lowercase();
        let good = name.len() <= 40
            && name.starts_with(|c: char| c.is_ascii_lowercase())
            && name
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
        good.then_some(SpotName(name))
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
            point: Some(SpotName::parse(point)?),
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
            let height = match SpotLength::parse(height) {
                Some(depth) => BoreHeight::At(depth),
                None => BoreHeight::Named(SpotName::parse(height)?),
            };
            (n, Some((height, SpotName::parse(across)?)))
        }
        _ => return None,
    };
    Some(Spot::Bore {
        cylinder: cylinder(n)?,
        at,
    })
}

fn part(part: PartLength, parts: &[&str]) -> Option<Spot> {
    match parts {
        [n] => Some(Spot::Part {
            part,
            cylinder: cylinder(n)?,
            point: None,
        }),
        [n, point] => Some(Spot::Part {
            part,
            cylinder: cylinder(n)?,
            point: Some(SpotName::parse(point)?),
        }),
        _ => None,
    }
}

fn flow(parts: &[&str]) -> Option<Spot> {
    let (n, port, runner, lift) = match parts {
        [n, port, lift] => (n, port, None, lift),
        [n, port, runner, lift] => (n, port, Some(SpotName::parse(runner)?), lift),
        _ => return None,
    };
    let lift = SpotLength::parse(lift).filter(|lift| lift.mm() >= 0.0)?;
    Some(Spot::Flow {
        cylinder: cylinder(n)?,
        port: SpotName::parse(port)?,
        runner,
        lift,
    })
}

fn port(quantity: PortQuantity, parts: &[&str]) -> Option<Spot> {
    match parts {
        [n, port] => Some(Spot::Port {
            quantity,
            cylinder: cylinder(n)?,
            port: SpotName::parse(port)?,
        }),
        _ => None,
    }
}

fn gap(parts: &[&str]) -> Option<Spot> {
    match parts {
        [n, port, angle] => Some(Spot::Gap {
            cylinder: cylinder(n)?,
            port: SpotName::parse(port)?,
            angle: CrankAngle::parse(angle)?,
        }),
        _ => None,
    }
}

fn free(parts: &[&str]) -> Option<Spot> {
    let (name, rest) = parts.split_first()?;
    let (number, rest) = match rest {
        [n, rest @ ..] if n.starts_with(|c: char| c.is_ascii_digit()) => (Some(cylinder(n)?), rest),
        rest => (None, rest),
    };
    let at = match rest {
        [] => None,
        [at] => Some(SpotName::parse(at)?),
        _ => return None,
    };
    Some(Spot::Free {
        name: SpotName::parse(name)?,
        cylinder: number,
        at,
    })
}

const PART: &str = "a cylinder and, where several are measured, a point, such as stroke/1";
const PORT: &str = "a cylinder and a port, such as runner/3/intake";

impl FromStr for Spot {
    type Err = SpotError;

    /// Reads a spot as a person types it: `chamber/3`, `chamber 3`, `Chambers 3`. Lifts, depths and
    /// angles have their units.
    fn from_str(text: &str) -> Result<Spot, SpotError> {
        read(text, None)
    }
}

impl Spot {
    /// Reads a spot as a person types it; a lift or a depth without a unit is in the unit in which
    /// the engine's lengths are given, a crank angle in degrees.
    ///
    /// # Errors
    /// Where there is no such spot.
    pub fn typed(text: &str, units: LengthUnits) -> Result<Spot, SpotError> {
        read(text, Some(units))
    }
}

/// The words of a spot: slashes and blanks part them, a number is parted from the word before it
/// (`chamber3`) and joined with its unit (`0.3 in`). A trailing number without a unit gets the one
/// that is usual for the family.
fn words(text: &str) -> Vec<String> {
    let text = text.to_lowercase().replace('°', "deg");
    // An empty part between two slashes is a fault, not a blank.
    let parts = text.split('/').flat_map(|part| {
        let words: Vec<&str> = part.split_whitespace().collect();
        if words.is_empty() { vec![""] } else { words }
    });
    let mut words: Vec<String> = Vec::new();
    for part in parts {
        let follows_number = words.len() > 2
            && words.last().is_some_and(|last| {
                last.ends_with(|c: char| c.is_ascii_digit() || c == '.')
                    && !last.starts_with(|c: char| c.is_ascii_alphabetic())
            });
        let cut = part.find(|c: char| c.is_ascii_digit());
        let cut = cut.and_then(|at| part.split_at_checked(at));
        match (words.last_mut(), cut) {
            (Some(number), _) if follows_number && UNITS.contains(&part) => number.push_str(part),
            (None, Some((word, number))) if !word.is_empty() && SpotFamily::typed(word).is_ok() => {
                words.push(word.to_owned());
                words.push(number.to_owned());
            }
            _ => words.push(part.to_owned()),
        }
    }
    words
}

/// The units that may stand apart from their number.
const UNITS: [&str; 6] = ["mm", "in", "thou", "um", "cm", "deg"];

/// Gives the last word its usual unit where it is a number without one.
fn with_unit(words: &mut [String], family: SpotFamily, units: LengthUnits) {
    let unit = match family {
        SpotFamily::Flow => units.length().symbol(),
        SpotFamily::Gap => "deg",
        _ => return,
    };
    let plain = |word: &String| number(word).is_ok();
    if let Some(last) = words.get_mut(2..).and_then(<[String]>::last_mut)
        && plain(last)
    {
        last.push_str(unit);
    }
}

fn read(text: &str, units: Option<LengthUnits>) -> Result<Spot, SpotError> {
    let text = text.trim();
    let mut words = words(text);
    let first = words.remove(0);
    let family = SpotFamily::typed(&first).map_err(|near| SpotError::Unknown {
        found: text.to_owned(),
        word: text
            .split(|c: char| c == '/' || c.is_whitespace())
            .next()
            .unwrap_or_default()
            .to_owned(),
        hint: near.map_or_else(String::new, |near| format!(" (did you mean {near}?)")),
        known: SpotFamily::names(),
    })?;
    if let Some(units) = units {
        with_unit(&mut words, family, units);
    }
    let rest: Vec<&str> = words.iter().map(String::as_str).collect();
    let rest = rest.as_slice();
    let (spot, expected) = match family {
        SpotFamily::Chamber => (chamber(rest), "a cylinder, such as chamber/3"),
        SpotFamily::Deck => (
            deck(rest),
            "a cylinder and, where several are measured, a point, such as deck/5/front",
        ),
        SpotFamily::Crown => (crown(rest), "crown/3, crown/3/fluid or crown/3/depth"),
        SpotFamily::Gasket => (
            gasket(rest),
            "gasket/bore or gasket/thickness, with a cylinder after it if it holds for one only",
        ),
        SpotFamily::Bore => (
            bore(rest),
            "a cylinder, a height and a direction, such as bore/2/top/thrust or bore/2/25mm/pin",
        ),
        SpotFamily::Stroke => (part(PartLength::Stroke, rest), PART),
        SpotFamily::Rod => (part(PartLength::Rod, rest), PART),
        SpotFamily::Height => (part(PartLength::Height, rest), PART),
        SpotFamily::Skirt => (part(PartLength::Skirt, rest), PART),
        SpotFamily::Block => (part(PartLength::Block, rest), PART),
        SpotFamily::Flow => (
            flow(rest),
            "a cylinder, a port and a lift, such as flow/4/intake/7.62mm or flow/4/intake/0.300in",
        ),
        SpotFamily::Runner => (port(PortQuantity::Runner, rest), PORT),
        SpotFamily::Seat => (port(PortQuantity::Seat, rest), PORT),
        SpotFamily::Valve => (port(PortQuantity::Valve, rest), PORT),
        SpotFamily::Throat => (port(PortQuantity::Throat, rest), PORT),
        SpotFamily::Gap => (
            gap(rest),
            "a cylinder, a port and a crank angle, such as gap/3/intake/10deg",
        ),
        SpotFamily::Free => (
            free(rest),
            "the name of a free spot, its cylinder and its place, as the engine file states them, such as free/spring_height/3/intake",
        ),
    };
    spot.ok_or_else(|| SpotError::Shape {
        found: text.to_owned(),
        expected,
    })
}
