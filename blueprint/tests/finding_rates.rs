//! How often findings are right: on 200 sound engines and on 200 with two faults, drawn with a
//! fixed seed. Chambers differ by 0.1 cc, decks by 0.0005 in, crowns by 0.1 cc (standard
//! deviations); gauges repeat to 0.06 cc and 0.0003 in and show steps of 0.1 cc and 0.0005 in.

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const ENGINES: usize = 200;

struct Shop {
    rng: ChaCha8Rng,
}

impl Shop {
    fn normal(&mut self, sd: f64) -> f64 {
        let normal: f64 = StandardNormal.sample(&mut self.rng);
        sd * normal
    }

    /// The readings of one engine, with this much added to the chamber of cylinder 6 and to the
    /// front point of piston 3.
    fn readings(&mut self, chamber: f64, grit: f64) -> String {
        let step = |value: f64, step: f64| (value / step).round() * step;
        let mut csv = "spot,value,unit,gauge\n".to_owned();
        for cylinder in 1..=8 {
            let large = if cylinder == 6 { chamber } else { 0.0 };
            let volume = 64.0 + self.normal(0.1) + large;
            for _ in 0..2 {
                let read = step(volume + self.normal(0.06), 0.1);
                csv += &format!("chamber/{cylinder},{read:.1},cc,burette\n");
            }
            let deck = 0.008 + self.normal(0.0005);
            for point in ["front", "rear"] {
                let lifted = if cylinder == 3 && point == "front" {
                    grit
                } else {
                    0.0
                };
                let read = step(deck + self.normal(0.0003) + lifted, 0.0005);
                csv += &format!("deck/{cylinder}/{point},{read:.4},in,dial\n");
            }
            let crown = step(-3.2 + self.normal(0.1) + self.normal(0.06), 0.1);
            csv += &format!("crown/{cylinder},{crown:.1},cc,burette\n");
        }
        csv
    }
}

fn report_of(engine: &Engine, csv: &str) -> Report {
    let readings = readings::from_csv(csv, engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn told(report: &Report, kind: FindingKind) -> Vec<String> {
    report
        .findings_of(kind)
        .map(|finding| finding.spot.clone())
        .collect()
}

#[test]
fn faults_are_found_and_sound_engines_are_left_alone() {
    // No verdicts are asked for: they cost time and are not counted here.
    let text = &ENGINE[..ENGINE.find("[tolerances]").expect("tolerances")];
    let rest = &ENGINE[ENGINE.find("[flow]").expect("flow")..];
    let engine = Engine::from_toml(&format!("{text}{rest}")).unwrap_or_else(|f| panic!("{f}"));
    let mut shop = Shop {
        rng: ChaCha8Rng::seed_from_u64(6),
    };
    let (mut outliers, mut disagreeing) = (0, 0);
    for _ in 0..ENGINES {
        let report = report_of(&engine, &shop.readings(0.0, 0.0));
        outliers += usize::from(!told(&report, FindingKind::Outlier).is_empty());
        disagreeing += usize::from(!told(&report, FindingKind::Disagrees).is_empty());
    }
    let (mut large, mut grit) = (0, 0);
    for _ in 0..ENGINES {
        let report = report_of(&engine, &shop.readings(0.9, 0.006));
        large += usize::from(told(&report, FindingKind::Outlier).contains(&"chamber/6".to_owned()));
        grit += usize::from(told(&report, FindingKind::Disagrees).contains(&"deck/3".to_owned()));
    }
    let all = format!(
        "of {ENGINES}: {outliers} sound ones with an outlier, {disagreeing} with a disagreement; {large} large chambers and {grit} bad pairs found"
    );
    // 5 % of reports, and three standard deviations of their number.
    assert!(outliers <= ENGINES * 10 / 100, "{all}");
    assert!(disagreeing <= ENGINES * 10 / 100, "{all}");
    assert!(large >= ENGINES * 90 / 100, "{all}");
    assert!(grit >= ENGINES * 98 / 100, "{all}");
}
