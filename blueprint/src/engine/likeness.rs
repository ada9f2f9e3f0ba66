//! How near two engines are to each other, by what their owners state of them.

use serde::{Deserialize, Serialize};

use super::Engine;

/// What engines are compared by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EngineSizes {
    /// How many cylinders each bank has, front to rear as the file lists the banks.
    pub banks: Vec<usize>,
    /// Bore, mm, where it is stated.
    pub bore: Option<f64>,
    /// Stroke, mm, where it is stated.
    pub stroke: Option<f64>,
    /// The chamber volume that it should have, cc, where it is stated.
    pub chamber: Option<f64>,
}

/// How far apart two engines of one layout are: each difference as a share of the first engine's
/// size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likeness {
    /// The difference of the bores; `None` unless both are stated.
    pub bore: Option<f64>,
    /// The difference of the strokes; `None` unless both are stated.
    pub stroke: Option<f64>,
    /// The difference of the nominal chambers; `None` unless both are stated.
    pub chamber: Option<f64>,
}

impl EngineSizes {
    /// What an engine is compared by.
    #[must_use]
    pub fn of(engine: &Engine) -> EngineSizes {
        EngineSizes {
            banks: engine
                .banks
                .iter()
                .map(|bank| bank.cylinders.len())
                .collect(),
            bore: engine.bore.map(|bore| bore.value),
            stroke: engine.stroke.map(|stroke| stroke.value),
            chamber: engine.head.nominal_chamber.as_ref().map(|c| c.value),
        }
    }

    /// How many cylinders it has.
    #[must_use]
    pub fn cylinders(&self) -> usize {
        self.banks.iter().sum()
    }

    /// How far `other` is from this engine. `None` where their banks differ: a V8 is never like a
    /// row of eight.
    #[must_use]
    pub fn likeness(&self, other: &EngineSizes) -> Option<Likeness> {
        let share = |own: Option<f64>, other: Option<f64>| Some((other? - own?) / own?);
        (self.banks == other.banks).then(|| Likeness {
            bore: share(self.bore, other.bore),
            stroke: share(self.stroke, other.stroke),
            chamber: share(self.chamber, other.chamber),
        })
    }
}

impl Likeness {
    /// The measure of nearness: the largest of the differences, whatever its sign. 0 is alike in
    /// all that both state.
    #[must_use]
    pub fn apart(&self) -> f64 {
        let shares = [self.bore, self.stroke, self.chamber];
        let sizes = shares.into_iter().flatten().map(f64::abs);
        sizes.fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn v8(bore: f64, stroke: f64, chamber: Option<f64>) -> EngineSizes {
        EngineSizes {
            banks: vec![4, 4],
            bore: Some(bore),
            stroke: Some(stroke),
            chamber,
        }
    }

    #[test]
    fn the_largest_difference_counts_and_what_is_not_stated_does_not() {
        let own = v8(100.0, 80.0, Some(64.0));
        let likeness = own.likeness(&v8(101.0, 78.4, Some(64.0))).unwrap();
        assert!((likeness.apart() - 0.02).abs() < 1e-12, "{likeness:?}");
        let silent = own.likeness(&v8(101.0, 80.0, None)).unwrap();
        assert_eq!(silent.chamber, None);
        assert!((silent.apart() - 0.01).abs() < 1e-12, "{silent:?}");
        assert_eq!(own.likeness(&own).unwrap().apart(), 0.0);
    }

    #[test]
    fn another_layout_is_never_alike() {
        let own = v8(100.0, 80.0, None);
        let row = EngineSizes {
            banks: vec![8],
            ..own.clone()
        };
        assert_eq!(own.likeness(&row), None);
        assert_eq!((own.cylinders(), row.cylinders()), (8, 8));
    }
}
