//! Simulation against first order, against `cr_cases.csv`, and of the shapes that errors have.
//! Tolerances are four standard errors of the simulations, stated beside each.

mod common;

use benchhand_blueprint::Estimate;
use benchhand_blueprint::figure::{ErrorShape, ErrorSource, NormalDraws, Simulation};
use benchhand_blueprint::formula::compression::CylinderVolumes;
use common::{close, rows};

const FREE: f64 = f64::INFINITY;

#[test]
fn compression_by_simulation_agrees_with_first_order_and_with_the_file() {
    for case in rows("cr_cases.csv") {
        let n = |column| case.number(column);
        let input = |name: &str, column, u| Estimate::input(name, n(column), Some(u), FREE);
        let inputs = [
            input("B", "B", 0.0025),
            input("S", "S", 0.01),
            input("Vch", "Vch", 0.12),
            input("Gb", "Gb", 0.1),
            input("Gt", "Gt", 0.015),
            input("deck", "deck", 0.006),
            input("dome", "dome", 0.15),
            input("crev", "crev", 0.1),
        ];
        let simulation = Simulation::new(&inputs, NormalDraws::Normal).expect("all known");
        let found = simulation.distribution(200_000, 20_240_101, |x| {
            let [
                bore,
                stroke,
                chamber,
                gasket_bore,
                gasket_thickness,
                deck,
                crown,
                crevice,
            ] = *x
            else {
                panic!("eight inputs")
            };
            let cylinder = CylinderVolumes {
                bore,
                stroke,
                chamber,
                gasket_bore,
                gasket_thickness,
                deck,
                crown,
                crevice,
            };
            cylinder.ratio()
        });
        let u = n("u_uncertainties");
        // The standard error of an sd over 200 000 trials is 0.16 %, of the file's 0.11 %.
        close(found.sd(), u, 8e-3, "sd against first order");
        close(found.sd(), n("MC_sd"), 8e-3, "sd against the file");
        assert!((found.mean() - n("MC_mean")).abs() < 0.012 * u, "mean");
        let (low, high) = found.symmetric(0.95);
        // Standard error of a 2.5 % quantile: 0.6 % of u here, 0.4 % there.
        assert!((low - n("MC_lo95")).abs() < 0.03 * u, "low");
        assert!((high - n("MC_hi95")).abs() < 0.03 * u, "high");
    }
}

#[test]
fn a_simulation_says_the_same_again_and_refuses_what_is_unknown() {
    let inputs = [Estimate::input("a", 1.0, Some(0.1), FREE)];
    let simulation = Simulation::new(&inputs, NormalDraws::Normal).expect("known");
    let run = |seed| simulation.distribution(1000, seed, |x| x[0]);
    assert_eq!(run(1), run(1));
    assert_ne!(run(1), run(2));
    let unknown = [Estimate::input("a", 1.0, None, FREE)];
    assert!(Simulation::new(&unknown, NormalDraws::Normal).is_none());
}

#[test]
fn drawn_shapes_have_the_standard_deviation_of_their_source() {
    for (shape, kurtosis_bound) in [
        (ErrorShape::Normal, 3.0),
        (ErrorShape::Rectangular, 1.8),
        (ErrorShape::Triangular, 2.4),
        (ErrorShape::Arcsine, 1.5),
        (ErrorShape::Trapezoid { doubt: 0.5 }, 2.6),
    ] {
        let source = ErrorSource::limits("x", 2.0, shape, FREE);
        let u = source.u.expect("known");
        let inputs = [Estimate::new(0.0, source)];
        let simulation = Simulation::new(&inputs, NormalDraws::ScaledT).expect("known");
        let found = simulation.distribution(100_000, 3, |x| x[0]);
        close(found.sd(), u, 0.012, "sd");
        let fourth = simulation
            .distribution(100_000, 3, |x| (x[0] / u).powi(4))
            .mean();
        assert!(fourth < kurtosis_bound + 0.15, "{shape:?}: {fourth}");
    }
}
