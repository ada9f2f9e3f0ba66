//! The errors of one value, by the entry of its gauge.

use super::sets::Gauges;
use crate::engine::{GaugeEntry, GaugeKind, assumed};
use crate::figure::{ErrorShape, ErrorSource, Estimate, Scalar, SourceId, SourceKind, SourceOwner};
use crate::readings::MeasuredValue;
use crate::spot::{CrownPart, Spot};

/// The entry of the gauge that gave a value. A manometer that is named beside a flow in its own unit did
/// not give the flow: its widths are pressures.
fn entry<'a>(measured: &MeasuredValue, gauges: &'a Gauges) -> Option<&'a GaugeEntry> {
    let found = gauges.get(measured.gauge.as_ref()?)?;
    (found.kind.measures() == measured.unit.kind()).then_some(found)
}

/// The step of a reading, base units: of its gauge, or of the figures as written.
pub(crate) fn step(measured: &MeasuredValue, gauges: &Gauges) -> Option<f64> {
    let gauge = entry(measured, gauges);
    gauge.and_then(|gauge| gauge.resolution).or(measured
        .step
        .map(|step| measured.unit.difference_to_base(step)))
}

/// How a figure at a spot moves with the error of the gauge: with it, or against it. A crown is
/// what was poured with its sign turned (a dish), or taken from a known volume (a dome): a
/// burette that reads high makes the chamber large and the crown small.
pub(crate) fn sense(spot: &Spot, measured: &MeasuredValue, gauges: &Gauges) -> f64 {
    let poured = entry(measured, gauges)
        .is_none_or(|gauge| matches!(gauge.kind, GaugeKind::Burette | GaugeKind::Balance));
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
    own: &SourceId,
    measured: &MeasuredValue,
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
            let source = ErrorSource::new(
                SourceId::new(SourceOwner::Leak, SourceKind::Value).from_fact(shared),
                relative,
                f64::INFINITY,
            );
            return estimate.with(source, value);
        }
        return estimate.with(
            ErrorSource::new(own, Some(u), measured.dof.unwrap_or(f64::INFINITY)),
            1.0,
        );
    }
    let known = measured.gauge.as_ref().zip(entry(measured, gauges));
    let Some((gauge_name, gauge)) = known else {
        let (whose, why) = match &measured.gauge {
            Some(gauge) if !gauges.contains_key(gauge) => (
                SourceOwner::Gauge(gauge.as_str().into()),
                SourceKind::UnknownGauge,
            ),
            _ => (
                SourceOwner::NoGauge(measured.unit.kind()),
                SourceKind::Calibration,
            ),
        };
        if let Some(step) = step(measured, gauges) {
            estimate = estimate.with(
                ErrorSource::resolution(own.but(SourceKind::Resolution), step),
                1.0,
            );
        }
        // All readings without a gauge share one unnamed gauge.
        let unknown = match assumed::usual_gauge(measured.unit.kind()) {
            Some(kind) => {
                ErrorSource::lacking(SourceId::new(whose, why), assumed::calibration(kind))
            }
            None => ErrorSource::lacking(SourceId::new(whose, why), 0.03 * value.abs()),
        };
        return estimate.with(unknown, sense);
    };
    if gauge.u.is_some() || gauge.scale_u.is_none() {
        let id = SourceId::gauge(gauge_name, SourceKind::Calibration);
        let source = match gauge.u {
            Some(u) => ErrorSource::new(id, Some(u), gauge.u_dof),
            None => ErrorSource::lacking(id, assumed::calibration(gauge.kind)),
        };
        estimate = estimate.with(source, sense);
    }
    if let Some(u) = gauge.scale_u {
        let source = ErrorSource::new(
            SourceId::gauge(gauge_name, SourceKind::Scale),
            Some(u),
            f64::INFINITY,
        );
        estimate = estimate.with(source, value);
    }
    let unsaid = assumed::zero(gauge.kind);
    if gauge.zero_u.is_some() || unsaid.is_some() {
        let zero = match (gauge.zeroed_each, zero) {
            (true, _) => own.but(SourceKind::Zero),
            (false, Some(zero)) => SourceId::gauge(gauge_name, SourceKind::Zero).from_fact(zero),
            (false, None) => SourceId::gauge(gauge_name, SourceKind::Zero),
        };
        let source = match (gauge.zero_u, unsaid) {
            (None, Some(width)) => ErrorSource::lacking(zero, width),
            (u, _) => ErrorSource::new(zero, u, f64::INFINITY),
        };
        estimate = estimate.with(source, sense);
    }
    if gauge.zero_off > 0.0 {
        // Known whether or not somebody stated how well it was zeroed (GUM 4.3.7).
        let off = SourceId::gauge(gauge_name, SourceKind::ZeroOff);
        let source =
            ErrorSource::limits(off, gauge.zero_off, ErrorShape::Rectangular, f64::INFINITY);
        estimate = estimate.with(source, sense);
    }
    if let Some(step) = step(measured, gauges) {
        let rounding = own.but(SourceKind::Resolution);
        let source = match gauge.kind.is_difference() {
            true => ErrorSource::limits(rounding, step, ErrorShape::Triangular, f64::INFINITY),
            false => ErrorSource::resolution(rounding, step),
        };
        estimate = estimate.with(source, 1.0);
    }
    estimate
}
