//! How other threads reach the station's thread.

use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use benchhand_drivers::port::{PortEvent, SinkError};
use benchhand_wire::{Reason, Refusal, RouteProgress};

use super::opening::Offer;
use super::station::Station;

/// A message to the station's thread.
pub(crate) enum News {
    /// A port's thread reports an event.
    Port {
        /// The gauge.
        gauge: Arc<str>,
        /// Which opening of the gauge: an event of an earlier opening is stale.
        opening: u64,
        /// The event.
        event: PortEvent,
    },
    /// Work to be done with the station.
    Do(StationWork),
    /// End in good order: finish what is under way.
    Stop,
    /// End at once and finish nothing.
    BreakOff,
}

/// How many messages may wait: some seconds of several fast gauges, so that a slow disk holds
/// nobody up.
const ROOM: usize = 8192;
/// How often the station looks around when nothing happens.
const IDLE: Duration = Duration::from_millis(500);
/// How often the station looks around while a pedal is pressed.
const SOON: Duration = Duration::from_millis(10);

/// How the station is reached: on its thread, or by whoever steps it.
pub(crate) trait StationWay: Send + Sync {
    /// Hands over a port's event without ever waiting.
    fn offer(&self, gauge: &Arc<str>, opening: u64, event: PortEvent) -> Result<(), SinkError>;

    /// Returns once the work was done with the station.
    fn have_done(&self, work: StationWork) -> Result<(), Refusal>;

    /// Asks the station to end, in good order or as in a power cut.
    fn end(&self, in_good_order: bool);
}

/// Work to be done with the station.
pub(crate) type StationWork = Box<dyn FnOnce(&mut Station) + Send>;

/// The way to the station; cheap to clone.
#[derive(Clone)]
pub struct StationHandle {
    way: Arc<dyn StationWay>,
}

impl std::fmt::Debug for StationHandle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("StationHandle")
    }
}

/// Starts the station's thread.
pub(crate) fn start(
    make: impl FnOnce(Offer) -> Station + Send + 'static,
) -> std::io::Result<(StationHandle, JoinHandle<()>)> {
    let (to_station, news) = sync_channel(ROOM);
    let way = Arc::new(to_station);
    let for_station = Arc::clone(&way);
    let offer: Offer =
        Arc::new(move |gauge, opening, event| for_station.offer(gauge, opening, event));
    let thread = std::thread::Builder::new()
        .name("station".to_owned())
        .spawn(move || serve(make(offer), &news))?;
    Ok((StationHandle::by(way), thread))
}

fn serve(mut station: Station, news: &Receiver<News>) {
    let mut looked = Instant::now();
    loop {
        // Gauges that send ten times a second leave no idle moment.
        if looked.elapsed() >= IDLE {
            station.look_around();
            looked = Instant::now();
        }
        let idle = if station.pedal_waits() { SOON } else { IDLE };
        match news.recv_timeout(idle) {
            Ok(News::Port {
                gauge,
                opening,
                event,
            }) => station.port_event(&gauge, opening, event),
            Ok(News::Do(work)) => work(&mut station),
            Err(RecvTimeoutError::Timeout) => {
                station.look_around();
                looked = Instant::now();
            }
            Ok(News::Stop) | Err(RecvTimeoutError::Disconnected) => break,
            Ok(News::BreakOff) => return station.break_off(),
        }
    }
    station.stop();
}

pub(super) fn stopping() -> Refusal {
    Refusal::new(Reason::Unavailable, "the daemon is stopping")
}

impl StationWay for SyncSender<News> {
    fn offer(&self, gauge: &Arc<str>, opening: u64, event: PortEvent) -> Result<(), SinkError> {
        let news = News::Port {
            gauge: Arc::clone(gauge),
            opening,
            event,
        };
        self.try_send(news).map_err(|error| match error {
            TrySendError::Full(News::Port { event, .. }) => SinkError::Full(event),
            _ => SinkError::Closed,
        })
    }

    fn have_done(&self, work: StationWork) -> Result<(), Refusal> {
        let (done, wait) = sync_channel(1);
        let work = Box::new(move |station: &mut Station| {
            work(station);
            // The caller may have gone; that is no error.
            let _ = done.send(());
        });
        self.send(News::Do(work)).map_err(|_| stopping())?;
        wait.recv().map_err(|_| stopping())
    }

    fn end(&self, in_good_order: bool) {
        let end = match in_good_order {
            true => News::Stop,
            false => News::BreakOff,
        };
        // A station that is gone has ended.
        let _ = self.send(end);
    }
}

impl StationHandle {
    /// A station that is reached by this way.
    pub(crate) fn by(way: Arc<dyn StationWay>) -> StationHandle {
        StationHandle { way }
    }

    /// Does something on the station's thread and returns the result.
    ///
    /// # Errors
    /// Where the station is stopping.
    pub(crate) fn with<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Station) -> T + Send + 'static,
    ) -> Result<T, Refusal> {
        // The result has a place of its own: one channel, not one for each type of result, is
        // built then.
        let result = Arc::new(Mutex::new(None));
        let for_station = Arc::clone(&result);
        self.way.have_done(Box::new(move |station| {
            let made = work(station);
            *for_station.lock().unwrap_or_else(PoisonError::into_inner) = Some(made);
        }))?;
        let made = result.lock().unwrap_or_else(PoisonError::into_inner).take();
        made.ok_or_else(stopping)
    }

    /// The progress of a job's route, if one runs.
    ///
    /// # Errors
    /// Where the station is stopping.
    pub fn progress(&self, job: &str) -> Result<Option<RouteProgress>, Refusal> {
        let job = job.to_owned();
        self.with(move |station| station.progress(&job))
    }

    /// Returns once the station has taken in everything that ports had handed over before this
    /// call.
    ///
    /// # Errors
    /// Where the station is stopping.
    pub fn taken_in(&self) -> Result<(), Refusal> {
        self.with(|_| ())
    }

    /// Asks the station's thread to end as in a power cut.
    pub(crate) fn break_off(&self) {
        self.way.end(false);
    }

    /// Asks the station's thread to finish.
    pub(crate) fn stop(&self) {
        self.way.end(true);
    }
}
