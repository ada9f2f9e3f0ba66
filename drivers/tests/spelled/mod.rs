//! Judges without the driver whether bytes spell a value. Each structure is looked for at every
//! position, with its checksum if it has one.

use benchhand_drivers::Sample;

/// Profiles whose frames carry a 16-bit CRC.
pub(crate) fn is_protected_by_crc(name: &str) -> bool {
    name.starts_with("modbus") || name.contains("crc16") || name == "counted-pressure-f32"
}

/// Whether `bytes` spell this sample's value somewhere.
pub(crate) fn spells(name: &str, bytes: &[u8], sample: &Sample) -> bool {
    let Some(value) = sample.value else {
        return true;
    };
    match name {
        "bcd13-length" | "bcd13-length-button" => {
            lines(bytes).any(|line| bcd13(&hex_digits(line)) == Some(value))
        }
        "bcd13-length-packed" => bytes.windows(7).any(|frame| {
            let nibbles: Vec<u8> = frame.iter().flat_map(|b| [b >> 4, b & 15]).collect();
            bcd13(&nibbles[..13]) == Some(value)
        }),
        "framed-length-xor" => bytes.windows(12).any(|frame| {
            let sound = frame[0] == 2
                && frame[10] == 3
                && frame[1..11].iter().fold(0, |sum, byte| sum ^ byte) == frame[11];
            sound && counted(&frame[1..8], 1000.0) == Some(value)
        }),
        "binary-length-i24" => bytes.windows(6).any(|frame| {
            let count = i32::from_le_bytes([0, frame[1], frame[2], frame[3]]) >> 8;
            sums_up(frame) && frame[0] == 0xAA && f64::from(count) / 1000.0 == value
        }),
        "bcd-pressure-lrc" => bytes.windows(7).any(|frame| {
            let sound = frame[0] == 2 && frame.iter().fold(0u8, |s, b| s.wrapping_add(*b)) == 0;
            let digits: String = frame[1..4].iter().map(|b| format!("{b:02x}")).collect();
            sound
                && digits
                    .parse::<f64>()
                    .is_ok_and(|count| count / 100.0 == value.abs())
        }),
        "hex-length" => lines(bytes).any(|line| {
            let Some((body, sum)) = line
                .strip_prefix(b"$")
                .and_then(|l| l.split_last_chunk::<3>())
            else {
                return false;
            };
            let check = format!("*{:02X}", body.iter().fold(0, |sum, byte| sum ^ byte));
            let count = std::str::from_utf8(&body[2.min(body.len())..])
                .ok()
                .and_then(|hex| i32::from_str_radix(hex, 16).ok())
                .map(|count| count << 8 >> 8);
            check.as_bytes().eq_ignore_ascii_case(sum)
                && count.map(|c| f64::from(c) / 1000.0) == Some(value)
        }),
        "exponent-pressure" => lines(bytes).any(|line| {
            let Some((body, sum)) = line.split_last_chunk::<4>() else {
                return false;
            };
            let check = format!(";{:03}", body.iter().fold(0u8, |s, b| s.wrapping_add(*b)));
            let found = std::str::from_utf8(body)
                .ok()
                .and_then(|text| text.parse::<f64>().ok());
            check.as_bytes() == sum && found == Some(value)
        }),
        "seven-bit-mass" => {
            let kept: Vec<u8> = bytes
                .iter()
                .map(|byte| {
                    if byte.count_ones() % 2 == 0 {
                        byte & 0x7F
                    } else {
                        b'#'
                    }
                })
                .collect();
            token_in_lines(&kept, value)
        }
        _ => token_in_lines(bytes, value),
    }
}

fn sums_up(frame: &[u8]) -> bool {
    let (last, rest) = frame.split_last().unwrap();
    rest.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)) == *last
}

fn lines(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    bytes.split(|byte| matches!(byte, b'\r' | b'\n'))
}

/// Whether the magnitude stands as digits in a line, with no digit before or behind it.
fn token_in_lines(bytes: &[u8], value: f64) -> bool {
    // A comma may be the decimal mark, or separate two columns.
    [b',', b' '].into_iter().any(|comma| {
        lines(bytes).any(|line| {
            let text: Vec<u8> = line
                .iter()
                .map(|byte| match byte {
                    b',' if comma == b',' => b'.',
                    b'0'..=b'9' | b'.' => *byte,
                    _ => b' ',
                })
                .collect();
            text.split(|byte| *byte == b' ').any(|token| {
                let whole = std::str::from_utf8(token).unwrap_or_default();
                whole.trim_matches('.').parse() == Ok(value.abs())
                    || whole.parse() == Ok(value.abs())
            })
        })
    })
}

fn counted(text: &[u8], per: f64) -> Option<f64> {
    Some(std::str::from_utf8(text).ok()?.parse::<f64>().ok()? / per)
}

fn hex_digits(line: &[u8]) -> Vec<u8> {
    line.iter()
        .map(|c| {
            char::from(*c)
                .to_digit(16)
                .map_or(99, |d| u8::try_from(d).unwrap())
        })
        .collect()
}

fn bcd13(digits: &[u8]) -> Option<f64> {
    if digits.len() != 13 || digits[..4] != [15; 4] || digits[5..].iter().any(|digit| *digit > 9) {
        return None;
    }
    let count = digits[5..11]
        .iter()
        .fold(0.0, |n, digit| n * 10.0 + f64::from(*digit));
    let value = count / 10f64.powi(i32::from(digits[11]));
    match digits[4] {
        0 => Some(value),
        8 => Some(0.0 - value),
        _ => None,
    }
}
