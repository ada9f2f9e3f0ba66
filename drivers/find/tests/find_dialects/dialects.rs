//! Invented dialects of gauges with varied structures, each with its meaning.

use benchhand_drivers::SerialSettings;
use benchhand_testbed::SplitMix64;
use benchhand_testbed::gauge::encode;

/// One moment of a gauge that is being moved.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    /// Number of the frame, from 0.
    pub(crate) number: usize,
    /// The measured value in counts of a thousandth.
    pub(crate) count: i64,
    /// A temperature in tenths that hardly changes.
    pub(crate) tenths: i64,
    /// A second value that moves by itself.
    pub(crate) other: i64,
}

/// A dialect and its meaning.
pub(crate) struct Dialect {
    pub(crate) name: &'static str,
    pub(crate) line: SerialSettings,
    pub(crate) period_ms: u64,
    /// The unit that the bytes tell.
    pub(crate) unit: Option<&'static str>,
    /// The bytes of a frame.
    pub(crate) say: fn(Moment) -> Vec<u8>,
    /// The measured value that the frame states.
    pub(crate) value: fn(Moment) -> f64,
}

/// The moments of a gauge that rests, is moved up and down, and rests again.
pub(crate) fn moments(seed: u64, count: usize) -> Vec<Moment> {
    let mut random = SplitMix64::new(seed);
    let jitter = |random: &mut SplitMix64| i64::try_from(random.below(3)).unwrap() - 1;
    let mut at = 2_345 + i64::try_from(random.below(4_000)).unwrap();
    let mut speed = 0;
    let mut other = 900;
    (0..count)
        .map(|number| {
            if number % 5 == 0 {
                speed = i64::try_from(random.below(700)).unwrap() - 330;
            }
            at = (at + speed).clamp(-8_000, 19_000) + jitter(&mut random);
            other = (other + i64::try_from(random.below(90)).unwrap() - 44).clamp(100, 4_000);
            let tenths = 214 + i64::from(u8::try_from(random.below(10)).unwrap() / 9);
            Moment {
                number,
                count: at,
                tenths,
                other,
            }
        })
        .collect()
}

pub(crate) fn thousandths(moment: Moment) -> f64 {
    scaled(moment.count, 1000.0)
}

pub(crate) fn hundredths(moment: Moment) -> f64 {
    scaled(moment.count, 100.0)
}

fn tenths(moment: Moment) -> f64 {
    scaled(moment.count, 10.0)
}

pub(crate) fn scaled(count: i64, per: f64) -> f64 {
    f64::from(i32::try_from(count).unwrap()) / per
}

pub(crate) fn d(count: i64, decimals: usize) -> String {
    encode::decimal(count, decimals, false)
}

pub(crate) fn sd(count: i64, decimals: usize) -> String {
    encode::decimal(count, decimals, true)
}

pub(crate) fn sign(count: i64) -> char {
    if count < 0 { '-' } else { '+' }
}

pub(crate) fn xor(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| sum ^ byte)
}

fn sum(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte))
}

fn framed(content: &str) -> Vec<u8> {
    let mut bytes = vec![2];
    bytes.extend(content.bytes());
    bytes.push(3);
    bytes
}

/// Rows of the table: name, speed, format, period, unit, bytes, reading.
macro_rules! dialects {
    ($($name:literal $baud:literal $format:literal $period:literal $unit:expr,
        |$m:ident| $say:expr, $value:expr;)*) => {
        vec![$(Dialect {
            name: $name,
            line: SerialSettings::new($baud, $format.parse().unwrap()),
            period_ms: $period,
            unit: $unit,
            say: |$m| { let bytes: Vec<u8> = $say.into(); bytes },
            value: $value,
        },)*]
    };
}

pub(crate) use dialects;

/// Every dialect that streams.
pub(crate) fn all() -> Vec<Dialect> {
    let mut all = plain();
    all.extend(columns());
    all.extend(framed_and_summed());
    all.extend(binary());
    all.extend(crate::harder::told());
    all
}

fn plain() -> Vec<Dialect> {
    dialects! {
        "signed, unit behind, CR LF" 9600 "8N1" 100 Some("mm"),
            |m| format!("{} mm\r\n", sd(m.count, 3)), thousandths;
        "bare number, LF" 19200 "8N1" 100 None,
            |m| format!("{}\n", d(m.count, 2)), hundredths;
        "bare number, CR" 2400 "8N1" 200 None,
            |m| format!("{}\r", d(m.count, 3)), thousandths;
        "label with colon" 115200 "8N1" 50 Some("in"),
            |m| format!("DEPTH: {} in\r\n", d(m.count, 4)), |m| scaled(m.count, 10_000.0);
        "label with equals, glued unit" 9600 "8N1" 100 Some("mm"),
            |m| format!("X={}mm\r\n", d(m.count, 3)), thousandths;
        "padded to a width" 4800 "8N1" 200 Some("g"),
            |m| format!("{}{:>9} g \r\n", sign(m.count), d(m.count.abs(), 2)), hundredths;
        "sign behind the number" 9600 "8N1" 150 None,
            |m| format!("{}{}\r\n", d(m.count.abs(), 2), if m.count < 0 { '-' } else { '+' }), hundredths;
        "decimal comma with unit" 9600 "8N1" 100 Some("mm"),
            |m| format!("{} mm\r\n", d(m.count, 3).replace('.', ",")), thousandths;
        "decimal comma without unit" 9600 "8N1" 100 None,
            |m| format!("{}\r", sd(m.count, 3).replace('.', ",")), thousandths;
        "exponents" 9600 "8N1" 100 None,
            |m| format!("{}E-01\r\n", sd(m.count, 2)), thousandths;
        "seven bits, even parity" 4800 "7E1" 150 Some("g"),
            |m| format!("{} g\r\n", sd(m.count, 2)), hundredths;
        "seven bits, odd parity" 1200 "7O1" 400 Some("mm"),
            |m| format!("{} mm\r\n", sd(m.count, 3)), thousandths;
        "seven bits, two stop bits" 2400 "7N2" 300 None,
            |m| format!("{}\r\n", sd(m.count, 3)), thousandths;
        "inch mark" 9600 "8N1" 100 Some("in"),
            |m| format!("{}\"\r\n", d(m.count, 4)), |m| scaled(m.count, 10_000.0);
        "pressure in words" 9600 "8N1" 100 Some("inH2O"),
            |m| format!("P {} inWC\r\n", d(m.count, 2)), hundredths;
        "slow, once a second" 1200 "8N1" 1000 Some("mL"),
            |m| format!("{} mL\r\n", d(m.count, 2)), hundredths;
        "fast" 115200 "8N1" 10 Some("kPa"),
            |m| format!("{} kPa\r\n", sd(m.count, 3)), thousandths;
        "ends with a semicolon" 9600 "8N1" 100 None,
            |m| format!("{};", sd(m.count, 3)), thousandths;
        "letter glued in front" 38400 "8N1" 50 Some("g"),
            |m| format!("N{}{:08.2}g\r\n", sign(m.count), hundredths(m).abs()), hundredths;
        "unit in two words" 9600 "8N1" 100 Some("inH2O"),
            |m| format!("{} in H2O\r\n", sd(m.count, 2)), hundredths;
        "a letter that comes and goes behind the unit" 9600 "8N1" 100 Some("g"),
            |m| format!("{} g{}\r\n", sd(m.count, 2), if m.number % 9 < 4 { " S" } else { "" }), hundredths;
        "text in braces" 115200 "8N1" 50 None,
            |m| format!("{{\"v\":{},\"t\":{}}}\n", sd(m.count, 3).trim_start_matches('+'), d(m.tenths, 1)), thousandths;
        "very slow" 2400 "8N1" 2000 Some("mm"),
            |m| format!("{} mm\r\n", sd(m.count, 3)), thousandths;
        "unit in brackets of words" 9600 "8N1" 100 Some("psi"),
            |m| format!("Diff {} PSI\r\n", sd(m.count, 3)), thousandths;
    }
}

fn columns() -> Vec<Dialect> {
    dialects! {
        "status, kind, value, unit" 9600 "8N1" 100 Some("g"),
            |m| format!("{},GS,{}{:>8},g\r\n", if m.number % 10 < 6 { "ST" } else { "US" }, sign(m.count), d(m.count.abs(), 2)), hundredths;
        "counter, value" 9600 "8N1" 100 None,
            |m| format!("{};{}\r\n", m.number + 17, d(m.count, 3)), thousandths;
        "clock, value" 19200 "8N1" 100 Some("mm"),
            |m| format!("09:14:{:02}.{} {} mm\r\n", m.number / 10 % 60, m.number % 10, sd(m.count, 3)), thousandths;
        "date, clock, value" 9600 "8N1" 200 None,
            |m| format!("2026-03-02 09:{:02}:{:02},{}\r\n", m.number / 60, m.number % 60, d(m.count, 2)), hundredths;
        "milliseconds, value" 57600 "8N1" 50 None,
            |m| format!("{}\t{}\r\n", 18_000 + 50 * m.number + m.number % 2, d(m.count, 3)), thousandths;
        "value, temperature" 9600 "8N1" 100 Some("mm"),
            |m| format!("{} mm {} C\r\n", sd(m.count, 3), d(m.tenths, 1)), thousandths;
        "temperature, value, no units" 9600 "8N1" 100 None,
            |m| format!("{},{}\r\n", d(m.tenths, 1), sd(m.count, 3)), thousandths;
        "labelled value and temperature" 19200 "8N1" 100 None,
            |m| format!("L={} T={}\r\n", d(m.count, 3), d(m.tenths, 1)), thousandths;
        "channel number, value" 9600 "8N1" 100 None,
            |m| format!("01 {}\r\n", sd(m.count, 3)), thousandths;
        "address glued to a letter" 4800 "8N1" 100 None,
            |m| format!("01A{}\r", sd(m.count, 3)), thousandths;
        "battery voltage behind" 9600 "8N1" 100 Some("mm"),
            |m| format!("{} mm, 3.0{} V\r\n", d(m.count, 2), 1 + m.number % 2), hundredths;
        "name with a digit" 9600 "8N1" 100 Some("in"),
            |m| format!("CH1 {} in\r\n", sd(m.count, 4)), |m| scaled(m.count, 10_000.0);
        "value between bars" 9600 "8N1" 100 Some("kg"),
            |m| format!("|7|{}|kg|OK|\r\n", d(m.count, 3)), thousandths;
        "six columns" 115200 "8N1" 20 Some("Pa"),
            |m| format!("$GAUGE,{},{},Pa,{},OK\r\n", m.number, sd(m.count, 1), d(m.tenths, 1)), tenths;
        "single digit that counts round" 9600 "8N1" 100 None,
            |m| format!("{} {}\r\n", m.number % 10, sd(m.count, 3)), thousandths;
        "temperature that drifts" 9600 "8N1" 100 None,
            |m| format!("{} {}\r\n", d(i64::try_from(m.number).unwrap() / 3 + 205, 1), sd(m.count, 3)), thousandths;
        "labels and commas" 38400 "8N1" 50 Some("mm"),
            |m| format!("N={:06},D={}mm,B=3.01V\r\n", m.number, sd(m.count, 3)), thousandths;
        "comma in the number, semicolons between" 9600 "8N1" 100 Some("mm"),
            |m| format!("{};mm;{}\r\n", d(m.count, 3).replace('.', ","), m.number % 2), thousandths;
        "set point that never moves" 9600 "8N1" 100 None,
            |m| format!("{} 25.000\r\n", sd(m.count, 3)), thousandths;
        "unit in front" 9600 "8N1" 100 Some("mm"),
            |m| format!("mm {}\r\n", sd(m.count, 3)), thousandths;
        "comment now and then" 9600 "8N1" 100 Some("cc"),
            |m| if m.number % 12 == 5 { "# ready\r\n".to_owned() } else { format!("{} cc\r\n", d(m.count, 2)) }, hundredths;
        "overload now and then" 9600 "8N1" 100 Some("Pa"),
            |m| if m.number % 15 == 9 { "OL Pa\r\n".to_owned() } else { format!("{} Pa\r\n", sd(m.count, 1)) }, tenths;
    }
}

fn framed_and_summed() -> Vec<Dialect> {
    dialects! {
        "STX, ETX" 9600 "8N1" 100 Some("mm"),
            |m| framed(&format!("{} mm", sd(m.count, 3))), thousandths;
        "STX, ETX, exclusive or" 9600 "8N1" 100 Some("g"),
            |m| { let mut b = framed(&format!("{} g", sd(m.count, 2))); b.push(xor(&b[1..])); b }, hundredths;
        "STX, ETX, hex sum" 19200 "8N1" 100 None,
            |m| { let mut b = framed(&sd(m.count, 3)); let s = format!("{:02X}", sum(&b[1..])); b.extend(s.bytes()); b }, thousandths;
        "star and hex exclusive or" 9600 "8N1" 100 Some("mm"),
            |m| { let b = format!("L,{},mm", sd(m.count, 3)); format!("${b}*{:02X}\r\n", xor(b.as_bytes())) }, thousandths;
        "hex sum without a sign" 9600 "8N1" 100 None,
            |m| { let b = format!("{} ", sd(m.count, 3)); format!("{b}{:02X}\r\n", sum(b.as_bytes())) }, thousandths;
        "decimal sum" 9600 "8N1" 100 None,
            |m| { let b = sd(m.count, 2); format!("{b};{:03}\r\n", sum(b.as_bytes())) }, hundredths;
        "CRC-16 in hex" 38400 "8N1" 50 Some("mm"),
            |m| { let b = format!("{} mm,", sd(m.count, 3)); format!("{b}{:04X}\r\n", crc::Crc::<u16>::new(&crc::CRC_16_MODBUS).checksum(b.as_bytes())) }, thousandths;
        "two probes that take turns, one at rest" 9600 "8N1" 50 None,
            |m| if m.number % 2 == 0 { format!("A{}\r\n", sd(m.count, 3)) } else { "B+01.250\r\n".to_owned() },
            |m| if m.number % 2 == 0 { thousandths(m) } else { f64::NAN };
    }
}

fn binary() -> Vec<Dialect> {
    dialects! {
        "thirteen digits as text" 9600 "8N1" 150 Some("mm"),
            |m| encode::bcd13(m.count, 2, false), hundredths;
        "thirteen digits in inches" 4800 "8N1" 200 Some("in"),
            |m| encode::bcd13(m.count, 4, true), |m| scaled(m.count, 10_000.0);
        "bytes: float and sum" 19200 "8N1" 30 None,
            |m| {
                let mut b = vec![0xA5, 0x5A];
                b.extend(f32::from(i16::try_from(m.count).unwrap()).to_le_bytes());
                b.push(sum(&b));
                b
            },
            |m| scaled(m.count, 1.0);
    }
}

/// Dialects whose bytes do not decide the field. They may be read wrongly, but never with
/// confidence.
pub(crate) fn ambiguous() -> Vec<Dialect> {
    let mut all = undecided();
    all.extend(crate::harder::untold());
    all
}

fn undecided() -> Vec<Dialect> {
    dialects! {
        "two readings that both move" 9600 "8N1" 100 None,
            |m| format!("{},{}\r\n", sd(m.count, 3), sd(m.other, 3)), thousandths;
        "implied decimals" 9600 "8N1" 100 None,
            |m| format!("{}{:07}\r\n", sign(m.count), m.count.abs()), thousandths;
        "two probes that take turns and both move" 9600 "8N1" 50 None,
            |m| format!("{}{}\r\n", if m.number % 2 == 0 { 'A' } else { 'B' }, sd(if m.number % 2 == 0 { m.count } else { m.other }, 3)), thousandths;
        "a capital that may be a unit" 9600 "8N1" 100 None,
            |m| format!("{} G\r\n", sd(m.count, 2)), hundredths;
        "a flag that looks like a unit" 9600 "8N1" 100 None,
            |m| format!("IN {}\r\n", sd(m.count, 3)), thousandths;
        "one reading in two units" 9600 "8N1" 100 None,
            |m| format!("{} mm {} in\r\n", sd(m.count, 3), sd(m.count * 10 / 254, 4)), thousandths;
        "a unit of two meanings" 9600 "8N1" 100 None,
            |m| format!("{} mil\r\n", sd(m.count, 3)), thousandths;
        "a lone counter" 9600 "8N1" 100 None,
            |m| format!("{}\r\n", m.number), |_| f64::NAN;
        "hex counts" 9600 "8N1" 100 None,
            |m| format!("{:06X}\r\n", m.count & 0xFF_FFFF), thousandths;
        "two columns of whole numbers at a comma" 9600 "8N1" 100 None,
            |m| format!("{},{}\r\n", m.count.abs(), 100 + m.other), |m| scaled(m.count.abs(), 1.0);
    }
}
