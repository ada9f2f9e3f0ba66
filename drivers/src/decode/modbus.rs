//! Modbus RTU: requests, and replies found by their expected length and CRC.
//!
//! Sources: "MODBUS Application Protocol Specification V1.1b3", sections 6.3, 6.4 and 7; "MODBUS
//! over Serial Line V1.02", section 2.5.1. Gaps between bytes are ignored, because over USB the
//! adapter makes them, not the gauge.

use super::checksum::modbus as crc;

/// Number of bytes around the registers of a reply: address, function, length and CRC.
const AROUND: usize = 5;

/// A request to read registers, CRC included.
#[must_use]
pub fn request(address: u8, function: u8, first: u16, registers: u16) -> Vec<u8> {
    let mut bytes = vec![address, function];
    bytes.extend(first.to_be_bytes());
    bytes.extend(registers.to_be_bytes());
    bytes.extend(crc(&bytes).to_le_bytes());
    bytes
}

/// The shape of the expected reply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExpectedReply {
    /// Address of the gauge that was asked.
    pub address: u8,
    /// Function of the request.
    pub function: u8,
    /// Number of register bytes in the reply.
    pub bytes: u8,
}

/// The result of looking for a reply in the bytes received so far.
#[derive(Debug, PartialEq, Eq)]
pub enum ModbusReply {
    /// No whole reply yet.
    NeedMore,
    /// A sound reply.
    Registers {
        /// Range of the register bytes.
        at: std::ops::Range<usize>,
        /// Number of bytes of noise before the reply.
        noise: usize,
    },
    /// The gauge refused with this exception code.
    Exception {
        /// The exception code; see [`exception`].
        code: u8,
    },
    /// A whole sound reply of another shape: an answer to another question.
    Other {
        /// Number of bytes up to the end of that reply.
        taken: usize,
    },
    /// A reply of the right shape whose CRC does not fit.
    Corrupt {
        /// The CRC computed from the bytes.
        computed: u16,
        /// The CRC that the reply states.
        stated: u16,
    },
}

/// Number of further bytes that can be taken at once without completing a reply before the last of
/// them.
pub(crate) fn step(seen: &[u8], expected: ExpectedReply) -> usize {
    let header = [expected.address, expected.function, expected.bytes];
    let whole = usize::from(expected.bytes) + AROUND;
    match whole.checked_sub(seen.len()) {
        Some(missing @ 1..) if seen.first_chunk() == Some(&header) => missing,
        _ => 1,
    }
}

/// Looks for a reply in `seen`, from its front. The result is the same if the bytes come one at a
/// time.
#[must_use]
pub fn find(seen: &[u8], expected: ExpectedReply) -> ModbusReply {
    let whole = usize::from(expected.bytes) + AROUND;
    let header = [expected.address, expected.function, expected.bytes];
    // The usual case: the reply has begun and is still coming.
    let begun = match seen.first_chunk() {
        Some(three) => *three == header,
        None => header.starts_with(seen),
    };
    if seen.len() < whole && begun {
        return ModbusReply::NeedMore;
    }
    for start in 0..seen.len() {
        let Some(rest @ &[address, function, third, ..]) = seen.get(start..) else {
            break;
        };
        if function & 0x80 != 0 && rest.get(..AROUND).is_some_and(sound) {
            let mine = address == expected.address && function & 0x7F == expected.function;
            return if mine {
                ModbusReply::Exception { code: third }
            } else {
                ModbusReply::Other {
                    taken: start.saturating_add(AROUND),
                }
            };
        }
        let length = usize::from(third) + AROUND;
        if !matches!(function, 3 | 4) || third == 0 || !rest.get(..length).is_some_and(sound) {
            continue;
        }
        let shape = ExpectedReply {
            address,
            function,
            bytes: third,
        };
        if shape != expected {
            return ModbusReply::Other {
                taken: start.saturating_add(length),
            };
        }
        let from = start.saturating_add(header.len());
        return ModbusReply::Registers {
            at: from..from.saturating_add(usize::from(third)),
            noise: start,
        };
    }
    if seen.starts_with(&header)
        && let Some((body, stated)) = seen.get(..whole).and_then(<[u8]>::split_last_chunk)
    {
        return ModbusReply::Corrupt {
            computed: crc(body),
            stated: u16::from_le_bytes(*stated),
        };
    }
    ModbusReply::NeedMore
}

fn sound(frame: &[u8]) -> bool {
    frame
        .split_last_chunk()
        .is_some_and(|(body, stated)| crc(body).to_le_bytes() == *stated)
}

/// The words for an exception code (section 7).
#[must_use]
pub fn exception(code: u8) -> String {
    let meaning = match code {
        1 => "the gauge does not know this function: try the other register table",
        2 => "the gauge has no such register: check the register number",
        3 => "the gauge does not take this number of registers",
        4 => "the gauge failed while answering",
        5 => "it needs time",
        6 => "it is busy",
        8 => "the gauge's memory failed a parity check",
        10 | 11 => "a gateway cannot reach the gauge",
        _ => "a code of its own",
    };
    format!("Modbus exception {code}: {meaning}")
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXPECTED: ExpectedReply = ExpectedReply {
        address: 0x11,
        function: 3,
        bytes: 6,
    };

    fn with_crc(mut bytes: Vec<u8>) -> Vec<u8> {
        bytes.extend(crc(&bytes).to_le_bytes());
        bytes
    }

    fn reply() -> Vec<u8> {
        // The example of the application protocol, section 6.3 (registers 108 to 110).
        with_crc(vec![0x11, 3, 6, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64])
    }

    #[test]
    fn a_request_is_the_specification_s_example_with_its_crc() {
        let bytes = request(0x11, 3, 0x006B, 3);
        assert_eq!(bytes[..6], [0x11, 0x03, 0x00, 0x6B, 0x00, 0x03]);
        // Published for this request in many a Modbus tutorial: 76 87.
        assert_eq!(bytes[6..], [0x76, 0x87]);
    }

    #[test]
    fn a_reply_is_found_behind_noise_and_not_before_it_is_whole() {
        let mut seen = vec![0x00, 0xFF];
        seen.extend(reply());
        for length in 0..seen.len() {
            assert_eq!(
                find(&seen[..length], EXPECTED),
                ModbusReply::NeedMore,
                "{length}"
            );
        }
        assert_eq!(
            find(&seen, EXPECTED),
            ModbusReply::Registers {
                at: 5..11,
                noise: 2
            }
        );
    }

    #[test]
    fn another_question_s_reply_an_exception_and_a_corrupt_one_are_told_apart() {
        let other = with_crc(vec![0x12, 3, 6, 0, 1, 0, 2, 0, 3]);
        assert_eq!(find(&other, EXPECTED), ModbusReply::Other { taken: 11 });
        let refusal = with_crc(vec![0x11, 0x83, 2]);
        assert_eq!(find(&refusal, EXPECTED), ModbusReply::Exception { code: 2 });
        let mut corrupt = reply();
        corrupt[4] ^= 0x10;
        assert!(matches!(
            find(&corrupt, EXPECTED),
            ModbusReply::Corrupt { .. }
        ));
    }

    proptest::proptest! {
        #[test]
        fn random_bytes_never_panic(seen: Vec<u8>) {
            let _ = find(&seen, EXPECTED);
        }
    }
}
