//! The book-keeping of pours: what was delivered between rests, and when it is final.
//!
//! It sees rests and legs, never samples.

use benchhand_drivers::Unit;

use super::super::settings::{Counts, PourSettings, per_base};
use super::super::still::seconds;
use super::super::{CaptureEvent, Note, Taken};
use super::legs::Leg;
use super::level::Level;

/// Where the present pour stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stage {
    /// At rest before a delivery, or before the first rest.
    Ready,
    /// Liquid runs.
    Delivering,
    /// At rest after a delivery.
    Held,
    /// The burette is being filled.
    Refilling,
    /// An amount was lost sight of: nothing counts before the next rest.
    Lost,
}

/// A step this soon after the last rest belongs to the delivery that follows, s.
const SOON_S: f64 = 20.0;

/// See the module.
#[derive(Debug)]
pub(crate) struct Account {
    settings: PourSettings,
    unit: Unit,
    resolution: f64,
    scale: f64,
    balance: bool,
    /// +1 where delivery makes the figures rise, −1 where it makes them fall, 0 unknown.
    direction: f64,
    stage: Stage,
    /// The rest before the delivery.
    base: Option<Level>,
    /// The rest just left.
    left: Option<Level>,
    /// Delivered in earlier parts of this pour.
    sum: f64,
    held: Option<Taken>,
    last_final: Option<Taken>,
    number: u32,
    /// The next refill belongs to this pour, by request.
    goes_on: bool,
    /// Where it rested when samples were lost: the held value stands, nothing is added.
    across: Option<f64>,
}

impl Account {
    pub(crate) fn new(settings: PourSettings) -> Self {
        let direction = match settings.counts {
            Counts::Auto => 0.0,
            Counts::Up => 1.0,
            Counts::Down => -1.0,
        };
        Self {
            settings,
            unit: Unit::CubicCentimetre,
            resolution: 0.0,
            scale: 1.0,
            balance: false,
            direction,
            stage: Stage::Ready,
            base: None,
            left: None,
            sum: 0.0,
            held: None,
            last_final: None,
            number: 0,
            goes_on: false,
            across: None,
        }
    }

    pub(crate) fn meet(&mut self, unit: Unit, resolution: f64, balance: bool) {
        self.unit = unit;
        self.scale = per_base(unit);
        self.resolution = resolution;
        self.balance = balance;
    }

    pub(crate) fn stage(&self) -> Stage {
        self.stage
    }

    /// What was delivered so far in this pour if the gauge now shows `v`.
    pub(crate) fn delivered(&self, v: f64) -> Option<f64> {
        let base = self.base.as_ref()?;
        match self.stage {
            Stage::Delivering | Stage::Held => Some(self.sum + self.direction * (v - base.now)),
            _ => None,
        }
    }

    /// The level left a rest.
    pub(crate) fn left(&mut self, level: Level) {
        self.left = Some(level);
    }

    /// A delivery or a refill has become plain.
    pub(crate) fn leg(&mut self, leg: Leg, out: &mut Vec<CaptureEvent>) {
        if self.direction == 0.0 {
            self.direction = leg.sign;
        }
        // The first leg leaves the rest just left; a later one, the turn.
        let from = match self.left.take() {
            Some(level) => level,
            None => leg.turn_level(),
        };
        if leg.sign == self.direction {
            self.delivery(from, &leg, out);
        } else {
            self.refill(from, &leg, out);
        }
    }

    fn delivery(&mut self, from: Level, leg: &Leg, out: &mut Vec<CaptureEvent>) {
        match self.stage {
            Stage::Ready | Stage::Refilling if leg.rested => {
                let same_rest = |base: &Level| base.from_us == from.from_us;
                if self.stage == Stage::Refilling || self.base.as_ref().is_none_or(same_rest) {
                    self.base = Some(from);
                }
                self.stage = Stage::Delivering;
            }
            Stage::Ready | Stage::Refilling => self.lost_rest(leg.uncertain, Stage::Lost, out),
            Stage::Held if self.across.is_some() => {
                self.withdraw(Note::DeliveredInGap, out);
                self.stage = Stage::Lost;
            }
            Stage::Held => self.stage = Stage::Delivering,
            Stage::Delivering | Stage::Lost => {}
        }
    }

    fn refill(&mut self, from: Level, leg: &Leg, out: &mut Vec<CaptureEvent>) {
        match self.stage {
            Stage::Ready | Stage::Lost => {
                self.base = None;
                self.stage = Stage::Refilling;
            }
            Stage::Refilling => {}
            Stage::Delivering | Stage::Held if !leg.rested => {
                self.lost_rest(leg.uncertain, Stage::Refilling, out);
            }
            Stage::Delivering | Stage::Held => {
                let goes_on = std::mem::take(&mut self.goes_on) || self.is_near_end(from.now);
                let taken = self.amount(&from);
                if goes_on {
                    self.sum = taken.value;
                    let note = Note::GoesOn {
                        delivered: taken.value,
                        unit: self.unit,
                    };
                    out.push(CaptureEvent::Note(note));
                    self.across = None;
                } else if taken.value >= self.settings.least_cc * self.scale {
                    self.finish(taken, out);
                } else {
                    self.withdraw(Note::NothingDelivered, out);
                }
                self.base = None;
                self.stage = Stage::Refilling;
            }
        }
    }

    /// A pour or a refill turned without a rest between: the amount is not known.
    fn lost_rest(&mut self, uncertain: f64, next: Stage, out: &mut Vec<CaptureEvent>) {
        let why = Note::NoRestBetween {
            uncertain,
            unit: self.unit,
        };
        self.lose_pour(why, out);
        self.base = None;
        self.stage = next;
    }

    fn lose_pour(&mut self, why: Note, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.withdraw(why, out);
        } else {
            out.push(CaptureEvent::Note(why));
        }
        self.sum = 0.0;
    }

    /// The level has come to rest.
    pub(crate) fn rested(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        self.left = None;
        match self.stage {
            Stage::Ready => self.small_step(level, out),
            Stage::Refilling | Stage::Lost => {
                self.base = Some(level);
                self.stage = Stage::Ready;
            }
            Stage::Held if self.across.is_some() => self.heard_again(level, out),
            Stage::Held | Stage::Delivering => self.delivered_to(level, out),
        }
    }

    /// A move too small for a leg, before a pour.
    fn small_step(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        let Some(base) = &self.base else {
            self.base = Some(level);
            return;
        };
        let run = level.now - base.now;
        let amount = if self.direction == 0.0 {
            run.abs()
        } else {
            self.direction * run
        };
        if amount >= self.settings.least_cc * self.scale {
            if self.direction == 0.0 {
                self.direction = run.signum();
            }
            self.delivered_to(level, out);
        } else if amount < 0.0 || seconds(base.to_us, level.from_us) > SOON_S {
            self.base = Some(level);
        }
    }

    fn delivered_to(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        if let Some(let_out) = self.zero_set(&level) {
            out.push(CaptureEvent::Note(Note::ZeroSet {
                let_out,
                unit: self.unit,
            }));
            if self.held.is_some() {
                self.withdraw(
                    Note::ZeroSet {
                        let_out,
                        unit: self.unit,
                    },
                    out,
                );
            }
            self.base = Some(level);
            self.stage = Stage::Ready;
            return;
        }
        let taken = self.amount(&level);
        if taken.value < self.settings.least_cc * self.scale {
            if self.held.is_some() {
                self.withdraw(Note::NothingDelivered, out);
            }
            self.base = Some(level);
            self.stage = Stage::Ready;
            return;
        }
        self.stage = Stage::Held;
        self.announce(taken, out);
    }

    /// A burette filled beyond its zero mark and let out down to it: not a pour.
    fn zero_set(&self, level: &Level) -> Option<f64> {
        let base = self.base.as_ref()?;
        if self.balance || self.sum != 0.0 {
            return None;
        }
        let full = if self.direction > 0.0 {
            0.0
        } else {
            self.settings.capacity_cc * self.scale
        };
        let beyond = self.direction * (full - base.now);
        let let_out = self.direction * (level.now - base.now);
        let at_mark = (level.now - full).abs() < 0.15 * self.scale;
        let plain = beyond > 0.05 * self.scale && beyond < 10.0 * self.scale;
        (plain && at_mark).then_some(let_out)
    }

    /// At rest for `rested_s` with a held value: creep is followed, and at last it is final.
    pub(crate) fn resting(&mut self, level: Level, rested_s: f64, out: &mut Vec<CaptureEvent>) {
        if self.stage != Stage::Held {
            return;
        }
        let near_end = self.is_near_end(level.now);
        let taken = self.amount(&level);
        if self.across.is_none() {
            self.announce(taken.clone(), out);
        }
        if rested_s >= self.settings.final_s && !near_end && !self.goes_on {
            self.finish(taken, out);
            self.base = Some(level);
            self.stage = Stage::Ready;
        }
    }

    fn announce(&mut self, taken: Taken, out: &mut Vec<CaptureEvent>) {
        let pour = self.number;
        match &self.held {
            None => {
                self.held = Some(taken.clone());
                out.push(CaptureEvent::Held { pour, taken });
            }
            Some(held) => {
                let least = (self.settings.revise_cc * self.scale).max(1.5 * self.resolution);
                if (taken.value - held.value).abs() >= least {
                    self.held = Some(taken.clone());
                    out.push(CaptureEvent::Revised { pour, taken });
                }
            }
        }
    }

    /// What was delivered if it ended at this rest; across a gap, what was held before it.
    fn amount(&self, level: &Level) -> Taken {
        if let (Some(held), true) = (&self.held, self.across.is_some()) {
            return held.clone();
        }
        let part = self.base.as_ref().map_or(0.0, |base| {
            self.direction * (level.settled - base.now - evaporated(base, level))
        });
        Taken {
            value: self.sum + part,
            unit: self.unit,
            n: level.window.len(),
            sd: level.sd,
            se: None,
            at_us: level.to_us,
            from_us: level.from_us,
            window: level.window.clone(),
            others: Vec::new(),
            resolution: self.resolution,
        }
    }

    fn finish(&mut self, taken: Taken, out: &mut Vec<CaptureEvent>) {
        self.last_final = Some(taken.clone());
        self.held = None;
        self.sum = 0.0;
        self.across = None;
        self.goes_on = false;
        out.push(CaptureEvent::Final {
            pour: self.number,
            taken,
        });
        self.number += 1;
    }

    fn withdraw(&mut self, why: Note, out: &mut Vec<CaptureEvent>) {
        if self.held.take().is_some() {
            out.push(CaptureEvent::Withdrawn {
                pour: self.number,
                why,
            });
        }
        self.sum = 0.0;
        self.across = None;
        self.goes_on = false;
    }

    /// Whether the burette is nearly empty at this level.
    fn is_near_end(&self, now: f64) -> bool {
        if self.balance {
            return false;
        }
        let end = if self.direction > 0.0 {
            self.settings.capacity_cc * self.scale
        } else {
            0.0
        };
        (now - end).abs() <= self.settings.near_end_cc * self.scale
    }

    /// Samples were lost.
    pub(crate) fn lose(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match self.stage {
            Stage::Held => {
                let stood = level.or(self.left.take()).map(|l| l.now);
                // What was held stands on samples from before; nothing is added to it.
                self.across = self.across.or(stood).or(Some(f64::NAN));
            }
            Stage::Delivering => {
                self.lose_pour(Note::DeliveredInGap, out);
                self.stage = Stage::Lost;
                self.base = None;
            }
            Stage::Ready | Stage::Refilling | Stage::Lost => {
                if self.sum != 0.0 {
                    self.lose_pour(Note::DeliveredInGap, out);
                }
                self.base = None;
                self.stage = if self.stage == Stage::Ready {
                    Stage::Ready
                } else {
                    Stage::Lost
                };
            }
        }
        self.left = None;
    }

    /// The first rest after samples were lost while a value was held.
    fn heard_again(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        let Some(stood) = self.across else { return };
        let run = self.direction * (level.now - stood);
        if run > 0.05 * self.scale + 3.0 * self.resolution || run.is_nan() {
            self.withdraw(Note::DeliveredInGap, out);
            self.base = Some(level);
            self.stage = Stage::Ready;
        } else if run < -self.settings.least_refill_cc * self.scale {
            if let Some(held) = self.held.clone() {
                self.finish(held, out);
            }
            self.base = Some(level);
            self.stage = Stage::Ready;
        }
    }

    /// The gauge was set to zero, or its sign or unit was changed.
    pub(crate) fn rezeroed(&mut self, zeroed: bool, out: &mut Vec<CaptureEvent>) {
        match (self.stage, self.held.clone()) {
            (Stage::Held, Some(held)) if zeroed => self.finish(held, out),
            (Stage::Held | Stage::Delivering, _) => {
                self.lose_pour(
                    Note::NoRestBetween {
                        uncertain: 0.0,
                        unit: self.unit,
                    },
                    out,
                );
            }
            _ => {}
        }
        self.base = None;
        self.left = None;
        self.stage = Stage::Ready;
    }

    /// A vessel came back to the balance where it stood, but for `shift`.
    pub(crate) fn back(&mut self, shift: f64, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        let Some(level) = level else { return };
        match self.stage {
            Stage::Held => {
                if let Some(base) = &mut self.base {
                    base.now += shift;
                }
            }
            Stage::Ready => self.base = Some(level),
            _ => self.rested(level, out),
        }
        self.left = None;
    }

    /// Another vessel stands on the balance, at this level.
    pub(crate) fn swapped(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match (self.stage, self.held.clone()) {
            (Stage::Held, Some(held)) => self.finish(held, out),
            (Stage::Delivering, _) => self.lose_pour(Note::Away, out),
            _ => {}
        }
        self.base = level;
        self.left = None;
        self.stage = Stage::Ready;
    }

    /// Take now.
    pub(crate) fn take(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match (self.stage, level) {
            (Stage::Held, Some(level)) => {
                let taken = self.amount(&level);
                self.finish(taken, out);
                self.base = Some(level);
                self.stage = Stage::Ready;
            }
            (Stage::Held | Stage::Delivering, _) => out.push(CaptureEvent::Note(Note::NotStill)),
            _ => out.push(CaptureEvent::Note(Note::NothingToTake)),
        }
    }

    /// Forget the last one, to be poured again.
    pub(crate) fn again(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.withdraw(Note::Again, out);
        } else if self.stage == Stage::Delivering {
            out.push(CaptureEvent::Note(Note::Again));
        } else if self.last_final.take().is_some() {
            self.number -= 1;
            out.push(CaptureEvent::Withdrawn {
                pour: self.number,
                why: Note::Again,
            });
        }
        self.sum = 0.0;
        self.goes_on = false;
        self.stage = match (&level, self.stage) {
            (None, Stage::Delivering | Stage::Held) => Stage::Lost,
            (None, stage) => stage,
            _ => Stage::Ready,
        };
        self.base = level;
    }

    /// The next delivery belongs to the reading before it.
    pub(crate) fn add(&mut self, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.goes_on = true;
        } else if let Some(last) = self.last_final.take() {
            self.number -= 1;
            self.sum = last.value;
            self.held = Some(last);
        } else {
            out.push(CaptureEvent::Note(Note::NothingToTake));
        }
    }

    /// The route ends.
    pub(crate) fn end(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match (self.stage, level, self.held.clone()) {
            (Stage::Held, Some(level), _) => {
                let taken = self.amount(&level);
                self.finish(taken, out);
            }
            // Liquid still ran: what was held is no longer what was delivered.
            (Stage::Delivering, ..) => self.withdraw(Note::NotStill, out),
            (_, _, Some(held)) => self.finish(held, out),
            _ => {}
        }
        self.stage = Stage::Ready;
        self.base = None;
    }

    /// What evaporation did to the amount between the two rests, to be said with it.
    pub(crate) fn evaporation(&self, level: &Level) -> Option<Note> {
        let base = self.base.as_ref()?;
        let gone = evaporated(base, level);
        let per_min = 60.0 * mean_slope(base, level);
        let unit = self.unit;
        (gone != 0.0).then_some(Note::Evaporation {
            per_min,
            taken_off: gone.abs(),
            unit,
        })
    }
}

/// The run between two rests that is not delivery: the mean of the slopes before and after,
/// over the time between. 0 where neither runs.
fn evaporated(base: &Level, level: &Level) -> f64 {
    mean_slope(base, level) * seconds(base.to_us, level.from_us)
}

fn mean_slope(base: &Level, level: &Level) -> f64 {
    let known: Vec<f64> = [base.slope, level.slope]
        .into_iter()
        .filter(|s| *s != 0.0)
        .collect();
    if known.is_empty() {
        0.0
    } else {
        known.iter().sum::<f64>() / known.len() as f64
    }
}
