//! A shift: eight gauges that send fifty times a second, for hours of gauge time, through a whole
//! daemon. Cables are pulled, the daemon ends or dies and is started again, routes change. No reading
//! is lost or wrong, and memory stays where it was. Where a reading is missing, what the daemons said
//! last tells why: a disk that is full says so there.

#![cfg(target_os = "linux")]

use std::alloc::System;
use std::io::Write as _;
use std::sync::Arc;

use benchhand_daemon::Opener;
use benchhand_daemon::clock::Clock;
use benchhand_drivers::transport::{MemoryEnd, Transport};
use benchhand_testbed::SplitMix64;
use benchhand_testbed::gauge::encode::line;
use benchhand_tests::api::Api;
use benchhand_tests::heard;
use benchhand_tests::hosted::HostedDaemon;
use benchhand_tests::shop::example;
use benchhand_tests::stepped_station::SteppedStation;
use cap::Cap;
use serde_json::{Value, json};

const GAUGES: usize = 8;
/// Between two frames of a gauge, microseconds: fifty a second.
const STEP_US: u64 = 20_000;
const STEP_S: f64 = 0.02;
/// A chamber, its reading and the next filling.
const CHAMBER_US: u64 = 36_000_000;
/// When in this time every burette is full again and rests.
const AT_REST_US: u64 = 31_000_000;
/// Chambers of a route; one more of this length passes before the next begins.
const STOPS: u64 = 8;
const ROUTE_US: u64 = (STOPS + 1) * CHAMBER_US;
/// How far off a reading may be, cc.
const BOUND_CC: f64 = 0.05;
/// After so many routes jobs are closed as fast as they are opened: from there on memory is flat.
const WARM: usize = 4;
/// How much more the program may hold at any time than when it was warm, KiB: its index is filled up to
/// its bound.
const HELD_KIB: u64 = 4 * 1024;
/// How much more memory the process may have from the system, KiB: the allocator has a part for each
/// thread, threads come and go with their daemons, and each part keeps what was free in it.
const RESIDENT_KIB: u64 = 32 * 1024;

/// Counts what the program holds, which the system's numbers do not tell.
#[global_allocator]
static COUNTED: Cap<System> = Cap::new(System, usize::MAX);

/// A burette, and the hand at it.
struct Burette {
    name: String,
    line: Option<MemoryEnd>,
    /// When its cable is plugged in again, microseconds.
    back_us: Option<u64>,
    /// cc that left since it was full.
    level: f64,
    /// How much is still to be poured into the present chamber, cc.
    to_pour: f64,
    noise: SplitMix64,
    job: String,
    route: &'static str,
    /// What each stop of the present route was given, cc.
    poured: Vec<f64>,
}

impl Burette {
    /// A number between -1 and 1, nearer to 0 mostly.
    fn jitter(&mut self) -> f64 {
        let draws = (0..4).map(|_| self.noise.up_to(2000) as f64 / 1000.0 - 1.0);
        draws.sum::<f64>() / 4.0
    }

    /// What it shows after a step of the time within a chamber, hundredths of a cc.
    fn step(&mut self, within_us: u64) -> i64 {
        match within_us {
            0..3_000_000 => {}
            3_000_000..25_000_000 => {
                let part = self.to_pour.min(4.0 * STEP_S);
                self.to_pour -= part;
                self.level += part;
            }
            _ => self.level = (self.level - 16.0 * STEP_S).max(0.0),
        }
        let shows = self.level + 0.01 * self.jitter();
        (shows * 100.0).round() as i64
    }
}

struct Shift {
    folder: tempfile::TempDir,
    station: Arc<SteppedStation>,
    daemon: Option<HostedDaemon>,
    burettes: Vec<Burette>,
    chance: SplitMix64,
    keys: u64,
    /// Of this shift: readings that were checked, questions that were answered, cables pulled, daemons
    /// ended and died.
    readings: usize,
    questions: usize,
    pulled: usize,
    ended: usize,
    died: usize,
}

impl Shift {
    fn new() -> Shift {
        let burette = |number: usize| Burette {
            name: format!("burette-{number}"),
            line: None,
            back_us: None,
            level: 0.0,
            to_pour: 0.0,
            noise: SplitMix64::new(number as u64),
            job: String::new(),
            route: "",
            poured: Vec::new(),
        };
        let mut shift = Shift {
            folder: tempfile::tempdir().expect("a folder"),
            station: Arc::default(),
            daemon: None,
            burettes: (0..GAUGES).map(burette).collect(),
            chance: SplitMix64::new(8),
            keys: 0,
            readings: 0,
            questions: 0,
            pulled: 0,
            ended: 0,
            died: 0,
        };
        shift.start();
        for name in (0..GAUGES).map(|number| format!("burette-{number}")) {
            let setup = json!({"name": name, "profile": "ascii-volume", "u": "0.03 cc",
                "capacity": "100 cc", "counts": "up"});
            shift.change("gauges/set", json!({ "setup": setup }));
        }
        shift
    }

    fn start(&mut self) {
        for burette in &mut self.burettes {
            burette.line = Some(self.station.plug_in(&burette.name));
            burette.back_us = None;
        }
        let opener = Arc::clone(&self.station) as Arc<dyn Opener>;
        let clock = Arc::clone(&self.station) as Arc<dyn Clock>;
        self.daemon = Some(HostedDaemon::start(self.folder.path(), opener, clock));
        self.station.step();
    }

    fn api(&self) -> Api {
        let (address, token) = self.daemon.as_ref().expect("it runs").at();
        Api { address, token }
    }

    #[track_caller]
    fn change(&mut self, path: &str, body: Value) -> Value {
        self.keys += 1;
        let key = format!("shift-{}", self.keys);
        let answer = self.api().post(path, &key, &body).expect("an answer");
        answer.good()
    }

    /// Everything that the gauges have sent is taken in.
    fn taken_in(&self) {
        let station = self.daemon.as_ref().expect("it runs").station();
        station.taken_in().expect("the station lives");
    }

    /// Every burette gets a job of its own and the next route on it.
    fn begin_routes(&mut self, number: u64) {
        let engine = std::fs::read_to_string(example("invented-v8.toml")).expect("an engine");
        self.station.step();
        self.taken_in();
        for at in 0..GAUGES {
            let job = format!("engine-{number}-{at}");
            let new = json!({"name": job, "engine": engine, "file": "engine.toml"});
            self.change("jobs/new", new);
            let burette = &mut self.burettes[at];
            burette.job = job;
            burette.route = match (number + at as u64) % 2 {
                0 => "chambers",
                _ => "runners",
            };
            burette.poured.clear();
            self.take_up(at);
        }
    }

    /// Starts the route of a burette, or takes it up, and answers what is asked about it.
    fn take_up(&mut self, at: usize) {
        let burette = &self.burettes[at];
        let (cylinders, rounds) = match burette.route {
            "chambers" => (json!([]), 1),
            _ => (json!([1, 3, 5, 7]), 1),
        };
        let start = json!({"job": burette.job, "route": burette.route, "rounds": rounds,
            "cylinders": cylinders, "gauges": {"volume": burette.name}});
        self.change("routes/start", start);
        self.answer(at);
    }

    /// The hand keeps what it is asked about: what it poured is right.
    fn answer(&mut self, at: usize) {
        for _ in 0..4 {
            let state = self.api().get("state").good();
            let job = self.burettes[at].job.clone();
            let of_job = |route: &&Value| route["job"] == job.as_str();
            let routes = state["routes"].as_array().expect("routes");
            match routes.iter().find(of_job) {
                Some(route) if !route["asked"].is_null() => {}
                _ => return,
            }
            self.questions += 1;
            self.change("routes/control", json!({"job": job, "control": "keep"}));
        }
    }

    /// The routes have come to their end: each reading is there, once, and right.
    fn check_routes(&mut self) {
        self.taken_in();
        for at in 0..GAUGES {
            self.answer(at);
            let Burette { job, poured, .. } = &self.burettes[at];
            let shown = self.api().get(&format!("jobs/show?job={job}")).good();
            let live = |one: &&Value| ["held", "final"].contains(&one["state"].as_str().unwrap());
            let all = shown["readings"].as_array().expect("readings");
            let values: Vec<f64> = all
                .iter()
                .filter(live)
                .map(|one| one["figure"]["value"].as_f64().expect("a value"))
                .collect();
            let near = |(kept, cc): (&f64, &f64)| (kept - cc).abs() <= BOUND_CC;
            assert!(
                values.len() == poured.len() && values.iter().zip(poured).all(near),
                "{job}: kept {values:?}, poured {poured:?}; what was said last:\n{}",
                heard::said_of(job)
            );
            self.readings += values.len();
            let verified = self.api().get(&format!("jobs/verify?job={job}")).good();
            assert_eq!(verified["broken"], Value::Null, "{verified}");
            let state = self.api().get("state").good();
            let runs = |route: &Value| route["job"] == job.as_str() && route["running"] == true;
            if state["routes"].as_array().expect("routes").iter().any(runs) {
                let end = json!({"job": job, "control": "end"});
                self.change("routes/control", end);
            }
        }
    }

    /// What happens while every burette rests, full.
    fn happens(&mut self, now_us: u64, chambers: u64) {
        if chambers % 5 == 2 {
            let at = self.chance.below(GAUGES);
            self.pulled += 1;
            self.burettes[at].line = None;
            self.burettes[at].back_us = Some(now_us + 1_500_000);
        }
        // Once in about half an hour, and once in the shortest shift.
        if chambers % 45 == 12 {
            self.taken_in();
            let daemon = self.daemon.take().expect("it runs");
            if self.died > self.ended {
                self.ended += 1;
                daemon.stop();
            } else {
                self.died += 1;
                drop(daemon);
            }
            self.station.step();
            self.start();
            let stands = chambers % (STOPS + 1) < STOPS;
            for at in 0..GAUGES {
                if stands {
                    self.take_up(at);
                }
            }
        }
    }

    fn play(&mut self, hours: f64) -> Vec<Memory> {
        let mut memory = Vec::new();
        let end_us = (hours * 3.6e9 / ROUTE_US as f64).ceil() as u64 * ROUTE_US;
        for now_us in (0..end_us / STEP_US).map(|step| step * STEP_US) {
            let (within_us, chambers) = (now_us % CHAMBER_US, now_us / CHAMBER_US);
            let stop = chambers % (STOPS + 1);
            self.station.advance_to(now_us);
            if now_us % ROUTE_US == 0 {
                if now_us > 0 {
                    self.check_routes();
                    memory.push(Memory::now());
                }
                self.begin_routes(now_us / ROUTE_US);
            }
            if within_us == 0 && stop < STOPS {
                for burette in &mut self.burettes {
                    let cc = 64.0 + 0.3 * burette.jitter();
                    burette.to_pour = cc;
                    burette.poured.push(cc);
                }
            }
            if within_us == AT_REST_US {
                self.happens(now_us, chambers);
            }
            for burette in &mut self.burettes {
                if burette.back_us.is_some_and(|back| back <= now_us) {
                    burette.back_us = None;
                    burette.line = Some(self.station.plug_in(&burette.name));
                }
                let hundredths = burette.step(within_us);
                if let Some(far) = &mut burette.line {
                    // A port that is closed hears nothing.
                    let _ = far.write(&line(hundredths, 2, " cc"));
                }
            }
            self.station.step();
            // The station's room is not filled faster than it is emptied.
            if now_us % (50 * STEP_US) == 0 {
                self.taken_in();
            }
        }
        self.check_routes();
        memory.push(Memory::now());
        memory
    }
}

/// What the memory of this process is, KiB.
#[derive(Debug, Clone, Copy)]
struct Memory {
    /// What the program holds.
    held: u64,
    /// What the process has from the system.
    resident: u64,
}

impl Memory {
    fn now() -> Memory {
        Memory {
            held: COUNTED.allocated() as u64 / 1024,
            resident: resident_kib(),
        }
    }
}

fn resident_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("this process");
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
    number.expect("a number of KiB")
}

/// Hours of gauge time: `BENCHHAND_SHIFT_HOURS`, or enough for every day.
fn hours() -> f64 {
    let asked = std::env::var("BENCHHAND_SHIFT_HOURS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(1.0 / 6.0)
}

#[test]
fn a_shift_of_eight_fast_gauges_loses_nothing_and_its_memory_stays_flat() {
    heard::listen();
    let mut shift = Shift::new();
    let memory = shift.play(hours());
    let told = format!(
        "{} readings, {} questions; {} cables pulled, {} daemons ended and {} died; memory after each route, KiB: held {:?}, resident {:?}\n",
        shift.readings,
        shift.questions,
        shift.pulled,
        shift.ended,
        shift.died,
        memory.iter().map(|at| at.held).collect::<Vec<_>>(),
        memory.iter().map(|at| at.resident).collect::<Vec<_>>(),
    );
    // What was seen is news for whoever runs the long one.
    let _ = std::io::stderr().write_all(told.as_bytes());
    assert!(
        shift.readings >= GAUGES * STOPS as usize * memory.len(),
        "{told}"
    );
    assert!(shift.pulled > 0 && shift.ended + shift.died > 0, "{told}");
    // The shortest shift is over before it is warm: its first route stands for that.
    let warm = memory.get(WARM).or(memory.first()).expect("a route");
    for at in &memory {
        assert!(at.held <= warm.held + HELD_KIB, "{told}");
        assert!(at.resident <= warm.resident + RESIDENT_KIB, "{told}");
    }
}
