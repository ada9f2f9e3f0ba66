//! The next pour begun with the last of a filling: a rest, a little more, a refill.
//!
//! A correction of the same chamber looks alike. Where the amounts do not tell the two apart, a
//! person is asked, and what belongs to the next pour is carried over to it.

use super::super::still::seconds;
use super::super::{CaptureEvent, CaptureNote, CapturedValue};
use super::account::{Account, Early, PourStage, Refilled};
use super::level::Level;

/// Two chambers of one engine differ by no more than this share. Common practice, no source.
pub(super) const ALIKE: f64 = 0.10;
/// Drops fall at most so far apart, s; after a longer rest a pour may have ended.
pub(super) const RESTED_S: f64 = 4.0;
/// The beginning of the next pour is no more than this, cc; more is a pour of its own in any case …
const MOST_CC: f64 = 10.0;
/// … where the expectation is wide, a share of the chamber …
const MOST_SHARE: f64 = 0.4;
/// … and no less than this: less is a last drop or two. A stream after drops is no last drop.
const LEAST_CC: f64 = 0.3;
pub(super) const LEAST_STREAM_CC: f64 = 0.08;

/// The levels between which a pour of `all` fillings delivered what came after its first part of the
/// fillings `first`. That part may have ended amid a filling.
pub(super) fn fills_since(first: &[(f64, f64)], all: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let ended = first.last().map(|(_, to)| *to);
    let filling = first.len().checked_sub(1).and_then(|n| all.get(n));
    let rest_of_it = ended
        .zip(filling)
        .map(|(ended, (_, to))| (ended, *to))
        .filter(|(ended, to)| ended != to);
    let since = all.get(first.len()..).unwrap_or_default();
    rest_of_it
        .into_iter()
        .chain(since.iter().copied())
        .collect()
}

impl Early {
    /// Whether what came after the first pour is a whole pour of its own.
    fn is_whole(&self) -> bool {
        (self.more - self.first.value).abs() <= ALIKE * self.first.value
    }

    /// What came after the first pour, as a pour.
    fn next(&self) -> CapturedValue {
        CapturedValue {
            value: self.more,
            fills: self.fills.clone(),
            doubt: None,
            ..self.first.clone()
        }
    }
}

impl Account {
    /// What may be the beginning of the next pour, if the refill begins at `level`.
    pub(super) fn perhaps_early(&self, level: &Level) -> Option<Early> {
        if !self.asks_of_amounts()
            || self.two.as_ref().is_some_and(|(_, rest)| rest.dripped)
            || !self.little_left(level)
        {
            return None;
        }
        let total = self.amount(level).value;
        let narrowly = self.expects_narrowly();
        let plain = |(first, rest): &&(CapturedValue, Level)| {
            let more = total - first.value;
            let rested = seconds(rest.from_us, rest.to_us) >= RESTED_S;
            let most = match narrowly {
                true => MOST_CC * self.scale,
                // Drops are the end of a pour, whatever comes after them.
                false if rest.dripped => f64::INFINITY,
                false => (MOST_CC * self.scale).max(MOST_SHARE * first.value),
            };
            let least = match rest.dripped && !level.dripped {
                true => LEAST_STREAM_CC,
                false => LEAST_CC,
            };
            let little = (least * self.scale..=most).contains(&more);
            let likely = match self.pour_expected {
                None => !level.dripped,
                Some(e) if !e.holds(first.value) => false,
                // Drops ended the pour, and a stream came after the drops.
                Some(_) if rest.dripped && !level.dripped => true,
                // Drops ended both deliveries: a correction.
                Some(_) if !narrowly => !level.dripped,
                // The amount nearer to the middle is believed.
                Some(e) => (first.value - e.middle).abs() < (total - e.middle).abs(),
            };
            rested && little && likely
        };
        // The rest where drops fell last is the likeliest end.
        let dripped = |one: &&(CapturedValue, Level)| one.1.dripped && plain(one);
        let last = self.rests.iter().rev().find(dripped);
        let (first, rest) = last.or_else(|| self.rests.iter().find(plain))?;
        Some(Early {
            first: first.clone(),
            dripped: rest.dripped,
            more: total - first.value,
            fills: vec![(rest.now, level.now)],
        })
    }

    /// Puts a doubt on the held value from now on, and tells so.
    pub(super) fn doubt_aloud(&mut self, taken: &CapturedValue, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.held = Some(taken.clone());
            out.push(CaptureEvent::Revised {
                pour: self.number,
                taken: taken.clone(),
            });
        }
    }

    /// A person said that the next pour began before the refill. Returns whether one did.
    pub(super) fn split_early(&mut self, out: &mut Vec<CaptureEvent>) -> bool {
        if let Some(early) = self.early.take() {
            // Further fillings may have delivered more since.
            let since = (self.sum - early.first.value).max(early.more);
            let further = self.fills.get(early.first.fills.len()..);
            let mut fills = early.fills;
            fills.extend_from_slice(further.unwrap_or_default());
            self.carry_on(early.first, (since, fills), out);
            return true;
        }
        let carried = self.carried.as_ref().map(|(pour, _)| *pour);
        carried.is_some_and(|pour| self.split_carried(pour, out))
    }

    /// A person said that the pour of this number, which is final, was two. Where more was poured
    /// since than can be told anew, the caller parts the pour by its amounts.
    pub(crate) fn split_final(&mut self, pour: u32, out: &mut Vec<CaptureEvent>) {
        if !self.split_carried(pour, out) {
            out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
        }
    }

    fn split_carried(&mut self, pour: u32, out: &mut Vec<CaptureEvent>) -> bool {
        let (number, has_last) = (self.number, self.last_final.is_some());
        let at_hand = |(of, _): &mut (u32, Early)| match number.checked_sub(*of) {
            Some(1) => *of == pour,
            Some(2) => *of == pour && has_last,
            _ => false,
        };
        let Some((pour, early)) = self.carried.take_if(at_hand) else {
            return false;
        };
        let taken = early.first.clone();
        out.push(CaptureEvent::Final { pour, taken });
        let next = early.next();
        match self.number - pour {
            1 if !early.is_whole() => {
                let last = self.held_at.take();
                let more = early.more + self.sum;
                let mut fills = early.fills;
                fills.extend_from_slice(&self.fills);
                self.begin_with((more, fills), last, out);
            }
            1 => {
                out.push(CaptureEvent::Final {
                    pour: self.number,
                    taken: next.clone(),
                });
                self.number += 1;
                self.tell_anew(out);
                if self.held.is_none() {
                    self.last_final = Some(next);
                }
            }
            _ => self.insert_before_last(pour + 1, &early, out),
        }
        true
    }

    /// Puts the second of two pours before the last final pour, or makes it the beginning of that
    /// one.
    fn insert_before_last(&mut self, pour: u32, early: &Early, out: &mut Vec<CaptureEvent>) {
        let Some(last) = &mut self.last_final else {
            out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
            return;
        };
        if early.is_whole() {
            let taken = early.next();
            out.push(CaptureEvent::Final { pour, taken });
            let (pour, taken) = (pour + 1, last.clone());
            out.push(CaptureEvent::Final { pour, taken });
            self.number += 1;
            self.tell_anew(out);
        } else {
            last.value += early.more;
            last.fills.splice(0..0, early.fills.iter().copied());
            let taken = last.clone();
            out.push(CaptureEvent::Final { pour, taken });
        }
    }

    /// Tells the held value under its new number.
    fn tell_anew(&mut self, out: &mut Vec<CaptureEvent>) {
        if let Some(taken) = self.held.clone() {
            let pour = self.number;
            out.push(CaptureEvent::Held { pour, taken });
        }
    }

    /// The two parts that the doubt of a pour's value names.
    pub(super) fn said_of(&mut self, taken: &CapturedValue) -> Option<Early> {
        let early = self.early.take();
        let Some(CaptureNote::OneOrTwo { first, second, .. }) = taken.doubt else {
            return None;
        };
        if let Some(early) = early.filter(|early| early.first.value == first) {
            return Some(early);
        }
        let (before, _) = self.two.take().filter(|(one, _)| one.value == first)?;
        let fills = fills_since(&before.fills, &taken.fills);
        (!fills.is_empty()).then_some(Early {
            dripped: true,
            more: second,
            fills,
            first: before,
        })
    }

    /// `first` ends. The next pour has delivered `more` from fillings that are over, and goes on
    /// with the present filling.
    pub(super) fn carry_on(
        &mut self,
        first: CapturedValue,
        (more, fills): (f64, Vec<(f64, f64)>),
        out: &mut Vec<CaptureEvent>,
    ) {
        let last = self.held_at.take();
        let alike = |value: f64| (value - first.value).abs() <= ALIKE * first.value;
        let whole = alike(more).then(|| CapturedValue {
            value: more,
            fills: fills.clone(),
            ..first.clone()
        });
        self.finish(first, out);
        self.begin_with((more, fills), last, out);
        if let (None, Some(taken)) = (&self.held, whole) {
            // The first pour had ended with the last filling.
            self.refilled = Some(Refilled::PerhapsAll);
            self.held = Some(taken.clone());
            let pour = self.number;
            out.push(CaptureEvent::Held { pour, taken });
        }
    }

    /// The present pour begins with what was let out before.
    fn begin_with(
        &mut self,
        (more, fills): (f64, Vec<(f64, f64)>),
        last: Option<Level>,
        out: &mut Vec<CaptureEvent>,
    ) {
        self.sum = more;
        self.fills = fills;
        self.refilled = self.refilled.or(Some(Refilled::TooLittle));
        self.begins();
        self.renew = true;
        let since = self.base.as_ref().map(|base| base.from_us);
        let last = last.filter(|level| since.is_some_and(|since| level.from_us > since));
        if let (PourStage::Held, Some(level)) = (self.stage, last) {
            let taken = self.amount(&level);
            self.announce(taken, &level, out);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::fills_since;

    /// The refill after the first chamber was forgotten: the second one began at 5.72.
    #[test]
    fn what_came_after_a_part_of_a_pour_began_where_that_part_ended() {
        let first = [(50.0, 5.72)];
        let all = [(50.0, 0.0), (50.0, 10.82)];
        assert_eq!(fills_since(&first, &all), [(5.72, 0.0), (50.0, 10.82)]);
        assert_eq!(fills_since(&first, &all[..1]), [(5.72, 0.0)]);
        // The part ended with its filling.
        let all = [(50.0, 5.72), (50.0, 10.82)];
        assert_eq!(fills_since(&first, &all), [(50.0, 10.82)]);
        assert_eq!(fills_since(&first, &first), []);
    }
}
