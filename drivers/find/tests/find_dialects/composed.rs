//! Dialects composed at random from the parts of gauges' lines.

use benchhand_testbed::SplitMix64;
use benchhand_testbed::gauge::encode;

use crate::dialects::Moment;

/// A dialect composed from parts.
#[derive(Debug, Clone)]
pub(crate) struct Composed {
    end: &'static str,
    before: Before,
    sign: Sign,
    pub(crate) decimals: usize,
    comma: bool,
    unit: &'static str,
    glue: &'static str,
    after: After,
    separator: char,
    sum: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Before {
    Nothing,
    Label(&'static str),
    Counter,
    Clock,
    Number,
    Status,
}

#[derive(Debug, Clone, Copy)]
enum Sign {
    Always,
    Negative,
    Padded,
    Zeros,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum After {
    Nothing,
    Temperature,
    Constant,
    Letter,
}

fn pick<T: Copy>(random: &mut SplitMix64, from: &[T]) -> T {
    from[random.below(from.len())]
}

impl Composed {
    pub(crate) fn draw(seed: u64) -> Self {
        let mut random = SplitMix64::new(seed);
        let random = &mut random;
        let labels = ["D:", "POS=", "H1: ", "Gage ", "net = ", "X", "dp="];
        let befores = [
            Before::Nothing,
            Before::Nothing,
            Before::Label(pick(random, &labels)),
            Before::Counter,
            Before::Clock,
            Before::Number,
            Before::Status,
        ];
        let afters = [
            After::Nothing,
            After::Nothing,
            After::Temperature,
            After::Constant,
            After::Letter,
        ];
        let comma = random.below(6) == 0;
        Self {
            end: pick(random, &["\r\n", "\r\n", "\r", "\n", ";"]),
            before: pick(random, &befores),
            sign: pick(
                random,
                &[Sign::Always, Sign::Negative, Sign::Padded, Sign::Zeros],
            ),
            decimals: 1 + random.below(4),
            comma,
            unit: pick(
                random,
                &["mm", "mm", "in", "g", "kPa", "inH2O", "mL", "", "", "zz"],
            ),
            glue: pick(random, &["", " ", "  "]),
            after: pick(random, &afters),
            separator: if comma {
                ' '
            } else {
                pick(random, &[' ', ',', '\t'])
            },
            sum: random.below(6) == 0,
        }
    }

    /// The unit that the bytes tell.
    pub(crate) fn unit(&self) -> Option<&'static str> {
        (!matches!(self.unit, "" | "zz")).then_some(self.unit)
    }

    pub(crate) fn say(&self, moment: Moment) -> Vec<u8> {
        let mut parts: Vec<String> = Vec::new();
        let mut label = "";
        match self.before {
            Before::Nothing => {}
            Before::Label(text) => label = text,
            Before::Counter => parts.push((moment.number + 41).to_string()),
            Before::Clock => parts.push(format!(
                "10:{:02}:{:02}",
                moment.number / 60,
                moment.number % 60
            )),
            Before::Number => parts.push("03".to_owned()),
            Before::Status => {
                parts.push(if moment.number % 9 < 5 { "ST" } else { "US" }.to_owned())
            }
        }
        let plain = encode::decimal(moment.count.abs(), self.decimals, false);
        let sign = if moment.count < 0 { "-" } else { "+" };
        let mut number = match self.sign {
            Sign::Always => format!("{sign}{plain}"),
            Sign::Negative => encode::decimal(moment.count, self.decimals, false),
            Sign::Padded => format!("{sign}{plain:>9}"),
            Sign::Zeros => format!("{sign}{plain:0>8}"),
        };
        if self.comma {
            number = number.replace('.', ",");
        }
        let glue = if self.unit.is_empty() { "" } else { self.glue };
        parts.push(format!("{label}{number}{glue}{}", self.unit));
        match self.after {
            After::Nothing => {}
            After::Temperature => {
                parts.push(format!("{}C", encode::decimal(moment.tenths, 1, false)))
            }
            After::Constant => parts.push("1".to_owned()),
            After::Letter => parts.push("A".to_owned()),
        }
        let mut text = parts.join(&self.separator.to_string());
        if self.comma {
            // Another number with a point would show that commas separate columns.
            text = text.replace('.', ",");
        }
        if self.sum {
            let sum = text.bytes().fold(0u8, |sum, byte| sum.wrapping_add(byte));
            text = format!("{text}*{sum:02X}");
        }
        format!("{text}{}", self.end).into_bytes()
    }
}
