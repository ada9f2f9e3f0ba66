//! Errors and delays of many cases, and what is read from them.
//!
//! It does not know what was measured.

/// Errors and delays of many cases.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CaseFigures {
    /// Value minus truth of each case that gave one, in the signal's unit.
    pub errors: Vec<f64>,
    /// Announcement minus true stillness, s.
    pub delays: Vec<f64>,
    /// Cases in all.
    pub cases: usize,
    /// Cases that gave no value, or one too many, with nothing said.
    pub missed: usize,
    /// Cases that were refused with a reason.
    pub refused: usize,
    /// Cases whose value comes with a question.
    pub asked: usize,
    /// Values that came before they may.
    pub early: usize,
    /// Cases whose announced value was right in time, and how many were asked.
    pub in_time: (usize, usize),
    /// Seeds of the worst and of the missed cases, to look at.
    pub look_at: Vec<u64>,
}

impl CaseFigures {
    /// Largest absolute error.
    pub fn worst(&self) -> f64 {
        self.errors.iter().fold(0.0, |worst, e| e.abs().max(worst))
    }

    /// Mean error.
    pub fn bias(&self) -> f64 {
        self.errors.iter().sum::<f64>() / self.errors.len().max(1) as f64
    }

    /// Standard deviation of the errors.
    pub fn sd(&self) -> f64 {
        let bias = self.bias();
        let squares: f64 = self.errors.iter().map(|e| (e - bias).powi(2)).sum();
        (squares / (self.errors.len().max(2) - 1) as f64).sqrt()
    }

    /// How many are further off than this.
    pub fn beyond(&self, limit: f64) -> usize {
        self.errors.iter().filter(|e| e.abs() > limit).count()
    }

    /// Share within this, of those that gave a value.
    pub fn within(&self, limit: f64) -> f64 {
        1.0 - self.beyond(limit) as f64 / self.errors.len().max(1) as f64
    }

    /// A quantile of the delays, s.
    pub fn delay(&self, p: f64) -> f64 {
        let mut delays = self.delays.clone();
        delays.sort_by(f64::total_cmp);
        delays
            .get(((delays.len() as f64 - 1.0) * p).round() as usize)
            .copied()
            .unwrap_or(f64::NAN)
    }

    /// Share of the cases whose value was right in time.
    pub fn share_in_time(&self) -> f64 {
        self.in_time.0 as f64 / self.in_time.1.max(1) as f64
    }

    pub(super) fn add(&mut self, seed: u64, error: f64, look_beyond: f64) {
        if error.abs() > look_beyond {
            self.look_at.push(seed);
        }
        self.errors.push(error);
    }
}
