//! Asks whether a gauge speaks Modbus RTU, and finds the register that moves.

use std::time::{Duration, Instant};

use crate::binary::{BinaryNumber, moving};
use crate::candidate::ProfileCandidate;
use crate::number::NumberType;
use crate::search::{Search, SearchError, SearchProgress};
use crate::write::head_of;
use benchhand_drivers::decode::modbus::{ExpectedReply, ModbusReply, exception, find, request};
use benchhand_drivers::driver::{Decoded, Driver, NextAction};
use benchhand_drivers::profile::ByteOrder;
use benchhand_drivers::profile::{DriverOptions, Profile, TalkMode};
use benchhand_drivers::serial_settings::{Parity, SerialFormat, SerialSettings};
use benchhand_drivers::transport::Transport;

/// The addresses that are tried: the usual factory settings.
const ADDRESSES: [u8; 3] = [1, 2, 247];
/// The tables whose functions read and change nothing.
const TABLES: [RegisterTable; 2] = [RegisterTable::Input, RegisterTable::Holding];
/// Numbers of registers, counted from register 0, that are asked for, the most first.
const BLOCKS: [u16; 5] = [16, 8, 4, 2, 1];
/// Longest time for an answer.
const PATIENCE: Duration = Duration::from_millis(90);
/// Number of times that the registers are read to see which of them moves.
const LOOKS: usize = 24;
/// Time between two reads of the registers.
const BETWEEN: Duration = Duration::from_millis(80);

const E81: SerialFormat = SerialFormat {
    data: 8,
    parity: Parity::Even,
    stop: 1,
};

/// The byte orders in two registers, the most usual first.
const ORDERS: [ByteOrder; 4] = [
    ByteOrder::BIG,
    ByteOrder {
        high_byte_first: true,
        high_word_first: false,
    },
    ByteOrder {
        high_byte_first: false,
        high_word_first: true,
    },
    ByteOrder::LITTLE,
];

/// The profile's word for a byte order.
fn order_word(order: ByteOrder) -> &'static str {
    match (order.high_word_first, order.high_byte_first) {
        (true, true) => "ABCD",
        (false, true) => "CDAB",
        (true, false) => "BADC",
        (false, false) => "DCBA",
    }
}

/// A table of registers.
#[derive(Debug, Clone, Copy)]
enum RegisterTable {
    Input,
    Holding,
}

impl RegisterTable {
    /// The function that reads the table.
    fn function(self) -> u8 {
        match self {
            RegisterTable::Input => 4,
            RegisterTable::Holding => 3,
        }
    }

    /// The profile's word for the table.
    fn word(self) -> &'static str {
        match self {
            RegisterTable::Input => "input",
            RegisterTable::Holding => "holding",
        }
    }
}

/// A block of registers that a gauge answers for.
struct RegisterBlock {
    address: u8,
    table: RegisterTable,
    count: u16,
}

/// The outcome of a request.
enum RegisterAnswer {
    Registers(Vec<u8>),
    Refused,
    Nothing,
}

impl Search<'_, '_> {
    /// Asks for registers at every speed until something answers with a sound reply.
    pub(crate) fn ask_registers(&mut self) -> Result<Vec<ProfileCandidate>, SearchError> {
        for format in [SerialFormat::N81, E81] {
            for baud in self.speeds.clone() {
                let line = SerialSettings::new(baud, format);
                let mut port = (self.open)(&line)?;
                for address in ADDRESSES {
                    let blocks = self.blocks(&mut *port, line, address)?;
                    if !blocks.is_empty() {
                        return self.watch(&mut *port, line, &blocks);
                    }
                }
            }
        }
        Ok(Vec::new())
    }

    /// The largest blocks of registers that this address answers for.
    fn blocks(
        &mut self,
        port: &mut dyn Transport,
        line: SerialSettings,
        address: u8,
    ) -> Result<Vec<RegisterBlock>, SearchError> {
        let mut all = Vec::new();
        for table in TABLES {
            for count in BLOCKS {
                let block = RegisterBlock {
                    address,
                    table,
                    count,
                };
                (self.progress)(SearchProgress::Asking(line, block.request()));
                match self.read_block(port, &block)? {
                    RegisterAnswer::Registers(_) => {
                        all.push(block);
                        break;
                    }
                    // No gauge has this address, so smaller blocks would not be answered either.
                    RegisterAnswer::Nothing => break,
                    RegisterAnswer::Refused => {}
                }
            }
        }
        Ok(all)
    }

    fn read_block(
        &mut self,
        port: &mut dyn Transport,
        block: &RegisterBlock,
    ) -> Result<RegisterAnswer, SearchError> {
        self.checked()?;
        port.drain()?;
        port.write(&block.request())?;
        let mut seen = Vec::new();
        let mut buffer = [0; 256];
        let until = Instant::now() + PATIENCE;
        while Instant::now() < until {
            let count = port.read(&mut buffer, Duration::from_millis(10))?;
            seen.extend_from_slice(&buffer[..count]);
            match find(&seen, block.expected()) {
                ModbusReply::Registers { at, .. } => {
                    return Ok(RegisterAnswer::Registers(seen[at].to_vec()));
                }
                ModbusReply::Exception { code } => {
                    tracing::debug!("a Modbus gauge answered: {}", exception(code));
                    return Ok(RegisterAnswer::Refused);
                }
                _ => {}
            }
        }
        Ok(RegisterAnswer::Nothing)
    }

    /// Watches the registers for one that moves like a measured value.
    fn watch(
        &mut self,
        port: &mut dyn Transport,
        line: SerialSettings,
        blocks: &[RegisterBlock],
    ) -> Result<Vec<ProfileCandidate>, SearchError> {
        let mut found: Vec<ProfileCandidate> = Vec::new();
        for block in blocks {
            let mut looks: Vec<Vec<u8>> = Vec::new();
            for _ in 0..LOOKS {
                if let RegisterAnswer::Registers(bytes) = self.read_block(port, block)? {
                    looks.push(bytes);
                }
                std::thread::sleep(BETWEEN);
            }
            let looks: Vec<&[u8]> = looks.iter().map(Vec::as_slice).collect();
            let kinds = [
                NumberType::Float(4),
                NumberType::Signed(4),
                NumberType::Signed(2),
            ];
            let places = 0..usize::from(block.count) * 2;
            let all = moving(&looks, &kinds, &ORDERS, places, 2);
            // If several registers move, this does not tell which one is the measured value.
            let end = |reading: &BinaryNumber| reading.at + reading.kind.bytes();
            let apart = |a: &BinaryNumber, b: &BinaryNumber| end(a) <= b.at || end(b) <= a.at;
            let alone = all
                .first()
                .is_some_and(|best| !all.iter().any(|r| apart(r, best)));
            let best = all.into_iter().next().or_else(|| at_rest(&looks));
            let Some(reading) = best else { continue };
            let moves = alone && reading.kind == NumberType::Float(4);
            let confidence = if moves { 0.75 } else { 0.5 };
            found.extend(self.proved(port, line, block, &reading, confidence)?);
        }
        found.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
        Ok(found)
    }

    /// Reads the gauge with the proposed profile and the ordinary driver.
    fn proved(
        &mut self,
        port: &mut dyn Transport,
        line: SerialSettings,
        block: &RegisterBlock,
        reading: &BinaryNumber,
        confidence: f64,
    ) -> Result<Option<ProfileCandidate>, SearchError> {
        let text = profile(line, block, reading);
        let Ok(profile) = Profile::parse(&text, "found") else {
            return Ok(None);
        };
        let mut driver = profile.profile_driver(DriverOptions::default());
        let mut out: Vec<Decoded> = Vec::new();
        let mut buffer = [0; 256];
        let until = Instant::now() + Duration::from_secs(1);
        while Instant::now() < until && out.len() < 3 {
            self.checked()?;
            match driver.next(self.now_us()) {
                NextAction::Send(bytes) => port.write(&bytes)?,
                NextAction::Drain => port.drain()?,
                NextAction::Wait { .. } | NextAction::Listen => {
                    let count = port.read(&mut buffer, Duration::from_millis(10))?;
                    driver.receive(self.now_us(), &buffer[..count], &mut out);
                }
            }
        }
        let value = out.iter().rev().find_map(|decoded| match decoded {
            Decoded::Sample(sample) => sample.value,
            Decoded::Trouble(_) => None,
        });
        let place = reading.at / 2;
        Ok(value.map(|value| ProfileCandidate {
            line,
            mode: TalkMode::Poll,
            unit: None,
            confidence,
            profile: text,
            last_value: Some(value),
            reasons: vec![
                format!("Modbus RTU at address {}, sound replies", block.address),
                format!(
                    "{} register {place} read as {}",
                    block.table.word(),
                    reading.kind.word()
                ),
                "its unit, decimals and other registers do not show".to_owned(),
            ],
        }))
    }
}

/// The first register with a plausible number, if no register moves.
fn at_rest(looks: &[&[u8]]) -> Option<BinaryNumber> {
    let first = looks.first()?;
    let plausible = |at: usize, kind: NumberType| {
        let value = kind.read(first.get(at..at + kind.bytes())?, ByteOrder::BIG)?;
        let fits = value != 0.0 && value.is_finite() && (1e-4..1e6).contains(&value.abs());
        fits.then_some(BinaryNumber {
            kind,
            order: ByteOrder::BIG,
            at,
        })
    };
    (0..first.len()).step_by(2).find_map(|at| {
        plausible(at, NumberType::Float(4)).or_else(|| plausible(at, NumberType::Signed(2)))
    })
}

impl RegisterBlock {
    fn request(&self) -> Vec<u8> {
        request(self.address, self.table.function(), 0, self.count)
    }

    fn expected(&self) -> ExpectedReply {
        let bytes = u8::try_from(self.count * 2).unwrap_or(u8::MAX);
        ExpectedReply {
            address: self.address,
            function: self.table.function(),
            bytes,
        }
    }
}

fn profile(line: SerialSettings, block: &RegisterBlock, reading: &BinaryNumber) -> String {
    let resolution = if reading.kind == NumberType::Float(4) {
        "resolution = 0.001\n"
    } else {
        ""
    };
    format!(
        "{}mode = \"poll\"\nperiod_ms = 100\ntimeout_ms = 200\n\n[frame]\nkind = \"modbus-rtu\"\naddress = {}\n\n[[channel]]\nname = \"value\"\ntable = \"{}\"\nregister = {}\ntype = \"{}\"\norder = \"{}\"\nunit = \"1\"\n{resolution}",
        head_of(line),
        block.address,
        block.table.word(),
        reading.at / 2,
        reading.kind.word(),
        order_word(reading.order),
    )
}
