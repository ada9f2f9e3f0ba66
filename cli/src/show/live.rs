//! The live view: fixed lines at the foot of the screen, and lines that scroll away.
//!
//! The view is pure: events in, lines out. It shows stillness by a word and a bar, never by a
//! colour.

use std::collections::BTreeMap;

use benchhand_wire::{CapturePhase, Event, GaugeState, LiveValue, RouteProgress, SaidAs, State};
use benchhand_words::spoken;

use super::{gauges, jobs, route};

/// The live state, as far as events have told it.
#[derive(Debug, Default)]
pub(crate) struct LiveView {
    only: Option<String>,
    gauges: BTreeMap<String, GaugeState>,
    routes: BTreeMap<String, RouteProgress>,
    stale: bool,
}

impl LiveView {
    /// A view of everything, or of one job and the gauges.
    pub(crate) fn new(only: Option<String>) -> Self {
        LiveView {
            only,
            ..LiveView::default()
        }
    }

    /// Takes over a complete live state.
    pub(crate) fn renew(&mut self, state: &State) {
        self.stale = false;
        self.gauges = state
            .gauges
            .iter()
            .map(|gauge| (gauge.setup.name.clone(), gauge.clone()))
            .collect();
        self.routes = state
            .routes
            .iter()
            .filter(|progress| self.concerns(&progress.job))
            .map(|progress| (progress.job.clone(), progress.clone()))
            .collect();
    }

    /// Marks the shown state as stale until the next event.
    pub(crate) fn lost(&mut self) {
        self.stale = true;
    }

    /// Whether an event belongs to this view.
    pub(crate) fn wants(&self, event: &Event) -> bool {
        match event {
            Event::Reading { job, .. } => self.concerns(job),
            Event::Route { progress } => self.concerns(&progress.job),
            Event::Say { job: Some(job), .. } => self.concerns(job),
            _ => true,
        }
    }

    /// Takes an event. Gives the line to print for it, if there is one.
    pub(crate) fn take(&mut self, event: &Event) -> Option<String> {
        self.stale = false;
        if !self.wants(event) {
            return None;
        }
        match event {
            Event::Value { gauge, live } => {
                if let Some(known) = self.gauges.get_mut(gauge) {
                    known.live.clone_from(live);
                    // A gauge that sends is live, whatever its last link state was.
                    "live".clone_into(&mut known.link);
                    known.todo.clear();
                }
                None
            }
            Event::Link { gauge } => {
                let name = gauge.setup.name.clone();
                let before = self.gauges.insert(name.clone(), gauge.clone());
                let changed = before.is_none_or(|before| before.link != gauge.link);
                changed.then(|| link(gauge))
            }
            Event::GaugeRemoved { gauge } => {
                let known = self.gauges.remove(gauge);
                known.map(|_| format!("{gauge} is out of the register"))
            }
            Event::Reading { reading, .. } => Some(jobs::reading(reading)),
            Event::Route { progress } => {
                let before = self.routes.insert(progress.job.clone(), progress.clone());
                let said = route::now(progress);
                let changed = before.is_none_or(|before| route::now(&before) != said);
                changed.then_some(said)
            }
            // The question and its answers stay at the foot of the screen until they are answered.
            Event::Say {
                said_as: SaidAs::Asked,
                ..
            } => None,
            Event::Say { said_as, text, .. } => Some(format!("{} {text}", tone(*said_as))),
            Event::Caught { missed: true } => {
                let missed = "! some events were missed; the lines below show the present state";
                let asked = self.routes.values().filter(|route| route.asked.is_some());
                let asked = asked.map(|route| format!("\n{}", route::now(route)));
                Some(missed.to_owned() + &asked.collect::<String>())
            }
            Event::Caught { missed: false } => None,
            Event::Stopping {} => Some("! the daemon is stopping".to_owned()),
        }
    }

    /// The fixed lines at the foot of the screen.
    pub(crate) fn standing(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.stale {
            lines.push("! connection lost: the lines below are stale; trying again …".to_owned());
        }
        let width = self
            .gauges
            .keys()
            .map(|name| name.chars().count())
            .max()
            .unwrap_or(0);
        for gauge in self.gauges.values() {
            lines.push(gauge_line(gauge, width));
        }
        for progress in self.routes.values().filter(|progress| progress.running) {
            lines.push(route::headline(progress));
            lines.extend(route::now(progress).lines().map(str::to_owned));
        }
        lines
    }

    fn concerns(&self, job: &str) -> bool {
        self.only.as_deref().is_none_or(|only| only == job)
    }
}

/// A gauge's line: its value, the state of capture, and how still it is.
fn gauge_line(gauge: &GaugeState, width: usize) -> String {
    let name = &gauge.setup.name;
    if gauge.link != "live" || gauge.live.is_empty() {
        return format!("{name:<width$}  {}", gauge.link);
    }
    let channels: Vec<String> = gauge.live.iter().map(channel).collect();
    format!("{name:<width$}  {}", channels.join("   "))
}

/// A channel: `-0.0100 in  still        still [#######---]`. A gauge without a route is not
/// judged, so it has no bar.
pub(crate) fn channel(value: &LiveValue) -> String {
    let (shown, phase) = (gauges::shows(value), spoken::phase(value.phase));
    if value.phase == CapturePhase::Idle {
        return format!("{shown}  {phase}");
    }
    let full = (value.stillness.clamp(0.0, 1.0) * 10.0).round() as usize;
    format!(
        "{shown}  {phase:<12} still [{}{}]",
        "#".repeat(full),
        "-".repeat(10 - full)
    )
}

fn link(gauge: &GaugeState) -> String {
    let GaugeState {
        setup, link, todo, ..
    } = gauge;
    let todo = if todo.is_empty() {
        String::new()
    } else {
        format!(": {todo}")
    };
    let mark = if matches!(link.as_str(), "lost" | "silent") {
        "! "
    } else {
        ""
    };
    format!("{mark}{} is {link}{todo}", setup.name)
}

/// The mark before the words, in place of a sound.
fn tone(said_as: SaidAs) -> &'static str {
    match said_as {
        SaidAs::Taken => "taken:",
        SaidAs::Revised => "revised:",
        SaidAs::Again => "! again:",
        SaidAs::Asked => "?",
        SaidAs::Gauge => "! gauge:",
        SaidAs::Done => "done:",
        SaidAs::Note => "note:",
    }
}

#[cfg(test)]
mod tests {
    use benchhand_wire::GaugeSetup;

    use super::super::route::tests::chambers;
    use super::*;

    fn burette(link: &str) -> GaugeState {
        GaugeState {
            setup: GaugeSetup {
                name: "burette".into(),
                profile: "ascii-volume".into(),
                port: Some("/dev/ttyUSB0".into()),
                adapter: None,
                sense: 1,
                u: None,
                scale_u: None,
                repeatability: None,
                repeatability_dof: None,
                resolution: None,
                capacity: None,
                counts: None,
                calibrated: None,
            },
            kind: "volume".into(),
            link: link.into(),
            todo: if link == "lost" {
                "plug it in again".into()
            } else {
                String::new()
            },
            zero: None,
            check: None,
            live: vec![],
        }
    }

    fn value() -> Event {
        Event::Value {
            gauge: "burette".into(),
            live: vec![LiveValue {
                channel: "volume".into(),
                value: Some(12.34),
                unit: "cc".into(),
                decimals: 2,
                zeroed: None,
                poured: None,
                phase: CapturePhase::Delivering,
                stillness: 0.31,
                status: String::new(),
            }],
        }
    }

    #[test]
    fn a_value_stands_with_how_still_it_is_in_words_and_as_a_bar() {
        let mut view = LiveView::new(None);
        view.renew(&State {
            id: 0,
            gauges: vec![burette("live")],
            routes: vec![],
        });
        assert_eq!(view.take(&value()), None, "values do not scroll");
        assert_eq!(
            view.standing(),
            ["burette  12.34 cc  pouring      still [###-------]"]
        );
    }

    #[test]
    fn a_lost_gauge_is_said_once_with_what_to_do() {
        let mut view = LiveView::new(None);
        view.renew(&State {
            id: 0,
            gauges: vec![burette("live")],
            routes: vec![],
        });
        let lost = Event::Link {
            gauge: burette("lost"),
        };
        assert_eq!(
            view.take(&lost).as_deref(),
            Some("! burette is lost: plug it in again")
        );
        assert_eq!(view.take(&lost), None);
        assert_eq!(view.standing(), ["burette  lost"]);
    }

    #[test]
    fn a_question_is_printed_once_and_stands_with_its_answers() {
        let mut view = LiveView::new(None);
        let mut progress = chambers(0, true);
        progress.asked = Some(super::super::asked::tests::far_off());
        let said = Event::Say {
            job: Some("v8".into()),
            said_as: SaidAs::Asked,
            text: "chamber 1: 90.00 cc?".into(),
        };
        let moved = Event::Route { progress };
        let printed = [&said, &moved, &moved].map(|event| view.take(event));
        let printed: Vec<String> = printed.into_iter().flatten().collect();
        assert_eq!(printed.len(), 1, "{printed:?}");
        assert!(
            printed[0].starts_with("? chamber 1: 90.00 cc"),
            "{printed:?}"
        );
        assert!(printed[0].contains("\n  answers: keep"), "{printed:?}");
        assert!(view.standing().iter().any(|line| line.starts_with("? ")));
        let missed = view.take(&Event::Caught { missed: true }).expect("said");
        assert!(missed.contains("answers: keep"), "{missed}");
    }

    #[test]
    fn a_lost_connection_is_shown_until_something_comes() {
        let mut view = LiveView::new(None);
        view.renew(&State {
            id: 0,
            gauges: vec![burette("live")],
            routes: vec![],
        });
        view.lost();
        assert!(view.standing()[0].contains("stale"));
        view.take(&value());
        assert!(!view.standing()[0].contains("stale"));
    }

    #[test]
    fn another_jobs_route_is_not_shown() {
        let mut view = LiveView::new(Some("other".into()));
        assert_eq!(
            view.take(&Event::Route {
                progress: chambers(2, true)
            }),
            None
        );
        assert!(view.standing().is_empty());
        let mut view = LiveView::new(Some("v8".into()));
        let said = view.take(&Event::Route {
            progress: chambers(2, true),
        });
        assert!(said.expect("said").contains("now chamber/3"));
        assert_eq!(view.standing().len(), 2);
    }
}
