//! Whether a level that should rest runs evenly.
//!
//! A film that drains slows down; a leak does not. Which of the two is worse is not known here.

/// Means of the level over whole seconds while nothing was poured.
#[derive(Debug, Default)]
pub(crate) struct LeakWatch {
    /// (second, sum, count)
    seconds: Vec<(u64, f64, usize)>,
    said: bool,
}

/// Length of the watch, s.
const WATCH_S: usize = 30;

impl LeakWatch {
    pub(crate) fn clear(&mut self) {
        self.seconds.clear();
        self.said = false;
    }

    /// Takes a value. Returns the run per second where it is even and plain: `least` is the
    /// smallest run per second that counts, `sigma` the noise of one sample.
    pub(crate) fn push(&mut self, at_us: u64, v: f64, least: f64, sigma: f64) -> Option<f64> {
        let second = at_us / 1_000_000;
        match self.seconds.last_mut() {
            Some(last) if last.0 == second => {
                last.1 += v;
                last.2 += 1;
                return None;
            }
            _ => self.seconds.push((second, v, 1)),
        }
        // The newest second is incomplete.
        let whole = &self.seconds[..self.seconds.len() - 1];
        if whole.len() < WATCH_S {
            return None;
        }
        let watch: Vec<(f64, f64)> = whole[whole.len() - WATCH_S..]
            .iter()
            .map(|&(t, sum, n)| (t as f64, sum / n as f64))
            .collect();
        if self.seconds.len() > 2 * WATCH_S {
            self.seconds.drain(..WATCH_S);
        }
        let (early, late) = (slope(&watch[..WATCH_S / 2]), slope(&watch[WATCH_S / 2..]));
        let whole = slope(&watch);
        let even =
            early * late > 0.0 && late.abs() > 0.5 * early.abs() && early.abs() > 0.4 * late.abs();
        let run = whole * WATCH_S as f64;
        let plain = even && whole.abs() >= least && run.abs() > 4.0 * sigma;
        (plain && !std::mem::replace(&mut self.said, plain)).then_some(whole)
    }
}

fn slope(points: &[(f64, f64)]) -> f64 {
    let n = points.len() as f64;
    let t = points.iter().map(|p| p.0).sum::<f64>() / n;
    let v = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.0 - t).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.0 - t) * (p.1 - v)).sum();
    sxy / sxx
}

#[cfg(test)]
mod tests {
    use super::*;

    fn watch(level: impl Fn(f64) -> f64) -> Option<f64> {
        let mut watch = LeakWatch::default();
        (0..400).find_map(|i| {
            let t = f64::from(i) * 0.1;
            watch.push((t * 1e6) as u64, level(t), 0.1 / 60.0, 0.01)
        })
    }

    #[test]
    fn an_even_drip_is_a_leak_and_a_draining_film_is_not() {
        // A drop of 0.05 cc every 6 s is 0.5 cc a minute.
        let rate = watch(|t| 40.0 + 0.05 * (t / 6.0).floor()).unwrap() * 60.0;
        assert!((rate - 0.5).abs() < 0.15, "{rate}");
        assert_eq!(watch(|t| 40.0 - 0.06 * (-t / 10.0).exp()), None);
        assert_eq!(watch(|_| 40.0), None);
    }
}
