//! Decisions on the example engine: what they say, and that they do what they say when applied.

use benchhand_blueprint::decide::*;
use benchhand_blueprint::engine_figures::EngineFigures;
use benchhand_blueprint::figure::{Estimate, Scalar};
use benchhand_blueprint::report::engine_figures;
use benchhand_blueprint::{Engine, ReportInputs, Unit, readings};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../examples/invented-v8-readings.csv");

fn state_of(csv: &str) -> EngineFigures {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    engine_figures(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn mean_ratio(state: &EngineFigures) -> f64 {
    let ratios: Vec<f64> = state
        .ratios()
        .iter()
        .map(|(_, ratio)| ratio.value())
        .collect();
    ratios.iter().sum::<f64>() / ratios.len() as f64
}

fn apply(state: &EngineFigures, changes: &[String]) -> EngineFigures {
    let changes: Vec<DimensionChange> = changes
        .iter()
        .map(|text| text.parse().unwrap_or_else(|error| panic!("{error}")))
        .collect();
    what_if(state, &changes)
        .unwrap_or_else(|error| panic!("{error}"))
        .0
}

#[test]
fn what_removes_the_difference_to_a_target_does_so() {
    let state = state_of(READINGS);
    let changes: Vec<String> = target(&state, 10.9)
        .iter()
        .map(|at| {
            format!("chamber/{} -= {} cc", at.cylinder, at.remove.value).replace("-= -", "+= ")
        })
        .collect();
    assert_eq!(changes.len(), 8);
    for (number, ratio) in apply(&state, &changes).ratios() {
        assert!(
            (ratio.value() - 10.9).abs() < 1e-12,
            "cylinder {number}: {}",
            ratio.value()
        );
    }
}

#[test]
fn sensitivities_are_the_changes_that_a_step_makes() {
    let state = state_of(READINGS);
    let known = &state.cylinders[0];
    let whole = known.whole().expect("all known");
    let list = sensitivities(&whole, Unit::Inch);
    assert!(list.is_sorted_by(|a, b| a.contribution >= b.contribution));
    assert_ne!(
        list[0].input.name(),
        "stroke",
        "a large slope, and known to a thousandth"
    );
    // What is not known stands last, apart from what contributes nothing.
    let mut bare = whole.clone();
    bare.chamber = Estimate::input("chamber", whole.chamber.value(), None, f64::INFINITY);
    let last = sensitivities(&bare, Unit::Inch)
        .pop()
        .expect("eight inputs");
    assert_eq!((last.input.name(), last.contribution), ("chamber", None));
    for one in &list {
        let signs: f64 = match one.input.name() {
            "bore" | "stroke" | "crown" => 1.0,
            _ => -1.0,
        };
        assert_eq!(one.change.signum(), signs, "{}", one.input);
        assert!(one.contribution.is_some(), "{}", one.input);
        if one.input.name() == "stroke" {
            continue; // A longer stroke also lifts the piston in a what-if.
        }
        let text = format!(
            "{}/1 += {} {}",
            one.input,
            one.step.value * 1e-3,
            one.step.unit
        );
        let after = apply(&state, &[text]).ratios()[0].1.value();
        let change = 1e3 * (after - known.ratio().expect("known").value());
        assert!(
            (change / one.change - 1.0).abs() < 1e-4,
            "{}: {change}",
            one.input
        );
    }
}

#[test]
fn a_head_milled_to_the_depth_decided_on_reaches_the_mean_ratio() {
    let state = state_of(READINGS);
    let left = [1, 3, 5, 7];
    let area = MillModel::Area(Estimate::input("area", 5720.0, Some(20.0), f64::INFINITY));
    let found = mill_flat(&state, &left, &area, MillAim::Ratio(10.8), None).expect("a decision");
    let ratios: Vec<f64> = found
        .after
        .iter()
        .map(|one| one.compression.clone().expect("known").value)
        .collect();
    assert_eq!(ratios.len(), 4);
    assert!((ratios.iter().sum::<f64>() / 4.0 - 10.8).abs() < 1e-12);
    assert!(found.depth.value > 0.0 && found.depth.u.expect("known") > 0.0);
    // The depth carries what is not known of the chambers and of the area.
    let exact = MillModel::Area(Estimate::exact(5720.0));
    let less = mill_flat(&state, &left, &exact, MillAim::Ratio(10.8), None).expect("a decision");
    assert!(less.depth.u < found.depth.u);
    assert!((less.depth.value - found.depth.value).abs() < 1e-15);
}

#[test]
fn the_uncertainty_of_a_depth_is_what_a_change_of_its_inputs_makes() {
    let state = state_of(READINGS);
    let model = MillModel::Area(Estimate::exact(5720.0));
    let all: Vec<u32> = (1..=8).collect();
    let depth = |state: &EngineFigures| {
        let found = mill_flat(state, &all, &model, MillAim::Ratio(10.8), None).expect("a decision");
        found.depth.value
    };
    // Only the gasket's thickness is not known exactly.
    let mut state = state;
    for known in &mut state.cylinders {
        let exact = |value: &Estimate| Estimate::exact(value.value());
        known.bore = known.bore.as_ref().map(exact);
        known.stroke = known.stroke.as_ref().map(exact);
        known.chamber = known.chamber.as_ref().map(exact);
        known.deck = known.deck.as_ref().map(exact);
        known.crown = known.crown.as_ref().map(exact);
        known.gasket_bore = known.gasket_bore.as_ref().map(exact);
        known.crevice = known.crevice.as_ref().map(exact);
        known.gasket_thickness = Some(Estimate::input("thickness", 1.0, Some(0.01), f64::INFINITY));
    }
    let found = mill_flat(&state, &all, &model, MillAim::Ratio(10.8), None).expect("a decision");
    let thicker = apply(&state, &["gasket thickness += 0.0001 mm".to_owned()]);
    let slope = (depth(&thicker) - depth(&state)) / 1e-4;
    assert!((found.depth.u.expect("known") - 0.01 * slope.abs()).abs() < 1e-8);
}

#[test]
fn depth_is_learned_from_cuts_already_made() {
    // V = 64 − 5.7·depth, with a little scatter; cc and mm.
    let pairs = [
        (0.0, 64.01),
        (0.0, 63.98),
        (0.1, 63.44),
        (0.25, 62.56),
        (0.25, 62.59),
    ];
    let model = learn(&pairs).expect("a slope");
    let state = state_of(READINGS);
    let all: Vec<u32> = (1..=8).collect();
    let found = mill_flat(&state, &all, &model, MillAim::Chamber(63.0), None).expect("a decision");
    let mean = found.after.iter().map(|one| one.chamber.value).sum::<f64>() / 8.0;
    assert!((mean - 63.0).abs() < 1e-12);
    let taken = found.taken.value;
    assert!((found.depth.value * 25.4 * 5.7 - taken).abs() < 0.02 * taken);
    assert!(found.depth.u.is_some());
    // One cut only: no error estimate, and it says so.
    let model = learn(&pairs[1..3]).expect("a slope");
    let found = mill_flat(&state, &all, &model, MillAim::Chamber(63.0), None).expect("a decision");
    assert_eq!(found.depth.u, None);
    assert!(
        found
            .warnings
            .iter()
            .any(|text| text.contains("one cut only"))
    );
    assert!(learn(&[(0.0, 64.0)]).is_err());
    assert!(learn(&[(0.0, 64.0), (0.1, 64.2)]).is_err());
}

#[test]
fn an_angled_cut_is_as_deep_at_the_centroid_as_a_flat_one() {
    let state = state_of(READINGS);
    let model = MillModel::Area(Estimate::exact(5720.0));
    let all: Vec<u32> = (1..=8).collect();
    let flat = mill_flat(&state, &all, &model, MillAim::Ratio(10.8), Some(0.1)).expect("flat");
    let tip = TippedCut {
        angle: Estimate::exact(0.5),
        centroid: Estimate::exact(20.0),
        far_edge: None,
    };
    let aim = MillAim::Ratio(10.8);
    let angled = mill_angled(&state, &all, &model, aim, None, &tip).expect("angled");
    assert_eq!(flat.depth.value, angled.depth.value);
    let pivot = angled.depth_at_pivot.expect("a depth").value;
    let lean = 20.0 * 0.5f64.to_radians().tan() / 25.4;
    assert!((pivot + lean - flat.depth.value).abs() < 1e-12);
    let why = flat.why_not.expect("deeper than 0.1 mm");
    assert!(why.contains("that may be cut"), "{why}");
    assert!(angled.warnings.iter().any(|text| text.contains("angle")));
}

#[test]
fn a_cut_cannot_make_a_chamber_larger() {
    let state = state_of(READINGS);
    let model = MillModel::Area(Estimate::exact(5720.0));
    let found = mill_flat(&state, &[2, 4], &model, MillAim::Ratio(9.0), None).expect("a decision");
    assert!(found.depth.value < 0.0);
    let why = found.why_not.expect("no cut makes a chamber larger");
    assert!(
        why.contains("no cut reaches it") && found.warnings.is_empty(),
        "{why}"
    );
}

/// The least metal: the chambers that are too small come within what is allowed, the others stay.
#[test]
fn the_least_metal_brings_the_spread_within_what_is_allowed() {
    let state = state_of(READINGS);
    let size = |state: &EngineFigures, at: usize| {
        let chamber = state.cylinders[at].chamber.as_ref();
        chamber.expect("known").value()
    };
    let work = least_chamber_work(&state, 0.5).expect("work");
    assert_eq!((work.equal, work.reference), (MadeEqual::Allowed, 6));
    let changes: Vec<String> = work
        .work
        .iter()
        .map(|at| format!("chamber/{} += {} cc", at.cylinder, at.remove.value))
        .collect();
    let after = apply(&state, &changes);
    for at in 0..8 {
        let below = size(&after, 5) - size(&after, at);
        assert!(below <= 0.5, "chamber {} is {below} below", at + 1);
        let own = &work.work[at];
        match own.worth_it {
            Some(true) => assert!(own.remove.value > 0.0),
            _ => assert_eq!(own.remove.value, 0.0),
        }
    }
    assert_eq!(size(&after, 5), size(&state, 5), "the largest stays");
    let equal = chamber_work(&state, MadeEqual::Chambers).expect("work");
    let all = |work: &ChamberWork| work.work.iter().map(|one| one.remove.value).sum::<f64>();
    assert!(all(&work) < all(&equal) - 2.0);
    let ratio = |work: &ChamberWork| work.compression_after.as_ref().expect("known").value;
    assert!((ratio(&work) - mean_ratio(&after)).abs() < 1e-9);
    assert!(ratio(&work) > ratio(&equal));
    // Where all lie within it nothing comes out.
    let wide = least_chamber_work(&state, 3.0).expect("work");
    assert!(wide.work.iter().all(|one| one.remove.value == 0.0));
}

#[test]
fn chambers_are_brought_to_the_one_that_needs_no_work() {
    let state = state_of(READINGS);
    let work = chamber_work(&state, MadeEqual::Chambers).expect("work");
    assert_eq!(work.reference, 6, "the large one");
    let changes: Vec<String> = work
        .work
        .iter()
        .map(|at| format!("chamber/{} += {} cc", at.cylinder, at.remove.value))
        .collect();
    let after = apply(&state, &changes);
    let largest = state.cylinders[5].chamber.as_ref().expect("known").value();
    for known in &after.cylinders {
        assert!((known.chamber.as_ref().expect("known").value() - largest).abs() < 1e-12);
    }
    assert!(work.work.iter().all(|at| at.remove.value >= 0.0));
    assert_eq!(work.work[5].remove.value, 0.0);
    assert_eq!(work.work[0].worth_it, Some(true));

    let work = chamber_work(&state, MadeEqual::Compression).expect("work");
    let changes: Vec<String> = work
        .work
        .iter()
        .map(|at| format!("chamber/{} += {} cc", at.cylinder, at.remove.value))
        .collect();
    let ratios: Vec<f64> = apply(&state, &changes)
        .ratios()
        .iter()
        .map(|(_, ratio)| ratio.value())
        .collect();
    let before = mean_ratio(&state);
    assert!(
        ratios
            .iter()
            .all(|ratio| (ratio - ratios[0]).abs() < 1e-12 && *ratio < before)
    );
    assert!(work.compression_after.expect("known").value < before);
}

#[test]
fn the_dome_ordered_for_a_target_hits_it() {
    let state = state_of(READINGS);
    let order = dome_to_order(&state, 11.5, Some(0.2)).expect("an order");
    let changes: Vec<String> = order
        .each
        .iter()
        .map(|(n, crown)| format!("crown/{n} = {} cc", crown.value))
        .collect();
    for (_, ratio) in apply(&state, &changes).ratios() {
        assert!((ratio.value() - 11.5).abs() < 1e-12);
    }
    let one = apply(&state, &[format!("crown = {} cc", order.all.value)]);
    assert!((mean_ratio(&one) - 11.5).abs() < 0.002);
    assert_eq!(order.all.value, -order.all_opposite_sign.value);
    let (allowed, tolerance) = (
        order.allowed.expect("given"),
        order.tolerance.expect("left"),
    );
    let off = order.all.expanded().expect("known");
    assert!((allowed - tolerance - off).abs() < 1e-12);
    // The crown that is in it now does not enter.
    let without: String = READINGS
        .lines()
        .filter(|line| !line.starts_with("crown"))
        .collect::<Vec<_>>()
        .join("\n");
    let again = dome_to_order(&state_of(&without), 11.5, Some(0.2)).expect("an order");
    assert!((again.all.value - order.all.value).abs() < 1e-12);
    // Nothing is left of a tolerance that is smaller than what is not known.
    assert_eq!(
        dome_to_order(&state, 11.5, Some(0.001))
            .expect("an order")
            .tolerance,
        None
    );
}

#[test]
fn gaskets_at_hand_are_ordered_by_what_they_make_of_the_engine() {
    let state = state_of(READINGS);
    let offer = |name: &str, bore: f64, thickness: f64| GasketOffer {
        name: name.to_owned(),
        bore: Estimate::exact(bore * 25.4),
        thickness: Estimate::exact(thickness * 25.4),
    };
    let offers = [
        offer("thick", 4.10, 0.051),
        offer("small", 3.95, 0.040),
        offer("thin", 4.10, 0.027),
        offer("middle", 4.10, 0.039),
    ];
    let target = 10.55;
    let limits = (Some(0.035 * 25.4), Some(0.055 * 25.4));
    let choices = gasket_choices(&state, &offers, target, limits);
    assert_eq!(choices.last().expect("four").gasket, "small");
    assert!(
        choices[3]
            .refused
            .as_ref()
            .expect("refused")
            .contains("3.9500 in")
    );
    let off = |at: usize| choices[at].off_target.clone().expect("known").value.abs();
    assert!(off(0) <= off(1) && off(1) <= off(2));
    let thick = choices
        .iter()
        .find(|choice| choice.gasket == "thick")
        .expect("thick");
    assert!(
        thick
            .warnings
            .iter()
            .any(|text| text.contains("more than the most"))
    );
    let thin = choices
        .iter()
        .find(|choice| choice.gasket == "thin")
        .expect("thin");
    assert!(thin.warnings.iter().any(|text| text.contains("thinner")));
    let wanted = thickness_to_order(&state, target).expect("a thickness");
    let after = apply(
        &state,
        &[format!("gasket thickness = {} mm", wanted.value())],
    );
    assert!((mean_ratio(&after) - target).abs() < 0.002);
}
