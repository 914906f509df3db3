//! What went out and what came back on the invented bench: letters with and without an answer, a video with its
//! subtitles, readers' questions answered, not tested and not sorted yet. Readers and makers are invented.
use std::sync::Arc;
use trueplate_core::letter::draft;
use trueplate_core::notebook::{Condition, Notebook};
use trueplate_core::outgoing::{Chapter, Letter, ReaderQuestion, Reply, Video, Wants};
use trueplate_core::record::Record;
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;

/// Something written down after the tests, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Later {
    /// The record.
    pub record: Record,
    /// When, RFC 3339.
    pub at: String,
    /// A file that belongs to it: name and text. Whoever keeps it puts its hash into the record.
    pub file: Option<(&'static str, &'static str)>,
}

/// Everything written down beside the tests, in order of time.
pub(super) fn later(notebook: &Notebook) -> Vec<Later> {
    let mut all: Vec<Later> = letters(notebook)
        .into_iter()
        .map(|l| plain(format!("{}T10:00:00-04:00", l.sent), Record::Letter(l)))
        .collect();
    all.push(Later {
        record: Record::Video(video()),
        at: "2026-06-02T18:00:00-04:00".into(),
        file: Some(("cairn-1985.srt", SUBTITLES)),
    });
    all.extend(
        questions().into_iter().map(|q| plain(format!("{}T09:30:00-04:00", q.on), Record::Question(q))),
    );
    all.sort_by(|a, b| a.at.cmp(&b.at));
    all
}

fn plain(at: String, record: Record) -> Later {
    Later { record, at, file: None }
}

/// A letter as it was written that day: only what had been measured by then.
fn letter(notebook: &Notebook, model: &str, sent: &str, answer_by: &str) -> Letter {
    let mut then = Notebook {
        loads: notebook.loads.clone(),
        instruments: notebook.instruments.clone(),
        settings: notebook.settings.clone(),
        ..Notebook::default()
    };
    then.settings.as_of = sent.into();
    then.models = notebook.models.iter().filter(|m| m.id == model).cloned().collect();
    then.specimens = notebook.specimens.iter().filter(|s| s.model == model).cloned().collect();
    let mine = |specimen: &str| then.specimens.iter().any(|s| s.id == specimen);
    then.tests =
        notebook.tests.iter().filter(|t| mine(&t.specimen) && t.day.as_str() <= sent).cloned().collect();
    for specimen in &mut then.specimens {
        specimen.firmware.retain(|f| f.from.as_str() <= sent);
        if specimen.returned.as_str() > sent {
            specimen.returned.clear();
        }
    }
    let to = "the maker's press office";
    let outcomes = outcomes(&then);
    let report = report(Arc::new(then), Arc::new(outcomes), sent);
    let written = report.models.first().map(|m| draft(&report, m, to, answer_by)).unwrap_or_default();
    Letter {
        id: format!("{}-{sent}", model.to_lowercase()),
        model: model.into(),
        to: to.into(),
        sent: sent.into(),
        answer_by: answer_by.into(),
        text: written.text,
        facts: written.facts,
        ..Letter::default()
    }
}

fn letters(notebook: &Notebook) -> Vec<Letter> {
    vec![
        Letter {
            answered: "2026-05-22".into(),
            answer: "The switchover time on our page is a typical value on the firmware of that time. With 2.3 it is shorter. We have no remark on the energy.".into(),
            reply: Reply::Disputed,
            ..letter(notebook, "U06", "2026-05-13", "2026-05-27")
        },
        letter(notebook, "U08", "2026-06-08", "2026-06-22"),
        letter(notebook, "U13", "2026-06-24", "2026-07-08"),
    ]
}

/// Said before two numbers were put right.
const SUBTITLES: &str = "1
00:00:02,000 --> 00:00:06,000
This is the Gorsefell Cairn 1985, bought in a shop and paid in full.

2
00:01:12,000 --> 00:01:17,500
At half load it delivered about 1810 watt-hours.

3
00:02:40,000 --> 00:02:44,000
The list price of the Cairn is 1199 dollars.

4
00:05:04,000 --> 00:05:09,000
It weighs 23.55 kilograms, and the mass is what my scale shows.
";

fn video() -> Video {
    let chapter = |at: &str, title: &str| Chapter { at: at.into(), title: title.into() };
    Video {
        id: "cairn-1985-tested".into(),
        model: "U10".into(),
        title: "Gorsefell Cairn 1985: what comes out of it".into(),
        on: "2026-06-02".into(),
        length: "9:48".into(),
        chapters: vec![
            chapter("0:00", "The answer"),
            chapter("1:05", "Energy at four loads"),
            chapter("2:38", "Price"),
            chapter("5:00", "Mass, noise, switchover"),
        ],
        used: "fan heater, halogen lamps, kettle, fridge".into(),
        ..Video::default()
    }
}

/// Id, day, place, model and what answers it; then the words.
fn question([id, on, place, model, about]: [&str; 5], text: &str) -> ReaderQuestion {
    ReaderQuestion {
        id: id.into(),
        text: text.into(),
        place: place.into(),
        on: on.into(),
        times: 1,
        model: model.into(),
        about: about.into(),
        ..ReaderQuestion::default()
    }
}

fn questions() -> Vec<ReaderQuestion> {
    let (video, mail) = ("under the video", "by mail");
    let energy = ["cairn-energy", "2026-06-04", video, "U10", "usable-energy"];
    let energy = question(energy, "How much do I really get out of the Cairn?");
    let half = Condition::from([("load".into(), "50 %".into())]);
    let cabinet = ["fell-cabinet", "2026-06-06", video, "U06", "runtime"];
    let cabinet = question(cabinet, "How long would the Fell run a 60 watt network cabinet?");
    let solar = ["cairn-solar", "2026-06-09", video, "U10", "solar-input"];
    let solar = question(solar, "Does it take the 800 W of panels it promises?");
    let colour = ["any-colour", "2026-06-11", mail, "", "nothing"];
    let fridge = ["lantern-fridge", "2026-06-15", mail, "U08", "devices"];
    let fridge = question(fridge, "Will the Lantern keep my fridge going over night?");
    let idle = ["granary-idle", "2026-06-20", mail, "U11", "idle-draw"];
    let idle = question(idle, "My Granary takes about 25 W with nothing plugged in.");
    let night = ["wayfarer-night", "2026-06-28", video, "", ""];
    vec![
        ReaderQuestion { times: 4, condition: half, ..energy },
        ReaderQuestion { times: 2, watts: 60.0, ..cabinet },
        ReaderQuestion { times: 3, ..solar },
        question(colour, "Does any of them come in white?"),
        ReaderQuestion { devices: "fridge, 85 W, start 900 W, avg 38 W".into(), ..fridge },
        ReaderQuestion { wants: Wants::Report, ..idle },
        question(night, "Is the Wayfarer quiet enough to sleep beside?"),
    ]
}
