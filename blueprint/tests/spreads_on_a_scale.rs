//! Spreads that were read on a scale with steps: equal readings hide what lies within a step.
//!
//! Jobs of known parts are read, rounded and judged, with fixed seeds. A wrong "within" is allowed
//! in 5 % of jobs whose true spread is (hardly) above the tolerance. No outside source: the truth is
//! that of the simulated parts.

use std::sync::Arc;

use benchhand_blueprint::decide::{VerdictAnswer, expected_spread_of_equals, spread_verdict};
use benchhand_blueprint::figure::{ErrorShape, ErrorSource, Estimate};
use benchhand_blueprint::{Engine, ReportInputs, readings, report};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const FREE: f64 = f64::INFINITY;

/// A gauge: its step, whether a reading is the difference of two displayed values, its scatter.
#[derive(Debug, Clone, Copy)]
struct GaugeEntry {
    step: f64,
    difference: bool,
    sigma: f64,
}

impl GaugeEntry {
    fn read(self, part: f64, rng: &mut ChaCha8Rng) -> f64 {
        let normal: f64 = StandardNormal.sample(rng);
        let at = |value: f64| (value / self.step).round() * self.step;
        let begin = if self.difference {
            rng.random::<f64>() * self.step
        } else {
            0.0
        };
        at(begin + part + self.sigma * normal) - at(begin)
    }

    fn estimate(self, at: usize, value: f64) -> Estimate {
        let name = format!("rounding {at}");
        let rounding = match self.difference {
            true => ErrorSource::limits(name, self.step, ErrorShape::Triangular, FREE),
            false => ErrorSource::resolution(name, self.step),
        };
        Estimate::input(format!("part {at}"), value, Some(self.sigma), FREE).with(rounding, 1.0)
    }
}

#[test]
fn four_equal_readings_of_a_coarse_burette_prove_nothing_below_its_steps() {
    for difference in [false, true] {
        let burette = GaugeEntry {
            step: 0.1,
            difference,
            sigma: 0.01,
        };
        let four: Vec<Estimate> = (0..4).map(|at| burette.estimate(at, 64.0)).collect();
        let answer = |tolerance| {
            spread_verdict(&four, tolerance, 4000, 1)
                .expect("four")
                .answer
        };
        for tolerance in [0.0001, 0.05, 0.09] {
            assert_eq!(
                answer(tolerance),
                VerdictAnswer::CannotTell,
                "{tolerance} {difference}"
            );
        }
        // Two steps are more than the roundings can hide.
        assert_eq!(answer(0.2), VerdictAnswer::Within, "{difference}");
    }
}

/// The rate of wrong answers over jobs of eight parts on coarse and fine steps, the steps lying
/// anywhere, two parts at the ends and the others in the middle or anywhere between.
#[test]
fn a_wrong_within_or_outside_is_rare_on_coarse_and_fine_steps() {
    const JOBS: usize = 200;
    let mut rng = ChaCha8Rng::seed_from_u64(64_000);
    let tolerance = 0.5;
    for step in [0.02, 0.2, 0.45, 0.9] {
        for difference in [false, true] {
            for (sigma, over) in [(0.02, 1.001), (0.15, 1.001), (0.02, 2.0)] {
                let gauge = GaugeEntry {
                    step,
                    difference,
                    sigma,
                };
                let (mut within, mut outside) = (0, 0);
                for _ in 0..JOBS {
                    let nominal = 64.0 + rng.random::<f64>();
                    let mut job = |truth: f64| {
                        let seen: Vec<Estimate> = (0..8)
                            .map(|at| {
                                let part = match at {
                                    0 => -truth / 2.0,
                                    1 => truth / 2.0,
                                    _ => truth * 0.4 * (rng.random::<f64>() - 0.5),
                                };
                                gauge.estimate(at, gauge.read(nominal + part, &mut rng))
                            })
                            .collect();
                        spread_verdict(&seen, tolerance, 400, 7)
                            .expect("eight")
                            .answer
                    };
                    within += usize::from(job(tolerance * over) == VerdictAnswer::Within);
                    outside += usize::from(job(tolerance / over) == VerdictAnswer::Outside);
                }
                let said = format!(
                    "{gauge:?}, {over} times: {within} wrong within, {outside} wrong outside of {JOBS}"
                );
                assert!(
                    within * 100 <= JOBS * 5 && outside * 100 <= JOBS * 5,
                    "{said}"
                );
            }
        }
    }
}

/// Sound jobs are still proven: eight parts within a fifth of the tolerance, on a burette of a
/// fifth of it.
#[test]
fn parts_well_within_the_tolerance_are_proven_so() {
    let mut rng = ChaCha8Rng::seed_from_u64(12);
    let gauge = GaugeEntry {
        step: 0.1,
        difference: true,
        sigma: 0.04,
    };
    let mut within = 0;
    for _ in 0..100 {
        let nominal = 64.0 + rng.random::<f64>();
        let seen: Vec<Estimate> = (0..8)
            .map(|at| {
                let part = 0.1 * (rng.random::<f64>() - 0.5);
                gauge.estimate(at, gauge.read(nominal + part, &mut rng))
            })
            .collect();
        let found = spread_verdict(&seen, 0.5, 400, 7).expect("eight");
        within += usize::from(found.answer == VerdictAnswer::Within);
    }
    assert!(within >= 90, "{within} of 100");
}

/// The scatter of one pair of repeats is the same wrong one at every place that rests on it, and has
/// no mean: the spread of equal parts is that which half of such jobs show.
#[test]
fn a_scatter_from_one_pair_gives_one_finite_spread_of_equal_parts() {
    let of = |pool: &dyn Fn(usize) -> String| -> Vec<Estimate> {
        let part = |at: usize| {
            let source: Arc<ErrorSource> =
                ErrorSource::pooled(format!("part {at}"), 0.1, 1.0, pool(at));
            Estimate::new(64.0, source)
        };
        (0..8).map(part).collect()
    };
    let one = of(&|_| "repeats".to_owned());
    let found = expected_spread_of_equals(&one, 4000, 1).expect("known");
    // Fresh draws: s of one pair, then eight parts of that scatter.
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let smaller = (0..4000)
        .filter(|_| {
            let scale = 0.1 / normal().abs();
            let parts: Vec<f64> = (0..8).map(|_| scale * normal()).collect();
            let high = parts.iter().copied().fold(f64::MIN, f64::max);
            let low = parts.iter().copied().fold(f64::MAX, f64::min);
            high - low < found
        })
        .count();
    // Half of 4000, and four standard deviations of both simulations together.
    assert!(
        (2000.0 - smaller as f64).abs() < 4.0 * 2f64.sqrt() * 1000f64.sqrt(),
        "{smaller} below {found}"
    );
    // The same number with another seed: 4 % is four standard errors of a median here.
    let again = expected_spread_of_equals(&one, 4000, 99).expect("known");
    assert!((found / again - 1.0).abs() < 0.15, "{found} {again}");
    let verdict = spread_verdict(&one, 0.5, 4000, 1).expect("eight");
    assert_eq!(verdict.of_equals, Some(found));
}

/// The same through a whole job: everything equal on coarse gauges, in one round and in two, with
/// and without a stated repeatability.
#[test]
fn a_job_whose_readings_are_all_equal_proves_no_spread_below_a_step() {
    for (rounds, stated) in [(2, ""), (1, "0.01"), (2, "0.01")] {
        let entry = |unit: &str| match stated {
            "" => String::new(),
            s => format!("repeatability = \"{s} {unit}\"\n"),
        };
        let text = format!(
            "name = \"check\"\nunits = \"metric\"\ncylinders = 4\nbore = \"86 mm +- 0 mm\"\nstroke = \"86 mm +- 0 mm\"\n[piston]\ncrown = \"5 cc +- 0 cc\"\n[gasket]\nbore = \"87 mm +- 0 mm\"\nthickness = \"1 mm +- 0 mm\"\n[tolerances]\nchamber_spread = \"0.0001 cc\"\ndeck_spread = \"0.0001 mm\"\ncompression_spread = 0.0001\n[gauges.burette]\nkind = \"burette\"\nresolution = \"0.1 cc\"\nu = \"0 cc\"\n{}[gauges.dial]\nkind = \"dial\"\nresolution = \"0.05 mm\"\nu = \"0 mm\"\n{}",
            entry("cc"),
            entry("mm"),
        );
        let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
        let mut csv = "spot,value,unit,gauge\n".to_owned();
        for cylinder in 1..=4 {
            let rows = format!(
                "chamber/{cylinder},64.0,cc,burette\ndeck/{cylinder}/front,0.20,mm,dial\ndeck/{cylinder}/rear,0.20,mm,dial\n"
            );
            csv += &rows.repeat(rounds);
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
        assert_eq!(report.verdicts.len(), 3);
        for judged in &report.verdicts {
            assert_eq!(
                judged.answer,
                VerdictAnswer::CannotTell,
                "{rounds} {stated}: {judged:?}"
            );
        }
        // One number of equal parts in the summary and in the sentence.
        let summary = report
            .summary
            .spreads_of_equals
            .chamber
            .expect("known")
            .value;
        let said = format!("about {summary:.2} cc");
        assert!(
            report.verdicts[0].text.contains(&said),
            "{said}: {}",
            report.verdicts[0].text
        );
    }
}
