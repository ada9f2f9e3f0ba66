//! What goes on at this station goes out, and what goes on at the others comes in, at a low rate.
//!
//! Only the last word counts, so there is no queue. Journal lines never wait for it longer than one
//! statement.

use tokio::time::Instant;

use crate::fault::ShopFault;
use crate::record::StationId;
use crate::said::{OwnWords, in_short};
use crate::version::WITH_LIVE;

use super::{Exchange, ExchangeEnd};

/// What was said and heard over one connection.
#[derive(Default)]
pub(super) struct LiveTurn {
    /// Whether the database has the table.
    is_there: bool,
    told: Option<(Instant, OwnWords)>,
    heard: Option<Instant>,
    /// Whether another station has said something since.
    news: bool,
}

impl LiveTurn {
    pub(super) fn of(version: i32) -> Self {
        Self {
            is_there: version >= WITH_LIVE,
            news: true,
            ..Self::default()
        }
    }

    pub(super) fn hear(&mut self) {
        self.news = true;
    }
}

impl Exchange<'_> {
    fn own_words(&self) -> OwnWords {
        let state = self.memory.state.borrow();
        let troubles = state.troubles.iter().map(|one| one.words.as_str());
        OwnWords {
            waiting: self.memory.kept.waiting(),
            wrong: in_short(troubles),
            routes: self.memory.routes.get(),
        }
    }

    /// When this station says something again.
    fn says_at(&self, now: Instant) -> Instant {
        let Some((at, told)) = &self.live.told else {
            return now;
        };
        let words = self.own_words();
        let pace = &self.memory.pace;
        match words.routes.is_empty() && words == *told {
            true => *at + pace.poll,
            false => *at + pace.live,
        }
    }

    /// When this station next reads what the others have said.
    fn hears_at(&self, now: Instant) -> Instant {
        let pace = &self.memory.pace;
        match (self.live.heard, self.live.news) {
            (None, _) => now,
            (Some(at), true) => at + pace.live,
            (Some(at), false) => at + pace.poll,
        }
    }

    /// When something is to be said or heard; `otherwise` where the database has no place for it.
    pub(super) fn live_at(&self, otherwise: Instant) -> Instant {
        match self.live.is_there {
            true => {
                let now = Instant::now();
                self.says_at(now).min(self.hears_at(now)).min(otherwise)
            }
            false => otherwise,
        }
    }

    /// Says and hears what is due.
    pub(super) async fn live_some(&mut self) -> Result<(), ExchangeEnd> {
        if !self.live.is_there {
            return Ok(());
        }
        let done = self.live_turn().await;
        match done {
            // These words are no part of the record, so their failure must not hold the record up.
            Err(ShopFault::Server(words)) => {
                tracing::warn!(words, "what goes on at the stations is not told");
                self.live.is_there = false;
                Ok(())
            }
            other => Ok(other?),
        }
    }

    async fn live_turn(&mut self) -> Result<(), ShopFault> {
        let now = Instant::now();
        if self.says_at(now) <= now {
            let words = self.own_words();
            self.rows.say(&self.me, &words).await?;
            self.live.told = Some((now, words));
        }
        if self.hears_at(now) <= now {
            self.live.news = false;
            let said = self.rows.said().await?;
            self.live.heard = Some(now);
            let known = |station: &StationId| {
                let state = self.memory.state.borrow();
                state.stations.iter().any(|one| one.station == *station)
            };
            // A station that joined since the last comparison shows up with its first word.
            let stations = match said.iter().all(|one| known(&one.station)) {
                true => None,
                false => Some(self.rows.stations().await?),
            };
            self.memory.state.send_modify(|state| {
                state.said = said;
                if let Some(stations) = stations {
                    state.stations = stations;
                }
            });
        }
        Ok(())
    }
}
