//! The worked examples of JCGM 100 (GUM) and JCGM 101 in `gum_examples.csv`. One job, and long.
//!
//! Inputs as the file states them; the twenty temperatures of GUM 4.4.3 from memory. Tolerance of
//! what is calculated: half a unit of the twelfth significant figure; of simulations: four standard
//! errors, stated beside each. The `published` column is met to the rounding of its text.

mod common;

use benchhand_blueprint::Estimate;
use benchhand_blueprint::figure::{
    ErrorShape, ErrorSource, NormalDraws, Scalar, Simulation, SourceId, coverage_factor,
    effective_dof, second_order_u,
};
use benchhand_blueprint::stats::{OneWayAnova, StraightLine, f_quantile, mean, sd};
use common::{TWELVE, close, rows};

const FREE: f64 = f64::INFINITY;

fn value(example: &str, quantity: &str) -> f64 {
    let all = rows("gum_examples.csv");
    let row = all
        .iter()
        .find(|row| row.text("example").starts_with(example) && row.text("quantity") == quantity);
    row.unwrap_or_else(|| panic!("{example}, {quantity}"))
        .number("value")
}

fn limits(name: &str, centre: f64, half: f64, shape: ErrorShape, dof: f64) -> Estimate {
    Estimate::new(centre, ErrorSource::limits(name, half, shape, dof))
}

/// The end gauge of H.1: l = ls + d − ls·(δα·θ + αs·δθ).
struct EndGauge<S> {
    ls: S,
    d: S,
    alpha: S,
    d_alpha: S,
    d_theta: S,
    theta: S,
}

impl<S: Scalar> EndGauge<S> {
    fn length(&self) -> S {
        let strain =
            self.d_alpha.clone() * self.theta.clone() + self.alpha.clone() * self.d_theta.clone();
        self.ls.clone() + self.d.clone() - self.ls.clone() * strain
    }
}

/// The comparison of H.1 as three sources, with its own effective degrees of freedom.
fn comparison(u: [f64; 3], dof: [f64; 3]) -> Estimate {
    let names = ["d repeats", "d1", "d2"];
    (0..3).fold(Estimate::exact(215.0), |d, at| {
        d.with(ErrorSource::new(names[at], Some(u[at]), dof[at]), 1.0)
    })
}

#[test]
fn gum_h1_end_gauge_by_first_and_second_order() {
    const NAME: &str = "JCGM 100 H.1";
    let d = comparison([5.8, 3.9, 6.7], [24.0, 5.0, 8.0]);
    close(
        d.u().expect("known"),
        value(NAME, "u(d)_nm"),
        TWELVE,
        "u(d)",
    );
    close(d.dof(), value(NAME, "nu(d)"), TWELVE, "nu(d)");
    let theta = Estimate::input("mean temperature", -0.1, Some(0.2), FREE).with(
        ErrorSource::limits("cycling", 0.5, ErrorShape::Arcsine, FREE),
        1.0,
    );
    let gauge = EndGauge {
        ls: Estimate::input("ls", 50_000_623.0, Some(25.0), 18.0),
        d,
        alpha: limits("alpha", 11.5e-6, 2e-6, ErrorShape::Rectangular, FREE),
        d_alpha: limits("d alpha", 0.0, 1e-6, ErrorShape::Rectangular, 50.0),
        d_theta: limits("d theta", 0.0, 0.05, ErrorShape::Rectangular, 2.0),
        theta: theta.clone(),
    };
    let length = gauge.length();
    assert_eq!(length.value(), value(NAME, "l_nm"));
    let u = length.u().expect("known");
    close(u, value(NAME, "u_c_nm"), TWELVE, "u");
    close(u, value(NAME, "u_c_nm by uncertainties"), TWELVE, "u");
    // The standard takes u(d) with its own effective degrees of freedom as one contribution.
    let of = |names: &[&str]| -> f64 {
        let parts = length.contributions();
        let among = |id: &SourceId| names.iter().any(|name| *id == SourceId::from(*name));
        let found = parts.iter().filter(|part| among(&part.source.id));
        found
            .filter_map(|part| Some(part.u? * part.u?))
            .sum::<f64>()
            .sqrt()
    };
    let grouped = effective_dof([
        (of(&["ls"]), 18.0),
        (of(&["d repeats", "d1", "d2"]), gauge.d.dof()),
        (of(&["d alpha"]), 50.0),
        (of(&["d theta"]), 2.0),
        (u * 1e-200, FREE),
    ]);
    close(
        grouped,
        value(NAME, "nu_eff"),
        1e-9,
        "effective degrees of freedom",
    );
    close(
        length.dof(),
        value(NAME, "nu_eff"),
        1e-9,
        "effective degrees of freedom",
    );
    let k = coverage_factor(0.99, length.dof());
    close(k, value(NAME, "t99(16)"), TWELVE, "t");
    close(
        length.expanded(0.99).expect("known"),
        value(NAME, "U99_nm"),
        TWELVE,
        "U",
    );
    let of = |estimate: &Estimate| (estimate.value(), estimate.u().expect("known"));
    let inputs = [
        of(&gauge.ls),
        of(&gauge.d),
        of(&gauge.alpha),
        of(&gauge.d_alpha),
        of(&gauge.d_theta),
        of(&theta),
    ];
    let second = second_order_u(&inputs, |x| {
        let [ls, d, alpha, d_alpha, d_theta, theta] = x else {
            panic!("six inputs")
        };
        let whole = EndGauge {
            ls: *ls,
            d: *d,
            alpha: *alpha,
            d_alpha: *d_alpha,
            d_theta: *d_theta,
            theta: *theta,
        };
        // Differences of a length of 5e7 nm would lose figures in the small terms.
        whole.length() - 50_000_000.0
    });
    close(
        second,
        value(NAME, "u_c_nm with second-order terms"),
        2e-5,
        "second order",
    );
}

#[test]
fn jcgm_101_9_5_end_gauge_by_simulation() {
    const NAME: &str = "JCGM 101 9.5";
    let theta = Estimate::input("mean temperature", -0.1, Some(0.2), FREE).with(
        ErrorSource::limits("cycling", 0.5, ErrorShape::Arcsine, FREE),
        1.0,
    );
    let trapezoid =
        |name, half, doubt| limits(name, 0.0, half, ErrorShape::Trapezoid { doubt }, FREE);
    let inputs = [
        Estimate::input("ls", 50_000_623.0, Some(25.0), 18.0),
        comparison([6.0, 4.0, 7.0], [24.0, 5.0, 8.0]),
        limits("alpha", 11.5e-6, 2e-6, ErrorShape::Rectangular, FREE),
        trapezoid("d alpha", 1e-6, 0.1),
        trapezoid("d theta", 0.05, 0.5),
        theta,
    ];
    let simulation = Simulation::new(&inputs, NormalDraws::ScaledT).expect("all known");
    let found = simulation.distribution(400_000, 95, |x| {
        let [ls, d, alpha, d_alpha, d_theta, theta] = x else {
            panic!("six inputs")
        };
        ls + d - ls * (d_alpha * theta + alpha * d_theta) - 50_000_000.0
    });
    // Standard errors with 400 000 trials: mean 0.057, sd 0.11 %; 99 % length 0.3 %.
    assert!(
        (found.mean() - value(NAME, "mean_nm")).abs() < 0.25,
        "{}",
        found.mean()
    );
    close(found.sd(), value(NAME, "u_nm"), 5e-3, "sd");
    let (low, high) = found.shortest(0.99);
    close(
        high - low,
        value(NAME, "shortest 99 % length"),
        1.5e-2,
        "shortest",
    );
    let (low, high) = found.symmetric(0.99);
    assert!(
        (low - value(NAME, "symmetric 99 % low")).abs() < 1.2,
        "{low}"
    );
    assert!(
        (high - value(NAME, "symmetric 99 % high")).abs() < 1.2,
        "{high}"
    );
}

#[test]
fn jcgm_101_9_3_mass_shows_where_first_order_fails() {
    const NAME: &str = "JCGM 101 9.3 mass";
    // m = (m_R + δm)·[1 + (ρ_a − 1.2)·(1/ρ_W − 1/ρ_R)] − 100 000 mg (inputs from memory).
    fn mass<S: Scalar>(m: &S, dm: &S, air: &S, weight: &S, reference: &S) -> S {
        let buoyancy = air.offset(-1.2) * (weight.recip() - reference.recip());
        ((m.clone() + dm.clone()) * buoyancy.offset(1.0)).offset(-100_000.0)
    }
    let inputs = [
        Estimate::input("m_R", 100_000.0, Some(0.050), FREE),
        Estimate::input("dm", 1.234, Some(0.020), FREE),
        limits("air", 1.20, 0.10, ErrorShape::Rectangular, FREE),
        limits("weight", 8000.0, 1000.0, ErrorShape::Rectangular, FREE),
        limits("reference", 8000.0, 50.0, ErrorShape::Rectangular, FREE),
    ];
    let [m, dm, air, weight, reference] = &inputs;
    let first = mass(m, dm, air, weight, reference);
    close(
        first.u().expect("known"),
        value(NAME, "u_mg first order"),
        TWELVE,
        "first order",
    );
    let simulation = Simulation::new(&inputs, NormalDraws::ScaledT).expect("all known");
    let found = simulation.distribution(400_000, 93, |x| mass(&x[0], &x[1], &x[2], &x[3], &x[4]));
    // Standard errors: mean 1.2e-4, sd 0.15 %, 95 % length 0.4 %.
    assert!((found.mean() - value("JCGM 101 9.3 mass MCM", "mean_mg")).abs() < 7e-4);
    close(
        found.sd(),
        value("JCGM 101 9.3 mass MCM", "u_mg"),
        7e-3,
        "sd",
    );
    let (low, high) = found.shortest(0.95);
    close(
        high - low,
        value("JCGM 101 9.3 mass MCM", "shortest 95 % length"),
        1.5e-2,
        "shortest",
    );
    assert!(found.sd() > 1.3 * first.u().expect("known"));
}

#[test]
fn gum_h2_impedance_with_correlated_inputs() {
    const NAME: &str = "JCGM 100 H.2";
    let series = [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ];
    let means = series.map(mean);
    let covariance: Vec<Vec<f64>> = (0..3)
        .map(|i| {
            let product = |j: usize| {
                let pairs = series[i].iter().zip(&series[j]);
                pairs
                    .map(|(a, b)| (a - means[i]) * (b - means[j]))
                    .sum::<f64>()
                    / 20.0
            };
            (0..3).map(product).collect()
        })
        .collect();
    let inputs = Estimate::correlated("H.2", &means, &covariance).expect("a covariance");
    let [v, i, phi] = &inputs[..] else {
        panic!("three inputs")
    };
    let z = v.clone() / i.clone();
    let (r, x) = (z.clone() * phi.cos(), z.clone() * phi.sin());
    let u = |estimate: &Estimate| estimate.u().expect("known");
    let correlation = |a: &Estimate, b: &Estimate| a.covariance(b).expect("known") / (u(a) * u(b));
    for (found, quantity) in [
        (r.value(), "R_ohm"),
        (u(&r), "u(R)"),
        (x.value(), "X_ohm"),
        (u(&x), "u(X)"),
        (z.value(), "Z_ohm"),
        (u(&z), "u(Z)"),
        (correlation(&r, &x), "r(R,X)"),
        (correlation(&r, &z), "r(R,Z)"),
        (correlation(&x, &z), "r(X,Z)"),
        (correlation(v, i), "r(V,I)"),
        (correlation(v, phi), "r(V,phi)"),
        (correlation(i, phi), "r(I,phi)"),
    ] {
        close(found, value(NAME, quantity), 1e-10, quantity);
    }
}

#[test]
fn gum_h3_thermometer_line() {
    const NAME: &str = "JCGM 100 H.3";
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let points: Vec<(f64, f64)> = t.into_iter().zip(b).collect();
    let line = StraightLine::fit(&points, 20.0).expect("a line");
    let at_30 = line.at(30.0);
    for (found, quantity) in [
        (line.intercept, "y1"),
        (line.u_intercept().expect("known"), "u(y1)"),
        (line.slope, "y2"),
        (line.u_slope().expect("known"), "u(y2)"),
        (line.correlation(), "r"),
        (line.s.expect("known"), "s"),
        (at_30.value, "b(30)"),
        (at_30.u.expect("known"), "u b(30)"),
    ] {
        close(found, value(NAME, quantity), 1e-11, quantity);
    }
    assert_eq!(line.dof, 9.0);
}

#[test]
fn gum_h5_day_to_day() {
    const NAME: &str = "JCGM 100 H.5";
    let means = [
        172.0, 116.0, 13.0, 144.0, 106.0, 31.0, 60.0, 125.0, 163.0, 41.0,
    ];
    let sds = [60.0, 77.0, 111.0, 101.0, 67.0, 93.0, 80.0, 73.0, 88.0, 86.0];
    let found = OneWayAnova::of_summaries(&means, &sds, 5).expect("an analysis");
    for (found, quantity) in [
        (found.mean, "mean uV"),
        (found.between, "s(day means) uV"),
        (found.within, "pooled within-day s uV"),
        (found.f, "F(9,40)"),
        (found.u_of_mean(), "u of mean uV"),
    ] {
        close(found, value(NAME, quantity), TWELVE, quantity);
    }
    assert_eq!((found.between_dof, found.within_dof), (9.0, 40.0));
    // The quantile is found by bisection, to about nine figures.
    close(
        f_quantile(0.95, 9.0, 40.0),
        value(NAME, "F 0.95"),
        1e-8,
        "F",
    );
    close(
        f_quantile(0.975, 9.0, 40.0),
        value(NAME, "F 0.975"),
        1e-8,
        "F",
    );
}

#[test]
fn gum_4_4_and_g_4_1() {
    // Twenty temperatures, GUM table 1 (from memory).
    let t = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42,
        100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ];
    let s = sd(&t).expect("an sd");
    close(mean(t), value("JCGM 100 4.4.3", "mean"), TWELVE, "mean");
    close(s, value("JCGM 100 4.4.3", "s"), TWELVE, "s");
    close(
        s / 20f64.sqrt(),
        value("JCGM 100 4.4.3", "s/sqrt n"),
        TWELVE,
        "s/√n",
    );
    let u = |shape| ErrorSource::limits("t", 4.0, shape, FREE).u.expect("known");
    close(
        u(ErrorShape::Rectangular),
        value("JCGM 100 4.4.5", "u for 96..104"),
        TWELVE,
        "rectangular",
    );
    close(
        u(ErrorShape::Triangular),
        value("JCGM 100 4.4.6", "u for 96..104"),
        TWELVE,
        "triangular",
    );
    // G.4.1: y = b·X1·X2·X3, relative uncertainties 0.25, 0.57, 0.82 % from 10, 5, 15 readings.
    let factor = |name: &str, percent: f64, n: f64| {
        Estimate::input(name, 1.0, Some(percent / 100.0), n - 1.0)
    };
    let y = factor("X1", 0.25, 10.0) * factor("X2", 0.57, 5.0) * factor("X3", 0.82, 15.0);
    close(
        100.0 * y.u().expect("known"),
        value("JCGM 100 G.4.1", "u_c %"),
        TWELVE,
        "u",
    );
    close(y.dof(), value("JCGM 100 G.4.1", "nu_eff"), TWELVE, "nu");
    // The standard takes t(19) here, the nearest whole number.
    let k = coverage_factor(0.95, y.dof().round());
    close(
        100.0 * y.u().expect("known") * k,
        value("JCGM 100 G.4.1", "U95 %"),
        1e-11,
        "U",
    );
}
