//! How deep to mill each head, and what it changes.

use serde::{Deserialize, Serialize};

use super::asked::MillAsked;
use super::context::{Context, chosen, typed};
use super::error::AskError;
use super::pairs::{Pair, pair_of};
use crate::decide::{Aim, MillDecision, MillModel, learn_within, mill_angled, mill_flat};
use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::crank::valve_gap_after_cut;
use crate::known::{Known, State, spread};
use crate::report::{cut_pairs, report};
use crate::units::{Kind, Unit};

/// How deep to mill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MillAnswer {
    /// The mean ratio or the mean chamber volume that is aimed at.
    pub target: Figure,
    /// Area of a chamber's opening, mm²: stated, or what the cuts already made have taken by depth.
    pub area: Figure,
    /// How many pairs of depth and volume it was learned from; `None`: it is stated.
    pub learned_from: Option<usize>,
    /// The most that may still be cut; `None`: nobody has said.
    pub most: Option<Figure>,
    /// What earlier cuts of stated depth have taken.
    pub already: Option<Figure>,
    /// Head by head, each by itself.
    pub heads: Vec<HeadCut>,
    /// Mean ratio of the engine before and after all of it.
    pub compression_mean: Option<Pair>,
    /// Spread of the ratios before and after all of it.
    pub compression_spread: Option<Pair>,
}

/// The cut of one head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeadCut {
    /// The bank, or the cylinders that were named.
    pub head: String,
    /// Whether a cut reaches the target at all.
    pub reachable: bool,
    /// Depth; of a tipped cut at the centroid of the chambers' openings.
    pub depth: Figure,
    /// Depth of a tipped cut at the line about which it is tipped.
    pub depth_at_pivot: Option<Figure>,
    /// Angle of a tipped cut.
    pub angle: Option<Figure>,
    /// Volume taken from each chamber, cc.
    pub taken: Figure,
    /// What each of its cylinders has before and after.
    pub cylinders: Vec<CutAt>,
    /// Least valve-to-piston distances before and after, where they were measured.
    pub valve_gaps: Vec<GapAfter>,
    /// What else changes, and what to look at first.
    pub warnings: Vec<String>,
}

/// A cylinder before and after a cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutAt {
    /// The cylinder.
    pub cylinder: u32,
    /// Chamber volume, cc.
    pub chamber: Option<Pair>,
    /// Compression ratio.
    pub compression: Option<Pair>,
}

/// A valve-to-piston distance before and after a cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GapAfter {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: String,
    /// The least that was measured.
    pub before: Figure,
    /// The same after the cut.
    pub after: Figure,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &MillAsked) -> Result<MillAnswer, AskError> {
    context.caution(
        "The least deck thickness that the head's maker allows comes before any figure here.",
    );
    context.caution("A cut brings the valves nearer to the pistons: clearances are to be checked with the real parts.");
    context.caution("With an overhead camshaft a milled head also retards its belt or chain; see what the maker allows.");
    let (aim, target) = aim(context, asked)?;
    let (model, learned_from) = model(context, asked)?;
    let (most, already) = most(context, asked)?;
    let tip = tip(asked)?;
    let length = context.length();
    let mut after = context.state.clone();
    let mut heads = Vec::new();
    for (head, cylinders) in heads_of(context, asked)? {
        let decision = match &tip {
            None => mill_flat(&context.state, &cylinders, &model, aim, most),
            Some((angle, centroid)) => mill_angled(
                &context.state,
                &cylinders,
                &model,
                aim,
                most,
                (*angle, centroid),
            ),
        };
        let decision = decision.map_err(|error| {
            AskError::missing(
                format!("the head of {head}: {error}"),
                "chambers, decks, crowns and a gasket of its cylinders",
                "see with `report` what is missing, and measure or import it",
            )
        })?;
        let cut = head_cut(
            context,
            &head,
            &cylinders,
            &decision,
            tip.as_ref(),
            &mut after,
        )?;
        heads.push(cut);
    }
    let slope = match &model {
        MillModel::Area(area) => area.clone(),
        MillModel::Learned { slope, .. } => slope.scale(1e3),
    };
    let ratios = |state: &State| -> Vec<Estimate> {
        state.ratios().into_iter().map(|(_, ratio)| ratio).collect()
    };
    let (before, after) = (ratios(&context.state), ratios(&after));
    context.say_unknown("the depth", std::iter::once(&slope).chain(&before));
    Ok(MillAnswer {
        target,
        area: slope.figure(Unit::SquareMillimetre),
        learned_from,
        most: most.map(|most| chosen(length.from_base(most), length)),
        already: already.map(|mm| chosen(length.from_base(mm), length)),
        heads,
        compression_mean: pair_of(Estimate::mean(&before), Estimate::mean(&after), Unit::One),
        compression_spread: pair_of(spread(&before), spread(&after), Unit::One),
    })
}

fn aim(context: &mut Context<'_>, asked: &MillAsked) -> Result<(Aim, Figure), AskError> {
    let stated = &context.engine.targets;
    let chamber = match &asked.chamber {
        Some(text) => Some(typed(text, Kind::Volume, "the target chamber", "--chamber")?.value),
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
        Some(volume) if volume > 0.0 => {
            Ok((Aim::Chamber(volume), chosen(volume, Unit::CubicCentimetre)))
        }
        Some(volume) => Err(AskError::bad(
            format!("the target chamber is {volume} cc"),
            "a volume above 0",
            "correct --chamber",
        )),
        None => {
            let ratio = context.ratio(asked.ratio)?;
            Ok((Aim::Ratio(ratio), chosen(ratio, Unit::One)))
        }
    }
}

/// What a depth takes: by the area that was given, that of the engine file, or the cuts made.
fn model(
    context: &mut Context<'_>,
    asked: &MillAsked,
) -> Result<(MillModel, Option<usize>), AskError> {
    let area = match &asked.area {
        Some(text) => Some(typed(text, Kind::Area, "the opening's area", "--area")?),
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
    let series: Vec<_> = cut_pairs(&context.inputs)
        .into_iter()
        .map(|(_, series)| series)
        .collect();
    match learn_within(&series) {
        Ok(MillModel::Learned {
            slope,
            pairs,
            depths,
        }) => {
            context.remark(format!(
                "What a depth takes was learned from {pairs} chambers before and after cuts of this job."
            ));
            Ok((
                MillModel::Learned {
                    slope,
                    pairs,
                    depths,
                },
                Some(pairs),
            ))
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

/// The most that may still be cut, mm, and what was cut already.
fn most(context: &Context<'_>, asked: &MillAsked) -> Result<(Option<f64>, Option<f64>), AskError> {
    let most = match &asked.most {
        Some(text) => Some(typed(text, Kind::Length, "the most that may be cut", "--most")?.value),
        None => context.engine.head.most_mill.map(|most| most.value),
    };
    let listed = match context.inputs.stages {
        [] => &context.engine.stages,
        stages => stages,
    };
    let here = listed
        .iter()
        .position(|stage| stage.name == context.state.stage)
        .map_or(0, |at| at + 1);
    let already: f64 = listed[..here]
        .iter()
        .filter_map(|stage| context.engine.cuts.get(&stage.name))
        .map(|cut| cut.value)
        .sum();
    let already = (already > 0.0).then_some(already);
    Ok((most.map(|most| most - already.unwrap_or(0.0)), already))
}

fn tip(asked: &MillAsked) -> Result<Option<(f64, Estimate)>, AskError> {
    match (&asked.angle, &asked.centroid) {
        (None, None) => Ok(None),
        (Some(angle), Some(centroid)) => {
            let degrees = typed(angle, Kind::Angle, "the angle", "--angle")?;
            let degrees = Unit::Degree.from_base(degrees.value);
            if !degrees.is_finite() || degrees.abs() >= 10.0 {
                return Err(AskError::bad(
                    format!("the cut is tipped by {degrees} degrees"),
                    "an angle below 10 degrees",
                    "correct --angle",
                ));
            }
            let centroid = typed(
                centroid,
                Kind::Length,
                "the centroid's distance",
                "--centroid",
            )?;
            Ok(Some((degrees, centroid.estimate("centroid"))))
        }
        _ => Err(AskError::bad(
            "a tipped cut is given by half",
            "its angle and the distance of the chambers' centroid from the line about which it is tipped",
            "give both --angle and --centroid",
        )),
    }
}

fn heads_of(context: &Context<'_>, asked: &MillAsked) -> Result<Vec<(String, Vec<u32>)>, AskError> {
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

fn head_cut(
    context: &mut Context<'_>,
    head: &str,
    cylinders: &[u32],
    decision: &MillDecision,
    tip: Option<&(f64, Estimate)>,
    after: &mut State,
) -> Result<HeadCut, AskError> {
    let length = context.length();
    let reachable = decision.depth.value >= 0.0;
    let taken = if reachable { decision.taken.value } else { 0.0 };
    let mut rows = Vec::new();
    for known in &mut after.cylinders {
        if !cylinders.contains(&known.number) {
            continue;
        }
        let before: Known = known.clone();
        known.chamber = known.chamber.as_ref().map(|chamber| chamber.offset(-taken));
        rows.push(CutAt {
            cylinder: known.number,
            chamber: pair_of(
                before.chamber.clone(),
                known.chamber.clone(),
                Unit::CubicCentimetre,
            ),
            compression: pair_of(before.ratio(), known.ratio(), Unit::One),
        });
    }
    let mut valve_gaps = Vec::new();
    if reachable && tip.is_none() {
        let depth = length.difference_to_base(decision.depth.value);
        for gap in report(&context.inputs)?.valve_gaps {
            if !cylinders.contains(&gap.cylinder) {
                continue;
            }
            let port = context.engine.ports.get(&gap.port);
            let inclination = port.and_then(|port| port.inclination);
            let degrees = inclination.map_or(0.0, |one| Unit::Degree.from_base(one.value));
            let least = gap.enclosed.map_or(gap.least, |(least, _)| least);
            let mm = length.difference_to_base(least.value);
            let left = valve_gap_after_cut(&mm, &depth, degrees);
            valve_gaps.push(GapAfter {
                cylinder: gap.cylinder,
                port: gap.port,
                before: least,
                after: Figure {
                    value: length.difference_from_base(left),
                    ..least
                },
            });
        }
    }
    Ok(HeadCut {
        head: head.to_owned(),
        reachable,
        depth: decision.depth,
        depth_at_pivot: decision.depth_at_pivot,
        angle: tip.map(|(degrees, _)| chosen(*degrees, Unit::Degree)),
        taken: decision.taken,
        cylinders: rows,
        valve_gaps,
        warnings: decision.warnings.clone(),
    })
}
