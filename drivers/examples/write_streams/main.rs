//! Writes the synthesised streams of `recorded-streams/`, each with its expected samples.
//!
//!     cargo run -p benchhand-drivers --example write_streams -- recorded-streams
//!
//! The gauges are virtual. This program decides their values, turns them into bytes with code that
//! shares nothing with the decoder, and writes the values beside the bytes. Only the moments at
//! which a polled gauge is asked come from the driver. The same seed gives the same files.

mod binary;
mod gauges;

use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::Path;

use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent, StreamHeader, StreamOrigin};
use benchhand_drivers::{DriverOptions, NextAction, Profile, ProfileRegistry, TalkMode};
use benchhand_testbed::SplitMix64;
use gauges::{Answer, Give, PlayedGauge};

/// Number of frames or answers in a stream.
const FRAMES: usize = 60;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args()
        .nth(1)
        .ok_or("name the folder to write to")?;
    let registry = ProfileRegistry::builtin();
    for (seed, (name, gauge)) in (1..).zip(gauges::all()) {
        let profile = registry
            .get(name)
            .ok_or_else(|| format!("no profile {name}"))?;
        let mut bench = StreamMaker {
            random: SplitMix64::new(seed),
            events: Vec::new(),
            gives: Vec::new(),
        };
        if profile.mode() == TalkMode::Poll {
            bench.ask(profile, gauge);
        } else {
            bench.listen(profile, gauge);
        }
        bench.write(Path::new(&folder), profile, seed)?;
    }
    Ok(())
}

struct StreamMaker {
    random: SplitMix64,
    events: Vec<StreamEvent>,
    gives: Vec<(u64, Give)>,
}

impl StreamMaker {
    /// Puts an answer on the line in one to three pieces, as an adapter would. Notes its samples
    /// at the time of the piece that completes it.
    fn send(&mut self, mut at_us: u64, answer: &Answer) -> u64 {
        let pieces = 1 + self.random.below(3);
        let mut from = 0;
        for piece in (0..pieces).rev() {
            let left = answer.bytes.len() - from;
            let length = if piece == 0 {
                left
            } else {
                self.random.below(left + 1)
            };
            let to = from + length;
            if length > 0 {
                self.events.push(StreamEvent {
                    at_us,
                    what: LineEvent::Rx(answer.bytes[from..to].to_vec()),
                });
                if from < answer.whole_at && answer.whole_at <= to {
                    self.gives
                        .extend(answer.gives.iter().map(|give| (at_us, give.clone())));
                }
            }
            from = to;
            at_us += 1_000 + self.random.draw() % 4_000;
        }
        at_us
    }

    /// Records a gauge that sends by itself or at a press. Its start-up commands are answered.
    fn listen(&mut self, profile: &Profile, mut gauge: PlayedGauge) {
        let mut at_us = self.start_up(profile, &mut gauge);
        let period = profile.period().unwrap_or(1_700_000);
        for number in 0..FRAMES {
            let mut answer = gauge.speak(number, &mut self.random);
            if number == 0 && gauge.first_line_is_doubtful {
                answer.gives.clear();
            }
            let delay = 200 + self.random.draw() % 800;
            let end = self.send(at_us + delay, &answer);
            at_us = (at_us + period).max(end);
        }
    }

    fn start_up(&mut self, profile: &Profile, gauge: &mut PlayedGauge) -> u64 {
        let mut driver = profile.driver(DriverOptions::default());
        let mut now = 0;
        loop {
            match driver.next(now) {
                NextAction::Send(bytes) => {
                    self.events.push(StreamEvent {
                        at_us: now,
                        what: LineEvent::Tx(bytes),
                    });
                    now += 12_000;
                    self.events.push(StreamEvent {
                        at_us: now,
                        what: LineEvent::Rx(gauge.yes.clone()),
                    });
                    driver.receive(now, &gauge.yes, &mut Vec::new());
                }
                NextAction::Wait { until_us } => now = until_us,
                NextAction::Drain => {}
                NextAction::Listen => return now,
            }
        }
    }

    /// Records a gauge that the driver asks.
    fn ask(&mut self, profile: &Profile, mut gauge: PlayedGauge) {
        let mut driver = profile.driver(DriverOptions::default());
        let mut now = 0;
        let mut answered = 0;
        while answered < FRAMES {
            match driver.next(now) {
                NextAction::Send(question) => {
                    self.events.push(StreamEvent {
                        at_us: now,
                        what: LineEvent::Tx(question.clone()),
                    });
                    let Some(answer) = gauge.answer(&question, answered, &mut self.random) else {
                        continue;
                    };
                    answered += 1;
                    let first = self.events.len();
                    let delay = answer
                        .late_us
                        .unwrap_or(3_000 + self.random.draw() % 12_000);
                    self.send(now + delay, &answer);
                    for event in self.events[first..].iter().cloned() {
                        now = event.at_us;
                        let LineEvent::Rx(bytes) = event.what else {
                            continue;
                        };
                        driver.receive(now, &bytes, &mut Vec::new());
                    }
                }
                NextAction::Wait { until_us } => now = until_us,
                NextAction::Drain | NextAction::Listen => {}
            }
        }
    }

    fn write(self, folder: &Path, profile: &Profile, seed: u64) -> std::io::Result<()> {
        let mut header =
            StreamHeader::new(profile.name(), profile.line(), StreamOrigin::Synthesised);
        header.start = Some("2026-03-02T09:14:05Z".to_owned());
        header.note = Some(format!(
            "virtual gauge, seed {seed}; no reading of a real one"
        ));
        let name = profile.name();
        let file = BufWriter::new(File::create(folder.join(format!("{name}.ndjson")))?);
        let stream = Stream {
            header,
            events: self.events,
        };
        stream.write_to(file).map_err(std::io::Error::other)?;
        let mut file = BufWriter::new(File::create(folder.join(format!("{name}.expected.json")))?);
        writeln!(file, "{{\"samples\":[")?;
        let count = self.gives.len();
        for (number, (at_us, give)) in (1..).zip(self.gives) {
            let value = give
                .value
                .map_or("null".to_owned(), |value| format!("{value:?}"));
            let says: Vec<String> = give.says.iter().map(|word| format!("{word:?}")).collect();
            writeln!(
                file,
                "{{\"at_us\":{at_us},\"channel\":{:?},\"value\":{value},\"unit\":{:?},\"resolution\":{:?},\"says\":[{}]}}{}",
                give.channel,
                give.unit,
                give.resolution,
                says.join(","),
                if number < count { "," } else { "" }
            )?;
        }
        writeln!(file, "]}}")?;
        file.flush()
    }
}
