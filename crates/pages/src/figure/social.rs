//! The card that stands for a station's page where somebody links to it: 1200 × 630, on paper.
use super::canvas::{Anchor, Canvas, run};
use super::face::{self, CAP, Look, Tone};
use super::frame::Frame;
use super::head::{LONGEST_NAME, Number, lines};
use super::raster::{self, Undrawn};
use crate::chart::labels::Area;
use crate::piece;
use trueplate_core::facts::fnv1a;
use trueplate_core::notebook::Condition;
use trueplate_core::report::{ModelReport, Report, titled};
use trueplate_core::shown::{Style, shown};

/// What stands on it.
pub struct Social {
    name: String,
    number: Option<(Number, String)>,
    verdicts: String,
    site: String,
}

const PAD: f64 = 72.0;
const NAME: f64 = 64.0;
const LARGE: f64 = 150.0;
const BESIDE: f64 = 72.0;
const TEXT: f64 = 40.0;
const LINE: f64 = 36.0;

impl Social {
    /// The card of a model: its usable energy at half load where that is known, else what else there is of it.
    pub fn of(report: &Report, model: &ModelReport, style: Style) -> Social {
        let half = Condition::from([("load".to_string(), "50 %".to_string())]);
        let rows = || model.current("usable-energy");
        let row = rows().find(|r| r.condition == half).or_else(|| rows().next());
        let number = row.and_then(|r| {
            let s = shown(&model.value(r.result.key, &r.condition)?, r.result.shown_in(), style);
            let number = Number { number: s.number, pm: s.pm, unit: s.unit.into() };
            Some((number, titled(r.result, &r.condition)))
        });
        let settings = &report.notebook.settings;
        let site = if settings.site.is_empty() { settings.tester.clone() } else { settings.site.clone() };
        Social { name: model.name.clone(), number, verdicts: piece::tally(&model.claims), site }
    }

    /// Changes whenever what it says changes.
    pub fn version(&self) -> String {
        let number = self.number.as_ref().map_or(String::new(), |(n, title)| format!("{} {title}", n.line()));
        let parts = [env!("CARGO_PKG_VERSION"), &self.name, &number, &self.verdicts, &self.site];
        format!("{:08x}", fnv1a(&parts.join("\n")) as u32)
    }

    /// What it says, for those who do not see it.
    pub fn says(&self) -> String {
        let number =
            self.number.as_ref().map_or(String::new(), |(n, title)| format!(" {title}: {}.", n.line()));
        format!("{}.{number} Claims: {}.", self.name, self.verdicts)
    }

    /// The file.
    pub fn png(&self) -> Result<Vec<u8>, Undrawn> {
        let frame = Frame::Social;
        let mut canvas = Canvas::new(frame, Look::Plate);
        self.draw(&mut canvas);
        let pixels = raster::pixels(&canvas.svg(None), frame.pixels(), frame.scale())?;
        raster::png(&pixels, frame.pixels(), &[("Title", self.name.clone()), ("Description", self.says())])
    }

    fn draw(&self, canvas: &mut Canvas) {
        let (wide, high) = Frame::Social.units();
        canvas.plate(Area { x0: 0.0, y0: 0.0, x1: wide, y1: high });
        canvas.layer();
        let inner = wide - 2.0 * PAD;
        let name = face::wrap(&face::writable(&face::short(&self.name, LONGEST_NAME)), NAME, true, inner);
        let last = lines(canvas, (PAD, PAD + NAME * CAP), &name, NAME, |r| r.bold());
        canvas.line(&[(PAD, last + 38.0), (PAD + 120.0, last + 38.0)], Tone::Accent, 6.0);
        // A name of two lines takes its room from the number, so that nothing below moves into anything.
        let large = if name.len() > 1 { LARGE * 0.75 } else { LARGE };
        let mut last = last + 38.0;
        if let Some((number, title)) = &self.number {
            let base = (last + 50.0 + large * CAP).max(310.0);
            canvas.text((PAD - 6.0, base), Anchor::Start, &number.runs(large, BESIDE));
            last = base + 58.0;
            canvas.text((PAD, last), Anchor::Start, &[run(&face::short(title, 48), TEXT)]);
        }
        let told = format!("Claims: {}", self.verdicts);
        let told = face::wrap(&face::writable(&face::short(&told, 90)), LINE, false, inner);
        lines(canvas, (PAD, last + 60.0), &told, LINE, |r| r.tone(Tone::Quiet));
        let site = run(&face::short(&self.site, 48), LINE).tone(Tone::Quiet);
        canvas.text((wide - PAD, high - PAD), Anchor::End, &[site]);
    }
}
