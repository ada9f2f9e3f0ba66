//! Compares the speed of decoding with a plain loop over the same bytes.
//!
//! The ASCII path is compared with the `regex` crate, and Modbus with a hand-written loop. The
//! ratio is printed. The driver does more than either: it cuts frames, judges labels, units and
//! decimals, keeps resolution and status, and survives any damage.
//!
//! The limits for Modbus, by `perf`: a frame of two floats takes some 225 ns. A fifth of that goes
//! into reading fields by the profile's rules (place, unit, status, range). A tenth each goes into
//! ordering their bytes, into the bookkeeping of question and answer, and into comparing headers.
//! The CRC takes a fifteenth, as in the hand-written loop, which does little else. The line itself
//! is thousands of times slower: 13 bytes take 1.1 ms at 115,200 bits per second.

use std::hint::black_box;
use std::io::Write as _;
use std::time::{Duration, Instant};

use benchhand_drivers::{
    Decoded, Driver, DriverOptions, JoinPoint, ProfileDriver, ProfileRegistry,
};
use benchhand_testbed::SplitMix64;
use benchhand_testbed::gauge::encode;
use criterion::{Criterion, Throughput};
use regex::bytes::Regex;

const LINES: usize = 10_000;
const FRAMES: usize = 5_000;
/// Most bytes that one read of a USB adapter may hold.
const READ: usize = 62;

fn driver(name: &str) -> ProfileDriver {
    let registry = ProfileRegistry::builtin();
    let options = DriverOptions {
        joined: JoinPoint::AtStart,
        address: None,
    };
    registry
        .get(name)
        .map(|profile| profile.profile_driver(options))
        .expect("a built-in profile")
}

fn lines() -> Vec<u8> {
    let mut random = SplitMix64::new(1);
    let mut bytes = Vec::new();
    for _ in 0..LINES {
        let count = i64::try_from(random.below(400_000)).unwrap_or(0) - 200_000;
        bytes.extend(encode::line(count, 4, " mm"));
    }
    bytes
}

fn ascii_by_the_driver(driver: &mut ProfileDriver, bytes: &[u8], out: &mut Vec<Decoded>) -> f64 {
    out.clear();
    for (read, at_us) in bytes.chunks(READ).zip(0..) {
        driver.receive(at_us, read, out);
    }
    out.iter()
        .map(|decoded| match decoded {
            Decoded::Sample(sample) => sample.value.unwrap_or(0.0),
            Decoded::Trouble(trouble) => panic!("{trouble:?}"),
        })
        .sum()
}

fn ascii_by_regex(regex: &Regex, bytes: &[u8]) -> f64 {
    regex
        .captures_iter(bytes)
        .map(|found| {
            let number = std::str::from_utf8(&found[1]).unwrap_or_default();
            assert!(&found[2] == b"mm");
            number.parse::<f64>().unwrap_or_default()
        })
        .sum()
}

fn replies() -> Vec<Vec<u8>> {
    let mut random = SplitMix64::new(2);
    let mut pressure = || f32::from(i16::try_from(random.below(8_000)).unwrap_or(0)) / 4.0;
    (0..FRAMES)
        .map(|_| {
            let mut registers = pressure().to_be_bytes().to_vec();
            registers.extend(pressure().to_be_bytes());
            encode::modbus_reply(1, 4, &registers)
        })
        .collect()
}

fn modbus_by_the_driver(
    driver: &mut ProfileDriver,
    question: &[u8],
    replies: &[Vec<u8>],
    out: &mut Vec<Decoded>,
) -> f64 {
    out.clear();
    for (reply, turn) in replies.iter().zip(0..) {
        driver.sent(turn * 50_000, question);
        driver.receive(turn * 50_000 + 9_000, reply, out);
    }
    out.iter()
        .map(|decoded| match decoded {
            Decoded::Sample(sample) => sample.value.unwrap_or(0.0),
            Decoded::Trouble(trouble) => panic!("{trouble:?}"),
        })
        .sum()
}

fn modbus_by_hand(crc: &crc::Crc<u16>, replies: &[Vec<u8>]) -> f64 {
    let mut sum = 0.0;
    for reply in replies {
        let [1, 4, 8, a, b, c, d, e, f, g, h, low, high] = reply[..] else {
            panic!("{reply:?}")
        };
        assert_eq!(crc.checksum(&reply[..11]), u16::from_le_bytes([low, high]));
        sum += f64::from(f32::from_be_bytes([a, b, c, d]));
        sum += f64::from(f32::from_be_bytes([e, f, g, h]));
    }
    sum
}

/// The best of several runs. Other work on the machine disturbs it least.
fn best(mut run: impl FnMut() -> f64) -> Duration {
    (0..30)
        .map(|_| {
            let began = Instant::now();
            black_box(run());
            began.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn main() {
    let mut criterion = Criterion::default()
        .sample_size(20)
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(2))
        .configure_from_args();
    let bytes = lines();
    let regex = Regex::new(r"([+-]?\d+\.\d+) *(\w*)\r\n").expect("a sound expression");
    let mut ascii = driver("ascii-length");
    let mut out = Vec::new();
    let sum = ascii_by_the_driver(&mut ascii, &bytes, &mut out);
    assert_eq!(sum, ascii_by_regex(&regex, &bytes), "both read the same");

    let question = encode::modbus_request(1, 4, 0, 4);
    let replies = replies();
    let crc = crc::Crc::<u16>::new(&crc::CRC_16_MODBUS);
    let mut modbus = driver("modbus-pressure-pair");
    let sum = modbus_by_the_driver(&mut modbus, &question, &replies, &mut out);
    assert_eq!(sum, modbus_by_hand(&crc, &replies), "both read the same");

    let mut group = criterion.benchmark_group("ascii lines");
    group.throughput(Throughput::Elements(LINES as u64));
    group.bench_function("driver", |b| {
        b.iter(|| ascii_by_the_driver(&mut ascii, &bytes, &mut out))
    });
    group.bench_function("regex", |b| b.iter(|| ascii_by_regex(&regex, &bytes)));
    group.finish();
    let mut group = criterion.benchmark_group("modbus frames");
    group.throughput(Throughput::Elements(FRAMES as u64));
    group.bench_function("driver", |b| {
        b.iter(|| modbus_by_the_driver(&mut modbus, &question, &replies, &mut out));
    });
    group.bench_function("by hand", |b| b.iter(|| modbus_by_hand(&crc, &replies)));
    group.finish();
    criterion.final_summary();

    let ours = best(|| ascii_by_the_driver(&mut ascii, &bytes, &mut out));
    let theirs = best(|| ascii_by_regex(&regex, &bytes));
    tell("ASCII lines", LINES, ours, "regex", theirs);
    let ours = best(|| modbus_by_the_driver(&mut modbus, &question, &replies, &mut out));
    let theirs = best(|| modbus_by_hand(&crc, &replies));
    tell("Modbus frames", FRAMES, ours, "a loop by hand", theirs);
}

fn tell(what: &str, count: usize, ours: Duration, other: &str, theirs: Duration) {
    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    let rate = |time: Duration| count as f64 / time.as_secs_f64() / 1e6;
    let ratio = theirs.as_secs_f64() / ours.as_secs_f64();
    let _ = writeln!(
        std::io::stdout(),
        "{what}: driver {:.2} million/s, {other} {:.2} million/s, ratio {ratio:.2}",
        rate(ours),
        rate(theirs),
    );
}
