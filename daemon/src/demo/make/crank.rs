//! The dial on a piston while the crank is turned by hand over top dead centre and back.

use benchhand_drivers::stream::Stream;

use super::rests::{Dial, HANGING, ON_DECK};
use crate::demo::scenario::{CRANK_RADIUS_IN, DECKS, GRIT_CYLINDER, GRIT_IN, ORDER, ROD_IN};

/// Degrees before and after top dead centre.
const SWEEP: f64 = 16.0;
/// Passes over top dead centre at each point.
const PASSES: usize = 3;
/// Crank angle without piston motion when the direction changes, degrees.
const BACKLASH: f64 = 0.6;

/// Front and rear of each piston, on the pin axis.
pub(super) fn deck(seed: u64) -> Stream {
    let mut dial = Dial::new(seed ^ 0xdec);
    for cylinder in ORDER {
        for front in [true, false] {
            let grit = match (cylinder == GRIT_CYLINDER, front) {
                (false, _) => 0.0,
                (true, true) => GRIT_IN,
                (true, false) => -GRIT_IN,
            };
            let clearance = DECKS[cylinder as usize - 1] + grit + dial.dice.gauss(0.0001);
            dial.go_to(HANGING, 1.5);
            point(&mut dial, clearance);
        }
    }
    dial.go_to(HANGING, 2.0);
    dial.sheet.finish()
}

fn point(dial: &mut Dial, clearance: f64) {
    let shown = |angle: f64| ON_DECK - clearance - drop_in(angle);
    let (mut crank, mut piston, mut direction) = (-SWEEP, -SWEEP, 1.0);
    dial.go_to(shown(piston), 1.2);
    for _ in 0..PASSES {
        while direction * crank < SWEEP {
            let speed = if crank.abs() < 3.0 { 2.8 } else { 6.0 } * dial.dice.uniform(0.85, 1.15);
            crank += direction * speed * dial.sheet.step();
            // The piston follows once the play of the direction before is taken up.
            piston = if direction > 0.0 {
                f64::max(piston, crank - BACKLASH)
            } else {
                f64::min(piston, crank + BACKLASH)
            };
            dial.write(shown(piston));
        }
        dial.go_to(shown(piston), 0.6);
        direction = -direction;
    }
}

/// How far the piston is below top dead centre, in (docs/formulas.md, section 4.3, no offset).
fn drop_in(angle: f64) -> f64 {
    let (r, l, theta) = (CRANK_RADIUS_IN, ROD_IN, angle.to_radians());
    let y = r * theta.cos() + (l * l - (r * theta.sin()).powi(2)).sqrt();
    r + l - y
}
