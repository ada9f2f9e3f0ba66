//! A gauge's entry in the register: as requests carry it, as the register keeps it, and as the
//! blueprint takes it.

use benchhand_blueprint::engine::{GaugeEntry, GaugeKind};
use benchhand_blueprint::units::with_decimal_points;
use benchhand_drivers::{Profile, QuantityKind, Sample};
use benchhand_wire::{GaugeCorrection, GaugeSetup, Reason, Refusal};

use super::kinds::main_kind;
use super::quantities::bad;
use crate::store::fact::ZeroedGauge;
use crate::store::gauges::{BuretteEntry, Calibration, GaugePort, Quantity, RegisterEntry, UsbId};

/// The entry that a setup asks for; what else the register knows of the gauge stays.
pub(crate) fn entry(
    setup: &GaugeSetup,
    before: Option<RegisterEntry>,
    kind: QuantityKind,
) -> Result<RegisterEntry, Refusal> {
    let size = |key: &str, text: &Option<String>| -> Result<Option<Quantity>, Refusal> {
        let parsed = text
            .as_ref()
            .map(|text| with_decimal_points(text).parse::<Quantity>())
            .transpose();
        parsed.map_err(|e| bad(format!("gauge {}: {key}: {e}", setup.name)))
    };
    let before = before.unwrap_or_default();
    let known = before.calibration.clone().unwrap_or_default();
    let repeatability = size("repeatability", &setup.repeatability)?;
    let repeatability_dof = setup.repeatability_dof;
    if repeatability_dof.is_some() && repeatability.is_none() {
        return Err(bad(format!(
            "gauge {}: degrees of freedom without a repeatability",
            setup.name
        ))
        .todo("say the repeatability: --repeatability \"0.05 cc\""));
    }
    if let Some(dof) = repeatability_dof.filter(|dof| !(*dof >= 1.0 && dof.is_finite())) {
        return Err(bad(format!(
            "gauge {}: {dof} degrees of freedom of the repeatability",
            setup.name
        ))
        .expected("a number from 1 on: one less than the readings behind it"));
    }
    let silent = setup.u.is_none() && setup.scale_u.is_none() && setup.calibrated.is_none();
    // The result of a check stays until something else is stated of the calibration.
    let calibration = if silent && known.checked.is_some() {
        Calibration {
            repeatability,
            repeatability_dof,
            ..known
        }
    } else {
        Calibration {
            u: size("u", &setup.u)?,
            scale_u: setup.scale_u,
            repeatability,
            repeatability_dof,
            how: setup.calibrated.clone(),
            ..Calibration::default()
        }
    };
    let counts = setup.counts;
    let capacity = size("capacity", &setup.capacity)?;
    Ok(RegisterEntry {
        kind: Some(kind),
        profile: Some(setup.profile.clone()),
        sense: setup.sense,
        resolution: size("resolution", &setup.resolution)?,
        port: port(setup)?,
        calibration: Some(calibration).filter(|c| *c != Calibration::default()),
        burette: (capacity.is_some() || counts.is_some())
            .then_some(BuretteEntry { capacity, counts }),
        ..before
    })
}

/// The correction from a gauge's last check.
pub(crate) fn checked(gauge: &RegisterEntry) -> Option<GaugeCorrection> {
    let known = gauge.calibration.as_ref()?;
    known.checked?;
    Some(GaugeCorrection {
        date: known.checked.map(|date| date.to_string()),
        correction: known.correction.map(|q| q.to_string()),
        scale: known.scale,
    })
}

/// The port of a gauge, if it has one. An adapter is named as `ports` shows it: vendor and product,
/// then the serial number where it has one.
fn port(setup: &GaugeSetup) -> Result<Option<GaugePort>, Refusal> {
    let Some(adapter) = &setup.adapter else {
        // A gauge without either is read by eye.
        return Ok(setup.port.clone().map(|path| GaugePort {
            path: Some(path),
            ..GaugePort::default()
        }));
    };
    let mut words = adapter.split_whitespace();
    let usb = UsbId::try_from(words.next().unwrap_or_default().to_owned()).map_err(bad)?;
    let mut port = GaugePort {
        usb: Some(usb),
        path: setup.port.clone(),
        ..GaugePort::default()
    };
    while let Some(word) = words.next() {
        match (word, words.next()) {
            ("serial", Some(serial)) => port.serial = Some(serial.to_owned()),
            ("interface", Some(number)) => port.interface = Some(number.parse().map_err(bad)?),
            _ => {
                return Err(
                    bad(format!("adapter {adapter:?}: {word:?} is not understood"))
                        .expected("an identity such as \"0403:6001 serial AB12 interface 0\"")
                        .todo("`benchhand ports` shows each adapter's identity"),
                );
            }
        }
    }
    Ok(Some(port))
}

/// An adapter's identity, as it is shown and requested.
pub(crate) fn adapter(port: &GaugePort) -> Option<String> {
    let mut text = port.usb?.to_string();
    if let Some(serial) = &port.serial {
        text.push_str(&format!(" serial {serial}"));
    }
    if let Some(interface) = port.interface {
        text.push_str(&format!(" interface {interface}"));
    }
    Some(text)
}

/// An entry as requests carry it.
pub(crate) fn setup(name: &str, gauge: &RegisterEntry) -> GaugeSetup {
    let calibration = gauge.calibration.clone().unwrap_or_default();
    let text = |quantity: Option<Quantity>| quantity.map(|q| q.to_string());
    let calibrated = match (&calibration.checked, &calibration.how) {
        (Some(date), Some(how)) => Some(format!("{date}, {how}")),
        (Some(date), None) => Some(date.to_string()),
        (None, how) => how.clone(),
    };
    GaugeSetup {
        name: name.to_owned(),
        profile: gauge.profile.clone().unwrap_or_default(),
        port: gauge.port.as_ref().and_then(|p| p.path.clone()),
        adapter: gauge.port.as_ref().and_then(adapter),
        sense: gauge.sense,
        u: text(calibration.u),
        scale_u: calibration.scale_u,
        repeatability: text(calibration.repeatability),
        repeatability_dof: calibration.repeatability_dof,
        resolution: text(gauge.resolution),
        capacity: gauge
            .burette
            .as_ref()
            .and_then(|b| Some(b.capacity?.to_string())),
        counts: gauge.burette.as_ref().and_then(|b| b.counts),
        calibrated,
    }
}

/// Gives a sample the count that the register states for its gauge, where that is larger than one
/// of the last decimal. Many gauges count in fives or halves of the last decimal, and their
/// stillness must be judged by the steps they can show.
pub(crate) fn state_count(sample: &mut Sample, stated: Option<&str>) {
    let in_unit = |text: &str| -> Option<f64> {
        let quantity: benchhand_blueprint::Quantity = text.parse().ok()?;
        quantity.to(sample.unit).ok()
    };
    if let (0, Some(count)) = (sample.channel, stated.and_then(in_unit)) {
        sample.resolution = sample.resolution.max(count);
    }
}

/// A gauge's entry for the blueprint, from the texts in a job's journal. Channels with a
/// calibration of their own come beside it, by number.
pub(crate) fn known(
    register_text: &str,
    profile_text: Option<&str>,
    last_zero: Option<&ZeroedGauge>,
) -> Option<Vec<(u8, GaugeEntry)>> {
    let gauge: RegisterEntry = toml::from_str(register_text).ok()?;
    let profile = Profile::parse(profile_text?, gauge.profile.as_deref()?).ok()?;
    let kind = main_kind(&profile);
    let zero_u = last_zero.and_then(|zero| {
        let unit: benchhand_blueprint::Unit = zero.unit.parse().ok()?;
        Some(unit.difference_to_base(zero.u?))
    });
    let own = |number: usize| gauge.channels.get(number)?.calibration.clone();
    let with = |number: usize, calibration: Option<Calibration>| {
        let resolution = gauge.channels.get(number).and_then(|c| c.resolution);
        let gauge = RegisterEntry {
            calibration,
            resolution: resolution.or(gauge.resolution),
            ..gauge.clone()
        };
        let known = as_blueprint(&gauge, kind).ok()?;
        Some((
            u8::try_from(number).ok()?,
            GaugeEntry {
                zero_u: zero_u.filter(|_| number == 0),
                ..known
            },
        ))
    };
    let main = with(0, own(0).or(gauge.calibration.clone()))?;
    let others = (1..gauge.channels.len()).filter_map(|n| with(n, Some(own(n)?)));
    Some(std::iter::once(main).chain(others).collect())
}

/// A gauge's entry for the blueprint, for a gauge of this kind.
///
/// # Errors
/// What would make figures wrong in silence: a size in a unit of another kind, or a negative one.
pub(crate) fn as_blueprint(
    gauge: &RegisterEntry,
    kind: QuantityKind,
) -> Result<GaugeEntry, Refusal> {
    let (known_kind, measures) = match kind {
        QuantityKind::Volume => (GaugeKind::Burette, QuantityKind::Volume),
        QuantityKind::Mass => (GaugeKind::Balance, QuantityKind::Mass),
        QuantityKind::Pressure => (GaugeKind::Manometer, QuantityKind::Pressure),
        QuantityKind::Temperature => (GaugeKind::Thermometer, QuantityKind::Temperature),
        QuantityKind::Humidity => (GaugeKind::Hygrometer, QuantityKind::Humidity),
        QuantityKind::Angle => (GaugeKind::Protractor, QuantityKind::Angle),
        _ => (GaugeKind::Dial, QuantityKind::Length),
    };
    let size = |key: &str, given: Option<Quantity>| -> Result<Option<f64>, Refusal> {
        let Some(given) = given else { return Ok(None) };
        let quantity = benchhand_blueprint::Quantity {
            value: given.value,
            unit: given.unit,
        };
        let quantity = quantity
            .expect(measures)
            .map_err(|e| bad(format!("{key}: {e}")))?;
        if given.value < 0.0 {
            return Err(bad(format!("{key} = {given}")).expected("a size, not negative"));
        }
        Ok(Some(given.unit.difference_to_base(quantity.value)))
    };
    let calibration = gauge.calibration.clone().unwrap_or_default();
    if calibration
        .scale_u
        .is_some_and(|u| !(0.0..1.0).contains(&u))
    {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("scale_u = {:?}", calibration.scale_u),
        )
        .expected("a share from 0 to 1"));
    }
    Ok(GaugeEntry {
        resolution: size("resolution", gauge.resolution)?,
        u: size("u", calibration.u)?,
        scale_u: calibration.scale_u,
        repeatability: size("repeatability", calibration.repeatability)?,
        repeatability_dof: calibration.repeatability_dof.unwrap_or(f64::INFINITY),
        checked: calibration
            .checked
            .map(|date| date.to_string())
            .or(calibration.how),
        ..GaugeEntry::unknown(known_kind)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn burette(repeatability: Option<&str>, dof: Option<f64>) -> GaugeSetup {
        let text = r#"{"name": "burette", "profile": "ascii-volume"}"#;
        let setup: GaugeSetup = serde_json::from_str(text).expect("a setup");
        GaugeSetup {
            repeatability: repeatability.map(str::to_owned),
            repeatability_dof: dof,
            ..setup
        }
    }

    #[test]
    fn the_register_keeps_how_well_a_repeatability_is_known() {
        for (dof, expected) in [(Some(9.0), 9.0), (None, f64::INFINITY)] {
            let asked = burette(Some("0.05 cc"), dof);
            let entered = entry(&asked, None, QuantityKind::Volume).expect("an entry");
            let kept = toml::to_string(&entered).expect("text");
            let read: RegisterEntry = toml::from_str(&kept).expect("an entry again");
            assert_eq!(setup("burette", &read).repeatability_dof, dof);
            let known = as_blueprint(&read, QuantityKind::Volume).expect("known");
            assert_eq!(known.repeatability, Some(0.05));
            assert_eq!(known.repeatability_dof, expected);
        }
        // An entry from before degrees of freedom were kept.
        let old = "kind = \"burette\"\nsense = 1\n[calibration]\nrepeatability = \"0.05 cc\"\n";
        let old: RegisterEntry = toml::from_str(old).expect("an old entry");
        let known = as_blueprint(&old, QuantityKind::Volume).expect("known");
        assert!(known.repeatability_dof.is_infinite());
    }

    #[test]
    fn degrees_of_freedom_that_mean_nothing_are_refused() {
        for (repeatability, dof) in [
            (None, 9.0),
            (Some("0.05 cc"), 0.0),
            (Some("0.05 cc"), f64::NAN),
        ] {
            let asked = burette(repeatability, Some(dof));
            assert!(entry(&asked, None, QuantityKind::Volume).is_err(), "{dof}");
        }
    }
}
