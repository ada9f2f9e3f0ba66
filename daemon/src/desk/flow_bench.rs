//! Checks of a flow bench: its metering orifice by a calibration plate, and its leak.

use benchhand_blueprint::check::{keeps_to, orifice_flow, plate_flow, worked_back};
use benchhand_blueprint::engine::StatedValue;
use benchhand_blueprint::figure::Scalar;
use benchhand_blueprint::readings::MeasuredValue;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Estimate, Quantity};
use benchhand_wire::{CheckLeak, CheckPlate, Figure, LeakChecked, PlateChecked, Reason, Refusal};

use super::{Answers, Desk};
use crate::known::correcting::corrections;
use crate::known::plates;
use crate::known::quantities::{bad, quantity};
use crate::known::told;
use crate::store::checked::{CheckedLeak, CheckedPlate};
use crate::store::fact::{Fact, ReadingId};
use crate::store::gauges::RegisterEntry;
use crate::store::view::JobView;

/// How far a flow bench may be off before it is called wrong, as a share of the flow. Flow benches
/// repeat to about this (common practice, no source).
const ALLOW: f64 = 0.01;
/// The step in which such an error is judged, as a share of the flow: it is told to a tenth of that.
const COUNT: f64 = 0.001;

/// A plate that makes the bench further off than this share is asked about: a pressure, a flow or the
/// plate's name was mistyped more often than an orifice wears so much (common practice, no source).
const FAR: f64 = 0.05;

/// The pressures of a flow bench.
struct Pressures {
    test: MeasuredValue,
    metering: Option<MeasuredValue>,
}

impl Desk {
    /// The pressures as typed; those that were not typed, as the gauge shows them, corrected by its
    /// last check as the job has it.
    fn pressures(
        &self,
        view: &JobView,
        gauge: Option<&str>,
        (test, metering): (Option<&str>, Option<&str>),
    ) -> Result<Pressures, Refusal> {
        let typed = |text: &str| quantity(text, QuantityKind::Pressure).map(MeasuredValue::from);
        let typed = (
            test.map(typed).transpose()?,
            metering.map(typed).transpose()?,
        );
        // What was typed needs no gauge.
        let heard = match gauge {
            Some(name) if typed.0.is_none() || typed.1.is_none() => self.heard(view, name)?,
            _ => Vec::new(),
        };
        let mut heard = heard.into_iter();
        let (first, second) = (heard.next(), heard.next());
        let test = typed.0.or(first).ok_or_else(|| {
            bad("no test pressure").todo("type it, or name the gauge that has it: --gauge NAME")
        })?;
        let metering = typed.1.or(second);
        let positive = |one: &MeasuredValue| one.value > 0.0;
        if !positive(&test) || metering.as_ref().is_some_and(|one| !positive(one)) {
            return Err(bad("a pressure that is not above 0").expected("magnitudes, above 0"));
        }
        Ok(Pressures { test, metering })
    }

    /// What each channel of a manometer shows, corrected.
    fn heard(&self, view: &JobView, name: &str) -> Result<Vec<MeasuredValue>, Refusal> {
        let known = self.shop.gauge(name)?;
        let entry: RegisterEntry = toml::from_str(&known.text).map_err(bad)?;
        let corrections = corrections(&entry, name, view);
        let shown = self.shown_soon(name)?.into_iter().enumerate();
        // What comes after the two pressures, such as a temperature, is not asked for.
        let pressures = shown.take(2).map(|(channel, shown)| {
            let unit: benchhand_blueprint::Unit = shown.unit.parse().map_err(bad)?;
            if unit.kind() != QuantityKind::Pressure {
                return Err(bad(format!("{name} shows {}, no pressure", shown.unit)));
            }
            let correction = corrections.get(channel).copied().flatten();
            let added = correction.map_or(0.0, |c| c.at(shown.value, unit, false));
            let value = shown.value + added;
            Ok(MeasuredValue {
                u: Some(shown.sd).filter(|&sd| sd > 0.0),
                ..MeasuredValue::from(Quantity { value, unit })
            })
        });
        pressures.collect()
    }
}

/// The orifice that is meant, and whether readings that name none were taken with it.
fn orifice(asked: Option<String>, engine: &Engine) -> Result<(String, bool), Refusal> {
    let own = engine.flow.orifice.clone();
    let name = asked.or_else(|| own.clone()).ok_or_else(|| {
        bad("which metering orifice?").todo("name it: --orifice NAME, as in the engine file")
    })?;
    if !engine.flow.orifices.contains_key(&name) {
        let known: Vec<&str> = engine.flow.orifices.keys().map(String::as_str).collect();
        let found = format!("the engine file has no orifice {name:?}");
        return Err(Refusal::new(Reason::NotFound, found)
            .expected(format!("one of {}", known.join(", ")))
            .todo("add a section [flow.orifices.NAME] to the engine file"));
    }
    Ok((name.clone(), own.as_deref() == Some(name.as_str())))
}

/// The refusal of a plate by which far more or less passes the orifice than is known of it. What
/// follows would be computed with the mistake, and the right plate be judged by it.
fn far_from_known(
    (known, by_plate): (f64, f64),
    unit: benchhand_blueprint::Unit,
    (orifice, at): (&str, &str),
) -> Refusal {
    let unit = unit.symbol();
    let off = 100.0 * (known / by_plate - 1.0);
    Refusal::new(
        Reason::BadInput,
        format!(
            "by this plate {by_plate:.1} {unit} pass orifice {orifice} at {at}, and {known:.1} {unit} by \
             what was known: off by {off:+.2} %"
        ),
    )
    .expected(format!(
        "within {:.0} % of what the engine file states or the plate before showed",
        100.0 * FAR
    ))
    .todo(
        "look at the plate's flow and at both pressures, and type them anew, or say that you are sure \
         of them (`--sure`); nothing was kept",
    )
}

fn above_zero(text: &str, kind: QuantityKind) -> Result<StatedValue, Refusal> {
    let stated = StatedValue::parse(text, kind).map_err(bad)?;
    if stated.value <= 0.0 {
        return Err(bad(format!("found {text}")).expected("more than 0"));
    }
    Ok(stated)
}

/// A pressure with only the uncertainty of its flutter; a pressure without flutter is taken as set.
fn as_read(name: &str, measured: &MeasuredValue) -> Estimate {
    match measured.u {
        Some(u) => {
            let u = measured.unit.difference_to_base(u);
            Estimate::input(name, measured.base(), Some(u), f64::INFINITY)
        }
        None => Estimate::exact(measured.base()),
    }
}

fn figure_of(measured: &MeasuredValue) -> Figure {
    Figure {
        value: measured.value,
        u: measured.u,
        unit: measured.unit.symbol().to_owned(),
    }
}

impl Answers<CheckPlate> for Desk {
    fn answer(&self, ask: CheckPlate, key: Option<&str>) -> Result<PlateChecked, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = told::engine(&self.keeper, &view)?;
        let (name, unnamed) = orifice(ask.orifice, &engine)?;
        let stated = above_zero(&ask.flow, QuantityKind::Flow)?;
        let at = above_zero(&ask.at, QuantityKind::Pressure)?;
        let typed = (ask.test.as_deref(), ask.metering.as_deref());
        let read = self.pressures(&view, ask.gauge.as_deref(), typed)?;
        let metering = read.metering.ok_or_else(|| {
            bad("no metering pressure").todo("type it, or name a gauge whose second channel has it")
        })?;
        let test = as_read("test pressure", &read.test);
        let through_plate =
            plate_flow(&stated.estimate("plate"), &Estimate::exact(at.value), &test);
        let leak = plates::last_leak(&view, ReadingId::MAX);
        let leak = leak.and_then(|leak| plates::leak_of(&leak.what, &read.test));
        let leak = leak.map(|leak| {
            let u = leak.u.map(|u| leak.unit.difference_to_base(u));
            Estimate::input("leak", leak.base(), u, f64::INFINITY)
        });
        // The flow is proportional to the root of the metering pressure; the flutter of that
        // pressure becomes the flow's.
        let flutter = as_read("metering pressure", &metering);
        let flutter = (Estimate::exact(metering.base()) / flutter).sqrt();
        let flow = worked_back(&through_plate, leak.as_ref()) * flutter;
        let unit = stated.written.unit;
        let factor = unit.difference_to_base(1.0);
        let flow = flow.scale(1.0 / factor);
        let said = plates::known_now(&view, &engine, &name);
        let said = said.map(|known| orifice_flow(known, metering.base()) / factor);
        let error = said.map(|said| said / flow.value() - 1.0);
        let stated = engine.flow.orifices.get(&name);
        let stated = stated.map(|it| orifice_flow(&it.known, metering.base()) / factor);
        let far = |known: f64| (known / flow.value() - 1.0).abs() > FAR;
        if let Some(known) = said.filter(|_| !ask.sure)
            && far(known)
            && stated.is_none_or(far)
        {
            let at = format!("{} {}", metering.value, metering.unit.symbol());
            return Err(far_from_known((known, flow.value()), unit, (&name, &at)));
        }
        let allow = ask.allow.unwrap_or(ALLOW);
        let passed = error.map(|error| keeps_to(error, allow, COUNT));
        let u = flow.u().filter(|&u| u > 0.0);
        let fact = Fact::Plate(CheckedPlate {
            orifice: name.clone(),
            unnamed,
            flow: flow.value(),
            unit: unit.symbol().to_owned(),
            u,
            pressure: metering.value,
            pressure_unit: metering.unit.symbol().to_owned(),
            said,
            passed,
            against: ask
                .plate
                .unwrap_or_else(|| format!("a plate of {}", ask.flow)),
        });
        let ack = self.keeper.append(&ask.job, fact, key)?;
        let passed = passed.unwrap_or(true);
        let of_flow = |value: f64, u: Option<f64>| Figure {
            value,
            u,
            unit: unit.symbol().to_owned(),
        };
        let marked = if passed { Vec::new() } else { ack.touched };
        Ok(PlateChecked {
            id: ack.seq,
            marked_numbers: self.said_numbers(&ask.job, &marked)?,
            orifice: name,
            flow: of_flow(flow.value(), u),
            at: told::figure(&engine, figure_of(&metering)),
            said: said.map(|said| of_flow(said, None)),
            error,
            allow,
            passed,
            marked,
        })
    }
}

impl Answers<CheckLeak> for Desk {
    fn answer(&self, ask: CheckLeak, key: Option<&str>) -> Result<LeakChecked, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = told::engine(&self.keeper, &view)?;
        let typed = (ask.at.as_deref(), ask.metering.as_deref());
        let read = self.pressures(&view, ask.gauge.as_deref(), typed)?;
        let (flow, u, unit) = match &ask.flow {
            Some(text) => {
                let stated = StatedValue::parse(text, QuantityKind::Flow).map_err(bad)?;
                let unit = stated.written.unit;
                let u = stated.u.map(|u| u / unit.difference_to_base(1.0));
                (stated.written.value, u, unit)
            }
            None => {
                let metering = read.metering.ok_or_else(|| {
                    bad("neither the leak nor a metering pressure was given")
                        .todo("say the leak with --flow, or what the bench shows with --metering")
                })?;
                let (name, _) = orifice(ask.orifice, &engine)?;
                let known = plates::known_now(&view, &engine, &name);
                let known = known.ok_or_else(|| bad(format!("nothing is known of {name}")))?;
                let unit = engine.flow_unit();
                let flow = unit.from_base(orifice_flow(known, metering.base()));
                (flow, None, unit)
            }
        };
        if flow.is_nan() || flow < 0.0 {
            return Err(bad(format!("a leak of {flow}")).expected("0 or more"));
        }
        let fact = Fact::Leak(CheckedLeak {
            flow,
            unit: unit.symbol().to_owned(),
            u: u.filter(|&u| u > 0.0),
            pressure: read.test.value,
            pressure_unit: read.test.unit.symbol().to_owned(),
        });
        let ack = self.keeper.append(&ask.job, fact, key)?;
        let shown = Figure {
            value: flow,
            u,
            unit: unit.symbol().to_owned(),
        };
        Ok(LeakChecked {
            id: ack.seq,
            flow: shown,
            at: told::figure(&engine, figure_of(&read.test)),
        })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use benchhand_drivers::timebase::RealTime;
    use serde_json::{Value, json};

    use crate::clock::SystemClock;
    use crate::live::SerialOpener;
    use crate::serve::Works;

    const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");

    /// The engine file states 240 cfm at 8 inH2O. The metering pressure was read as 9.2 instead of 8.1.
    #[test]
    fn a_mistyped_plate_is_no_measure_of_the_next_one() {
        let folder = tempfile::tempdir().unwrap();
        let opener = Arc::new(SerialOpener::new(Arc::new(RealTime::new())));
        let works = Works::start(folder.path(), Arc::new(SystemClock::new()), opener).unwrap();
        let key = std::cell::Cell::new(0);
        let ask = |path: &str, body: Value| {
            key.set(key.get() + 1);
            let key = key.get().to_string();
            works.desk.dispatch(path, body, Some(&key))
        };
        let new = json!({"name": "v8", "engine": ENGINE, "file": "engine.toml"});
        ask("jobs/new", new).unwrap();
        let plate = |metering: &str, sure: bool| {
            let body = json!({
                "job": "v8", "flow": "240 cfm", "at": "28 inH2O", "test": "28 inH2O",
                "metering": metering, "sure": sure,
            });
            ask("bench/plate", body)
        };
        let refused = plate("9.2 inH2O", false).unwrap_err().to_string();
        assert!(refused.contains("+7.24 %"), "{refused}");
        assert!(refused.contains("--sure"), "{refused}");
        // Nothing was kept: the right one is judged by the engine file.
        let error = |found: &Value| found["error"].as_f64().unwrap();
        let right = plate("8.1 inH2O", false).unwrap();
        let off = (8.1f64 / 8.0).sqrt() - 1.0;
        assert!((error(&right) - off).abs() < 1e-6, "{right}");
        // Kept as sure it counts, and the plate that agrees with the engine file takes it back.
        let sure = plate("9.2 inH2O", true).unwrap();
        assert_eq!(sure["passed"], false, "{sure}");
        let back = plate("8.1 inH2O", false).unwrap();
        assert!((error(&back) - ((8.1f64 / 9.2).sqrt() - 1.0)).abs() < 1e-6);
        works.stop_blocking();
    }
}
