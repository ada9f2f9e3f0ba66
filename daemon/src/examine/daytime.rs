//! The time of day: every fact carries it, and a record with a wrong one is hard to read later.

use benchhand_wire::{MachineFinding, MachinePart, MachineState};
use jiff::{SignedDuration, Timestamp, tz::TimeZone};

use super::{MachineTree, finding, fine};

/// A clock that shows an earlier year was never set.
const FIRST_YEAR: i16 = 2025;
/// A clock that shows this year or a later one is wrong.
const BEYOND_YEAR: i16 = 2100;
/// The clocks of two machines may differ by this much before anything is said.
const SLACK: SignedDuration = SignedDuration::from_mins(2);

/// The newest fact that is kept: when, and in which job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct NewestFact {
    /// When it was kept, by the clock of that moment.
    pub(crate) at: Timestamp,
    /// The job's name.
    pub(crate) job: String,
}

/// What is to be said of a clock that shows `now`.
pub(crate) fn clock(now: Timestamp, newest: Option<&NewestFact>) -> MachineFinding {
    let wrong = |found: String| {
        finding(
            MachinePart::Clock,
            MachineState::Wrong,
            found,
            "set the clock before anything is measured: timedatectl set-ntp true, or by hand",
        )
    };
    let shown = format!("the clock shows {now:.0}");
    let year = now.to_zoned(TimeZone::UTC).year();
    if !(FIRST_YEAR..BEYOND_YEAR).contains(&year) {
        return wrong(format!("{shown}, which cannot be"));
    }
    match newest {
        Some(NewestFact { at, job }) if now.duration_since(*at) < -SLACK => wrong(format!(
            "{shown}, which is before the newest fact kept ({at:.0}, in {job})"
        )),
        _ => fine(MachinePart::Clock, shown),
    }
}

/// What is to be said of the time zone. `said` is what the environment names, as `TZ` has it.
pub(crate) fn zone(tree: &MachineTree, said: Option<&str>) -> MachineFinding {
    if let Some(said) = said.filter(|said| !said.is_empty()) {
        return fine(MachinePart::Clock, format!("the time zone is {said}"));
    }
    if !tree.at("/etc").is_dir() {
        return finding(
            MachinePart::Clock,
            MachineState::Unknown,
            "which time zone this machine is in cannot be seen on this system",
            "look at it by the system's own means; facts are kept in UTC all the same",
        );
    }
    let link = std::fs::read_link(tree.at("/etc/localtime")).ok();
    let link = link.as_ref().and_then(|to| to.to_str());
    let named = link.and_then(|to| to.split_once("zoneinfo/"));
    match (named, tree.at("/etc/localtime").exists()) {
        (Some((_, name)), _) => fine(MachinePart::Clock, format!("the time zone is {name}")),
        (None, true) => fine(MachinePart::Clock, "the time zone is known"),
        (None, false) => finding(
            MachinePart::Clock,
            MachineState::Advice,
            "the time zone is not known; facts are kept in UTC all the same",
            "name it: timedatectl set-timezone AREA/CITY",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::super::made_up::MadeUpMachine;
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().expect("a time")
    }

    #[test]
    fn a_clock_that_was_never_set_is_wrong() {
        assert_eq!(
            clock(at("1970-01-01T00:02:00Z"), None).state,
            MachineState::Wrong
        );
        assert_eq!(
            clock(at("2106-02-07T06:28:15Z"), None).state,
            MachineState::Wrong
        );
        assert_eq!(
            clock(at("2026-03-02T09:14:05Z"), None).state,
            MachineState::Fine
        );
    }

    #[test]
    fn a_clock_before_the_newest_fact_is_wrong_and_says_which() {
        let newest = NewestFact {
            at: at("2026-03-02T09:14:05Z"),
            job: "number-12".to_owned(),
        };
        let before = clock(at("2026-03-01T09:14:05Z"), Some(&newest));
        assert_eq!(before.state, MachineState::Wrong);
        assert!(before.found.contains("number-12"), "{before:?}");
        assert!(before.found.contains("2026-03-02T09:14:05Z"), "{before:?}");
        for now in ["2026-03-02T09:13:05Z", "2026-03-05T00:00:00Z"] {
            assert_eq!(clock(at(now), Some(&newest)).state, MachineState::Fine);
        }
    }

    #[test]
    fn a_zone_is_known_by_the_environment_or_by_the_machine() {
        let without = MadeUpMachine::empty();
        assert_eq!(zone(&without.tree(), None).state, MachineState::Unknown);
        let none = MadeUpMachine::empty().with("/etc/hostname", "bench");
        assert_eq!(zone(&none.tree(), None).state, MachineState::Advice);
        assert_eq!(zone(&none.tree(), Some("")).state, MachineState::Advice);
        let said = zone(&none.tree(), Some("Europe/Berlin"));
        assert!(said.found.contains("Europe/Berlin") && said.state == MachineState::Fine);
        let copied = MadeUpMachine::empty().with("/etc/localtime", "TZif2");
        assert_eq!(zone(&copied.tree(), None).state, MachineState::Fine);
    }

    #[cfg(unix)]
    #[test]
    fn a_zone_is_named_by_where_the_machine_s_link_leads() {
        let machine = MadeUpMachine::empty().with("/etc/hostname", "bench");
        std::os::unix::fs::symlink(
            "/usr/share/zoneinfo/America/Detroit",
            machine.tree().at("/etc/localtime"),
        )
        .expect("linked");
        let said = zone(&machine.tree(), None);
        assert!(said.found.ends_with("America/Detroit"), "{said:?}");
    }
}
