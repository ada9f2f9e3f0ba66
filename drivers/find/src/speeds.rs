//! Chooses the next line speed to try, and the time for it.

use std::time::Duration;

use crate::heard::HeardBytes;
use crate::seven::share;

/// Time that each setting gets for its first bytes. It suffices for gauges that send once a
/// second.
pub(crate) const FIRST_WORD: Duration = Duration::from_millis(1_050);

/// Time that a setting gets for its first bytes. Bytes show at any speed, as nonsense at a wrong
/// one. If nothing came at the first speeds, the others get less time. If a hint tells the speed,
/// a slow gauge gets its full time.
pub(crate) fn first_word(before: &[HeardBytes], hint: Option<SpeedHint>) -> Duration {
    match (before.last(), hint) {
        (Some(last), Some(_)) if !last.reads.is_empty() => 2 * FIRST_WORD + FIRST_WORD / 4,
        (_, Some(_)) => FIRST_WORD,
        _ if before.len() < 2 => FIRST_WORD,
        _ => FIRST_WORD / 3,
    }
}

/// A hint about the right speed from nonsense at another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum SpeedHint {
    /// The right speed is about this many times slower than this speed.
    Slower(u32, f64),
    /// The right speed is faster than this speed.
    Faster(u32),
}

/// The hint from the bits of the heard bytes. A slower sender holds each bit for several of the
/// receiver's bits, so few bits of a byte differ from their neighbours. Of 7 pairs, about 3.7
/// differ at the same speed, 2.4 at half, 1.1 at a quarter, 0.6 at an eighth, and none beyond
/// (measured on text with `rig::garbled`).
pub(crate) fn hint(heard: &HeardBytes) -> Option<SpeedHint> {
    let bytes = heard.bytes();
    if bytes.is_empty() {
        return None;
    }
    let baud = heard.line.baud;
    let changes: u32 = bytes
        .iter()
        .map(|byte| ((byte ^ (byte >> 1)) & 0x7F).count_ones())
        .sum();
    let changes = share(usize::try_from(changes).unwrap_or(0), bytes.len());
    Some(match changes {
        _ if bytes.len() < 4 => SpeedHint::Faster(baud),
        c if c < 0.3 => SpeedHint::Slower(baud, 16.0),
        c if c < 0.85 => SpeedHint::Slower(baud, 7.0),
        c if c < 1.7 => SpeedHint::Slower(baud, 3.5),
        c if c < 2.9 => SpeedHint::Slower(baud, 2.0),
        _ => SpeedHint::Faster(baud),
    })
}

/// Index of the next speed to try among those left.
pub(crate) fn next_speed(left: &[u32], hint: Option<SpeedHint>) -> usize {
    let wrong = |speed: u32| match hint {
        None => 0.0,
        Some(SpeedHint::Slower(than, times)) => {
            (f64::from(than) / f64::from(speed) / times).log2().abs()
        }
        // The fastest speed comes first, because nonsense there tells how much slower the right
        // one is.
        Some(SpeedHint::Faster(than)) if speed > than => -f64::from(speed),
        Some(SpeedHint::Faster(_)) => 1.0,
    };
    (0..left.len())
        .min_by(|a, b| wrong(left[*a]).total_cmp(&wrong(left[*b])))
        .unwrap_or(0)
}

/// Number of speeds whose nonsense points to this speed.
pub(crate) fn votes(all: &[HeardBytes], speed: u32) -> f64 {
    let points_to = |heard: &&HeardBytes| match hint(heard) {
        Some(SpeedHint::Slower(than, times)) => {
            (f64::from(than) / f64::from(speed) / times).log2().abs() < 0.6
        }
        _ => false,
    };
    let votes = all.iter().filter(points_to).count();
    f64::from(u32::try_from(votes).unwrap_or(0))
}
