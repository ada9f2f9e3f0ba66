//! `ports` and `examine`.

use benchhand_wire::{Examine, Port, PortState, Ports, Reason};

use crate::args;
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::local::Local;
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

/// Looks at this machine. The daemon answers where one runs; where one is there and cannot be
/// asked, this process looks, and says so among the rest.
///
/// # Errors
/// No data folder is known.
pub(super) fn examine(context: &mut Context) -> Result<Exit, Failure> {
    let examine = Examine {};
    let answer = match context.daemon() {
        Ok(Some(daemon)) => ask(&daemon, &examine)?,
        Ok(None) | Err(_) => ask(&Local::open(&context.data()?)?, &examine)?,
    };
    context.answer(&answer, show::machine::examined)?;
    Ok(match answer.is_wrong() {
        true => Exit::No,
        false => Exit::Done,
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
