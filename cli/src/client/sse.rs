//! Parses the lines of a server-sent event stream by the HTML standard (section 9.2.6,
//! "Interpreting an event stream"). The local API uses only the fields `id` and `data`.

/// Takes lines and gives events.
#[derive(Debug, Default)]
pub(crate) struct EventLines {
    id: Option<u64>,
    data: String,
}

/// One event of the stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SentEvent {
    /// The event's number. If it has none, the number of the event before.
    pub(crate) id: Option<u64>,
    /// The event's text.
    pub(crate) data: String,
}

impl EventLines {
    /// Takes one line, with or without its end. Gives the event that the line completes.
    pub(crate) fn take(&mut self, line: &str) -> Option<SentEvent> {
        let line = line.trim_end_matches(['\r', '\n']);
        if line.is_empty() {
            let data = std::mem::take(&mut self.data);
            return (!data.is_empty()).then(|| SentEvent {
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

    fn sent(text: &str) -> Vec<SentEvent> {
        let mut lines = EventLines::default();
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
                SentEvent {
                    id: Some(4),
                    data: "{\"a\":1}".into()
                },
                SentEvent {
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
