//! Whose turn it is to speak: settling, start-up commands, questions, answers that stay out.
//!
//! Works on times handed to it. It does not know what an answer means, only whether the one
//! that is waited for has come.
//!
//! After an unanswered question the session is spoiled: the rest of the reply window is waited
//! out and thrown away, the line is drained and the question asked afresh. A gauge without
//! transaction numbers may be even later, so the first answer after a loss is withheld. So no
//! answer that comes within twice the timeout and its window is taken for another question's.

use super::turn::{Meaning, Phase, Turn};
use crate::profile::model::{Answer, AnswerRules, Mode, Question, StartStep, Talk};

/// The conversation with one gauge.
#[derive(Debug)]
pub(crate) struct Conversation {
    mode: Mode,
    settle_us: u64,
    period_us: u64,
    /// Pause between an answer and the next question of the same round.
    gap_us: u64,
    start: Vec<StartStep>,
    rules: AnswerRules,
    questions: Vec<Question>,
    phase: Phase,
    /// The question to ask next.
    next_question: usize,
    round_began: u64,
    tries: u32,
    /// Questions whose answers may still be out.
    suspects: Vec<usize>,
    unanswered: bool,
}

impl Conversation {
    pub(crate) fn new(talk: &Talk, questions: Vec<Question>, gap_us: u64) -> Self {
        Self {
            mode: talk.mode,
            settle_us: talk.settle_us,
            period_us: talk.period_us.unwrap_or(0),
            gap_us,
            start: talk.start.clone(),
            rules: talk.rules.clone(),
            questions,
            phase: Phase::Fresh,
            next_question: 0,
            round_began: 0,
            tries: 0,
            suspects: Vec::new(),
            unanswered: false,
        }
    }

    /// The line was opened anew.
    pub(crate) fn restart(&mut self) {
        self.phase = Phase::Fresh;
        self.next_question = 0;
        self.tries = 0;
        self.suspects.clear();
        self.unanswered = false;
    }

    pub(crate) fn question(&self, index: usize) -> &Question {
        &self.questions[index]
    }

    /// Whether a question ran out of time since this was last asked.
    pub(crate) fn take_unanswered(&mut self) -> bool {
        std::mem::take(&mut self.unanswered)
    }

    /// What to do at `now`.
    pub(crate) fn turn(&mut self, now: u64) -> Turn {
        loop {
            self.pass(now);
            match &self.phase {
                Phase::Fresh => {
                    self.phase = Phase::Settling {
                        until: now + self.settle_us,
                    }
                }
                Phase::Settling { until } => {
                    if now < *until {
                        return Turn::Wait(*until);
                    }
                    self.phase = self.after_settling(now);
                }
                Phase::Start { step, .. } => {
                    let bytes = self.start[*step].send.clone();
                    self.said(now, &bytes);
                    return Turn::Send(bytes);
                }
                Phase::Starting { deadline, .. } => return Turn::Wait(*deadline),
                Phase::Listening => return Turn::Listen,
                Phase::Idle { due } if now < *due => return Turn::Wait(*due),
                Phase::Idle { .. } => {
                    self.phase = Phase::Draining {
                        question: self.next_question,
                    };
                    return Turn::Drain;
                }
                Phase::Draining { question } => {
                    let bytes = self.questions[*question].send.clone();
                    self.said(now, &bytes);
                    return Turn::Send(bytes);
                }
                Phase::Awaiting { deadline, .. } => return Turn::Wait(*deadline),
                Phase::Thanks { due } => {
                    self.phase = Phase::Idle { due: *due };
                    return Turn::Send(self.rules.thanks.clone());
                }
                Phase::Spoiled { until, .. } | Phase::Proving { until } => {
                    return Turn::Wait(*until);
                }
            }
        }
    }

    fn after_settling(&self, now: u64) -> Phase {
        if !self.start.is_empty() {
            Phase::Start { step: 0, tries: 0 }
        } else {
            self.running(now)
        }
    }

    fn running(&self, now: u64) -> Phase {
        if self.mode == Mode::Poll {
            Phase::Idle { due: now }
        } else {
            Phase::Listening
        }
    }

    /// These bytes went out at `now`: the start-up command, question or thanks that they are
    /// decides what is waited for.
    pub(crate) fn said(&mut self, now: u64, bytes: &[u8]) {
        self.pass(now);
        match self.phase {
            Phase::Fresh | Phase::Settling { .. } => self.phase = self.after_settling(now),
            // A recorded question may come sooner than one of ours would; nothing out of step
            // was seen up to it.
            Phase::Proving { .. } => self.trust(),
            _ => {}
        }
        if let Phase::Start { step, tries } = self.phase
            && self.start[step].send == bytes
        {
            let rules = &self.start[step];
            self.phase = if rules.expect.is_empty() {
                self.after_step(step, now)
            } else {
                let deadline = now + rules.timeout_us;
                Phase::Starting {
                    step,
                    tries,
                    deadline,
                    seen: Vec::new(),
                }
            };
            return;
        }
        let expected = self.next_question;
        let asked = (self.questions.get(expected))
            .filter(|question| question.send == bytes)
            .map(|_| expected)
            .or_else(|| {
                self.questions
                    .iter()
                    .position(|question| question.send == bytes)
            });
        let Some(question) = asked else { return };
        if question == 0 && self.tries == 0 {
            self.round_began = now;
        }
        self.next_question = question;
        let withhold = self
            .suspects
            .iter()
            .any(|suspect| self.alike(*suspect, question));
        let deadline = now + self.rules.timeout_us;
        self.phase = Phase::Awaiting {
            question,
            deadline,
            withhold,
        };
    }

    /// Whether an answer to one question could be taken for one to the other.
    fn alike(&self, one: usize, other: usize) -> bool {
        match (&self.questions[one].answer, &self.questions[other].answer) {
            (
                Answer::Registers {
                    address: a,
                    function: f,
                    bytes: n,
                    ..
                },
                Answer::Registers {
                    address,
                    function,
                    bytes,
                    ..
                },
            ) => (a, f, n) == (address, function, bytes),
            _ => true,
        }
    }

    fn after_step(&self, step: usize, now: u64) -> Phase {
        if step + 1 < self.start.len() {
            Phase::Start {
                step: step + 1,
                tries: 0,
            }
        } else {
            self.running(now)
        }
    }

    /// Lets time pass up to `now`.
    pub(crate) fn pass(&mut self, now: u64) {
        match &self.phase {
            Phase::Starting {
                step,
                tries,
                deadline,
                ..
            } if now >= *deadline => {
                self.unanswered = true;
                self.phase = if *tries < self.start[*step].retries {
                    Phase::Start {
                        step: *step,
                        tries: tries + 1,
                    }
                } else {
                    // A gauge that was switched on later must be set up from the beginning.
                    Phase::Start { step: 0, tries: 0 }
                };
            }
            Phase::Awaiting {
                question, deadline, ..
            } if now >= *deadline => {
                self.unanswered = true;
                let (question, until) = (*question, deadline + self.rules.window_us);
                self.suspects.push(question);
                self.suspects.sort_unstable();
                self.suspects.dedup();
                self.tries += 1;
                self.phase = Phase::Spoiled { until, told: false };
                self.pass(now);
            }
            Phase::Spoiled { until, .. } if now >= *until => {
                let until = *until;
                if self.tries > self.rules.retries {
                    self.go_on(until, false);
                } else {
                    self.phase = Phase::Idle { due: until };
                }
            }
            Phase::Proving { until } if now >= *until => {
                let due = *until;
                self.trust();
                self.phase = Phase::Idle { due };
            }
            _ => {}
        }
    }

    /// Question and answer are in step again.
    fn trust(&mut self) {
        let question = self.next_question;
        let suspects = std::mem::take(&mut self.suspects);
        self.suspects = suspects
            .into_iter()
            .filter(|s| !self.alike(*s, question))
            .collect();
    }

    /// What bytes are that arrive now.
    pub(crate) fn meaning(&mut self) -> Meaning {
        match &mut self.phase {
            Phase::Listening => Meaning::Stream,
            // A gauge that streams may speak while its line settles; one that is set up first
            // is not believed before.
            Phase::Fresh | Phase::Settling { .. }
                if self.mode != Mode::Poll && self.start.is_empty() =>
            {
                Meaning::Stream
            }
            Phase::Starting { .. } => Meaning::StartUp,
            Phase::Awaiting { question, .. } => Meaning::Answer {
                question: *question,
            },
            Phase::Spoiled { told, .. } => Meaning::Late {
                first: !std::mem::replace(told, true),
            },
            _ => Meaning::Unasked,
        }
    }

    /// Bytes of the answer to a start-up command; `Some(false)` where it cannot be the one that
    /// is expected any more.
    pub(crate) fn start_up(&mut self, now: u64, bytes: &[u8]) -> Option<bool> {
        let Phase::Starting {
            step, tries, seen, ..
        } = &mut self.phase
        else {
            return None;
        };
        let (step, tries) = (*step, *tries);
        let rules = &self.start[step];
        for byte in bytes {
            seen.push(*byte);
            // The answer may stand behind an echo or the rest of a streamed line.
            if seen.ends_with(&rules.expect) {
                self.phase = self.after_step(step, now);
                return Some(true);
            }
            if seen.len() > 4 * rules.expect.len() + 256 {
                let retry = tries < rules.retries;
                let tries = if retry { tries + 1 } else { 0 };
                let step = if retry { step } else { 0 };
                self.phase = Phase::Start { step, tries };
                return Some(false);
            }
        }
        None
    }

    /// The answer that was waited for came whole. `true` where its values may be taken.
    pub(crate) fn answered(&mut self, now: u64) -> bool {
        let Phase::Awaiting {
            withhold, deadline, ..
        } = self.phase
        else {
            return false;
        };
        self.tries = 0;
        if withhold {
            // Twice as long as an answer and its window, counted from the question: by then
            // every answer that was out has come, the lost one's and this one's.
            let until = deadline + self.rules.timeout_us + 2 * self.rules.window_us;
            self.phase = Phase::Proving { until };
            return false;
        }
        self.go_on(now, true);
        true
    }

    /// An answer came that is worth nothing (corrupt, refused): it is asked for again, at once
    /// while retries are left, else in the next round.
    pub(crate) fn answered_badly(&mut self, now: u64) {
        if !matches!(self.phase, Phase::Awaiting { .. }) {
            return;
        }
        self.tries += 1;
        if self.tries > self.rules.retries {
            self.go_on(now, false);
        } else {
            self.phase = Phase::Idle {
                due: now + self.gap_us,
            };
        }
    }

    fn go_on(&mut self, now: u64, thank: bool) {
        self.tries = 0;
        self.next_question += 1;
        let due = if self.next_question < self.questions.len() {
            now + self.gap_us
        } else {
            self.next_question = 0;
            (self.round_began + self.period_us).max(now + self.gap_us)
        };
        let thank = thank && !self.rules.thanks.is_empty();
        self.phase = if thank {
            Phase::Thanks { due }
        } else {
            Phase::Idle { due }
        };
    }

    /// An answer came that nobody waited for: the session is spoiled.
    pub(crate) fn surplus(&mut self, now: u64) {
        if self.mode != Mode::Poll {
            return;
        }
        self.suspects = (0..self.questions.len()).collect();
        self.phase = Phase::Spoiled {
            until: now + self.rules.window_us,
            told: true,
        };
    }

    /// What surrounds answers.
    pub(crate) fn rules(&self) -> &AnswerRules {
        &self.rules
    }
}
