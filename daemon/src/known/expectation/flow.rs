//! What the two pressures of a port should be like.
//!
//! Exchanged hoses, another orifice than the stated one, and a valve at another lift show in the
//! ratio of the pressures. It is compared with this stop's earlier round, with the same lift of the
//! other cylinders, and with the other lifts of this port. The bounds are outer bounds: they ask
//! questions and alter nothing. Common practice, no source: sound ports of one engine lie well
//! within them.

use benchhand_blueprint::engine::OrificeKnown;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Spot, Unit};

use super::{NEWEST, median};
use crate::capture::CaptureNote;
use crate::known::inputs::METERING;
use crate::known::words;
use crate::store::fact::{ASKED, Reading, ReadingPart};
use crate::store::view::{JobView, KeptReading};

/// The first word of the spots of flow.
const FLOW: &str = "flow";
/// A test pressure that differs from the usual one by more than this share is another pressure.
const OTHER_TEST: f64 = 0.25;
/// A metering pressure within this share of the usual test pressure may be it.
const SAME_TEST: f64 = 0.15;
/// How far a flow may lie from that of the round before, and of the other cylinders, as shares.
const REPEAT: f64 = 0.15;
const BROTHERS: f64 = 0.25;
/// The share by which a flow may fall with rising lift, or rise by more than in proportion to the
/// lift.
const FALL: f64 = 0.15;
const RISE: f64 = 0.25;
/// Two flows of one port within this share are the same: the valve was not moved …
const SAME_FLOW: f64 = 0.02;
/// … where the lift rises by at least this share, …
const LIFT_STEP: f64 = 0.15;
/// … and the flow rose by more than this part of the lift's share up to the lift below. The flow of
/// a port near its throat's limit rises by less.
const RISING: f64 = 0.6;
/// With only one lift below, the lift must rise by this share: at so low a lift the valve's curtain
/// area limits the flow.
const FIRST_STEP: f64 = 0.5;
/// A flow this near to the ratio of two orifices' areas is taken to come from the other orifice.
const ORIFICE: f64 = 0.08;
/// Density of air, kg/m3: it turns a stated flow into an area. Only ratios of areas are used.
const AIR: f64 = 1.2;

/// The two pressures of a port, Pa.
#[derive(Debug, Clone, Copy)]
pub struct Pressures {
    /// The unit in which the gauge shows them.
    pub unit: benchhand_drivers::Unit,
    /// Test pressure.
    pub test: f64,
    /// Metering pressure.
    pub metering: f64,
}

/// What is odd about the pressures captured at a flow spot; `None` where nothing is, or where there
/// is nothing to compare them with.
pub fn flow_doubt(
    engine: &Engine,
    view: &JobView,
    (spot, round): (&Spot, u32),
    found: Pressures,
) -> Option<CaptureNote> {
    let here = Here {
        engine,
        view,
        spot,
        round,
    };
    here.hoses(found)
        .or_else(|| here.flow(area((found.test, found.metering))?))
}

/// What is odd about the pressures of a row of a file, in words; `None` where nothing is, where the
/// row has no metering pressure, or where it belongs to another stage than the present one.
pub(crate) fn row_doubt(
    engine: &Engine,
    view: &JobView,
    (spot, round): (&Spot, u32),
    row: &Reading,
) -> Option<String> {
    let stage = row.stage.as_deref().unwrap_or(view.stage());
    if !matches!(spot, Spot::Flow { .. }) || stage != view.stage() {
        return None;
    }
    let (test, metering) = pressures((row.value, &row.unit), &row.parts)?;
    let found = Pressures {
        unit: row.unit.parse().ok()?,
        test,
        metering,
    };
    let doubt = flow_doubt(engine, view, (spot, round), found)?;
    Some(format!("{}: {doubt}", words::called(spot)))
}

struct Here<'a> {
    engine: &'a Engine,
    view: &'a JobView,
    spot: &'a Spot,
    round: u32,
}

impl Here<'_> {
    /// The newest readings of flow at each spot of the present stage.
    fn kept(&self) -> impl Iterator<Item = (Spot, &KeptReading)> {
        let flows = self.view.newest_of(self.view.stage(), FLOW);
        let known = flows.filter_map(|(spot, kept)| Some((spot.parse::<Spot>().ok()?, kept)));
        known.flat_map(|(spot, kept)| kept.take(NEWEST).map(move |kept| (spot.clone(), kept)))
    }

    /// Whether the metering hose shows the usual test pressure, and the test hose does not.
    fn hoses(&self, found: Pressures) -> Option<CaptureNote> {
        let tests = self
            .kept()
            .filter_map(|(_, kept)| Some(pressures_of(kept)?.0.abs()));
        let reference = || Some(self.engine.flow.reference?.value);
        let usual = median(tests.collect()).or_else(reference)?;
        let apart = |one: f64| (one.abs() / usual - 1.0).abs();
        let exchanged = apart(found.test) > OTHER_TEST && apart(found.metering) <= SAME_TEST;
        let scale = pascal(1.0, found.unit.symbol())?;
        exchanged.then(|| CaptureNote::HosesExchanged {
            test: found.test.abs() / scale,
            metering: found.metering.abs() / scale,
            unit: found.unit,
        })
    }

    fn flow(&self, area: f64) -> Option<CaptureNote> {
        let earlier: Vec<f64> = self
            .kept()
            .filter(|(spot, kept)| spot == self.spot && kept.round.unwrap_or(1) < self.round)
            .filter_map(|(_, kept)| self.area_of(kept))
            .collect();
        if let Some(before) = median(earlier) {
            return self.unlike(area / before, REPEAT);
        }
        self.beside_brothers(area)
            .or_else(|| self.beside_lifts(area))
    }

    /// Compares with the same lift of the other cylinders. An odd value that a person kept makes
    /// similar values no surprise.
    fn beside_brothers(&self, area: f64) -> Option<CaptureNote> {
        let own = self.spot.cylinder()?;
        let brothers: Vec<(f64, bool)> = self
            .kept()
            .filter(|(spot, _)| {
                let other = spot.cylinder();
                other != Some(own) && *spot == self.spot.at_cylinder(other.unwrap_or(own))
            })
            .filter_map(|(_, kept)| Some((self.area_of(kept)?, kept.labels.contains_key(ASKED))))
            .collect();
        let like = |other: f64| (area / other - 1.0).abs() <= BROTHERS;
        if brothers.iter().any(|(other, asked)| *asked && like(*other)) {
            return None;
        }
        let middle = median(brothers.iter().map(|(other, _)| *other).collect())?;
        self.unlike(area / middle, BROTHERS)
    }

    /// Compares with the nearest lifts of this port on both sides: flow hardly falls with rising
    /// lift, and does not rise by much more than in proportion to the lift.
    fn beside_lifts(&self, area: f64) -> Option<CaptureNote> {
        let Spot::Flow {
            cylinder,
            port,
            runner,
            lift,
        } = self.spot
        else {
            return None;
        };
        let lift = lift.mm();
        let mut others: Vec<(f64, f64)> = Vec::new();
        for (spot, kept) in self.kept() {
            let Spot::Flow {
                cylinder: c,
                port: p,
                runner: r,
                lift: other,
            } = &spot
            else {
                continue;
            };
            let same = (c, p, r) == (cylinder, port, runner) && other.mm() != lift;
            if same && !kept.labels.contains_key(ASKED) {
                others.extend(self.area_of(kept).map(|area| (other.mm(), area)));
            }
        }
        others.sort_by(|a, b| a.0.total_cmp(&b.0));
        let below = others.iter().rfind(|(other, _)| *other < lift);
        if let Some(note) = not_moved(&others, (lift, area)) {
            return Some(note);
        }
        let above = others.iter().find(|(other, _)| *other > lift);
        let (mut low, mut high) = (0.0, f64::INFINITY);
        if let Some((at, flow)) = below {
            low = flow * (1.0 - FALL);
            high = flow * lift / at * (1.0 + RISE);
        }
        if let Some((at, flow)) = above {
            low = f64::max(low, flow * lift / at * (1.0 - RISE));
            high = f64::min(high, flow * (1.0 + FALL));
        }
        let beyond = match () {
            () if area < low => area / low,
            () if area > high => area / high,
            () => return None,
        };
        Some(CaptureNote::OtherFlow {
            share: beyond,
            between_lifts: true,
            like_orifice: false,
        })
    }

    fn unlike(&self, share: f64, within: f64) -> Option<CaptureNote> {
        let far = (share - 1.0).abs() > within;
        far.then(|| CaptureNote::OtherFlow {
            share,
            between_lifts: false,
            like_orifice: self.like_another_orifice(share),
        })
    }

    /// Whether another orifice of the list, in place of the stated one, explains this share.
    fn like_another_orifice(&self, share: f64) -> bool {
        let flow = &self.engine.flow;
        let own = flow.orifice.as_deref().and_then(|name| self.orifice(name));
        let Some(own) = own else { return false };
        flow.orifices.keys().any(|name| {
            let other = self.orifice(name).filter(|other| *other != own);
            other.is_some_and(|other| (share * other / own - 1.0).abs() <= ORIFICE)
        })
    }

    /// The effective area of a named orifice, mm2.
    fn orifice(&self, name: &str) -> Option<f64> {
        let area = match &self.engine.flow.orifices.get(name)?.known {
            OrificeKnown::Diameter { diameter, cd } => {
                cd.value * std::f64::consts::FRAC_PI_4 * diameter.value.powi(2)
            }
            // L/min becomes mm3/s, divided by the velocity that the pressure drives, mm/s.
            OrificeKnown::Calibrated { flow, at, .. } => {
                flow.value * 1e6 / 60.0 / (1e3 * (2.0 * at.value / AIR).sqrt())
            }
        };
        (area > 0.0).then_some(area)
    }

    /// A kept reading's flow in areas of the orifice that is stated now; `None` where the two
    /// orifices cannot be compared.
    fn area_of(&self, kept: &KeptReading) -> Option<f64> {
        let area = area(pressures_of(kept)?)?;
        let now = self.engine.flow.orifice.as_deref();
        match kept.labels.get("orifice").map(String::as_str) {
            Some(then) if Some(then) != now => {
                Some(area * self.orifice(then)? / self.orifice(now?)?)
            }
            _ => Some(area),
        }
    }
}

/// Whether the valve was left at the lift below: the flow is the same and should have risen.
/// `others` are the port's other lifts, mm, with their areas, from the least lift up.
fn not_moved(others: &[(f64, f64)], (lift, area): (f64, f64)) -> Option<CaptureNote> {
    let at = others.partition_point(|(other, _)| *other < lift);
    let (below, flow) = *others.get(at.checked_sub(1)?)?;
    let step = lift / below - 1.0;
    let rising = match at.checked_sub(2).map(|before| others[before]) {
        Some((before, less)) => flow / less - 1.0 > RISING * (below / before - 1.0),
        None => step >= FIRST_STEP,
    };
    let same = (area / flow - 1.0).abs() <= SAME_FLOW;
    (same && rising && step >= LIFT_STEP).then_some(CaptureNote::AsAtLift { lift_mm: below })
}

fn pascal(value: f64, unit: &str) -> Option<f64> {
    let unit: Unit = unit.parse().ok()?;
    (unit.kind() == QuantityKind::Pressure).then(|| unit.to_base(value))
}

/// The test and the metering pressure of a reading, Pa.
fn pressures((test, unit): (f64, &str), parts: &[ReadingPart]) -> Option<(f64, f64)> {
    let part = parts.iter().find(|part| part.role == METERING)?;
    Some((pascal(test, unit)?, pascal(part.value, &part.unit)?))
}

fn pressures_of(kept: &KeptReading) -> Option<(f64, f64)> {
    pressures((kept.value, &kept.unit), &kept.parts)
}

/// Flow over the root of the test pressure, in areas of the orifice; `None` where there is none.
fn area((test, metering): (f64, f64)) -> Option<f64> {
    let ratio = metering.abs() / test.abs();
    (ratio.is_finite() && ratio > 0.0).then(|| ratio.sqrt())
}
