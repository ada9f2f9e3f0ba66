//! A station on driven time: virtual gauges on pseudo-terminals, and the daemon in this process in
//! step with them.
//!
//! Time stands still until a gauge is played or time is let pass. It then advances from one frame
//! to the next. It advances from a frame only after the port has read the frame and the station
//! has handled it. So no player runs ahead of the daemon, however busy the machine is. A gauge
//! that is not played goes on sending its last value, as a real one does.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use benchhand_daemon::clock::Clock;
use benchhand_daemon::{OpenLine, Opener, SerialOpener, StationHandle, WantedLine};
use benchhand_drivers::port::PortProgress;
use benchhand_drivers::stream::{LineEvent, Stream};
use benchhand_drivers::timebase::{DrivenTime, Timebase};
use benchhand_drivers::transport::Transport;
use benchhand_drivers::transport::pty::PtyEnd;

use crate::hosted::{Calendar, HostedDaemon};
use crate::program::{Daemon, Program};

/// Longest real time for any step of the daemon. Only a machine that stands still needs more.
const PATIENCE: Duration = Duration::from_secs(60);
/// The shortest wait between two checks of a port's progress.
const LOOK_AGAIN: Duration = Duration::from_micros(200);

/// A station with its own time. It is cheap to clone; all clones are one station.
#[derive(Clone)]
pub struct DrivenStation {
    time: Arc<DrivenTime>,
    ports: Arc<Ports>,
    seats: Arc<Mutex<Seats>>,
    calendar: Arc<Calendar>,
}

#[derive(Default)]
struct Seats {
    gauges: BTreeMap<u64, Seat>,
    next: u64,
    /// The running daemon, if there is one.
    daemon: Option<StationHandle>,
}

/// A gauge at its end of a line.
struct Seat {
    far: PtyEnd,
    progress: Arc<PortProgress>,
    says: Says,
    /// Time at which the gauge last sent, in microseconds.
    spoke_us: Option<u64>,
}

/// Makes the answer to a question.
type Answer = Box<dyn FnMut(&[u8]) -> Vec<u8> + Send>;

enum Says {
    /// The gauge sends by itself: the frames still to be sent with their times, then the last
    /// frame again and again.
    Streams {
        to_send: VecDeque<(u64, Vec<u8>)>,
        shows: Option<(Vec<u8>, u64)>,
    },
    /// The gauge sends when it is asked.
    Answers {
        question: usize,
        answer: Answer,
        heard: Vec<u8>,
        counted: u64,
    },
}

/// Opens the real serial lines, on driven time.
struct Ports {
    serial: SerialOpener,
    time: Arc<DrivenTime>,
    progress: Mutex<BTreeMap<String, Arc<PortProgress>>>,
}

impl Opener for Ports {
    fn line(&self, wanted: &WantedLine) -> OpenLine {
        self.serial.line(wanted)
    }

    fn time(&self, _gauge: &str) -> Arc<dyn Timebase> {
        Arc::clone(&self.time) as Arc<dyn Timebase>
    }

    fn progress(&self, gauge: &str) -> Arc<PortProgress> {
        let mut all = lock(&self.progress);
        Arc::clone(all.entry(gauge.to_owned()).or_default())
    }
}

fn lock<T>(what: &Mutex<T>) -> MutexGuard<'_, T> {
    what.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Default for DrivenStation {
    fn default() -> Self {
        DrivenStation::new()
    }
}

impl DrivenStation {
    /// A station without gauges.
    pub fn new() -> DrivenStation {
        let time = Arc::new(DrivenTime::new());
        let serial = SerialOpener::new(Arc::clone(&time) as Arc<dyn Timebase>);
        DrivenStation {
            ports: Arc::new(Ports {
                serial,
                time: Arc::clone(&time),
                progress: Mutex::default(),
            }),
            time,
            seats: Arc::default(),
            calendar: Arc::default(),
        }
    }

    /// Serves the data folder of a program in this process, on this station's time.
    #[track_caller]
    pub fn serve(&self, program: &Program) -> Daemon {
        let opener = Arc::clone(&self.ports) as Arc<dyn Opener>;
        let calendar = Arc::clone(&self.calendar) as Arc<dyn Clock>;
        let hosted = HostedDaemon::start(program.data(), opener, calendar);
        lock(&self.seats).daemon = Some(hosted.station());
        Daemon::hosted(program, hosted)
    }

    /// Plugs in a gauge that sends by itself. The shop knows it by this name.
    pub fn plug_in(&self, name: &str) -> DrivenGauge {
        self.sit(
            name,
            Says::Streams {
                to_send: VecDeque::new(),
                shows: None,
            },
        )
    }

    /// Plugs in a gauge that answers at once. Each question is a frame of `question` bytes, and
    /// `answer` makes its answer.
    pub fn plug_in_answering(
        &self,
        name: &str,
        question: usize,
        answer: impl FnMut(&[u8]) -> Vec<u8> + Send + 'static,
    ) -> DrivenGauge {
        self.sit(
            name,
            Says::Answers {
                question,
                answer: Box::new(answer),
                heard: Vec::new(),
                counted: 0,
            },
        )
    }

    fn sit(&self, name: &str, mut says: Says) -> DrivenGauge {
        let far = PtyEnd::open().expect("a pseudo-terminal");
        let path = far.path().to_owned();
        let progress = self.ports.progress(name);
        if let Says::Answers { counted, .. } = &mut says {
            *counted = progress.sent();
        }
        let seat = Seat {
            far,
            progress,
            says,
            spoke_us: None,
        };
        let mut seats = lock(&self.seats);
        let number = seats.next;
        seats.next += 1;
        seats.gauges.insert(number, seat);
        DrivenGauge {
            path,
            number,
            station: self.clone(),
        }
    }

    /// Plays streams at the same time, each to its end.
    #[track_caller]
    pub fn play(&self, streams: &[(&DrivenGauge, Stream)]) {
        let now = self.time.now_us();
        let mut end = now;
        {
            let mut seats = lock(&self.seats);
            for (gauge, stream) in streams {
                let seat = seats.gauges.get_mut(&gauge.number).expect("plugged in");
                end = end.max(seat.begin(stream, now));
            }
        }
        self.until(end);
    }

    /// The builder goes home and comes back after this many hours.
    pub fn comes_back_after(&self, hours: i64) {
        self.calendar.pass(hours);
    }

    /// Lets this many seconds pass. Every gauge goes on sending its last value.
    #[track_caller]
    pub fn pass(&self, seconds: f64) {
        self.until(self.time.now_us() + (seconds * 1e6).round() as u64);
    }

    #[track_caller]
    fn until(&self, end_us: u64) {
        let mut seats = lock(&self.seats);
        loop {
            let due = seats.gauges.values().filter_map(Seat::due).min();
            let to = due.unwrap_or(end_us).min(end_us).max(self.time.now_us());
            self.time.advance_to(to);
            for seat in seats.gauges.values_mut() {
                seat.speak(to);
            }
            // A daemon that has ended handles nothing.
            if let Some(daemon) = &seats.daemon {
                let _ = daemon.taken_in();
            }
            if to == end_us {
                return;
            }
        }
    }
}

impl Seat {
    /// Begins to play. Gives the time of the end, in microseconds.
    fn begin(&mut self, stream: &Stream, now_us: u64) -> u64 {
        let Says::Streams { to_send, shows } = &mut self.says else {
            panic!("a gauge that answers is not played");
        };
        let period = shows.as_ref().map_or(0, |(_, period)| *period);
        let begin = self.spoke_us.map_or(now_us, |spoke| spoke + period);
        let begin = begin.max(now_us);
        for event in &stream.events {
            match &event.what {
                LineEvent::Rx(bytes) => to_send.push_back((begin + event.at_us, bytes.clone())),
                other => panic!("{other:?} is not played"),
            }
        }
        let mut last = to_send.iter().rev();
        let (end, bytes) = last.next().expect("something to play").clone();
        let period = last.next().map_or(100_000, |(before, _)| end - before);
        *shows = Some((bytes, period.max(1_000)));
        end
    }

    /// Time at which the gauge next sends by itself or is next asked, in microseconds.
    fn due(&self) -> Option<u64> {
        match &self.says {
            Says::Streams { to_send, shows } => match (to_send.front(), shows, self.spoke_us) {
                (Some((at, _)), _, _) => Some(*at),
                (None, Some((_, period)), Some(spoke)) => Some(spoke + period),
                _ => None,
            },
            Says::Answers { .. } => self.is_asked().then(|| self.progress.due_us()),
        }
    }

    fn is_asked(&self) -> bool {
        matches!(self.says, Says::Answers { .. }) && self.progress.is_open()
    }

    /// Sends what is due, and waits until the port has handled it.
    #[track_caller]
    fn speak(&mut self, now_us: u64) {
        while self.due().is_some_and(|due| due <= now_us) {
            let Says::Streams { to_send, shows } = &mut self.says else {
                break;
            };
            let bytes = match to_send.pop_front() {
                Some((_, bytes)) => bytes,
                None => shows.as_ref().expect("it is due").0.clone(),
            };
            self.spoke_us = Some(now_us);
            self.put(&bytes);
        }
        let until = Instant::now() + PATIENCE;
        while self.is_asked() && !self.answer(now_us) {
            assert!(Instant::now() < until, "the port asks nothing more");
        }
    }

    /// Sends bytes to the port and waits until they were read. If no port is open, the bytes are
    /// lost, as with a real gauge.
    #[track_caller]
    fn put(&mut self, bytes: &[u8]) {
        if !self.progress.is_open() {
            return;
        }
        let wanted = self.progress.consumed() + bytes.len() as u64;
        if self.far.write(bytes).is_err() {
            return;
        }
        let until = Instant::now() + PATIENCE;
        while self.progress.consumed() < wanted && self.progress.is_open() {
            assert!(Instant::now() < until, "the port leaves bytes unread");
            let _ = self.far.read(&mut [0; 64], LOOK_AGAIN);
        }
    }

    /// Reads a question and answers it. `true` if the port has nothing more to ask now.
    fn answer(&mut self, now_us: u64) -> bool {
        let done = self.progress.done_us() >= now_us;
        let sent = self.progress.sent();
        let Says::Answers {
            question,
            answer,
            heard,
            counted,
        } = &mut self.says
        else {
            return true;
        };
        if done && *counted >= sent {
            return true;
        }
        let mut buffer = [0; 256];
        let count = self.far.read(&mut buffer, LOOK_AGAIN).unwrap_or(0);
        *counted += count as u64;
        heard.extend_from_slice(&buffer[..count]);
        if heard.len() < *question {
            return false;
        }
        let asked: Vec<u8> = heard.drain(..*question).collect();
        let said = answer(&asked);
        self.put(&said);
        false
    }
}

/// A gauge that is plugged in.
pub struct DrivenGauge {
    path: String,
    number: u64,
    station: DrivenStation,
}

impl DrivenGauge {
    /// The path that a program opens.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Plays a stream to its end.
    #[track_caller]
    pub fn play(&self, stream: &Stream) {
        self.station.play(&[(self, stream.clone())]);
    }

    /// Frees the line after the program that held it was killed, as a real port does.
    pub fn let_go(&self) {
        let seats = lock(&self.station.seats);
        let seat = seats.gauges.get(&self.number).expect("plugged in");
        seat.far.let_go().expect("it can be let go");
    }

    /// Falls silent like a gauge that was switched off. Its adapter stays plugged in.
    pub fn hush(&self) {
        let mut seats = lock(&self.station.seats);
        let seat = seats.gauges.get_mut(&self.number).expect("plugged in");
        if let Says::Streams { shows, .. } = &mut seat.says {
            *shows = None;
        }
    }

    /// Unplugs the gauge: the line hangs up.
    pub fn pull_out(self) {
        drop(self);
    }
}

impl Drop for DrivenGauge {
    fn drop(&mut self) {
        lock(&self.station.seats).gauges.remove(&self.number);
    }
}
