//! How the daemon and its client show each other that they know the same secret, without saying it.
//!
//! A port names nobody: after a crash another user of the machine may listen where the daemon did.
//! So the client asks first for a proof over a number of its own; then each request carries a proof,
//! and each answer one over that request's. A proof is BLAKE3 in its keyed mode; its key is made of
//! the token of `daemon.json` by BLAKE3's key derivation. Neither the token nor the key is ever sent.

use blake3::{Hash, Hasher};

/// The path below `/v1/` where the daemon proves that it knows the secret. Needs no credentials.
pub const PROVE: &str = "prove";

/// The header of an answer that carries its proof.
pub const PROOF_HEADER: &str = "benchhand-proof";

/// The scheme of the `authorization` header that carries a request's proof.
const SCHEME: &str = "Proof ";

/// What the key is for, so that no other use of the token yields the same key.
const CONTEXT: &str = "benchhand local API: proofs of requests and answers, version 1";

/// The secret of one daemon's run.
#[derive(Clone)]
pub struct Secret([u8; 32]);

impl std::fmt::Debug for Secret {
    /// Shows nothing of the secret.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Secret")
    }
}

/// What a request says; its proof covers all of it.
#[derive(Debug, Clone, Copy)]
pub struct RequestSaid<'a> {
    /// The number that the daemon chose for its run.
    pub run: &'a str,
    /// The method, such as `GET`.
    pub method: &'a str,
    /// The path with its query, as it is sent.
    pub path: &'a str,
    /// The write key; empty where there is none.
    pub key: &'a str,
}

/// The proof of one request, as its header carries it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RequestProof {
    nonce: String,
    body: Hash,
    proof: Hash,
}

impl Secret {
    /// The secret that follows from a token.
    #[must_use]
    pub fn of_token(token: &str) -> Secret {
        Secret(blake3::derive_key(CONTEXT, token.as_bytes()))
    }

    /// The daemon's proof: it answers at `address`, was asked with the client's `nonce`, and calls
    /// its run `run`.
    #[must_use]
    pub fn of_daemon(&self, nonce: &str, run: &str, address: &str) -> String {
        let said = ["daemon", nonce, run, address].map(str::as_bytes);
        self.over(&said).to_hex().to_string()
    }

    /// Whether a daemon's proof is right.
    #[must_use]
    pub fn is_of_daemon(&self, given: &str, nonce: &str, run: &str, address: &str) -> bool {
        let said = ["daemon", nonce, run, address].map(str::as_bytes);
        same(given, &self.over(&said))
    }

    /// The proof of a request with this body. `nonce` is the client's, new for each request.
    #[must_use]
    pub fn of_request(&self, said: &RequestSaid<'_>, nonce: &str, body: &[u8]) -> RequestProof {
        let body = blake3::hash(body);
        RequestProof {
            nonce: nonce.to_owned(),
            body,
            proof: self.over_request(said, nonce, &body),
        }
    }

    /// Whether a request's proof fits what its head says. The body is compared with
    /// [`RequestProof::is_of_body`], once it is read.
    #[must_use]
    pub fn is_of_request(&self, given: &RequestProof, said: &RequestSaid<'_>) -> bool {
        self.over_request(said, &given.nonce, &given.body) == given.proof
    }

    /// The proof of an answer to the request with this proof.
    #[must_use]
    pub fn of_answer(&self, request: &RequestProof, status: u16, body: &[u8]) -> String {
        self.over_answer(request, status, body).to_hex().to_string()
    }

    /// Whether an answer's proof is right.
    #[must_use]
    pub fn is_of_answer(
        &self,
        given: &str,
        request: &RequestProof,
        status: u16,
        body: &[u8],
    ) -> bool {
        same(given, &self.over_answer(request, status, body))
    }

    /// The proof at the start of an event stream that the request with this proof opened.
    #[must_use]
    pub fn of_stream(&self, request: &RequestProof) -> String {
        self.over(&[b"stream", request.proof.as_bytes()])
            .to_hex()
            .to_string()
    }

    /// Whether an event stream's proof is right.
    #[must_use]
    pub fn is_of_stream(&self, given: &str, request: &RequestProof) -> bool {
        same(given, &self.over(&[b"stream", request.proof.as_bytes()]))
    }

    fn over_request(&self, said: &RequestSaid<'_>, nonce: &str, body: &Hash) -> Hash {
        let head = ["request", said.run, nonce, said.method, said.path, said.key];
        let mut fields: Vec<&[u8]> = head.iter().map(|field| field.as_bytes()).collect();
        fields.push(body.as_bytes());
        self.over(&fields)
    }

    fn over_answer(&self, request: &RequestProof, status: u16, body: &[u8]) -> Hash {
        let status = status.to_le_bytes();
        self.over(&[b"answer", request.proof.as_bytes(), &status, body])
    }

    /// The length stands before each field, so that no two lists of fields are the same bytes.
    fn over(&self, fields: &[&[u8]]) -> Hash {
        let mut hasher = Hasher::new_keyed(&self.0);
        for field in fields {
            hasher.update(&(field.len() as u64).to_le_bytes());
            hasher.update(field);
        }
        hasher.finalize()
    }
}

impl RequestProof {
    /// The value of the `authorization` header.
    #[must_use]
    pub fn header(&self) -> String {
        let (nonce, body, proof) = (&self.nonce, self.body.to_hex(), self.proof.to_hex());
        format!("{SCHEME}{nonce} {body} {proof}")
    }

    /// Reads the value of an `authorization` header. `None` if it is of another scheme, or no proof.
    #[must_use]
    pub fn parse(header: &str) -> Option<RequestProof> {
        let mut parts = header.strip_prefix(SCHEME)?.split(' ');
        let found = RequestProof {
            nonce: parts.next()?.to_owned(),
            body: Hash::from_hex(parts.next()?).ok()?,
            proof: Hash::from_hex(parts.next()?).ok()?,
        };
        parts.next().is_none().then_some(found)
    }

    /// Whether this is the body that was proven.
    #[must_use]
    pub fn is_of_body(&self, body: &[u8]) -> bool {
        blake3::hash(body) == self.body
    }
}

/// Compares in constant time, so that the time taken tells nothing of how much was right.
fn same(given: &str, right: &Hash) -> bool {
    Hash::from_hex(given).is_ok_and(|given| given == *right)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SAID: RequestSaid<'_> = RequestSaid {
        run: "run",
        method: "POST",
        path: "/v1/readings/enter",
        key: "k1",
    };

    #[test]
    fn a_proof_fits_what_was_said_and_nothing_else() {
        let secret = Secret::of_token("token");
        let made = secret.of_request(&SAID, "n", b"body");
        let read = RequestProof::parse(&made.header()).expect("it is read again");
        assert_eq!(read, made);
        assert!(secret.is_of_request(&read, &SAID) && read.is_of_body(b"body"));
        assert!(!read.is_of_body(b"bodY"));
        for other in [
            RequestSaid { run: "ran", ..SAID },
            RequestSaid {
                method: "GET",
                ..SAID
            },
            RequestSaid {
                path: "/v1/readings/void",
                ..SAID
            },
            RequestSaid { key: "k2", ..SAID },
            RequestSaid {
                path: "/v1/readings/enterk",
                key: "1",
                ..SAID
            },
        ] {
            assert!(!secret.is_of_request(&read, &other), "{other:?}");
        }
        assert!(!Secret::of_token("taken").is_of_request(&read, &SAID));
    }

    #[test]
    fn an_answer_is_of_one_request_and_a_daemon_of_one_question() {
        let secret = Secret::of_token("token");
        let (first, second) = (
            secret.of_request(&SAID, "1", b""),
            secret.of_request(&SAID, "2", b""),
        );
        let answer = secret.of_answer(&first, 200, b"{}");
        assert!(secret.is_of_answer(&answer, &first, 200, b"{}"));
        assert!(!secret.is_of_answer(&answer, &second, 200, b"{}"));
        assert!(!secret.is_of_answer(&answer, &first, 404, b"{}"));
        assert!(!secret.is_of_answer(&answer, &first, 200, b"[]"));
        assert!(!secret.is_of_stream(&answer, &first));
        assert!(secret.is_of_stream(&secret.of_stream(&first), &first));

        let proof = secret.of_daemon("n", "run", "127.0.0.1:1");
        assert!(secret.is_of_daemon(&proof, "n", "run", "127.0.0.1:1"));
        assert!(!secret.is_of_daemon(&proof, "m", "run", "127.0.0.1:1"));
        assert!(!secret.is_of_daemon(&proof, "n", "run", "127.0.0.1:2"));
        assert!(!secret.is_of_daemon("", "n", "run", "127.0.0.1:1"));
    }

    #[test]
    fn what_is_no_proof_is_not_taken_for_one() {
        for header in ["", "Bearer abc", "Proof", "Proof a b c", "Proof a b c d"] {
            assert_eq!(RequestProof::parse(header), None, "{header:?}");
        }
    }
}
