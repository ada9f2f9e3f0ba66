//! The gauge register: what a person writes, what the program writes beside it, what is wrong.

use std::path::Path;

use super::{DATA, TestDisks};
use crate::store::gauges::{GaugeError, Learned, Quantity, RegisterEntry, TextFault};
use benchhand_files::Files;

const DEPTH: &str = r#"# The new one, from the drawer by the window.
kind = "length"
profile = "ascii-length"
sense = -1 # it counts down into the bore
port = { usb = "0403:6001", serial = "A50285BI" }
resolution = "0.001 mm"

[calibration]
u = "0.0015 mm"         # from the certificate, k = 1
scale_u = 0.0001
checked = 2026-02-01
how = "three gauge blocks"

[zero]
raw = "12.345 mm"
against = "the flat plate"
at = 2026-03-02T09:00:00Z
"#;

const MANOMETER: &str = r#"kind = "pressure"
profile = "modbus-pressure-2"

[port]
path = "/dev/ttyUSB0"

[[channel]]
role = "test_pressure"

[[channel]]
role = "metering_pressure"
[channel.zero]
raw = "0.02 kPa"
against = "the open air"
at = "2026-03-02T09:00:00Z"
"#;

fn put(disks: &TestDisks, name: &str, text: &str) {
    let path = Path::new(DATA).join("gauges").join(format!("{name}.toml"));
    disks.files.replace(&path, text.as_bytes()).unwrap();
}

fn fault(disks: &TestDisks, text: &str) -> TextFault {
    put(disks, "odd", text);
    match disks.reader().reader().gauge("odd") {
        Err(GaugeError::Text(fault)) => fault,
        other => panic!("expected a fault, got {other:?}"),
    }
}

#[test]
fn a_gauge_is_read_as_a_person_wrote_it() {
    let disks = TestDisks::new(4);
    let store = disks.store();
    put(&disks, "depth-2", DEPTH);
    let depth = store.reader().gauge("depth-2").unwrap();
    let calibration = depth.gauge.calibration.as_ref().unwrap();
    assert_eq!(depth.gauge.sense, -1);
    assert_eq!(calibration.u.unwrap().to_string(), "0.0015 mm");
    assert_eq!(calibration.checked.unwrap().to_string(), "2026-02-01");
    assert_eq!(
        depth.gauge.port.unwrap().usb.unwrap().to_string(),
        "0403:6001"
    );
    assert_eq!(
        depth.gauge.zero.unwrap().at.to_string(),
        "2026-03-02T09:00:00Z"
    );

    put(&disks, "manometer", MANOMETER);
    let manometer = store.reader().gauge("manometer").unwrap().gauge;
    assert_eq!(
        manometer.channels[1].zero.as_ref().unwrap().raw.to_string(),
        "0.02 kPa"
    );
    let names: Vec<_> = store
        .reader()
        .gauges()
        .unwrap()
        .gauges
        .into_iter()
        .map(|g| g.name)
        .collect();
    assert_eq!(names, ["depth-2", "manometer"]);
}

#[test]
fn what_the_program_learns_leaves_a_persons_remarks_alone() {
    let disks = TestDisks::new(4);
    let store = disks.store();
    put(&disks, "depth-2", DEPTH);
    let mut gauge = store.reader().gauge("depth-2").unwrap().gauge;
    let sigma: Quantity = "0.0008 mm".parse().unwrap();
    gauge.learned = Some(Learned {
        sigma,
        n: Some(600),
    });
    gauge.zero.as_mut().unwrap().raw.value = 12.5;
    let written = store.set_gauge("depth-2", &gauge).unwrap();

    let expected = DEPTH
        .replace("checked = 2026-02-01", "checked = \"2026-02-01\"")
        .replace("at = 2026-03-02T09:00:00Z", "at = \"2026-03-02T09:00:00Z\"")
        .replace("12.345 mm", "12.5 mm")
        + "\n[learned]\nsigma = \"0.0008 mm\"\nn = 600\n";
    assert_eq!(written.text, expected);
    assert_eq!(store.reader().gauge("depth-2").unwrap(), written);
    assert_eq!(written.gauge, gauge);

    gauge.learned = None;
    assert!(
        !store
            .set_gauge("depth-2", &gauge)
            .unwrap()
            .text
            .contains("learned")
    );
}

#[test]
fn a_channels_own_zero_is_written_where_it_belongs() {
    let disks = TestDisks::new(4);
    let store = disks.store();
    put(&disks, "manometer", MANOMETER);
    let mut gauge = store.reader().gauge("manometer").unwrap().gauge;
    gauge.channels[1].zero.as_mut().unwrap().raw.value = 0.03;
    gauge.channels[0].zero = gauge.channels[1].zero.clone();
    let written = store.set_gauge("manometer", &gauge).unwrap();
    assert_eq!(store.reader().gauge("manometer").unwrap().gauge, gauge);
    assert_eq!(written.text.matches("0.03 kPa").count(), 2);
}

#[test]
fn a_new_gauge_gets_a_text_of_its_own() {
    let disks = TestDisks::new(4);
    let store = disks.store();
    let gauge = RegisterEntry {
        sense: 1,
        profile: Some("ascii-volume".into()),
        ..RegisterEntry::default()
    };
    let written = store.set_gauge("burette-1", &gauge).unwrap();
    assert_eq!(
        written.text,
        "kind = \"other\"\nprofile = \"ascii-volume\"\n"
    );
    assert!(matches!(
        store.set_gauge("../x", &gauge),
        Err(GaugeError::Name(_))
    ));
    let error = store.reader().gauge("burette-2").unwrap_err().to_string();
    assert!(error.contains("there are burette-1"), "{error}");
}

#[test]
fn what_is_wrong_is_shown_with_its_line_and_column() {
    let disks = TestDisks::new(4);
    let _store = disks.store();
    for (text, line, column, what) in [
        (
            "kind = \"length\"\nsence = 1\n",
            2,
            1,
            "unknown field `sence`",
        ),
        (
            "kind = \"length\"\nresolution = \"0.001 furlong\"\n",
            2,
            14,
            "unknown unit \"furlong\"",
        ),
        (
            "kind = \"length\"\nresolution = \"0.001\"\n",
            2,
            14,
            "expected a number and its unit",
        ),
        ("kind = \"length\"\nresolution = 0.001\n", 2, 14, "expected"),
        ("kind = \"ruler\"\n", 1, 8, "unknown variant `ruler`"),
        (
            "kind = \"length\"\nsense = 2\n",
            2,
            9,
            "found 2, expected 1 or -1",
        ),
        (
            "kind = \"length\"\n[port]\n",
            2,
            1,
            "nothing tells which port it is",
        ),
        (
            "kind = \"length\"\nport = { usb = \"403:6001\" }\n",
            2,
            16,
            "4 and 4 hexadecimal digits",
        ),
        (
            "kind = \"length\"\n[calibration]\nu = \"0 mm\"\n",
            3,
            5,
            "expected something above 0",
        ),
        (
            "kind = \"length\"\ncalibration.scale_u = 1.5\n",
            2,
            23,
            "between 0 and 1",
        ),
        (
            "kind = \"length\"\nresolution = \"1 um\"\ncalibration.u = \"1 g\"\n",
            3,
            17,
            "do not agree",
        ),
        (
            "kind = \"length\"\n[[channel]]\nrole = \"a\"\nresolution = \"-1 mm\"\n",
            4,
            14,
            "above 0",
        ),
        ("kind = \"length\"\n\"unended\n", 2, 9, ""),
        (
            "kind = \"length\"\n[calibration]\nchecked = \"soon\"\n",
            3,
            11,
            "expected a date",
        ),
    ] {
        let fault = fault(&disks, text);
        assert_eq!((fault.line, fault.column), (line, column), "{text}{fault}");
        assert!(fault.what.contains(what), "{text}{fault}");
        assert!(
            fault
                .to_string()
                .starts_with(&format!("/data/gauges/odd.toml:{line}:{column}: "))
        );
    }
}

#[test]
fn one_wrong_text_hides_no_other_gauge() {
    let disks = TestDisks::new(4);
    let store = disks.store();
    put(&disks, "depth-2", DEPTH);
    put(&disks, "odd", "kind =\n");
    disks
        .files
        .replace(
            &Path::new(DATA).join("gauges/bytes.toml"),
            b"kind = \"\xff\"",
        )
        .unwrap();
    let list = store.reader().gauges().unwrap();
    assert_eq!(list.gauges.len(), 1);
    let unreadable: Vec<_> = list.unreadable.iter().map(|(name, _)| &**name).collect();
    assert_eq!(unreadable, ["bytes", "odd"]);
    let error = store
        .set_gauge(
            "odd",
            &RegisterEntry {
                sense: 1,
                ..RegisterEntry::default()
            },
        )
        .unwrap_err();
    assert!(
        matches!(error, GaugeError::Text(_)),
        "a wrong text was written over"
    );
}
