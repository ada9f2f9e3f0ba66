//! What else runs: programs that reach for serial adapters, other daemons, who has a port open.

use benchhand_wire::{MachineFinding, MachinePart, MachineState};

use super::{MachineTree, finding, fine};

/// A program that reaches for serial adapters by itself.
struct ReachingProgram {
    /// The name of its process.
    name: &'static str,
    /// What it does to a gauge.
    does: &'static str,
    /// What to do about it.
    todo: &'static str,
}

/// The programs that are known to reach for adapters. Sources: their documentation, and memory.
const REACHING: &[ReachingProgram] = &[
    ReachingProgram {
        name: "ModemManager",
        does: "it asks each new serial adapter whether it is a modem, and has it open meanwhile",
        todo: "if this machine has no modem: sudo systemctl mask --now ModemManager; otherwise \
               give the gauges' adapters ENV{ID_MM_DEVICE_IGNORE}=\"1\" in a udev rule",
    },
    ReachingProgram {
        name: "brltty",
        does: "it takes some serial adapters for braille displays and keeps them",
        todo: "if nobody here reads by a braille display: sudo systemctl mask --now brltty",
    },
];

/// Something that runs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct RunningProcess {
    /// The process's number.
    pub(crate) id: u32,
    /// Its name.
    pub(crate) name: String,
}

/// Everything that runs, in order of number; `None` where the machine does not list it.
pub(crate) fn running(tree: &MachineTree) -> Option<Vec<RunningProcess>> {
    let named = |id: u32| {
        let name = tree.text(&format!("/proc/{id}/comm"))?;
        Some(RunningProcess { id, name })
    };
    let listed = tree.listed("/proc");
    let mut found: Vec<RunningProcess> = listed
        .iter()
        .filter_map(|name| named(name.parse().ok()?))
        .collect();
    found.sort_by_key(|process| process.id);
    (!found.is_empty()).then_some(found)
}

/// What is to be said of other programs that reach for adapters. `adapters`: whether a USB adapter
/// that they can reach is plugged in now.
pub(crate) fn reaching(processes: &[RunningProcess], adapters: bool) -> Vec<MachineFinding> {
    let state = match adapters {
        true => MachineState::Wrong,
        false => MachineState::Advice,
    };
    let found: Vec<MachineFinding> = REACHING
        .iter()
        .filter_map(|one| {
            let process = processes.iter().find(|process| process.name == one.name)?;
            let said = format!("{} runs (process {}): {}", one.name, process.id, one.does);
            Some(finding(MachinePart::Programs, state, said, one.todo))
        })
        .collect();
    match found.is_empty() {
        true => vec![fine(
            MachinePart::Programs,
            "no program runs that is known to reach for serial adapters",
        )],
        false => found,
    }
}

/// Other daemons than process `own`, which may hold gauges: each with the data folder that it was
/// given.
pub(crate) fn other_daemons(
    tree: &MachineTree,
    processes: &[RunningProcess],
    own: u32,
) -> Vec<MachineFinding> {
    let daemons = processes
        .iter()
        .filter(|one| one.name == "benchhand" && one.id != own);
    daemons
        .filter_map(|one| {
            let words = tree.text(&format!("/proc/{}/cmdline", one.id))?;
            let words: Vec<&str> = words.split('\0').collect();
            if !words.contains(&"serve") {
                return None;
            }
            let found = format!("another benchhand serve runs (process {})", one.id);
            let folder = given_folder(&words);
            let at = folder.map_or_else(String::new, |folder| format!(" --data {folder:?}"));
            Some(finding(
                MachinePart::Daemon,
                MachineState::Advice,
                found + "; it may have gauges open",
                format!("if it is not wanted: benchhand stop{at}"),
            ))
        })
        .collect()
}

/// The data folder that a command line names.
fn given_folder<'a>(words: &[&'a str]) -> Option<&'a str> {
    let at = words.iter().position(|word| word.starts_with("--data"))?;
    match words[at].strip_prefix("--data=") {
        Some(folder) => Some(folder),
        None => words.get(at + 1).copied(),
    }
}

/// The process that has a port open, as far as this user may know.
pub(crate) fn holder(
    tree: &MachineTree,
    processes: &[RunningProcess],
    port: &str,
) -> Option<RunningProcess> {
    let has_it = |process: &&RunningProcess| {
        let open = format!("/proc/{}/fd", process.id);
        tree.listed(&open).iter().any(|number| {
            let link = std::fs::read_link(tree.at(&format!("{open}/{number}")));
            link.is_ok_and(|to| to.as_os_str() == port)
        })
    };
    processes.iter().find(has_it).cloned()
}

#[cfg(test)]
mod tests {
    use super::super::made_up::MadeUpMachine;
    use super::*;

    fn found(machine: &MadeUpMachine) -> Vec<RunningProcess> {
        running(&machine.tree()).expect("something runs")
    }

    #[test]
    fn a_program_that_reaches_for_adapters_is_named_with_what_to_do() {
        let machine = MadeUpMachine::empty()
            .running(1, "init", &["init"])
            .running(612, "ModemManager", &["/usr/sbin/ModemManager"])
            .running(640, "brltty", &["/usr/bin/brltty"]);
        let with_adapter = reaching(&found(&machine), true);
        assert_eq!(with_adapter.len(), 2);
        assert!(with_adapter[0].found.contains("process 612"));
        assert!(with_adapter[1].todo.contains("mask --now brltty"));
        assert!(
            with_adapter
                .iter()
                .all(|one| one.state == MachineState::Wrong)
        );
        let without = reaching(&found(&machine), false);
        assert!(without.iter().all(|one| one.state == MachineState::Advice));
    }

    #[test]
    fn other_programs_are_nothing_to_speak_of() {
        let machine = MadeUpMachine::empty().running(612, "ModemManagerX", &["x"]);
        let all = reaching(&found(&machine), true);
        assert_eq!(all.len(), 1);
        assert_eq!(all[0].state, MachineState::Fine);
    }

    #[test]
    fn a_machine_that_lists_no_processes_is_not_called_fine() {
        assert_eq!(running(&MadeUpMachine::empty().tree()), None);
    }

    #[test]
    fn another_daemon_is_named_with_its_folder_and_this_one_is_not() {
        let machine = MadeUpMachine::empty()
            .running(10, "benchhand", &["benchhand", "serve"])
            .running(
                20,
                "benchhand",
                &["benchhand", "--data", "/srv/bench", "serve"],
            )
            .running(30, "benchhand", &["benchhand", "report", "number-12"]);
        let others = other_daemons(&machine.tree(), &found(&machine), 10);
        assert_eq!(others.len(), 1);
        assert!(others[0].found.contains("process 20"), "{others:?}");
        assert!(others[0].todo.contains("--data \"/srv/bench\""));
    }

    #[cfg(unix)]
    #[test]
    fn the_process_that_has_a_port_open_is_found() {
        let machine = MadeUpMachine::empty().running(77, "terminal", &["terminal"]);
        let open = machine.tree().at("/proc/77/fd");
        std::fs::create_dir_all(&open).expect("made");
        std::os::unix::fs::symlink("/dev/ttyUSB0", open.join("5")).expect("linked");
        let at = |port| holder(&machine.tree(), &found(&machine), port);
        assert_eq!(at("/dev/ttyUSB0").map(|one| one.id), Some(77));
        assert_eq!(at("/dev/ttyUSB1"), None);
    }
}
