//! How long a gauge's zero holds.
//!
//! A zero holds for the session in which it was set, until its gauge is switched off. A passed
//! check, or readings that follow one another, carry it on.

use jiff::Timestamp;

use crate::known::words;
use crate::store::fact::ReadingSource;
use crate::store::session::PAUSE;
use crate::store::view::JobView;

/// Why a gauge's zero in a job does not hold at `now`, in words; `None` where it holds, or where
/// there is none. `off` is when the gauge last came back after it was off.
pub(super) fn doubt(
    view: &JobView,
    gauge: &str,
    off: Option<Timestamp>,
    now: Timestamp,
) -> Option<String> {
    let record = view.gauge(gauge)?;
    let named = view.own().named(gauge);
    let zero = record.zeros.last()?;
    let passed = record.checks.iter().filter(|check| {
        check.seq > zero.seq && check.what.channel == 0 && check.what.passed == Some(true)
    });
    let shown = passed.map(|check| check.at).chain([zero.at]).max()?;
    if off.is_some_and(|off| shown < off) {
        return Some(format!("{gauge} was off since it was zeroed"));
    }
    let by_it = view.readings().filter(|kept| {
        kept.id > zero.seq
            && kept.source == ReadingSource::Captured
            && kept.gauge.as_deref() == Some(named.as_ref())
    });
    let used = by_it.last().map_or(shown, |kept| kept.at.max(shown));
    let idle = now.duration_since(used);
    (idle >= PAUSE).then(|| {
        let ago = words::ago(now.duration_since(zero.at));
        format!("{gauge} was zeroed {ago}")
    })
}
