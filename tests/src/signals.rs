//! Makes streams with known true values: what a gauge shows while a builder works. They depend on
//! a seed.

use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent, StreamHeader, StreamOrigin};
use benchhand_drivers::{Profile, ProfileRegistry};
use benchhand_testbed::SplitMix64;

/// A shipped profile.
pub fn shipped(name: &str) -> Profile {
    let registry = ProfileRegistry::builtin();
    let found = registry.get(name);
    found.unwrap_or_else(|| panic!("{name} ships")).clone()
}

/// A hand that works at a gauge: makes values ten times a second.
#[derive(Debug)]
pub struct Hand {
    events: Vec<StreamEvent>,
    header: StreamHeader,
    encode: fn(f64) -> String,
    noise: f64,
    dice: SplitMix64,
    at: f64,
}

/// How far the piston of [`Hand::turn`] stands below its top, mm.
fn below_top(degrees: f64) -> f64 {
    let (radius, rod) = (44.0_f64, 150.0_f64);
    let (sin, cos) = degrees.to_radians().sin_cos();
    radius + rod - radius * cos - (rod * rod - (radius * sin).powi(2)).sqrt()
}

/// Seconds from one value to the next.
const STEP_S: f64 = 0.1;

impl Hand {
    /// A hand at a burette that counts up and sends lines such as `12.34 cc`. It stands at 0.40
    /// cc.
    pub fn at_burette(seed: u64) -> Hand {
        let encode = |cc: f64| format!("{cc:.2} cc\r\n");
        Hand::at("ascii-volume", encode, 0.006, 0.4, seed)
    }

    /// A hand at a plunger gauge that sends lines such as `12.345 mm`. It hangs free at 0 mm.
    pub fn at_dial(seed: u64) -> Hand {
        let encode = |mm: f64| format!("{mm:.3} mm\r\n");
        Hand::at("ascii-length", encode, 0.0003, 0.0, seed)
    }

    /// A hand at a balance that sends lines such as `12.345 g`.
    pub fn at_balance(seed: u64) -> Hand {
        let encode = |g: f64| format!("{g:.3} g\r\n");
        Hand::at("ascii-mass", encode, 0.002, 0.0, seed)
    }

    /// A hand at a manometer that sends lines such as `6953.6 Pa`.
    pub fn at_manometer(seed: u64) -> Hand {
        let encode = |pa: f64| format!("{pa:.1} Pa\r\n");
        Hand::at("ascii-pressure", encode, 0.1, 0.0, seed)
    }

    /// The gauge wavers by this much (standard deviation).
    pub fn wavering(mut self, noise: f64) -> Hand {
        self.noise = noise;
        self
    }

    fn at(profile: &str, encode: fn(f64) -> String, noise: f64, at: f64, seed: u64) -> Hand {
        let profile = shipped(profile);
        Hand {
            events: Vec::new(),
            header: StreamHeader::new(profile.name(), profile.line(), StreamOrigin::Synthesised),
            encode,
            noise,
            dice: SplitMix64::new(seed),
            at,
        }
    }

    fn write(&mut self) {
        // The sum of twelve uniform numbers minus six is close enough to a normal number here.
        let mut normal = -6.0;
        for _ in 0..12 {
            normal += (self.dice.draw() >> 11) as f64 / (1u64 << 53) as f64;
        }
        let shown = self.at + self.noise * normal;
        let bytes = (self.encode)(shown).into_bytes();
        self.events.push(StreamEvent {
            at_us: (self.events.len() as f64 * STEP_S * 1e6).round() as u64,
            what: LineEvent::Rx(bytes),
        });
    }

    /// The gauge sends inches from here on, as if its unit button had been pressed.
    #[must_use]
    pub fn in_inches(mut self) -> Hand {
        self.encode = |mm| format!("{:.5} in\r\n", mm / 25.4);
        self
    }

    /// Sets the value at the beginning.
    #[must_use]
    pub fn from(mut self, at: f64) -> Hand {
        self.at = at;
        self
    }

    /// The gauge shows hundredths of a millimetre from here on, with a noise of a quarter of a count.
    #[must_use]
    pub fn in_hundredths(mut self) -> Hand {
        self.encode = |mm| format!("{mm:.2} mm\r\n");
        self.noise = 0.0025;
        self
    }

    /// Follows a true value over the seconds from now.
    #[must_use]
    pub fn follow(mut self, seconds: f64, truth: impl Fn(f64) -> f64) -> Hand {
        for step in 1..=(seconds / STEP_S).round() as usize {
            self.at = truth(step as f64 * STEP_S);
            self.write();
        }
        self
    }

    /// Turns a crank from one angle past top dead centre to another, degrees, at `speed` degrees a
    /// second, under a plunger that shows `top` there: an invented crank of 88 mm stroke with a rod
    /// of 150 mm.
    #[must_use]
    pub fn turn(self, top: f64, (from, to): (f64, f64), speed: f64) -> Hand {
        let seconds = (to - from).abs() / speed;
        let angle = |t: f64| from + (to - from) * (t / seconds).min(1.0);
        self.follow(seconds, |t| top - below_top(angle(t)))
    }

    /// Shows this value next.
    #[must_use]
    pub fn show(mut self, at: f64) -> Hand {
        self.at = at;
        self.write();
        self
    }

    /// Rests for this many seconds.
    #[must_use]
    pub fn rest(mut self, seconds: f64) -> Hand {
        for _ in 0..(seconds / STEP_S).round() as usize {
            self.write();
        }
        self
    }

    /// Moves to a value at an even pace, in the gauge's unit per second.
    #[must_use]
    pub fn go_to(mut self, to: f64, per_second: f64) -> Hand {
        let step = per_second * STEP_S;
        while self.at != to {
            let left = to - self.at;
            self.at = if left.abs() <= step {
                to
            } else {
                self.at + step.copysign(left)
            };
            self.write();
        }
        self
    }

    /// Delivers exactly `cc` at 8 cc/s, throttled to single drops before the end, and rests.
    #[must_use]
    pub fn pour(self, cc: f64) -> Hand {
        let end = self.at + cc;
        let mut hand = self.rest(2.0).go_to(end - 0.2, 8.0);
        for left in [0.15, 0.1, 0.05, 0.0] {
            hand = hand.rest(0.7).go_to(end - left, 1.0);
        }
        hand.rest(4.0)
    }

    /// Fills the burette again.
    #[must_use]
    pub fn refill(self) -> Hand {
        self.go_to(0.4, 15.0)
    }

    /// The stream that the gauge sent.
    pub fn stream(self) -> Stream {
        Stream {
            header: self.header,
            events: self.events,
        }
    }
}
