//! A request that takes long: whoever waits at a terminal sees how far it is.
//!
//! A bar on standard error is drawn from what the daemon tells of the work, or, where it tells
//! nothing, the time that has passed. A quick answer draws nothing; neither does standard error
//! where it is no terminal.

use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::thread;
use std::time::Duration;

use benchhand_wire::{Ask, HowFar, Refusal};
use indicatif::{ProgressBar, ProgressStyle};

use super::{Client, ask, random_name};

/// What is quicker than this is not told of.
const FIRST_LOOK: Duration = Duration::from_millis(500);
/// How often the bar is drawn anew.
const LOOK_AGAIN: Duration = Duration::from_millis(200);

/// Sends a request that `with_name` makes of the name of its work, and draws a bar meanwhile.
///
/// # Errors
/// The refusal, as [`Client::call`] gives it.
pub(crate) fn ask_named<A: Ask>(
    client: &dyn Client,
    with_name: impl FnOnce(Option<String>) -> A,
) -> Result<A::Answer, Refusal> {
    let name = random_name()?;
    let request = with_name(Some(name.clone()));
    while_shown(client, Some(&name), "", || ask(client, &request))
}

/// Sends a request of which nobody tells how far it is; `doing` and the time are shown meanwhile.
///
/// # Errors
/// The refusal, as [`Client::call`] gives it.
pub(crate) fn ask_waiting<A: Ask>(
    client: &dyn Client,
    request: &A,
    doing: &str,
) -> Result<A::Answer, Refusal> {
    while_shown(client, None, doing, || ask(client, request))
}

fn while_shown<T>(
    client: &dyn Client,
    work: Option<&str>,
    doing: &str,
    asks: impl FnOnce() -> T,
) -> T {
    let bar = ProgressBar::new(0);
    if bar.is_hidden() {
        return asks();
    }
    let (answered, answer) = mpsc::channel();
    thread::scope(|scope| {
        scope.spawn(move || show(client, work, doing, &bar, &answer));
        let answer = asks();
        // The bar ends here, also where the request panics.
        drop(answered);
        answer
    })
}

/// Draws the bar until the answer is there.
fn show(
    client: &dyn Client,
    work: Option<&str>,
    doing: &str,
    bar: &ProgressBar,
    answer: &Receiver<()>,
) {
    let mut patience = FIRST_LOOK;
    while answer.recv_timeout(patience) == Err(RecvTimeoutError::Timeout) {
        patience = LOOK_AGAIN;
        let asked = work.map(|work| HowFar {
            work: work.to_owned(),
        });
        // A daemon of another version does not know the question; the time is shown then.
        let told = asked.and_then(|asked| ask(client, &asked).ok()?.under_way);
        let total = told.as_ref().map_or(0, |told| told.total);
        bar.set_style(style(total));
        bar.set_length(total);
        bar.set_position(told.as_ref().map_or(0, |told| told.done));
        bar.set_message(told.map_or_else(|| doing.to_owned(), |told| told.doing));
        bar.tick();
    }
    bar.finish_and_clear();
}

fn style(total: u64) -> ProgressStyle {
    let template = match total {
        0 => "{spinner} {elapsed} {wide_msg}",
        _ => "[{bar:30}] {percent} % {elapsed} {wide_msg}",
    };
    let style = ProgressStyle::with_template(template);
    style.map_or_else(
        |_| ProgressStyle::default_bar(),
        |style| style.progress_chars("=> "),
    )
}
