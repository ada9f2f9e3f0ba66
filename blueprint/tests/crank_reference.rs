//! Piston position, top dead centre, dwell and cuts against their check files.
//!
//! Tolerance: half a unit of the twelfth significant figure of the largest length or angle in
//! question, unless stated.

mod common;

use benchhand_blueprint::formula::crank::{Crank, top_from_equal_drop};
use benchhand_blueprint::formula::mill::{angled, depth_at_centroid, flat};
use common::{Row, TWELVE, close, rows};

fn crank(row: &Row) -> Crank<f64> {
    Crank {
        radius: row.number("two_r_mm") / 2.0,
        rod: row.number("rod_mm"),
        offset: row.number("offset_e_mm"),
    }
}

#[test]
fn the_piston_is_where_it_should_be_at_every_angle() {
    for row in rows("piston_position.csv") {
        let (crank, angle) = (crank(&row), row.number("theta_deg"));
        close(
            crank.height(&angle),
            row.number("pin_height_above_crank_mm"),
            TWELVE,
            "height",
        );
        // A drop is a difference of heights of up to 190 mm.
        let drop = crank.drop(&angle);
        assert!(
            (drop - row.number("drop_below_TDC_mm")).abs() < 1e-10,
            "{drop}"
        );
        let slope = crank.slope(&angle);
        assert!(
            (slope - row.number("d_drop_d_theta_mm_per_rad")).abs() < 1e-9,
            "{slope}"
        );
    }
}

#[test]
fn true_top_dead_centre_lies_between_angles_of_equal_drop() {
    for row in rows("tdc_equal_lift.csv") {
        let crank = crank(&row);
        let name = row.text("case");
        let n = |column| row.number(column);
        assert!(
            (crank.top_angle() - n("theta_TDC_deg")).abs() < 1e-11,
            "{name}"
        );
        close(crank.bottom_angle(), n("theta_BDC_deg"), TWELVE, name);
        close(crank.stroke(), n("stroke_actual_mm"), TWELVE, name);
        let (before, after) = crank.angles_at(n("drop_mm")).expect("within the stroke");
        // The roots in the file were found to about 1e-11 rad of a flat curve.
        assert!(
            (before - n("theta_before_deg")).abs() < 2e-9,
            "{name}: {before}"
        );
        assert!(
            (after - n("theta_after_deg")).abs() < 2e-9,
            "{name}: {after}"
        );
        let error = crank
            .bisection_error(n("drop_mm"))
            .expect("within the stroke");
        assert!(
            (error - n("bisection_error_deg")).abs() < 2e-9,
            "{name}: {error}"
        );
        let middle = top_from_equal_drop(&before, &after);
        assert!((middle - crank.top_angle() - error).abs() < 1e-12);
        if crank.offset == 0.0 {
            assert!(error.abs() < 1e-9, "exact without offset");
        }
        assert_eq!(crank.angles_at(2.0 * crank.stroke()), None);
    }
}

#[test]
fn the_piston_dwells_for_as_long_as_the_indicator_shows_nothing() {
    let offsets = [
        ("pin offset +0.060", 1.524),
        ("pin offset -0.060", -1.524),
        ("offset 0.8", 0.8),
    ];
    for row in rows("tdc_dwell.csv") {
        let name = row.text("case");
        let (two_r, rod) = match &name[..1] {
            "A" => (88.392, 144.78),
            "B" => (86.0, 143.0),
            "C" => (95.25, 152.4),
            other => panic!("{other}"),
        };
        let offset = offsets
            .iter()
            .find(|(text, _)| name.contains(text))
            .map_or(0.0, |o| o.1);
        let crank = Crank {
            radius: two_r / 2.0,
            rod,
            offset,
        };
        let q = row.number("resolution_mm");
        // Heights of 190 mm resolve a drop of 1 µm to 3e-14 mm, its angle to 1e-11 relative; the
        // roots in the file are of the same kind.
        close(crank.dwell(q), row.number("dwell_deg_exact"), 2e-9, name);
        close(
            crank.dwell_near(q),
            row.number("dwell_deg_approx"),
            TWELVE,
            name,
        );
    }
}

#[test]
fn a_cut_takes_what_geometry_says() {
    for row in rows("angle_mill.csv") {
        let n = |column| row.number(column);
        let area = std::f64::consts::PI / 4.0 * n("ellipse_axis_a_mm") * n("ellipse_axis_b_mm");
        close(area, n("area_mm2"), TWELVE, "area");
        let (pivot, angle, at) = (
            n("depth_at_pivot_mm"),
            n("angle_deg"),
            n("centroid_offset_mm"),
        );
        close(
            depth_at_centroid(&pivot, angle, &at),
            n("depth_at_centroid_mm"),
            TWELVE,
            "depth",
        );
        let volume = angled(&area, &pivot, angle, &at);
        close(volume, n("V_cc"), TWELVE, "volume");
        // The grid of the file is good to 4e-6.
        close(volume, n("V_numeric_cc"), 4.1e-6, "volume by a grid");
        if angle == 0.0 {
            close(flat(&area, &pivot), n("V_cc"), TWELVE, "flat");
        }
    }
    // docs/formulas.md: an opening of 5720 mm² gives 0.145 cc per thousandth of an inch.
    close(flat(&5720.0, &0.0254), 0.145, 0.003, "per thousandth");
}

/// The throw solved from the travel gives that travel again, and with an offset it is less than half
/// of it.
#[test]
fn a_crank_from_its_travel_has_that_travel() {
    for offset in [0.0, 0.8, 1.524, -10.0] {
        let crank = Crank::of_travel(&88.392, &144.78, &offset);
        close(crank.stroke(), 88.392, TWELVE, "travel");
        assert_eq!(crank.radius < 44.196, offset != 0.0, "{offset}");
    }
}
