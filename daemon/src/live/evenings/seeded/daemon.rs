//! The whole daemon but its HTTP, in one thread, and the hand's tool over it.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use benchhand_drivers::transport::{MemoryEnd, Transport};
use benchhand_testbed::disk::Operation;
use benchhand_testbed::gauge::encode::line;
use benchhand_wire::{Announced, Event, Refusal};
use serde_json::{Value, json};
use tokio::sync::broadcast::error::TryRecvError;

use super::bench::{Cable, Disks, Here, OneClock, lock};
use super::faults::{Fault, Faults};
use crate::clock::Clock;
use crate::desk::Desk;
use crate::known::keeper::Keeper;
use crate::live::hub::Watching;
use crate::live::opening::Offer;
use crate::live::{Hub, Station, StationHandle};

pub(super) const DATA: &str = "/data";
/// How often the station looks around, microseconds.
const LOOKS_AROUND_US: u64 = 500_000;

/// A daemon that runs.
pub(super) struct Running {
    keeper: Arc<Keeper>,
    desk: Desk,
    handle: StationHandle,
    watching: Watching,
}

/// What the outside knows of all that was kept.
#[derive(Default)]
pub(super) struct Known {
    /// Each reading that was told, by job and number, with its value and what became of it.
    pub(super) told: BTreeMap<(String, u64), (f64, String)>,
    /// How often a write failed, or the power went: so many lines may be there that nobody was told
    /// of.
    pub(super) in_doubt: usize,
    /// How many faults there were.
    pub(super) faults: usize,
}

/// The daemon of a seed.
pub(super) struct SeededDaemon {
    pub(super) disks: Disks,
    pub(super) clock: Arc<OneClock>,
    cable: Arc<Cable>,
    /// The gauge's end of the line, while the cable is in.
    far: Option<MemoryEnd>,
    /// Until when the cable is out, microseconds; 0 until the next sample.
    out_until_us: Option<u64>,
    full_until_us: Option<u64>,
    pub(super) running: Option<Running>,
    faults: Faults,
    /// The power goes once there were more of these operations.
    amid: Option<(Operation, u64)>,
    pub(super) known: Known,
    trace: blake3::Hasher,
    /// Where the reading belongs that was told last.
    pub(super) last_read: Option<(String, u32)>,
    /// What was said since it was last looked at.
    pub(super) said: Vec<String>,
    looked_us: u64,
    keys: u64,
}

impl SeededDaemon {
    pub(super) fn new(seed: u64, faults: Faults) -> SeededDaemon {
        let clock = Arc::new(OneClock::default());
        let mut daemon = SeededDaemon {
            disks: Disks::new(seed),
            cable: Arc::new(Cable::new(Arc::clone(&clock.driven))),
            clock,
            far: None,
            out_until_us: None,
            full_until_us: None,
            running: None,
            faults,
            amid: None,
            known: Known::default(),
            trace: blake3::Hasher::new(),
            last_read: None,
            said: Vec::new(),
            looked_us: 0,
            keys: 0,
        };
        daemon.start();
        daemon
    }

    /// Everything that was announced so far, as one hash.
    pub(super) fn trace(&self) -> String {
        self.trace.finalize().to_string()
    }

    /// Takes bytes into the trace.
    pub(super) fn traces(&mut self, bytes: &[u8]) {
        self.trace.update(bytes);
    }

    /// Starts the daemon; a builder whose disk is full makes room for it.
    pub(super) fn start(&mut self) {
        for _ in 0..8 {
            match self.try_start() {
                Ok(running) => {
                    self.running = Some(running);
                    self.cable.step();
                    self.listen();
                    return;
                }
                Err(refusal) => self.makes_room(&refusal),
            }
        }
        panic!("the daemon does not start");
    }

    fn try_start(&mut self) -> Result<Running, Refusal> {
        let files = Arc::new(self.disks.files.clone());
        let clock = Arc::clone(&self.clock) as Arc<dyn Clock>;
        let keeper = Arc::new(Keeper::stepped(PathBuf::from(DATA), files, clock)?);
        let hub = Arc::new(Hub::default());
        let here = Arc::new(Here::default());
        let for_ports = Arc::clone(&here);
        let offer: Offer = Arc::new(move |gauge, opening, event| {
            use crate::live::handle::StationWay;
            for_ports.offer(gauge, opening, event)
        });
        let opener = Arc::clone(&self.cable) as _;
        let station = Station::new(offer, Arc::clone(&keeper), Arc::clone(&hub), opener);
        *lock(&here.station) = Some(station);
        let handle = StationHandle::by(here);
        let watching = hub.watch(Some(0));
        let desk = Desk::new(Arc::clone(&keeper), hub, Some(handle.clone()));
        self.far = match self.out_until_us {
            Some(_) => None,
            None => Some(self.cable.plug_in()),
        };
        desk.open_gauges()?;
        Ok(Running {
            keeper,
            desk,
            handle,
            watching,
        })
    }

    /// What a builder does about a refusal of the disk.
    pub(super) fn makes_room(&mut self, refusal: &Refusal) {
        self.tell(&format!("refused: {refusal}; the builder makes room"));
        self.known.in_doubt += 1;
        self.full_until_us = None;
        self.disks.files.set_full(false);
    }

    /// The daemon is gone without a word; what was not synced is lost.
    pub(super) fn dies(&mut self) {
        if let Some(running) = self.running.take() {
            running.handle.break_off();
        }
        self.amid = None;
        self.known.in_doubt += 1;
        self.far = None;
        self.cable.step();
        let left = self.faults.draw();
        self.disks.memory.cut_power(left);
    }

    /// The daemon ends in good order.
    pub(super) fn ends(&mut self) {
        if let Some(running) = self.running.take() {
            running.handle.stop();
        }
        self.far = None;
        self.cable.step();
    }

    /// Answers a request.
    pub(super) fn ask(&mut self, path: &str, body: Value) -> Result<Value, Refusal> {
        self.keys += 1;
        let key = format!("key-{}", self.keys);
        let running = self.running.as_ref().expect("a daemon that runs");
        let answer = running.desk.dispatch(path, body, Some(&key));
        if answer.is_err() {
            self.known.in_doubt += 1;
        }
        self.listen();
        answer
    }

    /// The burette shows so many hundredths at this moment. Returns whether the power went.
    pub(super) fn hears(&mut self, hundredths: i64, at_us: u64) -> bool {
        self.clock.driven.advance_to(at_us);
        let fault = self.faults.due(at_us);
        let mut died = fault.is_some_and(|fault| self.suffers(fault, at_us));
        if self.full_until_us.is_some_and(|until| until <= at_us) {
            self.full_until_us = None;
            self.disks.files.set_full(false);
        }
        if self.out_until_us.is_some_and(|until| until <= at_us) {
            self.out_until_us = None;
            self.far = Some(self.cable.plug_in());
        }
        self.cable.step();
        if let Some(far) = self.far.as_mut().filter(|_| self.cable.is_open()) {
            far.write(&line(hundredths, 2, " cc")).expect("a line");
            self.cable.step();
        }
        if at_us.saturating_sub(self.looked_us) >= LOOKS_AROUND_US {
            self.looked_us = at_us;
            self.with(Station::look_around);
        }
        self.listen();
        died |= self.dies_if_amid();
        died
    }

    /// Whether the write came amid which the power goes.
    fn dies_if_amid(&mut self) -> bool {
        let now = self
            .amid
            .filter(|(op, count)| self.disks.files.count(*op) > *count);
        if now.is_some() {
            self.tell("the power goes amid a write");
            self.dies();
        }
        now.is_some()
    }

    /// The cable is pulled out until this moment.
    pub(super) fn is_unplugged(&mut self, until_us: u64) {
        self.out_until_us = Some(until_us);
        self.far = None;
        self.cable.pull_out();
        self.cable.step();
        self.listen();
    }

    /// Returns whether the daemon died of it.
    fn suffers(&mut self, fault: Fault, at_us: u64) -> bool {
        self.tell(&format!("fault: {fault:?}"));
        self.known.faults += 1;
        let after = |seconds: f64| at_us + (seconds * 1e6) as u64;
        let files = self.disks.files.clone();
        match fault {
            Fault::Refuses(operation, fault) => files.fail(operation, 1, fault),
            Fault::Full(seconds) => {
                files.set_full(true);
                self.full_until_us = Some(after(seconds));
            }
            Fault::PowerCut => {
                self.dies();
                return true;
            }
            Fault::PowerCutAmid(operation, fault) => {
                self.amid = Some((operation, files.count(operation)));
                files.fail(operation, 1, fault);
                files.fail(Operation::Truncate, 1, fault);
            }
            Fault::CableOut(seconds) => self.is_unplugged(after(seconds)),
            Fault::ClockJumps(seconds) => self.clock.jump(seconds),
        }
        false
    }

    /// The reading that counts at a place: its number and value.
    pub(super) fn reading(&self, job: &str, spot: &str, round: u32) -> Option<(u64, f64)> {
        let keeper = &self.running.as_ref()?.keeper;
        let look = keeper.look(job, |view| {
            let there = view.at_spot(view.stage(), spot);
            there
                .filter(|r| r.state.is_live() && r.round.unwrap_or(1) == round)
                .last()
                .map(|r| (r.id, r.value))
        });
        look.ok().flatten()
    }

    /// Does something with the station, if one is there.
    pub(super) fn with<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Station) -> T + Send + 'static,
    ) -> Option<T> {
        self.running.as_ref()?.handle.with(work).ok()
    }

    fn tell(&mut self, line: &str) {
        self.trace.update(line.as_bytes());
        self.said.push(format!("[{line}]"));
    }

    /// Takes in what was announced.
    fn listen(&mut self) {
        let Some(running) = &mut self.running else {
            return;
        };
        let mut came: Vec<Announced> = std::mem::take(&mut running.watching.caught_up);
        loop {
            match running.watching.live.try_recv() {
                Ok(announced) => came.push(announced),
                Err(TryRecvError::Lagged(_)) => panic!("events were missed"),
                Err(TryRecvError::Empty | TryRecvError::Closed) => break,
            }
        }
        for announced in came {
            let text = serde_json::to_vec(&announced).expect("an event");
            self.trace.update(&text);
            match announced.event {
                Event::Reading { job, reading } => {
                    self.last_read = Some((reading.spot, reading.round));
                    let told = (reading.figure.value, reading.state);
                    self.known.told.insert((job, reading.id), told);
                }
                Event::Say { text, .. } => self.said.push(text),
                _ => {}
            }
        }
    }

    /// The gauge of these evenings comes into the register.
    pub(super) fn sets_gauge(&mut self, capacity: f64, counts: Option<&str>) {
        let setup = json!({"name": "burette", "profile": "ascii-volume",
            "capacity": format!("{capacity} cc"), "counts": counts});
        self.ask("gauges/set", json!({ "setup": setup }))
            .expect("a gauge");
        self.cable.step();
        self.listen();
    }
}
