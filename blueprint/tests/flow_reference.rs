//! Flow against its check files.
//!
//! Tolerance: half a unit of the twelfth significant figure unless stated. Columns by CoolProp
//! (real gas) are met to the difference that their file states; `A_brute` of `valve_area.csv` is
//! the smallest frustum found by search, 0.9985 to 1.0000 of the formula.

mod common;

use benchhand_blueprint::Unit;
use benchhand_blueprint::formula::air::{GAMMA, GAS_CONSTANT};
use benchhand_blueprint::formula::crank::{Crank, mean_piston_speed};
use benchhand_blueprint::formula::flow::*;
use common::{TWELVE, close, rows};

fn plate(pipe_m: f64, hole_m: f64, taps: &str) -> OrificePlate {
    let taps = match taps {
        "corner" => PressureTaps::Corner,
        "D" => PressureTaps::DAndHalfD,
        "flange" => PressureTaps::Flange,
        other => panic!("{other}"),
    };
    OrificePlate {
        pipe: pipe_m * 1e3,
        hole: hole_m * 1e3,
        taps,
    }
}

#[test]
fn discharge_coefficients_agree_with_reader_harris_and_gallagher() {
    for row in rows("orifice_C_RHG.csv") {
        let pipe = row.number("D_m");
        let plate = plate(pipe, pipe * row.number("beta"), "corner");
        let c = discharge_coefficient(&plate, row.number("ReD"));
        close(c, row.number("C_fluids"), TWELVE, "C");
        close(c, row.number("C_own"), TWELVE, "C");
    }
}

#[test]
fn plates_pass_the_mass_flow_of_iso_5167() {
    for row in rows("orifice_iso5167.csv") {
        let n = |column| row.number(column);
        let plate = plate(n("D_m"), n("d_m"), row.text("taps"));
        let flow = plate_mass_flow(
            &plate,
            n("p1_Pa"),
            n("dp_Pa"),
            n("rho1"),
            n("mu_Pa_s"),
            n("kappa"),
        );
        close(flow.mass, n("m_fluids_kg_s"), TWELVE, "mass flow");
        close(flow.mass, n("m_own_kg_s"), TWELVE, "mass flow");
        close(flow.c, n("C_own"), TWELVE, "C");
        close(flow.expansibility, n("eps_own"), TWELVE, "expansibility");
        // The density that it is calculated from here has twelve figures itself.
        close(flow.reynolds, n("ReD"), 2.0 * TWELVE, "Reynolds number");
        let upstream = Unit::CubicMetrePerSecond.factor() * flow.mass / n("rho1");
        // The file's factor for cfm has ten figures.
        close(
            Unit::CubicFootPerMinute.from_base(upstream),
            n("Q_upstream_cfm"),
            5e-10,
            "cfm",
        );
    }
}

#[test]
fn expansibilities_agree_with_their_standards() {
    for row in rows("expansibility.csv") {
        let (beta, drop) = (row.number("beta"), row.number("dp_Pa"));
        let p = 101_325.0;
        close(
            expansibility(beta, &p, &drop, 1.4),
            row.number("eps_orifice_2003"),
            TWELVE,
            "2003",
        );
        let older = expansibility_1991(beta, &p, &drop, 1.4);
        close(older, row.number("eps_orifice_1991"), TWELVE, "1991");
        let nozzle = expansibility_nozzle(beta, &p, &drop, 1.4);
        close(
            nozzle,
            row.number("eps_nozzle_isentropic"),
            TWELVE,
            "nozzle",
        );
    }
}

#[test]
fn isentropic_flow_agrees_and_chokes_where_it_should() {
    for row in rows("valve_compressible_flow.csv") {
        let n = |column| row.number(column);
        let (p, t, drop) = (n("p0_Pa"), n("T0_K"), n("dp_Pa"));
        let area = 1000.0; // 1e-3 m2
        let mass = isentropic_mass_flow(&area, &p, &t, &drop);
        // The choked rows rest on a critical ratio; all others on the formula alone.
        close(mass, n("m_heywood"), TWELVE, "Heywood");
        // A real gas differs by up to 3e-4; the file has none for choked flow.
        if let Some(real) = row.maybe("m_coolprop_isentropic") {
            close(mass, real, 3.05e-4, "CoolProp");
        } else {
            assert!((p - drop) / p < CRITICAL_RATIO, "choked");
        }
        close((p - drop) / p, n("pT_over_p0"), TWELVE, "ratio");
        let density = p / (GAS_CONSTANT * t);
        let simple = incompressible_mass_flow(&area, &density, &drop);
        close(simple, n("m_incompressible"), TWELVE, "incompressible");
        let ratio = n("ratio_compressible_to_incompressible");
        close(mass / simple, ratio, 2.0 * TWELVE, "ratio of both");
        close(compressible_factor(&p, &drop), ratio, 2.0 * TWELVE, "psi");
        close(
            pitot_velocity(&drop, &density),
            n("v_bernoulli_m_s"),
            TWELVE,
            "velocity",
        );
        close(
            effective_area(&mass, &p, &t, &drop),
            area,
            1e-14,
            "effective area",
        );
    }
    let critical = (2.0 / (GAMMA + 1.0)).powf(GAMMA / (GAMMA - 1.0));
    close(CRITICAL_RATIO, critical, 1e-15, "critical ratio");
}

#[test]
fn a_test_pressure_is_scaled_to_the_reference_in_both_ways() {
    let (p, reference) = (101_325.0, 28.0 * Unit::InchWater.factor());
    for row in rows("test_pressure_scaling.csv") {
        let n = |column| row.number(column);
        // The file's inch of water has seven figures, 249.0889 Pa.
        let test = n("dp_Pa");
        close(
            test,
            n("dp_inH2O") * Unit::InchWater.factor(),
            5e-8,
            "inches of water",
        );
        close(
            reference_scale_by_root(&test, &reference),
            n("sqrt_factor"),
            5e-8,
            "root",
        );
        close(
            compressible_factor(&p, &test),
            n("isentropic_factor_eps"),
            TWELVE,
            "psi",
        );
        let relative = compressible_factor(&p, &test) / compressible_factor(&p, &reference);
        close(
            relative,
            n("eps_relative_to_28"),
            2e-9,
            "psi relative to 28 in",
        );
        let both = reference_scale(&p, &test, &reference);
        close(both, n("factor_with_compressibility"), 5e-8, "both");
    }
}

#[test]
fn pitot_velocities_agree_with_and_without_compressibility() {
    for row in rows("pitot.csv") {
        let n = |column| row.number(column);
        let simple = pitot_velocity(&n("dp_Pa"), &n("rho"));
        close(simple, n("v_incompressible"), TWELVE, "incompressible");
        let full = pitot_velocity_compressible(&n("dp_Pa"), &n("p_static_Pa"), &n("rho"));
        // (1 + Δp/p)^0.286 − 1 loses up to five digits at 10 Pa, in the file as here.
        close(full, n("v_compressible"), 5e-11, "compressible");
        let sound = (GAMMA * n("p_static_Pa") / n("rho")).sqrt();
        close(full / sound, n("Mach"), 5e-11, "Mach number");
    }
}

#[test]
fn leakage_follows_its_law_between_two_pressures() {
    for row in rows("leak_scaling.csv") {
        let n = |column| row.number(column);
        let at_28 = n("C") * 28f64.powf(n("n"));
        let dp = n("dp_inH2O");
        close(
            leak_law(&at_28, &28.0, &dp, n("n")),
            n("Q_true"),
            TWELVE,
            "true exponent",
        );
        close(
            leak_law(&at_28, &28.0, &dp, 0.5),
            n("Q_assuming_sqrt_from_28"),
            TWELVE,
            "root",
        );
        close(
            leak_law(&at_28, &28.0, &dp, 1.0),
            n("Q_assuming_linear_from_28"),
            TWELVE,
            "line",
        );
    }
}

#[test]
fn valves_have_their_least_area_over_lift() {
    let mut stages = [0; 3];
    for row in rows("valve_area.csv") {
        let n = |column| row.number(column);
        let seat = ValveSeat {
            head: n("Dv_mm"),
            width: n("seat_width_radial_mm"),
            angle: n("seat_angle_deg_from_head_plane"),
            port: n("Dp_mm"),
            stem: n("Ds_mm"),
        };
        let (stage, area) = least_area(&seat, n("lift_mm"));
        assert_eq!(
            f64::from(stage),
            n("stage"),
            "{} at {}",
            row.text("valve"),
            n("lift_mm")
        );
        close(area, n("A_heywood_mm2"), TWELVE, "least area");
        close(
            curtain_area(&seat.head, &n("lift_mm")),
            n("A_curtain_piDvL_mm2"),
            TWELVE,
            "curtain",
        );
        close(
            throat_area(&seat.port, &seat.stem),
            n("A_port_minus_stem_mm2"),
            TWELVE,
            "port",
        );
        let searched = n("A_brute_mm2") / area;
        assert!((0.9984..=1.000_01).contains(&searched), "{searched}");
        stages[usize::from(stage) - 1] += 1;
        let lift = lift_where_curtain_equals_throat(&seat.head, &seat.port, &seat.stem);
        close(
            curtain_area(&seat.head, &lift),
            throat_area(&seat.port, &seat.stem),
            1e-14,
            "lift",
        );
    }
    assert!(stages.iter().all(|&count| count > 0), "every stage occurs");
}

#[test]
fn ports_have_their_velocity_in_the_running_engine() {
    for row in rows("port_velocity.csv") {
        let n = |column| row.number(column);
        let crank = Crank {
            radius: n("stroke_mm") / 2.0,
            rod: n("rod_mm"),
            offset: 0.0,
        };
        let mean = mean_piston_speed(&n("stroke_mm"), &n("rpm"));
        close(mean, n("mean_piston_speed"), TWELVE, "mean speed");
        let area = n("port_area_mm2");
        close(
            port_velocity(&n("bore_mm"), &area, &mean),
            n("mean_port_velocity"),
            TWELVE,
            "mean",
        );
        let largest = crank.largest_speed(n("rpm"));
        // Taken from a grid of angles in the file: below the true maximum by up to 1e-8.
        close(largest, n("max_piston_speed"), 1e-8, "largest speed");
        close(
            port_velocity(&n("bore_mm"), &area, &largest),
            n("max_port_velocity"),
            1e-8,
            "peak",
        );
    }
}

#[test]
fn inlet_mach_indices_agree() {
    for row in rows("mach_index.csv") {
        let n = |column| row.number(column);
        let speed = mean_piston_speed(&n("stroke_mm"), &n("rpm"));
        close(speed, n("mean_piston_speed_m_s"), TWELVE, "speed");
        let z = mach_index(
            &n("bore_mm"),
            &n("valve_dia_mm"),
            n("n_valves") as u32,
            &speed,
            &n("Ci_mean_flow_coeff"),
            &n("a_m_s"),
        );
        close(z, n("Z"), TWELVE, "Mach index");
    }
}

#[test]
fn the_mean_of_a_coefficient_weighs_the_angles() {
    let curve = [(0.0, 0.2), (10.0, 0.4), (40.0, 0.4)];
    let mean = mean_flow_coefficient(&curve).expect("a mean");
    close(mean, (10.0 * 0.3 + 30.0 * 0.4) / 40.0, 1e-15, "mean");
    assert_eq!(mean_flow_coefficient(&curve[..1]), None);
}
