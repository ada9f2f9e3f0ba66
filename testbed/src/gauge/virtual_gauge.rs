//! A virtual gauge at the far end of a pseudo-terminal. It honours the speed and format that the
//! port was opened with.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use benchhand_drivers::SerialSettings;
use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::transport::{LinkError, Transport};

use super::uart::garbled;

/// Makes the bytes of a gauge's `n`th frame or answer.
pub type GaugeFrames = Box<dyn FnMut(usize) -> Vec<u8> + Send>;

/// A virtual gauge whose true values are known.
pub struct VirtualGauge {
    /// The settings of the gauge's own line.
    pub line: SerialSettings,
    /// The period of the frames that the gauge sends by itself, and the frames.
    pub stream: Option<(Duration, GaugeFrames)>,
    /// Pairs of a question and the answers to it.
    pub answers: Vec<(Vec<u8>, GaugeFrames)>,
    /// Delay between a question and its answer.
    pub delay: Duration,
}

impl VirtualGauge {
    /// Runs the gauge at this end until it is stopped, then hangs up. If the port is open at
    /// another speed, both sides read what a real receiver would make of the bytes.
    ///
    /// # Errors
    /// The failure of the line.
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

    /// The bytes as the receiver reads them. `inward` for bytes that go to the gauge.
    fn through(&self, end: &PtyEnd, bytes: &[u8], inward: bool) -> Vec<u8> {
        let port = end.settings().unwrap_or(self.line);
        if inward {
            garbled(bytes, &port, &self.line)
        } else {
            garbled(bytes, &self.line, &port)
        }
    }

    /// The answer to the last bytes, if they are one of the gauge's questions.
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
            // Nobody reads the line, so the bytes are lost as on a real wire.
            Err(LinkError::Stuck) => {
                end.forget_unread();
                Ok(())
            }
            other => other,
        }
    }
}
