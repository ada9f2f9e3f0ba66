//! `gauge direction`: learns which way a burette's scale runs while a little is let out, and which
//! way a dial's number runs while its plunger is pushed in.
//!
//! A movement of a few cc that does not end at an end of the scale is taken for the requested
//! delivery. Any other movement may be a filling, so the person is asked. The speed of the
//! movement is not used, because a few cc are soon over either way.

use benchhand_blueprint::Quantity;
use benchhand_blueprint::units::{QuantityKind, Unit};
use benchhand_wire::{
    BuretteCounts, GaugeSetup, GaugeState, Gauges, Reason, Refusal, SetGauge, Watch,
};

mod moved;
mod plunger;

use moved::{LITTLE, Looks, Moved, looks};

use super::watched::{RestOrLine, TypedLines, WatchedGauge, say};
use crate::args::GaugeDirectionArgs;
use crate::client::{Http, ask};
use crate::context::{Context, LiveDaemon};
use crate::errors::{Exit, Failure};
use crate::show::direction::{self, SeenDirection};

/// Watches a burette while a little is let out, and keeps the direction of its scale.
///
/// # Errors
/// Why the burette cannot be watched, or that the register says otherwise and nobody decided.
pub(super) fn run(context: &mut Context, args: &GaugeDirectionArgs) -> Result<Exit, Failure> {
    let live = context.live()?;
    let gauge = watchable(&live.http, &args.name)?;
    if gauge.kind == "length" {
        let seen = plunger::learn(context, &live.http, gauge, args.replace);
        live.finish()?;
        return plunger::told(context, &seen?);
    }
    let seen = learn(context, &live, gauge, args);
    live.finish()?;
    let seen = seen?;
    context.answer(&seen, direction::told)?;
    let as_seen = seen.changed || seen.before == Some(seen.counts);
    Ok(if as_seen { Exit::Done } else { Exit::No })
}

fn learn(
    context: &mut Context,
    live: &LiveDaemon,
    gauge: GaugeState,
    args: &GaugeDirectionArgs,
) -> Result<SeenDirection, Failure> {
    let lines = TypedLines::hear();
    if let Some(counts) = &gauge.setup.counts {
        say(
            context,
            &format!(
                "The register says that {} counts {counts}; that is tried now.",
                args.name
            ),
        )?;
    }
    let seen = watch(context, &live.http, &gauge.setup, &lines)?;
    let before = gauge.setup.counts;
    let mut found = SeenDirection {
        gauge: args.name.clone(),
        counts: seen.counts(),
        from: seen.from,
        to: seen.to,
        unit: seen.unit.symbol().to_owned(),
        refilled: !seen.delivered,
        before,
        changed: false,
    };
    if found.before == Some(found.counts) {
        return Ok(found);
    }
    if let (Some(before), false) = (&found.before, args.replace) {
        let contrary = format!(
            "{}, but the register says {before}",
            direction::seen(&found)
        );
        if !lines.heard() {
            return Err(Refusal::new(Reason::Conflict, contrary)
                .todo("try again with --replace if the movement was seen rightly")
                .into());
        }
        if !sure(context, &lines, &contrary, found.counts)? {
            return Ok(found);
        }
    }
    change(&live.http, &args.name, |setup| {
        setup.counts = Some(found.counts);
    })?;
    found.changed = true;
    Ok(found)
}

/// Changes a gauge's entry in the register. The entry is read again first, since other fields of it
/// may have changed while the gauge was watched.
fn change(http: &Http, name: &str, change: impl Fn(&mut GaugeSetup)) -> Result<(), Refusal> {
    let mut setup = known(http, name)?.setup;
    change(&mut setup);
    let profile_text = None;
    let set = SetGauge {
        setup,
        profile_text,
    };
    ask(http, &set).map(drop)
}

/// The gauge as the register has it.
fn known(http: &Http, name: &str) -> Result<GaugeState, Refusal> {
    let list = ask(http, &Gauges {})?;
    let mut gauges = list.gauges.into_iter();
    gauges
        .find(|gauge| gauge.setup.name == name)
        .ok_or_else(|| {
            Refusal::new(Reason::NotFound, format!("no gauge is called {name:?}"))
                .todo("`benchhand gauge list` lists them")
        })
}

/// The gauge, if it can be watched: a burette, a balance or a dial that sends and is used by no
/// route.
fn watchable(http: &Http, name: &str) -> Result<GaugeState, Refusal> {
    let gauge = known(http, name)?;
    if !["volume", "mass", "length"].contains(&gauge.kind.as_str()) {
        let found = format!("{name} measures {}: it has no direction to see", gauge.kind);
        return Err(
            Refusal::new(Reason::BadInput, found).expected("a burette, a balance or a dial")
        );
    }
    if gauge.setup.port.is_none() && gauge.setup.adapter.is_none() {
        let found = format!("{name} is read by eye: it cannot be watched");
        let todo = match gauge.kind.as_str() {
            "length" => "what is typed is the figure itself: below the zero is positive",
            _ => {
                "two levels that are typed need no direction; `benchhand gauge set … --counts \
                 up|down` states it"
            }
        };
        return Err(Refusal::new(Reason::Conflict, found).todo(todo));
    }
    let state = ask(http, &Watch {})?;
    let on = |stops: &[benchhand_wire::StopDone]| stops.iter().any(|stop| stop.gauge == name);
    if let Some(route) = state.routes.iter().find(|r| r.running && on(&r.stops)) {
        let found = format!(
            "the route {} of job {} measures with {name}",
            route.route, route.job
        );
        return Err(Refusal::new(Reason::Conflict, found).todo(
            "the route asks at its first movement where the direction is not known; or end it \
             first",
        ));
    }
    Ok(gauge)
}

/// Watches until the kind of a movement is known.
fn watch(
    context: &mut Context,
    http: &Http,
    setup: &GaugeSetup,
    lines: &TypedLines,
) -> Result<Moved, Failure> {
    let capacity = setup.capacity.as_deref().and_then(|text| {
        let holds: Quantity = text.parse().ok()?;
        Some(holds.base())
    });
    let mut watched = WatchedGauge::new(http, setup.name.clone(), None);
    let mut from = watched.rest(false)?;
    let invited = format!(
        "Let a little out of {}, {} to {} {}, and let it rest.",
        setup.name,
        LITTLE.start(),
        LITTLE.end(),
        base_symbol(unit_of(&from.unit)?)
    );
    say(context, &invited)?;
    let mut asked: Option<Moved> = None;
    loop {
        let to = match watched.rest_or_line(lines)? {
            RestOrLine::Rest(to) => to,
            RestOrLine::Typed(line) => {
                match (asked, line.trim().to_lowercase().as_str()) {
                    (_, "") => {}
                    (Some(moved), word @ ("delivered" | "refill")) => {
                        let delivered = word == "delivered";
                        return Ok(Moved { delivered, ..moved });
                    }
                    (Some(_), word) => say(
                        context,
                        &format!("! {word:?} is not an answer to this: delivered, or refill"),
                    )?,
                    (None, _) => say(context, &invited)?,
                }
                continue;
            }
        };
        let moved = Moved {
            from: from.value,
            to: to.value,
            unit: unit_of(&to.unit)?,
            delivered: true,
        };
        if to.unit != from.unit {
            // Somebody changed the gauge's unit, so the watch starts over.
            (from, asked) = (to, None);
            continue;
        }
        let went = direction::went(&setup.name, moved.from, moved.to, &to.unit);
        match looks(moved, capacity, asked) {
            Looks::Still => {}
            Looks::TooLittle => say(
                context,
                &format!("{went}: too little to tell, let more out."),
            )?,
            Looks::Little => return Ok(moved),
            Looks::Refill(why) => {
                let answer = match lines.heard() {
                    true => {
                        "Was it let out, or filled? Type delivered, or refill. Or let a little out once more."
                    }
                    false => "That movement is not believed. Let a little out once more.",
                };
                say(
                    context,
                    &format!("? {went}; {why}, as in a refill. {answer}"),
                )?;
                let begun = asked.filter(|a| (a.to > a.from) == (moved.to > moved.from));
                let start = begun.map_or(moved.from, |begun| begun.from);
                asked = Some(Moved {
                    from: start,
                    ..moved
                });
                from = to;
            }
        }
    }
}

/// Asks the person at the terminal whether to change the register.
fn sure(
    context: &mut Context,
    lines: &TypedLines,
    found: &str,
    counts: BuretteCounts,
) -> Result<bool, Failure> {
    say(
        context,
        &format!("? {found}. Shall the register say {counts}? yes, or no"),
    )?;
    loop {
        match lines
            .wait()
            .map(|line| line.trim().to_lowercase())
            .as_deref()
        {
            Some("yes" | "y") => return Ok(true),
            Some("no" | "n") | None => return Ok(false),
            Some(_) => say(context, "! yes, or no")?,
        }
    }
}

fn unit_of(symbol: &str) -> Result<Unit, Refusal> {
    symbol.parse().map_err(|_| {
        Refusal::new(
            Reason::BadInput,
            format!("{symbol:?} is not a unit of a burette"),
        )
    })
}

fn base_symbol(unit: Unit) -> &'static str {
    match unit.kind() {
        QuantityKind::Mass => "g",
        _ => "cc",
    }
}
