//! What is different on macOS, read in the serial library's source and tried on none.
//!
//! The library (4.10) opens a port there as on other systems of its kind: for this program alone, by
//! `TIOCEXCL` and a lock, raw, and with any speed (`IOSSIOSPEED`). Its list is IOKit's.

/// What a port is called there, as an example.
pub(super) const EXAMPLE: &str = "/dev/cu.usbserial-1";

/// The names of the ports without those that wait to be called: the library lists each adapter as
/// `/dev/cu.…`, which calls out, and as `/dev/tty.…`, which on opening waits for a carrier that no gauge
/// has. Both would be the same adapter, and neither would be opened for it.
pub(super) fn without_dial_in<T>(mut ports: Vec<T>, path: impl Fn(&T) -> &str) -> Vec<T> {
    let calls_out = |path: &str| path.strip_prefix("/dev/cu.").map(str::to_owned);
    let out: Vec<String> = ports
        .iter()
        .filter_map(|one| calls_out(path(one)))
        .collect();
    ports.retain(|one| {
        let waits = path(one).strip_prefix("/dev/tty.");
        waits.is_none_or(|name| !out.iter().any(|out| out == name))
    });
    ports
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_adapter_is_listed_once_by_the_name_that_calls_out() {
        let listed = vec![
            "/dev/cu.usbserial-1",
            "/dev/tty.usbserial-1",
            "/dev/cu.modem",
            "/dev/tty.modem",
            "/dev/tty.alone",
            "/dev/ttyUSB0",
        ];
        let kept = without_dial_in(listed, |path| path);
        let wanted = [
            "/dev/cu.usbserial-1",
            "/dev/cu.modem",
            "/dev/tty.alone",
            "/dev/ttyUSB0",
        ];
        assert_eq!(kept, wanted);
    }
}
