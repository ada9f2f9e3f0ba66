//! A stop and its gauge put together: how the gauge's values are captured at the stop.

use benchhand_drivers::Unit;
use benchhand_wire::{BuretteCounts, MendingStep, Reason, Refusal};

use super::figuring::FigureBasis;
use super::run::ArrangedStop;
use crate::capture::CaptureSettings;
use crate::known::correcting::ChannelCorrection;
use crate::route::{FigureRule, FigureTurn, RouteStop};

/// What a route needs to know of a gauge before it begins.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeOnRoute {
    /// The gauge's name.
    pub name: String,
    /// +1 where the gauge's number grows as the plunger is pushed in, −1 where it shrinks.
    pub sense: f64,
    /// Whether a person reads the gauge by eye; a typed value is the figure itself.
    pub by_eye: bool,
    /// The names of the gauge's channels.
    pub channels: Vec<String>,
    /// A burette's capacity, cc.
    pub capacity_cc: Option<f64>,
    /// What the gauge showed at its last zeroing in this job.
    pub zero: Option<(f64, Unit)>,
    /// Why that zero does not hold any more, in words.
    pub zero_doubt: Option<String>,
    /// The size of the master that the gauge was zeroed on, in the zero's unit, where it was not 0.
    pub nominal: Option<f64>,
    /// What the gauge shows when its plunger hangs free.
    pub hanging: Option<f64>,
    /// Which way a burette's scale runs while it delivers, where somebody told.
    pub counts: Option<BuretteCounts>,
    /// The corrections from the gauge's last check, channel by channel.
    pub corrections: Vec<Option<ChannelCorrection>>,
}

/// Puts a stop and its gauge together.
///
/// # Errors
/// Where the stop needs a zero or a channel that the gauge does not have, or the route's
/// settings are not those of the capture mode.
pub fn arrange(stop: RouteStop, gauge: &GaugeOnRoute, job: &str) -> Result<ArrangedStop, Refusal> {
    if stop.figure != FigureRule::AsCaptured && gauge.zero.is_none() && !gauge.by_eye {
        return Err(Refusal::new(
            Reason::Conflict,
            format!("{} has no zero in job {job}, and {} counts from one", gauge.name, stop.spot),
        )
        .todo(format!(
            "set the gauge on its zero face, let it rest, then zero it there: `benchhand gauge zero {} --job {job}`",
            gauge.name
        ))
        .mended_by(zeroing(gauge, job)));
    }
    if let (false, false, Some(why)) = (
        stop.figure == FigureRule::AsCaptured,
        gauge.by_eye,
        &gauge.zero_doubt,
    ) {
        return Err(Refusal::new(
            Reason::Conflict,
            format!("{why}, and {} counts from its zero", stop.spot),
        )
        .todo(format!(
            "set the gauge on its zero face, let it rest, then `benchhand gauge zero {0} --job {job}`; or see that it shows its zero there: `benchhand gauge check {0} --job {job}`",
            gauge.name
        ))
        .mended_by(zeroing(gauge, job)));
    }
    let settings = settings_of(&stop, gauge)?;
    let basis = FigureBasis {
        gauge: gauge.name.clone(),
        sense: gauge.sense,
        zero: zero_of(&stop, gauge),
        master: gauge.nominal.unwrap_or(0.0),
        correction: gauge.corrections.first().copied().flatten(),
        delivered: stop.mode == "pour",
    };
    Ok(ArrangedStop {
        stop,
        gauge: gauge.name.clone(),
        settings,
        basis,
        channels: gauge.channels.clone(),
        corrections: gauge.corrections.clone(),
        capacity_cc: gauge.capacity_cc,
        by: None,
        told: None,
    })
}

/// The step that gives the gauge a zero that holds.
fn zeroing(gauge: &GaugeOnRoute, job: &str) -> MendingStep {
    MendingStep::Zero {
        gauge: gauge.name.clone(),
        job: job.to_owned(),
    }
}

/// The raw number at which the figure is 0: the gauge's zero, or, where the master was not 0, the
/// number that lies the master's size away from it.
fn zero_of(stop: &RouteStop, gauge: &GaugeOnRoute) -> Option<(f64, Unit)> {
    let (raw, unit) = gauge.zero?;
    let towards = match stop.figure {
        FigureRule::AsCaptured => 0.0,
        FigureRule::BelowZero => gauge.sense,
        FigureRule::AboveZero => -gauge.sense,
    };
    Some((raw + towards * gauge.nominal.unwrap_or(0.0), unit))
}

/// The settings: the mode's defaults, then what is known of the gauge, then what the route states.
fn settings_of(stop: &RouteStop, gauge: &GaugeOnRoute) -> Result<CaptureSettings, Refusal> {
    let mut table = toml::Table::new();
    table.insert("mode".to_owned(), stop.mode.clone().into());
    match stop.mode.as_str() {
        "extreme" => {
            table.insert("turn".to_owned(), raw_turn(stop, gauge).into());
        }
        "pour" => {
            if let Some(capacity) = gauge.capacity_cc {
                table.insert("capacity_cc".to_owned(), capacity.into());
            }
            // The direction of a scale is never guessed: where nobody told it, a person is asked
            // about the first movement.
            let counts = gauge.counts.map_or("unknown", BuretteCounts::word);
            table.insert("counts".to_owned(), counts.into());
        }
        "settle" => {
            if let Some(hanging) = gauge.hanging {
                table.insert("hanging".to_owned(), hanging.into());
            }
        }
        "average" => {
            let along = along(stop, gauge)?;
            table.insert("along".to_owned(), toml::Value::Array(along));
        }
        _ => {}
    }
    table.extend(stop.settings.clone());
    toml::Value::Table(table)
        .try_into::<CaptureSettings>()
        .map_err(|e| {
            Refusal::new(
                Reason::BadInput,
                format!("the route's settings for {}: {}", stop.spot, e.message()),
            )
            .todo("docs/capture.md lists the settings of each mode")
        })
}

/// Which turning point of the raw number is the turning point that is wanted of the figure.
fn raw_turn(stop: &RouteStop, gauge: &GaugeOnRoute) -> &'static str {
    let figure_falls_as_raw_grows = match stop.figure {
        FigureRule::BelowZero => gauge.sense > 0.0,
        FigureRule::AboveZero => gauge.sense < 0.0,
        FigureRule::AsCaptured => false,
    };
    let least = stop.turn == Some(FigureTurn::Least);
    if least == figure_falls_as_raw_grows {
        "high"
    } else {
        "low"
    }
}

fn along(stop: &RouteStop, gauge: &GaugeOnRoute) -> Result<Vec<toml::Value>, Refusal> {
    let index = |name: &String| {
        let found = gauge.channels.iter().position(|channel| channel == name);
        found
            .map(|i| toml::Value::Integer(i as i64))
            .ok_or_else(|| {
                Refusal::new(
                    Reason::Conflict,
                    format!(
                        "{} has no channel {name:?}, which {} needs",
                        gauge.name, stop.spot
                    ),
                )
                .expected(format!("one of {}", gauge.channels.join(", ")))
                .todo("give the route a gauge whose profile names that channel")
            })
    };
    stop.with.iter().map(index).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capture;

    fn stop(mode: &str, figure: FigureRule, turn: Option<FigureTurn>) -> RouteStop {
        RouteStop {
            spot: "deck/3/front".parse().unwrap(),
            round: 1,
            mode: mode.to_owned(),
            kind: "length".to_owned(),
            prompt: String::new(),
            figure,
            turn,
            with: Vec::new(),
            settings: toml::Table::new(),
        }
    }

    fn dial(sense: f64) -> GaugeOnRoute {
        GaugeOnRoute {
            name: "dial".to_owned(),
            sense,
            by_eye: false,
            channels: vec!["length".to_owned()],
            capacity_cc: None,
            zero: Some((10.0, Unit::Millimetre)),
            zero_doubt: None,
            nominal: None,
            hanging: None,
            counts: None,
            corrections: Vec::new(),
        }
    }

    #[test]
    fn a_burette_that_is_said_to_count_down_is_not_left_to_its_first_pour() {
        let counts = |said: Option<BuretteCounts>| {
            let gauge = GaugeOnRoute {
                counts: said,
                ..dial(1.0)
            };
            let arranged = arrange(stop("pour", FigureRule::AsCaptured, None), &gauge, "job");
            let CaptureSettings::Pour(settings) = arranged.unwrap().settings else {
                panic!("wrong mode")
            };
            settings.counts
        };
        assert_eq!(counts(Some(BuretteCounts::Down)), capture::PourCounts::Down);
        assert_eq!(counts(Some(BuretteCounts::Up)), capture::PourCounts::Up);
        assert_eq!(counts(None), capture::PourCounts::Unknown);
    }

    #[test]
    fn the_least_clearance_is_the_turn_at_which_the_plunger_is_furthest_in() {
        let wanted = stop("extreme", FigureRule::BelowZero, Some(FigureTurn::Least));
        for (sense, expected) in [
            (1.0, capture::TurningPoint::High),
            (-1.0, capture::TurningPoint::Low),
        ] {
            let arranged = arrange(wanted.clone(), &dial(sense), "job").unwrap();
            let CaptureSettings::Extreme(settings) = arranged.settings else {
                panic!("wrong mode")
            };
            assert_eq!(settings.turn, expected);
        }
    }

    #[test]
    fn a_stop_that_counts_from_a_zero_refuses_a_gauge_without_one() {
        let gauge = GaugeOnRoute {
            zero: None,
            ..dial(1.0)
        };
        let refused = arrange(stop("settle", FigureRule::BelowZero, None), &gauge, "job");
        let refused = refused.unwrap_err();
        assert!(refused.todo.contains("gauge zero dial --job job"));
        let step = refused.next_step.map(|step| *step);
        let (gauge, job) = ("dial".to_owned(), "job".to_owned());
        assert_eq!(step, Some(MendingStep::Zero { gauge, job }));
    }

    /// A ring of 100 mm. The plunger is pushed in 0.02 mm further in the bore than in the ring.
    #[test]
    fn a_bore_is_its_ring_less_what_the_plunger_is_pushed_in() {
        let gauge = GaugeOnRoute {
            nominal: Some(100.0),
            ..dial(1.0)
        };
        let wanted = stop("extreme", FigureRule::BelowZero, Some(FigureTurn::Least));
        let basis = arrange(wanted, &gauge, "job").unwrap().basis;
        let figure = basis.figure(FigureRule::BelowZero, 10.02, Unit::Millimetre);
        assert!((figure.unwrap() - 99.98).abs() < 1e-9);
    }

    #[test]
    fn a_setting_that_the_mode_does_not_have_is_refused_by_name() {
        let mut wrong = stop("settle", FigureRule::AsCaptured, None);
        wrong.settings.insert("windw_s".to_owned(), 2.0.into());
        let refused = arrange(wrong, &dial(1.0), "job").unwrap_err();
        assert!(refused.found.contains("windw_s"), "{refused}");
    }
}
