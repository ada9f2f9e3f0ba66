//! Zeros that do not hold any more, and zeros that are set anew, on a run without disk or clock.

use benchhand_drivers::{Sample, SampleStatus, Unit};
use benchhand_wire::{AnswerWord, Control, QuestionAbout, Refusal, SaidAs};

use super::tests::stops;
use super::{DoubtedReading, RouteRun, RunJournal, RunOutcome};
use crate::capture::CaptureMode;
use crate::known::expectation::Expectation;
use crate::live::figuring::FigureBasis;
use crate::live::steady::RestingValue;
use crate::route::{FigureRule, RouteStop, RouteWalk};
use crate::store::fact::{Fact, StreamAt};
use benchhand_blueprint::Spot;
use benchhand_blueprint::units::QuantityKind;

/// Keeps facts in memory; the dial's zero is old until a person lets it stand.
#[derive(Default)]
struct Notebook {
    facts: Vec<Fact>,
    old: bool,
}

impl RunJournal for Notebook {
    fn keep(&mut self, fact: Fact) -> Result<u64, Refusal> {
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

    fn old_zero(&self, gauge: &str) -> Option<String> {
        self.old.then(|| format!("{gauge} was zeroed 26 hours ago"))
    }

    fn let_zero_stand(&mut self, _: &str) -> Result<(), Refusal> {
        self.old = false;
        Ok(())
    }
}

/// Two deck spots and a dial that sends ten values a second; it is zeroed at 10 mm.
pub(super) struct ScriptedRig {
    pub(super) run: RouteRun,
    notebook: Notebook,
    at_us: u64,
    pub(super) out: RunOutcome,
}

impl ScriptedRig {
    pub(super) fn new(old: bool) -> ScriptedRig {
        let spots = ["deck/1/thrust", "deck/1/antithrust", "deck/2/thrust"];
        let stops = stops(&spots, CaptureMode::Settle, FigureRule::BelowZero);
        let walk = RouteWalk::new(stops.len());
        let notebook = Notebook {
            old,
            ..Notebook::default()
        };
        ScriptedRig {
            run: RouteRun::new(stops, walk, Default::default()),
            notebook,
            at_us: 0,
            out: RunOutcome::default(),
        }
    }

    pub(super) fn shows(&mut self, value: f64) {
        self.at_us += 100_000;
        let sample = Sample {
            at_us: self.at_us,
            channel: 0,
            value: Some((value * 100.0).round() / 100.0),
            unit: Unit::Millimetre,
            resolution: 0.01,
            status: SampleStatus::default(),
        };
        let (run, out) = (&mut self.run, &mut self.out);
        run.sample("dial", &sample, &mut self.notebook, out);
    }

    /// The dial is lifted off, set down where it shows `value`, and left to rest.
    pub(super) fn set_down(&mut self, value: f64) {
        for step in 0..20 {
            self.shows(20.0 - f64::from(step) * 0.05);
        }
        for _ in 0..60 {
            self.shows(value);
        }
    }

    pub(super) fn zeroed(&mut self, raw: f64) {
        let face = RestingValue {
            raw,
            unit: Unit::Millimetre,
            sd: 0.0,
            n: 20,
            resolution: 0.01,
        };
        let basis = |_: &RouteStop| {
            Some(FigureBasis {
                gauge: "dial".to_owned(),
                sense: 1.0,
                zero: Some((raw, Unit::Millimetre)),
                master: 0.0,
                correction: None,
                delivered: false,
            })
        };
        let at = (face, self.at_us);
        let (run, out) = (&mut self.run, &mut self.out);
        run.zeroed("dial", &basis, at, &mut self.notebook, out);
    }

    pub(super) fn control(&mut self, control: &Control) {
        let (run, out) = (&mut self.run, &mut self.out);
        run.control(control, self.at_us, &mut self.notebook, out)
            .expect("it answers");
    }

    pub(super) fn asked(&self) -> Option<(QuestionAbout, &str)> {
        let question = self.run.question()?;
        Some((question.doubt.about(), question.text.as_str()))
    }

    /// Spot and value of each reading that counts.
    pub(super) fn kept(&self) -> Vec<(String, f64)> {
        let of = |fact: &Fact| match fact {
            Fact::Final(r) => Some((r.spot.clone(), (r.value * 100.0).round() / 100.0)),
            _ => None,
        };
        self.notebook.facts.iter().filter_map(of).collect()
    }
}

#[test]
fn a_value_that_counts_from_an_old_zero_is_asked_about_and_does_not_move_the_route_on() {
    let mut rig = ScriptedRig::new(true);
    rig.set_down(9.8);
    let (about, text) = rig.asked().expect("a question");
    assert_eq!(about, QuestionAbout::OldZero);
    for part in ["deck 1 thrust", "0.20 mm", "zeroed 26 hours ago", "zero it"] {
        assert!(text.contains(part), "{text}");
    }
    assert!(rig.kept().is_empty());
    assert_eq!(rig.run.walk().at(), Some(0));
    let said = rig.out.said.iter().any(|s| s.said_as == SaidAs::Asked);
    assert!(said, "it is asked aloud");

    // Once kept, the value counts from the old zero, and the next one is not asked about again.
    rig.control(&Control::Keep);
    rig.set_down(9.7);
    assert_eq!(rig.asked(), None);
    let kept = [("deck/1/thrust", 0.2), ("deck/1/antithrust", 0.3)];
    assert_eq!(rig.kept(), kept.map(|(s, v)| (s.to_owned(), v)));
}

#[test]
fn what_waits_counts_from_the_zero_that_is_set_anew_and_the_zero_face_is_no_reading() {
    let mut rig = ScriptedRig::new(true);
    rig.set_down(9.8);
    assert!(rig.asked().is_some());
    // On the zero face the dial shows 10.05 now: the zero had moved by 0.05.
    rig.set_down(10.05);
    rig.notebook.old = false;
    rig.zeroed(10.05);
    assert_eq!(rig.asked(), None);
    assert_eq!(rig.kept(), [("deck/1/thrust".to_owned(), 0.25)]);
    rig.set_down(9.75);
    let kept = rig.kept();
    assert_eq!(kept.len(), 2, "{kept:?}");
    assert_eq!(kept[1], ("deck/1/antithrust".to_owned(), 0.3));
}

#[test]
fn a_zero_face_that_comes_to_rest_after_zeroing_is_no_reading_either() {
    let mut rig = ScriptedRig::new(false);
    rig.zeroed(10.0);
    rig.set_down(10.0);
    assert!(rig.kept().is_empty(), "{:?}", rig.kept());
    let said: Vec<&str> = rig.out.said.iter().map(|s| s.text.as_str()).collect();
    assert!(
        said.contains(&"dial shows its zero: no reading"),
        "{said:?}"
    );
    // A piston that stands level with the deck shows the same number.
    rig.set_down(10.0);
    assert_eq!(rig.kept(), [("deck/1/thrust".to_owned(), 0.0)]);
}

#[test]
fn a_gauge_that_was_off_is_asked_about_until_it_is_zeroed_or_let_stand() {
    for answer in [AnswerWord::Keep, AnswerWord::Again] {
        let mut rig = ScriptedRig::new(false);
        rig.set_down(9.8);
        assert!(rig.run.lose_zero("dial", "dial was off"));
        rig.set_down(9.6);
        let (_, text) = rig.asked().expect("a question");
        assert!(text.contains("dial was off"), "{text}");
        assert_eq!(rig.kept().len(), 1);
        if answer == AnswerWord::Keep {
            rig.control(&Control::Keep);
            assert_eq!(rig.kept().len(), 2);
        } else {
            rig.control(&Control::Again);
            rig.set_down(9.6);
            assert!(rig.asked().is_some(), "the next is asked about as well");
            rig.zeroed(10.1);
            let expected = ("deck/1/antithrust".to_owned(), 0.5);
            assert_eq!(rig.kept().get(1), Some(&expected));
        }
        assert_eq!(rig.asked(), None);
    }
}

/// The dial was switched on while its plunger hung: it shows 0 there, and springs to 0 at each
/// lift. A zero that is found where it was tells, once for all, that no key was pressed.
#[test]
fn a_plunger_that_hangs_at_0_stops_the_work_once_and_not_at_each_lift() {
    let mut rig = ScriptedRig::new(false);
    let rest = |rig: &mut ScriptedRig, value: f64| (0..30).for_each(|_| rig.shows(value));
    rest(&mut rig, 10.0);
    rest(&mut rig, 0.0);
    assert!(rig.out.said.iter().any(|s| s.text.contains("zero key")));
    rig.out = RunOutcome::default();
    rest(&mut rig, 10.0);
    rig.zeroed(10.0);
    for (n, value) in [9.5, 9.4].into_iter().enumerate() {
        rest(&mut rig, 0.0);
        rest(&mut rig, value);
        assert_eq!(rig.kept().len(), n + 1, "{:?}", rig.out.said);
    }
    assert!(!rig.out.said.iter().any(|s| s.text.contains("zero key")));
}
