//! The parts of a form that carries a file (RFC 7578, in the frame of RFC 2046 section 5.1).

use axum::body::Bytes;

/// One part of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SentPart {
    /// The field.
    pub(super) name: String,
    /// The file's name; empty where it is no file.
    pub(super) file: String,
    /// What was filled in, or the file's bytes: a part of the body, not a copy of it.
    pub(super) bytes: Bytes,
}

/// The parts of a body of this media type; none where it is no such form or breaks off.
pub(super) fn parts(media: &str, body: &Bytes) -> Vec<SentPart> {
    let (kind, _) = media.split_once(';').unwrap_or((media, ""));
    let boundary = parameter(media, "boundary");
    let Some(boundary) = boundary.filter(|one| !one.is_empty()) else {
        return Vec::new();
    };
    if !kind.trim().eq_ignore_ascii_case("multipart/form-data") {
        return Vec::new();
    }
    // The first line is a boundary too, with nothing before it.
    let line = format!("\r\n--{boundary}");
    let opening = line.as_bytes().get(2..).unwrap_or_default();
    let Some(mut rest) = body.strip_prefix(opening) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    while let Some(inside) = rest.strip_prefix(b"\r\n") {
        let Some(end) = find(inside, line.as_bytes()) else {
            return Vec::new();
        };
        let (one, after) = inside.split_at(end);
        all.extend(part(body, one));
        rest = after.get(line.len()..).unwrap_or_default();
    }
    match rest.starts_with(b"--") {
        true => all,
        false => Vec::new(),
    }
}

fn part(body: &Bytes, text: &[u8]) -> Option<SentPart> {
    const BLANK: &[u8] = b"\r\n\r\n";
    let end = find(text, BLANK)?;
    let heads = String::from_utf8_lossy(text.get(..end)?);
    let disposition = heads.split("\r\n").find(|line| {
        let (name, _) = line.split_once(':').unwrap_or((line, ""));
        name.trim().eq_ignore_ascii_case("content-disposition")
    })?;
    Some(SentPart {
        name: parameter(disposition, "name")?,
        file: parameter(disposition, "filename").unwrap_or_default(),
        bytes: body.slice_ref(text.get(end + BLANK.len()..)?),
    })
}

/// A parameter behind a semicolon, with or without quotes.
fn parameter(line: &str, wanted: &str) -> Option<String> {
    let mut rest = line;
    while let Some((_, after)) = rest.split_once(';') {
        let (name, value) = after.split_once('=')?;
        let (value, behind) = match value.strip_prefix('"') {
            Some(quoted) => quoted.split_once('"')?,
            None => value.split_at(value.find(';').unwrap_or(value.len())),
        };
        if name.trim().eq_ignore_ascii_case(wanted) {
            return Some(value.trim().to_owned());
        }
        rest = behind;
    }
    None
}

fn find(text: &[u8], wanted: &[u8]) -> Option<usize> {
    text.windows(wanted.len()).position(|at| at == wanted)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MEDIA: &str = "multipart/form-data; boundary=--x";

    #[test]
    fn a_form_with_a_file_comes_apart_byte_for_byte() {
        let body = b"----x\r\nContent-Disposition: form-data; name=\"key\"\r\n\r\nk1\r\n\
            ----x\r\nContent-Disposition: form-data; name=\"archive\"; filename=\"a; b.job\"\r\n\
            Content-Type: application/octet-stream\r\n\r\n\x00\r\n--\xff\r\n\r\n----x--\r\n";
        let found = parts(MEDIA, &Bytes::from_static(body));
        assert_eq!(found.len(), 2);
        assert_eq!((&*found[0].name, &*found[0].bytes), ("key", &b"k1"[..]));
        assert_eq!(found[1].file, "a; b.job");
        assert_eq!(&*found[1].bytes, b"\x00\r\n--\xff\r\n");
    }

    #[test]
    fn what_breaks_off_or_is_no_such_form_has_no_parts() {
        let whole: &[u8] =
            b"----x\r\nContent-Disposition: form-data; name=\"a\"\r\n\r\n1\r\n----x--";
        let parts = |media: &str, body: &'static [u8]| parts(media, &Bytes::from_static(body));
        assert_eq!(parts(MEDIA, whole).len(), 1);
        for end in 0..whole.len() {
            assert_eq!(parts(MEDIA, &whole[..end]), [], "{end}");
        }
        assert_eq!(parts("text/plain; boundary=--x", whole), []);
        assert_eq!(parts("multipart/form-data", whole), []);
    }
}
