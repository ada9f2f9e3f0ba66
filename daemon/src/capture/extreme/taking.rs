//! Passes that agree become a value.

use super::super::passes::disagreement;
use super::super::turn::Pass;
use super::super::{CaptureEvent, CapturedValue};
use super::Extreme;

impl Extreme {
    pub(super) fn passed(&mut self, pass: Pass, out: &mut Vec<CaptureEvent>) {
        self.sigma.learn(pass.squares, pass.degrees + 1);
        let as_taken = || {
            self.taken.map(|top| Pass {
                top,
                se: 0.0,
                ..pass.clone()
            })
        };
        let before = self.passes.last().cloned().or_else(as_taken);
        let scale = self.intake.unit().map(|u| (self.intake.resolution(), u));
        let odd = before.zip(scale).and_then(|(before, scale)| {
            disagreement((&before, &pass), &self.settings, scale, self.sign())
        });
        if let Some(note) = odd {
            self.passes = vec![pass];
            return out.push(CaptureEvent::Note(note));
        }
        self.passes.push(pass);
        let enough = self.passes.len() >= self.settings.passes.max(1);
        if enough && (self.taken.is_none() || self.unseen || self.is_elsewhere()) {
            self.take(out);
        }
    }

    pub(super) fn take(&mut self, out: &mut Vec<CaptureEvent>) {
        let (Some(unit), false) = (self.intake.unit(), self.passes.is_empty()) else {
            return;
        };
        let sign = self.sign();
        let top = self.passes.iter().map(|p| p.top).sum::<f64>() / self.passes.len() as f64;
        let degrees: usize = self.passes.iter().map(|p| p.degrees).sum();
        let squares: f64 = self.passes.iter().map(|p| p.squares).sum();
        let window: Vec<(u64, f64)> = self
            .passes
            .iter()
            .flat_map(|p| p.points.iter().map(|p| (p.at_us, p.v * sign)))
            .collect();
        let (doubt, also) = self.doubts();
        let taken = CapturedValue {
            value: top * sign,
            unit,
            n: window.len(),
            sd: Some((squares / degrees.max(1) as f64).sqrt()),
            se: None,
            at_us: window.last().map_or(0, |w| w.0),
            from_us: window.first().map_or(0, |w| w.0),
            window,
            others: Vec::new(),
            resolution: self.intake.resolution(),
            fills: Vec::new(),
            doubt,
            also,
            parts_at: None,
            expected: None,
        };
        (self.left, self.jerked_at) = (None, None);
        (self.unseen, self.anew) = (false, false);
        self.taken = Some(top);
        self.turns = 0;
        out.push(CaptureEvent::Final {
            pour: self.count,
            taken,
        });
        self.count += 1;
    }
}
