//! See `requests` in `daemon/wire/tests/fuzzed/mod.rs`.
#![no_main]

#[path = "../../daemon/wire/tests/fuzzed/mod.rs"]
#[allow(dead_code, reason = "each target plays one of them")]
mod fuzzed;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    fuzzed::requests(bytes);
});
