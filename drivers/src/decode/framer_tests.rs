//! The framer on bytes that come in pieces.

use super::*;
use crate::profile::model::{Escape, LengthField, LineEnd, Stretch};
use crate::profile::number::ByteOrder;

fn all(framer: &mut Framer, pieces: &[&[u8]]) -> Vec<String> {
    let mut seen = Vec::new();
    for piece in pieces {
        framer.push(piece, &mut |found| {
            seen.push(match found {
                Found::Frame(frame) => frame.escape_ascii().to_string(),
                Found::Skipped(bytes) => format!("skipped {bytes}"),
                Found::Mismatch { .. } => "mismatch".to_owned(),
            });
        });
    }
    seen
}

fn line(end: LineEnd, longest: usize) -> Framer {
    Framer::new(Framing::Line { end, longest }, None)
}

fn stx_etx(escape: Option<Escape>) -> Framer {
    let framing = Framing::Framed {
        start: vec![2],
        end: vec![3],
        escape,
        trailer: 0,
        longest: 32,
    };
    Framer::new(framing, None)
}

fn summed(length: usize) -> Framer {
    let checksum = Checksum {
        sum: crate::decode::checksum::ChecksumKind::Sum8,
        over: Stretch { from: 0, to: -1 },
        at: -1,
        written: Written::Raw(ByteOrder::BIG),
    };
    Framer::new(
        Framing::Fixed {
            length,
            sync: vec![(0, vec![0xAA])],
        },
        Some(checksum),
    )
}

#[test]
fn lines_end_with_cr_lf_or_both_and_blank_ones_are_nothing() {
    assert_eq!(
        all(
            &mut line(LineEnd::Any, 80),
            &[b"a\rb\nc\r\n\r\n", b"d", b"e\r"]
        ),
        ["a", "b", "c", "de"]
    );
    let end = LineEnd::Exactly(b"\r\n".to_vec());
    assert_eq!(
        all(&mut line(end, 80), &[b"a\rb\r\nc\r", b"\n"]),
        ["a\\rb", "c"]
    );
}

#[test]
fn a_flood_without_an_end_is_passed_over_and_holds_no_memory() {
    let mut framer = line(LineEnd::Any, 80);
    let flood = [b'x'; 10_000];
    for _ in 0..100 {
        framer.push(&flood, &mut |found| {
            assert!(matches!(found, Found::Skipped(_)))
        });
        assert!(framer.held() <= 80);
    }
    assert_eq!(all(&mut framer, &[b"x\r1.5\r"]).last().unwrap(), "1.5");
}

#[test]
fn a_cut_frame_gives_way_to_the_next_start() {
    assert_eq!(
        all(&mut stx_etx(None), &[b"x\x021.\x022.5\x03"]),
        ["skipped 4", "\\x022.5\\x03"]
    );
}

#[test]
fn escapes_are_undone() {
    let escape = Some(Escape { byte: 0x10, xor: 0 });
    let seen = all(&mut stx_etx(escape), &[b"\x02a\x10", b"\x03b\x10\x10\x03"]);
    assert_eq!(seen, ["\\x02a\\x03b\\x10\\x03"]);
    let flag = Framing::Framed {
        start: vec![0x7E],
        end: vec![0x7E],
        escape: Some(Escape {
            byte: 0x7D,
            xor: 0x20,
        }),
        trailer: 0,
        longest: 32,
    };
    let seen = all(&mut Framer::new(flag, None), &[b"~a}^b~~c~"]);
    assert_eq!(seen, ["~a~b~", "~c~"]);
}

#[test]
fn a_fixed_frame_is_found_again_after_a_lost_byte() {
    // 0xAA + 1 + 2 = 0xAD; the second frame lost a byte.
    let good = [0xAA, 1, 2, 0xAD];
    let mut bytes = good.to_vec();
    bytes.extend([0xAA, 1, 0xAD]);
    bytes.extend(good);
    bytes.extend(good);
    let seen = all(&mut summed(4), &[&bytes]);
    assert_eq!(seen[0], "\\xaa\\x01\\x02\\xad");
    assert_eq!(seen.iter().filter(|s| s.starts_with('\\')).count(), 3);
}

#[test]
fn a_counted_frame_says_its_length() {
    let count = LengthField {
        at: 1,
        len: 1,
        order: ByteOrder::BIG,
        adds: 2,
    };
    let framing = Framing::Counted {
        sync: vec![(0, vec![0x55])],
        count,
        longest: 16,
    };
    let seen = all(
        &mut Framer::new(framing, None),
        &[b"zU\x02ab", b"U\xFFU\x01c"],
    );
    assert_eq!(seen, ["skipped 1", "U\\x02ab", "skipped 2", "U\\x01c"]);
}

fn framers() -> Vec<Framer> {
    let count = LengthField {
        at: 1,
        len: 1,
        order: ByteOrder::BIG,
        adds: 2,
    };
    vec![
        line(LineEnd::Any, 12),
        line(LineEnd::Exactly(b"\r\n".to_vec()), 12),
        stx_etx(None),
        stx_etx(Some(Escape {
            byte: 0x10,
            xor: 0x20,
        })),
        summed(4),
        Framer::new(
            Framing::Counted {
                sync: vec![(0, vec![2])],
                count,
                longest: 9,
            },
            None,
        ),
    ]
}

proptest::proptest! {
    /// The result depends on the bytes alone, never on how they were split into reads.
    #[test]
    fn cuts_change_nothing(
        bytes in proptest::collection::vec(proptest::sample::select(vec![2u8, 3, 0x10, 1, 0xAA, 0xAD, b'\r', b'\n', b'7']), 0..300),
        cuts in proptest::collection::vec(0usize..300, 0..20),
    ) {
        for (mut whole, mut cut) in framers().into_iter().zip(framers()) {
            let mut ends: Vec<usize> = cuts.iter().map(|c| c % (bytes.len() + 1)).collect();
            ends.push(bytes.len());
            ends.sort_unstable();
            let mut from = 0;
            let pieces: Vec<&[u8]> = ends.iter().map(|to| {
                let piece = &bytes[from..*to];
                from = *to;
                piece
            }).collect();
            proptest::prop_assert_eq!(all(&mut whole, &[&bytes]), all(&mut cut, &pieces));
        }
    }
}
