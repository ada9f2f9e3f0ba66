//! Invented dialects that were once refused, read wrongly, or claimed without reason.

use benchhand_drivers::SerialSettings;

use crate::dialects::{
    Dialect, Moment, d, dialects, hundredths, scaled, sd, sign, thousandths, xor,
};

/// A number from some hundreds to some thousands, in hundredths.
fn large(m: Moment) -> i64 {
    100_000 + (m.count - 4_345) * 4
}

/// A number whose thousands are separated by `by`.
fn grouped(count: i64, by: &str) -> String {
    let (whole, rest) = (count / 100, count % 100);
    if whole < 1000 {
        format!("{whole}.{rest:02}")
    } else {
        format!("{}{by}{:03}.{rest:02}", whole / 1000, whole % 1000)
    }
}

/// Joins text and bytes beyond ASCII.
fn joined(parts: &[&[u8]]) -> Vec<u8> {
    parts.concat()
}

/// A frame whose check digits are sometimes wrong.
fn badly_summed(m: Moment) -> String {
    let text = format!("VAL,{},mm", sd(m.count, 3));
    let wrong = u8::from(m.number % 25 == 11);
    format!("${text}*{:02X}\r\n", xor(text.as_bytes()) ^ wrong)
}

/// Whether the gauge rests. It then shows that by its unit.
fn rests(m: Moment) -> bool {
    m.number % 7 < 3
}

/// Dialects whose bytes decide field and unit.
pub(crate) fn told() -> Vec<Dialect> {
    dialects! {
        "a control byte before each line" 9600 "8N1" 100 Some("mm"),
            |m| format!("\x11{} mm\r\n", sd(m.count, 3)), thousandths;
        "zero bytes before each line" 9600 "8N1" 100 Some("mm"),
            |m| format!("\0\0\0{} mm\r\n", sd(m.count, 3)), thousandths;
        "SOH to EOT" 9600 "8N1" 100 None,
            |m| format!("\x01{}\x04", sd(m.count, 3)), thousandths;
        "ends with a zero byte" 9600 "8N1" 100 None,
            |m| format!("{}{:08.3}\0", sign(m.count), thousandths(m).abs()), thousandths;
        "thousands parted by a comma" 9600 "8N1" 100 Some("g"),
            |m| format!("{} g\r\n", grouped(large(m), ",")), |m| scaled(large(m), 100.0);
        "thousands parted by an apostrophe" 9600 "8N1" 100 Some("g"),
            |m| format!("{} g\r\n", grouped(large(m), "'")), |m| scaled(large(m), 100.0);
        "micro sign as one byte" 9600 "8N1" 100 Some("um"),
            |m| joined(&[sd(m.count, 1).as_bytes(), b" \xB5m\r\n"]), |m| scaled(m.count, 10.0);
        "micro sign as two bytes" 9600 "8N1" 100 Some("um"),
            |m| format!("{} \u{B5}m\r\n", sd(m.count, 1)), |m| scaled(m.count, 10.0);
        "square sign" 9600 "8N1" 100 None,
            |m| joined(&[d(m.count, 2).as_bytes(), b" mm\xB2\r\n"]), hundredths;
        "a unit of two with a blank" 9600 "8N1" 100 None,
            |m| format!("{} in lb\r\n", d(m.count, 2)), hundredths;
        "a unit of two with a hyphen" 9600 "8N1" 100 None,
            |m| format!("{} in-lb\r\n", d(m.count, 2)), hundredths;
        "a unit of two with a point" 9600 "8N1" 100 None,
            |m| format!("{} oz.in\r\n", d(m.count, 2)), hundredths;
        "overrange as a status before nines" 9600 "8N1" 100 Some("g"),
            |m| if m.number % 12 > 8 { "OL,+9999.99,  g\r\n".to_owned() } else {
                format!("{},{},  g\r\n", if m.number % 3 == 0 { "US" } else { "ST" }, sd(m.count, 2))
            }, hundredths;
        "errors with a number" 9600 "8N1" 100 None,
            |m| if m.number % 9 == 7 { "ERR 03\r\n".to_owned() } else { format!("{}\r\n", sd(m.count, 3)) }, thousandths;
        "the battery on a line of its own" 9600 "8N1" 100 Some("mm"),
            |m| if m.number % 6 == 4 { "   3.710 V\r\n".to_owned() } else { format!("{} mm\r\n", sd(m.count, 3)) }, thousandths;
        "braces and blanks" 115_200 "8N1" 100 None,
            |m| format!("{{\"value\": {}, \"unit\": \"mm\", \"stable\": {}}}\n", d(m.count, 3), m.number % 2 == 0), thousandths;
        "quoted columns, a digit in the name" 9600 "8N1" 100 Some("mm"),
            |m| format!("\"gauge 4\",\"{}\",\"mm\"\r\n", d(m.count, 3)), thousandths;
        "angle brackets" 19_200 "8N1" 100 None,
            |m| format!("<m><v>{}</v><u>mm</u></m>\r\n", d(m.count, 3)), thousandths;
        "unit in a column before the value" 9600 "8N1" 100 Some("mm"),
            |m| format!("01;mm;{};OK\r\n", sd(m.count, 3)), thousandths;
        "unit only where it rests" 9600 "8N1" 100 Some("g"),
            |m| format!("{:>9} {}\r\n", d(m.count, 2), if rests(m) { "g  " } else { "   " }), hundredths;
        "a wrong sum now and then" 9600 "8N1" 100 Some("mm"),
            |m| badly_summed(m), thousandths;
        "minus behind the number" 9600 "8N1" 100 Some("mm"),
            |m| format!("{}{} mm\r\n", d(m.count.abs(), 2), if m.count < 0 { '-' } else { ' ' }), hundredths;
        "low byte first, the upper one at rest" 9600 "8N1" 50 None,
            |m| { let mut b = vec![0xA5]; b.extend(within_a_byte(m).to_le_bytes()); b.push(xor(&b)); b },
            |m| f64::from(within_a_byte(m));
        "high byte first and at rest" 9600 "8N1" 50 None,
            |m| { let mut b = vec![0xA5]; b.extend(within_a_byte(m).to_be_bytes()); b.push(xor(&b)); b },
            |m| f64::from(within_a_byte(m));
    }
}

/// Counts that move in their lower byte alone.
fn within_a_byte(m: Moment) -> i16 {
    0x0210 + i16::try_from((m.count + 8_000) / 125).unwrap()
}

/// Dialects that may be read wrongly, but never with confidence.
pub(crate) fn untold() -> Vec<Dialect> {
    dialects! {
        "a letter for the sign" 9600 "8N1" 100 None,
            |m| format!("{}{}\r\n", if m.count < 0 { 'N' } else { 'P' }, d(m.count.abs(), 2)), hundredths;
        "a word for the sign" 9600 "8N1" 100 None,
            |m| format!("{} {}\r\n", if m.count < 0 { "MINUS" } else { "PLUS" }, d(m.count.abs(), 2)), hundredths;
        "brackets for minus" 9600 "8N1" 100 None,
            |m| if m.count < 0 { format!("({})\r\n", d(-m.count, 2)) } else { format!(" {} \r\n", d(m.count, 2)) }, hundredths;
        "feet and inches" 9600 "8N1" 100 None,
            |m| format!("{}' {:05.2}\"\r\n", m.count.abs() / 1200, hundredths(m).abs() % 12.0), |_| f64::NAN;
        "pounds and ounces" 9600 "8N1" 100 None,
            |m| format!("{} lb {:5.2} oz\r\n", m.count.abs() / 1600, hundredths(m).abs() % 16.0), |_| f64::NAN;
        "two channels that nothing tells apart" 9600 "8N1" 50 None,
            |m| if m.number % 2 == 0 { "21.50\r\n".to_owned() } else { format!("{}\r\n", d(m.count - 30_000, 2)) }, |_| f64::NAN;
        "digits the other way round" 9600 "8N1" 100 None,
            |m| { let text: String = format!("{:06.2}", hundredths(m).abs()).chars().rev().collect(); format!("={text}\r\n") }, |_| f64::NAN;
        "a name and a version" 9600 "8N1" 100 None,
            |_m| "MODEL 1234-56 REV 2.01\r\n".to_owned(), |_| f64::NAN;
        "a number that never moves" 9600 "8N1" 100 None,
            |_m| "+012.345\r\n".to_owned(), |_| f64::NAN;
        "at rest beside a temperature that wavers" 9600 "8N1" 100 None,
            |m| format!("4.100 {}\r\n", d(2_148 + m.other % 7, 2)), |_| 4.1;
        "three labelled numbers, the unit behind the fixed one" 9600 "8N1" 100 None,
            |m| format!("G {} N {} T 100.00 g\r\n", d(m.count + 10_000, 2), d(m.count, 2)), |m| scaled(m.count + 10_000, 100.0);
        "a known unit and an unknown one take turns" 9600 "8N1" 100 None,
            |m| if m.number / 11 % 2 == 0 { format!("{} mm\r\n", sd(m.count, 3)) } else { format!("{} cm\r\n", sd(m.count / 10, 3)) }, thousandths;
        "thirteen digits with nibbles swapped" 4800 "8N1" 100 None,
            |m| {
                let text = format!("FFFF{}{:06}200", if m.count < 0 { 8 } else { 0 }, m.count.abs());
                let digit = |c: u8| u8::try_from(char::from(c).to_digit(16).unwrap_or(0)).unwrap_or(0);
                text.as_bytes().chunks(2).map(|pair| digit(pair[0]) | digit(pair[1]) << 4).collect::<Vec<u8>>()
            }, |_| f64::NAN;
    }
}

/// The bytes that a port hears first if it is opened in the middle of a frame: the rest of the
/// frame, shifted by some bits.
pub(crate) fn out_of_step(frame: &[u8]) -> Vec<u8> {
    let rest = &frame[frame.len() / 3..];
    rest.windows(2)
        .map(|pair| pair[0] >> 3 | pair[1] << 5 | 0x80)
        .collect()
}
