//! What a hand at the station sees of the tool and can ask of it.
//!
//! The hand knows nothing of capture, journal or route. The player of an evening puts them behind
//! [`PlayedTool`].

use benchhand_drivers::Sample;

/// What became of a stop, as the screen shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ShownStop {
    /// No reading yet.
    Left,
    /// A reading of so many cc, held or final.
    Has(f64),
    /// Passed over.
    Skipped,
}

/// What the hand asks of the tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HandRequest {
    /// Stop taking.
    Hold,
    /// Go on taking.
    Resume,
    /// Take the last one, or this one, again.
    Again,
    /// Pass this stop over.
    Skip,
    /// Go to a stop.
    Go(usize),
    /// Go back one stop.
    Back,
    /// Take the last control back.
    Undo,
    /// Sum the next pour into the last reading.
    Add,
    /// Take it now.
    Take,
    /// Keep a typed value for this stop; `sure` where it was asked about before.
    Type {
        /// The value, cc.
        cc: f64,
        /// Keep it although it looks odd.
        sure: bool,
    },
    /// The reading of one stop belongs to another.
    Move {
        /// The stop that has it.
        from: usize,
        /// The stop that it belongs to.
        to: usize,
    },
}

/// Why the tool asks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum QuestionReason {
    /// The value is far from what was expected, or looks like a slip.
    FarOff,
    /// One pour with a rest in it, or two.
    OneOrTwo,
    /// A pour was lost sight of.
    Lost,
    /// The burette moved on its scale, and it is not known whether liquid was delivered or
    /// filled in.
    WhichWay {
        /// Where its level stood on the scale, cc.
        from: f64,
        /// Where it stands, cc.
        to: f64,
    },
    /// A value came while another was asked about.
    Meanwhile,
    /// `again` was asked for: is this stop's reading the one that is meant?
    WhichAgain,
    /// Later readings disagree with it, or it was open when the work was broken off.
    Earlier,
}

/// A question that waits for an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToolQuestion {
    /// Its number; a question keeps it until it is answered.
    pub id: u64,
    /// The stop that it is about.
    pub stop: usize,
    /// The value in question, cc; 0 where there is none.
    pub cc: f64,
    /// Why it is asked.
    pub why: QuestionReason,
}

/// What the hand answers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HandAnswer {
    /// The value stands.
    Keep,
    /// The value does not count, its stop is poured again.
    Again,
    /// It was two pours.
    Split,
    /// The value belongs to another stop.
    Belongs(usize),
    /// The movement was a refill, or no pour of a chamber at all.
    Refill,
    /// The movement was a delivery.
    Delivered,
}

/// Why something could not be done, in words for the story.
pub type Refused = String;

/// The tool as it stands at the station.
pub trait PlayedTool {
    /// One sample of the burette arrives.
    fn sample(&mut self, sample: &Sample);
    /// The burette is heard no more.
    fn lost(&mut self, at_us: u64);
    /// The daemon dies without a word.
    fn killed(&mut self);
    /// The daemon, or the command that follows the route, is stopped by Ctrl-C.
    fn interrupted(&mut self, at_us: u64);
    /// The daemon is there again and the route is taken up.
    fn started(&mut self, at_us: u64);
    /// Asks something of it.
    ///
    /// # Errors
    /// Where the tool refuses.
    fn ask(&mut self, ask: HandRequest, at_us: u64) -> Result<(), Refused>;
    /// The stop that is next.
    fn next(&self) -> Option<usize>;
    /// What is shown of a stop.
    fn shown(&self, stop: usize) -> ShownStop;
    /// The questions that wait.
    fn questions(&self) -> Vec<ToolQuestion>;
    /// The stops whose rounds disagree, and for which a third one is asked for.
    fn rounds_apart(&self) -> Vec<usize>;
    /// The stops about which it was said aloud that something could not be kept, since this was last
    /// looked at.
    fn not_kept(&mut self) -> Vec<usize> {
        Vec::new()
    }
    /// Answers one of them.
    ///
    /// # Errors
    /// Where the tool refuses.
    fn answer(
        &mut self,
        question: &ToolQuestion,
        answer: HandAnswer,
        at_us: u64,
    ) -> Result<(), Refused>;
    /// What was said since this was last looked at; empty where nothing happened.
    fn said(&mut self) -> Vec<String>;
    /// The route is ended.
    fn end(&mut self, at_us: u64);
}
