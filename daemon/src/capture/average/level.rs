//! Whether the pressures hold, still climb, or have left the level of the last reading.
//!
//! Lifts and orifices are not known here.

use benchhand_drivers::{QuantityKind, Unit};

use super::super::CaptureNote;
use super::super::along::{Along, Ratio, pairs, stays_off};
use super::super::autocorr::mean_with_error;
use super::super::settings::AverageSettings;
use super::super::still::{Point, seconds};
use super::Average;

/// A channel that does not hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Climb {
    channel: u8,
    unit: Unit,
    /// Its run over the window, in `unit`.
    over_window: f64,
    /// How far the mean lies from the level at the window's end, as a share of the mean.
    off: f64,
}

/// So many seconds are compared with the last reading: the shorter ones tell a large change soon,
/// the longer ones a small one under surge.
const COMPARED_S: [f64; 3] = [3.0, 6.0, 12.0];
/// A change is told by this many standard errors.
const ERRORS: f64 = 4.0;

/// Whether the ratio has left that of the last reading: a valve was opened. The blower alone moves
/// both channels together.
fn leaves(main: &[Point], along: &[(u64, f64)], last: &Ratio, settings: &AverageSettings) -> bool {
    let Some(now_us) = main.last().map(|p| p.at_us) else {
        return false;
    };
    COMPARED_S.into_iter().any(|span| {
        let part = |k: f64| {
            let inside = |at_us: u64| {
                let ago = seconds(at_us, now_us);
                (span * k / 3.0..span * (k + 1.0) / 3.0).contains(&ago)
            };
            let (mut sum, mut n) = (0.0, 0);
            for (_, ratio) in pairs(main, along).filter(|(at_us, _)| inside(*at_us)) {
                (sum, n) = (sum + ratio, n + 1);
            }
            (n > 0).then(|| sum / f64::from(n) / last.mean - 1.0)
        };
        let parts: Option<Vec<f64>> = (0..3).map(|k| part(f64::from(k))).collect();
        let reaches = main
            .first()
            .is_some_and(|p| seconds(p.at_us, now_us) >= span - 0.2);
        let (Some(parts), true) = (parts, reaches) else {
            return false;
        };
        let off = parts.iter().sum::<f64>() / 3.0;
        let own = last.se / last.mean.abs();
        let se = own.hypot(own * (last.span / span).sqrt());
        let least = settings.ratio_share.max(ERRORS * se);
        off.abs() > least && parts.iter().all(|part| part * off.signum() > 0.5 * least)
    })
}

/// The times with which a level may approach its end, s; the last is an even run.
const APPROACHES_S: [f64; 6] = [1.5, 3.0, 5.0, 8.0, 14.0, 1e4];
/// Fewer seconds do not tell an approach from surge.
const LEAST_BLOCKS: usize = 8;
/// An approach is told by this many of its standard errors. One too many costs a second of waiting,
/// one too few a wrong mean.
const CLEAR: f64 = 2.5;

/// The run of a level over its window, and how far its mean lies from the level at the end as a
/// share of the mean; `None` where no approach and no run can be told from surge.
fn climb(points: &[(u64, f64)]) -> Option<(f64, f64)> {
    let blocks = by_the_second(points);
    let n = blocks.len() as f64;
    if blocks.len() < LEAST_BLOCKS {
        return None;
    }
    let mean = blocks.iter().sum::<f64>() / n;
    let fitted = APPROACHES_S.into_iter().map(|time| {
        let shape = |t: f64| (-t / time).exp();
        let middle = (0..blocks.len())
            .map(|i| shape(i as f64 + 0.5))
            .sum::<f64>()
            / n;
        let about: Vec<f64> = (0..blocks.len())
            .map(|i| shape(i as f64 + 0.5) - middle)
            .collect();
        let square: f64 = about.iter().map(|g| g * g).sum();
        let size = about
            .iter()
            .zip(&blocks)
            .map(|(g, v)| g * (v - mean))
            .sum::<f64>()
            / square;
        let left: Vec<f64> = about
            .iter()
            .zip(&blocks)
            .map(|(g, v)| v - mean - size * g)
            .collect();
        let squares: f64 = left.iter().map(|d| d * d).sum();
        let run = size * (shape(n) - shape(0.0));
        let end = size * (shape(n) - middle);
        (squares, left, size.abs() * square.sqrt(), run, end)
    });
    let (squares, left, size, run, end) = fitted.min_by(|a, b| a.0.total_cmp(&b.0))?;
    // Seconds of a surge remember each other.
    let next: f64 = left.windows(2).map(|w| w[0] * w[1]).sum();
    let memory = if squares > 0.0 { next / squares } else { 0.0 };
    let memory = (memory + (1.0 + 4.0 * memory) / n).clamp(0.0, 0.8);
    let sd = (squares / (n - 3.0) * (1.0 + memory) / (1.0 - memory)).sqrt();
    (size > CLEAR * sd).then(|| (run, end / mean.abs()))
}

/// A channel beside the main one may begin so many times as far off: a run in its first second is larger
/// by far, and a surge must not have a window begin anew. What is left of a run moves the mean of a whole
/// window by a third of a percent at most.
const SURGES: f64 = 10.0;

/// How many times as far from its end a level may be that both channels share: their ratio holds.
const BLOWER: f64 = 2.5;

/// The means of the whole seconds of a window, up to its end.
fn by_the_second(points: &[(u64, f64)]) -> Vec<f64> {
    let Some((end_us, _)) = points.last() else {
        return Vec::new();
    };
    let mut blocks: Vec<(f64, u32)> = Vec::new();
    for (at_us, v) in points {
        let block = seconds(*at_us, *end_us) as usize;
        if blocks.len() <= block {
            blocks.resize(block + 1, (0.0, 0));
        }
        blocks[block] = (blocks[block].0 + v, blocks[block].1 + 1);
    }
    // The first second may be a part of one.
    blocks.pop();
    let means = blocks.iter().rev().filter(|(_, n)| *n > 0);
    means.map(|(sum, n)| sum / f64::from(*n)).collect()
}

impl Average {
    /// Mean of the last second.
    pub(super) fn recent_mean(&self) -> f64 {
        let Some(last) = self.points.last() else {
            return 0.0;
        };
        let start = self.points.partition_point(|p| last.since(p.at_us) > 1.0);
        let recent = &self.points[start..];
        recent.iter().map(|p| p.v).sum::<f64>() / recent.len() as f64
    }

    /// Whether a channel has left the level of the last reading.
    pub(super) fn has_departed(&self) -> bool {
        let share = self.settings.depart_share;
        let Some((mean, sd)) = self.last else {
            return true;
        };
        let off = (share * mean.abs()).max(5.0 * sd);
        let own = self.points.iter().map(|p| (p.at_us, p.v));
        let least = self.settings.least_counts;
        let along = |along: &Along| {
            along.last.is_some_and(|(mean, sd)| {
                let off = (share * mean.abs()).max(5.0 * sd);
                let off = off.max(least * along.resolution);
                stays_off(along.points.iter().copied(), mean, off)
            })
        };
        let opened = |along: &Along| {
            let ratio = along.ratio.as_ref()?;
            Some(leaves(&self.points, &along.points, ratio, &self.settings))
        };
        stays_off(own, mean, off)
            || self.along.iter().any(along)
            || self.along.iter().any(|one| opened(one).unwrap_or(false))
    }

    /// The samples at the end that lie off the level before them: the first one's time, and for how
    /// long they have, s. `None` where the newest lies on the level.
    pub(super) fn leaving(&self) -> Option<(u64, f64)> {
        let newest = self.points.last()?;
        let settled = self.points.partition_point(|p| newest.since(p.at_us) > 1.0);
        let level = self.points.get(..settled).filter(|level| level.len() > 2)?;
        let n = level.len() as f64;
        let mean = level.iter().map(|p| p.v).sum::<f64>() / n;
        let square: f64 = level.iter().map(|p| (p.v - mean).powi(2)).sum();
        let sd = (square / (n - 1.0)).sqrt();
        let off = (self.settings.depart_share * mean.abs()).max(5.0 * sd);
        let off = |p: &&Point| (p.v - mean).abs() > off;
        let first = self.points.iter().rev().take_while(off).last()?;
        Some((first.at_us, newest.since(first.at_us)))
    }

    /// Whether nothing has changed for long since the last reading, and nobody was told.
    pub(super) fn is_long_since(&self, now_us: u64) -> bool {
        let flows = self.flows(self.recent_mean());
        !self.reminded && flows && seconds(self.taken_us, now_us) > self.settings.remind_s
    }

    /// Whether flow is on: the main channel is clear of 0, and one channel shows a pressure of which
    /// a blower is the cause. With exchanged hoses that is the other channel.
    pub(super) fn flows(&self, recent: f64) -> bool {
        let clear = self.settings.least_counts * self.intake.resolution();
        let Some(unit) = self.intake.unit().filter(|_| recent.abs() >= clear) else {
            return false;
        };
        let blown = |v: f64, unit: Unit| {
            let pressure = unit.kind() == QuantityKind::Pressure;
            !pressure || unit.to_base(v.abs()) >= self.settings.least_pa
        };
        let other = |along: &Along| {
            let last = along.points.last().map(|p| p.1);
            last.zip(along.unit).is_some_and(|(v, unit)| blown(v, unit))
        };
        blown(recent, unit) || self.along.iter().any(other)
    }

    /// The channel that holds least at the end of the window, where one does not hold. Beside
    /// another channel it is the ratio that must hold: what a blower does to both changes no flow at
    /// the reference depression, and hides no climb of the one.
    pub(super) fn still_climbs(&self) -> Option<Climb> {
        let unit = self.intake.unit()?;
        let main = self.points.iter().map(|p| p.v).sum::<f64>() / self.points.len() as f64;
        let mut all: Vec<Climb> = Vec::new();
        for along in &self.along {
            let ratios: Vec<(u64, f64)> = pairs(&self.points, &along.points).collect();
            let found = along.unit.zip(climb(&ratios));
            all.extend(found.map(|(unit, (run, off))| Climb {
                channel: along.channel,
                unit,
                over_window: run * main,
                off,
            }));
        }
        let own: Vec<(u64, f64)> = self.points.iter().map(|p| (p.at_us, p.v)).collect();
        // A blower that still runs up is waited for, a surge of it is not.
        let plain =
            |off: f64| self.along.is_empty() || off.abs() > BLOWER * self.settings.hold_share;
        let own = climb(&own).filter(|(_, off)| plain(*off));
        all.extend(own.map(|(over_window, off)| Climb {
            channel: self.settings.channel,
            unit,
            over_window,
            off,
        }));
        let all = all.into_iter();
        all.filter(|one| one.off.abs() > self.settings.hold_share)
            .max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()))
    }

    /// The question that a level raises that does not hold, or the note on a little that is left.
    pub(super) fn climb_told(
        &self,
        climb: Option<Climb>,
    ) -> (Option<CaptureNote>, Option<CaptureNote>) {
        let Some(climb) = climb else {
            return (None, None);
        };
        let told = CaptureNote::DoesNotHold {
            channel: climb.channel,
            over_window: climb.over_window,
            unit: climb.unit,
        };
        match climb.off.abs() > self.settings.ask_share {
            true => (Some(told), None),
            // A run of the main channel is told with its standard error.
            false if climb.channel == self.settings.channel => (None, None),
            false => (None, Some(told)),
        }
    }

    /// Whether the first and last third of a channel differ by more than surge explains: the level
    /// is still being set.
    pub(super) fn has_shifted(&self) -> bool {
        let shifted = |values: Vec<f64>| {
            let third = values.len() / 3;
            if third < 4 {
                return false;
            }
            let (first, last) = (&values[..third], &values[values.len() - third..]);
            let (a, b) = (mean_with_error(first), mean_with_error(last));
            let se = a.se.unwrap_or(0.0).hypot(b.se.unwrap_or(0.0));
            let share = self.settings.shift_share * a.value.abs().max(b.value.abs());
            (a.value - b.value).abs() > share.max(self.settings.shift_errors * se)
        };
        let along = |along: &Along| {
            let inside = along.inside(&self.points).iter();
            shifted(inside.map(|p| p.1).collect())
        };
        shifted(self.points.iter().map(|p| p.v).collect()) || self.along.iter().any(along)
    }

    /// Whether the first second of a channel lies apart from the level after it: the level was still
    /// being set. Where the blower holds the test pressure, a valve that is opened shows in the other
    /// channel alone.
    pub(super) fn begins_apart(&self) -> bool {
        let from_us = self.points[0].at_us;
        let own = self.points.iter().map(|p| (p.at_us, p.v));
        let along = |along: &Along| {
            let points = along.points.iter().copied();
            self.apart_at_first(from_us, points, SURGES)
        };
        self.apart_at_first(from_us, own, 1.0) || self.along.iter().any(along)
    }

    /// `surges` is how many times as far as the main channel this one may surge.
    fn apart_at_first(
        &self,
        from_us: u64,
        points: impl Iterator<Item = (u64, f64)>,
        surges: f64,
    ) -> bool {
        let mut blocks: Vec<(f64, usize)> = Vec::new();
        for (at_us, v) in points.filter(|(at_us, _)| *at_us >= from_us) {
            let block = seconds(from_us, at_us) as usize;
            blocks.resize(blocks.len().max(block + 1), (0.0, 0));
            blocks[block].0 += v;
            blocks[block].1 += 1;
        }
        blocks.pop();
        let means: Vec<f64> = blocks
            .iter()
            .filter(|b| b.1 > 0)
            .map(|b| b.0 / b.1 as f64)
            .collect();
        let later = &means[means.len() / 3..];
        if later.len() < 2 {
            return false;
        }
        let n = later.len() as f64;
        let mean = later.iter().sum::<f64>() / n;
        let sd = (later.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        let share = surges * self.settings.begin_share * mean.abs();
        (means[0] - mean).abs() > share.max(self.settings.shift_errors * sd)
    }
}
