//! What the gauge's entry says of the error of one value.

use super::sets::Gauges;
use crate::engine::{GaugeKind, assumed};
use crate::figure::{Estimate, Identity, Scalar, Shape, Source, What, Whose};
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
        gauge.is_none_or(|gauge| matches!(gauge.kind, GaugeKind::Burette | GaugeKind::Balance));
    match spot {
        Spot::Crown {
            part: CrownPart::Volume,
            ..
        } if poured => -1.0,
        _ => 1.0,
    }
}

/// One value with the errors of its gauge, base units, but without repeatability. `own` is the
/// identity of the value's own errors, `sense` how the value moves with an error of the gauge.
pub(crate) fn measured_estimate(
    own: &Identity,
    measured: &Measured,
    sense: f64,
    zero: &Option<String>,
    gauges: &Gauges,
) -> Estimate {
    let value = measured.base();
    let mut estimate = Estimate::exact(value);
    if let Some(u) = measured.u {
        let u = measured.unit.difference_to_base(u);
        if let Some(shared) = measured.shared.as_ref().filter(|_| value != 0.0) {
            let relative = Some(u / value.abs());
            let source = Source::new(
                Identity::new(Whose::Leak, What::Value).from_fact(shared),
                relative,
                f64::INFINITY,
            );
            return estimate.with(source, value);
        }
        return estimate.with(
            Source::new(own, Some(u), measured.dof.unwrap_or(f64::INFINITY)),
            1.0,
        );
    }
    let known = measured
        .gauge
        .as_ref()
        .and_then(|gauge| Some((gauge, gauges.get(gauge)?)));
    let Some((gauge_name, gauge)) = known else {
        let (whose, why) = match &measured.gauge {
            Some(gauge) => (Whose::Gauge(gauge.as_str().into()), What::UnknownGauge),
            None => (Whose::NoGauge(measured.unit.kind()), What::Calibration),
        };
        if let Some(step) = step(measured, gauges) {
            estimate = estimate.with(Source::resolution(own.but(What::Resolution), step), 1.0);
        }
        // Readings without a gauge are of one gauge that nobody named.
        let unknown = match assumed::usual_gauge(measured.unit.kind()) {
            Some(kind) => Source::lacking(Identity::new(whose, why), assumed::calibration(kind)),
            None => Source::lacking(Identity::new(whose, why), 0.03 * value.abs()),
        };
        return estimate.with(unknown, sense);
    };
    if gauge.u.is_some() || gauge.scale_u.is_none() {
        let id = Identity::gauge(gauge_name, What::Calibration);
        let source = match gauge.u {
            Some(u) => Source::new(id, Some(u), gauge.u_dof),
            None => Source::lacking(id, assumed::calibration(gauge.kind)),
        };
        estimate = estimate.with(source, sense);
    }
    if let Some(u) = gauge.scale_u {
        let source = Source::new(
            Identity::gauge(gauge_name, What::Scale),
            Some(u),
            f64::INFINITY,
        );
        estimate = estimate.with(source, value);
    }
    let unsaid = assumed::zero(gauge.kind);
    if gauge.zero_u.is_some() || unsaid.is_some() {
        let zero = match (gauge.zeroed_each, zero) {
            (true, _) => own.but(What::Zero),
            (false, Some(zero)) => Identity::gauge(gauge_name, What::Zero).from_fact(zero),
            (false, None) => Identity::gauge(gauge_name, What::Zero),
        };
        let source = match (gauge.zero_u, unsaid) {
            (None, Some(width)) => Source::lacking(zero, width),
            (u, _) => Source::new(zero, u, f64::INFINITY),
        };
        estimate = estimate.with(source, sense);
    }
    if let Some(step) = step(measured, gauges) {
        let rounding = own.but(What::Resolution);
        let source = match gauge.kind.is_difference() {
            true => Source::limits(rounding, step, Shape::Triangular, f64::INFINITY),
            false => Source::resolution(rounding, step),
        };
        estimate = estimate.with(source, 1.0);
    }
    estimate
}
