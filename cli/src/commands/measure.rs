//! `measure`: starts a route and follows it to its end.

use std::collections::BTreeMap;

use benchhand_blueprint::units::listed;
use benchhand_wire::{Control, ControlRoute, Event, Reason, Refusal, RouteProgress, StartRoute};

use super::live::{FollowedEvents, LiveScreen, ScreenInput, ended, follow};
use super::steer;
use crate::args::MeasureArgs;
use crate::client::{Http, ask};
use crate::context::Context;
use crate::data::read_text;
use crate::errors::{Exit, Failure};
use crate::out::warn;
use crate::show::live::LiveView;
use crate::show::{asked, route};

/// Starts a route, or takes up a half-finished one, and follows it until it is done. Ctrl-C leaves
/// it half finished.
///
/// # Errors
/// Why the route was not started, or that the daemon ended during it.
pub(super) fn run(context: &mut Context, args: MeasureArgs) -> Result<Exit, Failure> {
    let job = args.job.clone();
    let request = request(args)?;
    let live = context.live()?;
    let listening = FollowedEvents::start(&live.http)?;
    let mut view = LiveView::new(Some(job));
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

/// Follows a route until it no longer runs.
fn to_its_end(
    context: &mut Context,
    http: &Http,
    listening: &FollowedEvents,
    view: &mut LiveView,
    begun: RouteProgress,
) -> Result<(Exit, RouteProgress), Failure> {
    let mut screen = LiveScreen::new(context.json);
    let mut last = begun;
    let mut exit = Exit::Done;
    // As it was left, where a person did so.
    let mut left = None;
    // Late drops of the last chamber belong to it, so they are awaited.
    while last.running {
        match listening.next() {
            ScreenInput::Event(announced) => {
                follow(context, http, view, &mut screen, &announced)?;
                match announced.event {
                    Event::Route { progress } if progress.job == last.job => last = progress,
                    Event::Caught { missed: true } => last = after_a_gap(http, last)?,
                    _ => {}
                }
            }
            ScreenInput::Typed(line) => typed(context, http, &screen, &last, &line)?,
            ScreenInput::Lost => {
                view.lost();
                screen.stand(view);
            }
            ScreenInput::Interrupted => {
                exit = match last.done && last.asked.is_none() {
                    true => Exit::Done,
                    false => Exit::Interrupted,
                };
                // The control is refused if the route ended by itself meanwhile. Its own end then
                // counts.
                last = match control(http, &last.job, Control::End) {
                    // What is said at its end is still to be heard.
                    Ok(progress) => {
                        left = Some(progress.clone());
                        RouteProgress {
                            running: true,
                            ..progress
                        }
                    }
                    Err(_) => after_a_gap(http, last)?,
                };
            }
            ScreenInput::Ended => {
                if let Some(left) = left {
                    return Ok((exit, left));
                }
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

/// The state of the route after lost events.
fn after_a_gap(http: &Http, last: RouteProgress) -> Result<RouteProgress, Failure> {
    let shown = ask(
        http,
        &benchhand_wire::ShowJob {
            job: last.job.clone(),
        },
    )?;
    // A job without a route has none that runs or is half finished, so the route is done.
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
    screen: &LiveScreen,
    progress: &RouteProgress,
    line: &str,
) -> Result<(), Failure> {
    let line = line.trim();
    let said = match (steer::typed(line), &progress.asked) {
        _ if line.is_empty() => return Ok(()),
        _ if matches!(line.to_lowercase().as_str(), "help" | "?") => {
            format!("{}\nType to steer: {}.", route::now(progress), steer::WORDS)
        }
        // A refused control leaves the route unchanged. The reason is printed and the route goes
        // on.
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

fn request(args: MeasureArgs) -> Result<StartRoute, Failure> {
    let text = args.route_file.as_deref().map(read_text).transpose()?;
    let mut lists: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (name, values) in args.lists {
        let values = listed(&values)
            .map_err(|doubt| Refusal::new(Reason::BadInput, format!("--list {name}: {doubt}")))?;
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
        mean_s: args.mean,
        text,
        afresh: args.afresh,
        by: args.by,
    })
}
