//! Makes the demo's streams from its scenario: signals, then the bytes that gauges of these
//! profiles would send. Seeded, so that it makes the same streams every time.

mod bytes;
mod crank;
mod pours;
mod rests;

use benchhand_drivers::stream::Stream;

/// One seed for all; the streams in the tree were made with it.
const SEED: u64 = 6;

/// Every stream of the demo: the name of its file, and what stands in it.
pub fn streams() -> Vec<(&'static str, Stream)> {
    vec![
        ("burette-chambers.ndjson", pours::chambers(SEED)),
        ("dial-deck-zero.ndjson", rests::deck_zero(SEED)),
        ("dial-deck.ndjson", crank::deck(SEED)),
        ("dial-crowns.ndjson", rests::crown_depths(SEED)),
        ("burette-crowns.ndjson", pours::crowns(SEED)),
        ("dial-gasket-zero.ndjson", rests::gasket_zero(SEED)),
        ("dial-gasket.ndjson", rests::gasket(SEED)),
        ("manometer-flow.ndjson", bytes::flow(SEED)),
    ]
}
