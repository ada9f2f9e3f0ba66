//! `shop …`: several stations with one common record.

use benchhand_wire::{JoinShop, LeaveShop, PrepareShop, Reason, Refusal, ShowShop};

use crate::args::{ShopCommand, ShopJoinArgs, ShopPrepareArgs};
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::show::shop;

/// Carries out one of them.
///
/// # Errors
/// No daemon runs, or the shop cannot be used.
pub(super) fn run(context: &mut Context, command: ShopCommand) -> Result<Exit, Failure> {
    match command {
        ShopCommand::Join(args) => {
            let request = request(args)?;
            let answer = ask(&context.running()?, &request)?;
            context.answer(&answer, shop::shown)?;
        }
        ShopCommand::Prepare(args) => {
            let request = preparing(args)?;
            // A daemon may be of an older program, which knows older tables only, and has the passwords
            // of whoever runs it.
            let answer = ask(&context.here()?, &request)?;
            context.answer(&answer, shop::prepared)?;
        }
        ShopCommand::Leave => {
            let answer = ask(&context.running()?, &LeaveShop {})?;
            context.answer(&answer, |answer| match &answer.left {
                Some(left) => format!("Left {left}. Everything that is here stays here."),
                None => "This station belonged to no shop.".to_owned(),
            })?;
        }
        ShopCommand::Show => {
            let answer = ask(&*context.client()?, &ShowShop {})?;
            context.answer(&answer, shop::shown)?;
        }
    }
    Ok(Exit::Done)
}

/// A file by its whole path: the daemon may run in another folder than this command.
fn whole(file: std::path::PathBuf) -> Result<String, Refusal> {
    std::path::absolute(&file)
        .map(|file| file.display().to_string())
        .map_err(|e| Refusal::new(Reason::BadInput, format!("{}: {e}", file.display())))
}

fn preparing(args: ShopPrepareArgs) -> Result<PrepareShop, Refusal> {
    Ok(PrepareShop {
        url: args.url,
        certificate: args.certificate.map(whole).transpose()?,
        give_to: args.give_to,
    })
}

fn request(args: ShopJoinArgs) -> Result<JoinShop, Refusal> {
    Ok(JoinShop {
        url: args.url,
        certificate: args.certificate.map(whole).transpose()?,
        name: args.name.unwrap_or_else(machine),
    })
}

/// The machine's name, as the system tells it.
fn machine() -> String {
    let kept = std::fs::read_to_string("/etc/hostname").ok();
    let named = kept.or_else(|| std::env::var("COMPUTERNAME").ok());
    let named = named.map(|name| name.trim().to_owned());
    named
        .filter(|name| !name.is_empty())
        .unwrap_or_else(|| "a station".to_owned())
}
