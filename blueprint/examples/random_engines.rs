//! Prints 200 random cylinders with their compression ratio and its uncertainty, one JSON object a
//! line, for `tests/against_uncertainties.py`, which propagates the same inputs with an independent
//! library and compares.
#![allow(clippy::print_stdout)]

use benchhand_blueprint::figure::Estimate;
use benchhand_blueprint::formula::compression::CylinderVolumes;
use rand::{RngExt, SeedableRng};

fn main() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(200);
    for _ in 0..200 {
        let mut number = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
        let bore = number(70.0, 120.0);
        let values = [
            bore,
            bore * number(0.8, 1.2),
            number(35.0, 120.0),
            bore + number(0.5, 4.0),
            number(0.5, 2.0),
            number(-0.3, 1.0),
            number(-25.0, 5.0),
            number(0.0, 1.5),
        ];
        let u: [f64; 8] = std::array::from_fn(|at| values[at].abs() * number(1e-5, 1e-2));
        let names = ["B", "S", "Vch", "Gb", "Gt", "deck", "dome", "crev"];
        let input = |at: usize| Estimate::input(names[at], values[at], Some(u[at]), f64::INFINITY);
        let cylinder = CylinderVolumes {
            bore: input(0),
            stroke: input(1),
            chamber: input(2),
            gasket_bore: input(3),
            gasket_thickness: input(4),
            deck: input(5),
            crown: input(6),
            crevice: input(7),
        };
        let ratio = cylinder.ratio();
        let line = serde_json::json!({
            "values": values,
            "u": u,
            "ratio": ratio.value(),
            "ratio_u": ratio.u(),
        });
        println!("{line}");
    }
}
