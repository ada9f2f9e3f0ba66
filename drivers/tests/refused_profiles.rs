//! Each kind of mistake in a profile is refused at its line and column. The message says what was
//! found, what was expected and what to do.

use benchhand_drivers::Profile;
use benchhand_drivers::profile::ProfileFault;

/// A valid profile in which the tests put mistakes.
const LINE: &str = r#"profile = 1
name = "test-gauge"

[line]
baud = 9600
format = "8N1"

[talk]
mode = "stream"
period_ms = 100

[frame]
kind = "line"
end = "\r\n"
separator = ","
columns = 3

[[channel]]
name = "mass"
column = 2
unit = { default = "g", column = 3, sent = { g = "g", kg = "kg" } }
resolution = { g = 0.01, kg = 0.00001 }
sentinels = [{ is = "OL", says = "overrange" }]

[[status]]
column = 1
words = { ST = "stable", US = "unstable" }

[[capture]]
received = "ST,12.50,g\r\n"
gives = [{ value = 12.5, unit = "g", says = ["stable"] }]
"#;

const FIXED: &str = r#"profile = 1
name = "test-gauge"

[line]
baud = 9600
format = "8N1"

[talk]
mode = "poll"
command = "?"
period_ms = 100

[frame]
kind = "fixed"
length = 8
sync = { is = { hex = "AA" } }
as = "bytes"
checksum = { kind = "sum8", at = -1 }

[[channel]]
name = "length"
type = "i24"
at = 1
decimals = 3
unit = "mm"

[[status]]
at = 4
bit = 1
set = "hold"
clear = "nothing"
"#;

const MODBUS: &str = r#"profile = 1
name = "test-gauge"

[line]
baud = 19200
format = "8E1"

[talk]
mode = "poll"
period_ms = 100

[frame]
kind = "modbus-rtu"
address = 1

[[channel]]
name = "test"
table = "input"
register = 0
type = "f32"
unit = "Pa"
resolution = 0.1

[[channel]]
name = "metering"
table = "input"
register = 2
type = "f32"
unit = "Pa"
resolution = 0.1
"#;

/// The refusal of a profile in which `from` was replaced by `to`.
fn refused(text: &str, from: &str, to: &str) -> (ProfileFault, String) {
    assert!(
        text.contains(from),
        "{from:?} does not stand in the profile"
    );
    let spoiled = text.replacen(from, to, 1);
    match Profile::parse(&spoiled, "gauge.toml") {
        Ok(_) => panic!("{to:?} in place of {from:?} was taken"),
        Err(error) => (error.fault, error.to_string()),
    }
}

#[test]
fn the_profiles_are_sound_before_they_are_spoiled() {
    for text in [LINE, FIXED, MODBUS] {
        let profile = Profile::parse(text, "gauge.toml").unwrap_or_else(|error| panic!("{error}"));
        profile.check_captures().unwrap();
    }
}

/// Mistakes: the profile, the replaced text, and its replacement.
const MISTAKES: &[(&str, &str, &str)] = &[
    // No TOML, unknown and missing keys, wrong types and values.
    (LINE, "baud = 9600", "baud = = 9600"),
    (LINE, "profile = 1", "profile = 2"),
    (LINE, "name = \"test-gauge\"", "name = \"Test Gauge\""),
    (LINE, "baud = 9600", "boud = 9600"),
    (LINE, "baud = 9600\n", ""),
    (LINE, "baud = 9600", "baud = \"9600\""),
    (LINE, "baud = 9600", "baud = 5"),
    (LINE, "format = \"8N1\"", "format = \"9N1\""),
    (LINE, "mode = \"stream\"", "mode = \"streem\""),
    (LINE, "kind = \"line\"", "kind = \"lines\""),
    (LINE, "end = \"\\r\\n\"", "end = \"\""),
    (LINE, "end = \"\\r\\n\"", "end = \"€\""),
    (LINE, "[frame]", "[frames]"),
    // Units and resolutions.
    (LINE, "default = \"g\"", "default = \"stone\""),
    (LINE, "default = \"g\"", "default = \"G\""),
    (LINE, "kg = \"kg\"", "kg = \"mm\""),
    (
        LINE,
        "resolution = { g = 0.01, kg = 0.00001 }",
        "resolution = 0.01",
    ),
    (
        LINE,
        "resolution = { g = 0.01, kg = 0.00001 }",
        "resolution = { g = 0.01 }",
    ),
    (
        LINE,
        "resolution = { g = 0.01, kg",
        "resolution = { g = -1, kg",
    ),
    // Places.
    (LINE, "column = 2", "column = 4"),
    (LINE, "column = 2", "column = 3"),
    (LINE, "column = 2", "at = 3\nlen = 4"),
    (LINE, "column = 2\n", ""),
    (LINE, "separator = \",\"\n", ""),
    (LINE, "columns = 3\n", ""),
    // Statuses and sentinels.
    (LINE, "ST = \"stable\"", "ST = \"steady\""),
    (LINE, "says = \"overrange\"", "says = \"too much\""),
    (
        LINE,
        "words = { ST = \"stable\", US = \"unstable\" }",
        "words = {}",
    ),
    (
        LINE,
        "{ is = \"OL\", says = \"overrange\" }",
        "{ is = \"OL\", says = \"overrange\" }, { is = \"OL\", says = \"fault\" }",
    ),
    (
        LINE,
        "column = 1\nwords",
        "channel = \"length\"\ncolumn = 1\nwords",
    ),
    // Talk.
    (LINE, "period_ms = 100", "period_ms = 100\ncommand = \"?\""),
    (FIXED, "command = \"?\"\n", ""),
    (FIXED, "period_ms = 100\n", ""),
    (FIXED, "period_ms = 100", "period_ms = 100\ntimeout_ms = 0"),
    // Overlaps and fields outside the frame.
    (FIXED, "at = 4\nbit = 1", "at = 3\nbit = 1"),
    (FIXED, "at = 1\n", "at = 0\n"),
    (FIXED, "at = 1\n", "at = 6\n"),
    (FIXED, "at = 4\nbit = 1", "at = 7\nbit = 1"),
    (FIXED, "at = -1", "at = -9"),
    (
        FIXED,
        "sync = { is = { hex = \"AA\" } }",
        "sync = { at = 8, is = { hex = \"AA\" } }",
    ),
    (
        FIXED,
        "sync = { is = { hex = \"AA\" } }\nas = \"bytes\"\nchecksum = { kind = \"sum8\", at = -1 }",
        "as = \"bytes\"",
    ),
    (FIXED, "hex = \"AA\"", "hex = \"A\""),
    (FIXED, "type = \"i24\"", "type = \"i20\""),
    (FIXED, "type = \"i24\"", "type = \"decimal\""),
    (FIXED, "type = \"i24\"\n", ""),
    (FIXED, "at = 1\n", "at = 1\nlen = 2\n"),
    (FIXED, "decimals = 3", "decimals = 3\nscale = 0.001"),
    (FIXED, "kind = \"sum8\"", "kind = \"crc-16\""),
    (FIXED, "set = \"hold\"\n", ""),
    // Modbus.
    (MODBUS, "mode = \"poll\"", "mode = \"stream\""),
    (MODBUS, "address = 1", "address = 0"),
    (MODBUS, "register = 2", "register = 1"),
    (MODBUS, "register = 2", "register = 70000"),
    (MODBUS, "table = \"input\"", "table = \"coil\""),
    (MODBUS, "resolution = 0.1\n", ""),
    (MODBUS, "type = \"f32\"", "type = \"u8\""),
    (MODBUS, "name = \"metering\"", "name = \"test\""),
    // Captures.
    (
        LINE,
        "value = 12.5, unit = \"g\", says = [\"stable\"]",
        "unit = \"g\"",
    ),
    (LINE, "received = \"ST,12.50,g\\r\\n\"\n", ""),
    (
        LINE,
        "{ value = 12.5, unit",
        "{ channel = \"length\", value = 12.5, unit",
    ),
];

#[test]
fn every_kind_of_mistake_is_refused_at_its_place() {
    let messages: Vec<String> = MISTAKES
        .iter()
        .map(|(text, from, to)| {
            let (fault, message) = refused(text, from, to);
            let change = if to.is_empty() {
                format!("without {from:?}")
            } else {
                format!("{to:?}")
            };
            format!("{change}\n  {fault:?}\n  {message}\n")
        })
        .collect();
    insta::assert_snapshot!(messages.join("\n"));
}

#[test]
fn no_text_at_all_makes_the_loader_panic() {
    // Every profile is cut off at every byte, and has every byte changed.
    for text in [LINE, FIXED, MODBUS] {
        for at in 0..text.len() {
            if text.is_char_boundary(at) {
                let _ = Profile::parse(&text[..at], "gauge.toml");
            }
            for spoil in ["\"", "]", "=", "9", "é"] {
                let spoiled = format!("{}{spoil}{}", &text[..at], &text[at + 1..]);
                let _ = Profile::parse(&spoiled, "gauge.toml");
            }
        }
    }
}
