//! Means of flow readings: how often U holds the truth, on jobs of known truth with fixed seeds.

use benchhand_blueprint::{Engine, ReportInputs, readings, report};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Six lifts, twice each, a manometer whose repeatability nobody stated: one scatter with six degrees
/// of freedom, k = 2.447 (JCGM 100 table G.2). The share of metering pressures whose U = k·u holds the
/// truth is to be 95 %, for scatter that is finer and coarser than the step, constant or in proportion
/// to the pressure.
#[test]
fn the_expanded_uncertainty_of_a_flow_mean_holds_the_truth_in_nineteen_of_twenty() {
    const JOBS: usize = 150;
    let text = "name = \"check\"\nunits = \"inch\"\ncylinders = 1\nbore = \"4 in\"\nstroke = \"3.5 in\"\n[flow]\nreference = \"28 inH2O\"\n[gauges.manometer]\nkind = \"manometer\"\nresolution = \"0.1 inH2O\"\nu = \"0 inH2O\"\nzero_u = \"0 inH2O\"\n";
    let engine = Engine::from_toml(text).unwrap_or_else(|faults| panic!("{faults}"));
    let mut rng = ChaCha8Rng::seed_from_u64(28);
    for (constant, share) in [(0.02, 0.0), (0.15, 0.0), (0.0, 0.02)] {
        let (mut held, mut all) = (0, 0);
        for _ in 0..JOBS {
            let mut csv = "spot,value,unit,gauge,u\n".to_owned();
            let mut truths = Vec::new();
            for lift in 1..=6 {
                let truth = 1.5 * f64::from(lift) + rng.random::<f64>();
                truths.push(truth);
                for _ in 0..2 {
                    let normal: f64 = StandardNormal.sample(&mut rng);
                    let read = truth + (constant + share * truth) * normal;
                    let read = (read / 0.1).round() * 0.1;
                    csv += &format!(
                        "flow/1/intake/0.{lift}00in/test,28,inH2O,,0\nflow/1/intake/0.{lift}00in/metering,{read:.1},inH2O,manometer,\n"
                    );
                }
            }
            let readings =
                readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
            let inputs = ReportInputs {
                engine: &engine,
                readings: &readings,
                stages: &[],
                stage: None,
            };
            let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
            for (found, truth) in report.flow.iter().zip(&truths) {
                let metering = found.metering_at_reference.clone().expect("measured");
                let off = (metering.value - truth).abs();
                held += usize::from(off <= 2.447 * metering.u.expect("known"));
                all += 1;
            }
        }
        let said = format!("scatter {constant} + {share}: held {held} of {all}");
        assert_eq!(all, 6 * JOBS);
        // 95 % less three standard deviations of a share of 900 (and of one scatter a job).
        assert!(held * 1000 >= all * 928, "{said}");
    }
}
