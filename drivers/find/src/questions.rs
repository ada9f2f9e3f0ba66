//! The questions that make gauges answer. This module does not know how they are sent.

/// Questions that make gauges answer and change nothing in them. Those that end with CR LF come
/// last.
pub const QUESTIONS: [&[u8]; 16] = [
    b"?\r",
    b"\r",
    b"R\r",
    b"\x05",
    b"D\r",
    b"P\r",
    b"#01\r",
    b"?\r\n",
    b"W\r\n",
    b"SI\r\n",
    b"FETC?\r\n",
    b"READ?\r\n",
    b"MEAS?\r\n",
    b"P\r\n",
    b"S\r\n",
    b"Q\r\n",
];

/// The questions that may be sent, in the order of sending. The gauge's own questions come first.
pub(crate) fn in_order(own: &[Vec<u8>], usual_too: bool) -> Vec<Vec<u8>> {
    let usual = QUESTIONS.iter().filter(|_| usual_too);
    let own = own.iter().cloned();
    own.chain(usual.map(|question| question.to_vec())).collect()
}
