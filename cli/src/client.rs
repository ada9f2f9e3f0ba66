//! Sends requests. One trait covers HTTP and this process, so no command knows which answers.

pub(crate) mod events;
mod http;
mod long_work;
mod proven;
mod sse;

use benchhand_wire::{Ask, Carry, Reason, Refusal};
use serde_json::Value;

pub(crate) use http::Http;
pub(crate) use long_work::{ask_named, ask_waiting};

/// Sends requests to the daemon or to this process.
pub(crate) trait Client: Sync {
    /// Sends the JSON of a request to `path` and gives the JSON of its answer. `key` makes a
    /// repeated change count once.
    ///
    /// # Errors
    /// The refusal, or [`Reason::Unavailable`] if nothing answers.
    fn call(
        &self,
        path: &str,
        body: Value,
        carry: Carry,
        key: Option<&str>,
    ) -> Result<Value, Refusal>;
}

/// Sends one request. A change gets its own write key.
///
/// # Errors
/// The refusal, as [`Client::call`] gives it.
pub(crate) fn ask<A: Ask>(client: &dyn Client, request: &A) -> Result<A::Answer, Refusal> {
    let body = serde_json::to_value(request).map_err(|error| broken(A::PATH, &error))?;
    let key = match A::CARRY {
        Carry::Question | Carry::Inquiry => None,
        Carry::Change => Some(random_name()?),
    };
    let answer = client.call(A::PATH, body, A::CARRY, key.as_deref())?;
    serde_json::from_value(answer).map_err(|error| broken(A::PATH, &error))
}

/// 128 random bits in hexadecimal.
fn random_name() -> Result<String, Refusal> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| {
        Refusal::new(
            Reason::Unavailable,
            format!("the system gives no random bytes: {error}"),
        )
    })?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

fn broken(path: &str, error: &serde_json::Error) -> Refusal {
    Refusal::new(
        Reason::Unavailable,
        format!("the answer to {path:?} is not understood: {error}"),
    )
    .todo("the daemon may be of another version: end it with `benchhand stop` and try again")
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use benchhand_wire::{JobReport, Ports, VoidReading};
    use serde_json::json;

    use super::*;

    /// A client that records the write key of each call.
    #[derive(Debug)]
    struct Recording {
        keys: Mutex<Vec<Option<String>>>,
        answer: Value,
    }

    impl Client for Recording {
        fn call(
            &self,
            _path: &str,
            _body: Value,
            _carry: Carry,
            key: Option<&str>,
        ) -> Result<Value, Refusal> {
            self.keys
                .lock()
                .expect("not poisoned")
                .push(key.map(str::to_owned));
            Ok(self.answer.clone())
        }
    }

    fn recording(answer: Value) -> Recording {
        Recording {
            keys: Mutex::default(),
            answer,
        }
    }

    #[test]
    fn a_change_carries_a_fresh_key_and_a_question_none() {
        let client = recording(json!({"id": 9, "spot": "chamber/3", "left": 1}));
        let void = VoidReading {
            job: "v8".into(),
            id: None,
            number: Some(7.into()),
            reason: "bubble".into(),
            by: None,
        };
        for _ in 0..2 {
            assert_eq!(ask(&client, &void).expect("answered").left, 1);
        }
        let keys = client.keys.into_inner().expect("not poisoned");
        let keys: Vec<String> = keys.into_iter().map(|key| key.expect("a key")).collect();
        assert_eq!(keys[0].len(), 32);
        assert_ne!(keys[0], keys[1]);

        let client = recording(json!({"ports": []}));
        ask(&client, &Ports::default()).expect("answered");
        assert_eq!(client.keys.into_inner().expect("not poisoned"), [None]);
    }

    #[test]
    fn an_answer_of_another_shape_is_refused_with_what_to_do() {
        let client = recording(json!({"doc": 1}));
        let refusal = ask(
            &client,
            &JobReport {
                job: "v8".into(),
                stage: None,
            },
        )
        .expect_err("not understood");
        assert_eq!(refusal.reason, Reason::Unavailable);
        assert!(refusal.todo.contains("benchhand stop"));
    }
}
