//! Estimates from a covariance matrix, and estimates whose sources get other identities or sizes,
//! or are merged.

use super::{Estimate, Term};
use crate::figure::{ErrorSource, Scalar, SourceId, SourceKind};

impl Estimate {
    /// Inputs with a common covariance matrix, as estimates over shared independent sources
    /// (Cholesky). `None` unless the matrix is square, symmetric in its lower half and positive
    /// semi-definite.
    pub fn correlated(
        id: impl Into<SourceId>,
        values: &[f64],
        covariance: &[Vec<f64>],
    ) -> Option<Vec<Estimate>> {
        let n = values.len();
        if covariance.len() != n || covariance.iter().any(|row| row.len() != n) {
            return None;
        }
        let mut lower = vec![vec![0.0; n]; n];
        for i in 0..n {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
                let rest = covariance[i][j] - sum;
                lower[i][j] = if i == j {
                    if rest < -1e-12 * covariance[i][i].abs() {
                        return None;
                    }
                    rest.max(0.0).sqrt()
                } else if lower[j][j] > 0.0 {
                    rest / lower[j][j]
                } else {
                    0.0
                };
            }
        }
        let id = id.into();
        let sources: Vec<_> = (0..n)
            .map(|k| ErrorSource::new(id.but(SourceKind::Component(k)), Some(1.0), f64::INFINITY))
            .collect();
        Some(
            (0..n)
                .map(|i| {
                    (0..=i).fold(Estimate::exact(values[i]), |estimate, k| {
                        estimate.with(sources[k].clone(), lower[i][k])
                    })
                })
                .collect(),
        )
    }

    /// The same estimate with its sources under other identities.
    #[must_use]
    pub fn identified(&self, identify: impl Fn(&SourceId) -> SourceId) -> Estimate {
        let exact = Estimate {
            value: self.value,
            parts: Vec::new(),
        };
        self.parts.iter().fold(exact, |estimate, part| {
            let source = ErrorSource {
                id: identify(&part.source.id),
                pool: part.source.pool.as_ref().map(&identify),
                ..(*part.source).clone()
            };
            estimate.with(source.into(), part.slope)
        })
    }

    /// The same estimate with all sources that are `own`, and whose u is taken as known, merged
    /// into one. No other estimate may carry any of them.
    #[must_use]
    pub(crate) fn merged(&self, own: impl Fn(&SourceId) -> bool, id: SourceId) -> Estimate {
        let own = |part: &&Term| {
            own(&part.source.id) && part.source.u.is_some() && part.source.dof.is_infinite()
        };
        if self.parts.iter().filter(own).count() < 2 {
            return self.clone();
        }
        let size = |part: &Term| part.source.u.map_or(0.0, |u| (part.slope * u).powi(2));
        let variance: f64 = self.parts.iter().filter(own).map(size).sum();
        let rest = self
            .parts
            .iter()
            .filter(|part| !own(part))
            .cloned()
            .collect();
        let rest = Estimate {
            value: self.value,
            parts: rest,
        };
        rest.with(
            ErrorSource::new(id, Some(variance.sqrt()), f64::INFINITY),
            1.0,
        )
    }

    /// The same value with the error of each source scaled by a factor. Example: one more reading
    /// scales a reading's own errors down.
    #[must_use]
    pub fn rescaled(&self, factor: impl Fn(&SourceId) -> f64) -> Estimate {
        let parts = self
            .parts
            .iter()
            .map(|part| Term {
                source: part.source.clone(),
                slope: part.slope * factor(&part.source.id),
                largest: part.largest,
            })
            .collect();
        Estimate {
            value: self.value,
            parts,
        }
    }
}
