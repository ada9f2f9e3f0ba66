//! A gauge that counts otherwise than before: in another unit, or from another zero since it was
//! switched off and on.

use benchhand_drivers::Unit;

use super::super::CaptureNote;
use super::Intake;

impl Intake {
    /// The unit that the gauge sends now, where that is not the capture's own.
    pub(crate) fn other_unit(&self) -> Option<Unit> {
        match self.said {
            Some(CaptureNote::UnitChanged { to, .. }) => Some(to),
            _ => None,
        }
    }

    /// Goes on in the unit that the gauge sends now. Gives how many of it make one of the former,
    /// where it is another.
    pub(crate) fn adopt_unit(&mut self) -> Option<f64> {
        let (from, to) = (self.unit?, self.other_unit()?);
        self.cut();
        (self.unit, self.latest, self.said) = (Some(to), None, None);
        self.before_silence = None;
        self.smallest_step = f64::INFINITY;
        self.is_set_down_from = None;
        Some(from.to_base(1.0) / to.to_base(1.0))
    }

    /// A gauge that was switched off and on shows 0 first, wherever its plunger stands.
    pub(super) fn zero_lost(&mut self, value: f64, sigma: f64) -> Option<CaptureNote> {
        let (from, unit) = (self.before_silence.take()?, self.unit?);
        // A moving plunger has moved on since the gauge was switched on, and may itself have
        // reached 0.
        let run = self.run().map_or(0.0, f64::abs);
        let ran = std::mem::take(&mut self.silent_periods) * run;
        let far = 20.0 * self.resolution + 10.0 * sigma + 2.0 * ran;
        let near = self.resolution + 2.0 * sigma + 2.0 * run;
        let lost = self.has_a_zero && from.abs() > far && value.abs() <= near;
        lost.then_some(CaptureNote::ZeroLost { from, unit })
    }
}
