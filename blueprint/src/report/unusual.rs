//! Findings about dimensions that no usual engine has: a slip of the pen, most often.
//!
//! The bounds are those by which an engine is asked about as it is stated. They ask for a second look.
//! No figure and no verdict rests on them.

use super::document::{Finding, FindingKind};
use super::finding::finding;
use super::words;
use crate::engine::LengthUnits;
use crate::engine::doubts::{COMPRESSION, GASKET, OPENING, QUENCH, STROKE};
use crate::engine_figures::CylinderFigures;

/// One dimension, in the unit in which its bounds stand.
struct Looked {
    spot: &'static str,
    name: &'static str,
    bounds: [f64; 2],
    /// What to look at, where the spot alone does not tell.
    at: &'static str,
}

/// A finding for each dimension of which any cylinder's is not usual.
pub(super) fn findings(built: &[CylinderFigures], units: LengthUnits) -> Vec<Finding> {
    let length = |mm: f64| words::length(mm, units);
    let number = |one: f64| format!("{one:.2}");
    let all = |get: &dyn Fn(&CylinderFigures) -> Option<f64>| -> Vec<f64> {
        built.iter().filter_map(get).collect()
    };
    let over_bore = |of: Option<f64>, one: &CylinderFigures| Some(of? / one.bore.as_ref()?.value());
    let thickness = all(&|one| Some(one.gasket_thickness.as_ref()?.value()));
    let opening = all(&|one| {
        let opening = one.gasket_bore.as_ref().map(|one| one.value());
        over_bore(opening, one)
    });
    let stroke = all(&|one| over_bore(one.stroke.as_ref().map(|one| one.value()), one));
    let compression = all(&|one| Some(one.ratio()?.value()));
    let quench = all(&|one| Some(one.quench()?.value()));
    // Where both are off on the same side, what they are divided by may be the slip.
    let by_bore =
        side(&opening, OPENING).is_some() && side(&opening, OPENING) == side(&stroke, STROKE);
    let of_bore = by_bore.then(|| {
        let text = format!(
            "gasket opening and stroke are {} and {} times it, both far from usual (common practice, no source)",
            number(furthest(&opening, OPENING)),
            number(furthest(&stroke, STROKE))
        );
        finding("bore", FindingKind::Unusual, text)
    });
    let alone = |found: Option<Finding>| found.filter(|_| !by_bore);
    let looked = |spot, name, bounds, at| Looked {
        spot,
        name,
        bounds,
        at,
    };
    [
        of_bore,
        looked("gasket/thickness", "head gaskets", GASKET, "").told(&thickness, &length),
        alone(
            looked("gasket/bore", "gasket openings, over the bore", OPENING, "")
                .told(&opening, &number),
        ),
        alone(looked("stroke", "strokes, over the bore", STROKE, "").told(&stroke, &number)),
        looked(
            "compression",
            "compression",
            COMPRESSION,
            ": look at gasket, chamber, dome or dish, bore and stroke",
        )
        .told(&compression, &number),
        looked("quench", "quench", QUENCH, ": look at gasket and deck").told(&quench, &length),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The side of its bounds on which one of the values lies; `None` where all are usual.
fn side(values: &[f64], [least, most]: [f64; 2]) -> Option<bool> {
    let mut out = values
        .iter()
        .filter(|value| **value < least || **value > most);
    out.next().map(|value| *value > most)
}

/// The value that lies furthest out; 0 where there is none.
fn furthest(values: &[f64], [least, most]: [f64; 2]) -> f64 {
    let out = |value: f64| (least - value).max(value - most);
    let worst = values
        .iter()
        .copied()
        .max_by(|a, b| out(*a).total_cmp(&out(*b)));
    worst.unwrap_or(0.0)
}

impl Looked {
    /// The finding, with the value that lies furthest out.
    fn told(&self, values: &[f64], shown: &dyn Fn(f64) -> String) -> Option<Finding> {
        let [least, most] = self.bounds;
        side(values, self.bounds)?;
        let worst = furthest(values, self.bounds);
        let text = format!(
            "{} is far from usual {} ({} to {}; common practice, no source){}",
            shown(worst),
            self.name,
            shown(least),
            shown(most),
            self.at
        );
        Some(finding(self.spot, FindingKind::Unusual, text))
    }
}
