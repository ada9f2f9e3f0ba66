//! Assignment against trying everything, on invented sets of parts. A failing case prints itself and
//! its seed.

use benchhand_blueprint::Unit;
use benchhand_blueprint::decide::{
    AssignmentError, BoreToFill, PartSide, PistonPart, RodPart, assign, assign_by_sorting,
};
use benchhand_blueprint::figure::{Estimate, Scalar};
use benchhand_blueprint::formula::compression::CylinderVolumes;
use proptest::prelude::*;

/// A set of bores, pistons and rods as a shop has them: all a little different.
#[derive(Debug, Clone)]
struct Parts {
    bores: Vec<BoreToFill>,
    pistons: Vec<PistonPart>,
    rods: Vec<RodPart>,
}

fn parts(n: usize, equal_rods: bool) -> impl Strategy<Value = Parts> {
    let numbers = |spread: f64| prop::collection::vec(-spread..spread, n);
    let steps = |spread: i32| prop::collection::vec(-spread..spread, n);
    (
        numbers(0.15),
        numbers(0.6),
        steps(5),
        numbers(0.4),
        steps(4),
        steps(3),
    )
        .prop_map(
            move |(bores, chambers, decks, crowns, heights, lengths)| Parts {
                bores: (0..n)
                    .map(|at| BoreToFill {
                        cylinder: at as u32 + 1,
                        side: at % 2,
                        bore: Estimate::exact(101.6 + bores[at]),
                        stroke: Estimate::exact(88.4),
                        block_height: Estimate::exact(229.0 + 0.01 * f64::from(decks[at])),
                        throw: Estimate::exact(44.2),
                        chamber: Estimate::exact(64.0 + chambers[at]),
                        gasket_bore: Estimate::exact(104.0),
                        gasket_thickness: Estimate::exact(1.0),
                        crevice: Estimate::exact(0.8),
                        fitted_piston: None,
                        fitted_rod: None,
                    })
                    .collect(),
                pistons: (0..n)
                    .map(|at| PistonPart {
                        name: format!("piston {at}"),
                        crown: Estimate::exact(-3.0 + crowns[at]),
                        height: Estimate::exact(30.0 + 0.01 * f64::from(heights[at])),
                        pin_offset: Estimate::exact(0.0),
                        side: PartSide::Any,
                    })
                    .collect(),
                rods: (0..n)
                    .map(|at| RodPart {
                        name: format!("rod {at}"),
                        length: Estimate::exact(
                            154.4
                                + if equal_rods {
                                    0.0
                                } else {
                                    0.01 * f64::from(lengths[at])
                                },
                        ),
                        side: PartSide::Any,
                    })
                    .collect(),
            },
        )
}

fn ratio(parts: &Parts, bore: usize, piston: usize, rod: usize) -> f64 {
    let (b, p, r) = (&parts.bores[bore], &parts.pistons[piston], &parts.rods[rod]);
    let v = |estimate: &Estimate| estimate.value();
    CylinderVolumes {
        bore: v(&b.bore),
        stroke: v(&b.stroke),
        chamber: v(&b.chamber),
        gasket_bore: v(&b.gasket_bore),
        gasket_thickness: v(&b.gasket_thickness),
        deck: v(&b.block_height) - v(&b.throw) - v(&r.length) - v(&p.height),
        crown: v(&p.crown),
        crevice: v(&b.crevice),
    }
    .ratio()
}

fn permutations(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let longer = |shorter: Vec<usize>| {
        (0..n).map(move |at| {
            let mut longer = shorter.clone();
            longer.insert(at, n - 1);
            longer
        })
    };
    permutations(n - 1).into_iter().flat_map(longer).collect()
}

/// The least spread, by trying everything that the sides allow.
fn brute_force(parts: &Parts, with_rods: bool) -> f64 {
    let n = parts.bores.len();
    let ways = permutations(n);
    let own: Vec<Vec<usize>> = vec![(0..n).collect()];
    let rods = if with_rods { &ways } else { &own };
    let allowed = |side: PartSide, bore: usize| match side {
        PartSide::Any => true,
        PartSide::Only(only) => only == parts.bores[bore].side,
    };
    let mut best = f64::INFINITY;
    for pistons in &ways {
        if !(0..n).all(|bore| allowed(parts.pistons[pistons[bore]].side, bore)) {
            continue;
        }
        for rods in rods {
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            for bore in 0..n {
                let ratio = ratio(parts, bore, pistons[bore], rods[bore]);
                low = low.min(ratio);
                high = high.max(ratio);
            }
            best = best.min(high - low);
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn pistons_alone_are_placed_as_well_as_by_trying_everything(
        parts in (2usize..=7).prop_flat_map(|n| parts(n, true)),
        sided in any::<bool>(),
    ) {
        let mut parts = parts;
        for (at, bore) in parts.bores.iter_mut().enumerate() {
            bore.fitted_rod = Some(at);
        }
        if sided {
            for (at, piston) in parts.pistons.iter_mut().enumerate() {
                piston.side = PartSide::Only(at % 2);
            }
        }
        let found = assign(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch).unwrap();
        let best = brute_force(&parts, false);
        prop_assert!((found.spread.value - best).abs() < 1e-10, "{} {best}", found.spread.value);
        for (at, placed) in found.placed.iter().enumerate() {
            prop_assert_eq!(&placed.rod, &format!("rod {at}"));
            if sided {
                let piston: usize = placed.piston.trim_start_matches("piston ").parse().unwrap();
                prop_assert_eq!(piston % 2, at % 2);
            }
        }
    }

    #[test]
    fn pistons_and_rods_are_placed_as_well_as_by_trying_everything(
        parts in (2usize..=5).prop_flat_map(|n| parts(n, false)),
    ) {
        let found = assign(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch).unwrap();
        let best = brute_force(&parts, true);
        prop_assert!((found.spread.value - best).abs() < 1e-10, "{} {best}", found.spread.value);
        let sorted = assign_by_sorting(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch).unwrap();
        prop_assert!(found.spread.value <= sorted.spread.value + 1e-12);
        let again = assign(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch).unwrap();
        prop_assert_eq!(found, again);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2))]

    #[test]
    fn eight_pistons_are_placed_as_well_as_by_trying_all_40320_ways(parts in parts(8, true)) {
        let mut parts = parts;
        for (at, bore) in parts.bores.iter_mut().enumerate() {
            bore.fitted_rod = Some(at);
        }
        let found = assign(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch).unwrap();
        prop_assert!((found.spread.value - brute_force(&parts, false)).abs() < 1e-10);
    }
}

#[test]
fn of_equal_answers_the_first_in_order_is_given() {
    // Pistons 1 and 2 are alike, and so are all rods: the list itself decides.
    let mut parts = {
        use proptest::strategy::ValueTree;
        let mut runner = proptest::test_runner::TestRunner::deterministic();
        parts(5, true).new_tree(&mut runner).unwrap().current()
    };
    parts.pistons[2] = PistonPart {
        name: "piston 2".to_owned(),
        ..parts.pistons[1].clone()
    };
    let found = assign(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch).unwrap();
    let at = |name: &str| found.placed.iter().position(|placed| placed.piston == name);
    assert!(at("piston 1") < at("piston 2"));
    let rods: Vec<&str> = found
        .placed
        .iter()
        .map(|placed| placed.rod.as_str())
        .collect();
    assert_eq!(rods, ["rod 0", "rod 1", "rod 2", "rod 3", "rod 4"]);
}

#[test]
fn parts_that_cannot_all_be_built_in_are_refused() {
    let mut parts = {
        use proptest::strategy::ValueTree;
        let mut runner = proptest::test_runner::TestRunner::deterministic();
        parts(4, false).new_tree(&mut runner).unwrap().current()
    };
    let of = |parts: &Parts| assign(&parts.bores, &parts.pistons, &parts.rods, Unit::Inch);
    parts.bores[0].fitted_piston = Some(3);
    assert_eq!(of(&parts).unwrap().placed[0].piston, "piston 3");
    for piston in &mut parts.pistons {
        piston.side = PartSide::Only(1);
    }
    assert_eq!(of(&parts), Err(AssignmentError::Impossible));
    parts.rods.pop();
    assert!(
        of(&parts)
            .unwrap_err()
            .to_string()
            .contains("4 bores, 4 pistons and 3 rods")
    );
}
