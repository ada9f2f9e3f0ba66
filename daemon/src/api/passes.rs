//! One-time codes, and the passes for which they are exchanged.
//!
//! Nothing here outlives the daemon: after a restart a page needs a new code. Codes and passes are
//! held as hashes, so nothing in memory opens a door.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use benchhand_wire::{Reason, Refusal};

/// How long a code in an address can be used.
pub(crate) const PAGE_CODE_LASTS: Duration = Duration::from_secs(120);
/// How long a typed code can be used.
pub(crate) const PAIRING_CODE_LASTS: Duration = Duration::from_secs(300);
/// Digits of a typed code: with [`MOST_WRONG`] tries, one guess in twenty million.
const PAIRING_DIGITS: usize = 8;
/// After so many wrong codes from the network, every pairing code becomes void.
const MOST_WRONG: u32 = 5;
/// How many passes of one kind there are at a time; the oldest makes room.
const MOST_PASSES: usize = 32;

/// Which kind of guest a pass lets in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Guest {
    /// A page on this machine.
    Page,
    /// A device of the local network.
    Paired,
}

/// Codes that were handed out, and the passes for which they were exchanged.
#[derive(Debug, Default)]
pub(crate) struct Passes {
    held: Mutex<Held>,
}

#[derive(Debug, Default)]
struct Held {
    codes: Vec<Code>,
    passes: Vec<(blake3::Hash, Guest)>,
    wrong: u32,
}

#[derive(Debug)]
struct Code {
    hash: blake3::Hash,
    guest: Guest,
    until: Instant,
}

impl Passes {
    /// A new code; it can be used once.
    ///
    /// # Errors
    /// Where the system gives no random bytes.
    pub(crate) fn code(&self, guest: Guest, now: Instant) -> Result<String, Refusal> {
        let (code, lasts) = match guest {
            Guest::Page => (secret()?, PAGE_CODE_LASTS),
            Guest::Paired => (digits()?, PAIRING_CODE_LASTS),
        };
        let mut held = self.held();
        held.codes.retain(|c| c.until > now);
        if guest == Guest::Paired {
            // One device at a time: a new code replaces the one before.
            held.codes.retain(|c| c.guest != Guest::Paired);
            held.wrong = 0;
        }
        held.codes.push(Code {
            hash: blake3::hash(code.as_bytes()),
            guest,
            until: now + lasts,
        });
        Ok(code)
    }

    /// Exchanges a code for a pass.
    ///
    /// # Errors
    /// Where the code is wrong, used or too old, or where too many were tried.
    pub(crate) fn redeem(&self, code: &str, guest: Guest, now: Instant) -> Result<String, Refusal> {
        let typed: String = code.chars().filter(char::is_ascii_alphanumeric).collect();
        let hash = blake3::hash(typed.as_bytes());
        let mut held = self.held();
        held.codes.retain(|c| c.until > now);
        let found = held
            .codes
            .iter()
            .position(|c| c.hash == hash && c.guest == guest);
        let Some(at) = found else {
            if guest == Guest::Paired {
                held.wrong += 1;
                if held.wrong >= MOST_WRONG {
                    held.codes.retain(|c| c.guest != Guest::Paired);
                }
            }
            return Err(
                Refusal::new(Reason::Unauthorised, "the code is wrong, used or too old").todo(
                    match guest {
                        Guest::Page => "`benchhand board` gives a fresh address",
                        Guest::Paired => "`benchhand board --open-network` shows a fresh code",
                    },
                ),
            );
        };
        let pass = secret()?;
        held.codes.remove(at);
        if held.passes.iter().filter(|(_, g)| *g == guest).count() >= MOST_PASSES
            && let Some(oldest) = held.passes.iter().position(|(_, g)| *g == guest)
        {
            held.passes.remove(oldest);
        }
        held.passes.push((blake3::hash(pass.as_bytes()), guest));
        Ok(pass)
    }

    /// The kind of guest that a pass lets in.
    pub(crate) fn guest(&self, pass: &str) -> Option<Guest> {
        let hash = blake3::hash(pass.as_bytes());
        let held = self.held();
        // Hashes compare in constant time.
        let found = held.passes.iter().find(|(h, _)| *h == hash);
        found.map(|(_, guest)| *guest)
    }

    /// Shuts out every paired device and voids the pairing codes. Returns how many devices there
    /// were.
    pub(crate) fn shut_out_paired(&self) -> usize {
        let mut held = self.held();
        let before = held.passes.len();
        held.passes.retain(|(_, guest)| *guest != Guest::Paired);
        held.codes.retain(|code| code.guest != Guest::Paired);
        before - held.passes.len()
    }

    fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// 128 random bits in hexadecimal.
pub(super) fn secret() -> Result<String, Refusal> {
    Ok(random::<16>()?.iter().map(|b| format!("{b:02x}")).collect())
}

/// Random decimal digits.
fn digits() -> Result<String, Refusal> {
    let number = u64::from_le_bytes(random::<8>()?) % 10u64.pow(PAIRING_DIGITS as u32);
    Ok(format!("{number:0width$}", width = PAIRING_DIGITS))
}

fn random<const N: usize>() -> Result<[u8; N], Refusal> {
    let mut bytes = [0u8; N];
    getrandom::fill(&mut bytes).map_err(|e| {
        Refusal::new(
            Reason::Unavailable,
            format!("the system gives no random bytes: {e}"),
        )
    })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_opens_once_and_only_its_own_door() {
        let (passes, now) = (Passes::default(), Instant::now());
        let code = passes.code(Guest::Page, now).unwrap();
        assert!(passes.redeem(&code, Guest::Paired, now).is_err());
        let pass = passes.redeem(&code, Guest::Page, now).unwrap();
        assert_eq!(passes.guest(&pass), Some(Guest::Page));
        assert!(passes.redeem(&code, Guest::Page, now).is_err(), "used");
        assert_eq!(passes.guest("another"), None);
    }

    #[test]
    fn a_code_that_is_too_old_opens_nothing() {
        let (passes, now) = (Passes::default(), Instant::now());
        let code = passes.code(Guest::Page, now).unwrap();
        let later = now + PAGE_CODE_LASTS + Duration::from_secs(1);
        assert!(passes.redeem(&code, Guest::Page, later).is_err());
    }

    #[test]
    fn five_wrong_guesses_void_the_pairing_code() {
        let (passes, now) = (Passes::default(), Instant::now());
        let code = passes.code(Guest::Paired, now).unwrap();
        for guess in 0..5 {
            let wrong = format!("{guess:08}");
            if wrong != code {
                assert!(passes.redeem(&wrong, Guest::Paired, now).is_err());
            }
        }
        assert!(passes.redeem(&code, Guest::Paired, now).is_err());
        let fresh = passes.code(Guest::Paired, now).unwrap();
        let spaced = format!("{} {}", &fresh[..4], &fresh[4..]);
        assert!(passes.redeem(&spaced, Guest::Paired, now).is_ok());
    }

    #[test]
    fn closing_the_network_shuts_out_paired_devices_and_nobody_else() {
        let (passes, now) = (Passes::default(), Instant::now());
        let pass = |guest| {
            let code = passes.code(guest, now).unwrap();
            passes.redeem(&code, guest, now).unwrap()
        };
        let (page, tablet) = (pass(Guest::Page), pass(Guest::Paired));
        assert_eq!(passes.shut_out_paired(), 1);
        assert_eq!(passes.guest(&page), Some(Guest::Page));
        assert_eq!(passes.guest(&tablet), None);
    }
}
