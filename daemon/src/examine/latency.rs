//! How long a USB adapter holds bytes back before it sends them on.
//!
//! Some adapters gather bytes until this time has passed. A gauge that answers questions is then
//! no faster than that; a gauge that sends by itself is merely seen late.

use benchhand_wire::{MachineFinding, MachinePart, MachineState};

use super::{MachineTree, finding, fine};

/// The longest time that costs a polled gauge nothing worth speaking of, in milliseconds. Our own
/// choice: at 9600 baud an answer of four characters takes as long.
const LONGEST: u32 = 4;

/// What is to be said of each adapter that tells its time; `None` where the machine tells of none.
pub(crate) fn adapters(tree: &MachineTree) -> Option<Vec<MachineFinding>> {
    if !tree.at("/sys/bus").is_dir() {
        return None;
    }
    let timer = |name: &str| format!("/sys/bus/usb-serial/devices/{name}/latency_timer");
    let devices = tree.listed("/sys/bus/usb-serial/devices");
    let told = devices.iter().filter_map(|name| {
        let ms: u32 = tree.text(&timer(name))?.parse().ok()?;
        Some(match ms <= LONGEST {
            true => fine(
                MachinePart::Latency,
                format!("{name} holds bytes back for {ms} ms at most"),
            ),
            false => finding(
                MachinePart::Latency,
                MachineState::Advice,
                format!(
                    "{name} holds bytes back for up to {ms} ms; a gauge that is asked again and \
                     again loses that each time"
                ),
                format!(
                    "echo 1 | sudo tee {} (until it is unplugged; the udev rule of \
                     docs/installing.md does it each time)",
                    timer(name)
                ),
            ),
        })
    });
    let found: Vec<MachineFinding> = told.collect();
    Some(match found.is_empty() {
        true => vec![fine(
            MachinePart::Latency,
            "no adapter here tells that it holds bytes back",
        )],
        false => found,
    })
}

#[cfg(test)]
mod tests {
    use super::super::made_up::MadeUpMachine;
    use super::*;

    #[test]
    fn a_slow_adapter_is_advised_upon_and_a_quick_one_is_fine() {
        let timer = |name: &str| format!("/sys/bus/usb-serial/devices/{name}/latency_timer");
        let machine = MadeUpMachine::empty()
            .with(&timer("ttyUSB0"), "16\n")
            .with(&timer("ttyUSB1"), "1\n")
            .with("/sys/bus/usb-serial/devices/ttyUSB2/port_number", "0\n");
        let found = adapters(&machine.tree()).expect("it tells");
        let states: Vec<MachineState> = found.iter().map(|one| one.state).collect();
        assert_eq!(states, [MachineState::Advice, MachineState::Fine]);
        assert!(found[0].found.contains("16 ms"), "{found:?}");
        assert!(
            found[0]
                .todo
                .contains("/sys/bus/usb-serial/devices/ttyUSB0/latency_timer"),
            "{found:?}"
        );
    }

    #[test]
    fn a_machine_without_such_adapters_is_fine() {
        let machine = MadeUpMachine::empty().with("/sys/bus/pci/uevent", "");
        let found = adapters(&machine.tree()).expect("it tells");
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].state, MachineState::Fine);
    }

    #[test]
    fn a_machine_that_tells_of_no_adapter_is_not_called_fine() {
        assert_eq!(adapters(&MadeUpMachine::empty().tree()), None);
    }
}
