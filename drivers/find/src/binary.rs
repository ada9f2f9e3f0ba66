//! Reads the heard bytes as frames with a checksum that proves them.

use crate::candidate::ProfileCandidate;
use crate::front::after_pause;
use crate::heard::HeardBytes;
use crate::number::{NumberSort, NumberType};
use crate::series::{FieldCourse, course};
use crate::seven::share;
use crate::trial::try_profile;
use crate::write::head;
use benchhand_drivers::decode::checksum::{ChecksumKind, NAMED};
use benchhand_drivers::profile::ByteOrder;
use benchhand_drivers::profile::TalkMode;
use std::fmt::Write as _;

/// Frame lengths that are tried.
const LENGTHS: std::ops::RangeInclusive<usize> = 4..=40;
/// Fewest frames that prove anything.
const LEAST_FRAMES: usize = 8;

/// Candidates with fixed-length frames whose checksum always fits.
pub(crate) fn candidates(heard: &HeardBytes) -> Vec<ProfileCandidate> {
    if heard.asked.is_some() {
        return Vec::new();
    }
    let bytes = heard.bytes();
    fixed(&bytes, after_pause(heard).unwrap_or(0))
        .and_then(|frame| candidate(heard, &bytes, &frame))
        .into_iter()
        .collect()
}

/// A fixed-length frame: its length, the offset of the first one, and its checksum.
struct FixedFrame {
    length: usize,
    phase: usize,
    name: &'static str,
    sum: ChecksumKind,
    /// Index of the first byte that the checksum covers.
    from: usize,
    high_first: bool,
}

/// The shortest frame that fits. If the line was idle before `start`, a frame begins there. This
/// matters because a sum of all bytes fits from any other offset too.
fn fixed(bytes: &[u8], start: usize) -> Option<FixedFrame> {
    for length in LENGTHS {
        if bytes.len() / length < LEAST_FRAMES {
            return None;
        }
        for phase in (0..length).map(|turn| (start + turn) % length) {
            let frames: Vec<&[u8]> = bytes[phase..].chunks_exact(length).collect();
            // A constant first byte shows where frames begin, and shortens the search.
            let first = frames.first()?[0];
            let same = frames.iter().filter(|frame| frame[0] == first).count();
            if share(same, frames.len()) < 0.97 || frames.iter().all(|frame| frame == &frames[0]) {
                continue;
            }
            for (name, sum) in NAMED {
                for from in [0, 1, 2] {
                    for high_first in [true, false] {
                        let fixed = FixedFrame {
                            length,
                            phase,
                            name,
                            sum: *sum,
                            from,
                            high_first,
                        };
                        let misses = frames.iter().filter(|frame| !fixed.fits(frame)).count();
                        let moving = frames.windows(2).filter(|pair| pair[0] != pair[1]).count();
                        if misses <= frames.len() / 50 && moving > 3 {
                            return Some(fixed);
                        }
                    }
                }
            }
        }
    }
    None
}

impl FixedFrame {
    fn fits(&self, frame: &[u8]) -> bool {
        let Some(at) = self.length.checked_sub(self.sum.bytes()) else {
            return false;
        };
        if at <= self.from + 1 {
            return false;
        }
        let join = |n: u32, byte: &u8| n << 8 | u32::from(*byte);
        let stated = if self.high_first {
            frame[at..].iter().fold(0, join)
        } else {
            frame[at..].iter().rev().fold(0, join)
        };
        stated == self.sum.of(&frame[self.from..at])
    }
}

/// A number in a frame: its type, byte order and position.
pub(crate) struct BinaryNumber {
    pub(crate) kind: NumberType,
    pub(crate) order: ByteOrder,
    pub(crate) at: usize,
}

fn candidate(heard: &HeardBytes, bytes: &[u8], frame: &FixedFrame) -> Option<ProfileCandidate> {
    let frames: Vec<&[u8]> = bytes[frame.phase..]
        .chunks_exact(frame.length)
        .filter(|found| frame.fits(found))
        .collect();
    let mut constant: Vec<u8> = Vec::new();
    for at in 0..3.min(frame.length) {
        if frames.iter().all(|found| found[at] == frames[0][at]) && constant.len() == at {
            constant.push(frames[0][at]);
        }
    }
    // The third constant byte may be the low byte of a number.
    let first_field = constant.len().clamp(1, 2);
    let last = frame.length - frame.sum.bytes();
    let best = readings(&frames, first_field, last)
        .into_iter()
        .next()
        .or_else(|| readings(&frames, 1, last).into_iter().next())?;
    // A leading zero byte may be the high byte of a number that is small now.
    while constant.len() > 1 && (constant.last() == Some(&0) || constant.len() > best.at) {
        constant.pop();
    }
    let period_us = heard.reads.last()?.0.saturating_sub(heard.reads.first()?.0)
        / u64::try_from(frames.len()).unwrap_or(1).max(1);
    let mut text = head(heard.line, period_us.div_ceil(1000), heard);
    let hex: Vec<String> = constant.iter().map(|byte| format!("{byte:02X}")).collect();
    let order = if frame.high_first {
        ""
    } else {
        ", order = \"little\""
    };
    let size = frame.sum.bytes();
    let number_order = match best.kind {
        NumberType::Digits(_) => String::new(),
        _ if best.order == ByteOrder::BIG => "order = \"big\"\n".to_owned(),
        _ => "order = \"little\"\n".to_owned(),
    };
    let _ = write!(
        text,
        "kind = \"fixed\"\nlength = {}\nsync = {{ is = {{ hex = \"{}\" }} }}\nas = \"bytes\"\nchecksum = {{ kind = \"{}\"{order}, at = -{size}, over = [{}, -{size}] }}\n\n[[channel]]\nname = \"value\"\ntype = \"{}\"\n{}at = {}\nunit = \"1\"\n",
        frame.length,
        hex.join(" "),
        frame.name,
        frame.from,
        best.kind.word(),
        number_order,
        best.at
    );
    let is_float = best.kind.sort() == NumberSort::Float;
    if is_float {
        text += "resolution = 0.001\n";
    }
    if best.kind.is_of_digits() {
        let _ = writeln!(text, "len = {}", best.kind.bytes());
    }
    let tried = try_profile(&text, heard)?;
    if share(tried.samples.len(), frames.len()) < 0.9 {
        return None;
    }
    let mut reasons = vec![
        format!(
            "frames of {} bytes whose checksum {} fits every time",
            frame.length, frame.name
        ),
        format!(
            "the bytes {} to {} move as a reading does",
            best.at,
            best.at + best.kind.bytes() - 1
        ),
    ];
    // The bytes do not prove which of them are the reading, nor how many decimals it has.
    reasons.push("its decimals and unit do not show".to_owned());
    let confidence = if is_float { 0.7 } else { 0.55 };
    Some(ProfileCandidate {
        line: heard.line,
        mode: TalkMode::Stream,
        unit: None,
        confidence,
        profile: text,
        last_value: tried.samples.iter().rev().find_map(|sample| sample.value),
        reasons,
    })
}

/// A way to read a number that moves, and how smoothly it moves then.
struct MovingNumber {
    roughness: f64,
    /// Number of different values.
    distinct: usize,
    upper_end: bool,
    reading: BinaryNumber,
}

/// Whether the lowest byte of an integer never changes while the number moves. Then the byte order
/// is wrong, or a neighbouring byte is taken for the low byte. This is the only difference between
/// both orders while the high byte of a short number is constant.
fn is_upper_end(values: &[f64], kind: NumberType) -> bool {
    let magnitude = kind == NumberType::SignMagnitude;
    let low = |value: &f64| if magnitude { value.abs() } else { *value }.rem_euclid(256.0);
    kind.sort() == NumberSort::Whole && values.windows(2).all(|pair| low(&pair[0]) == low(&pair[1]))
}

/// Ways to read a number that moves smoothly, the smoothest and longest first.
fn readings(frames: &[&[u8]], from: usize, to: usize) -> Vec<BinaryNumber> {
    let kinds = [
        NumberType::Float(8),
        NumberType::Float(4),
        NumberType::Digits(6),
        NumberType::Digits(5),
        NumberType::Bcd(4),
        NumberType::Bcd(3),
        NumberType::Signed(4),
        NumberType::Signed(3),
        NumberType::Signed(2),
        NumberType::SignMagnitude,
    ];
    moving(
        frames,
        &kinds,
        &[ByteOrder::BIG, ByteOrder::LITTLE],
        from..to,
        1,
    )
}

/// Moving numbers of the given types and orders, at every `stride`th position.
pub(crate) fn moving(
    frames: &[&[u8]],
    kinds: &[NumberType],
    orders: &[ByteOrder],
    places: std::ops::Range<usize>,
    stride: usize,
) -> Vec<BinaryNumber> {
    let mut all: Vec<MovingNumber> = Vec::new();
    for kind in kinds.iter().copied() {
        let size = kind.bytes();
        for order in orders.iter().copied() {
            for at in (places.start..(places.end + 1).saturating_sub(size)).step_by(stride) {
                let value = |frame: &&[u8]| kind.read(&frame[at..at + size], order);
                let values: Vec<f64> = frames.iter().filter_map(value).collect();
                // A number of digits must be valid in every frame.
                if values.len() < frames.len() && kind.is_of_digits() {
                    continue;
                }
                if matches!(
                    course(&values, 1.0),
                    FieldCourse::Counter | FieldCourse::Clock
                ) {
                    continue;
                }
                if let Some((roughness, distinct)) = roughness(&values, kind) {
                    all.push(MovingNumber {
                        roughness,
                        distinct,
                        upper_end: is_upper_end(&values, kind),
                        reading: BinaryNumber { kind, order, at },
                    });
                }
            }
        }
    }
    let sort = |moves: &MovingNumber| moves.reading.kind.sort();
    let smooth = NumberSort::ALL.map(|of| {
        let of = all.iter().filter(|moves| sort(moves) == of);
        of.map(|moves| moves.roughness).fold(f64::MAX, f64::min)
    });
    all.sort_by(|a, b| {
        // A number whose low byte is missing or comes from a neighbour moves alike, but in coarser
        // steps. A number that includes a constant neighbour is longer than needed.
        let rough = |moves: &MovingNumber| moves.roughness > 1.3 * smooth[sort(moves) as usize];
        let signed = |moves: &MovingNumber| moves.reading.kind == NumberType::SignMagnitude;
        sort(a)
            .cmp(&sort(b))
            .then(a.upper_end.cmp(&b.upper_end))
            .then(rough(a).cmp(&rough(b)))
            .then(b.distinct.cmp(&a.distinct))
            .then(a.reading.kind.bytes().cmp(&b.reading.kind.bytes()))
            .then(signed(a).cmp(&signed(b)))
            .then(a.roughness.total_cmp(&b.roughness))
    });
    all.into_iter().map(|moves| moves.reading).collect()
}

/// Mean step divided by the range, and the number of different values. `None` for a number that
/// does not move or is not valid.
fn roughness(values: &[f64], kind: NumberType) -> Option<(f64, usize)> {
    if kind.sort() == NumberSort::Float
        && values
            .iter()
            .any(|v| !v.is_finite() || (*v != 0.0 && !(1e-5..1e7).contains(&v.abs())))
    {
        return None;
    }
    let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(low, high), v| {
        (low.min(*v), high.max(*v))
    });
    let distinct: std::collections::BTreeSet<u64> = values.iter().map(|v| v.to_bits()).collect();
    if high <= low || distinct.len() < 4 {
        return None;
    }
    let travel: f64 = values
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .sum();
    #[expect(clippy::cast_precision_loss, reason = "captures are small")]
    let steps = (values.len() - 1) as f64;
    Some((travel / steps / (high - low), distinct.len()))
}
