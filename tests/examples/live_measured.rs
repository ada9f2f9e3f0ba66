//! What live values cost on true time, with the real executable: how late a value is an event, and how
//! much processor time and memory a daemon of eight gauges takes. Prints what was measured.
//!
//! First how late a line that eight gauges send fifty times a second is an event of the API, beside the
//! same line read by a bare thread and sent over a socket, in the same run: alone, and while readings are
//! kept by a disk that takes 20 ms for each sync (Linux's `strace` holds the syncs up; without it that part
//! says that it did not run). Then the daemon's processor time and memory with eight gauges that send ten
//! times a second, four routes and a page.
//!
//! `cargo run --release -p benchhand-tests --example live_measured -- [SECONDS]`, 30 where nothing is said.

#![allow(clippy::print_stdout)] // It says what it found.

#[cfg(target_os = "linux")]
mod measured {
    use std::collections::BTreeMap;
    use std::io::{BufRead, BufReader, Write};
    use std::net::{Ipv4Addr, TcpListener, TcpStream};
    use std::sync::atomic::{AtomicBool, Ordering};
    use std::sync::{Arc, Mutex};
    use std::time::{Duration, Instant};

    use benchhand_drivers::transport::Transport;
    use benchhand_drivers::transport::pty::PtyEnd;
    use benchhand_tests::program::{Daemon, Program, executable};
    use benchhand_tests::shop::{Shop, example};
    use serde_json::{Value, json};

    const GAUGES: usize = 8;
    /// Where the counting gauges begin, in thousandths of a millimetre.
    const FIRST: usize = 1_000;

    /// When each line was written: by the gauge and the count that it showed.
    type Sent = Arc<Mutex<BTreeMap<(String, usize), Instant>>>;

    fn name(n: usize) -> String {
        format!("dial{n}")
    }

    /// Lets every gauge send a count of its own, `times` a second, until told to end.
    fn counting(ends: &mut [PtyEnd], times: u32, sent: &Sent, over: &AtomicBool) {
        let every = Duration::from_secs(1) / times;
        let apart = every / GAUGES as u32;
        let began = Instant::now();
        let mut turn = 0_u32;
        while !over.load(Ordering::Acquire) {
            for (n, end) in ends.iter_mut().enumerate() {
                let due = every * turn + apart * n as u32;
                std::thread::sleep(due.saturating_sub(began.elapsed()));
                let count = FIRST + turn as usize;
                let line = format!("{:.3} mm\r\n", count as f64 / 1000.0);
                let mut all = sent.lock().expect("not poisoned");
                all.insert((name(n), count), Instant::now());
                drop(all);
                let _ = end.write(line.as_bytes());
            }
            turn += 1;
        }
    }

    /// A percentile of times, ms.
    fn percentile(times: &[Duration], share: f64) -> f64 {
        let at = ((times.len() - 1) as f64 * share).round() as usize;
        times[at].as_secs_f64() * 1e3
    }

    fn told(what: &str, mut times: Vec<Duration>) -> f64 {
        times.sort();
        if times.is_empty() {
            println!("{what}: nothing arrived");
            return f64::NAN;
        }
        let p99 = percentile(&times, 0.99);
        println!(
            "{what}: {} values, {:.2} ms in the middle, {p99:.2} ms at the 99th percentile, {:.2} ms at most",
            times.len(),
            percentile(&times, 0.5),
            percentile(&times, 1.0),
        );
        p99
    }

    /// How late the lines of eight gauges are on the far side of a socket, each port read by a bare
    /// thread.
    fn bare(seconds: u64) -> f64 {
        let mut ends: Vec<PtyEnd> = (0..GAUGES)
            .map(|_| PtyEnd::open().expect("a pseudo-terminal"))
            .collect();
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
        let to = listener.local_addr().expect("an address");
        for (n, end) in ends.iter().enumerate() {
            let path = end.path().to_owned();
            std::thread::spawn(move || {
                let mut out = TcpStream::connect(to).expect("a connection");
                out.set_nodelay(true).expect("no delay");
                let port = BufReader::new(std::fs::File::open(path).expect("a port"));
                for line in port.lines().map_while(Result::ok) {
                    let _ = out.write_all(format!("{} {line}\n", name(n)).as_bytes());
                }
            });
        }
        let (sent, over) = (Sent::default(), Arc::new(AtomicBool::new(false)));
        let late = Arc::new(Mutex::new(Vec::new()));
        for _ in 0..GAUGES {
            let (line, _) = listener.accept().expect("a connection");
            let (sent, late) = (Arc::clone(&sent), Arc::clone(&late));
            std::thread::spawn(move || {
                for line in BufReader::new(line).lines().map_while(Result::ok) {
                    let now = Instant::now();
                    let mut words = line.split(' ');
                    let gauge = words.next().unwrap_or_default().to_owned();
                    let mm = words.next().and_then(|mm| mm.parse::<f64>().ok());
                    let Some(mm) = mm else { continue };
                    let key = (gauge, (mm * 1000.0).round() as usize);
                    if let Some(at) = sent.lock().expect("not poisoned").get(&key) {
                        late.lock().expect("not poisoned").push(now - *at);
                    }
                }
            });
        }
        std::thread::scope(|scope| {
            scope.spawn(|| counting(&mut ends, 50, &sent, &over));
            std::thread::sleep(Duration::from_secs(seconds));
            over.store(true, Ordering::Release);
        });
        let times = std::mem::take(&mut *late.lock().expect("not poisoned"));
        told("a bare thread and a socket", times)
    }

    /// Eight dials in the register and plugged in.
    fn plugged_in(daemon: &Daemon, profile: &str) -> Vec<PtyEnd> {
        let mut ends = Vec::new();
        for n in 0..GAUGES {
            let end = PtyEnd::open().expect("a pseudo-terminal");
            let set = ["gauge", "set", &name(n), "--profile", profile, "--port"];
            daemon
                .program
                .json(&[set.as_slice(), &[end.path()]].concat());
            ends.push(end);
        }
        for n in 0..GAUGES {
            daemon.api.wait_for_port(&name(n));
        }
        ends
    }

    /// How late a line is an event. `entering` keeps readings meanwhile, one after another.
    fn latency(daemon: &Daemon, seconds: u64, entering: bool, what: &str) -> f64 {
        let mut ends = plugged_in(daemon, "ascii-length");
        let (sent, over) = (Sent::default(), Arc::new(AtomicBool::new(false)));
        let mut events = daemon.api.events(None);
        let mut late = Vec::new();
        let mut kept = 0;
        std::thread::scope(|scope| {
            scope.spawn(|| counting(&mut ends, 50, &sent, &over));
            if entering {
                scope.spawn(|| {
                    while !over.load(Ordering::Acquire) {
                        let value = format!("{:.4} cc", 64.0 + f64::from(kept) * 1e-4);
                        let spot = format!("chamber/{}", kept % 8 + 1);
                        let body = json!({"job": "v8", "spot": spot, "value": value, "sure": true});
                        let answer =
                            daemon
                                .api
                                .post("readings/enter", &format!("key-{kept}"), &body);
                        answer.expect("it answers").good();
                        kept += 1;
                    }
                });
            }
            let began = Instant::now();
            while began.elapsed() < Duration::from_secs(seconds) {
                let Some(event) = events.next_event() else {
                    break;
                };
                let now = Instant::now();
                let shown = event["live"][0]["value"].as_f64();
                let (Some("value"), Some(mm)) = (event["event"].as_str(), shown) else {
                    continue;
                };
                let gauge = event["gauge"].as_str().unwrap_or_default().to_owned();
                let key = (gauge, (mm * 1000.0).round() as usize);
                if let Some(at) = sent.lock().expect("not poisoned").get(&key) {
                    late.push(now - *at);
                }
            }
            over.store(true, Ordering::Release);
        });
        let p99 = told(what, late);
        if entering {
            println!("  {kept} readings were kept meanwhile");
        }
        p99
    }

    /// The processor time of a process, s, and what it has resident, MiB.
    fn taken(pid: u32) -> (f64, u64) {
        let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).expect("it runs");
        let fields: Vec<&str> = stat
            .rsplit_once(") ")
            .map(|(_, after)| after.split(' ').collect())
            .unwrap_or_default();
        let ticks = |n: usize| fields[n].parse::<f64>().expect("a number");
        let status = std::fs::read_to_string(format!("/proc/{pid}/status")).expect("it runs");
        let line = status.lines().find(|line| line.starts_with("VmRSS:"));
        let kib = line.and_then(|line| line.split_whitespace().nth(1)?.parse::<u64>().ok());
        (
            (ticks(11) + ticks(12)) / 100.0,
            kib.unwrap_or_default() / 1024,
        )
    }

    /// What a daemon takes with eight gauges at ten a second, four routes and a page.
    fn cost(seconds: u64) {
        let shop = Shop::new();
        let engine = example("invented-v8.toml");
        let engine = engine.to_str().expect("UTF-8");
        for job in 0..4 {
            shop.program
                .json(&["job", "new", &format!("job{job}"), engine]);
        }
        let daemon = shop.program.serve(&[]);
        let mut ends = plugged_in(&daemon, "ascii-volume");
        let page = daemon.api.browser();
        page.page("/jobs");
        let mut events = daemon.api.events(None);
        std::thread::spawn(move || while events.next_event().is_some() {});
        let mut routes = Vec::new();
        for n in 0..4 {
            let burette = format!("volume={}", name(n));
            let job = format!("job{n}");
            let measure = ["measure", &job, "chambers", "--gauge", &burette, "--json"];
            let mut running = shop.program.start(&measure);
            running.wait("the route runs", |event: &Value| {
                event["progress"]["running"] == true
            });
            routes.push(running);
        }
        let over = AtomicBool::new(false);
        std::thread::scope(|scope| {
            scope.spawn(|| {
                let began = Instant::now();
                let mut turn = 0_u32;
                while !over.load(Ordering::Acquire) {
                    std::thread::sleep(
                        (Duration::from_millis(100) * turn).saturating_sub(began.elapsed()),
                    );
                    // A burette that delivers and is filled again, and one that rests.
                    let second = f64::from(turn) / 10.0 % 30.0;
                    for (n, end) in ends.iter_mut().enumerate() {
                        let pour = if n < 4 { second.min(20.0) * 3.0 } else { 12.0 };
                        let _ = end.write(format!("{pour:.2} cc\r\n").as_bytes());
                    }
                    turn += 1;
                }
            });
            std::thread::sleep(Duration::from_secs(3));
            let (before, _) = taken(daemon.pid());
            std::thread::sleep(Duration::from_secs(seconds));
            let (after, resident) = taken(daemon.pid());
            over.store(true, Ordering::Release);
            println!(
                "eight gauges at 10 Hz, four routes and a page: {:.2} % of a core, {resident} MiB resident",
                100.0 * (after - before) / seconds as f64
            );
        });
        drop(routes);
    }

    /// The executable whose syncs take 20 ms each; `None` where no `strace` is there.
    fn with_slow_syncs(shop: &Shop) -> Option<Program> {
        let there = std::process::Command::new("strace").arg("-V").output();
        there.ok()?;
        let slow = "inject=fdatasync,fsync:delay_exit=20000";
        let strace = [
            "strace",
            "-D",
            "-f",
            "-q",
            "--seccomp-bpf",
            "-o",
            "/dev/null",
        ];
        let by = strace.into_iter().chain(["-e", slow]).map(str::to_owned);
        let by = by.chain([executable().display().to_string()]).collect();
        Some(Program::started_by(by, shop.program.data()))
    }

    pub fn run() {
        let seconds = std::env::args().nth(1);
        let seconds = seconds.map_or(30, |text| text.parse().expect("seconds"));
        let baseline = bare(seconds);
        let shop = Shop::with_job();
        let daemon = shop.program.serve(&[]);
        let alone = latency(&daemon, seconds, false, "an event");
        daemon.stop();
        println!("  bare against event: {:.2}", baseline / alone);
        let shop = Shop::with_job();
        match with_slow_syncs(&shop) {
            Some(program) => {
                let what = "an event while each sync takes 20 ms";
                let daemon = program.serve(&[]);
                let slow = latency(&daemon, seconds, true, what);
                daemon.stop();
                println!("  bare against event: {:.2}", baseline / slow);
            }
            None => println!("while each sync takes 20 ms: not run, no strace here"),
        }
        cost(seconds);
    }
}

#[cfg(target_os = "linux")]
fn main() {
    measured::run();
}

#[cfg(not(target_os = "linux"))]
fn main() {
    println!("it plays gauges on Linux's pseudo-terminals");
}
