//! What holds whatever bytes come in. `fuzz/` makes bytes up, and `drivers/tests/fuzz_corpus.rs` plays
//! those that are kept. Each function says whether something came of its bytes.

use std::sync::{Arc, LazyLock};
use std::time::Duration;

use benchhand_drivers::stream::{LineEvent, Stream, decode_stream};
use benchhand_drivers::transport::{RecordedTransport, Transport};
use benchhand_drivers::{
    Decoded, DrivenTime, Driver, DriverOptions, JoinPoint, NextAction, Profile, ProfileRegistry,
    Sample, TalkMode, Timebase,
};

static SHIPPED: LazyLock<ProfileRegistry> = LazyLock::new(ProfileRegistry::builtin);

/// Bytes on the line of a gauge: the first byte chooses a shipped profile, the second says how the
/// port joins, and each further piece begins with two bytes that say its pause and its length.
pub fn frames(bytes: &[u8]) -> bool {
    let [which, joined, rest @ ..] = bytes else {
        return false;
    };
    let Some(profile) = chosen(*which) else {
        return false;
    };
    let joined = if joined & 1 == 0 {
        JoinPoint::AtStart
    } else {
        JoinPoint::Midway
    };
    play(profile, joined, &pieces(rest))
}

/// The shipped profile that a byte chooses. Where a profile is added, most bytes choose what they chose
/// before, so that kept inputs keep their meaning.
fn chosen(which: u8) -> Option<&'static Profile> {
    SHIPPED.profiles().min_by_key(|profile| {
        // FNV-1a, of 64 bits.
        let bytes = std::iter::once(which).chain(profile.name().bytes());
        bytes.fold(0xCBF2_9CE4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01B3)
        })
    })
}

/// A profile as somebody wrote it. One that is taken drives a gauge that sends its own text.
pub fn profiles(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let profile = match Profile::parse(text, "a profile") {
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return false;
        }
        Ok(profile) => profile,
    };
    if let Err(failures) = profile.check_captures() {
        assert!(!failures.is_empty());
    }
    for joined in [JoinPoint::AtStart, JoinPoint::Midway] {
        play(&profile, joined, &pieces(bytes));
    }
    true
}

/// A recorded stream. What is taken is written and read again, decoded, and played on a line.
pub fn streams(bytes: &[u8]) -> bool {
    let (cut, error) = Stream::parse_cut(bytes);
    match (Stream::parse(bytes), &cut, error) {
        (Ok(whole), Some(cut), None) => assert_eq!(whole.events, cut.events),
        (Err(one), _, Some(other)) => assert_eq!(one.to_string(), other.to_string()),
        (whole, ..) => panic!("read whole it is {whole:?}, read as far as it goes {cut:?}"),
    }
    let Some(stream) = cut else { return false };
    let mut written = Vec::new();
    stream
        .write_to(&mut written)
        .unwrap_or_else(|error| panic!("what was read cannot be written: {error}"));
    let again = Stream::parse(&written).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(again, stream);
    let Some(profile) = SHIPPED.get(&stream.header.profile) else {
        return true;
    };
    for timed in decode_stream(&stream, profile, DriverOptions::default()) {
        if let Decoded::Sample(sample) = timed.decoded {
            believable(profile, &sample);
        }
    }
    on_a_line(stream, profile);
    true
}

/// Plays a stream as a line whose port reads every 40 ms.
fn on_a_line(stream: Stream, profile: &Profile) {
    let time = Arc::new(DrivenTime::new());
    let reads = 4 * stream.events.len() + 64;
    let mut line = RecordedTransport::at_once(stream, Arc::clone(&time));
    let mut driver = profile.profile_driver(DriverOptions::default());
    let mut buffer = [0; 64];
    for _ in 0..reads {
        let now = time.now_us();
        match driver.next(now) {
            NextAction::Send(bytes) => {
                if line.write(&bytes).is_err() {
                    return;
                }
            }
            NextAction::Drain => {
                if line.drain().is_err() {
                    return;
                }
            }
            NextAction::Listen | NextAction::Wait { .. } => {}
        }
        let Ok(count) = line.read(&mut buffer, Duration::from_millis(40)) else {
            return;
        };
        driver.receive(time.now_us(), &buffer[..count], &mut Vec::new());
    }
}

/// Pieces of bytes, each with the pause before it in microseconds.
fn pieces(mut bytes: &[u8]) -> Vec<(u64, &[u8])> {
    let mut all = Vec::new();
    while let [pause, length, rest @ ..] = bytes {
        let (piece, rest) = rest
            .split_at_checked(usize::from(*length))
            .unwrap_or((rest, &[]));
        all.push((u64::from(*pause) * 2_000, piece));
        bytes = rest;
    }
    all
}

/// Whether samples came. They must be believable; those of a gauge that sends by itself must not
/// depend on how its bytes were cut.
fn play(profile: &Profile, joined: JoinPoint, pieces: &[(u64, &[u8])]) -> bool {
    let options = DriverOptions {
        joined,
        address: None,
    };
    let mut driver = profile.profile_driver(options);
    let (mut now, mut cut) = (0, Vec::new());
    for (pause, piece) in pieces {
        now += pause;
        turn(&mut driver, now);
        let mut out = Vec::new();
        driver.receive(now, piece, &mut out);
        for sample in out.into_iter().filter_map(sample) {
            believable(profile, &sample);
            assert_eq!(sample.at_us, now, "{}", profile.name());
            cut.push(sample);
        }
    }
    if profile.mode() == TalkMode::Poll || asks(profile, options) {
        return !cut.is_empty();
    }
    let whole: Vec<u8> = pieces
        .iter()
        .flat_map(|(_, piece)| *piece)
        .copied()
        .collect();
    let mut driver = profile.profile_driver(options);
    turn(&mut driver, 0);
    let mut out = Vec::new();
    driver.receive(now, &whole, &mut out);
    let at_once: Vec<Sample> = out.into_iter().filter_map(sample).collect();
    let meant = |samples: &[Sample]| -> Vec<_> {
        let meaning = |s: &Sample| (s.channel, s.value.map(f64::to_bits), s.unit, s.status);
        samples.iter().map(meaning).collect()
    };
    assert_eq!(meant(&cut), meant(&at_once), "{}", profile.name());
    !cut.is_empty()
}

/// Whether the gauge is told something before it sends by itself.
fn asks(profile: &Profile, options: DriverOptions) -> bool {
    let mut driver = profile.profile_driver(options);
    let mut now = 0;
    for _ in 0..8 {
        match driver.next(now) {
            NextAction::Send(_) => return true,
            NextAction::Wait { until_us } => now = until_us,
            NextAction::Drain => {}
            NextAction::Listen => return false,
        }
    }
    false
}

/// Lets the driver do what is due. A wait lies ahead, or the port would turn on the spot.
fn turn(driver: &mut impl Driver, now: u64) {
    for _ in 0..8 {
        match driver.next(now) {
            NextAction::Wait { until_us } => {
                assert!(until_us > now, "it waits for {until_us} at {now}");
                return;
            }
            NextAction::Listen => return,
            NextAction::Drain | NextAction::Send(_) => {}
        }
    }
}

fn sample(decoded: Decoded) -> Option<Sample> {
    match decoded {
        Decoded::Sample(sample) => Some(sample),
        Decoded::Trouble(_) => None,
    }
}

fn believable(profile: &Profile, sample: &Sample) {
    let channel = profile
        .channels()
        .get(usize::from(sample.channel))
        .unwrap_or_else(|| panic!("{}: {sample:?} of no channel", profile.name()));
    assert!(sample.resolution > 0.0, "{}: {sample:?}", profile.name());
    assert!(
        sample.value.is_none_or(f64::is_finite),
        "{}: {sample:?}",
        profile.name()
    );
    assert_eq!(sample.unit.kind(), channel.kind, "{}", profile.name());
}

/// The bytes that a shipped profile's gauge sends, as input of [`frames`].
#[allow(dead_code, reason = "the corpus is made of them; fuzzing needs none")]
pub fn seed_of(name: &str, stream: &Stream) -> Option<Vec<u8>> {
    let chooses = |which: &u8| chosen(*which).is_some_and(|profile| profile.name() == name);
    let mut seed = vec![(0..=u8::MAX).find(chooses)?, 0];
    let mut before = 0;
    for event in &stream.events {
        let LineEvent::Rx(bytes) = &event.what else {
            continue;
        };
        for piece in bytes.chunks(255) {
            let pause = (event.at_us - before) / 2_000;
            seed.push(u8::try_from(pause).unwrap_or(u8::MAX));
            seed.push(u8::try_from(piece.len()).ok()?);
            seed.extend_from_slice(piece);
            before = event.at_us;
        }
    }
    Some(seed)
}
