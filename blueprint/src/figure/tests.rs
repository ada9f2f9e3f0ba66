//! Propagation, checked by hand.

use super::*;

const FREE: f64 = f64::INFINITY;

#[test]
fn shared_errors_cancel_in_a_difference_and_stay_in_a_mean() {
    let scale = ErrorSource::new("scale", Some(0.3), FREE);
    let a = Estimate::input("a", 64.0, Some(0.1), FREE).with(scale.clone(), 1.0);
    let b = Estimate::input("b", 65.0, Some(0.1), FREE).with(scale, 1.0);
    let mean = Estimate::mean([&a, &b]).unwrap();
    assert!((mean.u().unwrap() - (0.09f64 + 0.01 / 2.0).sqrt()).abs() < 1e-15);
    let difference = b - a;
    assert_eq!(difference.value(), 1.0);
    assert!((difference.u().unwrap() - 0.02f64.sqrt()).abs() < 1e-15);
}

#[test]
fn an_unknown_shared_error_leaves_the_difference_known_and_the_mean_unknown() {
    let zero = ErrorSource::new("zero", None, FREE);
    let a = Estimate::input("a", 1.0, Some(0.1), FREE).with(zero.clone(), 1.0);
    let b = Estimate::input("b", 2.0, Some(0.1), FREE).with(zero, 1.0);
    let mean = Estimate::mean([&a, &b]).unwrap();
    assert_eq!(mean.u(), None);
    assert_eq!(
        mean.unknown()
            .map(|source| source.id.to_string())
            .collect::<Vec<_>>(),
        ["zero"]
    );
    assert!((b - a).u().is_some());
}

#[test]
fn an_exact_number_has_no_uncertainty_and_an_unknown_one_is_never_zero() {
    assert_eq!(Estimate::exact(3.0).u(), Some(0.0));
    assert_eq!(Estimate::input("x", 3.0, None, FREE).u(), None);
}

#[test]
fn products_and_quotients_follow_their_slopes() {
    let x = Estimate::input("x", 3.0, Some(0.1), FREE);
    let y = Estimate::input("y", 2.0, Some(0.2), FREE);
    let product = &x * &y;
    assert!((product.u().unwrap() - (0.2f64.powi(2) + 0.6f64.powi(2)).sqrt()).abs() < 1e-15);
    assert_eq!((&x / &x).u(), Some(0.0));
    let square = x.square();
    assert!((square.u().unwrap() - 0.6).abs() < 1e-15);
    assert!((y.sqrt().slope("y") - 0.5 / 2f64.sqrt()).abs() < 1e-15);
}

#[test]
fn correlated_inputs_give_back_their_covariance() {
    let covariance = vec![vec![4.0, -1.2], vec![-1.2, 1.0]];
    let pair = Estimate::correlated("pair", &[1.0, 2.0], &covariance).unwrap();
    assert!((pair[0].u().unwrap() - 2.0).abs() < 1e-15);
    assert!((pair[1].u().unwrap() - 1.0).abs() < 1e-15);
    assert!((pair[0].covariance(&pair[1]).unwrap() + 1.2).abs() < 1e-15);
    assert!(Estimate::correlated("bad", &[1.0, 2.0], &[vec![1.0, 2.0], vec![2.0, 1.0]]).is_none());
}

/// One standard deviation with 4 degrees of freedom stays one with 4, at however many places it is
/// used; two that were found apart have 8 (Welch-Satterthwaite, GUM G.2b).
#[test]
fn sources_on_one_standard_deviation_have_its_degrees_of_freedom_together() {
    let of = |name: &str, pool: &str| {
        Estimate::new(
            1.0,
            ErrorSource::pooled(name.to_owned(), 0.05, 4.0, pool.to_owned()),
        )
    };
    let mean = |a: Estimate, b: Estimate| Estimate::mean([&a, &b]).expect("two");
    let one = mean(of("a", "dial"), of("b", "dial"));
    assert!((one.dof() - 4.0).abs() < 1e-12, "{}", one.dof());
    assert!((one.u().expect("known") - 0.05 / 2f64.sqrt()).abs() < 1e-15);
    let two = mean(of("a", "dial"), of("b", "burette"));
    assert!((two.dof() - 8.0).abs() < 1e-12, "{}", two.dof());
    let known = mean(
        Estimate::new(1.0, ErrorSource::pooled("a", 0.05, f64::INFINITY, "dial")),
        Estimate::new(1.0, ErrorSource::pooled("b", 0.05, f64::INFINITY, "dial")),
    );
    assert!(known.dof().is_infinite());
}
