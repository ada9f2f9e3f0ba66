//! The virtual gauges: their values, and the bytes of each value.

use benchhand_testbed::{SplitMix64, gauge::encode};

use super::binary;

/// A sample that one frame must yield.
#[derive(Debug, Clone)]
pub(crate) struct Give {
    pub(crate) channel: &'static str,
    pub(crate) value: Option<f64>,
    pub(crate) unit: &'static str,
    pub(crate) resolution: f64,
    pub(crate) says: Vec<&'static str>,
}

/// The bytes of one frame or answer.
#[derive(Debug, Clone)]
pub(crate) struct Answer {
    pub(crate) bytes: Vec<u8>,
    /// Number of bytes that complete the frame, without a line feed behind a carriage return.
    pub(crate) whole_at: usize,
    pub(crate) gives: Vec<Give>,
    /// Delay of the answer in microseconds, if it is later than usual.
    pub(crate) late_us: Option<u64>,
}

pub(crate) type Say = Box<dyn FnMut(usize, &mut Shown) -> Answer>;

/// A virtual gauge.
pub(crate) struct PlayedGauge {
    shown: Shown,
    /// One entry for each question. A gauge that sends by itself has one entry.
    says: Vec<(Vec<u8>, Say)>,
    /// The answer to start-up commands.
    pub(crate) yes: Vec<u8>,
    /// Whether the bytes of the first line do not show that it is complete.
    pub(crate) first_line_is_doubtful: bool,
    /// Numbers of the answers that are lost. The driver then withholds the next one.
    loses: Vec<usize>,
    withheld: bool,
}

/// The value of a gauge: a count that moves and rests.
pub(crate) struct Shown {
    pub(crate) count: i64,
    pub(crate) speed: i64,
    left: usize,
    least: i64,
    most: i64,
}

impl Shown {
    fn go_on(&mut self, random: &mut SplitMix64) {
        if self.left == 0 {
            self.left = 3 + random.below(12);
            let still = random.below(2) == 0;
            let span = i64::try_from(random.below(600)).unwrap_or(0) - 300;
            self.speed = if still { 0 } else { span };
        }
        self.left -= 1;
        let jitter = i64::try_from(random.below(3)).unwrap_or(0) - 1;
        self.count = (self.count + self.speed + jitter).clamp(self.least, self.most);
    }
}

impl PlayedGauge {
    pub(crate) fn new(say: impl FnMut(usize, &mut Shown) -> Answer + 'static) -> Self {
        Self::asked(vec![(Vec::new(), Box::new(say))])
    }

    pub(crate) fn asked(says: Vec<(Vec<u8>, Say)>) -> Self {
        let shown = Shown {
            count: 1234,
            speed: 0,
            left: 0,
            least: -9_000,
            most: 90_000,
        };
        let yes = Vec::new();
        Self {
            shown,
            says,
            yes,
            first_line_is_doubtful: false,
            loses: Vec::new(),
            withheld: false,
        }
    }

    pub(crate) fn one_question(
        question: &[u8],
        say: impl FnMut(usize, &mut Shown) -> Answer + 'static,
    ) -> Self {
        Self::asked(vec![(question.to_vec(), Box::new(say))])
    }

    pub(crate) fn within(mut self, least: i64, most: i64) -> Self {
        (self.shown.least, self.shown.most) = (least, most);
        self.shown.count = self.shown.count.clamp(least, most);
        self
    }

    pub(crate) fn doubtful(mut self) -> Self {
        self.first_line_is_doubtful = true;
        self
    }

    pub(crate) fn losing(mut self, answers: &[usize]) -> Self {
        self.loses = answers.to_vec();
        self
    }

    pub(crate) fn speak(&mut self, number: usize, random: &mut SplitMix64) -> Answer {
        self.shown.go_on(random);
        (self.says[0].1)(number, &mut self.shown)
    }

    /// The answer to a question. `None` if this gauge does not answer it.
    pub(crate) fn answer(
        &mut self,
        question: &[u8],
        number: usize,
        random: &mut SplitMix64,
    ) -> Option<Answer> {
        let at = self.says.iter().position(|(known, _)| known == question)?;
        self.shown.go_on(random);
        let mut answer = (self.says[at].1)(number, &mut self.shown);
        if std::mem::take(&mut self.withheld) {
            answer.gives.clear();
        }
        if let Some(place) = self.loses.iter().position(|lost| *lost == number) {
            self.loses.remove(place);
            self.withheld = true;
            // The answer comes after its timeout.
            answer.late_us = Some(310_000);
            answer.gives.clear();
        }
        Some(answer)
    }
}

pub(crate) fn give(channel: &'static str, count: i64, decimals: i32, unit: &'static str) -> Give {
    let power = 10f64.powi(decimals);
    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    let value = count as f64 / power;
    Give {
        channel,
        value: Some(value + 0.0),
        unit,
        resolution: 1.0 / power,
        says: Vec::new(),
    }
}

impl Give {
    pub(crate) fn says(mut self, word: &'static str) -> Self {
        self.says.push(word);
        self
    }

    pub(crate) fn status(mut self, word: &'static str) -> Self {
        self.value = None;
        self.says(word)
    }
}

pub(crate) fn frame(bytes: impl Into<Vec<u8>>, gives: Vec<Give>) -> Answer {
    let bytes = bytes.into();
    Answer {
        whole_at: bytes.len(),
        bytes,
        gives,
        late_us: None,
    }
}

/// A line that is complete at its carriage return.
fn at_cr(bytes: impl Into<Vec<u8>>, gives: Vec<Give>) -> Answer {
    let mut answer = frame(bytes, gives);
    answer.whole_at = answer
        .bytes
        .iter()
        .position(|byte| *byte == b'\r')
        .map_or(0, |at| at + 1);
    answer
}

fn line_gauge(channel: &'static str, decimals: i32, unit: &'static str, tail: &'static str) -> Say {
    Box::new(move |number, shown| {
        if number % 23 == 11 {
            return at_cr(
                *b"OL\r\n",
                vec![give(channel, 0, decimals, unit).status("overrange")],
            );
        }
        let places = usize::try_from(decimals).unwrap_or(0);
        at_cr(
            encode::line(shown.count, places, tail),
            vec![give(channel, shown.count, decimals, unit)],
        )
    })
}

/// A line without a sign. The first one could be incomplete.
fn unsigned_line(channel: &'static str, unit: &'static str) -> PlayedGauge {
    PlayedGauge::new(move |_, shown| {
        let text = format!("{}\r\n", encode::decimal(shown.count, 2, false));
        at_cr(text, vec![give(channel, shown.count, 2, unit)])
    })
    .within(500, 9_000)
    .doubtful()
}

pub(crate) fn xor(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| sum ^ byte)
}

pub(crate) fn sum(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| sum.wrapping_add(*byte))
}

fn even_parity(text: &str) -> Vec<u8> {
    text.bytes()
        .map(|byte| byte | u8::from(byte.count_ones() % 2 == 1) << 7)
        .collect()
}

/// Every gauge by its profile.
pub(crate) fn all() -> Vec<(&'static str, PlayedGauge)> {
    let polled = |say: Say| PlayedGauge::asked(vec![(b"?\r".to_vec(), say)]).losing(&[20, 41]);
    let mut all = vec![
        (
            "ascii-length",
            PlayedGauge::new(line_gauge("length", 4, "mm", " mm")),
        ),
        (
            "ascii-length-polled",
            polled(line_gauge("length", 3, "in", " in")),
        ),
        ("ascii-volume", unsigned_line("volume", "cc")),
        (
            "ascii-volume-polled",
            polled(line_gauge("volume", 2, "cc", " mL")),
        ),
        (
            "ascii-mass",
            PlayedGauge::new(line_gauge("mass", 2, "g", " g")),
        ),
        ("ascii-mass-polled", polled(line_gauge("mass", 3, "g", ""))),
        ("ascii-pressure", unsigned_line("pressure", "Pa")),
        (
            "ascii-pressure-polled",
            polled(line_gauge("pressure", 2, "inH2O", " inH2O")),
        ),
    ];
    all.extend(digits());
    all.extend(texts());
    all.extend(binary::binaries());
    all.extend(binary::modbus());
    all
}

fn digits() -> Vec<(&'static str, PlayedGauge)> {
    let text = |number: usize, shown: &mut Shown| {
        let inch = number % 19 > 15;
        let decimals = if inch { 4 } else { 2 };
        let unit = if inch { "in" } else { "mm" };
        let bytes = encode::bcd13(shown.count, decimals, inch);
        at_cr(
            bytes,
            vec![give("length", shown.count, i32::from(decimals), unit)],
        )
    };
    let packed = |_: usize, shown: &mut Shown| {
        let digits = encode::bcd13(shown.count, 2, false);
        let nibble = |at: usize| -> u8 {
            digits.get(at).filter(|b| **b != b'\r').map_or(0, |b| {
                u8::try_from(char::from(*b).to_digit(16).unwrap_or(0)).unwrap_or(0)
            })
        };
        let bytes: Vec<u8> = (0..7)
            .map(|at| nibble(2 * at) << 4 | nibble(2 * at + 1))
            .collect();
        frame(bytes, vec![give("length", shown.count, 2, "mm")])
    };
    vec![
        ("bcd13-length", PlayedGauge::new(text)),
        ("bcd13-length-button", PlayedGauge::new(text)),
        ("bcd13-length-packed", PlayedGauge::new(packed)),
    ]
}

fn texts() -> Vec<(&'static str, PlayedGauge)> {
    let columns = |number: usize, shown: &mut Shown| {
        if number % 17 == 9 {
            let gives = vec![give("mass", 0, 2, "g").status("overrange")];
            return frame(*b"OL,GS,+9999.99,g\r\n", gives);
        }
        let still = shown.speed == 0;
        let word = if still { "ST" } else { "US" };
        let sign = if shown.count < 0 { '-' } else { '+' };
        let digits = encode::decimal(shown.count.abs(), 2, false);
        let text = format!("{word},GS,{sign}{digits:>8},g\r\n");
        let says = if still { "stable" } else { "unstable" };
        frame(text, vec![give("mass", shown.count, 2, "g").says(says)])
    };
    let comma = |_: usize, shown: &mut Shown| {
        let still = shown.speed == 0;
        let text = encode::decimal(shown.count, 2, false).replace('.', ",");
        let says = if still { "stable" } else { "unstable" };
        let bytes = format!(" {text} g {}\r", if still { 'S' } else { 'D' });
        frame(bytes, vec![give("mass", shown.count, 2, "g").says(says)])
    };
    let probes = |number: usize, shown: &mut Shown| {
        let (letter, channel) = if number.is_multiple_of(2) {
            ('A', "front")
        } else {
            ('B', "rear")
        };
        let sign = if shown.count < 0 { '-' } else { '+' };
        let text = format!(
            "{letter}{sign}{:08.3}\r\n",
            f64::from(i32::try_from(shown.count.abs()).unwrap_or(0)) / 1000.0
        );
        frame(text, vec![give(channel, shown.count, 3, "mm")])
    };
    let labelled = |_: usize, shown: &mut Shown| {
        let (test, metering, air) = (shown.count, shown.count / 3, 200 + shown.count / 1000);
        let text = format!(
            "T={} M={} C={}\r\n",
            encode::decimal(test, 2, false),
            encode::decimal(metering, 2, false),
            encode::decimal(air, 1, false)
        );
        let gives = vec![
            give("test", test, 2, "inH2O"),
            give("metering", metering, 2, "inH2O"),
            give("air", air, 1, "degC"),
        ];
        at_cr(text, gives)
    };
    let hex = |_: usize, shown: &mut Shown| {
        let body = format!("L,{:06X}", shown.count & 0xFF_FFFF);
        let text = format!("${body}*{:02X}\r\n", xor(body.as_bytes()));
        frame(text, vec![give("length", shown.count, 3, "mm")])
    };
    let seven = |_: usize, shown: &mut Shown| {
        let text = format!("{} g\r\n", encode::decimal(shown.count, 2, true));
        frame(even_parity(&text), vec![give("mass", shown.count, 2, "g")])
    };
    let set_up = |_: usize, shown: &mut Shown| {
        let sign = if shown.count < 0 { '-' } else { '+' };
        let text = format!(
            "{sign}{:07.3}\r\n",
            f64::from(i32::try_from(shown.count.abs()).unwrap_or(0)) / 1000.0
        );
        frame(text, vec![give("volume", shown.count, 3, "cc")])
    };
    let exponent = |_: usize, shown: &mut Shown| {
        let body = format!("{}E+01", encode::decimal(shown.count, 4, true));
        let text = format!("{body};{:03}\r", sum(body.as_bytes()));
        frame(text, vec![give("pressure", shown.count, 3, "Pa")])
    };
    let mut set_up = PlayedGauge::new(set_up);
    set_up.yes = b"OK\r\n".to_vec();
    vec![
        ("columns-mass", PlayedGauge::new(columns)),
        ("comma-mass", PlayedGauge::new(comma).doubtful()),
        (
            "probes-length",
            PlayedGauge::new(probes).within(-29_000, 29_000),
        ),
        ("labelled-flow", PlayedGauge::new(labelled)),
        ("hex-length", PlayedGauge::new(hex)),
        ("seven-bit-mass", PlayedGauge::new(seven)),
        ("set-up-volume", set_up),
        ("exponent-pressure", PlayedGauge::new(exponent)),
    ]
}

pub(crate) fn asked_pair() -> PlayedGauge {
    let say = |question: &'static str, channel: &'static str| -> Say {
        Box::new(move |_, shown| {
            let text = format!("{question}\u{6}{}\r", encode::decimal(shown.count, 1, true));
            frame(text, vec![give(channel, shown.count, 1, "Pa")])
        })
    };
    PlayedGauge::asked(vec![
        (b"RA\r".to_vec(), say("RA\r", "test")),
        (b"RB\r".to_vec(), say("RB\r", "metering")),
    ])
}

impl PlayedGauge {
    pub(crate) fn counting_from(mut self, count: i64) -> Self {
        self.shown.count = count;
        self
    }
}
