//! How deep heads may be cut in all, so that a slip of the pen is asked about. Nothing is known here of
//! how a cut is typed or kept.

use super::{Engine, Stage};

/// The most that is taken off heads in all where the engine file states nothing, mm: common
/// practice, no source. Many castings allow less.
pub const MOST_CUT: f64 = 1.5;

/// A cut that goes deeper, with the earlier ones, than heads may be cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutTooDeep {
    /// The depth of all earlier cuts together, mm.
    pub earlier: f64,
    /// The most that may be cut in all, mm.
    pub most: f64,
    /// Whether the engine file states it; else it is [`MOST_CUT`].
    pub stated: bool,
}

impl CutTooDeep {
    /// Looks at a cut of `depth` mm on the heads of these cylinders of an engine as it stands, on all
    /// heads where none is named; `None` for the engine where its file cannot be used. Gives `None`
    /// where the cut goes no deeper than it may.
    #[must_use]
    pub fn of(depth: f64, cylinders: &[u32], engine: Option<&Engine>) -> Option<CutTooDeep> {
        let stated = engine.and_then(|one| Some(one.head.most_mill?.value));
        let earlier = engine.map_or(0.0, |one| one.cut_already(&one.stages, cylinders));
        let most = stated.unwrap_or(MOST_CUT);
        // What is cut to the limit exactly must not be too deep by rounding.
        let deeper = depth + earlier > most * (1.0 + 1e-9);
        deeper.then_some(CutTooDeep {
            earlier,
            most,
            stated: stated.is_some(),
        })
    }
}

impl Engine {
    /// How deep the heads of these cylinders were cut by the cuts that opened `stages`, mm: of the one
    /// that was cut deepest. All cylinders where none is named. A cut of one head is none of another.
    #[must_use]
    pub fn cut_already(&self, stages: &[Stage], cylinders: &[u32]) -> f64 {
        let all: Vec<u32> = (1..=self.cylinders).collect();
        let of = if cylinders.is_empty() {
            &all
        } else {
            cylinders
        };
        let depth_at = |cylinder: &u32| -> f64 {
            let concerns = |stage: &&Stage| {
                let named = stage.cylinders.as_ref();
                named.is_none_or(|named| named.contains(cylinder))
            };
            let cuts = stages.iter().filter(concerns);
            let depths = cuts.filter_map(|stage| self.cuts.get(&stage.name));
            depths.map(|cut| cut.value).sum()
        };
        of.iter().map(depth_at).fold(0.0, f64::max)
    }
}
