//! Every placing of the metering orifice in both directions, and benches that show their flow
//! themselves, against a chain that is written out by hand here.
//!
//! The hand chain: density of moist air from the reference table (CIPM-2007); expansibility by
//! ISO 5167-2:2003, 5.3.2.2 with β → 0 and κ = 1.4, `1 − 0.351·[1 − (p₂/p₁)^(1/κ)]`; the orifice by
//! `m = A·ε·√(2Δp·ρ₁)`; the port by Heywood's isentropic form, `A·√{2ρ₀p₀·γ/(γ−1)·[r^(2/γ) −
//! r^((γ+1)/γ)]}` (`docs/formulas.md`, section 10, items 2, 3, 4 and 8). Densities at a place are the
//! room's times p/p_room·T_room/T.

mod common;

use benchhand_blueprint::report::{FlowReport, Report};
use benchhand_blueprint::{Engine, ReportInputs, readings, report};
use common::{close, rows};

const ROOM: f64 = 101_325.0;
const KELVIN: f64 = 273.15;
/// Test pressure 7 kPa, drop over the orifice 4 kPa.
const TEST: f64 = 7000.0;
const METERING: f64 = 4000.0;
/// The orifice: 40 mm, coefficient 0.6.
const ORIFICE: f64 = 0.6 * std::f64::consts::PI / 4.0 * 0.04 * 0.04;

/// Density of the room's air, 20 °C and 50 %, by the table.
fn room_density() -> f64 {
    let rows = rows("moist_air_density.csv");
    let here = rows.iter().find(|row| {
        row.number("t_degC") == 20.0 && row.number("p_Pa") == ROOM && row.number("rh") == 0.5
    });
    here.expect("the room is in the table")
        .number("rho_cipm2007")
}

fn density(pressure: f64, celsius: f64) -> f64 {
    room_density() * pressure / ROOM * (20.0 + KELVIN) / (celsius + KELVIN)
}

/// Mass through the orifice, by hand, kg/s.
fn orifice_mass(before: f64, celsius: f64) -> f64 {
    let expansibility = 1.0 - 0.351 * (1.0 - ((before - METERING) / before).powf(1.0 / 1.4));
    ORIFICE * expansibility * (2.0 * METERING * density(before, celsius)).sqrt()
}

/// Effective area of the port, by hand, mm².
fn port_area(mass: f64, upstream: f64, celsius: f64) -> f64 {
    let r = (upstream - TEST) / upstream;
    let inside = r.powf(2.0 / 1.4) - r.powf(2.4 / 1.4);
    let unit = (2.0 * density(upstream, celsius) * upstream * 1.4 / 0.4 * inside).sqrt();
    mass / unit * 1e6
}

fn engine(flow: &str) -> String {
    format!(
        "name = \"a bench\"\ninvented = true\nunits = \"metric\"\ncylinders = 1\nbore = \"86 mm\"\n\
         stroke = \"86 mm\"\nspeed = \"6000 rpm\"\n[flow]\nreference = \"7000 Pa\"\n\
         air_pressure = \"101325 Pa +- 10 Pa\"\nair_temperature = \"20 degC +- 0.1 degC\"\n\
         humidity = \"50 %RH +- 1 %RH\"\n{flow}\n[ports.intake]\nvalve = \"40 mm +- 0.01 mm\"\n\
         [ports.exhaust]\nvalve = \"34 mm +- 0.01 mm\"\n"
    )
}

fn plate(before: &str) -> String {
    engine(&format!(
        "orifice = \"plate\"\n{before}\n[flow.orifices.plate]\ndiameter = \"40 mm +- 0.01 mm\"\n\
         cd = \"0.6 1 +- 0.001 1\""
    ))
}

fn reported(engine: &str, port: &str, parts: &[(&str, &str)]) -> Report {
    let mut csv = "spot,value,unit,u\n".to_owned();
    for lift in ["6mm", "9mm"] {
        for (part, value) in parts {
            csv += &format!("flow/1/{port}/{lift}/{part},{value},0.01\n");
        }
    }
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

const PRESSURES: [(&str, &str); 2] = [("test", "7000,Pa"), ("metering", "4000,Pa")];

#[track_caller]
fn agrees(flow: &FlowReport, mass: f64, upstream: f64, celsius: f64) {
    let found = |figure: Option<benchhand_blueprint::Figure>| {
        let figure = figure.expect("a figure");
        figure.unit.to_base(figure.value)
    };
    let found_mass = flow.mass_flow.clone().expect("a mass flow");
    close(found_mass.value, mass, 1e-6, "mass");
    close(
        found(flow.effective_area.clone()),
        port_area(mass, upstream, celsius),
        1e-6,
        "area",
    );
    let volume = mass / density(upstream, celsius) * 60_000.0;
    close(
        found(flow.port_flow.clone()),
        volume,
        1e-6,
        "volume before the port",
    );
}

/// Where the orifice stands, the port, what else was read, pressure and temperature before the
/// orifice, temperature before the port.
type Case<'a> = (&'a str, &'a str, &'a [(&'a str, &'a str)], f64, f64, f64);

#[test]
fn every_placing_of_the_orifice_is_figured_from_the_air_that_passes_it() {
    let warm = ("temperature", "38,degC");
    let plenum = ("plenum_temperature", "38,degC");
    let (below, above) = (ROOM - TEST, ROOM + TEST);
    let cases: [Case<'_>; 7] = [
        (
            "orifice_before = \"plenum\"",
            "intake",
            &[],
            below,
            20.0,
            20.0,
        ),
        (
            "orifice_before = \"plenum\"",
            "intake",
            &[("temperature", "22,degC")],
            below,
            22.0,
            20.0,
        ),
        (
            "orifice_before = \"blower\"",
            "intake",
            &[warm],
            ROOM + METERING,
            38.0,
            20.0,
        ),
        (
            "orifice_before = \"room\"",
            "exhaust",
            &[plenum],
            ROOM,
            20.0,
            38.0,
        ),
        (
            "orifice_before = \"blower\"",
            "exhaust",
            &[warm],
            above + METERING,
            38.0,
            38.0,
        ),
        // The blower turned round: the orifice stands between plenum and blower as before.
        (
            "orifice_before = \"plenum\"",
            "exhaust",
            &[warm],
            above + METERING,
            38.0,
            38.0,
        ),
        (
            "orifice_before = \"plenum\"\norifice_before_out = \"room\"",
            "exhaust",
            &[plenum],
            ROOM,
            20.0,
            38.0,
        ),
    ];
    for (place, port, more, before, at_orifice, at_port) in cases {
        let parts: Vec<_> = PRESSURES.iter().chain(more).copied().collect();
        let report = reported(&plate(place), port, &parts);
        let upstream = if port == "intake" { ROOM } else { ROOM + TEST };
        let flow = &report.flow[0];
        agrees(flow, orifice_mass(before, at_orifice), upstream, at_port);
        let area = flow.effective_area.clone().expect("known");
        assert!(area.u.is_some(), "{place} {port}: all was said");
    }
}

/// What the exhaust side gave before with the orifice between blower and plenum: the plenum's own
/// pressure before the orifice, or the room's. Both are off by more than any gauge.
#[test]
fn the_pressure_before_the_orifice_counts_its_own_drop() {
    let right = orifice_mass(ROOM + TEST + METERING, 20.0);
    for (wrong, least) in [(ROOM + TEST, 0.01), (ROOM, 0.04)] {
        assert!(1.0 - orifice_mass(wrong, 20.0) / right > least, "{wrong}");
    }
}

#[test]
fn air_that_the_blower_warmed_by_nobody_knows_how_much_is_named() {
    for (place, port, needed) in [
        ("orifice_before = \"blower\"", "intake", "`temperature`"),
        ("orifice_before = \"blower\"", "exhaust", "`temperature`"),
        ("orifice_before = \"plenum\"", "exhaust", "`temperature`"),
        (
            "orifice_before = \"room\"",
            "exhaust",
            "`plenum_temperature`",
        ),
    ] {
        let report = reported(&plate(place), port, &PRESSURES);
        assert!(
            report.remarks.iter().any(|one| one.contains(needed)),
            "{place} {port}: {:?}",
            report.remarks
        );
        let flow = &report.flow[0];
        assert_eq!(
            flow.port_flow.clone().expect("with the room's").u,
            None,
            "{place} {port}"
        );
        // The same air at the orifice and at the port: its temperature cancels in the area.
        let same = (port, place) != ("exhaust", "orifice_before = \"room\"") && port == "exhaust";
        let area = flow.effective_area.clone().expect("with the room's");
        assert_eq!(area.u.is_some(), same, "{place} {port}");
    }
    let sound = reported(&plate("orifice_before = \"plenum\""), "intake", &PRESSURES);
    assert!(!sound.remarks.iter().any(|one| one.contains("blower warms")));
}

#[test]
fn a_placing_that_cannot_be_figured_is_refused_with_what_is_needed() {
    for (place, needed) in [
        ("orifice_before = \"room\"", "Say \"plenum\""),
        ("", "State orifice_before"),
    ] {
        let report = reported(&plate(place), "intake", &PRESSURES);
        assert!(report.flow[0].effective_area.is_none() && report.flow[0].mass_flow.is_none());
        assert!(
            report.remarks.iter().any(|one| one.contains(needed)),
            "{:?}",
            report.remarks
        );
        // What does not rest on the density stays.
        assert!(report.flow[0].flow_at_reference.is_some());
    }
    let wrong = plate("orifice_before = \"attic\"");
    let faults = Engine::from_toml(&wrong).unwrap_err().to_string();
    assert!(faults.contains("\"blower\""), "{faults}");
}

/// 4200 L/min (0.07 m³/s) of the room's air, of the plenum's, and of standard air of 1.2041 kg/m³.
#[test]
fn a_bench_that_shows_its_flow_itself_gets_areas_coefficients_and_mach_index() {
    let shown = [("test", "7000,Pa"), ("flow", "4200,L/min")];
    for (air, of) in [
        ("room", room_density()),
        ("plenum", density(ROOM - TEST, 20.0)),
        ("1.2041 kg/m3", 1.2041),
    ] {
        let report = reported(&engine(&format!("flow_air = \"{air}\"")), "intake", &shown);
        let flow = &report.flow[0];
        let mass = 0.07 * of;
        agrees(flow, mass, ROOM, 20.0);
        let head = std::f64::consts::PI / 4.0 * 40.0 * 40.0;
        let by_head = flow
            .coefficients
            .iter()
            .find(|one| one.by_area.name() == "valve head");
        let coefficient = by_head.expect("of the head").coefficient.value;
        close(
            coefficient,
            port_area(mass, ROOM, 20.0) / head,
            1e-6,
            "coefficient",
        );
        // Z = (b/D)²·s̄/(Ci·a), item 14: mean piston speed 2·0.086·100 m/s, a = √(γ·R·T) with
        // R = 287.05 J/(kg·K) of dry air (from memory).
        let sound = (1.4 * 287.05 * (20.0 + KELVIN)).sqrt();
        let expected = (86.0f64 / 40.0).powi(2) * 17.2 / (coefficient * sound);
        let index = report.running_ports[0]
            .mach_index
            .clone()
            .expect("of an intake")
            .value;
        close(index, expected, 1e-4, "Mach index");
    }
    // Out of the bench, with a plenum that the blower warmed to 38 °C.
    let warm: Vec<_> = shown
        .iter()
        .copied()
        .chain([("plenum_temperature", "38,degC")])
        .collect();
    let report = reported(&engine("flow_air = \"plenum\""), "exhaust", &warm);
    agrees(
        &report.flow[0],
        0.07 * density(ROOM + TEST, 38.0),
        ROOM + TEST,
        38.0,
    );
}

#[test]
fn a_shown_flow_of_unsaid_air_is_refused_and_a_leak_is_taken_off_in_the_same_air() {
    let shown = [("test", "7000,Pa"), ("flow", "6000,L/min")];
    let report = reported(&engine(""), "intake", &shown);
    assert!(report.flow[0].effective_area.is_none());
    assert!(
        report
            .remarks
            .iter()
            .any(|one| one.contains("State flow_air"))
    );
    assert!(report.flow[0].flow_at_reference.is_some());
    let leaking: Vec<_> = shown
        .iter()
        .copied()
        .chain([("leak", "300,L/min")])
        .collect();
    let report = reported(&engine("flow_air = \"room\""), "intake", &leaking);
    agrees(&report.flow[0], 0.095 * room_density(), ROOM, 20.0);
    let faults = Engine::from_toml(&engine("flow_air = \"sea level\"")).unwrap_err();
    assert!(faults.to_string().contains("flow_air"), "{faults}");
}
