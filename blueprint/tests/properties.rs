//! Properties that hold for every sensible engine. A failing case prints itself and its seed.

use benchhand_blueprint::decide::{
    MillAim, MillModel, dome_to_order, expected_spread_of_equals, mill_flat, what_if,
};
use benchhand_blueprint::engine::StatedValue;
use benchhand_blueprint::engine_figures::{CylinderFigures, EngineFigures, spread};
use benchhand_blueprint::figure::{Estimate, Scalar};
use benchhand_blueprint::formula::compression::{CylinderVolumes, clearance_for};
use benchhand_blueprint::formula::volume::{circle, crevice, crown_in_bore, disc};
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Unit};
use proptest::prelude::*;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

const FREE: f64 = f64::INFINITY;

prop_compose! {
    /// A sensible engine's cylinder: 70 to 120 mm square, ratios from about 7 to 16.
    fn cylinders()(
        bore in 70.0..120.0f64,
        square in 0.8..1.2f64,
        ratio in 7.5..15.0f64,
        gasket in 0.5..4.0f64,
        thickness in 0.5..2.0f64,
        deck in -0.3..1.0f64,
        crown in -20.0..20.0f64,
        crevice in 0.0..1.5f64,
    ) -> CylinderVolumes<f64> {
        let mut cylinder = CylinderVolumes {
            bore,
            stroke: bore * square,
            chamber: 0.0,
            gasket_bore: bore + gasket,
            gasket_thickness: thickness,
            deck,
            crown,
            crevice,
        };
        let chamber = clearance_for(&cylinder.swept(), &ratio) - cylinder.clearance();
        // A chamber is not smaller than half of its clearance volume; the crown gives way.
        let least = 0.5 * clearance_for(&cylinder.swept(), &ratio);
        cylinder.chamber = chamber.max(least);
        cylinder.crown -= chamber - cylinder.chamber;
        cylinder
    }
}

fn estimates(c: &CylinderVolumes<f64>, u: &[f64; 8], name: &str) -> CylinderVolumes<Estimate> {
    let values = [
        c.bore,
        c.stroke,
        c.chamber,
        c.gasket_bore,
        c.gasket_thickness,
        c.deck,
        c.crown,
        c.crevice,
    ];
    let of = |at: usize| Estimate::input(format!("{name} {at}"), values[at], Some(u[at]), FREE);
    CylinderVolumes {
        bore: of(0),
        stroke: of(1),
        chamber: of(2),
        gasket_bore: of(3),
        gasket_thickness: of(4),
        deck: of(5),
        crown: of(6),
        crevice: of(7),
    }
}

fn known(number: u32, c: &CylinderVolumes<Estimate>) -> CylinderFigures {
    CylinderFigures {
        number,
        bank: "1".to_owned(),
        bore: Some(c.bore.clone()),
        stroke: Some(c.stroke.clone()),
        chamber: Some(c.chamber.clone()),
        deck: Some(c.deck.clone()),
        deck_low: None,
        crown: Some(c.crown.clone()),
        gasket_bore: Some(c.gasket_bore.clone()),
        gasket_thickness: Some(c.gasket_thickness.clone()),
        crevice: Some(c.crevice.clone()),
        rod: None,
        block_height: None,
        compression_height: None,
    }
}

fn state(cylinders: &[CylinderVolumes<Estimate>]) -> EngineFigures {
    EngineFigures {
        stage: "as received".to_owned(),
        units: benchhand_blueprint::engine::LengthUnits::Metric,
        cylinders: cylinders
            .iter()
            .zip(1..)
            .map(|(c, number)| known(number, c))
            .collect(),
        counts: Default::default(),
        flow: Vec::new(),
    }
}

const SMALL: [f64; 8] = [0.0025, 0.01, 0.12, 0.1, 0.015, 0.006, 0.15, 0.1];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn volumes_and_the_ratio_move_the_right_way_with_each_input(c in cylinders(), part in 0.001..0.02f64) {
        let ratio = c.ratio();
        let with = |change: &dyn Fn(&mut CylinderVolumes<f64>)| {
            let mut other = c.clone();
            change(&mut other);
            other
        };
        prop_assert!(with(&|o| o.stroke *= 1.0 + part).ratio() > ratio);
        prop_assert!(with(&|o| o.chamber += part * 50.0).ratio() < ratio);
        prop_assert!(with(&|o| o.gasket_bore += part * 50.0).ratio() < ratio);
        prop_assert!(with(&|o| o.gasket_thickness += part).ratio() < ratio);
        prop_assert!(with(&|o| o.deck += part).ratio() < ratio);
        prop_assert!(with(&|o| o.crown += part * 50.0).ratio() > ratio);
        prop_assert!(with(&|o| o.crevice += part * 50.0).ratio() < ratio);
        // A larger bore sweeps more; the deck takes less than that back.
        prop_assert!(with(&|o| o.bore *= 1.0 + part).ratio() > ratio);
        prop_assert!(with(&|o| o.bore *= 1.0 + part).swept() > c.swept());
        prop_assert!(disc(&(c.bore + part), &c.stroke) > disc(&c.bore, &c.stroke));
        prop_assert!(circle(&(c.bore + part)) > circle(&c.bore));
        let land = c.bore - 1.0;
        prop_assert!(crevice(&c.bore, &land, &(6.0 + part)) > crevice(&c.bore, &land, &6.0));
        prop_assert!(crevice(&c.bore, &(land + part), &6.0) < crevice(&c.bore, &land, &6.0));
        // More liquid on the crown is less dome; a deeper piston with the same liquid is more.
        let crown = crown_in_bore(&c.bore, &10.0, &0.0, &60.0);
        prop_assert!(crown_in_bore(&c.bore, &10.0, &0.0, &(60.0 + part)) < crown);
        prop_assert!(crown_in_bore(&c.bore, &(10.0 + part), &0.0, &60.0) > crown);
    }

    #[test]
    fn uncertainty_does_not_depend_on_the_units(c in cylinders(), u in 0.001..0.05f64) {
        let stated = |mm: f64, unit: Unit| {
            let value = Quantity { value: unit.from_base(mm), unit };
            let u = Quantity { value: unit.difference_from_base(u), unit };
            StatedValue::new(value, QuantityKind::Length).unwrap().with_u(u).unwrap()
        };
        let cc = |value: f64, unit: Unit| {
            let value = Quantity { value: unit.from_base(value), unit };
            let u = Quantity { value: unit.difference_from_base(u), unit };
            StatedValue::new(value, QuantityKind::Volume).unwrap().with_u(u).unwrap()
        };
        let in_units = |length: Unit, volume: Unit| CylinderVolumes {
            bore: stated(c.bore, length).estimate("bore"),
            stroke: stated(c.stroke, length).estimate("stroke"),
            chamber: cc(c.chamber, volume).estimate("chamber"),
            gasket_bore: stated(c.gasket_bore, length).estimate("gasket bore"),
            gasket_thickness: stated(c.gasket_thickness, length).estimate("thickness"),
            deck: stated(c.deck, length).estimate("deck"),
            crown: cc(c.crown, volume).estimate("crown"),
            crevice: cc(c.crevice, volume).estimate("crevice"),
        }.ratio();
        let metric = in_units(Unit::Millimetre, Unit::CubicCentimetre);
        let inch = in_units(Unit::Inch, Unit::CubicInch);
        prop_assert!((metric.value() / inch.value() - 1.0).abs() < 1e-13);
        prop_assert!((metric.u().unwrap() / inch.u().unwrap() - 1.0).abs() < 1e-12);
        let (length, back) = (metric.figure(Unit::One), inch.figure(Unit::One));
        prop_assert_eq!(length.unit, back.unit);
    }

    #[test]
    fn shared_errors_cancel_in_the_spread(
        values in prop::collection::vec(50.0..80.0f64, 2..9),
        shared in 0.01..2.0f64,
        own in 0.001..0.2f64,
    ) {
        let scale = benchhand_blueprint::figure::ErrorSource::new("burette", Some(shared), FREE);
        let all: Vec<Estimate> = values.iter().enumerate().map(|(at, value)| {
            Estimate::input(format!("reading {at}"), *value, Some(own), FREE)
                .with(scale.clone(), 1.0)
        }).collect();
        let found = spread(&all).unwrap().u().unwrap();
        prop_assert!((found - own * 2f64.sqrt()).abs() < 1e-9 * own);
        let mean = Estimate::mean(&all).unwrap().u().unwrap();
        let expected = (shared * shared + own * own / values.len() as f64).sqrt();
        prop_assert!((mean / expected - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_larger_of_two_engines_needs_the_smaller_dome(
        c in cylinders(),
        grow in 1.01..1.2f64,
        longer in any::<bool>(),
    ) {
        let target = c.ratio();
        let dome = |cylinder: &CylinderVolumes<f64>| {
            let mut flat = cylinder.clone();
            flat.crown = 0.0;
            flat.clearance() - clearance_for(&flat.swept(), &target)
        };
        let mut larger = c.clone();
        if longer { larger.stroke *= grow } else { larger.bore *= grow }
        // Sensible: the same gasket still covers the bore, and the piston is not above the deck by
        // more than the bore's growth takes.
        prop_assume!(larger.bore <= larger.gasket_bore);
        prop_assert!(larger.swept() > c.swept());
        prop_assert!(dome(&larger) < dome(&c));
    }

    #[test]
    fn mill_and_dome_decisions_applied_hit_the_target(
        c in cylinders(),
        more in 0.1..1.0f64,
        area in 3000.0..7000.0f64,
        off in prop::collection::vec(-0.5..0.5f64, 4),
    ) {
        let all: Vec<CylinderVolumes<Estimate>> = off.iter().enumerate().map(|(at, off)| {
            let mut other = c.clone();
            other.chamber += off;
            estimates(&other, &SMALL, &format!("cylinder {at}"))
        }).collect();
        let state = state(&all);
        let target = c.ratio() + more;
        let model = MillModel::Area(Estimate::exact(area));
        let found = mill_flat(&state, &[1, 2, 3, 4], &model, MillAim::Ratio(target), None).unwrap();
        let ratios: Vec<f64> =
            found.after.iter().map(|one| one.compression.clone().unwrap().value).collect();
        let mean = ratios.iter().sum::<f64>() / 4.0;
        prop_assert!((mean - target).abs() < 1e-10, "{mean} {target}");
        let order = dome_to_order(&state, target, None).unwrap();
        for (number, crown) in &order.each {
            let change = format!("crown/{number} = {} cc", crown.value).parse().unwrap();
            let (after, _) = what_if(&state, &[change]).unwrap();
            let ratio = after.ratios()[*number as usize - 1].1.value();
            prop_assert!((ratio - target).abs() < 1e-10, "{ratio} {target}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn the_spread_of_equal_parts_is_the_median_range(n in 2usize..12, u in 0.01..1.0f64, seed in any::<u64>()) {
        let equal: Vec<Estimate> =
            (0..n).map(|at| Estimate::input(format!("part {at}"), 64.0, Some(u), FREE)).collect();
        let found = expected_spread_of_equals(&equal, 20_000, seed).unwrap() / u;
        // The probability that the range of n normal values is below w: n·∫ φ(x)·(Φ(x+w) − Φ(x))^(n−1) dx.
        let normal = Normal::standard();
        let step = 1.0 / 64.0;
        let below: f64 = (-640..=640)
            .map(|at| f64::from(at) * step)
            .map(|x| normal.pdf(x) * (normal.cdf(x + found) - normal.cdf(x)).powi(n as i32 - 1))
            .sum::<f64>() * step * n as f64;
        // Five standard errors of a share of one half of 20 000.
        prop_assert!((below - 0.5).abs() < 5.0 * 0.5 / 20_000f64.sqrt(), "{found} {below}");
    }
}
