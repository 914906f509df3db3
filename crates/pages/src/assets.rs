//! The files every published folder carries besides its pages: the sheets of style and the typeface.

/// Shared by published pages and the bench's own screens. Wants `fonts.css` beside the fonts.
pub const BASE_CSS: &str = include_str!("../assets/base.css");
/// Published pages, on top of [`BASE_CSS`]: tables, drawings, trails.
pub const PAGES_CSS: &str = include_str!("../assets/pages.css");
/// Declares the typeface; its addresses are relative to the folder of the fonts.
pub const FONTS_CSS: &str = include_str!("../assets/fonts/fonts.css");

/// The typeface for pictures, regular.
pub static REGULAR: &[u8] = include_bytes!("../assets/fonts/IBMPlexSans-Regular.ttf");
/// The same, semi-bold.
pub static SEMIBOLD: &[u8] = include_bytes!("../assets/fonts/IBMPlexSans-SemiBold.ttf");

/// Path in the published folder, and content.
static FILES: &[(&str, &[u8])] = &[
    ("style/base.css", BASE_CSS.as_bytes()),
    ("style/pages.css", PAGES_CSS.as_bytes()),
    ("fonts/fonts.css", FONTS_CSS.as_bytes()),
    ("fonts/IBMPlexSans-Regular.woff2", include_bytes!("../assets/fonts/IBMPlexSans-Regular.woff2")),
    ("fonts/IBMPlexSans-SemiBold.woff2", include_bytes!("../assets/fonts/IBMPlexSans-SemiBold.woff2")),
    // The page's core: a browser program, packed, as text, so that a page opened from a folder can load it too.
    // Made by tools/build-page-engine.sh.
    ("run/engine.js", include_bytes!("../assets/run/engine.js")),
    ("run/table.js", include_bytes!("../assets/run/table.js")),
    ("run/run.js", include_bytes!("../assets/run/run.js")),
    ("fonts/OFL.txt", include_bytes!("../assets/fonts/OFL.txt")),
];

/// Every file that goes along with the pages: path in the published folder, and content.
pub fn files() -> &'static [(&'static str, &'static [u8])] {
    FILES
}
