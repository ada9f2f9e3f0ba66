//! How deep heads were cut, as it is typed: nothing that no head allows without a question.

use benchhand_blueprint::engine::CutTooDeep;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Unit};
use benchhand_wire::{Reason, Refusal};

use crate::known::inputs;
use crate::store::fact::CutDepth;
use crate::store::view::JobView;

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

/// Refuses a depth that, with those of the other cuts, is more than may be cut: every later figure
/// rests on it. It went into the heads of these cylinders, into all where none is named. The depth takes the place of the one that the cut of the stage `instead_of` has.
///
/// # Errors
/// It is more.
pub(super) fn within_most(
    view: &JobView,
    depth: &CutDepth,
    cylinders: &[u32],
    instead_of: Option<&str>,
) -> Result<(), Refusal> {
    let Ok(unit) = depth.unit.parse::<Unit>() else {
        return Ok(());
    };
    let now = unit.to_base(depth.depth);
    // An engine file that cannot be used has nothing to say of it.
    let engine = inputs::engine(view).ok().map(|engine| {
        let mut engine = (*engine).clone();
        engine
            .cuts
            .retain(|stage, _| instead_of != Some(stage.as_str()));
        engine
    });
    let Some(deep) = CutTooDeep::of(now, cylinders, engine.as_ref()) else {
        return Ok(());
    };
    let before = match deep.earlier > 0.0 {
        true => format!(", with the {:.3} mm of before", deep.earlier),
        false => String::new(),
    };
    let whose = match deep.stated {
        true => format!(
            "the {:.3} mm that the engine file lets be cut in all",
            deep.most
        ),
        false => format!("the {:.1} mm that are hardly ever cut in all", deep.most),
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
