//! What Linux tells of its serial ports by files below `/sys`. Other systems have none.

use std::path::Path;

/// Where Linux lists its serial ports.
const LIST: &str = "/sys/class/tty";

/// Whether this system tells which serial ports it has. On Linux in a root of its own, such as a
/// container's, the list may be absent.
#[must_use]
pub fn are_told() -> bool {
    !cfg!(target_os = "linux") || Path::new(LIST).is_dir()
}

/// The place on the bus where a port's adapter is plugged in, as the kernel writes it
/// ("1-1.2:1.0").
#[cfg(target_os = "linux")]
pub(super) fn place_of(path: &str) -> Option<String> {
    let name = Path::new(path).file_name()?;
    let device = std::fs::canonicalize(Path::new(LIST).join(name).join("device"));
    let device = device.ok()?;
    let is_place = |part: &str| part.contains('-') && part.contains(':');
    device
        .components()
        .rev()
        .filter_map(|part| part.as_os_str().to_str())
        .find(|part| is_place(part))
        .map(str::to_owned)
}

#[cfg(not(target_os = "linux"))]
pub(super) fn place_of(_path: &str) -> Option<String> {
    None
}
