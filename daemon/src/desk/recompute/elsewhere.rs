//! Readings whose recorded streams lie at another station: that one makes them out anew and says what
//! came of each, since streams stay where they were recorded.

use std::collections::{BTreeMap, BTreeSet};

use benchhand_shop::{PIECE_MOST, PieceAbout};
use benchhand_wire::{Reason, RecomputedElsewhere, RecomputedReading, Refusal};
use serde::{Deserialize, Serialize};

use super::verdict::SAME;
use crate::desk::Desk;
use crate::desk::long_work::WorkProgress;
use crate::joined::WantedPiece;
use crate::store::fact::ReadingSource;
use crate::store::view::JobView;

/// What a holder says of its own readings. A newer program may say more.
#[derive(Debug, Default, PartialEq, Serialize, Deserialize)]
struct MadeElsewhere {
    /// The readings that came out the same, by their numbers in the holder's journal.
    #[serde(default)]
    same: BTreeSet<u64>,
    /// What came of the others.
    #[serde(default)]
    others: Vec<OtherOutcome>,
    /// The streams that are cut short there, each with what is wrong.
    #[serde(default)]
    cut: Vec<String>,
}

/// What came of a reading that is not the same.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct OtherOutcome {
    seq: u64,
    verdict: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    again: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    in_window: Option<bool>,
}

/// The captured readings of one station, by their numbers there.
struct HeldThere {
    base: u64,
    station: String,
    /// The last of them.
    last: u64,
}

/// The stations other than this one that hold recorded streams.
fn holders(view: &JobView) -> Vec<HeldThere> {
    let mut all: BTreeMap<u64, HeldThere> = BTreeMap::new();
    for reading in view.readings() {
        let captured = reading.source == ReadingSource::Captured && reading.stream.is_some();
        if !captured || view.own().wrote(reading.id) {
            continue;
        }
        let part = view.part_of(reading.id);
        let (base, _) = part.numbers();
        let station = part.station().map(|station| station.0.clone());
        let there = all.entry(base).or_insert(HeldThere {
            base,
            station: station.unwrap_or_default(),
            last: 0,
        });
        there.last = there.last.max(reading.id.saturating_sub(base));
    }
    all.into_values().collect()
}

impl MadeElsewhere {
    /// Puts what came of a reading in the place of what is known of it here. Says whether it is told.
    fn tell(&self, reading: &mut RecomputedReading, seq: u64) -> bool {
        if self.same.contains(&seq) {
            (reading.again, reading.verdict) = (Some(reading.kept), SAME.to_owned());
            reading.in_window = None;
            return true;
        }
        let Some(other) = self.others.iter().find(|other| other.seq == seq) else {
            return false;
        };
        (reading.again, reading.in_window) = (other.again, other.in_window);
        reading.verdict.clone_from(&other.verdict);
        true
    }
}

impl Desk {
    fn wanted(&self, view: &JobView, held: &HeldThere) -> Result<WantedPiece, Refusal> {
        let about = PieceAbout::Recomputed;
        match self.joined() {
            Ok(joined) => joined.piece(&held.station, view.name(), held.last, about),
            Err(refusal) => Ok(WantedPiece::Away {
                why: refusal.to_string(),
                awaited: false,
            }),
        }
    }

    /// Asks the other holders of recorded streams; nothing waits for them.
    pub(super) fn ask_holders(&self, view: &JobView) -> Result<(), Refusal> {
        let mut all = holders(view).into_iter();
        all.try_for_each(|held| self.wanted(view, &held).map(drop))
    }

    /// Puts what the other holders made out in the place of what is not known of their readings here.
    pub(super) fn made_out_elsewhere(
        &self,
        view: &JobView,
        readings: &mut [RecomputedReading],
        cut_streams: &mut Vec<String>,
    ) -> Result<Vec<RecomputedElsewhere>, Refusal> {
        let mut told = Vec::new();
        for held in holders(view) {
            let own = |one: &&mut RecomputedReading| view.part_of(one.id).numbers().0 == held.base;
            let mut own: Vec<_> = readings.iter_mut().filter(own).collect();
            let label = own.first().and_then(|one| one.held_by.clone());
            let label = label.unwrap_or_default();
            let (made, mut away, awaited) = match self.wanted(view, &held)? {
                WantedPiece::Away { why, awaited } => {
                    (MadeElsewhere::default(), Some(why), awaited)
                }
                WantedPiece::Here(piece) => match serde_json::from_slice(&piece) {
                    Ok(made) => (made, None, false),
                    Err(_) => {
                        let odd = format!("What station {label} says of it is not understood here");
                        (MadeElsewhere::default(), Some(odd), false)
                    }
                },
            };
            let mut again = 0;
            for one in &mut own {
                let seq = one.id.saturating_sub(held.base);
                again += usize::from(made.tell(one, seq));
            }
            if again < own.len() && away.is_none() {
                away = Some(format!("Station {label} says nothing of them"));
            }
            let cut = made.cut.iter();
            cut_streams.extend(cut.map(|cut| format!("station {label}: {cut}")));
            told.push(RecomputedElsewhere {
                station: label,
                readings: own.len(),
                again,
                away,
                awaited,
            });
        }
        Ok(told)
    }

    /// What another station is told of the own readings up to that number, made out anew.
    pub(in crate::desk) fn recomputed_piece(
        &self,
        job: &str,
        last: u64,
    ) -> Result<Vec<u8>, Refusal> {
        let (view, _) = self.keeper.view(job)?;
        let (base, _) = view.own().numbers();
        let (readings, made) = self.made_out(job, &WorkProgress::default())?;
        let mut all = MadeElsewhere {
            cut: made.cut_streams(),
            ..MadeElsewhere::default()
        };
        for one in readings {
            // Of a job that one station alone has a journal of, the numbers are the journal's own.
            let seq = one.id.saturating_sub(base);
            if !view.own().wrote(one.id) || seq > last {
                continue;
            }
            match one.verdict == SAME {
                true => drop(all.same.insert(seq)),
                false => all.others.push(OtherOutcome {
                    seq,
                    verdict: one.verdict,
                    again: one.again,
                    in_window: one.in_window,
                }),
            }
        }
        written(all)
    }
}

/// The answer as it is sent; where it is too long the newest of what is the same is left out.
fn written(mut all: MadeElsewhere) -> Result<Vec<u8>, Refusal> {
    loop {
        let piece = serde_json::to_vec(&all)
            .map_err(|e| Refusal::new(Reason::Unavailable, format!("the answer: {e}")))?;
        if piece.len() <= PIECE_MOST {
            return Ok(piece);
        }
        let middle = all.same.iter().nth(all.same.len() / 2).copied();
        match middle {
            Some(middle) if all.same.len() > 1 => drop(all.same.split_off(&middle)),
            _ => {
                let found = "so many of its readings differ that they are not told; look there";
                return Err(Refusal::new(Reason::Unavailable, found));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::recompute::verdict::NO_STREAM;

    fn kept(id: u64) -> RecomputedReading {
        RecomputedReading {
            id,
            number: None,
            held_by: Some("B".to_owned()),
            spot: "chamber/1".to_owned(),
            kept: 64.2,
            again: None,
            unit: "cc".to_owned(),
            stream: "burette-001.ndjson".to_owned(),
            at_us: 1,
            verdict: NO_STREAM.to_owned(),
            in_window: Some(true),
        }
    }

    #[test]
    fn what_the_holder_says_takes_the_place_of_what_is_not_known_here() {
        let said =
            r#"{"same":[7],"others":[{"seq":9,"verdict":"different","again":64.1}],"colour":1}"#;
        let made: MadeElsewhere = serde_json::from_str(said).unwrap();
        let (mut same, mut other, mut untold) = (kept(7), kept(9), kept(11));
        assert!(made.tell(&mut same, 7) && made.tell(&mut other, 9));
        assert!(!made.tell(&mut untold, 11));
        assert_eq!((same.verdict.as_str(), same.again), (SAME, Some(64.2)));
        assert_eq!(
            (other.verdict.as_str(), other.again),
            ("different", Some(64.1))
        );
        assert_eq!(untold, kept(11));
    }

    #[test]
    fn an_answer_that_would_be_too_long_is_shortened_and_one_of_faults_alone_is_refused() {
        let long = MadeElsewhere {
            same: (1..100_000).collect(),
            ..MadeElsewhere::default()
        };
        let piece = written(long).unwrap();
        assert!(piece.len() <= PIECE_MOST && piece.len() > PIECE_MOST / 4);
        let made: MadeElsewhere = serde_json::from_slice(&piece).unwrap();
        assert!(made.same.contains(&1) && !made.same.contains(&99_999));
        let other = |seq| OtherOutcome {
            seq,
            verdict: "different".to_owned(),
            again: Some(64.1),
            in_window: None,
        };
        let odd = MadeElsewhere {
            others: (0..10_000).map(other).collect(),
            ..MadeElsewhere::default()
        };
        assert!(written(odd).unwrap_err().to_string().contains("look there"));
    }
}
