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

use benchhand_words::told::{ToldPart, ToldText};

/// What is told, with tables and lines as the terminal shows them. What goes to a file or to another
/// program is not wrapped.
pub(crate) fn told(told: &ToldText) -> String {
    let width = table::width().unwrap_or(usize::MAX);
    let part = |part: &ToldPart| match part {
        ToldPart::Title(title) => fitted(title, width),
        ToldPart::Text(text) => text.lines().map(|line| fitted(line, width)).collect(),
        ToldPart::Table(one) => table::shown(one),
    };
    told.parts.iter().map(part).collect()
}

/// A line broken at blanks where it is wider than `width`; what follows stands below its first word,
/// behind a mark such as `*`.
fn fitted(line: &str, width: usize) -> String {
    let marks = |c: char| c == ' ' || c == '*' || c == '!';
    let behind = line.trim_start_matches(marks);
    let indent = line.chars().count() - behind.chars().count();
    // A mark alone, or one so deep that nothing would stand behind it, is no beginning of a line.
    let indent = if indent * 2 < width { indent } else { 0 };
    let (mut text, mut rest) = (String::new(), line.to_owned());
    while rest.chars().count() > width {
        let ends = rest.char_indices().skip(indent + 1).take(width - indent);
        let blank = ends.filter(|(_, c)| *c == ' ').last();
        // A word that is wider than the line stays whole.
        let next = || rest.char_indices().skip(width).find(|(_, c)| *c == ' ');
        let Some((at, _)) = blank.or_else(next) else {
            break;
        };
        let (before, after) = rest.split_at(at);
        text += before.trim_end();
        text.push('\n');
        rest = format!("{}{}", " ".repeat(indent), after.trim_start());
    }
    text + &rest + "\n"
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
    fn a_line_that_is_wider_than_the_terminal_is_broken_below_its_first_word() {
        let line = "  * crown/1, crown/2: measured once only";
        let wanted = "  * crown/1, crown/2:\n    measured once only\n";
        assert_eq!(fitted(line, 22), wanted);
        assert_eq!(fitted(line, 23), wanted);
        assert_eq!(fitted(line, usize::MAX), format!("{line}\n"));
        assert_eq!(fitted("", 22), "\n");
        for width in 4..60 {
            let broken = fitted(line, width);
            let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(words(&broken), words(line), "{width}");
            let long = |line: &&str| line.chars().count() > width.max(4 + "measured".len());
            assert_eq!(broken.lines().find(long), None, "{width}: {broken}");
        }
    }

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
