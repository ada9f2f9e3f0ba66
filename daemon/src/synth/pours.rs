//! Pours from a burette: fast, throttled, drop by drop, with pauses, drainage and refills.

use benchhand_drivers::{Sample, Unit};

use super::{Dice, InventedGauge, Recorder};

/// The ranges and chances from which a route of pours is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PourRules {
    /// How many pours.
    pub pours: usize,
    /// Volume, cc.
    pub volume: (f64, f64),
    /// Chance that the glass drains after a fast delivery.
    pub drains: f64,
    /// Share of the draining pours whose drainage begins with the last drop. In the others it
    /// begins at the end of the fast delivery.
    pub drains_late: f64,
    /// Chance that the burette runs out half-way.
    pub refills: f64,
    /// The burette's capacity, cc.
    pub capacity: f64,
    /// Whether the figures fall while liquid leaves. Drawn at random if `None`.
    pub counts_down: Option<bool>,
    /// The size of one count, cc.
    pub resolution: f64,
    /// Samples a second.
    pub hertz: f64,
    /// Noise, cc. Drawn from 0.005, 0.01 and 0.02 if `None`.
    pub sigma: Option<f64>,
    /// The instrument. On a balance cc stand for grams, and nothing drains.
    pub read: ReadBy,
    /// Evaporation on a balance, g a minute.
    pub evaporates: (f64, f64),
    /// Chance that a hand rests on the pan for a while after the delivery.
    pub hands: f64,
}

/// The instrument that shows the figures of a pour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadBy {
    /// The burette's own scale.
    Burette,
    /// A balance under the burette: it loses what is poured.
    BalanceUnderBurette,
    /// A balance under the vessel, which is lifted and emptied while the burette is filled.
    BalanceUnderVessel,
}

impl PourRules {
    /// Pours by mass.
    pub fn by_mass(read: ReadBy) -> Self {
        Self {
            pours: 4,
            drains: 0.0,
            refills: 0.0,
            read,
            ..Self::default()
        }
    }
}

impl Default for PourRules {
    fn default() -> Self {
        Self {
            pours: 1,
            volume: (28.0, 96.0),
            drains: 1.0 / 3.0,
            drains_late: 0.0,
            refills: 0.1,
            capacity: 100.0,
            counts_down: None,
            resolution: 0.01,
            hertz: 10.0,
            sigma: None,
            read: ReadBy::Burette,
            evaporates: (0.0, 0.0),
            hands: 0.0,
        }
    }
}

/// The truth of one pour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadePour {
    /// What was delivered, cc.
    pub truth: f64,
    /// Start of the rest before the delivery, and start of the delivery, microseconds.
    pub rested_from_us: u64,
    /// See [`MadePour::rested_from_us`].
    pub begun_at_us: u64,
    /// Moment from which the level was truly still, apart from drainage, microseconds.
    pub still_at_us: u64,
    /// When the next refill began, or the end of the samples.
    pub over_at_us: u64,
    /// Whether glass drained afterwards.
    pub drains: bool,
    /// Whether the burette was refilled half-way.
    pub refilled: bool,
}

/// A run of pours with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeRoute {
    /// The samples that the gauge sent.
    pub samples: Vec<Sample>,
    /// The true pours.
    pub pours: Vec<MadePour>,
}

/// Inner step of the simulation, s.
const TICK: f64 = 0.01;

struct PouringStation<'a> {
    recorder: Recorder<'a>,
    now: f64,
    /// Liquid that left since full, cc.
    level: f64,
    /// A film that still runs down: its size, and how fast it fades.
    film: f64,
    tau: f64,
    draining: bool,
    capacity: f64,
    down: bool,
    read: ReadBy,
    /// g per second.
    evaporates: f64,
    /// Weight of a hand on the pan, g.
    hand: f64,
    /// The vessel's own mass, g, and the level at which it was put there; none while lifted.
    vessel: Option<(f64, f64)>,
    tare: f64,
}

impl PouringStation<'_> {
    /// The figure that the gauge shows, without noise.
    fn shown(&self) -> f64 {
        let seen = self.level + self.film;
        let gone = self.evaporates * self.now;
        match (self.read, self.vessel) {
            (ReadBy::Burette, _) if self.down => self.capacity - seen,
            (ReadBy::Burette, _) => seen,
            (ReadBy::BalanceUnderBurette, _) => self.capacity - seen - gone + self.hand,
            (ReadBy::BalanceUnderVessel, Some((tare, from))) => {
                tare + seen - from - gone + self.hand
            }
            (ReadBy::BalanceUnderVessel, None) => 0.0,
        }
    }

    fn tick(&mut self) {
        self.now += TICK;
        if self.draining {
            self.film *= (-TICK / self.tau).exp();
        }
        if self.now + 1e-9 >= self.recorder.time() {
            self.recorder.write(self.shown());
        }
    }

    fn wait(&mut self, seconds: f64) {
        let until = self.now + seconds;
        while self.now < until {
            self.tick();
        }
    }

    /// Runs at `rate` with slow swings until the level is reached.
    fn run_to(&mut self, level: f64, rate: f64, swing: f64) {
        let (pace, phase) = (
            self.recorder.dice().uniform(1.0, 4.0),
            self.recorder.dice().uniform(0.0, 6.3),
        );
        let sign = (level - self.level).signum();
        while sign * (level - self.level) > 0.0 {
            let rate = rate * (1.0 + swing * (pace * self.now + phase).sin());
            self.level += sign * rate * TICK;
            self.tick();
        }
        self.level = level;
    }

    fn refill_to(&mut self, level: f64) {
        let rate = self.recorder.dice().uniform(4.0, 9.0);
        self.draining = false;
        // The liquid that rises over the film washes it away.
        self.level += self.film;
        self.film = 0.0;
        self.vessel = None;
        self.run_to(level, rate, 0.1);
        self.put_vessel();
    }

    fn put_vessel(&mut self) {
        if self.read == ReadBy::BalanceUnderVessel {
            // The vessel is emptied; a film stays in it.
            let tare = self.tare + self.recorder.dice().uniform(0.0, 0.05);
            self.vessel = Some((tare, self.level));
        }
    }

    /// The rest after a delivery, perhaps with a hand on the pan in the midst of it.
    fn rest_after(&mut self, seconds: f64, hands: f64) {
        if hands > 0.0 && self.recorder.dice().chance(hands) {
            self.wait(2.0);
            self.hand = self.recorder.dice().uniform(20.0, 300.0);
            let on = self.recorder.dice().uniform(0.8, 2.5);
            self.wait(on);
            self.hand = 0.0;
        }
        self.wait(seconds);
    }
}

/// Makes a route of pours: each from a rest, to a rest, and then a refill.
pub fn pour_route(seed: u64, rules: &PourRules) -> MadeRoute {
    let mut dice = Dice::seeded(seed);
    let sigma = rules
        .sigma
        .unwrap_or_else(|| dice.pick(&[0.005, 0.01, 0.02]));
    let down = rules.counts_down.unwrap_or_else(|| dice.chance(0.4));
    let gauge = InventedGauge {
        unit: match rules.read {
            ReadBy::Burette => Unit::CubicCentimetre,
            ReadBy::BalanceUnderBurette | ReadBy::BalanceUnderVessel => Unit::Gram,
        },
        resolution: rules.resolution,
        sigma,
        hertz: rules.hertz,
    };
    let mut station = PouringStation {
        recorder: Recorder::new(gauge, &mut dice),
        now: -TICK,
        level: 0.0,
        film: 0.0,
        tau: 8.0,
        draining: false,
        capacity: rules.capacity,
        down,
        read: rules.read,
        evaporates: 0.0,
        hand: 0.0,
        vessel: None,
        tare: 85.3,
    };
    if rules.evaporates.1 > 0.0 {
        let (least, most) = rules.evaporates;
        station.evaporates = station.recorder.dice().uniform(least, most) / 60.0;
    }
    let mut pours = Vec::new();
    for i in 0..rules.pours {
        let mut volume = station
            .recorder
            .dice()
            .uniform(rules.volume.0, rules.volume.1);
        let refilled = station.recorder.dice().chance(rules.refills);
        let mut start = start_level(station.recorder.dice(), volume, refilled, rules.capacity);
        if i == 0 {
            station.level = start;
            station.put_vessel();
        } else {
            // A refill rises by at least 5 cc.
            start = start.min(station.level - 5.0);
            station.refill_to(start);
        }
        if refilled {
            volume = volume.max(rules.capacity - start + 8.0);
        }
        pours.push(one_pour(&mut station, volume, refilled, rules));
    }
    station.refill_to(0.5);
    station.wait(2.0);
    MadeRoute {
        samples: station.recorder.finish(),
        pours,
    }
}

/// A start level. The pour fits into the burette from there, or, on purpose, does not.
fn start_level(dice: &mut Dice, volume: f64, refilled: bool, capacity: f64) -> f64 {
    if refilled {
        capacity - volume * dice.uniform(0.3, 0.7)
    } else {
        dice.uniform(0.0, (capacity - 3.0 - volume).max(0.0))
    }
}

fn one_pour(
    station: &mut PouringStation<'_>,
    volume: f64,
    refilled: bool,
    rules: &PourRules,
) -> MadePour {
    let rested_from_us = (station.now.max(0.0) * 1e6) as u64;
    let still = station.recorder.dice().uniform(3.0, 7.0);
    station.wait(still);
    let begun_at_us = (station.now * 1e6) as u64;
    let drains = station.recorder.dice().chance(rules.drains);
    let film = station.recorder.dice().uniform(0.01, 0.06) * station.recorder.dice().sign();
    let late = station.recorder.dice().chance(rules.drains_late);
    station.tau = station.recorder.dice().uniform(5.0, 12.0);
    let mut target = station.level + volume;
    if refilled {
        // Runs until shortly before the end, waits, is refilled, and goes on.
        let stop = rules.capacity - station.recorder.dice().uniform(0.2, 1.8);
        let rate = station.recorder.dice().uniform(1.5, 6.0);
        let from = station.level;
        station.run_to(stop, rate, 0.25);
        let rest = station.recorder.dice().uniform(2.0, 6.0);
        station.wait(rest);
        let full = station.recorder.dice().uniform(0.0, 2.0);
        station.refill_to(full);
        let rest = station.recorder.dice().uniform(3.0, 7.0);
        station.wait(rest);
        target = full + volume - (stop - from);
    }
    let by_drops = station.recorder.dice().uniform(0.3, 2.5);
    fast_part(station, target - by_drops);
    if drains {
        station.film = film;
        station.draining = !late;
    }
    drop_by_drop(station, target);
    let still_at_us = (station.now * 1e6) as u64;
    station.draining = drains;
    let rest = station.recorder.dice().uniform(5.0, 14.0);
    station.rest_after(rest, rules.hands);
    let over_at_us = (station.now * 1e6) as u64;
    MadePour {
        truth: volume,
        rested_from_us,
        begun_at_us,
        still_at_us,
        over_at_us,
        drains,
        refilled,
    }
}

/// Fast delivery with up to two pauses.
fn fast_part(station: &mut PouringStation<'_>, until: f64) {
    let dice = station.recorder.dice();
    let mut pauses: Vec<(f64, f64)> = (0..dice.whole(0, 2))
        .map(|_| (dice.uniform(0.2, 0.97), dice.uniform(0.8, 8.0)))
        .collect();
    pauses.sort_by(|a, b| a.0.total_cmp(&b.0));
    let from = station.level;
    for (share, seconds) in pauses {
        let rate = station.recorder.dice().uniform(1.5, 6.0);
        station.run_to(from + share * (until - from), rate, 0.25);
        station.wait(seconds);
    }
    let rate = station.recorder.dice().uniform(1.5, 6.0);
    station.run_to(until, rate, 0.25);
}

/// Single drops of 0.05 cc; the last may be smaller.
fn drop_by_drop(station: &mut PouringStation<'_>, target: f64) {
    while target - station.level > 1e-9 {
        let apart = station.recorder.dice().uniform(0.4, 3.5);
        station.wait(apart);
        station.level += (target - station.level).min(0.05);
        station.tick();
    }
}
