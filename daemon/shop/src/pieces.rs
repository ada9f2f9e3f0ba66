//! What other stations are asked about their recorded streams: what is wanted here, and what came.
//!
//! There are so many places and no more. Who wants one more gets the place of the oldest.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::record::{PieceAbout, PieceKey};

/// How many pieces are wanted or held at a time. The table has as many places for each station.
const PLACES: usize = 16;
/// How long a piece may be, in bytes. The table takes no longer one.
pub const PIECE_MOST: usize = 256 << 10;
/// After how long a station is asked again: its answer may have changed since.
const AGAIN: Duration = Duration::from_secs(60);

/// What came of a wish: the bytes as their holder made them, or why it has none, for people.
pub type PieceAnswer = Result<Vec<u8>, String>;

#[derive(Debug)]
struct Place {
    key: PieceKey,
    since: Instant,
    /// Whether the shop was told.
    told: bool,
    came: Option<PieceAnswer>,
}

/// The places.
#[derive(Debug, Default)]
pub(crate) struct PieceShelf(Mutex<[Option<Place>; PLACES]>);

impl PieceShelf {
    fn places(&self) -> MutexGuard<'_, [Option<Place>; PLACES]> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The piece, where it is here; otherwise it is wanted from now on. Says whether that is new.
    pub fn want(&self, key: &PieceKey) -> (Option<PieceAnswer>, bool) {
        self.want_within(key, AGAIN)
    }

    /// The same, where what came is asked for anew after `again`.
    fn want_within(&self, key: &PieceKey, again: Duration) -> (Option<PieceAnswer>, bool) {
        let mut places = self.places();
        let known = places.iter_mut().flatten().find(|place| place.key == *key);
        if let Some(place) = known {
            // The stream goes on: what came early may have been cut short, and what was made out anew
            // may come out otherwise.
            let again = place.came.is_some() && place.since.elapsed() >= again;
            let came = place.came.clone();
            if again {
                place.since = Instant::now();
                place.told = false;
                if key.about == PieceAbout::Recomputed && matches!(came, Some(Ok(_))) {
                    place.came = None;
                    return (None, true);
                }
            }
            return (came, again);
        }
        let oldest = |place: &&mut Option<Place>| place.as_ref().map(|place| place.since);
        if let Some(place) = places.iter_mut().min_by_key(oldest) {
            *place = Some(Place {
                key: key.clone(),
                since: Instant::now(),
                told: false,
                came: None,
            });
        }
        (None, true)
    }

    /// The next wish that the shop was not told of, with its place; it counts as told from here on.
    pub fn untold(&self) -> Option<(i16, PieceKey)> {
        let mut places = self.places();
        let numbered = (0_i16..).zip(places.iter_mut());
        for (slot, place) in numbered {
            if let Some(place) = place.as_mut().filter(|place| !place.told) {
                place.told = true;
                return Some((slot, place.key.clone()));
            }
        }
        None
    }

    /// What is still waited for is told anew: the shop may have lost it, or the holder was away.
    pub fn tell_anew(&self) {
        let mut places = self.places();
        let waiting = places
            .iter_mut()
            .flatten()
            .filter(|place| place.came.is_none());
        waiting.for_each(|place| place.told = false);
    }

    /// A piece came for a place. Says whether it is the one that is wanted there.
    pub fn came(&self, slot: i16, key: &PieceKey, answer: PieceAnswer) -> bool {
        let mut places = self.places();
        let at = usize::try_from(slot).ok().and_then(|at| places.get_mut(at));
        let Some(place) = at
            .and_then(Option::as_mut)
            .filter(|place| place.key == *key)
        else {
            return false;
        };
        place.came = Some(answer);
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{JobId, StationId};

    fn key(seq: u64) -> PieceKey {
        PieceKey {
            holder: StationId::of([2; 16]),
            job: JobId::parse(&"a".repeat(64)).unwrap(),
            seq,
            about: PieceAbout::Trace,
        }
    }

    #[test]
    fn all_is_asked_for_again_after_a_while_and_a_trace_is_shown_until_then() {
        let shelf = PieceShelf::default();
        let again = PieceKey {
            about: PieceAbout::Recomputed,
            ..key(1)
        };
        for (slot, key) in [(0, &key(1)), (1, &again)] {
            assert_eq!(shelf.want(key), (None, true));
            assert!(shelf.came(slot, key, Ok(vec![7])));
            assert_eq!(shelf.want(key), (Some(Ok(vec![7])), false));
        }
        while shelf.untold().is_some() {}
        let later = |key: &PieceKey| shelf.want_within(key, Duration::ZERO);
        assert_eq!(later(&key(1)), (Some(Ok(vec![7])), true));
        assert_eq!(shelf.untold(), Some((0, key(1))));
        assert_eq!(later(&again), (None, true));
        assert_eq!(shelf.untold(), Some((1, again.clone())));
        // Why there is none is said while it is asked for anew.
        assert!(shelf.came(1, &again, Err("gone".to_owned())));
        assert_eq!(later(&again), (Some(Err("gone".to_owned())), true));
    }

    #[test]
    fn a_wish_is_told_once_until_it_comes_and_the_oldest_gives_way() {
        let shelf = PieceShelf::default();
        assert_eq!(shelf.want(&key(1)), (None, true));
        assert_eq!(shelf.want(&key(1)), (None, false));
        assert_eq!(shelf.untold(), Some((0, key(1))));
        assert_eq!(shelf.untold(), None);
        shelf.tell_anew();
        assert_eq!(shelf.untold(), Some((0, key(1))));
        assert!(!shelf.came(0, &key(2), Ok(vec![7])));
        assert!(shelf.came(0, &key(1), Ok(vec![7])));
        assert_eq!(shelf.want(&key(1)), (Some(Ok(vec![7])), false));
        shelf.tell_anew();
        assert_eq!(shelf.untold(), None);
        for seq in 2..=17 {
            assert_eq!(shelf.want(&key(seq)), (None, true));
        }
        let told: Vec<u64> = std::iter::from_fn(|| shelf.untold())
            .map(|(_, key)| key.seq)
            .collect();
        assert_eq!(told.len(), PLACES, "{told:?}");
        assert!(!told.contains(&1));
    }
}
