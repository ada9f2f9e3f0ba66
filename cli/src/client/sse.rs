//! The lines of a server-sent event stream, as the HTML standard has them (section 9.2.6,
//! "Interpreting an event stream"), as far as the local API uses them: `id` and `data`.

/// Takes lines, gives events.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    id: Option<u64>,
    data: String,
}

/// One event as it came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Sent {
    /// Its number, or that of the event before where it has none.
    pub(crate) id: Option<u64>,
    /// Its text.
    pub(crate) data: String,
}

impl Lines {
    /// Takes one line, without or with its end; gives the event that it completes.
    pub(crate) fn take(&mut self, line: &str) -> Option<Sent> {
        let line = line.trim_end_matches(['\r', '\n']);
        if line.is_empty() {
            let data = std::mem::take(&mut self.data);
            return (!data.is_empty()).then(|| Sent {
                id: self.id,
                data: data.trim_end_matches('\n').to_owned(),
            });
        }
        let (field, value) = line.split_once(':').unwrap_or((line, ""));
        let value = value.strip_prefix(' ').unwrap_or(value);
        match field {
            "data" => {
                self.data.push_str(value);
                self.data.push('\n');
            }
            "id" => self.id = value.parse().ok().or(self.id),
            _ => {} // A comment that keeps the line alive, or a field that is not ours.
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sent(text: &str) -> Vec<Sent> {
        let mut lines = Lines::default();
        text.split_inclusive('\n')
            .filter_map(|line| lines.take(line))
            .collect()
    }

    #[test]
    fn events_end_with_a_blank_line_and_comments_are_passed_over() {
        let events = sent(": alive\n\nid: 4\ndata: {\"a\":1}\n\r\nid:5\ndata:x\ndata:y\n\n");
        assert_eq!(
            events,
            [
                Sent {
                    id: Some(4),
                    data: "{\"a\":1}".into()
                },
                Sent {
                    id: Some(5),
                    data: "x\ny".into()
                }
            ]
        );
    }

    #[test]
    fn half_an_event_is_not_an_event() {
        assert!(sent("id: 4\ndata: {\"a\":1}\n").is_empty());
    }
}
