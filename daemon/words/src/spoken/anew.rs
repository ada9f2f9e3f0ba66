//! What is measured again, does not count, or was not kept.

use benchhand_blueprint::Spot;
use benchhand_wire::Refusal;

use crate::spots;

/// The spot as it is spoken: "deck 5 front", "dome or dish 3".
pub fn called(spot: &Spot) -> String {
    spots::said(&spot.to_string())
}

/// A reading must be taken again.
pub fn again(spot: &Spot) -> String {
    format!("{} again", called(spot))
}

/// A held value was withdrawn.
pub fn withdrawn(spot: &Spot, why: &str) -> String {
    format!("{} does not count: {why}; take it again", called(spot))
}

/// The journal refused: the value is not kept.
pub fn not_kept(refusal: &Refusal) -> String {
    // A refusal of the record says so itself.
    let why = refusal.to_string();
    format!(
        "not kept: {}",
        why.strip_prefix("not kept: ").unwrap_or(&why)
    )
}

/// Two rounds disagree.
pub fn third_round(spot: &Spot, apart: &str) -> String {
    format!("{}: {apart}; a third round is asked for", called(spot))
}

/// The repeat that disagreed does not count any more.
pub fn no_third_round(spot: &Spot) -> String {
    format!(
        "{}: the rounds agree now; no third round is needed",
        called(spot)
    )
}
