//! What belongs to the shop rather than to one job: its gauges, its own profiles, its own routes.
//!
//! All of it is text that a person may edit. When a route begins, the texts on which its readings
//! rest are copied into the job's journal, so a later edit changes no earlier figure.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use benchhand_drivers::{Profile, ProfileRegistry};
use benchhand_toml_places::line_and_column;
use benchhand_wire::{GaugeCorrection, GaugeSetup, Reason, Refusal};

use super::keeper::Keeper;
use super::kinds::main_kind;
use super::quantities::bad;
use super::refusals::{at_place, of_files, of_gauge, of_profile};
use super::register;
use crate::pedal::{self, PedalSetup};
use crate::route::{Route, RouteError, shipped};
use crate::store::gauges::{GaugePort, RegisterEntry, RegisteredGauge};
use crate::store::name::check_name;

/// The shop's texts.
#[derive(Debug)]
pub(crate) struct Shop {
    keeper: Arc<Keeper>,
}

/// A gauge of the shop, with the profile that it follows.
#[derive(Debug, Clone)]
pub(crate) struct ShopGauge {
    /// The gauge's entry as requests carry it.
    pub(crate) setup: GaugeSetup,
    /// The text of the entry.
    pub(crate) text: String,
    /// How the gauge sends its values.
    pub(crate) profile: Profile,
    /// The gauge's port, if it has one.
    pub(crate) port: Option<GaugePort>,
    /// The result of its last check, if it was checked.
    pub(crate) check: Option<GaugeCorrection>,
    /// The pedal on its port.
    pub(crate) pedal: Option<PedalSetup>,
}

/// The text that states what the shop's pedals do.
const PEDALS: &str = "pedals.toml";

impl ShopGauge {
    /// Whether the gauge has no port: a person reads it by eye and types its value.
    pub(crate) fn by_eye(&self) -> bool {
        self.setup.port.is_none() && self.setup.adapter.is_none()
    }

    /// What the gauge measures: the kind of its first channel.
    pub(crate) fn kind(&self) -> &'static str {
        main_kind(&self.profile).word()
    }

    /// The place of the channel with this name in the gauge's profile; of the first where none is
    /// named.
    ///
    /// # Errors
    /// The profile has no such channel.
    pub(crate) fn channel_number(&self, name: Option<&str>) -> Result<usize, Refusal> {
        let Some(name) = name else { return Ok(0) };
        let channels = self.profile.channels();
        let place = channels.iter().position(|channel| channel.name == *name);
        place.ok_or_else(|| {
            let names: Vec<&str> = channels.iter().map(|one| one.name.as_str()).collect();
            let found = format!("{} has no channel {name:?}", self.setup.name);
            Refusal::new(Reason::NotFound, found).expected(format!("one of {}", names.join(", ")))
        })
    }
}

impl Shop {
    pub(crate) fn new(keeper: Arc<Keeper>) -> Shop {
        Shop { keeper }
    }

    /// Every gauge in order of name. A gauge whose text cannot be used is left out and named.
    pub(crate) fn gauges(&self) -> Result<(Vec<ShopGauge>, Vec<Refusal>), Refusal> {
        let registry = self.registry()?;
        let list = self
            .keeper
            .with_store(|s| s.reader().gauges().map_err(|e| of_gauge(&e)))?;
        let mut faults: Vec<Refusal> = list.unreadable.iter().map(|(_, e)| of_gauge(e)).collect();
        let pedals = self.pedals().unwrap_or_else(|fault| {
            faults.push(fault);
            BTreeMap::new()
        });
        let mut gauges = Vec::new();
        for registered in &list.gauges {
            match shop_gauge(&registry, registered, &pedals) {
                Ok(gauge) => gauges.push(gauge),
                Err(fault) => faults.push(fault),
            }
        }
        Ok((gauges, faults))
    }

    /// The shop's pedals, by the gauge on whose port they hang.
    fn pedals(&self) -> Result<BTreeMap<String, PedalSetup>, Refusal> {
        let path = self.keeper.layout().root().join(PEDALS);
        let bytes = match self.keeper.files().read(&path) {
            Err(error) if error.is_missing() => return Ok(BTreeMap::new()),
            other => other.map_err(|e| of_files(&e))?,
        };
        let text = String::from_utf8_lossy(&bytes);
        pedal::parse(&text).map_err(|(at, fault)| {
            let (line, column) = line_and_column(&text, at);
            at_place("the pedals cannot be used", PEDALS, line, column, fault)
                .todo("docs/board.md says what a pedal can do")
        })
    }

    /// One gauge of the register.
    pub(crate) fn gauge(&self, name: &str) -> Result<ShopGauge, Refusal> {
        let found = self
            .keeper
            .with_store(|s| s.reader().gauge(name).map_err(|e| of_gauge(&e)))?;
        shop_gauge(&self.registry()?, &found, &self.pedals()?)
    }

    /// Enters a gauge in the register, with a profile of the user's own where one is given. What
    /// the register knows of the gauge beyond the setup (a zero, what was learned) stays.
    pub(crate) fn set(
        &self,
        setup: &GaugeSetup,
        profile_text: Option<&str>,
    ) -> Result<ShopGauge, Refusal> {
        check_name("gauge", &setup.name).map_err(bad)?;
        // What cannot be read is told before anything is written.
        let pedals = self.pedals()?;
        let mut registry = self.registry()?;
        if let Some(text) = profile_text {
            check_name("profile", &setup.profile).map_err(bad)?;
            let file = format!("{}.toml", setup.profile);
            let profile = registry.add(text, &file).map_err(|e| of_profile(&e))?;
            if profile.name() != setup.profile {
                let found = format!("the profile calls itself {:?}", profile.name());
                return Err(Refusal::new(Reason::BadInput, found)
                    .expected(format!("{:?}, as it was named", setup.profile)));
            }
        }
        let profile = profile_of(&registry, &setup.name, &setup.profile)?;
        let layout = self.keeper.layout();
        let registered = self.keeper.writing("a change to the register", |store| {
            let before = store.reader().gauge(&setup.name).ok().map(|r| r.gauge);
            let gauge = register::entry(setup, before, main_kind(&profile))?;
            register::as_blueprint(&gauge, main_kind(&profile))?;
            if let Some(text) = profile_text {
                let path = layout.profiles().join(format!("{}.toml", setup.profile));
                store
                    .files()
                    .replace(&path, text.as_bytes())
                    .map_err(|e| of_files(&e))?;
            }
            store
                .set_gauge(&setup.name, &gauge)
                .map_err(|e| of_gauge(&e))
        })?;
        shop_gauge(&registry, &registered, &pedals)
    }

    /// Changes what the register knows of a gauge.
    pub(crate) fn change(
        &self,
        name: &str,
        change: impl FnOnce(&mut RegisterEntry),
    ) -> Result<ShopGauge, Refusal> {
        let registered = self.keeper.writing("a change to the register", |store| {
            let mut gauge = store.reader().gauge(name).map_err(|e| of_gauge(&e))?.gauge;
            change(&mut gauge);
            store.set_gauge(name, &gauge).map_err(|e| of_gauge(&e))
        })?;
        shop_gauge(&self.registry()?, &registered, &self.pedals()?)
    }

    /// Takes a gauge out of the register.
    pub(crate) fn remove(&self, name: &str) -> Result<(), Refusal> {
        self.gauge(name)?;
        let path = self.keeper.layout().gauges().join(format!("{name}.toml"));
        self.keeper.writing("a change to the register", |store| {
            store.files().remove(&path).map_err(|e| of_files(&e))
        })
    }

    /// The available profiles: the built-in ones and the shop's own.
    pub(crate) fn registry(&self) -> Result<ProfileRegistry, Refusal> {
        let mut registry = ProfileRegistry::builtin();
        for (file, text) in self.texts(&self.keeper.layout().profiles(), ".toml")? {
            registry.add(&text, &file).map_err(|e| of_profile(&e))?;
        }
        Ok(registry)
    }

    /// The available routes: the shipped ones and the shop's own, which take precedence.
    pub(crate) fn routes(&self) -> Result<BTreeMap<String, (Route, String)>, Refusal> {
        let mut routes = BTreeMap::new();
        for (name, text) in shipped() {
            let route = Route::parse(text, name).map_err(|e| of_route(&e))?;
            routes.insert(name.to_owned(), (route, text.to_owned()));
        }
        for (file, text) in self.texts(&self.keeper.layout().routes(), ".toml")? {
            let route = Route::parse(&text, &file).map_err(|e| of_route(&e))?;
            routes.insert(route.name.clone(), (route, text));
        }
        Ok(routes)
    }

    /// Reads a route of the user's own. Keeps nothing.
    pub(crate) fn read_route(&self, text: &str, file: &str) -> Result<(Route, String), Refusal> {
        let route = Route::parse(text, file).map_err(|e| of_route(&e))?;
        check_name("route", &route.name).map_err(bad)?;
        Ok((route, text.to_owned()))
    }

    /// Keeps a route of the user's own.
    pub(crate) fn keep_route(&self, route: &Route, text: &str) -> Result<(), Refusal> {
        let path = self
            .keeper
            .layout()
            .routes()
            .join(format!("{}.toml", route.name));
        self.keeper.writing("a new route", |store| {
            store
                .files()
                .replace(&path, text.as_bytes())
                .map_err(|e| of_files(&e))
        })
    }

    fn texts(&self, folder: &Path, ending: &str) -> Result<Vec<(String, String)>, Refusal> {
        let files = self.keeper.files();
        let listed = match files.list(folder) {
            Err(error) if error.is_missing() => return Ok(Vec::new()),
            other => other.map_err(|e| of_files(&e))?,
        };
        let named = listed
            .into_iter()
            .filter(|l| !l.is_dir && l.name.ends_with(ending));
        named
            .map(|listed| {
                let bytes = files
                    .read(&folder.join(&listed.name))
                    .map_err(|e| of_files(&e))?;
                let text = String::from_utf8(bytes).map_err(|_| {
                    Refusal::new(
                        Reason::BadInput,
                        format!("{} is not UTF-8 text", listed.name),
                    )
                })?;
                Ok((listed.name, text))
            })
            .collect()
    }
}

fn shop_gauge(
    registry: &ProfileRegistry,
    registered: &RegisteredGauge,
    pedals: &BTreeMap<String, PedalSetup>,
) -> Result<ShopGauge, Refusal> {
    let setup = register::setup(&registered.name, &registered.gauge);
    let profile = profile_of(registry, &setup.name, &setup.profile)?;
    register::as_blueprint(&registered.gauge, main_kind(&profile))?;
    Ok(ShopGauge {
        setup,
        port: registered.gauge.port.clone(),
        check: register::checked(&registered.gauge),
        pedal: pedals.get(&registered.name).cloned(),
        text: registered.text.clone(),
        profile,
    })
}

fn profile_of(registry: &ProfileRegistry, gauge: &str, name: &str) -> Result<Profile, Refusal> {
    registry.get(name).cloned().ok_or_else(|| {
        let known = registry.names().collect::<Vec<_>>().join(", ");
        Refusal::new(
            Reason::NotFound,
            format!("gauge {gauge}: there is no profile {name:?}"),
        )
        .expected(format!("one of {known}"))
        .todo("or give one of your own with --profile-file")
    })
}

pub(crate) fn of_route(error: &RouteError) -> Refusal {
    let found = format!("the route {} cannot be used", error.file);
    at_place(
        found,
        &error.file,
        error.line,
        error.column,
        error.text.clone(),
    )
}
