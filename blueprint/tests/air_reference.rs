//! Air, manometers and gravity against their check files.
//!
//! Tolerances: half a unit of the twelfth significant figure for the same equation; where another
//! equation stands beside it, the largest difference that the file itself states.

mod common;

use benchhand_blueprint::formula::air::{REFERENCE_AIR, moist_air, simple_density, speed_of_sound};
use benchhand_blueprint::formula::liquid::water_density;
use benchhand_blueprint::formula::manometer::{
    STANDARD_GRAVITY, column, conventional_factor, head, normal_gravity, oiml_gravity,
};
use benchhand_blueprint::units::PA_PER_INCH_WATER;
use common::{TWELVE, close, rows};

#[test]
fn moist_air_agrees_with_cipm_2007_and_lies_near_three_other_equations() {
    for row in rows("moist_air_density.csv") {
        let n = |column| row.number(column);
        let air = moist_air(&n("p_Pa"), &n("t_degC"), &n("rh"));
        close(air.density, n("rho_cipm2007"), TWELVE, "density");
        assert!((air.vapour - n("x_v")).abs() <= TWELVE * n("x_v").max(1e-300));
        close(air.compressibility, n("Z"), TWELVE, "Z");
        close(
            air.density,
            n("rho_coolprop_HAPropsSI"),
            4.15e-5,
            "ASHRAE RP-1485",
        );
        close(air.density, n("rho_iapws_G8"), 2.45e-5, "IAPWS G8-10");
        let simple = simple_density(&n("p_Pa"), &n("t_degC"), &n("rh"));
        close(simple, n("rho_simple_oiml"), TWELVE, "simple");
        close(simple, air.density, 7.05e-4, "simple against CIPM-2007");
    }
}

#[test]
fn every_reference_state_has_its_density() {
    let all = rows("reference_air.csv");
    for row in &all {
        let n = |column| row.number(column);
        let air = moist_air(&n("p_Pa"), &n("t_degC"), &n("rh"));
        close(air.density, n("rho_cipm2007"), TWELVE, row.text("name"));
        if n("rh") == 0.0 {
            // Two dry equations of other kinds: 4.6e-4 and 2e-5 apart at most.
            close(
                air.density,
                n("rho_dry_ideal_ISA_constants"),
                5e-4,
                "ideal gas",
            );
            close(air.density, n("rho_dry_coolprop"), 2e-5, "Lemmon 2000");
        }
    }
    // Every state that is offered is one of the file's.
    for state in REFERENCE_AIR {
        let found = all.iter().any(|row| {
            (row.number("p_Pa") - state.pressure).abs() < 1e-6
                && (row.number("t_degC") - state.temperature).abs() < 1e-9
                && row.number("rh") == state.humidity
                && (row.number("rho_cipm2007") / state.density() - 1.0).abs() < 1e-11
        });
        assert!(found, "{}", state.name);
    }
}

#[test]
fn sound_is_as_fast_as_the_mach_index_file_says() {
    for row in rows("mach_index.csv") {
        let t = row.number("T_K") - 273.15;
        close(speed_of_sound(&t), row.number("a_m_s"), TWELVE, "sound");
    }
}

#[test]
fn columns_of_liquid_become_pressures() {
    for row in rows("manometer.csv") {
        let n = |column| row.number(column);
        let name = row.text("type");
        let found = head(&n("reading_L_mm"), &n("angle_deg"), &n("area_ratio"));
        close(found, n("head_mm"), TWELVE, name);
        let bare = column(&found, &n("rho_liquid"), &0.0, &n("g"));
        close(bare, n("dp_no_air_Pa"), TWELVE, name);
        let drop = column(&found, &n("rho_liquid"), &n("rho_air"), &n("g"));
        close(drop, n("dp_Pa"), TWELVE, name);
        // The file's inch of water has seven figures, 249.0889 Pa.
        close(
            drop / PA_PER_INCH_WATER,
            n("dp_inH2O_conventional"),
            5e-8,
            name,
        );
        if row.text("liquid") == "water" {
            close(water_density(&n("t_C")), n("rho_liquid"), TWELVE, "water");
            let factor = conventional_factor(&n("rho_liquid"), &n("rho_air"), &n("g"));
            close(
                factor * found / 25.4,
                n("dp_inH2O_conventional"),
                5e-8,
                name,
            );
        }
        // The air above the column is at half humidity, which the file does not say.
        let air = moist_air(&n("p_amb_Pa"), &n("t_C"), &0.5).density;
        let other = moist_air(&n("p_amb_Pa"), &n("t_C"), &0.3).density;
        let near = |rho: f64| (rho / n("rho_air") - 1.0).abs() < 2e-3;
        assert!(near(air) || near(other), "{name}");
    }
}

#[test]
fn gravity_agrees_with_grs80_and_with_oiml() {
    for row in rows("local_gravity.csv") {
        let (latitude, height) = (row.number("lat_deg"), row.number("height_m"));
        let found = normal_gravity(latitude, height);
        // The constants of the series are given to ten or eleven figures.
        close(found, row.number("g_grs80"), 2e-10, "GRS80");
        close(found, row.number("g_boule_grs80"), 1.7e-8, "closed form");
        close(
            oiml_gravity(latitude, height),
            row.number("g_oiml_r76"),
            TWELVE,
            "OIML R 76",
        );
        close(
            found,
            row.number("g_oiml_r76"),
            1.15e-6,
            "GRS80 against OIML R 76",
        );
        let off = found / STANDARD_GRAVITY - 1.0;
        assert!((off - row.number("rel_diff_from_g0")).abs() < 2e-10);
    }
}
