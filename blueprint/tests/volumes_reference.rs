//! Volumes, liquids and bores against their check files.
//!
//! Tolerances: half a unit of the twelfth significant figure unless stated. Not checked: the
//! columns of `water_density.csv` by IAPWS are compared to show how far Tanaka's equation lies
//! from them, not for equality; `liquid_density.csv` holds properties of liquids, which are inputs
//! here (its densities are used below), and its expansions follow from them by difference only.

mod common;

use benchhand_blueprint::formula::bore::{BoreLevel, form};
use benchhand_blueprint::formula::liquid::{
    ALUMINIUM, BOROSILICATE, CAST_IRON, DROP, SODA_LIME, at_20_degrees, left_burette, moved_volume,
    tube_volume_per_mm, volume_by_weight, water_density, z_factor,
};
use benchhand_blueprint::formula::volume::{crown_in_bore, disc};
use common::{TWELVE, close, rows};

#[test]
fn water_is_as_dense_as_tanaka_says_and_near_what_iapws_says() {
    for row in rows("water_density.csv") {
        let t = row.number("t_degC");
        let found = water_density(&t);
        close(found, row.number("rho_tanaka2001"), TWELVE, "Tanaka");
        // The file notes -1.15e-6 at 40 C as the largest difference.
        close(
            found,
            row.number("rho_iapws95_coolprop"),
            1.2e-6,
            "IAPWS-95",
        );
        close(found, row.number("rho_iapws95_iapws"), 1.2e-6, "IAPWS-95");
        close(found, row.number("rho_iapws_sr6_08"), 1.2e-6, "SR6-08");
    }
}

#[test]
fn the_expansion_of_water_is_the_slope_of_its_density() {
    use benchhand_blueprint::Estimate;
    for row in rows("water_density.csv") {
        let t = Estimate::input("t", row.number("t_degC"), Some(1.0), f64::INFINITY);
        let density = water_density(&t);
        let expansion = -density.slope("t") / density.value();
        // By IAPWS-95; the slopes of the two equations differ by up to 1e-6 per K.
        let expected = row.number("beta_vol_expansion_per_K_coolprop");
        assert!(
            (expansion - expected).abs() < 1.2e-6,
            "{expansion} {expected}"
        );
    }
}

#[test]
fn z_factors_agree_with_the_equation_and_with_the_printed_table() {
    let mut agree = 0;
    let all = rows("z_factor.csv");
    for row in &all {
        let (water, air) = (row.number("rho_water"), row.number("rho_air_cipm2007"));
        let z = z_factor(&water, &air);
        // The densities that it is calculated from here have twelve figures themselves.
        close(z, row.number("Z_cipm2007"), 2.0 * TWELVE, "Z");
        let t = row.number("t_degC");
        close(water_density(&t), water, TWELVE, "water");
        let humid =
            benchhand_blueprint::formula::air::moist_air(&(row.number("p_hPa") * 100.0), &t, &0.5);
        close(humid.density, air, TWELVE, "air");
        assert!((z - row.number("z_printed")).abs() < 6e-5);
        let rounded = (z * 1e4).round() / 1e4;
        let same = (rounded - row.number("z_printed")).abs() < 1e-9;
        assert_eq!(same, row.text("agrees_4_decimals") == "true", "{t} C");
        agree += usize::from(same);
    }
    assert!(agree * 10 >= all.len() * 8);
}

#[test]
fn weighing_gives_the_volume_and_shows_what_buoyancy_is_worth() {
    for row in rows("gravimetric_volume.csv") {
        let n = |column| row.number(column);
        close(
            z_factor(&n("rho_liquid"), &n("rho_air")),
            n("Z_mL_per_g"),
            TWELVE,
            "Z",
        );
        let volume = volume_by_weight(&n("balance_g"), &n("rho_liquid"), &n("rho_air"));
        close(volume, n("V_cc"), TWELVE, row.text("liquid"));
        let without = n("balance_g") / n("rho_liquid") * 1000.0;
        close(
            without,
            n("V_without_buoyancy_cc"),
            TWELVE,
            "without buoyancy",
        );
        close(n("balance_g"), n("V_if_1g_is_1cc"), TWELVE, "one gram a cc");
        assert!(volume > without, "buoyancy makes the indication too small");
        // The densities of the alcohols are those of the other file.
        let name = row
            .text("liquid")
            .split_whitespace()
            .next()
            .expect("a name")
            .to_owned();
        let same = rows("liquid_density.csv").into_iter().find(|other| {
            other.text("liquid") == name && other.number("t_C") == n("t_C") && name != "water"
        });
        if let Some(other) = same {
            close(other.number("rho_kg_m3"), n("rho_liquid"), TWELVE, &name);
        }
    }
}

#[test]
fn a_burette_reading_becomes_the_chamber_at_20_degrees() {
    for row in rows("burette_correction.csv") {
        let n = |column| row.number(column);
        let glass = match row.text("glass") {
            "soda-lime" => SODA_LIME,
            _ => BOROSILICATE,
        };
        close(glass, n("gamma_per_K"), 1e-15, "glass");
        let metal = match row.text("chamber") {
            "cast iron head" => CAST_IRON,
            _ => ALUMINIUM,
        };
        close(3.0 * metal, n("three_alpha_per_K"), 1e-12, "metal");
        let (t_b, t_c) = (n("t_burette_C"), n("t_chamber_C"));
        let left = left_burette(&n("indicated_cc"), &glass, &t_b);
        close(left, n("left_burette_cc"), TWELVE, "left the burette");
        let there = moved_volume(&left, &water_density(&t_b), &water_density(&t_c));
        close(there, n("at_chamber_temp_cc"), TWELVE, "in the chamber");
        let at_20 = at_20_degrees(&there, &metal, &t_c);
        close(at_20, n("chamber_at_20C_cc"), TWELVE, "at 20 C");
        // A difference of numbers of twelve figures.
        let correction = at_20 - n("indicated_cc");
        assert!((correction - n("correction_cc")).abs() < 1e-10);
    }
}

#[test]
fn a_burette_of_this_bore_holds_so_much_a_millimetre() {
    for row in rows("burette_geometry.csv") {
        let bore = row.number("bore_mm");
        let per_mm = tube_volume_per_mm(&bore);
        close(per_mm, row.number("cc_per_mm"), TWELVE, "per mm");
        close(
            0.1 * per_mm,
            row.number("cc_per_0.1mm_meniscus"),
            TWELVE,
            "meniscus",
        );
        close(
            per_mm,
            row.number("cc_per_1mm_parallax"),
            TWELVE,
            "parallax",
        );
        close(DROP, row.number("drop_cc"), 1e-15, "drop");
    }
}

#[test]
fn a_crown_measured_down_the_bore_has_its_volume_and_its_sign() {
    for row in rows("dome_in_bore.csv") {
        let n = |column| row.number(column);
        let plain = disc(&n("bore_mm"), &n("h_mm"));
        close(plain, n("plain_cylinder_cc"), TWELVE, "cylinder");
        let crown = crown_in_bore(
            &n("bore_mm"),
            &n("h_mm"),
            &n("crevice_cc"),
            &n("measured_cc"),
        );
        // A difference of volumes of up to 110 cc, to twelve figures of those.
        assert!((crown - n("dome_cc")).abs() < 1e-9, "{}", row.text("label"));
    }
}

#[test]
fn a_bore_has_its_diameter_its_out_of_round_and_its_taper() {
    for row in rows("bore_measure.csv") {
        let levels: Vec<BoreLevel<f64>> = row
            .text("d_along/across_mm_top_mid_bottom")
            .split(' ')
            .map(|pair| {
                let (along, across) = pair.split_once('/').expect("two diameters");
                let number = |text: &str| Some(text.parse().expect("a number"));
                BoreLevel {
                    along: number(along),
                    across: number(across),
                }
            })
            .collect();
        let form = form(&levels).expect("a form");
        let near = |found: Option<f64>, column: &str| {
            let found = found.expect("measured in both directions everywhere");
            assert!(
                (found - row.number(column)).abs() < 1e-12 * 102.0,
                "{column}: {found}"
            );
        };
        close(form.diameter, row.number("rms_d_mm"), TWELVE, "diameter");
        near(form.out_of_round, "out_of_round_mm");
        near(form.roundness, "iso_roundness_if_pure_oval_mm");
        near(form.taper, "taper_of_means_mm");
        near(form.taper_worst, "taper_worst_direction_mm");
        let both = |l: &BoreLevel<f64>| l.along.zip(l.across).map_or(f64::NAN, |(a, b)| a + b);
        let mean = levels.iter().map(both).sum::<f64>() / 6.0;
        close(mean, row.number("mean_d_mm"), TWELVE, "mean");
        let error = (form.diameter / mean).powi(2) - 1.0;
        assert!((error - row.number("area_error_using_mean_instead_of_rms")).abs() < 1e-14);
    }
}
