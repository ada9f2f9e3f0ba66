//! `gauge …`.

use benchhand_wire::{
    CheckProfile, Event, GaugeSetup, Gauges, Reason, Refusal, RemoveGauge, SetGauge, ZeroGauge,
};

use super::live::{Heard, Listening};
use crate::args::{Gauge, GaugeSet, GaugeZero};
use crate::bench::Bench;
use crate::client::ask;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::local::Local;
use crate::show::{gauges, live::channel};

/// Carries out one command on gauges.
///
/// # Errors
/// Why it was not carried out.
pub(super) fn run(bench: &mut Bench, args: Gauge) -> Result<Exit, Failure> {
    match args {
        Gauge::Set(args) => set(bench, *args),
        Gauge::List => {
            let answer = ask(&*bench.client()?, &Gauges {})?;
            bench.answer(&answer, gauges::list)?;
            Ok(Exit::Done)
        }
        Gauge::Watch(args) => watch(bench, &args.name),
        Gauge::Zero(args) => zero(bench, args),
        Gauge::Check(args) => super::check::gauge(bench, *args),
        Gauge::Direction(args) => super::direction::run(bench, &args),
        Gauge::Find(args) => super::find::find(bench, args),
        Gauge::Study(args) => super::tdc::study(bench, &args),
        Gauge::Profile(args) => super::find::check(bench, &args.file),
        Gauge::Drop(args) => {
            let answer = ask(&*bench.client()?, &RemoveGauge { name: args.name })?;
            bench.answer(&answer, gauges::list)?;
            Ok(Exit::Done)
        }
    }
}

fn set(bench: &mut Bench, args: GaugeSet) -> Result<Exit, Failure> {
    let profile_text = args.profile_file.as_deref().map(read_text).transpose()?;
    let profile = match (args.profile, &args.profile_file, &profile_text) {
        (Some(name), ..) => name,
        // The file says its own name.
        (None, Some(file), Some(text)) => {
            let check = CheckProfile {
                file: shown(file),
                text: text.clone(),
            };
            ask(&Local::open(&bench.data()?)?, &check)?.name
        }
        (None, ..) => String::new(),
    };
    let setup = GaugeSetup {
        name: args.name,
        profile,
        port: args.port,
        adapter: args.adapter,
        sense: args.sense,
        u: args.u,
        scale_u: args.scale_u,
        repeatability: args.repeatability,
        repeatability_dof: args.repeatability_dof,
        resolution: args.resolution,
        capacity: args.capacity,
        counts: args.counts,
        calibrated: args.calibrated,
    };
    let answer = ask(
        &*bench.client()?,
        &SetGauge {
            setup,
            profile_text,
        },
    )?;
    bench.answer(&answer, gauges::one)?;
    Ok(Exit::Done)
}

fn zero(bench: &mut Bench, args: GaugeZero) -> Result<Exit, Failure> {
    let GaugeZero {
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
    let answer = bench.ask_gauge(by_eye, &request)?;
    bench.answer(&answer, |answer| gauges::zeroed(&name, hanging, answer))?;
    Ok(Exit::Done)
}

/// Shows one gauge until Ctrl-C: one line that is renewed in a terminal, one line a value
/// elsewhere.
fn watch(bench: &mut Bench, name: &str) -> Result<Exit, Failure> {
    let live = bench.live()?;
    let listening = Listening::start(&live.http)?;
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
    let mut screen = super::live::Screen::new(bench.json);
    if !bench.json {
        bench
            .out
            .text(&format!("{name} is {} (Ctrl-C ends)", gauge.link))?;
        if !gauge.todo.is_empty() {
            bench.out.text(&gauge.todo)?;
        }
    }
    loop {
        match listening.next() {
            Heard::Event(announced) => match &announced.event {
                Event::Value { gauge, live } if gauge == name => {
                    if bench.json {
                        bench.out.json_line(&announced)?;
                    } else {
                        let line: Vec<String> = live.iter().map(channel).collect();
                        screen.renew_or_print(bench, &line.join("   "))?;
                    }
                }
                Event::Link { gauge } if gauge.setup.name == name => {
                    if bench.json {
                        bench.out.json_line(&announced)?;
                    } else {
                        let text = format!("{name} is {} {}", gauge.link, gauge.todo);
                        screen.print(bench, text.trim_end())?;
                    }
                }
                _ => {}
            },
            Heard::Typed(_) => {}
            Heard::Lost => screen.print_unless_json(bench, "! connection lost, trying again")?,
            Heard::Interrupted => break,
            Heard::Ended => return Err(super::live::ended().into()),
        }
    }
    drop(screen);
    live.finish()?;
    Ok(Exit::Done)
}
