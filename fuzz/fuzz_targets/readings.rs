//! See `readings` in `blueprint/tests/fuzzed/mod.rs`.
#![no_main]

#[path = "../../blueprint/tests/fuzzed/mod.rs"]
#[allow(dead_code, reason = "each target plays one of them")]
mod fuzzed;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    fuzzed::readings(bytes);
});
