//! A depth gauge that is set down and comes to rest, and one that nobody touches for hours.

use benchhand_drivers::{Sample, Unit};

use super::{Dice, InventedGauge, Recorder};

/// A settle with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeSettle {
    /// The samples that the gauge sent.
    pub samples: Vec<Sample>,
    /// Where it comes to rest, mm.
    pub truth: f64,
    /// When it left its first rest, microseconds.
    pub left_at_us: u64,
    /// Moment from which it stays within half a count of its end, microseconds.
    pub still_at_us: u64,
    /// Whether it creeps.
    pub creeps: bool,
    /// Whether it rings.
    pub rings: bool,
}

/// A depth gauge of 0.001 mm with a noise of 1.5 counts, ten samples a second.
pub fn depth_gauge() -> InventedGauge {
    InventedGauge {
        unit: Unit::Millimetre,
        resolution: 0.001,
        sigma: 0.0015,
        hertz: 10.0,
    }
}

/// How a gauge comes to rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// Slowly or quickly, a third of them ringing, a third creeping, either way.
    Any,
    /// The same, but creep goes on in the direction of the movement.
    CreepsOn,
    /// At once: set down, and truly still.
    AtOnce,
}

/// Makes one settle of a depth gauge: 0.001 mm, noise of 1.5 counts, ten samples a second.
pub fn settle(seed: u64, manner: Manner) -> MadeSettle {
    settle_of(seed, manner, depth_gauge())
}

/// Makes one settle of any gauge, the movement in millimetres as of a depth gauge.
pub fn settle_of(seed: u64, manner: Manner, gauge: InventedGauge) -> MadeSettle {
    let mut dice = Dice::seeded(seed);
    let count = gauge.resolution;
    let start = dice.uniform(-5.0, 5.0);
    let step = dice.uniform(0.5, 8.0) * dice.sign();
    let tau = dice.uniform(0.1, 0.7);
    let (rings, creeps) = (dice.chance(1.0 / 3.0), dice.chance(1.0 / 3.0));
    let (tau, rings, creeps) = match manner {
        Manner::AtOnce => (0.05, false, false),
        Manner::Any | Manner::CreepsOn => (tau, rings, creeps),
    };
    let omega = dice.uniform(3.0, 9.0);
    let creep = if creeps {
        20.0 * count
            * if manner == Manner::CreepsOn {
                step.signum()
            } else {
                dice.sign()
            }
    } else {
        0.0
    };
    let truth = start + step;
    let rest = dice.uniform(2.5, 6.0);
    let still_for = dice.uniform(4.0, 8.0);
    let error = |t: f64| {
        let swing = if rings { (omega * t).cos() } else { 1.0 };
        // The creep is the movement that is left once the step has died.
        -step * (-t / tau).exp() * swing - creep * (-t / 1.5).exp() * (1.0 - (-t / tau).exp())
    };
    let still = (0..3_000)
        .rev()
        .map(|i| f64::from(i) * 0.01)
        .find(|t| error(*t).abs() > 0.5 * count);
    let still = still.unwrap_or(0.0);
    let mut recorder = Recorder::new(gauge, &mut dice);
    while recorder.time() < rest {
        recorder.write(start);
    }
    let left = recorder.time();
    while recorder.time() < left + still + still_for {
        let t = recorder.time() - left;
        recorder.write(truth + error(t));
    }
    MadeSettle {
        samples: recorder.finish(),
        truth,
        left_at_us: (left * 1e6) as u64,
        still_at_us: ((left + still) * 1e6) as u64,
        creeps,
        rings,
    }
}

/// The ranges and chances from which idle hours are drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct IdleRules {
    /// How long, s.
    pub seconds: f64,
    /// Largest drift, counts.
    pub drift_counts: f64,
    /// Chance of a spike with each sample, up to 3 mm.
    pub spikes: f64,
    /// Bumps an hour, which die within half a second.
    pub bumps_per_hour: f64,
    /// Chance with each sample that the gauge repeats its last frame for a while.
    pub repeats: f64,
}

impl Default for IdleRules {
    fn default() -> Self {
        Self {
            seconds: 8.0 * 3600.0,
            drift_counts: 20.0,
            spikes: 1.0 / 2_000.0,
            bumps_per_hour: 12.0,
            repeats: 1.0 / 6_000.0,
        }
    }
}

/// Makes idle hours. Capture must take no reading in them.
pub fn idle(seed: u64, rules: &IdleRules) -> Vec<Sample> {
    let mut dice = Dice::seeded(seed);
    let gauge = depth_gauge();
    let count = gauge.resolution;
    let level = dice.uniform(-8.0, 8.0);
    let drift = rules.drift_counts * count;
    let (slow, phase) = (dice.uniform(0.5, 3.0), dice.uniform(0.0, 6.3));
    let mut bump = (f64::NEG_INFINITY, 0.0, 1.0);
    let mut repeat = 0;
    let mut recorder = Recorder::new(gauge, &mut dice);
    while recorder.time() < rules.seconds {
        let t = recorder.time();
        let dice = recorder.dice();
        if dice.chance(rules.bumps_per_hour / 3600.0 / gauge.hertz) {
            let size = dice.uniform(0.02, 3.0) * dice.sign();
            bump = (t, size, dice.uniform(10.0, 40.0));
        }
        if dice.chance(rules.repeats) {
            repeat = dice.whole(10, 3_000);
        }
        let since = t - bump.0;
        let knock = if since < 0.5 {
            bump.1 * (-since / 0.1).exp() * (bump.2 * since).cos()
        } else {
            0.0
        };
        let spike = if dice.chance(rules.spikes) {
            dice.uniform(-3.0, 3.0)
        } else {
            0.0
        };
        if repeat > 0 {
            repeat -= 1;
            recorder.repeat();
        } else {
            let slow = (slow * t / 3_600.0 + phase).sin();
            recorder.write(level + 0.5 * drift * slow + knock + spike);
        }
    }
    recorder.finish()
}
