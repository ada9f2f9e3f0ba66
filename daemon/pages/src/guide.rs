//! The guide for the one at the bench: the pages of `docs/guide`, as HTML.
//!
//! The text and its pictures are part of the executable. What they say is not known here.

use askama::Template;
use pulldown_cmark::{CodeBlockKind, CowStr, Event, Options, Parser, Tag, TagEnd, html};

use crate::{Page, PageFrame, address};

/// One page of the guide.
#[derive(Debug, Clone, Copy)]
pub struct GuidePage {
    /// Its name in addresses; the first page has none.
    pub name: &'static str,
    /// Its title.
    pub title: &'static str,
    text: &'static str,
}

/// One picture of the guide.
#[derive(Debug, Clone, Copy)]
pub struct GuidePicture {
    /// Its file's name.
    pub name: &'static str,
    /// The bytes of a PNG.
    pub bytes: &'static [u8],
}

macro_rules! page {
    ($name:literal, $title:literal, $file:literal) => {
        GuidePage {
            name: $name,
            title: $title,
            text: include_str!(concat!("../../../docs/guide/", $file)),
        }
    };
}

macro_rules! picture {
    ($file:literal) => {
        GuidePicture {
            name: $file,
            bytes: include_bytes!(concat!("../../../docs/guide/pictures/", $file)),
        }
    };
}

/// Every page, in the order in which the first one lists them.
pub const PAGES: &[GuidePage] = &[
    page!("", "The guide", "README.md"),
    page!("first-job", "The first job", "first-job.md"),
    page!("connecting", "Connecting a gauge", "connecting.md"),
    page!("pouring", "Pouring well", "pouring.md"),
    page!("deck", "Deck over top dead centre", "deck.md"),
    page!("flow", "Flow", "flow.md"),
    page!("figures", "What the figures mean", "figures.md"),
    page!("leaving", "What leaves the bench", "leaving.md"),
    page!("profiles", "Writing a profile", "profiles.md"),
    page!("cautions", "Cautions", "cautions.md"),
];

/// Every picture that the pages show.
pub const PICTURES: &[GuidePicture] = &[
    picture!("found.png"),
    picture!("engine.png"),
    picture!("pouring.png"),
    picture!("asked.png"),
    picture!("report.png"),
];

#[derive(Template)]
#[template(path = "guide.html")]
struct Shown<'a> {
    frame: &'a PageFrame,
    text: String,
    first: bool,
}

/// One page of the guide inside the frame of every page.
///
/// # Errors
/// A fault of the template.
pub fn guide(frame: &PageFrame, page: &GuidePage) -> Page {
    let text = made(page.text);
    let first = page.name.is_empty();
    Shown { frame, text, first }.render()
}

/// Makes HTML of a page's text. Tables and code get a frame that scrolls by itself, so that a
/// telephone scrolls neither page nor picture sideways; the keyboard reaches that frame.
fn made(text: &str) -> String {
    let events = Parser::new_ext(text, Options::ENABLE_TABLES).flat_map(|event| {
        let html = |text: &'static str| Event::Html(CowStr::Borrowed(text));
        match event {
            Event::Start(Tag::Table(columns)) => vec![
                html("<div class=\"wide\" tabindex=\"0\">"),
                Event::Start(Tag::Table(columns)),
            ],
            Event::End(TagEnd::Table) => vec![Event::End(TagEnd::Table), html("</div>\n")],
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(_) | CodeBlockKind::Indented)) => {
                vec![html("<pre tabindex=\"0\"><code>")]
            }
            Event::End(TagEnd::CodeBlock) => vec![html("</code></pre>\n")],
            Event::Start(Tag::Link {
                link_type,
                dest_url,
                title,
                id,
            }) => vec![Event::Start(Tag::Link {
                link_type,
                dest_url: served(&dest_url).into(),
                title,
                id,
            })],
            Event::Start(Tag::Image {
                link_type,
                dest_url,
                title,
                id,
            }) => vec![Event::Start(Tag::Image {
                link_type,
                dest_url: format!("{}/{dest_url}", address::GUIDE).into(),
                title,
                id,
            })],
            // The guide is plain Markdown: a mark-up in it is shown as it is written.
            Event::Html(text) | Event::InlineHtml(text) => vec![Event::Text(text)],
            other => vec![other],
        }
    });
    let mut out = String::new();
    html::push_html(&mut out, events);
    out
}

/// Where the daemon serves what a page links to.
fn served(link: &str) -> String {
    match link.strip_suffix(".md") {
        Some("README") => address::GUIDE.to_owned(),
        Some(page) => format!("{}/{page}", address::GUIDE),
        None => link.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_begins_with_its_title_and_is_reached_from_the_first() {
        let first = made(PAGES[0].text);
        for page in PAGES {
            let heading = format!("# {}\n", page.title);
            assert!(page.text.starts_with(&heading), "{}", page.title);
            if !page.name.is_empty() {
                let link = format!("<a href=\"/guide/{}\">", page.name);
                assert!(first.contains(&link), "{link}");
            }
        }
    }

    #[test]
    fn every_link_and_picture_of_the_guide_is_there() {
        let mut shown = 0;
        for page in PAGES {
            let html = made(page.text);
            for link in html.split("href=\"").skip(1) {
                let to = link.split('"').next().unwrap();
                let is_there = |page: &GuidePage| to == format!("/guide/{}", page.name);
                assert!(to == address::GUIDE || PAGES.iter().any(is_there), "{to}");
            }
            for picture in html.split("src=\"").skip(1) {
                let from = picture.split('"').next().unwrap();
                let is_there = |one: &GuidePicture| from == format!("/guide/pictures/{}", one.name);
                assert!(PICTURES.iter().any(is_there), "{from}");
                shown += 1;
            }
        }
        assert_eq!(shown, PICTURES.len(), "each picture is shown once");
    }

    #[test]
    fn markup_in_the_text_is_shown_and_a_table_scrolls_by_itself() {
        let html = made("a <b>c</b>\n\n| d |\n|---|\n| e |\n\n```sh\nf <g>\n```\n");
        assert!(html.contains("&lt;b&gt;c"), "{html}");
        assert!(
            html.contains("<div class=\"wide\" tabindex=\"0\"><table>"),
            "{html}"
        );
        assert!(
            html.contains("<pre tabindex=\"0\"><code>f &lt;g&gt;"),
            "{html}"
        );
    }
}
