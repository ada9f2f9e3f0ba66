//! How long the transport waits for what.

use std::time::Duration;

/// The transport's times and amounts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShopPace {
    /// How often the heads of all journals are compared while no hint comes.
    pub poll: Duration,
    /// How often at most a station says what goes on there, and looks what others said.
    pub live: Duration,
    /// How long connecting may take.
    pub connecting: Duration,
    /// How long one statement may take.
    pub statement: Duration,
    /// The first wait before connecting again; each further one is twice as long.
    pub retry_least: Duration,
    /// The longest wait before connecting again.
    pub retry_most: Duration,
    /// How many lines go in one statement.
    pub batch_lines: usize,
    /// How many bytes of lines go in one statement; a single longer line goes alone.
    pub batch_bytes: usize,
    /// How many of its own lines a station looks through in the database at each poll.
    pub patrol_lines: usize,
}

impl Default for ShopPace {
    fn default() -> Self {
        Self {
            poll: Duration::from_secs(30),
            live: Duration::from_secs(1),
            connecting: Duration::from_secs(10),
            statement: Duration::from_secs(30),
            retry_least: Duration::from_secs(1),
            retry_most: Duration::from_secs(60),
            batch_lines: 1000,
            batch_bytes: 4 << 20,
            patrol_lines: 500,
        }
    }
}

impl ShopPace {
    /// The wait before attempt number `attempt` (counted from 1), spread by `salt` so that the
    /// stations of a shop do not all come at one moment: between half of the wait and all of it.
    pub(crate) fn wait(&self, attempt: u32, salt: &str) -> Duration {
        let doubled = 2_u32.saturating_pow(attempt.saturating_sub(1).min(20));
        let whole = self
            .retry_least
            .saturating_mul(doubled)
            .min(self.retry_most);
        let drawn = blake3::hash(format!("{salt} {attempt}").as_bytes()).as_bytes()[0];
        whole / 2 + whole.mul_f64(f64::from(drawn) / 510.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_grow_to_the_longest_and_differ_between_stations() {
        let pace = ShopPace::default();
        for attempt in 1..40 {
            let wait = pace.wait(attempt, "a");
            let whole = Duration::from_secs(1 << (attempt - 1).min(6)).min(pace.retry_most);
            assert!(wait >= whole / 2 && wait <= whole, "{attempt}: {wait:?}");
        }
        assert_ne!(pace.wait(9, "a"), pace.wait(9, "b"));
    }
}
