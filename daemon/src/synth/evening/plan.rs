//! The plan of an evening: the burette, the chambers, and what the hand will do.
//!
//! Distributions of whole evenings at a burette: where it starts, refills, pauses, second goes,
//! and each disturbance in one evening of five.

use super::burette::BuretteMake;
use crate::synth::Dice;

/// Which evenings are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EveningKind {
    /// Everything that happens at a station.
    Any,
    /// No mistakes and no disturbances of the hand, and the scale's direction is known.
    Sound,
    /// As any, with a hand that changes its mind and forgets: see [`Fumble`].
    Fumbled,
}

/// The facts before the first pour, and the acts that follow.
#[derive(Debug, Clone, PartialEq)]
pub struct EveningPlan {
    /// The seed it was drawn from.
    pub seed: u64,
    /// The burette.
    pub make: BuretteMake,
    /// Whether the register knows which way its scale runs.
    pub direction_known: bool,
    /// Nominal chamber of the engine file, cc.
    pub nominal: Option<f64>,
    /// Level at the start: cc that left since the burette was full.
    pub start: f64,
    /// How many chambers the engine has.
    pub chambers: usize,
    /// How often each is visited.
    pub rounds: usize,
    /// True volume of each stop's chamber, cc, round after round.
    pub stops: Vec<StopPlan>,
}

/// One stop.
#[derive(Debug, Clone, PartialEq)]
pub struct StopPlan {
    /// True volume of the chamber, cc.
    pub cc: f64,
    /// How many chambers the hand wants from the filling that it makes here, if it makes one.
    pub per_filling: u32,
    /// Pauses: after which share of the pour, and how long, s.
    pub pauses: Vec<(f64, f64)>,
    /// A second go after the reading was said: how much, cc, and after how long, s.
    pub second_go: Option<(f64, f64)>,
    /// A film after fast delivery: its size, cc, and its time constant, s.
    pub film: Option<(f64, f64)>,
    /// Until the next chamber, s.
    pub gap_s: f64,
    /// The disturbance, if there is one.
    pub mishaps: Vec<Mishap>,
    /// What the hand does once the chamber is poured.
    pub fumble: Option<Fumble>,
}

/// When something happens within a stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MishapMoment {
    /// At rest after the pour.
    AtRest,
    /// After this share of the pour.
    MidPour(f64),
}

/// What happens in one evening of five.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mishap {
    /// Hold, so many seconds, resume.
    Hold(MishapMoment, f64),
    /// Again after the reading was said.
    Again,
    /// Again after so large a share of this stop's pour.
    AgainMidPour(f64),
    /// Skipped, and come back to after the next.
    Skip,
    /// The last so many cc are poured after `add`.
    Add(f64),
    /// The gauge is unplugged for so many seconds.
    Unplugged(MishapMoment, f64),
    /// The daemon is killed and started after so many seconds.
    Killed(MishapMoment, f64),
    /// The work is stopped by Ctrl-C and taken up after so many seconds.
    Interrupted(MishapMoment, f64),
    /// The daemon is stopped for so many seconds.
    Stopped(MishapMoment, f64),
    /// The value is typed instead of poured.
    Typed,
    /// The next chamber is poured here, and its reading moved afterwards.
    WrongChamber,
    /// Somebody leans on the stand: how far, cc, and how long, s.
    Bump(MishapMoment, f64, f64),
}

/// What a hand does after a chamber that changes its mind or forgets, after one chamber of five.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fumble {
    /// Goes back to the chamber after so many seconds and pours it anew; whether by `back` rather
    /// than by `go`, and whether it refills before it says so.
    GoesBack(f64, bool, bool),
    /// Says `again` after so many seconds, pours the next chamber, and only then answers.
    LateAgain(f64),
    /// Says `hold`, pours the next chamber, and only then `resume`.
    ForgetsHold,
    /// Stops the work by Ctrl-C amid the next chamber, after this share, for so many seconds.
    CtrlC(f64, f64),
}

impl Fumble {
    fn draw(dice: &mut Dice) -> Fumble {
        match dice.whole(0, 3) {
            0 => Fumble::GoesBack(dice.uniform(1.0, 60.0), dice.chance(0.5), dice.chance(0.5)),
            1 => Fumble::LateAgain(dice.uniform(1.0, 60.0)),
            2 => Fumble::ForgetsHold,
            _ => Fumble::CtrlC(dice.uniform(0.1, 0.9), dice.uniform(2.0, 20.0)),
        }
    }
}

impl EveningPlan {
    /// Draws an evening.
    pub fn draw(seed: u64, kind: EveningKind) -> EveningPlan {
        let mut dice = Dice::seeded(seed);
        let dice = &mut dice;
        let make = BuretteMake {
            capacity: dice.pick(&[50.0, 100.0]),
            counts_down: dice.chance(0.5),
            sigma: dice.pick(&[0.005, 0.01, 0.02]),
        };
        let direction_known = dice.chance(0.5) || kind == EveningKind::Sound;
        let base = dice.uniform(28.0, 96.0);
        let nominal = (base * (1.0 + dice.uniform(-0.15, 0.15)) * 10.0).round() / 10.0;
        let nominal = dice.chance(0.75).then_some(nominal);
        let start = dice.uniform(0.0, make.capacity);
        let (chambers, rounds) = dice.pick(&[(4, 1), (4, 2), (6, 1), (8, 1), (3, 2)]);
        let sizes: Vec<f64> = (0..chambers)
            .map(|_| base * (1.0 + dice.gauss(0.01).clamp(-0.025, 0.025)))
            .collect();
        let mut stops = Vec::new();
        for _ in 0..rounds {
            for size in &sizes {
                stops.push(StopPlan::draw(size + dice.gauss(0.05), dice));
            }
        }
        if kind != EveningKind::Sound {
            strew(&mut stops, chambers, dice);
        }
        // Its own chance: the rest of the evening is that of the same seed of any kind.
        let mut chance = Dice::seeded(seed ^ 0x6675_6d62);
        if kind == EveningKind::Fumbled {
            for stop in &mut stops {
                stop.fumble = chance.chance(0.2).then(|| Fumble::draw(&mut chance));
            }
        }
        EveningPlan {
            seed,
            make,
            direction_known,
            nominal,
            start,
            chambers,
            rounds,
            stops,
        }
    }
}

impl StopPlan {
    /// A stop at which nothing happens but one even pour.
    pub fn plain(cc: f64) -> StopPlan {
        StopPlan {
            cc,
            per_filling: 1,
            pauses: Vec::new(),
            second_go: None,
            film: None,
            gap_s: 10.0,
            mishaps: Vec::new(),
            fumble: None,
        }
    }

    fn draw(cc: f64, dice: &mut Dice) -> StopPlan {
        let mut pauses: Vec<(f64, f64)> = (0..dice.whole(0, 2))
            .map(|_| (dice.uniform(0.2, 0.97), dice.uniform(0.8, 30.0)))
            .collect();
        pauses.sort_by(|a, b| a.0.total_cmp(&b.0));
        let second_go = dice
            .chance(0.1)
            .then(|| (dice.uniform(0.1, 3.0), dice.uniform(2.0, 30.0)));
        let film = (
            dice.uniform(0.01, 0.06) * dice.sign(),
            dice.uniform(5.0, 12.0),
        );
        StopPlan {
            cc,
            per_filling: dice.whole(1, 3),
            pauses,
            second_go,
            film: dice.chance(1.0 / 3.0).then_some(film),
            gap_s: dice.uniform(2.0, 120.0),
            mishaps: Vec::new(),
            fumble: None,
        }
    }

    /// The first mishap that `pick` knows.
    pub fn mishap<T>(&self, pick: impl Fn(&Mishap) -> Option<T>) -> Option<T> {
        self.mishaps.iter().find_map(pick)
    }
}

/// Each disturbance in one evening of five, at any stop.
fn strew(stops: &mut [StopPlan], chambers: usize, dice: &mut Dice) {
    for sort in 0..10 {
        if !dice.chance(0.2) {
            continue;
        }
        let at = dice.whole(0, stops.len() as u32 - 1) as usize;
        let when = if dice.chance(0.5) {
            MishapMoment::AtRest
        } else {
            MishapMoment::MidPour(dice.uniform(0.1, 0.9))
        };
        let mishap = match sort {
            0 => Mishap::Hold(when, dice.uniform(3.0, 60.0)),
            1 => match when {
                MishapMoment::AtRest => Mishap::Again,
                MishapMoment::MidPour(share) => Mishap::AgainMidPour(share),
            },
            2 => Mishap::Skip,
            3 => Mishap::Add(dice.uniform(0.3, 5.0)),
            4 => Mishap::Unplugged(when, dice.uniform(2.0, 60.0)),
            5 => Mishap::Killed(when, dice.uniform(2.0, 20.0)),
            6 => Mishap::Stopped(when, dice.uniform(0.05, 0.5)),
            7 => Mishap::Typed,
            8 => Mishap::WrongChamber,
            _ => Mishap::Bump(
                when,
                dice.uniform(0.05, 0.3) * dice.sign(),
                dice.uniform(0.3, 2.0),
            ),
        };
        // The last chamber of a round has no next one to skip to or to pour by mistake.
        let needs_next = matches!(mishap, Mishap::Skip | Mishap::WrongChamber);
        let last_of_round = (at + 1).is_multiple_of(chambers);
        let at = if needs_next && last_of_round {
            at - 1
        } else {
            at
        };
        stops[at].mishaps.push(mishap);
    }
}
