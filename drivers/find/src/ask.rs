//! Asks a gauge that does not send by itself. The questions change nothing in the gauge.

use std::time::{Duration, Instant};

use crate::analysis::analyse;
use crate::candidate::{ProfileCandidate, SURE};
use crate::front::reads_as_text;
use crate::heard::{AskedQuestion, HeardBytes};
use crate::search::{Search, SearchError, SearchProgress};
use benchhand_drivers::serial_settings::{SerialFormat, SerialSettings};
use benchhand_drivers::transport::Transport;

/// An answer has ended if nothing came for this long.
const PAUSE: Duration = Duration::from_millis(60);

impl Search<'_, '_> {
    /// Asks at every speed until something answers.
    pub(crate) fn ask(&mut self) -> Result<Vec<ProfileCandidate>, SearchError> {
        for format in [SerialFormat::N81, SerialFormat::E71] {
            for baud in self.speeds.clone() {
                let line = SerialSettings::new(baud, SerialFormat::N81);
                let mut port = (self.open)(&line)?;
                let mut all: Vec<ProfileCandidate> = Vec::new();
                // Bytes sent at other speeds must not stand before the first question, nor a
                // question that waits for its line feed before the next one.
                self.clear(&mut *port, format)?;
                let mut cleared = true;
                for question in self.questions.clone() {
                    let bytes = dressed(&question, format);
                    if format != SerialFormat::N81 && bytes == question {
                        continue;
                    }
                    if question.ends_with(b"\r\n") && !cleared {
                        self.clear(&mut *port, format)?;
                        cleared = true;
                    }
                    cleared &= question.ends_with(b"\n");
                    if let Some(heard) = self.answers(&mut *port, line, &question, &bytes)? {
                        all.extend(analyse(std::slice::from_ref(&heard)));
                    }
                    // An answer may be an identity or an error with digits in it, so the other
                    // questions are asked too.
                    if all.iter().any(|best| best.confidence >= SURE) {
                        break;
                    }
                }
                if !all.is_empty() {
                    all.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
                    return Ok(all);
                }
            }
        }
        match self.registers {
            true => self.ask_registers(),
            false => Ok(Vec::new()),
        }
    }

    /// Ends a line whose end the gauge may still expect, and ignores the answer.
    fn clear(&mut self, port: &mut dyn Transport, format: SerialFormat) -> Result<(), SearchError> {
        const GO_BY: Duration = Duration::from_millis(100);
        self.checked()?;
        port.write(&dressed(b"\r\n", format))?;
        let mut until = Instant::now() + GO_BY;
        let end = until + 4 * GO_BY;
        let mut buffer = [0; 256];
        while Instant::now() < until {
            if port.read(&mut buffer, Duration::from_millis(10))? > 0 {
                until = end.min(Instant::now() + PAUSE);
            }
        }
        Ok(())
    }

    /// Asks one question. If the answer is text, asks it several more times.
    fn answers(
        &mut self,
        port: &mut dyn Transport,
        line: SerialSettings,
        question: &[u8],
        bytes: &[u8],
    ) -> Result<Option<HeardBytes>, SearchError> {
        const TIMES: usize = 8;
        (self.progress)(SearchProgress::Asking(line, bytes.to_vec()));
        let asked = AskedQuestion {
            command: question.to_vec(),
            at_us: Vec::new(),
        };
        let mut heard = HeardBytes {
            line,
            reads: Vec::new(),
            asked: Some(asked),
        };
        for time in 0..TIMES {
            port.drain()?;
            port.write(bytes)?;
            let now = self.now_us();
            if let Some(asked) = &mut heard.asked {
                asked.at_us.push(now);
            }
            let before = heard.bytes().len();
            let reads = heard.reads.len();
            let patience = Instant::now() + Duration::from_millis(180);
            let mut last = None;
            while Instant::now() < patience || last.is_some_and(|l: Instant| l.elapsed() < PAUSE) {
                if self.read(port, &mut heard, Duration::from_millis(10))? > 0 {
                    last = Some(Instant::now());
                } else if last.is_some_and(|last| last.elapsed() >= PAUSE) {
                    break;
                }
            }
            drop_prompt(&mut heard.reads[reads..]);
            let answered = heard.bytes().len() > before;
            if !answered || (time == 0 && !reads_as_text(&heard.bytes())) {
                return Ok(None);
            }
        }
        Ok(Some(heard))
    }
}

/// Removes a prompt behind the last line of an answer. It is not part of the answer, and the
/// driver drains it before it asks again.
fn drop_prompt(answer: &mut [(u64, Vec<u8>)]) {
    let bytes: Vec<u8> = answer.iter().flat_map(|(_, b)| b.iter().copied()).collect();
    let is_end = |byte: &u8| matches!(byte & 0x7F, b'\r' | b'\n');
    let Some(end) = bytes.iter().rposition(is_end) else {
        return;
    };
    let prompt = &bytes[end + 1..];
    if prompt.len() > 4 || prompt.iter().any(|byte| (byte & 0x7F).is_ascii_digit()) {
        return;
    }
    let mut left = prompt.len();
    for (_, read) in answer.iter_mut().rev() {
        let cut = left.min(read.len());
        read.truncate(read.len() - cut);
        left -= cut;
    }
}

/// The question with the parity bits that a 7-bit gauge expects.
fn dressed(question: &[u8], format: SerialFormat) -> Vec<u8> {
    let masking = benchhand_drivers::decode::parity::ParityMasking::new(format);
    question.iter().map(|byte| masking.dress(*byte)).collect()
}
