//! What a reading costs in a job of no, of 5,000 and of 50,000 readings, beside the bare append of a
//! line of the same length with the same sync, in the same run. Figures are recorded, not gated.
//!
//! `cargo bench -p benchhand-daemon --bench growth` measures on the disk that the temporary folder
//! lies on; numbers after `--` are the sizes. Every ratio is so that more is better, and 1 is as
//! good as the bare append.

#![allow(clippy::print_stdout)] // A benchmark that measures a daemon says what it found.

use std::fs::OpenOptions;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::sync::{Arc, mpsc};
use std::time::{Duration, Instant};

use benchhand_daemon::clock::SystemClock;
use benchhand_daemon::store::fact::{Fact, Reading, ReadingSource};
use benchhand_daemon::store::job::NewJob;
use benchhand_daemon::store::{Access, Store};
use benchhand_daemon::{Keeper, SerialOpener, serve_on};
use benchhand_drivers::RealTime;
use benchhand_files::RealFiles;
use tempfile::TempDir;
use tokio::sync::oneshot;

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");

/// How many readings each way is measured with, in turns of [`TURN`].
const MEASURED: usize = 400;
const TURN: usize = 50;

/// How many write to one job at once.
const WRITERS: usize = 16;

/// Invented readings of eight chambers.
fn reading(n: usize) -> Reading {
    Reading {
        round: u32::try_from(1 + n / 8).ok(),
        ..Reading::new(
            format!("chamber/{}", n % 8 + 1),
            64.0 + (n * 7919 % 11) as f64 / 100.0,
            "cc",
            ReadingSource::Typed,
        )
    }
}

/// Writes a job of so many readings as its journal alone, without a sync for each.
fn grow(folder: &Path, readings: usize) {
    let clock = Arc::new(SystemClock::new());
    let store = Store::open(folder, Arc::new(RealFiles), clock, Access::write("bench"));
    let store = store.expect("a store");
    let new = NewJob {
        name: "v8".into(),
        engine: ENGINE.into(),
        ..NewJob::default()
    };
    let (mut job, _) = store.create_job(new).expect("a job");
    // An import is one line of many readings, so a large job is made in few syncs.
    for from in (0..readings).step_by(1000) {
        let rows = (from..readings.min(from + 1000)).map(reading).collect();
        let import = benchhand_daemon::store::fact::ImportedReadings {
            file: "invented.csv".into(),
            hash: "0".repeat(64),
            rows,
        };
        job.append(Fact::Import(import), None).expect("readings");
    }
}

/// A file to which lines are appended and synced, and nothing else.
struct Bare {
    file: std::fs::File,
    line: Vec<u8>,
}

impl Bare {
    fn new(folder: &Path) -> Bare {
        let path = folder.join("bare");
        let file = OpenOptions::new().create(true).append(true).open(path);
        let mut line = vec![b'x'; 399];
        line.push(b'\n');
        Bare {
            file: file.expect("a file"),
            line,
        }
    }

    fn append(&mut self) {
        self.file.write_all(&self.line).expect("written");
        self.file.sync_data().expect("synced");
    }
}

/// A daemon on a thread of its own.
struct Served {
    address: SocketAddr,
    token: String,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<std::thread::JoinHandle<()>>,
}

impl Served {
    fn start(data: &Path) -> Served {
        let data = data.to_owned();
        let (tell, told) = mpsc::channel();
        let (stop, stopped) = oneshot::channel::<()>();
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Runtime::new().expect("a runtime");
            let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
            let serving = serve_on(
                &data,
                listener,
                Arc::new(SerialOpener::new(Arc::new(RealTime::new()))),
                Arc::new(SystemClock::new()),
                move |ready| tell.send((ready.address, ready.token)).expect("a listener"),
                async {
                    let _ = stopped.await;
                },
            );
            runtime.block_on(serving).expect("a daemon");
        });
        let (address, token) = told.recv().expect("a daemon that answers");
        Served {
            address,
            token,
            stop: Some(stop),
            thread: Some(thread),
        }
    }

    fn line(&self) -> Line {
        let line = TcpStream::connect(self.address).expect("a connection");
        line.set_nodelay(true).expect("no delay");
        Line {
            head: format!(
                "Host: {}\r\nAuthorization: Bearer {}\r\n",
                self.address, self.token
            ),
            line: BufReader::new(line),
        }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stop = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// One connection that is used for request after request.
struct Line {
    head: String,
    line: BufReader<TcpStream>,
}

impl Line {
    fn ask(&mut self, request: &str) -> String {
        let line = self.line.get_mut();
        line.write_all(request.as_bytes()).expect("asked");
        let (mut status, mut length) = (String::new(), 0);
        loop {
            let mut field = String::new();
            self.line.read_line(&mut field).expect("an answer");
            let field = field.trim_end();
            if status.is_empty() {
                field.clone_into(&mut status);
            }
            if field.is_empty() {
                break;
            }
            let lower = field.to_ascii_lowercase();
            if let Some(value) = lower.strip_prefix("content-length:") {
                length = value.trim().parse().expect("a length");
            }
        }
        let mut body = vec![0; length];
        self.line.read_exact(&mut body).expect("a body");
        let body = String::from_utf8_lossy(&body).into_owned();
        assert!(status.starts_with("HTTP/1.1 200"), "{status}: {body}");
        body
    }

    fn empty(&mut self) {
        let request = format!("GET /v1/hello HTTP/1.1\r\n{}\r\n", self.head);
        self.ask(&request);
    }

    fn enter(&mut self, n: usize, key: &str) {
        let of = reading(n);
        let body = format!(
            "{{\"job\":\"v8\",\"spot\":\"{}\",\"value\":\"{:.2} cc\",\"sure\":false}}",
            of.spot, of.value
        );
        let request = format!(
            "POST /v1/readings/enter HTTP/1.1\r\n{}Idempotency-Key: {key}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            self.head,
            body.len()
        );
        self.ask(&request);
    }
}

fn timed(mut work: impl FnMut()) -> Duration {
    let began = Instant::now();
    work();
    began.elapsed()
}

/// The processor time that this process has had, s; `None` where the system does not say.
fn processor_time() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let after = stat.rsplit_once(") ")?.1;
    let mut fields = after.split(' ').skip(11);
    let ticks: f64 = fields.next()?.parse::<f64>().ok()? + fields.next()?.parse::<f64>().ok()?;
    Some(ticks / 100.0)
}

fn memory_mib(field: &str) -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with(field))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? / 1024)
}

/// The middle of the turns' times for one reading each, in microseconds.
fn middle_us(mut turns: Vec<Duration>) -> f64 {
    turns.sort();
    turns[turns.len() / 2].as_secs_f64() * 1e6 / TURN as f64
}

fn at_the_keeper(folder: &Path, readings: usize) {
    let clock = Arc::new(SystemClock::new());
    let keeper = Keeper::holding(folder.to_owned(), Arc::new(RealFiles), clock);
    let keeper = keeper.expect("a keeper");
    keeper.view("v8").expect("the job");
    // The index has been built once it answers.
    while keeper.jobs(None).expect("jobs").jobs.is_empty() {}
    let mut bare = Bare::new(folder);
    let (mut kept, mut bares) = (Vec::new(), Vec::new());
    let mut n = readings;
    let mut spent = 0.0;
    for _ in 0..MEASURED / TURN {
        bares.push(timed(|| (0..TURN).for_each(|_| bare.append())));
        let before = processor_time().unwrap_or(0.0);
        kept.push(timed(|| {
            for _ in 0..TURN {
                n += 1;
                keeper
                    .append("v8", Fact::Final(reading(n)), None)
                    .expect("kept");
            }
        }));
        spent += processor_time().unwrap_or(0.0) - before;
    }
    let (kept, bare_us) = (middle_us(kept), middle_us(bares));
    let together = timed(|| {
        std::thread::scope(|scope| {
            for writer in 0..WRITERS {
                let keeper = &keeper;
                scope.spawn(move || {
                    for n in 0..TURN {
                        let fact = Fact::Final(reading(writer + n * WRITERS));
                        keeper.append("v8", fact, None).expect("kept");
                    }
                });
            }
        });
    });
    let together = together.as_secs_f64() * 1e6 / (WRITERS * TURN) as f64;
    println!(
        "{readings} readings, keeper: {kept:.0} us, bare append {bare_us:.0} us: {:.2}; processor \
         {:.2} ms each; {WRITERS} writers {:.2} of one bare append at a time",
        bare_us / kept,
        spent * 1e3 / MEASURED as f64,
        bare_us / together,
    );
}

fn through_the_api(folder: &Path, readings: usize) {
    let served = Served::start(folder);
    let mut line = served.line();
    let mut bare = Bare::new(folder);
    line.enter(0, "first");
    // The index has been built, and the figures are made, once this is answered.
    line.ask(&format!("GET /v1/jobs HTTP/1.1\r\n{}\r\n", line.head));
    let (mut empty, mut bares, mut entered) = (Vec::new(), Vec::new(), Vec::new());
    let mut n = 0;
    let mut spent = 0.0;
    for _ in 0..MEASURED / TURN {
        empty.push(timed(|| (0..TURN).for_each(|_| line.empty())));
        bares.push(timed(|| (0..TURN).for_each(|_| bare.append())));
        let before = processor_time().unwrap_or(0.0);
        entered.push(timed(|| {
            for _ in 0..TURN {
                n += 1;
                line.enter(n, &format!("one-{n}"));
            }
        }));
        spent += processor_time().unwrap_or(0.0) - before;
    }
    let (empty, bare_us, entered) = (middle_us(empty), middle_us(bares), middle_us(entered));
    let together = timed(|| {
        std::thread::scope(|scope| {
            for writer in 0..WRITERS {
                let mut line = served.line();
                scope.spawn(move || {
                    for n in 0..TURN {
                        line.enter(writer + n * WRITERS, &format!("{writer}-{n}"));
                    }
                });
            }
        });
    });
    let together = together.as_secs_f64() * 1e6 / (WRITERS * TURN) as f64;
    println!(
        "{readings} readings, API: {entered:.0} us, empty request {empty:.0} us and bare append \
         {bare_us:.0} us: {:.2}; processor {:.2} ms each; {WRITERS} writers {:.2} of one bare append \
         at a time; {:?} MiB resident",
        (empty + bare_us) / entered,
        spent * 1e3 / MEASURED as f64,
        bare_us / together,
        memory_mib("VmRSS:"),
    );
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let sizes: Vec<usize> = words.iter().filter_map(|word| word.parse().ok()).collect();
    let sizes = if sizes.is_empty() {
        vec![0, 5_000, 50_000]
    } else {
        sizes
    };
    for readings in sizes {
        let folder = TempDir::new().expect("a folder");
        grow(folder.path(), readings);
        at_the_keeper(folder.path(), readings);
        through_the_api(folder.path(), readings);
    }
}
