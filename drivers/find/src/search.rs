//! Tries line settings on a port, listens, and asks if that is allowed.
//!
//! The search takes real time. [`crate::analyse`] interprets the bytes.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::analysis::analyse;
use crate::candidate::{ProfileCandidate, SURE};
use crate::front::{behind_a_rest, hope, text_was_heard};
use crate::heard::HeardBytes;
use crate::questions;
use crate::speeds::{FIRST_WORD, first_word, hint, next_speed, votes};
use benchhand_drivers::serial_settings::{SerialFormat, SerialSettings};
use benchhand_drivers::transport::{LinkError, OpenError, Transport};

/// Speeds in bits per second, in the order in which they are tried: the usual ones first.
pub const SPEEDS: [u32; 8] = [9600, 115_200, 19_200, 38_400, 57_600, 4800, 2400, 1200];

/// Options of a search.
#[derive(Debug, Clone)]
pub struct SearchOptions {
    /// Whether questions may be sent to a gauge that says nothing by itself.
    pub allow_queries: bool,
    /// Questions that the gauge's manual names, sent before any other. Where there are some, they
    /// may be sent whatever `allow_queries` says.
    pub questions: Vec<Vec<u8>>,
    /// Time for listening at all settings together. Asking takes extra time.
    pub listen: Duration,
    /// The speeds to try, in this order.
    pub speeds: Vec<u32>,
}

impl Default for SearchOptions {
    fn default() -> Self {
        Self {
            allow_queries: false,
            questions: Vec::new(),
            listen: Duration::from_millis(9_500),
            speeds: SPEEDS.to_vec(),
        }
    }
}

/// The progress of a search, for display.
#[derive(Debug, Clone)]
pub enum SearchProgress {
    /// The search listens at these settings.
    Listening(SerialSettings),
    /// This many bytes in all came at these settings.
    Heard(SerialSettings, usize),
    /// The search asks this question at these settings.
    Asking(SerialSettings, Vec<u8>),
    /// The surest candidate so far.
    Likely(Box<ProfileCandidate>),
}

/// Why nothing was found.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SearchError {
    /// The port cannot be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The line was lost.
    #[error("the line was lost while it was listened to: {0}; plug the gauge in again and repeat")]
    Link(#[from] LinkError),
    /// Nothing was heard at any setting.
    #[error(
        "nothing was heard at any speed; is the gauge switched on and does it send? press its data button, or allow questions: --allow-queries, or --ask with the one that its manual names"
    )]
    Silent,
    /// Nothing was heard, and no question was answered.
    #[error(
        "nothing was heard, and no question was answered at any speed; is the gauge switched on, and is this its port? --ask sends the question that its manual names"
    )]
    Mute,
    /// The heard bytes fit no profile.
    #[error(
        "{bytes} bytes were heard that read as nothing at any speed; keep the capture, and write a profile from the gauge's manual"
    )]
    Unreadable {
        /// Number of heard bytes.
        bytes: usize,
    },
    /// The caller stopped the search.
    #[error("stopped")]
    Stopped,
}

/// Opens the port with the given settings.
pub type LineOpener<'a> = dyn FnMut(&SerialSettings) -> Result<Box<dyn Transport>, OpenError> + 'a;

/// Searches until the bytes leave no doubt or the time is up. The surest candidate comes first.
///
/// # Errors
/// Why nothing was found.
pub fn search(
    open: &mut LineOpener<'_>,
    options: &SearchOptions,
    stop: &AtomicBool,
    progress: &mut dyn FnMut(SearchProgress),
) -> Result<Vec<ProfileCandidate>, SearchError> {
    let began = Instant::now();
    let mut search = Search {
        open,
        stop,
        progress,
        speeds: options.speeds.clone(),
        questions: questions::in_order(&options.questions, options.allow_queries),
        registers: options.allow_queries,
        began,
        until: began + options.listen,
    };
    let mut heard = search.pass()?;
    if heard.iter().all(|heard| heard.reads.is_empty())
        && let Some(slow) = search.wait_for_a_slow_one(&heard)?
    {
        heard = vec![slow];
    }
    let bytes: usize = heard.iter().map(|heard| heard.bytes().len()).sum();
    if bytes == 0 && search.questions.is_empty() {
        return Err(SearchError::Silent);
    }
    // A gauge that sends by itself is not asked. Its profile must read what it sends.
    let found = if bytes > 0 {
        search.settle(heard)?
    } else {
        search.ask()?
    };
    match (found.is_empty(), bytes) {
        (false, _) => Ok(found),
        (true, 0) => Err(SearchError::Mute),
        (true, bytes) => Err(SearchError::Unreadable { bytes }),
    }
}

pub(crate) struct Search<'a, 'b> {
    pub(crate) open: &'a mut LineOpener<'b>,
    stop: &'a AtomicBool,
    pub(crate) speeds: Vec<u32>,
    pub(crate) questions: Vec<Vec<u8>>,
    /// Whether registers may be asked for as well.
    pub(crate) registers: bool,
    pub(crate) progress: &'a mut dyn FnMut(SearchProgress),
    began: Instant,
    until: Instant,
}

/// Time for listening to nonsense before the next settings are tried.
const NONSENSE: Duration = Duration::from_millis(250);
/// Number of bytes that suffice to tell text from nonsense.
const ENOUGH: usize = 12;

impl Search<'_, '_> {
    pub(crate) fn now_us(&self) -> u64 {
        u64::try_from(self.began.elapsed().as_micros()).unwrap_or(u64::MAX)
    }

    pub(crate) fn checked(&self) -> Result<(), SearchError> {
        if self.stop.load(Ordering::Acquire) {
            Err(SearchError::Stopped)
        } else {
            Ok(())
        }
    }

    /// Reads for at most `wait` and appends the bytes to `heard`.
    pub(crate) fn read(
        &mut self,
        port: &mut dyn Transport,
        heard: &mut HeardBytes,
        wait: Duration,
    ) -> Result<usize, SearchError> {
        self.checked()?;
        let mut buffer = [0; 1024];
        let count = port.read(&mut buffer, wait.min(Duration::from_millis(40)))?;
        if count > 0 {
            heard.reads.push((self.now_us(), buffer[..count].to_vec()));
            (self.progress)(SearchProgress::Heard(heard.line, heard.bytes().len()));
        }
        Ok(count)
    }

    /// Listens briefly at every speed, the likeliest first, and stays at a speed where text is
    /// heard. A port that was opened in the middle of a frame hears nonsense even at the right
    /// speed. So speeds at which something was heard are tried again for longer.
    fn pass(&mut self) -> Result<Vec<HeardBytes>, SearchError> {
        let mut all: Vec<HeardBytes> = Vec::new();
        let mut left: Vec<u32> = self.speeds.clone();
        while !left.is_empty() {
            let hint = all.iter().rev().find_map(hint);
            let baud = left.remove(next_speed(&left, hint));
            let patience = first_word(&all, hint);
            let heard = self.listen(baud, patience, NONSENSE)?;
            if heard.1 {
                return Ok(vec![heard.0]);
            }
            all.push(heard.0);
        }
        // If most speeds heard nothing, the gauge is slow and needs a longer wait.
        let unheard = all.iter().filter(|heard| heard.reads.is_empty()).count();
        if unheard > 2 {
            return Ok(all);
        }
        // The last third of the time is kept for frames without text.
        let bytes: usize = all.iter().map(|heard| heard.bytes().len()).sum();
        let text_until = if bytes < 30 * ENOUGH {
            self.until - FIRST_WORD
        } else {
            self.until - self.until.saturating_duration_since(self.began) / 3
        };
        let mut again: Vec<usize> = (0..all.len())
            .filter(|at| {
                // Bytes after an idle time of the line were judged with certainty.
                let judged = behind_a_rest(&all[*at]) >= ENOUGH && hope(&all[*at]) < 0.7;
                all[*at].bytes().len() > 3 && !judged
            })
            .collect();
        let hopes: Vec<f64> = all
            .iter()
            .map(|one| hope(one) + 0.25 * votes(&all, one.line.baud))
            .collect();
        again.sort_by(|a, b| hopes[*b].total_cmp(&hopes[*a]));
        for at in again {
            if Instant::now() >= text_until {
                break;
            }
            let (heard, text) = self.listen(all[at].line.baud, FIRST_WORD, 4 * NONSENSE)?;
            if text {
                return Ok(vec![heard]);
            }
            all[at] = heard;
        }
        Ok(all)
    }

    /// Listens at one speed. The flag says that the bytes read as text and that the search
    /// listened long enough.
    fn listen(
        &mut self,
        baud: u32,
        patience: Duration,
        nonsense: Duration,
    ) -> Result<(HeardBytes, bool), SearchError> {
        let line = SerialSettings::new(baud, SerialFormat::N81);
        (self.progress)(SearchProgress::Listening(line));
        let mut port = (self.open)(&line)?;
        let mut heard = HeardBytes {
            line,
            reads: Vec::new(),
            asked: None,
        };
        let began = Instant::now();
        let mut first = None;
        loop {
            // A slow gauge sends little at a time. If its bytes read as text so far, the search
            // waits for more.
            let so_far = text_was_heard(&heard);
            let text = so_far && heard.bytes().len() >= ENOUGH;
            let quiet = first.is_none() && began.elapsed() > patience;
            let since = first.map(|first: Instant| first.elapsed());
            // Bytes after an idle time of the line decide at once.
            let bad = !so_far
                && since.is_some_and(|since| {
                    since > nonsense || since > NONSENSE && behind_a_rest(&heard) >= ENOUGH
                });
            if quiet || bad {
                return Ok((heard, false));
            }
            if text {
                let reads = self.stay(&mut *port, &mut heard)?;
                return Ok((heard, reads));
            }
            if self.read(&mut *port, &mut heard, Duration::from_millis(20))? > 0 {
                first.get_or_insert_with(Instant::now);
            }
        }
    }

    /// Goes on listening at a speed that reads as text, until a candidate is sure or the time is
    /// up. `false` if the bytes were not text after all.
    fn stay(
        &mut self,
        port: &mut dyn Transport,
        heard: &mut HeardBytes,
    ) -> Result<bool, SearchError> {
        const BETWEEN_LOOKS: Duration = Duration::from_millis(400);
        let mut look = Instant::now() + BETWEEN_LOOKS;
        while Instant::now() < self.until {
            self.read(port, heard, Duration::from_millis(40))?;
            if Instant::now() < look {
                continue;
            }
            look = Instant::now() + BETWEEN_LOOKS;
            if !text_was_heard(heard) {
                return Ok(false);
            }
            let Some(best) = analyse(std::slice::from_ref(heard)).into_iter().next() else {
                continue;
            };
            let sure = best.confidence >= 0.9 && heard.reads.len() >= 6;
            (self.progress)(SearchProgress::Likely(Box::new(best)));
            if sure {
                break;
            }
        }
        Ok(true)
    }

    /// Analyses the heard bytes. If no speed reads as text, a slow gauge gets more time at the
    /// speeds that heard nothing. After that the search listens longer for frames of bytes.
    fn settle(&mut self, mut heard: Vec<HeardBytes>) -> Result<Vec<ProfileCandidate>, SearchError> {
        let found = analyse(&heard);
        if found.first().is_some_and(|best| best.confidence >= SURE) || heard.len() == 1 {
            return Ok(found);
        }
        let bytes: usize = heard.iter().map(|heard| heard.bytes().len()).sum();
        if bytes < 8 * ENOUGH
            && let Some(slow) = self.wait_for_a_slow_one(&heard)?
        {
            let found = analyse(std::slice::from_ref(&slow));
            if !found.is_empty() {
                return Ok(found);
            }
        }
        let speaking: Vec<usize> = (0..heard.len())
            .filter(|at| !heard[*at].reads.is_empty())
            .collect();
        for (done, at) in speaking.iter().enumerate() {
            let left = self.until.saturating_duration_since(Instant::now());
            let shares = u32::try_from(speaking.len() - done).unwrap_or(1);
            let until = Instant::now() + left / shares;
            let line = heard[*at].line;
            (self.progress)(SearchProgress::Listening(line));
            let mut port = (self.open)(&line)?;
            let mut longer = HeardBytes {
                line,
                reads: Vec::new(),
                asked: None,
            };
            while Instant::now() < until && longer.bytes().len() < 600 {
                self.read(&mut *port, &mut longer, Duration::from_millis(40))?;
            }
            heard[*at] = longer;
            if !analyse(&heard[*at..=*at]).is_empty() {
                break;
            }
        }
        Ok(analyse(&heard))
    }

    /// Listens longer at the speeds that heard nothing yet.
    fn wait_for_a_slow_one(
        &mut self,
        heard: &[HeardBytes],
    ) -> Result<Option<HeardBytes>, SearchError> {
        const SLOWEST: Duration = Duration::from_millis(2_200);
        for line in heard
            .iter()
            .filter(|heard| heard.reads.is_empty())
            .map(|heard| heard.line)
        {
            (self.progress)(SearchProgress::Listening(line));
            let mut port = (self.open)(&line)?;
            let mut longer = HeardBytes {
                line,
                reads: Vec::new(),
                asked: None,
            };
            let until = self.until.min(Instant::now() + SLOWEST);
            while Instant::now() < until {
                self.read(&mut *port, &mut longer, Duration::from_millis(40))?;
                let bytes = longer.bytes();
                if bytes.len() >= ENOUGH
                    && text_was_heard(&longer)
                    && self.stay(&mut *port, &mut longer)?
                {
                    return Ok(Some(longer));
                }
                if behind_a_rest(&longer) >= ENOUGH {
                    break;
                }
            }
        }
        Ok(None)
    }
}
