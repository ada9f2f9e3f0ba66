//! The search in real time on a port that garbles bytes at a wrong speed.

use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use benchhand_drivers::SerialSettings;
use benchhand_drivers::transport::{LinkError, ModemInputs, Transport};
use benchhand_find::{ProfileCandidate, SURE};
use benchhand_find::{SearchError, SearchOptions, search};
use benchhand_testbed::gauge::garbled;

use crate::dialects::{Dialect, Moment, all, moments};
use crate::{harder, tell, verdict};

/// A virtual gauge on a port that is open at some settings, in real time.
struct GaugePort {
    began: Instant,
    period: Duration,
    frames: VecDeque<(usize, Vec<u8>)>,
    waiting: Vec<u8>,
    /// Number of the last frame that was handed over at any opening.
    said: Arc<AtomicUsize>,
}

impl Transport for GaugePort {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        let due = |number: usize| self.period * u32::try_from(number).unwrap();
        if self.waiting.is_empty() {
            let next = self.frames.front().map(|(number, _)| due(*number));
            let now = self.began.elapsed();
            if let Some(wait) = next.map(|next| next.saturating_sub(now)) {
                std::thread::sleep(wait.min(timeout));
            }
            let now = self.began.elapsed();
            while let Some((number, _)) = self.frames.front() {
                if due(*number) > now {
                    break;
                }
                let (number, frame) = self.frames.pop_front().unwrap();
                self.waiting.extend(frame);
                self.said.store(number, Ordering::Relaxed);
            }
        }
        let count = self.waiting.len().min(buffer.len());
        buffer[..count].copy_from_slice(&self.waiting[..count]);
        self.waiting.drain(..count);
        Ok(count)
    }

    fn write(&mut self, _: &[u8]) -> Result<(), LinkError> {
        Ok(())
    }

    fn drain(&mut self) -> Result<(), LinkError> {
        self.waiting.clear();
        Ok(())
    }

    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError> {
        Ok(None)
    }
}

/// Searches on a port that garbles bytes as a UART would. Gives the candidates, the time taken,
/// and the last frame heard.
fn found_on_a_port(
    dialect: &Dialect,
    moments: &[Moment],
    opened: Opened,
) -> (Result<Vec<ProfileCandidate>, SearchError>, Duration, usize) {
    let began = Instant::now();
    let period = Duration::from_millis(dialect.period_ms);
    let said = Arc::new(AtomicUsize::new(0));
    let mut openings = 0;
    let mut open =
        |line: &SerialSettings| -> Result<Box<dyn Transport>, benchhand_drivers::transport::OpenError> {
            let now = began.elapsed();
            let mut frames: VecDeque<(usize, Vec<u8>)> = moments
                .iter()
                .filter(|moment| period * u32::try_from(moment.number).unwrap() > now)
                .map(|moment| {
                    (
                        moment.number,
                        garbled(&(dialect.say)(*moment), &dialect.line, line),
                    )
                })
                .collect();
            openings += 1;
            if opened == Opened::AmidFrames
                && openings % 2 == 1
                && let Some((_, first)) = frames.front_mut()
            {
                *first = harder::out_of_step(first);
            }
            Ok(Box::new(GaugePort {
                began,
                period,
                frames,
                waiting: Vec::new(),
                said: Arc::clone(&said),
            }))
        };
    let stop = AtomicBool::new(false);
    let found = search(&mut open, &SearchOptions::default(), &stop, &mut |_| {});
    let took = began.elapsed();
    (found, took, said.load(Ordering::Relaxed))
}

/// The moments at which the port is opened.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Opened {
    BetweenFrames,
    /// Every second opening, including the first, is in the middle of a frame.
    AmidFrames,
}

#[test]
fn searching_a_port_finds_line_and_field_of_nearly_every_dialect_in_ten_seconds() {
    let dialects = all();
    // All searches run at once, because they mostly wait.
    std::thread::scope(|scope| {
        let both = [Opened::BetweenFrames, Opened::AmidFrames];
        let searches = both.map(|opened| {
            let each = (1..).zip(&dialects).map(|(seed, dialect)| {
                scope.spawn(move || {
                    let moments =
                        moments(seed, 12_000 / usize::try_from(dialect.period_ms).unwrap());
                    let (found, took, last) = found_on_a_port(dialect, &moments, opened);
                    missed(dialect, found, took, &moments[..=last])
                })
            });
            each.collect::<Vec<_>>()
        });
        for (opened, searches) in both.iter().zip(searches) {
            let count = searches.len();
            let each = searches.into_iter().map(|search| search.join().unwrap());
            let missed: Vec<String> = each.flatten().collect();
            tell(
                match opened {
                    Opened::BetweenFrames => "search on a port",
                    Opened::AmidFrames => "search on a port, opened amid frames",
                },
                count,
                &missed,
            );
            assert!(missed.len() * 20 <= count, "{}", missed.join("\n"));
        }
    });
}

/// The mistakes in a dialect. A sure candidate must be right.
fn missed(
    dialect: &Dialect,
    found: Result<Vec<ProfileCandidate>, SearchError>,
    took: Duration,
    moments: &[Moment],
) -> Option<String> {
    let best = match found {
        Ok(found) => found.into_iter().next().unwrap(),
        Err(error) => return Some(format!("{}: {error}", dialect.name)),
    };
    let verdict = verdict(dialect, &best, moments);
    assert!(
        best.confidence < SURE || (!verdict.wrong_unit && verdict.field && verdict.line),
        "{}: {best:?}",
        dialect.name
    );
    assert!(took < Duration::from_secs(12), "{}: {took:?}", dialect.name);
    let told = || {
        format!(
            "{}: {} {:?} {:?}",
            dialect.name, best.line, best.last_value, best.reasons
        )
    };
    (!(verdict.line && verdict.field)).then(told)
}
