//! The Modbus driver against an independent implementation (the `rmodbus` crate as the gauge), and
//! against gauges that answer late, wrongly or not at all.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use benchhand_drivers::{
    DecodeTrouble, Decoded, Driver, DriverOptions, NextAction, Profile, Sample,
};
use benchhand_testbed::SplitMix64;
use proptest::prelude::*;
use rmodbus::ModbusProto;
use rmodbus::server::ModbusFrame;
use rmodbus::server::context::ModbusContext;
use rmodbus::server::storage::ModbusStorage;

/// A gauge with 64 registers of either sort.
struct AskedGauge {
    address: u8,
    registers: ModbusStorage<1, 1, 64, 64>,
}

impl AskedGauge {
    fn new(address: u8) -> Self {
        Self {
            address,
            registers: ModbusStorage::new(),
        }
    }

    /// The answer to a request, if the request is for this gauge.
    fn answer(&mut self, request: &[u8]) -> Option<Vec<u8>> {
        let mut frame_bytes = [0u8; 256];
        frame_bytes[..request.len()].copy_from_slice(request);
        let mut response = Vec::new();
        let mut frame =
            ModbusFrame::new(self.address, &frame_bytes, ModbusProto::Rtu, &mut response);
        frame
            .parse()
            .expect("a request that the independent implementation understands");
        if frame.processing_required {
            // A refusal is an answer too.
            let _ = frame.process_read(&self.registers);
        }
        if !frame.response_required {
            return None;
        }
        frame.finalize_response().expect("room for the answer");
        Some(response)
    }
}

fn profile(channels: &str) -> Profile {
    let text = format!(
        "profile = 1\nname = \"test\"\n[line]\nbaud = 19200\nformat = \"8N1\"\n[talk]\nmode = \"poll\"\nperiod_ms = 100\ntimeout_ms = 200\n[frame]\nkind = \"modbus-rtu\"\naddress = 1\n{channels}"
    );
    Profile::parse(&text, "test").unwrap_or_else(|error| panic!("{error}"))
}

fn channel(name: &str, keys: &str) -> String {
    format!("[[channel]]\nname = \"{name}\"\nunit = \"1\"\n{keys}\n")
}

/// The driver's next question. Lets time pass until it comes.
fn question(driver: &mut dyn Driver, now: &mut u64) -> Vec<u8> {
    loop {
        match driver.next(*now) {
            NextAction::Send(bytes) => return bytes,
            NextAction::Wait { until_us } => *now = until_us,
            NextAction::Drain => {}
            NextAction::Listen => panic!("a gauge that only answers is listened to"),
        }
    }
}

fn split(decoded: &[Decoded]) -> (Vec<Sample>, Vec<DecodeTrouble>) {
    let mut samples = Vec::new();
    let mut troubles = Vec::new();
    for one in decoded {
        match one {
            Decoded::Sample(sample) => samples.push(*sample),
            Decoded::Trouble(trouble) => troubles.push(trouble.clone()),
        }
    }
    (samples, troubles)
}

/// One round of questions to one gauge.
fn round(
    profile: &Profile,
    gauge: &mut AskedGauge,
    questions: usize,
) -> (Vec<Sample>, Vec<DecodeTrouble>) {
    let mut driver = profile.driver(DriverOptions::default());
    let (mut now, mut out) = (0, Vec::new());
    for _ in 0..questions {
        let asked = question(&mut *driver, &mut now);
        let answer = gauge.answer(&asked).expect("an answer");
        now += 9_000;
        driver.receive(now, &answer, &mut out);
    }
    split(&out)
}

/// The registers of a number in a word order. `bytes` has the highest byte first.
fn words(bytes: &[u8], order: &str) -> Vec<u16> {
    let mut words: Vec<u16> = bytes
        .chunks(2)
        .map(|pair| u16::from_be_bytes([pair[0], pair[1]]))
        .collect();
    match order {
        "ABCD" => {}
        "CDAB" => words.reverse(),
        "BADC" => words.iter_mut().for_each(|word| *word = word.swap_bytes()),
        "DCBA" => {
            words.reverse();
            words.iter_mut().for_each(|word| *word = word.swap_bytes());
        }
        other => panic!("{other}"),
    }
    words
}

fn check(table: &str, kind: &str, order: &str, bytes: &[u8], expected: f64) {
    let keys = format!(
        "table = \"{table}\"\nregister = 7\ntype = \"{kind}\"\norder = \"{order}\"\nresolution = 0.001"
    );
    let profile = profile(&channel("value", &keys));
    let mut gauge = AskedGauge::new(1);
    let registers = words(bytes, order);
    if table == "input" {
        gauge.registers.set_inputs_bulk(7, &registers).unwrap();
    } else {
        gauge.registers.set_holdings_bulk(7, &registers).unwrap();
    }
    let (samples, troubles) = round(&profile, &mut gauge, 1);
    assert_eq!(troubles, [], "{table} {kind} {order}");
    assert_eq!(samples[0].value, Some(expected), "{table} {kind} {order}");
}

#[test]
fn both_tables_every_type_and_every_word_order() {
    let mut random = SplitMix64::new(11);
    for table in ["holding", "input"] {
        for order in ["ABCD", "CDAB", "BADC", "DCBA"] {
            for _ in 0..50 {
                let drawn = random.draw();
                let [a, b, c, d, ..] = drawn.to_be_bytes();
                let short = u16::from_be_bytes([a, b]);
                let long = u32::from_be_bytes([a, b, c, d]);
                check(table, "u32", order, &[a, b, c, d], f64::from(long));
                check(
                    table,
                    "i32",
                    order,
                    &[a, b, c, d],
                    f64::from(long.cast_signed()),
                );
                if matches!(order, "ABCD" | "DCBA") {
                    check(table, "u16", order, &[a, b], f64::from(short));
                    check(table, "i16", order, &[a, b], f64::from(short.cast_signed()));
                }
                let float = f32::from_bits(long);
                if float.is_finite() {
                    check(table, "f32", order, &[a, b, c, d], f64::from(float));
                }
            }
        }
    }
}

#[test]
fn neighbouring_registers_are_fetched_by_one_question_and_others_by_their_own() {
    let at = |name: &str, register: u16| {
        channel(
            name,
            &format!("table = \"holding\"\nregister = {register}\ntype = \"u16\""),
        )
    };
    let profile = profile(&[at("a", 0), at("b", 1), at("c", 2), at("d", 40)].concat());
    let mut gauge = AskedGauge::new(1);
    gauge.registers.set_holdings_bulk(0, &[10, 11, 12]).unwrap();
    gauge.registers.set_holding(40, 50).unwrap();
    let (samples, troubles) = round(&profile, &mut gauge, 2);
    assert_eq!(troubles, []);
    let values: Vec<_> = samples.iter().map(|s| (s.channel, s.value)).collect();
    assert_eq!(
        values,
        [
            (0, Some(10.0)),
            (1, Some(11.0)),
            (2, Some(12.0)),
            (3, Some(50.0))
        ]
    );
}

#[test]
fn a_register_that_the_gauge_lacks_is_refused_in_words() {
    let profile = profile(&channel(
        "value",
        "table = \"input\"\nregister = 63\ntype = \"u32\"",
    ));
    let (samples, troubles) = round(&profile, &mut AskedGauge::new(1), 1);
    assert_eq!(samples, []);
    let [DecodeTrouble::Refused(words)] = &troubles[..] else {
        panic!("{troubles:?}")
    };
    assert!(
        words.contains("exception 2") && words.contains("no such register"),
        "{words}"
    );
}

#[test]
fn a_corrupted_reply_gives_no_value_and_the_next_question_does() {
    let profile = profile(&channel(
        "value",
        "table = \"input\"\nregister = 0\ntype = \"u16\"",
    ));
    let mut gauge = AskedGauge::new(1);
    gauge.registers.set_input(0, 1234).unwrap();
    for byte in 0..7 {
        for bit in 0..8 {
            let mut driver = profile.driver(DriverOptions::default());
            let (mut now, mut out) = (0, Vec::new());
            let asked = question(&mut *driver, &mut now);
            let mut answer = gauge.answer(&asked).unwrap();
            answer[byte] ^= 1 << bit;
            driver.receive(now + 9_000, &answer, &mut out);
            let (samples, _) = split(&out);
            assert_eq!(samples, [], "byte {byte} bit {bit}");
            // A lost answer takes one more question, whose answer is withheld.
            let mut values = Vec::new();
            for _ in 0..3 {
                let asked = question(&mut *driver, &mut now);
                now += 9_000;
                driver.receive(now, &gauge.answer(&asked).unwrap(), &mut out);
            }
            values.extend(split(&out).0.iter().map(|sample| sample.value));
            assert!(
                values.contains(&Some(1234.0)),
                "byte {byte} bit {bit}: {out:?}"
            );
        }
    }
}

#[test]
fn two_gauges_on_one_line_keep_to_their_own_answers() {
    let channels = [
        channel("one", "table = \"input\"\nregister = 0\ntype = \"u16\""),
        channel(
            "two",
            "address = 2\ntable = \"input\"\nregister = 0\ntype = \"u16\"",
        ),
    ]
    .concat();
    let profile = profile(&channels);
    let (mut one, mut two) = (AskedGauge::new(1), AskedGauge::new(2));
    one.registers.set_input(0, 111).unwrap();
    two.registers.set_input(0, 222).unwrap();
    let mut driver = profile.driver(DriverOptions::default());
    let (mut now, mut out) = (0, Vec::new());
    for turn in 0..20 {
        let asked = question(&mut *driver, &mut now);
        let answers = [one.answer(&asked), two.answer(&asked)];
        assert_eq!(answers.iter().flatten().count(), 1, "one gauge answers");
        // The second gauge leaves some questions unanswered.
        if asked[0] == 2 && turn % 3 == 0 {
            continue;
        }
        now += 9_000;
        driver.receive(now, answers.iter().flatten().next().unwrap(), &mut out);
    }
    let (samples, troubles) = split(&out);
    assert!(troubles.contains(&DecodeTrouble::NoAnswer));
    for sample in &samples {
        let expected = if sample.channel == 0 { 111.0 } else { 222.0 };
        assert_eq!(sample.value, Some(expected));
    }
    assert!(
        samples.iter().filter(|s| s.channel == 0).count() >= 8,
        "the first is not held up"
    );
}

/// Plays a gauge whose answers come after these delays. Each answer holds the number of its
/// question. Gives each accepted value with the number of the last question before it.
fn taken(profile: &Profile, delays: &[u64], answer: &dyn Fn(u16) -> Vec<u8>) -> Vec<(f64, u16)> {
    let mut driver = profile.driver(DriverOptions::default());
    let mut on_the_way: BinaryHeap<Reverse<(u64, Vec<u8>)>> = BinaryHeap::new();
    let (mut now, mut asked, mut taken) = (0, 0u16, Vec::new());
    loop {
        let mut out = Vec::new();
        match driver.next(now) {
            NextAction::Send(_) => {
                let Some(delay) = delays.get(usize::from(asked)) else {
                    return taken;
                };
                on_the_way.push(Reverse((now + delay, answer(asked))));
                asked += 1;
            }
            NextAction::Wait { until_us } => {
                let arrives = on_the_way.peek().map(|Reverse((at, _))| *at);
                now = until_us.min(arrives.unwrap_or(u64::MAX)).max(now);
                while let Some(Reverse((at, _))) = on_the_way.peek() {
                    if *at > now {
                        break;
                    }
                    let Some(Reverse((_, bytes))) = on_the_way.pop() else {
                        break;
                    };
                    driver.receive(now, &bytes, &mut out);
                }
            }
            NextAction::Drain => {}
            NextAction::Listen => panic!("a gauge that only answers is listened to"),
        }
        let values = split(&out).0.into_iter().filter_map(|sample| sample.value);
        taken.extend(values.map(|value| (value, asked - 1)));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// A late answer never becomes the next value, with or without the CRC of Modbus.
    #[test]
    fn no_late_answer_is_taken_for_the_next(
        delays in proptest::collection::vec(prop_oneof![4 => 2_000u64..60_000, 1 => 60_000u64..790_000], 5..60),
    ) {
        let modbus = profile(&channel("value", "table = \"input\"\nregister = 0\ntype = \"u16\""));
        let reply = |number: u16| benchhand_testbed::gauge::encode::modbus_reply(1, 4, &number.to_be_bytes());
        let lines = Profile::parse(
            "profile = 1\nname = \"test\"\n[line]\nbaud = 9600\nformat = \"8N1\"\n[talk]\nmode = \"poll\"\ncommand = \"?\"\nperiod_ms = 100\ntimeout_ms = 200\n[frame]\nkind = \"line\"\n[[channel]]\nname = \"value\"\nunit = \"1\"\n",
            "test",
        ).unwrap();
        let line = |number: u16| format!("{number}\r\n").into_bytes();
        for (profile, answer) in [(&modbus, &reply as &dyn Fn(u16) -> Vec<u8>), (&lines, &line)] {
            for (value, asked) in taken(profile, &delays, answer) {
                prop_assert_eq!(value, f64::from(asked));
            }
        }
    }
}

#[test]
fn prompt_answers_are_all_taken_and_a_lost_one_costs_itself_and_one_more() {
    let profile = profile(&channel(
        "value",
        "table = \"input\"\nregister = 0\ntype = \"u16\"",
    ));
    let reply =
        |number: u16| benchhand_testbed::gauge::encode::modbus_reply(1, 4, &number.to_be_bytes());
    let mut delays = vec![9_000; 30];
    assert_eq!(taken(&profile, &delays, &reply).len(), 30);
    delays[10] = 350_000;
    assert_eq!(taken(&profile, &delays, &reply).len(), 28);
}

/// Another gauge's late reply in two reads is thrown away like one that comes whole, and the
/// answer behind it is accepted.
#[test]
fn a_reply_of_another_gauge_in_pieces_is_thrown_away() {
    let profile = profile(&channel(
        "value",
        "table = \"input\"\nregister = 0\ntype = \"u16\"",
    ));
    let reply = |address: u8, number: u16| {
        benchhand_testbed::gauge::encode::modbus_reply(address, 4, &number.to_be_bytes())
    };
    let other = reply(17, 300);
    for cut in 1..other.len() {
        let mut driver = profile.driver(DriverOptions::default());
        let (mut now, mut out) = (0, Vec::new());
        question(&mut *driver, &mut now);
        driver.receive(now + 2_000, &other[..cut], &mut out);
        let mut rest = other[cut..].to_vec();
        rest.extend(reply(1, 7));
        driver.receive(now + 4_000, &rest, &mut out);
        let (samples, troubles) = split(&out);
        let values: Vec<_> = samples.iter().map(|sample| sample.value).collect();
        assert_eq!(values, [Some(7.0)], "cut at {cut}: {troubles:?}");
        assert_eq!(troubles, [DecodeTrouble::LateAnswer], "cut at {cut}");
    }
}
