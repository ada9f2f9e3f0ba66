//! Piston position over the crank angle, top dead centre, dwell (`docs/formulas.md`, section 4).
//!
//! Angles are in degrees, 0 with the throw along the cylinder's axis, up. With an offset true top
//! dead centre is not at 0.

use crate::figure::Scalar;

/// Crank, rod and offset of one cylinder, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Crank<S> {
    /// Radius of the throw.
    pub radius: S,
    /// Rod length.
    pub rod: S,
    /// Offset of the pin (or of the bore's axis), positive to the side to which the crankpin moves
    /// after the throw points up.
    pub offset: S,
}

fn radians<S: Scalar>(degrees: &S) -> S {
    degrees.scale(std::f64::consts::PI / 180.0)
}

fn degrees<S: Scalar>(radians: &S) -> S {
    radians.scale(180.0 / std::f64::consts::PI)
}

impl<S: Scalar> Crank<S> {
    /// From the piston's travel instead of the throw: r = S/2·√(1 − 4e²/(4L² − S²)), which is
    /// [`Self::stroke`] solved for the radius.
    pub fn of_travel(travel: &S, rod: &S, offset: &S) -> Crank<S> {
        let rest = rod.square().scale(4.0) - travel.square();
        let less = (-(offset.square().scale(4.0) / rest)).offset(1.0);
        Crank {
            radius: travel.scale(0.5) * less.sqrt(),
            rod: rod.clone(),
            offset: offset.clone(),
        }
    }

    /// Height of the pin above the crank's axis, mm, at a crank angle in degrees.
    pub fn height(&self, angle: &S) -> S {
        let angle = radians(angle);
        let side = self.radius.clone() * angle.sin() - &self.offset;
        self.radius.clone() * angle.cos() + (self.rod.square() - side.square()).sqrt()
    }

    /// Height of the pin at true top dead centre, mm.
    pub fn top(&self) -> S {
        let whole = self.rod.clone() + &self.radius;
        (whole.square() - self.offset.square()).sqrt()
    }

    /// How far the piston is below its own top dead centre, mm, at a crank angle in degrees.
    pub fn drop(&self, angle: &S) -> S {
        self.top() - self.height(angle)
    }

    /// Piston travel, mm: more than twice the radius if there is an offset.
    pub fn stroke(&self) -> S {
        let short = self.rod.clone() - &self.radius;
        self.top() - (short.square() - self.offset.square()).sqrt()
    }

    /// Crank angle of true top dead centre, degrees.
    pub fn top_angle(&self) -> S {
        let whole = self.rod.clone() + &self.radius;
        degrees(&(self.offset.clone() / whole).asin())
    }

    /// Crank angle of true bottom dead centre, degrees.
    pub fn bottom_angle(&self) -> S {
        let short = self.rod.clone() - &self.radius;
        degrees(&(self.offset.clone() / short).asin()).offset(180.0)
    }

    /// How fast the piston drops with the angle, mm per radian, at a crank angle in degrees.
    pub fn slope(&self, angle: &S) -> S {
        let angle = radians(angle);
        let side = self.radius.clone() * angle.sin() - &self.offset;
        let upright = (self.rod.square() - side.square()).sqrt();
        self.radius.clone() * (angle.sin() + angle.cos() * side / upright)
    }
}

impl Crank<f64> {
    /// The crank angles in degrees before and after top dead centre at which the piston has
    /// dropped by this much (mm). `None` unless 0 ≤ drop ≤ stroke.
    pub fn angles_at(&self, drop: f64) -> Option<(f64, f64)> {
        if !(0.0..=self.stroke()).contains(&drop) {
            return None;
        }
        let (top, bottom) = (self.top_angle(), self.bottom_angle());
        Some((
            self.bisect(drop, bottom - 360.0, top),
            self.bisect(drop, bottom, top),
        ))
    }

    /// The angle between a dead centre at the bottom and one at the top where the piston has
    /// dropped by this much.
    fn bisect(&self, drop: f64, mut low: f64, mut high: f64) -> f64 {
        // Sixty halvings of half a turn reach the last bit.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.drop(&middle) > drop {
                low = middle
            } else {
                high = middle
            }
        }
        0.5 * (low + high)
    }

    /// The angle in degrees over which the piston moves less than `resolution` mm about top dead
    /// centre. NaN if the resolution is larger than the stroke.
    pub fn dwell(&self, resolution: f64) -> f64 {
        self.angles_at(resolution)
            .map_or(f64::NAN, |(before, after)| after - before)
    }

    /// The same by the parabola about top dead centre: 2·√(2q/(r(1 + r/L))).
    pub fn dwell_near(&self, resolution: f64) -> f64 {
        let curvature = self.radius * (1.0 + self.radius / self.rod);
        2.0 * (2.0 * resolution / curvature).sqrt().to_degrees()
    }

    /// By how much the middle of two angles of equal drop lies after true top dead centre,
    /// degrees: nothing without an offset.
    pub fn bisection_error(&self, drop: f64) -> Option<f64> {
        let (before, after) = self.angles_at(drop)?;
        Some(0.5 * (before + after) - self.top_angle())
    }

    /// The largest piston speed in m/s at a speed of rotation in 1/min.
    pub fn largest_speed(&self, rpm: f64) -> f64 {
        // Between top dead centre and a quarter turn the slope has one maximum.
        let (mut low, mut high) = (self.top_angle(), self.top_angle() + 120.0);
        for _ in 0..200 {
            let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if self.slope(&a) < self.slope(&b) {
                low = a
            } else {
                high = b
            }
        }
        self.slope(&(0.5 * (low + high))) * 1e-3 * rpm * std::f64::consts::TAU / 60.0
    }
}

/// Mean piston speed in m/s, from the stroke in mm and the speed of rotation in 1/min.
pub fn mean_piston_speed<S: Scalar>(stroke: &S, rpm: &S) -> S {
    (stroke.clone() * rpm).scale(2e-3 / 60.0)
}

/// True top dead centre on the degree wheel, degrees, from the two readings at equal drop: their
/// mean. Exact without offset; approach each reading in the running direction, so that backlash
/// does not enter.
pub fn top_from_equal_drop<S: Scalar>(before: &S, after: &S) -> S {
    (before.clone() + after).scale(0.5)
}

/// Effective compression ratio from the intake valve's closing, in degrees after true bottom dead
/// centre. There is no standard: state at which lift the closing is quoted, the result moves by a
/// whole ratio.
pub fn effective_ratio<S: Scalar>(crank: &Crank<S>, bore: &S, clearance: &S, closing: &S) -> S {
    let angle = crank.bottom_angle() + closing;
    let trapped = super::volume::disc(bore, &crank.drop(&angle));
    (trapped + clearance) / clearance
}

/// Distance between valve and piston along the valve's axis at a crank angle after true top dead
/// centre, mm: from the distance at top dead centre with the valve on its seat, the lift, and the
/// valve's inclination from the bore's axis in degrees.
pub fn valve_gap<S: Scalar>(
    crank: &Crank<S>,
    at_top: &S,
    lift: &S,
    inclination: f64,
    after_top: &S,
) -> S {
    let angle = crank.top_angle() + after_top;
    crank.drop(&angle).scale(inclination.to_radians().cos()) + at_top - lift
}

/// The same distance after head and piston have come closer by `closer` mm along the bore (head
/// milled, block decked, gasket thinner), where the pocket's floor is parallel to the valve.
pub fn valve_gap_after_cut<S: Scalar>(gap: &S, closer: &S, inclination: f64) -> S {
    gap.clone() - closer.scale(inclination.to_radians().cos())
}
