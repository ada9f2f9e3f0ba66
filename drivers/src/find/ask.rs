//! Asks a gauge that says nothing by itself, with questions that change nothing in it.

use std::time::{Duration, Instant};

use super::front::reads_as_text;
use super::search::{Progress, QUESTIONS, Search, SearchError};
use super::{Asked, Candidate, Heard, analyse};
use crate::line::{Format, Line};
use crate::transport::Transport;

/// An answer has ended when nothing came for so long.
const PAUSE: Duration = Duration::from_millis(60);

impl Search<'_, '_> {
    /// Asks at every speed until something answers.
    pub(super) fn ask(&mut self) -> Result<Vec<Candidate>, SearchError> {
        for format in [Format::N81, Format::E71] {
            for baud in self.speeds.clone() {
                let line = Line::new(baud, Format::N81);
                let mut port = (self.open)(&line)?;
                for question in QUESTIONS {
                    let bytes = dressed(question, format);
                    if format != Format::N81 && bytes == *question {
                        continue;
                    }
                    if let Some(heard) = self.answers(&mut *port, line, question, &bytes)? {
                        let found = analyse(std::slice::from_ref(&heard));
                        if !found.is_empty() {
                            return Ok(found);
                        }
                    }
                }
            }
        }
        self.ask_registers()
    }

    /// Asks one question, and if it is answered in text, some more times.
    fn answers(
        &mut self,
        port: &mut dyn Transport,
        line: Line,
        question: &[u8],
        bytes: &[u8],
    ) -> Result<Option<Heard>, SearchError> {
        const TIMES: usize = 8;
        (self.progress)(Progress::Asking(line, bytes.to_vec()));
        let asked = Asked {
            command: question.to_vec(),
            at_us: Vec::new(),
        };
        let mut heard = Heard {
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
            let patience = Instant::now() + Duration::from_millis(180);
            let mut last = None;
            while Instant::now() < patience || last.is_some_and(|l: Instant| l.elapsed() < PAUSE) {
                if self.read(port, &mut heard, Duration::from_millis(10))? > 0 {
                    last = Some(Instant::now());
                } else if last.is_some_and(|last| last.elapsed() >= PAUSE) {
                    break;
                }
            }
            let answered = heard.bytes().len() > before;
            if !answered || (time == 0 && !reads_as_text(&heard.bytes())) {
                return Ok(None);
            }
        }
        Ok(Some(heard))
    }
}

/// A question with the parity bits that a 7-bit gauge expects.
fn dressed(question: &[u8], format: Format) -> Vec<u8> {
    let masking = crate::decode::parity::Masking::new(format);
    question.iter().map(|byte| masking.dress(*byte)).collect()
}
