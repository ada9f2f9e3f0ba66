//! No driver of a shipped profile panics, whatever bytes come and whenever. Every sample has a
//! finite value, a resolution above 0 and the time of the read that completed it.

use benchhand_drivers::{Decoded, DriverOptions, JoinPoint, NextAction, ProfileRegistry};
use proptest::prelude::*;

/// Bytes that occur in frames, mixed with any others.
fn bytes() -> impl Strategy<Value = Vec<u8>> {
    let telling =
        b"+-0123456789.,;:=*$FLMIST g\r\n~}?\x02\x03\x05\x06\x15\xAA\xFF\x55\x01\x04\x08".to_vec();
    let one = prop_oneof![6 => proptest::sample::select(telling), 1 => any::<u8>()];
    proptest::collection::vec(one, 0..40)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_that_a_line_carries_upsets_a_driver(
        reads in proptest::collection::vec((bytes(), 0u64..400_000), 1..40),
        at_start: bool,
    ) {
        let joined = if at_start { JoinPoint::AtStart } else { JoinPoint::Midway };
        for profile in ProfileRegistry::builtin().profiles() {
            let mut driver = profile.driver(DriverOptions { joined, address: None });
            let mut now = 0;
            for (read, pause) in &reads {
                now += pause;
                for _ in 0..8 {
                    match driver.next(now) {
                        NextAction::Wait { until_us } => prop_assert!(until_us > now, "{}", profile.name()),
                        NextAction::Listen => {}
                        NextAction::Drain | NextAction::Send(_) => continue,
                    }
                    break;
                }
                let mut out = Vec::new();
                driver.receive(now, read, &mut out);
                for decoded in out {
                    let Decoded::Sample(sample) = decoded else { continue };
                    prop_assert_eq!(sample.at_us, now);
                    prop_assert!(sample.resolution > 0.0);
                    prop_assert!(sample.value.is_none_or(f64::is_finite));
                    prop_assert!(usize::from(sample.channel) < profile.channels().len());
                    prop_assert_eq!(sample.unit.kind(), profile.channels()[usize::from(sample.channel)].kind);
                }
            }
            driver.restart();
        }
    }
}
