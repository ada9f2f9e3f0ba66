//! Checksums over bytes.
//!
//! This module computes checksums. It does not know where they stand in a frame.

use std::num::NonZeroU32;

use crc::{Algorithm, Crc};

/// How a checksum is computed.
#[derive(Debug, Clone, Copy)]
pub enum ChecksumKind {
    /// Sum modulo 256.
    Sum8,
    /// Sum modulo 65,536.
    Sum16,
    /// Two's complement of the sum modulo 256 (the LRC of Modbus ASCII).
    Lrc,
    /// One's complement of the sum modulo 256.
    Inverted,
    /// Exclusive or (the longitudinal parity of ISO 1155).
    Xor,
    /// Sum modulo any number up to 65,536.
    Modulo(NonZeroU32),
    /// A cyclic redundancy check of 8 bits, of the `crc` crate's catalogue.
    Crc8(&'static Algorithm<u8>),
    /// A cyclic redundancy check of 16 bits.
    Crc16(&'static Algorithm<u16>),
    /// A cyclic redundancy check of 32 bits.
    Crc32(&'static Algorithm<u32>),
}

/// Every checksum that a profile can name.
pub const NAMED: &[(&str, ChecksumKind)] = &[
    ("sum8", ChecksumKind::Sum8),
    ("sum16", ChecksumKind::Sum16),
    ("lrc", ChecksumKind::Lrc),
    ("sum8-inverted", ChecksumKind::Inverted),
    ("xor", ChecksumKind::Xor),
    ("crc-8/smbus", ChecksumKind::Crc8(&crc::CRC_8_SMBUS)),
    ("crc-8/maxim-dow", ChecksumKind::Crc8(&crc::CRC_8_MAXIM_DOW)),
    ("crc-8/nrsc-5", ChecksumKind::Crc8(&crc::CRC_8_NRSC_5)),
    ("crc-8/sae-j1850", ChecksumKind::Crc8(&crc::CRC_8_SAE_J1850)),
    ("crc-8/rohc", ChecksumKind::Crc8(&crc::CRC_8_ROHC)),
    ("crc-8/i-432-1", ChecksumKind::Crc8(&crc::CRC_8_I_432_1)),
    ("crc-8/autosar", ChecksumKind::Crc8(&crc::CRC_8_AUTOSAR)),
    ("crc-8/cdma2000", ChecksumKind::Crc8(&crc::CRC_8_CDMA2000)),
    ("crc-8/wcdma", ChecksumKind::Crc8(&crc::CRC_8_WCDMA)),
    ("crc-16/modbus", ChecksumKind::Crc16(&crc::CRC_16_MODBUS)),
    ("crc-16/arc", ChecksumKind::Crc16(&crc::CRC_16_ARC)),
    ("crc-16/usb", ChecksumKind::Crc16(&crc::CRC_16_USB)),
    (
        "crc-16/ibm-3740",
        ChecksumKind::Crc16(&crc::CRC_16_IBM_3740),
    ),
    (
        "crc-16/ibm-sdlc",
        ChecksumKind::Crc16(&crc::CRC_16_IBM_SDLC),
    ),
    ("crc-16/xmodem", ChecksumKind::Crc16(&crc::CRC_16_XMODEM)),
    ("crc-16/kermit", ChecksumKind::Crc16(&crc::CRC_16_KERMIT)),
    (
        "crc-16/spi-fujitsu",
        ChecksumKind::Crc16(&crc::CRC_16_SPI_FUJITSU),
    ),
    ("crc-16/genibus", ChecksumKind::Crc16(&crc::CRC_16_GENIBUS)),
    (
        "crc-16/maxim-dow",
        ChecksumKind::Crc16(&crc::CRC_16_MAXIM_DOW),
    ),
    ("crc-16/mcrf4xx", ChecksumKind::Crc16(&crc::CRC_16_MCRF4XX)),
    ("crc-16/dnp", ChecksumKind::Crc16(&crc::CRC_16_DNP)),
    (
        "crc-16/en-13757",
        ChecksumKind::Crc16(&crc::CRC_16_EN_13757),
    ),
    ("crc-16/umts", ChecksumKind::Crc16(&crc::CRC_16_UMTS)),
    (
        "crc-32/iso-hdlc",
        ChecksumKind::Crc32(&crc::CRC_32_ISO_HDLC),
    ),
    ("crc-32/bzip2", ChecksumKind::Crc32(&crc::CRC_32_BZIP2)),
    ("crc-32/mpeg-2", ChecksumKind::Crc32(&crc::CRC_32_MPEG_2)),
    ("crc-32/iscsi", ChecksumKind::Crc32(&crc::CRC_32_ISCSI)),
    ("crc-32/cksum", ChecksumKind::Crc32(&crc::CRC_32_CKSUM)),
    ("crc-32/jamcrc", ChecksumKind::Crc32(&crc::CRC_32_JAMCRC)),
];

impl ChecksumKind {
    /// The checksum of these bytes.
    #[must_use]
    pub fn of(self, bytes: &[u8]) -> u32 {
        let total = || {
            bytes
                .iter()
                .fold(0u32, |sum, byte| sum.wrapping_add(u32::from(*byte)))
        };
        match self {
            ChecksumKind::Sum8 => total() & 0xFF,
            ChecksumKind::Sum16 => total() & 0xFFFF,
            ChecksumKind::Lrc => total().wrapping_neg() & 0xFF,
            ChecksumKind::Inverted => !total() & 0xFF,
            ChecksumKind::Xor => u32::from(bytes.iter().fold(0u8, |sum, byte| sum ^ byte)),
            ChecksumKind::Modulo(modulus) => total() % modulus,
            ChecksumKind::Crc8(algorithm) => {
                u32::from(Crc::<u8, crc::NoTable>::new(algorithm).checksum(bytes))
            }
            ChecksumKind::Crc16(algorithm) if std::ptr::eq(algorithm, &crc::CRC_16_MODBUS) => {
                u32::from(MODBUS.checksum(bytes))
            }
            ChecksumKind::Crc16(algorithm) => {
                u32::from(Crc::<u16, crc::NoTable>::new(algorithm).checksum(bytes))
            }
            ChecksumKind::Crc32(algorithm) => {
                Crc::<u32, crc::NoTable>::new(algorithm).checksum(bytes)
            }
        }
    }

    /// Number of bytes that the checksum takes if it is written raw.
    #[must_use]
    pub fn bytes(self) -> usize {
        match self {
            ChecksumKind::Sum8
            | ChecksumKind::Lrc
            | ChecksumKind::Inverted
            | ChecksumKind::Xor
            | ChecksumKind::Crc8(_) => 1,
            ChecksumKind::Modulo(modulus) if modulus.get() <= 256 => 1,
            ChecksumKind::Sum16 | ChecksumKind::Modulo(_) | ChecksumKind::Crc16(_) => 2,
            ChecksumKind::Crc32(_) => 4,
        }
    }
}

/// The CRC of Modbus RTU. It has a table, because every reply is checked with it.
static MODBUS: Crc<u16> = Crc::<u16>::new(&crc::CRC_16_MODBUS);

/// The CRC of Modbus RTU. Modbus sends it with the low byte first.
pub(crate) fn modbus(bytes: &[u8]) -> u16 {
    MODBUS.checksum(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modbus_crc_gives_the_published_vectors() {
        // "MODBUS over Serial Line Specification and Implementation Guide V1.02", section 6.2.2:
        // the frame 02 07 ends with 41 12, low byte first.
        assert_eq!(modbus(&[0x02, 0x07]), 0x1241);
        // The check value of the catalogue of parametrised CRC algorithms (G. Cook).
        assert_eq!(modbus(b"123456789"), 0x4B37);
    }

    /// Check values over "123456789" from the catalogue of parametrised CRC algorithms (G. Cook),
    /// where the names are the same.
    #[test]
    fn named_crcs_give_their_catalogue_check_values() {
        for (name, check) in [
            ("crc-8/smbus", 0xF4),
            ("crc-8/maxim-dow", 0xA1),
            ("crc-8/nrsc-5", 0xF7),
            ("crc-8/sae-j1850", 0x4B),
            ("crc-8/rohc", 0xD0),
            ("crc-16/modbus", 0x4B37),
            ("crc-16/arc", 0xBB3D),
            ("crc-16/usb", 0xB4C8),
            ("crc-16/ibm-3740", 0x29B1),
            ("crc-16/xmodem", 0x31C3),
            ("crc-16/kermit", 0x2189),
            ("crc-16/ibm-sdlc", 0x906E),
            ("crc-16/genibus", 0xD64E),
            ("crc-16/dnp", 0xEA82),
            ("crc-32/iso-hdlc", 0xCBF4_3926),
            ("crc-32/bzip2", 0xFC89_1918),
            ("crc-32/mpeg-2", 0x0376_E6E7),
            ("crc-32/cksum", 0x765E_7680),
        ] {
            let sum = NAMED.iter().find(|(known, _)| *known == name).unwrap().1;
            assert_eq!(sum.of(b"123456789"), check, "{name}");
        }
    }

    #[test]
    fn plain_sums_follow_their_definitions() {
        // Computed by hand: 0x41 + 0xF0 + 0x02 = 0x133; 0x41 ^ 0xF0 ^ 0x02 = 0xB3.
        let bytes = [0x41, 0xF0, 0x02];
        assert_eq!(ChecksumKind::Sum8.of(&bytes), 0x33);
        assert_eq!(ChecksumKind::Sum16.of(&bytes), 0x133);
        assert_eq!(ChecksumKind::Lrc.of(&bytes), 0xCD);
        assert_eq!(ChecksumKind::Inverted.of(&bytes), 0xCC);
        assert_eq!(ChecksumKind::Xor.of(&bytes), 0xB3);
        let hundred = NonZeroU32::new(100).unwrap();
        assert_eq!(ChecksumKind::Modulo(hundred).of(&bytes), 7);
    }
}
