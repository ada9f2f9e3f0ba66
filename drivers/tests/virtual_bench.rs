//! The rig of virtual gauges honours the speed and the format that a port was opened with. The
//! settings are read back, and a port at another speed reads what a receiver would make of the
//! bytes.
#![cfg(unix)]

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::transport::serial;
use benchhand_drivers::{Decoded, DriverOptions, ProfileRegistry, SerialSettings};
use benchhand_testbed::gauge::{VirtualGauge, encode};

/// Longer than a gauge that sends ten values a second takes for a few of them on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);

fn line(baud: u32, format: &str) -> SerialSettings {
    SerialSettings::new(baud, format.parse().unwrap())
}

#[test]
fn what_the_opener_set_is_read_back_at_the_other_end() {
    for baud in [
        1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200, 31_250,
    ] {
        for format in ["8N1", "8E1", "8O1", "8N2"] {
            let end = PtyEnd::open().unwrap();
            let asked = line(baud, format);
            let port = serial::open(end.path(), &asked);
            let port = port.unwrap_or_else(|error| panic!("{asked}: {error}"));
            let set = end.settings().unwrap();
            assert_eq!(set.baud, baud, "{asked}");
            // A pseudo-terminal of Linux keeps no parity. It carries bytes unchanged.
            assert_eq!(
                (set.format.data, set.format.stop),
                (8, asked.format.stop),
                "{asked}"
            );
            drop(port);
        }
    }
}

/// The bytes that a port with these settings reads from a gauge at 9600 8N1, in several reads that
/// are not empty.
fn read_at(own: SerialSettings) -> Vec<u8> {
    let end = PtyEnd::open().unwrap();
    let path = end.path().to_owned();
    let say = |n: usize| encode::line(12_340 + i64::try_from(n).unwrap(), 3, " mm");
    let gauge = VirtualGauge {
        line: line(9600, "8N1"),
        stream: Some((Duration::from_millis(20), Box::new(say))),
        answers: Vec::new(),
        delay: Duration::ZERO,
    };
    let mut port = serial::open(&path, &own).unwrap();
    let stop = Arc::new(AtomicBool::new(false));
    let until = Arc::clone(&stop);
    let living = std::thread::spawn(move || gauge.live(end, &until));
    let (mut heard, mut buffer) = (Vec::new(), [0; 256]);
    let began = Instant::now();
    while heard.len() < 300 && began.elapsed() < PATIENCE {
        let count = port.read(&mut buffer, Duration::from_millis(100)).unwrap();
        heard.extend_from_slice(&buffer[..count]);
    }
    stop.store(true, Ordering::Release);
    living.join().unwrap().unwrap();
    heard
}

fn values(bytes: &[u8]) -> Vec<f64> {
    let registry = ProfileRegistry::builtin();
    let profile = registry.get("ascii-length").expect("it ships");
    let mut driver = profile.driver(DriverOptions::default());
    let mut out = Vec::new();
    driver.receive(0, bytes, &mut out);
    let value = |one: &Decoded| match one {
        Decoded::Sample(sample) => sample.value,
        Decoded::Trouble(_) => None,
    };
    out.iter().filter_map(value).collect()
}

#[test]
fn a_port_at_the_gauges_own_speed_reads_it_and_one_at_another_reads_rubbish() {
    let own = values(&read_at(line(9600, "8N1")));
    assert!(own.len() >= 10, "{own:?}");
    assert!(
        own.iter().all(|value| (12.340..13.0).contains(value)),
        "{own:?}"
    );
    for baud in [1200, 4800, 19_200, 38_400, 115_200] {
        let heard = read_at(line(baud, "8N1"));
        assert!(heard.len() > 20, "{baud}: something is heard all the same");
        let found = values(&heard);
        assert!(found.is_empty(), "at {baud} it reads {found:?}");
    }
}
