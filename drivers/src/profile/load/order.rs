//! The words for the order of bytes in a number.

use crate::profile::document::Entry;
use crate::profile::error::Flaw;
use crate::profile::number::ByteOrder;

pub(super) fn order(entry: &Entry<'_>) -> Result<ByteOrder, Flaw> {
    const CDAB: ByteOrder = ByteOrder {
        high_byte_first: true,
        high_word_first: false,
    };
    const BADC: ByteOrder = ByteOrder {
        high_byte_first: false,
        high_word_first: true,
    };
    entry.choice(&[
        ("big", ByteOrder::BIG),
        ("little", ByteOrder::LITTLE),
        ("ABCD", ByteOrder::BIG),
        ("DCBA", ByteOrder::LITTLE),
        ("CDAB", CDAB),
        ("BADC", BADC),
    ])
}
