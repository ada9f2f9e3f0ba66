//! `ports`.

use benchhand_wire::{Port, PortState, Ports, Reason};

use crate::args;
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::show;

/// Lists the ports. For a single named port, the exit code tells its state.
///
/// # Errors
/// Why the ports cannot be listed.
pub(super) fn run(context: &mut Context, args: args::PortsArgs) -> Result<Exit, Failure> {
    let named = args.path.is_some();
    let answer = ask(
        &*context.client()?,
        &Ports {
            path: args.path,
            only: None,
        },
    )?;
    context.answer(&answer, show::machine::ports)?;
    Ok(match answer.ports.as_slice() {
        [Port { state, .. }] if named => exit_of(*state),
        _ => Exit::Done,
    })
}

fn exit_of(state: PortState) -> Exit {
    match state {
        PortState::Free | PortState::InUse => Exit::Done,
        PortState::Absent => Exit::Found(Reason::PortAbsent),
        PortState::Busy => Exit::Found(Reason::PortBusy),
        PortState::Forbidden => Exit::Found(Reason::PortForbidden),
        PortState::Unusable => Exit::Found(Reason::BadInput),
    }
}
