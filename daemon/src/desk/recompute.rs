//! A job's readings made out anew from its recorded streams, and compared with the journal.
//!
//! Each gauge's stream is captured again from where its route began, with the settings, the
//! profile, the zero and the noise that the journal holds for that moment. A reading is the same
//! where the capture gives the same value from the same sample. The capture is told again what it
//! was told meanwhile. A pour that a person parted after its capture was done with it is parted
//! again at the same rest. Journals from before all of this was kept may come out differently by
//! a small part of the gauge's step; such a reading is called near.

mod elsewhere;
mod samples;
mod verdict;

use std::collections::BTreeMap;

use benchhand_blueprint::Quantity;
use benchhand_drivers::{JoinPoint, Profile, Sample};
use benchhand_wire::{Reason, RecomputeJob, Recomputed, RecomputedReading, Refusal};

use super::long_work::WorkProgress;
use super::{Answers, Desk};
use crate::capture::{
    CaptureMode, CaptureSettings, ExpectedBounds, Meanwhile, PourCounts, PourSettings, Steer,
    replay_meanwhile,
};
use crate::known::inputs;
use crate::known::refusals::of_store;
use crate::known::register::state_count;
use crate::live::{GaugeOnRoute, arrange};
use crate::route::{Route, RouteChoices, expand};
use crate::store::fact::{EXPECTED, Fact, InputKind, KeptSteering, RouteGauge, RouteStarted};
use crate::store::following::FollowError;
use crate::store::gauges::RegisterEntry;
use crate::store::kept_reading::KeptReading;
use crate::store::streams::StreamFile;
use crate::store::view::JobView;
use samples::samples_from;
pub(super) use samples::samples_of_file;
use verdict::{DIFFERENT, NEAR, NO_STREAM, SAME, compared};

/// A gauge's profile, the settings of every kind of stop that it served, and its stated count.
type Ways = (Profile, Vec<CaptureSettings>, Option<String>);

/// The amounts that were expected of the pours of a stream file, each up to the moment at which the
/// pour was made out, in microseconds.
type ExpectedByFile = BTreeMap<String, Vec<(u64, Option<ExpectedBounds>)>>;

fn expected_by_file(facts: &[Fact]) -> ExpectedByFile {
    let mut all = ExpectedByFile::new();
    for fact in facts {
        let (Fact::Held(reading) | Fact::Revised(reading) | Fact::Final(reading)) = fact else {
            continue;
        };
        let Some(stream) = &reading.stream else {
            continue;
        };
        let expected = reading.labels.get(EXPECTED);
        let expected = expected.and_then(|text| text.parse().ok());
        let of_file = all.entry(stream.file.clone()).or_default();
        of_file.push((stream.at_us, expected));
    }
    for of_file in all.values_mut() {
        of_file.sort_by_key(|(until_us, _)| *until_us);
    }
    all
}

/// What the captures of each route were told, route by route in the order of their beginnings.
fn steered_by_route(facts: &[Fact]) -> Vec<Vec<KeptSteering>> {
    let mut all: Vec<Vec<KeptSteering>> = Vec::new();
    for fact in facts {
        match fact {
            Fact::RouteStarted(_) => all.push(Vec::new()),
            Fact::Steered(steered) => {
                if let Some(of_route) = all.last_mut() {
                    of_route.push(steered.clone());
                }
            }
            _ => {}
        }
    }
    all
}

/// What reached the captures of one route besides the samples.
struct OnRoute<'a> {
    expected: &'a ExpectedByFile,
    steered: Vec<KeptSteering>,
}

impl OnRoute<'_> {
    /// What the capture of `gauge` was told in `mode`.
    fn told(&self, gauge: &str, mode: CaptureMode) -> Vec<(Option<u64>, Steer)> {
        let of_gauge = self.steered.iter().filter(|s| s.gauge == gauge);
        let of_mode = of_gauge.filter(|s| s.mode == mode);
        let after = |s: &KeptSteering| s.stream.as_ref().map(|at| at.at_us);
        of_mode.map(|s| (after(s), s.steer.clone())).collect()
    }
}

/// The values that the streams give.
#[derive(Default)]
struct Made {
    /// By file and time of the last sample: each value that ends there.
    values: BTreeMap<(String, u64), Vec<f64>>,
    /// The time of each file's last sample. Bytes are written in the background, so the last ones
    /// are lost when the daemon is killed.
    ends: BTreeMap<String, u64>,
    /// The files that are cut short or damaged, and what is wrong there.
    cut: BTreeMap<String, String>,
}

impl Desk {
    /// The captured readings of a job beside what the streams that lie here give.
    fn made_out(
        &self,
        job: &str,
        progress: &WorkProgress,
    ) -> Result<(Vec<RecomputedReading>, Made), Refusal> {
        let (evidence, made) = self.keeper.with_store(|store| {
            let reader = store.reader();
            let files = reader.streams(job).map_err(|e| of_store(&e))?;
            let evidence = reader.evidence(job).map_err(|e| of_store(&e))?;
            let mut own = Vec::new();
            let gathered = reader.follow(job, |_, said| {
                if said.station.is_none() {
                    own.push(said.fact.clone());
                }
                Ok(())
            });
            gathered.map_err(refused)?;
            let expected = expected_by_file(&own);
            progress.begins("capturing its recorded streams again", pieces(&own));
            let mut made = Made::default();
            let mut steered = steered_by_route(&own).into_iter();
            let captured = reader.follow(job, |view, said| {
                let (Fact::RouteStarted(started), None) = (said.fact, said.station) else {
                    return Ok(());
                };
                let meanwhile = OnRoute {
                    expected: &expected,
                    steered: steered.next().unwrap_or_default(),
                };
                capture_route(view, started, &files, &meanwhile, (&mut made, progress))
            });
            captured.map_err(refused)?;
            Ok((evidence, made))
        })?;
        let own = evidence.iter().filter(|e| e.role.is_none());
        let readings = own.map(|e| compared(e, &made)).collect();
        Ok((readings, made))
    }
}

impl Answers<RecomputeJob> for Desk {
    fn answer(&self, ask: RecomputeJob, _: Option<&str>) -> Result<Recomputed, Refusal> {
        let work = self.works.begin(ask.work.as_deref())?;
        let (view, _) = self.keeper.view(&ask.job)?;
        // The others are asked first: they make theirs out meanwhile.
        self.ask_holders(&view)?;
        let (mut readings, made) = self.made_out(&ask.job, work.progress())?;
        let mut cut_streams = made.cut_streams();
        let elsewhere = self.made_out_elsewhere(&view, &mut readings, &mut cut_streams)?;
        for one in &mut readings {
            one.number = view.reading(one.id).map(KeptReading::said_number);
        }
        let count = |verdict: &str| readings.iter().filter(|r| r.verdict == verdict).count();
        Ok(Recomputed {
            same: count(SAME),
            near: count(NEAR),
            different: count(DIFFERENT),
            without_stream: count(NO_STREAM),
            outside_window: readings
                .iter()
                .filter(|r| r.in_window == Some(false))
                .count(),
            cut_streams,
            elsewhere,
            readings,
        })
    }
}

impl Made {
    /// The streams that are cut short, each with what is wrong there.
    fn cut_streams(&self) -> Vec<String> {
        let cut = self.cut.iter();
        cut.map(|(file, what)| format!("{file}: {what}")).collect()
    }
}

/// Why a job was not followed to its end.
fn refused(error: FollowError<Refusal>) -> Refusal {
    match error {
        FollowError::Store(error) => of_store(&error),
        FollowError::Follower(refusal) => refusal,
    }
}

/// How many streams of a gauge on a route are captured again.
fn pieces(facts: &[Fact]) -> u64 {
    let started = facts.iter().filter_map(|fact| match fact {
        Fact::RouteStarted(started) => Some(&started.gauges),
        _ => None,
    });
    let streams = started.flatten().filter(|gauge| gauge.stream.is_some());
    streams.count() as u64
}

/// Captures again what the gauges of one route sent.
fn capture_route(
    view: &JobView,
    started: &RouteStarted,
    files: &[StreamFile],
    meanwhile: &OnRoute<'_>,
    (made, progress): (&mut Made, &WorkProgress),
) -> Result<(), Refusal> {
    for gauge in &started.gauges {
        let Some(first) = &gauge.stream else { continue };
        let Some((profile, settings, count)) = ways(view, started, gauge)? else {
            progress.add(1);
            continue;
        };
        // Recording began while the gauge was already sending. The stream does not tell whether its
        // first bytes are a whole frame, so both are tried.
        for joined in [JoinPoint::Midway, JoinPoint::AtStart] {
            let mut samples =
                samples_from(files, first, &gauge.gauge, &profile, joined, &mut made.cut)?;
            for (file, sample) in &mut samples {
                state_count(sample, count.as_deref());
                made.ends.insert(file.clone(), sample.at_us);
            }
            for settings in &settings {
                capture_again(&samples, settings, gauge, (first, meanwhile), made);
            }
        }
        progress.add(1);
    }
    Ok(())
}

fn capture_again(
    samples: &[(String, Sample)],
    settings: &CaptureSettings,
    gauge: &RouteGauge,
    (first, meanwhile): (&str, &OnRoute<'_>),
    made: &mut Made,
) {
    let all = samples.iter().map(|(_, sample)| *sample);
    let mut files: Vec<&str> = samples.iter().map(|(file, _)| file.as_str()).collect();
    files.dedup();
    let expected: Vec<_> = files
        .into_iter()
        .filter_map(|file| meanwhile.expected.get(file))
        .flatten()
        .copied()
        .collect();
    let told = meanwhile.told(&gauge.gauge, settings.mode());
    let meanwhile = Meanwhile {
        expected: &expected,
        told: &told,
    };
    let replayed = replay_meanwhile(all, settings, gauge.sigma, meanwhile);
    for (_, event) in &replayed.events {
        let Some((_, _, taken)) = event.reading() else {
            continue;
        };
        let standing = samples
            .iter()
            .rfind(|(_, sample)| sample.at_us == taken.at_us);
        let file = standing.map_or(first, |(file, _)| file);
        let at = (file.to_owned(), taken.at_us);
        let of_moment = made.values.entry(at).or_default();
        of_moment.push(taken.value);
        // A person may have parted the pour after the capture was done with it.
        of_moment.extend(taken.parts().into_iter().flat_map(|(a, b)| [a, b]));
    }
}

/// How a gauge's values were captured on a route: its profile, the settings of every kind of stop
/// that it served, and its count from the register. `None` where the journal lacks one of them.
fn ways(
    view: &JobView,
    started: &RouteStarted,
    gauge: &RouteGauge,
) -> Result<Option<Ways>, Refusal> {
    let input = |kind, name: &str| view.input(kind, name).map(|input| input.content.as_str());
    let entry =
        input(InputKind::Gauge, &gauge.gauge).and_then(|t| toml::from_str::<RegisterEntry>(t).ok());
    let profile = entry.as_ref().and_then(|entry| {
        let name = entry.profile.as_deref()?;
        Profile::parse(input(InputKind::Profile, name)?, name).ok()
    });
    let route = input(InputKind::Route, &started.route)
        .and_then(|text| Route::parse(text, &started.route).ok());
    let (Some(entry), Some(profile), Some(route)) = (entry, profile, route) else {
        return Ok(None);
    };
    let engine = inputs::engine(view)?;
    let stops = expand(
        &route,
        &inputs::cylinders(&engine),
        &RouteChoices::default(),
    )
    .map_err(|e| Refusal::new(Reason::Damaged, e.to_string()))?;
    let on_route = on_route(view, &gauge.gauge, &entry, &profile);
    let kind = crate::known::kinds::main_kind(&profile).word();
    let mut settings: Vec<CaptureSettings> = Vec::new();
    for stop in stops.into_iter().filter(|stop| stop.kind == kind) {
        let arranged = arrange(stop, &on_route, view.name())?;
        for way in which_ways(arranged.settings) {
            if !settings.contains(&way) {
                settings.push(way);
            }
        }
    }
    let count = entry.resolution.map(|count| count.to_string());
    Ok(Some((profile, settings, count)))
}

/// The settings with each direction of the scale that is possible. Where the direction was not
/// known when the route began, a person told it later, and that answer is replayed. Older journals
/// lack the answer: both directions are tried, and one of them gives the kept readings.
fn which_ways(settings: CaptureSettings) -> Vec<CaptureSettings> {
    match settings {
        CaptureSettings::Pour(pour) if pour.counts == PourCounts::Unknown => {
            [PourCounts::Unknown, PourCounts::Up, PourCounts::Down]
                .map(|counts| {
                    CaptureSettings::Pour(PourSettings {
                        counts,
                        ..pour.clone()
                    })
                })
                .to_vec()
        }
        settings => vec![settings],
    }
}

fn on_route(view: &JobView, name: &str, entry: &RegisterEntry, profile: &Profile) -> GaugeOnRoute {
    let last = view.gauge(name).and_then(|record| record.zeros.last());
    let capacity = entry
        .burette
        .as_ref()
        .and_then(|burette| burette.capacity?.to_string().parse::<Quantity>().ok());
    GaugeOnRoute {
        name: name.to_owned(),
        sense: f64::from(entry.sense),
        by_eye: false,
        channels: profile.channels().iter().map(|c| c.name.clone()).collect(),
        capacity_cc: capacity.map(Quantity::base),
        zero: last.and_then(|z| Some((z.what.raw, z.what.unit.parse().ok()?))),
        zero_doubt: None,
        nominal: last.and_then(|z| z.what.nominal),
        hanging: last.and_then(|z| z.what.hanging),
        counts: entry.burette.as_ref().and_then(|burette| burette.counts),
        corrections: crate::known::correcting::corrections(entry, name, view),
    }
}
