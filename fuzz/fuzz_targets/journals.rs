//! See `journals` in `daemon/tests/fuzzed/mod.rs`.
#![no_main]

#[path = "../../daemon/tests/fuzzed/mod.rs"]
#[allow(dead_code, reason = "each target plays one of them")]
mod fuzzed;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    fuzzed::journals(bytes);
});
