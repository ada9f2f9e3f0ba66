//! `gauge direction`: learns which way a burette's scale runs while a little is let out.
//!
//! A movement of a few cc that does not end at an end of the scale is taken for the requested
//! delivery. Any other movement may be a filling, so the person is asked. The speed of the
//! movement is not used, because a few cc are soon over either way.

use benchhand_blueprint::Quantity;
use benchhand_blueprint::units::{QuantityKind, Unit};
use benchhand_wire::{
    BuretteCounts, GaugeSetup, GaugeState, Gauges, Reason, Refusal, SetGauge, Watch,
};

use super::watched::{RestOrLine, TypedLines, WatchedGauge, say};
use crate::args::GaugeDirectionArgs;
use crate::client::{Http, ask};
use crate::context::{Context, LiveDaemon};
use crate::errors::{Exit, Failure};
use crate::show::direction::{self, SeenDirection};

/// Amount that the person is asked to let out, in cc or g.
const LITTLE: std::ops::RangeInclusive<f64> = 1.0..=5.0;
/// Distance from an end of the scale within which a burette is empty or full, in cc. Common
/// practice, no source.
const AT_END_CC: f64 = 0.5;
/// A movement below this is only drops, in cc or g.
const DROPS: f64 = 0.1;
/// Usual capacities of burettes, for a burette without a stated capacity, in cc. Common practice,
/// no source.
const USUAL_ENDS_CC: [f64; 6] = [10.0, 25.0, 50.0, 100.0, 150.0, 200.0];

/// Watches a burette while a little is let out, and keeps the direction of its scale.
///
/// # Errors
/// Why the burette cannot be watched, or that the register says otherwise and nobody decided.
pub(super) fn run(context: &mut Context, args: &GaugeDirectionArgs) -> Result<Exit, Failure> {
    let live = context.live()?;
    let seen = learn(context, &live, args);
    live.finish()?;
    let seen = seen?;
    context.answer(&seen, direction::told)?;
    let as_seen = seen.changed || seen.before == Some(seen.counts);
    Ok(if as_seen { Exit::Done } else { Exit::No })
}

fn learn(
    context: &mut Context,
    live: &LiveDaemon,
    args: &GaugeDirectionArgs,
) -> Result<SeenDirection, Failure> {
    let gauge = watchable(&live.http, &args.name)?;
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
    // Other fields of the register may have changed meanwhile, so the entry is read again.
    let setup = GaugeSetup {
        counts: Some(found.counts),
        ..known(&live.http, &args.name)?.setup
    };
    let profile_text = None;
    ask(
        &live.http,
        &SetGauge {
            setup,
            profile_text,
        },
    )?;
    found.changed = true;
    Ok(found)
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

/// The gauge, if it can be watched: a burette or a balance that sends and is used by no route.
fn watchable(http: &Http, name: &str) -> Result<GaugeState, Refusal> {
    let gauge = known(http, name)?;
    if !["volume", "mass"].contains(&gauge.kind.as_str()) {
        let found = format!("{name} measures {}: nothing is let out of it", gauge.kind);
        return Err(Refusal::new(Reason::BadInput, found).expected("a burette or a balance"));
    }
    if gauge.setup.port.is_none() && gauge.setup.adapter.is_none() {
        let found = format!("{name} is read by eye: it cannot be watched");
        return Err(Refusal::new(Reason::Conflict, found).todo(
            "two levels that are typed need no direction; `benchhand gauge set … --counts up|down` \
             states it",
        ));
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

/// One movement from rest to rest whose kind is known.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Moved {
    from: f64,
    to: f64,
    unit: Unit,
    /// Whether liquid was let out. `false` for a filling.
    delivered: bool,
}

impl Moved {
    fn counts(self) -> BuretteCounts {
        match (self.to > self.from) == self.delivered {
            true => BuretteCounts::Up,
            false => BuretteCounts::Down,
        }
    }

    /// The amount let out or filled, in the base unit of its kind.
    fn amount(self) -> f64 {
        self.unit.difference_to_base((self.to - self.from).abs())
    }
}

/// The kind of movement that a change looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Looks {
    /// Only drops, or no movement.
    Still,
    /// Too little to tell.
    TooLittle,
    /// The requested delivery.
    Little,
    /// A filling, and why it looks like one.
    Refill(&'static str),
}

/// Judges a movement. `capacity` is the burette's capacity in cc, if known. `after` is an earlier
/// movement that looked like a filling.
fn looks(moved: Moved, capacity: Option<f64>, after: Option<Moved>) -> Looks {
    let end = moved.unit.to_base(moved.to);
    let usual: &[f64] = match (&capacity, moved.unit.kind()) {
        (Some(capacity), _) => std::slice::from_ref(capacity),
        (None, QuantityKind::Volume) => &USUAL_ENDS_CC,
        // A balance has no end of scale that matters here.
        (None, _) => &[],
    };
    let at_an_end = std::iter::once(&0.0)
        .chain(usual)
        .any(|mark| (end - mark).abs() <= AT_END_CC);
    match moved.amount() {
        amount if amount < DROPS => Looks::Still,
        amount if amount < *LITTLE.start() => Looks::TooLittle,
        amount if amount > *LITTLE.end() => Looks::Refill("it was more than a little"),
        _ if at_an_end => Looks::Refill("it ended at an end of the scale"),
        _ if after.is_some_and(|a| (a.to > a.from) == (moved.to > moved.from)) => {
            Looks::Refill("it may be the rest of a filling")
        }
        _ => Looks::Little,
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(from: f64, to: f64) -> Moved {
        let (unit, delivered) = (Unit::CubicCentimetre, true);
        Moved {
            from,
            to,
            unit,
            delivered,
        }
    }

    #[test]
    fn a_little_that_is_let_out_tells_the_way() {
        for (from, to, counts) in [
            (0.0, 2.35, BuretteCounts::Up),
            (100.0, 96.0, BuretteCounts::Down),
            (42.0, 41.0, BuretteCounts::Down),
        ] {
            let moved = moved(from, to);
            assert_eq!(looks(moved, Some(100.0), None), Looks::Little);
            assert_eq!(moved.counts(), counts);
        }
    }

    #[test]
    fn drops_tell_nothing_and_more_is_asked_for() {
        assert_eq!(looks(moved(10.0, 10.05), None, None), Looks::Still);
        assert_eq!(looks(moved(10.0, 10.8), None, None), Looks::TooLittle);
    }

    #[test]
    fn what_a_refill_could_be_is_not_believed() {
        let refill =
            |from, to, capacity| matches!(looks(moved(from, to), capacity, None), Looks::Refill(_));
        assert!(refill(60.0, 0.0, Some(100.0)), "long");
        assert!(refill(3.0, 0.2, Some(100.0)), "to the zero");
        assert!(refill(97.0, 100.0, Some(100.0)), "to the full mark");
        assert!(refill(46.0, 50.0, None), "a full mark that nobody stated");
        assert!(!refill(46.0, 50.0, Some(100.0)), "amid the scale");
    }

    #[test]
    fn the_rest_of_a_filling_is_no_delivery() {
        let first = moved(60.0, 20.0);
        let rest = moved(20.0, 17.0);
        assert!(matches!(
            looks(rest, Some(100.0), Some(first)),
            Looks::Refill(_)
        ));
        let back = moved(20.0, 23.0);
        assert_eq!(looks(back, Some(100.0), Some(first)), Looks::Little);
    }

    #[test]
    fn a_filling_that_somebody_named_tells_the_way_too() {
        let filled = Moved {
            delivered: false,
            ..moved(60.0, 0.0)
        };
        assert_eq!(filled.counts(), BuretteCounts::Up);
    }
}
