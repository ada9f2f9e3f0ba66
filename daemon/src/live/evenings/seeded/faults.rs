//! What goes wrong in an evening beside what its hand does, drawn from the same seed.

use std::io::ErrorKind;

use benchhand_testbed::disk::{DiskFault, Operation};

use crate::synth::Dice;

/// A fault of the machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Fault {
    /// The next write, or sync, of a file fails in this way.
    Refuses(Operation, DiskFault),
    /// The disk is full for so many seconds.
    Full(f64),
    /// The power goes, and what was not synced is lost.
    PowerCut,
    /// The power goes amid the next write, which this fault leaves.
    PowerCutAmid(Operation, DiskFault),
    /// The burette's cable is out for so many seconds; the hand does not see it.
    CableOut(f64),
    /// The clock's time of day is set ahead or back by so many seconds.
    ClockJumps(i64),
}

impl Fault {
    fn draw(dice: &mut Dice) -> Fault {
        let kind = dice.pick(&[ErrorKind::Other, ErrorKind::StorageFull]);
        let written = dice.pick(&[
            (Operation::Append, DiskFault::Refused(kind)),
            (Operation::Append, DiskFault::Short(kind)),
            (Operation::Append, DiskFault::Torn(kind)),
            (Operation::Append, DiskFault::DoneAllTheSame(kind)),
            (Operation::Sync, DiskFault::Refused(kind)),
            (Operation::Sync, DiskFault::DoneAllTheSame(kind)),
        ]);
        match dice.whole(0, 5) {
            0 => Fault::Refuses(written.0, written.1),
            1 => Fault::Full(dice.uniform(5.0, 90.0)),
            2 => Fault::PowerCut,
            3 => Fault::PowerCutAmid(written.0, written.1),
            4 => Fault::CableOut(dice.uniform(0.5, 30.0)),
            _ => {
                let far = dice.pick(&[5.0, 3600.0, 100_000.0]);
                Fault::ClockJumps(dice.uniform(-far, far) as i64)
            }
        }
    }
}

/// The faults of a seed, each with its moment in microseconds, as far as they are drawn: about one
/// in eight minutes.
pub(super) struct Faults {
    dice: Dice,
    next_us: Option<u64>,
}

impl Faults {
    pub(super) fn of(seed: u64) -> Faults {
        let mut faults = Faults {
            dice: Dice::seeded(seed ^ 0x6661_756c),
            next_us: Some(0),
        };
        faults.draw_moment();
        faults
    }

    /// The same evening, in which the machine does what it should.
    pub(super) fn none() -> Faults {
        Faults {
            dice: Dice::seeded(0),
            next_us: None,
        }
    }

    fn draw_moment(&mut self) {
        let after = self.dice.uniform(5.0, 960.0);
        self.next_us = self.next_us.map(|at| at + (after * 1e6) as u64);
    }

    /// The fault whose moment has come.
    pub(super) fn due(&mut self, now_us: u64) -> Option<Fault> {
        self.next_us.filter(|at| *at <= now_us)?;
        let fault = Fault::draw(&mut self.dice);
        self.draw_moment();
        Some(fault)
    }

    /// A number for what a power cut leaves.
    pub(super) fn draw(&mut self) -> u64 {
        u64::from(self.dice.whole(0, u32::MAX - 1))
    }
}
