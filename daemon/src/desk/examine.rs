//! The request for a look at the machine.

use std::path::PathBuf;

use benchhand_drivers::transport::sysfs;
use benchhand_wire::{
    Examination, Examine, MachineFinding, MachinePart, MachineState, Port, PortState, Ports,
    Refusal,
};

use super::{Answers, Desk};
use crate::examine::daytime::{self, NewestFact};
use crate::examine::ports::{PortSight, gauge_without_port};
use crate::examine::{MachineTree, MachineUser, finding, fine, folders, latency, processes, space};
use crate::known::shop_name::keeps_streams;
use crate::known::stream_keeping;
use crate::store::lock::{self, Holder, LockSeen};

impl Answers<Examine> for Desk {
    fn answer(&self, _: Examine, _: Option<&str>) -> Result<Examination, Refusal> {
        let user = MachineUser::of_this_process();
        let tree = MachineTree::of_this_machine();
        Ok(Examination {
            findings: self.looked_at(&tree, user.as_ref()),
        })
    }
}

impl Desk {
    fn looked_at(&self, tree: &MachineTree, user: Option<&MachineUser>) -> Vec<MachineFinding> {
        let running = processes::running(tree);
        let sight = PortSight {
            tree,
            user,
            processes: running.as_deref().unwrap_or_default(),
        };
        let (mut findings, adapters) = self.ports_looked_at(&sight);
        match &running {
            Some(running) => findings.extend(processes::reaching(running, adapters)),
            None => findings.push(unseen(MachinePart::Programs, "which programs run")),
        }
        match latency::adapters(tree) {
            Some(adapters) => findings.extend(adapters),
            None => findings.push(unseen(
                MachinePart::Latency,
                "how long an adapter holds bytes back",
            )),
        }
        let data = self.keeper.layout().root().to_owned();
        findings.push(space::at(&data));
        findings.push(self.streams_kept());
        let newest = self.newest_fact();
        findings.push(daytime::clock(
            self.keeper.clock().now_utc(),
            newest.as_ref(),
        ));
        let zone = std::env::var("TZ").ok();
        findings.push(daytime::zone(tree, zone.as_deref()));
        findings.push(self.writer());
        let running = running.unwrap_or_default();
        findings.extend(processes::other_daemons(tree, &running, std::process::id()));
        findings.push(folders::kept_to_owner(&data, &self.own_folders(), user));
        findings
    }

    /// What is to be said of the ports, and whether a USB adapter is among them.
    fn ports_looked_at(&self, sight: &PortSight) -> (Vec<MachineFinding>, bool) {
        if !sysfs::are_told() {
            let unseen = unseen(MachinePart::Ports, "which serial ports there are");
            return (vec![unseen], false);
        }
        let ports = match self.ask(Ports::default()) {
            Ok(answer) => answer.ports,
            Err(refusal) => {
                let todo = refusal.todo.clone();
                let found = format!("the ports cannot be listed: {}", refusal.found);
                let unseen = finding(MachinePart::Ports, MachineState::Unknown, found, todo);
                return (vec![unseen], false);
            }
        };
        let adapters = ports.iter().any(|port| port.identity.is_some());
        let mut findings = sight.each(&ports);
        for setup in self.shop.gauges().map_or_else(
            |_| Vec::new(),
            |(gauges, _)| gauges.into_iter().map(|gauge| gauge.setup).collect(),
        ) {
            let here = ports
                .iter()
                .any(|port| port.gauge.as_ref() == Some(&setup.name));
            match (&setup.adapter, &setup.port) {
                _ if here => {}
                (Some(adapter), _) => findings.push(gauge_without_port(&setup.name, adapter)),
                (None, Some(path)) => match self.named_port(path) {
                    // A path that is not listed may lead to a port all the same.
                    Some(port) if port.state != PortState::Absent => {
                        findings.extend(sight.each(&[port]));
                    }
                    _ => findings.push(gauge_without_port(&setup.name, path)),
                },
                (None, None) => {}
            }
        }
        (findings, adapters)
    }

    fn named_port(&self, path: &str) -> Option<Port> {
        let asked = Ports {
            path: Some(path.to_owned()),
            only: None,
        };
        self.ask(asked).ok()?.ports.pop()
    }

    /// How much room recorded streams take, and for how long they are kept.
    fn streams_kept(&self) -> MachineFinding {
        let part = MachinePart::Space;
        let known = stream_keeping::room(&self.keeper)
            .and_then(|room| Ok((room, keeps_streams(&self.keeper)?)));
        let (room, keeps) = match known {
            Ok(known) => known,
            Err(refusal) => {
                let found = format!("for how long streams are kept is not known: {refusal}");
                return finding(part, MachineState::Wrong, found, refusal.todo);
            }
        };
        let kept = match keeps {
            None => {
                "they are kept for good (`keep_streams` in shop.toml states otherwise)".to_owned()
            }
            Some(days) => format!("each is kept for {days} days after its job's last entry"),
        };
        let (files, size) = (room.files, space::in_words(room.bytes));
        let streams = if files == 1 { "stream" } else { "streams" };
        fine(part, format!("{files} recorded {streams}, {size}; {kept}"))
    }

    /// The newest fact of all jobs that can be read.
    fn newest_fact(&self) -> Option<NewestFact> {
        let jobs = self.keeper.jobs(None).ok()?.jobs;
        let facts = jobs.into_iter().filter_map(|job| {
            Some(NewestFact {
                at: job.last?,
                job: job.name,
            })
        });
        facts.max_by_key(|fact| fact.at)
    }

    /// Who writes to the data folder.
    fn writer(&self) -> MachineFinding {
        let part = MachinePart::Daemon;
        if self.station.is_some() {
            let id = std::process::id();
            return fine(part, format!("the daemon runs and answers (process {id})"));
        }
        match lock::seen(self.keeper.files(), &self.keeper.layout()) {
            Ok(LockSeen::Free) => {
                fine(part, "no daemon runs, and nobody writes to the data folder")
            }
            Ok(LockSeen::Held(holder)) => finding(
                part,
                MachineState::Wrong,
                match holder {
                    Some(Holder { pid, what, since }) => format!(
                        "process {pid} ({what}, since {since:.0}) holds the data folder and does \
                         not answer"
                    ),
                    None => "another process holds the data folder".to_owned(),
                },
                "let it finish, or end it, and look again",
            ),
            Err(error) => finding(
                part,
                MachineState::Unknown,
                format!("whether the data folder is held cannot be seen: {error}"),
                "work as the user to whom it belongs, or with a folder of your own (--data)",
            ),
        }
    }

    /// The folders of ours inside the data folder.
    fn own_folders(&self) -> Vec<PathBuf> {
        let layout = self.keeper.layout();
        vec![
            layout.jobs(),
            layout.gauges(),
            layout.profiles(),
            layout.routes(),
            layout.index(),
        ]
    }
}

/// Something that this system does not tell.
fn unseen(part: MachinePart, what: &str) -> MachineFinding {
    finding(
        part,
        MachineState::Unknown,
        format!("{what} cannot be seen on this system"),
        "look at it by the system's own means",
    )
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::Arc;

    use benchhand_files::RealFiles;

    use super::*;
    use crate::clock::ScaledClock;
    use crate::known::keeper::Keeper;
    use crate::live::Hub;
    use crate::store::job::NewJob;

    const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");

    /// A desk without a daemon, on a machine whose clock shows this.
    fn desk(data: &Path, shows: &str) -> Desk {
        let clock = ScaledClock::new(shows.parse().expect("a time"), 1.0);
        let keeper = Keeper::passing(data.to_owned(), Arc::new(RealFiles), Arc::new(clock));
        Desk::new(Arc::new(keeper), Arc::new(Hub::default()), None)
    }

    fn clock_of(desk: &Desk) -> MachineFinding {
        let found = desk.ask(Examine {}).expect("an answer").findings;
        let clock = found
            .into_iter()
            .find(|one| one.about == MachinePart::Clock);
        clock.expect("the clock is looked at")
    }

    #[test]
    fn a_clock_that_fell_behind_the_record_is_wrong() {
        let data = tempfile::tempdir().expect("a folder");
        let ahead = desk(data.path(), "2031-05-01T08:00:00Z");
        for name in ["number-9", "number-12"] {
            let job = NewJob {
                name: name.to_owned(),
                title: None,
                stage: None,
                engine: ENGINE.to_owned(),
                key: None,
            };
            ahead.keeper.create(job).expect("opened");
        }
        assert_eq!(clock_of(&ahead).state, MachineState::Fine);
        let behind = desk(data.path(), "2026-05-01T08:00:00Z");
        let found = clock_of(&behind);
        assert_eq!(found.state, MachineState::Wrong);
        assert!(found.found.contains("2031-05-01"), "{found:?}");
        assert!(found.found.contains("number-12"), "{found:?}");
    }
}
