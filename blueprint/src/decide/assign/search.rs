//! The search behind the assignment. It knows numbers only. It counts its steps and stops after the
//! allowed number. What it has found by then is an answer, but is not proven to be the best.

use std::cell::Cell;

/// Spreads that differ by less than this share of the largest ratio are the same: rounding.
const SAME: f64 = 1e-12;

/// Ratios of every bore with every piston and rod; NaN where they do not fit.
pub(super) struct Problem {
    n: usize,
    ratios: Vec<f64>,
    slack: f64,
    /// Steps that are left.
    left: Cell<u64>,
}

/// The piston and the rod of each bore.
pub(super) type Answer = Vec<(usize, usize)>;

/// What a search found.
pub(super) struct Found {
    pub(super) answer: Answer,
    /// Whether the search came to its end. If so, no assignment has a smaller spread.
    pub(super) proven: bool,
}

/// What may still be chosen: for each bore and piston the rods, as bits.
struct Window<'a> {
    problem: &'a Problem,
    /// By bore, then piston.
    rods: Vec<u32>,
}

impl Problem {
    /// `steps`: the most places that the search may try.
    pub(super) fn new(n: usize, ratios: Vec<f64>, steps: u64) -> Problem {
        let range = ratios
            .iter()
            .filter(|ratio| !ratio.is_nan())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &r| {
                (low.min(r), high.max(r))
            });
        let slack = SAME * range.1.abs().max(range.0.abs());
        Problem {
            n,
            ratios,
            slack: if slack.is_finite() { slack } else { 0.0 },
            left: Cell::new(steps),
        }
    }

    fn ratio(&self, bore: usize, piston: usize, rod: usize) -> f64 {
        self.ratios[(bore * self.n + piston) * self.n + rod]
    }

    fn spread(&self, answer: &Answer) -> f64 {
        let (low, high) = answer.iter().enumerate().fold(
            (f64::INFINITY, f64::NEG_INFINITY),
            |(low, high), (bore, (piston, rod))| {
                let ratio = self.ratio(bore, *piston, *rod);
                (low.min(ratio), high.max(ratio))
            },
        );
        high - low
    }

    /// Whether the steps are used up. If so, a missing answer does not prove that there is none.
    fn spent(&self) -> bool {
        self.left.get() == 0
    }

    /// The answer with the least spread that comes first in dictionary order; `None` if nothing
    /// can be built, or if the steps ran out before anything was found.
    pub(super) fn solve(&self) -> Option<Found> {
        let all = Window::new(self, f64::NEG_INFINITY, f64::INFINITY);
        let mut best = self.improve(all.any()?);
        let mut spread = self.spread(&best);
        let mut levels: Vec<f64> = self
            .ratios
            .iter()
            .copied()
            .filter(|ratio| !ratio.is_nan())
            .collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        for &low in &levels {
            // A narrower answer whose least ratio is this one.
            while spread > self.slack {
                let window = Window::new(self, low, low + spread - self.slack);
                match window.any() {
                    Some(answer) => {
                        best = self.improve(answer);
                        spread = self.spread(&best);
                    }
                    None => break,
                }
            }
        }
        if self.spent() {
            return Some(Found {
                answer: best,
                proven: false,
            });
        }
        let limit = spread + 2.0 * self.slack;
        // Among the answers with this spread, the first in dictionary order.
        let first = levels
            .iter()
            .filter_map(|&low| Window::new(self, low, low + limit).first())
            .min_by_key(|answer| {
                let pistons: Vec<usize> = answer.iter().map(|(piston, _)| *piston).collect();
                let rods: Vec<usize> = answer.iter().map(|(_, rod)| *rod).collect();
                (pistons, rods)
            });
        Some(Found {
            answer: first.unwrap_or(best),
            proven: !self.spent(),
        })
    }

    /// A better answer by exchanging two pistons, two rods, or both, as long as that helps.
    fn improve(&self, mut answer: Answer) -> Answer {
        let mut spread = self.spread(&answer);
        loop {
            let mut better = None;
            for a in 0..self.n {
                for b in a + 1..self.n {
                    for kind in 0..3 {
                        let mut tried = answer.clone();
                        if kind != 1 {
                            let piston = tried[a].0;
                            tried[a].0 = tried[b].0;
                            tried[b].0 = piston;
                        }
                        if kind != 0 {
                            let rod = tried[a].1;
                            tried[a].1 = tried[b].1;
                            tried[b].1 = rod;
                        }
                        let fits = [a, b]
                            .iter()
                            .all(|&bore| !self.ratio(bore, tried[bore].0, tried[bore].1).is_nan());
                        if fits {
                            let found = self.spread(&tried);
                            if found < spread - self.slack {
                                spread = found;
                                better = Some(tried);
                            }
                        }
                    }
                }
            }
            match better {
                Some(tried) => answer = tried,
                None => return answer,
            }
        }
    }
}

impl<'a> Window<'a> {
    /// Everything with a ratio from `low` to `high`.
    fn new(problem: &'a Problem, low: f64, high: f64) -> Window<'a> {
        let n = problem.n;
        let mut rods = vec![0u32; n * n];
        for (pair, bits) in rods.iter_mut().enumerate() {
            for rod in 0..n {
                let ratio = problem.ratios[pair * n + rod];
                if ratio >= low && ratio <= high {
                    *bits |= 1 << rod;
                }
            }
        }
        Window { problem, rods }
    }

    fn all(&self) -> u32 {
        (1u32 << self.problem.n) - 1
    }

    /// Any answer within the window.
    fn any(&self) -> Option<Answer> {
        let mut chosen = vec![None; self.problem.n];
        self.fill(self.all(), self.all(), self.all(), &mut chosen)
            .then(|| unwrap(&chosen))
    }

    /// The first answer in dictionary order of the pistons, then of the rods.
    fn first(&self) -> Option<Answer> {
        let n = self.problem.n;
        let mut chosen = vec![None; n];
        let (mut pistons, mut rods) = (self.all(), self.all());
        self.any()?;
        // Pistons first, as their list is compared first: a rod is only reserved, not chosen.
        let mut fixed: Vec<Option<usize>> = vec![None; n];
        for bore in 0..n {
            let piston = bits(pistons).find(|&piston| {
                let mut tried = fixed.clone();
                tried[bore] = Some(piston);
                self.limited(&tried).any().is_some()
            })?;
            fixed[bore] = Some(piston);
            pistons &= !(1 << piston);
        }
        let mut limited = self.limited(&fixed);
        for bore in 0..n {
            let piston = fixed[bore]?;
            let place = bore * n + piston;
            let rod = bits(rods & limited.rods[place]).find(|&rod| {
                let mut tried = Window {
                    problem: self.problem,
                    rods: limited.rods.clone(),
                };
                tried.rods[place] = 1 << rod;
                tried.any().is_some()
            })?;
            limited.rods[place] = 1 << rod;
            rods &= !(1 << rod);
            chosen[bore] = Some((piston, rod));
        }
        Some(unwrap(&chosen))
    }

    /// The window with the pistons of some bores fixed.
    fn limited(&self, fixed: &[Option<usize>]) -> Window<'a> {
        let n = self.problem.n;
        let mut rods = self.rods.clone();
        for (bore, piston) in fixed.iter().enumerate() {
            let Some(piston) = piston else { continue };
            for other in (0..n).filter(|other| other != piston) {
                rods[bore * n + other] = 0;
            }
        }
        Window {
            problem: self.problem,
            rods,
        }
    }

    /// Whether bores, pistons and rods, looked at two by two, could still be matched.
    fn possible(&self, bores: u32, pistons: u32, rods: u32) -> bool {
        let n = self.problem.n;
        let mut to_pistons = vec![0u32; n];
        let mut to_rods = vec![0u32; n];
        let mut piston_to_rods = vec![0u32; n];
        for bore in bits(bores) {
            for piston in bits(pistons) {
                let here = self.rods[bore * n + piston] & rods;
                if here != 0 {
                    to_pistons[bore] |= 1 << piston;
                    to_rods[bore] |= here;
                    piston_to_rods[piston] |= here;
                }
            }
        }
        matched(bores, &to_pistons) && matched(bores, &to_rods) && matched(pistons, &piston_to_rods)
    }

    /// Gives each bore of `bores` a piston and a rod, those with the fewest choices first.
    fn fill(
        &self,
        bores: u32,
        pistons: u32,
        rods: u32,
        chosen: &mut [Option<(usize, usize)>],
    ) -> bool {
        if bores == 0 {
            return true;
        }
        let left = &self.problem.left;
        if left.get() == 0 {
            return false;
        }
        left.set(left.get() - 1);
        if !self.possible(bores, pistons, rods) {
            return false;
        }
        let n = self.problem.n;
        let choices = |bore: usize| -> u32 {
            bits(pistons)
                .map(|piston| (self.rods[bore * n + piston] & rods).count_ones())
                .sum()
        };
        let Some(bore) = bits(bores).min_by_key(|&bore| choices(bore)) else {
            return false;
        };
        for piston in bits(pistons) {
            for rod in bits(self.rods[bore * n + piston] & rods) {
                chosen[bore] = Some((piston, rod));
                let left = (
                    bores & !(1 << bore),
                    pistons & !(1 << piston),
                    rods & !(1 << rod),
                );
                if self.fill(left.0, left.1, left.2, chosen) {
                    return true;
                }
            }
        }
        chosen[bore] = None;
        false
    }
}

fn unwrap(chosen: &[Option<(usize, usize)>]) -> Answer {
    chosen.iter().flatten().copied().collect()
}

fn bits(set: u32) -> impl Iterator<Item = usize> {
    (0..32).filter(move |bit| set & (1 << bit) != 0)
}

/// Whether each of `left` can have one of its own among the bits that it reaches (augmenting
/// paths).
fn matched(left: u32, reach: &[u32]) -> bool {
    let mut owner = [usize::MAX; 32];
    bits(left).all(|one| augment(one, reach, &mut owner, &mut 0))
}

fn augment(one: usize, reach: &[u32], owner: &mut [usize; 32], seen: &mut u32) -> bool {
    for bit in bits(reach[one]) {
        if *seen & (1 << bit) != 0 {
            continue;
        }
        *seen |= 1 << bit;
        if owner[bit] == usize::MAX || augment(owner[bit], reach, owner, seen) {
            owner[bit] = one;
            return true;
        }
    }
    false
}
