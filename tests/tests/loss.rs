//! Gauges that go, fall silent, change their unit, or cannot be had: each is said with what to do,
//! shown to whoever watches, and mended by itself where it can be. The route waits meanwhile, and
//! no value from before becomes the next spot's.

#![cfg(target_os = "linux")]

use std::path::PathBuf;

use benchhand_tests::api::ApiEvents;
use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::nobody::{USER, am_root, give, open_folder, runner};
use benchhand_tests::program::{Daemon, Program, RunningProgram};
use benchhand_tests::shop::example;
use benchhand_tests::signals::Hand;
use benchhand_tests::true_time;
use rustix::fs::{Mode, OFlags};
use serde_json::Value;
use tempfile::TempDir;

/// A shop whose gauge is always found at one path, whatever the system calls its port.
struct GaugeShop {
    folder: TempDir,
    program: Program,
    station: DrivenStation,
    port: PathBuf,
}

impl GaugeShop {
    fn new() -> GaugeShop {
        let folder = open_folder();
        let program = Program::at(&folder.path().join("data"));
        GaugeShop::with(folder, program)
    }

    /// One of a user who may open only what is his.
    fn of_nobody() -> GaugeShop {
        assert!(
            am_root(),
            "run as administrator: only he can give ports away"
        );
        let folder = open_folder();
        let program = Program::started_by(runner(), &folder.path().join("data"));
        GaugeShop::with(folder, program)
    }

    fn with(folder: TempDir, program: Program) -> GaugeShop {
        let engine = folder.path().join("engine.toml");
        std::fs::copy(example("invented-v8.toml"), &engine).expect("it is copied");
        let engine = engine.to_str().expect("UTF-8");
        program.json(&["job", "new", "v8", engine]);
        let port = folder.path().join("port");
        GaugeShop {
            folder,
            program,
            station: DrivenStation::new(),
            port,
        }
    }

    fn port(&self) -> &str {
        self.port.to_str().expect("UTF-8")
    }

    /// Plugs a gauge in; the system gives it another name each time.
    fn plug_in(&self, name: &str) -> DrivenGauge {
        let gauge = self.station.plug_in(name);
        self.leads_to(gauge.path());
        gauge
    }

    fn leads_to(&self, path: &str) {
        let _ = std::fs::remove_file(&self.port);
        std::os::unix::fs::symlink(path, &self.port).expect("a link");
    }

    fn serve(&self) -> Daemon {
        self.station.serve(&self.program)
    }

    /// Enters the gauge and begins a route with it.
    fn route(&self, daemon: &Daemon, gauge: &str, profile: &str, route: &[&str]) -> Route {
        let mut set = vec!["gauge", "set", gauge, "--profile", profile];
        set.extend(["--port", self.port()]);
        if gauge == "burette" {
            set.extend(["--capacity", "100 cc", "--counts", "up"]);
        }
        daemon.program.json(&set);
        daemon.api.wait_for_port(gauge);
        self.begin(daemon, gauge, route)
    }

    fn begin(&self, daemon: &Daemon, gauge: &str, route: &[&str]) -> Route {
        let events = daemon.api.events(None);
        let mut measure = vec!["measure", "v8"];
        measure.extend(route);
        measure.push("--json");
        let mut running = daemon.program.start(&measure);
        running.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        Route {
            gauge: gauge.to_owned(),
            events,
            running,
        }
    }

    /// What was kept: each spot that counts, with its value.
    #[track_caller]
    fn kept(&self) -> Vec<(String, f64)> {
        let shown = self.program.json(&["job", "show", "v8"]);
        let all = shown["readings"].as_array().expect("readings").iter();
        let counts = |r: &&Value| r["state"] == "final" || r["state"] == "held";
        let pair = |r: &Value| {
            let spot = r["spot"].as_str().expect("a spot").to_owned();
            (spot, r["figure"]["value"].as_f64().expect("a value"))
        };
        all.filter(counts).map(pair).collect()
    }

    #[track_caller]
    fn has(&self, expected: &[(&str, f64)], within: f64) {
        let kept = self.kept();
        assert_eq!(kept.len(), expected.len(), "{kept:?}");
        for ((spot, value), (wanted, truth)) in kept.iter().zip(expected) {
            assert!(
                spot == wanted && (value - truth).abs() <= within,
                "{kept:?}"
            );
        }
    }
}

/// A route that runs, and what is announced meanwhile.
struct Route {
    gauge: String,
    events: ApiEvents,
    running: RunningProgram,
}

impl Route {
    /// The gauge's line is otherwise: in this word, with what to do.
    #[track_caller]
    fn shows(&mut self, link: &str, todo: &str) {
        let gauge = self.gauge.clone();
        let event = self
            .events
            .wait(&format!("{gauge} is {link}: {todo}"), |event| {
                event["event"] == "link"
                    && event["gauge"]["setup"]["name"] == gauge.as_str()
                    && event["gauge"]["link"] == link
            });
        let said = event["gauge"]["todo"].as_str().unwrap_or_default();
        assert!(said.contains(todo), "{event}");
    }

    /// It is said to the person at the shop.
    #[track_caller]
    fn hears(&mut self, words: &str) {
        self.events.wait(&format!("{words:?} is said"), |event| {
            event["event"] == "say"
                && event["said_as"] == "gauge"
                && event["text"]
                    .as_str()
                    .is_some_and(|text| text.contains(words))
        });
    }

    #[track_caller]
    fn takes(&mut self, spot: &str) {
        self.events.wait(&format!("{spot} is taken"), |event| {
            event["event"] == "reading" && event["reading"]["spot"] == spot
        });
    }

    #[track_caller]
    fn waits(daemon: &Daemon) {
        let state = daemon.api.get("state").good();
        assert_eq!(
            state["routes"][0]["running"], true,
            "the route waits: {state}"
        );
    }

    #[track_caller]
    fn ends(self) {
        self.running.end().good();
    }
}

const TWO: [&str; 4] = ["chambers", "--cylinders", "1,3", "--rounds"];

fn two_chambers() -> Vec<&'static str> {
    let mut route = TWO.to_vec();
    route.push("1");
    route
}

#[test]
fn a_burette_that_falls_silent_is_told_waited_for_and_heard_again() {
    let shop = GaugeShop::new();
    let burette = shop.plug_in("burette");
    let daemon = shop.serve();
    let mut route = shop.route(&daemon, "burette", "ascii-volume", &two_chambers());
    burette.play(&Hand::at_burette(1).pour(64.03).stream());
    route.takes("chamber/1");

    burette.hush();
    shop.station.pass(10.0);
    route.shows("silent", "switch it on");
    route.hears("burette is silent");
    Route::waits(&daemon);
    let listed = daemon.program.json(&["gauge", "list"]);
    assert_eq!(listed["gauges"][0]["link"], "silent");

    // Refilled while nobody heard it: the step from where it was is no pour.
    burette.play(&Hand::at_burette(2).rest(3.0).stream());
    route.hears("burette is back");
    burette.play(&Hand::at_burette(3).pour(64.10).refill().rest(1.0).stream());
    route.ends();
    shop.has(&[("chamber/1", 64.03), ("chamber/3", 64.10)], 0.03);
}

#[test]
fn a_burette_pulled_out_amid_a_pour_stays_away_and_comes_back_under_another_name() {
    let shop = GaugeShop::new();
    let burette = shop.plug_in("burette");
    let first = burette.path().to_owned();
    let daemon = shop.serve();
    let mut route = shop.route(&daemon, "burette", "ascii-volume", &two_chambers());
    burette.play(&Hand::at_burette(1).pour(64.03).refill().rest(2.0).stream());
    route.takes("chamber/1");
    // Half a chamber, then the plug comes out.
    burette.play(&Hand::at_burette(2).rest(2.0).go_to(30.0, 8.0).stream());
    burette.pull_out();
    route.shows("lost", "plug it in again");
    route.hears("burette is gone");
    // It stays away: it was looked for meanwhile, and not found.
    std::fs::remove_file(&shop.port).expect("the link");
    route.shows("lost", "no such port");
    Route::waits(&daemon);

    // Something else took its old name.
    let other = shop.station.plug_in("another");
    let burette = shop.plug_in("burette");
    assert!(burette.path() != first || other.path() != first);
    route.hears("its port is there again");
    // The rest of the half chamber, as the builder finds it: it is no chamber.
    burette.play(
        &Hand::at_burette(3)
            .from(30.0)
            .rest(2.0)
            .refill()
            .rest(3.0)
            .stream(),
    );
    shop.has(&[("chamber/1", 64.03)], 0.03);
    // What became of the half chamber is asked; it is poured again.
    let state = daemon.api.get("state").good();
    assert_eq!(state["routes"][0]["asked"]["about"], "lost_pour", "{state}");
    daemon.program.json(&["steer", "v8", "again"]);
    burette.play(&Hand::at_burette(4).pour(64.10).refill().rest(1.0).stream());
    route.ends();
    shop.has(&[("chamber/1", 64.03), ("chamber/3", 64.10)], 0.03);
}

#[test]
fn a_dial_whose_unit_is_changed_amid_a_route_says_so_and_takes_nothing_until_it_is_back() {
    let shop = GaugeShop::new();
    let dial = shop.plug_in("dial");
    let daemon = shop.serve();
    let set = [
        "gauge",
        "set",
        "dial",
        "--profile",
        "ascii-length",
        "--port",
        shop.port(),
    ];
    daemon.program.json(&set);
    daemon.api.wait_for_port("dial");
    dial.play(&Hand::at_dial(1).go_to(10.0, 8.0).rest(4.0).stream());
    shop.station.pass(2.0);
    daemon
        .program
        .json(&["gauge", "zero", "dial", "--job", "v8"]);
    let mut route = shop.begin(&daemon, "dial", &["deck-sides", "--cylinders", "1"]);
    dial.play(
        &Hand::at_dial(2)
            .from(10.0)
            .rest(1.0)
            .go_to(9.5, 2.0)
            .rest(5.0)
            .stream(),
    );
    route.takes("deck/1/thrust");

    // A whole push, away and back, in inches; then it stands where it stood.
    let inches = Hand::at_dial(3)
        .from(9.5)
        .in_inches()
        .rest(2.0)
        .go_to(4.0, 8.0);
    dial.play(&inches.rest(5.0).go_to(9.5, 8.0).rest(5.0).stream());
    route.shows("live", "switch it back to mm");
    route.hears("dial sends in now, it sent mm");
    Route::waits(&daemon);
    shop.has(&[("deck/1/thrust", 0.5)], 0.002);

    dial.play(&Hand::at_dial(4).from(9.5).rest(2.0).stream());
    route.hears("dial sends mm again");
    let again = Hand::at_dial(5)
        .from(9.5)
        .rest(3.0)
        .go_to(4.0, 4.0)
        .rest(1.0);
    dial.play(&again.go_to(9.45, 4.0).rest(6.0).stream());
    route.takes("deck/1/antithrust");
    route.ends();
    shop.has(
        &[("deck/1/thrust", 0.5), ("deck/1/antithrust", 0.55)],
        0.002,
    );
}

/// What another program does that opens a serial port for itself: it takes it exclusively.
fn held(path: &str) -> std::os::fd::OwnedFd {
    let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
    let port = rustix::fs::open(path, flags, Mode::empty()).expect("it opens");
    rustix::termios::ioctl_tiocexcl(&port).expect("it can be had for one alone");
    port
}

#[test]
fn a_port_that_another_program_has_or_that_is_somebody_elses_is_told_and_opened_once_it_can_be() {
    let shop = GaugeShop::of_nobody();
    let burette = true_time::TrueTimeGauge::plug_in();
    give(burette.path(), USER);
    shop.leads_to(burette.path());
    // Another user's daemon is a process of its own; no value is played to it.
    let daemon = shop.program.serve(&[]);
    let mut route = shop.route(&daemon, "burette", "ascii-volume", &two_chambers());
    drop(burette);
    route.shows("lost", "plug it in again");

    // It is back, but the system gave it to somebody else.
    let burette = true_time::TrueTimeGauge::plug_in();
    give(burette.path(), 0);
    shop.leads_to(burette.path());
    route.shows("lost", "this user may not open the port");
    route.hears("this user may not open");
    Route::waits(&daemon);

    // Given to him, but another program was quicker.
    let holder = held(burette.path());
    give(burette.path(), USER);
    route.shows("lost", "another program holds this port");
    route.hears("another program holds");
    drop(holder);
    burette.let_go();

    route.hears("its port is there again");
    Route::waits(&daemon);
    daemon.program.json(&["steer", "v8", "end"]);
    route.ends();
    shop.has(&[], 0.0);
    drop(shop.folder);
}
