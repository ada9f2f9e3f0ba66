//! The mean of samples that remember each other, with an honest standard error.
//!
//! A surging manometer's samples are not independent: s/√n would promise far too much. An
//! autoregression is fitted (Yule–Walker by Levinson's recursion, order by AICc). The error of the
//! mean follows from its spectrum at zero frequency: Box and Jenkins, Time Series Analysis, and M.
//! B. Priestley, Spectral Analysis and Time Series (from memory). Subtracting the mean makes the
//! correlation look too small; the sum of coefficients is corrected for this by Kendall's (1954,
//! from memory) bias, (1 + 3φ)/n.

/// Mean, standard deviation of the samples, and standard error of the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// Standard deviation of the samples; `None` for fewer than two.
    pub sd: Option<f64>,
    /// Standard error of the mean, with autocorrelation taken into account; `None` for fewer than
    /// eight.
    pub se: Option<f64>,
}

const MOST_ORDER: usize = 6;

/// The mean of evenly spaced samples with its standard error.
pub fn mean_with_error(values: &[f64]) -> Mean {
    let n = values.len();
    if n == 0 {
        return Mean {
            value: f64::NAN,
            sd: None,
            se: None,
        };
    }
    let value = values.iter().sum::<f64>() / n as f64;
    let squares: f64 = values.iter().map(|v| (v - value) * (v - value)).sum();
    let sd = (n > 1).then(|| (squares / (n - 1) as f64).sqrt());
    let se = (n >= 8)
        .then(|| long_run_variance(values, value))
        .map(|v| (v / n as f64).sqrt());
    Mean { value, sd, se }
}

/// n times the variance of the mean, for long n.
fn long_run_variance(values: &[f64], mean: f64) -> f64 {
    let n = values.len();
    let most = MOST_ORDER.min(n / 4);
    let covariance = |lag: usize| {
        (0..n - lag)
            .map(|i| (values[i] - mean) * (values[i + lag] - mean))
            .sum::<f64>()
            / n as f64
    };
    let gamma: Vec<f64> = (0..=most).map(covariance).collect();
    if gamma[0] <= 0.0 {
        return 0.0;
    }
    let (mut phi, mut noise): (Vec<f64>, f64) = (Vec::new(), gamma[0]);
    let mut best = (aicc(noise, 0, n), phi.clone(), noise);
    for order in 1..=most {
        let predicted: f64 = phi
            .iter()
            .enumerate()
            .map(|(j, c)| c * gamma[order - 1 - j])
            .sum();
        let reflection = (gamma[order] - predicted) / noise;
        let before = phi.clone();
        for (j, c) in phi.iter_mut().enumerate() {
            *c -= reflection * before[order - 2 - j];
        }
        phi.push(reflection);
        noise *= (1.0 - reflection * reflection).max(1e-12);
        let score = aicc(noise, order, n);
        if score < best.0 {
            best = (score, phi.clone(), noise);
        }
    }
    let (_, phi, noise) = best;
    let sum: f64 = phi.iter().sum();
    let corrected = if sum > 0.0 {
        (sum + (1.0 + 3.0 * sum) / n as f64).min(1.0 - 2.0 / n as f64)
    } else {
        sum
    };
    let unbiased = noise * n as f64 / (n - phi.len() - 1) as f64;
    let independent = gamma[0] * n as f64 / (n - 1) as f64;
    // Samples that swing about their mean (negative correlation) are given no better error than
    // independent ones.
    let long_run = (unbiased / (1.0 - corrected).powi(2)).max(independent);
    // Subtracting the mean hides its own variance: the samples show only 1 − 1/k of the surge's
    // variance, where k is the number of independent parts in the window.
    let parts = (n as f64 * gamma[0] / long_run).max(1.5);
    long_run / (1.0 - 1.0 / parts)
}

fn aicc(noise: f64, order: usize, n: usize) -> f64 {
    let (n, k) = (n as f64, order as f64 + 2.0);
    n * noise.max(1e-300).ln() + 2.0 * k + 2.0 * k * (k + 1.0) / (n - k - 1.0).max(0.5)
}
