//! The words for the order of bytes in a number.

use crate::profile::document::Entry;
use crate::profile::error::Flaw;
use crate::profile::number::Order;

pub(super) fn order(entry: &Entry<'_>) -> Result<Order, Flaw> {
    const CDAB: Order = Order {
        high_byte_first: true,
        high_word_first: false,
    };
    const BADC: Order = Order {
        high_byte_first: false,
        high_word_first: true,
    };
    entry.choice(&[
        ("big", Order::BIG),
        ("little", Order::LITTLE),
        ("ABCD", Order::BIG),
        ("DCBA", Order::LITTLE),
        ("CDAB", CDAB),
        ("BADC", BADC),
    ])
}
