//! From values to the bytes of three kinds of gauge, with their times.

use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent, StreamHeader, StreamOrigin};
use benchhand_drivers::{Driver, DriverOptions, NextAction, Profile, ProfileRegistry};

use crate::demo::scenario::{FLOW_CYLINDERS, LIFTS, METERING, TEST_IN_H2O};
use crate::synth::Dice;

/// Values of one gauge at an even pace, as they are written down.
pub(in crate::demo) struct Sheet {
    hertz: f64,
    events: Vec<StreamEvent>,
    encode: fn(f64) -> String,
    header: StreamHeader,
}

impl Sheet {
    /// A burette that sends one line ten times a second: `12.34 cc`.
    pub(super) fn burette() -> Sheet {
        Sheet::new("ascii-volume", "burette", |cc| format!("{cc:.2} cc\r\n"))
    }

    /// A dial that sends thirteen BCD digits ten times a second, in steps of 0.0005 in.
    pub(super) fn dial() -> Sheet {
        Sheet::new("bcd13-length", "dial", bcd13)
    }

    fn new(profile: &str, gauge: &str, encode: fn(f64) -> String) -> Sheet {
        let header = header(&built_in(profile), gauge);
        Sheet {
            hertz: 10.0,
            events: Vec::new(),
            encode,
            header,
        }
    }

    /// How long one value stands for, s.
    pub(super) fn step(&self) -> f64 {
        1.0 / self.hertz
    }

    /// How long the values so far took, s.
    pub(super) fn seconds(&self) -> f64 {
        self.events.len() as f64 / self.hertz
    }

    /// Writes down the next value.
    pub(super) fn write(&mut self, value: f64) {
        let at_us = (self.events.len() as f64 / self.hertz * 1e6).round() as u64;
        let bytes = (self.encode)(value).into_bytes();
        self.events.push(StreamEvent {
            at_us,
            what: LineEvent::Rx(bytes),
        });
    }

    /// The stream of all values so far.
    pub(super) fn finish(self) -> Stream {
        Stream {
            header: self.header,
            events: self.events,
        }
    }
}

fn header(profile: &Profile, gauge: &str) -> StreamHeader {
    StreamHeader {
        gauge: Some(gauge.to_owned()),
        note: Some("invented; plays in the demo".to_owned()),
        ..StreamHeader::new(profile.name(), profile.line(), StreamOrigin::Synthesised)
    }
}

fn built_in(name: &str) -> Profile {
    match ProfileRegistry::builtin().get(name) {
        Some(profile) => profile.clone(),
        None => unreachable!("{name} is built in; a test loads every built-in profile"),
    }
}

/// Thirteen digits: header, sign, six digits, four decimals, unit 1 (inch).
fn bcd13(inches: f64) -> String {
    let half_thou = (inches / 0.0005).round();
    let counts = (half_thou.abs() * 5.0) as u64;
    let sign = if half_thou < 0.0 { 8 } else { 0 };
    format!("FFFF{sign}{counts:06}41\r")
}

/// The manometer's answers, at the very times at which the profile's driver asks.
pub(super) fn flow(seed: u64) -> Stream {
    let profile = built_in("modbus-pressure-pair");
    let mut driver = profile.profile_driver(DriverOptions::default());
    let mut dice = Dice::seeded(seed ^ 0xf10);
    let (mut now, mut events, mut drop_all) = (0, Vec::new(), Vec::new());
    for (test, metering) in pressures(&mut dice) {
        let question = loop {
            match driver.next(now) {
                NextAction::Send(bytes) => break bytes,
                NextAction::Wait { until_us } => now = until_us.max(now + 1),
                NextAction::Drain => {}
                NextAction::Listen => now += 1_000,
            }
        };
        events.push(StreamEvent {
            at_us: now,
            what: LineEvent::Tx(question),
        });
        now += 8_000;
        let answer = modbus_answer(&[test, metering]);
        driver.receive(now, &answer, &mut drop_all);
        events.push(StreamEvent {
            at_us: now,
            what: LineEvent::Rx(answer),
        });
    }
    Stream {
        header: header(&profile, "manometer"),
        events,
    }
}

/// Two floats from input registers of address 1, high word first.
fn modbus_answer(values: &[f32]) -> Vec<u8> {
    let mut frame = vec![1, 4, (values.len() * 4) as u8];
    frame.extend(values.iter().flat_map(|v| v.to_be_bytes()));
    let crc = crc::Crc::<u16>::new(&crc::CRC_16_MODBUS).checksum(&frame);
    frame.extend(crc.to_le_bytes());
    frame
}

/// Test and metering pressure, Pa, twenty times a second: the blower runs up, holds with surge,
/// and is let down between two lifts.
fn pressures(dice: &mut Dice) -> Vec<(f32, f32)> {
    const PER_IN_H2O: f64 = 249.088_91;
    let (hold, idle) = (18.0, 3.0);
    let mut all = Vec::new();
    for (port, _) in FLOW_CYLINDERS.iter().enumerate() {
        for (lift, _) in LIFTS.iter().enumerate() {
            let metering = METERING[port][lift];
            let test = TEST_IN_H2O * (1.0 + dice.gauss(0.004));
            let mut surge = 0.0;
            for i in 0..((hold + idle) * 20.0) as usize {
                let t = i as f64 / 20.0;
                surge = 0.95 * surge + dice.gauss(0.01 * 0.312);
                let on = (t / 0.4).min(1.0) * if t > hold { 0.0 } else { 1.0 };
                let share = on * (1.0 + surge);
                let ratio = metering / TEST_IN_H2O * test;
                let noise = dice.gauss(0.5);
                all.push((
                    (share * test * PER_IN_H2O + noise) as f32,
                    (share * ratio * PER_IN_H2O + noise) as f32,
                ));
            }
        }
    }
    all
}
