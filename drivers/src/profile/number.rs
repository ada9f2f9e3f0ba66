//! How numbers are written: marks and digits in text, the order of bytes.

/// The rules for a decimal number in text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DecimalRules {
    /// The mark before the decimals.
    pub mark: DecimalMark,
    /// Exact number of decimals behind a mark.
    pub decimals: Option<u8>,
    /// Number of decimals in a number without a mark.
    pub implied: Option<u8>,
    /// Exact number of digits.
    pub digits: Option<u8>,
    /// An exponent may follow.
    pub exponent: bool,
    /// Blanks may stand between sign and digits.
    pub blanks: bool,
    /// The character that separates thousands. It stands before groups of exactly three digits,
    /// before the mark.
    pub grouping: Option<u8>,
}

/// What separates a number's decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalMark {
    /// A point.
    Point,
    /// A comma.
    Comma,
    /// Point or comma.
    Either,
}

/// Order of bytes in a number: within each 16-bit word, and among the words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ByteOrder {
    /// Whether the high byte of each word comes first.
    pub high_byte_first: bool,
    /// Whether the high word comes first.
    pub high_word_first: bool,
}

impl ByteOrder {
    /// Highest byte first.
    pub const BIG: ByteOrder = ByteOrder {
        high_byte_first: true,
        high_word_first: true,
    };
    /// Lowest byte first.
    pub const LITTLE: ByteOrder = ByteOrder {
        high_byte_first: false,
        high_word_first: false,
    };
}

/// An exact decimal factor: `mantissa / 10^decimals`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScaleFactor {
    /// The digits as a whole number.
    pub mantissa: u32,
    /// Number of decimals among the digits.
    pub decimals: u8,
}

impl ScaleFactor {
    /// A factor of 1.
    pub const ONE: ScaleFactor = ScaleFactor {
        mantissa: 1,
        decimals: 0,
    };
}
