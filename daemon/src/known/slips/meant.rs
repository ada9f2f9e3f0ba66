//! What was perhaps meant by a number as it was written.

use std::collections::BTreeMap;

use crate::known::words;
use crate::store::fact::LEVELS;

/// The labels of a reading, by name.
pub(super) type Labels = BTreeMap<String, String>;

/// How a number differs from what was meant, the likelier ones first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Slip {
    /// Two neighbouring digits changed places.
    Swapped,
    /// The point stands elsewhere.
    Point,
    /// One digit is its neighbour on the keys.
    Neighbour,
}

/// What was perhaps meant.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Meant {
    pub(super) slip: Slip,
    /// The value that it comes to.
    pub(super) value: f64,
    /// The value as it would have been written, and the level that was perhaps meant.
    text: String,
    level: Option<String>,
}

impl Meant {
    /// `48.3 cc`; `64.2 cc (65.7 for 56.7)` where a burette's level was perhaps misread.
    pub(super) fn said(&self, unit: &str) -> String {
        match &self.level {
            Some(level) => format!("{} {unit} ({level})", self.text),
            None => format!("{} {unit}", self.text),
        }
    }
}

/// A value as a person wrote it.
#[derive(Debug)]
pub(crate) struct Written<'a> {
    shown: f64,
    /// What a check of the gauge adds to it.
    added: f64,
    labels: &'a Labels,
}

impl<'a> Written<'a> {
    /// Of a reading: its value, the number that was written where a correction changed it, and its
    /// labels.
    pub(crate) fn of(value: f64, raw: Option<f64>, labels: &'a Labels) -> Written<'a> {
        let shown = raw.unwrap_or(value);
        Written {
            shown,
            added: value - shown,
            labels,
        }
    }

    /// The value as it counts.
    pub(super) fn value(&self) -> f64 {
        self.shown + self.added
    }

    /// The last digit that was written.
    pub(super) fn step(&self) -> f64 {
        let decimals = self.shown.to_string();
        let decimals = decimals.split('.').nth(1).map_or(0, str::len);
        let of_number = 10f64.powi(-i32::try_from(decimals.max(1)).unwrap_or(6));
        words::step_of(self.labels).map_or(of_number, |step| step.min(of_number))
    }

    /// All that was perhaps meant.
    pub(super) fn meant(&self) -> Vec<Meant> {
        match self.labels.get(LEVELS) {
            Some(levels) => self.meant_levels(levels),
            None => {
                let text = words::number(self.shown, Some(self.step()));
                let all = slips(&text).into_iter();
                all.map(|(slip, number, text)| Meant {
                    slip,
                    value: number + self.added,
                    text,
                    level: None,
                })
                .collect()
            }
        }
    }

    /// Of a burette's levels, `1.5 cc to 65.7 cc`: one of them was perhaps misread or mistyped.
    /// Nothing is made of several fillings.
    fn meant_levels(&self, levels: &str) -> Vec<Meant> {
        let number = |text: &str| {
            let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
            digits.trim().replace(',', ".")
        };
        let Some((from, to)) = levels
            .split_once(" to ")
            .filter(|(_, to)| !to.contains(" to "))
        else {
            return Vec::new();
        };
        let (from, to) = (number(from), number(to));
        let of = |written: &str, other: &str| {
            let (Ok(stays), true) = (other.parse::<f64>(), written != "0") else {
                return Vec::new();
            };
            let all = slips(written).into_iter();
            let meant = all.map(|(slip, level, text)| {
                let value = (level - stays).abs();
                let alone = stays == 0.0;
                Meant {
                    slip,
                    value: value + self.added,
                    text: words::number(value, Some(self.step())),
                    level: (!alone).then(|| format!("{text} for {written}")),
                }
            });
            meant.collect()
        };
        [of(&to, &from), of(&from, &to)].concat()
    }
}

/// The numbers that a written one may have been, each with how it differs and how it is written.
fn slips(text: &str) -> Vec<(Slip, f64, String)> {
    let digits: Vec<(usize, u8)> = text
        .bytes()
        .enumerate()
        .filter(|(_, byte)| byte.is_ascii_digit())
        .collect();
    let with = |slip: Slip, changes: &[(usize, u8)]| {
        let mut bytes = text.as_bytes().to_vec();
        for &(at, byte) in changes {
            bytes[at] = byte;
        }
        let text = String::from_utf8(bytes).ok()?;
        Some((slip, text.parse().ok()?, text))
    };
    let pairs = digits.windows(2).filter_map(|pair| match pair {
        &[(at, one), (next, other)] if one != other => {
            with(Slip::Swapped, &[(at, other), (next, one)])
        }
        _ => None,
    });
    let mut all: Vec<(Slip, f64, String)> = pairs.collect();
    let points = [0.01, 0.1, 10.0, 100.0].into_iter().filter_map(|times| {
        let number = (text.parse::<f64>().ok()? * times * 1e9).round() / 1e9;
        Some((Slip::Point, number, number.to_string()))
    });
    all.extend(points);
    let neighbours = digits.iter().flat_map(|&(at, byte)| {
        let beside = beside(byte).iter();
        beside.filter_map(move |&near| with(Slip::Neighbour, &[(at, near)]))
    });
    all.extend(neighbours);
    all
}

/// The neighbours of a digit: in the row above the letters, and up, down and to the sides on the
/// keys of a number pad.
fn beside(digit: u8) -> &'static [u8] {
    match digit {
        b'0' => b"19",
        b'1' => b"024",
        b'2' => b"135",
        b'3' => b"246",
        b'4' => b"1357",
        b'5' => b"2468",
        b'6' => b"3579",
        b'7' => b"468",
        b'8' => b"579",
        _ => b"068",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str, slip: Slip) -> Vec<String> {
        let all = slips(text).into_iter();
        let of = all.filter(|(of, ..)| *of == slip).map(|(.., text)| text);
        of.collect()
    }

    #[test]
    fn digits_that_changed_places_cross_the_decimal_point() {
        assert_eq!(all("46.2", Slip::Swapped), ["64.2", "42.6"]);
        // A trailing zero was written, and may have stood elsewhere.
        assert_eq!(all("54.0", Slip::Swapped), ["45.0", "50.4"]);
    }

    #[test]
    fn one_digit_is_its_neighbour_on_the_keys_and_a_point_moves() {
        assert_eq!(all("4", Slip::Neighbour), ["1", "3", "5", "7"]);
        assert_eq!(all("4.83", Slip::Point), ["0.0483", "0.483", "48.3", "483"]);
    }

    #[test]
    fn a_level_of_a_burette_is_what_was_written() {
        let of = |levels: &str, value: f64| {
            let labels = [(LEVELS.to_owned(), levels.to_owned())].into();
            let all = Written::of(value, None, &labels).meant();
            all.into_iter()
                .map(|one| one.said("cc"))
                .collect::<Vec<_>>()
        };
        let said = of("1.5 cc to 56.7cc", 55.2);
        assert!(
            said.contains(&"64.2 cc (65.7 for 56.7)".to_owned()),
            "{said:?}"
        );
        let said = of("0 to 46.2 cc", 46.2);
        assert!(said.contains(&"64.2 cc".to_owned()), "{said:?}");
        assert_eq!(
            of("0 cc to 50 cc, 2 cc to 9 cc", 57.0),
            Vec::<String>::new()
        );
    }
}
