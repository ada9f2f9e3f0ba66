//! Ports and routes, as tables; the machine, line by line.

use benchhand_wire::{Examination, MachineState, PortState, PortsAnswer, RouteList};

use super::table::Table;
use super::{count, wrapped};

/// The ports of this machine. A port that cannot be opened has advice beside it.
pub(crate) fn ports(answer: &PortsAnswer) -> String {
    if answer.ports.is_empty() {
        return "No serial port is here. Plug an adapter in and list again; a pseudo-terminal \
                must be named: benchhand ports PATH."
            .to_owned();
    }
    let mut table = Table::new(&["port", "state", "gauge", "adapter", "description"]);
    for port in &answer.ports {
        table.row(vec![
            port.path.clone(),
            port_state(port.state).to_owned(),
            port.gauge.clone().unwrap_or_default(),
            port.identity.clone().unwrap_or_default(),
            port.description.clone(),
        ]);
    }
    let mut text = table.text();
    for port in answer.ports.iter().filter(|port| !port.todo.is_empty()) {
        let todo = port
            .todo
            .strip_prefix(&port.path)
            .map(|todo| todo.trim_start_matches(": "));
        text += &format!("{}: {}\n", port.path, todo.unwrap_or(&port.todo));
    }
    text
}

fn port_state(state: PortState) -> &'static str {
    match state {
        PortState::Free => "free",
        PortState::InUse => "in use by benchhand",
        PortState::Busy => "busy: another program has it",
        PortState::Forbidden => "forbidden to this user",
        PortState::Absent => "absent",
        PortState::Unusable => "unusable",
    }
}

/// What was found at this machine, each with what to do next.
pub(crate) fn examined(answer: &Examination) -> String {
    let mut text = String::new();
    for finding in &answer.findings {
        let mark = format!("{:<9}{:<9}", finding.state.word(), finding.about.word());
        text += &wrapped(&mark, &finding.found);
        if !finding.todo.is_empty() {
            let mark = format!("{:18}what to do: ", "");
            text += &wrapped(&mark, &finding.todo);
        }
    }
    let of = |state| {
        let all = answer.findings.iter();
        all.filter(|finding| finding.state == state).count()
    };
    text += "\n";
    text += &match of(MachineState::Wrong) {
        0 => "Nothing stands in the way of measuring.".to_owned(),
        n => format!(
            "{} in the way of measuring.",
            count(n, "thing stands", "things stand")
        ),
    };
    text
}

/// The routes, each with its cautions.
pub(crate) fn routes(answer: &RouteList) -> String {
    let mut table = Table::new(&["route", "measures", "needs a gauge for"]);
    for route in &answer.routes {
        table.row(vec![
            route.name.clone(),
            route.title.clone(),
            route.needs.join(", "),
        ]);
    }
    let mut text = table.text();
    for route in answer
        .routes
        .iter()
        .filter(|route| !route.cautions.is_empty())
    {
        text += &format!("\nBefore {}:\n", route.name);
        text += &cautions(&route.cautions);
    }
    text
}

/// Cautions, one on each line.
pub(crate) fn cautions(cautions: &[String]) -> String {
    cautions
        .iter()
        .map(|caution| format!("  ! {caution}\n"))
        .collect()
}

#[cfg(test)]
mod tests {
    use benchhand_wire::{MachineFinding, MachinePart, Port, RouteInfo};

    use super::*;

    fn port(path: &str, state: PortState, todo: &str) -> Port {
        Port {
            path: path.into(),
            state,
            description: "USB serial".into(),
            identity: None,
            gauge: None,
            todo: todo.into(),
        }
    }

    #[test]
    fn absent_busy_and_forbidden_are_told_apart_each_with_what_to_do() {
        let text = ports(&PortsAnswer {
            ports: vec![
                port(
                    "/dev/ttyUSB0",
                    PortState::Busy,
                    "end the program that has it",
                ),
                port(
                    "/dev/ttyUSB1",
                    PortState::Forbidden,
                    "join the group dialout",
                ),
                port("/dev/ttyUSB2", PortState::Absent, "plug it in"),
            ],
        });
        for words in ["busy", "forbidden", "absent"] {
            assert!(text.contains(words), "{text}");
        }
        assert!(
            text.contains("/dev/ttyUSB1: join the group dialout"),
            "{text}"
        );
    }

    #[test]
    fn each_finding_of_the_machine_has_its_state_and_what_to_do() {
        let finding = |state, found: &str, todo: &str| MachineFinding {
            about: MachinePart::Clock,
            state,
            found: found.into(),
            todo: todo.into(),
        };
        let mut answer = Examination {
            findings: vec![
                finding(MachineState::Fine, "the clock shows noon", ""),
                finding(
                    MachineState::Advice,
                    "the time zone is not known",
                    "name it",
                ),
            ],
        };
        let text = examined(&answer);
        assert!(
            text.starts_with("OK       clock    the clock shows noon\n"),
            "{text}"
        );
        assert!(text.contains("what to do: name it\n"), "{text}");
        assert!(
            text.ends_with("Nothing stands in the way of measuring."),
            "{text}"
        );
        let wrong = finding(MachineState::Wrong, "the clock shows 1970", "set it");
        answer.findings.push(wrong);
        let text = examined(&answer);
        assert!(
            text.contains("WRONG    clock    the clock shows 1970"),
            "{text}"
        );
        assert!(
            text.ends_with("1 thing stands in the way of measuring."),
            "{text}"
        );
    }

    #[test]
    fn no_port_says_what_to_do() {
        assert!(ports(&PortsAnswer { ports: vec![] }).contains("Plug an adapter in"));
    }

    #[test]
    fn a_route_is_listed_with_its_cautions() {
        let text = routes(&RouteList {
            routes: vec![RouteInfo {
                name: "chambers".into(),
                title: "chamber volumes by burette".into(),
                needs: vec!["volume".into()],
                cautions: vec!["prefer a water-based liquid".into()],
                asks: Vec::new(),
                asked: Vec::new(),
                rounds: 2,
                lists: Default::default(),
            }],
        });
        assert!(text.contains("chamber volumes by burette"), "{text}");
        assert!(text.contains("! prefer a water-based liquid"), "{text}");
    }
}
