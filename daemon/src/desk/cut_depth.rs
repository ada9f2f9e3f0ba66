//! How deep heads were cut, as it is typed: nothing that no head allows without a question.

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Unit};
use benchhand_wire::{Reason, Refusal};

use crate::known::inputs;
use crate::store::fact::CutDepth;
use crate::store::view::JobView;

/// The most that is taken off heads in all where the engine file states nothing, mm: common
/// practice, no source. Many castings allow less.
const MOST: f64 = 1.5;

/// The depth of a cut, as typed.
///
/// # Errors
/// It is no depth.
pub(super) fn typed(text: &str) -> Result<CutDepth, Refusal> {
    let bad = |found: String| {
        Refusal::new(Reason::BadInput, found)
            .expected("how deep the cut went, with its unit, such as \"0.010 in\"")
            .todo("correct the depth; nothing was kept")
    };
    let found: Quantity = text
        .parse()
        .map_err(|error| bad(format!("the depth is {text:?}: {error}")))?;
    let found = found
        .expect(QuantityKind::Length)
        .map_err(|error| bad(format!("the depth is {text:?}: {error}")))?;
    if found.value < 0.0 {
        return Err(bad(format!("the depth is {text:?}, less than nothing")));
    }
    Ok(CutDepth {
        part: "heads".to_owned(),
        depth: found.value,
        unit: found.unit.symbol().to_owned(),
    })
}

/// Refuses a depth that, with the earlier ones, is more than may be cut. Nobody can take a cut back
/// from the record, and every later figure rests on its depth.
///
/// # Errors
/// It is more.
pub(super) fn within_most(view: &JobView, depth: &CutDepth) -> Result<(), Refusal> {
    // An engine file that cannot be used has nothing to say of it.
    let engine = inputs::engine(view).ok();
    let engine = engine.as_ref();
    let stated = engine.and_then(|one| Some(one.head.most_mill?.value));
    let earlier: f64 = engine.map_or(0.0, |one| one.cuts.values().map(|cut| cut.value).sum());
    let Ok(unit) = depth.unit.parse::<Unit>() else {
        return Ok(());
    };
    let now = unit.to_base(depth.depth);
    let most = stated.unwrap_or(MOST);
    if now + earlier <= most * (1.0 + 1e-9) {
        return Ok(());
    }
    let before = match earlier > 0.0 {
        true => format!(", with the {earlier:.3} mm of before"),
        false => String::new(),
    };
    let whose = match stated {
        Some(most) => format!("the {most:.3} mm that the engine file lets be cut in all"),
        None => format!("the {MOST:.1} mm that are hardly ever cut in all"),
    };
    Err(Refusal::new(
        Reason::BadInput,
        format!(
            "the depth is {} {}, {now:.3} mm{before}: more than {whose}",
            depth.depth, depth.unit
        ),
    )
    .expected("how deep this cut alone went")
    .todo("correct the depth or its unit, or say that you are sure of it (`--sure`); nothing was kept"))
}
