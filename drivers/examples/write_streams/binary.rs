//! Virtual gauges that send bytes: framed, counted, packed, and Modbus.

use benchhand_testbed::gauge::encode;

use super::gauges::{Give, PlayedGauge, Say, Shown, asked_pair, frame, give, sum, xor};

pub(crate) fn binaries() -> Vec<(&'static str, PlayedGauge)> {
    let framed = |number: usize, shown: &mut Shown| {
        let sign = if shown.count < 0 { '-' } else { '+' };
        let low = number > 40;
        let status = if low { 'B' } else { ' ' };
        let mut body = format!("{sign}{:06}M{status}", shown.count.abs()).into_bytes();
        body.push(3);
        let check = xor(&body);
        body.insert(0, 2);
        body.push(check);
        let give = give("length", shown.count, 3, "mm");
        frame(
            body,
            vec![if low { give.says("low-battery") } else { give }],
        )
    };
    let flagged = |_: usize, shown: &mut Shown| {
        let (test, metering) = (shown.count * 100, -shown.count);
        let mut body = i32::try_from(test).unwrap_or(0).to_le_bytes().to_vec();
        body.extend(i32::try_from(metering).unwrap_or(0).to_le_bytes());
        let crc = crc::Crc::<u16>::new(&crc::CRC_16_IBM_SDLC).checksum(&body);
        body.extend(crc.to_le_bytes());
        let mut bytes = vec![b'~'];
        for byte in body {
            match byte {
                0x7E | 0x7D => bytes.extend([0x7D, byte ^ 0x20]),
                _ => bytes.push(byte),
            }
        }
        bytes.push(b'~');
        frame(
            bytes,
            vec![
                give("test", test, 2, "Pa"),
                give("metering", metering, 2, "Pa"),
            ],
        )
    };
    let counts = |number: usize, shown: &mut Shown| {
        let held = number > 50;
        let mut bytes = vec![0xAA];
        bytes.extend_from_slice(&i32::try_from(shown.count).unwrap_or(0).to_le_bytes()[..3]);
        bytes.push(if held { 4 } else { 0 });
        bytes.push(sum(&bytes));
        let give = give("length", shown.count, 3, "mm");
        frame(bytes, vec![if held { give.says("hold") } else { give }])
    };
    let counted = |_: usize, shown: &mut Shown| {
        // Eighths are exact in binary.
        let (test, metering) = (shown.count, shown.count / 4);
        let eighth = |count: i64| f32::from(i16::try_from(count / 8).unwrap_or(0)) / 8.0;
        let mut bytes = vec![0x55, 0xAA, 9, 1];
        bytes.extend(eighth(test).to_be_bytes());
        bytes.extend(eighth(metering).to_be_bytes());
        let crc = crc::Crc::<u16>::new(&crc::CRC_16_XMODEM).checksum(&bytes);
        bytes.extend(crc.to_be_bytes());
        let give = |channel, count| Give {
            channel,
            value: Some(f64::from(eighth(count))),
            unit: "kPa",
            resolution: 0.0001,
            says: Vec::new(),
        };
        frame(bytes, vec![give("test", test), give("metering", metering)])
    };
    let packed = |number: usize, shown: &mut Shown| {
        let over = number % 13 == 7;
        let mut bytes = vec![2];
        let digits = format!("{:06}", shown.count.abs());
        for pair in digits.as_bytes().chunks(2) {
            bytes.push((pair[0] - b'0') << 4 | (pair[1] - b'0'));
        }
        bytes.push(1);
        bytes.push(u8::from(shown.count < 0) << 7 | u8::from(over));
        bytes.push(sum(&bytes).wrapping_neg());
        let give = give("pressure", shown.count, 2, "inH2O");
        frame(
            bytes,
            vec![if over { give.status("overrange") } else { give }],
        )
    };
    vec![
        ("framed-length-xor", PlayedGauge::new(framed)),
        ("flagged-pressure-crc16", PlayedGauge::new(flagged)),
        ("binary-length-i24", PlayedGauge::new(counts)),
        ("counted-pressure-f32", PlayedGauge::new(counted)),
        ("bcd-pressure-lrc", PlayedGauge::one_question(&[5], packed)),
        ("asked-pressure-pair", asked_pair()),
    ]
}

pub(crate) fn modbus() -> Vec<(&'static str, PlayedGauge)> {
    let pair = |unit: &'static str, resolution: f64| {
        move |_: usize, shown: &mut Shown| {
            let (test, metering) = (shown.count, shown.count / 5);
            let quarter = |count: i64| f32::from(i16::try_from(count / 4).unwrap_or(0)) / 4.0;
            let mut registers = quarter(test).to_be_bytes().to_vec();
            registers.extend(quarter(metering).to_be_bytes());
            let give = |channel, count| Give {
                channel,
                value: Some(f64::from(quarter(count))),
                unit,
                resolution,
                says: Vec::new(),
            };
            let gives = vec![give("test", test), give("metering", metering)];
            frame(encode::modbus_reply(1, 4, &registers), gives)
        }
    };
    let mass = |number: usize, shown: &mut Shown| {
        let [a, b, c, d] = i32::try_from(shown.count).unwrap_or(0).to_be_bytes();
        let still = shown.speed == 0;
        let reply = encode::modbus_reply(7, 3, &[c, d, a, b, 0, u8::from(still)]);
        let says = if still { "stable" } else { "unstable" };
        let mut answer = frame(reply, vec![give("mass", shown.count, 2, "g").says(says)]);
        if number % 29 == 13 {
            answer.bytes[4] ^= 0x20;
            answer.gives.clear();
        }
        answer
    };
    let count = |address: u8, channel: &'static str, unit: &'static str| -> Say {
        Box::new(move |_, shown| {
            let count = i16::try_from(shown.count / 10).unwrap_or(0);
            let reply = encode::modbus_reply(address, 4, &count.to_be_bytes());
            frame(reply, vec![give(channel, i64::from(count), 1, unit)])
        })
    };
    let both = encode::modbus_request(1, 4, 0, 4);
    let two = vec![
        (
            encode::modbus_request(1, 4, 10, 1),
            count(1, "pressure", "kPa"),
        ),
        (encode::modbus_request(2, 4, 0, 1), count(2, "air", "degC")),
    ];
    vec![
        (
            "modbus-pressure-pair",
            PlayedGauge::one_question(&both, pair("Pa", 0.1)).losing(&[15, 33]),
        ),
        (
            "modbus-pressure-pair-inh2o",
            PlayedGauge::one_question(&both, pair("inH2O", 0.001)),
        ),
        (
            "modbus-mass-i32",
            PlayedGauge::one_question(&encode::modbus_request(7, 3, 100, 3), mass),
        ),
        (
            "modbus-two-gauges",
            PlayedGauge::asked(two).within(100, 90_000),
        ),
    ]
    .into_iter()
    .map(|(name, gauge)| (name, gauge.counting_from(2_000)))
    .collect()
}
