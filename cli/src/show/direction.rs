//! The direction of a burette's scale or of a dial's number, as it was seen.

use benchhand_wire::{BuretteCounts, ChannelShows};
use serde::Serialize;

use super::figure::rounded;

/// The direction of a scale, and the movement that showed it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct SeenDirection {
    /// The gauge.
    pub(crate) gauge: String,
    /// The direction of the scale while the burette delivers.
    pub(crate) counts: BuretteCounts,
    /// The value before the movement, in `unit`.
    pub(crate) from: f64,
    /// The value after the movement, in `unit`.
    pub(crate) to: f64,
    /// The unit.
    pub(crate) unit: String,
    /// Whether the person said that it was a filling.
    pub(crate) refilled: bool,
    /// The direction in the register before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) before: Option<BuretteCounts>,
    /// Whether the register was changed.
    pub(crate) changed: bool,
}

/// The number's movement: "burette: the number rose from 0.00 to 2.35 cc".
pub(crate) fn went(gauge: &str, from: f64, to: f64, unit: &str) -> String {
    let how = if to > from { "rose" } else { "fell" };
    let (from, to) = (rounded(from, 2), rounded(to, 2));
    format!("{gauge}: the number {how} from {from} to {to} {unit}")
}

/// The movement, and the direction that follows from it.
pub(crate) fn seen(direction: &SeenDirection) -> String {
    let SeenDirection {
        gauge,
        counts,
        from,
        to,
        unit,
        refilled,
        ..
    } = direction;
    let what = if *refilled {
        "it was filled"
    } else {
        "some was let out"
    };
    let went = went(gauge, *from, *to, unit);
    format!("{went} while {what}: the scale counts {counts}")
}

/// The movement, and the present entry of the register.
pub(crate) fn told(direction: &SeenDirection) -> String {
    let seen = seen(direction);
    match (&direction.before, direction.changed) {
        (None, _) => format!("{seen}. The register keeps it."),
        (Some(before), true) => format!("{seen}. The register said {before}; it is changed."),
        (Some(before), false) if *before == direction.counts => {
            format!("{seen}, as the register says.")
        }
        (Some(before), false) => format!("{seen}. The register still says {before}."),
    }
}

/// Which way a dial's number runs, and the movement that showed it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct SeenSense {
    /// The gauge.
    pub(crate) gauge: String,
    /// 1 where the number grows as the plunger is pushed in, −1 where it shrinks.
    pub(crate) sense: i8,
    /// The value before the movement, in `unit`.
    pub(crate) from: f64,
    /// The value after the movement, in `unit`.
    pub(crate) to: f64,
    /// The unit.
    pub(crate) unit: String,
    /// Whether the plunger was pushed in. `false` where it came out.
    pub(crate) pushed_in: bool,
    /// The sense in the register before.
    pub(crate) before: i8,
    /// Whether the register was changed.
    pub(crate) changed: bool,
}

/// A dial's movement: "dial: the number rose from 0.000 to 2.350 mm".
pub(crate) fn moved(gauge: &str, from: f64, to: &ChannelShows) -> String {
    run(gauge, from, to.value, &to.unit)
}

fn run(gauge: &str, from: f64, to: f64, unit: &str) -> String {
    let how = if to > from { "rose" } else { "fell" };
    let (from, to) = (rounded(from, 3), rounded(to, 3));
    format!("{gauge}: the number {how} from {from} to {to} {unit}")
}

/// The movement, and what follows from it.
pub(crate) fn ran(seen: &SeenSense) -> String {
    let what = match seen.pushed_in {
        true => "the plunger was pushed in",
        false => "it came out",
    };
    let runs = match seen.sense {
        1 => "grows",
        _ => "shrinks",
    };
    let moved = run(&seen.gauge, seen.from, seen.to, &seen.unit);
    format!("{moved} while {what}: it {runs} as the plunger is pushed in")
}

/// The movement, and the present entry of the register.
pub(crate) fn sense_told(seen: &SeenSense) -> String {
    match seen.changed {
        true => format!(
            "{}. The register is changed; readings that were taken before keep the sign that they \
             had: look at them.",
            ran(seen)
        ),
        false => format!("{}, as the register says.", ran(seen)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn direction(before: Option<BuretteCounts>, changed: bool) -> SeenDirection {
        SeenDirection {
            gauge: "burette".into(),
            counts: BuretteCounts::Up,
            from: 0.0,
            to: 2.35,
            unit: "cc".into(),
            refilled: false,
            before,
            changed,
        }
    }

    #[test]
    fn it_says_what_it_saw_and_what_the_register_says_now() {
        assert_eq!(
            told(&direction(None, true)),
            "burette: the number rose from 0.00 to 2.35 cc while some was let out: the scale \
             counts up. The register keeps it."
        );
        assert!(
            told(&direction(Some(BuretteCounts::Up), false))
                .ends_with("counts up, as the register says.")
        );
        assert!(
            told(&direction(Some(BuretteCounts::Down), false))
                .ends_with("The register still says down.")
        );
        let changed = told(&direction(Some(BuretteCounts::Down), true));
        assert!(changed.ends_with("The register said down; it is changed."));
    }
}
