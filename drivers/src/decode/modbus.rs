//! Modbus RTU: requests, and replies found by their expected length and CRC.
//!
//! "MODBUS Application Protocol Specification V1.1b3", sections 6.3, 6.4 and 7; "MODBUS over
//! Serial Line V1.02", section 2.5.1. Gaps between bytes mean nothing here: over USB they are
//! the adapter's, not the gauge's.

use super::checksum::modbus as crc;

/// Address, function, length and CRC around the registers of a reply.
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

/// The shape of the reply that is waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expected {
    /// Who is asked.
    pub address: u8,
    /// The function that was asked for.
    pub function: u8,
    /// Bytes of registers in the reply.
    pub bytes: u8,
}

/// What the bytes so far are.
#[derive(Debug, PartialEq, Eq)]
pub enum Reply {
    /// Nothing whole yet.
    NeedMore,
    /// The registers stand at this range of the bytes; so many bytes before it were noise.
    Registers {
        /// Where they stand.
        at: std::ops::Range<usize>,
        /// Bytes before the reply.
        noise: usize,
    },
    /// The gauge refused with this exception code.
    Exception {
        /// The code, see [`exception`].
        code: u8,
    },
    /// A whole sound reply of another shape: an answer to another question.
    Other {
        /// Bytes up to its end.
        taken: usize,
    },
    /// A reply of the right shape whose CRC does not fit.
    Corrupt {
        /// The CRC of its bytes.
        computed: u16,
        /// The CRC that it states.
        stated: u16,
    },
}

/// How many more bytes can be taken at once without anything becoming whole before the last.
pub(crate) fn step(seen: &[u8], expected: Expected) -> usize {
    let header = [expected.address, expected.function, expected.bytes];
    let whole = usize::from(expected.bytes) + AROUND;
    if seen.len() < whole && seen.first_chunk() == Some(&header) {
        whole - seen.len()
    } else {
        1
    }
}

/// Looks for a reply in `seen`, from its front. A caller that hands bytes on one at a time gets
/// the same answer as one that hands on all of them.
#[must_use]
pub fn find(seen: &[u8], expected: Expected) -> Reply {
    let whole = usize::from(expected.bytes) + AROUND;
    let header = [expected.address, expected.function, expected.bytes];
    // The usual case: the reply has begun and is on its way.
    let begun = match seen.first_chunk() {
        Some(three) => *three == header,
        None => header.starts_with(seen),
    };
    if seen.len() < whole && begun {
        return Reply::NeedMore;
    }
    for start in 0..seen.len() {
        let rest = &seen[start..];
        let [address, function, third, ..] = *rest else {
            break;
        };
        if rest.len() >= AROUND && function & 0x80 != 0 && sound(&rest[..AROUND]) {
            let mine = address == expected.address && function & 0x7F == expected.function;
            return if mine {
                Reply::Exception { code: third }
            } else {
                Reply::Other {
                    taken: start + AROUND,
                }
            };
        }
        let length = usize::from(third) + AROUND;
        if !matches!(function, 3 | 4)
            || third == 0
            || rest.len() < length
            || !sound(&rest[..length])
        {
            continue;
        }
        let shape = Expected {
            address,
            function,
            bytes: third,
        };
        if shape != expected {
            return Reply::Other {
                taken: start + length,
            };
        }
        return Reply::Registers {
            at: start + 3..start + length - 2,
            noise: start,
        };
    }
    if seen.starts_with(&header) && seen.len() >= whole {
        let stated = u16::from_le_bytes([seen[whole - 2], seen[whole - 1]]);
        return Reply::Corrupt {
            computed: crc(&seen[..whole - 2]),
            stated,
        };
    }
    Reply::NeedMore
}

fn sound(frame: &[u8]) -> bool {
    let (body, stated) = frame.split_at(frame.len() - 2);
    crc(body).to_le_bytes() == stated
}

/// An exception code in words (section 7).
#[must_use]
pub fn exception(code: u8) -> String {
    let meaning = match code {
        1 => "it does not know this function: try the other register table",
        2 => "it has no such register: check the register number",
        3 => "it does not take this number of registers",
        4 => "it failed while answering",
        5 => "it needs time",
        6 => "it is busy",
        8 => "its memory failed a parity check",
        10 | 11 => "a gateway cannot reach it",
        _ => "a code of its own",
    };
    format!("Modbus exception {code}: {meaning}")
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXPECTED: Expected = Expected {
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
            assert_eq!(find(&seen[..length], EXPECTED), Reply::NeedMore, "{length}");
        }
        assert_eq!(
            find(&seen, EXPECTED),
            Reply::Registers {
                at: 5..11,
                noise: 2
            }
        );
    }

    #[test]
    fn another_question_s_reply_an_exception_and_a_corrupt_one_are_told_apart() {
        let other = with_crc(vec![0x12, 3, 6, 0, 1, 0, 2, 0, 3]);
        assert_eq!(find(&other, EXPECTED), Reply::Other { taken: 11 });
        let refusal = with_crc(vec![0x11, 0x83, 2]);
        assert_eq!(find(&refusal, EXPECTED), Reply::Exception { code: 2 });
        let mut corrupt = reply();
        corrupt[4] ^= 0x10;
        assert!(matches!(find(&corrupt, EXPECTED), Reply::Corrupt { .. }));
    }

    proptest::proptest! {
        #[test]
        fn random_bytes_never_panic(seen: Vec<u8>) {
            let _ = find(&seen, EXPECTED);
        }
    }
}
