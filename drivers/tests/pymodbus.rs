//! The Modbus driver against gauges served by pymodbus, an independent implementation, over a
//! pseudo-terminal and the real serial code. `tests/modbus/run` sets it up. Without the variable
//! that it sets, this test says that it did not run.
#![cfg(unix)]

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write as _};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use benchhand_drivers::port::{PortEvent, PortLoop, PortProgress, channel};
use benchhand_drivers::timebase::RealTime;
use benchhand_drivers::transport::serial;
use benchhand_drivers::{DecodeTrouble, DriverOptions, Profile};
use serde_json::Value;

/// The variable that names a Python with pymodbus.
const PYTHON: &str = "BENCHHAND_PYMODBUS";
/// Longer than any answer takes on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

fn say(text: &str) {
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// Served gauges. They end when this value is dropped.
struct Served {
    child: Child,
    said: Value,
}

impl Served {
    /// Starts the gauges. `None` if no Python is named.
    fn start() -> Option<Served> {
        let Some(python) = std::env::var_os(PYTHON) else {
            say(&format!(
                "not run: {PYTHON} names no Python with pymodbus; use tests/modbus/run"
            ));
            return None;
        };
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/modbus/serve.py");
        let mut child = Command::new(python)
            .arg(script)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("Python starts");
        let mut line = String::new();
        let out = child.stdout.take().expect("piped");
        BufReader::new(out).read_line(&mut line).expect("it speaks");
        let said = serde_json::from_str(&line).expect("it says what it serves");
        Some(Served { child, said })
    }

    fn number(&self, key: &str) -> u64 {
        self.said[key].as_u64().expect("a number")
    }

    /// A profile of these channels. The name of each is its index.
    fn profile(&self, channels: &[Value]) -> Profile {
        let mut text = format!(
            "profile = 1\nname = \"served\"\n[line]\nbaud = {}\nformat = \"8N1\"\n[talk]\n\
             mode = \"poll\"\nperiod_ms = 60\ntimeout_ms = 200\n[frame]\n\
             kind = \"modbus-rtu\"\naddress = 1\n",
            self.number("baud")
        );
        for (number, one) in channels.iter().enumerate() {
            text += &format!(
                "[[channel]]\nname = \"c{number}\"\nunit = \"1\"\ntable = {}\nregister = {}\n\
                 type = {}\norder = {}\naddress = {}\nresolution = 0.000001\n",
                one["table"], one["register"], one["type"], one["order"], one["address"]
            );
        }
        Profile::parse(&text, "served").unwrap_or_else(|error| panic!("{error}\n{text}"))
    }

    fn channels(&self) -> Vec<Value> {
        self.said["channels"].as_array().expect("channels").clone()
    }

    /// The channels at these registers.
    fn at(&self, registers: &[u64]) -> Vec<Value> {
        let mut all = self.channels();
        all.retain(|one| registers.contains(&one["register"].as_u64().unwrap()));
        all
    }

    /// Reads these channels through an open port until `enough` returns true. Gives every value by
    /// channel, and every trouble.
    fn read(
        &self,
        channels: &[Value],
        enough: impl Fn(&BTreeMap<usize, Vec<f64>>, &[DecodeTrouble]) -> bool,
    ) -> (BTreeMap<usize, Vec<f64>>, Vec<DecodeTrouble>) {
        let profile = self.profile(channels);
        let path = self.said["path"].as_str().expect("a path").to_owned();
        let line = profile.line();
        let stop = Arc::new(AtomicBool::new(false));
        let (sink, events) = channel(4096);
        let port = PortLoop {
            opener: Box::new(move || serial::open(&path, &line)),
            line: profile.line(),
            driver: profile.driver(DriverOptions::default()),
            time: Arc::new(RealTime::new()),
            stop: Arc::clone(&stop),
            progress: Arc::new(PortProgress::default()),
            silence_after_us: None,
            watch_inputs: false,
        };
        let serving = std::thread::spawn(move || port.run(sink));
        let (mut values, mut troubles) = (BTreeMap::<usize, Vec<f64>>::new(), Vec::new());
        while !enough(&values, &troubles) {
            match events.recv_timeout(PATIENCE) {
                Ok(PortEvent::Samples { samples, .. }) => {
                    for sample in samples {
                        let of = values.entry(usize::from(sample.channel)).or_default();
                        of.extend(sample.value);
                    }
                }
                Ok(PortEvent::Trouble { trouble, .. }) => troubles.push(trouble),
                Ok(PortEvent::OpenFailed { error, .. }) => panic!("{error}"),
                Ok(_) => {}
                Err(error) => panic!("{error}; {values:?} {troubles:?}"),
            }
        }
        stop.store(true, Ordering::Release);
        serving.join().expect("the port ends");
        (values, troubles)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        drop(self.child.stdin.take());
        let _ = self.child.wait();
    }
}

#[track_caller]
fn all_right(channels: &[Value], values: &BTreeMap<usize, Vec<f64>>) {
    for (number, one) in channels.iter().enumerate() {
        let expected = one["value"].as_f64().expect("a number");
        let found = values.get(&number).map_or(&[][..], Vec::as_slice);
        assert!(!found.is_empty(), "nothing came of {one}");
        for value in found {
            let apart = (value - expected).abs();
            assert!(apart <= expected.abs() * 1e-7, "{one} was read as {value}");
        }
    }
}

/// Both tables (functions 3 and 4), 16 and 32 bits, signed, unsigned and floating, every order of
/// words and bytes, on two gauges of one line.
#[test]
fn every_number_is_read_as_pymodbus_means_it() {
    let Some(served) = Served::start() else {
        return;
    };
    let mut channels = served.channels();
    let spoiled = [served.number("late"), served.number("corrupt")];
    channels.retain(|one| !spoiled.contains(&one["register"].as_u64().unwrap()));
    assert!(channels.len() > 150, "{}", channels.len());
    for part in channels.chunks(60) {
        let (values, troubles) = served.read(part, |values, _| values.len() == part.len());
        assert_eq!(troubles, [], "nothing goes wrong");
        all_right(part, &values);
    }
    say(&format!(
        "{} numbers read as pymodbus means them",
        channels.len()
    ));
}

#[test]
fn a_register_that_is_not_there_is_refused_and_holds_up_nobody() {
    let Some(served) = Served::start() else {
        return;
    };
    let mut channels = served.channels();
    channels.truncate(1);
    let mut nowhere = channels[0].clone();
    nowhere["register"] = served.number("nowhere").into();
    channels.push(nowhere);
    let (values, troubles) = served.read(&channels, |values, troubles| {
        troubles.len() >= 2 && values.get(&0).is_some_and(|found| found.len() >= 2)
    });
    let refused = |trouble: &DecodeTrouble| matches!(trouble, DecodeTrouble::Refused(_));
    assert!(troubles.iter().all(refused), "{troubles:?}");
    assert_eq!(values.get(&1), None, "a refusal is no value");
    all_right(&channels[..1], &values);
}

#[test]
fn a_late_answer_is_noticed_and_never_becomes_another_registers_value() {
    let Some(served) = Served::start() else {
        return;
    };
    // The late register of each gauge is read among other registers of both.
    let mut channels = served.at(&[served.number("late")]);
    channels.extend(served.at(&[10]));
    assert!(channels.len() >= 4);
    let (values, troubles) = served.read(&channels, |values, _| {
        values.len() == channels.len() && values.values().all(|found| found.len() >= 3)
    });
    assert!(troubles.contains(&DecodeTrouble::NoAnswer), "{troubles:?}");
    all_right(&channels, &values);
}

#[test]
fn a_corrupted_answer_is_no_value() {
    let Some(served) = Served::start() else {
        return;
    };
    let channels = served.at(&[served.number("corrupt")]);
    assert_eq!(channels.len(), 2);
    let (values, troubles) = served.read(&channels, |values, _| {
        values.len() == 2 && values.values().all(|found| found.len() >= 3)
    });
    let spoiled = |trouble: &DecodeTrouble| matches!(trouble, DecodeTrouble::Checksum { .. });
    assert_eq!(
        troubles.iter().filter(|t| spoiled(t)).count(),
        2,
        "{troubles:?}"
    );
    all_right(&channels, &values);
}
