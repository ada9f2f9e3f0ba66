//! `measure`: start a route, follow it to its end.

use std::collections::BTreeMap;

use benchhand_wire::{Control, ControlRoute, Event, RouteProgress, StartRoute};

use super::live::{Heard, Listening, Screen, ended, follow};
use super::steer;
use crate::args::Measure;
use crate::client::{Http, ask};
use crate::context::Context;
use crate::data::read_text;
use crate::errors::{Exit, Failure};
use crate::out::warn;
use crate::show::live::View;
use crate::show::{asked, route};

/// Starts a route, or takes up the one that stood half-way, and follows it until it is done.
/// Ctrl-C leaves it half-way.
///
/// # Errors
/// Why it was not started, or that the daemon ended under it.
pub(super) fn run(context: &mut Context, args: Measure) -> Result<Exit, Failure> {
    let job = args.job.clone();
    let request = request(args)?;
    let live = context.live()?;
    let listening = Listening::start(&live.http)?;
    let mut view = View::new(Some(job));
    view.renew(&listening.state);
    let begun = ask(&live.http, &request)?;
    if !context.json {
        context.out.text(&route::beginning(&begun))?;
        if listening.hear_typed_lines() {
            context
                .out
                .text(&format!("Type to steer: {}.", steer::WORDS))?;
        }
        context.out.text("Ctrl-C leaves it half-way.")?;
    }
    let (exit, last) = to_its_end(context, &live.http, &listening, &mut view, begun)?;
    if !context.json {
        context.out.text(&route::whole(&last))?;
    }
    live.finish()?;
    Ok(exit)
}

/// Follows a route until it does not run any more.
fn to_its_end(
    context: &mut Context,
    http: &Http,
    listening: &Listening,
    view: &mut View,
    begun: RouteProgress,
) -> Result<(Exit, RouteProgress), Failure> {
    let mut screen = Screen::new(context.json);
    let mut last = begun;
    let mut exit = Exit::Done;
    // The last chamber's late drops are waited for: they belong to it.
    while last.running {
        match listening.next() {
            Heard::Event(announced) => {
                follow(context, http, view, &mut screen, &announced)?;
                match announced.event {
                    Event::Route { progress } if progress.job == last.job => last = progress,
                    Event::Caught { missed: true } => last = after_a_gap(http, last)?,
                    _ => {}
                }
            }
            Heard::Typed(line) => typed(context, http, &screen, &last, &line)?,
            Heard::Lost => {
                view.lost();
                screen.stand(view);
            }
            Heard::Interrupted => {
                exit = match last.done && last.asked.is_none() {
                    true => Exit::Done,
                    false => Exit::Interrupted,
                };
                // Refused where it ended by itself in the meantime: then that counts.
                last = match control(http, &last.job, Control::End) {
                    Ok(progress) => progress,
                    Err(_) => after_a_gap(http, last)?,
                };
            }
            Heard::Ended => {
                let RouteProgress { job, route, .. } = &last;
                return Err(ended()
                    .todo(format!(
                        "start it with `benchhand serve`, then `benchhand measure {job} {route}`: \
                         the route is taken up where it stood"
                    ))
                    .into());
            }
        }
    }
    Ok((exit, last))
}

/// Where the route stands after events were lost.
fn after_a_gap(http: &Http, last: RouteProgress) -> Result<RouteProgress, Failure> {
    let shown = ask(
        http,
        &benchhand_wire::ShowJob {
            job: last.job.clone(),
        },
    )?;
    // A job that shows no route any more has none that runs or stands half-way: it is done.
    Ok(shown.route.unwrap_or(RouteProgress {
        running: false,
        done: true,
        at: None,
        ..last
    }))
}

fn typed(
    context: &mut Context,
    http: &Http,
    screen: &Screen,
    progress: &RouteProgress,
    line: &str,
) -> Result<(), Failure> {
    let line = line.trim();
    let said = match (steer::typed(line), &progress.asked) {
        _ if line.is_empty() => return Ok(()),
        _ if matches!(line.to_lowercase().as_str(), "help" | "?") => {
            format!("{}\nType to steer: {}.", route::now(progress), steer::WORDS)
        }
        // A control that is refused leaves the route as it was: say why and go on.
        (Some(wanted), _) => match control(http, &progress.job, wanted) {
            Ok(_) => return Ok(()),
            Err(refusal) => format!("! {refusal}"),
        },
        (None, Some(question)) => asked::no_answer(line, question),
        (None, None) => format!("! {line:?} means nothing: {}", steer::WORDS),
    };
    screen.print_unless_json(context, &said)?;
    Ok(())
}

fn control(
    http: &Http,
    job: &str,
    control: Control,
) -> Result<RouteProgress, benchhand_wire::Refusal> {
    ask(
        http,
        &ControlRoute {
            job: job.to_owned(),
            control,
        },
    )
}

fn request(args: Measure) -> Result<StartRoute, Failure> {
    let text = args.route_file.as_deref().map(read_text).transpose()?;
    let mut lists: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (name, values) in args.lists {
        let values = values.split(',').map(|value| value.trim().to_owned());
        lists.entry(name).or_default().extend(values);
    }
    let mut gauges = BTreeMap::new();
    for (kind, gauge) in args.gauges {
        if let Some(before) = gauges.insert(kind.clone(), gauge) {
            warn(&format!(
                "note: --gauge {kind}={before} is overridden by the one after it"
            ));
        }
    }
    Ok(StartRoute {
        job: args.job,
        route: args.route,
        gauges,
        cylinders: args.cylinders,
        lists,
        rounds: args.rounds,
        text,
        afresh: args.afresh,
    })
}
