//! Capture against signals with known truth: how often wrong, how far, how late.
//!
//! Beside each mode stands what a plain threshold would have given on the same signals.

mod figures;

pub use figures::CaseFigures;

use std::collections::BTreeMap;

use super::{
    Dice, IdleRules, PourRules, SweepRules, flow, idle, pour_route, settle_of, sweep, thrust,
};
use super::{FlowRules, InventedGauge, Manner, depth_gauge, shake};
use crate::capture::{
    AverageSettings, CaptureEvent, CaptureMode, CaptureNote, CaptureSettings, ExtremeSettings,
    Replayed, Sigma, TurningPoint, replay, thrust_deck,
};
use benchhand_drivers::Sample;

/// How a line disturbs arrival times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArrivalTimes {
    /// Every sample at its own time.
    Even,
    /// Late by up to 60 ms, with stalls after which samples share one time.
    Shaken,
}

fn through(line: ArrivalTimes, seed: u64, samples: &mut [Sample]) {
    if line == ArrivalTimes::Shaken {
        shake(samples, 0.06, 0.004, &mut Dice::seeded(seed ^ 0x5eed));
    }
}

/// Pours in routes of `per_route`, until `n` are poured; and the same by a plain threshold.
pub fn pours(
    n: usize,
    seed: u64,
    rules: &PourRules,
    line: ArrivalTimes,
) -> (CaseFigures, CaseFigures) {
    let (mut ours, mut plain) = (CaseFigures::default(), CaseFigures::default());
    let settings = CaptureSettings::of(CaptureMode::Pour);
    let mut route_seed = seed;
    while ours.cases < n {
        let mut route = pour_route(route_seed, rules);
        through(line, route_seed, &mut route.samples);
        let replayed = replay(route.samples.iter().copied(), &settings, Sigma::unknown());
        judge_route(&mut ours, route_seed, &route, &replayed);
        let naive = plain_pours(&route.samples);
        plain.cases += route.pours.len();
        if naive.len() != route.pours.len() {
            plain.missed += route.pours.len();
        } else {
            for (pour, value) in route.pours.iter().zip(naive) {
                plain.add(route_seed, value - pour.truth, f64::INFINITY);
            }
        }
        route_seed += 1;
    }
    (ours, plain)
}

fn judge_route(f: &mut CaseFigures, seed: u64, route: &super::MadeRoute, replayed: &Replayed) {
    f.cases += route.pours.len();
    let mut said: BTreeMap<u32, Vec<(u64, f64, bool)>> = BTreeMap::new();
    for (at, event) in &replayed.events {
        if let Some((state, pour, taken)) = event.reading() {
            said.entry(pour)
                .or_default()
                .push((*at, taken.value, state == "final"));
        }
    }
    let finals = said.values().filter(|s| s.iter().any(|x| x.2)).count();
    if finals != route.pours.len() {
        f.missed += finals.abs_diff(route.pours.len()).max(1);
        f.look_at.push(seed);
    }
    for (i, pour) in route.pours.iter().enumerate() {
        let Some(said) = said.get(&(i as u32)) else {
            continue;
        };
        if let Some((_, value, _)) = said.iter().find(|x| x.2) {
            f.add(seed, value - pour.truth, 0.03);
        }
        if pour.drains {
            continue;
        }
        let limit = pour.still_at_us + 2_500_000;
        let current = said.iter().rfind(|x| x.0 <= limit);
        let right = current.is_some_and(|x| (x.1 - pour.truth).abs() <= 0.03);
        f.in_time.0 += usize::from(right);
        f.in_time.1 += 1;
        let first_right = said.iter().find(|x| (x.1 - pour.truth).abs() <= 0.03);
        if let Some((at, ..)) = first_right {
            f.delays
                .push((*at as f64 - pour.still_at_us as f64).max(0.0) * 1e-6);
        }
    }
}

/// The first ten samples within 0.05 cc after a delivery of 1 cc, minus the same before it.
fn plain_pours(samples: &[Sample]) -> Vec<f64> {
    let values: Vec<f64> = samples.iter().filter_map(|s| s.value).collect();
    let (mut rest, mut direction, mut wanted, mut found) = (None::<f64>, 0.0, true, Vec::new());
    for window in values.windows(10) {
        let (low, high) = low_high(window);
        let mean = window.iter().sum::<f64>() / 10.0;
        let Some(before) = rest.filter(|_| high - low < 0.05) else {
            rest = rest.or((high - low < 0.05).then_some(mean));
            continue;
        };
        let run: f64 = mean - before;
        if run.abs() < 1.0 {
            continue;
        }
        if direction == 0.0 {
            direction = run.signum();
        }
        if direction * run < 0.0 {
            wanted = true;
        } else if wanted {
            found.push(direction * run);
            wanted = false;
        }
        rest = Some(mean);
    }
    found
}

fn low_high(window: &[f64]) -> (f64, f64) {
    window
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(*v), h.max(*v))
        })
}

/// Sweeps over top dead centre; errors in counts. `plain` is the highest sample.
pub fn sweeps(
    n: usize,
    seed: u64,
    rules: &SweepRules,
    line: ArrivalTimes,
) -> (CaseFigures, CaseFigures) {
    let (mut ours, mut plain) = (CaseFigures::default(), CaseFigures::default());
    for case in seed..seed + n as u64 {
        let mut made = sweep(case, rules);
        through(line, case, &mut made.samples);
        let count = made.samples[0].resolution;
        let turn = if made.high {
            TurningPoint::High
        } else {
            TurningPoint::Low
        };
        let settings = CaptureSettings::Extreme(ExtremeSettings {
            turn,
            ..Default::default()
        });
        let replayed = replay(made.samples.iter().copied(), &settings, Sigma::unknown());
        ours.cases += 1;
        let finals: Vec<_> = replayed.finals().collect();
        match finals[..] {
            [taken] if taken.doubt.is_some() => ours.asked += 1,
            [taken] => ours.add(case, (taken.value - made.truth) / count, 1.0),
            [] if is_refused(&replayed) => ours.refused += 1,
            _ => {
                ours.missed += 1;
                ours.look_at.push(case);
            }
        }
        let (low, high) = low_high(
            &made
                .samples
                .iter()
                .filter_map(|s| s.value)
                .collect::<Vec<_>>(),
        );
        let best = if made.high { high } else { low };
        plain.cases += 1;
        plain.add(case, (best - made.truth) / count, f64::INFINITY);
    }
    (ours, plain)
}

fn is_refused(replayed: &Replayed) -> bool {
    replayed.events.iter().any(|(_, event)| {
        matches!(
            event,
            CaptureEvent::Note(
                CaptureNote::TooFast { .. }
                    | CaptureNote::UnevenTurn
                    | CaptureNote::PassesDisagree { .. }
                    | CaptureNote::PassesMissing { .. }
                    | CaptureNote::Gap { .. }
            )
        )
    })
}

/// Pushes at the thrust sides; errors in counts: of the mean, and of the rock.
pub fn thrusts(n: usize, seed: u64, line: ArrivalTimes) -> (CaseFigures, CaseFigures) {
    let (mut means, mut rocks) = (CaseFigures::default(), CaseFigures::default());
    for case in seed..seed + n as u64 {
        let mut made = thrust(case);
        through(line, case, &mut made.samples);
        let count = made.samples[0].resolution;
        let settings = CaptureSettings::of(CaptureMode::Settle);
        let replayed = replay(made.samples.iter().copied(), &settings, Sigma::unknown());
        means.cases += 1;
        rocks.cases += 1;
        let finals: Vec<_> = replayed.finals().collect();
        if let [first, second] = finals[..]
            && let Ok(deck) = thrust_deck(first, second)
        {
            means.add(case, (deck.mean - made.mean) / count, 1.0);
            rocks.add(case, (deck.rock - made.rock) / count, 2.0);
        } else {
            let asked = replayed.events.iter().any(|(_, event)| {
                matches!(
                    event,
                    CaptureEvent::Note(
                        CaptureNote::JumpToZero { .. } | CaptureNote::SignFlip { .. }
                    )
                )
            });
            means.refused += usize::from(asked);
            means.missed += usize::from(!asked);
            means.look_at.push(case);
        }
    }
    (means, rocks)
}

/// Settles; errors in counts. `plain` takes the first ten samples within ten counts.
pub fn settles(
    n: usize,
    seed: u64,
    manner: Manner,
    line: ArrivalTimes,
) -> (CaseFigures, CaseFigures) {
    settles_of(n, seed, manner, line, depth_gauge())
}

/// The same for any gauge.
pub fn settles_of(
    n: usize,
    seed: u64,
    manner: Manner,
    line: ArrivalTimes,
    gauge: InventedGauge,
) -> (CaseFigures, CaseFigures) {
    let (mut ours, mut plain) = (CaseFigures::default(), CaseFigures::default());
    for case in seed..seed + n as u64 {
        let mut made = settle_of(case, manner, gauge);
        through(line, case, &mut made.samples);
        let count = made.samples[0].resolution;
        let settings = CaptureSettings::of(CaptureMode::Settle);
        let replayed = replay(made.samples.iter().copied(), &settings, Sigma::unknown());
        ours.cases += 1;
        let finals: Vec<(u64, f64)> = replayed
            .events
            .iter()
            .filter_map(|(at, e)| e.reading().map(|(_, _, taken)| (*at, taken.value)))
            .collect();
        match finals[..] {
            [(at, value)] => {
                ours.add(case, (value - made.truth) / count, 2.0);
                ours.early += usize::from(at < made.left_at_us);
                let delay = (at as f64 - made.still_at_us as f64) * 1e-6;
                ours.delays.push(delay);
                if !made.creeps {
                    ours.in_time.0 += usize::from(delay <= 2.5);
                    ours.in_time.1 += 1;
                }
            }
            _ => {
                ours.missed += 1;
                ours.look_at.push(case);
            }
        }
        plain.cases += 1;
        let values: Vec<f64> = made
            .samples
            .iter()
            .filter(|s| s.at_us > made.left_at_us + 300_000)
            .filter_map(|s| s.value)
            .collect();
        let first = values.windows(10).find(|w| {
            let (low, high) = low_high(w);
            high - low <= 10.0 * count
        });
        match first {
            Some(w) => {
                let mean = w.iter().sum::<f64>() / 10.0;
                plain.add(case, (mean - made.truth) / count, f64::INFINITY);
            }
            None => plain.missed += 1,
        }
    }
    (ours, plain)
}

/// How many values were taken in idle hours.
pub fn taken_while_idle(
    mode: CaptureMode,
    seed: u64,
    rules: &IdleRules,
    line: ArrivalTimes,
) -> usize {
    let mut samples = idle(seed, rules);
    through(line, seed, &mut samples);
    let settings = CaptureSettings::of(mode);
    replay(samples, &settings, Sigma::unknown())
        .finals()
        .count()
}

/// Flows: errors as a share of the mean, and how often the truth lies within twice the
/// standard error that was given, for both channels; `plain` uses s/√n.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FlowFigures {
    /// Relative errors of both channels.
    pub figures: CaseFigures,
    /// Within two standard errors as given.
    pub covered: usize,
    /// Within two of s/√n.
    pub covered_plain: usize,
    /// Cases with a drift above 1 % that was said.
    pub drift_said: (usize, usize),
}

/// See [`FlowFigures`].
pub fn flows(n: usize, seed: u64, rules: &FlowRules) -> FlowFigures {
    let mut f = FlowFigures::default();
    let settings = CaptureSettings::Average(AverageSettings {
        along: vec![1],
        ..Default::default()
    });
    for case in seed..seed + n as u64 {
        let made = flow(case, rules);
        let replayed = replay(made.samples.iter().copied(), &settings, Sigma::unknown());
        f.figures.cases += 1;
        let Some(taken) = replayed.finals().next() else {
            f.figures.missed += 1;
            continue;
        };
        let along = taken.others.first();
        let other = along.map(|o| (o.value, o.se, o.sd, o.n));
        let main = Some((taken.value, taken.se, taken.sd, taken.n));
        for (truth, got) in made.truth.iter().zip([main, other]) {
            let Some((value, Some(se), Some(sd), n)) = got else {
                continue;
            };
            f.figures.add(case, (value - truth) / truth, f64::INFINITY);
            f.covered += usize::from((value - truth).abs() <= 2.0 * se);
            f.covered_plain += usize::from((value - truth).abs() <= 2.0 * sd / (n as f64).sqrt());
        }
        if made.drift.abs() > 0.01 * made.truth[0] {
            let said =
                |e: &CaptureEvent| matches!(e, CaptureEvent::Note(CaptureNote::Drift { .. }));
            f.drift_said.0 += usize::from(replayed.events.iter().any(|(_, e)| said(e)));
            f.drift_said.1 += 1;
        }
    }
    f
}
