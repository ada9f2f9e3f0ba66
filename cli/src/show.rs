//! Turns answers into text for people. The functions are pure: they print nothing.

pub(crate) mod asked;
pub(crate) mod backup;
pub(crate) mod charts;
pub(crate) mod checks;
pub(crate) mod cuts;
pub(crate) mod direction;
pub(crate) mod documents;
pub(crate) mod figure;
pub(crate) mod find;
pub(crate) mod flowed;
pub(crate) mod gauges;
pub(crate) mod history;
pub(crate) mod jobs;
pub(crate) mod live;
pub(crate) mod machine;
pub(crate) mod orders;
pub(crate) mod record;
pub(crate) mod route;
pub(crate) mod sheets;
pub(crate) mod shop;
pub(crate) mod streams;
pub(crate) mod table;

use benchhand_words::told::ToldText;

/// What is told, with the tables as a terminal shows them.
pub(crate) fn told(told: &ToldText) -> String {
    told.text_with(table::shown)
}

/// A moment in RFC 3339 for a table: to the second, without the `T`.
pub(crate) fn moment(rfc3339: &str) -> String {
    let Some((date, time)) = rfc3339.split_once('T') else {
        return rfc3339.to_owned();
    };
    let zone_at = time.find(['Z', '+', '-']).unwrap_or(time.len());
    let (clock, zone) = time.split_at(zone_at);
    let clock = clock.split('.').next().unwrap_or(clock);
    let zone = if zone == "Z" || zone == "+00:00" {
        "UTC"
    } else {
        zone
    };
    format!("{date} {clock} {zone}").trim_end().to_owned()
}

/// A sentence behind a mark, wrapped at blanks to 80 columns. Further lines are indented to the
/// first.
pub(crate) fn wrapped(mark: &str, sentence: &str) -> String {
    const WIDTH: usize = 80;
    let indent = mark.chars().count();
    let (mut text, mut at) = (mark.to_owned(), indent);
    for word in sentence.split_whitespace() {
        let long = word.chars().count();
        if at > indent && at + 1 + long > WIDTH {
            text += &format!("\n{}", " ".repeat(indent));
            at = indent;
        } else if at > indent {
            text.push(' ');
            at += 1;
        }
        text += word;
        at += long;
    }
    text + "\n"
}

/// `1 reading`, `2 readings`.
pub(crate) fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_keeps_its_zone() {
        assert_eq!(moment("2026-03-02T09:14:05Z"), "2026-03-02 09:14:05 UTC");
        assert_eq!(
            moment("2026-03-02T09:14:05.123456Z"),
            "2026-03-02 09:14:05 UTC"
        );
        assert_eq!(
            moment("2026-03-02T09:14:05.5-05:00"),
            "2026-03-02 09:14:05 -05:00"
        );
        assert_eq!(moment("yesterday"), "yesterday");
    }
}
