//! A run with samples in and facts out, without disk, port or clock.

use benchhand_blueprint::Spot;
use benchhand_blueprint::units::QuantityKind;
use benchhand_drivers::{Sample, SampleStatus, Unit};
use benchhand_wire::{Control, Reason, Refusal};

use super::{ArrangedStop, DoubtedReading, RouteRun, RunJournal, RunOutcome};
use crate::capture::{CaptureMode, CaptureSettings};
use crate::known::expectation::Expectation;
use crate::live::figuring::FigureBasis;
use crate::route::{FigureRule, RouteStop, RouteWalk, StopOutcome};
use crate::store::fact::{Fact, StreamAt};

/// Keeps facts in memory, and refuses when told to.
#[derive(Default)]
pub(super) struct Notebook {
    facts: Vec<Fact>,
    full: bool,
}

impl RunJournal for Notebook {
    fn keep(&mut self, fact: Fact) -> Result<u64, Refusal> {
        if self.full {
            return Err(Refusal::new(Reason::Storage, "the disk is full"));
        }
        self.facts.push(fact);
        Ok(self.facts.len() as u64)
    }

    fn stream_at(&self, _: &str, _: u64) -> Option<StreamAt> {
        None
    }

    fn expectation(&self, _: &Spot, _: u32, _: QuantityKind) -> Option<Expectation> {
        None
    }

    fn doubted(&self, _: &Spot) -> Vec<DoubtedReading> {
        Vec::new()
    }

    fn apart(&self, _: &Spot) -> Option<String> {
        None
    }

    fn only_brother(&self, _: &Spot) -> Option<DoubtedReading> {
        None
    }
}

impl Notebook {
    /// Spot and value of each reading that was kept.
    pub(super) fn readings(&self) -> Vec<(String, f64)> {
        let of = |fact: &Fact| match fact {
            Fact::Held(r) | Fact::Revised(r) | Fact::Final(r) => Some((r.spot.clone(), r.value)),
            _ => None,
        };
        self.facts.iter().filter_map(of).collect()
    }

    fn voided(&self) -> Vec<u64> {
        let of = |fact: &Fact| match fact {
            Fact::Voided { of, .. } => Some(*of),
            _ => None,
        };
        self.facts.iter().filter_map(of).collect()
    }
}

pub(super) fn stops(spots: &[&str], mode: CaptureMode, figure: FigureRule) -> Vec<ArrangedStop> {
    let arranged = |spot: &&str| ArrangedStop {
        stop: RouteStop {
            spot: spot.parse().unwrap(),
            round: 1,
            mode: String::new(),
            kind: "length".to_owned(),
            prompt: String::new(),
            figure,
            turn: None,
            with: Vec::new(),
            settings: toml::Table::new(),
        },
        gauge: "dial".to_owned(),
        settings: CaptureSettings::of(mode),
        basis: FigureBasis {
            gauge: "dial".to_owned(),
            sense: 1.0,
            zero: Some((10.0, Unit::Millimetre)),
            master: 0.0,
            correction: None,
            delivered: false,
        },
        channels: vec!["length".to_owned()],
        corrections: Vec::new(),
        capacity_cc: None,
        by: None,
        told: None,
    };
    spots.iter().map(arranged).collect()
}

/// A scripted rig with one gauge that sends ten values a second.
struct ScriptedRig {
    run: RouteRun,
    notebook: Notebook,
    at_us: u64,
    said: Vec<String>,
}

impl ScriptedRig {
    fn new(spots: &[&str], mode: CaptureMode, figure: FigureRule) -> ScriptedRig {
        let stops = stops(spots, mode, figure);
        let walk = RouteWalk::new(stops.len());
        let run = RouteRun::new(stops, walk, Default::default());
        ScriptedRig {
            run,
            notebook: Notebook::default(),
            at_us: 0,
            said: Vec::new(),
        }
    }

    fn sample(&mut self, value: f64, button: bool) {
        self.at_us += 100_000;
        let sample = Sample {
            at_us: self.at_us,
            channel: 0,
            value: Some(value),
            unit: Unit::Millimetre,
            resolution: 0.001,
            status: SampleStatus {
                button,
                ..SampleStatus::default()
            },
        };
        let mut out = RunOutcome::default();
        self.run
            .sample("dial", &sample, &mut self.notebook, &mut out);
        self.said.extend(out.said.into_iter().map(|s| s.text));
    }

    fn press(&mut self, value: f64) {
        // A person's presses are never closer than half a second.
        self.at_us += 500_000;
        self.sample(value, true);
    }

    /// Rests at a value for some seconds.
    fn rest(&mut self, value: f64, seconds: u32) {
        for i in 0..seconds * 10 {
            self.sample(value + 0.001 * f64::from(i % 2), false);
        }
    }

    fn control(&mut self, control: Control) -> Result<(), Refusal> {
        let mut out = RunOutcome::default();
        self.run
            .control(&control, self.at_us, &mut self.notebook, &mut out)
    }
}

#[test]
fn each_press_lands_at_the_next_stop_and_the_last_ends_the_run() {
    let mut rig = ScriptedRig::new(
        &["deck/1/front", "deck/1/rear"],
        CaptureMode::Press,
        FigureRule::BelowZero,
    );
    rig.press(9.5);
    assert_eq!(rig.run.walk().at(), Some(1));
    rig.press(9.4);
    let kept = rig.notebook.readings();
    assert_eq!(kept[0], ("deck/1/front".to_owned(), 0.5));
    assert_eq!(kept[1].0, "deck/1/rear");
    assert!(rig.run.finished());
    assert!(rig.said[0].contains("next deck 1 rear"), "{:?}", rig.said);
}

#[test]
fn a_gauge_that_comes_to_rest_is_taken_and_stays_taken_once() {
    let mut rig = ScriptedRig::new(
        &["deck/1/front", "deck/1/rear"],
        CaptureMode::Settle,
        FigureRule::BelowZero,
    );
    rig.rest(8.0, 4);
    assert_eq!(rig.notebook.readings().len(), 0, "not moved yet");
    rig.rest(9.5, 8);
    let kept = rig.notebook.readings();
    assert_eq!(kept.len(), 1, "{kept:?}");
    assert!((kept[0].1 - 0.4995).abs() < 0.002, "{kept:?}");
    assert_eq!(rig.run.walk().at(), Some(1));
}

#[test]
fn again_before_anything_moved_asks_whether_the_last_reading_is_meant() {
    let mut rig = ScriptedRig::new(
        &["deck/1/front", "deck/1/rear"],
        CaptureMode::Press,
        FigureRule::BelowZero,
    );
    rig.press(9.5);
    rig.control(Control::Again).unwrap();
    let asked = rig.run.question().map(|q| q.text.clone()).unwrap();
    assert!(asked.contains("deck 1 front"), "{asked}");
    assert_eq!(rig.notebook.voided(), [] as [u64; 0]);
    rig.control(Control::Again).unwrap();
    assert_eq!(rig.notebook.voided(), [1]);
    assert_eq!(rig.run.walk().at(), Some(0));
    rig.press(9.6);
    let kept = rig.notebook.readings();
    assert_eq!(kept[1].0, "deck/1/front");
}

#[test]
fn going_to_a_spot_that_was_taken_and_taking_it_voids_the_former_reading() {
    let mut rig = ScriptedRig::new(
        &["deck/1/front", "deck/1/rear"],
        CaptureMode::Press,
        FigureRule::BelowZero,
    );
    rig.press(9.5);
    rig.control(Control::Go {
        spot: "deck/1/front".to_owned(),
    })
    .unwrap();
    rig.press(9.3);
    assert_eq!(rig.notebook.voided(), [1]);
    assert_eq!(rig.run.walk().at(), Some(1));
}

#[test]
fn a_value_that_the_disk_refuses_is_not_taken() {
    let mut rig = ScriptedRig::new(&["deck/1/front"], CaptureMode::Press, FigureRule::BelowZero);
    rig.notebook.full = true;
    rig.press(9.5);
    assert_eq!(rig.run.walk().became(), [StopOutcome::Left]);
    assert!(rig.said[0].contains("not kept"), "{:?}", rig.said);
    rig.notebook.full = false;
    rig.press(9.5);
    assert!(rig.run.finished());
}

#[test]
fn on_hold_nothing_is_taken() {
    let mut rig = ScriptedRig::new(&["deck/1/front"], CaptureMode::Press, FigureRule::BelowZero);
    rig.control(Control::Hold).unwrap();
    rig.press(9.5);
    assert!(rig.notebook.readings().is_empty());
    rig.control(Control::Resume).unwrap();
    rig.press(9.5);
    assert_eq!(rig.notebook.readings().len(), 1);
}

#[test]
fn a_value_from_before_a_loss_does_not_land_at_the_next_stop() {
    let mut rig = ScriptedRig::new(
        &["deck/1/front", "deck/1/rear"],
        CaptureMode::Settle,
        FigureRule::BelowZero,
    );
    rig.rest(12.0, 3);
    rig.rest(9.5, 1);
    let mut out = RunOutcome::default();
    rig.run.gap("dial", rig.at_us, &mut rig.notebook, &mut out);
    rig.rest(9.5, 1);
    assert!(
        rig.notebook.readings().is_empty(),
        "half a rest on either side of a loss is none"
    );
}

#[test]
fn a_spot_that_is_no_stop_is_refused_by_name() {
    let mut rig = ScriptedRig::new(&["deck/1/front"], CaptureMode::Press, FigureRule::BelowZero);
    let refused = rig
        .control(Control::Go {
            spot: "chamber/1".to_owned(),
        })
        .unwrap_err();
    assert!(refused.found.contains("chamber/1"));
    assert!(refused.to_string().contains("deck/1/front"), "{refused}");
    let go = |spot: &str| Control::Go {
        spot: spot.to_owned(),
    };
    let refused = rig.control(go("deck 1 frnt")).unwrap_err();
    let text = refused.to_string();
    assert!(text.contains("did you mean deck/1/front?"), "{text}");
}

#[test]
fn go_reaches_the_round_that_is_shown() {
    let spots = [
        "deck/1/front",
        "deck/2/front",
        "deck/1/front",
        "deck/2/front",
    ];
    let mut rig = ScriptedRig::new(&spots, CaptureMode::Press, FigureRule::BelowZero);
    for (stop, round) in [1, 1, 2, 2].into_iter().enumerate() {
        rig.run.stops[stop].stop.round = round;
    }
    let go = |rig: &mut ScriptedRig, said: &str| {
        let spot = super::as_said(said, benchhand_blueprint::engine::LengthUnits::Inch);
        rig.control(Control::Go { spot }).unwrap();
        rig.run.walk().at()
    };
    assert_eq!(go(&mut rig, "decks 2 front"), Some(1), "round 1 is shown");
    rig.control(Control::Skip).unwrap();
    assert_eq!(rig.run.walk().at(), Some(2), "round 2 begins");
    // Deck 2 was passed over in round 1; the screen shows round 2.
    assert_eq!(go(&mut rig, "deck 2 front"), Some(3));
    assert_eq!(go(&mut rig, "Deck 2 Front round 1"), Some(1));
    rig.press(9.9);
    let refused = rig.control(Control::Go {
        spot: "deck/1/front round 3".to_owned(),
    });
    let refused = refused.unwrap_err().to_string();
    assert!(refused.contains("in round 3"), "{refused}");
}

#[test]
fn a_reading_that_is_moved_leaves_its_stop_and_takes_the_other() {
    let spots = ["deck/1/front", "deck/2/front", "deck/3/front"];
    let mut rig = ScriptedRig::new(&spots, CaptureMode::Press, FigureRule::BelowZero);
    rig.press(9.5);
    let to = "deck/3/front".parse().unwrap();
    rig.run.reading_changed(1, Some(&to), &rig.notebook);
    let became = [StopOutcome::Left, StopOutcome::Left, StopOutcome::Taken(1)];
    assert_eq!(rig.run.walk().became(), became);
    assert_eq!(rig.run.walk().at(), Some(1), "nobody is sent elsewhere");
    rig.press(9.4);
    assert_eq!(
        rig.run.walk().at(),
        Some(0),
        "the stop it left is not forgotten"
    );
}

#[test]
fn a_reading_that_is_voided_leaves_its_stop_to_be_visited() {
    let mut rig = ScriptedRig::new(&["deck/1/front"], CaptureMode::Press, FigureRule::BelowZero);
    rig.press(9.5);
    rig.run.reading_changed(1, None, &rig.notebook);
    assert_eq!(rig.run.walk().at(), Some(0));
    assert!(!rig.run.finished());
}

/// The bridge rests a moment, is lifted and set down: a person is asked which place that is.
#[test]
fn a_bridge_lifted_too_soon_is_asked_about_and_kept_only_when_a_person_says_so() {
    let mut stops = stops(
        &["deck/1/thrust", "deck/1/antithrust"],
        CaptureMode::Settle,
        FigureRule::BelowZero,
    );
    for stop in &mut stops {
        let CaptureSettings::Settle(settle) = &mut stop.settings else {
            panic!("wrong mode")
        };
        settle.hanging = Some(2.0);
    }
    let walk = RouteWalk::new(stops.len());
    let run = RouteRun::new(stops, walk, Default::default());
    let mut rig = ScriptedRig {
        run,
        notebook: Notebook::default(),
        at_us: 0,
        said: Vec::new(),
    };
    rig.rest(2.0, 4);
    for i in 0..12 {
        rig.sample(2.0 + 0.6 * f64::from(i), false);
    }
    (0..15).for_each(|_| rig.sample(9.5, false));
    rig.rest(2.0, 3);
    for i in 0..12 {
        rig.sample(2.0 + 0.6 * f64::from(i), false);
    }
    rig.rest(9.2, 6);
    assert_eq!(rig.notebook.readings(), [], "{:?}", rig.said);
    let question = rig.run.question().expect("a question").clone();
    assert!(question.text.contains("lifted before"), "{}", question.text);
    // `take` from a pedal is no answer.
    let _ = rig.control(Control::Take);
    assert_eq!(rig.notebook.readings(), []);
    rig.control(Control::Keep).unwrap();
    let kept = rig.notebook.readings();
    assert!(
        matches!(&kept[..], [(spot, value)] if spot == "deck/1/thrust" && (value - 0.8).abs() < 0.01),
        "{kept:?}"
    );
}
