//! Where a moved gauge is coming to rest, and how sure that is.
//!
//! Creep and the tail of the movement are allowed for. The module does not know whether a value is
//! wanted.

use super::creep::{Also, Creep, Rest, rest};
use super::settings::SettleSettings;
use super::still::{Point, range_quantile};

/// A movement is taken to have lasted no longer than this before its rest, s.
const LONGEST_COMING_S: f64 = 3.0;

/// A window at rest.
pub(crate) struct Resting {
    /// Index of the window's first sample.
    pub(crate) start: usize,
    /// How long before the window the value was last far off, s.
    pub(crate) since_s: f64,
    pub(crate) rest: Rest,
}

/// The longest window that ends now and is no wider than noise, and where the value comes to rest
/// in it. `departed` is the rest before the movement, where that is known.
pub(crate) fn resting(
    points: &[Point],
    departed: Option<f64>,
    sigma: f64,
    resolution: f64,
    settings: &SettleSettings,
) -> Option<Resting> {
    let start = narrow(points, sigma, resolution, settings.longest_s);
    let window = points
        .get(start..)
        .filter(|w| w.len() >= settings.window_n)?;
    let level = window.iter().map(|p| p.v).sum::<f64>() / window.len() as f64;
    let sizes: Vec<f64> = settings.creep_sigmas.iter().map(|s| s * sigma).collect();
    let largest = sizes.iter().fold(0.0, |a: f64, b| a.max(*b));
    let coming = coming(&points[..=start], departed, level, 2.0 * largest);
    let creep = Creep {
        sizes: &sizes,
        since_s: coming.since_s,
        taus: &settings.creep_s,
        chance: settings.creep_chance * (coming.since_s / settings.creep_slow_s).clamp(0.1, 1.0),
        also: Also::Tail {
            size: 4.0 * sigma,
            chance: 0.8,
            taus: &coming.tails(8.0 * sigma),
        },
    };
    let off_by = (settings.off_counts * resolution).max(settings.off_sigmas * sigma);
    let rest = rest(window, sigma, creep, off_by);
    Some(Resting {
        start,
        since_s: coming.since_s,
        rest,
    })
}

/// The index of the first sample of the longest run up to now whose range noise explains.
fn narrow(points: &[Point], sigma: f64, resolution: f64, longest_s: f64) -> usize {
    let Some(last) = points.last() else { return 0 };
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut start = points.len();
    for (i, p) in points.iter().enumerate().rev() {
        low = low.min(p.v);
        high = high.max(p.v);
        let widest = range_quantile(points.len() - i) * sigma + 0.5 * resolution;
        if last.since(p.at_us) > longest_s || high - low > widest {
            break;
        }
        start = i;
    }
    start
}

/// How the movement approached a window.
struct Coming {
    /// How long before it the value was last far off, s.
    since_s: f64,
    /// How far off the value was then.
    far: f64,
}

/// How the movement approached `level`; `before` ends with the window's first sample. A value
/// counts as far off beyond `far`, or beyond half of the way from `departed` where that is less.
fn coming(before: &[Point], departed: Option<f64>, level: f64, far: f64) -> Coming {
    let off = |p: &Point| (p.v - level).abs();
    let came = departed.map_or_else(
        || before.iter().map(off).fold(0.0, f64::max),
        |from| (from - level).abs(),
    );
    let far = far.min(0.5 * came);
    let moving = before.iter().rfind(|p| off(p) > far);
    let since = |p: &Point| before.last().map_or(0.0, |first| first.since(p.at_us));
    Coming {
        since_s: moving.map_or(0.0, since).min(LONGEST_COMING_S),
        far,
    }
}

impl Coming {
    /// Time constants considered for the tail of a movement that fell from far off to `near`, s.
    fn tails(&self, near: f64) -> [f64; 3] {
        let tau = (self.since_s / (self.far / near).max(1.7).ln()).max(0.03);
        [0.5 * tau, tau, 1.5 * tau]
    }
}
