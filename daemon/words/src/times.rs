//! Times as a person at the bench reads them: by the clock on the wall.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// A moment (RFC 3339) as day and minute of local time, `2026-03-02 10:14`; as it stands where it
/// is no such moment.
pub fn day_and_minute(moment: &str) -> String {
    let Ok(at) = moment.parse::<Timestamp>() else {
        return moment.to_owned();
    };
    let local = at.to_zoned(TimeZone::system());
    local.strftime("%Y-%m-%d %H:%M").to_string()
}
