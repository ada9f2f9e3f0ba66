//! A burette with its tap: how its level moves, and what it shows.
//!
//! It knows no hand and no chamber. Levels are cc that left since it stood at its full mark.

use benchhand_drivers::{Sample, SampleStatus, Unit};

use crate::synth::Dice;

/// Between two samples, s.
pub const STEP_S: f64 = 0.1;
/// One count, cc.
const COUNT_CC: f64 = 0.01;

/// How a burette is made and how it is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BuretteMake {
    /// Its capacity, cc.
    pub capacity: f64,
    /// Whether its figures fall while liquid leaves.
    pub counts_down: bool,
    /// Standard deviation of its noise, cc.
    pub sigma: f64,
}

/// A bump: the error that it shows, and how long the error still lasts.
#[derive(Debug, Clone, Copy)]
struct Bump {
    cc: f64,
    left_s: f64,
}

/// The module's opening says what it does.
#[derive(Debug)]
pub struct Burette {
    make: BuretteMake,
    level: f64,
    film: f64,
    tau_s: f64,
    bump: Option<Bump>,
    noise: Dice,
}

impl Burette {
    /// A burette that stands at `level`.
    pub fn at(level: f64, make: BuretteMake, noise: Dice) -> Self {
        Self {
            make,
            level,
            film: 0.0,
            tau_s: 8.0,
            bump: None,
            noise,
        }
    }

    /// How it is made.
    pub fn make(&self) -> BuretteMake {
        self.make
    }

    /// Liquid that left since the burette stood at its full mark, cc.
    pub fn level(&self) -> f64 {
        self.level
    }

    /// Liquid that is left in the burette, cc.
    pub fn left(&self) -> f64 {
        self.make.capacity - self.level
    }

    /// The number on its scale at the liquid's level, cc.
    pub fn scale(&self) -> f64 {
        self.scale_at(self.level)
    }

    fn scale_at(&self, level: f64) -> f64 {
        if self.make.counts_down {
            self.make.capacity - level
        } else {
            level
        }
    }

    /// Lets this much out, cc. A negative amount comes in.
    pub fn move_by(&mut self, cc: f64) {
        if cc < 0.0 {
            // The liquid that rises washes the film away.
            self.level += self.film;
            self.film = 0.0;
        }
        self.level += cc;
    }

    /// Starts drainage. The burette shows `film` cc more than truly left, and the error fades.
    pub fn drain(&mut self, film: f64, tau_s: f64) {
        (self.film, self.tau_s) = (film, tau_s);
    }

    /// Somebody leans on the stand.
    pub fn bump(&mut self, cc: f64, seconds: f64) {
        self.bump = Some(Bump {
            cc,
            left_s: seconds,
        });
    }

    /// Lets one step of time pass, and gives the figure shown after it.
    pub fn step(&mut self, at_us: u64) -> Sample {
        self.film *= (-STEP_S / self.tau_s).exp();
        let pushed = self.bump.map_or(0.0, |bump| bump.cc);
        if let Some(bump) = &mut self.bump {
            bump.left_s -= STEP_S;
            self.bump = self.bump.filter(|bump| bump.left_s > 0.0);
        }
        let shows = self.scale_at(self.level + self.film) + pushed;
        let noisy = shows + self.noise.gauss(self.make.sigma);
        Sample {
            at_us,
            channel: 0,
            value: Some((noisy / COUNT_CC).round() * COUNT_CC),
            unit: Unit::CubicCentimetre,
            resolution: COUNT_CC,
            status: SampleStatus::default(),
        }
    }
}
