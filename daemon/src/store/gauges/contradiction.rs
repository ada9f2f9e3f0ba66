//! Combinations that cannot stand in a gauge's text, though each line by itself could.

use super::entry::{BuretteEntry, Calibration, GaugePort, Learned, RegisterEntry, ZeroPoint};
use super::value::Quantity;

/// A key, dotted as in the text, and what is wrong with its value.
pub(super) type Contradiction = (String, String);

/// One quantity of a text.
struct Size {
    key: &'static str,
    size: Quantity,
    /// Whether the value must be above 0.
    positive: bool,
}

/// The values that stand together in a gauge's text, or in one of its channels.
#[derive(Clone, Copy, Default)]
struct Group<'a> {
    resolution: Option<Quantity>,
    calibration: Option<&'a Calibration>,
    burette: Option<&'a BuretteEntry>,
    zero: Option<&'a ZeroPoint>,
    learned: Option<&'a Learned>,
}

/// The first contradiction in a gauge's text.
pub(super) fn contradiction(gauge: &RegisterEntry) -> Option<Contradiction> {
    if gauge.sense.abs() != 1 {
        return Some((
            "sense".into(),
            format!("found {}, expected 1 or -1", gauge.sense),
        ));
    }
    if gauge
        .port
        .as_ref()
        .is_some_and(|port| *port == GaugePort::default())
    {
        let what = "nothing tells which port it is: give usb, bus or path";
        return Some(("port".into(), what.into()));
    }
    let whole = Group {
        resolution: gauge.resolution,
        calibration: gauge.calibration.as_ref(),
        burette: gauge.burette.as_ref(),
        zero: gauge.zero.as_ref(),
        learned: gauge.learned.as_ref(),
    };
    let channels = gauge.channels.iter().enumerate().map(|(number, channel)| {
        let group = Group {
            resolution: channel.resolution,
            calibration: channel.calibration.as_ref(),
            burette: None,
            zero: channel.zero.as_ref(),
            learned: channel.learned.as_ref(),
        };
        (format!("channel.{number}."), group)
    });
    std::iter::once((String::new(), whole))
        .chain(channels)
        .find_map(|(under, group)| {
            let (key, what) = group.contradiction()?;
            Some((under + key, what))
        })
}

impl Group<'_> {
    fn contradiction(self) -> Option<(&'static str, String)> {
        let scale = self.calibration.and_then(|known| known.scale_u);
        if let Some(scale) = scale.filter(|scale| !(*scale > 0.0 && *scale < 1.0)) {
            let what = format!("found {scale}, expected a number between 0 and 1, or no line");
            return Some(("calibration.scale_u", what));
        }
        let sizes = self.sizes();
        let first = sizes.first()?;
        sizes.iter().find_map(|odd| {
            let (size, whole) = (odd.size, first.size);
            if odd.positive && size.value <= 0.0 {
                let expected = "expected something above 0, or no line where nothing is known";
                return Some((odd.key, format!("found \"{size}\", {expected}")));
            }
            (size.unit.kind() != whole.unit.kind()).then(|| {
                let other = format!("but {} is \"{whole}\"", first.key);
                (
                    odd.key,
                    format!("found \"{size}\", {other}: the units do not agree"),
                )
            })
        })
    }

    fn sizes(self) -> Vec<Size> {
        let known = self.calibration;
        let sizes = [
            ("resolution", self.resolution, true),
            ("calibration.u", known.and_then(|known| known.u), true),
            (
                "calibration.repeatability",
                known.and_then(|known| known.repeatability),
                true,
            ),
            (
                "calibration.correction",
                known.and_then(|known| known.correction),
                false,
            ),
            (
                "burette.capacity",
                self.burette.as_ref().and_then(|burette| burette.capacity),
                true,
            ),
            ("zero.raw", self.zero.map(|zero| zero.raw), false),
            ("zero.u", self.zero.and_then(|zero| zero.u), true),
            (
                "zero.hanging",
                self.zero.and_then(|zero| zero.hanging),
                false,
            ),
            (
                "learned.sigma",
                self.learned.map(|learned| learned.sigma),
                true,
            ),
        ];
        let given = |(key, size, positive): (_, Option<_>, _)| {
            Some(Size {
                key,
                size: size?,
                positive,
            })
        };
        sizes.into_iter().filter_map(given).collect()
    }
}
