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

/// A text in which every moment (RFC 3339) is told as day and minute of local time.
pub fn local_times(text: &str) -> String {
    let told = text.split(' ').map(|word| {
        let moment = word.trim_start_matches('(');
        let moment = moment.trim_end_matches([':', ',', ';', '.', ')']);
        match moment.parse::<Timestamp>() {
            Ok(_) => word.replace(moment, &day_and_minute(moment)),
            Err(_) => word.to_owned(),
        }
    });
    told.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_tells_its_moments_by_the_clock_on_the_wall_and_nothing_else_changes() {
        let at = "2026-03-02T09:14:05Z";
        let text = format!("dial failed at {at}: found 2.5 mm (since {at}), 10:20, 0.5 in");
        let local = day_and_minute(at);
        assert!(!local.contains('T'), "{local}");
        let told = format!("dial failed at {local}: found 2.5 mm (since {local}), 10:20, 0.5 in");
        assert_eq!(local_times(&text), told);
    }
}
