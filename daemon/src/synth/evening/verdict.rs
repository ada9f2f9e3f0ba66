//! The results of an evening: chamber by chamber, and over many evenings.

use std::collections::BTreeMap;

/// The result for one chamber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StopVerdict {
    /// Kept within 0.05 cc.
    Right,
    /// The value is wrong, and the hand was asked about it.
    AskedAbout,
    /// A wrong value was kept, and nobody was asked.
    WrongInSilence,
    /// No reading is kept.
    Missing,
}

/// How far off a chamber may be, cc.
pub const BOUND_CC: f64 = 0.05;

/// One stop at the end of an evening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JudgedStop {
    /// Liquid that truly went into the chamber, cc.
    pub truth: f64,
    /// The value that is kept, cc.
    pub kept: Option<f64>,
    /// Whether the hand was asked about it.
    pub asked: bool,
}

impl JudgedStop {
    /// The verdict on the stop.
    pub fn verdict(&self) -> StopVerdict {
        match self.kept {
            Some(kept) if (kept - self.truth).abs() <= BOUND_CC => StopVerdict::Right,
            _ if self.asked => StopVerdict::AskedAbout,
            Some(_) => StopVerdict::WrongInSilence,
            None => StopVerdict::Missing,
        }
    }
}

/// An evening as it was played.
#[derive(Debug, Clone, PartialEq)]
pub struct PlayedEvening {
    /// Its seed.
    pub seed: u64,
    /// Each stop, in the order of the route.
    pub stops: Vec<JudgedStop>,
    /// What happened, in lines.
    pub story: String,
}

impl PlayedEvening {
    /// Whether a stop is neither right nor asked about.
    pub fn failed(&self) -> bool {
        let bad = |v| matches!(v, StopVerdict::WrongInSilence | StopVerdict::Missing);
        self.stops.iter().any(|s| bad(s.verdict()))
    }

    /// The seed, the story, and the result of each stop.
    pub fn told(&self) -> String {
        let mut told = format!("seed {}\n{}", self.seed, self.story);
        for (i, s) in self.stops.iter().enumerate() {
            let kept = s.kept.map_or("none".to_owned(), |cc| format!("{cc:.3}"));
            told += &format!(
                "stop {}: truth {:.3}, kept {kept}, {:?}{}\n",
                i + 1,
                s.truth,
                s.verdict(),
                if s.asked { ", asked about" } else { "" }
            );
        }
        told
    }
}

/// Many evenings together.
#[derive(Debug, Clone, Default)]
pub struct EveningTotals {
    /// How many stops there were of each verdict.
    pub of: BTreeMap<StopVerdict, usize>,
    /// How many stops were asked about.
    pub asked: usize,
    /// How many stops there were.
    pub stops: usize,
    /// The seeds of the evenings that failed.
    pub failed: Vec<u64>,
    /// The same evenings, as they were told.
    pub stories: Vec<String>,
    /// The evenings in which a stop was asked about, as they were told.
    pub asked_stories: Vec<String>,
}

impl EveningTotals {
    /// Takes in an evening.
    pub fn add(&mut self, played: &PlayedEvening) {
        for stop in &played.stops {
            *self.of.entry(stop.verdict()).or_default() += 1;
            self.stops += 1;
            self.asked += usize::from(stop.asked);
        }
        if played.stops.iter().any(|stop| stop.asked) {
            self.asked_stories.push(played.told());
        }
        if played.failed() {
            self.failed.push(played.seed);
            self.stories.push(played.told());
        }
    }

    /// The share of stops that were asked about.
    pub fn share_asked(&self) -> f64 {
        self.asked as f64 / self.stops.max(1) as f64
    }
}
