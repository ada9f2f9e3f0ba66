//! How deep heads may be cut in all, so that a slip of the pen is asked about. Nothing is known here of
//! how a cut is typed or kept.

use super::Engine;

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
    /// Looks at a cut of `depth` mm on the heads of an engine as it stands; `None` for the engine
    /// where its file cannot be used. Gives `None` where the cut goes no deeper than it may.
    #[must_use]
    pub fn of(depth: f64, engine: Option<&Engine>) -> Option<CutTooDeep> {
        let stated = engine.and_then(|one| Some(one.head.most_mill?.value));
        let earlier = engine.map_or(0.0, |one| one.cuts.values().map(|cut| cut.value).sum());
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
