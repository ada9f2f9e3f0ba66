//! Sound evenings of typed chambers are hardly ever asked about; slips beside few brothers are.

use std::collections::BTreeSet;

use benchhand_blueprint::Engine;

use super::*;
use crate::known::expectation::{ExpectedAt, doubted_brothers};
use crate::known::typed::ask_about;
use crate::store::fact::{DECIMALS, Fact, OpenedJob, Reading, ReadingSource};
use crate::store::fold::Stamp;
use crate::synth::Dice;

/// A job whose values are typed one by one.
struct Job {
    view: JobView,
    engine: Engine,
    facts: u64,
}

impl Job {
    fn new(nominal: &str) -> Job {
        let text = format!("name = \"check\"\nunits = \"metric\"\ncylinders = 8\n{nominal}");
        let mut job = Job {
            view: JobView::default(),
            engine: Engine::from_toml(&text).unwrap(),
            facts: 0,
        };
        job.fact(Fact::Opened(OpenedJob {
            job: "check".to_owned(),
            title: None,
            stage: "as received".to_owned(),
            program: "a test".to_owned(),
            copy_of: None,
        }));
        job
    }

    fn fact(&mut self, fact: Fact) {
        self.facts += 1;
        let stamp = Stamp {
            seq: self.facts,
            at: jiff::Timestamp::UNIX_EPOCH,
            hash: self.facts.to_string(),
        };
        self.view.apply(stamp, fact).unwrap();
    }

    /// The question about a value as it is typed, `48.3 cc`; it is kept in any case.
    fn types(&mut self, spot: &str, text: &str) -> Option<String> {
        let value: Quantity = text.parse().unwrap();
        let of: Spot = spot.parse().unwrap();
        let digits = text.split(' ').next().unwrap_or_default();
        let decimals = digits.split('.').nth(1).map_or(0, str::len);
        let mut reading =
            Reading::new(spot, value.value, value.unit.symbol(), ReadingSource::Typed);
        let labels = [(DECIMALS.to_owned(), decimals.to_string())];
        reading.labels.extend(labels);
        let at = ExpectedAt {
            stage: "as received",
            spot: &of,
            round: 1,
            kind: value.unit.kind(),
        };
        let written = Written::of(value.value, None, &reading.labels);
        let asked = ask_about(&self.engine, &self.view, at, (value, &written), true).unwrap();
        self.fact(Fact::Final(reading));
        asked
    }

    /// The earlier values that are asked about now that this one is there.
    fn doubted_by(&self, spot: &str) -> Vec<u64> {
        doubted_brothers(&self.engine, &self.view, &spot.parse().unwrap())
    }
}

fn chambers(values: &[&str]) -> Vec<Option<String>> {
    let mut job = Job::new("");
    let all = values.iter().enumerate();
    all.map(|(at, value)| job.types(&format!("chamber/{}", at + 1), value))
        .collect()
}

#[test]
fn digits_that_changed_places_are_asked_about_beside_two_brothers() {
    let asked = chambers(&["48.1 cc", "48.5 cc", "43.8 cc"]);
    assert_eq!(
        asked[2].as_deref(),
        Some("chamber 3: 43.8 cc is out of line with the others (about 48.3 cc). 48.3 cc meant?")
    );
    assert_eq!(asked[..2], [None, None]);
}

#[test]
fn a_digits_neighbour_and_a_moved_point_are_asked_about() {
    let asked = |last: &str| {
        chambers(&["64.1 cc", "64.5 cc", "64.2 cc", last])
            .pop()
            .flatten()
    };
    let told = asked("54.3 cc").expect("a question");
    assert!(told.ends_with("64.3 cc meant?"), "{told}");
    let told = asked("6.43 cc").expect("a question");
    assert!(told.ends_with("64.3 cc meant?"), "{told}");
    for sound in ["63.5 cc", "65.3 cc", "64.3 cc"] {
        assert_eq!(asked(sound), None, "{sound}");
    }
}

#[test]
fn a_deck_whose_digits_changed_places_is_asked_about() {
    let mut job = Job::new("");
    for (spot, text) in [("deck/1/front", "0.012 in"), ("deck/1/rear", "0.014 in")] {
        assert_eq!(job.types(spot, text), None);
    }
    let told = job.types("deck/2/front", "0.031 in").expect("a question");
    assert!(
        told.contains("deck 2 front") && told.ends_with("0.013 in meant?"),
        "{told}"
    );
    assert_eq!(job.types("deck/2/rear", "0.015 in"), None);
}

/// The slip came first: its brothers tell.
#[test]
fn a_slip_that_was_kept_first_is_asked_about_when_its_brothers_agree() {
    let mut job = Job::new("");
    job.types("chamber/1", "43.8 cc");
    job.types("chamber/2", "48.1 cc");
    job.types("chamber/3", "48.4 cc");
    job.types("chamber/4", "48.3 cc");
    assert_eq!(job.doubted_by("chamber/4").len(), 1);
}

/// A chamber as a sound hand reads and types it.
fn read(dice: &mut Dice, mean: f64, sd: f64, decimals: usize) -> String {
    format!("{:.decimals$} cc", mean + dice.gauss(sd))
}

/// Evenings of eight typed chambers with ordinary spreads: at most one stop in fifty is asked about,
/// of the evenings with the widest spread as well.
#[test]
fn sound_evenings_are_asked_about_at_most_two_in_a_hundred_stops() {
    for (seed, least, most) in [(1, 0.3, 0.8), (2, 0.8, 0.8), (3, 0.3, 0.3)] {
        let mut dice = Dice::seeded(seed);
        let (mut stops, mut asked) = (0, 0);
        for _ in 0..250 {
            let nominal = dice.uniform(36.0, 80.0);
            let mut job = Job::new(&format!("[head]\nnominal_chamber = \"{nominal:.0} cc\"\n"));
            let (mean, sd) = (nominal + dice.gauss(1.0), dice.uniform(least, most));
            let decimals = dice.pick(&[1, 1, 2]);
            let mut earlier = BTreeSet::new();
            for cylinder in 1..=8 {
                let spot = format!("chamber/{cylinder}");
                let text = read(&mut dice, mean, sd, decimals);
                stops += 1;
                asked += usize::from(job.types(&spot, &text).is_some());
                earlier.extend(job.doubted_by(&spot));
            }
            // One that was kept is asked about once.
            asked += earlier.len();
        }
        assert!(
            50 * asked <= stops,
            "seed {seed}: {asked} of {stops} stops asked about"
        );
    }
}

/// One value of an evening has two digits exchanged, by which it is off by at least 2 cc.
#[test]
fn exchanged_digits_among_ordinary_chambers_are_asked_about_nine_times_of_ten() {
    let mut dice = Dice::seeded(4);
    let (mut slipped, mut asked) = (0, 0);
    while slipped < 400 {
        let mut job = Job::new("");
        let (mean, sd) = (dice.uniform(36.0, 80.0), dice.uniform(0.3, 0.8));
        let others = dice.whole(2, 7);
        for cylinder in 1..=others {
            job.types(
                &format!("chamber/{cylinder}"),
                &read(&mut dice, mean, sd, 1),
            );
        }
        let mut text = read(&mut dice, mean, sd, 1).into_bytes();
        let meant = String::from_utf8(text.clone()).unwrap();
        // The tens and the units, or the units and the tenths.
        let (one, other) = dice.pick(&[(0, 1), (1, 3)]);
        text.swap(one, other);
        let text = String::from_utf8(text).unwrap();
        let number = |text: &str| text.parse::<Quantity>().unwrap().value;
        if (number(&text) - number(&meant)).abs() < 2.0 {
            continue;
        }
        slipped += 1;
        asked += usize::from(job.types("chamber/8", &text).is_some());
    }
    assert!(10 * asked >= 9 * slipped, "{asked} of {slipped}");
}
