//! Channels and status fields as they are loaded, with what only the loader needs.

use std::ops::Range;

use crate::profile::ChannelInfo;
use crate::profile::model::{Channel, StatusRule};

/// A channel with what only the loader needs.
pub(super) struct Draft {
    pub(super) channel: Channel,
    pub(super) info: ChannelInfo,
    pub(super) span: Range<usize>,
    pub(super) id: Option<(Vec<u8>, Range<usize>)>,
    pub(super) command: Option<Vec<u8>>,
    pub(super) register: Option<Register>,
}

/// The place of a Modbus value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Register {
    pub(super) address: u8,
    pub(super) function: u8,
    pub(super) first: u16,
    pub(super) count: u16,
}

impl Register {
    /// The number behind the last register.
    pub(super) fn end(&self) -> u32 {
        u32::from(self.first).saturating_add(u32::from(self.count))
    }
}

/// How a number is written.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Type {
    Decimal,
    Hex,
    HexSigned,
    Digits,
    Bcd,
    Unsigned(usize),
    Signed(usize),
    SignMagnitude(usize),
    Float(usize),
}

/// The words for the types of number.
pub(super) const TYPES: &[(&str, Type)] = &[
    ("decimal", Type::Decimal),
    ("hex", Type::Hex),
    ("hex-signed", Type::HexSigned),
    ("digits", Type::Digits),
    ("bcd", Type::Bcd),
    ("u8", Type::Unsigned(1)),
    ("u16", Type::Unsigned(2)),
    ("u24", Type::Unsigned(3)),
    ("u32", Type::Unsigned(4)),
    ("u64", Type::Unsigned(8)),
    ("i8", Type::Signed(1)),
    ("i16", Type::Signed(2)),
    ("i24", Type::Signed(3)),
    ("i32", Type::Signed(4)),
    ("i64", Type::Signed(8)),
    ("sm8", Type::SignMagnitude(1)),
    ("sm16", Type::SignMagnitude(2)),
    ("sm24", Type::SignMagnitude(3)),
    ("sm32", Type::SignMagnitude(4)),
    ("f32", Type::Float(4)),
    ("f64", Type::Float(8)),
];

impl Type {
    /// Number of bytes that a number of this type takes, if the type fixes it.
    pub(super) fn bytes(self) -> Option<usize> {
        match self {
            Type::Unsigned(n) | Type::Signed(n) | Type::SignMagnitude(n) | Type::Float(n) => {
                Some(n)
            }
            _ => None,
        }
    }

    pub(super) fn is_text(self) -> bool {
        matches!(self, Type::Decimal | Type::Hex | Type::HexSigned)
    }
}

/// A status field with what only the loader needs.
pub(super) struct StatusDraft {
    pub(super) rule: StatusRule,
    pub(super) span: Range<usize>,
    pub(super) register: Option<Register>,
}
