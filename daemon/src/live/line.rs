//! One gauge's line: the thread of its port, its values, and the state of the connection.

mod minute;
mod off;
mod showing;
mod shut;

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use benchhand_drivers::port::{ByteDirection, PortEvent};
use benchhand_drivers::stream::StreamOrigin;
use benchhand_drivers::transport::ModemInputs;
use benchhand_drivers::{Profile, Sample, Unit};
use benchhand_wire::{GaugeCorrection, GaugeSetup, Reason, Refusal};
use minute::PastMinute;
use off::Off;
use shut::{reason_of, why_gone, without_path};

use super::link::LineState;
use super::opening::{Offer, Opener, PortThread};
use super::steady::{Recent, RestingValue};
use crate::capture::{self, Sigma};
use crate::known::register::state_count;
use crate::known::shop::ShopGauge;
use crate::pedal::Pedal;

/// What an event of the port changed.
#[derive(Debug)]
pub(super) enum LineChange {
    Nothing,
    /// Bytes for the recorder.
    Raw {
        at_us: u64,
        direction: ByteDirection,
        bytes: Vec<u8>,
    },
    Samples(Vec<Sample>),
    /// Samples in a new unit. A person should hear `said`.
    OtherUnit {
        samples: Vec<Sample>,
        said: String,
    },
    /// What was captured before this moment must not be mixed with what comes after.
    Broken {
        at_us: u64,
        said: String,
    },
    /// The inputs of the port changed.
    Inputs {
        at_us: u64,
        inputs: ModemInputs,
    },
    /// The state of the connection has changed; `said` where a person should hear of it.
    Link {
        said: Option<String>,
    },
}

/// A gauge that is listened to.
pub(super) struct GaugeLine {
    pub(super) name: String,
    pub(super) kind: &'static str,
    pub(super) setup: GaugeSetup,
    pub(super) register_text: String,
    correction: Option<GaugeCorrection>,
    pub(super) profile: Profile,
    pub(super) sigma: Sigma,
    /// The zero from which its digits count.
    pub(super) zero: Option<(f64, Unit)>,
    /// What the capture of the running route shows of it.
    pub(super) capture: Option<capture::CaptureStatus>,
    /// When its value was last announced, by the daemon's clock.
    pub(super) announced_us: Option<u64>,
    pub(super) pedal: Option<Pedal>,
    opening: u64,
    /// Whether the gauge is played inside this process.
    played: bool,
    thread: Option<PortThread>,
    link: LineState,
    /// Whether bytes come that are no values.
    unread: bool,
    /// Whether values have come since the line was last announced as not live.
    came_alive: bool,
    /// Why the line cannot be opened, where it cannot, with all that is known of its port.
    shut: Option<(Reason, String)>,
    todo: String,
    latest: Vec<Option<Sample>>,
    pub(super) minute: PastMinute,
    recent: Vec<Recent>,
    off: Off,
    /// The unit that the gauge sent before somebody changed it; `None` once the unit is set back.
    unit_before: Option<Unit>,
    heard_us: u64,
}

/// Numbers the openings, so that an event of a line that was closed is recognised.
static OPENINGS: AtomicU64 = AtomicU64::new(1);

impl GaugeLine {
    /// Starts the thread of the gauge's port.
    pub(super) fn open(
        gauge: ShopGauge,
        opener: &dyn Opener,
        offer: Offer,
    ) -> Result<GaugeLine, Refusal> {
        let opening = OPENINGS.fetch_add(1, Ordering::Relaxed);
        let name = gauge.setup.name.clone();
        let to_station = {
            let gauge: Arc<str> = name.as_str().into();
            move |event| offer(&gauge, opening, event)
        };
        let by_eye = gauge.by_eye() && !opener.plays();
        let thread = (!by_eye)
            .then(|| PortThread::start(opener, &gauge, Box::new(to_station)))
            .transpose()
            .map_err(|e| Refusal::new(Reason::Unavailable, format!("no thread for {name}: {e}")))?;
        let channels = gauge.profile.channels().len();
        Ok(GaugeLine {
            kind: gauge.kind(),
            name,
            setup: gauge.setup,
            register_text: gauge.text,
            correction: gauge.check,
            profile: gauge.profile,
            sigma: Sigma::default(),
            zero: None,
            capture: None,
            announced_us: None,
            pedal: gauge.pedal.map(Pedal::new),
            opening,
            played: opener.plays(),
            thread,
            link: if by_eye {
                LineState::ByEye
            } else {
                LineState::Opening
            },
            unread: false,
            came_alive: false,
            shut: None,
            todo: String::new(),
            latest: vec![None; channels],
            minute: PastMinute::default(),
            recent: (0..channels).map(|_| Recent::default()).collect(),
            off: Off::default(),
            unit_before: None,
            heard_us: 0,
        })
    }

    /// Whether an event of this opening belongs to this line.
    pub(super) fn is(&self, opening: u64) -> bool {
        self.opening == opening
    }

    /// Ends the port's thread and waits for it.
    pub(super) fn close(self) {
        if let Some(thread) = self.thread {
            thread.stop();
        }
    }

    /// When the gauge was last heard, in microseconds of its stream.
    pub(super) fn heard_us(&self) -> u64 {
        self.heard_us
    }

    /// The path at which the line is open, if it is.
    pub(super) fn open_path(&self) -> Option<String> {
        matches!(
            self.link,
            LineState::Open | LineState::Live | LineState::Silent
        )
        .then(|| self.setup.port.clone())?
    }

    /// Whether the values can be said to come from a gauge. Behind a pseudo-terminal stands another
    /// program; nothing more is known of it.
    pub(super) fn origin(&self) -> StreamOrigin {
        // A pinned path may be a link to the device.
        let pseudo = self.setup.port.as_ref().is_some_and(|path| {
            let device = std::fs::canonicalize(path).unwrap_or_else(|_| path.into());
            device.starts_with("/dev/pts")
        });
        if self.played || pseudo {
            StreamOrigin::Synthesised
        } else {
            StreamOrigin::Captured
        }
    }

    /// Takes in an event of the port.
    pub(super) fn take(&mut self, event: PortEvent) -> LineChange {
        match event {
            PortEvent::Raw {
                at_us,
                direction,
                bytes,
            } => LineChange::Raw {
                at_us,
                direction,
                bytes,
            },
            PortEvent::Samples { samples, .. } => self.samples(samples),
            PortEvent::Opened { .. } => {
                self.shut = None;
                let back = self.link == LineState::Lost;
                let said = back.then(|| format!("{}: its port is there again", self.name));
                self.turn(LineState::Open, String::new(), said)
            }
            PortEvent::OpenFailed { error, .. } => {
                self.shut = Some((reason_of(&error), error.to_string()));
                let why = without_path(&error);
                let said = format!("{}: {why}", self.name);
                self.turn(LineState::Lost, why, Some(said))
            }
            PortEvent::Gone { at_us, reason } => {
                let said = format!("{} is gone: {}", self.name, why_gone(&reason));
                self.broken(
                    at_us,
                    LineState::Lost,
                    "plug it in again; it is looked for".into(),
                    said,
                )
            }
            PortEvent::Silent { at_us, bytes, .. } => {
                self.unread = bytes > 0;
                let (said, todo) = if bytes == 0 {
                    ("is silent", "switch it on, wake it, or look at its cable")
                } else {
                    (
                        "sends what its profile cannot read",
                        "look at its unit, mode and profile",
                    )
                };
                let said = format!("{} {said}", self.name);
                self.broken(at_us, LineState::Silent, todo.to_owned(), said)
            }
            PortEvent::Heard { .. } => {
                let said = format!("{} is back", self.name);
                self.turn(LineState::Live, String::new(), Some(said))
            }
            PortEvent::Overflow { to_us, lost, .. } => {
                tracing::warn!(gauge = self.name, ?lost, "the station was held up");
                let said = format!("{}: values were lost, the machine was held up", self.name);
                self.broken(to_us, LineState::Live, String::new(), said)
            }
            PortEvent::Trouble { trouble, .. } => {
                tracing::debug!(gauge = self.name, ?trouble, "not a value");
                LineChange::Nothing
            }
            PortEvent::Inputs { at_us, inputs } => LineChange::Inputs { at_us, inputs },
        }
    }

    fn samples(&mut self, mut samples: Vec<Sample>) -> LineChange {
        let before = self.latest.first().copied().flatten().map(|s| s.unit);
        for sample in &mut samples {
            state_count(sample, self.setup.resolution.as_deref());
            self.heard_us = self.heard_us.max(sample.at_us);
            let sample = &*sample;
            if sample.channel == 0 {
                self.off.heard(sample);
            }
            if let Some(latest) = self.latest.get_mut(usize::from(sample.channel)) {
                *latest = Some(*sample);
            }
            if let Some(recent) = self.recent.get_mut(usize::from(sample.channel)) {
                recent.push(sample);
            }
        }
        self.came_alive |= self.link != LineState::Live;
        self.link = LineState::Live;
        let now = self.latest.first().copied().flatten().map(|s| s.unit);
        if let (Some(before), Some(now)) = (before, now)
            && before != now
        {
            return self.other_unit(before, now, samples);
        }
        // What a person was asked to do after a change of unit stands until it is done.
        if self.unit_before.is_none() {
            self.todo.clear();
        }
        LineChange::Samples(samples)
    }

    /// The unit has changed: somebody pressed the unit's button, or a cable did.
    fn other_unit(&mut self, before: Unit, now: Unit, samples: Vec<Sample>) -> LineChange {
        let said = if self.unit_before == Some(now) {
            self.unit_before = None;
            self.todo.clear();
            format!("{} sends {now} again", self.name)
        } else {
            self.unit_before = Some(before);
            self.todo = format!("switch it back to {before}, or zero it again in {now}");
            format!(
                "{} sends {now} now, it sent {before}: {}",
                self.name, self.todo
            )
        };
        LineChange::OtherUnit { samples, said }
    }

    /// The gauge was zeroed, in the unit that it sends now.
    pub(super) fn zeroed(&mut self, raw: f64, unit: Unit) {
        self.zero = Some((raw, unit));
        self.unit_before = None;
        self.todo.clear();
    }

    fn broken(&mut self, at_us: u64, link: LineState, todo: String, said: String) -> LineChange {
        self.recent.iter_mut().for_each(Recent::clear);
        self.minute.breaks();
        if matches!(link, LineState::Lost | LineState::Silent) {
            self.off.went(self.latest.first().copied().flatten());
        }
        if let Some(pedal) = &mut self.pedal {
            pedal.lost();
        }
        self.link = link;
        self.todo = todo;
        LineChange::Broken { at_us, said }
    }

    /// Changes the state of the connection. The same trouble is not told twice: a port that stays
    /// away is tried every few seconds.
    fn turn(&mut self, link: LineState, todo: String, said: Option<String>) -> LineChange {
        if self.link == link && self.todo == todo {
            return LineChange::Nothing;
        }
        self.link = link;
        self.todo = todo;
        LineChange::Link { said }
    }

    /// Whether the line has just come alive: its values tell nobody how the line stands.
    pub(super) fn came_alive(&mut self) -> bool {
        std::mem::take(&mut self.came_alive)
    }

    /// Whether the port is being opened just now, for the first time.
    pub(super) fn is_opening(&self) -> bool {
        self.link == LineState::Opening
    }

    /// Why the port cannot be opened, if it cannot.
    pub(super) fn shut(&self) -> Option<Refusal> {
        let (reason, why) = self.shut.as_ref()?;
        let found = format!("the port of {} cannot be opened", self.name);
        Some(Refusal::new(*reason, found).todo(why.clone()))
    }

    /// What the gauge shows while it rests.
    pub(super) fn steady(&self, channel: usize) -> Result<RestingValue, Refusal> {
        self.heard()?;
        let recent = self.recent.get(channel);
        recent
            .and_then(|recent| recent.steady(self.sigma))
            .ok_or_else(|| {
                Refusal::new(Reason::Conflict, format!("{} does not rest", self.name))
                    .todo("let it settle for two seconds and ask again")
            })
    }

    fn main_steady(&self) -> Option<RestingValue> {
        self.recent.first()?.steady(self.sigma)
    }

    /// The gauge's entry in the register has changed; its port stays open.
    pub(super) fn known_anew(&mut self, gauge: ShopGauge) {
        self.setup = gauge.setup;
        self.register_text = gauge.text;
        self.correction = gauge.check;
    }

    /// Whether values of the gauge can be heard.
    fn heard(&self) -> Result<(), Refusal> {
        if let Some(shut) = self.shut() {
            return Err(shut);
        }
        if self.link == LineState::ByEye {
            let found = format!("{} is read by eye: nobody hears what it shows", self.name);
            return Err(Refusal::new(Reason::BadInput, found)
                .todo("say what it shows, with its unit: --raw \"0.5 in\""));
        }
        if self.link != LineState::Live {
            let how = match (&self.link, self.unread) {
                (LineState::Silent, true) => "sends what its profile cannot read".to_owned(),
                _ => format!("is {}", self.link.word()),
            };
            let found = format!("{} {how}", self.name);
            return Err(Refusal::new(Reason::GaugeSilent, found).todo(self.todo.clone()));
        }
        Ok(())
    }
}
