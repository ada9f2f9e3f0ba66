//! The book-keeping of pours: what was delivered between rests, and when a pour is final.
//!
//! The account is told of rests and legs, never of samples.

use benchhand_drivers::Unit;

use super::super::settings::{PourCounts, PourSettings, per_base};
use super::super::{CaptureEvent, CaptureNote, CapturedValue, ExpectedBounds};
use super::evaporation::Evaporation;
use super::legs::Leg;
use super::level::Level;

/// Where the present pour stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PourStage {
    /// At rest before a delivery, or before the first rest.
    Ready,
    /// Liquid runs.
    Delivering,
    /// At rest after a delivery: the amount is held.
    Held,
    /// The burette is being filled.
    Refilling,
    /// An amount was lost: nothing counts before a refill or a long rest.
    Lost,
}

/// Why a pour may go on although the burette was refilled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Refilled {
    /// By request, or because the burette was empty and no amount is expected.
    GoesOn,
    /// Far less than expected had come.
    TooLittle,
    /// Enough had come, but the burette could not hold what is expected, or was nearly empty.
    PerhapsAll,
}

/// What is known of the time before anybody listened.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unseen {
    /// Whether the burette has been filled since, before anything else came. Then also whether the
    /// burette was so nearly empty that the refill may have been amid a chamber.
    pub(super) refilled: Option<Amid>,
}

/// Whether a refill may have been amid a chamber.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Amid {
    /// Much was left in the burette: nobody refills amid a chamber then.
    Hardly,
    /// Little was left in the burette.
    Perhaps,
}

/// The book-keeping of one burette or balance.
#[derive(Debug)]
pub(crate) struct Account {
    pub(super) settings: PourSettings,
    pub(super) unit: Unit,
    pub(super) resolution: f64,
    pub(super) scale: f64,
    pub(super) balance: bool,
    /// +1 where delivery makes the numbers rise, −1 where it makes them fall, 0 where nobody knows.
    pub(super) direction: f64,
    pub(super) stage: PourStage,
    /// The rest before the delivery.
    pub(super) base: Option<Level>,
    /// The rest that the level has just left.
    pub(super) left: Option<Level>,
    /// What was delivered in earlier fillings of this pour.
    pub(super) sum: f64,
    pub(super) held: Option<CapturedValue>,
    pub(super) last_final: Option<CapturedValue>,
    pub(super) number: u32,
    /// The next refill belongs to this pour, by request.
    pub(super) goes_on: bool,
    /// The first value seen while no rest is known.
    pub(super) seen: Option<f64>,
    /// Samples were lost, and none was seen since.
    pub(super) listens_anew: bool,
    /// The first value since samples were lost, until the level rests.
    pub(super) heard: Option<f64>,
    /// Where the level rested when samples were lost: the held value stands, and nothing is added
    /// to it.
    pub(super) across: Option<f64>,
    /// The pour goes on since before the work was broken off, and no rest was heard since. Then also
    /// whether part of the pour had come unheard before that.
    pub(super) resumes: Option<bool>,
    /// What the next pour should come to, in the gauge's unit.
    pub(super) expected: Option<ExpectedBounds>,
    /// What the present pour should come to, as known when the pour began.
    pub(super) pour_expected: Option<ExpectedBounds>,
    /// Whether the present pour has begun.
    pub(super) begun: bool,
    /// The rest from which the held value was last calculated.
    pub(super) held_at: Option<Level>,
    /// The rests of this pour, each with the amount delivered up to it.
    pub(super) rests: Vec<(CapturedValue, Level)>,
    /// Where the level stood before and after each earlier filling of this pour.
    pub(super) fills: Vec<(f64, f64)>,
    /// Whether the burette was refilled amid this pour, and why the pour may go on.
    pub(super) refilled: Option<Refilled>,
    /// What may have come before anybody listened, until one pour is over.
    pub(super) unseen: Option<Unseen>,
    /// Whether this person lets the last of a pour fall in drops.
    pub(super) drips: bool,
    /// The amount of the pour before has changed: the expectation of this pour may change with it.
    pub(super) renew: bool,
    /// The pour was final and a little more came: a person is asked which pour that belongs to.
    pub(super) reopened: bool,
    /// The next delivery was asked to be added: its amount does not part the pour.
    pub(super) added: bool,
    /// What may be the beginning of the next pour, let out before the refill.
    pub(super) early: Option<Early>,
    /// The same for a final pour: its number, and what may belong to the next pour.
    pub(super) carried: Option<(u32, Early)>,
    /// The first of what may be two pours, and where the second would have begun.
    pub(super) two: Option<(CapturedValue, Level)>,
    /// How long the level rested before a refill that came too soon for a film to drain, s.
    pub(super) undrained: Option<f64>,
    /// A refill amid this pour that may have been needless.
    pub(super) amid: Option<Needless>,
    /// Whether the held value was told as settled.
    pub(super) settled: bool,
    /// Whether a long rest far below the expectation was told.
    pub(super) lingered: bool,
    /// A person kept what had come before the last refill.
    pub(super) kept_behind: bool,
    /// The pour came while capture was asked to ignore the samples.
    pub(super) poured_on_hold: bool,
    /// The level has risen since the value was held, and no delivery makes a level rise.
    pub(super) risen: bool,
    /// What is known of evaporation, and whether it was told of this pour.
    pub(super) evaporation: Evaporation,
    pub(super) said_evaporation: bool,
}

/// What may be the beginning of the next pour.
#[derive(Debug, Clone)]
pub(crate) struct Early {
    /// The pour without it.
    pub(super) first: CapturedValue,
    /// How much may belong to the next pour, in the gauge's unit.
    pub(super) more: f64,
    /// Whether drops ended the pour without it.
    pub(super) dripped: bool,
    /// The levels between which it was let out, by filling.
    pub(super) fills: Vec<(f64, f64)>,
}

/// The last refill amid a pour that puts the amount before it in doubt.
#[derive(Debug, Clone)]
pub(crate) struct Needless {
    /// The amount before the refill.
    pub(super) first: CapturedValue,
    /// What the burette still held, in the gauge's unit.
    pub(super) left: f64,
    /// Why the pour went on.
    pub(super) why: Refilled,
}

impl Account {
    pub(crate) fn new(settings: PourSettings) -> Self {
        let direction = match settings.counts {
            PourCounts::Auto | PourCounts::Unknown => 0.0,
            PourCounts::Up => 1.0,
            PourCounts::Down => -1.0,
        };
        Self {
            settings,
            unit: Unit::CubicCentimetre,
            resolution: 0.0,
            scale: 1.0,
            balance: false,
            direction,
            stage: PourStage::Ready,
            base: None,
            left: None,
            sum: 0.0,
            held: None,
            last_final: None,
            number: 0,
            goes_on: false,
            seen: None,
            listens_anew: false,
            heard: None,
            across: None,
            resumes: None,
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
            poured_on_hold: false,
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

    pub(crate) fn stage(&self) -> PourStage {
        self.stage
    }

    /// What this pour has delivered so far if the gauge now shows `v`.
    pub(crate) fn delivered(&self, v: f64) -> Option<f64> {
        let base = self.base.as_ref()?;
        match self.stage {
            PourStage::Delivering | PourStage::Held => {
                Some(self.sum + self.direction * (v - base.now))
            }
            _ => None,
        }
    }

    /// Takes a value while no rest is known.
    pub(crate) fn sees(&mut self, v: f64) {
        if std::mem::take(&mut self.listens_anew) {
            self.heard = Some(v);
        }
        if self.base.is_none() {
            self.seen = self.seen.or(Some(v));
        } else {
            self.seen = None;
        }
    }

    /// The level left a rest.
    pub(crate) fn left(&mut self, level: Level) {
        // A drop may leave a held level, and the pour may have begun with a drop as well.
        if self.stage == PourStage::Ready {
            self.evaporation.before(&level);
        }
        self.left = Some(level);
    }

    /// A delivery or a refill has become plain.
    pub(crate) fn leg(&mut self, leg: Leg, out: &mut Vec<CaptureEvent>) {
        if self.direction == 0.0 {
            self.direction = leg.sign;
        }
        // The first leg begins at the rest just left, a later one at the turn.
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
            PourStage::Ready | PourStage::Refilling if leg.rested => {
                let same_rest = |base: &Level| base.from_us == from.from_us;
                if self.stage == PourStage::Refilling || self.base.as_ref().is_none_or(same_rest) {
                    self.base = Some(from);
                }
                self.begins();
                self.stage = PourStage::Delivering;
            }
            PourStage::Ready | PourStage::Refilling => {
                self.lost_rest(leg.uncertain, PourStage::Lost, out)
            }
            PourStage::Held if self.resumes.is_some() => {
                self.ran_unheard();
                self.stage = PourStage::Delivering;
            }
            PourStage::Held if self.across.is_some() => {
                self.withdraw(CaptureNote::DeliveredInGap, out);
                self.stage = PourStage::Lost;
            }
            PourStage::Held => {
                // A delivery that was to be added comes without a refill.
                self.adds();
                self.stage = PourStage::Delivering;
            }
            PourStage::Delivering | PourStage::Lost => {}
        }
    }

    pub(super) fn refill(&mut self, from: Level, leg: &Leg, out: &mut Vec<CaptureEvent>) {
        if matches!(self.stage, PourStage::Delivering | PourStage::Held) {
            self.evaporation.after(&from);
        }
        let amid = match self.little_left(&from) {
            true => Amid::Perhaps,
            false => Amid::Hardly,
        };
        if let (Some(unseen), PourStage::Ready | PourStage::Lost) = (&mut self.unseen, self.stage) {
            // A refill in two goes counts from the first.
            unseen.refilled.get_or_insert(amid);
        }
        if self.stage == PourStage::Ready && leg.rested && self.begins_with_little(&from) {
            self.begins();
            self.stage = PourStage::Held;
        }
        match self.stage {
            PourStage::Ready | PourStage::Lost => {
                self.base = None;
                self.stage = PourStage::Refilling;
            }
            PourStage::Refilling => {}
            PourStage::Held if self.resumes.is_some() => {
                self.refilled_unheard();
                self.stage = PourStage::Refilling;
            }
            PourStage::Delivering | PourStage::Held if !leg.rested => {
                self.lost_rest(leg.uncertain, PourStage::Refilling, out);
            }
            PourStage::Delivering | PourStage::Held => {
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
                    // The delivery that was to be added is let out by now: the next one may be
                    // parted.
                    self.added &= why != Refilled::PerhapsAll;
                    self.fills.clone_from(&taken.fills);
                    self.sum = taken.value;
                    let note = CaptureNote::GoesOn {
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
                    self.withdraw(CaptureNote::NothingDelivered, out);
                }
                self.base = None;
                self.stage = PourStage::Refilling;
            }
        }
    }

    /// A pour or a refill turned without a rest between: the amount is not known.
    fn lost_rest(&mut self, uncertain: f64, next: PourStage, out: &mut Vec<CaptureEvent>) {
        let why = CaptureNote::NoRestBetween {
            uncertain,
            unit: self.unit,
        };
        self.lose_pour(why, out);
        self.base = None;
        self.stage = next;
    }

    pub(super) fn lose_pour(&mut self, why: CaptureNote, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.withdraw(why, out);
        } else {
            out.push(CaptureEvent::Note(why));
        }
        self.clear_pour();
    }
}
