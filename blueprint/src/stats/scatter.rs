//! How repeats scatter, as it adds up over spots, stages, jobs and years.

use super::PooledDeviation;

/// The scatter within sets of repeats, each set about its own mean: what is left of the sets once
/// their values are gone. Scatters of one quantity in one unit add up.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Scatter {
    /// Sum of the squared differences from each set's own mean, in the unit's square.
    pub squares: f64,
    /// Degrees of freedom: values less sets.
    pub dof: f64,
}

impl Scatter {
    /// The same scatter in a unit of which one is `factor` of the other.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Scatter {
        Scatter {
            squares: self.squares * factor * factor,
            ..self
        }
    }

    /// The scatters of further sets taken together with these.
    #[must_use]
    pub fn and(self, other: Scatter) -> Scatter {
        Scatter {
            squares: self.squares + other.squares,
            dof: self.dof + other.dof,
        }
    }

    /// The repeatability that the sets show, √(Σν·s²/Σν) (NIST/SEMATECH e-Handbook 2.4.3). `None`
    /// where no set has two values.
    #[must_use]
    pub fn pooled(self) -> Option<PooledDeviation> {
        (self.dof > 0.0).then(|| PooledDeviation {
            s: (self.squares / self.dof).sqrt(),
            dof: self.dof,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::sum_of_squares;

    fn of_set(values: &[f64]) -> Scatter {
        Scatter {
            squares: sum_of_squares(values),
            dof: (values.len() - 1) as f64,
        }
    }

    #[test]
    fn sets_that_are_added_up_give_what_all_of_them_give_at_once() {
        let sets: [&[f64]; 3] = [&[1.0, 1.2, 1.1], &[5.0, 4.9], &[3.0, 3.3]];
        let added = sets
            .iter()
            .fold(Scatter::default(), |all, set| all.and(of_set(set)));
        let (added, at_once) = (
            added.pooled().unwrap(),
            PooledDeviation::of_sets(sets).unwrap(),
        );
        assert!((added.s - at_once.s).abs() < 1e-15, "{added:?} {at_once:?}");
        assert_eq!(added.dof, at_once.dof);
        assert_eq!(Scatter::default().pooled(), None);
    }

    #[test]
    fn inches_and_millimetres_pool_to_one_repeatability() {
        let inches = of_set(&[0.001, 0.002]).scaled(25.4);
        let same = of_set(&[0.0254, 0.0508]);
        let pooled = inches.and(same).pooled().unwrap();
        assert!((pooled.s - same.pooled().unwrap().s).abs() < 1e-15);
    }
}
