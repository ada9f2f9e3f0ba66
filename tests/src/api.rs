//! A client of the local API like any other program: plain HTTP over a socket.
//!
//! Requests are HTTP/1.0, so an answer ends with its connection and is never chunked. Every byte
//! sent and received can be seen.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::Value;

/// Longer than any answer takes. A test that waits longer fails instead of hanging.
const PATIENCE: Duration = Duration::from_secs(60);
/// Longer than anything that a test waits for, even on a busy machine.
const LONGEST_WAIT: Duration = Duration::from_secs(240);

/// The address of a daemon, and its token.
#[derive(Debug, Clone)]
pub struct Api {
    /// `127.0.0.1:PORT`.
    pub address: String,
    /// The token that every request must carry.
    pub token: String,
}

/// A browser that was let in.
#[derive(Debug)]
pub struct Browser {
    api: Api,
    pass: String,
}

impl Browser {
    /// The HTML of a page, such as `/jobs`.
    #[track_caller]
    pub fn page(&self, path: &str) -> String {
        let headers = [("host", self.api.address.as_str()), ("cookie", &self.pass)];
        let answer = self.api.raw(&format!("GET {path}"), &headers, None);
        let answer = answer.expect("the daemon answers");
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        answer.body
    }
}

/// An HTTP answer.
#[derive(Debug, Clone)]
pub struct ApiAnswer {
    /// The HTTP status.
    pub status: u16,
    /// The body.
    pub body: String,
}

impl ApiAnswer {
    /// The body as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("no JSON ({e}): {self:?}"))
    }

    /// The body as JSON. Panics if the status is not a success.
    #[track_caller]
    pub fn good(&self) -> Value {
        assert_eq!(self.status, 200, "{}", self.body);
        self.json()
    }
}

impl Api {
    /// Sends exactly these headers (and the body's length) and reads the answer.
    ///
    /// # Errors
    /// Nobody answers, or the connection breaks before the answer is complete.
    pub fn raw(
        &self,
        line: &str,
        headers: &[(&str, &str)],
        body: Option<&str>,
    ) -> std::io::Result<ApiAnswer> {
        self.whole(line, headers, body).map(|(_, answer)| answer)
    }

    /// The same with the answer's head.
    fn whole(
        &self,
        line: &str,
        headers: &[(&str, &str)],
        body: Option<&str>,
    ) -> std::io::Result<(String, ApiAnswer)> {
        let mut stream = self.send(line, headers, body)?;
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes)?;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let broken = || std::io::Error::other(format!("not a whole answer: {text:?}"));
        let (head, body) = text.split_once("\r\n\r\n").ok_or_else(broken)?;
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok());
        let length = head.lines().find_map(|line| {
            let (name, value) = line.split_once(':')?;
            let length = name.eq_ignore_ascii_case("content-length");
            length.then(|| value.trim().parse::<usize>().ok())?
        });
        // An incomplete answer acknowledges nothing.
        if length.is_some_and(|length| length != body.len()) {
            return Err(broken());
        }
        let answer = ApiAnswer {
            status: status.ok_or_else(broken)?,
            body: body.to_owned(),
        };
        Ok((head.to_owned(), answer))
    }

    /// Opens the page in a browser of its own, which the daemon lets in by a one-time code.
    #[track_caller]
    pub fn browser(&self) -> Browser {
        let opened = self.post("board/open", "browser", &serde_json::json!({}));
        let opened = opened.expect("the daemon answers").good();
        let address = opened["address"].as_str().expect("an address");
        let (_, code) = address.split_once('#').expect("a code");
        let origin = format!("http://{}", self.address);
        let headers = [("host", self.address.as_str()), ("origin", &origin)];
        let entered = self.whole("POST /enter", &headers, Some(code));
        let (head, _) = entered.expect("the daemon answers");
        let pass = head.lines().find_map(|line| {
            let (name, value) = line.split_once(": ")?;
            let (pass, _) = value.split_once(';')?;
            name.eq_ignore_ascii_case("set-cookie").then_some(pass)
        });
        Browser {
            api: self.clone(),
            pass: pass.expect("it is let in").to_owned(),
        }
    }

    fn send(
        &self,
        line: &str,
        headers: &[(&str, &str)],
        body: Option<&str>,
    ) -> std::io::Result<TcpStream> {
        let mut stream = TcpStream::connect(&self.address)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        let mut head = format!("{line} HTTP/1.0\r\n");
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        if let Some(body) = body {
            head += &format!("content-length: {}\r\n", body.len());
        }
        head += "\r\n";
        head += body.unwrap_or_default();
        stream.write_all(head.as_bytes())?;
        Ok(stream)
    }

    /// Asks a question, such as `jobs/show?job=v8`.
    #[track_caller]
    pub fn get(&self, path: &str) -> ApiAnswer {
        let bearer = format!("Bearer {}", self.token);
        let headers = [
            ("host", self.address.as_str()),
            ("authorization", bearer.as_str()),
        ];
        self.raw(&format!("GET /v1/{path}"), &headers, None)
            .expect("the daemon answers")
    }

    /// Asks for a change under a write key.
    ///
    /// # Errors
    /// As for [`Api::raw`]. It is then not known whether the change was made.
    pub fn post(&self, path: &str, key: &str, body: &Value) -> std::io::Result<ApiAnswer> {
        let bearer = format!("Bearer {}", self.token);
        let headers = [
            ("host", self.address.as_str()),
            ("authorization", bearer.as_str()),
            ("content-type", "application/json"),
            ("idempotency-key", key),
        ];
        let body = body.to_string();
        self.raw(&format!("POST /v1/{path}"), &headers, Some(&body))
    }

    /// Opens the event stream. `after` is the number of the last event that was seen.
    pub fn events(&self, after: Option<u64>) -> ApiEvents {
        let bearer = format!("Bearer {}", self.token);
        let last = after.map(|id| id.to_string()).unwrap_or_default();
        let mut headers = vec![
            ("host", self.address.as_str()),
            ("authorization", bearer.as_str()),
        ];
        if after.is_some() {
            headers.push(("last-event-id", last.as_str()));
        }
        let stream = self
            .send("GET /v1/events", &headers, None)
            .expect("the daemon answers");
        ApiEvents {
            lines: BufReader::new(stream),
            seen: Vec::new(),
            until: Instant::now() + LONGEST_WAIT,
        }
    }

    /// Waits until `wanted` accepts an event. The state at the beginning is given to it too, as
    /// link and route events.
    #[track_caller]
    pub fn wait_until(&self, what: &str, mut wanted: impl FnMut(&Value) -> bool) -> Value {
        let state = self.get("state").good();
        let link = |gauge: &Value| serde_json::json!({"event": "link", "gauge": gauge});
        let route = |route: &Value| serde_json::json!({"event": "route", "progress": route});
        let gauges = state["gauges"].as_array().into_iter().flatten().map(link);
        let routes = state["routes"].as_array().into_iter().flatten().map(route);
        for now in gauges.chain(routes) {
            if wanted(&now) {
                return now;
            }
        }
        self.events(state["id"].as_u64()).wait(what, wanted)
    }

    /// Waits until the port of a gauge is open, even if the gauge is silent.
    #[track_caller]
    pub fn wait_for_port(&self, gauge: &str) {
        self.wait_until(&format!("the port of {gauge} is open"), |event| {
            let link = event["gauge"]["link"].as_str().unwrap_or_default();
            event["event"] == "link"
                && event["gauge"]["setup"]["name"] == gauge
                && ["open", "live", "silent"].contains(&link)
        });
    }
}

/// The event stream.
#[derive(Debug)]
pub struct ApiEvents {
    lines: BufReader<TcpStream>,
    seen: Vec<String>,
    until: Instant,
}

impl ApiEvents {
    /// The next event. `None` after the daemon has ended the stream.
    pub fn next_event(&mut self) -> Option<Value> {
        loop {
            let mut line = String::new();
            match self.lines.read_line(&mut line) {
                Ok(0) => return None,
                Ok(_) => {}
                Err(error) => panic!("the event stream broke: {error}; seen {:#?}", self.seen),
            }
            // The daemon's heartbeat leads here even if nothing happens.
            assert!(
                Instant::now() < self.until,
                "waited too long; seen {:#?}",
                self.seen
            );
            if let Some(data) = line.strip_prefix("data:") {
                return Some(serde_json::from_str(data.trim()).expect("an event is JSON"));
            }
        }
    }

    /// Reads until `wanted` accepts an event. A failure names the events that came instead.
    #[track_caller]
    pub fn wait(&mut self, what: &str, mut wanted: impl FnMut(&Value) -> bool) -> Value {
        self.until = Instant::now() + LONGEST_WAIT;
        while let Some(event) = self.next_event() {
            if wanted(&event) {
                return event;
            }
            if event["event"] != "value" {
                self.seen.push(event.to_string());
            }
        }
        panic!(
            "the daemon ended before {what}; seen {}",
            self.seen.join("\n")
        );
    }
}
