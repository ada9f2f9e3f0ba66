//! The book-keeping of pours: what was delivered between rests, and when it is final.
//!
//! It sees rests and legs, never samples.

use benchhand_drivers::Unit;

use super::super::settings::{Counts, PourSettings, per_base};
use super::super::{CaptureEvent, Expected, Note, Taken};
use super::evaporation::Evaporation;
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
    /// An amount was lost sight of: nothing counts before a refill or a long rest.
    Lost,
}

/// Why a pour may go on although the burette was refilled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Refilled {
    /// By request, or because the burette was empty and nothing is expected.
    GoesOn,
    /// Far less than expected had come.
    TooLittle,
    /// Enough had come, but the burette could not hold what is expected, or was nearly empty.
    PerhapsAll,
}

/// What is known of the time before anybody listened.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unseen {
    /// Whether the burette was filled since, before anything else came, and whether it was so
    /// nearly empty that this may have been amid a chamber.
    pub(super) refilled: Option<Amid>,
}

/// Whether a refill may have been amid a chamber.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Amid {
    /// Much was left: nobody fills up amid a chamber then.
    Hardly,
    /// Little was left.
    Perhaps,
}

/// See the module.
#[derive(Debug)]
pub(crate) struct Account {
    pub(super) settings: PourSettings,
    pub(super) unit: Unit,
    pub(super) resolution: f64,
    pub(super) scale: f64,
    pub(super) balance: bool,
    /// +1 where delivery makes the figures rise, −1 where it makes them fall, 0 unknown.
    pub(super) direction: f64,
    pub(super) stage: Stage,
    /// The rest before the delivery.
    pub(super) base: Option<Level>,
    /// The rest just left.
    pub(super) left: Option<Level>,
    /// Delivered in earlier parts of this pour.
    pub(super) sum: f64,
    pub(super) held: Option<Taken>,
    pub(super) last_final: Option<Taken>,
    pub(super) number: u32,
    /// The next refill belongs to this pour, by request.
    pub(super) goes_on: bool,
    /// The first that is known of the level while no rest is known.
    pub(super) seen: Option<f64>,
    /// Where it rested when samples were lost: the held value stands, nothing is added.
    pub(super) across: Option<f64>,
    /// What the next pour should come to, in the gauge's unit.
    pub(super) expected: Option<Expected>,
    /// What the present pour should come to, as it was known when it began.
    pub(super) pour_expected: Option<Expected>,
    /// Whether it began.
    pub(super) begun: bool,
    /// The rest at which the held value was last made out.
    pub(super) held_at: Option<Level>,
    /// The rests of this pour, each with what had come by then.
    pub(super) rests: Vec<(Taken, Level)>,
    /// Where the level stood before and after each earlier filling of this pour.
    pub(super) fills: Vec<(f64, f64)>,
    /// Whether the burette was refilled amid this pour, and why the pour may go on.
    pub(super) refilled: Option<Refilled>,
    /// What may have come before anybody listened, until one pour is over.
    pub(super) unseen: Option<Unseen>,
    /// Whether this person lets the last of a pour fall in drops.
    pub(super) drips: bool,
    /// What the pour before came to was made out anew: what is expected of this one may follow.
    pub(super) renew: bool,
    /// The pour was final, and a little more came: whose that is, is asked.
    pub(super) reopened: bool,
    /// What comes now was asked to be added: the amount does not part it.
    pub(super) added: bool,
    /// What may be the beginning of the next pour, let out before the refill.
    pub(super) early: Option<Early>,
    /// The same of a pour that is final: its number, and what may belong to the next.
    pub(super) carried: Option<(u32, Early)>,
    /// The first of what may be two pours, and where the second would have begun.
    pub(super) two: Option<(Taken, Level)>,
    /// How long the level rested before a refill that came too soon for a film to drain, s.
    pub(super) undrained: Option<f64>,
    /// A refill amid this pour that may not have been needed.
    pub(super) amid: Option<Needless>,
    /// That the held value has settled was said.
    pub(super) settled: bool,
    /// A long rest far below what was expected was said.
    pub(super) lingered: bool,
    /// A person kept what had come before the last refill.
    pub(super) kept_behind: bool,
    /// Since the level was held it has risen, and no delivery makes it rise.
    pub(super) risen: bool,
    /// What is known of evaporation, and whether it was said of this pour.
    pub(super) evaporation: Evaporation,
    pub(super) said_evaporation: bool,
}

/// What may be the beginning of the next pour.
#[derive(Debug, Clone)]
pub(crate) struct Early {
    /// The pour without it.
    pub(super) first: Taken,
    /// How much it is, in the gauge's unit.
    pub(super) more: f64,
    /// Whether drops ended the pour without it.
    pub(super) dripped: bool,
    /// From where to where the level went meanwhile.
    pub(super) fill: (f64, f64),
}

/// The last refill amid a pour that asks for a look at what came before it.
#[derive(Debug, Clone)]
pub(crate) struct Needless {
    /// What had come before it.
    pub(super) first: Taken,
    /// What the burette still held, in the gauge's unit.
    pub(super) left: f64,
    /// Why the pour went on.
    pub(super) why: Refilled,
}

impl Account {
    pub(crate) fn new(settings: PourSettings) -> Self {
        let direction = match settings.counts {
            Counts::Auto | Counts::Unknown => 0.0,
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
            seen: None,
            across: None,
            expected: None,
            pour_expected: None,
            begun: false,
            held_at: None,
            rests: Vec::new(),
            fills: Vec::new(),
            refilled: None,
            unseen: None,
            drips: false,
            renew: false,
            reopened: false,
            added: false,
            early: None,
            carried: None,
            two: None,
            undrained: None,
            amid: None,
            settled: false,
            lingered: false,
            kept_behind: false,
            risen: false,
            evaporation: Evaporation::default(),
            said_evaporation: false,
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

    /// A value came, and no rest is known yet.
    pub(crate) fn sees(&mut self, v: f64) {
        if self.base.is_none() {
            self.seen = self.seen.or(Some(v));
        } else {
            self.seen = None;
        }
    }

    /// The level left a rest.
    pub(crate) fn left(&mut self, level: Level) {
        // What is left while a value is held may be left by a drop, as it may have begun with one.
        if self.stage == Stage::Ready {
            self.evaporation.before(&level);
        }
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
        self.streams_on();
        match self.stage {
            Stage::Ready | Stage::Refilling if leg.rested => {
                let same_rest = |base: &Level| base.from_us == from.from_us;
                if self.stage == Stage::Refilling || self.base.as_ref().is_none_or(same_rest) {
                    self.base = Some(from);
                }
                self.begins();
                self.stage = Stage::Delivering;
            }
            Stage::Ready | Stage::Refilling => self.lost_rest(leg.uncertain, Stage::Lost, out),
            Stage::Held if self.across.is_some() => {
                self.withdraw(Note::DeliveredInGap, out);
                self.stage = Stage::Lost;
            }
            Stage::Held => {
                // What was to be added comes without a refill.
                self.adds();
                self.stage = Stage::Delivering;
            }
            Stage::Delivering | Stage::Lost => {}
        }
    }

    pub(super) fn refill(&mut self, from: Level, leg: &Leg, out: &mut Vec<CaptureEvent>) {
        if matches!(self.stage, Stage::Delivering | Stage::Held) {
            self.evaporation.after(&from);
        }
        let amid = match self.little_left(&from) {
            true => Amid::Perhaps,
            false => Amid::Hardly,
        };
        if let (Some(unseen), Stage::Ready | Stage::Lost) = (&mut self.unseen, self.stage) {
            // A refill in two goes began with the first.
            unseen.refilled.get_or_insert(amid);
        }
        if self.stage == Stage::Ready && leg.rested && self.begins_with_little(&from) {
            self.begins();
            self.stage = Stage::Held;
        }
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
                self.part_pours(&from, out);
                let goes_on = self.goes_on_after(&from);
                self.early = self.early.take().or_else(|| self.perhaps_early(&from));
                let taken = match goes_on {
                    // How the pour ends is not known yet.
                    Some(_) => self.so_far(&from),
                    None => self.whole(&from),
                };
                if goes_on.is_some() && taken.doubt.is_some() {
                    self.doubt_aloud(&taken, out);
                }
                if let Some(why) = goes_on {
                    self.refills_from(&from);
                    self.remembers_refill(&taken, &from, why);
                    self.refilled = Some(why);
                    // What was asked to be added is let out by now: the next may be parted.
                    self.added &= why != Refilled::PerhapsAll;
                    self.fills.clone_from(&taken.fills);
                    self.sum = taken.value;
                    let note = Note::GoesOn {
                        delivered: taken.value,
                        near_end: self.is_near_end(from.now),
                        unit: self.unit,
                    };
                    if why != Refilled::PerhapsAll {
                        out.push(CaptureEvent::Note(note));
                    }
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

    pub(super) fn lose_pour(&mut self, why: Note, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.withdraw(why, out);
        } else {
            out.push(CaptureEvent::Note(why));
        }
        self.clear_pour();
    }
}
