//! How a profile says that numbers are written: marks and digits in text, the order of bytes.

/// What a decimal number may look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DecimalRules {
    /// What parts the decimals.
    pub mark: Mark,
    /// Exactly so many decimals behind a mark.
    pub decimals: Option<u8>,
    /// No mark, and so many of the digits are decimals.
    pub implied: Option<u8>,
    /// Exactly so many digits.
    pub digits: Option<u8>,
    /// An exponent may follow.
    pub exponent: bool,
    /// Blanks may stand between sign and digits.
    pub blanks: bool,
    /// Parts thousands: stands before groups of exactly three digits, before the mark.
    pub grouping: Option<u8>,
}

/// What separates a number's decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A point.
    Point,
    /// A comma.
    Comma,
    /// Point or comma.
    Either,
}

/// Order of bytes in a number: within a 16-bit word, and of the words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Order {
    /// Within a word the high byte comes first.
    pub high_byte_first: bool,
    /// The high word comes first.
    pub high_word_first: bool,
}

impl Order {
    /// Highest byte first.
    pub const BIG: Order = Order {
        high_byte_first: true,
        high_word_first: true,
    };
    /// Lowest byte first.
    pub const LITTLE: Order = Order {
        high_byte_first: false,
        high_word_first: false,
    };
}

/// An exact decimal factor: `mantissa / 10^decimals`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// The digits as a whole number.
    pub mantissa: u32,
    /// How many of them are decimals.
    pub decimals: u8,
}

impl Scale {
    /// A factor of 1.
    pub const ONE: Scale = Scale {
        mantissa: 1,
        decimals: 0,
    };
}
