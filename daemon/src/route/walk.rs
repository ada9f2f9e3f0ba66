//! Where a route stands: which stop is next, and what became of the others.

/// What became of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopOutcome {
    /// Not visited yet.
    Left,
    /// A provisional reading is kept, under this number.
    Held(u64),
    /// Its reading is final.
    Taken(u64),
    /// Passed over.
    Skipped,
}

/// A walk along the stops of a route. It moves only when told that something was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RouteWalk {
    became: Vec<StopOutcome>,
    at: Option<usize>,
}

impl RouteWalk {
    /// A walk at the first of `stops` stops.
    pub fn new(stops: usize) -> RouteWalk {
        RouteWalk {
            became: vec![StopOutcome::Left; stops],
            at: (stops > 0).then_some(0),
        }
    }

    /// A walk that is partly done and last went to stop `went_to`: it stands at that stop, or at
    /// the next stop after it that is left.
    pub fn standing(became: Vec<StopOutcome>, went_to: usize) -> RouteWalk {
        let mut walk = RouteWalk { became, at: None };
        walk.offer_passed_over();
        let n = walk.became.len();
        walk.at = match walk.became.get(went_to) {
            Some(StopOutcome::Left) => Some(went_to),
            Some(_) => walk.next_left(went_to),
            None => (0..n).find(|&i| walk.became[i] == StopOutcome::Left),
        };
        walk
    }

    /// The stops that were passed over.
    pub fn skipped(&self) -> Vec<u32> {
        let passed = |stop: &usize| self.became[*stop] == StopOutcome::Skipped;
        let number = |stop| u32::try_from(stop).unwrap_or(u32::MAX);
        (0..self.became.len()).filter(passed).map(number).collect()
    }

    /// The stop to be visited, or `None` once none is left.
    pub fn at(&self) -> Option<usize> {
        self.at
    }

    /// What became of each stop.
    pub fn became(&self) -> &[StopOutcome] {
        &self.became
    }

    /// A reading was kept for `stop`; the walk moves on if it stood there. Once no other stop is
    /// left, stops that were passed over are visited again.
    pub fn reading_kept(&mut self, stop: usize, became: StopOutcome) {
        self.became[stop] = became;
        if self.at == Some(stop) {
            self.offer_passed_over();
            self.at = self.next_left(stop);
        }
    }

    /// Passes over the present stop; a reading that the stop has stays. Passing over the last stop
    /// that is left ends the walk.
    pub fn skip(&mut self) {
        if let Some(stop) = self.at {
            if self.became[stop] == StopOutcome::Left {
                self.became[stop] = StopOutcome::Skipped;
            }
            self.at = self.next_left(stop);
        }
    }

    /// The stop before the present one: the first one has none and is given itself.
    pub fn before(&self) -> usize {
        self.at.unwrap_or(self.became.len()).saturating_sub(1)
    }

    /// Stands where `stood` stood, with the same stops passed over. Readings stay.
    pub fn stand_as(&mut self, stood: &RouteWalk) {
        self.at = stood.at;
        for (one, before) in self.became.iter_mut().zip(&stood.became) {
            let open =
                |became: &StopOutcome| matches!(became, StopOutcome::Left | StopOutcome::Skipped);
            if open(one) && open(before) {
                *one = *before;
            }
        }
    }

    /// Goes to a stop. A reading that the stop has stays; a stop that was passed over is left to
    /// be visited again.
    pub fn go(&mut self, stop: usize) {
        if let Some(became) = self.became.get_mut(stop) {
            if *became == StopOutcome::Skipped {
                *became = StopOutcome::Left;
            }
            self.at = Some(stop);
        }
    }

    /// The stop has no reading any more. The walk stays at its present stop, and comes to this one
    /// once no other is left.
    pub fn left(&mut self, stop: usize) {
        self.became[stop] = StopOutcome::Left;
        self.at = self.at.or(Some(stop));
    }

    /// The stop must be visited again.
    pub fn again(&mut self, stop: usize) {
        self.became[stop] = StopOutcome::Left;
        self.at = Some(stop);
    }

    /// One more stop, at the end.
    pub fn push(&mut self) {
        self.became.push(StopOutcome::Left);
        self.at = self.at.or(Some(self.became.len() - 1));
    }

    /// The last stop is needed no more.
    pub fn pop(&mut self) {
        self.became.pop();
        let last = self.became.len();
        if self.at.is_some_and(|at| at >= last) {
            self.at = (0..last).find(|&i| self.became[i] == StopOutcome::Left);
        }
    }

    /// The same over `stops` stops: one that is needed no more is gone, one that came is left.
    pub fn fit(&mut self, stops: usize) {
        while self.became.len() > stops {
            self.pop();
        }
        while self.became.len() < stops {
            self.push();
        }
    }

    /// Sets the outcome of a stop; the walk stays at its present stop.
    pub fn became_of(&mut self, stop: usize, became: StopOutcome) {
        self.became[stop] = became;
    }

    /// Whether every stop was visited or skipped.
    pub fn done(&self) -> bool {
        !self.became.contains(&StopOutcome::Left)
    }

    /// Where no stop is left, the stops that were passed over are offered again.
    fn offer_passed_over(&mut self) {
        if !self.done() {
            return;
        }
        for one in &mut self.became {
            if *one == StopOutcome::Skipped {
                *one = StopOutcome::Left;
            }
        }
    }

    /// The next stop that is left: first onward, then from the beginning, so that a stop left
    /// behind is not forgotten.
    fn next_left(&self, from: usize) -> Option<usize> {
        let n = self.became.len();
        (from + 1..n)
            .chain(0..=from.min(n - 1))
            .find(|&i| self.became[i] == StopOutcome::Left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_walk_visits_each_stop_once_and_is_done() {
        let mut walk = RouteWalk::new(3);
        for stop in 0..3 {
            assert_eq!(walk.at(), Some(stop));
            walk.reading_kept(stop, StopOutcome::Taken(stop as u64));
        }
        assert_eq!(walk.at(), None);
        assert!(walk.done());
    }

    #[test]
    fn a_stop_left_behind_by_going_elsewhere_is_visited_at_the_end() {
        let mut walk = RouteWalk::new(4);
        walk.go(2);
        walk.reading_kept(2, StopOutcome::Taken(7));
        assert_eq!(walk.at(), Some(3));
        walk.reading_kept(3, StopOutcome::Taken(8));
        assert_eq!(walk.at(), Some(0));
    }

    #[test]
    fn a_walk_that_is_taken_up_stands_where_it_had_gone() {
        use StopOutcome::{Left, Taken};
        let at =
            |became: &[StopOutcome], went_to| RouteWalk::standing(became.to_vec(), went_to).at();
        assert_eq!(at(&[Left, Left, Left], 2), Some(2));
        assert_eq!(at(&[Taken(1), Left, Taken(2), Left], 2), Some(3));
        assert_eq!(at(&[Left, Taken(1), Taken(2)], 2), Some(0));
        assert_eq!(at(&[Taken(1), Taken(2)], 0), None);
        assert_eq!(at(&[Taken(1), Left], 9), Some(1));
    }

    #[test]
    fn what_was_passed_over_stays_so_until_nothing_else_is_left() {
        use StopOutcome::{Left, Skipped, Taken};
        let walk = RouteWalk::standing(vec![Taken(1), Skipped, Left], 0);
        assert_eq!((walk.at(), walk.skipped()), (Some(2), vec![1]));
        let walk = RouteWalk::standing(vec![Taken(1), Skipped, Taken(2)], 3);
        assert_eq!((walk.at(), walk.skipped()), (Some(1), vec![]));
    }

    #[test]
    fn going_back_and_taking_again_returns_to_where_it_was_left() {
        let mut walk = RouteWalk::new(3);
        walk.reading_kept(0, StopOutcome::Taken(1));
        walk.go(walk.before());
        assert_eq!(walk.at(), Some(0));
        walk.reading_kept(0, StopOutcome::Taken(2));
        assert_eq!(walk.at(), Some(1));
    }

    #[test]
    fn what_was_passed_over_is_visited_last_and_passing_over_it_again_ends_the_walk() {
        let mut walk = RouteWalk::new(3);
        walk.reading_kept(0, StopOutcome::Taken(1));
        walk.skip();
        walk.reading_kept(2, StopOutcome::Held(2));
        assert_eq!((walk.at(), walk.done()), (Some(1), false));
        walk.skip();
        assert_eq!((walk.at(), walk.done()), (None, true));
        assert_eq!(walk.skipped(), vec![1]);
    }

    #[test]
    fn a_stop_that_was_passed_over_and_is_gone_back_to_counts_as_left() {
        let mut walk = RouteWalk::new(2);
        walk.skip();
        walk.go(walk.before());
        // The last stop gets its reading meanwhile, as when a held pour becomes final.
        walk.reading_kept(1, StopOutcome::Taken(1));
        assert_eq!((walk.at(), walk.done()), (Some(0), false));
    }

    #[test]
    fn a_revised_reading_of_an_earlier_stop_does_not_move_the_walk() {
        let mut walk = RouteWalk::new(3);
        walk.reading_kept(0, StopOutcome::Held(1));
        assert_eq!(walk.at(), Some(1));
        walk.reading_kept(0, StopOutcome::Taken(2));
        assert_eq!(walk.at(), Some(1));
    }
}
