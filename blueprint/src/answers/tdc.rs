//! True top dead centre on the degree wheel, from readings at equal drop on both sides.
//!
//! Sources: `docs/formulas.md`, sections 4.4 to 4.6.

use serde::{Deserialize, Serialize};

use super::context::{chosen, typed};
use super::error::AskError;
use crate::engine::Engine;
use crate::figure::{ErrorSource, Estimate, Figure, Scalar};
use crate::formula::crank::{Crank, top_from_equal_drop};
use crate::stats::{f_quantile, sd};
use crate::units::{QuantityKind, Unit, number, parted};

/// Degrees of freedom of a stated uncertainty: F is chi-square over its degrees of freedom then.
const MANY: f64 = 1e6;

/// Readings of the degree wheel.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TdcAsked {
    /// Angles before and after at which the piston stood equally deep, such as `326.4 deg, 33.8 deg`
    /// and, where it is known, how deep: `326.4, 33.8 at 0.200 in`.
    pub pairs: Vec<String>,
    /// Standard uncertainty of one reading of the degree wheel.
    pub u: Option<String>,
    /// Stroke, rod and offset, for the correction that an offset needs.
    pub stroke: Option<String>,
    /// Rod length.
    pub rod: Option<String>,
    /// Offset of pin or bore, positive to the side to which the crankpin moves after the throw
    /// points up.
    pub offset: Option<String>,
}

/// True top dead centre. Angles in degrees on the degree wheel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TdcAnswer {
    /// Place on the degree wheel.
    pub top: Figure,
    /// What the degree wheel shows there now: turn it by this much so that it shows 0.
    pub shows_now: Figure,
    /// Standard deviation of the pairs' middles; `None` of a single pair.
    pub scatter: Option<Figure>,
    /// Whether the pairs contradict each other by more than their stated uncertainty allows.
    #[serde(default)]
    pub contradict: bool,
    /// Pair by pair.
    pub pairs: Vec<TdcPair>,
    /// Remarks, in a sentence each.
    pub remarks: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// One pair of readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TdcPair {
    /// Before top dead centre.
    pub before: Figure,
    /// After it.
    pub after: Figure,
    /// How deep the piston stood; `None` if not said.
    pub drop: Option<Figure>,
    /// The middle.
    pub middle: Figure,
    /// How far the offset moves the middle. It is taken off. `None` where it is not known.
    pub offset_error: Option<Figure>,
}

struct Read {
    before: f64,
    after: f64,
    /// The same within half a turn of `before`.
    beyond: f64,
    drop: Option<crate::engine::StatedValue>,
}

/// Where true top dead centre lies, from the readings and, where given, an engine's dimensions.
///
/// # Errors
/// What is wrong with the readings.
pub fn true_tdc(asked: &TdcAsked, engine: Option<&Engine>) -> Result<TdcAnswer, AskError> {
    if asked.pairs.is_empty() {
        return Err(AskError::bad(
            "no pair of readings is given",
            "at least one, such as \"326.4, 33.8\"",
            "give it with --pair",
        ));
    }
    let pairs = asked
        .pairs
        .iter()
        .map(|text| read(text))
        .collect::<Result<Vec<_>, AskError>>()?;
    let u = match &asked.u {
        Some(text) => Some(typed(text, QuantityKind::Angle, "the uncertainty", "--u")?.value),
        None => None,
    };
    if u.is_some_and(|u| u < 0.0) {
        return Err(AskError::bad(
            "the uncertainty is negative",
            "0 deg or more",
            "correct --u",
        ));
    }
    let crank = crank(asked, engine)?;
    let mut remarks = Vec::new();
    let (mut shown, mut middles) = (Vec::new(), Vec::new());
    for (at, pair) in pairs.iter().enumerate() {
        let of = |angle: f64, side: &str| {
            Estimate::new(
                angle,
                ErrorSource::new(format!("{side} {at}"), u, f64::INFINITY),
            )
        };
        let (before, after) = (of(pair.before, "before"), of(pair.beyond, "after"));
        let middle = top_from_equal_drop(&before, &after);
        let error = match (&crank, &pair.drop) {
            (Some(crank), Some(drop)) => {
                Some(crank.bisection_error(drop.value).ok_or_else(|| {
                    AskError::bad(
                        format!("the piston stands {} deep", drop.written),
                        "a depth within the stroke",
                        "correct --pair",
                    )
                })?)
            }
            _ => None,
        };
        let degrees = |value: f64| chosen(value, Unit::Degree);
        shown.push(TdcPair {
            before: before.figure(Unit::Degree),
            after: Figure {
                value: pair.after,
                ..after.figure(Unit::Degree)
            },
            drop: pair
                .drop
                .map(|drop| Figure::bare(drop.written.value, drop.written.unit)),
            middle: Figure {
                value: about_zero(middle.value()),
                ..middle.figure(Unit::Degree)
            },
            offset_error: error.map(degrees),
        });
        middles.push(middle.offset(-error.unwrap_or(0.0)));
    }
    // Pairs whose middles lie on both sides of the degree wheel's zero are brought together.
    let first = middles[0].value();
    let middles: Vec<Estimate> = middles
        .into_iter()
        .map(|middle| {
            let turns = ((middle.value() - first) / 360.0).round();
            middle.offset(-360.0 * turns)
        })
        .collect();
    let values: Vec<f64> = middles.iter().map(Scalar::value).collect();
    let scatter = sd(&values);
    let mut contradict = false;
    let mut top = Estimate::mean(&middles).unwrap_or_else(|| middles[0].clone());
    if let (None, Some(s)) = (u, scatter) {
        // The degree wheel's uncertainty is not stated: take it from the scatter of the pairs.
        top = of_scatter(&top, s, values.len());
        remarks.push("Its uncertainty is from the scatter of the pairs alone: what all readings of the degree wheel share does not show in it.".to_owned());
    } else if u.is_none() {
        remarks.push("Its uncertainty is not known: give that of one reading with --u, or more pairs at other depths.".to_owned());
    }
    if let (Some(u), Some(s)) = (u, scatter) {
        let dof = values.len() as f64 - 1.0;
        let expected = u / 2f64.sqrt();
        // Pairs that contradict each other (chi-square at 95 %) tell that the stated uncertainty does
        // not hold for them. Then only their scatter says how good the mean is.
        if s * s > expected * expected * f_quantile(0.95, dof, MANY) {
            top = of_scatter(&top, s, values.len());
            contradict = true;
            remarks.push(format!("The middles scatter by {s:.2} deg, more than readings good to {u} deg would: one of the readings is wrong, or there is backlash, a stop that yields, or a pointer that moved. The ± comes from the scatter. Take the pairs again before the degree wheel is turned."));
        }
    }
    remarks.push(match crank {
        Some(crank) if crank.offset != 0.0 => "The offset's own shift of the middle is taken off where the depth was given; where it was not, it is in.".to_owned(),
        _ => "Without offset of pin or bore the middle is exact; an offset of 0.060 in shifts it by some hundredths of a degree at half an inch of drop.".to_owned(),
    });
    let wide = shown.iter().any(|pair| {
        let apart = (pair.after.value - pair.before.value).rem_euclid(360.0);
        apart.min(360.0 - apart) < 10.0
    });
    if wide {
        remarks.push("A pair that lies less than 10 degrees apart is on the dwell, where the piston hardly moves: its edges are ill defined. Take a deeper pair.".to_owned());
    }
    let value = top.value().rem_euclid(360.0);
    let now = about_zero(value);
    let figure = top.figure(Unit::Degree);
    Ok(TdcAnswer {
        top: Figure {
            value,
            ..figure.clone()
        },
        shows_now: Figure {
            value: now,
            ..figure
        },
        scatter: scatter.map(|s| chosen(s, Unit::Degree)),
        contradict,
        pairs: shown,
        remarks,
        cautions: vec![
            "Plugs out, battery off, turn by hand and never with the starter; a piston stop against valves bends them.".to_owned(),
            "With an indicator approach both sides in the running direction; a positive stop is met from both sides, so take up the backlash each way.".to_owned(),
        ],
    })
}

/// The same mean, with the uncertainty that the scatter `s` of `n` middles gives it.
fn of_scatter(top: &Estimate, s: f64, n: usize) -> Estimate {
    let n = n as f64;
    Estimate::exact(top.value()).with(
        ErrorSource::new("scatter of the pairs", Some(s / n.sqrt()), n - 1.0),
        1.0,
    )
}

fn read(text: &str) -> Result<Read, AskError> {
    let bad = || {
        AskError::bad(
            format!("the pair is {text:?}"),
            "two angles and, where it is known, how deep the piston stood: \"326.4, 33.8 at 0.200 in\"",
            "correct --pair",
        )
    };
    let (angles, drop) = match text.split_once(" at ") {
        Some((angles, drop)) => (
            angles,
            Some(typed(
                drop.trim(),
                QuantityKind::Length,
                "the depth",
                "--pair",
            )?),
        ),
        None => (text, None),
    };
    let parts = parted(angles).map_err(|_| bad())?;
    let [before, after] = parts.as_slice() else {
        return Err(bad());
    };
    let angle = |text: &str| -> Result<f64, AskError> {
        let bare = text.trim().trim_end_matches("deg").trim();
        number(bare).map_err(|_| bad())
    };
    let (before, after) = (angle(before)?, angle(after)?);
    // From before to after the crank turns by less than half a turn through the top.
    let turns = ((after - before) / 360.0).round();
    Ok(Read {
        before,
        after,
        beyond: after - 360.0 * turns,
        drop,
    })
}

/// An angle as one above -180 and up to 180 degrees.
fn about_zero(degrees: f64) -> f64 {
    let value = degrees.rem_euclid(360.0);
    if value > 180.0 { value - 360.0 } else { value }
}

fn crank(asked: &TdcAsked, engine: Option<&Engine>) -> Result<Option<Crank<f64>>, AskError> {
    let of = |text: &Option<String>,
              stated: Option<crate::engine::StatedValue>,
              what: &str,
              option: &str| {
        match text {
            Some(text) => {
                typed(text, QuantityKind::Length, what, option).map(|one| Some(one.value))
            }
            None => Ok(stated.map(|one| one.value)),
        }
    };
    let stroke = of(
        &asked.stroke,
        engine.and_then(|one| one.stroke),
        "the stroke",
        "--stroke",
    )?;
    let rod = of(
        &asked.rod,
        engine.and_then(|one| one.rod),
        "the rod",
        "--rod",
    )?;
    let stated = engine.and_then(|one| one.piston.pin_offset);
    let offset = of(&asked.offset, stated, "the offset", "--offset")?;
    match (stroke, rod) {
        (Some(stroke), Some(rod)) if stroke > 0.0 && rod > stroke / 2.0 => Ok(Some(Crank {
            radius: stroke / 2.0,
            rod,
            offset: offset.unwrap_or(0.0),
        })),
        (Some(stroke), Some(rod)) => Err(AskError::bad(
            format!("a stroke of {stroke} mm with a rod of {rod} mm"),
            "a rod longer than half the stroke",
            "correct --stroke or --rod",
        )),
        _ => Ok(None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(pairs: &[&str], u: &str) -> TdcAnswer {
        let asked = TdcAsked {
            pairs: pairs.iter().map(|text| (*text).to_owned()).collect(),
            u: Some(u.to_owned()),
            ..TdcAsked::default()
        };
        true_tdc(&asked, None).expect("the readings are sound")
    }

    #[test]
    fn pairs_that_contradict_each_other_have_the_uncertainty_of_their_scatter() {
        // 19.7 was mistyped as 9.7: the middles are 0.1 and -5.0 deg.
        let wrong = of(&["326.4, 33.8", "340.3, 9.7"], "0.3 deg");
        assert!(wrong.contradict);
        let scatter = wrong.scatter.map(|scatter| scatter.value);
        let of_mean = scatter.map(|s| s / 2f64.sqrt());
        assert_eq!(wrong.top.u, of_mean);
        assert!(wrong.top.u > Some(2.5), "{:?}", wrong.top);

        let right = of(&["326.4, 33.8", "340.3, 19.7"], "0.3 deg");
        assert!(!right.contradict);
        let u = right.top.u.expect("it is known");
        assert!(
            (u - 0.15).abs() < 1e-9,
            "0.3 over the square root of 4: {u}"
        );
    }

    #[test]
    fn a_third_pair_hides_no_contradiction() {
        let wrong = of(&["326.4, 33.8", "340.3, 9.7", "350.1, 9.9"], "0.3 deg");
        assert!(wrong.contradict);
        assert!(wrong.top.u > Some(1.0), "{:?}", wrong.top);
    }
}
