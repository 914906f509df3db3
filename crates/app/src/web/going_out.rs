//! What goes out about a station, on its page: letter and answer, disclosure, videos, questions.
use super::at;
use super::words;
use trueplate_core::disclosure::of_model;
use trueplate_core::inbox::{self, Standing};
use trueplate_core::letter;
use trueplate_core::report::{ModelReport, Report};
use trueplate_core::retest;

/// The lines of that part of the page.
pub struct Out {
    /// Letters: address, how each stands.
    pub letters: Vec<(String, String)>,
    /// Videos: address, title, day.
    pub videos: Vec<(String, String, String)>,
    /// Disclosure in few words.
    pub card: String,
    /// Things about the disclosure that are not written down.
    pub open: usize,
    /// Questions: address, text, how each stands.
    pub questions: Vec<(String, String, String)>,
    /// What is to be tested again.
    pub again: Vec<super::retests::Line>,
}

/// Of one station.
pub fn of(report: &Report, model: &ModelReport) -> Out {
    let notebook = &report.notebook;
    let letters = notebook.letters.iter().filter(|l| l.model == model.id).map(|l| {
        let standing = letter::standing(l, &report.as_of);
        let says = if standing.is_empty() { "A draft, not sent yet.".into() } else { standing };
        (at::letter(&model.id, &l.id), says)
    });
    let videos = notebook.videos.iter().filter(|v| v.model == model.id).map(|v| {
        let on = if v.on.is_empty() { "not out yet".into() } else { format!("out since {}", v.on) };
        (at::video(&model.id, &v.id), v.title.clone(), on)
    });
    let questions = notebook.questions.iter().filter(|q| q.model == model.id).map(|q| {
        let says = match inbox::standing(report, q) {
            Standing::Unsorted => "to be sorted",
            Standing::Answered { .. } => "answered",
            Standing::NotTested { .. } => "not tested",
        };
        (at::question(&q.id), q.text.clone(), says.into())
    });
    let texts = of_model(notebook, &model.id);
    let again = retest::of_model(report, model);
    let again = again.iter().map(|r| super::retests::line(report, r));
    Out {
        letters: letters.collect(),
        videos: videos.collect(),
        card: words::unbroken(&texts.card),
        open: texts.open.len(),
        questions: questions.collect(),
        again: again.collect(),
    }
}
