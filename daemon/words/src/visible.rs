//! What came from outside, as it can be shown: a control character would steer a terminal, and one that
//! turns the direction of writing would show another text than the one that is there.

use std::borrow::Cow;

/// The text with each such character replaced by a sign for it, one for one. Line ends and tabs
/// stay; a form of a page sends its line ends as CR and LF.
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.replace("\r\n", "\n").chars().any(steers) {
        return Cow::Borrowed(text);
    }
    let shown = |line: &str| -> String {
        line.chars()
            .map(|c| if steers(c) { sign(c) } else { c })
            .collect()
    };
    let lines: Vec<String> = text.split("\r\n").map(shown).collect();
    Cow::Owned(lines.join("\r\n"))
}

fn steers(c: char) -> bool {
    match c {
        '\n' | '\t' => false,
        // Directions of writing, and isolates of them (Unicode, UAX #9).
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        _ => c.is_control(),
    }
}

/// The picture of a control character (Unicode, "Control Pictures"), or the sign for what has none.
fn sign(c: char) -> char {
    match c {
        '\0'..='\u{1f}' => char::from_u32(0x2400 + u32::from(c)).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        _ => '\u{fffd}',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_ends_of_a_form_stay_and_a_lone_return_is_shown() {
        assert_eq!(visible("a\r\nb\n"), "a\r\nb\n");
        assert_eq!(visible("a\rb\r\nc\u{1b}"), "a\u{240d}b\r\nc\u{241b}");
    }

    #[test]
    fn nothing_that_steers_is_left_and_everything_else_is() {
        assert_eq!(visible("64.2 cc\t± 0.1\n"), "64.2 cc\t± 0.1\n");
        let shown = visible("\u{1b}[2J\r\u{7}\u{9b}1m\u{202e}\u{7f}");
        assert_eq!(shown, "␛[2J␍␇\u{fffd}1m\u{fffd}␡");
    }
}
