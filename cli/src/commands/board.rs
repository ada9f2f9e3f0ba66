//! `board`: the address of the page, and who may open it.

use benchhand_wire::{CloseNetwork, OpenBoard, OpenNetwork, Pairing};

use crate::args::BoardArgs;
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};

/// Shows an address of the page, or opens or closes the local network.
///
/// # Errors
/// No daemon runs, or the port cannot be used.
pub(super) fn run(context: &mut Context, args: &BoardArgs) -> Result<Exit, Failure> {
    let http = context.running()?;
    if args.close_network {
        let answer = ask(&http, &CloseNetwork {})?;
        context.answer(&answer, |a| match (a.was_open, a.devices) {
            (false, _) => "The local network was not open.".to_owned(),
            (true, 0) => "The local network is closed; no device had been paired.".to_owned(),
            (true, n) => format!("The local network is closed; paired devices shut out: {n}."),
        })?;
    } else if args.open_network {
        let port = args.network_port;
        let answer = ask(&http, &OpenNetwork { port })?;
        context.answer(&answer, pairing)?;
    } else {
        let answer = ask(&http, &OpenBoard {})?;
        context.answer(&answer, |a| {
            format!(
                "{}\nThe address opens once, within {} s, in a browser of this machine.",
                a.address, a.valid_s
            )
        })?;
    }
    Ok(Exit::Done)
}

fn pairing(pairing: &Pairing) -> String {
    let mut text = String::from("The board is open to the local network.\n");
    for sentence in &pairing.risk {
        text += &format!("! {sentence}\n");
    }
    text + &format!(
        "On the device open {} and type {}\n\
         The code pairs one device and ends after {} minutes.\n\
         `benchhand board --close-network` closes the network and shuts every device out.",
        pairing.address,
        pairing.code,
        pairing.valid_s / 60
    )
}
