//! What was ordered, and what came.

use benchhand_blueprint::report::OrderedReport;
use benchhand_wire::{OrderKept, OrdersAnswer};
use benchhand_words::ordered::{line, section};

/// The result of entering an order.
pub(crate) fn kept(job: &str, answer: &OrderKept) -> String {
    let mut text = format!("Kept in the record of {job}: {}.", line(&answer.order));
    let all: Vec<String> = answer.replaces.iter().map(u64::to_string).collect();
    if !all.is_empty() {
        text += &format!(
            "\nOf what entry {} ordered, this no longer holds.",
            all.join(", ")
        );
    }
    text
}

/// What was ordered, beside what was measured since.
pub(crate) fn beside(answer: &OrdersAnswer, beside: &[OrderedReport]) -> String {
    if answer.orders.is_empty() {
        return format!(
            "Nothing is entered as ordered for {}. Enter it: benchhand job order {} --from-sheet FILE",
            answer.job, answer.job
        );
    }
    let mut text = "Orders\n".to_owned();
    for order in &answer.orders {
        text += &format!("  {}\n", line(order));
    }
    match section(beside) {
        Some(section) => text += &format!("\n{}", super::told(&section)),
        None => text += "\nEverything that was ordered was taken back.\n",
    }
    text
}
