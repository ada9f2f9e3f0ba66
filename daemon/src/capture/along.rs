//! Channels that are averaged beside the main one, and the moment at which a level has gone for
//! good.

use benchhand_blueprint::formula::flow::flow_of_pair;
use benchhand_drivers::Unit;

use super::ChannelMean;
use super::autocorr::{Mean, mean_with_error};
use super::still::{Point, seconds};

/// A channel beside the main one.
pub(super) struct Along {
    pub(super) channel: u8,
    pub(super) unit: Option<Unit>,
    /// One count of this channel.
    pub(super) resolution: f64,
    pub(super) points: Vec<(u64, f64)>,
    /// Mean and spread at the last reading.
    pub(super) last: Option<(f64, f64)>,
    /// Its ratio to the main channel at the last reading.
    pub(super) ratio: Option<Ratio>,
}

impl Along {
    /// The mean beside that of the main channel over the same window.
    pub(super) fn mean_beside(&self, main: &[Point]) -> Option<ChannelMean> {
        Some(ChannelMean {
            flow_se: self.flow_se(main),
            ..self.mean(main)?
        })
    }

    /// The relative standard error of the mean of the flow that each pair of samples makes.
    fn flow_se(&self, main: &[Point]) -> Option<f64> {
        let kind = self.unit?.kind();
        let flows: Vec<f64> = paired(main, &self.points)
            .filter_map(|(main, along)| flow_of_pair(main.v, along.1, kind))
            .collect();
        let Mean { value, se, .. } = mean_with_error(&flows);
        Some(se? / value).filter(|share| share.is_finite())
    }

    /// The samples that came with those of the main channel. The channels of one frame come one after
    /// the other: what was there before the window began is no part of it.
    pub(super) fn inside(&self, main: &[Point]) -> &[(u64, f64)] {
        let (Some(first), Some(last)) = (main.first(), main.last()) else {
            return &[];
        };
        let near = near_us(main, &self.points);
        let from = self
            .points
            .partition_point(|p| p.0.saturating_add(near) < first.at_us);
        let to = self
            .points
            .partition_point(|p| p.0 <= last.at_us.saturating_add(near));
        self.points.get(from..to).unwrap_or_default()
    }

    /// The mean over the samples that came with those of the main channel.
    pub(super) fn mean(&self, main: &[Point]) -> Option<ChannelMean> {
        let unit = self.unit?;
        let values: Vec<f64> = self.inside(main).iter().map(|p| p.1).collect();
        if values.is_empty() {
            return None;
        }
        let Mean { value, sd, se } = mean_with_error(&values);
        Some(ChannelMean {
            channel: self.channel,
            value,
            unit,
            n: values.len(),
            sd,
            se,
            flow_se: None,
        })
    }
}

/// Whether each of the last three half seconds lies further than `off` from `mean`. A knock on the
/// hose or a bump of the flow is over sooner.
pub(super) fn stays_off(
    points: impl DoubleEndedIterator<Item = (u64, f64)>,
    mean: f64,
    off: f64,
) -> bool {
    let (mut halves, mut last, mut oldest) = ([(0.0, 0); 3], None, 0.0);
    for (at_us, v) in points.rev() {
        oldest = seconds(at_us, *last.get_or_insert(at_us));
        match halves.get_mut((oldest / 0.5) as usize) {
            Some((sum, n)) => (*sum, *n) = (*sum + v, *n + 1),
            None => break,
        }
    }
    oldest >= 1.5
        && halves
            .iter()
            .all(|(sum, n)| *n > 0 && (sum / f64::from(*n) - mean).abs() > off)
}

/// A channel over the main one, with the standard error of that ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ratio {
    pub(super) mean: f64,
    pub(super) se: f64,
    /// The length of the window, s.
    pub(super) span: f64,
}

/// The ratio of a channel to the main one over a window, from the samples that belong together.
pub(super) fn ratio(main: &[Point], along: &[(u64, f64)]) -> Option<Ratio> {
    let values: Vec<f64> = pairs(main, along).map(|(_, ratio)| ratio).collect();
    let mean = mean_with_error(&values);
    let span = seconds(main.first()?.at_us, main.last()?.at_us);
    (mean.value.is_finite() && mean.value.abs() > 0.0).then(|| Ratio {
        mean: mean.value,
        se: mean.se.unwrap_or(0.0),
        span,
    })
}

/// The ratio of each pair of samples, with its time.
pub(super) fn pairs<'a>(
    main: &'a [Point],
    along: &'a [(u64, f64)],
) -> impl Iterator<Item = (u64, f64)> + 'a {
    paired(main, along)
        .filter(|(main, _)| main.v != 0.0)
        .map(|(main, along)| (main.at_us, along.1 / main.v))
}

/// The samples of both that belong together. Each sample of the main channel is paired with the
/// nearest one of the other; where several came at once, they pair in their order.
fn paired<'a>(
    main: &'a [Point],
    along: &'a [(u64, f64)],
) -> impl Iterator<Item = (&'a Point, &'a (u64, f64))> + 'a {
    let near = near_us(main, along);
    let (mut at, mut is_used) = (0, false);
    main.iter().filter_map(move |main| {
        let off = |at: usize| along.get(at).map(|p| p.0.abs_diff(main.at_us));
        while let (Some(here), Some(next)) = (off(at), off(at + 1))
            && (next < here || is_used && next == here)
        {
            (at, is_used) = (at + 1, false);
        }
        off(at).filter(|off| *off <= near)?;
        is_used = true;
        along.get(at).map(|along| (main, along))
    })
}

/// Samples of two channels belong together within half the period of the slower one, in microseconds.
fn near_us(main: &[Point], along: &[(u64, f64)]) -> u64 {
    let period = |first: Option<u64>, last: Option<u64>, n: usize| match (first, last) {
        (Some(first), Some(last)) if n > 1 => last.saturating_sub(first) / (n as u64 - 1),
        _ => 0,
    };
    let of_main = period(
        main.first().map(|p| p.at_us),
        main.last().map(|p| p.at_us),
        main.len(),
    );
    let of_along = period(
        along.first().map(|p| p.0),
        along.last().map(|p| p.0),
        along.len(),
    );
    of_main.max(of_along) / 2
}
