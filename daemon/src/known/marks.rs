//! Why a reading is in doubt, and whether what it was measured with has been right since.

use benchhand_words::{day_and_minute, local_times};
use jiff::Timestamp;

use crate::store::fact::{CheckedGauge, CheckedPlate};
use crate::store::view::{JobView, KeptReading, Stamped};

/// Why a reading is in doubt, by the clock on the wall, with what the checks since say of its gauge or
/// orifice; `None` where it is in no doubt.
pub fn marked(view: &JobView, kept: &KeptReading) -> Option<String> {
    let why = local_times(kept.marked.as_deref()?);
    let since = of_gauge(view, kept).or_else(|| of_orifice(view, kept));
    Some(match since {
        Some(since) => format!("{why}; {}", told(&since)),
        None => why,
    })
}

/// What the last check after a failed one found.
struct SinceFailed {
    /// The gauge or orifice.
    of: String,
    at: Timestamp,
    passed: bool,
    /// Whether the last check is the one that failed.
    same: bool,
}

fn told(since: &SinceFailed) -> String {
    let SinceFailed { of, at, .. } = since;
    let at = day_and_minute(&at.to_string());
    match (since.passed, since.same) {
        (true, _) => {
            format!("{of} was right again at {at}: what it measures since then counts")
        }
        (false, true) => format!("{of} has not been found right since"),
        (false, false) => format!("{of} was still off at {at}"),
    }
}

/// The checks of the gauge that failed first after the reading.
fn of_gauge(view: &JobView, kept: &KeptReading) -> Option<SinceFailed> {
    let parts = kept.parts.iter().filter_map(|part| part.gauge.as_ref());
    let gauges = kept.gauge.iter().chain(parts);
    let failed = gauges.filter_map(|name| {
        let checks = &view.gauge(name)?.checks;
        let off = |check: &&Stamped<CheckedGauge>| {
            check.seq > kept.id && check.what.passed == Some(false)
        };
        Some((name, checks, checks.iter().find(off)?))
    });
    let (name, checks, failed) = failed.min_by_key(|(_, _, failed)| failed.seq)?;
    let same = |check: &&Stamped<CheckedGauge>| {
        check.what.channel == failed.what.channel && check.what.passed.is_some()
    };
    let last = checks.iter().rfind(same)?;
    Some(SinceFailed {
        of: format!("the gauge {name}"),
        at: last.at,
        passed: last.what.passed == Some(true),
        same: last.seq == failed.seq,
    })
}

/// The plates of the orifice that failed first after the reading.
fn of_orifice(view: &JobView, kept: &KeptReading) -> Option<SinceFailed> {
    let plates = view.part_of(kept.id).plates();
    let own = kept.labels.get("orifice");
    let failed = plates.iter().find(|plate| {
        let here = own.map_or(plate.what.unnamed, |own| *own == plate.what.orifice);
        plate.seq > kept.id && plate.what.passed == Some(false) && here
    })?;
    let same = |plate: &&Stamped<CheckedPlate>| plate.what.orifice == failed.what.orifice;
    let last = plates.iter().rfind(same)?;
    Some(SinceFailed {
        of: format!("the orifice {}", failed.what.orifice),
        at: last.at,
        passed: last.what.passed != Some(false),
        same: last.seq == failed.seq,
    })
}
