//! The serial ports: which are there, who has one that is busy, whose group one that is forbidden
//! belongs to, and which gauge looks for one in vain.

use benchhand_wire::{MachineFinding, MachinePart, MachineState, Port, PortState};

use super::processes::{RunningProcess, holder};
use super::{MachineTree, MachineUser, finding, fine};

/// What the ports are looked at with.
#[derive(Debug)]
pub(crate) struct PortSight<'a> {
    /// The machine's files.
    pub(crate) tree: &'a MachineTree,
    /// Who looks; `None` where the system does not number its users.
    pub(crate) user: Option<&'a MachineUser>,
    /// What runs, as far as it is known.
    pub(crate) processes: &'a [RunningProcess],
}

impl PortSight<'_> {
    /// What is to be said of each port.
    pub(crate) fn each(&self, ports: &[Port]) -> Vec<MachineFinding> {
        if ports.is_empty() {
            return vec![finding(
                MachinePart::Ports,
                MachineState::Advice,
                "no serial port is here",
                "plug a gauge's adapter in and look again",
            )];
        }
        ports.iter().map(|port| self.one(port)).collect()
    }

    fn one(&self, port: &Port) -> MachineFinding {
        let gauge = port.gauge.as_ref();
        let of = gauge.map_or_else(String::new, |gauge| format!(", the port of {gauge}"));
        let named = format!("{} ({}){of}", port.path, port.description);
        let wrong = |found: String, todo: String| {
            finding(MachinePart::Ports, MachineState::Wrong, found, todo)
        };
        match port.state {
            PortState::Free => fine(MachinePart::Ports, format!("{named}: free")),
            PortState::InUse => fine(MachinePart::Ports, format!("{named}: in use by benchhand")),
            PortState::Busy => match holder(self.tree, self.processes, &port.path) {
                Some(RunningProcess { id, name }) => wrong(
                    format!("{named}: busy, {name} (process {id}) has it"),
                    format!("end {name}; the port is then opened by itself"),
                ),
                None => wrong(
                    format!("{named}: busy, another program has it"),
                    format!(
                        "close that program (sudo fuser {} names it); the port is then opened by \
                         itself",
                        port.path
                    ),
                ),
            },
            PortState::Forbidden => wrong(
                format!("{named}: forbidden to this user"),
                self.what_lets_in(&port.path),
            ),
            PortState::Absent => wrong(
                format!("{named}: absent"),
                "plug the adapter in; the gauge is then found by itself".to_owned(),
            ),
            PortState::Unusable => wrong(format!("{named}: unusable"), port.todo.clone()),
        }
    }

    /// What gives this user a port that is forbidden.
    fn what_lets_in(&self, path: &str) -> String {
        let group = self.group_of(path);
        let user = self.user.and_then(|user| user.name(self.tree));
        match (group, user) {
            (Some(group), Some(user)) if self.listed_in(&group, &user) => {
                format!("log out and in again: {user} is in the group {group} since the last login")
            }
            (Some(group), Some(user)) => format!(
                "sudo usermod -aG {group} {user}, then log out and in again; or install the udev \
                 rule of docs/installing.md"
            ),
            _ => "install the udev rule of docs/installing.md, or add your user to the group that \
                  owns the port (often dialout or uucp), then log in again"
                .to_owned(),
        }
    }

    /// The name of the group that a port belongs to, where that group may read and write it.
    fn group_of(&self, path: &str) -> Option<String> {
        let (wanted, mode) = group_and_mode(&self.tree.at(path))?;
        let may = mode & 0o060 == 0o060;
        // The administrators' own group is not one to be joined for a gauge.
        if !may || wanted == 0 {
            return None;
        }
        self.groups()
            .find(|group| group.id == wanted)
            .map(|group| group.name)
    }

    /// Whether the machine's list already has a user in a group.
    fn listed_in(&self, group: &str, user: &str) -> bool {
        self.groups()
            .any(|one| one.name == group && one.members.iter().any(|member| member == user))
    }

    fn groups(&self) -> impl Iterator<Item = MachineGroup> {
        let text = self.tree.text("/etc/group").unwrap_or_default();
        let lines: Vec<MachineGroup> = text.lines().filter_map(MachineGroup::of_line).collect();
        lines.into_iter()
    }
}

/// The number of the group to which a file belongs, and its rights.
#[cfg(unix)]
fn group_and_mode(path: &std::path::Path) -> Option<(u32, u32)> {
    use std::os::unix::fs::MetadataExt as _;
    let found = std::fs::metadata(path).ok()?;
    Some((found.gid(), found.mode()))
}

#[cfg(not(unix))]
fn group_and_mode(_: &std::path::Path) -> Option<(u32, u32)> {
    None
}

/// A line of the machine's list of groups.
#[derive(Debug)]
struct MachineGroup {
    name: String,
    id: u32,
    members: Vec<String>,
}

impl MachineGroup {
    fn of_line(line: &str) -> Option<MachineGroup> {
        let mut fields = line.split(':');
        let name = fields.next()?.to_owned();
        let id = fields.nth(1)?.parse().ok()?;
        let members = fields.next().unwrap_or_default().split(',');
        Some(MachineGroup {
            name,
            id,
            members: members.map(str::to_owned).collect(),
        })
    }
}

/// What is to be said of a gauge whose adapter or port is not among those that are here.
pub(crate) fn gauge_without_port(gauge: &str, wanted: &str) -> MachineFinding {
    finding(
        MachinePart::Ports,
        MachineState::Wrong,
        format!("{gauge} looks for {wanted}: absent"),
        format!(
            "plug the adapter in, or say where {gauge} is: benchhand gauge set {gauge} --port PATH"
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::super::made_up::MadeUpMachine;
    use super::super::processes::running;
    use super::*;

    fn port(path: &str, state: PortState) -> Port {
        Port {
            path: path.to_owned(),
            state,
            description: "USB serial".to_owned(),
            identity: Some("1209:0001".to_owned()),
            gauge: Some("burette".to_owned()),
            todo: String::new(),
        }
    }

    fn seen(machine: &MadeUpMachine, user: Option<&MachineUser>, port: &Port) -> MachineFinding {
        let processes = running(&machine.tree()).unwrap_or_default();
        let tree = machine.tree();
        let sight = PortSight {
            tree: &tree,
            user,
            processes: &processes,
        };
        sight.one(port)
    }

    #[test]
    fn each_state_of_a_port_is_told_apart() {
        let machine = MadeUpMachine::empty();
        let of = |state| seen(&machine, None, &port("/dev/ttyUSB0", state));
        for (state, expected, word) in [
            (PortState::Free, MachineState::Fine, "free"),
            (PortState::InUse, MachineState::Fine, "in use by benchhand"),
            (PortState::Busy, MachineState::Wrong, "busy"),
            (PortState::Forbidden, MachineState::Wrong, "forbidden"),
            (PortState::Absent, MachineState::Wrong, "absent"),
        ] {
            let found = of(state);
            assert_eq!(found.state, expected, "{found:?}");
            assert!(found.found.contains(word), "{found:?}");
            assert!(found.found.contains("the port of burette"), "{found:?}");
            assert_eq!(found.todo.is_empty(), expected == MachineState::Fine);
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_forbidden_port_says_which_group_to_join_or_that_a_login_is_due() {
        use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
        let machine = MadeUpMachine::empty()
            .with("/dev/ttyUSB0", "")
            .with("/etc/passwd", "anna:x:1000:1000::/home/anna:/bin/sh\n");
        let device = machine.tree().at("/dev/ttyUSB0");
        std::fs::set_permissions(&device, std::fs::Permissions::from_mode(0o660)).expect("set");
        // A test that runs as the administrator makes a file of another group.
        let mut group = std::fs::metadata(&device).expect("there").gid();
        if group == 0 {
            group = 20;
            std::os::unix::fs::chown(&device, None, Some(group)).expect("given");
        }
        let anna = MachineUser { id: 1000 };
        let forbidden = port("/dev/ttyUSB0", PortState::Forbidden);
        let outside = machine.with("/etc/group", &format!("tapes:x:{group}:otto\n"));
        let todo = seen(&outside, Some(&anna), &forbidden).todo;
        assert!(todo.contains("usermod -aG tapes anna"), "{todo}");
        let inside = outside.with("/etc/group", &format!("tapes:x:{group}:otto,anna\n"));
        let todo = seen(&inside, Some(&anna), &forbidden).todo;
        assert!(todo.starts_with("log out and in again"), "{todo}");
        std::fs::set_permissions(&device, std::fs::Permissions::from_mode(0o600)).expect("set");
        let todo = seen(&inside, Some(&anna), &forbidden).todo;
        assert!(todo.starts_with("install the udev rule"), "{todo}");
    }

    #[cfg(unix)]
    #[test]
    fn a_busy_port_says_which_program_has_it() {
        let machine = MadeUpMachine::empty().running(77, "terminal", &["terminal"]);
        let open = machine.tree().at("/proc/77/fd");
        std::fs::create_dir_all(&open).expect("made");
        std::os::unix::fs::symlink("/dev/ttyUSB0", open.join("5")).expect("linked");
        let found = seen(&machine, None, &port("/dev/ttyUSB0", PortState::Busy));
        assert!(found.found.contains("terminal (process 77)"), "{found:?}");
        assert!(found.todo.starts_with("end terminal"), "{found:?}");
        let found = seen(&machine, None, &port("/dev/ttyUSB1", PortState::Busy));
        assert!(found.found.contains("another program has it"), "{found:?}");
    }

    #[test]
    fn no_port_is_no_fault_but_something_to_do() {
        let machine = MadeUpMachine::empty();
        let tree = machine.tree();
        let sight = PortSight {
            tree: &tree,
            user: None,
            processes: &[],
        };
        let found = sight.each(&[]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].state, MachineState::Advice);
        assert!(found[0].todo.contains("plug a gauge's adapter in"));
    }
}
