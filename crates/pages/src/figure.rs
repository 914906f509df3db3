//! Pictures for the video: one number, a claim, a comparison, curves, the disclosure. A report in, PNG bytes out.
//!
//! Each picture comes with nothing behind it (straight alpha, legible on any footage by its halo) and on a plate, whole
//! and as layers that lie exactly on one another, in every [`Frame`]. All of it stays within title-safe. Its name and
//! the texts inside its file carry the fact it shows and a version, which changes with what the picture says.
mod bars;
mod canvas;
mod card;
mod claim;
mod discharge;
pub mod face;
mod frame;
mod gather;
mod head;
pub mod letters;
pub mod raster;
mod runtime;
mod social;
mod strip;

use canvas::Canvas;
pub use face::Look;
pub use frame::Frame;
pub use gather::{Options, figures};
pub use raster::Undrawn;
pub use social::Social;
use trueplate_core::facts::fnv1a;

/// What is drawn.
enum Drawing {
    Strip(strip::Strip),
    Claim(claim::Claimed),
    Bars(bars::Bars),
    Runtime(runtime::Runtime),
    Discharge(discharge::Discharge),
    Card(card::Card),
}

/// One picture, not yet drawn in any size.
pub struct Figure {
    /// Id of the model.
    pub model: String,
    /// Name of the model.
    pub name: String,
    /// What it shows, in words.
    pub title: String,
    /// Id of the fact it shows: `fell-1010/usable-energy/load-50`.
    pub fact: String,
    /// Changes whenever what it says changes: the digest of the fact's own version and of everything else on it.
    pub version: String,
    drawing: Drawing,
}

/// Which of the pictures of one figure and frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Form {
    /// With nothing behind it, or on a plate.
    pub look: Look,
    /// One layer of it, 0 being the plate; `None` for the whole.
    pub layer: Option<usize>,
}

impl Form {
    /// Stable word: `clear`, `plate`, `clear-1`, `plate-0`.
    pub fn key(self) -> String {
        let look = match self.look {
            Look::Clear => "clear",
            Look::Plate => "plate",
        };
        self.layer.map_or_else(|| look.to_string(), |n| format!("{look}-{n}"))
    }
}

/// Keywords of the texts inside a file.
pub mod keyword {
    /// Id of the fact.
    pub const FACT: &str = "Fact";
    /// Version of what is said.
    pub const VERSION: &str = "Version";
    /// Sort of figure.
    pub const FIGURE: &str = "Figure";
    /// Key of the frame.
    pub const SIZE: &str = "Size";
    /// Key of the form.
    pub const FORM: &str = "Form";
    /// The program (registered by PNG).
    pub const SOFTWARE: &str = "Software";
}

/// Longest part of a file's name in bytes that the fact's id may take; file systems allow 255 for the whole.
const LONGEST_ID: usize = 120;

impl Figure {
    fn new(model: (&str, &str), title: &str, fact: &str, content: &[String], drawing: Drawing) -> Figure {
        let mut figure = Figure {
            model: model.0.into(),
            name: model.1.into(),
            title: title.into(),
            fact: fact.into(),
            version: String::new(),
            drawing,
        };
        let told = format!("{}\n{fact}\n{}\n{title}\n{}", figure.kind(), model.1, content.join("\n"));
        figure.version = format!("{:016x}", fnv1a(&told));
        figure
    }

    /// Sort of picture, a stable word.
    pub fn kind(&self) -> &'static str {
        match self.drawing {
            Drawing::Strip(_) => "strip",
            Drawing::Claim(_) => "claim",
            Drawing::Bars(_) => "bars",
            Drawing::Runtime(_) => "runtime",
            Drawing::Discharge(_) => "discharge",
            Drawing::Card(_) => "disclosure",
        }
    }

    fn canvas(&self, frame: Frame, look: Look) -> Canvas {
        let mut canvas = Canvas::new(frame, look);
        match &self.drawing {
            Drawing::Strip(d) => d.draw(&mut canvas),
            Drawing::Claim(d) => d.draw(&mut canvas),
            Drawing::Bars(d) => d.draw(&mut canvas),
            Drawing::Runtime(d) => d.draw(&mut canvas),
            Drawing::Discharge(d) => d.draw(&mut canvas),
            Drawing::Card(d) => d.draw(&mut canvas),
        }
        canvas
    }

    /// The whole on either ground, then the layers of each.
    pub fn forms(&self) -> Vec<Form> {
        let layers = self.canvas(Frame::Hd, Look::Clear).layers();
        let whole = [Look::Clear, Look::Plate].map(|look| Form { look, layer: None });
        let clear = (1..=layers).map(|n| Form { look: Look::Clear, layer: Some(n) });
        let plate = (0..=layers).map(|n| Form { look: Look::Plate, layer: Some(n) });
        whole.into_iter().chain(clear).chain(plate).collect()
    }

    /// Every line of text on it, in the order it is written.
    pub fn said(&self, frame: Frame) -> Vec<String> {
        self.canvas(frame, Look::Clear).said()
    }

    /// Where its file belongs: `fell-1010/1080/fell-1010.usable-energy.load-50_strip_1080_clear_0f1e2d3c.png`; layers
    /// in a folder of their own.
    pub fn path(&self, frame: Frame, form: Form) -> String {
        let mut id = self.fact.replace('/', ".");
        if id.len() > LONGEST_ID {
            let cut = (0..=LONGEST_ID - 9).rev().find(|at| id.is_char_boundary(*at)).unwrap_or(0);
            id = format!("{}-{:08x}", &id[..cut], fnv1a(&self.fact) as u32);
        }
        let folder = id.split('.').next().filter(|f| !f.is_empty()).unwrap_or("station").to_string();
        let (size, layers) = (frame.key(), if form.layer.is_some() { "layers/" } else { "" });
        format!(
            "{folder}/{size}/{layers}{id}_{}_{size}_{}_{}.png",
            self.kind(),
            form.key(),
            &self.version[..8]
        )
    }

    /// The drawing as SVG. Its text wants the typeface of [`crate::assets`].
    pub fn svg(&self, frame: Frame, form: Form) -> String {
        self.canvas(frame, form.look).svg(form.layer)
    }

    /// Its pixels with straight alpha, four bytes each.
    pub fn pixels(&self, frame: Frame, form: Form) -> Result<Vec<u8>, Undrawn> {
        raster::pixels(&self.svg(frame, form), frame.pixels(), frame.scale())
    }

    /// The file.
    pub fn png(&self, frame: Frame, form: Form) -> Result<Vec<u8>, Undrawn> {
        raster::png(&self.pixels(frame, form)?, frame.pixels(), &self.texts(frame, form))
    }

    /// What is written into the file beside its pixels.
    pub fn texts(&self, frame: Frame, form: Form) -> Vec<(&'static str, String)> {
        vec![
            ("Title", format!("{}: {}", self.name, self.title)),
            ("Description", self.said(frame).join(" · ")),
            (keyword::SOFTWARE, "Trueplate".into()),
            (keyword::FACT, self.fact.clone()),
            (keyword::VERSION, self.version.clone()),
            (keyword::FIGURE, self.kind().into()),
            (keyword::SIZE, frame.key().into()),
            (keyword::FORM, form.key()),
        ]
    }
}
