//! How the hand of an evening fills the burette and lets it out into a chamber.
//!
//! It knows the burette and the moves of a pour. The caller says which chamber is next.

use super::hand::EveningHand;
use super::plan::{Mishap, MishapMoment, StopPlan};
use super::tool::HandRequest;

impl EveningHand<'_> {
    /// Fills the burette as hands do: whole, in part, past the mark and back, in two goes.
    pub fn refill(&mut self) {
        let level = self.station.burette.level();
        if level < 1.5 {
            return;
        }
        let rate = self.station.dice.uniform(9.0, 20.0);
        let full = self.station.dice.uniform(0.0, 0.3);
        match self.station.dice.whole(0, 9) {
            0 | 1 if level > 12.0 => {
                let part = self.station.dice.uniform(1.0, level - 6.0);
                self.fill_to(part, rate, "in part");
            }
            2 | 3 => {
                let past = self.station.dice.uniform(0.5, 3.0);
                self.fill_to(-past, rate, "past the mark");
                let rest = self.station.dice.uniform(1.0, 4.0);
                self.station.wait(rest);
                self.station.aim(None);
                let slowly = self.station.dice.uniform(0.5, 1.5);
                let mark = self.station.dice.uniform(-0.03, 0.05);
                self.station.run_to(mark, slowly, 0.1);
                self.station.tell("hand: let out down to the mark");
            }
            4 | 5 if level > 12.0 => {
                let half = level * self.station.dice.uniform(0.3, 0.7);
                self.fill_to(half, rate, "first go");
                let rest = self.station.dice.uniform(1.0, 8.0);
                self.station.wait(rest);
                self.fill_to(full, rate, "second go");
            }
            _ => self.fill_to(full, rate, "whole"),
        }
        let rest = self.station.dice.uniform(3.0, 7.0);
        self.station.wait(rest);
    }

    /// Fills the burette to a level.
    pub fn fill_to(&mut self, level: f64, rate: f64, how: &str) {
        self.station.aim(None);
        self.station.tell(&format!("hand: refills, {how}"));
        self.station.run_to(level, rate, 0.1);
        self.station.tell("hand: refilled");
    }

    pub(super) fn pour(&mut self, stop: usize, cc: f64, planned: &StopPlan) {
        let later = planned.second_go.map_or(0.0, |(cc, _)| cc)
            + planned
                .mishap(|m| match m {
                    Mishap::Add(cc) => Some(*cc),
                    _ => None,
                })
                .unwrap_or(0.0);
        let first = cc - later;
        let by_drops = self.station.dice.uniform(0.3, 2.5);
        self.station
            .tell(&format!("hand: pours {cc:.2} into stop {}", stop + 1));
        self.station.aim(Some(stop));
        let fast = first - by_drops;
        let mut poured = 0.0;
        for (share, event) in events(planned) {
            self.deliver(stop, share * fast - poured);
            poured = share * fast;
            match event {
                Event::Pause(seconds) => {
                    self.station.tell(&format!("hand: pauses {seconds:.1} s"));
                    self.station.wait(seconds);
                }
                Event::Mishap(Mishap::AgainMidPour(_)) => {
                    self.begin_anew(stop);
                    return self.pour(stop, cc, &StopPlan::plain(cc));
                }
                Event::Mishap(mishap) => self.suffer(&mishap),
            }
        }
        self.deliver(stop, fast - poured);
        if let Some((film, tau_s)) = planned.film {
            self.station.burette.drain(film, tau_s);
        }
        self.station.heard = false;
        self.by_drops(stop, by_drops);
        self.station.tell("hand: the tap is shut");
    }

    /// Says `again`. The hand takes the chamber that was poured last for this stop's chamber.
    pub(super) fn says_again(&mut self, stop: usize) {
        // Whoever waited for the tool to come back reads first what it asks: `again` would answer that.
        if self.station.is_back() {
            self.station.answer_all();
        }
        self.station.meant = Some(stop);
        self.station.ask(HandRequest::Again);
        self.station.answer_all();
        self.station.meant = None;
    }

    /// Says `again` in mid-pour. The chamber is emptied and poured from the beginning.
    pub(super) fn begin_anew(&mut self, stop: usize) {
        let rest = self.station.dice.uniform(1.0, 6.0);
        self.station.wait(rest);
        self.station.answer_all();
        self.says_again(stop);
        self.station.empty(stop);
        self.station.truths[stop].again = false;
        let emptied = self.station.dice.uniform(5.0, 20.0);
        self.station.wait(emptied);
        self.refill();
        self.station.aim(Some(stop));
    }

    /// Lets this much out. Refills in mid-pour if the burette does not hold enough.
    pub(super) fn deliver(&mut self, stop: usize, cc: f64) {
        let mut to_go = cc;
        while to_go > 1e-9 {
            let rate = self.station.dice.uniform(1.5, 6.0);
            let (level, left) = (self.station.burette.level(), self.station.burette.left());
            if to_go <= left - 0.1 {
                self.station.run_to(level + to_go, rate, 0.25);
                return;
            }
            let stays = if self.station.dice.chance(0.7) {
                self.station.dice.uniform(0.2, 1.8)
            } else {
                self.station.dice.uniform(2.0, 8.0)
            };
            let part = (left - stays).clamp(0.0, to_go);
            if part > 0.0 {
                self.station.run_to(level + part, rate, 0.25);
                to_go -= part;
            }
            self.refill_in_the_middle(stop);
        }
    }

    pub(super) fn refill_in_the_middle(&mut self, stop: usize) {
        let rest = self.station.dice.uniform(2.0, 6.0);
        self.station.wait(rest);
        let (rate, full) = (
            self.station.dice.uniform(9.0, 20.0),
            self.station.dice.uniform(0.0, 2.0),
        );
        self.fill_to(full, rate, "in the middle of the pour");
        let rest = self.station.dice.uniform(3.0, 7.0);
        self.station.wait(rest);
        self.station.aim(Some(stop));
    }

    /// Lets so much out in single drops.
    pub fn by_drops(&mut self, stop: usize, cc: f64) {
        let mut to_go = cc;
        if self.station.burette.left() < cc + 0.1 {
            self.refill_in_the_middle(stop);
        }
        while to_go > 1e-9 {
            let apart = self.station.dice.uniform(0.4, 3.5);
            self.station.wait(apart);
            self.station.let_out(to_go.min(0.05));
            to_go -= 0.05;
        }
    }

    pub(super) fn second_go(&mut self, stop: usize, cc: f64) {
        self.station.aim(Some(stop));
        self.station
            .tell(&format!("hand: {cc:.2} more into stop {}", stop + 1));
        let drops = cc.min(0.4);
        self.deliver(stop, cc - drops);
        self.by_drops(stop, drops);
        self.station.tell("hand: the tap is shut");
        let rest = self.station.dice.uniform(5.0, 14.0);
        self.station.wait(rest);
    }
}

/// An event within a pour.
enum Event {
    Pause(f64),
    Mishap(Mishap),
}

/// The events within the pour, in order, each with the share of the pour at which it comes.
fn events(planned: &StopPlan) -> Vec<(f64, Event)> {
    let pauses = planned.pauses.iter();
    let mut all: Vec<(f64, Event)> = pauses.map(|&(share, s)| (share, Event::Pause(s))).collect();
    for mishap in &planned.mishaps {
        let share = match mishap {
            Mishap::AgainMidPour(share) => *share,
            Mishap::Hold(MishapMoment::MidPour(share), _)
            | Mishap::Unplugged(MishapMoment::MidPour(share), _)
            | Mishap::Killed(MishapMoment::MidPour(share), _)
            | Mishap::Interrupted(MishapMoment::MidPour(share), _)
            | Mishap::Stopped(MishapMoment::MidPour(share), _)
            | Mishap::Bump(MishapMoment::MidPour(share), ..) => *share,
            _ => continue,
        };
        all.push((share, Event::Mishap(*mishap)));
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}
