//! Measures capture on thousands of signals with known truth, beside a plain threshold.
//!
//! `cargo bench -p benchhand-daemon --bench capture [-- pours|scales|sweeps|thrust|settles|idle|flows] [N]`

#![allow(clippy::print_stdout)] // a report for people

use benchhand_daemon::capture::CaptureMode;
use benchhand_daemon::synth::measure::{
    ArrivalTimes, CaseFigures, flows, pours, settles, sweeps, taken_while_idle, thrusts,
};
use benchhand_daemon::synth::{
    FlowRules, HandEvenness, IdleRules, Manner, PourRules, ReadBy, SweepRules,
};
use std::time::Instant;

type ReadingPart = fn(usize);

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with("--"))
        .collect();
    let n = words.iter().find_map(|w| w.parse().ok()).unwrap_or(5_000);
    let only: Vec<&String> = words
        .iter()
        .filter(|w| w.parse::<usize>().is_err())
        .collect();
    let parts: [(&str, ReadingPart); 8] = [
        ("pours", show_pours),
        ("rates", show_rates),
        ("scales", show_scales),
        ("sweeps", show_sweeps),
        ("thrust", show_thrust),
        ("settles", show_settles),
        ("idle", show_idle),
        ("flows", show_flows),
    ];
    for (name, part) in parts {
        if only.is_empty() || only.iter().any(|w| *w == name) {
            let began = Instant::now();
            part(n);
            println!("  ({:.1} s)", began.elapsed().as_secs_f64());
        }
    }
}

fn show_pours(n: usize) {
    let late = PourRules {
        pours: 4,
        drains_late: 1.0,
        ..Default::default()
    };
    let rules = PourRules {
        pours: 4,
        ..Default::default()
    };
    let dry = PourRules {
        drains: 0.0,
        ..rules.clone()
    };
    for (name, rules, line) in [
        ("pours, cc", &rules, ArrivalTimes::Even),
        ("pours, no drainage, cc", &dry, ArrivalTimes::Even),
        (
            "pours, drainage from the last drop, cc",
            &late,
            ArrivalTimes::Even,
        ),
        ("pours, shaken line, cc", &rules, ArrivalTimes::Shaken),
    ] {
        let (ours, plain) = pours(n, 1, rules, line);
        print(name, &ours, &[0.03, 0.05]);
        print("  plain threshold", &plain, &[0.03, 0.05]);
    }
}

/// Gauges that send more and less often.
fn show_rates(n: usize) {
    for hertz in [50.0, 20.0, 5.0, 3.0, 2.0, 1.0] {
        let rules = PourRules {
            pours: 4,
            hertz,
            ..Default::default()
        };
        let (ours, _) = pours(n, 1, &rules, ArrivalTimes::Even);
        print(
            &format!("pours, {hertz} a second, cc"),
            &ours,
            &[0.03, 0.05],
        );
    }
}

fn show_scales(n: usize) {
    let burette = PourRules::by_mass(ReadBy::BalanceUnderBurette);
    let vessel = PourRules::by_mass(ReadBy::BalanceUnderVessel);
    let losing = |most| PourRules {
        evaporates: (0.0, most),
        ..burette.clone()
    };
    let (a_little, much) = (losing(0.05), losing(0.3));
    let hand = PourRules {
        hands: 0.5,
        ..burette.clone()
    };
    for (name, rules, line) in [
        ("burette on a balance, g", &burette, ArrivalTimes::Even),
        (
            "burette on a balance, shaken line, g",
            &burette,
            ArrivalTimes::Shaken,
        ),
        (
            "… up to 0.05 g/min evaporates, g",
            &a_little,
            ArrivalTimes::Even,
        ),
        ("… up to 0.3 g/min evaporates, g", &much, ArrivalTimes::Even),
        ("… a hand on the pan, g", &hand, ArrivalTimes::Even),
        (
            "vessel on a balance, lifted between, g",
            &vessel,
            ArrivalTimes::Even,
        ),
    ] {
        let (ours, _) = pours(n, 1, rules, line);
        print(name, &ours, &[0.03, 0.05]);
    }
}

fn show_sweeps(n: usize) {
    let usual = SweepRules::default();
    let fast = SweepRules {
        speed: (20.0, 60.0),
        ..Default::default()
    };
    let uneven = SweepRules::uneven();
    let pulls = SweepRules {
        hand: HandEvenness::InPulls,
        ..SweepRules::uneven()
    };
    for (name, rules, line) in [
        ("sweeps, counts", &usual, ArrivalTimes::Even),
        (
            "sweeps by an uneven hand, counts",
            &uneven,
            ArrivalTimes::Even,
        ),
        ("sweeps in short pulls, counts", &pulls, ArrivalTimes::Even),
        (
            "sweeps by an uneven hand, shaken, counts",
            &uneven,
            ArrivalTimes::Shaken,
        ),
        ("sweeps too fast, counts", &fast, ArrivalTimes::Even),
        ("sweeps, shaken line, counts", &usual, ArrivalTimes::Shaken),
        (
            "sweeps too fast, shaken line, counts",
            &fast,
            ArrivalTimes::Shaken,
        ),
    ] {
        let (ours, plain) = sweeps(n, 1, rules, line);
        print(name, &ours, &[0.5, 1.0]);
        print("  highest sample", &plain, &[0.5, 1.0]);
    }
}

fn show_thrust(n: usize) {
    for line in [ArrivalTimes::Even, ArrivalTimes::Shaken] {
        let (means, rocks) = thrusts(n, 1, line);
        print("thrust sides, mean, counts", &means, &[1.0, 2.0]);
        print("thrust sides, rock, counts", &rocks, &[1.0, 2.0]);
    }
}

fn show_settles(n: usize) {
    for (name, manner, line) in [
        ("settles, counts", Manner::Any, ArrivalTimes::Even),
        (
            "settles, creep in the direction of movement, counts",
            Manner::CreepsOn,
            ArrivalTimes::Even,
        ),
        (
            "settles, at once, counts",
            Manner::AtOnce,
            ArrivalTimes::Even,
        ),
        (
            "settles, shaken line, counts",
            Manner::Any,
            ArrivalTimes::Shaken,
        ),
    ] {
        let (ours, plain) = settles(n, 1, manner, line);
        print(name, &ours, &[1.0, 2.0]);
        print("  plain threshold", &plain, &[1.0, 2.0]);
    }
}

fn show_idle(n: usize) {
    let days = (n / 500).clamp(1, 40) as u64;
    for mode in [CaptureMode::Settle, CaptureMode::Extreme] {
        let taken: usize = (1..=days)
            .map(|s| taken_while_idle(mode, s, &IdleRules::default(), ArrivalTimes::Even))
            .sum();
        println!("idle, {mode:?}: {taken} taken in {days} times eight hours");
    }
}

fn show_flows(n: usize) {
    for (name, seconds) in [("flows, window complete", 15.2), ("flows, 6 s only", 6.0)] {
        let f = flows(
            n,
            1,
            &FlowRules {
                seconds,
                ..Default::default()
            },
        );
        print(name, &f.figures, &[0.01, 0.02]);
        let all = f.figures.errors.len() as f64;
        println!(
            "  within 2 se {:.1} %, by s/√n {:.1} %; drift said {} of {}",
            100.0 * f.covered as f64 / all,
            100.0 * f.covered_plain as f64 / all,
            f.drift_said.0,
            f.drift_said.1
        );
    }
}

fn print(name: &str, f: &CaseFigures, limits: &[f64]) {
    println!(
        "{name}: {} cases, {} missed, {} refused, {} early",
        f.cases, f.missed, f.refused, f.early
    );
    let beyond: Vec<String> = limits
        .iter()
        .map(|l| {
            format!(
                "{} beyond {l} ({:.2} % within)",
                f.beyond(*l),
                100.0 * f.within(*l)
            )
        })
        .collect();
    println!(
        "    bias {:+.5}, sd {:.5}, worst {:.4}, {}",
        f.bias(),
        f.sd(),
        f.worst(),
        beyond.join(", ")
    );
    if !f.delays.is_empty() {
        println!(
            "    delay median {:.2} s, 95 % {:.2} s; in time {:.2} %",
            f.delay(0.5),
            f.delay(0.95),
            100.0 * f.share_in_time()
        );
    }
    if !f.look_at.is_empty() {
        println!(
            "    seeds to look at: {:?}",
            &f.look_at[..f.look_at.len().min(8)]
        );
    }
}
