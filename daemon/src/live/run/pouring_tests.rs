//! Pouring as it really happens: refills first, pauses, two chambers of one filling, holds.

use benchhand_blueprint::Spot;
use benchhand_blueprint::units::{QuantityKind, Unit};
use benchhand_wire::{BuretteCounts, Control, Reason, Refusal};

use super::{ArrangedStop, DoubtedReading, RouteRun, RunJournal, RunOutcome};
use crate::capture::tests::Script;
use crate::capture::{CaptureSettings, ExpectedBounds, PourCounts, PourSettings};
use crate::known::expectation::{Expectation, ExpectationSource};
use crate::live::figuring::FigureBasis;
use crate::route::{FigureRule, RouteStop, RouteWalk};
use crate::store::fact::{Fact, Reading, StreamAt};

/// Keeps facts, and expects a nominal volume until a questioned value is kept.
pub(super) struct Notebook {
    pub(super) facts: Vec<Fact>,
    nominal: Option<f64>,
    /// One spot with another expectation.
    pub(super) odd: Option<(&'static str, f64)>,
    /// Whether the disk is full.
    pub(super) full: bool,
}

impl Notebook {
    /// The readings that count, by spot.
    fn standing(&self) -> Vec<(String, f64)> {
        let mut all: Vec<(u64, Reading, bool)> = Vec::new();
        for (index, fact) in self.facts.iter().enumerate() {
            let id = index as u64 + 1;
            match fact {
                Fact::Held(r) | Fact::Revised(r) | Fact::Final(r) => {
                    if let Some(old) = r.supersedes {
                        all.retain(|(id, ..)| *id != old);
                    }
                    all.push((id, r.clone(), true));
                }
                Fact::Voided { of, .. } => {
                    all.iter_mut()
                        .filter(|r| r.0 == *of)
                        .for_each(|r| r.2 = false);
                }
                _ => {}
            }
        }
        all.into_iter()
            .filter(|r| r.2)
            .map(|(_, r, _)| (r.spot, (r.value * 100.0).round() / 100.0))
            .collect()
    }

    fn confirmed(&self) -> Option<f64> {
        let of = |fact: &Fact| match fact {
            Fact::Held(r) | Fact::Revised(r) | Fact::Final(r) => {
                r.labels.contains_key("asked").then_some(r.value)
            }
            _ => None,
        };
        self.facts.iter().find_map(of)
    }
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

    fn expectation(&self, spot: &Spot, _: u32, _: QuantityKind) -> Option<Expectation> {
        let odd = self.odd.filter(|(odd, _)| spot.to_string() == *odd);
        let usual = || self.confirmed().or(self.nominal);
        let middle = odd.map(|(_, cc)| cc).or_else(usual)?;
        Some(Expectation {
            expected: ExpectedBounds::around(middle, 0.25 * middle),
            confirmed: Vec::new(),
            source: ExpectationSource::Nominal,
            unit: Unit::CubicCentimetre,
        })
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

/// A run on a scripted burette, with its results.
pub(super) struct ScriptedRig {
    pub(super) run: RouteRun,
    pub(super) notebook: Notebook,
    script: Script,
    fed: usize,
    pub(super) said: Vec<String>,
    learned: Vec<(String, BuretteCounts)>,
    /// How often the run announced that the route moved.
    pub(super) moved: usize,
}

impl ScriptedRig {
    pub(super) fn new(level: f64, counts: PourCounts, nominal: Option<f64>) -> ScriptedRig {
        let stops: Vec<ArrangedStop> = (1..=4).map(|n| chamber(n, counts)).collect();
        let walk = RouteWalk::new(stops.len());
        ScriptedRig {
            run: RouteRun::new(stops, walk, Default::default()),
            notebook: Notebook {
                facts: Vec::new(),
                nominal,
                odd: None,
                full: false,
            },
            script: Script::burette(level),
            fed: 0,
            said: Vec::new(),
            learned: Vec::new(),
            moved: 0,
        }
    }

    /// Feeds the samples that the script added.
    pub(super) fn feed(&mut self, add: impl FnOnce(&mut Script)) -> &mut ScriptedRig {
        add(&mut self.script);
        for sample in &self.script.samples[self.fed..] {
            let mut out = RunOutcome::default();
            self.run
                .sample("burette", sample, &mut self.notebook, &mut out);
            self.said.extend(out.said.into_iter().map(|s| s.text));
            self.learned.extend(out.learned);
            self.moved += usize::from(out.moved);
        }
        self.fed = self.script.samples.len();
        self
    }

    pub(super) fn control(&mut self, control: Control) -> &mut ScriptedRig {
        let mut out = RunOutcome::default();
        let at_us = self.script.samples.last().map_or(0, |s| s.at_us);
        self.run
            .control(&control, at_us, &mut self.notebook, &mut out)
            .unwrap();
        self.said.extend(out.said.into_iter().map(|s| s.text));
        self.learned.extend(out.learned);
        self
    }

    pub(super) fn question(&self) -> String {
        self.run
            .question()
            .map_or_else(String::new, |q| q.text.clone())
    }

    #[track_caller]
    pub(super) fn assert_kept(&self, expected: &[(u32, f64)]) {
        let standing = self.notebook.standing();
        let near = standing.len() == expected.len()
            && standing
                .iter()
                .zip(expected)
                .all(|((spot, value), (n, truth))| {
                    *spot == format!("chamber/{n}") && (value - truth).abs() < 0.05
                });
        assert!(near, "{standing:?} for {expected:?}: {:#?}", self.said);
    }
}

fn chamber(number: u32, counts: PourCounts) -> ArrangedStop {
    ArrangedStop {
        stop: RouteStop {
            spot: format!("chamber/{number}").parse().unwrap(),
            round: 1,
            mode: "pour".to_owned(),
            kind: "volume".to_owned(),
            prompt: String::new(),
            figure: FigureRule::AsCaptured,
            turn: None,
            with: Vec::new(),
            settings: toml::Table::new(),
        },
        gauge: "burette".to_owned(),
        settings: CaptureSettings::Pour(PourSettings {
            counts,
            ..PourSettings::default()
        }),
        basis: FigureBasis {
            gauge: "burette".to_owned(),
            sense: 1.0,
            zero: None,
            master: 0.0,
            correction: None,
            delivered: true,
        },
        channels: vec!["volume".to_owned()],
        corrections: Vec::new(),
        capacity_cc: None,
        by: None,
        told: None,
    }
}

#[test]
fn a_first_refill_on_a_scale_of_unknown_direction_is_asked_about() {
    let mut rig = ScriptedRig::new(60.0, PourCounts::Unknown, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(0.0, 12.0)
            .rest(5.0)
            .run(46.0, 4.0)
            .rest(8.0);
    });
    rig.assert_kept(&[]);
    assert!(rig.question().contains("60.00"), "{}", rig.question());
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(8.0).run(47.0, 4.0).rest(6.0);
    });
    rig.control(Control::Refill);
    rig.assert_kept(&[(1, 46.0), (2, 47.0)]);
    assert_eq!(rig.learned, [("burette".to_owned(), BuretteCounts::Up)]);
}

#[test]
fn a_scale_that_counts_down_and_is_filled_first_is_learned_with_one_answer() {
    let mut rig = ScriptedRig::new(40.0, PourCounts::Unknown, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(100.0, 12.0)
            .rest(5.0)
            .run(54.0, 4.0)
            .rest(6.0);
    });
    rig.control(Control::Refill);
    rig.feed(|s| {
        s.run(100.0, 12.0).rest(5.0).run(54.0, 4.0).rest(6.0);
    });
    rig.assert_kept(&[(1, 46.0), (2, 46.0)]);
    assert_eq!(rig.learned, [("burette".to_owned(), BuretteCounts::Down)]);
}

#[test]
fn a_pour_that_is_held_and_resumed_goes_on_in_its_chamber() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(20.0, 4.0).rest(4.0);
    });
    rig.control(Control::Hold);
    rig.feed(|s| {
        s.rest(6.0);
    });
    rig.control(Control::Resume);
    rig.feed(|s| {
        s.rest(3.0)
            .run(46.0, 4.0)
            .rest(5.0)
            .run(0.0, 12.0)
            .rest(4.0)
            .run(46.5, 4.0)
            .rest(6.0);
    });
    rig.assert_kept(&[(1, 46.0), (2, 46.5)]);
}

#[test]
fn two_chambers_of_one_filling_are_two() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(46.0, 4.0)
            .rest(29.0)
            .run(92.0, 4.0)
            .rest(6.0);
    });
    rig.assert_kept(&[(1, 46.0), (2, 46.0)]);
}

#[test]
fn a_rest_at_the_expected_value_is_no_end() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(46.0, 4.0)
            .rest(25.0)
            .run(52.0, 4.0)
            .rest(6.0);
    });
    rig.assert_kept(&[(1, 52.0)]);
}

#[test]
fn a_small_burette_is_summed_wherever_a_filling_ended() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(64.0));
    for active in &mut rig.run.stops {
        if let CaptureSettings::Pour(pour) = &mut active.settings {
            pour.capacity_cc = 50.0;
        }
    }
    rig.run.actives.clear();
    rig.run.turn_to_stop();
    rig.feed(|s| {
        s.rest(4.0)
            .run(44.0, 4.0)
            .rest(6.0)
            .run(0.0, 12.0)
            .rest(4.0)
            .run(20.0, 4.0)
            .rest(6.0);
        s.run(0.0, 12.0)
            .rest(4.0)
            .run(49.0, 4.0)
            .rest(5.0)
            .run(0.0, 12.0)
            .rest(4.0);
        s.run(15.5, 4.0).rest(6.0);
    });
    rig.assert_kept(&[(1, 64.0), (2, 64.5)]);
}

#[test]
fn a_bubble_seen_after_moving_on_is_poured_again() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(44.0, 4.0).rest(25.0);
    });
    rig.control(Control::Again);
    assert!(
        rig.question().contains("is chamber 1 meant"),
        "{}",
        rig.question()
    );
    rig.control(Control::Again);
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(4.0).run(46.0, 4.0).rest(6.0);
    });
    rig.assert_kept(&[(1, 46.0)]);
    assert_eq!(rig.run.walk().at(), Some(1));
}

/// The second filling of a large chamber is enough for the beginning of the next chamber too.
#[test]
fn what_a_second_filling_has_left_goes_into_the_next_chamber_once() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(60.0));
    for active in &mut rig.run.stops {
        if let CaptureSettings::Pour(pour) = &mut active.settings {
            pour.capacity_cc = 50.0;
        }
    }
    rig.run.actives.clear();
    rig.run.turn_to_stop();
    rig.feed(|s| {
        s.rest(4.0)
            .run(49.0, 4.0)
            .rest(5.0)
            .run(0.0, 12.0)
            .rest(4.0);
        s.run(11.0, 4.0).rest(8.0).run(48.0, 4.0).rest(5.0);
        s.run(0.0, 12.0).rest(4.0).run(24.0, 4.0).rest(8.0);
    });
    rig.assert_kept(&[(1, 60.0), (2, 61.0)]);
}

/// The chamber before was complete and the burette refilled: a hold amid the next chamber loses
/// neither.
#[test]
fn a_hold_amid_the_next_chamber_leaves_the_one_before() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    for active in &mut rig.run.stops {
        if let CaptureSettings::Pour(pour) = &mut active.settings {
            pour.capacity_cc = 50.0;
        }
    }
    rig.run.actives.clear();
    rig.run.turn_to_stop();
    rig.feed(|s| {
        s.rest(4.0).run(45.8, 4.0).rest(6.0);
        // The tap is shut, and the person presses a key before the level was seen to rest.
        s.run(0.0, 12.0).rest(4.0).run(20.0, 4.0).rest(0.4);
    });
    rig.control(Control::Hold);
    rig.feed(|s| {
        s.rest(20.0);
    });
    rig.control(Control::Resume);
    rig.feed(|s| {
        s.rest(3.0).run(46.1, 4.0).rest(8.0);
    });
    assert_eq!(rig.question(), "", "nothing is asked");
    rig.assert_kept(&[(1, 45.8), (2, 46.1)]);
}
