//! A cut that is tipped about a line (`docs/formulas.md`, 2.2).

use serde::{Deserialize, Serialize};

use super::Cut;
use crate::figure::{Estimate, Scalar};
use crate::formula::mill::depth_at;

/// How a cut is tipped about a line that runs along the head.
#[derive(Debug, Clone, PartialEq)]
pub struct TippedCut {
    /// The angle, degrees.
    pub angle: Estimate,
    /// Distance of the centroids of the chambers' openings from the line, mm, positive toward the
    /// deep side.
    pub centroid: Estimate,
    /// Distance of the face's edge on the deep side from the line, mm; `None` if nobody has said.
    pub far_edge: Option<f64>,
}

/// Where a tipped cut is deepest, of the places that are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum DeepestPlace {
    /// At the line about which it is tipped; the edge of the face may be deeper.
    Pivot,
    /// At the centroids of the chambers' openings; the edge of the face may be deeper.
    Centroid,
    /// At the edge of the face.
    FarEdge,
}

impl DeepestPlace {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            DeepestPlace::Pivot => "at the line about which it is tipped",
            DeepestPlace::Centroid => "at the centroid of the chambers",
            DeepestPlace::FarEdge => "at the edge of the face",
        }
    }
}

/// Depths of a tipped cut.
pub(super) struct Tipped {
    pub(super) pivot: Estimate,
    pub(super) deepest: (Estimate, DeepestPlace),
    pub(super) warnings: Vec<String>,
}

pub(super) fn tipped(cut: &Cut<'_>, tip: &TippedCut) -> Tipped {
    let zero = Estimate::exact(0.0);
    // How much deeper the cut is at the centroid than at the line.
    let lean = depth_at(&zero, &tip.angle, &tip.centroid);
    let pivot = &cut.depth - &lean;
    let exact = Estimate::exact(pivot.value());
    let mut places = vec![
        (exact.clone(), DeepestPlace::Pivot),
        (&exact + lean, DeepestPlace::Centroid),
    ];
    if let Some(edge) = tip.far_edge {
        let edge = depth_at(&exact, &tip.angle, &Estimate::exact(edge));
        places.push((edge, DeepestPlace::FarEdge));
    }
    let mut warnings = vec![
        "a tipped cut changes the valves' angle to the bore; their clearance must be measured anew"
            .to_owned(),
    ];
    if tip.far_edge.is_none() {
        warnings.push("the edge of the face may be deeper than the places that are known here: give its distance from the line with --far-edge".to_owned());
    }
    if pivot.value() < 0.0 && tip.angle.value() != 0.0 {
        let slope = tip.angle.value().to_radians().tan();
        warnings.insert(0, format!(
            "at the line about which it is tipped the cutter stands {} above the face and cuts only from {} beyond it on: the volume, and so the depth, hold only if every chamber's opening lies wholly beyond that",
            cut.show(-pivot.value()),
            cut.show(-pivot.value() / slope)
        ));
    }
    let deepest = places
        .into_iter()
        .max_by(|(a, _), (b, _)| a.value().total_cmp(&b.value()))
        .unwrap_or((exact, DeepestPlace::Pivot));
    Tipped {
        pivot,
        deepest,
        warnings,
    }
}
