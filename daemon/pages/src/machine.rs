//! What was found at the machine on which the daemon runs.

use askama::Template;
use benchhand_wire::{Examination, MachineFinding, MachineState};

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "machine.html")]
struct MachinePage<'a> {
    frame: &'a PageFrame,
    findings: &'a [MachineFinding],
}

impl MachinePage<'_> {
    fn in_short(&self) -> String {
        let wrong = self.findings.iter();
        match wrong.filter(|one| one.state == MachineState::Wrong).count() {
            0 => "Nothing stands in the way of measuring.".to_owned(),
            1 => "1 thing stands in the way of measuring.".to_owned(),
            n => format!("{n} things stand in the way of measuring."),
        }
    }
}

/// Each thing that was looked at, how it stands, and what to do.
///
/// # Errors
/// A fault of the template.
pub fn machine(frame: &PageFrame, examination: &Examination) -> Page {
    MachinePage {
        frame,
        findings: &examination.findings,
    }
    .render()
}

#[cfg(test)]
mod tests {
    use benchhand_wire::MachinePart;

    use super::*;
    use crate::PageSection;

    #[test]
    fn the_page_says_how_each_part_stands_and_what_to_do() {
        let frame = PageFrame {
            title: "This machine".to_owned(),
            section: PageSection::Gauges,
            job: None,
            told: None,
            at_the_machine: true,
        };
        let finding = |about, state, found: &str, todo: &str| MachineFinding {
            about,
            state,
            found: found.to_owned(),
            todo: todo.to_owned(),
        };
        let examination = Examination {
            findings: vec![
                finding(MachinePart::Space, MachineState::Fine, "70 GB free", ""),
                finding(
                    MachinePart::Ports,
                    MachineState::Wrong,
                    "/dev/ttyUSB0 <busy>",
                    "end that program",
                ),
            ],
        };
        let page = machine(&frame, &examination).expect("a page");
        assert!(page.contains("1 thing stands in the way of measuring."));
        assert!(page.contains("WRONG") && page.contains("70 GB free"));
        assert!(page.contains("</b> end that program"));
        assert!(!page.contains("<busy>"), "what was found is text, no HTML");
    }
}
