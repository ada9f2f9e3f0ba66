//! What a station tells the others of itself while it goes on; nothing of it is kept.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use crate::record::StationId;

/// How long a station's text about its routes may be, in bytes. The table refuses more.
pub const ROUTES_MOST: usize = 8000;
/// How long its words about what is wrong may be, in bytes.
const WRONG_MOST: usize = 2000;

/// What a station said of itself last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationSaid {
    /// The station.
    pub station: StationId,
    /// When it said so, by this machine's own count of time: clocks of other machines do not matter.
    pub said: Instant,
    /// How many of its own lines it had not sent.
    pub waiting: u64,
    /// What it says is wrong, for people; empty where nothing is.
    pub wrong: String,
    /// Its routes, as it wrote them down; empty where none runs.
    pub routes: String,
}

/// What is said of this station.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct OwnWords {
    pub waiting: u64,
    pub wrong: String,
    pub routes: String,
}

/// The latest text about this station's routes. Whoever knows the routes puts the text here without
/// waiting. It replaces the text before.
#[derive(Debug, Default)]
pub(crate) struct OwnRoutes(Mutex<String>);

impl OwnRoutes {
    fn text(&self) -> MutexGuard<'_, String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Replaces the text. Returns whether the new text differs from the old one.
    pub fn put(&self, routes: String) -> bool {
        let routes = match routes.len() > ROUTES_MOST {
            true => String::new(),
            false => routes,
        };
        let mut text = self.text();
        let differs = *text != routes;
        *text = routes;
        differs
    }

    pub fn get(&self) -> String {
        self.text().clone()
    }
}

/// The first of several sentences, as many as the table takes.
pub(crate) fn in_short<'a>(wrong: impl Iterator<Item = &'a str>) -> String {
    let mut text = String::new();
    for one in wrong {
        if text.len() + one.len() + 1 > WRONG_MOST {
            break;
        }
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(one);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_too_long_for_the_table_is_left_out() {
        let routes = OwnRoutes::default();
        assert!(routes.put("[]".to_owned()));
        assert!(!routes.put("[]".to_owned()));
        assert!(routes.put("x".repeat(ROUTES_MOST + 1)));
        assert_eq!(routes.get(), "");
        let long = "w".repeat(1500);
        assert_eq!(in_short([long.as_str(), &long].into_iter()), long);
        assert_eq!(in_short(["one", "two"].into_iter()), "one\ntwo");
    }
}
