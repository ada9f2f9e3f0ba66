//! What a person read off a burette or a dial and typed: its value, and whether it looks like a
//! slip.
//!
//! Readings entered with their spot and values typed at a route's stop are treated alike.

mod two;

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Quantity, Spot};
use benchhand_wire::{DialHand, Levels, Reason, Refusal, Typed};

use super::quantities::{bad, quantity};
use crate::known::expectation::{self, ExpectedAt};
use crate::known::slips::{Written, looks_like_a_slip};
use crate::store::fact::{DECIMALS, LEVELS};
use crate::store::view::JobView;
pub(crate) use two::along_with;
use two::{AND, NUMBER, two};

/// A value that was read by eye.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadOff {
    /// The value.
    pub(crate) value: Quantity,
    /// What was read at the same time, of a flow: the metering pressure, or the flow itself.
    pub(crate) along: Option<Quantity>,
    /// What the value was made up from, and how many decimals were typed, as labels of the reading.
    pub(crate) labels: Vec<(String, String)>,
}

/// The typed texts with `unit` behind each number that has none. At a stop, a plain number is
/// in the unit that the stop shows.
pub(crate) fn in_unit(typed: &Typed, unit: &str) -> Typed {
    let plain = |text: &str| {
        let number = text.trim().replace(',', ".");
        number.parse::<f64>().is_ok_and(f64::is_finite)
    };
    let with = |text: &str| match plain(text) {
        true if !unit.is_empty() => format!("{} {unit}", text.trim()),
        _ => text.to_owned(),
    };
    let level = |pair: &Levels| {
        // `2 to 66.2cc`: the unit is typed once for both.
        let said = [&pair.from, &pair.to].map(|text| text.trim_start_matches(NUMBER).trim());
        let of = said.into_iter().find(|said| !said.is_empty());
        let with = |text: &String| match (plain(text), of) {
            (true, Some(of)) => format!("{} {of}", text.trim()),
            _ => with(text),
        };
        Levels {
            from: with(&pair.from),
            to: with(&pair.to),
        }
    };
    Typed {
        value: typed.value.as_deref().map(|text| match two(text) {
            Some((test, along)) => format!("{}{AND}{}", with(&test), with(&along)),
            None => with(text),
        }),
        levels: typed.levels.iter().map(level).collect(),
        dial: typed.dial.as_ref().map(|dial| DialHand {
            turns: dial.turns,
            turn: with(&dial.turn),
            hand: with(&dial.hand),
        }),
        sure: typed.sure,
    }
}

/// The value of `typed`, as a quantity of `kind`; of a volume also as a weight, where `weighed` says
/// that the liquid is known.
///
/// # Errors
/// Where not exactly one form was given, or a text is no quantity of that kind.
pub(crate) fn read_off(
    typed: &Typed,
    kind: QuantityKind,
    weighed: bool,
) -> Result<ReadOff, Refusal> {
    match (&typed.value, typed.levels.as_slice(), &typed.dial) {
        (Some(text), [], None) if kind == QuantityKind::Pressure && two(text).is_some() => {
            let (test, along) = two(text).unwrap_or_default();
            let along: Quantity = along.parse().map_err(bad)?;
            if !matches!(
                along.unit.kind(),
                QuantityKind::Pressure | QuantityKind::Flow
            ) {
                return Err(bad(format!("found {along} beside the test pressure"))
                    .expected("the metering pressure, or the flow that the bench shows"));
            }
            Ok(ReadOff {
                value: quantity(&test, kind)?,
                along: Some(along),
                labels: vec![decimals([test.as_str()])],
            })
        }
        (Some(text), [], None) => Ok(ReadOff {
            value: amount(text, kind, weighed)?,
            along: None,
            labels: vec![decimals([text.as_str()])],
        }),
        (None, [], Some(dial)) => turned(dial, kind),
        (None, levels, None) if !levels.is_empty() => poured(levels, kind, weighed),
        _ => Err(Refusal::new(
            Reason::BadInput,
            "a value, burette levels and a dial's hand: several were given, or none",
        )
        .expected("a value with its unit, or levels before and after, or turns and hand")),
    }
}

/// A quantity of `kind`, or the weight of a volume.
fn amount(text: &str, kind: QuantityKind, weighed: bool) -> Result<Quantity, Refusal> {
    match text.parse::<Quantity>() {
        Ok(found) if kind == QuantityKind::Volume && found.unit.kind() == QuantityKind::Mass => {
            match weighed {
                true => Ok(found),
                false => Err(bad(format!("{found} is a weight, and nobody said of which liquid"))
                    .expected("a volume, or a weight of a liquid whose density is known")
                    .todo(
                        "of water: `benchhand condition JOB liquid water`; of another one state its density in [liquid] of the engine file",
                    )),
            }
        }
        _ => quantity(text, kind),
    }
}

/// Refuses a value that no engine can have. A value that is merely far from what is expected is
/// asked about instead.
///
/// # Errors
/// [`Reason::BadInput`] with what was found and what can be.
pub(crate) fn can_be(spot: &Spot, value: Quantity) -> Result<(), Refusal> {
    match spot.impossible(value) {
        None => Ok(()),
        Some(why) => {
            Err(bad(format!("{spot}: {why}"))
                .todo("look again at the number, its sign and its unit"))
        }
    }
}

/// The value that a dial shows, from its turns and its hand.
fn turned(dial: &DialHand, kind: QuantityKind) -> Result<ReadOff, Refusal> {
    let (turn, hand) = (quantity(&dial.turn, kind)?, quantity(&dial.hand, kind)?);
    let turn_size = turn.to(hand.unit).map_err(bad)?;
    // Within the first turn no turn carries the sign; the hand then has a sign of its own.
    let signs_clash = hand.value < 0.0 && dial.turns > 0;
    if signs_clash || turn_size <= 0.0 || hand.value.abs() > turn_size * (1.0 + 1e-9) {
        return Err(bad(format!(
            "the hand stands at {} within a turn of {}",
            dial.hand, dial.turn
        ))
        .expected("a hand within one turn, with the sign of the turns"));
    }
    let side = if dial.turns < 0 || hand.value < 0.0 {
        -1.0
    } else {
        1.0
    };
    let value = f64::from(dial.turns) * turn_size + side * hand.value.abs();
    Ok(ReadOff {
        value: Quantity {
            value: rounded(value),
            unit: hand.unit,
        },
        along: None,
        labels: vec![
            decimals([dial.turn.as_str(), dial.hand.as_str()]),
            (
                "dial".to_owned(),
                format!(
                    "{} turns of {}, hand at {}",
                    dial.turns, dial.turn, dial.hand
                ),
            ),
        ],
    })
}

/// The most decimals that any of the texts has.
fn decimals<'a>(texts: impl IntoIterator<Item = &'a str>) -> (String, String) {
    let of = |text: &str| {
        let after = text.split(['.', ',']).nth(1).unwrap_or_default();
        after.bytes().take_while(u8::is_ascii_digit).count()
    };
    let most = texts.into_iter().map(of).max().unwrap_or(0);
    (DECIMALS.to_owned(), most.to_string())
}

/// Typed numbers are decimals; binary sums of them carry noise beyond the last place.
fn rounded(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

/// What a burette delivered, from its levels, whichever way the scale counts.
fn poured(levels: &[Levels], kind: QuantityKind, weighed: bool) -> Result<ReadOff, Refusal> {
    let mut total: Option<Quantity> = None;
    let mut texts = Vec::new();
    for pair in levels {
        let of = |text: &str| amount(text, kind, weighed);
        let (from, to) = (of(&pair.from)?, of(&pair.to)?);
        let unit = total.map_or(from.unit, |t| t.unit);
        let delivered = (to.to(unit).map_err(bad)? - from.to(unit).map_err(bad)?).abs();
        let sum = total.map_or(0.0, |t| t.value) + delivered;
        let value = rounded(sum);
        total = Some(Quantity { value, unit });
        texts.push(format!("{} to {}", pair.from, pair.to));
    }
    let total = total.ok_or_else(|| bad("no burette levels were given"))?;
    Ok(ReadOff {
        value: total,
        along: None,
        labels: vec![
            decimals(levels.iter().flat_map(|p| [p.from.as_str(), p.to.as_str()])),
            (LEVELS.to_owned(), texts.join(", ")),
        ],
    })
}

/// Asks about a value that looks like a slip or lies far from what is expected, unless the person
/// is `sure`. For a sure person, returns the question left out.
///
/// # Errors
/// [`Reason::Conflict`] with what was found and which value would fit.
pub(crate) fn ask_about(
    engine: &Engine,
    view: &JobView,
    at: ExpectedAt<'_>,
    (value, written): (Quantity, &Written<'_>),
    sure: bool,
) -> Result<Option<String>, Refusal> {
    let present = at.stage == view.stage();
    let slip = present.then(|| looks_like_a_slip(view, at.spot, value, written));
    let doubt = slip
        .flatten()
        .or_else(|| expectation::doubt(engine, view, at, value));
    unless_sure(doubt, sure)
}

/// Refuses a value in doubt, unless the person is `sure`; gives the question that was not asked.
///
/// # Errors
/// [`Reason::Conflict`] with the doubt.
pub(crate) fn unless_sure(doubt: Option<String>, sure: bool) -> Result<Option<String>, Refusal> {
    match doubt {
        Some(doubt) if !sure => Err(Refusal::new(Reason::Conflict, doubt).todo(
            "look again; if it is right, enter it once more and say that you are sure (--sure, or ! after a typed line)",
        )),
        doubt => Ok(doubt),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dial(turns: i32, hand: &str) -> Typed {
        Typed {
            dial: Some(DialHand {
                turns,
                turn: "0.100 in".to_owned(),
                hand: hand.to_owned(),
            }),
            ..Typed::default()
        }
    }

    #[test]
    fn a_dial_is_its_turns_and_its_hand_on_either_side_of_zero() {
        let read = |t: &Typed| read_off(t, QuantityKind::Length, false).map(|r| r.value.value);
        assert_eq!(read(&dial(2, "0.0345 in")).unwrap(), 0.2345);
        assert_eq!(read(&dial(-1, "0.02 in")).unwrap(), -0.12);
        assert_eq!(read(&dial(-1, "-0.02 in")).unwrap(), -0.12);
        assert_eq!(read(&dial(0, "0.02 in")).unwrap(), 0.02);
        assert!(read(&dial(0, "0.120 in")).is_err(), "beyond its turn");
        assert!(read(&dial(2, "-0.02 in")).is_err(), "which way?");
    }

    /// A piston that stands above the deck by less than one turn: a minus sign before 0 turns would
    /// be lost, so the hand carries the sign.
    #[test]
    fn a_dial_just_above_zero_keeps_its_sign() {
        let read = read_off(&dial(0, "-0.020 in"), QuantityKind::Length, false).unwrap();
        assert_eq!(read.value.value, -0.02);
    }

    #[test]
    fn a_plain_number_is_in_the_stops_unit_and_a_unit_that_is_typed_counts() {
        let read = |typed: &Typed, unit: &str, kind| {
            let read = read_off(&in_unit(typed, unit), kind, false).unwrap();
            (read.value.value, read.value.unit.symbol().to_owned())
        };
        let value = Typed::value;
        let cc = |n: f64| (n, "cc".to_owned());
        assert_eq!(read(&value("64.2"), "cc", QuantityKind::Volume), cc(64.2));
        assert_eq!(read(&value("64.2 ml"), "cc", QuantityKind::Volume).0, 64.2);
        let inches = (-0.005, "in".to_owned());
        assert_eq!(read(&value(" -0.005"), "in", QuantityKind::Length), inches);
        assert_eq!(
            read(&value("0.12mm"), "in", QuantityKind::Length),
            (0.12, "mm".to_owned())
        );
        assert_eq!(
            read(&value("28"), "inH2O", QuantityKind::Pressure),
            (28.0, "inH2O".to_owned())
        );
        let levels = |from: &str, to: &str| Typed {
            levels: vec![Levels {
                from: from.to_owned(),
                to: to.to_owned(),
            }],
            ..Typed::default()
        };
        assert_eq!(
            read(&levels("2", "66.2"), "cc", QuantityKind::Volume),
            cc(64.2)
        );
        assert_eq!(
            read(&levels("2", "66.2cc"), "L", QuantityKind::Volume),
            cc(64.2)
        );
        let hand = Typed {
            dial: Some(DialHand {
                turns: 1,
                turn: "0.1".to_owned(),
                hand: "0.02".to_owned(),
            }),
            ..Typed::default()
        };
        assert_eq!(read(&hand, "in", QuantityKind::Length).0, 0.12);
        assert!(read_off(&in_unit(&value("64..2"), "cc"), QuantityKind::Volume, false).is_err());
        assert!(read_off(&in_unit(&value("nan"), "cc"), QuantityKind::Volume, false).is_err());
    }

    #[test]
    fn exactly_one_form_is_wanted() {
        let both = Typed {
            value: Some("1 in".to_owned()),
            ..dial(1, "0 in")
        };
        assert!(read_off(&both, QuantityKind::Length, false).is_err());
        assert!(read_off(&Typed::default(), QuantityKind::Length, false).is_err());
    }
}
