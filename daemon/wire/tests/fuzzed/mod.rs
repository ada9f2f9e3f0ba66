//! What holds whatever body a request has. `fuzz/` makes bodies up, and
//! `daemon/wire/tests/fuzz_corpus.rs` plays those that are kept.

use benchhand_wire::Ask;

/// How many types of request take a body.
macro_rules! taken_by {
    ($($ask:ident),* $(,)?) => {
        fn taken_by(body: &[u8]) -> usize {
            [$(taken::<benchhand_wire::$ask>(body)),*].into_iter().filter(|taken| *taken).count()
        }
    };
}

benchhand_wire::every_request!(taken_by);

/// A body as somebody sent it, to whatever path. Says whether any request takes it.
pub fn requests(bytes: &[u8]) -> bool {
    // An empty request takes what has no field, and is no news.
    taken_by(bytes) > 0 && bytes.trim_ascii() != b"{}"
}

/// A body that is taken is written and taken again as the same; another is refused in words.
fn taken<A: Ask>(body: &[u8]) -> bool {
    let ask: A = match serde_json::from_slice(body) {
        Ok(ask) => ask,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return false;
        }
    };
    let written = serde_json::to_value(&ask)
        .unwrap_or_else(|error| panic!("{}: what was taken is not written: {error}", A::PATH));
    let again: A = serde_json::from_value(written.clone())
        .unwrap_or_else(|error| panic!("{}: {written} is not taken again: {error}", A::PATH));
    let again = serde_json::to_value(&again).unwrap_or_default();
    assert_eq!(again, written, "{}", A::PATH);
    true
}
