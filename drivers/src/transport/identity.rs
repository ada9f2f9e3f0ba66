//! Finds the port of a gauge, whatever name the system gives it today.
//!
//! An adapter is known by its own numbers first, then by its place on the bus, then by a fixed
//! path. If two ports match equally well, both are named and neither is opened.

use std::fmt;

use super::OpenError;

/// The properties that tell one USB adapter from another.
#[derive(Debug, Clone, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub struct UsbIdentity {
    /// Vendor number.
    pub vid: u16,
    /// Product number.
    pub pid: u16,
    /// Serial number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Interface number, if one adapter has several ports.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interface: Option<u8>,
    /// The maker, as the adapter names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub manufacturer: Option<String>,
    /// The product, as the adapter names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
}

impl UsbIdentity {
    /// Whether this adapter is the wanted one. A serial number or interface that `wanted` does not
    /// name may be any.
    #[must_use]
    pub fn is(&self, wanted: &UsbIdentity) -> bool {
        let serial = wanted.serial.is_none() || wanted.serial == self.serial;
        let interface = wanted.interface.is_none() || wanted.interface == self.interface;
        (self.vid, self.pid) == (wanted.vid, wanted.pid) && serial && interface
    }
}

impl fmt::Display for UsbIdentity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04x}:{:04x}", self.vid, self.pid)?;
        if let Some(serial) = &self.serial {
            write!(f, " serial {serial}")?;
        }
        if let Some(interface) = self.interface {
            write!(f, " interface {interface}")?;
        }
        Ok(())
    }
}

/// The properties by which a gauge's port is known. The adapter outweighs its place on the bus,
/// and the place outweighs the path.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct PortIdentity {
    /// The adapter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usb: Option<UsbIdentity>,
    /// The adapter's place on the bus, as [`FoundPort::place`] gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// A path or name, used unchanged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
}

impl PortIdentity {
    /// A port that is known by its path alone.
    #[must_use]
    pub fn pinned(path: impl Into<String>) -> Self {
        Self {
            path: Some(path.into()),
            ..Self::default()
        }
    }

    /// Whether finding the port needs the list of this computer's ports.
    #[must_use]
    pub fn is_looked_up(&self) -> bool {
        self.usb.is_some() || self.place.is_some()
    }
}

impl fmt::Display for PortIdentity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.usb, &self.place, &self.path) {
            (Some(usb), ..) => write!(f, "adapter {usb}"),
            (None, Some(place), _) => write!(f, "the port at {place} on the bus"),
            (None, None, Some(path)) => f.write_str(path),
            (None, None, None) => f.write_str("a port without a name"),
        }
    }
}

/// A port that the system lists.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundPort {
    /// The path or name of the port.
    pub path: String,
    /// The USB adapter, if the port is one.
    pub usb: Option<UsbIdentity>,
    /// The place on the bus, if the system tells it.
    pub place: Option<String>,
}

/// The path of the port that matches.
///
/// # Errors
/// [`OpenError::Absent`] if none matches, [`OpenError::Ambiguous`] if two match equally well.
pub fn resolve(wanted: &PortIdentity, ports: &[FoundPort]) -> Result<String, OpenError> {
    let absent = || OpenError::Absent {
        path: wanted.to_string(),
    };
    let at_place = |port: &&FoundPort| wanted.place.is_some() && port.place == wanted.place;
    let fitting: Vec<&FoundPort> = match (&wanted.usb, &wanted.place, &wanted.path) {
        (Some(usb), ..) => {
            let same = |port: &&FoundPort| port.usb.as_ref().is_some_and(|found| found.is(usb));
            ports.iter().filter(same).collect()
        }
        (None, Some(_), _) => ports.iter().filter(at_place).collect(),
        (None, None, Some(path)) => return Ok(path.clone()),
        (None, None, None) => return Err(absent()),
    };
    let (first, second) = match fitting[..] {
        [] => return Err(absent()),
        [only] => return Ok(only.path.clone()),
        [first, second, ..] => (first, second),
    };
    // The place on the bus can tell adapters apart that are otherwise alike.
    let placed: Vec<&&FoundPort> = fitting.iter().filter(|port| at_place(port)).collect();
    if let [only] = placed[..] {
        return Ok(only.path.clone());
    }
    Err(OpenError::Ambiguous {
        wanted: wanted.to_string(),
        first: first.path.clone(),
        second: second.path.clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usb(serial: Option<&str>) -> UsbIdentity {
        UsbIdentity {
            vid: 0x1209,
            pid: 1,
            serial: serial.map(str::to_owned),
            interface: None,
            manufacturer: None,
            product: None,
        }
    }

    fn port(path: &str, serial: Option<&str>, place: &str) -> FoundPort {
        FoundPort {
            path: path.to_owned(),
            usb: Some(usb(serial)),
            place: Some(place.to_owned()),
        }
    }

    fn wanted(serial: Option<&str>, place: Option<&str>) -> PortIdentity {
        PortIdentity {
            usb: Some(usb(serial)),
            place: place.map(str::to_owned),
            path: None,
        }
    }

    #[test]
    fn an_adapter_is_found_again_under_another_name_and_at_another_place() {
        let ports = [
            port("ttyUSB3", Some("A7"), "1-2:1.0"),
            port("ttyUSB0", Some("B9"), "1-1:1.0"),
        ];
        let found = resolve(&wanted(Some("A7"), Some("1-1:1.0")), &ports);
        assert_eq!(found.as_deref(), Ok("ttyUSB3"));
    }

    #[test]
    fn another_adapter_at_the_same_place_is_not_taken_for_it() {
        let ports = [port("ttyUSB0", Some("B9"), "1-1:1.0")];
        let found = resolve(&wanted(Some("A7"), Some("1-1:1.0")), &ports);
        assert!(matches!(found, Err(OpenError::Absent { .. })));
    }

    #[test]
    fn two_equal_adapters_are_told_apart_by_place_or_both_named() {
        let ports = [
            port("ttyUSB0", None, "1-1:1.0"),
            port("ttyUSB1", None, "1-2:1.0"),
        ];
        assert_eq!(
            resolve(&wanted(None, Some("1-2:1.0")), &ports).as_deref(),
            Ok("ttyUSB1")
        );
        for place in [None, Some("9-9:1.0")] {
            let error = resolve(&wanted(None, place), &ports)
                .unwrap_err()
                .to_string();
            assert!(
                error.contains("ttyUSB0") && error.contains("ttyUSB1"),
                "{error}"
            );
        }
    }

    #[test]
    fn what_was_not_said_of_an_adapter_may_be_anything_but_not_two_things() {
        let one = [port("ttyUSB0", Some("A7"), "1-1:1.0")];
        let any = wanted(None, None);
        assert_eq!(resolve(&any, &one).as_deref(), Ok("ttyUSB0"));
        let two = [one[0].clone(), port("ttyUSB1", Some("B9"), "1-2:1.0")];
        assert!(matches!(
            resolve(&any, &two),
            Err(OpenError::Ambiguous { .. })
        ));
    }

    #[test]
    fn a_pinned_path_is_taken_as_it_is() {
        assert_eq!(
            resolve(&PortIdentity::pinned("/dev/pts/7"), &[]).as_deref(),
            Ok("/dev/pts/7")
        );
    }
}
