//! The bytes that gauges of the shipped profiles send, for virtual gauges.
//!
//! These encoders share no code with the decoder, so one can check the other.

/// A line such as `+12.340 mm\r\n`: a count with its decimals and its sign, and the text behind
/// it.
#[must_use]
pub fn line(count: i64, decimals: usize, tail: &str) -> Vec<u8> {
    format!("{}{tail}\r\n", decimal(count, decimals, true)).into_bytes()
}

/// A count written with its decimals. `signed` adds a plus sign.
#[must_use]
pub fn decimal(count: i64, decimals: usize, signed: bool) -> String {
    let digits = format!("{:0width$}", count.unsigned_abs(), width = decimals + 1);
    let (whole, fraction) = digits.split_at(digits.len() - decimals);
    let sign = match (count < 0, signed) {
        (true, _) => "-",
        (false, true) => "+",
        (false, false) => "",
    };
    let point = if decimals > 0 { "." } else { "" };
    format!("{sign}{whole}{point}{fraction}")
}

/// The thirteen digits of a BCD gauge as text with CR: `FFFF`, sign, six digits, decimals, unit
/// (`inch` or millimetre). A count with more than six digits keeps its last six.
#[must_use]
pub fn bcd13(count: i64, decimals: u8, inch: bool) -> Vec<u8> {
    let sign = if count < 0 { 8 } else { 0 };
    let digits = count.unsigned_abs() % 1_000_000;
    format!("FFFF{sign}{digits:06}{}{}\r", decimals % 10, u8::from(inch)).into_bytes()
}

/// A Modbus RTU request for registers, as a master sends it.
#[must_use]
pub fn modbus_request(address: u8, function: u8, first: u16, registers: u16) -> Vec<u8> {
    let [a, b] = first.to_be_bytes();
    let [c, d] = registers.to_be_bytes();
    with_modbus_crc(vec![address, function, a, b, c, d])
}

/// A Modbus RTU reply that holds these registers' bytes, at most 250 of them.
#[must_use]
pub fn modbus_reply(address: u8, function: u8, registers: &[u8]) -> Vec<u8> {
    let mut bytes = vec![
        address,
        function,
        u8::try_from(registers.len()).unwrap_or(250),
    ];
    bytes.extend_from_slice(registers);
    with_modbus_crc(bytes)
}

/// A Modbus RTU refusal with an exception code.
#[must_use]
pub fn modbus_exception(address: u8, function: u8, code: u8) -> Vec<u8> {
    with_modbus_crc(vec![address, function | 0x80, code])
}

/// The CRC bit by bit, as "MODBUS over Serial Line V1.02", section 6.2.2, describes it.
fn with_modbus_crc(mut bytes: Vec<u8>) -> Vec<u8> {
    let mut crc = 0xFFFF_u16;
    for byte in &bytes {
        crc ^= u16::from(*byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 {
                crc >> 1 ^ 0xA001
            } else {
                crc >> 1
            };
        }
    }
    bytes.extend(crc.to_le_bytes());
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_what_the_gauges_are_known_to_send() {
        assert_eq!(line(1234, 4, " mm"), b"+0.1234 mm\r\n");
        assert_eq!(line(-5, 2, ""), b"-0.05\r\n");
        assert_eq!(bcd13(-12500, 3, true), b"FFFF801250031\r");
        // The published vector: bytes 02 07 give 0x1241, sent low byte first.
        assert_eq!(with_modbus_crc(vec![2, 7]), [2, 7, 0x41, 0x12]);
    }
}
