//! A pedal: a contact across an input of a gauge's port, whose presses steer the route.
//!
//! Which press means which control is text. The state machine takes the input's changes with
//! the port's own times and knows no port and no route.

use std::collections::BTreeMap;

use benchhand_drivers::transport::ModemInputs;
use benchhand_wire::Control;
use serde::de::Error;
use serde::de::value::{Error as ValueError, MapDeserializer};
use serde::{Deserialize, Deserializer};

/// The version of the pedals' text that this program reads.
const VERSION: i64 = 1;
/// A contact bounces for some milliseconds when it closes and opens; a state counts once it has
/// lasted this long. Common practice, no source.
const DEBOUNCE_US: u64 = 30_000;

/// The shop's pedals, as their text states them.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Text {
    pedals: i64,
    #[serde(default)]
    gauge: BTreeMap<String, PedalSetup>,
}

/// One pedal.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PedalSetup {
    /// Which input of the gauge's port it is across.
    #[serde(default)]
    input: Input,
    /// The state of the input while the pedal is down.
    #[serde(default = "yes")]
    down: bool,
    /// What a press does.
    #[serde(default)]
    press: Option<PedalControl>,
    /// What a long press does; it does so while the pedal is still down.
    #[serde(default)]
    long: Option<PedalControl>,
    /// What two presses in a row do.
    #[serde(default)]
    double: Option<PedalControl>,
    /// A press of at least this length is a long one, ms.
    #[serde(default = "long_ms")]
    long_ms: u64,
    /// How long to wait for a second press, ms.
    #[serde(default = "double_ms")]
    double_ms: u64,
}

/// An input of a port.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Input {
    #[default]
    Cts,
    Dsr,
}

/// A control that a press may ask for: it needs no further word and answers no question.
#[derive(Debug, Clone, PartialEq, Eq)]
struct PedalControl(Control);

impl<'de> Deserialize<'de> for PedalControl {
    fn deserialize<D: Deserializer<'de>>(word: D) -> Result<PedalControl, D::Error> {
        let word = String::deserialize(word)?;
        let fields = [("control", word.as_str())].into_iter();
        let control = Control::deserialize(MapDeserializer::<_, ValueError>::new(fields)).ok();
        control
            .filter(|control| {
                matches!(
                    control,
                    Control::Take
                        | Control::Again
                        | Control::Back
                        | Control::Skip
                        | Control::Add
                        | Control::Hold
                        | Control::Resume
                        | Control::End
                )
            })
            .map(PedalControl)
            .ok_or_else(|| {
                D::Error::unknown_variant(
                    &word,
                    &[
                        "take", "again", "back", "skip", "add", "hold", "resume", "end",
                    ],
                )
            })
    }
}

fn yes() -> bool {
    true
}

fn long_ms() -> u64 {
    700
}

fn double_ms() -> u64 {
    400
}

/// Reads the text of the shop's pedals: one for each gauge whose port carries one.
///
/// # Errors
/// Where the text cannot be read, with the byte of the fault.
pub(crate) fn parse(text: &str) -> Result<BTreeMap<String, PedalSetup>, (usize, String)> {
    let read: Text = toml::from_str(text).map_err(|e| {
        let at = e.span().map_or(0, |span| span.start);
        (at, e.message().to_owned())
    })?;
    if read.pedals != VERSION {
        let found = format!(
            "pedals = {} found; this program reads {VERSION}",
            read.pedals
        );
        return Err((0, found));
    }
    for (gauge, setup) in &read.gauge {
        let at = text.find(gauge.as_str()).unwrap_or(0);
        if setup.press.is_none() && setup.long.is_none() && setup.double.is_none() {
            let found = format!("the pedal at {gauge} does nothing; give press, long or double");
            return Err((at, found));
        }
        if setup.long_ms * 1000 <= DEBOUNCE_US || setup.double_ms * 1000 <= DEBOUNCE_US {
            let found = format!(
                "the pedal at {gauge}: long_ms and double_ms must be above {}",
                DEBOUNCE_US / 1000
            );
            return Err((at, found));
        }
    }
    Ok(read.gauge)
}

/// A pedal at work.
#[derive(Debug)]
pub(crate) struct Pedal {
    setup: PedalSetup,
    /// The state that counts; `None` until the input was first read.
    down: Option<bool>,
    /// A state that does not count yet, and its beginning.
    fresh: Option<(bool, u64)>,
    /// When the pedal went down, until that press has been handled.
    pressed_us: Option<u64>,
    /// When a press ended that may be the first of two.
    first_us: Option<u64>,
}

impl Pedal {
    pub(crate) fn new(setup: PedalSetup) -> Pedal {
        Pedal {
            setup,
            down: None,
            fresh: None,
            pressed_us: None,
            first_us: None,
        }
    }

    /// Takes in the inputs as they are at `at_us`. Returns the controls that the presses so far ask
    /// for.
    pub(crate) fn inputs(&mut self, at_us: u64, inputs: ModemInputs) -> Vec<Control> {
        let mut asked = self.tick(at_us);
        let level = match self.setup.input {
            Input::Cts => inputs.cts,
            Input::Dsr => inputs.dsr,
        };
        let down = level == self.setup.down;
        match (self.down, self.fresh) {
            // The pedal's state at plugging in is no press.
            (None, _) => self.down = Some(down),
            (Some(now), _) if now == down => self.fresh = None,
            (_, Some((fresh, _))) if fresh == down => {}
            _ => self.fresh = Some((down, at_us)),
        }
        asked.extend(self.tick(at_us));
        asked
    }

    /// Tells the pedal the time. Returns the controls that the presses so far ask for.
    pub(crate) fn tick(&mut self, at_us: u64) -> Vec<Control> {
        let mut asked = Vec::new();
        if let Some((down, since_us)) = self.fresh
            && at_us >= since_us + DEBOUNCE_US
        {
            self.fresh = None;
            self.down = Some(down);
            self.turned(down, since_us, &mut asked);
        }
        if let Some(since_us) = self.pressed_us
            && self.setup.long.is_some()
            && self.fresh.is_none()
            && at_us >= since_us + self.setup.long_ms * 1000
        {
            self.pressed_us = None;
            self.single(&mut asked);
            ask(self.setup.long.as_ref(), &mut asked);
        }
        if let Some(first_us) = self.first_us
            && self.pressed_us.is_none()
            && self.fresh.is_none()
            && at_us >= first_us + self.setup.double_ms * 1000
        {
            self.single(&mut asked);
        }
        asked
    }

    /// Whether a press is undecided, so that the pedal must be told the time.
    pub(crate) fn waits(&self) -> bool {
        self.fresh.is_some() || self.pressed_us.is_some() || self.first_us.is_some()
    }

    /// The line was lost: a press that had begun does not count.
    pub(crate) fn lost(&mut self) {
        *self = Pedal::new(self.setup.clone());
    }

    fn turned(&mut self, down: bool, at_us: u64, asked: &mut Vec<Control>) {
        if down {
            let late = |first| at_us >= first + self.setup.double_ms * 1000;
            if self.first_us.is_some_and(late) {
                self.single(asked);
            }
            self.pressed_us = Some(at_us);
            return;
        }
        let Some(since_us) = self.pressed_us.take() else {
            return; // The long press was dealt with while it was held.
        };
        let long = self.setup.long.is_some() && at_us >= since_us + self.setup.long_ms * 1000;
        if long {
            self.single(asked);
            ask(self.setup.long.as_ref(), asked);
        } else if self.setup.double.is_none() {
            ask(self.setup.press.as_ref(), asked);
        } else if self.first_us.take().is_some() {
            ask(self.setup.double.as_ref(), asked);
        } else {
            self.first_us = Some(at_us);
        }
    }

    /// The press that may have been the first of two was a single one.
    fn single(&mut self, asked: &mut Vec<Control>) {
        if self.first_us.take().is_some() {
            ask(self.setup.press.as_ref(), asked);
        }
    }
}

fn ask(control: Option<&PedalControl>, asked: &mut Vec<Control>) {
    asked.extend(control.map(|PedalControl(control)| control.clone()));
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "pedals = 1\n[gauge.dial]\ninput = \"dsr\"\npress = \"take\"\n\
        long = \"again\"\ndouble = \"skip\"\n";

    /// Plays (ms, down) changes, with time told every 5 ms, until `end_ms`.
    fn played(text: &str, changes: &[(u64, bool)], end_ms: u64) -> Vec<(u64, Control)> {
        let mut pedal = Pedal::new(parse(text).unwrap().remove("dial").unwrap());
        pedal.inputs(0, ModemInputs::default());
        let mut asked = Vec::new();
        for ms in 1..=end_ms {
            let now = changes.iter().filter(|(at, _)| *at == ms);
            for &(_, down) in now {
                let inputs = ModemInputs {
                    cts: false,
                    dsr: down,
                };
                asked.extend(pedal.inputs(ms * 1000, inputs).into_iter().map(|c| (ms, c)));
            }
            if ms % 5 == 0 {
                asked.extend(pedal.tick(ms * 1000).into_iter().map(|c| (ms, c)));
            }
        }
        assert!(!pedal.waits() || end_ms < 2000);
        asked
    }

    fn controls(changes: &[(u64, bool)]) -> Vec<Control> {
        let asked = played(TEXT, changes, 3000);
        asked.into_iter().map(|(_, control)| control).collect()
    }

    #[test]
    fn a_press_a_long_one_and_two_in_a_row_are_told_apart() {
        assert_eq!(controls(&[(100, true), (250, false)]), [Control::Take]);
        assert_eq!(controls(&[(100, true), (1200, false)]), [Control::Again]);
        let two = [(100, true), (200, false), (400, true), (500, false)];
        assert_eq!(controls(&two), [Control::Skip]);
        let slow = [(100, true), (200, false), (900, true), (1000, false)];
        assert_eq!(controls(&slow), [Control::Take, Control::Take]);
        let then_long = [(100, true), (200, false), (400, true), (1500, false)];
        assert_eq!(controls(&then_long), [Control::Take, Control::Again]);
    }

    #[test]
    fn a_contact_that_bounces_is_one_press_and_a_spike_is_none() {
        let bouncing = [
            (100, true),
            (103, false),
            (106, true),
            (110, false),
            (115, true),
            (250, false),
            (254, true),
            (259, false),
        ];
        assert_eq!(controls(&bouncing), [Control::Take]);
        assert_eq!(controls(&[(100, true), (120, false)]), []);
    }

    #[test]
    fn a_long_press_acts_while_it_is_held() {
        let asked = played(TEXT, &[(100, true)], 1500);
        assert_eq!(asked, [(800, Control::Again)]);
    }

    #[test]
    fn without_a_double_a_press_acts_when_it_ends() {
        let text = "pedals = 1\n[gauge.dial]\ninput = \"dsr\"\npress = \"take\"\n";
        let asked = played(text, &[(100, true), (200, false)], 2500);
        assert_eq!(asked, [(230, Control::Take)]);
    }

    #[test]
    fn a_pedal_that_is_down_when_it_is_plugged_in_was_not_pressed() {
        let mut pedal = Pedal::new(parse(TEXT).unwrap().remove("dial").unwrap());
        let down = ModemInputs {
            cts: false,
            dsr: true,
        };
        assert!(pedal.inputs(0, down).is_empty());
        assert!(pedal.tick(5_000_000).is_empty());
        assert!(pedal.inputs(6_000_000, ModemInputs::default()).is_empty());
        assert!(pedal.tick(9_000_000).is_empty());
    }

    #[test]
    fn a_pedal_that_does_nothing_or_leaps_is_refused() {
        let nothing = parse("pedals = 1\n[gauge.dial]\ninput = \"cts\"\n").unwrap_err();
        assert!(nothing.1.contains("does nothing"), "{nothing:?}");
        let leap = parse("pedals = 1\n[gauge.dial]\npress = \"leap\"\n").unwrap_err();
        assert!(leap.1.contains("leap"), "{leap:?}");
        // Controls that answer a question or need a further word.
        for word in ["keep", "go", "type", "undo"] {
            let refused = parse(&format!("pedals = 1\n[gauge.dial]\npress = \"{word}\"\n"));
            let (at, why) = refused.unwrap_err();
            assert!(why.contains(word) && why.contains("take"), "{why}");
            assert!(at > 0, "{word} has its place");
        }
        assert!(parse("pedals = 2\n").is_err());
    }
}
