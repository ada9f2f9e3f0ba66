//! Values that are not kept yet: they are judged in their order, and kept or asked about.

use benchhand_blueprint::units::QuantityKind;
use benchhand_wire::{Refusal, SaidAs};

use super::asking::{Doubt, StopQuestion, ValueOrigin, Waiting};
use super::{RouteRun, RunJournal, RunOutcome, ValueOutcome, reading_of};
use crate::capture::{self, CaptureNote, CapturedValue, ExpectedBounds, Fit};
use crate::known::expectation::{self, Expectation};
use crate::known::words;
use crate::live::figuring::figure_of;
use crate::store::fact::{ASKED, Fact, Reading, WHY_ASKED};
use crate::store::view::KeptReading;

impl RouteRun {
    /// What the capture should expect, where the expectation may have changed.
    pub(super) fn expected_of(
        &mut self,
        index: usize,
        keep: &dyn RunJournal,
    ) -> Option<Option<ExpectedBounds>> {
        let stop = self.stop_for(index)?;
        let live = self.walk.became().iter().copied().filter_map(reading_of);
        let state = (stop, live.sum());
        if self.actives[index].expects == Some(state) {
            return None;
        }
        self.actives[index].expects = Some(state);
        let Some(unit) = self.actives[index].capture.live().unit else {
            // Looked up again once the gauge was heard.
            self.actives[index].expects = None;
            return None;
        };
        let scale = 1.0 / unit.to_base(1.0);
        let expectation = self.expectation(stop, unit.kind(), keep);
        Some(expectation.map(|e| e.expected.scaled(scale)))
    }

    pub(super) fn expectation(
        &self,
        stop: usize,
        kind: QuantityKind,
        keep: &dyn RunJournal,
    ) -> Option<Expectation> {
        let wanted = &self.stops[stop].stop;
        keep.expectation(&wanted.spot, wanted.round, kind)
    }

    /// A captured value came that belongs to no kept reading yet.
    pub(super) fn waits(
        &mut self,
        active: usize,
        pour: u32,
        taken: &CapturedValue,
        is_final: bool,
    ) {
        let same = |one: &&mut Waiting| matches!(&one.origin, ValueOrigin::Captured { active: a, pour: p, .. } if (*a, *p) == (active, pour));
        let origin = ValueOrigin::Captured {
            active,
            pour,
            taken: Box::new(taken.clone()),
        };
        if let Some(known) = self.waiting.iter_mut().find(same) {
            known.origin = origin;
            known.is_final |= is_final;
            self.reconsider(active, pour);
            return;
        }
        let under_way = std::mem::take(&mut self.actives[active].under_way);
        let meanwhile = self.follows_unkept(active, pour) || under_way;
        self.waiting.push_back(Waiting {
            is_final,
            told: false,
            meanwhile,
            ..Waiting::whole(origin)
        });
    }

    /// Asks again about values that were asked about when the work was broken off.
    pub fn asked_before(
        &mut self,
        readings: Vec<KeptReading>,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        for kept in readings {
            self.waiting.push_back(Waiting {
                meanwhile: true,
                record: Some(kept.id),
                ..Waiting::whole(ValueOrigin::Recorded(Box::new(kept)))
            });
        }
        self.settle_waiting(keep, out);
    }

    /// Keeps a waiting value safe once it will not change any more, so that no crash loses it.
    fn record_waiting(&mut self, keep: &mut dyn RunJournal, out: &mut RunOutcome) {
        let Some(question) = self.question.clone() else {
            return;
        };
        for index in 0..self.waiting.len() {
            let one = &self.waiting[index];
            if one.record.is_some() || !one.is_final {
                continue;
            }
            let made = match &one.origin {
                ValueOrigin::Captured { taken, .. } => self.reading(question.stop, taken, keep),
                ValueOrigin::Typed(read) => self.typed_reading(question.stop, read),
                ValueOrigin::Recorded(_) => continue,
            };
            let kept = made.and_then(|mut reading| {
                let asked = (ASKED.to_owned(), question.text.clone());
                reading.labels.extend([asked]);
                // The others wait behind a question that is not about them.
                let own = index == 0 && question.is_of_the_first();
                let why = own.then(|| (WHY_ASKED.to_owned(), question.doubt.why()));
                reading.labels.extend(why);
                keep.keep(Fact::Asked(reading))
            });
            match kept {
                Ok(id) => self.waiting[index].record = Some(id),
                Err(refusal) => out.say(SaidAs::Again, words::not_kept(&refusal)),
            }
        }
    }

    /// The questioned value has changed: it is judged anew.
    fn reconsider(&mut self, active: usize, pour: u32) {
        let head = self.waiting.front().map(|w| &w.origin);
        let is_head = matches!(head, Some(ValueOrigin::Captured { active: a, pour: p, .. }) if (*a, *p) == (active, pour));
        let of_first = self.question.as_ref();
        if is_head && of_first.is_some_and(StopQuestion::is_of_the_first) {
            self.question = None;
        }
    }

    /// Puts captured values into the order in which they were poured.
    pub(super) fn in_their_order(&mut self) {
        let captured = |one: &Waiting| matches!(one.origin, ValueOrigin::Captured { .. });
        if self.waiting.iter().all(captured) {
            self.waiting
                .make_contiguous()
                .sort_by_key(|one| match one.origin {
                    ValueOrigin::Captured { active, pour, .. } => (active, pour),
                    ValueOrigin::Typed(_) | ValueOrigin::Recorded(_) => (usize::MAX, 0),
                });
        }
    }

    /// A value far below what is expected has rested for long.
    pub(super) fn lingers(&mut self, active: usize, pour: u32) {
        for one in &mut self.waiting {
            if let ValueOrigin::Captured {
                active: a, pour: p, ..
            } = one.origin
                && (a, p) == (active, pour)
            {
                one.lingers = true;
            }
        }
    }

    /// A waiting value turned out to be no reading.
    pub(super) fn unwait(&mut self, active: usize, pour: u32) {
        self.reconsider(active, pour);
        self.waiting.retain(|one| {
            !matches!(&one.origin, ValueOrigin::Captured { active: a, pour: p, .. } if (*a, *p) == (active, pour))
        });
    }

    /// Keeps the waiting values in their order, up to the first one that must be asked about.
    pub(super) fn settle_waiting(&mut self, keep: &mut dyn RunJournal, out: &mut RunOutcome) {
        if self.splitting {
            return;
        }
        self.settle_in_order(keep, out);
        self.record_waiting(keep, out);
        self.record_so_far(keep, out);
    }

    fn settle_in_order(&mut self, keep: &mut dyn RunJournal, out: &mut RunOutcome) {
        while self.question.is_none() {
            if let Some(doubt) = self.doubted.pop() {
                self.ask_about_reading(doubt, out);
                continue;
            }
            let Some(head) = self.waiting.front().cloned() else {
                self.ask_about_lost(out);
                return;
            };
            let Some(stop) = self.stop_of(&head) else {
                if let ValueOrigin::Captured { taken, active, .. } = &head.origin {
                    self.came_beyond(*active, taken, out);
                }
                self.waiting.pop_front();
                continue;
            };
            match self.judge(&head, stop, keep) {
                Judged::Right => {
                    self.waiting.pop_front();
                    match self.keep_waiting(&head, stop, None, keep, out) {
                        Ok(()) => self.kept_after_all(stop),
                        Err(refusal) => {
                            self.was_not_kept(&head, stop, &refusal);
                            out.say(SaidAs::Again, words::not_kept(&refusal));
                        }
                    }
                }
                Judged::MoreToCome => {
                    if let (Some(front), ValueOrigin::Captured { taken, .. }) =
                        (self.waiting.front_mut(), &head.origin)
                        && !front.told
                    {
                        front.told = true;
                        let here = &self.stops[stop];
                        let said = words::so_far(&here.stop.spot, taken, here.told);
                        out.say(SaidAs::Note, said);
                    }
                    out.moved = true;
                    return;
                }
                Judged::Doubted(doubt) => self.ask(stop, doubt, Some(&head), out),
            }
        }
    }

    fn stop_of(&self, waiting: &Waiting) -> Option<usize> {
        match &waiting.origin {
            ValueOrigin::Captured { active, .. } => self.stop_for(*active),
            ValueOrigin::Typed(_) | ValueOrigin::Recorded(_) => self.walk.at(),
        }
    }

    fn judge(&self, one: &Waiting, stop: usize, keep: &dyn RunJournal) -> Judged {
        if one.sure {
            return Judged::Right;
        }
        if let Some(slip) = &one.slip {
            return Judged::Doubted(Doubt::Slip(slip.clone()));
        }
        if let Some(why) = self.zero_in_doubt(one, stop, keep) {
            return Judged::Doubted(Doubt::OldZero(why));
        }
        if let Some(note) = self.direction_in_doubt(one, stop) {
            return Judged::Doubted(Doubt::Handling(note));
        }
        let (value, unit) = match &one.origin {
            ValueOrigin::Captured { taken, .. } => {
                if let Some(note) = taken.doubt {
                    return Judged::Doubted(match note {
                        CaptureNote::OneOrTwo { .. } => Doubt::OneOrTwo(note),
                        _ => Doubt::Handling(note),
                    });
                }
                let arranged = &self.stops[stop];
                match figure_of(arranged.stop.figure, &arranged.basis, taken) {
                    Ok(value) => (value, taken.unit),
                    // What prevents a figure is told when the value is kept.
                    Err(_) => return Judged::Right,
                }
            }
            ValueOrigin::Typed(read) => {
                if let Some(note) = self.typed_flow_in_doubt(read, stop, keep) {
                    return Judged::Doubted(Doubt::Handling(note));
                }
                (read.value.value, read.value.unit)
            }
            ValueOrigin::Recorded(kept) => match kept.unit.parse() {
                Ok(unit) => (kept.value, unit),
                Err(_) => return Judged::Doubted(Doubt::Meanwhile),
            },
        };
        let value = unit.to_base(value);
        match self.expectation(stop, unit.kind(), keep) {
            Some(expectation) if !expectation.holds(value) => {
                let captured = matches!(one.origin, ValueOrigin::Captured { .. });
                let low = expectation.expected.fit(value) == Fit::Below;
                let delivers = self.stops[stop].stop.mode == "pour";
                if low && captured && delivers && !one.is_final && !one.lingers {
                    Judged::MoreToCome
                } else {
                    let told = self.stops[stop].told.unwrap_or(unit);
                    Judged::Doubted(Doubt::Far(expectation.told_in(unit).told_in(told)))
                }
            }
            _ if one.meanwhile => Judged::Doubted(one.as_asked_before()),
            _ => Judged::Right,
        }
    }

    /// Whether a value is so little that more must come.
    pub(super) fn is_far_too_little(
        &self,
        one: &Waiting,
        stop: usize,
        keep: &dyn RunJournal,
    ) -> bool {
        matches!(self.judge(one, stop, keep), Judged::MoreToCome)
    }

    /// Whether a kept value that has grown is in doubt now.
    pub(super) fn now_doubted(
        &self,
        known: &Option<ValueOutcome>,
        taken: &CapturedValue,
        keep: &dyn RunJournal,
    ) -> bool {
        let Some(known) =
            known.filter(|known| !known.confirmed || grown_far(known.value, taken.value))
        else {
            return false;
        };
        if known.value == taken.value && taken.doubt.is_none() {
            return false;
        }
        let one = Waiting::whole(ValueOrigin::Captured {
            active: 0,
            pour: 0,
            taken: Box::new(taken.clone()),
        });
        matches!(self.judge(&one, known.stop, keep), Judged::Doubted(_))
    }

    /// Keeps the value that waited, at `stop`; `asked` is the question that a person answered.
    pub(super) fn keep_waiting(
        &mut self,
        one: &Waiting,
        stop: usize,
        asked: Option<&StopQuestion>,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let (asked, doubt) = (asked.map(|q| q.text.as_str()), asked.map(|q| &q.doubt));
        match &one.origin {
            ValueOrigin::Captured {
                active,
                pour,
                taken,
            } => {
                let place = (stop, asked, one.record);
                let value = (&**taken, !one.is_final);
                self.keep_captured(*active, *pour, value, place, keep, out)?;
            }
            ValueOrigin::Typed(read) => {
                let reading = self.typed_reading(stop, read)?;
                self.keep_made(reading, (stop, asked, one.record), keep, out)?;
            }
            ValueOrigin::Recorded(kept) => {
                let reading = Reading::from(&**kept);
                self.keep_made(reading, (stop, asked, one.record), keep, out)?;
            }
        }
        // Where two readings disagree, the earlier one may be the odd one. Where many agree and
        // this value was confirmed, none of the others is in doubt.
        let alone = matches!(
            doubt,
            Some(Doubt::Far(Expectation {
                source: expectation::ExpectationSource::Brothers { count: 1 },
                ..
            }))
        );
        let spot = self.stops[stop].stop.spot.clone();
        let mut doubted = keep.doubted(&spot);
        if alone {
            doubted.extend(keep.only_brother(&spot));
        }
        self.doubted.extend(doubted.into_iter().map(Doubt::Earlier));
        Ok(())
    }

    /// Notices whether the gauge at the present stop moves.
    pub(super) fn notice_movement(&mut self, gauge: &str) {
        let here = self.walk.at().map(|stop| self.stops[stop].gauge.as_str());
        if here == Some(gauge)
            && let Some(phase) = self.phase(gauge)
        {
            use capture::CapturePhase::{Delivering, Refilling, Waiting};
            self.stirred |= matches!(phase, Delivering | Refilling);
            // What ran when a person went elsewhere came to nothing.
            if matches!(phase, Refilling | Waiting) {
                for active in self.actives.iter_mut().filter(|a| a.gauge == gauge) {
                    active.under_way = false;
                }
            }
        }
    }
}

/// Whether a value that a person kept has grown so much that the answer no longer covers it.
fn grown_far(kept: f64, now: f64) -> bool {
    (now - kept).abs() > 0.1 * kept.abs()
}

/// The result of judging a value.
enum Judged {
    Right,
    /// The value is far too little, and more may come.
    MoreToCome,
    Doubted(Doubt),
}
