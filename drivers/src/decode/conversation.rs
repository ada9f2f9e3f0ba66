//! The order of question and answer: settling time, start-up commands, questions, lost answers.
//!
//! The conversation gets its times from the caller. It does not know what an answer means. It only
//! knows whether the expected answer has come.
//!
//! If a question stays unanswered, the session is spoiled. The rest of the reply window is waited
//! out, what comes in it is thrown away, the line is drained and the question is asked again. A
//! gauge without transaction numbers may answer even later, so the first answer after a loss is
//! withheld. An answer that comes within twice the timeout and its window is therefore never taken
//! for the answer to another question.

use super::phase::{BytesMeaning, Phase};
use crate::driver::NextAction;
use crate::profile::model::{AnswerRules, PollQuestion, StartStep, Talk, TalkMode};

/// The conversation with one gauge.
#[derive(Debug)]
pub(crate) struct Conversation {
    mode: TalkMode,
    settle_us: u64,
    period_us: u64,
    /// Pause between an answer and the next question of the same round.
    gap_us: u64,
    start: Vec<StartStep>,
    rules: AnswerRules,
    questions: Vec<PollQuestion>,
    phase: Phase,
    /// The question to ask next.
    next_question: usize,
    round_began: u64,
    tries: u32,
    /// Questions whose answers may still come.
    suspects: Vec<usize>,
    unanswered: bool,
}

impl Conversation {
    pub(crate) fn new(talk: &Talk, questions: Vec<PollQuestion>, gap_us: u64) -> Self {
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

    /// Starts over after the line was opened again.
    pub(crate) fn restart(&mut self) {
        self.phase = Phase::Fresh;
        self.next_question = 0;
        self.tries = 0;
        self.suspects.clear();
        self.unanswered = false;
    }

    pub(crate) fn question(&self, index: usize) -> Option<&PollQuestion> {
        self.questions.get(index)
    }

    /// Whether a question timed out since the last call.
    pub(crate) fn take_unanswered(&mut self) -> bool {
        std::mem::take(&mut self.unanswered)
    }

    /// The caller's next action at `now`.
    pub(crate) fn next(&mut self, now: u64) -> NextAction {
        loop {
            self.pass(now);
            match &self.phase {
                Phase::Fresh => {
                    self.phase = Phase::Settling {
                        until: now.saturating_add(self.settle_us),
                    }
                }
                Phase::Settling { until } => {
                    if now < *until {
                        return NextAction::Wait { until_us: *until };
                    }
                    self.phase = self.at_step(0, now);
                }
                Phase::Start { step, .. } => {
                    let Some(command) = self.start.get(*step) else {
                        self.phase = self.running(now);
                        continue;
                    };
                    let bytes = command.send.clone();
                    self.sent(now, &bytes);
                    return NextAction::Send(bytes);
                }
                Phase::Starting { deadline, .. } => {
                    return NextAction::Wait {
                        until_us: *deadline,
                    };
                }
                Phase::Listening => return NextAction::Listen,
                Phase::Idle { due } if now < *due => return NextAction::Wait { until_us: *due },
                Phase::Idle { .. } => {
                    self.phase = Phase::Draining {
                        question: self.next_question,
                    };
                    return NextAction::Drain;
                }
                Phase::Draining { question } => {
                    // A gauge that is asked nothing is listened to.
                    let Some(question) = self.questions.get(*question) else {
                        return NextAction::Listen;
                    };
                    let bytes = question.send.clone();
                    self.sent(now, &bytes);
                    return NextAction::Send(bytes);
                }
                Phase::Awaiting { deadline, .. } => {
                    return NextAction::Wait {
                        until_us: *deadline,
                    };
                }
                Phase::Thanks { due } => {
                    self.phase = Phase::Idle { due: *due };
                    return NextAction::Send(self.rules.thanks.clone());
                }
                Phase::Spoiled { until, .. } | Phase::Proving { until } => {
                    return NextAction::Wait { until_us: *until };
                }
            }
        }
    }

    fn running(&self, now: u64) -> Phase {
        if self.mode == TalkMode::Poll {
            Phase::Idle { due: now }
        } else {
            Phase::Listening
        }
    }

    /// Notes that these bytes were sent at `now`. They are a start-up command, a question or the
    /// thanks; that decides what is expected next.
    pub(crate) fn sent(&mut self, now: u64, bytes: &[u8]) {
        self.pass(now);
        match self.phase {
            Phase::Fresh | Phase::Settling { .. } => self.phase = self.at_step(0, now),
            // A recorded question may come sooner than this driver would have asked. Nothing out
            // of step was seen before it.
            Phase::Proving { .. } => self.trust(),
            _ => {}
        }
        if let Phase::Start { step, tries } = self.phase
            && let Some(rules) = self.start.get(step)
            && rules.send == bytes
        {
            self.phase = if rules.expect.is_empty() {
                self.at_step(step.saturating_add(1), now)
            } else {
                let deadline = now.saturating_add(rules.timeout_us);
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
        let deadline = now.saturating_add(self.rules.timeout_us);
        self.phase = Phase::Awaiting {
            question,
            deadline,
            withhold,
        };
    }

    fn alike(&self, one: usize, other: usize) -> bool {
        match (self.questions.get(one), self.questions.get(other)) {
            (Some(one), Some(other)) => one.answer.could_be_taken_for(&other.answer),
            _ => false,
        }
    }

    fn at_step(&self, step: usize, now: u64) -> Phase {
        if step < self.start.len() {
            Phase::Start { step, tries: 0 }
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
                let command = self.start.get(*step);
                self.phase = if command.is_some_and(|command| *tries < command.retries) {
                    Phase::Start {
                        step: *step,
                        tries: tries.saturating_add(1),
                    }
                } else {
                    // The gauge may have been switched on later, so its set-up begins again.
                    Phase::Start { step: 0, tries: 0 }
                };
            }
            Phase::Awaiting {
                question, deadline, ..
            } if now >= *deadline => {
                self.unanswered = true;
                let (question, until) = (*question, deadline.saturating_add(self.rules.window_us));
                self.suspects.push(question);
                self.suspects.sort_unstable();
                self.suspects.dedup();
                self.tries = self.tries.saturating_add(1);
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

    /// Forgets the suspects that the present question could be confused with: question and answer
    /// are in step again.
    fn trust(&mut self) {
        let question = self.next_question;
        let suspects = std::mem::take(&mut self.suspects);
        self.suspects = suspects
            .into_iter()
            .filter(|s| !self.alike(*s, question))
            .collect();
    }

    /// The meaning of bytes that arrive now.
    pub(crate) fn meaning(&mut self) -> BytesMeaning {
        match &mut self.phase {
            Phase::Listening => BytesMeaning::Stream,
            // A streaming gauge may send while its line settles. A gauge that needs start-up
            // commands is not believed before they are done.
            Phase::Fresh | Phase::Settling { .. }
                if self.mode != TalkMode::Poll && self.start.is_empty() =>
            {
                BytesMeaning::Stream
            }
            Phase::Starting { .. } => BytesMeaning::StartUp,
            Phase::Awaiting { question, .. } => BytesMeaning::Answer {
                question: *question,
            },
            Phase::Spoiled { told, .. } => BytesMeaning::Late {
                first: !std::mem::replace(told, true),
            },
            _ => BytesMeaning::Unasked,
        }
    }

    /// Takes bytes of the answer to a start-up command. `Some(false)` if they can no longer be the
    /// expected answer.
    pub(crate) fn start_up(&mut self, now: u64, bytes: &[u8]) -> Option<bool> {
        let Phase::Starting {
            step, tries, seen, ..
        } = &mut self.phase
        else {
            return None;
        };
        let (step, tries) = (*step, *tries);
        let rules = self.start.get(step)?;
        let longest = rules.expect.len().saturating_mul(4).saturating_add(256);
        for byte in bytes {
            seen.push(*byte);
            // The answer may stand behind an echo or the rest of a streamed line.
            if seen.ends_with(&rules.expect) {
                self.phase = self.at_step(step.saturating_add(1), now);
                return Some(true);
            }
            if seen.len() > longest {
                let retry = tries < rules.retries;
                let tries = if retry { tries.saturating_add(1) } else { 0 };
                let step = if retry { step } else { 0 };
                self.phase = Phase::Start { step, tries };
                return Some(false);
            }
        }
        None
    }

    /// Notes that the expected answer is complete. `true` if its values may be used.
    pub(crate) fn answered(&mut self, now: u64) -> bool {
        let Phase::Awaiting {
            withhold, deadline, ..
        } = self.phase
        else {
            return false;
        };
        self.tries = 0;
        if withhold {
            // Waits twice as long as an answer and its window, counted from the question. By then
            // every open answer has come: the lost one and this one.
            let until = deadline
                .saturating_add(self.rules.timeout_us)
                .saturating_add(self.rules.window_us.saturating_mul(2));
            self.phase = Phase::Proving { until };
            return false;
        }
        self.go_on(now, true);
        true
    }

    /// Notes a useless answer (corrupt or refused). The question is repeated at once while retries
    /// are left, otherwise in the next round.
    pub(crate) fn answered_badly(&mut self, now: u64) {
        if !matches!(self.phase, Phase::Awaiting { .. }) {
            return;
        }
        self.tries = self.tries.saturating_add(1);
        if self.tries > self.rules.retries {
            self.go_on(now, false);
        } else {
            self.phase = Phase::Idle {
                due: now.saturating_add(self.gap_us),
            };
        }
    }

    fn go_on(&mut self, now: u64, thank: bool) {
        self.tries = 0;
        self.next_question = self.next_question.saturating_add(1);
        let soonest = now.saturating_add(self.gap_us);
        let due = if self.next_question < self.questions.len() {
            soonest
        } else {
            self.next_question = 0;
            self.round_began.saturating_add(self.period_us).max(soonest)
        };
        let thank = thank && !self.rules.thanks.is_empty();
        self.phase = if thank {
            Phase::Thanks { due }
        } else {
            Phase::Idle { due }
        };
    }

    /// Notes an answer that nobody asked for. It spoils the session.
    pub(crate) fn surplus(&mut self, now: u64) {
        if self.mode != TalkMode::Poll {
            return;
        }
        self.suspects = (0..self.questions.len()).collect();
        self.phase = Phase::Spoiled {
            until: now.saturating_add(self.rules.window_us),
            told: true,
        };
    }

    /// The bytes that surround each answer.
    pub(crate) fn rules(&self) -> &AnswerRules {
        &self.rules
    }
}
