//! `gauge …`.

use benchhand_wire::{
    CheckProfile, Event, GaugeHistory, GaugeSetup, Gauges, Reason, Refusal, RemoveGauge, SetGauge,
    ZeroGauge,
};

use super::live::{FollowedEvents, ScreenInput};
use crate::args::{GaugeCommand, GaugeSetArgs, GaugeZeroArgs};
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::local::Local;
use crate::show::{gauges, history, live::channel};

/// Carries out one command on gauges.
///
/// # Errors
/// Why the command was not carried out.
pub(super) fn run(context: &mut Context, args: GaugeCommand) -> Result<Exit, Failure> {
    match args {
        GaugeCommand::Set(args) => set(context, *args),
        GaugeCommand::List => {
            let answer = ask(&*context.client()?, &Gauges {})?;
            context.answer(&answer, gauges::list)?;
            Ok(Exit::Done)
        }
        GaugeCommand::History(args) => {
            let answer = ask(&*context.client()?, &GaugeHistory { name: args.name })?;
            context.answer(&answer, history::gauge)?;
            Ok(Exit::Done)
        }
        GaugeCommand::Watch(args) => watch(context, &args.name),
        GaugeCommand::Zero(args) => zero(context, args),
        GaugeCommand::Check(args) => super::check::gauge(context, *args),
        GaugeCommand::Direction(args) => super::direction::run(context, &args),
        GaugeCommand::Find(args) => super::find::find(context, args),
        GaugeCommand::Study(args) => super::tdc::study(context, &args),
        GaugeCommand::Profile(args) => super::find::check(context, &args.file),
        GaugeCommand::Drop(args) => {
            let name = args.name.clone();
            let answer = ask(&*context.client()?, &RemoveGauge { name: args.name })?;
            context.answer(&answer, |_| gauges::dropped(&name))?;
            Ok(Exit::Done)
        }
    }
}

fn set(context: &mut Context, args: GaugeSetArgs) -> Result<Exit, Failure> {
    let profile_text = args.profile_file.as_deref().map(read_text).transpose()?;
    let profile = match (args.profile, &args.profile_file, &profile_text) {
        (Some(name), ..) => name,
        // The profile's name comes from its file.
        (None, Some(file), Some(text)) => {
            let check = CheckProfile {
                file: shown(file),
                text: text.clone(),
            };
            ask(&Local::open(&context.data()?)?, &check)?.name
        }
        (None, ..) => String::new(),
    };
    let client = context.client()?;
    // A direction that was learned stays until another one is stated: a number that runs the other
    // way turns every sign over.
    let list = ask(&*client, &Gauges {})?;
    let before = list.gauges.into_iter().map(|gauge| gauge.setup);
    let before = before.into_iter().find(|setup| setup.name == args.name);
    let setup = GaugeSetup {
        name: args.name,
        profile,
        port: args.port,
        adapter: args.adapter,
        sense: args
            .sense
            .or(before.as_ref().map(|setup| setup.sense))
            .unwrap_or(1),
        u: args.u,
        scale_u: args.scale_u,
        repeatability: args.repeatability,
        repeatability_dof: args.repeatability_dof,
        resolution: args.resolution,
        capacity: args.capacity,
        counts: args.counts.or(before.and_then(|setup| setup.counts)),
        calibrated: args.calibrated,
    };
    let answer = ask(
        &*client,
        &SetGauge {
            setup,
            profile_text,
        },
    )?;
    context.answer(&answer, gauges::one)?;
    Ok(Exit::Done)
}

fn zero(context: &mut Context, args: GaugeZeroArgs) -> Result<Exit, Failure> {
    let GaugeZeroArgs {
        name,
        job,
        raw,
        master,
        u,
        hanging,
    } = args;
    let by_eye = raw.is_some();
    let request = ZeroGauge {
        name: name.clone(),
        job,
        raw,
        master,
        u,
        hanging,
    };
    let answer = context.ask_gauge(by_eye, &request)?;
    context.answer(&answer, |answer| gauges::zeroed(&name, hanging, answer))?;
    Ok(Exit::Done)
}

/// Shows one gauge until Ctrl-C. In a terminal one line is renewed; elsewhere each value is a
/// line.
fn watch(context: &mut Context, name: &str) -> Result<Exit, Failure> {
    let live = context.live()?;
    let listening = FollowedEvents::start(&live.http)?;
    let Some(gauge) = listening
        .state
        .gauges
        .iter()
        .find(|gauge| gauge.setup.name == name)
    else {
        return Err(
            Refusal::new(Reason::NotFound, format!("no gauge is called {name:?}"))
                .todo("`benchhand gauge list` lists them")
                .into(),
        );
    };
    let mut screen = super::live::LiveScreen::new(context.json);
    if !context.json {
        context
            .out
            .text(&format!("{name} is {} (Ctrl-C ends)", gauge.link))?;
        if !gauge.todo.is_empty() {
            context.out.text(&gauge.todo)?;
        }
    }
    loop {
        match listening.next() {
            ScreenInput::Event(announced) => match &announced.event {
                Event::Value { gauge, live } if gauge == name => {
                    if context.json {
                        context.out.json_line(&announced)?;
                    } else {
                        let line: Vec<String> = live.iter().map(channel).collect();
                        screen.renew_or_print(context, &line.join("   "))?;
                    }
                }
                Event::Link { gauge } if gauge.setup.name == name => {
                    if context.json {
                        context.out.json_line(&announced)?;
                    } else {
                        let text = format!("{name} is {} {}", gauge.link, gauge.todo);
                        screen.print(context, text.trim_end())?;
                    }
                }
                _ => {}
            },
            ScreenInput::Typed(_) => {}
            ScreenInput::Lost => {
                screen.print_unless_json(context, "! connection lost, trying again")?
            }
            ScreenInput::Interrupted => break,
            ScreenInput::Ended => return Err(super::live::ended().into()),
        }
    }
    drop(screen);
    live.finish()?;
    Ok(Exit::Done)
}
