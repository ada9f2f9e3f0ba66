//! Asks whether a gauge speaks Modbus RTU, and which of its registers moves.

use std::time::{Duration, Instant};

use crate::binary::{Reading, moving};
use crate::candidate::Candidate;
use crate::number::NumberType;
use crate::search::{Progress, Search, SearchError};
use crate::write::head_of;
use benchhand_drivers::decode::modbus::{Expected, Reply, exception, find, request};
use benchhand_drivers::driver::{Decoded, Driver, Next};
use benchhand_drivers::line::{Format, Line, Parity};
use benchhand_drivers::profile::Order;
use benchhand_drivers::profile::{DriverOptions, Mode, Profile};
use benchhand_drivers::transport::Transport;

/// Addresses that are tried: those that gauges come with.
const ADDRESSES: [u8; 3] = [1, 2, 247];
/// The tables whose functions read and change nothing.
const TABLES: [Table; 2] = [Table::Input, Table::Holding];
/// How many registers from 0 on are asked for, the most first.
const BLOCKS: [u16; 5] = [16, 8, 4, 2, 1];
/// How long an answer may take.
const PATIENCE: Duration = Duration::from_millis(90);
/// How often the registers are read to see which of them moves.
const LOOKS: usize = 24;
/// How long between two looks.
const BETWEEN: Duration = Duration::from_millis(80);

const E81: Format = Format {
    data: 8,
    parity: Parity::Even,
    stop: 1,
};

/// The orders of bytes in two registers, the most usual first.
const ORDERS: [Order; 4] = [
    Order::BIG,
    Order {
        high_byte_first: true,
        high_word_first: false,
    },
    Order {
        high_byte_first: false,
        high_word_first: true,
    },
    Order::LITTLE,
];

/// A profile's word for an order.
fn order_word(order: Order) -> &'static str {
    match (order.high_word_first, order.high_byte_first) {
        (true, true) => "ABCD",
        (false, true) => "CDAB",
        (true, false) => "BADC",
        (false, false) => "DCBA",
    }
}

/// A table of registers.
#[derive(Debug, Clone, Copy)]
enum Table {
    Input,
    Holding,
}

impl Table {
    /// The function that reads it.
    fn function(self) -> u8 {
        match self {
            Table::Input => 4,
            Table::Holding => 3,
        }
    }

    /// A profile's word for it.
    fn word(self) -> &'static str {
        match self {
            Table::Input => "input",
            Table::Holding => "holding",
        }
    }
}

/// A block of registers that a gauge answers for.
struct Block {
    address: u8,
    table: Table,
    count: u16,
}

/// What became of a request.
enum Said {
    Registers(Vec<u8>),
    Refused,
    Nothing,
}

impl Search<'_, '_> {
    /// Asks for registers at every speed until something answers with a sound reply.
    pub(crate) fn ask_registers(&mut self) -> Result<Vec<Candidate>, SearchError> {
        for format in [Format::N81, E81] {
            for baud in self.speeds.clone() {
                let line = Line::new(baud, format);
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
        line: Line,
        address: u8,
    ) -> Result<Vec<Block>, SearchError> {
        let mut all = Vec::new();
        for table in TABLES {
            for count in BLOCKS {
                let block = Block {
                    address,
                    table,
                    count,
                };
                (self.progress)(Progress::Asking(line, block.request()));
                match self.read_block(port, &block)? {
                    Said::Registers(_) => {
                        all.push(block);
                        break;
                    }
                    // Nobody there: smaller blocks would not be answered either.
                    Said::Nothing => break,
                    Said::Refused => {}
                }
            }
        }
        Ok(all)
    }

    fn read_block(&mut self, port: &mut dyn Transport, block: &Block) -> Result<Said, SearchError> {
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
                Reply::Registers { at, .. } => return Ok(Said::Registers(seen[at].to_vec())),
                Reply::Exception { code } => {
                    tracing::debug!("a Modbus gauge answered: {}", exception(code));
                    return Ok(Said::Refused);
                }
                _ => {}
            }
        }
        Ok(Said::Nothing)
    }

    /// Watches registers for one that moves as a reading does.
    fn watch(
        &mut self,
        port: &mut dyn Transport,
        line: Line,
        blocks: &[Block],
    ) -> Result<Vec<Candidate>, SearchError> {
        let mut found: Vec<Candidate> = Vec::new();
        for block in blocks {
            let mut looks: Vec<Vec<u8>> = Vec::new();
            for _ in 0..LOOKS {
                if let Said::Registers(bytes) = self.read_block(port, block)? {
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
            // Several registers that move cannot be told apart by this.
            let end = |reading: &Reading| reading.at + reading.kind.bytes();
            let apart = |a: &Reading, b: &Reading| end(a) <= b.at || end(b) <= a.at;
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

    /// Reads the gauge by the proposed profile through the ordinary driver.
    fn proved(
        &mut self,
        port: &mut dyn Transport,
        line: Line,
        block: &Block,
        reading: &Reading,
        confidence: f64,
    ) -> Result<Option<Candidate>, SearchError> {
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
                Next::Send(bytes) => port.write(&bytes)?,
                Next::Drain => port.drain()?,
                Next::Wait { .. } | Next::Listen => {
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
        Ok(value.map(|value| Candidate {
            line,
            mode: Mode::Poll,
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

/// The first register that holds a plausible number, where none moves.
fn at_rest(looks: &[&[u8]]) -> Option<Reading> {
    let first = looks.first()?;
    let plausible = |at: usize, kind: NumberType| {
        let value = kind.read(first.get(at..at + kind.bytes())?, Order::BIG)?;
        let fits = value != 0.0 && value.is_finite() && (1e-4..1e6).contains(&value.abs());
        fits.then_some(Reading {
            kind,
            order: Order::BIG,
            at,
        })
    };
    (0..first.len()).step_by(2).find_map(|at| {
        plausible(at, NumberType::Float(4)).or_else(|| plausible(at, NumberType::Signed(2)))
    })
}

impl Block {
    fn request(&self) -> Vec<u8> {
        request(self.address, self.table.function(), 0, self.count)
    }

    fn expected(&self) -> Expected {
        let bytes = u8::try_from(self.count * 2).unwrap_or(u8::MAX);
        Expected {
            address: self.address,
            function: self.table.function(),
            bytes,
        }
    }
}

fn profile(line: Line, block: &Block, reading: &Reading) -> String {
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
