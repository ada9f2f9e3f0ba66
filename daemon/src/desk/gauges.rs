//! Requests about gauges: the register, checking, and what a gauge shows at rest.

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use benchhand_blueprint::check::keeps_to;
use benchhand_blueprint::engine::usual_width;
use benchhand_blueprint::{Quantity, Unit};
use benchhand_wire::{
    ChannelShows, CheckGauge, Checked, GaugeAnswer, GaugeList, GaugeState, Gauges, LastMinute,
    Reason, Refusal, RemoveGauge, SetGauge, ShownMinute,
};

use super::{Answers, Desk};
use crate::known::correcting::corrections;
use crate::known::kinds::counts_from_a_zero;
use crate::known::quantities::{bad, quantity};
use crate::known::refusals::of_job;
use crate::known::shop::ShopGauge;
use crate::live::{RestingValue, Station};
use crate::store::fact::{CheckedGauge, Fact, InputKind, JobInput};
use crate::store::gauges::RegisterEntry;
use crate::store::job::{Ack, Job};
use crate::store::view::{JobView, KeptReading};

/// How long a gauge may take to be heard, and to come to rest, when it is to be zeroed or checked.
/// 1.5 s of rest alone are needed, and of a manometer 3 s, after its port was opened.
const REST_PATIENCE: Duration = Duration::from_secs(5);
/// How long a port may take to open.
const OPEN_PATIENCE: Duration = Duration::from_secs(3);
/// How often the gauge is looked at meanwhile.
const LOOK_AGAIN: Duration = Duration::from_millis(20);

impl Answers<Gauges> for Desk {
    fn answer(&self, _: Gauges, _: Option<&str>) -> Result<GaugeList, Refusal> {
        let gauges = match &self.station {
            Some(station) => station.with(|station| station.gauges())?,
            None => self.shop.gauges()?.0.iter().map(off).collect(),
        };
        let registry = self.shop.registry()?;
        let profiles = registry.names().map(str::to_owned).collect();
        let titles = registry.profiles();
        let profile_titles = titles.map(|one| one.title().to_owned()).collect();
        // The register is shown even where the jobs cannot be listed.
        let history = self.gauges_in_short().unwrap_or_else(|refusal| {
            tracing::warn!(%refusal, "the gauges are listed without what the jobs tell of them");
            BTreeMap::new()
        });
        Ok(GaugeList {
            gauges,
            profiles,
            profile_titles,
            history,
        })
    }
}

impl Answers<LastMinute> for Desk {
    fn answer(&self, ask: LastMinute, _: Option<&str>) -> Result<ShownMinute, Refusal> {
        self.station()?
            .with(move |station| station.minute(&ask.name))?
    }
}

/// The state of a gauge that nobody listens to.
fn off(gauge: &ShopGauge) -> GaugeState {
    let (link, todo) = if gauge.by_eye() {
        ("by eye", "")
    } else {
        (
            "off",
            "start the daemon with `benchhand serve`, or run a route",
        )
    };
    GaugeState {
        setup: gauge.setup.clone(),
        kind: gauge.kind().to_owned(),
        link: link.to_owned(),
        todo: todo.to_owned(),
        zero: None,
        check: gauge.check.clone(),
        live: Vec::new(),
    }
}

impl Answers<SetGauge> for Desk {
    fn answer(&self, ask: SetGauge, _: Option<&str>) -> Result<GaugeAnswer, Refusal> {
        if let Some(station) = &self.station {
            let name = ask.setup.name.clone();
            station.with(move |station| station.not_on_a_route(&name))??;
        }
        let gauge = self.shop.set(&ask.setup, ask.profile_text.as_deref())?;
        let gauge = match &self.station {
            Some(station) => station.with(move |station| station.open_gauge(gauge))??,
            None => off(&gauge),
        };
        Ok(GaugeAnswer { gauge })
    }
}

impl Answers<RemoveGauge> for Desk {
    fn answer(&self, ask: RemoveGauge, key: Option<&str>) -> Result<GaugeList, Refusal> {
        self.shop.gauge(&ask.name)?;
        if let Some(station) = &self.station {
            let name = ask.name.clone();
            station.with(move |station| station.remove_gauge(&name))??;
        }
        self.shop.remove(&ask.name)?;
        self.answer(Gauges {}, key)
    }
}

impl Answers<CheckGauge> for Desk {
    fn answer(&self, ask: CheckGauge, key: Option<&str>) -> Result<Checked, Refusal> {
        let gauge = self.shop.gauge(&ask.name)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let channel = gauge.channel_number(ask.channel.as_deref())?;
        let steady = self.shown_by((&gauge, channel), ask.raw.as_deref())?;
        let unit = steady.unit.symbol().to_owned();
        let master = ask
            .master
            .as_deref()
            .map(|text| in_unit(text, &unit))
            .transpose()?
            .unwrap_or(0.0);
        let allow = ask
            .allow
            .as_deref()
            .map(|text| in_unit(text, &unit))
            .transpose()?;
        let allow = allow.unwrap_or_else(|| steady.resolution + steady.open_by_scatter());
        let shows = shown_against_zero((&gauge, channel), &view, &steady)?;
        let error = shows - master;
        let passed = keeps_to(error, allow, steady.resolution);
        let u = ask
            .u
            .as_deref()
            .map(|text| in_unit(text, &unit))
            .transpose()?;
        let fact = Fact::Check(CheckedGauge {
            gauge: ask.name,
            channel: u8::try_from(channel).unwrap_or(u8::MAX),
            result: shows,
            expected: Some(master),
            unit: unit.clone(),
            passed: Some(passed),
            u,
            correction: None,
            against: ask.master.unwrap_or_else(|| "its own zero".to_owned()),
            scale: None,
            allow: Some(allow),
            points: Vec::new(),
        });
        let ack = self.keeper.append(&ask.job, fact, key)?;
        let marked = if passed { Vec::new() } else { ack.touched };
        let marked_numbers = self.said_numbers(&ask.job, &marked)?;
        Ok(Checked {
            id: ack.seq,
            error,
            allow,
            unit,
            passed,
            marked,
            marked_numbers,
        })
    }
}

impl Desk {
    /// The numbers by which people call these readings, of those that count.
    ///
    /// # Errors
    /// The job cannot be read.
    pub(super) fn said_numbers(&self, job: &str, readings: &[u64]) -> Result<Vec<String>, Refusal> {
        let (view, _) = self.keeper.view(job)?;
        let kept = readings.iter().filter_map(|id| view.reading(*id));
        let live = kept.filter(|kept| kept.state.is_live());
        Ok(live.map(KeptReading::said_number).collect())
    }
}

/// What the gauge shows, counted from its zero in this job where there is one, with the correction
/// of its last check by several masters.
fn shown_against_zero(
    (gauge, channel): (&ShopGauge, usize),
    view: &JobView,
    steady: &RestingValue,
) -> Result<f64, Refusal> {
    let name = &gauge.setup.name;
    let entry: RegisterEntry = toml::from_str(&gauge.text).map_err(bad)?;
    let correction = corrections(&entry, name, view);
    let correction = correction.get(channel).copied().flatten();
    let added = |shown: f64| correction.map_or(0.0, |c| c.at(shown, steady.unit, false));
    let counts = counts_from_a_zero(steady.unit.kind()) && channel == 0;
    let last = view.gauge(name).and_then(|g| g.zeros.last());
    let Some(zero) = last.filter(|_| counts) else {
        return Ok(steady.raw + added(steady.raw));
    };
    let zero_unit: Unit = zero.what.unit.parse().map_err(bad)?;
    let from = Quantity {
        value: zero.what.raw,
        unit: zero_unit,
    };
    let unit = steady.unit;
    let pushed_in = f64::from(gauge.setup.sense) * (steady.raw - from.to(unit).map_err(bad)?);
    let pushed_in = pushed_in + added(pushed_in);
    // In a bore, a plunger that is pushed in further means a smaller diameter than the ring's.
    let master = zero.what.nominal.map(|value| Quantity {
        value,
        unit: zero_unit,
    });
    match master {
        Some(master) => Ok(master.to(unit).map_err(bad)? - pushed_in),
        None => Ok(pushed_in),
    }
}

/// One count as a value was typed. Whoever types `1 in` at a dial left digits out: no step is taken for
/// coarser than gauges of the kind are expected to read.
pub(super) fn typed_step(text: &str, unit: Unit) -> f64 {
    let step = 10f64.powi(-decimals_written(text));
    let usual = usual_width(unit.kind()).map(|base| base / unit.difference_to_base(1.0));
    usual.map_or(step, |usual| step.min(usual))
}

/// A size converted to a given unit.
pub(super) fn in_unit(text: &str, unit: &str) -> Result<f64, Refusal> {
    let unit: Unit = unit.parse().map_err(bad)?;
    quantity(text, unit.kind())?.to(unit).map_err(bad)
}

impl Desk {
    /// What a channel of a gauge shows at rest: live, or as it was read by eye.
    pub(super) fn shown_by(
        &self,
        (gauge, channel): (&ShopGauge, usize),
        by_eye: Option<&str>,
    ) -> Result<RestingValue, Refusal> {
        let Some(text) = by_eye else {
            return self.at_rest(&gauge.setup.name, channel);
        };
        let typed: Quantity = text.parse().map_err(bad)?;
        let resolution = match &gauge.setup.resolution {
            Some(resolution) => in_unit(resolution, typed.unit.symbol())?,
            None => typed_step(text, typed.unit),
        };
        Ok(RestingValue {
            raw: typed.value,
            unit: typed.unit,
            sd: 0.0,
            n: 1,
            resolution,
        })
    }

    /// What a gauge shows once it rests. The wait is short: the port may just have been opened, or
    /// the plunger just let down.
    fn at_rest(&self, gauge: &str, channel: usize) -> Result<RestingValue, Refusal> {
        self.once_heard(gauge, move |station, name| station.steady(name, channel))
    }

    /// The mean of what each channel of a gauge shows, once it was heard for long enough.
    pub(super) fn shown_soon(&self, gauge: &str) -> Result<Vec<ChannelShows>, Refusal> {
        self.once_heard(gauge, |station, name| station.shows(name))
    }

    /// Asks the station about a gauge until it can answer.
    fn once_heard<T: Send + 'static>(
        &self,
        gauge: &str,
        ask: impl Fn(&Station, &str) -> Result<T, Refusal> + Copy + Send + 'static,
    ) -> Result<T, Refusal> {
        let until = Instant::now() + REST_PATIENCE;
        loop {
            let name = gauge.to_owned();
            let found = self.station()?.with(move |station| ask(station, &name))?;
            let may_come = matches!(&found, Err(refusal)
                if matches!(refusal.reason, Reason::GaugeSilent | Reason::Conflict));
            if !may_come || Instant::now() >= until {
                return found;
            }
            std::thread::sleep(LOOK_AGAIN);
        }
    }

    /// Waits until each port was tried once, so that a port that cannot be opened can be named.
    pub(super) fn wait_for_ports(&self) -> Result<(), Refusal> {
        let until = Instant::now() + OPEN_PATIENCE;
        while self.station()?.with(|station| station.is_opening())? && Instant::now() < until {
            std::thread::sleep(LOOK_AGAIN);
        }
        Ok(())
    }

    /// Copies a gauge's entry into a job's journal, if the entry has changed.
    pub(super) fn remember_gauge(&self, job: &str, name: &str) -> Result<(), Refusal> {
        let inputs = self.gauge_inputs([name]);
        if self.has_all(job, &inputs)? {
            return Ok(());
        }
        self.keeper.with_job(job, |job| load_all(job, inputs))
    }

    /// What a job keeps of these gauges' entries.
    pub(super) fn gauge_inputs<'a>(
        &self,
        names: impl IntoIterator<Item = &'a str>,
    ) -> Vec<JobInput> {
        let names: BTreeSet<&str> = names.into_iter().collect();
        // A name from an old notebook may be missing from today's register.
        let known = names
            .into_iter()
            .filter_map(|name| self.shop.gauge(name).ok());
        known
            .flat_map(|gauge| {
                let (profile, name) = (&gauge.profile, &gauge.setup.name);
                [
                    JobInput::new(InputKind::Profile, profile.name(), profile.text()),
                    JobInput::new(InputKind::Gauge, name, &gauge.text),
                ]
            })
            .collect()
    }

    /// Whether a job has these inputs as they are.
    fn has_all(&self, job: &str, inputs: &[JobInput]) -> Result<bool, Refusal> {
        self.keeper.look(job, |view| {
            let same = |input: &JobInput| {
                let last = view.input(input.kind, &input.name);
                last.is_some_and(|last| last.hash == input.hash)
            };
            inputs.iter().all(same)
        })
    }

    /// Keeps the fact that `make` makes of the job as it stands, after the entries of the gauges
    /// that the fact rests on; neither where the fact is refused. `make` may be called again.
    pub(super) fn keep_with_gauges<'a>(
        &self,
        job: &str,
        gauges: impl IntoIterator<Item = &'a str>,
        key: Option<&str>,
        make: impl Fn(&Job) -> Result<Fact, Refusal>,
    ) -> Result<Ack, Refusal> {
        let inputs = self.gauge_inputs(gauges);
        // Nearly always the entries are known already, and then writers share a sync.
        if self.has_all(job, &inputs)? {
            return self.keeper.append_with(job, key, make);
        }
        let ack = self.keeper.with_job(job, |job| {
            let fact = make(job)?;
            // A repeated request finds its inputs there, or its key used for something else.
            if key.and_then(|key| job.kept_under(key)).is_none() {
                job.view().fits(&fact).map_err(|e| of_job(&e.into()))?;
                load_all(job, inputs)?;
            }
            job.append(fact, key).map_err(|e| of_job(&e))
        })?;
        self.keeper.tell_lists(job, &ack.touched);
        Ok(ack)
    }
}

fn load_all(job: &mut Job, inputs: Vec<JobInput>) -> Result<(), Refusal> {
    for input in inputs {
        job.load(input).map_err(|e| of_job(&e))?;
    }
    Ok(())
}

/// How many decimals a number was written with, behind a point or a decimal comma.
fn decimals_written(text: &str) -> i32 {
    let number = text.split_whitespace().next().unwrap_or_default();
    let after = number.split(['.', ',']).nth(1).unwrap_or_default();
    i32::try_from(after.bytes().take_while(u8::is_ascii_digit).count()).unwrap_or(0)
}
