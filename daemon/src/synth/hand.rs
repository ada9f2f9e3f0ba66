//! How evenly a hand turns a crank: the factor by which its speed wavers from moment to moment.
//!
//! It does not know what the crank moves.

use super::Dice;

/// How a hand on a bar turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum HandEvenness {
    /// Speed swings by 15 % with an even rhythm.
    #[default]
    Even,
    /// Speed wavers by chance, by 30 to 50 % with a memory of 0.3 to 2 s, and nearly stops now
    /// and then, as on a long bar.
    Uneven,
    /// The same in short pulls: it nearly stops up to once a second.
    InPulls,
}

/// The speed's factor as time goes on.
#[derive(Debug, Clone)]
pub(super) enum Wavering {
    Even {
        pace: f64,
        phase: f64,
        t: f64,
    },
    Uneven {
        /// The wavering now, as a standard normal value.
        now: f64,
        /// Its standard deviation as a share of the speed.
        share: f64,
        /// How long it remembers, s.
        memory: f64,
        /// Near-stops a second.
        stops: f64,
        /// The near-stop that goes on: its speed as a share, and the seconds that are left of it.
        slow: (f64, f64),
    },
}

impl Wavering {
    pub(super) fn new(hand: HandEvenness, dice: &mut Dice) -> Self {
        match hand {
            HandEvenness::Even => Self::Even {
                pace: dice.uniform(2.0, 5.0),
                phase: dice.uniform(0.0, 6.3),
                t: 0.0,
            },
            HandEvenness::Uneven | HandEvenness::InPulls => Self::Uneven {
                now: dice.gauss(1.0),
                share: dice.uniform(0.3, 0.5),
                memory: dice.uniform(0.3, 2.0),
                stops: match hand {
                    HandEvenness::InPulls => dice.uniform(0.3, 1.0),
                    _ => dice.uniform(0.0, 0.3),
                },
                slow: (1.0, 0.0),
            },
        }
    }

    /// The factor for the next `dt` seconds; never below a fiftieth, so that a pass ends.
    pub(super) fn next(&mut self, dt: f64, dice: &mut Dice) -> f64 {
        match self {
            Self::Even { pace, phase, t } => {
                *t += dt;
                1.0 + 0.15 * (*pace * *t + *phase).sin()
            }
            Self::Uneven {
                now,
                share,
                memory,
                stops,
                slow,
            } => {
                let kept = (-dt / *memory).exp();
                *now = kept * *now + dice.gauss((1.0 - kept * kept).sqrt());
                slow.1 -= dt;
                if slow.1 <= 0.0 {
                    *slow = (1.0, 0.0);
                    if dice.chance(*stops * dt) {
                        *slow = (dice.uniform(0.02, 0.15), dice.uniform(0.2, 0.8));
                    }
                }
                ((1.0 + *share * *now).max(0.1) * slow.0).max(0.02)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_uneven_hand_wavers_by_a_third_to_a_half_and_never_stands_or_turns_back() {
        let mut dice = Dice::seeded(5);
        for _ in 0..20 {
            let mut hand = Wavering::new(HandEvenness::Uneven, &mut dice);
            let factors: Vec<f64> = (0..60_000).map(|_| hand.next(0.005, &mut dice)).collect();
            let mean = factors.iter().sum::<f64>() / factors.len() as f64;
            let squares: f64 = factors.iter().map(|f| (f - mean).powi(2)).sum();
            let sd = (squares / factors.len() as f64).sqrt();
            assert!(factors.iter().all(|f| *f >= 0.02));
            assert!((0.2..0.6).contains(&sd) && mean > 0.7, "{mean} ± {sd}");
        }
    }
}
