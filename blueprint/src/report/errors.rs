//! What the gauge's entry says of the error of one value.

use super::pool::Gauges;
use crate::engine::GaugeKind;
use crate::figure::{Estimate, Scalar, Shape, Source};
use crate::readings::Measured;
use crate::spot::{CrownPart, Spot};

/// The step of a reading, base units: of its gauge, or of the figures as written.
pub(crate) fn step(measured: &Measured, gauges: &Gauges) -> Option<f64> {
    let gauge = measured.gauge.as_ref().and_then(|name| gauges.get(name));
    gauge.and_then(|gauge| gauge.resolution).or(measured
        .step
        .map(|step| measured.unit.difference_to_base(step)))
}

/// How a figure at a spot moves with the error of the gauge: with it, or against it. A crown is
/// what was poured with its sign turned (a dish), or taken from a known volume (a dome): a
/// burette that reads high makes the chamber large and the crown small.
pub(crate) fn sense(spot: &Spot, measured: &Measured, gauges: &Gauges) -> f64 {
    let gauge = measured.gauge.as_ref().and_then(|name| gauges.get(name));
    let poured =
        gauge.is_some_and(|gauge| matches!(gauge.kind, GaugeKind::Burette | GaugeKind::Balance));
    match spot {
        Spot::Crown {
            part: CrownPart::Volume,
            ..
        } if poured => -1.0,
        _ => 1.0,
    }
}

/// One value with the errors of its gauge, base units, but without repeatability. `name` is that
/// of the value's own errors, `sense` how the value moves with an error of the gauge.
pub(crate) fn measured_estimate(
    name: &str,
    measured: &Measured,
    sense: f64,
    zero: &Option<String>,
    gauges: &Gauges,
) -> Estimate {
    let value = measured.base();
    let estimate = Estimate::exact(value);
    if let Some(u) = measured.u {
        let u = measured.unit.difference_to_base(u);
        if let Some(shared) = measured.shared.as_ref().filter(|_| value != 0.0) {
            let relative = Some(u / value.abs());
            let source = Source::new(shared.as_str(), relative, f64::INFINITY);
            return estimate.with(source, value);
        }
        return estimate.with(
            Source::new(name, Some(u), measured.dof.unwrap_or(f64::INFINITY)),
            1.0,
        );
    }
    let known = measured
        .gauge
        .as_ref()
        .and_then(|gauge| Some((gauge, gauges.get(gauge)?)));
    let Some((gauge_name, gauge)) = known else {
        let why = match &measured.gauge {
            Some(gauge) => format!("{name} (nothing is known of gauge {gauge})"),
            None => format!("{name} (no gauge and no uncertainty is given)"),
        };
        return estimate.with(Source::new(why, None, f64::INFINITY), 1.0);
    };
    let mut estimate = estimate;
    if gauge.u.is_some() || gauge.scale_u.is_none() {
        let source = Source::new(
            format!("gauge {gauge_name} calibration"),
            gauge.u,
            gauge.u_dof,
        );
        estimate = estimate.with(source, sense);
    }
    if let Some(u) = gauge.scale_u {
        let source = Source::new(format!("gauge {gauge_name} scale"), Some(u), f64::INFINITY);
        estimate = estimate.with(source, value);
    }
    if let Some(u) = gauge.zero_u {
        let zero = match (gauge.zeroed_each, zero) {
            (true, _) => format!("{name} zero"),
            (false, Some(zero)) => format!("gauge {gauge_name} zero {zero}"),
            (false, None) => format!("gauge {gauge_name} zero"),
        };
        estimate = estimate.with(Source::new(zero, Some(u), f64::INFINITY), sense);
    }
    if let Some(step) = step(measured, gauges) {
        let name = format!("{name} resolution");
        let source = match gauge.kind.is_difference() {
            true => Source::limits(name, step, Shape::Triangular, f64::INFINITY),
            false => Source::resolution(name, step),
        };
        estimate = estimate.with(source, 1.0);
    }
    estimate
}
