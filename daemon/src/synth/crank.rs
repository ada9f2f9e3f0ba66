//! A crank turned over top dead centre by hand, and a piston pushed both ways there.

use benchhand_drivers::{Sample, Unit};

use super::hand::{HandEvenness, Wavering};
use super::{Dice, InventedGauge, Recorder};

/// What a sweep is drawn from.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepRules {
    /// Crank speed far from the turn, degrees a second.
    pub speed: (f64, f64),
    /// Chance that the hand stops somewhere on the way, the turn included.
    pub stops: f64,
    /// Whether the gauge rises to the turn; drawn where not given.
    pub high: Option<bool>,
    /// How evenly the crank is turned.
    pub hand: HandEvenness,
    /// Crank radius and rod, in.
    pub radius: (f64, f64),
    /// See `radius`.
    pub rod: (f64, f64),
    /// The gauge; drawn from the usual ones where not given.
    pub gauge: Option<InventedGauge>,
    /// What is done wrong, in every pass.
    pub wrong: Option<WrongSweep>,
}

/// What goes wrong in a sweep, so that no pass shows top dead centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WrongSweep {
    /// The plunger is against its stop before the piston is up: so far below the top, mm.
    PlungerStop(f64, f64),
    /// The hand turns back before the top is reached: so many degrees before it.
    TurnedBack(f64, f64),
}

impl SweepRules {
    /// An even hand at this many degrees a second, under a dial of a thousandth of a millimetre.
    pub fn fine(degrees_per_s: f64) -> Self {
        Self {
            speed: (degrees_per_s, degrees_per_s),
            gauge: Some(InventedGauge {
                unit: Unit::Millimetre,
                resolution: 0.001,
                sigma: 0.0003,
                hertz: 10.0,
            }),
            ..Self::default()
        }
    }

    /// An uneven hand on engines of all sizes.
    pub fn uneven() -> Self {
        Self {
            hand: HandEvenness::Uneven,
            radius: (1.4, 2.2),
            rod: (5.0, 7.0),
            ..Self::default()
        }
    }
}

impl Default for SweepRules {
    fn default() -> Self {
        Self {
            speed: (3.0, 9.0),
            stops: 0.3,
            high: None,
            hand: HandEvenness::Even,
            radius: (1.7, 1.9),
            rod: (5.6, 6.2),
            gauge: None,
            wrong: None,
        }
    }
}

/// A sweep with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeSweep {
    /// The samples that the gauge sent.
    pub samples: Vec<Sample>,
    /// The value at top dead centre, in the gauge's unit.
    pub truth: f64,
    /// Whether the gauge is highest there.
    pub high: bool,
    /// How often it went over.
    pub passes: u32,
}

struct Engine {
    radius: f64,
    rod: f64,
    angle: f64,
    /// How far the crank has to turn before the piston follows, degrees.
    slack: f64,
}

impl Engine {
    /// Piston below top dead centre, in.
    fn depth(&self) -> f64 {
        let (sin, cos) = self.angle.to_radians().sin_cos();
        let reach = (self.rod * self.rod - (self.radius * sin).powi(2)).sqrt();
        self.radius + self.rod - self.radius * cos - reach
    }

    fn turn(&mut self, degrees: f64) {
        let taken = degrees.abs().min(self.slack);
        self.slack -= taken;
        self.angle += degrees.signum() * (degrees.abs() - taken);
    }
}

const TICK: f64 = 0.005;

/// Makes a sweep of two to four passes on the pin axis, where no rock shows.
pub fn sweep(seed: u64, rules: &SweepRules) -> MadeSweep {
    let mut dice = Dice::seeded(seed);
    let drawn = length_gauge(&mut dice);
    let gauge = rules.gauge.unwrap_or(drawn);
    let per_inch = if gauge.unit == Unit::Inch { 1.0 } else { 25.4 };
    let high = rules.high.unwrap_or_else(|| dice.chance(0.7));
    let truth = dice.uniform(-0.2, 0.2) * per_inch;
    let sense = if high { -per_inch } else { per_inch };
    let passes = dice.whole(2, 4);
    let mut engine = Engine {
        radius: dice.uniform(rules.radius.0, rules.radius.1),
        rod: dice.uniform(rules.rod.0, rules.rod.1),
        angle: -dice.uniform(15.0, 18.0),
        slack: 0.0,
    };
    let mut now = -dice.uniform(0.0, 0.2);
    let mut recorder = Recorder::new(gauge, &mut dice);
    let stop = match rules.wrong {
        Some(WrongSweep::PlungerStop(least, most)) => recorder.dice().uniform(least, most) / 25.4,
        _ => 0.0,
    };
    let mut advance = |engine: &Engine, recorder: &mut Recorder<'_>| {
        now += TICK;
        if now >= recorder.time() {
            recorder.write(truth + sense * engine.depth().max(stop));
        }
    };
    let rest = recorder.dice().uniform(0.3, 2.0);
    dwell(rest, &engine, &mut recorder, &mut advance);
    for _ in 0..passes {
        let dice = recorder.dice();
        let speed = dice.uniform(rules.speed.0, rules.speed.1);
        let slower = dice.uniform(0.4, 0.6);
        let side = engine.angle.signum();
        let to = -side * dice.uniform(15.0, 18.0);
        let stop = if dice.chance(rules.stops) {
            dice.uniform(-12.0, 12.0)
        } else {
            99.0
        };
        let mut stop = Some(stop);
        let mut wavering = Wavering::new(rules.hand, dice);
        // Turned back, the crank goes to the turning angle and returns.
        let (turn, to) = match rules.wrong {
            Some(WrongSweep::TurnedBack(least, most)) => {
                (Some(side * recorder.dice().uniform(least, most)), -to)
            }
            _ => (None, to),
        };
        if let Some(at) = turn {
            while (engine.angle - at) * side > 0.0 {
                let rate = speed * wavering.next(TICK, recorder.dice());
                engine.turn(-side * rate * TICK);
                advance(&engine, &mut recorder);
            }
            let rest = recorder.dice().uniform(0.3, 1.2);
            dwell(rest, &engine, &mut recorder, &mut advance);
            engine.slack = recorder.dice().uniform(0.3, 1.0);
        }
        while (to - engine.angle) * to.signum() > 0.0 {
            let near = ((engine.angle.abs() - 3.0) / 1.5).clamp(0.0, 1.0);
            let uneven = wavering.next(TICK, recorder.dice());
            let rate = speed * uneven * (slower + (1.0 - slower) * near);
            engine.turn(to.signum() * rate * TICK);
            advance(&engine, &mut recorder);
            if stop.is_some_and(|at| (engine.angle - at) * to.signum() > 0.0 && at < 90.0) {
                stop = None;
                let rest = recorder.dice().uniform(0.3, 1.2);
                dwell(rest, &engine, &mut recorder, &mut advance);
            }
        }
        let rest = recorder.dice().uniform(0.3, 1.2);
        dwell(rest, &engine, &mut recorder, &mut advance);
        engine.slack = recorder.dice().uniform(0.3, 1.0);
    }
    MadeSweep {
        samples: recorder.finish(),
        truth,
        high,
        passes,
    }
}

fn dwell(
    seconds: f64,
    engine: &Engine,
    recorder: &mut Recorder<'_>,
    advance: &mut impl FnMut(&Engine, &mut Recorder<'_>),
) {
    for _ in 0..(seconds / TICK) as usize {
        advance(engine, recorder);
    }
}

fn length_gauge(dice: &mut Dice) -> InventedGauge {
    let (unit, resolution) = dice.pick(&[(Unit::Inch, 0.0005), (Unit::Millimetre, 0.01)]);
    let hertz = dice.pick(&[10.0, 5.0]);
    InventedGauge {
        unit,
        resolution,
        sigma: 0.25 * resolution,
        hertz,
    }
}

/// A piston pushed both ways at top dead centre, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeThrust {
    /// What the gauge sent: at rest elsewhere, one push, the other push.
    pub samples: Vec<Sample>,
    /// The mean of both pushes, in the gauge's unit.
    pub mean: f64,
    /// Half of first minus second.
    pub rock: f64,
}

/// Makes the two rests of one thrust side.
pub fn thrust(seed: u64) -> MadeThrust {
    let mut dice = Dice::seeded(seed);
    let gauge = length_gauge(&mut dice);
    let per_inch = if gauge.unit == Unit::Inch { 1.0 } else { 25.4 };
    let mean = dice.uniform(-0.03, 0.03) * per_inch;
    let rock = dice.uniform(0.001, 0.006) * dice.sign() * per_inch;
    let elsewhere = mean + dice.uniform(0.1, 0.3) * dice.sign() * per_inch;
    let mut recorder = Recorder::new(gauge, &mut dice);
    let mut at = elsewhere;
    for target in [elsewhere, mean + rock, mean - rock] {
        let (tau, rest) = (
            recorder.dice().uniform(0.03, 0.2),
            recorder.dice().uniform(4.0, 7.0),
        );
        let began = recorder.time();
        while recorder.time() - began < rest {
            let t = recorder.time() - began;
            recorder.write(target + (at - target) * (-t / tau).exp());
        }
        at = target;
    }
    MadeThrust {
        samples: recorder.finish(),
        mean,
        rock,
    }
}
