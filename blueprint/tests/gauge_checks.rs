//! Checks of gauges against worked examples: the thermometer of JCGM 100 (GUM) H.3, volumes by
//! weight (`gravimetric_volume.csv`, `burette_correction.csv`), water columns (`manometer.csv`),
//! leaks (`leak_scaling.csv`); and how often the stated uncertainty holds.

mod common;

use benchhand_blueprint::Estimate;
use benchhand_blueprint::check::{
    CheckWater, ComparisonConditions, GaugeComparison, MeasuredLeak, column_pressure, correction,
    keeps_to, leak_at, plate_flow, uncorrected, volume_per_gram, weight_per_volume, worked_back,
};
use benchhand_blueprint::figure::Scalar;
use benchhand_blueprint::formula::liquid::BOROSILICATE;
use common::{close, rows};

fn points(pairs: &[(f64, f64)]) -> Vec<GaugeComparison> {
    let point = |&(truth, shown): &(f64, f64)| GaugeComparison {
        truth,
        shown,
        u: None,
    };
    pairs.iter().map(point).collect()
}

/// The thermometer is read at t, and b is to be added to what it shows.
#[test]
fn the_thermometer_of_gum_h3_is_corrected_as_published() {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let pairs: Vec<(f64, f64)> = t.iter().zip(b).map(|(t, b)| (t + b, *t)).collect();
    // The published s of the points about the line, taken as the repeatability that is known.
    let about = ComparisonConditions {
        shared: Some(0.0),
        repeatability: Some(0.0035),
        ..ComparisonConditions::default()
    };
    let found = correction(&points(&pairs), &about).expect("points");
    // Published to four digits: y1 -0.1712 at 20 C, y2 0.00218 per degree, b(30) -0.1494.
    assert!((found.at(20.0) + 0.1712).abs() < 5e-5, "{found:?}");
    assert!((found.scale - 0.002_18).abs() < 5e-6, "{found:?}");
    assert!((found.at(30.0) + 0.1494).abs() < 5e-5, "{found:?}");
    // u of the line by H.3's covariances (0.0029, 0.00067, -0.930), at the end of the travel.
    let d: f64 = 26.511 - 20.0;
    let (y1, y2, r) = (0.002_877_6, 0.000_667_94, -0.930_43);
    let end = (y1 * y1 + (d * y2).powi(2) + 2.0 * d * y1 * y2 * r).sqrt();
    close(
        found.u.expect("known"),
        end,
        2e-3,
        "u at the end of the travel",
    );
}

#[test]
fn a_slope_is_taken_only_where_the_points_tell_it_from_their_scatter() {
    let about = ComparisonConditions {
        resolution: 0.001,
        roundings: 1.0,
        shared: Some(0.001),
        ..ComparisonConditions::default()
    };
    let two = correction(&points(&[(0.0, 0.1), (10.0, 10.3)]), &about).expect("points");
    assert_eq!(two.scale, 0.0, "two points always lie on a line");
    let level = [(0.0, 0.021), (5.0, 5.019), (10.0, 10.020), (15.0, 15.021)];
    let level = correction(&points(&level), &about).expect("points");
    assert_eq!(level.scale, 0.0);
    assert!((level.offset + 0.020_25).abs() < 1e-12, "{level:?}");
    let long = [(0.0, 0.0), (5.0, 5.05), (10.0, 10.1), (15.0, 15.15)];
    let long = correction(&points(&long), &about).expect("points");
    assert!((long.scale + 1.0 / 101.0).abs() < 1e-9, "{long:?}");
    assert!((long.worst - 0.15).abs() < 1e-9 && long.left.abs() < 1e-9);
    // One count of travel only: a slope of rounding is no slope.
    let dust = [(0.0, 0.0), (0.001, 0.001), (0.002, 0.003)];
    assert_eq!(
        correction(&points(&dust), &about).expect("points").scale,
        0.0
    );
}

#[test]
fn nothing_known_of_the_masters_is_said_and_what_all_share_does_not_average_out() {
    let pairs = [(0.0, 0.01), (10.0, 10.01), (20.0, 20.01), (30.0, 30.01)];
    let found = correction(&points(&pairs), &ComparisonConditions::default()).expect("points");
    assert_eq!(found.u, None);
    let shared = ComparisonConditions {
        shared: Some(0.004),
        ..ComparisonConditions::default()
    };
    let found = correction(&points(&pairs), &shared).expect("points");
    close(found.u.expect("known"), 0.004, 1e-9, "shared by all four");
    let own: Vec<GaugeComparison> = points(&pairs)
        .into_iter()
        .map(|point| GaugeComparison {
            u: Some(0.004),
            ..point
        })
        .collect();
    let found = correction(&own, &ComparisonConditions::default()).expect("points");
    close(found.u.expect("known"), 0.002, 1e-9, "own of each of four");
    // JCGM 100 F.2.4.5: an error that is left uncorrected is part of the uncertainty.
    let left = uncorrected(&own, found);
    close(left.u.expect("known"), 0.002_f64.hypot(0.01), 1e-9, "left");
    assert_eq!(left.offset, 0.0);
}

#[test]
fn a_form_that_no_line_follows_stays_in_the_uncertainty() {
    // A bow of 0.02 between ends that are right, each measured twice alike.
    let pairs = [
        (0.0, 0.0),
        (5.0, 5.02),
        (10.0, 10.0),
        (0.0, 0.0),
        (5.0, 5.02),
        (10.0, 10.0),
    ];
    let about = ComparisonConditions {
        shared: Some(0.0),
        ..ComparisonConditions::default()
    };
    let found = correction(&points(&pairs), &about).expect("points");
    assert_eq!(found.repeat, Some(0.0));
    assert!(found.u.expect("known") > 0.009, "{found:?}");
}

/// Seeded draws from a sawtooth of the golden ratio, which fills the unit interval evenly.
fn normal(k: u64) -> f64 {
    let even = |n: u64| (n as f64 * 0.618_033_988_749_894_9).fract();
    let mixed = |n: u64| n.wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(31);
    let (a, b) = (even(mixed(2 * k + 1) >> 40), even(mixed(2 * k + 2) >> 40));
    (-2.0 * a.max(1e-12).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

/// A gauge with an offset and a scale error, five masters with one certificate's error and own
/// errors, readings rounded to a count: the true value must lie within 2 u of the corrected one
/// in at least the share that a normal distribution has there, and u must not be idle.
#[test]
fn the_stated_uncertainty_holds_as_often_as_it_says() {
    let (mut within, mut u_sum, mut errors) = (0, 0.0, 0.0);
    let all = 2000;
    for run in 0..all {
        let mut k = 1000 * run;
        let mut draw = |sigma: f64| {
            k += 1;
            sigma * normal(k)
        };
        let (offset, scale, certificate) = (draw(0.05), draw(0.005), draw(0.004));
        let shows = |truth: f64| truth + offset + scale * truth;
        let points: Vec<GaugeComparison> = (0..5)
            .map(|i| {
                let stated = 10.0 * f64::from(i);
                let truth = stated + certificate + draw(0.003);
                let shown = ((shows(truth) + draw(0.002)) / 0.001).round() * 0.001;
                GaugeComparison {
                    truth: stated,
                    shown,
                    u: Some(0.003),
                }
            })
            .collect();
        let about = ComparisonConditions {
            resolution: 0.001,
            roundings: 1.0,
            shared: Some(0.004),
            repeatability: Some(0.002),
        };
        let found = correction(&points, &about).expect("points");
        // At the end of the travel, where the stated uncertainty is meant to hold.
        let shown = shows(40.0);
        let error = shown + found.at(shown) - 40.0;
        let u = found.u.expect("known");
        within += usize::from(error.abs() <= 2.0 * u);
        u_sum += u;
        errors += error * error;
    }
    let (mean_u, rms) = (u_sum / all as f64, (errors / all as f64).sqrt());
    assert!(within as f64 >= 0.94 * all as f64, "{within} of {all}");
    assert!(mean_u < 1.5 * rms, "u {mean_u} against errors of {rms}");
}

fn water(t: f64) -> CheckWater {
    CheckWater {
        temperature: (t, Some(0.2)),
        glass: 0.0,
        air: None,
        gravity: None,
    }
}

#[test]
fn a_weight_of_water_is_the_volume_of_the_reference() {
    let mut seen = 0;
    for row in rows("gravimetric_volume.csv") {
        if !row.text("liquid").starts_with("water") {
            continue;
        }
        seen += 1;
        let t = row.number("t_C");
        let air = (100.0 * row.number("p_hPa"), t, row.number("rh"));
        let water = CheckWater {
            air: Some(air),
            ..water(t)
        };
        let volume = volume_per_gram(&water).value() * row.number("balance_g");
        close(volume, row.number("V_cc"), 1e-11, "V");
        let weight = weight_per_volume(&water).value() * row.number("V_cc");
        close(weight, row.number("balance_g"), 1e-11, "m");
    }
    assert_eq!(seen, 4);
}

/// `burette_correction.csv`: 64 cc on the scale of a borosilicate burette are 64.003168 cc at 25 C,
/// so that what weighs as much as 64.003168 cc is 64 cc of a burette that is right.
#[test]
fn glass_that_grew_is_reckoned_back_to_20_degrees() {
    let mut seen = 0;
    for row in rows("burette_correction.csv") {
        if row.text("glass") != "borosilicate 3.3" {
            continue;
        }
        seen += 1;
        let t = row.number("t_burette_C");
        let plain = volume_per_gram(&water(t)).value();
        let glass = CheckWater {
            glass: BOROSILICATE,
            ..water(t)
        };
        let grams = row.number("left_burette_cc") / plain;
        let volume = volume_per_gram(&glass).value() * grams;
        close(volume, row.number("indicated_cc"), 1e-12, "V20");
    }
    assert!(seen > 3);
}

/// Water expands by 2.07e-4 per K at 20 C (`liquid_density.csv`); the air that is not stated gives
/// 0.05 kg/m³ of about 998, of which steel weights take off an eighth.
#[test]
fn temperature_and_air_that_are_not_known_well_widen_the_volume() {
    let per_gram = volume_per_gram(&water(20.0));
    let relative = per_gram.u().expect("known") / per_gram.value();
    let expected = (2.07e-4_f64 * 0.2).hypot(0.05 / 998.2 - 0.05 / 8000.0);
    close(relative, expected, 0.01, "relative u");
}

#[test]
fn a_column_of_water_presses_as_the_reference_says() {
    let mut seen = 0;
    for row in rows("manometer.csv") {
        if row.text("type") != "U-tube vertical" {
            continue;
        }
        seen += 1;
        let t = row.number("t_C");
        let water = CheckWater {
            // The file's air is at 50 % humidity; its density is compared with below.
            air: Some((row.number("p_amb_Pa"), t, 0.5)),
            gravity: Some(row.number("g")),
            ..water(t)
        };
        let pascals = column_pressure(&water).value() * row.number("reading_L_mm");
        close(pascals, row.number("dp_Pa"), 2e-6, "dp");
    }
    assert_eq!(seen, 3);
    let nowhere = column_pressure(&water(20.0));
    let relative = nowhere.u().expect("known") / nowhere.value();
    assert!(relative > 1.4e-3, "gravity is not known: {relative}");
}

#[test]
fn a_leak_at_its_own_pressure_is_as_measured_and_elsewhere_as_any_law_allows() {
    for row in rows("leak_scaling.csv") {
        let (n, at) = (row.number("n"), row.number("dp_inH2O"));
        let known = MeasuredLeak {
            flow: 28f64.powf(n),
            u: Some(1e-6),
            at: 28.0,
        };
        let (flow, u) = leak_at(&known, at);
        let u = u.expect("known");
        // A rectangular distribution reaches to √3 of its standard deviation.
        let most = 3f64.sqrt() * u * 1.35;
        let error = (flow - row.number("Q_true")).abs();
        assert!(error <= most, "n {n} at {at}: {flow} ± {u}, off by {error}");
        if at == 28.0 {
            close(flow, row.number("Q_true"), 1e-9, "where it was measured");
        }
    }
}

/// `test_pressure_scaling.csv` and item 10.5: flow goes with the root of the test pressure.
#[test]
fn a_plate_passes_less_at_less_pressure_and_the_orifice_what_leaks_besides() {
    let exact = Estimate::exact;
    let flow = plate_flow(&exact(100.0), &exact(28.0), &exact(7.0));
    close(flow.value(), 50.0, 1e-12, "a quarter of the pressure");
    let stated = Estimate::input("plate", 100.0, Some(0.5), f64::INFINITY);
    let test = Estimate::input("test", 28.0, Some(0.28), f64::INFINITY);
    let flow = plate_flow(&stated, &exact(28.0), &test);
    close(flow.u().expect("known"), 0.5_f64.hypot(0.5), 1e-9, "u");
    let through = worked_back(&flow, Some(&exact(2.0)));
    close(through.value(), 102.0, 1e-12, "with the leak");
    assert!(through.scale(1.0).u().is_some());
}

#[test]
fn an_error_keeps_to_what_is_allowed_to_a_twentieth_of_a_count() {
    // 0.0005 in are 0.0127 mm; the mean of a display that wavers comes out beside it.
    for (error, allow, count, keeps) in [
        (0.012_7, 0.012_7, 0.01, true),
        (0.3 - 0.1, 0.2, 0.0, true),
        (-0.0102, 0.01, 0.01, true),
        (0.0106, 0.01, 0.01, false),
        (0.0004, 0.0, 0.01, true),
        (0.0006, 0.0, 0.01, false),
        (0.2001, 0.2, 0.0, false),
        (f64::NAN, 0.2, 0.01, false),
    ] {
        assert_eq!(keeps_to(error, allow, count), keeps, "{error} of {allow}");
    }
}
