//! A virtual gauge at the far end of a pseudo-terminal, which honours the speed and format that
//! the port was opened with.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use benchhand_drivers::SerialSettings;
use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::transport::{LinkError, Transport};

use super::uart::garbled;

/// What a gauge says: the bytes of its `n`th frame or answer.
pub type GaugeFrames = Box<dyn FnMut(usize) -> Vec<u8> + Send>;

/// A gauge with truth behind it.
pub struct VirtualGauge {
    /// How it sets its own line.
    pub line: SerialSettings,
    /// What it sends by itself, and how often.
    pub stream: Option<(Duration, GaugeFrames)>,
    /// What it answers to which question.
    pub answers: Vec<(Vec<u8>, GaugeFrames)>,
    /// How long it thinks about a question.
    pub delay: Duration,
}

impl VirtualGauge {
    /// Lives at this end until it is stopped, then hangs up. A port that is open at another
    /// speed reads what a receiver would make of it, and is misunderstood in the same way.
    ///
    /// # Errors
    /// The line failed.
    pub fn live(mut self, mut end: PtyEnd, stop: &AtomicBool) -> Result<(), LinkError> {
        let began = Instant::now();
        let mut sent = 0;
        let mut answered = vec![0; self.answers.len()];
        let mut heard: Vec<u8> = Vec::new();
        let mut buffer = [0; 256];
        while !stop.load(Ordering::Acquire) {
            let due = self.stream.as_ref().map(|(period, _)| *period * (sent + 1));
            let wait = due.map_or(Duration::from_millis(5), |due| {
                due.saturating_sub(began.elapsed())
                    .min(Duration::from_millis(5))
            });
            let count = end.read(&mut buffer, wait)?;
            if count > 0 {
                heard.extend(self.through(&end, &buffer[..count], true));
                if let Some(bytes) = self.answer(&mut heard, &mut answered) {
                    std::thread::sleep(self.delay);
                    self.put(&mut end, &bytes)?;
                }
            }
            if due.is_some_and(|due| began.elapsed() >= due)
                && let Some((_, say)) = &mut self.stream
            {
                let bytes = say(usize::try_from(sent).unwrap_or(0));
                sent += 1;
                self.put(&mut end, &bytes)?;
            }
        }
        Ok(())
    }

    /// Bytes as the receiver reads them; `inward` for those that go to the gauge.
    fn through(&self, end: &PtyEnd, bytes: &[u8], inward: bool) -> Vec<u8> {
        let port = end.settings().unwrap_or(self.line);
        if inward {
            garbled(bytes, &port, &self.line)
        } else {
            garbled(bytes, &self.line, &port)
        }
    }

    /// The answer to the question that was heard last, if it is one of the gauge's.
    fn answer(&mut self, heard: &mut Vec<u8>, answered: &mut [usize]) -> Option<Vec<u8>> {
        let at = self
            .answers
            .iter()
            .position(|(question, _)| heard.ends_with(question))?;
        heard.clear();
        answered[at] += 1;
        Some((self.answers[at].1)(answered[at] - 1))
    }

    fn put(&self, end: &mut PtyEnd, bytes: &[u8]) -> Result<(), LinkError> {
        let bytes = self.through(end, bytes, false);
        match end.write(&bytes) {
            // Nobody reads: a wire forgets what it carried.
            Err(LinkError::Stuck) => {
                end.forget_unread();
                Ok(())
            }
            other => other,
        }
    }
}
