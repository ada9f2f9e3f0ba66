//! `gauge check` and `flow-bench`.

use benchhand_blueprint::units::{QuantityKind, parted};
use benchhand_blueprint::{Quantity, Unit};
use benchhand_wire::{
    Against, ChannelShows, CheckGauge, CheckLeak, CheckPlate, CompareGauge, ComparePoint, ReadLive,
    Reason, Refusal, WaterSaid,
};

use super::watched::{TypedLines, WatchedGauge, say};
use crate::args::{FlowBenchCommand, GaugeCheckArgs};
use crate::client::ask;
use crate::context::{Context, LiveDaemon};
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::show::{checks, gauges};

/// Nobody tests flow with less, Pa: 1 in of water. Common practice, no source.
const LEAST_PA: f64 = 250.0;

/// Checks a gauge: against one master, or by several comparisons.
///
/// # Errors
/// Why the gauge was not checked.
pub(super) fn gauge(context: &mut Context, args: GaugeCheckArgs) -> Result<Exit, Failure> {
    let several = args.against.is_some() || args.masters.is_some() || args.with.is_some();
    if several || args.by_water.is_some() {
        compare(context, args)
    } else {
        once(context, args)
    }
}

fn once(context: &mut Context, args: GaugeCheckArgs) -> Result<Exit, Failure> {
    let GaugeCheckArgs {
        name,
        job,
        channel,
        master,
        raw,
        allow,
        u,
        ..
    } = args;
    let by_eye = raw.is_some();
    let request = CheckGauge {
        name: name.clone(),
        job,
        channel,
        master,
        raw,
        allow,
        u,
    };
    let answer = context.ask_gauge(by_eye, &request)?;
    context.answer(&answer, |answer| gauges::checked(&name, answer))?;
    Ok(if answer.passed { Exit::Done } else { Exit::No })
}

fn compare(context: &mut Context, args: GaugeCheckArgs) -> Result<Exit, Failure> {
    let mut points = match &args.against {
        Some(file) => table(&read_text(file)?, &shown(file))?,
        None => Vec::new(),
    };
    let masters = parted(args.masters.as_deref().unwrap_or_default())
        .map_err(|doubt| Refusal::new(Reason::BadInput, format!("--masters: {doubt}")))?;
    points.extend(masters.into_iter().map(|master| ComparePoint {
        master: master.to_owned(),
        ..ComparePoint::default()
    }));
    if let (Some(master), Some(raw)) = (&args.master, &args.raw) {
        points.push(ComparePoint {
            master: master.clone(),
            shown: raw.clone(),
            ..ComparePoint::default()
        });
    }
    let by_other = args.with.is_some() && points.is_empty();
    if by_other {
        points.resize(args.points.max(1), ComparePoint::default());
    }
    let live = points
        .iter()
        .any(|p| p.shown.is_empty() || p.master.is_empty());
    let against = match &args.by_water {
        Some(_) => Against::Water,
        None => Against::Masters,
    };
    let water = args.by_water.map(|temperature| WaterSaid {
        temperature,
        glass: args.glass,
        air: args.air,
        gravity: args.gravity,
    });
    let mut request = CompareGauge {
        name: args.name,
        job: args.job,
        channel: args.channel,
        against,
        with: args.with,
        points,
        allow: args.allow,
        u: args.u,
        water,
    };
    let answer = if live {
        let live = context.live()?;
        let filled = fill(context, &live, &mut request);
        let answer = filled.and_then(|()| Ok(ask(&live.http, &request)?));
        live.finish()?;
        answer?
    } else {
        ask(&*context.client()?, &request)?
    };
    context.answer(&answer, |answer| checks::compared(&request.name, answer))?;
    Ok(if answer.passed { Exit::Done } else { Exit::No })
}

/// Reads the comparisons of a text file: a line of headings, then one comparison on each line.
fn table(text: &str, file: &str) -> Result<Vec<ComparePoint>, Refusal> {
    let bad = |line: usize, what: String| {
        Refusal::new(Reason::BadInput, format!("{file}, line {line}: {what}"))
            .expected("columns master,shown and optionally u, each value with its unit")
    };
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(at, line)| (at + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'));
    let (at, headings) = lines
        .next()
        .ok_or_else(|| bad(1, "the file is empty".to_owned()))?;
    // A table whose numbers have decimal commas is parted by semicolons.
    let parts = if headings.contains(';') { ';' } else { ',' };
    let headings: Vec<&str> = headings.split(parts).map(str::trim).collect();
    if let Some(odd) = headings
        .iter()
        .find(|h| !["master", "shown", "u"].contains(h))
    {
        return Err(bad(at, format!("there is no column {odd:?}")));
    }
    if !headings.contains(&"master") {
        return Err(bad(at, "no column is called master".to_owned()));
    }
    lines
        .map(|(at, line)| {
            let cells: Vec<&str> = line.split(parts).map(str::trim).collect();
            if cells.len() != headings.len() {
                let what = format!("found {} values, expected {}", cells.len(), headings.len());
                return Err(bad(at, what));
            }
            let cell = |name: &str| {
                let column = headings.iter().position(|heading| *heading == name);
                column
                    .map(|column| cells[column].to_owned())
                    .filter(|c| !c.is_empty())
            };
            Ok(ComparePoint {
                master: cell("master").ok_or_else(|| bad(at, "no master".to_owned()))?,
                shown: cell("shown").unwrap_or_default(),
                u: cell("u"),
                live: None,
            })
        })
        .collect()
}

/// Reads the missing values from the live gauges, one comparison after the other.
fn fill(
    context: &mut Context,
    live: &LiveDaemon,
    request: &mut CompareGauge,
) -> Result<(), Failure> {
    let mut watched = WatchedGauge::new(&live.http, request.name.clone(), request.channel.clone());
    let mut other = request
        .with
        .clone()
        .map(|name| WatchedGauge::new(&live.http, name, None));
    let all = request.points.len();
    let lines = TypedLines::hear();
    let first = watched.rest(false)?;
    let first_shown = first.clone();
    let delivers = delivered(&first) || other.is_some() && request.against == Against::Water;
    // A delivery is a difference. The first delivery begins at this rest.
    let mut before = match (&mut other, delivers) {
        (_, false) => None,
        (Some(other), true) => Some((first, Some(other.rest(false)?))),
        (None, true) => Some((first, None)),
    };
    for (number, point) in request.points.iter_mut().enumerate() {
        if !point.shown.is_empty() && !point.master.is_empty() {
            continue;
        }
        // Two gauges at rest can be compared at once. A master must be put in place first, unless it
        // is the open air, which a manometer has where nothing flows.
        let open = open_air(&first_shown, &point.master);
        let at_once = number == 0 && !delivers && (point.master.is_empty() || open);
        let what = asked(request.against, &point.master, delivers, number + 1, all);
        let what = match (at_once, lines.heard()) {
            (false, true) => format!("{what} (Enter takes it as it stands)"),
            _ => what,
        };
        say(context, &what)?;
        let after = match at_once {
            true => watched.rest(false)?,
            false => watched.rest_or_enter(&lines)?,
        };
        let with = match &mut other {
            Some(other) => Some(other.rest(delivers)?),
            None => None,
        };
        let difference = |after: &ChannelShows, before: Option<&ChannelShows>| {
            let value = before.map_or(after.value, |before| (after.value - before.value).abs());
            format!("{value} {}", after.unit)
        };
        let (was, was_with) = match &before {
            Some((was, with)) => (Some(was), with.as_ref()),
            None => (None, None),
        };
        if point.shown.is_empty() {
            point.shown = difference(&after, was);
            point.live = Some(ReadLive {
                scatter: format!("{} {}", after.sd, after.unit),
                count: format!("{} {}", after.resolution, after.unit),
                n: after.n,
            });
        }
        if let (true, Some(with)) = (point.master.is_empty(), &with) {
            point.master = difference(with, was_with);
        }
        say(context, &taken(&request.name, point, &after))?;
        if before.is_some() {
            before = Some((after, with));
        }
    }
    Ok(())
}

/// Whether the master is the open air and the manometer has it: it rests below any test pressure.
fn open_air(shows: &ChannelShows, master: &str) -> bool {
    let pressure = shows.unit.parse::<Unit>().ok();
    let pressure = pressure.filter(|unit| unit.kind() == QuantityKind::Pressure);
    let zero = master
        .parse::<Quantity>()
        .is_ok_and(|master| master.value == 0.0);
    zero && pressure.is_some_and(|unit| unit.difference_to_base(shows.value).abs() < LEAST_PA)
}

/// What was taken, rounded as its scatter allows.
fn taken(name: &str, point: &ComparePoint, after: &ChannelShows) -> String {
    let (Some(live), Ok(shown)) = (&point.live, point.shown.parse::<Quantity>()) else {
        return format!("  {name} shows {}", point.shown);
    };
    // A tenth of a count, since it is a mean.
    let decimals = (1.0 - after.resolution.log10().floor()).clamp(0.0, 9.0) as usize;
    let (value, sd, n) = (shown.value, after.sd, live.n);
    format!(
        "  {name} shows {value:.decimals$} {unit}, mean of {n} samples that scatter by {sd:.decimals$}",
        unit = after.unit
    )
}

fn delivered(shows: &ChannelShows) -> bool {
    ["cc", "mL", "L"].contains(&shows.unit.as_str())
}

fn asked(against: Against, master: &str, delivers: bool, number: usize, all: usize) -> String {
    let what = match (against, delivers, master.is_empty()) {
        (_, true, true) => "deliver some, and let both rest".to_owned(),
        (_, true, false) => format!("deliver what weighs {master}, and let it rest"),
        (Against::Water, false, false) => format!("bring the column to {master}"),
        (_, false, false) => format!("put it on {master}, and let it rest"),
        (_, false, true) => "bring both to another value, and let them rest".to_owned(),
    };
    format!("{number} of {all}: {what}")
}

/// Carries out one command on the flow bench.
///
/// # Errors
/// Why the command was not carried out.
pub(super) fn flow_bench(context: &mut Context, args: FlowBenchCommand) -> Result<Exit, Failure> {
    match args {
        FlowBenchCommand::Plate(args) => {
            let by_eye = args.gauge.is_none();
            let request = CheckPlate {
                job: args.job,
                orifice: args.orifice,
                flow: args.flow,
                at: args.at,
                test: args.test,
                metering: args.metering,
                gauge: args.gauge,
                allow: args.allow,
                plate: args.plate,
                sure: args.sure,
            };
            let answer = context.ask_gauge(by_eye, &request)?;
            context.answer(&answer, checks::plate)?;
            Ok(if answer.passed { Exit::Done } else { Exit::No })
        }
        FlowBenchCommand::Leak(args) => {
            let by_eye = args.gauge.is_none();
            let request = CheckLeak {
                job: args.job,
                flow: args.flow,
                at: args.at,
                metering: args.metering,
                orifice: args.orifice,
                gauge: args.gauge,
            };
            let answer = context.ask_gauge(by_eye, &request)?;
            context.answer(&answer, checks::leak)?;
            Ok(Exit::Done)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_of_masters_may_leave_out_what_is_read_live() {
        let points = table("# rings\nmaster,u\n25 mm,0.5 um\n50 mm,\n", "rings.csv").unwrap();
        assert_eq!(points.len(), 2);
        assert_eq!(points[0].master, "25 mm");
        assert_eq!(points[0].u.as_deref(), Some("0.5 um"));
        assert_eq!((points[1].shown.as_str(), &points[1].u), ("", &None));
    }

    #[test]
    fn a_table_that_cannot_be_read_is_named_with_its_line() {
        for (text, at) in [
            ("master,shwon\n", "line 1"),
            ("shown\n1 mm\n", "line 1"),
            ("master,shown\n1 mm\n", "line 2"),
            ("", "line 1"),
        ] {
            let refusal = table(text, "rings.csv").unwrap_err();
            assert!(refusal.found.contains(at), "{refusal}");
        }
    }
}
