//! A line in memory with two ends. It has the modem inputs and hang-ups that a pseudo-terminal
//! lacks.

use std::collections::VecDeque;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use super::{LinkError, ModemInputs, Transport};

#[derive(Debug, Default)]
struct Shared {
    first: ToEnd,
    second: ToEnd,
    hung_up: Option<String>,
}

/// What is on its way to one end.
#[derive(Debug, Default)]
struct ToEnd {
    bytes: VecDeque<u8>,
    inputs: ModemInputs,
}

impl Shared {
    fn to(&mut self, side: Side) -> &mut ToEnd {
        match side {
            Side::First => &mut self.first,
            Side::Second => &mut self.second,
        }
    }
}

#[derive(Debug, Clone, Copy)]
enum Side {
    First,
    Second,
}

impl Side {
    fn other(self) -> Side {
        match self {
            Side::First => Side::Second,
            Side::Second => Side::First,
        }
    }
}

#[derive(Debug, Default)]
struct Wire {
    shared: Mutex<Shared>,
    arrived: Condvar,
}

impl Wire {
    fn lock(&self) -> MutexGuard<'_, Shared> {
        // A test that panicked while holding it has already failed.
        self.shared.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// One end of a line in memory. Dropping it hangs up.
#[derive(Debug)]
pub struct MemoryEnd {
    wire: Arc<Wire>,
    side: Side,
}

/// A line in memory.
#[must_use]
pub fn memory_pair() -> (MemoryEnd, MemoryEnd) {
    let wire = Arc::new(Wire::default());
    (
        MemoryEnd {
            wire: Arc::clone(&wire),
            side: Side::First,
        },
        MemoryEnd {
            wire,
            side: Side::Second,
        },
    )
}

impl MemoryEnd {
    /// Sets the modem inputs that the other end sees.
    pub fn set_inputs(&self, inputs: ModemInputs) {
        self.wire.lock().to(self.side.other()).inputs = inputs;
        self.wire.arrived.notify_all();
    }

    /// Hangs up. Bytes on their way still arrive.
    pub fn hang_up(&self, reason: &str) {
        self.wire
            .lock()
            .hung_up
            .get_or_insert_with(|| reason.to_owned());
        self.wire.arrived.notify_all();
    }
}

impl Drop for MemoryEnd {
    fn drop(&mut self) {
        self.hang_up("the other end was closed");
    }
}

impl Transport for MemoryEnd {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        let began = Instant::now();
        let mut shared = self.wire.lock();
        loop {
            let waiting = &mut shared.to(self.side).bytes;
            if !waiting.is_empty() {
                let count = waiting.len().min(buffer.len());
                for (to, from) in buffer.iter_mut().zip(waiting.drain(..count)) {
                    *to = from;
                }
                return Ok(count);
            }
            if let Some(reason) = &shared.hung_up {
                return Err(LinkError::Gone(reason.clone()));
            }
            let left = timeout.saturating_sub(began.elapsed());
            if left.is_zero() {
                return Ok(0);
            }
            shared = match self.wire.arrived.wait_timeout(shared, left) {
                Ok((shared, _)) => shared,
                Err(poisoned) => poisoned.into_inner().0,
            };
        }
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        let mut shared = self.wire.lock();
        if let Some(reason) = &shared.hung_up {
            return Err(LinkError::Gone(reason.clone()));
        }
        shared.to(self.side.other()).bytes.extend(bytes);
        drop(shared);
        self.wire.arrived.notify_all();
        Ok(())
    }

    fn drain(&mut self) -> Result<(), LinkError> {
        self.wire.lock().to(self.side).bytes.clear();
        Ok(())
    }

    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError> {
        let mut shared = self.wire.lock();
        match &shared.hung_up {
            Some(reason) => Err(LinkError::Gone(reason.clone())),
            None => Ok(Some(shared.to(self.side).inputs)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOON: Duration = Duration::from_millis(1);

    #[test]
    fn bytes_cross_and_a_hang_up_comes_after_them() {
        let (mut near, mut far) = memory_pair();
        let mut buffer = [0; 8];
        assert_eq!(near.read(&mut buffer, SOON), Ok(0));
        far.write(b"abc").unwrap();
        far.set_inputs(ModemInputs {
            cts: true,
            dsr: false,
        });
        assert_eq!(
            near.inputs(),
            Ok(Some(ModemInputs {
                cts: true,
                dsr: false
            }))
        );
        drop(far);
        assert_eq!(near.read(&mut buffer[..2], SOON), Ok(2));
        assert_eq!(near.read(&mut buffer, SOON), Ok(1));
        assert!(matches!(
            near.read(&mut buffer, SOON),
            Err(LinkError::Gone(_))
        ));
        assert!(matches!(near.write(b"x"), Err(LinkError::Gone(_))));
    }

    #[test]
    fn a_reader_is_woken_by_bytes() {
        let (mut near, mut far) = memory_pair();
        let reader = std::thread::spawn(move || {
            let mut buffer = [0; 8];
            near.read(&mut buffer, Duration::from_secs(20))
                .map(|n| buffer[..n].to_vec())
        });
        far.write(b"hi").unwrap();
        assert_eq!(reader.join().unwrap(), Ok(b"hi".to_vec()));
    }
}
