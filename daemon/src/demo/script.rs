//! The steps of the demo, in the order in which a builder would take them.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use benchhand_drivers::stream::{Stream, StreamEvent};
use benchhand_wire::{
    Ask, BuretteCounts, GaugeSetup, NewJob, Reason, Refusal, SetCondition, SetGauge, StartRoute,
    ZeroGauge,
};

use super::rig::{FarEnd, rig};
use super::scenario::{CONDITIONS, DEPTH_S, ENGINE, FLOW_CYLINDERS, JOB, LIFTS, ORDER};
use super::{DemoOutcome, DemoProgress, EMBEDDED, stream};
use crate::clock::SystemClock;
use crate::serve::Works;

const BURETTE: &str = "burette";
const DIAL: &str = "dial";
const MANOMETER: &str = "manometer";

/// See [`super::run`].
pub(super) fn run(
    data: &Path,
    progress: &mut dyn FnMut(DemoProgress),
) -> Result<DemoOutcome, Refusal> {
    let (rig, lines) = rig(&[BURETTE, DIAL, MANOMETER])?;
    let works = Works::start(data, Arc::new(SystemClock::new()), Arc::new(rig))?;
    let total = events_of_all()?;
    let mut player = Player {
        works: &works,
        lines,
        progress,
        done: 0,
        total,
    };
    let measured = player.measure();
    works.stop_blocking();
    measured?;
    Ok(DemoOutcome {
        job: JOB.to_owned(),
        data: data.to_owned(),
        notes: vec![
            "The engine, its parts and all readings of this demo are invented.".to_owned(),
            "The gauges were recorded streams marked `synthesised`, played in step with the ports."
                .to_owned(),
        ],
    })
}

fn events_of_all() -> Result<u64, Refusal> {
    EMBEDDED
        .iter()
        .map(|(name, _)| Ok(stream(name)?.events.len() as u64))
        .sum()
}

/// Plays the gauges and does the handwork of the builder.
struct Player<'a> {
    works: &'a Works,
    lines: BTreeMap<String, FarEnd>,
    progress: &'a mut dyn FnMut(DemoProgress),
    done: u64,
    total: u64,
}

impl Player<'_> {
    fn measure(&mut self) -> Result<(), Refusal> {
        for gauge in [BURETTE, DIAL, MANOMETER] {
            self.set_up(gauge)?;
        }
        self.ask(NewJob {
            name: JOB.to_owned(),
            engine: ENGINE.to_owned(),
            file: "invented-v8.toml".to_owned(),
        })?;
        for (name, value, u) in CONDITIONS {
            self.ask(SetCondition {
                job: JOB.to_owned(),
                name: name.to_owned(),
                value: value.to_owned(),
                u: u.map(str::to_owned),
                since: None,
                since_number: None,
            })?;
        }
        self.route("chambers")?;
        self.play(
            BURETTE,
            &stream("burette-chambers.ndjson")?,
            "chambers, two rounds",
        )?;
        self.ended("chambers")?;

        self.play(
            DIAL,
            &stream("dial-deck-zero.ndjson")?,
            "dial zeroed on the deck",
        )?;
        self.zero()?;
        self.route("deck")?;
        self.play(
            DIAL,
            &stream("dial-deck.ndjson")?,
            "deck, front and rear of each piston",
        )?;
        self.ended("deck")?;

        self.route("crowns")?;
        let depths = stream("dial-crowns.ndjson")?;
        let fluids = by_pours(&stream("burette-crowns.ndjson")?);
        for (i, fluid) in fluids.iter().enumerate() {
            let (from, to) = (i as f64 * DEPTH_S, (i + 1) as f64 * DEPTH_S);
            self.play(DIAL, &piece(&depths, from, to), "piston crowns, depth")?;
            self.play(BURETTE, fluid, "piston crowns, liquid over them")?;
        }
        self.ended("crowns")?;

        self.play(
            DIAL,
            &stream("dial-gasket-zero.ndjson")?,
            "dial zeroed on the plate",
        )?;
        self.zero()?;
        self.route("gasket")?;
        self.play(DIAL, &stream("dial-gasket.ndjson")?, "gasket, three times")?;
        self.ended("gasket")?;

        self.route("flow")?;
        self.play(
            MANOMETER,
            &stream("manometer-flow.ndjson")?,
            "intake flow, two ports",
        )?;
        self.ended("flow")
    }

    /// Enters a gauge in the register and waits until its line is open.
    fn set_up(&mut self, gauge: &str) -> Result<(), Refusal> {
        let text = |text: &str| Some(text.to_owned());
        let path = self.lines.get(gauge).map(|line| line.path.clone());
        let bare = GaugeSetup {
            name: gauge.to_owned(),
            profile: String::new(),
            port: path,
            adapter: None,
            sense: 1,
            u: None,
            scale_u: None,
            repeatability: None,
            repeatability_dof: None,
            resolution: None,
            capacity: None,
            counts: None,
            calibrated: text("2026-01-12, invented"),
        };
        let setup = match gauge {
            BURETTE => GaugeSetup {
                profile: "ascii-volume".to_owned(),
                u: text("0.03 cc"),
                scale_u: Some(0.0005),
                repeatability: text("0.04 cc"),
                capacity: text("100 cc"),
                counts: Some(BuretteCounts::Up),
                ..bare
            },
            DIAL => GaugeSetup {
                profile: "bcd13-length".to_owned(),
                u: text("0.0001 in"),
                repeatability: text("0.0003 in"),
                resolution: text("0.0005 in"),
                ..bare
            },
            _ => GaugeSetup {
                profile: "modbus-pressure-pair".to_owned(),
                u: text("8 Pa"),
                scale_u: Some(0.002),
                repeatability: text("12 Pa"),
                ..bare
            },
        };
        let mut watching = self.works.hub.watch(None);
        self.ask(SetGauge {
            setup,
            profile_text: None,
        })?;
        loop {
            let event = watching.live.blocking_recv().map_err(|e| {
                Refusal::new(Reason::Unavailable, format!("the bench fell silent: {e}"))
            })?;
            if let benchhand_wire::Event::Link { gauge: state } = event.event
                && state.setup.name == gauge
            {
                match state.link.as_str() {
                    "open" | "live" => return Ok(()),
                    "lost" => return Err(Refusal::new(Reason::PortAbsent, state.todo)),
                    _ => {}
                }
            }
        }
    }

    fn zero(&mut self) -> Result<(), Refusal> {
        self.ask(ZeroGauge {
            name: DIAL.to_owned(),
            job: JOB.to_owned(),
            master: None,
            raw: None,
            u: Some("0.0002 in".to_owned()),
            hanging: false,
        })?;
        Ok(())
    }

    fn route(&mut self, route: &str) -> Result<(), Refusal> {
        let mut start = StartRoute {
            job: JOB.to_owned(),
            route: route.to_owned(),
            gauges: BTreeMap::new(),
            cylinders: Vec::new(),
            lists: BTreeMap::new(),
            rounds: None,
            mean_s: None,
            text: None,
            afresh: false,
            by: None,
        };
        if route == "flow" {
            start.cylinders = FLOW_CYLINDERS.to_vec();
            start
                .lists
                .insert("lift".to_owned(), LIFTS.map(str::to_owned).to_vec());
        }
        self.ask(start).map(drop)
    }

    /// The route must have ended by itself: all that was played was taken.
    fn ended(&mut self, route: &str) -> Result<(), Refusal> {
        match self.works.station.progress(JOB)? {
            None => Ok(()),
            Some(stands) => {
                let at = stands
                    .at
                    .map(|at| stands.stops[at].spot.clone())
                    .unwrap_or_default();
                Err(Refusal::new(
                    Reason::GaugeSilent,
                    format!("the route {route} stands at {at}: {}", stands.prompt),
                ))
            }
        }
    }

    fn play(&mut self, gauge: &str, stream: &Stream, doing: &str) -> Result<(), Refusal> {
        let Player {
            works,
            lines,
            progress,
            done,
            total,
        } = self;
        let line = lines
            .get_mut(gauge)
            .ok_or_else(|| Refusal::new(Reason::NotFound, format!("no line for {gauge}")))?;
        line.play(stream, || {
            *done += 1;
            progress(DemoProgress {
                done: *done,
                total: *total,
                doing: doing.to_owned(),
            });
            // The station is waited for as well, so that its channel never overflows.
            works.station.with(|_| ()).is_ok()
        })?;
        works.station.with(|_| ())
    }

    fn ask<A: Ask>(&self, ask: A) -> Result<A::Answer, Refusal> {
        let fault = |e: serde_json::Error| Refusal::new(Reason::Unavailable, e.to_string());
        let body = serde_json::to_value(ask).map_err(fault)?;
        let answer = self.works.desk.dispatch(A::PATH, body, None)?;
        serde_json::from_value(answer).map_err(fault)
    }
}

/// The events of a stream between two times, as a stream of their own.
fn piece(whole: &Stream, from_s: f64, to_s: f64) -> Stream {
    let us = |seconds: f64| (seconds * 1e6).round() as u64;
    let events = whole
        .events
        .iter()
        .filter(|e| (us(from_s)..us(to_s)).contains(&e.at_us));
    let from_us = us(from_s);
    Stream {
        header: whole.header.clone(),
        events: events
            .map(|e| StreamEvent {
                at_us: e.at_us - from_us,
                what: e.what.clone(),
            })
            .collect(),
    }
}

/// A burette's stream, cut where the burette was just filled: one piece for each pour.
fn by_pours(whole: &Stream) -> Vec<Stream> {
    let level = |event: &StreamEvent| match &event.what {
        benchhand_drivers::stream::LineEvent::Rx(bytes) => {
            let text = String::from_utf8_lossy(bytes);
            text.split(' ')
                .next()
                .and_then(|number| number.parse::<f64>().ok())
        }
        _ => None,
    };
    let (mut cuts, mut highest) = (vec![0u64], 0.0_f64);
    for event in &whole.events {
        let Some(level) = level(event) else { continue };
        highest = highest.max(level);
        if highest > 10.0 && level < 1.0 {
            cuts.push(event.at_us);
            highest = 0.0;
        }
    }
    cuts.push(u64::MAX);
    let seconds = |us: u64| us as f64 / 1e6;
    cuts.windows(2)
        .take(ORDER.len())
        .map(|cut| piece(whole, seconds(cut[0]), seconds(cut[1].min(1 << 50))))
        .collect()
}
