//! The rules of a profile, checked and typed, on which the decoder runs.
//!
//! The loader has checked these rules, so none contradicts another.

use crate::profile::number::{ByteOrder, DecimalRules, ScaleFactor};
use crate::profile::status_meaning::StatusMeaning;
use crate::unit::{QuantityKind, Unit};

/// How the gauge sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TalkMode {
    /// The gauge sends by itself, at its own pace.
    Stream,
    /// The gauge sends one answer to each question.
    Poll,
    /// The gauge sends when its button is pressed.
    Button,
}

/// The conversation around the frames.
#[derive(Debug, Clone)]
pub(crate) struct Talk {
    pub(crate) mode: TalkMode,
    pub(crate) period_us: Option<u64>,
    pub(crate) settle_us: u64,
    /// The question that asks for all channels.
    pub(crate) command: Option<Vec<u8>>,
    pub(crate) start: Vec<StartStep>,
    pub(crate) rules: AnswerRules,
}

/// A command sent after opening, with the answer that it must get.
#[derive(Debug, Clone)]
pub(crate) struct StartStep {
    pub(crate) send: Vec<u8>,
    pub(crate) expect: Vec<u8>,
    pub(crate) timeout_us: u64,
    pub(crate) retries: u32,
}

/// The bytes that surround the answer to a question.
#[derive(Debug, Clone)]
pub(crate) struct AnswerRules {
    pub(crate) timeout_us: u64,
    pub(crate) window_us: u64,
    pub(crate) retries: u32,
    pub(crate) echo: bool,
    pub(crate) acknowledge: Vec<u8>,
    pub(crate) refusal: Vec<u8>,
    pub(crate) thanks: Vec<u8>,
}

/// A question, and the form of its answer.
#[derive(Debug, Clone)]
pub(crate) struct PollQuestion {
    pub(crate) send: Vec<u8>,
    pub(crate) answer: PollAnswer,
}

/// The form of the answer to a question.
#[derive(Debug, Clone)]
pub(crate) enum PollAnswer {
    /// A frame as the profile describes it. It holds this channel, or all channels for `None`.
    Frame { channel: Option<u8> },
    /// A Modbus reply from this address with this function and this many bytes of registers.
    Registers {
        address: u8,
        function: u8,
        bytes: u8,
        layout: Box<Layout>,
    },
}

impl PollAnswer {
    /// Whether this answer could be mistaken for the other: frames always, Modbus replies if
    /// address, function and length are the same.
    pub(crate) fn could_be_taken_for(&self, other: &PollAnswer) -> bool {
        let shape = |answer: &PollAnswer| match answer {
            PollAnswer::Frame { .. } => None,
            PollAnswer::Registers {
                address,
                function,
                bytes,
                ..
            } => Some((*address, *function, *bytes)),
        };
        match (shape(self), shape(other)) {
            (Some(one), Some(another)) => one == another,
            _ => true,
        }
    }
}

/// Where frames begin and end.
#[derive(Debug, Clone)]
pub(crate) enum Framing {
    Line {
        end: LineEnd,
        longest: usize,
    },
    Framed {
        start: Vec<u8>,
        end: Vec<u8>,
        escape: Option<Escape>,
        trailer: usize,
        longest: usize,
    },
    Fixed {
        length: usize,
        sync: Vec<(usize, Vec<u8>)>,
    },
    Counted {
        sync: Vec<(usize, Vec<u8>)>,
        count: LengthField,
        longest: usize,
    },
    /// Frames are replies. The question determines their length.
    Replies,
}

/// What ends a line.
#[derive(Debug, Clone)]
pub(crate) enum LineEnd {
    /// CR, LF or both, in any order.
    Any,
    /// Exactly these bytes.
    Exactly(Vec<u8>),
}

/// A byte that makes the next one part of the content.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Escape {
    pub(crate) byte: u8,
    pub(crate) xor: u8,
}

/// A length that the frame itself states: the frame has `stated + adds` bytes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LengthField {
    pub(crate) at: usize,
    pub(crate) len: usize,
    pub(crate) order: ByteOrder,
    pub(crate) adds: i64,
}

/// A stretch of bytes. Numbers of 0 or more count from the start, numbers below 0 from the end. A
/// `to` of 0 is the end itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Stretch {
    pub(crate) from: i32,
    pub(crate) to: i32,
}

impl Stretch {
    pub(crate) const ALL: Stretch = Stretch { from: 0, to: 0 };

    /// The part of `whole` that this stretch covers, if it lies inside.
    pub(crate) fn of<'a>(&self, whole: &'a [u8]) -> Option<&'a [u8]> {
        whole.get(self.range(whole.len())?)
    }

    pub(crate) fn range(&self, length: usize) -> Option<std::ops::Range<usize>> {
        let length = i64::try_from(length).ok()?;
        let from = i64::from(self.from).checked_add(if self.from < 0 { length } else { 0 })?;
        let to = i64::from(self.to).checked_add(if self.to <= 0 { length } else { 0 })?;
        let (from, to) = (usize::try_from(from).ok()?, usize::try_from(to).ok()?);
        (from <= to && to <= usize::try_from(length).ok()?).then_some(from..to)
    }
}

/// A checksum, the bytes it covers, and how it is written.
#[derive(Debug, Clone)]
pub(crate) struct Checksum {
    pub(crate) sum: crate::decode::checksum::ChecksumKind,
    pub(crate) over: Stretch,
    pub(crate) at: i32,
    pub(crate) written: Written,
}

impl Checksum {
    /// Number of bytes that the checksum takes in the frame.
    pub(crate) fn len(&self) -> usize {
        match self.written {
            Written::Raw(_) => self.sum.bytes(),
            Written::Hex => self.sum.bytes().saturating_mul(2),
            Written::Decimal { digits } => digits,
        }
    }
}

/// How a checksum is written in the frame.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Written {
    Raw(ByteOrder),
    Hex,
    Decimal { digits: usize },
}

/// The form of the content, in which fields are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// Text; positions count bytes.
    Text,
    /// Bytes.
    Bytes,
    /// Pairs of hex digits, one byte for each pair.
    HexBytes,
    /// Hex digits, one nibble for each; positions count nibbles.
    HexDigits,
    /// Two nibbles a byte, the high one first; positions count nibbles.
    HighNibbles,
    /// Two nibbles a byte, the low one first; positions count nibbles.
    LowNibbles,
}

/// The fields of a frame.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    pub(crate) checksum: Option<Checksum>,
    pub(crate) content: Stretch,
    pub(crate) form: Form,
    pub(crate) columns: Option<Columns>,
    pub(crate) width: Option<usize>,
    pub(crate) ignore: Vec<Vec<u8>>,
    pub(crate) identifier: Option<Chooser<u8>>,
    pub(crate) statuses: Vec<StatusRule>,
    pub(crate) channels: Vec<Channel>,
}

/// How a text is split into columns.
#[derive(Debug, Clone)]
pub(crate) struct Columns {
    /// The separator. Empty for runs of blanks.
    pub(crate) separator: Vec<u8>,
    pub(crate) count: usize,
}

/// Where a field stands in the content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum FieldPlace {
    /// The one number of a text, with an optional label and unit.
    Whole,
    /// At this position, with this length.
    At { at: usize, len: usize },
    /// In this column, counted from 0.
    Column(usize),
    /// After this label.
    Label(Vec<u8>),
}

/// A field that chooses among some meanings.
#[derive(Debug, Clone)]
pub(crate) struct Chooser<T> {
    pub(crate) place: FieldPlace,
    pub(crate) by: By<T>,
}

/// How a field chooses.
#[derive(Debug, Clone)]
pub(crate) enum By<T> {
    Words(Vec<(Word, T)>),
    Bit { bit: u8, clear: T, set: T },
}

/// One thing that a field may hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Word {
    Text(Vec<u8>),
    Number(u64),
}

/// A status field, for one channel or for all of the frame.
#[derive(Debug, Clone)]
pub(crate) struct StatusRule {
    pub(crate) channel: Option<u8>,
    pub(crate) chooser: Chooser<StatusMeaning>,
}

/// One value of a frame.
#[derive(Debug, Clone)]
pub(crate) struct Channel {
    pub(crate) index: u8,
    pub(crate) place: FieldPlace,
    pub(crate) encoding: Encoding,
    pub(crate) scale: ScaleFactor,
    pub(crate) sign: Option<Chooser<bool>>,
    pub(crate) point: Option<FieldPlace>,
    pub(crate) unit: UnitRule,
    pub(crate) resolution: Option<PerUnit<f64>>,
    pub(crate) sentinels: Vec<(Sentinel, StatusMeaning)>,
    pub(crate) range: Option<PerUnit<(f64, f64)>>,
    pub(crate) largest_step: Option<PerUnit<f64>>,
}

/// How a number is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Encoding {
    Decimal(DecimalRules),
    Hex { signed: bool },
    Digits,
    Bcd(ByteOrder),
    Unsigned(ByteOrder),
    Signed(ByteOrder),
    SignMagnitude(ByteOrder),
    Float(ByteOrder),
}

/// What unit a channel's values have.
#[derive(Debug, Clone)]
pub(crate) struct UnitRule {
    /// The unit of a value that names none.
    pub(crate) default: Option<Unit>,
    pub(crate) sent: Sent,
}

/// How a gauge tells its unit.
#[derive(Debug, Clone)]
pub(crate) enum Sent {
    /// The gauge sends no unit, or always the same one.
    Never,
    /// The gauge sends the unit behind the number, as any known symbol for this kind of quantity.
    AnySymbol(QuantityKind),
    /// The gauge sends the unit behind the number, in words of its own.
    OwnWords(Vec<(Vec<u8>, Unit)>),
    /// The gauge sends the unit in a separate field.
    Field(Chooser<Unit>),
}

/// Something that may differ from unit to unit.
#[derive(Debug, Clone)]
pub(crate) struct PerUnit<T>(pub(crate) Vec<(Unit, T)>);

impl<T: Copy> PerUnit<T> {
    pub(crate) fn of(&self, unit: Unit) -> Option<T> {
        self.0
            .iter()
            .find(|(known, _)| *known == unit)
            .map(|(_, value)| *value)
    }
}

/// A content that stands for a status.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Sentinel {
    /// The field's text, without surrounding blanks.
    Text(Vec<u8>),
    /// The number before scaling.
    Count(i64),
    /// Any "not a number" or infinite float.
    NotANumber,
}
