//! The aim of a cut, the volume that a depth removes, and how the cut is tipped: as asked for, else
//! as the engine file states it.

use super::super::asked::MillAsked;
use super::super::context::{Context, chosen, typed};
use super::super::error::AskError;
use crate::decide::{MillAim, MillModel, TippedCut, learn_from, learn_within};
use crate::figure::{Estimate, Figure, Scalar};
use crate::report::{cut_pairs, cut_volumes};
use crate::units::{QuantityKind, Unit};

pub(super) fn aim(
    context: &mut Context<'_>,
    asked: &MillAsked,
) -> Result<(MillAim, Figure), AskError> {
    let stated = &context.engine.targets;
    let chamber = match &asked.chamber {
        Some(text) => Some(
            typed(
                text,
                QuantityKind::Volume,
                "the target chamber",
                "--chamber",
            )?
            .value,
        ),
        None if asked.ratio.is_none() && stated.compression.is_none() => {
            stated.chamber.map(|one| one.value)
        }
        None => None,
    };
    match chamber {
        Some(_) if asked.ratio.is_some() => Err(AskError::bad(
            "both a ratio and a chamber volume are aimed at",
            "one of them",
            "leave --ratio or --chamber out",
        )),
        Some(volume) if volume > 0.0 => Ok((
            MillAim::Chamber(volume),
            chosen(volume, Unit::CubicCentimetre),
        )),
        Some(volume) => Err(AskError::bad(
            format!("the target chamber is {volume} cc"),
            "a volume above 0",
            "correct --chamber",
        )),
        None => {
            let ratio = context.ratio(asked.ratio)?;
            Ok((MillAim::Ratio(ratio), chosen(ratio, Unit::One)))
        }
    }
}

/// How many chamber volumes, of how many chambers, a slope was learned from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Learned {
    pub(super) volumes: usize,
    pub(super) chambers: usize,
}

/// The volume that a depth removes: by the area that was given, by the engine file's area, or
/// learned from earlier cuts. `already` is the depth of all earlier cuts, mm. Depths count from the
/// face as it is now.
pub(super) fn model(
    context: &mut Context<'_>,
    asked: &MillAsked,
    already: f64,
) -> Result<(MillModel, Option<Learned>), AskError> {
    let area = match &asked.area {
        Some(text) => Some(typed(
            text,
            QuantityKind::Area,
            "the opening's area",
            "--area",
        )?),
        None => context.engine.head.opening_area,
    };
    if let Some(area) = area.filter(|_| !asked.learn) {
        if area.value <= 0.0 {
            return Err(AskError::bad(
                format!("the opening's area is {}", area.written),
                "an area above 0",
                "correct --area",
            ));
        }
        return Ok((MillModel::Area(area.estimate("opening area")), None));
    }
    learned(context, already)
}

fn learned(
    context: &mut Context<'_>,
    already: f64,
) -> Result<(MillModel, Option<Learned>), AskError> {
    let series: Vec<_> = cut_volumes(&context.inputs)
        .into_iter()
        .map(|(_, series)| series)
        .collect();
    match learn_from(&series) {
        Ok(MillModel::Learned {
            slope,
            pairs,
            depths: (least, most),
        }) => {
            let chambers = series.len();
            context.remark(format!(
                "What a depth takes was learned from {pairs} volumes of {chambers} chambers, before and after cuts of this job."
            ));
            let slope = with_depths(context, slope);
            let model = MillModel::Learned {
                slope,
                pairs,
                depths: (least - already, most - already),
            };
            let volumes = pairs;
            Ok((model, Some(Learned { volumes, chambers })))
        }
        Ok(other) => Ok((other, None)),
        Err(error) => Err(AskError::missing(
            format!(
                "neither the area of the chambers' openings nor a cut to learn from is known: {error}"
            ),
            "an area such as \"5720 mm2 +- 20 mm2\", or chambers measured before and after a cut of stated depth",
            "give --area, or state `opening_area` under [head] in the engine file; note a cut with its depth (`job cut --depth`, or `depth` under [[stages]])",
        )),
    }
}

/// Adds the errors of the stated depths to a learned slope. Each depth is moved a little to find
/// how the slope moves with it. A remark names the depths without a ±.
fn with_depths(context: &mut Context<'_>, slope: Estimate) -> Estimate {
    let slope_of = |engine: &crate::Engine| {
        let inputs = crate::report::ReportInputs {
            engine,
            ..context.inputs
        };
        let series: Vec<_> = cut_pairs(&inputs).into_iter().map(|(_, one)| one).collect();
        match learn_within(&series) {
            Ok(MillModel::Learned { slope, .. }) => Some(slope.value()),
            _ => None,
        }
    };
    let mut with = slope.clone();
    let mut bare = Vec::new();
    for (stage, cut) in &context.engine.cuts {
        let step = 1e-4 * cut.value.abs().max(0.01);
        let mut moved = context.engine.clone();
        if let Some(depth) = moved.cuts.get_mut(stage) {
            depth.value += step;
        }
        let Some(other) = slope_of(&moved).filter(|other| *other != slope.value()) else {
            continue; // Nothing was learned from it.
        };
        match cut.u {
            Some(_) => {
                let error = cut.estimate(format!("depth of the cut {stage}"));
                let error = error.offset(-cut.value);
                with = with + error.scale((other - slope.value()) / step);
            }
            None => bare.push(stage.clone()),
        }
    }
    if !bare.is_empty() {
        context.remark(format!(
            "No ± is stated for the depth of {}: the uncertainty of what was learned is that of the chambers' scatter alone. Write it, such as depth = \"0.010 in +- 0.0005 in\".",
            bare.join(", ")
        ));
    }
    with
}

/// The most that may be cut of a head in all, mm.
pub(super) fn most_in_all(
    context: &Context<'_>,
    asked: &MillAsked,
) -> Result<Option<f64>, AskError> {
    let Some(text) = &asked.most else {
        return Ok(context.engine.head.most_mill.map(|most| most.value));
    };
    let what = "the most that may be cut";
    let most = typed(text, QuantityKind::Length, what, "--most")?;
    Ok(Some(most.value))
}

/// How deep the head of these cylinders was cut up to the stage that is asked about, mm.
pub(super) fn cut_already(context: &Context<'_>, cylinders: &[u32]) -> f64 {
    let listed = match context.inputs.stages {
        [] => &context.engine.stages,
        stages => stages,
    };
    let here = listed
        .iter()
        .position(|stage| stage.name == context.state.stage)
        .map_or(0, |at| at + 1);
    context.engine.cut_already(&listed[..here], cylinders)
}

pub(super) fn tip(
    context: &mut Context<'_>,
    asked: &MillAsked,
) -> Result<Option<TippedCut>, AskError> {
    match (&asked.angle, &asked.centroid) {
        (None, None) if asked.far_edge.is_none() => Ok(None),
        (Some(angle), Some(centroid)) => {
            let angle = typed(angle, QuantityKind::Angle, "the angle", "--angle")?;
            let degrees = Unit::Degree.from_base(angle.value);
            if !degrees.is_finite() || degrees.abs() >= 10.0 {
                return Err(AskError::bad(
                    format!("the cut is tipped by {degrees} degrees"),
                    "an angle below 10 degrees",
                    "correct --angle",
                ));
            }
            let centroid = typed(
                centroid,
                QuantityKind::Length,
                "the centroid's distance",
                "--centroid",
            )?;
            let far_edge = match &asked.far_edge {
                Some(text) => Some(typed(
                    text,
                    QuantityKind::Length,
                    "the edge's distance",
                    "--far-edge",
                )?),
                None => None,
            };
            if angle.u.is_none() || centroid.u.is_none() {
                context.remark("What the tipped cut takes and its depth at the line are known only where the angle and the centroid's distance have a ±: write it, such as --angle \"0.5 deg +- 0.1 deg\"; +- 0 where it counts as exact.");
            }
            Ok(Some(TippedCut {
                angle: angle.estimate("angle of the cut"),
                centroid: centroid.estimate("centroid"),
                far_edge: far_edge.map(|edge| edge.value),
            }))
        }
        _ => Err(AskError::bad(
            "a tipped cut is given by half",
            "its angle and the distance of the chambers' centroid from the line about which it is tipped",
            "give both --angle and --centroid",
        )),
    }
}

pub(super) fn heads_of(
    context: &Context<'_>,
    asked: &MillAsked,
) -> Result<Vec<(String, Vec<u32>)>, AskError> {
    if asked.cylinders.is_empty() {
        let bank = |bank: &crate::engine::Bank| (bank.name.clone(), bank.cylinders.clone());
        return Ok(context.engine.banks.iter().map(bank).collect());
    }
    for number in &asked.cylinders {
        context.cylinder(*number)?;
    }
    let list: Vec<String> = asked.cylinders.iter().map(u32::to_string).collect();
    Ok(vec![(
        format!("cylinders {}", list.join(", ")),
        asked.cylinders.clone(),
    )])
}
