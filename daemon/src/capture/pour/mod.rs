//! The difference between two rests of a burette or a balance.
//!
//! At the first rest after a delivery the amount is held. When more comes, or the glass drains, the
//! amount is revised. It is final when the next pour begins, at the end, or after a declared time.
//! What is filled is not known here, and no mass is converted to volume.

mod account;
mod amount;
mod away;
mod doubting;
mod draining;
mod early;
mod evaporation;
mod events;
mod expecting;
mod holding;
mod judging;
mod leak;
mod lean;
mod legs;
mod level;
mod little;
mod needless;
mod pan;
mod parting;
mod resting;
mod resuming;
mod telling;
mod topping;
mod which_way;

use benchhand_drivers::Sample;

use super::intake::{Fed, Intake};
use super::settings::{PourCounts, PourSettings, per_base};
use super::sigma::Sigma;
use super::still::{Point, seconds, stillness};
use super::{
    Capture, CaptureControl, CaptureEvent, CaptureMode, CaptureNote, CapturePhase, CaptureStatus,
    ExpectedBounds, PourSoFar,
};
use account::{Account, PourStage};
use away::Away;
use judging::judging;
use leak::LeakWatch;
use legs::Legs;
use level::{LevelChange, Tracker};
use which_way::WhichWay;

/// The state machine of the pour mode.
pub(crate) struct Pour {
    settings: PourSettings,
    intake: Intake,
    sigma: Sigma,
    tracker: Tracker,
    legs: Option<Legs>,
    account: Account,
    leak: LeakWatch,
    away: Away,
    balance: bool,
    known: bool,
    paused: bool,
    last: Option<Point>,
    revise_at_us: u64,
    /// Where the level stood when capture was asked to ignore the samples amid a delivery.
    stood_at: Option<f64>,
    /// Everything that came while the direction of the scale was not known.
    which_way: Option<WhichWay>,
    /// What comes while capture is asked to ignore the samples.
    on_hold: Option<holding::OnHold>,
}

impl Pour {
    pub(crate) fn new(settings: PourSettings, sigma: Sigma) -> Self {
        let intake = Intake::new(settings.channel, settings.gap_s).along_runs();
        let tracker = Tracker::new(judging(&settings, 1.0, 1.0, false));
        let account = Account::new(settings.clone());
        let which_way = (settings.counts == PourCounts::Unknown).then(|| WhichWay::new(sigma));
        Self {
            settings,
            intake,
            sigma,
            tracker,
            legs: None,
            account,
            leak: LeakWatch::default(),
            away: Away::default(),
            balance: false,
            known: false,
            paused: false,
            last: None,
            revise_at_us: 0,
            stood_at: None,
            which_way,
            on_hold: None,
        }
    }

    /// Learns the gauge's unit and count from the first sample.
    fn meet(&mut self, sample: &Sample) {
        self.known = true;
        self.balance = self.settings.is_balance(sample.unit);
        let scale = per_base(sample.unit);
        let judging = judging(&self.settings, sample.resolution, scale, self.balance);
        self.tracker = Tracker::new(judging);
        self.account
            .meet(sample.unit, sample.resolution, self.balance);
    }

    fn fed(&mut self, fed: Fed, out: &mut Vec<CaptureEvent>) {
        match fed {
            Fed::Point(point) => self.point(point, out),
            Fed::Note(note) => out.push(CaptureEvent::Note(note)),
            Fed::Break if self.balance => self.goes_away(out),
            Fed::Break => self.lose(out),
            Fed::Gap(note) => {
                out.push(CaptureEvent::Note(note));
                self.lose(out);
            }
            Fed::Key(note) => self.key(note, out),
        }
    }

    /// Forgets all samples, so that older ones are not mixed with newer ones.
    fn lose(&mut self, out: &mut Vec<CaptureEvent>) {
        let level = self.tracker.level(&self.sigma);
        let last = self.last.map(|point| point.v);
        self.account.lose(level, last, out);
        self.forget();
    }

    fn forget(&mut self) {
        self.tracker.cut();
        self.legs = None;
        self.leak.clear();
        self.away = Away::default();
        self.last = None;
    }

    /// A key on the gauge: a tare between pours ends a held pour; any other key loses the pour.
    fn key(&mut self, note: CaptureNote, out: &mut Vec<CaptureEvent>) {
        let zeroed = matches!(note, CaptureNote::JumpToZero { .. });
        // A balance goes to 0 by its key, or when its vessel is lifted untared.
        let told = match self.balance && zeroed {
            true => CaptureNote::AtZero,
            false => note,
        };
        out.push(CaptureEvent::Note(told));
        self.account.rezeroed(zeroed, out);
        self.forget();
    }

    fn point(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        if self.paused {
            return;
        }
        if self.balance && self.watch_away(point, out) {
            return;
        }
        self.last = Some(point);
        self.after_hold(point, out);
        if self.which_way.is_some() {
            return self.watch_which_way(point, out);
        }
        self.account.sees(point.v);
        match self.tracker.push(point, &mut self.sigma) {
            Some(LevelChange::Left(level)) => self.left(level, out),
            Some(LevelChange::Rested) => self.rested(out),
            None => {}
        }
        if self.tracker.is_resting() {
            self.at_rest(point, out);
        } else if let Some(legs) = &mut self.legs
            && let Some(leg) = legs.push(point)
        {
            self.leak.clear();
            self.account.leg(leg, out);
        }
    }

    fn left(&mut self, level: level::Level, out: &mut Vec<CaptureEvent>) {
        let scale = self.scale();
        let near = 4.0 * self.sigma.at(self.intake.resolution()) + self.intake.resolution();
        let mut legs = Legs::leave(level.now, self.settings.least_refill_cc * scale, near);
        self.account.left(level);
        // The tracker notices a departure late: the samples seen meanwhile belong to the leg.
        for p in self.tracker.points().to_vec() {
            if let Some(leg) = legs.push(p) {
                self.leak.clear();
                self.account.leg(leg, out);
            }
        }
        self.legs = Some(legs);
    }

    fn rested(&mut self, out: &mut Vec<CaptureEvent>) {
        let Some(level) = self.tracker.level(&self.sigma) else {
            return;
        };
        if self.legs.take().is_some_and(|legs| legs.sign() != 0.0) {
            self.leak.clear();
        }
        self.account.rested(level, out);
    }

    fn at_rest(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        let scale = self.scale();
        if !self.balance {
            let least = self.settings.leak_cc_per_min * scale / 60.0;
            let run = self
                .leak
                .push(point.at_us, point.v, least, self.sigma_now());
            // Drops up to 3.5 s apart may be the way in which the last of a pour is let out.
            let slow = |run: f64| run.abs() * 60.0 < 0.7 * scale;
            if let (Some(run), Some(unit)) = (run, self.intake.unit())
                && (self.account.stage() != PourStage::Held || slow(run))
            {
                out.push(CaptureEvent::Note(CaptureNote::Leaking {
                    per_min: run * 60.0,
                    unit,
                }));
            }
        }
        // Looking at creep every half second is soon enough.
        if seconds(self.revise_at_us, point.at_us) < 0.5 {
            return;
        }
        self.revise_at_us = point.at_us;
        if matches!(
            self.account.stage(),
            PourStage::Held | PourStage::Lost | PourStage::Ready
        ) && let Some(level) = self.tracker.level(&self.sigma)
        {
            self.account.resting(level, self.tracker.rested_s(), out);
        }
    }

    fn scale(&self) -> f64 {
        self.intake.unit().map_or(1.0, per_base)
    }

    fn sigma_now(&self) -> f64 {
        self.sigma.at(self.intake.resolution())
    }

    fn drain(&mut self, fed: Vec<Fed>, out: &mut Vec<CaptureEvent>) {
        for one in fed {
            self.fed(one, out);
        }
    }
}

impl Capture for Pour {
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        if let Some(waiting) = &mut self.which_way
            && !self.paused
        {
            waiting.sample(sample);
        }
        if sample.channel == self.settings.channel && !self.known && sample.value.is_some() {
            self.account.resumes_in(sample.unit, out);
            self.meet(sample);
        }
        self.watch_on_hold(sample, out);
        let mut fed = Vec::new();
        self.intake
            .feed(sample, self.sigma.at(sample.resolution), &mut fed);
        self.drain(fed, out);
    }

    fn control(&mut self, control: CaptureControl, _at_us: u64, out: &mut Vec<CaptureEvent>) {
        let level = self.tracker.level(&self.sigma);
        let level = level.filter(|_| !self.away.is_away());
        match control {
            CaptureControl::Again if self.which_way.is_some() => {
                self.which_way = Some(WhichWay::new(self.sigma));
                self.forget();
            }
            CaptureControl::Take => self.account.take(level, out),
            CaptureControl::Again => self.account.again(level, out),
            CaptureControl::Add => self.account.add(out),
            CaptureControl::Hold => self.hold(out),
            CaptureControl::Split => self.account.split(out),
            CaptureControl::SplitFinal(pour) => self.account.split_final(pour, out),
            CaptureControl::Kept => self.account.kept(),
            CaptureControl::Anew => self.account.anew(level, out),
            CaptureControl::TakenUp => self.account.taken_up(),
            CaptureControl::Over => self.account.over(level, out),
            CaptureControl::FromHere => self.account.begins_here(level),
            CaptureControl::ZeroStands | CaptureControl::Zeroed | CaptureControl::MeasureAnew => {}
            CaptureControl::Delivered | CaptureControl::Refilled => {
                self.known_which_way(control == CaptureControl::Delivered, out);
            }
        }
    }

    fn expect(&mut self, expected: Option<ExpectedBounds>) {
        self.account.expect(expected);
    }

    fn so_far(&self) -> Option<PourSoFar> {
        self.account.stands_at()
    }

    fn resume(&mut self, so_far: &PourSoFar) -> bool {
        Pour::resume(self, so_far)
    }

    fn gap(&mut self, at_us: u64, out: &mut Vec<CaptureEvent>) {
        if let Some(waiting) = &mut self.which_way {
            waiting.gap(at_us);
        }
        let seconds = self.last.map_or(0.0, |p| seconds(p.at_us, at_us));
        let mut fed = Vec::new();
        self.intake.flush(&mut fed);
        self.drain(fed, out);
        self.intake.cut();
        self.fed(Fed::Gap(CaptureNote::Gap { seconds }), out);
    }

    fn end(&mut self, _at_us: u64, out: &mut Vec<CaptureEvent>) {
        let mut fed = Vec::new();
        self.intake.flush(&mut fed);
        self.drain(fed, out);
        // What rests on the pan while the vessel is away says nothing of the pour.
        let level = self.tracker.level(&self.sigma);
        let level = level.filter(|_| !self.away.is_away());
        self.account.end(level, out);
    }

    fn live(&self) -> CaptureStatus {
        // What comes on hold is shown, not the pour before.
        if let Some(on_hold) = &self.on_hold {
            return CaptureStatus {
                phase: CapturePhase::Paused,
                ..on_hold.shown()
            };
        }
        let q = self.intake.resolution();
        CaptureStatus {
            value: self
                .intake
                .latest()
                .map(|v| self.account.delivered(v).unwrap_or(v)),
            // Nobody knows what was delivered before the direction of the scale is known.
            delivered: self
                .intake
                .latest()
                .filter(|_| self.which_way.is_none())
                .map(|v| self.account.delivered(v).unwrap_or(0.0)),
            unit: self.intake.unit(),
            phase: self.phase(),
            stillness: stillness(self.tracker.points(), self.sigma.at(q), q),
            sigma: self.sigma.at(q),
        }
    }

    fn phase(&self) -> CapturePhase {
        // What comes on hold is shown, not the pour before.
        if self.on_hold.is_some() {
            return CapturePhase::Paused;
        }
        match (self.paused, self.away.is_away(), self.account.stage()) {
            (true, ..) => CapturePhase::Paused,
            (_, true, _) => CapturePhase::Away,
            (_, _, PourStage::Delivering) => CapturePhase::Delivering,
            (_, _, PourStage::Refilling) => CapturePhase::Refilling,
            (_, _, PourStage::Held) => CapturePhase::Held,
            (_, _, PourStage::Ready | PourStage::Lost) if self.tracker.is_resting() => {
                CapturePhase::Waiting
            }
            _ => CapturePhase::Moving,
        }
    }

    fn sigma(&self) -> Sigma {
        self.sigma
    }

    fn mode(&self) -> CaptureMode {
        CaptureMode::Pour
    }
}
