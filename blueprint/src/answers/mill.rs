//! How deep to mill each head, and what it changes.

use serde::{Deserialize, Serialize};

mod asked;

use super::asked::MillAsked;
use super::chambers;
use super::context::{Context, chosen};
use super::error::AskError;
use super::gaps::Gaps;
use crate::decide::{
    BeforeAfter, DeepestPlace, GapAfter, MadeEqual, MillDecision, MillModel, TippedCut,
    contacts_in_order, mill_angled, mill_flat,
};
use crate::engine_figures::{CylinderFigures, EngineFigures, spread};
use crate::figure::{Estimate, Figure, Scalar};
use crate::units::Unit;

/// How deep to mill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MillAnswer {
    /// The mean ratio or the mean chamber volume that is aimed at.
    pub target: Figure,
    /// Area of a chamber's opening, mm²: stated, or what the cuts already made have taken by depth.
    pub area: Figure,
    /// How many chamber volumes at stated depths it was learned from; `None`: it is stated.
    pub learned_from: Option<usize>,
    /// How many chambers these volumes are of.
    pub learned_chambers: Option<usize>,
    /// The most that may still be cut of the head that was cut deepest; `None`: nobody has said.
    pub most: Option<Figure>,
    /// Depth of all earlier cuts of stated depth, of the head that was cut deepest.
    pub already: Option<Figure>,
    /// Head by head, each by itself.
    pub heads: Vec<HeadCut>,
    /// Mean ratio of the engine before and after all of it.
    pub compression_mean: Option<BeforeAfter>,
    /// Spread of the ratios before and after all of it.
    pub compression_spread: Option<BeforeAfter>,
}

/// The cut of one head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeadCut {
    /// The bank, or the cylinders that were named.
    pub head: String,
    /// The most that may still be cut of this head; `None`: nobody has said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Figure>,
    /// Depth of its earlier cuts of stated depth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub already: Option<Figure>,
    /// Whether a cut that may be made reaches the target.
    pub reachable: bool,
    /// Why no cut reaches it. The figures below are then uncut.
    pub why_not: Option<String>,
    /// Depth. For a tipped cut: at the centroid of the chambers' openings.
    pub depth: Figure,
    /// Depth of a tipped cut at the line about which it is tipped.
    pub depth_at_pivot: Option<Figure>,
    /// Depth of a tipped cut at the deepest place that is known.
    pub deepest: Option<Figure>,
    /// The place where it is deepest.
    pub deepest_at: Option<DeepestPlace>,
    /// Angle of a tipped cut.
    pub angle: Option<Figure>,
    /// Volume taken from each chamber, cc.
    pub taken: Figure,
    /// Chamber and ratio of each of its cylinders, before and after.
    pub cylinders: Vec<CutAt>,
    /// Least piston-to-valve clearances before and after, where they were measured.
    pub valve_gaps: Vec<GapAfter>,
    /// What else changes, and what to look at first.
    pub warnings: Vec<String>,
}

/// A cylinder before and after a cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CutAt {
    /// The cylinder.
    pub cylinder: u32,
    /// Chamber volume, cc.
    pub chamber: Option<BeforeAfter>,
    /// Compression ratio.
    pub compression: Option<BeforeAfter>,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &MillAsked) -> Result<MillAnswer, AskError> {
    context.caution(
        "The least deck thickness that the head's maker allows comes before any figure here.",
    );
    context.caution("A cut brings the valves nearer to the pistons: clearances are to be checked with the real parts.");
    context.caution("With an overhead camshaft a milled head also retards its belt or chain; see what the maker allows.");
    if let Some(equal) = asked.opened {
        open_chambers(context, equal);
    }
    let (aim, target) = asked::aim(context, asked)?;
    let all = asked::heads_of(context, asked)?;
    let in_all = asked::most_in_all(context, asked)?;
    let cut = |cylinders: &[u32]| asked::cut_already(context, cylinders);
    let deepest = all.iter().map(|(_, own)| cut(own)).fold(0.0, f64::max);
    let (model, learned) = asked::model(context, asked, deepest)?;
    let tip = asked::tip(context, asked)?;
    let gaps = Gaps::measured(context)?;
    if tip.is_none() {
        gaps.remark(context);
    }
    let length = context.length();
    let mut after = context.state.clone();
    let mut heads = Vec::new();
    for (head, cylinders) in all {
        let already = asked::cut_already(context, &cylinders);
        let most = in_all.map(|most| most - already);
        let decision = match &tip {
            None => mill_flat(&context.state, &cylinders, &model, aim, most),
            Some(tip) => mill_angled(&context.state, &cylinders, &model, aim, most, tip),
        };
        let decision = decision.map_err(|error| {
            AskError::missing(
                format!("the head of {head}: {error}"),
                "chambers, decks, domes or dishes and a gasket of its cylinders",
                "see with `report` what is missing, and measure or import it",
            )
        })?;
        let tip = tip.as_ref();
        let cut = head_cut(&gaps, (&head, &cylinders), decision, tip, &mut after);
        heads.push(HeadCut {
            most: most.map(|most| chosen(length.from_base(most), length)),
            already: depth_told(already, length),
            ..cut
        });
    }
    let slope = match &model {
        MillModel::Area(area) => area.clone(),
        MillModel::Learned { slope, .. } => slope.scale(1e3),
    };
    let ratios = |state: &EngineFigures| -> Vec<Estimate> {
        state.ratios().into_iter().map(|(_, ratio)| ratio).collect()
    };
    let (before, after) = (ratios(&context.state), ratios(&after));
    context.say_unknown("the depth", std::iter::once(&slope).chain(&before));
    Ok(MillAnswer {
        target,
        area: slope.figure(Unit::SquareMillimetre),
        learned_from: learned.map(|one| one.volumes),
        learned_chambers: learned.map(|one| one.chambers),
        most: in_all.map(|most| chosen(length.from_base(most - deepest), length)),
        already: depth_told(deepest, length),
        heads,
        compression_mean: BeforeAfter::of(
            Estimate::mean(&before),
            Estimate::mean(&after),
            Unit::One,
        ),
        compression_spread: BeforeAfter::of(spread(&before), spread(&after), Unit::One),
    })
}

/// A depth of earlier cuts, given in mm; `None` where nothing was cut.
fn depth_told(mm: f64, length: Unit) -> Option<Figure> {
    (mm > 0.0).then(|| chosen(length.from_base(mm), length))
}

/// Opens every chamber as the chambers' work asks, but for those whose opening may be nothing.
fn open_chambers(context: &mut Context<'_>, equal: MadeEqual) {
    let Some(work) = chambers::work(context, equal) else {
        return;
    };
    for one in work.work.iter().filter(|one| one.worth_it != Some(false)) {
        let removed = Estimate::exact(one.remove.value);
        let mut cylinders = context.state.cylinders.iter_mut();
        if let Some(known) = cylinders.find(|known| known.number == one.cylinder) {
            known.chamber = known.chamber.clone().map(|chamber| chamber + &removed);
        }
    }
    context.remark(
        "The cut is reckoned with the chambers opened first. Pour them again after that, before the cut is set.",
    );
}

fn head_cut(
    gaps: &Gaps,
    (head, cylinders): (&str, &[u32]),
    decision: MillDecision,
    tip: Option<&TippedCut>,
    after: &mut EngineFigures,
) -> HeadCut {
    let length = after.units.length();
    let reachable = decision.why_not.is_none();
    let mut rows = Vec::new();
    for known in &mut after.cylinders {
        if !cylinders.contains(&known.number) {
            continue;
        }
        let before: CylinderFigures = known.clone();
        if reachable {
            let cut = |chamber: Estimate| chamber - &decision.cut;
            known.chamber = known.chamber.clone().map(cut);
        }
        rows.push(CutAt {
            cylinder: known.number,
            chamber: BeforeAfter::of(
                before.chamber.clone(),
                known.chamber.clone(),
                Unit::CubicCentimetre,
            ),
            compression: BeforeAfter::of(before.ratio(), known.ratio(), Unit::One),
        });
    }
    let mut warnings = decision.warnings;
    let mut valve_gaps = Vec::new();
    if reachable && tip.is_none() {
        // The depth is exact: the cut is made to it, however well the volumes behind it are known.
        let depth = Estimate::exact(length.difference_to_base(decision.depth.value));
        valve_gaps = gaps.after(|number| cylinders.contains(&number).then(|| depth.clone()));
        let contacts = gaps.contacts(|number| cylinders.contains(&number).then(|| depth.clone()));
        let contacts = contacts_in_order(contacts);
        warnings.splice(0..0, contacts.iter().map(|one| one.text(true)));
    } else if reachable {
        warnings.extend(gaps.not_reckoned(
            cylinders,
            "the depth at each valve and its new angle are not known",
        ));
    }
    HeadCut {
        head: head.to_owned(),
        most: None,
        already: None,
        reachable,
        why_not: decision.why_not,
        depth: decision.depth,
        depth_at_pivot: decision.depth_at_pivot,
        deepest_at: decision.deepest.as_ref().map(|(_, place)| *place),
        deepest: decision.deepest.map(|(depth, _)| depth),
        angle: tip.map(|tip| tip.angle.figure(Unit::Degree)),
        taken: decision.taken,
        cylinders: rows,
        valve_gaps,
        warnings,
    }
}
