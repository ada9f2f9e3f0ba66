//! Earlier readings that later ones put in doubt.

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Quantity, Spot};

use super::{ExpectationSource, ExpectedAt, Known};
use crate::known::slips::{Written, looks_like_a_slip_by_now};
use crate::store::fact::{ASKED, ReadingSource};
use crate::store::view::{JobView, KeptReading};

/// The reading of the only other measured cylinder, of the same head where there is one, if no
/// person confirmed it.
pub fn only_brother(engine: &Engine, view: &JobView, spot: &Spot) -> Option<u64> {
    let Spot::Chamber { cylinder } = spot else {
        return None;
    };
    let stage = view.stage();
    let measured = |cylinders: &[u32]| {
        let others = cylinders.iter().filter(|other| *other != cylinder);
        let kept = others.filter_map(|&cylinder| {
            let spot = Spot::Chamber { cylinder }.to_string();
            view.newest_at(stage, &spot).next()
        });
        kept.collect::<Vec<_>>()
    };
    let head = engine.bank_of(*cylinder);
    let mut kept = measured(head.map_or(&[], |bank| &bank.cylinders));
    if kept.is_empty() {
        kept = measured(&(1..=engine.cylinders).collect::<Vec<_>>());
    }
    let [only] = kept[..] else {
        return None;
    };
    (!only.labels.contains_key(ASKED)).then_some(only.id)
}

/// The readings of other cylinders that lie far from what the rest agrees on, and that no person
/// confirmed. A later reading may put them in doubt. Two readings that agree are needed.
pub fn doubted_brothers(engine: &Engine, view: &JobView, spot: &Spot) -> Vec<u64> {
    let Spot::Chamber { cylinder } = spot else {
        return Vec::new();
    };
    let kind = QuantityKind::Volume;
    let head = engine.bank_of(*cylinder);
    let others = head.map_or_else(Vec::new, |bank| bank.cylinders.clone());
    let doubted = others.into_iter().filter_map(|other| {
        let of = Spot::Chamber { cylinder: other };
        let at = ExpectedAt {
            stage: view.stage(),
            spot: &of,
            round: 1,
            kind,
        };
        let known = Known::of(engine, view, at);
        let kept = known.newest_at(view.stage(), &of).next()?;
        let around = known.brothers()?;
        let several = matches!(around.source, ExpectationSource::Brothers { count } if count >= 3);
        let far = several && !around.holds(known.value(kept)?);
        let odd = far || was_a_slip(view, &of, kept);
        (odd && !kept.labels.contains_key(ASKED)).then_some(kept.id)
    });
    doubted.collect()
}

/// Whether a reading that a person wrote looks like a slip by now.
fn was_a_slip(view: &JobView, spot: &Spot, kept: &KeptReading) -> bool {
    let Ok(unit) = kept.unit.parse() else {
        return false;
    };
    let value = Quantity {
        value: kept.value,
        unit,
    };
    let written = Written::of(kept.value, kept.raw, &kept.labels);
    kept.source != ReadingSource::Captured
        && looks_like_a_slip_by_now(view, spot, value, &written).is_some()
}
