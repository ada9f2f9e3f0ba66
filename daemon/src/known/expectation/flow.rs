//! What the two values of a port, pressures or a pressure and a flow, should be like.
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

/// What a flow bench shows of a port.
#[derive(Debug, Clone, Copy)]
pub struct FlowShown {
    /// Test pressure, Pa.
    pub test: f64,
    /// What it shows beside.
    pub beside: BesideTest,
}

/// What a flow bench shows beside the test pressure.
#[derive(Debug, Clone, Copy)]
pub enum BesideTest {
    /// The pressure at its orifice, Pa.
    Metering(f64),
    /// The flow itself, L/min.
    Flow(f64),
}

impl BesideTest {
    /// The second value of a flow reading; `None` where the part is neither.
    pub(crate) fn of(part: &ReadingPart) -> Option<BesideTest> {
        let unit: Unit = part.unit.parse().ok()?;
        let base = unit.to_base(part.value);
        match (part.role.as_str(), unit.kind()) {
            (METERING, QuantityKind::Pressure) => Some(BesideTest::Metering(base)),
            (FLOW, QuantityKind::Flow) => Some(BesideTest::Flow(base)),
            _ => None,
        }
    }
}

/// What is odd about the values of a flow spot; `None` where nothing is, or where there is nothing to
/// compare them with.
pub fn flow_doubt(
    engine: &Engine,
    view: &JobView,
    (spot, round): (&Spot, u32),
    found: FlowShown,
) -> Option<CaptureNote> {
    let here = Here {
        engine,
        view,
        spot,
        round,
        in_mm2: matches!(found.beside, BesideTest::Flow(_)),
    };
    let own = area(found.test, found.beside);
    here.hoses(found).or_else(|| here.flow(own?))
}

/// What is odd about the values of a row of a file, in words; `None` where nothing is, where the row
/// has no second value, or where it belongs to another stage than the present one.
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
    let (test, beside) = shown((row.value, &row.unit), &row.parts)?;
    let found = FlowShown { test, beside };
    let doubt = flow_doubt(engine, view, (spot, round), found)?;
    Some(format!("{}: {doubt}", words::called(spot)))
}

struct Here<'a> {
    engine: &'a Engine,
    view: &'a JobView,
    spot: &'a Spot,
    round: u32,
    /// Whether areas are compared in mm2, as those of a flow in its own unit are; else in areas of the
    /// orifice that is stated now.
    in_mm2: bool,
}

impl Here<'_> {
    /// The newest readings of flow at each spot of the present stage.
    fn kept(&self) -> impl Iterator<Item = (Spot, &KeptReading)> {
        let flows = self.view.newest_of(self.view.stage(), FLOW);
        let known = flows.filter_map(|(spot, kept)| Some((spot.parse::<Spot>().ok()?, kept)));
        known.flat_map(|(spot, kept)| kept.take(NEWEST).map(move |kept| (spot.clone(), kept)))
    }

    /// Whether the metering hose shows the usual test pressure, and the test hose does not.
    fn hoses(&self, found: FlowShown) -> Option<CaptureNote> {
        let BesideTest::Metering(metering) = found.beside else {
            return None;
        };
        let tests = self
            .kept()
            .filter_map(|(_, kept)| Some(shown_of(kept)?.0.abs()));
        let reference = || Some(self.engine.flow.reference?.value);
        let usual = median(tests.collect()).or_else(reference)?;
        let apart = |one: f64| (one.abs() / usual - 1.0).abs();
        let exchanged = apart(found.test) > OTHER_TEST && apart(metering) <= SAME_TEST;
        let unit = self.engine.pressure_unit();
        exchanged.then(|| CaptureNote::HosesExchanged {
            test: unit.from_base(found.test.abs()),
            metering: unit.from_base(metering.abs()),
            unit,
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
        if let Some(below) = not_moved(&others, (lift, area)) {
            let unit = self.engine.units.length();
            let lift = unit.from_base(below);
            return Some(CaptureNote::AsAtLift { lift, unit });
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
            like_orifice: !self.in_mm2 && self.like_another_orifice(share),
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
            OrificeKnown::Calibrated { flow, at, .. } => passed(flow.value, at.value),
        };
        (area > 0.0).then_some(area)
    }

    /// A kept reading's flow as an area; `None` where it cannot be compared with the one at hand.
    fn area_of(&self, kept: &KeptReading) -> Option<f64> {
        let (test, beside) = shown_of(kept)?;
        let area = area(test, beside)?;
        let now = self.engine.flow.orifice.as_deref();
        let then = kept.labels.get("orifice").map(String::as_str).or(now);
        match (beside, self.in_mm2) {
            (BesideTest::Flow(_), true) => Some(area),
            (BesideTest::Flow(_), false) => Some(area / self.orifice(now?)?),
            (BesideTest::Metering(_), true) => Some(area * self.orifice(then?)?),
            (BesideTest::Metering(_), false) if then == now => Some(area),
            (BesideTest::Metering(_), false) => {
                Some(area * self.orifice(then?)? / self.orifice(now?)?)
            }
        }
    }
}

/// The lift below at which the valve was left: the flow is the same and should have risen.
/// `others` are the port's other lifts, mm, with their areas, from the least lift up.
fn not_moved(others: &[(f64, f64)], (lift, area): (f64, f64)) -> Option<f64> {
    let at = others.partition_point(|(other, _)| *other < lift);
    let (below, flow) = *others.get(at.checked_sub(1)?)?;
    let step = lift / below - 1.0;
    let rising = match at.checked_sub(2).map(|before| others[before]) {
        Some((before, less)) => flow / less - 1.0 > RISING * (below / before - 1.0),
        None => step >= FIRST_STEP,
    };
    let same = (area / flow - 1.0).abs() <= SAME_FLOW;
    (same && rising && step >= LIFT_STEP).then_some(below)
}

fn pascal(value: f64, unit: &str) -> Option<f64> {
    let unit: Unit = unit.parse().ok()?;
    (unit.kind() == QuantityKind::Pressure).then(|| unit.to_base(value))
}

/// The test pressure of a reading, Pa, and what was shown beside it.
fn shown((test, unit): (f64, &str), parts: &[ReadingPart]) -> Option<(f64, BesideTest)> {
    let beside = parts.iter().find_map(BesideTest::of)?;
    Some((pascal(test, unit)?, beside))
}

fn shown_of(kept: &KeptReading) -> Option<(f64, BesideTest)> {
    shown((kept.value, &kept.unit), &kept.parts)
}

/// Flow over the root of the test pressure: in areas of the orifice where its pressure was shown, in mm2
/// where the flow was; `None` where there is none.
fn area(test: f64, beside: BesideTest) -> Option<f64> {
    let area = match beside {
        BesideTest::Metering(metering) => (metering.abs() / test.abs()).sqrt(),
        BesideTest::Flow(flow) => passed(flow, test.abs()),
    };
    (area.is_finite() && area > 0.0).then_some(area)
}

/// The effective area, mm2, that passes so many L/min at a pressure, Pa: L/min becomes mm3/s, divided by
/// the velocity that the pressure drives, mm/s.
fn passed(flow: f64, at: f64) -> f64 {
    flow * 1e6 / 60.0 / (1e3 * (2.0 * at / AIR).sqrt())
}
