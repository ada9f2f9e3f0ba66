//! The files that the pages name: styles and the little script there is.

/// One file, as it is served.
#[derive(Debug, Clone, Copy)]
pub struct PageFile {
    /// Its address.
    pub address: &'static str,
    /// Its media type.
    pub kind: &'static str,
    /// Its text.
    pub text: &'static str,
}

const STYLE: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// Every file of the pages.
pub const FILES: &[PageFile] = &[
    PageFile {
        address: "/page/page.css",
        kind: STYLE,
        text: include_str!("../files/page.css"),
    },
    PageFile {
        address: "/page/gauges.css",
        kind: STYLE,
        text: include_str!("../files/gauges.css"),
    },
    PageFile {
        address: "/page/gauges.js",
        kind: SCRIPT,
        text: include_str!("../files/gauges.js"),
    },
    PageFile {
        address: "/page/decide.js",
        kind: SCRIPT,
        text: include_str!("../files/decide.js"),
    },
    PageFile {
        address: "/page/enter.js",
        kind: SCRIPT,
        text: include_str!("../files/enter.js"),
    },
    PageFile {
        address: "/page/by.js",
        kind: SCRIPT,
        text: include_str!("../files/by.js"),
    },
    PageFile {
        address: "/page/shop.js",
        kind: SCRIPT,
        text: include_str!("../files/shop.js"),
    },
    PageFile {
        address: "/page/engine.js",
        kind: SCRIPT,
        text: include_str!("../files/engine.js"),
    },
];
