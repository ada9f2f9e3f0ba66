//! Whether passes over a turning point agree, and which of them a person must be asked about.
//!
//! The module does not know how a pass was fitted.

use benchhand_drivers::Unit;

use super::CaptureNote;
use super::settings::{ExtremeSettings, per_base};
use super::turn::{Pass, Shape};

/// Two passes that differ by more than they may, in the gauge's own numbers; `sign` undoes the sign
/// change.
pub(super) fn disagreement(
    (first, second): (&Pass, &Pass),
    settings: &ExtremeSettings,
    (resolution, unit): (f64, Unit),
    sign: f64,
) -> Option<CaptureNote> {
    let se = first.se.hypot(second.se);
    let allowed = (settings.agree_counts * resolution)
        .max(settings.agree_sigmas * se)
        .max(settings.agree_mm * per_base(unit));
    ((first.top - second.top).abs() > allowed).then_some(CaptureNote::PassesDisagree {
        first: first.top * sign,
        second: second.top * sign,
        allowed,
        unit,
    })
}

/// At an even speed a turn stands within a count of its top for √(count / fall) of the time near
/// the top. A hand that is slow near the top comes to 1.5 times that share, a stop near the top to
/// twice. A mean over all passes of more than this many times is doubted, …
const STANDS: f64 = 2.1;
/// … within these shares, and where no pass stood for less than `EACH` of that.
const STANDS_WITHIN: (f64, f64) = (0.2, 0.45);
const EACH: f64 = 0.8;

/// Whether all passes stand at their top for long: the plunger meets its stop, or the hand turns
/// back before the top. A hand that stopped just there by chance did so in one pass only.
pub(super) fn stand_still(passes: &[Pass], shape: &Shape) -> bool {
    let even = (1.2 * shape.resolution / shape.fall).sqrt();
    let doubted = (STANDS * even).clamp(STANDS_WITHIN.0, STANDS_WITHIN.1);
    let mean = passes.iter().map(|p| p.stood).sum::<f64>() / passes.len().max(1) as f64;
    mean >= doubted && passes.iter().all(|p| p.stood >= EACH * doubted)
}
