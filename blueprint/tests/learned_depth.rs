//! The depth of a cut that was learned from the cut before it: the slope and the chamber that is to
//! be made smaller rest on the same readings. Jobs with known truth, fixed seeds.

#[path = "common/asking.rs"]
mod asking;

use asking::{ask, u, value};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use serde_json::json;

/// By hand: depth = (y₂ − target)/b with b = (y₁ − y₂)/d₁, so that with a cut as deep as the first
/// its error is (2·e₂ − e₁)/b: σ·√5, where slope and chamber taken as independent give σ·√3.
#[test]
fn the_slope_and_the_chamber_share_their_readings() {
    const JOBS: usize = 300;
    const SIGMA: f64 = 0.1;
    let mut rng = ChaCha8Rng::seed_from_u64(1_000_003);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let engine = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 4\nbore = \"86 mm\"\nstroke = \"86 mm\"\n[gauges.burette]\nkind = \"burette\"\nresolution = \"0.001 cc\"\nu = \"0 cc\"\nrepeatability = \"{SIGMA} cc\"\n[[stages]]\nname = \"as received\"\n[[stages]]\nname = \"milled 1\"\nchanged = [\"chamber\"]\ndepth = \"0.5 mm +- 0 mm\"\n"
    );
    let (mut squares, mut stated, mut held) = (0.0f64, 0.0f64, 0);
    for _ in 0..JOBS {
        let mut csv = "spot,value,unit,gauge,stage\n".to_owned();
        for cylinder in 1..=4 {
            for (stage, truth) in [("as received", 64.0), ("milled 1", 61.0)] {
                let read = truth + SIGMA * normal();
                csv += &format!("chamber/{cylinder},{read:.3},cc,burette,{stage}\n");
            }
        }
        let found = ask(
            &engine,
            &csv,
            json!({"ask": "mill", "chamber": "58 cc", "learn": true}),
        );
        let depth = &found["answer"]["heads"][0]["depth"];
        // 3 cc at 6 cc per mm.
        let off = value(depth) - 0.5;
        squares += off * off;
        stated += u(depth).powi(2);
        held += usize::from(off.abs() <= 2.0 * u(depth));
    }
    let ratio = (stated / squares).sqrt();
    // A standard deviation of 300 is known to 4 %; independent errors would give 0.77.
    assert!((0.92..1.15).contains(&ratio), "{ratio}");
    assert!(held * 100 >= JOBS * 93, "{held} of {JOBS}");
}
