//! What a value should be near to, and on which side a value lies.
//!
//! An expectation parts pours and asks questions. It never alters a value or its uncertainty. The
//! module does not know where an expectation comes from.

use std::fmt;
use std::num::ParseFloatError;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// What a value should be near to: outer bounds, in the unit of the value.
///
/// Written as text, an expectation is its three numbers with blanks between: `43.1 45 47.2`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ExpectedBounds {
    /// Below this a value is far too small.
    pub low: f64,
    /// The likeliest value.
    pub middle: f64,
    /// Above this a value is far too large.
    pub high: f64,
}

/// How a value fits what was expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Within the bounds.
    Within,
    /// Far too small.
    Below,
    /// Far too large.
    Above,
}

impl fmt::Display for ExpectedBounds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} {}", self.low, self.middle, self.high)
    }
}

impl FromStr for ExpectedBounds {
    type Err = ParseFloatError;

    fn from_str(text: &str) -> Result<ExpectedBounds, ParseFloatError> {
        let mut numbers = text.split_whitespace().map(str::parse);
        let mut next = || numbers.next().unwrap_or_else(|| "".parse());
        Ok(ExpectedBounds {
            low: next()?,
            middle: next()?,
            high: next()?,
        })
    }
}

impl ExpectedBounds {
    /// `middle`, give or take `within`.
    pub fn around(middle: f64, within: f64) -> ExpectedBounds {
        ExpectedBounds {
            low: middle - within,
            middle,
            high: middle + within,
        }
    }

    /// How `value` fits.
    pub fn fit(&self, value: f64) -> Fit {
        if value < self.low {
            Fit::Below
        } else if value > self.high {
            Fit::Above
        } else {
            Fit::Within
        }
    }

    /// Whether `value` lies within the bounds.
    pub fn holds(&self, value: f64) -> bool {
        self.fit(value) == Fit::Within
    }

    /// The same expectation in another unit; `factor` of the other unit are one of the present
    /// unit.
    pub fn scaled(&self, factor: f64) -> ExpectedBounds {
        ExpectedBounds {
            low: self.low * factor,
            middle: self.middle * factor,
            high: self.high * factor,
        }
    }
}
